//! How one is spoken to: `--learner` and `--bars` mean the same to every command that has them, and `measures` to every verb about a board.

mod support {
    pub(crate) mod answers;
    pub(crate) mod command;
}

use fingerpost_json::answer;
use serde_json::{Value, json};

use support::answers::valid;
use support::command::ran;

const LEGAL: &str = "1 | 2 | 3 :| 4 Fine | 5 8va(R.H.) fermata | 6 D.C. al Fine |]";
const ERRING: &str = "1 |: 2 | 3 | [1. 4 | [2. 5 | 6 D.S. al Coda | 7 coda |]";

/// Commands about a board, with what they need besides it.
const SPEAKING: [(&str, &[&str]); 9] = [
    ("unroll", &[]),
    ("unroll", &["--from", "3", "--count", "4"]),
    ("check", &[]),
    ("compare", &[]),
    ("where", &["Fine"]),
    ("missing", &[]),
    ("judge", &["1-6 2"]),
    ("explain", &[]),
    ("play", &["--throws", "4 5 6 1", "--seed", "1"]),
];

/// The words of a text but for what stands in backticks.
fn words(text: &str) -> Vec<String> {
    let spoken = text.split('`').step_by(2);
    let words = spoken.flat_map(|part| part.split(|c: char| !c.is_alphanumeric()));
    words.map(str::to_lowercase).collect()
}

fn says_measure(text: &str) -> bool {
    words(text)
        .iter()
        .any(|word| word == "measure" || word == "measures")
}

#[test]
fn with_bars_no_command_says_measure_and_without_it_none_says_bar() {
    for board in [LEGAL, ERRING] {
        for (command, more) in SPEAKING {
            let with = [&[command, "--bars", board][..], more].concat();
            let (_, out, err) = ran(&with);
            assert!(
                !says_measure(&out) && !says_measure(&err),
                "{with:?}: {out}{err}"
            );
            let without = [&[command, board][..], more].concat();
            let (status, plain, complaint) = ran(&without);
            let said = words(&(plain.clone() + &complaint));
            assert!(
                !said.iter().any(|it| it == "bar" || it == "bars"),
                "{plain}"
            );
            assert!(
                says_measure(&plain) || says_measure(&complaint),
                "{without:?}"
            );
            assert_eq!(ran(&with).0, status, "{with:?}");
        }
    }
}

#[test]
fn a_learner_is_told_the_same_in_other_words() {
    for (command, more) in SPEAKING {
        if ["compare", "where", "missing"].contains(&command) {
            continue;
        }
        let board = if command == "check" { ERRING } else { LEGAL };
        let teacher = ran(&[&[command, board][..], more].concat());
        let learner = ran(&[&[command, "--learner", board][..], more].concat());
        assert_eq!(teacher.0, learner.0, "{command}");
        assert_ne!(teacher.1, learner.1, "{command}");
        // No clause and no help beside: what is to be done is in the sentence.
        assert!(!learner.1.contains("[3."), "{command}: {}", learner.1);
        assert!(!learner.1.contains("help: "), "{command}: {}", learner.1);
    }
}

#[test]
fn a_judged_pupil_is_told_what_is_for_the_pupil_alone() {
    let (status, out, err) = ran(&["judge", "--learner", "1 |: 2 | 3 :| 4 |]", "1-4"]);
    assert_eq!((status, err.as_str()), (1, ""));
    assert!(out.ends_with(
        "\nThe first 3 steps are right.\nNow look at what stands at the end of measure 3.\nLook for the two dots: they say, once more, please!\n"
    ), "{out}");
    let class = std::env::temp_dir().join(format!("fingerpost-voices-{}.csv", std::process::id()));
    std::fs::write(&class, "pupil,answer\nA1,1-3 2-4\nB2,1-4\nC3,1-x\n").expect("it is written");
    let path = class.to_str().expect("a path");
    let (status, out, err) = ran(&["judge", "--learner", "--class", path, "1 |: 2 | 3 :| 4 |]"]);
    std::fs::remove_file(&class).expect("it is there");
    assert_eq!((status, err.as_str()), (1, ""));
    insta::assert_snapshot!("judge-class-learner", out);
}

#[test]
fn what_is_for_programs_has_the_words_of_programs() {
    for (args, said) in [
        (&["check", "--learner", "--json", LEGAL][..], "--json"),
        (
            &["check", "--learner", "--as", "sarif", LEGAL],
            "--learner is for what people read",
        ),
        (
            &["check", "--bars", "--as", "github", LEGAL],
            "--bars is for what people read",
        ),
        (&["judge", "--learner", "--json", LEGAL, "1-6"], "--json"),
        (&["unroll", "--learner", "--json", LEGAL], "--json"),
    ] {
        let (status, out, err) = ran(args);
        assert_eq!((status, out.as_str()), (2, ""), "{args:?}");
        assert!(err.contains(said), "{args:?}: {err}");
    }
}

/// Every text that an answer says, but for names, lines and pages.
fn texts(value: &Value, found: &mut Vec<String>) {
    match value {
        Value::String(text) => found.push(text.clone()),
        Value::Array(list) => list.iter().for_each(|it| texts(it, found)),
        Value::Object(map) => map
            .iter()
            .filter(|(key, _)| {
                !["rule", "rules", "page", "kind", "measures"].contains(&key.as_str())
            })
            .for_each(|(_, it)| texts(it, found)),
        _ => {}
    }
}

#[test]
fn every_verb_about_a_board_calls_a_measure_as_it_is_asked_to() {
    let game = json!({ "verb": "game", "action": "start", "line": LEGAL, "players": ["A"], "measures": "bar" });
    let started = valid("game", &answer(&game.to_string()));
    for (verb, line, more) in [
        ("check", ERRING, json!({})),
        ("unroll", ERRING, json!({})),
        ("compare", LEGAL, json!({})),
        ("compare", ERRING, json!({})),
        ("judge", LEGAL, json!({ "answer": "1-6 2" })),
        (
            "judge",
            LEGAL,
            json!({ "answers": [{ "pupil": "A", "answer": "1-4" }] }),
        ),
        ("explain", LEGAL, json!({})),
        ("how-long", ERRING, json!({})),
        (
            "game",
            "",
            json!({ "action": "throw", "game": started["game"], "thrown": 4 }),
        ),
    ] {
        let mut request = json!({ "verb": verb, "measures": "bar" });
        if !line.is_empty() {
            request["line"] = json!(line);
        }
        for (key, value) in more.as_object().expect("an object") {
            request[key] = value.clone();
        }
        let said: Value = serde_json::from_str(&answer(&request.to_string())).expect("JSON");
        let mut found = Vec::new();
        texts(&said, &mut found);
        let measure = found.iter().find(|text| says_measure(text));
        assert_eq!(measure, None, "{verb}: {said}");
        let mut bars = found.iter().flat_map(|text| words(text));
        let wordless = verb == "compare" && line == LEGAL;
        assert!(
            wordless || bars.any(|word| word == "bar" || word == "bars"),
            "{verb}: {said}"
        );
    }
}
