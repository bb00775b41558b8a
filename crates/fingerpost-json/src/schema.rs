//! The verb `schema`: the JSON Schemas of boards, requests and answers, derived from the types.

use std::borrow::Cow;

use schemars::generate::SchemaSettings;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde_json::{Value, json};

use crate::VERSION;
use crate::deal::{DealRequest, HandRequest};
use crate::error::{ComplaintAnswer, ErrorAnswer, ErrorKind, nearest, shown};
use crate::game::GameRequest;
use crate::how_long::HowLongRequest;
use crate::request::{
    BoardRequest, CheckRequest, CompareRequest, JudgeRequest, MissingRequest, SchemaRequest,
    UnrollRequest, WhereRequest, WriteOutRequest,
};
use crate::{
    BoardAnswer, CheckAnswer, CompareAnswer, DealAnswer, ExplainedAnswer, GameAnswer, HandAnswer,
    HowLongAnswer, JudgeAnswer, MissingAnswer, UnrollAnswer, WhereAnswer, WrittenOutAnswer,
};

/// The names of the schemas, each with what it describes. The file of a schema is `spec/NAME.schema.json`.
pub const SCHEMAS: [(&str, &str); 18] = [
    ("board", "a board file"),
    ("request", "a request to the JSON door"),
    ("check", "the answer to `check`"),
    ("unroll", "the answer to `unroll`"),
    ("compare", "the answer to `compare`"),
    ("where", "the answer to `where`"),
    ("missing", "the answer to `missing`"),
    ("judge", "the answer to `judge`"),
    ("write-out", "the answer to `write-out`"),
    ("game", "the answer to `game`"),
    ("how-long", "the answer to `how-long`"),
    ("deal", "the answer to `deal`"),
    ("hand", "the answer to `hand`"),
    ("levels", "a levels file"),
    ("explain", "the answer to `explain`"),
    ("board-answer", "the answer to `board`"),
    ("schema-answer", "the answer to `schema`"),
    (
        "error",
        "the answer to a request that cannot be carried out",
    ),
];

/// A schema.
#[derive(Clone, PartialEq, Debug, serde::Serialize, JsonSchema)]
pub struct SchemaAnswer {
    /// The version of the answer: 1.
    pub version: u32,
    /// The schema's name.
    pub name: String,
    /// The schema: JSON Schema, draft 2020-12.
    #[schemars(extend("type" = "object"))]
    pub schema: Value,
}

/// A board file inside a request or an answer: its schema is a file of its own.
pub(crate) struct BoardFile;

impl JsonSchema for BoardFile {
    fn schema_name() -> Cow<'static, str> {
        "BoardFile".into()
    }

    fn inline_schema() -> bool {
        true
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "$ref": "board.schema.json" })
    }
}

/// Any request.
#[derive(JsonSchema)]
#[serde(untagged)]
#[allow(dead_code, reason = "only its schema is used")]
enum Request<'a> {
    Check(CheckRequest<'a>),
    Unroll(UnrollRequest<'a>),
    Compare(CompareRequest<'a>),
    Where(WhereRequest<'a>),
    Missing(MissingRequest<'a>),
    Judge(JudgeRequest<'a>),
    Board(BoardRequest<'a>),
    WriteOut(WriteOutRequest<'a>),
    Game(GameRequest<'a>),
    HowLong(HowLongRequest<'a>),
    Deal(DealRequest),
    Hand(HandRequest),
    Explain(crate::told::ExplainRequest<'a>),
    Schema(SchemaRequest),
}

/// The schema of that name; `None` when there is none.
pub fn schema(name: &str) -> Option<Value> {
    let schema = match name {
        "board" => return Some(fingerpost::board_schema()),
        "request" => asked::<Request<'_>>("A request to the JSON door of fingerpost."),
        "check" => of::<CheckAnswer>("The answer to `check`."),
        "unroll" => of::<UnrollAnswer>("The answer to `unroll`."),
        "compare" => of::<CompareAnswer>("The answer to `compare`."),
        "where" => of::<WhereAnswer>("The answer to `where`."),
        "missing" => of::<MissingAnswer>("The answer to `missing`."),
        "judge" => of::<JudgeAnswer>("The answer to `judge`."),
        "write-out" => of::<WrittenOutAnswer>("The answer to `write-out`."),
        "game" => of::<GameAnswer>("The answer to `game`."),
        "how-long" => of::<HowLongAnswer>("The answer to `how-long`."),
        "deal" => of::<DealAnswer>("The answer to `deal`."),
        "hand" => of::<HandAnswer>("The answer to `hand`."),
        "levels" => asked::<fingerpost::LevelsFile>("Levels of teaching."),
        "explain" => of::<ExplainedAnswer>("The answer to `explain`."),
        "board-answer" => of::<BoardAnswer>("The answer to `board`."),
        "schema-answer" => of::<SchemaAnswer>("The answer to `schema`."),
        "error" => of::<ErrorAnswer>("The answer to a request that cannot be carried out."),
        _ => return None,
    };
    Some(named(schema, name))
}

/// The schema of something that is read.
fn asked<T: JsonSchema>(title: &str) -> Schema {
    titled::<T>(title, SchemaSettings::draft2020_12().for_deserialize())
}

/// The schema of something that is written.
fn of<T: JsonSchema>(title: &str) -> Schema {
    titled::<T>(title, SchemaSettings::draft2020_12().for_serialize())
}

fn titled<T: JsonSchema>(title: &str, settings: SchemaSettings) -> Schema {
    let mut schema = settings.into_generator().into_root_schema_for::<T>();
    schema.insert("title".to_owned(), json!(title));
    schema
}

fn named(mut schema: Schema, name: &str) -> Value {
    schema.insert("$id".to_owned(), json!(format!("{name}.schema.json")));
    schema.to_value()
}

pub(crate) fn schema_answer(name: &str) -> Result<SchemaAnswer, ErrorAnswer> {
    if let Some(schema) = schema(name) {
        return Ok(SchemaAnswer {
            version: VERSION,
            name: name.to_owned(),
            schema,
        });
    }
    let known = SCHEMAS.map(|(name, _)| name);
    let near = nearest(name, known);
    let name = shown(name);
    let message = match near {
        Some(near) => format!("`{name}` is not a schema; did you mean `{near}`?"),
        None => format!("`{name}` is not a schema"),
    };
    let complaint = ComplaintAnswer {
        message: message.clone(),
        accepted: Some(known.join(", ")),
        pointer: Some("/name".to_owned()),
        line: None,
        column: None,
    };
    Err(ErrorAnswer::new(ErrorKind::UnknownName, message).with_complaints(vec![complaint]))
}
