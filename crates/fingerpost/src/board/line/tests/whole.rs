//! The keys of the board, and what is said of a whole line.

use super::super::super::*;
use super::*;
use crate::reading::{NamedReading, Nested};

#[test]
fn braces_hold_the_keys_of_the_board() {
    let board = board(
        "{meter 6/8; title \"Over the Stile\"; composer \"a wayside hand\"; source \"\"; levels 1 2; pickup 1/8;\n\
         meters 2 3/4, 4 2/4; repeats-on-return play; nested Flat;} 0 | 1 | 2 | 3",
    );
    assert_eq!(board.meter(), Meter::new(6, 8));
    assert_eq!(board.title(), Some("Over the Stile"));
    assert_eq!(board.composer(), Some("a wayside hand"));
    assert_eq!(board.source(), Some(""));
    assert_eq!(board.levels(), [1, 2]);
    assert_eq!(board.pickup(), Fraction::new(1, 8));
    let changes = board
        .meters()
        .iter()
        .map(|c| (c.measure, c.meter.to_string()));
    assert_eq!(
        changes.collect::<Vec<_>>(),
        [(2, "3/4".to_owned()), (4, "2/4".to_owned())]
    );
    assert_eq!(board.reading().repeats_on_return, Some(Repeats::Play));
    assert_eq!(board.reading().nested, Some(Nested::Flat));
    assert_eq!(board.reading().arming, None);
    assert_eq!(board.measures(), 4);
    let all = self::board("{reading all-repeats} 1");
    assert_eq!(*all.reading(), NamedReading::AllRepeats.reading().into());
    assert_eq!(self::board("{} 1").meter(), None);
}

#[test]
fn signs_in_the_hand() {
    let board = board(
        "{unplaced Fine, D.C. al Fine(id c), [1,2.(open), 8va(R.H.), :|x3, |:, |], To Coda:B; meter 4/4} 1",
    );
    let kinds = board.unplaced().iter().map(|card| card.sign.kind());
    let expected = [
        "fine",
        "da-capo",
        "ending",
        "octave",
        "end-repeat",
        "start-repeat",
        "double-bar",
        "to-coda",
    ];
    assert_eq!(kinds.collect::<Vec<_>>(), expected);
    assert_eq!(board.unplaced()[1].id.as_deref(), Some("c"));
    assert_eq!(board.measures(), 1);
    assert!(only_complaint("{unplaced} 1").contains("sign in the hand is missing"));
    assert!(only_complaint("{unplaced Fine(cut 1/2)} 1").contains("no key"));
    assert!(only_complaint("{meter 4/4; unplaced Fine@2} 1").contains("stands on no beat"));
    assert!(only_complaint("{unplaced [1.(last 3)} 1").contains("no key"));
    assert!(
        only_complaint("{unplaced D.S. al Segno} 1")
            .starts_with("D.S. al Segno: al Segno goes with")
    );
    assert!(only_complaint("{unplaced fin} 1").contains("`Fine`"));
    assert!(only_complaint("{unplaced ::} 1").contains("missing here"));
}

#[test]
fn keys_of_the_board_are_refused_with_their_place() {
    assert_eq!(
        only_complaint("{metre 4/4} 1"),
        "metre: `metre` is no key of a board; did you mean `meter`?"
    );
    assert!(only_complaint("{meter 4/4; meter 3/4} 1").contains("given twice"));
    assert!(only_complaint("{meter 4} 1").starts_with("4: `4` is not a meter"));
    assert!(only_complaint("{title Stile} 1").contains("stands in quotes"));
    assert!(only_complaint("{title \"a\" \"b\"} 1").contains("one word too many"));
    assert!(only_complaint("{levels 1 1} 1").contains("not a level"));
    assert!(only_complaint("{levels 100} 1").contains("not a level"));
    assert!(only_complaint("{pickup 0/4} 1").starts_with("pickup 0/4: a pickup has a length"));
    assert!(only_complaint("{meters 1 4/4} 1").contains("needs a meter at its beginning"));
    assert!(only_complaint("{meter 4/4; meters 2 3/4} 1").contains("off the board"));
    assert!(only_complaint("{meter 4/4; meters 2 3/4, 2 4/4} 1 | 2").contains("in order"));
    assert!(only_complaint("{reading examination} 1").contains("answers no question"));
    assert!(only_complaint("{reading handbok} 1").contains("did you mean `handbook`?"));
    assert!(only_complaint("{reading abc; nested flat} 1").contains("answered by `reading`"));
    assert!(only_complaint("{nested flat; reading abc} 1").contains("answered before"));
    assert!(only_complaint("{nested flatt} 1").contains("did you mean `flat`?"));
    assert!(only_complaint("{meter 4/4 | 1 | 2").contains("braces are not closed"));
    assert!(only_complaint("1 | {meter 4/4} 2").starts_with("{meter 4/4}: the board's keys stand"));
    let long = format!("{{title \"{}\"}} 1", "x".repeat(501));
    assert!(only_complaint(&long).contains("`title` has 501 characters"));
}

#[test]
fn complaints_are_all_found_and_drawn() {
    let line = "1 |\t2 fin | 3 D.S. al Cod |\n4 segnö | 5";
    let error = Board::from_line(line).unwrap_err();
    let drawn: Vec<String> = error.complaints().iter().map(|c| c.drawn(line)).collect();
    assert_eq!(
        drawn,
        [
            "1 |\t2 fin | 3 D.S. al Cod |\n   \t  ^^^",
            "1 |\t2 fin | 3 D.S. al Cod |\n   \t                  ^^^",
            "4 segnö | 5\n  ^^^^^",
        ]
    );
    let positions = error
        .complaints()
        .iter()
        .map(|c| (c.position.line, c.position.column));
    assert_eq!(positions.collect::<Vec<_>>(), [(1, 7), (1, 23), (2, 3)]);
    for complaint in error.complaints() {
        assert_eq!(
            Position::of_byte(line, complaint.bytes.start),
            complaint.position
        );
    }
    let line = format!("{}fin{}", "- | ".repeat(100), " | -".repeat(100));
    let drawn = Board::from_line(&line).unwrap_err().complaints()[0].drawn(&line);
    assert!(
        drawn.starts_with("…- | -") && drawn.ends_with("   ^^^"),
        "{drawn}"
    );
    assert!(drawn.chars().count() < 300, "{drawn}");
    let error = Board::from_line("\u{1b}[2J").unwrap_err();
    assert!(!error.complaints()[0].drawn("\u{1b}[2J").contains('\u{1b}'));
    assert!(!error.to_string().contains('\u{1b}'));
}

#[test]
fn places_point_at_the_signs() {
    let line = "{meter 4/4} |: 1 | [1.(id a) 2 Fine@3 ::x3(on-return skip) | 8va(R.H.)( 3 | 4 D.S.:B al Coda ) |]";
    let line = line.replace(":: x", "::x").replace("skip) |", "skip)");
    let texts: Vec<&str> = line_places(&line)
        .into_iter()
        .map(|bytes| &line[bytes])
        .collect();
    assert_eq!(
        texts,
        [
            "|:",
            "[1.(id a)",
            "Fine@3",
            "::x3(on-return skip)",
            "::",
            "8va(R.H.)",
            "D.S.:B al Coda"
        ]
    );
    assert_eq!(line_places("1 fin"), []);
}

#[test]
fn limits_are_kept() {
    assert_eq!(board(&"-|".repeat(65_535)).measures(), 65_535);
    assert!(only_complaint(&"-|".repeat(65_537)).contains("the board has 65537 measures"));
    let signs = |n: usize| "Fine ".repeat(n);
    assert_eq!(board(&signs(100_000)).markings().len(), 100_000);
    assert!(only_complaint(&signs(100_001)).contains("the board has 100001 markings"));
    let hand = format!("{{unplaced segno}} {}", signs(100_000));
    assert!(only_complaint(&hand).contains("100001 markings"));
    assert!(only_complaint(&" ".repeat((16 << 20) + 1)).contains("the most is 16777216"));
    let garbage = "? ".repeat(1000);
    assert_eq!(
        Board::from_line(&garbage).unwrap_err().complaints().len(),
        100
    );
}
