//! The JSON Schema of a board file is committed and fresh, and it says what the reader says.

mod support;

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::sync::LazyLock;

use fingerpost::{Board, BoardFault, Position};
use proptest::prelude::*;
use proptest::sample::Index;
use serde_json::{Value, json};

use support::boards::any_short_board;

static SCHEMA: LazyLock<jsonschema::Validator> = LazyLock::new(|| {
    jsonschema::draft202012::new(&fingerpost::board_schema()).expect("the schema is a schema")
});

#[test]
fn the_committed_schema_is_fresh() {
    let text = serde_json::to_string_pretty(&fingerpost::board_schema()).unwrap() + "\n";
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("spec/board.schema.json");
    if std::env::var_os("UPDATE").is_some() {
        fs::write(&path, &text).unwrap();
    }
    let committed = fs::read_to_string(&path).unwrap_or_default();
    let stale =
        "spec/board.schema.json is not what the code gives; UPDATE=1 cargo test rewrites it";
    assert!(committed == text, "{stale}");
}

#[test]
fn the_schema_is_a_schema_of_its_draft() {
    let schema = fingerpost::board_schema();
    assert_eq!(
        schema["$schema"],
        "https://json-schema.org/draft/2020-12/schema"
    );
    assert_eq!(schema["$id"], "board.schema.json");
    assert!(jsonschema::draft202012::meta::is_valid(&schema));
}

#[test]
fn every_object_is_closed_and_every_key_is_described() {
    fn look_at(value: &Value, path: &str) {
        if let Some(properties) = value.get("properties").and_then(Value::as_object) {
            // The conditions between keys name keys that are described elsewhere.
            if value.get("type") == Some(&json!("object")) {
                assert_eq!(value["additionalProperties"], json!(false), "{path}");
                for (name, property) in properties {
                    let described = property.get("description").is_some()
                        || ["mark", "measure", "measures", "cut"].contains(&name.as_str());
                    assert!(described, "{path}/{name}");
                }
            }
        }
        match value {
            Value::Object(map) => map
                .iter()
                .for_each(|(key, value)| look_at(value, &format!("{path}/{key}"))),
            Value::Array(list) => list.iter().for_each(|value| look_at(value, path)),
            _ => {}
        }
    }
    look_at(&fingerpost::board_schema(), "");
}

const PAGE: &str = include_str!("../spec/board-file.md");

/// The texts of the fences of the page that begin with this word.
fn fences(kind: &str) -> Vec<&'static str> {
    let start = format!("```{kind}\n");
    let after = PAGE.split(&start).skip(1);
    after
        .map(|rest| rest.split("```").next().unwrap())
        .collect()
}

#[test]
fn the_examples_of_the_page_are_boards_and_keep_their_meaning() {
    let examples = fences("json");
    assert_eq!(examples.len(), 2);
    for example in examples {
        let board = Board::from_json(example).unwrap();
        assert!(SCHEMA.is_valid(&serde_json::from_str(example).unwrap()));
        assert_eq!(
            Board::from_json(&board.to_json()).unwrap(),
            board.canonical()
        );
    }
}

#[test]
fn the_complaints_on_the_page_are_those_of_the_reader() {
    let (wrong, said) = (fences("json wrong"), fences("text"));
    assert_eq!((wrong.len(), said.len()), (1, 1));
    let error = Board::from_json(wrong[0]).unwrap_err();
    let lines = error.complaints().iter().map(|complaint| {
        let Position { line, column } = complaint.position;
        let pointer = complaint.pointer.as_deref().unwrap();
        format!("{line}:{column} {pointer}: {}\n", complaint.message)
    });
    assert_eq!(lines.collect::<String>(), said[0]);
}

#[test]
fn the_page_and_its_example_have_every_key_and_every_word_of_the_schema() {
    fn look_at(value: &Value, keys: &mut BTreeSet<String>, words: &mut BTreeSet<String>) {
        if let Some(properties) = value.get("properties").and_then(Value::as_object) {
            keys.extend(properties.keys().cloned());
        }
        if let Some(word) = value.get("const").and_then(Value::as_str) {
            words.insert(word.to_owned());
        }
        match value {
            Value::Object(map) => map.values().for_each(|value| look_at(value, keys, words)),
            Value::Array(list) => list.iter().for_each(|value| look_at(value, keys, words)),
            _ => {}
        }
    }
    let (mut keys, mut words) = (BTreeSet::new(), BTreeSet::new());
    look_at(&fingerpost::board_schema(), &mut keys, &mut words);
    assert!(keys.len() > 35 && words.len() > 30);
    let text = PAGE.split("```").step_by(2).collect::<String>();
    for key in &keys {
        assert!(text.contains(&format!("`{key}`")), "{key}");
    }
    for word in &words {
        let named = text.contains(&format!("`{word}`")) || text.contains(&format!("`\"{word}\"`"));
        assert!(named, "{word}");
    }
    let questions = [
        "jump-in-repeat",
        "armed-in-repeat",
        "arming",
        "lone-end-repeat",
    ];
    for key in keys.iter().filter(|key| !questions.contains(&key.as_str())) {
        let example = fences("json")[1];
        assert!(example.contains(&format!("\"{key}\":")), "{key}");
    }
}

/// The rules that a schema cannot say; spec/board-file.md lists them.
fn beyond_a_schema(fault: &BoardFault) -> bool {
    matches!(
        fault,
        BoardFault::OffTheBoard { .. }
            | BoardFault::Backwards(..)
            | BoardFault::TooManyMeasures(_)
            | BoardFault::TooManyMarkings(_)
            | BoardFault::MeasureNumbers { .. }
            | BoardFault::MetersOutOfOrder
    )
}

/// What the reader and the schema say of a value. They must agree, but for the rules that a schema cannot say.
fn agree(value: &Value) -> Result<bool, TestCaseError> {
    let text = value.to_string();
    let by_schema = SCHEMA.is_valid(value);
    match Board::from_json(&text) {
        Ok(_) => prop_assert!(
            by_schema,
            "the schema refuses {text}: {:?}",
            SCHEMA.validate(value)
        ),
        Err(error) if by_schema => {
            let faults = error.board_errors();
            prop_assert_eq!(
                faults.len(),
                error.complaints().len(),
                "the schema accepts {}: {}",
                text,
                error
            );
            for fault in faults {
                prop_assert!(
                    beyond_a_schema(fault.fault()),
                    "the schema accepts {text}: {fault}"
                );
            }
        }
        Err(_) => {}
    }
    Ok(by_schema)
}

/// Values that stand near the borders of what some key accepts.
const NEAR: &str = r#"[
    null, true, false, {}, [], [1], [1, 1], [1, 2], [2, 1], [0], [1, 2, 3], [1.0, 2], [1, "x"], [[1]], [99], [100], [65535], [65536], ["1"],
    {"passes": [1]}, {"passes": []}, {"passes": [1], "x": 1}, {"mark": "fine"}, {"mark": "fine", "measure": 1}, [{"mark": "fine", "measure": 1}],
    [{"mark": "fine"}], {"measure": 1, "meter": "4/4"}, [{"measure": 1, "meter": "4/4"}], {"nested": "flat"}, {"fine": null}, ["fine"],
    0, 1, -1, 2, -2, 3, 99, 100, 255, 256, 65535, 65536, 1000000, 1000001, 9223372036854775807, 18446744073709551615,
    1.0, 2.0, -2.0, 1.5, 0.0, -0.0, 1e20, 1e300, 65535.0,
    "", "x", "A", "open", "fine", "coda", "segno", "end", "play", "skip", "final", "double", "left", "both", "every-pass", "last-pass", "on-return",
    "first-arrival", "flat", "beginning", "al-only", "Fine", "fine ", "1", "4/4", "0/4", "4/0", "1/2", "255/255", "256/4", "4/256", "00004/00004",
    "000004/4", "65535/65535", "65536/4", "4/65536", "0/1", "00000/1", "4 /4", "+4/4", "4/4\n", "-1/4", "1/2/3", "/", "٤/٤", "tab\t", "bell\u0007",
    "del\u007f", "\u0085", "\u2028", "start-repeat", "end-repeat", "ending", "to-coda", "da-capo", "dal-segno", "double-bar", "octave", "fermata", "only"
]"#;

fn near_values() -> Vec<Value> {
    let mut values: Vec<Value> = serde_json::from_str(NEAR).unwrap();
    for (character, length) in [
        ("x", 60),
        ("x", 61),
        ("é", 60),
        ("𝄋", 61),
        ("x", 500),
        ("é", 500),
        ("𝄋", 501),
    ] {
        values.push(json!(character.repeat(length)));
    }
    values
}

/// Keys of some object of a board file, and some of none.
const KEYS: &str = "$schema board title composer source levels meter meters pickup systems measure-numbers markings unplaced reading \
    repeats-on-return jump-in-repeat armed-in-repeat arming lone-end-repeat nested mark measure measures cut plays on-return passes open label \
    arrivals al then coda repeats style hands shift when id x Title measure_numbers";

/// One change to a value: where, how, and with what.
#[derive(Clone, Debug)]
struct Change {
    place: Index,
    kind: u8,
    key: Index,
    value: Index,
}

fn change() -> impl Strategy<Value = Change> {
    let parts = (any::<Index>(), 0..8_u8, any::<Index>(), any::<Index>());
    parts.prop_map(|(place, kind, key, value)| Change {
        place,
        kind,
        key,
        value,
    })
}

fn pointers(value: &Value, here: &str, found: &mut Vec<String>) {
    found.push(here.to_owned());
    match value {
        Value::Object(map) => {
            for (key, value) in map {
                let key = key.replace('~', "~0").replace('/', "~1");
                pointers(value, &format!("{here}/{key}"), found);
            }
        }
        Value::Array(list) => {
            for (index, value) in list.iter().enumerate() {
                pointers(value, &format!("{here}/{index}"), found);
            }
        }
        _ => {}
    }
}

impl Change {
    fn make(&self, board: &mut Value) {
        let mut places = Vec::new();
        pointers(board, "", &mut places);
        let place: &String = self.place.get(&places);
        let place = board.pointer_mut(place).unwrap();
        let near = near_values();
        let value = self.value.get(&near).clone();
        let keys: Vec<&str> = KEYS.split_whitespace().collect();
        let key = (*self.key.get::<&str>(&keys)).to_owned();
        match place {
            Value::Object(map) if !map.is_empty() => {
                let old = self
                    .value
                    .get(&map.keys().cloned().collect::<Vec<_>>())
                    .clone();
                match self.kind {
                    0 | 1 => drop(map.remove(&old)),
                    2 => {
                        let value = map.remove(&old).unwrap();
                        map.insert(key, value);
                    }
                    3..=5 => drop(map.insert(key, value)),
                    _ => drop(map.insert(old, value)),
                }
            }
            Value::Array(list) if !list.is_empty() => {
                let old = self.key.index(list.len());
                match self.kind {
                    0 | 1 => drop(list.remove(old)),
                    2 | 3 => list.push(list[old].clone()),
                    4 => list.swap(0, old),
                    5 => list.push(value),
                    _ => list[old] = value,
                }
            }
            Value::Number(number) if self.kind < 3 && number.is_i64() => {
                let step = [1, -1, 1000][usize::from(self.kind)];
                *place = json!(number.as_i64().unwrap().saturating_add(step));
            }
            other => *other = value,
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 8000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_schema_and_the_reader_accept_the_same_values(board in any_short_board(), changes in prop::collection::vec(change(), 0..4)) {
        let mut value: Value = serde_json::from_str(&board.to_json()).unwrap();
        let changed = !changes.is_empty();
        for change in changes {
            change.make(&mut value);
        }
        let accepted = agree(&value)?;
        prop_assert!(accepted || changed, "a board's own file is refused: {value}");
    }
}

const MARKS: &str = r#"[
    {"mark": "start-repeat", "measure": 1}, {"mark": "end-repeat", "measure": 1}, {"mark": "ending", "measures": [1, 2], "passes": [1]},
    {"mark": "segno", "measure": 1}, {"mark": "coda", "measure": 1}, {"mark": "to-coda", "measure": 1}, {"mark": "fine", "measure": 1},
    {"mark": "da-capo", "measure": 1}, {"mark": "da-capo", "measure": 1, "al": "fine"}, {"mark": "da-capo", "measure": 1, "al": "coda"},
    {"mark": "da-capo", "measure": 1, "al": "segno", "then": "coda", "coda": "A"}, {"mark": "da-capo", "measure": 1, "al": "end"},
    {"mark": "dal-segno", "measure": 1}, {"mark": "dal-segno", "measure": 1, "al": "fine", "then": "coda"},
    {"mark": "dal-segno", "measure": 1, "al": "coda", "coda": "A"}, {"mark": "dal-segno", "measure": 1, "al": "fine", "then": "end"},
    {"mark": "double-bar", "measure": 1}, {"mark": "octave", "measures": [1, 2], "shift": 1}, {"mark": "fermata", "measure": 1},
    {"mark": "only", "measures": [1, 2]}
]"#;

/// Every key of every mark with every value near a border, one at a time: no border is left to chance.
#[test]
fn the_schema_and_the_reader_agree_on_every_key_with_every_near_value() {
    let marks: Vec<Value> = serde_json::from_str(MARKS).unwrap();
    let near = near_values();
    let (mut accepted, mut refused) = (0, 0);
    let mut look_at = |file: &Value| match agree(file) {
        Ok(true) => accepted += 1,
        Ok(false) => refused += 1,
        Err(error) => panic!("{error}"),
    };
    let keys = KEYS.split_whitespace();
    for (key, value) in keys.flat_map(|key| near.iter().map(move |value| (key, value))) {
        let mut file = json!({"board": 1, "systems": [2]});
        file[key] = value.clone();
        look_at(&file);
        file = json!({"board": 1, "systems": [2], "reading": {key: value}, "meter": "4/4"});
        look_at(&file);
        file = json!({"board": 1, "systems": [2], "meter": "4/4", "meters": [{"measure": 1, "meter": "3/4"}]});
        file["meters"][0][key] = value.clone();
        look_at(&file);
        for mark in &marks {
            let mut mark = mark.clone();
            mark[key] = value.clone();
            look_at(&json!({"board": 1, "systems": [2], "markings": [mark]}));
            let card = mark.as_object_mut().unwrap();
            if key != "measure" {
                card.remove("measure");
            }
            if key != "measures" {
                card.remove("measures");
            }
            look_at(&json!({"board": 1, "systems": [2], "unplaced": [mark]}));
        }
    }
    assert!(accepted > 5_000 && refused > 50_000, "{accepted} {refused}");
}

/// Each rule that a schema cannot say is broken by a file that the schema accepts.
#[test]
fn what_a_schema_cannot_say_the_reader_says() {
    let many = vec![json!({"mark": "fine"}); 60_000];
    let on_board = vec![json!({"mark": "fine", "measure": 1}); 60_000];
    for file in [
        json!({"board": 1, "systems": [2], "markings": [{"mark": "fine", "measure": 3}]}),
        json!({"board": 1, "systems": [2], "meter": "4/4", "meters": [{"measure": 3, "meter": "4/4"}]}),
        json!({"board": 1, "systems": [2], "markings": [{"mark": "only", "measures": [2, 1]}]}),
        json!({"board": 1, "systems": [65535, 1]}),
        json!({"board": 1, "systems": [2], "measure-numbers": ["1"]}),
        json!({"board": 1, "systems": [2], "meter": "4/4", "meters": [{"measure": 2, "meter": "3/4"}, {"measure": 2, "meter": "4/4"}]}),
        json!({"board": 1, "systems": [2], "markings": on_board, "unplaced": many}),
    ] {
        assert!(SCHEMA.is_valid(&file));
        let error = Board::from_json(&file.to_string()).unwrap_err();
        assert_eq!(error.board_errors().len(), 1, "{error}");
        assert!(beyond_a_schema(error.board_errors()[0].fault()), "{error}");
    }
}
