//! What pupils misunderstand: answers written by hand, and answers that the second walker gives with one rule changed.

#[path = "support/mod.rs"]
mod support;
#[path = "support/trials/mod.rs"]
mod trials;
#[path = "support/walker/mod.rs"]
mod walker;
#[path = "support/wrong_answers.rs"]
mod wrong_answers;

use fingerpost::{Board, Terms};
use support::cases;
use trials::chance::{self, Dice};
use trials::{portrait, pupils};
use walker::mistaken::Mistake;
use walker::{Outcome, PlainStep, Walker};
use wrong_answers::{WRONG_ANSWERS, WrongAnswer};

/// Who jumps for ever is stopped after so many steps.
const LIMIT: u64 = 2000;

#[test]
fn the_second_walker_errs_as_the_answers_written_by_hand() {
    let mut wrong = Vec::new();
    for answer in WRONG_ANSWERS {
        let board = Board::from_line(answer.board).expect("a board line");
        let walker = Walker::new(&board, LIMIT);
        let Some(mut steps) = walker.walk_mistaken(&Terms::default(), answer.mistakes) else {
            wrong.push(format!("{}: {:?}", answer.board, walker.errors()));
            continue;
        };
        let expected = measures(answer.order);
        // An answer to a road with no end is its beginning, longer than the right road.
        if answer.mistakes.contains(&Mistake::JumpForEver) {
            steps.truncate(expected.len());
        }
        let found: Vec<u16> = steps.iter().map(|step| step.measure).collect();
        if found != expected || !octaves_are(answer, &steps) {
            wrong.push(format!(
                "{:?} on {}: {found:?}",
                answer.mistakes, answer.board
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_misunderstanding_has_an_answer_written_by_hand_and_its_source() {
    assert!(WRONG_ANSWERS.len() >= 40);
    for mistake in Mistake::ALL {
        assert!(
            WRONG_ANSWERS
                .iter()
                .any(|answer| answer.mistakes == [mistake]),
            "{mistake:?}"
        );
    }
    let sources = std::fs::read_to_string("spec/sources.md").expect("the sources are there");
    for answer in WRONG_ANSWERS {
        let key = answer.source.split(", ").next().unwrap_or_default();
        let known = ["common practice", "from memory"].contains(&key);
        let listed = sources.contains(&format!("- `{key}`: "));
        assert!(known || listed, "{}", answer.source);
    }
}

#[test]
fn a_learner_who_errs_about_octaves_alone_walks_the_right_road() {
    let mut roads = 0;
    for seed in 0..u64::from(cases(2000)) {
        let mut dice = Dice::new(seed);
        let board = if seed % 2 == 0 {
            pupils::board(&mut dice)
        } else {
            chance::from_pieces(&mut dice)
        };
        let terms = Terms {
            open_plays: Some(2),
            ..Terms::from(dice.reading())
        };
        let walker = Walker::new(&board, LIMIT);
        let Outcome::Steps(right) = walker.walk(&terms) else {
            continue;
        };
        roads += 1;
        let same = walker.walk_mistaken(&terms, &[]);
        assert_eq!(same.as_ref(), Some(&right), "{}", portrait(&board));
        // All that the walk of a learner does otherwise is done here, and must change nothing.
        let errs = walker.walk_mistaken(&terms, &[Mistake::OctaveInTheWrongHand]);
        let order = |steps: &[PlainStep]| {
            steps
                .iter()
                .map(|s| (s.measure, s.part))
                .collect::<Vec<_>>()
        };
        let errs = errs.expect("a board with a road");
        assert_eq!(order(&errs), order(&right), "{}", portrait(&board));
    }
    assert!(roads > cases(1000), "{roads}");
}

/// `1-4 1 2` as a list of measures.
fn measures(order: &str) -> Vec<u16> {
    let number = |text: &str| text.parse::<u16>().expect("a measure");
    let runs = order.split(' ').map(|run| match run.split_once('-') {
        Some((from, to)) => number(from)..=number(to),
        None => number(run)..=number(run),
    });
    runs.flatten().collect()
}

fn octaves_are(answer: &WrongAnswer, steps: &[PlainStep]) -> bool {
    answer.right.is_empty()
        || steps
            .iter()
            .map(|s| s.octave_right)
            .eq(answer.right.iter().copied())
            && steps
                .iter()
                .map(|s| s.octave_left)
                .eq(answer.left.iter().copied())
}
