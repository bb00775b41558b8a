//! Settled or not. Rulebook 6.9: only the questions that can matter are varied, and that loses nothing.

mod support;

use std::collections::BTreeMap;

use fingerpost::{
    Al, Board, DoubleBar, EndRepeat, Ending, Fine, Held, Jump, Landing, Octaves, Part, Passes,
    Question, Reading, Refusal, Roadmap, Sign, Step, Terms, ToCoda, compare,
};
use proptest::prelude::*;
use support::boards::any_board;

type Order = Vec<(u16, Option<Part>, Octaves, Held, Held)>;

fn terms(reading: Reading) -> Terms {
    Terms {
        reading,
        omit_repeats: false,
        open_plays: Some(3),
    }
}

/// What a route sounds like, step by step; `None` for a board with errors under the reading, or a route too long for this test.
fn order(board: &Board, reading: Reading) -> Option<Order> {
    match Roadmap::new(board, &terms(reading)) {
        Ok(roadmap) if roadmap.length() <= 5_000 => {
            let sounds = |step: Step| (step.measure, step.part, step.octave, step.hold, step.hands);
            Some(roadmap.steps().map(sounds).collect())
        }
        Err(refusal @ Refusal::OpenPlays { .. }) => panic!("plays were given: {refusal}"),
        Ok(_) | Err(_) => None,
    }
}

/// Compares `compare` with the routes of all 144 readings; `false` when the board has no default route to compare.
fn holds(board: &Board) -> bool {
    let Some(first) = order(board, Reading::default()) else {
        return false;
    };
    let all: BTreeMap<usize, (Reading, Order)> = Reading::all()
        .enumerate()
        .filter_map(|(index, reading)| Some((index, (reading, order(board, reading)?))))
        .collect();
    let mut routes: Vec<&Order> = Vec::new();
    for (_, order) in all.values() {
        if !routes.contains(&order) {
            routes.push(order);
        }
    }
    let comparison = compare(board, &terms(Reading::default())).expect("it has a route");
    let line = board.to_line();
    assert_eq!(comparison.routes.len(), routes.len(), "routes of {line}");
    assert_eq!(comparison.settled(), routes.len() == 1, "{line}");
    for alternative in &comparison.routes {
        let steps = order(board, alternative.readings[0]).expect("it was compared");
        let parts = first
            .iter()
            .zip(&steps)
            .position(|(a, b)| a != b)
            .unwrap_or(first.len().min(steps.len()));
        match alternative.parts_at {
            None => assert_eq!(steps, first, "{line}"),
            Some(at) => assert_eq!(at, parts as u64, "{line}"),
        }
        for reading in &alternative.readings {
            assert_eq!(order(board, *reading).as_ref(), Some(&steps), "{line}");
        }
    }
    // A question changes the route when two readings that differ in it alone do.
    for question in Question::ALL {
        let changes = all.values().any(|(reading, order)| {
            let others = reading.each_answer(question);
            all.values()
                .any(|(other, different)| others.contains(other) && different != order)
        });
        let open = !board.reading().answers(question);
        assert_eq!(
            comparison.questions.contains(&question),
            changes && open,
            "{} of {line}",
            question.name()
        );
    }
    true
}

proptest! {
    #![proptest_config(ProptestConfig { cases: support::cases(400), ..ProptestConfig::default() })]

    #[test]
    fn comparing_a_few_readings_is_as_good_as_comparing_all(board in any_board()) {
        holds(&board);
    }
}

/// Placed signs on three measures, as they are written in a board line around the measures' numbers.
fn alphabet() -> Vec<(u16, Sign)> {
    let jump = |al| Jump {
        al,
        ..Jump::default()
    };
    let mut signs = vec![
        (3, Sign::DoubleBar(DoubleBar::default())),
        (1, Sign::DoubleBar(DoubleBar::default())),
    ];
    for measure in 1..=3 {
        signs.extend([
            (measure, Sign::StartRepeat),
            (measure, Sign::EndRepeat(EndRepeat::default())),
            (measure, Sign::Fine(Fine::default())),
            (measure, Sign::ToCoda(ToCoda::default())),
            (measure, Sign::DaCapo(jump(None))),
            (measure, Sign::Segno(Landing::default())),
            (measure, Sign::Coda(Landing::default())),
        ]);
        for pass in [1, 2] {
            let passes = Passes::of([pass]).expect("a pass");
            signs.push((
                measure,
                Sign::Ending(Ending {
                    passes,
                    open: false,
                }),
            ));
        }
        for al in [Al::Fine, Al::Coda] {
            signs.push((measure, Sign::DalSegno(jump(Some(al)))));
        }
    }
    signs
}

#[test]
fn boards_of_three_measures_and_four_signs_are_compared_in_full() {
    let signs = alphabet();
    let mut sound = 0;
    for a in 0..signs.len() {
        for b in a + 1..signs.len() {
            for c in b + 1..signs.len() {
                // Four signs, the last one every seventh, so that the test takes seconds.
                for d in (c + 1..signs.len()).filter(|d| (a + b + c + d) % 7 == 0) {
                    let chosen = [a, b, c, d].map(|index| signs[index].clone());
                    let builder = Board::builder([3]);
                    let board = chosen
                        .into_iter()
                        .fold(builder, |builder, (at, sign)| builder.mark(sign, at));
                    sound += usize::from(holds(&board.build().expect("a board")));
                }
            }
        }
    }
    assert!(sound > 1_000, "only {sound} boards had a route");
}

#[test]
fn boards_on_which_readings_are_known_to_part_are_compared_in_full() {
    let boards = [
        "|: 1 | 2 :| 3 D.C. |",
        "1 :| 2 :| 3 || 4 :| 5 Fine | 6 D.C. |",
        "|: 1 |: 2 :| 3 :| 4 |",
        "|: 1 | 2 D.C. | 3 :| 4 |",
        "|: 1 Fine | 2 :| 3 D.C. al Fine |",
        "1 To Coda | 2 D.C. | coda 3 |",
        "|: 1 To Coda | 2 :| coda 3 |",
        "|: 1 | [1. 2 :| [2. segno 3 To Coda ] | 4 D.S. | coda 5 :| 6 |",
        "segno 1 | |: 2 | [1. 3 :| [2. 4 Fine ] | 5 D.S. al Fine |",
        "|: 1 | 8va(on repeat) 2 :| 3 D.C. |",
        "1 :| 2 | 3 :| 4 D.C. al Fine | 5 Fine |",
    ];
    let mut settled = 0;
    for line in boards {
        let board: Board = line.parse().expect("a board");
        assert!(holds(&board), "{line} has a route");
        settled += usize::from(
            compare(&board, &terms(Reading::default()))
                .expect("a route")
                .settled(),
        );
    }
    assert!(
        settled < boards.len(),
        "most of these depend on the reading"
    );
}
