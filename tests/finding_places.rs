//! A finding says where on the board it is: in words and in fields, for every side of a measure, by printed name, or by number where that tells no measure apart.

mod support;

use fingerpost::{Answer, Board, FindingSide, Phrasebook, Roadmap, Terms, Told, check, fixes};
use fingerpost_json::{CheckedBoard, Source};
use proptest::prelude::*;
use serde_json::{Value, json};
use support::boards::any_short_board;

/// Where the first finding of a rule is, in words and in fields.
fn place(line: &str, rule: &str) -> Value {
    let read = Source::line(line).read().expect("a board line");
    let answer = CheckedBoard::of(None, &read);
    let answer = serde_json::to_value(&answer).unwrap();
    let findings = answer["findings"].as_array().unwrap();
    let finding = findings.iter().find(|it| it["rule"] == rule);
    let finding = finding.unwrap_or_else(|| panic!("{rule} on {line}: {answer}"));
    assert_eq!(finding["page"], format!("spec/rules/{rule}.md"));
    finding["place"].clone()
}

#[test]
fn a_place_is_told_in_words_and_in_fields() {
    for (line, rule, words) in [
        (
            "1 | 2 | 3 | 4 D.S. |",
            "segno-missing",
            "at the end of measure 4",
        ),
        (
            "1 | 2 | 3 | 4 | |: 5 |",
            "start-repeat-unclosed",
            "at the start of measure 5",
        ),
        (
            "1 | 2 | [2. 3 | 4 ] | 5 |",
            "ending-without-repeat",
            "over measures 3 to 4",
        ),
        (
            "1 | 2 | [2. 3 ] | 4 |",
            "ending-without-repeat",
            "over measure 3",
        ),
        (
            "{meter 4/4} 1 | Fine@3 2 | 3 |",
            "fine-unused",
            "inside measure 2, after beat 3",
        ),
        (
            "{meter 4/4} 1 | segno@3 2 | 3 |",
            "segno-unused",
            "inside measure 2, at beat 3",
        ),
        (
            "{meter 4/4} 1 | Fine@4 2 | 3 |",
            "fine-unused",
            "at the end of measure 2",
        ),
        (
            "1 D.C. al Fine | 2 Fine | 3 |",
            "measure-never-played",
            "in measure 3",
        ),
        (
            "1 Fine | 2 D.C. al Fine | 3 | 4 |",
            "measure-never-played",
            "in measures 3 to 4",
        ),
        (
            "10 | 11 D.S. |",
            "segno-missing",
            "at the end of measure 11",
        ),
        (
            "1 | 1 | 2 D.S. | 2 |",
            "segno-missing",
            "at the end of measure 2 (#3)",
        ),
        (
            "1 | [2. \"the hut by the ferry\" ] | 2 |",
            "ending-without-repeat",
            "over measure #2 (printed \"the hut by the ferry\")",
        ),
    ] {
        let found = place(line, rule);
        assert_eq!(found["words"], words, "{line}");
    }
    assert_eq!(
        place(
            "10 | [2. 11 | \"the hut\" ] | 13 |",
            "ending-without-repeat"
        ),
        json!({
            "words": "over measures 11 to \"the hut\"",
            "side": "over", "from": 2, "to": 3, "names": ["11", "the hut"],
        })
    );
    assert_eq!(
        place("{meter 6/8} 1 | Fine@2 2 | 3 |", "fine-unused"),
        json!({
            "words": "inside measure 2, after beat 2",
            "side": "inside", "from": 2, "to": 2, "point": "1/4", "beat": 2,
        })
    );
}

/// One spelling in whatever is said of a board: the printed name, and where that does not tell the measure apart the count beside it.
#[test]
fn a_measure_is_named_alike_in_findings_fixes_and_routes() {
    let book = Phrasebook::default();
    let said = |line: &str| {
        let board: Board = line.parse().unwrap();
        let finding = check(&board).swap_remove(0);
        let title = book.title(&board, &fixes(&board, &finding)[0]);
        let roadmap = Roadmap::new(&board, &Terms::default()).ok();
        let play = roadmap.map(|it| book.route(&board, &it, 9).told[0].clone());
        let play = match play {
            Some(Told::Move(it)) => it.play,
            _ => String::new(),
        };
        [finding.message, title, play]
    };
    assert_eq!(
        said("7 | 8 | segno 9 | \"end\" |"),
        [
            "this segno cannot work alone: it needs a D.S. that goes to it",
            "Add a D.S. after measure \"end\"",
            "Play measures 7 to \"end\".",
        ]
    );
    assert_eq!(
        said("1 | 1 | segno 1 | 1 |")[1..],
        [
            "Add a D.S. after measure 1 (#4)",
            "Play measures 1 (#1) to 1 (#4)."
        ]
    );
    assert_eq!(
        said("1 | 1 | 2 Fine | 3 | 3 D.C. al Fine | 4 |"),
        [
            "measure 4 is never played",
            "Move the D.C. al Fine to the end of measure 4",
            "Play measures 1 (#1) to 3 (#5)."
        ]
    );
    // What is said once beside it.
    let says = |line: &str| book.counting(&line.parse().unwrap());
    assert_eq!(says("7 | 8 | 9 |"), None);
    assert_eq!(
        says("0 | 1 | 1 |").as_deref(),
        Some(
            "What is printed does not tell all measures apart: # and a number counts them from the beginning, as in 1 (#2)."
        )
    );
}

/// An order as the command prints it can be given to `judge`, whatever is printed over the measures.
#[test]
fn a_measure_is_read_as_it_is_typed() {
    for line in [
        "1 | 1 | 2 |",
        "7 | \"hut\" | 9 |",
        "1 | \"the hut by the ferry\" | \"3-4\" |",
        "\"a \\\"b\\\"\" | 2 | \"#1\" |",
    ] {
        let board: Board = line.parse().unwrap();
        for measure in 1..=board.measures() {
            let read = Answer::read(&board, &board.measure_typed(measure)).unwrap();
            assert_eq!(read.steps()[0].measure, u32::from(measure), "{line}");
        }
    }
}

#[test]
fn a_finding_about_the_whole_board_has_no_place() {
    let board: Board = "|: 1 :|x20000 2 |".parse().unwrap();
    let findings = check(&board);
    assert_eq!(findings[0].rule, "route-over-limit");
    assert_eq!(findings[0].place(&board), None);
    assert_eq!(Phrasebook::default().finding(&board, &findings[0]), None);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_place_is_on_the_board_and_told(board in any_short_board()) {
        for finding in check(&board) {
            let words = Phrasebook::default().finding(&board, &finding);
            let Some(place) = finding.place(&board) else {
                prop_assert_eq!((finding.measure, words), (None, None));
                continue;
            };
            let words = words.unwrap();
            prop_assert_eq!(Some(place.from), finding.measure);
            prop_assert!(place.from <= place.to && place.to <= board.measures(), "{:?}", place);
            for measure in [place.from, place.to] {
                prop_assert!(words.contains(&board.measure_words(measure)), "{}", words);
                prop_assert!(words.contains(&board.measure_name(measure)), "{}", words);
            }
            prop_assert_eq!(place.side == FindingSide::Inside, place.point.is_some());
            prop_assert!(place.beat.is_none() || place.point.is_some());
            prop_assert_eq!(place.side == FindingSide::Whole, finding.marking.is_none());
        }
    }
}
