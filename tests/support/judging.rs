//! What the JSON door says of one answer of a learner.
#![allow(dead_code)] // Each test takes what it needs.

use serde_json::{Value, json};

use super::answers::valid;

pub(crate) fn ask(request: &Value) -> Value {
    let answer = fingerpost_json::answer(&request.to_string());
    valid("judge", &answer)
}

/// The misunderstandings named of an answer, each explanation as one text, and what the teacher is told.
pub(crate) fn explained(line: &str, order: &str) -> (Vec<String>, String) {
    let answer = ask(&json!({ "verb": "judge", "line": line, "answer": order }));
    let judged = &answer["answers"][0];
    assert_eq!(judged["verdict"], "wrong", "{line} {order}");
    let names = |it: &Value| {
        let names = it["misunderstandings"].as_array().expect("names");
        let names = names.iter().map(|name| name.as_str().expect("a name"));
        names.collect::<Vec<_>>().join(" and ")
    };
    let explained = judged["explanations"].as_array();
    let explained = explained.map_or_else(Vec::new, |all| all.iter().map(names).collect());
    let teacher = judged["teacher"].as_array().expect("sentences");
    let teacher = teacher.iter().map(|it| it.as_str().expect("a sentence"));
    (explained, teacher.collect::<Vec<_>>().join(" "))
}

/// What the learner is told, as one text.
pub(crate) fn to_the_learner(line: &str, order: &str) -> String {
    let answer = ask(&json!({ "verb": "judge", "line": line, "answer": order }));
    answer["answers"][0]["learner"].to_string()
}
