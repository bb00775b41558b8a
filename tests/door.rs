//! The JSON door: its schemas are committed and fresh, every answer is what its schema says, and every request has an answer.

mod support {
    pub(crate) mod answers;
    pub(crate) mod fresh;
}

use fingerpost_json::{SCHEMAS, VERBS, answer, schema};
use proptest::prelude::*;
use serde_json::{Value, json};

use support::answers::{valid, validator};
use support::fresh::{fresh, root};

#[test]
fn the_committed_schemas_are_fresh() {
    // That of board files has its own test.
    for (name, _) in SCHEMAS.into_iter().filter(|(name, _)| *name != "board") {
        let text = serde_json::to_string_pretty(&schema(name).unwrap()).unwrap() + "\n";
        fresh(&root(&format!("spec/{name}.schema.json")), &text);
    }
}

#[test]
fn every_schema_is_a_schema_and_describes_every_key() {
    fn look_at(schema: &Value, path: &str) {
        if let Some(properties) = schema.get("properties").and_then(Value::as_object) {
            for (name, property) in properties {
                let is_verb = name == "verb";
                assert!(
                    is_verb || property.get("description").is_some(),
                    "{path}/{name} has no description"
                );
            }
        }
        if let Value::Object(object) = schema {
            for (key, value) in object {
                look_at(value, &format!("{path}/{key}"));
            }
        }
    }
    for (name, _) in SCHEMAS {
        let schema = schema(name).unwrap();
        assert!(jsonschema::draft202012::meta::is_valid(&schema), "{name}");
        if name != "board" {
            look_at(&schema, name);
        }
    }
}

fn ask(request: &Value) -> String {
    answer(&request.to_string())
}

const MINUET: &str = "|: 1 | 2 | [1. 3 :| [2. 4 Fine ] | 5 D.C. al Fine |";

#[test]
fn unroll_gives_the_order_the_steps_and_whether_it_is_settled() {
    let answer = ask(&json!({ "verb": "unroll", "line": MINUET }));
    let answer = valid("unroll", &answer);
    assert_eq!(answer["order"], json!([1, 2, 3, 1, 2, 4, 5, 1, 2, 4]));
    assert_eq!(answer["length"], 10);
    assert_eq!(answer["reading"], "handbook");
    assert_eq!(answer["settled"], false);
    assert_eq!(answer["questions"], json!(["repeats-on-return"]));
    assert_eq!(answer.get("truncated"), None);
    assert_eq!(
        answer["steps"][0],
        json!({
            "measure": 1, "pass": 1, "leg": 1, "visit": 1,
            "octave": { "right": 0, "left": 0 }, "hold": "none", "hands": "both",
            "cause": "start", "clause": "3.1"
        })
    );
    let back = &answer["steps"][3];
    assert_eq!(
        (&back["cause"], &back["clause"]),
        (&json!("repeat"), &json!("3.2"))
    );
    assert_eq!((&back["marking"], &back["pass"]), (&json!(2), &json!(2)));
    let jump = &answer["steps"][7];
    assert_eq!(
        (&jump["cause"], &jump["leg"]),
        (&json!("da-capo"), &json!(2))
    );
}

#[test]
fn a_step_carries_cuts_outer_passes_ids_octaves_holds_and_hands() {
    let line = "{meter 4/4} |: 1 |: 2 8va(R.H., on repeat) :|(id hut) 3 fermata only(L.H., pass 2) Fine@2 :| 4 D.C. al Fine |";
    let answer = valid("unroll", &ask(&json!({ "verb": "unroll", "line": line })));
    let steps = answer["steps"].as_array().unwrap();
    let again = &steps[2];
    assert_eq!(again["enclosing"], json!([1]));
    assert_eq!((&again["id"], &again["pass"]), (&json!("hut"), &json!(2)));
    assert_eq!(again["octave"], json!({ "right": 1, "left": 0 }));
    let cut = &steps[3];
    assert_eq!((&cut["from"], &cut["to"]), (&json!("0/1"), &json!("1/2")));
    // On pass 1 the left hand, which plays on pass 2 alone, is silent.
    assert_eq!(
        (&cut["hold"], &cut["hands"]),
        (&json!("both"), &json!("right"))
    );
    assert_eq!(cut.get("enclosing"), None);
}

#[test]
fn a_board_is_taken_as_json_as_a_line_or_as_text() {
    let json = fingerpost::Board::from_line(MINUET).unwrap().to_json();
    let board: Value = serde_json::from_str(&json).unwrap();
    let requests = [
        json!({ "verb": "unroll", "board": board }),
        json!({ "verb": "unroll", "line": MINUET }),
        json!({ "verb": "unroll", "text": MINUET }),
        json!({ "verb": "unroll", "text": json }),
    ];
    for request in requests {
        let answer = valid("unroll", &ask(&request));
        assert_eq!(answer["length"], 10, "{request}");
    }
}

#[test]
fn terms_change_the_route_and_are_told() {
    let ask = |more: Value| {
        let mut request = json!({ "verb": "unroll", "line": MINUET });
        request
            .as_object_mut()
            .unwrap()
            .extend(more.as_object().unwrap().clone());
        valid("unroll", &ask(&request))
    };
    let played = ask(json!({ "reading": "all-repeats" }));
    assert_eq!(
        (&played["length"], &played["reading"]),
        (&json!(13), &json!("all-repeats"))
    );
    let same = ask(json!({ "reading": { "repeats-on-return": "play" } }));
    assert_eq!(same, played);
    let omitted = ask(json!({ "omit-repeats": true }));
    assert_eq!(omitted["order"], json!([1, 2, 4, 5, 1, 2, 4]));
    assert_eq!(omitted["omit-repeats"], true);
    assert_eq!(ask(json!({ "reading": "examination" })), omitted);
    let mixed = ask(json!({ "reading": { "repeats-on-return": "play", "arming": "al-only" } }));
    assert_eq!(mixed["reading"]["arming"], "al-only");
}

#[test]
fn an_open_section_needs_a_number_of_plays() {
    let line = "|: 1 :|(plays open) 2 |";
    let refused = ask(&json!({ "verb": "unroll", "line": line }));
    assert_eq!(valid("error", &refused)["error"]["kind"], "open-section");
    let answer = ask(&json!({ "verb": "unroll", "line": line, "plays": 3 }));
    let answer = valid("unroll", &answer);
    assert_eq!(
        (&answer["order"], &answer["plays"]),
        (&json!([1, 1, 1, 2]), &json!(3))
    );
}

#[test]
fn a_long_route_is_written_out_in_parts_as_asked() {
    let request = |more: Value| {
        let mut request =
            json!({ "verb": "unroll", "line": "|: 1 | |: 2 :|x1000000 3 :|x1000000" });
        request
            .as_object_mut()
            .unwrap()
            .extend(more.as_object().unwrap().clone());
        ask(&request)
    };
    let length = 1_000_002_000_000_u64;
    let whole = valid("unroll", &request(json!({})));
    assert_eq!(whole["length"], length);
    assert_eq!(whole["order"], json!([]));
    assert_eq!(whole["truncated"]["count"], 0);
    let end = valid(
        "unroll",
        &request(json!({ "from": length - 2, "count": 10 })),
    );
    assert_eq!(end["order"], json!([2, 2, 3]));
    assert_eq!(end["truncated"]["from"], length - 2);
    assert_eq!(end["truncated"]["count"], 3);
    assert_eq!(end["steps"][2]["visit"], 1_000_000);
    for bad in [
        json!({ "from": 0 }),
        json!({ "from": length + 1 }),
        json!({ "from": 1, "count": 1_000_001 }),
        json!({ "count": 3, "limit": 2 }),
    ] {
        let refused = valid("error", &request(bad.clone()));
        assert_eq!(refused["error"]["kind"], "request", "{bad}");
    }
    let short = ask(&json!({ "verb": "unroll", "line": "1 | 2 | 3 |", "limit": 2 }));
    assert_eq!(valid("unroll", &short)["truncated"]["count"], 0);
}

#[test]
fn a_board_with_errors_has_findings_in_place_of_a_route() {
    let request = "{ \"verb\": \"unroll\",\n  \"board\": { \"board\": 1, \"systems\": [3], \"markings\": [\n    { \"mark\": \"da-capo\", \"measure\": 3, \"al\": \"fine\", \"id\": \"back\" } ] } }";
    let refused = answer(request);
    let refused = valid("error", &refused);
    assert_eq!(refused["error"]["kind"], "board-errors");
    let finding = &refused["error"]["findings"][0];
    assert_eq!(finding["rule"], "fine-missing");
    assert_eq!(
        (&finding["line"], &finding["column"]),
        (&json!(3), &json!(5))
    );
    assert_eq!(
        (&finding["marking"], &finding["id"]),
        (&json!(0), &json!("back"))
    );
    assert!(!refused.to_string().contains("order"));
}

#[test]
fn check_counts_findings_and_goes_on_after_a_board_that_cannot_be_read() {
    let request = json!({ "verb": "check", "boards": [
        { "file": "good", "line": MINUET },
        { "file": "none", "text": "no board" },
        { "file": "bad", "line": "1 | 2 D.S. al Coda |" },
    ] });
    let answer = valid("check", &ask(&request));
    let advice = answer["boards"][0]["findings"].as_array().unwrap();
    let advice: Vec<&Value> = advice.iter().map(|finding| &finding["rule"]).collect();
    assert_eq!(advice, ["start-repeat-not-needed", "not-settled"]);
    assert_eq!(
        (&answer["warnings"], &answer["advice"]),
        (&json!(0), &json!(2))
    );
    assert_eq!(answer["boards"][1]["error"]["kind"], "no-board");
    let rules: Vec<&Value> = answer["boards"][2]["findings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|finding| &finding["rule"])
        .collect();
    assert_eq!(rules, ["segno-missing", "to-coda-missing", "coda-missing"]);
    assert_eq!(
        (&answer["errors"], &answer["unread"]),
        (&json!(3), &json!(1))
    );
    assert_eq!(answer["boards"][2]["findings"][0]["column"], 7);
    let one = valid("check", &ask(&json!({ "verb": "check", "line": MINUET })));
    assert_eq!(one["errors"], 0);
}

#[test]
fn compare_shows_the_routes_and_what_to_write() {
    let answer = valid(
        "compare",
        &ask(&json!({ "verb": "compare", "line": MINUET })),
    );
    assert_eq!(answer["settled"], false);
    assert_eq!(answer["routes"].as_array().unwrap().len(), 2);
    assert_eq!(answer["routes"][1]["length"], 13);
    assert_eq!(answer["routes"][1]["parts-at"], 10);
    assert_eq!(answer["questions"][0]["question"], "repeats-on-return");
    assert_eq!(answer["questions"][0]["answers"][1]["routes"], json!([1]));
    let line = answer["settling"][0]["line"].as_str().unwrap();
    let settled = valid("compare", &ask(&json!({ "verb": "compare", "line": line })));
    assert_eq!(settled["settled"], true);
    assert_eq!(settled["routes"][0]["order"], answer["routes"][0]["order"]);
    let cut = valid(
        "compare",
        &ask(&json!({ "verb": "compare", "line": MINUET, "limit": 4 })),
    );
    assert_eq!(cut["routes"][0]["not-written"], 6);
}

#[test]
fn board_gives_both_forms() {
    let answer = valid(
        "board-answer",
        &ask(&json!({ "verb": "board", "line": MINUET })),
    );
    assert_eq!(answer["board"]["systems"], json!([5]));
    let back = ask(&json!({ "verb": "board", "board": answer["board"] }));
    assert_eq!(valid("board-answer", &back)["line"], answer["line"]);
}

#[test]
fn schema_gives_every_schema() {
    for (name, _) in SCHEMAS {
        let answer = ask(&json!({ "verb": "schema", "name": name }));
        let answer = valid("schema-answer", &answer);
        assert_eq!(answer["schema"], schema(name).unwrap());
    }
    let board = valid("schema-answer", &ask(&json!({ "verb": "schema" })));
    assert_eq!(board["name"], "board");
}

/// Bad requests, each with its kind and words of its message.
#[test]
#[allow(clippy::too_many_lines, reason = "a table of requests")]
fn a_bad_request_is_an_answer() {
    let cases = [
        ("", "request", "not JSON"),
        ("{", "request", "not JSON"),
        ("[]", "request", "this is an array"),
        ("{}", "request", "missing field `verb`"),
        (r#"{"verb":"unrol"}"#, "request", "did you mean `unroll`"),
        (r#"{"verb":7}"#, "request", "invalid type"),
        (r#"{"verb":"unroll"}"#, "request", "no board"),
        (
            r#"{"verb":"unroll","line":"1 |","text":"1 |"}"#,
            "request",
            "more than one board",
        ),
        (
            r#"{"verb":"unroll","lin":"1 |"}"#,
            "request",
            "unknown field `lin`",
        ),
        (
            r#"{"verb":"unroll","line":"1 |","line":"1 |"}"#,
            "request",
            "duplicate field",
        ),
        (
            r#"{"verb":"unroll","line":"1 |","reading":"handbok"}"#,
            "request",
            "`handbok` is not a reading",
        ),
        (
            r#"{"verb":"unroll","line":"1 |","reading":{"arming":"never"}}"#,
            "request",
            "unknown variant `never`",
        ),
        (
            r#"{"verb":"unroll","line":"1 |","plays":-1}"#,
            "request",
            "invalid value",
        ),
        (
            r#"{"verb":"unroll","line":"1 | 2 fin |"}"#,
            "no-board",
            "`fin`",
        ),
        (r#"{"verb":"unroll","text":""}"#, "no-board", "empty"),
        (
            r#"{"verb":"unroll","text":"<hut/>"}"#,
            "format-not-read",
            "no MusicXML score",
        ),
        (
            r#"{"verb":"unroll","score":"1 | 2 |"}"#,
            "format-not-read",
            "MusicXML",
        ),
        (
            r#"{"verb":"unroll","score":"X:1\nK:C\n|: A :|\n\nX:2\nK:C\n|: A :|"}"#,
            "several-tunes",
            "2 tunes",
        ),
        (
            r#"{"verb":"unroll","score":"X:1\nK:C\n|: A :|","tune":2}"#,
            "unknown-name",
            "no tune `2`",
        ),
        (
            r#"{"verb":"check","line":"1 | 2 |","part":"P1"}"#,
            "request",
            "this is a board",
        ),
        (
            r#"{"verb":"unroll","board":{"board":1,"systems":[0]}}"#,
            "no-board",
            "empty",
        ),
        (r#"{"verb":"unroll","board":7}"#, "no-board", ""),
        (
            r#"{"verb":"check","boards":[{"file":"a"}]}"#,
            "request",
            "board 0",
        ),
        (
            r#"{"verb":"check","boards":[],"line":"1 |"}"#,
            "request",
            "either",
        ),
        (
            r#"{"verb":"schema","name":"bord"}"#,
            "unknown-name",
            "did you mean `board`",
        ),
        (
            r#"{"verb":"explain"}"#,
            "request",
            "neither `name` nor a board",
        ),
    ];
    for (request, kind, words) in cases {
        let refused = answer(request);
        let refused = valid("error", &refused);
        assert_eq!(refused["error"]["kind"], kind, "{request}: {refused}");
        let message = refused["error"]["message"].as_str().unwrap();
        assert!(message.contains(words), "{request}: {message}");
        assert!(!message.ends_with('.'), "{message}");
    }
}

#[test]
fn a_complaint_about_a_board_inside_a_request_has_its_place_in_the_request() {
    let request = "{\n \"verb\": \"check\",\n \"board\": { \"board\": 1, \"systems\": [2],\n  \"markings\": [{ \"mark\": \"fine\", \"mesure\": 2 }] } }";
    let refused = answer(request);
    let refused = valid("error", &refused);
    let complaint = &refused["error"]["complaints"][0];
    assert_eq!(complaint["pointer"], "/board/markings/0/mesure");
    assert_eq!(
        (&complaint["line"], &complaint["column"]),
        (&json!(4), &json!(34))
    );
}

#[test]
fn the_requests_of_these_tests_are_what_the_schema_of_requests_says() {
    let requests = validator("request");
    let board: Value =
        serde_json::from_str(&fingerpost::Board::from_line(MINUET).unwrap().to_json()).unwrap();
    for good in [
        json!({ "verb": "unroll", "line": MINUET, "reading": "abc", "from": 1, "count": 2 }),
        json!({ "verb": "check", "board": board }),
        json!({ "verb": "check", "boards": [{ "file": "a", "text": MINUET }] }),
        json!({ "verb": "compare", "text": MINUET, "plays": 2, "omit-repeats": true, "limit": 5 }),
        json!({ "verb": "board", "line": MINUET }),
        json!({ "verb": "explain", "name": "3.2" }),
        json!({ "verb": "explain", "line": MINUET, "register": "learner", "measures": "bar" }),
        json!({ "verb": "schema" }),
    ] {
        assert!(requests.is_valid(&good), "{good}");
    }
    for bad in [
        json!({ "verb": "sing" }),
        json!({ "verb": "explain" }),
        json!({ "verb": "unroll", "line": MINUET, "from": 0 }),
        json!({ "verb": "unroll", "line": MINUET, "reading": "none" }),
        json!({ "verb": "check", "board": { "board": 1, "systems": [0] } }),
        json!({ "verb": "schema", "extra": 1 }),
    ] {
        assert!(!requests.is_valid(&bad), "{bad}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn any_text_has_an_answer(request in ".{0,200}") {
        let answer = answer(&request);
        let answer: Value = serde_json::from_str(&answer).unwrap();
        prop_assert!(answer["error"]["kind"].is_string());
    }

    #[test]
    fn any_board_text_has_an_answer_under_every_verb(
        verb in prop::sample::select(VERBS.to_vec()),
        text in "[|:\\[\\]{}\"a-zA-Z0-9 .,()@/-]{0,60}",
        plays in prop::option::of(any::<u32>()),
        from in prop::option::of(any::<u64>()),
    ) {
        let mut request = json!({ "verb": verb, "text": text });
        if verb == "unroll" {
            request["plays"] = json!(plays);
            request["from"] = json!(from);
            request["count"] = json!(5);
        }
        let answer = ask(&request);
        let answer: Value = serde_json::from_str(&answer).unwrap();
        prop_assert_eq!(&answer["version"], 1);
    }
}
