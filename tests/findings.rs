//! What is said of a board, word for word, with its places: for the boards on the pages of the rules, those of the rulebook's chapter on
//! errors, and some on which one message takes many forms. `UPDATE=1` writes `tests/snapshots/findings.txt` anew; read the difference.

mod support;

use std::fmt::Write;
use std::fs;

use fingerpost::{Board, check, rules};
use support::approved::approved;
use support::pages::{folder, page_of};

/// Boards on which signs of each kind are named, and times and hands of each kind.
const FORMS: &[&str] = &[
    // Every sign twice at one place.
    "|: |: 1 :| :| 2 |",
    "[1. 1 :| [1. 2 :| 3 |",
    "segno segno:A segno:A 1 | D.S.:A D.S.:A 2 | 3 |",
    "1 To Coda:B To Coda:B | 2 D.C. al Coda:B | coda:B coda:B 3 | 4 |",
    "1 Fine Fine | 2 D.C. al Fine D.C. al Fine |",
    "1 D.C. D.C. | 2 |",
    "segno 1 | 2 D.C. al Segno D.C. al Segno | 3 |",
    "1 Fine | 2 D.C.(al Fine, then Coda) D.C.(al Fine, then Coda) | coda 3 |",
    "segno 1 | 2 D.S. al Coda D.S. al Coda | coda 3 |",
    "1 D.C. al End D.C. al End | 2 |",
    "1 || || 2 |",
    "8va( 8va( 1 | 2 ) ) |",
    "15ma( 15ma( 1 | 2 ) ) |",
    "8vb( 8vb( 1 | 2 ) ) |",
    "15mb( 15mb( 1 | 2 ) ) |",
    "fermata fermata 1 |",
    "only(R.H.) only(R.H.) 1 |",
    // Hands and times that never come.
    "only(R.H., on repeat) 1 | 2 |",
    "only(L.H., on repeat) 1 | 2 |",
    "8va(on repeat) 1 | 2 |",
    "8va(L.H., on return) 1 | 2 |",
    "|: 8va(passes 3) 1 :| 2 |",
    "|: 8va(passes 3-4) 1 :| 2 |",
    "fermata(on repeat) 1 | 2 |",
    "fermata(R.H., on return) 1 | 2 |",
    "|: fermata(passes 5) 1 :| 2 |",
    "only(R.H., last pass) 1 | 2 |",
    "only(on repeat) 1 | 2 |",
    "|: only(on repeat) 1 | 2 :| 3 |",
    "|: only(R.H., passes 1-2) 1 :| 2 |",
    // Octaves that meet.
    "8va 8va(R.H.) 1 |",
    "8va 8vb 1 |",
    "15ma 15ma(L.H.) 1 |",
    "|: 8va(on repeat) 15ma(last pass) 1 :| 2 |",
    "only(L.H.) 8va(R.H.) 1 |",
    "8va( 1 | 8va( 2 | 8va 3 ) ) | 4 |",
    // More than one thing is wrong.
    "1 D.S. al Coda | 2 To Coda:A | [2. 3 :| 4 |",
    "[1. 1 :| [3. 2 :| [2. 3 ] D.C. al Fine |",
    "|: 1 |: 2 :| 3 D.C. al Coda :|x3 [1. 4 ] |",
];

#[test]
#[should_panic(expected = "unset one of them")]
fn no_text_is_approved_from_a_part_of_its_boards() {
    support::is_quick_with(true, true);
}

#[test]
fn what_is_said_of_a_board_is_what_was_read_and_approved() {
    let mut said = String::new();
    for rule in rules() {
        let _ = writeln!(said, "# {}", rule.name);
        for line in page_of(rule.name).boards("Wrong") {
            tell(line, &mut said);
        }
    }
    let errors = fs::read_to_string(folder().join("../rulebook/10-errors.md")).unwrap();
    said.push_str("# rulebook, chapter 10\n");
    for line in errors
        .lines()
        .filter_map(|line| line.strip_prefix("board: "))
    {
        tell(line, &mut said);
    }
    said.push_str("# forms\n");
    for line in FORMS {
        tell(line, &mut said);
    }
    approved("findings.txt", &said, |_| true);
}

fn tell(line: &str, said: &mut String) {
    if support::takes_long(line) {
        return;
    }
    let board: Board = line
        .parse()
        .unwrap_or_else(|error| panic!("{line}: {error}"));
    let _ = writeln!(said, "{line}");
    for finding in check(&board) {
        let severity = finding.severity.name();
        let _ = writeln!(said, "  {severity}[{}]: {}", finding.rule, finding.message);
        let _ = writeln!(said, "    help: {}", finding.help);
        let _ = write!(said, "    at:");
        if let Some(measure) = finding.measure {
            let _ = write!(said, " measure {measure}");
        }
        if let Some(marking) = finding.marking {
            let _ = write!(said, " marking {marking}");
        }
        if !finding.related.is_empty() {
            let _ = write!(said, " with {:?}", finding.related);
        }
        said.push('\n');
    }
}
