//! The board line, both ways: what is written is read again, and no text makes the reader stumble. Grammar: spec/board-line.md.

mod support;

use fingerpost::{Board, Marking, Position, Sign, line_places};
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::{Index, select};
use support::boards::any_board;
use unicode_width::UnicodeWidthStr;

/// What holds for every text, be it a board or not.
fn is_read_or_refused_in_its_place(text: &str) {
    let places = line_places(text);
    match Board::from_line(text) {
        Ok(board) => {
            assert_eq!(places.len(), board.markings().len());
            for bytes in places {
                assert!(!text[bytes].is_empty());
            }
            let line = board.to_line();
            let again = Board::from_line(&line).expect("what is written is read again");
            assert_eq!(again.canonical(), board.canonical(), "{line}");
        }
        Err(error) => {
            assert_eq!(places, []);
            assert!(!error.complaints().is_empty());
            let starts = error.complaints().iter().map(|c| c.bytes.start);
            assert!(starts.is_sorted());
            for complaint in error.complaints() {
                // Slicing proves that the bytes lie in the text and between characters.
                let found = &text[complaint.bytes.clone()];
                let position = Position::of_byte(text, complaint.bytes.start);
                assert_eq!(complaint.position, position);
                let drawn = complaint.drawn(text);
                let (source, under) = drawn.split_once('\n').expect("two lines");
                assert!(!under.contains('\n'));
                assert!(under.trim_start().chars().all(|c| c == '^'));
                let lead = under.chars().take_while(|&c| c != '^').count();
                if let (Some(first), true) = (found.chars().next(), found.is_ascii()) {
                    // Columns, not characters: some take two, some none.
                    let mut starts = source.char_indices();
                    let stands = starts.any(|(at, c)| c == first && source[..at].width() == lead);
                    assert!(stands || first.is_control(), "{drawn}");
                }
            }
        }
    }
}

/// Pieces of board lines, right and wrong.
const PIECES: &[&str] = &[
    "|",
    "||",
    "|]",
    "|:",
    ":|",
    "::",
    ":|:",
    ":|x3",
    ":||",
    "x3",
    "//",
    "[1.",
    "[1,2.",
    "[2-1.",
    "[1",
    "]",
    "1",
    "2",
    "-",
    "\"hut\"",
    "\"",
    "\\",
    "\"a\\\"b\"",
    "segno",
    "segno:B",
    "coda",
    "To Coda",
    "To",
    "Fine",
    "Fine@3",
    "@3",
    "@",
    "D.C.",
    "D.S.",
    "D.S.:A",
    "al Fine",
    "al Coda",
    "al Segno",
    "al",
    "then Coda",
    "poi la Coda",
    "con rep.",
    "senza",
    "fermata",
    "8va",
    "8va(",
    "8va(R.H.)(",
    "15mb",
    "only",
    "(",
    ")",
    "(id x)",
    "(last 3)",
    "(last 99999)",
    "(cut 3/8)",
    "(arrivals 1 3, passes 1-2)",
    "(R.H., on repeat)",
    "(open)",
    "(plays open)",
    "(",
    ",",
    ";",
    ":",
    "{",
    "}",
    "{meter 4/4}",
    "{meter 4/4; unplaced Fine, [1.}",
    "fin",
    "ö",
    "\t",
    "\n",
    "\r\n",
    "\u{feff}",
    "\u{0}",
    "99999999999999999999",
];

proptest! {
    #![proptest_config(ProptestConfig { cases: support::cases(2000), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_board_written_and_read_is_the_same_board(board in any_board()) {
        let line = board.to_line();
        prop_assert!(!line.contains('\n'));
        let again = match Board::from_line(&line) {
            Ok(again) => again,
            Err(error) => {
                let drawn: Vec<_> = error.complaints().iter().map(|c| c.drawn(&line)).collect();
                panic!("{line}\n{error}\n{}", drawn.join("\n"));
            }
        };
        prop_assert_eq!(again.canonical(), board.canonical(), "{}", line);
        prop_assert_eq!(again.to_line(), line);
    }

    #[test]
    fn each_place_reads_as_its_sign(board in any_board()) {
        // The sign cut out of the line and put on a board of its own is the same sign.
        let line = board.to_line();
        let board = Board::from_line(&line).expect("read before");
        for (marking, bytes) in board.markings().iter().zip(line_places(&line)) {
            let text = &line[bytes];
            let meter = board.meter_at(marking.measure()).map_or(String::new(), |m| format!("{{meter {m}}} "));
            let alone = match marking.sign() {
                Sign::StartRepeat | Sign::Ending(_) => format!("{meter}{text} - {}", "| - ".repeat(20)),
                Sign::EndRepeat(_) | Sign::DoubleBar(_) => format!("{meter}- {text} -"),
                _ => format!("{meter}{text} {}", "| - ".repeat(20)),
            };
            let alone = Board::from_line(&alone).unwrap_or_else(|error| panic!("{alone}: {error}"));
            prop_assert_eq!(alone.markings().first().map(Marking::sign), Some(marking.sign()));
            prop_assert_eq!(alone.markings().first().and_then(Marking::id), marking.id());
            let cut = alone.markings().first().and_then(|m| m.place().cut());
            prop_assert_eq!(cut, marking.place().cut());
        }
    }

    #[test]
    fn any_text_is_read_or_refused(text in any::<String>()) {
        is_read_or_refused_in_its_place(&text);
    }

    #[test]
    fn any_row_of_pieces_is_read_or_refused(pieces in vec((select(PIECES), any::<bool>()), 0..40)) {
        let text: String = pieces.iter().flat_map(|&(piece, blank)| [piece, if blank { " " } else { "" }]).collect();
        is_read_or_refused_in_its_place(&text);
    }

    #[test]
    fn a_board_with_a_piece_too_many_or_too_few_is_read_or_refused(
        board in any_board(), at in any::<Index>(), end in any::<Index>(), piece in select(PIECES),
    ) {
        let line = board.to_line();
        let cuts: Vec<usize> = line.char_indices().map(|(at, _)| at).chain([line.len()]).collect();
        let (at, end) = (*at.get(&cuts), *end.get(&cuts));
        is_read_or_refused_in_its_place(&format!("{}{piece}{}", &line[..at], &line[at..]));
        is_read_or_refused_in_its_place(&format!("{}{}", &line[..at.min(end)], &line[at.max(end)..]));
    }
}

#[test]
fn the_largest_boards_are_written_and_read() {
    let mut board = Board::builder(vec![15; 65_535 / 15]);
    let line = "|: 1 | [1. 2 8va(R.H.)( :| [2. 3 ) Fine | segno:B 4 D.S.:B al Fine |]";
    let small = Board::from_line(line).expect("a sound line");
    let mut markings = 0;
    'full: for bar in (0..65_530_u16).step_by(4) {
        for marking in small.markings() {
            if markings == 100_000 {
                break 'full;
            }
            let (sign, place) = (marking.sign().clone(), marking.place());
            board = board.over(sign, bar + place.first(), bar + place.last());
            markings += 1;
        }
    }
    let board = board.build().expect("within the limits");
    assert_eq!(board.measures(), 65_535);
    let again = Board::from_line(&board.to_line()).expect("what is written is read again");
    assert_eq!(again.canonical(), board.canonical());
}

/// What the grammar page says of an example.
fn described(board: &Board) -> String {
    let mut words = vec![match board.measures() {
        1 => "1 measure".to_owned(),
        measures => format!("{measures} measures"),
    }];
    for marking in board.markings() {
        let place = marking.place();
        let mut word = format!("{} {}", marking.sign().kind(), place.first());
        if place.last() != place.first() {
            word = format!("{word}-{}", place.last());
        }
        if let Some(cut) = place.cut() {
            word = format!("{word} cut {cut}");
        }
        words.push(word);
    }
    words.join("; ")
}

#[test]
fn every_example_of_the_grammar_page_is_read_as_it_says() {
    let page = include_str!("../spec/board-line.md");
    let (mut right, mut wrong) = (0, 0);
    let mut lines = page.lines();
    while let Some(fence) = lines.next() {
        if !fence.starts_with("```board") {
            continue;
        }
        let block: Vec<&str> = lines.by_ref().take_while(|line| *line != "```").collect();
        if fence == "```board wrong" {
            let [line, carets, message] = block[..] else {
                panic!("a wrong example is a line, its carets and a message: {block:?}");
            };
            let error = Board::from_line(line).expect_err(line);
            assert_eq!(error.complaints().len(), 1, "{line}: {error}");
            assert_eq!(
                error.complaints()[0].drawn(line),
                format!("{line}\n{carets}")
            );
            assert_eq!(error.complaints()[0].message, message);
            wrong += 1;
            continue;
        }
        for pair in block.chunks(2) {
            let [line, said] = pair else {
                panic!("an example without its reading: {pair:?}");
            };
            let board = Board::from_line(line).unwrap_or_else(|error| panic!("{line}: {error}"));
            assert_eq!(format!("= {}", described(&board)), **said, "{line}");
            right += 1;
        }
    }
    assert!(right >= 18 && wrong >= 3, "{right} right, {wrong} wrong");
}
