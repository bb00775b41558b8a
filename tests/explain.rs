//! A route in words, and what to write to settle a board.

mod support;

use fingerpost::{
    Alternative, Board, Comparison, Phrasebook, Question, Register, Roadmap, Step, Terms, compare,
};
use proptest::prelude::*;

use support::boards::any_short_board;

fn told(line: &str, terms: &Terms) -> String {
    let board: Board = line.parse().unwrap();
    let roadmap = Roadmap::new(&board, terms).unwrap();
    let book = Phrasebook::default();
    let moves = book.moves(&board, &roadmap).map(|it| {
        let sentences = [&[it.why, it.play], it.notes.as_slice()].concat();
        sentences.join(" ")
    });
    let mut lines = vec![line.to_owned()];
    lines.extend(moves.chain([book.ending(&board, &roadmap)]));
    lines.join("\n  ") + "\n"
}

/// Every cause, every way to end, and what else a move may say.
const LINES: &[&str] = &[
    // Causes.
    "1 | 2 |",
    "|: 1 | 2 :|x3 3 |",
    "1 | 2 :| 3 | 4 :|",
    "|: 1 | [1. 2 :| [2. 3 :| [3. 4 ] | 5 |",
    "[2. 1 ] | 2 :|",
    "1 |: 2 |: 3 :| 4 :| 5 |",
    "1 | segno:A 2 | 3 D.S.:A |",
    "1 To Coda:B | 2 | 3 D.C. al Coda:B | coda:B 4 |",
    "1 | segno 2 | 3 D.C. al Segno then Coda | coda 4 |",
    "1 Fine | 2 D.C. al Fine then Coda | coda 3 |",
    // Ends.
    "1 | 2 Fine | 3 D.C. al Fine |",
    "1 | segno 2 | 3 D.C. al Segno |",
    "1 | 2 D.C. al End |",
    "|: 1 | [1,3. 2 :| [2. 3 :|",
    "[2. 1 ] |",
    // Repeats on a return.
    "|: 1 :| 2 D.C. |",
    "|: 1 :| 2 D.C. senza rep. |",
    "|: 1 :| 2 D.C. con rep. |",
    "|: 1 :|(on-return skip) 2 D.C. |",
    "{repeats-on-return skip} |: 1 :| 2 D.C. |",
    "|: 1 | [1. 2 D.C. | [2. 3 Fine |",
    // Cuts, names, sound.
    "{meter 4/4; pickup 1/4} \"up\" | 1 Fine@2 | segno@3 2 | 3 D.S. al Fine |",
    "{meter 4/4} 1 | 2 Fine@2 | 3 To Coda(cut 3/16) | 4 D.C. al Fine |",
    "{meter 4/4} |: 1 8va(R.H., on repeat)( | 2 ) | 3 fermata(last pass) 15mb :| only(L.H.) 4 |",
    "{meter 4/4} 1 | segno@2 2 Fine@2 | 3 D.S. al Fine |",
    "{meter 4/4} 1 Fine(cut 3/16) | 2 D.C. al Fine |",
    "{meter 4/4} 1 | segno(cut 5/16) 2 Fine(cut 7/16) | 3 D.S. al Fine |",
    "|: 1 only(R.H., pass 2) fermata(L.H., pass 1) | 2 only(R.H., pass 2) only(L.H., pass 2) 8vb(L.H.) 8va(R.H.) :|",
];

#[test]
fn every_kind_of_move_and_of_end_is_told() {
    let text: String = LINES
        .iter()
        .map(|line| told(line, &Terms::default()))
        .collect();
    insta::assert_snapshot!("moves", text);
}

#[test]
fn repeats_left_out_as_asked_for_are_told_once() {
    let terms = Terms {
        omit_repeats: true,
        ..Terms::default()
    };
    let text = told("|: 1 | [1. 2 :| [2. 3 ] |: 4 :| 5 D.C. |", &terms);
    assert_eq!(text.matches("as asked for").count(), 1, "{text}");
    assert!(!text.contains("custom"), "{text}");
}

#[test]
fn there_are_english_phrases_for_the_teacher() {
    let book = Phrasebook::of("en", Register::Teacher).unwrap();
    assert_eq!(
        (book.language(), book.register()),
        ("en", Register::Teacher)
    );
    assert!(Phrasebook::of("xx", Register::Teacher).is_none());
    assert!(Phrasebook::languages().any(|language| language == "en"));
}

/// A board, and what to write for each question in turn.
#[test]
fn what_to_write_is_a_musicians_way_where_there_is_one() {
    let cases: &[(&str, &[(Question, &str)])] = &[
        ("1 | 2 |", &[]),
        (
            "1 |: 2 :| 3 D.C. |",
            &[(Question::RepeatsOnReturn, "`senza rep.`")],
        ),
        ("1 Fine | 2 D.C. |", &[(Question::Arming, "`D.C. al Fine`")]),
        (
            "1 To Coda | 2 D.C. | coda 3 |",
            &[(Question::Arming, "`D.C. al Coda`")],
        ),
        (
            "1 || 2 :| 3 |",
            &[(Question::LoneEndRepeat, "start repeat at measure 1")],
        ),
        (
            "{repeats-on-return skip} |: 1 D.C. | 2 :|",
            &[(Question::JumpInRepeat, "`arrivals 2`")],
        ),
        (
            "{repeats-on-return play} |: 1 Fine | 2 :| 3 D.C. al Fine |",
            &[(Question::ArmedInRepeat, "`arrivals 4`")],
        ),
        (
            "1 |: 2 |: 3 :| 4 :| 5 |",
            &[(Question::Nested, "`nested` is `restart`")],
        ),
    ];
    for (line, expected) in cases {
        let board: Board = line.parse().unwrap();
        let compared = compare(&board, &Terms::default()).unwrap();
        let written = Phrasebook::default().settling(&board, &Terms::default(), &compared);
        assert_eq!(written.len(), expected.len(), "{line}: {written:#?}");
        for (it, (question, words)) in written.iter().zip(*expected) {
            assert_eq!(it.question, *question, "{line}");
            assert!(it.write.contains(words), "{line}: {}", it.write);
        }
    }
}

fn first(compared: &Comparison) -> &Alternative {
    &compared.routes[0]
}

fn order(roadmap: &Roadmap) -> Vec<(u16, Option<fingerpost::Part>)> {
    let place = |step: Step| (step.measure, step.part);
    roadmap.steps().take(5000).map(place).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 3000, max_global_rejects: 1_000_000, ..ProptestConfig::default() })]

    /// The moves are the runs of the route, each with its sentences.
    #[test]
    fn every_route_is_told_from_its_first_step_to_its_last(board in any_short_board()) {
        let terms = Terms { open_plays: Some(2), ..Terms::default() };
        let Ok(roadmap) = Roadmap::new(&board, &terms) else { return Ok(()) };
        let book = Phrasebook::default();
        let mut told = 0;
        for it in book.moves(&board, &roadmap).take(200) {
            prop_assert_eq!(it.run.index, told);
            told += it.run.steps;
            for sentence in it.notes.iter().chain([&it.why, &it.play]) {
                prop_assert!(sentence.ends_with('.'), "{}", sentence);
            }
        }
        prop_assert!(told <= roadmap.length());
        prop_assert!(book.ending(&board, &roadmap).ends_with('.'));
    }

    /// The board with everything written on it is settled, and keeps the route.
    #[test]
    fn what_is_proposed_settles_the_board_on_its_route(board in any_short_board()) {
        let terms = Terms { open_plays: Some(2), ..Terms::default() };
        let Ok(compared) = compare(&board, &terms) else { return Ok(()) };
        let written = Phrasebook::default().settling(&board, &terms, &compared);
        prop_assert_eq!(written.is_empty(), compared.questions.is_empty());
        if let Some(last) = written.last() {
            let after = compare(&last.board, &terms).unwrap();
            prop_assert!(after.questions.is_empty(), "{:?}", after.questions);
            let (before, after) = (&first(&compared).roadmap, &first(&after).roadmap);
            prop_assert_eq!(before.length(), after.length());
            prop_assert_eq!(order(before), order(after));
        }
    }
}
