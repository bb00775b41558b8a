//! A finding says where on the board it is: in words and in fields, for every side of a measure, by number and printed name.

mod support;

use fingerpost::{Board, FindingSide, Phrasebook, check};
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
            "at the end of measure 2 (printed \"11\")",
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
            "words": "over measures 2 (printed \"11\") to 3 (printed \"the hut\")",
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
            prop_assert!(words.contains(&place.from.to_string()), "{}", words);
            prop_assert!(words.contains(&place.to.to_string()), "{}", words);
            prop_assert!(words.contains(&board.measure_name(place.to)), "{}", words);
            prop_assert_eq!(place.side == FindingSide::Inside, place.point.is_some());
            prop_assert!(place.beat.is_none() || place.point.is_some());
            prop_assert_eq!(place.side == FindingSide::Whole, finding.marking.is_none());
        }
    }
}
