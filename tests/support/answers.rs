//! Validates answers of the JSON door against their schemas, with every object closed: an answer may hold no key that its schema does not
//! describe.

use jsonschema::{Retrieve, Uri, Validator};
use serde_json::{Value, json};

/// Gives the schema of board files, to which the other schemas refer.
struct BoardSchema;

impl Retrieve for BoardSchema {
    fn retrieve(
        &self,
        uri: &Uri<String>,
    ) -> Result<Value, Box<dyn std::error::Error + Send + Sync>> {
        if uri.as_str().ends_with("board.schema.json") {
            Ok(fingerpost::board_schema())
        } else {
            Err(format!("{uri} is not referred to").into())
        }
    }
}

/// The validator of a schema by its name.
pub(crate) fn validator(name: &str) -> Validator {
    let mut schema = fingerpost_json::schema(name).expect("a known schema");
    close(&mut schema);
    jsonschema::options()
        .with_base_uri("https://fingerpost.invalid/")
        .with_retriever(BoardSchema)
        .build(&schema)
        .expect("the schema is a schema")
}

fn close(schema: &mut Value) {
    match schema {
        Value::Object(object) => {
            if object.contains_key("properties") {
                object.entry("additionalProperties").or_insert(json!(false));
            }
            object.values_mut().for_each(close);
        }
        Value::Array(values) => values.iter_mut().for_each(close),
        _ => {}
    }
}

/// An answer, held against the schema of that name.
pub(crate) fn valid(name: &str, answer: &str) -> Value {
    let value: Value = serde_json::from_str(answer).expect("an answer is JSON");
    let faults: Vec<String> = validator(name)
        .iter_errors(&value)
        .map(|error| format!("{}: {error}", error.instance_path()))
        .collect();
    assert!(faults.is_empty(), "{name}: {faults:#?}\n{answer}");
    value
}
