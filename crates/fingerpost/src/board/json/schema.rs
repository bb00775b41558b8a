//! The JSON Schema of a board file, derived from the typed description.

use std::borrow::Cow;

use schemars::generate::SchemaSettings;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde_json::{Value, json};

use super::description::{BoardFile, Card, Mark};
use super::lists::{List, PassList, WhenPasses, WhenValue, WhenWord};
use super::numbers::{
    Level, Measure, PassNumber, PlaysValue, Row, ShiftValue, SystemLength, Version,
};
use super::values::{Address, Cut, Flag, Label, MeterValue, Object, Pickup, Title, Word};
use crate::board::{Al, HIGHEST_PASS, LONGEST_LABEL, LONGEST_TITLE, MOST_MEASURES, Plays, Shift};

/// The JSON Schema (draft 2020-12) of a board file.
///
/// What it refuses, [`Board::from_json`](crate::Board::from_json) refuses; the other way round there are a few rules that no schema can say,
/// such as that a measure is on the board. They are listed in spec/board-file.md.
pub fn board_schema() -> Value {
    let generator = SchemaSettings::draft2020_12().into_generator();
    let mut schema = generator.into_root_schema_for::<BoardFile<Vec<Mark>, Vec<Card>>>();
    schema.insert("$id".to_owned(), json!("board.schema.json"));
    schema.to_value()
}

/// What the keys of a D.C. ask of each other.
pub(super) fn da_capo_rules() -> Value {
    jump_rules(
        &["fine", "segno"],
        json!({ "label": with("al", &["segno"]) }),
    )
}

/// What the keys of a D.S. ask of each other.
pub(super) fn dal_segno_rules() -> Value {
    jump_rules(&["fine"], json!({}))
}

fn jump_rules(with_then: &[&str], mut rules: Value) -> Value {
    let coda = json!({ "anyOf": [with("al", &["coda"]), with("then", &["coda"])] });
    if let Some(rules) = rules.as_object_mut() {
        rules.insert("then".to_owned(), with("al", with_then));
        rules.insert("coda".to_owned(), coda);
    }
    rules
}

/// What the keys of a board ask of each other.
pub(super) fn board_rules() -> Value {
    let no_changes = json!({ "properties": { "meters": { "maxItems": 0 } } });
    json!({ "meters": { "anyOf": [{ "required": ["meter"] }, no_changes] } })
}

/// The key is there and has one of these values.
fn with(key: &str, values: &[&str]) -> Value {
    json!({ "properties": { key: { "enum": values } }, "required": [key] })
}

/// `al` at a D.S.: it has left from the segno already.
pub(super) struct AlOfDalSegno;

impl JsonSchema for AlOfDalSegno {
    fn schema_name() -> Cow<'static, str> {
        "AlOfDalSegno".into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let mut schema = Al::json_schema(generator);
        if let Some(Value::Array(words)) = schema.get_mut("oneOf") {
            words.retain(|word| word.get("const") != Some(&json!("segno")));
        }
        schema
    }
}

/// A whole number from 0 to 65 535, of at most five digits, as a pattern; the other patterns are put together like it.
const UP_TO_65535: &str =
    "([0-9]{1,4}|[0-5][0-9]{4}|6[0-4][0-9]{3}|65[0-4][0-9]{2}|655[0-2][0-9]|6553[0-5])";
const FROM_1_TO_65535: &str = "(0{0,4}[1-9]|0{0,3}[1-9][0-9]|0{0,2}[1-9][0-9]{2}|0?[1-9][0-9]{3}\
    |[1-5][0-9]{4}|6[0-4][0-9]{3}|65[0-4][0-9]{2}|655[0-2][0-9]|6553[0-5])";
const FROM_1_TO_255: &str =
    "(0{0,4}[1-9]|0{0,3}[1-9][0-9]|0{0,2}1[0-9]{2}|0{0,2}2[0-4][0-9]|0{0,2}25[0-5])";
const SHIFTS: [Shift; 4] = [Shift::Up1, Shift::Up2, Shift::Down1, Shift::Down2];
/// A text without control characters.
const ON_ONE_LINE: &str = "^[^\\u0000-\\u001F\\u007F]*$";

macro_rules! described {
    ($($type:ty, $name:literal, $schema:expr;)+) => {$(
        impl JsonSchema for $type {
            fn schema_name() -> Cow<'static, str> {
                $name.into()
            }

            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                let Value::Object(schema) = $schema else {
                    return Schema::default();
                };
                schema.into()
            }
        }
    )+};
}

described! {
    Measure, "Measure", json!({
        "description": "A measure of the board, counted from 1.",
        "type": "integer", "minimum": 1, "maximum": MOST_MEASURES,
    });
    SystemLength, "SystemLength", json!({
        "description": "How many measures a system has.",
        "type": "integer", "minimum": 1, "maximum": MOST_MEASURES,
    });
    Level, "Level", json!({
        "description": "A teaching level.",
        "type": "integer", "minimum": 1, "maximum": 99,
    });
    PassNumber, "PassNumber", json!({
        "description": "A pass or an arrival, counted from 1.",
        "type": "integer", "minimum": 1, "maximum": HIGHEST_PASS,
    });
    Version, "Version", json!({
        "description": "The version of the format.",
        "type": "integer", "const": Version::NUMBER,
    });
    ShiftValue, "Shift", json!({
        "description": "Octaves up.",
        "type": "integer", "enum": (SHIFTS.map(Shift::octaves)),
    });
    PlaysValue, "Plays", json!({
        "description": "How many times in all; `open`: until a signal.",
        "oneOf": [
            { "type": "integer", "minimum": 1, "maximum": HIGHEST_PASS },
            { "type": "string", "const": PlaysValue(Plays::Open) },
        ],
    });
    Flag, "Flag", json!({ "type": "boolean" });
    Title, "Title", json!({
        "description": "A text of one line.",
        "type": "string", "maxLength": LONGEST_TITLE, "pattern": ON_ONE_LINE,
    });
    Label, "Label", json!({
        "description": "A short text of one line.",
        "type": "string", "maxLength": LONGEST_LABEL, "pattern": ON_ONE_LINE,
    });
    Address, "Address", json!({ "type": "string" });
    Cut, "Cut", json!({
        "description": "The point inside the measure where the road is cut, as a fraction of a whole note from the measure's start.",
        "examples": ["3/8"],
        "type": "string", "pattern": format!("^{UP_TO_65535}/{FROM_1_TO_65535}$"),
    });
    Pickup, "Pickup", json!({
        "description": "A length above 0, as a fraction of a whole note.",
        "examples": ["1/4"],
        "type": "string", "pattern": format!("^{FROM_1_TO_65535}/{FROM_1_TO_65535}$"),
    });
    MeterValue, "Meter", json!({
        "description": "A meter: how many beats a measure has, and which part of a whole note a beat is.",
        "examples": ["4/4", "6/8"],
        "type": "string", "pattern": format!("^{FROM_1_TO_255}/{FROM_1_TO_255}$"),
    });
}

macro_rules! described_by_parts {
    ($($type:ty, $name:literal, |$generator:ident| $schema:expr;)+) => {$(
        impl JsonSchema for $type {
            fn schema_name() -> Cow<'static, str> {
                $name.into()
            }

            fn json_schema($generator: &mut SchemaGenerator) -> Schema {
                $schema
            }
        }
    )+};
}

described_by_parts! {
    Row, "Row", |generator| json_schema!({
        "description": "The first and the last of a row of measures, both included.",
        "examples": [[5, 6]],
        "type": "array", "items": generator.subschema_for::<Measure>(), "minItems": 2, "maxItems": 2,
    });
    PassList, "Passes", |generator| json_schema!({
        "description": "Passes or arrivals, each once.",
        "examples": [[1, 2]],
        "type": "array", "items": generator.subschema_for::<PassNumber>(), "minItems": 1, "uniqueItems": true,
    });
    WhenValue, "When", |generator| json_schema!({
        "description": "The times at which a sign holds.",
        "anyOf": [generator.subschema_for::<WhenWord>(), generator.subschema_for::<WhenPasses>()],
    });
}

impl<T: JsonSchema, const MOST: usize> JsonSchema for List<T, MOST> {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        format!("ListOf{}", T::schema_name()).into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "array", "items": generator.subschema_for::<T>(), "maxItems": MOST })
    }
}

/// A type that is described as the type inside it.
macro_rules! described_as_inside {
    ($($type:ident)+) => {$(
        impl<T: JsonSchema> JsonSchema for $type<T> {
            fn inline_schema() -> bool {
                T::inline_schema()
            }

            fn schema_name() -> Cow<'static, str> {
                T::schema_name()
            }

            fn schema_id() -> Cow<'static, str> {
                T::schema_id()
            }

            fn json_schema(generator: &mut SchemaGenerator) -> Schema {
                T::json_schema(generator)
            }
        }
    )+};
}

described_as_inside! { Object Word }
