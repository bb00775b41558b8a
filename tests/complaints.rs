//! What is said of texts that are no boards, word for word, with what would be accepted: every value of a board file replaced by wrong ones,
//! and board lines with a piece in the wrong place. `UPDATE=1` writes `tests/snapshots/complaints.txt` anew; read the difference.

mod support;

use std::collections::BTreeSet;
use std::fmt::Write;

use fingerpost::{Board, ReadError, json_place};
use support::approved::approved;

/// A board file with every key.
const WHOLE: &str = r#"{
  "$schema": "board.schema.json", "board": 1, "title": "Over the Stile", "composer": "C", "source": "S", "levels": [1, 2],
  "meter": "4/4", "meters": [{ "measure": 5, "meter": "3/4" }], "pickup": "1/4", "systems": [4, 4],
  "measure-numbers": ["0", "1", "2", "3", "4", "5", "6", "7"],
  "markings": [
    { "mark": "start-repeat", "measure": 3, "id": "s" },
    { "mark": "end-repeat", "measure": 6, "plays": 2, "on-return": "skip" },
    { "mark": "ending", "measures": [5, 6], "passes": [1], "open": true },
    { "mark": "segno", "measure": 2, "label": "A" },
    { "mark": "coda", "measure": 8, "cut": "1/8" },
    { "mark": "to-coda", "measure": 8, "arrivals": [2] },
    { "mark": "dal-segno", "measure": 7, "al": "coda", "coda": "B", "label": "A", "repeats": "play", "arrivals": [1], "passes": [2] },
    { "mark": "da-capo", "measure": 7, "al": "segno", "then": "coda", "label": "A" },
    { "mark": "fine", "measure": 4, "cut": "1/2" },
    { "mark": "double-bar", "measure": 8, "style": "final" },
    { "mark": "octave", "measures": [3, 6], "hands": "left", "shift": -1, "when": "on-repeat" },
    { "mark": "fermata", "measure": 8, "hands": "both", "when": { "passes": [2] } },
    { "mark": "only", "measures": [3, 4] }
  ],
  "unplaced": [{ "mark": "fine" }, { "mark": "octave", "shift": 2, "id": "o" }],
  "reading": { "repeats-on-return": "skip", "nested": "flat" }
}"#;

/// What stands in the place of each value in turn.
const WRONG: &[&str] = &[
    "null", "0", "65536", "1.5", "\"\"", "\"foot\"", "[]", "[0, 0]", "{}", "true",
];

/// Lines that are no boards.
const LINES: &[&str] = &[
    "",
    "fin 1 |",
    "1 | 2",
    "1 2 |",
    "|: 1 | |: |: 2 |",
    "1 :|x0 |",
    "1 :|x1000001 |",
    "[1 1 |",
    "[0. 1 |",
    "[2-1. 1 |",
    "[1,1. 1 |",
    "[1. 1 | 2 [2. |",
    "1 ] 2 |",
    "segno: 1 |",
    "D.S.:A al |",
    "D.C. al Hut |",
    "1 D.C. then Coda |",
    "1 D.C. al Coda then Coda |",
    "8va( 1 | 2 |",
    "1 ) |",
    "8va(last 0) 1 |",
    "8va(last 9) 1 |",
    "Fine(cut 0/4) 1 |",
    "Fine(cut 1/0) 1 |",
    "Fine(cut) 1 |",
    "Fine(id) 1 |",
    "Fine(arrivals) 1 |",
    "Fine(arrivals 0) 1 |",
    "Fine(arrivals 2 2) 1 |",
    "Fine(passes 1) 1 |",
    "Fine(R.H.) 1 |",
    "fermata(hut) 1 |",
    "fermata(R.H., L.H.) 1 |",
    "fermata(on repeat, last pass) 1 |",
    "1 || :| 2 |",
    ":|: 1 |",
    "{meter} 1 |",
    "{meter 4/0} 1 |",
    "{metre 4/4} 1 |",
    "{title} 1 |",
    "{title \"a\"; title \"b\"} 1 |",
    "{title \"a} 1 |",
    "{pickup 0/4} 1 |",
    "{levels x} 1 |",
    "{levels 300} 1 |",
    "{arming never} 1 |",
    "{nested flat; nested flat} 1 |",
    "{unplaced} 1 |",
    "{unplaced foot} 1 |",
    "{ 1 |",
    "} 1 |",
    "1 // 2 | // // 3 |",
    "\u{7} 1 |",
    "\"\\q\" 1 |",
    "1 Fine@ |",
    "1 Fine@0 |",
    "1 Fine@9 |",
    "x3 1 |",
    "99999999999999999999 Fine 1 |",
];

#[test]
fn what_is_said_of_a_text_is_what_was_read_and_approved() {
    let mut said = String::from("# board files: what stands there, and in its place\n");
    let mut pointers = Vec::new();
    let whole: serde_json::Value = serde_json::from_str(WHOLE).expect("JSON");
    collect(&whole, "", &mut pointers);
    let mut told = BTreeSet::new();
    for pointer in &pointers {
        let place = json_place(WHOLE, pointer).expect("a value of the file");
        for wrong in WRONG {
            let text = format!("{}{wrong}{}", &WHOLE[..place.start], &WHOLE[place.end..]);
            if let Err(refused) = Board::from_json(&text) {
                // What was said already, of another place, is not said again.
                let words = refused.complaints().iter();
                let words: Vec<_> = words
                    .map(|it| (it.message.clone(), it.accepted.clone()))
                    .collect();
                if words.iter().any(|words| !told.contains(words)) {
                    told.extend(words);
                    let _ = write!(said, "{pointer} = {wrong}\n{}", in_words(&refused));
                }
            }
        }
    }
    said.push_str("# board lines\n");
    for line in LINES {
        let _ = writeln!(said, "{}", line.escape_default());
        match Board::from_line(line) {
            Ok(board) => {
                let _ = writeln!(said, "  is a board: {}", board.to_line());
            }
            Err(refused) => said.push_str(&in_words(&refused)),
        }
    }
    approved("complaints.txt", &said, |_| true);
}

/// The pointers of everything in a value.
fn collect(value: &serde_json::Value, at: &str, pointers: &mut Vec<String>) {
    pointers.push(at.to_owned());
    match value {
        serde_json::Value::Object(members) => {
            for (key, member) in members {
                collect(member, &format!("{at}/{key}"), pointers);
            }
        }
        serde_json::Value::Array(elements) => {
            for (index, element) in elements.iter().enumerate() {
                collect(element, &format!("{at}/{index}"), pointers);
            }
        }
        _ => {}
    }
}

fn in_words(refused: &ReadError) -> String {
    let mut text = String::new();
    for complaint in refused.complaints() {
        let (line, column) = (complaint.position.line, complaint.position.column);
        let _ = writeln!(text, "  {line}:{column} {}", complaint.message);
        if let Some(accepted) = &complaint.accepted {
            let _ = writeln!(text, "    accepted: {accepted}");
        }
        if let Some(pointer) = complaint.pointer.as_ref().filter(|it| !it.is_empty()) {
            let _ = writeln!(text, "    at: {pointer}");
        }
    }
    for error in refused.board_errors() {
        let _ = writeln!(
            text,
            "  builder: {error} {:?} {:?}",
            error.marking(),
            error.unplaced()
        );
    }
    text
}
