//! Fixes at the command and in the JSON: what is shown, what `--fix` writes, and edits that any app can make.

mod support;

use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};

use fingerpost::{Board, Severity, check, fixes};
use proptest::prelude::*;
use serde_json::{Value, json};
use support::boards::{any_laid_board, any_short_board};

#[path = "support/answers.rs"]
mod answers;
#[path = "support/command.rs"]
mod command;
use answers::valid;
use command::{ran, ran_on};

/// A file of its own for a test.
fn file(name: &str, text: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("cli-fix-{name}"));
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    let path = folder.join("board.json");
    fs::write(&path, text).unwrap();
    path
}

/// What a run on a file printed, with a short name for the file.
fn shown(path: &Path, text: &str) -> String {
    text.replace(path.to_str().unwrap(), "board.json")
}

/// A board by somebody who likes columns, with an error, warnings and advice.
const COLUMNS: &str = r#"{
  "board": 1,
  "title": "Over the Stile",
  "systems": [4, 4],

  "markings": [
    { "mark": "segno",        "measure": 3 },
    { "mark": "fermata",      "measure": 1 },
    { "mark": "fermata",      "measure": 1 },
    { "mark": "start-repeat", "measure": 1 },
    { "mark": "ending",       "measures": [4, 4], "passes": [1] },
    { "mark": "ending",       "measures": [5, 5], "passes": [2] }
  ]
}
"#;

/// A board by a program, with two signs too many.
const COMPACT: &str = r#"{"board":1,"systems":[4],"markings":[{"mark":"end-repeat","measure":4,"id":"e"},{"mark":"end-repeat","measure":4},{"mark":"fermata","measure":2,"when":{"passes":[3]}}]}"#;

#[test]
fn fixes_stand_below_their_finding_and_the_difference_at_the_end() {
    let path = file("shown", COLUMNS);
    let (status, out, err) = ran(&["check", path.to_str().unwrap()]);
    assert_eq!((status, err.as_str()), (1, ""));
    insta::assert_snapshot!("shown", shown(&path, &out));
    assert_eq!(fs::read_to_string(&path).unwrap(), COLUMNS);
}

/// Each of the first fixes is right by itself; both together put two jumps on one barline.
#[test]
fn that_fixes_may_spoil_each_other_is_said_where_several_are_a_choice() {
    let line = "1 | segno:A 2 | segno:B 3 | 4 |";
    let board: Board = line.parse().unwrap();
    let firsts = check(&board)
        .into_iter()
        .map(|finding| fixes(&board, &finding).into_iter().next().unwrap());
    let mut both = board.clone();
    for (made, fix) in firsts.enumerate() {
        both = fix.apply(&both).unwrap();
        let errors = check(&both)
            .into_iter()
            .filter(|it| it.severity == Severity::Error);
        let errors: Vec<&str> = errors.map(|it| it.rule).collect();
        assert_eq!(errors, ["jumps-together"].repeat(made));
    }
    let says = |line| ran(&["check", line]).1.contains("check again after each");
    assert!(says(line));
    // One finding to choose for; two of which both fixes are safe.
    assert!(!says("1 | segno:A 2 | 3 |"));
    assert!(!says("1 | segno segno 2 | 3 Fine Fine | 4 D.S. al Fine |"));
}

#[test]
fn the_layout_is_kept() {
    let mut text = String::new();
    for (name, board) in [("columns", COLUMNS), ("compact", COMPACT)] {
        let path = file(name, board);
        let (status, out, err) = ran(&["check", "--fix", path.to_str().unwrap()]);
        assert_eq!((status, err.as_str()), (0, ""), "{out}");
        let mended = fs::read_to_string(&path).unwrap();
        writeln!(text, "{}{mended}", shown(&path, &out)).unwrap();
        // What is mended is mended.
        let (_, out, _) = ran(&["check", "--fix", path.to_str().unwrap()]);
        assert!(!out.contains("made"), "{out}");
        assert_eq!(fs::read_to_string(&path).unwrap(), mended);
        // Nothing is left beside it.
        assert_eq!(fs::read_dir(path.parent().unwrap()).unwrap().count(), 1);
    }
    insta::assert_snapshot!("layout", text);
}

#[test]
fn the_status_is_that_of_what_is_left() {
    // The segno can be taken away; where the Fine was to be, nobody can tell.
    let board = r#"{ "board": 1, "systems": [4], "markings": [
  { "mark": "end-repeat", "measure": 2 },
  { "mark": "end-repeat", "measure": 2 },
  { "mark": "da-capo", "measure": 4, "al": "fine" }
] }"#;
    let path = file("status", board);
    let (status, out, _) = ran(&["check", "--fix", path.to_str().unwrap()]);
    assert_eq!(status, 1);
    assert!(
        out.contains("error[fine-missing]") && out.contains("; 1 safe fix made"),
        "{out}"
    );
    assert!(!out.contains("same-sign-twice"), "{out}");
}

#[test]
fn a_file_without_safe_fixes_is_not_touched() {
    let board = r#"{ "board": 1, "systems": [4], "markings": [ { "mark": "da-capo", "measure": 4, "al": "fine" } ] }"#;
    let path = file("untouched", board);
    let long_ago =
        std::time::SystemTime::UNIX_EPOCH + std::time::Duration::from_secs(1_000_000_000);
    fs::File::options()
        .write(true)
        .open(&path)
        .unwrap()
        .set_modified(long_ago)
        .unwrap();
    let (status, out, _) = ran(&["check", "--fix", path.to_str().unwrap()]);
    assert_eq!(status, 1, "{out}");
    assert_eq!(fs::metadata(&path).unwrap().modified().unwrap(), long_ago);
}

#[test]
fn a_line_and_standard_input_are_printed() {
    let line = "1 | segno segno 2 | 3 D.S. |";
    let (status, out, _) = ran(&["check", line]);
    assert_eq!(status, 0);
    assert!(
        out.contains("\nWith the safe fixes (--fix makes them):\n1 | segno 2 | 3 D.S. |]\n"),
        "{out}"
    );
    let (_, out, _) = ran(&["check", "--fix", line]);
    assert_eq!(
        out,
        "line: made: Take the segno at measure 2 away\n1 | segno 2 | 3 D.S. |]\n1 board checked: nothing wrong; 1 safe fix made\n"
    );
    let (_, out, _) = ran_on(&["check", "--fix", "--json", "-"], COMPACT.as_bytes());
    let answer = valid("check", &out);
    let board = &answer["boards"][0];
    assert_eq!(
        board["text"],
        r#"{"board":1,"systems":[4],"markings":[{"mark":"end-repeat","measure":4,"id":"e"}]}"#
    );
    assert_eq!(
        board["made"],
        json!([
            "Take the fermata over measure 2 away",
            "Take the end repeat after measure 4 away"
        ])
    );
    assert_eq!(board["findings"], json!([]));
}

#[cfg(unix)]
#[test]
fn a_file_keeps_its_permissions_and_a_link_stays_a_link() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let path = file("link", COMPACT);
    fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
    let link = path.with_file_name("link.json");
    symlink(&path, &link).unwrap();
    let (status, out, _) = ran(&["check", "--fix", link.to_str().unwrap()]);
    assert_eq!(status, 0, "{out}");
    assert!(link.is_symlink());
    assert_ne!(fs::read_to_string(&path).unwrap(), COMPACT);
    let mode = fs::metadata(&path).unwrap().permissions().mode();
    assert_eq!(mode & 0o777, 0o640);
}

#[test]
fn a_file_that_may_not_be_written_is_complained_of() {
    for (name, text) in [("read-only", COMPACT), ("read-only-line", LINE)] {
        let path = file(name, text);
        let mut permissions = fs::metadata(&path).unwrap().permissions();
        permissions.set_readonly(true);
        fs::set_permissions(&path, permissions).unwrap();
        let (status, out, err) = ran(&["check", "--fix", path.to_str().unwrap()]);
        assert_eq!(status, 2, "{out}");
        assert_eq!(
            shown(&path, &err),
            "board.json: the fixes cannot be written into the file: it may not be written; allow it, or let `--fix -` print the text\n\
            fingerpost: 1 file could not be written\n"
        );
        assert_eq!(fs::read_to_string(&path).unwrap(), text);
        // What is wrong with the board is told all the same, and nothing is said to be made.
        assert!(out.contains("fermata-never-held"), "{out}");
        assert!(!out.contains("made"), "{out}");
        let (status, _, err) = ran(&["check", "--fix", "--json", path.to_str().unwrap()]);
        let error = valid("error", &err);
        assert_eq!(
            (status, error["error"]["kind"].as_str()),
            (2, Some("not-written"))
        );
        let complaint = &error["error"]["complaints"][0]["message"];
        let complaint = shown(&path, complaint.as_str().unwrap());
        assert!(complaint.starts_with("board.json: the fixes cannot be written"));
    }
}

/// A board line in a file, with what editors leave around it.
const LINE: &str = "\u{feff}  1 |: 2 fermata(pass 3) :| 3 |\r\n";

#[test]
fn a_board_line_in_a_file_is_mended_there() {
    let path = file("line", LINE);
    let (status, out, err) = ran(&["check", "--fix", path.to_str().unwrap()]);
    assert_eq!((status, err.as_str()), (0, ""));
    assert_eq!(
        shown(&path, &out),
        "board.json: made: Take the fermata over measure 2 away\n1 board checked: nothing wrong; 1 safe fix made\n"
    );
    let mended = fs::read_to_string(&path).unwrap();
    assert_eq!(mended, "\u{feff}  1 |: 2 :| 3 |]\r\n");
}

#[test]
fn a_board_line_over_several_lines_is_left_alone() {
    let text = "1 | 2 fermata(pass 3) :|\n3 | 4 |\n";
    let path = file("lines", text);
    let (status, out, err) = ran(&["check", "--fix", path.to_str().unwrap()]);
    assert_eq!(status, 2);
    assert!(err.contains("runs over several lines"), "{err}");
    assert!(!out.contains("made"), "{out}");
    assert_eq!(fs::read_to_string(&path).unwrap(), text);
    let (_, out, _) = ran_on(&["check", "--fix", "-"], text.as_bytes());
    assert_eq!(out, "1 | 2 :| 3 | 4 |]\n");
}

#[test]
fn the_board_of_standard_input_stands_alone_on_standard_output() {
    let (status, out, err) = ran_on(&["check", "--fix", "-"], COMPACT.as_bytes());
    assert_eq!(status, 0);
    assert_eq!(
        out,
        r#"{"board":1,"systems":[4],"markings":[{"mark":"end-repeat","measure":4,"id":"e"}]}"#
    );
    assert!(err.starts_with("-: made: "), "{err}");
    assert!(err.ends_with("2 safe fixes made\n"), "{err}");
    // What has no safe fix is passed on as it is, and the status is that of its findings.
    let board = "1 | 2 D.S. |\n";
    let (status, out, err) = ran_on(&["check", "--fix", "-"], board.as_bytes());
    assert_eq!((status, out.as_str()), (1, board));
    assert!(err.contains("error[segno-missing]"), "{err}");
    let (status, out, err) = ran_on(&["check", "--fix", "-"], "hello".as_bytes());
    assert_eq!((status, out.as_str()), (2, ""));
    assert!(err.starts_with("-:1:1: "), "{err}");
}

#[test]
fn a_long_line_is_not_printed_twice() {
    let title = "a".repeat(400);
    let card = json!({ "mark": "fine", "id": "b".repeat(50) });
    let cards = vec![card; 300];
    let board = json!({ "board": 1, "title": title, "systems": [4], "unplaced": cards,
        "markings": [{ "mark": "fermata", "measure": 2 }, { "mark": "fermata", "measure": 2 }] });
    let path = file("long", &board.to_string());
    let (_, out, _) = ran(&["check", path.to_str().unwrap()]);
    assert!(
        out.contains("they change more than can be shown here"),
        "{out}"
    );
    assert!(out.len() < 3_000);
}

#[test]
fn a_thousand_safe_fixes_are_made_in_one_go() {
    let segno = json!({ "mark": "segno", "measure": 2 });
    let mut markings = vec![segno; 1_001];
    markings.push(json!({ "mark": "dal-segno", "measure": 4 }));
    let board = json!({ "board": 1, "systems": [4], "markings": markings });
    let path = file("large", &board.to_string());
    let (status, out, _) = ran(&["check", "--fix", path.to_str().unwrap()]);
    assert_eq!(
        (status, shown(&path, &out)),
        (
            0,
            "board.json: made: Take the segno at measure 2 away (1000 times)\n\
            1 board checked: nothing wrong; 1 000 safe fixes made\n"
                .to_owned()
        )
    );
    let mended: Value = serde_json::from_str(&fs::read_to_string(&path).unwrap()).unwrap();
    assert_eq!(mended["markings"].as_array().unwrap().len(), 2);
}

/// A board file of end repeats alone, each of them advised to have a start repeat.
fn ends(measures: u16, plays: u32) -> String {
    let end = |measure: u16| json!({ "mark": "end-repeat", "measure": measure, "plays": plays });
    let ends: Vec<Value> = (2..measures).map(end).collect();
    json!({ "board": 1, "systems": [measures], "markings": ends }).to_string()
}

#[test]
fn thousands_of_starts_in_doubt_are_written_in_one_go() {
    let path = file("doubts", &ends(4_000, 2));
    let (status, out, _) = ran(&["check", "--fix", path.to_str().unwrap()]);
    let out = shown(&path, &out);
    assert!(
        out.starts_with("board.json: made: Add a start repeat at measure 3\n"),
        "{out}"
    );
    let end = "\n1 board checked: nothing wrong; 3 997 safe fixes made\n";
    assert!(out.ends_with(end), "{out}");
    assert_eq!(status, 0);
}

#[test]
fn what_cannot_be_tried_is_said() {
    let board = ends(4_000, 1_000_000);
    let path = file("untried", &board);
    let (_, out, _) = ran(&["check", "--fix", path.to_str().unwrap()]);
    let out = shown(&path, &out);
    let said =
        "board.json: this board is too large for every fix to be tried; there may be safe ones\n";
    assert!(out.starts_with(said), "{}", out.lines().next().unwrap());
    assert!(!out.contains("made"), "{}", out.lines().last().unwrap());
    assert_eq!(fs::read_to_string(&path).unwrap(), board);
}

// Edits for apps.

/// Applies a JSON Patch (RFC 6902) as far as fixes use it.
fn patched(mut file: Value, edits: &Value) -> Value {
    for edit in edits.as_array().unwrap() {
        let (op, path) = (edit["op"].as_str().unwrap(), edit["path"].as_str().unwrap());
        let (parent, name) = path.rsplit_once('/').unwrap();
        match (op, file.pointer_mut(parent).unwrap()) {
            ("replace", Value::Array(list)) => {
                list[name.parse::<usize>().unwrap()] = edit["value"].clone();
            }
            ("remove", Value::Array(list)) => drop(list.remove(name.parse().unwrap())),
            ("add", Value::Array(list)) if name == "-" => list.push(edit["value"].clone()),
            ("add", Value::Object(object)) => {
                object.insert(name.to_owned(), edit["value"].clone());
            }
            other => panic!("{other:?}"),
        }
    }
    file
}

/// Puts what a fix of a SARIF log inserts where it deletes.
fn replaced(text: &str, fix: &Value) -> String {
    let change = &fix["artifactChanges"][0]["replacements"][0];
    let region = &change["deletedRegion"];
    let byte = |line: &str, column: &str| {
        let number = |name| usize::try_from(region[name].as_u64().unwrap()).unwrap();
        let (line, column) = (number(line), number(column));
        let start: usize = text
            .split_inclusive('\n')
            .take(line - 1)
            .map(str::len)
            .sum();
        let rest = &text[start..];
        start
            + rest
                .char_indices()
                .nth(column - 1)
                .map_or(rest.len(), |(at, _)| at)
    };
    let (start, end) = (
        byte("startLine", "startColumn"),
        byte("endLine", "endColumn"),
    );
    let inserted = change["insertedContent"]["text"]
        .as_str()
        .unwrap_or_default();
    format!("{}{inserted}{}", &text[..start], &text[end..])
}

/// The edits of a board's fixes in every form make the board that the library makes.
fn edits_agree(board: &Board) {
    let mut file: Value = serde_json::from_str(&board.to_json()).unwrap();
    // A file lists markings in canonical order.
    let board = Board::from_json(&board.to_json()).unwrap();
    let request = json!({ "verb": "check", "boards": [{ "board": file }] }).to_string();
    let answer = valid("check", &fingerpost_json::answer(&request));
    let read = fingerpost_json::Source::text(board.to_json())
        .read()
        .unwrap();
    let checked = fingerpost_json::CheckedBoard::of(None, &read);
    let log = fingerpost_json::sarif_board(Some("b.json"), &checked, Some(&read));
    let log = serde_json::to_value(&log.results).unwrap();
    if file.get("markings").is_none() {
        file["markings"] = json!([]);
    }
    for (at, finding) in check(&board).iter().enumerate() {
        for (number, fix) in fixes(&board, finding).iter().enumerate() {
            let told = &answer["boards"][0]["findings"][at]["fixes"][number];
            let right = fix.apply(&board).unwrap();
            let by_patch = patched(file.clone(), &told["edits"]).to_string();
            assert_eq!(Board::from_json(&by_patch).unwrap(), right, "{told}");
            let by_log = replaced(&board.to_json(), &log[at]["fixes"][number]);
            assert_eq!(Board::from_json(&by_log).unwrap(), right, "{by_log}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    #[test]
    fn edits_for_apps_are_those_of_the_library(board in any_laid_board(), any in any_short_board()) {
        edits_agree(&board);
        edits_agree(&any);
    }
}

#[test]
fn a_fix_of_a_line_has_the_new_line() {
    let answer = fingerpost_json::answer(
        r#"{ "verb": "check", "boards": [{ "line": "1 | segno segno 2 | 3 D.S. |" }] }"#,
    );
    let answer = valid("check", &answer);
    let fix = &answer["boards"][0]["findings"][0]["fixes"][0];
    assert_eq!(
        *fix,
        json!({
            "title": "Take the segno at measure 2 away",
            "kind": "safe",
            "edits": [{ "op": "remove", "path": "/markings/1" }],
            "line": "1 | segno 2 | 3 D.S. |]",
        })
    );
}
