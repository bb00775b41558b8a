//! The command on scores: MusicXML, plain and compressed, MNX and ABC, told by their content, as files and from standard input. All scores
//! are invented.

mod support {
    pub(crate) mod answers;
    pub(crate) mod command;
}

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};
use support::answers::valid;
use support::command::{ran, ran_on};

fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

/// Measures of one whole rest; for each what stands after its rest.
fn score(measures: &[&str]) -> String {
    let measures = measures.iter().enumerate().map(|(index, after)| {
        let number = index + 1;
        format!("<measure number=\"{number}\"><note><rest/><duration>4</duration></note>\n{after}\n</measure>\n")
    });
    format!(
        "<score-partwise version=\"4.0\"><part-list><score-part id=\"P1\"><part-name>Flute</part-name></score-part></part-list>\n<part id=\"P1\">\n{}</part></score-partwise>\n",
        measures.collect::<String>()
    )
}

const BACK: &str = "<barline location=\"right\"><repeat direction=\"backward\"/></barline>";
const DC: &str =
    "<direction><direction-type><words>D.C. al Fine</words></direction-type></direction>";
const FINE: &str = "<sound fine=\"yes\"/>";

const BOOK: &str =
    "X:1\nT:The Stile\nK:G\n|: G4 | A4 :|\n\nX:2\nT:The Hut\nK:G\nG4 | \"^D.C. al Fine\" A4 |]\n";

const MNX: &str = r#"{ "mnx": { "version": 1 }, "global": { "measures": [{}, { "repeatEnd": {} }, {}] }, "parts": [] }"#;

fn order(answer: &str) -> Value {
    valid("unroll", answer)["order"].clone()
}

#[test]
fn every_format_is_told_by_its_content_and_never_by_its_name() {
    let folder = folder("told-by-content");
    let text = score(&["", BACK, ""]);
    let wide: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let files: [(&str, &[u8]); 5] = [
        ("a-score.json", text.as_bytes()),
        ("wide.abc", &wide),
        ("tune.musicxml", b"X:1\nK:G\n|: G4 | A4 :| B4 |]\n"),
        (
            "latin.txt",
            b"X:1\nT:Die H\xfctte\nK:G\n|: G4 | A4 :| B4 |]\n",
        ),
        ("draft.mxl", MNX.as_bytes()),
    ];
    for (name, bytes) in files {
        let path = folder.join(name);
        fs::write(&path, bytes).unwrap();
        let path = path.to_str().unwrap();
        for (source, stdin) in [(path, &[][..]), ("-", bytes)] {
            let (status, out, err) = ran_on(&["unroll", "--json", source], stdin);
            assert_eq!((status, err.as_str()), (0, ""), "{name}");
            assert_eq!(order(&out), json!([1, 2, 1, 2, 3]), "{name}");
        }
        for command in ["compare", "board", "missing"] {
            let (status, out, err) = ran(&[command, path]);
            assert_eq!((status, err.as_str()), (0, ""), "{command} {name}");
            assert!(out.contains("1     | 2"), "{command} {name}: {out}");
        }
        let (_, out, _) = ran(&["where", "--json", path, "segno"]);
        let score = &valid("where", &out)["score"];
        assert!(score["format"].is_string(), "{name}: {score}");
    }
}

/// The compressed example was packed by another program than the one that reads it (Python's zipfile, deflated).
#[test]
fn a_compressed_score_is_the_same_board_without_lines() {
    let plain = "examples/scores/over-the-hill.musicxml";
    let packed = "examples/scores/over-the-hill.mxl";
    let line = |path: &str| ran(&["board", "--form", "line", path]).1;
    assert_eq!(line(plain), line(packed));
    let findings = |path: &str| {
        let (status, out, err) = ran(&["check", "--json", path]);
        assert_eq!((status, err.as_str()), (0, ""));
        valid("check", &out)["boards"][0]["findings"].clone()
    };
    let (plain, packed) = (findings(plain), findings(packed));
    let all = plain.as_array().unwrap();
    assert!(all.iter().any(|finding| finding["line"].is_u64()));
    for (one, other) in all.iter().zip(packed.as_array().unwrap()) {
        assert_eq!(one["rule"], other["rule"]);
        assert_eq!(other["line"], Value::Null);
    }
}

#[test]
fn findings_and_steps_carry_the_line_of_the_score() {
    let text = score(&["", FINE, BACK, DC]);
    let (status, out, err) = ran_on(&["check", "-"], text.as_bytes());
    assert_eq!((status, err.as_str()), (0, ""));
    let said = "-:13: advice[words-read]: D.C. stands here in words only\n  in measure 4\n    <direction><direction-type><words>D.C. al Fine</words>";
    assert!(out.starts_with(said), "{out}");
    let (_, out, _) = ran_on(&["unroll", "--json", "-"], text.as_bytes());
    let answer = valid("unroll", &out);
    let steps = answer["steps"].as_array().unwrap();
    let lines: Vec<&Value> = steps
        .iter()
        .filter(|step| step["marking"].is_u64())
        .map(|step| &step["line"])
        .collect();
    assert_eq!(lines, [10, 13]);
    let notice = &answer["score"]["notices"][0];
    assert_eq!(
        (&notice["rule"], &notice["line"]),
        (&json!("words-read"), &json!(13))
    );
    // What only a person reads says it too.
    let (_, out, _) = ran_on(&["unroll", "-"], text.as_bytes());
    assert!(
        out.contains("How the score was read\n  in measure 4, line 13: D.C."),
        "{out}"
    );
}

#[test]
fn errors_of_a_score_are_named_with_their_lines() {
    let text = score(&["", DC]);
    let (status, out, _) = ran_on(&["unroll", "-"], text.as_bytes());
    assert_eq!(status, 1);
    assert!(out.starts_with("-:7: error[fine-missing]: "), "{out}");
    let (status, out, _) = ran_on(&["unroll", "--json", "-"], text.as_bytes());
    assert_eq!(status, 1);
    let error = &valid("error", &out)["error"];
    assert_eq!(error["findings"][0]["line"], 7);
    // The words that were read may be what is to be put right.
    assert_eq!(error["notices"][0]["rule"], "words-read");
}

#[test]
fn a_file_in_one_long_line_has_no_line_to_show() {
    let text = score(&["", DC, "", "", "", "", "", ""]).replace('\n', "");
    let (_, out, _) = ran_on(&["check", "-"], text.as_bytes());
    assert!(out.contains("-:1: error[fine-missing]"), "{out}");
    assert!(!out.contains('^') && !out.contains("<measure"), "{out}");
}

#[test]
fn a_tune_is_chosen_from_its_book() {
    let folder = folder("book");
    let path = folder.join("book.abc");
    fs::write(&path, BOOK).unwrap();
    let path = path.to_str().unwrap();
    for command in ["unroll", "compare", "board", "missing", "where"] {
        let (status, out, err) = ran(&[command, path]);
        assert_eq!((status, out.as_str()), (2, ""), "{command}");
        let said = format!(
            "{path}: this book has 2 tunes, and one is wanted\n  accepted: --tune with the number or the title of one of them: 1 (The Stile), 2 (The Hut)\n"
        );
        assert_eq!(err, said);
        let (_, _, err) = ran(&[command, "--json", path]);
        assert_eq!(valid("error", &err)["error"]["kind"], "several-tunes");
    }
    for tune in ["1", "the stile"] {
        let (status, out, _) = ran(&["unroll", "--json", "--tune", tune, path]);
        assert_eq!(status, 0);
        assert_eq!(order(&out), json!([1, 2, 1, 2]));
        let tune = &valid("unroll", &out)["score"]["tune"];
        assert_eq!(*tune, json!({ "number": 1, "title": "The Stile" }));
    }
    let (status, _, err) = ran(&["unroll", "--tune", "3", path]);
    assert_eq!(status, 2);
    assert!(err.contains("there is no tune `3` in this book"), "{err}");
    let (status, _, err) = ran(&["unroll", "--tune", "3", "1 | 2 |"]);
    assert_eq!(status, 2);
    assert!(err.contains("and this is a board"), "{err}");
}

#[test]
fn check_looks_at_every_tune_of_a_book() {
    let folder = folder("check-book");
    let path = folder.join("book.abc");
    fs::write(&path, BOOK).unwrap();
    let path = path.to_str().unwrap();
    let (status, out, err) = ran(&["check", "--json", path]);
    assert_eq!((status, err.as_str()), (1, ""));
    let answer = valid("check", &out);
    let boards = answer["boards"].as_array().unwrap();
    assert_eq!(boards.len(), 2);
    let found = |board: &Value| board["findings"].as_array().unwrap().len();
    assert_eq!((found(&boards[0]), found(&boards[1])), (1, 2));
    assert_eq!(boards[1]["tune"]["title"], "The Hut");
    assert_eq!(boards[1]["findings"][1]["line"], 9);
    let (_, out, _) = ran(&["check", path]);
    assert!(out.contains("9: error[fine-missing]"), "{out}");
    assert!(
        out.contains("at the end of measure 2, tune 2 (The Hut)\n"),
        "{out}"
    );
    assert!(out.contains("2 boards checked: 1 error"), "{out}");
    let (_, out, _) = ran(&["check", "--tune", "1", path]);
    assert!(out.contains("1 board checked"), "{out}");
    // Of a folder the files are taken that may be scores.
    let (_, out, _) = ran(&["check", folder.to_str().unwrap()]);
    assert!(out.contains("2 boards checked"), "{out}");
}

/// Equal findings of two tunes are two issues.
#[test]
fn services_are_told_of_the_tune() {
    let tune = |number: u32| format!("X:{number}\nK:G\nG4 | \"^D.C. al Fine\" A4 |]\n\n");
    let folder = folder("services");
    let path = folder.join("book.abc");
    fs::write(&path, tune(1) + &tune(2)).unwrap();
    let path = path.to_str().unwrap();
    let (status, out, err) = ran(&["check", "--as", "gitlab", path]);
    assert_eq!((status, err.as_str()), (1, ""));
    let issues: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(issues.as_array().unwrap().len(), 4);
    assert_eq!(issues[3]["location"]["lines"]["begin"], 7);
    let (_, out, _) = ran(&["check", "--as", "github", path]);
    assert!(out.contains("line=3,title=fine-missing::tune 1: "), "{out}");
    let (_, out, _) = ran(&["check", "--as", "azure", path]);
    assert!(
        out.contains("linenumber=7;code=fine-missing;]tune 2: "),
        "{out}"
    );
    let (_, out, _) = ran(&["check", "--as", "sarif", path]);
    let log: Value = serde_json::from_str(&out).unwrap();
    let result = &log["runs"][0]["results"][0];
    assert_eq!(result["ruleId"], "words-read");
    let rules = &log["runs"][0]["tool"]["driver"]["rules"];
    let index = usize::try_from(result["ruleIndex"].as_u64().unwrap()).unwrap();
    assert_eq!(rules[index]["id"], "words-read");
    let region = &result["locations"][0]["physicalLocation"]["region"];
    assert_eq!(*region, json!({ "startLine": 3 }));
}

#[test]
fn a_part_is_chosen_and_otherwise_all_are_held_against_each_other() {
    let measure = |after: &str| {
        format!("<measure><note><rest/><duration>4</duration></note>{after}</measure>")
    };
    let part = |id: &str, measures: [&str; 3]| {
        let measures: String = measures.iter().map(|after| measure(after)).collect();
        format!("<part id=\"{id}\">{measures}</part>\n")
    };
    let text = format!(
        "<score-partwise><part-list><score-part id=\"P1\"><part-name>Flute</part-name></score-part><score-part id=\"P2\"><part-name>Drum</part-name></score-part></part-list>\n{}{}</score-partwise>",
        part("P1", ["", BACK, ""]),
        part("P2", ["", "", BACK])
    );
    let (status, out, _) = ran_on(&["check", "--level", "warning", "-"], text.as_bytes());
    assert_eq!(status, 1);
    assert!(out.contains("warning[parts-disagree]"), "{out}");
    for (part, wanted) in [
        ("P1", json!([1, 2, 1, 2, 3])),
        ("P2", json!([1, 2, 3, 1, 2, 3])),
        ("drum", json!([1, 2, 3, 1, 2, 3])),
    ] {
        let args = ["unroll", "--json", "--part", part, "-"];
        let (status, out, _) = ran_on(&args, text.as_bytes());
        assert_eq!((status, order(&out)), (0, wanted), "{part}");
        let score = &valid("unroll", &out)["score"];
        assert_eq!(
            (&score["part"], &score["notices"]),
            (&json!(part), &json!([]))
        );
    }
    let (status, _, err) = ran_on(&["unroll", "--part", "Horn", "-"], text.as_bytes());
    assert_eq!(status, 2);
    assert!(
        err.contains(
            "there is no part `Horn` in this score; its parts are `P1` (Flute), `P2` (Drum)"
        ),
        "{err}"
    );
    let (status, _, err) = ran_on(&["unroll", "--part", "P1", "-"], BOOK.as_bytes());
    assert_eq!(status, 2);
    assert!(err.contains("only a MusicXML score has parts"), "{err}");
}

#[test]
fn a_score_is_never_written() {
    let folder = folder("never-written");
    let path = folder.join("hut.musicxml");
    // The endings say twice, and the number at the dots says three times.
    let ending = |number: u8, kind: &str, repeat: &str| {
        let side = if kind == "start" { "left" } else { "right" };
        format!(
            "<barline location=\"{side}\"><ending number=\"{number}\" type=\"{kind}\"/>{repeat}</barline>"
        )
    };
    let back = "<repeat direction=\"backward\" times=\"3\"/>";
    let [first, second] = [(1, back), (2, "")]
        .map(|(number, repeat)| ending(number, "start", "") + &ending(number, "stop", repeat));
    let text = score(&["", &first, &second]);
    fs::write(&path, &text).unwrap();
    let path = path.to_str().unwrap();
    let (status, out, err) = ran(&["check", "--fix", path]);
    assert_eq!((status, err.as_str()), (0, ""));
    assert!(
        out.contains("fix: Take the number at the end repeat after measure 2 away (safe)"),
        "{out}"
    );
    assert!(
        out.contains("--fix writes board files, and never a score"),
        "{out}"
    );
    assert!(!out.contains("made"), "{out}");
    assert_eq!(fs::read_to_string(path).unwrap(), text);
    let (_, out, _) = ran(&["check", "--fix", "--json", path]);
    let board = &valid("check", &out)["boards"][0];
    assert_eq!(board["made"], Value::Null);
    assert_eq!(board["findings"][0]["fixes"][0]["kind"], "safe");
}

/// Larger than a board may be: a score has a limit of its own.
#[test]
fn a_score_may_be_larger_than_a_board_and_has_a_limit() {
    let filler = format!("<!--{}-->", " ".repeat(17 << 20));
    let text = score(&["", BACK]).replacen("<part id", &format!("{filler}<part id"), 1);
    let (status, out, err) = ran_on(&["unroll", "--json", "-"], text.as_bytes());
    assert_eq!((status, err.as_str()), (0, ""));
    assert_eq!(order(&out), json!([1, 2, 1, 2]));
    let endless = std::io::Read::chain(&b"<score-partwise><!--"[..], std::io::repeat(b' '));
    let (status, _, err) = ran_on(&["unroll", "-"], endless);
    assert_eq!(status, 2);
    assert_eq!(
        err,
        "-: the score is larger than 256 MiB, the most that is read\n"
    );
}

#[test]
fn the_door_takes_a_score_as_text() {
    let request = json!({ "verb": "unroll", "score": score(&["", BACK]) });
    let answer = fingerpost_json::answer(&request.to_string());
    assert_eq!(order(&answer), json!([1, 2, 1, 2]));
    for key in ["score", "text"] {
        let request = json!({ "verb": "check", key: BOOK });
        let answer = valid("check", &fingerpost_json::answer(&request.to_string()));
        assert_eq!(answer["boards"].as_array().unwrap().len(), 2);
        let request = json!({ "verb": "board", key: BOOK, "tune": "The Hut" });
        let answer = valid(
            "board-answer",
            &fingerpost_json::answer(&request.to_string()),
        );
        assert_eq!(answer["board"]["title"], "The Hut");
        assert_eq!(answer["score"]["notices"][0]["rule"], "words-read");
    }
    let boards = json!([{ "file": "book", "score": BOOK, "tune": 2 }, { "line": "1 | 2 |" }]);
    let request = json!({ "verb": "check", "boards": boards });
    let answer = valid("check", &fingerpost_json::answer(&request.to_string()));
    assert_eq!(answer["boards"][0]["tune"]["number"], 2);
    assert_eq!(answer["boards"][1]["findings"], json!([]));
}

/// "A pupil's piece to a board in one command", and back.
#[test]
fn a_score_becomes_a_board_and_a_board_a_score() {
    let text = score(&["", FINE, BACK, DC]);
    let (status, file, err) = ran_on(&["board", "--form", "file", "-"], text.as_bytes());
    assert_eq!(status, 0);
    // The board is alone on standard output; how it was read is told beside it.
    let board = fingerpost::Board::from_json(&file).unwrap();
    assert_eq!(board.to_line(), "1 | 2 Fine | 3 :| 4 D.C. al Fine |]");
    assert!(
        err.starts_with("How the score was read\n  in measure 4, line 13: D.C."),
        "{err}"
    );
    let (status, written, err) = ran_on(&["board", "--form", "musicxml", "-"], file.as_bytes());
    assert_eq!((status, err.as_str()), (0, ""));
    let (status, line, err) = ran_on(&["board", "--form", "line", "-"], written.as_bytes());
    assert_eq!((status, err.as_str()), (0, ""));
    assert_eq!(line.trim_end(), board.to_line());
    let only = "|: only(R.H., pass 1) 1 | 2 :|";
    let (status, _, err) = ran(&["board", "--form", "musicxml", only]);
    assert_eq!(status, 0);
    assert!(
        err.starts_with("What the score cannot say\n  in measure 1: "),
        "{err}"
    );
    assert!(err.contains("[not-written]"), "{err}");
    let request = json!({ "verb": "board", "line": only, "musicxml": true });
    let answer = valid(
        "board-answer",
        &fingerpost_json::answer(&request.to_string()),
    );
    assert_eq!(answer["musicxml"]["notices"][0]["rule"], "not-written");
    let text = answer["musicxml"]["text"].as_str().unwrap();
    assert!(text.contains("<score-partwise"), "{text}");
}

/// The reading musicxml of the printed signs is one thing, the score at its word another: whoever compares is told.
#[test]
fn compare_says_which_signs_it_reads() {
    let text = score(&["", FINE, "", DC]);
    let (status, out, _) = ran_on(&["compare", "-"], text.as_bytes());
    assert_eq!(status, 0);
    assert!(
        out.contains("All readings below are of the signs as printed."),
        "{out}"
    );
    let (_, out, _) = ran_on(&["compare", "--reading", "musicxml", "-"], text.as_bytes());
    assert!(
        !out.contains("as printed") && out.contains("[words-passed-over]"),
        "{out}"
    );
    let (_, out, _) = ran(&["compare", "1 | 2 |"]);
    assert!(!out.contains("as printed"), "{out}");
}

/// ABC 2.1, 2.2.1 and 3.1.1: a tune begins with its number. What is pasted without it is not taken for a board line.
#[test]
fn a_tune_without_its_number_is_told_so() {
    for text in [
        "T:The Hut\nK:G\n|: G4 | A4 :|\n",
        "%abc\nK:G\n|: G4 | A4 :|\n",
    ] {
        let (status, _, err) = ran_on(&["unroll", "-"], text.as_bytes());
        assert_eq!(status, 2);
        assert!(
            err.starts_with("-:1: a tune in ABC begins with its number"),
            "{err}"
        );
    }
    // Lines that end as on the oldest systems.
    let text = BOOK.replace('\n', "\r");
    let (status, out, _) = ran_on(&["unroll", "--json", "--tune", "1", "-"], text.as_bytes());
    assert_eq!((status, order(&out)), (0, json!([1, 2, 1, 2])));
}

/// Beside a board the first few notices are told; those that may mislead come before the others.
#[test]
fn a_warning_is_not_hidden_by_advice() {
    let segno = |number: u32| {
        format!(
            "<direction><direction-type><words>Fine</words></direction-type></direction><!--{number}-->"
        )
    };
    let mut measures: Vec<String> = (0..20).map(segno).collect();
    measures.push("<barline><repeat direction=\"backward\" times=\"0\"/></barline>".to_owned());
    let measures: Vec<&str> = measures.iter().map(String::as_str).collect();
    let (status, out, _) = ran_on(&["board", "-"], score(&measures).as_bytes());
    assert_eq!(status, 0);
    assert!(out.contains("[plays-out-of-range]"), "{out}");
    assert_eq!(out.matches("[words-read]").count(), 7, "{out}");
    assert!(out.contains("  … 13 more; --json gives them all."), "{out}");
}

/// Cut anywhere, a score is refused: exit status 2, with what is wrong, and in JSON by the schema of errors.
#[test]
fn a_score_cut_short_is_refused() {
    let plain = fs::read("examples/scores/over-the-hill.musicxml").unwrap();
    let packed = fs::read("examples/scores/over-the-hill.mxl").unwrap();
    for (whole, step) in [(&plain, 41), (&packed, 7)] {
        // The last tag of a score may lack its line break.
        for at in (1..whole.len() - 1).step_by(step) {
            for command in ["unroll", "check", "board"] {
                let (status, out, err) = ran_on(&[command, "--json", "-"], &whole[..at]);
                assert_eq!((status, out.as_str()), (2, ""), "{command} {at}");
                valid("error", &err);
            }
            let (status, _, err) = ran_on(&["unroll", "-"], &whole[..at]);
            assert!(status == 2 && err.starts_with('-'), "{at}: {err}");
        }
    }
}
