//! Whatever is said of whatever board: short, in the words of the list, with no blame. Findings, the places of findings, and what the
//! readers of board files and board lines complain of.

mod support;

use std::collections::BTreeSet;
use std::sync::LazyLock;

use fingerpost::{
    Board, Complaint, EndRepeat, Ending, Fermata, Hands, Octave, Only, Passes, Phrasebook, Shift,
    Sign, When, check, sign_words,
};
use proptest::prelude::*;
use proptest::sample::{Index, select};
use support::boards::{any_laid_board, any_short_board};
use support::words::{kind, vocabulary, words, words_of_readers};

/// The longest message and help of a finding, and the longest message of a complaint, in characters.
const LONGEST_MESSAGE: usize = 80;
const LONGEST_HELP: usize = 110;
const LONGEST_COMPLAINT: usize = 140;

static FINDINGS: LazyLock<BTreeSet<String>> = LazyLock::new(vocabulary);
static READERS: LazyLock<BTreeSet<String>> =
    LazyLock::new(|| FINDINGS.union(&words_of_readers()).cloned().collect());

/// A text is a clause of one line, begun in lower case, without a full stop and without shouting.
fn plain(what: &str, text: &str) {
    let first = text.chars().next().unwrap_or(' ');
    // Abbreviations, quotes and numbers begin as they are.
    let begins = first.is_lowercase() || text.starts_with("D.") || text.starts_with("JSON");
    assert!(begins || !first.is_alphabetic(), "{what}: {text}");
    let abbreviated = text.ends_with("D.C.") || text.ends_with("D.S.") || text.ends_with("rep.");
    assert!(!text.ends_with('.') || abbreviated, "{what}: {text}");
    let spoken = words_outside_quotes(text);
    assert!(!spoken.contains('!'), "{what}: {text}");
    assert!(!spoken.contains('\n'), "{what}: {text}");
    kind(what, &spoken);
}

fn words_outside_quotes(text: &str) -> String {
    let outside = |text: &str, quote| text.split(quote).step_by(2).collect::<Vec<_>>().join(" ");
    outside(&outside(text, '`'), '"')
}

fn of_the_list(what: &str, text: &str, list: &BTreeSet<String>) {
    let unknown: Vec<String> = words(text).difference(list).cloned().collect();
    assert_eq!(unknown, [""; 0], "{what}: {text}");
}

fn findings_are_plain(board: &Board) {
    let book = Phrasebook::default();
    for finding in check(board) {
        let (rule, message, help) = (finding.rule, &finding.message, &finding.help);
        assert!(
            message.chars().count() <= LONGEST_MESSAGE,
            "{rule}: {message}"
        );
        assert!(help.chars().count() <= LONGEST_HELP, "{rule}: {help}");
        // Printed names are the board's own words, and may hold quotes.
        if board.measure_numbers().is_some() {
            continue;
        }
        for text in [message, help] {
            plain(rule, text);
            of_the_list(rule, text, &FINDINGS);
        }
        if let Some(place) = book.finding(board, &finding) {
            plain(rule, &place);
        }
    }
    if board.measure_numbers().is_some() {
        let numbers = (1..=board.measures()).map(|measure| measure.to_string());
        let plain = board.to_builder().measure_numbers(numbers).build();
        findings_are_plain(&plain.expect("a board without names"));
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: support::cases(4000), max_local_rejects: 10_000_000, max_global_rejects: 1_000_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn findings_on_any_board_are_short_and_plain(short in any_short_board(), laid in any_laid_board()) {
        findings_are_plain(&short);
        findings_are_plain(&laid);
    }

    #[test]
    fn complaints_of_any_file_are_short_and_plain(board in any_short_board(), edits in edits(IN_FILES)) {
        let text = edited(&board.to_json(), &edits);
        if let Err(error) = Board::from_json(&text) {
            complaints_are_plain(error.complaints());
        }
    }

    #[test]
    fn complaints_of_any_line_are_short_and_plain(board in any_laid_board(), edits in edits(IN_LINES)) {
        let text = edited(&board.to_line(), &edits);
        if let Err(error) = Board::from_line(&text) {
            complaints_are_plain(error.complaints());
        }
    }
}

fn complaints_are_plain(complaints: &[Complaint]) {
    for Complaint { message, .. } in complaints {
        assert!(message.chars().count() <= LONGEST_COMPLAINT, "{message}");
        // What a user has typed stands in backticks, and may hold some itself.
        if message.matches('`').count() % 2 == 0 {
            plain("complaint", message);
            of_the_list("complaint", message, &READERS);
        }
    }
}

/// One change of a text: at which piece, how, and with what.
#[derive(Clone, Debug)]
struct Edit {
    at: Index,
    kind: u8,
    with: &'static str,
}

fn edits(pool: &'static [&'static str]) -> impl Strategy<Value = Vec<Edit>> {
    let edit = (any::<Index>(), 0..4_u8, select(pool));
    let edit = edit.prop_map(|(at, kind, with)| Edit { at, kind, with });
    prop::collection::vec(edit, 1..4)
}

/// Words, numbers and single signs of a text, changed.
fn edited(text: &str, edits: &[Edit]) -> String {
    let mut pieces: Vec<String> = Vec::new();
    for character in text.chars() {
        let joins = |c: char| c.is_alphanumeric() || c == '-' || c == '"' || c == '.';
        match pieces.last_mut() {
            Some(last) if joins(character) && last.ends_with(joins) => last.push(character),
            _ => pieces.push(character.to_string()),
        }
    }
    for edit in edits {
        if pieces.is_empty() {
            break;
        }
        let at = edit.at.index(pieces.len());
        match edit.kind {
            0 => drop(pieces.remove(at)),
            1 => pieces.insert(at, edit.with.to_owned()),
            2 => pieces.insert(at, pieces[at].clone()),
            _ => edit.with.clone_into(&mut pieces[at]),
        }
    }
    pieces.concat()
}

const IN_FILES: &[&str] = &[
    "{",
    "}",
    "[",
    "]",
    ",",
    ":",
    "\"",
    "0",
    "-1",
    "1.5",
    "1e9",
    "99999999999",
    "null",
    "true",
    "\"\"",
    "\"x\"",
    "\"fine\"",
    "\"open\"",
    "\"4/4\"",
    "\"0/4\"",
    "\"mark\"",
    "\"measure\"",
    "\"measures\"",
    "\"cut\"",
    "\"passes\"",
    "\"board\"",
    "\"systems\"",
    "\"markings\"",
    "\"unplaced\"",
    "\"reading\"",
    "\"nested\"",
    "\"plays\"",
    "\"al\"",
    "\"then\"",
    "\"coda\"",
    "\"id\"",
    "\"meters\"",
    "\"pickup\"",
    "\"measure-numbers\"",
    "\"titel\"",
    "\"dal-segno\"",
    "\"end-repeat\"",
    "{}",
    "[]",
    "[0]",
    "[1,1]",
    "\\",
    "\\u12",
    "\t",
    "\u{1}",
    "é",
    "//",
];

const IN_LINES: &[&str] = &[
    "|",
    "|:",
    ":|",
    "::",
    "||",
    "|]",
    "[",
    "]",
    "[1.",
    "[0.",
    "[3-1.",
    "(",
    ")",
    "{",
    "}",
    ",",
    ";",
    "\"",
    "\"hut\"",
    "//",
    "x0",
    "x3",
    "x9999999",
    "@",
    "@3",
    "@9/8",
    ":A",
    "al",
    "Fine",
    "fin",
    "Coda",
    "To",
    "segno",
    "D.C.",
    "D.S.",
    "D.X.",
    "then",
    "senza",
    "rep.",
    "poi",
    "la",
    "8va",
    "8vb",
    "15ma",
    "only",
    "fermata",
    "(plays",
    "(plays 0)",
    "(arrivals 0)",
    "(on",
    "pass",
    "R.H.",
    "-",
    "1-",
    "99999999999",
    "meter",
    "4/4",
    "title",
    "reading",
    "nested",
    "𝄋",
    "𝄌",
    "é",
    "%",
    "!",
    "\\",
];

/// A long list of passes is not read out to its end.
#[test]
fn a_long_list_of_passes_is_shortened() {
    let odd = || Passes::of((5..200).step_by(2)).unwrap();
    let (hands, shift) = (Hands::Right, Shift::Up1);
    let when = || When::Passes(odd());
    for sign in [
        Sign::Octave(Octave {
            hands,
            shift,
            when: when(),
        }),
        Sign::Fermata(Fermata {
            hands,
            when: when(),
        }),
        Sign::Only(Only {
            hands,
            when: when(),
        }),
    ] {
        let end = Sign::EndRepeat(EndRepeat::default());
        let board = Board::builder([2]).mark(end, 2);
        let board = if sign.spans() {
            board.over(sign, 2, 2)
        } else {
            board.mark(sign, 2)
        };
        let board = board.build().unwrap();
        let findings = check(&board);
        let said = findings
            .iter()
            .find(|it| it.message.contains(" others never come"));
        assert!(said.is_some(), "{findings:#?}");
        findings_are_plain(&board);
    }
    let ending = Sign::Ending(Ending {
        passes: odd(),
        open: false,
    });
    assert_eq!(
        sign_words(&ending),
        "ending 5,7,9,11,13,15,17 and 91 others"
    );
}

#[test]
fn a_length_is_told_in_whole_notes() {
    let said = |line: &str| {
        let board: Board = line.parse().unwrap();
        check(&board).swap_remove(0).message
    };
    assert_eq!(
        said("{meter 4/4} 1 | Fine@6 2 | 3 D.C. al Fine |"),
        "this sign stands beyond the end of its measure, 1 whole note long"
    );
    assert_eq!(
        said("{meter 3/4} 1 | Fine@6 2 | 3 D.C. al Fine |"),
        "this sign stands beyond the end of its measure, 3/4 of a whole note long"
    );
}

#[test]
fn the_bracket_that_runs_on_is_named() {
    let board: Board = "1 |: 2 | [1. 3 :| [2. 4 | 5 | 6 | [1. 7 :| [2. 8 |"
        .parse()
        .unwrap();
    let findings = check(&board);
    let twice: Vec<_> = findings
        .iter()
        .filter(|it| it.rule == "ending-pass-twice")
        .collect();
    assert_eq!(
        twice[0].message,
        "two endings are played on pass 1: this and the one at measure 3"
    );
    assert_eq!(
        twice[0].help,
        "the ending at measure 4 runs to measure 6: end it sooner, or give each pass one ending"
    );
    // What is told to be done helps.
    let ended: Board = "1 |: 2 | [1. 3 :| [2. 4 ] | 5 | 6 | [1. 7 :| [2. 8 |"
        .parse()
        .unwrap();
    assert!(
        check(&ended)
            .iter()
            .all(|it| it.rule != "ending-pass-twice")
    );
}
