//! The answers of a class, as tables and files give them: whose they are, and what of one row does not spoil the others.

mod support {
    pub(crate) mod command;
}

use std::fs;
use std::path::PathBuf;

use serde_json::{Value, json};

use support::command::ran;

const BOARD: &str = "1 |: 2 | 3 :| 4 |]";

fn written(name: &str, text: &str) -> PathBuf {
    let folder = std::env::temp_dir().join(format!("fingerpost-classes-{}", std::process::id()));
    fs::create_dir_all(&folder).unwrap();
    let path = folder.join(name);
    fs::write(&path, text).unwrap();
    path
}

#[test]
fn an_answer_without_a_pupil_is_called_by_its_number() {
    let table = written("nobody.csv", "pupil,answer\nA1,1-4\n,1-4\nB2,1-3 2-4\n");
    let table = table.to_str().unwrap();
    let file = written(
        "nobody.json",
        r#"[{ "pupil": "A1", "answer": "1-4" }, { "pupil": " ", "answer": "1-4" }, { "pupil": "B2", "answer": "1-3 2-4" }]"#,
    );
    for args in [
        &["judge", "--class", table, BOARD][..],
        &["judge", BOARD, file.to_str().unwrap()],
    ] {
        let (status, out, err) = ran(args);
        assert_eq!((status, err.as_str()), (1, ""));
        assert!(out.contains("\n  answer 2: repeat-ignored."), "{out}");
        assert!(
            out.contains("\n  2 repeat-ignored (A1, answer 2): "),
            "{out}"
        );
    }
    let (_, out, _) = ran(&["judge", "--learner", "--class", table, BOARD]);
    assert!(out.contains("\nanswer 2\n"), "{out}");
    for args in [
        &["judge", "--json", "--class", table, BOARD][..],
        &["judge", "--json", BOARD, file.to_str().unwrap()],
    ] {
        let (_, out, _) = ran(args);
        let answer: Value = serde_json::from_str(&out).unwrap();
        let ideas = &answer["summary"]["misunderstandings"];
        assert_eq!(ideas[0]["pupils"], json!(["A1"]));
        assert_eq!(ideas[0]["answers"], 2);
    }
}

#[test]
fn a_cell_that_cannot_be_read_leaves_the_class_readable() {
    let text = "pupil,answer\nA1,\"1-3\r\n2-4\"\nB2,\"1-\nsoon\"\n\"C\n3\",1-3 2-4\n";
    let path = written("broken.csv", text);
    let (status, out, err) = ran(&["judge", "--class", path.to_str().unwrap(), BOARD]);
    assert_eq!((status, err.as_str()), (1, ""));
    for told in [
        "  A1: right\n",
        "  B2: not readable: `soon` is no measure (character 4)\n",
        "  C 3: right\n",
        "3 answers: 2 right, 1 not readable.",
    ] {
        assert!(out.contains(told), "{told}: {out}");
    }
}

#[test]
fn a_number_beyond_all_boards_is_said_as_it_was_given() {
    let ask = |answers: Value| -> Value {
        let request = json!({ "verb": "judge", "line": BOARD, "answers": answers });
        serde_json::from_str(&fingerpost_json::answer(&request.to_string())).unwrap()
    };
    let answer = ask(json!([
        { "answer": [1, 99_999_999_999_u64] },
        { "answer": [1, 4_000_000_000_u64] },
        { "answer": [1, 2, 3, 2, 3, 4] },
    ]));
    let told = |at: usize| &answer["answers"][at];
    assert_eq!(told(0)["verdict"], "not-readable");
    assert_eq!(
        told(0)["complaint"]["message"],
        "`99999999999` is no measure"
    );
    assert_eq!(told(0)["complaint"]["pointer"], "/1");
    assert_eq!(told(1)["difference"]["given"]["measure"], 4_000_000_000_u64);
    assert_eq!(told(2)["verdict"], "right");
    assert_eq!(answer["summary"]["not-readable"], 1);
}

#[test]
fn a_key_that_is_none_is_named_with_what_is_near() {
    for (text, told) in [
        (
            r#"[{ "pupil": "A", "anwser": [1, 2] }]"#,
            "unknown field `anwser`, expected `pupil` or `answer`",
        ),
        (
            r#"[{ "pupil": "A", "answer": "1" }, { "pupils": "B", "answer": "1" }]"#,
            "unknown field `pupils`, expected `pupil` or `answer`",
        ),
        (r#"[{ "pupil": "A" }]"#, "missing field `answer`"),
        (
            r#"[{ "measure": 1, "octaves": {} }]"#,
            "unknown field `octaves`, expected `measure` or `octave`",
        ),
        ("[1, true]", "expected a measure"),
    ] {
        let path = written("keys.json", text);
        let (status, out, err) = ran(&["judge", BOARD, path.to_str().unwrap()]);
        assert_eq!((status, out.as_str()), (2, ""), "{text}");
        assert!(err.contains(told), "{text}: {err}");
    }
}

/// What is no misunderstanding is told of a pupil in a line, too: orders that are near, and repeats that are to be left out.
#[test]
fn what_is_no_misunderstanding_has_a_line_of_its_own() {
    let table = written(
        "near.csv",
        "pupil,answer\nA1,1 2 1-3 1 2 1-4 1 2 2-4\nB2,1 2 1-3 1 2 1-4 1 1\n",
    );
    let line = "1 | 2 :| 3 :|(on-return skip) 4 D.C. |";
    let (_, out, _) = ran(&["judge", "--class", table.to_str().unwrap(), line]);
    assert!(
        out.contains("\n  A1: 1 slip from each of 2 other readings. Step 6"),
        "{out}"
    );
    assert!(
        out.contains("\n  B2: 12 steps right under another reading. Step 6"),
        "{out}"
    );
    let table = written("repeats.csv", "pupil,answer\nA1,1-3 2-4\n");
    let table = table.to_str().unwrap();
    let (_, out, _) = ran(&["judge", "--omit-repeats", "--class", table, BOARD]);
    assert!(
        out.contains("\n  A1: right with the repeats that are to be left out. Step 4"),
        "{out}"
    );
}
