//! What the command says when it is given something that it cannot take, and how much it says at once.

mod support {
    pub(crate) mod answers;
    pub(crate) mod command;
}

use std::fs;
use std::path::Path;

use fingerpost::Board;
use serde_json::Value;
use support::answers::valid;
use support::command::{ran, ran_on};

#[test]
fn of_very_many_findings_the_gravest_are_shown_and_the_others_counted() {
    let fines = r#"{ "mark": "segno", "measure": 1, "label": "n" }"#;
    let mut markings: Vec<String> = (0..2000)
        .map(|at| fines.replace("\"n\"", &format!("\"n{at}\"")))
        .collect();
    markings.push(r#"{ "mark": "da-capo", "measure": 2, "al": "fine" }"#.to_owned());
    let file = format!(
        r#"{{ "board": 1, "systems": [2], "markings": [{}] }}"#,
        markings.join(",\n")
    );
    let (status, out, err) = ran_on(&["check", "-"], file.as_bytes());
    assert_eq!((status, err.as_str()), (1, ""));
    assert!(out.contains("error[fine-missing]"), "the error is shown");
    let shown = out.matches("\n  help: ").count();
    assert_eq!(shown, 100);
    let (_, json, _) = ran_on(&["check", "--json", "-"], file.as_bytes());
    let answer = valid("check", &json);
    let all = answer["boards"][0]["findings"].as_array().unwrap().len();
    assert!(all > 2000, "{all}");
    let more = format!(
        "-: and 1 {} findings more; `fingerpost check --json` tells of all\n",
        all - 1100
    );
    assert!(
        out.contains(&more),
        "{more}: {}",
        out.get(out.len() - 300..).unwrap()
    );
    // What is shown stays in board order.
    let lines: Vec<u32> = out
        .lines()
        .filter_map(|line| line.strip_prefix("-:")?.split(':').next()?.parse().ok())
        .collect();
    assert!(lines.is_sorted(), "{lines:?}");
}

#[test]
fn a_text_of_no_form_is_refused_with_its_place_and_what_would_be_accepted() {
    for (text, place, message) in [
        ("hello", "1:1", "this is no board"),
        ("[]", "1:1", "this is no board"),
        ("", "1:1", "the text is empty"),
        ("\n \n  hut", "3:3", "this is no board"),
    ] {
        let (status, out, err) = ran_on(&["check", "-"], text.as_bytes());
        assert_eq!((status, out.as_str()), (2, ""), "{text}");
        assert!(err.starts_with(&format!("-:{place}: {message}\n")), "{err}");
        assert!(err.contains("  accepted: a board file"), "{err}");
        let (_, _, err) = ran_on(&["check", "--json", "-"], text.as_bytes());
        let complaint = &valid("error", &err)["error"]["complaints"][0];
        assert_eq!(complaint["message"], message);
        let (line, column) = place.split_once(':').unwrap();
        assert_eq!(complaint["line"].to_string(), line);
        assert_eq!(complaint["column"].to_string(), column);
    }
}

#[test]
fn a_complaint_of_a_board_file_has_its_json_pointer() {
    let file = r#"{ "board": 1, "systems": [4], "markings": [{ "mark": "fine", "measure": 9 }] }"#;
    let (_, _, err) = ran_on(&["unroll", "-"], file.as_bytes());
    assert!(err.contains("\n  at /markings/0/measure\n"), "{err}");
    let (_, _, err) = ran_on(&["unroll", "-"], &b"1 | fin |"[..]);
    assert!(!err.contains("\n  at "), "{err}");
}

#[test]
fn with_json_every_complaint_is_json() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("json-complaints");
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    fs::write(folder.join("broken.json"), "{").unwrap();
    fs::write(
        folder.join("good.json"),
        r#"{ "board": 1, "systems": [4] }"#,
    )
    .unwrap();
    let folder = folder.to_str().unwrap();
    for args in [
        &["check", "--json", folder][..],
        &["check", "--as", "json", folder],
        &["check", "--as=json", "1 | fin |", "nowhere.json"],
        &["check", "--json"],
        &["check", "--json", "--level", "none", "1 |"],
        &["check", "--json", "--as", "text", "1 |"],
        &["unroll", "--json", "--plays", "0", "1 |"],
        &["unroll", "--json", "--reading", "handbok", "1 |"],
        &["unroll", "--json", "--no-such-flag", "1 |"],
        &["unroll", "--json", "nowhere.json"],
        &["unroll", "--json", "1 | fin |"],
        &["compare", "--json", "1 | fin |"],
        &["explain", "--json", "no-such-name"],
        &["schema", "--json", "bord"],
    ] {
        let (status, _, err) = ran(args);
        assert_eq!(status, 2, "{args:?}");
        assert_eq!(err.lines().count(), 1, "{args:?}: {err}");
        let error = valid("error", &err);
        assert_ne!(error["error"]["message"], "", "{args:?}");
    }
    let (_, _, err) = ran(&["check", "--json", "1 | fin |", "nowhere.json"]);
    let error = valid("error", &err);
    let said = |index: usize| {
        error["error"]["complaints"][index]["message"]
            .as_str()
            .unwrap()
            .to_owned()
    };
    assert!(said(0).starts_with("line: `fin` is no sign"), "{err}");
    assert!(
        said(1).starts_with("nowhere.json: the file cannot be opened"),
        "{err}"
    );
    // Behind `--` nothing is an option.
    let (_, _, err) = ran(&["unroll", "--no-such-flag", "--", "--json"]);
    assert!(serde_json::from_str::<Value>(&err).is_err(), "{err}");
}

#[test]
fn a_value_that_an_option_does_not_take_is_told_in_plain_words() {
    for value in ["0", "x", "huge", "1000001", "99999999999", ""] {
        let option = format!("--plays={value}");
        let (status, out, err) = ran(&["unroll", &option, "1 |"]);
        assert_eq!((status, out.as_str()), (2, ""));
        let words = format!(
            "fingerpost: --plays: `{value}` is not a number of plays; write a number from 1 to 1000000\n"
        );
        assert_eq!(err, words);
    }
    let (_, _, err) = ran(&["unroll", "--reading", "handbok", "1 |"]);
    assert_eq!(
        err,
        "fingerpost: --reading: `handbok` is not a reading; did you mean `handbook`?\n"
    );
    let (_, _, err) = ran(&["unroll", "--reading", "sonata", "1 |"]);
    assert!(
        err.contains("the readings are handbook, musicxml, mnx, abc"),
        "{err}"
    );
    let (_, _, err) = ran(&["check", "--level", "warnin", "1 |"]);
    assert_eq!(
        err,
        "fingerpost: --level does not take `warnin`; did you mean `warning`?\n  accepted: error, warning, advice\n"
    );
}

#[test]
fn several_lines_are_numbered_and_one_is_not() {
    let (_, out, _) = ran(&["check", "1 D.S. |", "1 | 2 |", "1 D.S. |"]);
    assert!(
        out.contains("line 1:1:3: error") && out.contains("line 3:1:3: error"),
        "{out}"
    );
    let (_, out, _) = ran(&["check", "1 D.S. |"]);
    assert!(out.starts_with("line:1:3: error"), "{out}");
}

#[test]
fn a_file_with_a_barline_in_its_name_is_opened_when_it_is_there() {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join("hut | stile.json");
    fs::write(&path, r#"{ "board": 1, "systems": [4] }"#).unwrap();
    let path = path.to_str().unwrap();
    for command in ["unroll", "check", "board", "compare"] {
        let (status, _, err) = ran(&[command, path]);
        assert_eq!((status, err.as_str()), (0, ""), "{command}");
    }
}

#[test]
fn a_mark_stands_under_its_place_whatever_stands_before_it() {
    for (line, expected) in [
        ("\"hut\" | fin |", "        ^^^"),
        // Each of these takes two columns.
        ("\"小屋\" | fin |", "         ^^^"),
        ("\"🏡\" | fin |", "       ^^^"),
        // This one none of its own.
        ("\"e\u{301}\" | fin |", "      ^^^"),
        ("\t| fin |", "\t  ^^^"),
        ("1 | 小屋 |", "    ^^^^"),
    ] {
        let error = Board::from_line(line).unwrap_err();
        let drawn = error.complaints()[0].drawn(line);
        assert_eq!(drawn.lines().nth(1), Some(expected), "{drawn}");
    }
}

#[test]
fn the_pictures_of_the_signs_are_told_their_words() {
    for (line, words) in [
        (
            "𝄋 1 | 2 D.S. |",
            "`𝄋` has a word in a line: write `segno`, or `D.S.`",
        ),
        (
            "1 𝄌 | 2 |",
            "`𝄌` has a word in a line: write `coda`, or `To Coda`",
        ),
        ("𝄋:A 1 | 2 |", "write `segno`"),
    ] {
        let (status, _, err) = ran(&["unroll", line]);
        assert_eq!(status, 2);
        assert!(err.contains(words), "{err}");
    }
}

#[test]
fn a_clause_that_speaks_of_t_says_what_it_is() {
    let meaning = "T is the number of passes of a section (clause 1.4).";
    for clause in ["2.7", "3.2", "5.1", "10.6", "7.2"] {
        let (_, out, _) = ran(&["explain", clause]);
        let speaks = out
            .split(|c: char| !c.is_alphanumeric())
            .filter(|it| *it == "T")
            .count();
        assert_eq!(speaks > 0, out.contains(meaning), "{out}");
    }
    assert!(ran(&["explain", "3.2"]).1.contains(meaning));
    assert!(!ran(&["explain", "1.4"]).1.contains(meaning));
    assert!(!ran(&["explain", "3.1"]).1.contains(meaning));
}

/// Read as it stands, a D.C. after the last `:|` would add a measure to the piece without a word.
#[test]
fn a_jump_after_the_repeat_at_which_it_is_meant_is_asked_about() {
    let (status, _, err) = ran(&["unroll", "1 |: 2 :| D.C. al Fine | 3 |"]);
    assert_eq!(status, 2);
    assert!(
        err.contains("`D.C. al Fine` stands in a measure that has no number, after `:|`"),
        "{err}"
    );
    assert!(
        err.contains("accepted: `D.C. al Fine` before the `:|`; or a number, a name or `-`"),
        "{err}"
    );
    for line in [
        "1 |: 2 D.C. al Fine :| 3 Fine |",
        "1 |: 2 :| - D.C. | 4 |",
        "1 |: 2 :| 3 D.C. |",
        "1 |: 2 :| D.C. 3 |",
        "| segno | D.S. :| D.S. |",
    ] {
        assert!(Board::from_line(line).is_ok(), "{line}");
    }
}

#[test]
fn a_word_that_is_no_name_leads_on_in_two_lines() {
    let (status, out, err) = ran(&["explain", "label"]);
    assert_eq!((status, out.as_str()), (2, ""));
    let lines: Vec<&str> = err.lines().collect();
    assert_eq!(lines.len(), 2, "{err}");
    assert!(
        lines[0].contains("about it: label-twice; clause 4.5"),
        "{err}"
    );
    assert!(lines[1].contains("`fingerpost explain names`"), "{err}");
}
