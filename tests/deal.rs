//! Boards that are dealt: every promise held against the board from outside, with `check`, `compare` and the second walker.
//!
//! What is sound, settled and reached is decided by the second walker and the rules of the catalogue, which do not know how boards are dealt.
//! That the levels follow the usual order of teaching is held against the tables of `spec/levels.md`, with their sources.

#[path = "support/fresh.rs"]
mod fresh;
mod support;
#[path = "support/walker/mod.rs"]
mod walker;

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use fingerpost::{
    Board, Concept, Held, Impossible, Levels, Misunderstanding, Reading, Roadmap, Severity, Sign,
    Step, Terms, Wish, check, compare, concepts, deal, practice, structure, told_apart,
};
use proptest::prelude::*;
use support::cases;
use walker::mistaken::Mistake;
use walker::{Outcome, Walker, walk};

const LIMIT: u64 = 100_000;

fn order(board: &Board) -> Vec<walker::PlainStep> {
    match walk(board, &Terms::default(), LIMIT) {
        Outcome::Steps(steps) => steps,
        other => panic!("{}: {other:?}", board.to_line()),
    }
}

/// What is heard of a step.
fn heard(step: &walker::PlainStep) -> (u16, i8, i8, Held, Held) {
    (
        step.measure,
        step.octave_right,
        step.octave_left,
        step.hold,
        step.hands,
    )
}

/// The board without one of its signs; of endings that follow each other, without all of them.
fn without(board: &Board, index: usize) -> Board {
    let markings = board.markings();
    let this = &markings[index];
    let mut gone = BTreeSet::from([index]);
    if matches!(this.sign(), Sign::Ending(_)) {
        let (mut first, mut last) = (this.measure(), this.place().last());
        while let Some((at, more)) = markings.iter().enumerate().find(|(at, it)| {
            matches!(it.sign(), Sign::Ending(_))
                && !gone.contains(at)
                && (it.place().last() + 1 == first || it.measure() == last + 1)
        }) {
            gone.insert(at);
            first = first.min(more.measure());
            last = last.max(more.place().last());
        }
    }
    let kept = markings.iter().enumerate();
    let kept = kept
        .filter(|(at, _)| !gone.contains(at))
        .map(|(_, it)| it.clone());
    Board::builder(board.systems().iter().copied())
        .markings(kept)
        .build()
        .expect("a board")
}

/// Whether every reading under which a board has no errors gives the same sound, by the second walker.
fn settled(board: &Board) -> bool {
    let right: Vec<_> = order(board).iter().map(heard).collect();
    Reading::all().all(|reading| match walk(board, &Terms::from(reading), LIMIT) {
        Outcome::Steps(steps) => steps.iter().map(heard).eq(right.iter().copied()),
        _ => true,
    })
}

/// Holds a board that is dealt against what is promised of it.
fn holds(board: &Board, measures: u16) {
    let line = board.to_line();
    assert_eq!(board.measures(), measures, "{line}");
    let found = check(board);
    let grave = found.iter().find(|it| it.severity != Severity::Advice);
    assert_eq!(grave, None, "{line}");
    let comparison = compare(board, &Terms::default()).expect("it has a route");
    assert!(comparison.settled(), "{line}");
    let steps = order(board);
    let played: BTreeSet<u16> = steps.iter().map(|step| step.measure).collect();
    assert_eq!(played.len(), usize::from(measures), "{line}");
    let roadmap = Roadmap::new(board, &Terms::default()).expect("it has a route");
    let ours: Vec<Step> = roadmap.steps().collect();
    assert_eq!(ours.len(), steps.len(), "{line}");
    assert!(
        steps.iter().zip(&ours).all(|(one, other)| one.is(other)),
        "{line}"
    );
    for index in 0..board.markings().len() {
        let less = without(board, index);
        let same = match walk(&less, &Terms::default(), LIMIT) {
            Outcome::Steps(other) => other.iter().map(heard).eq(steps.iter().map(heard)),
            _ => false,
        };
        // Without the sign the order is another, or there is an error, or readers differ.
        assert!(
            !same || !settled(&less),
            "sign {index} of {line} changes nothing"
        );
    }
}

#[test]
fn every_board_of_every_level_keeps_its_promises() {
    let levels = Levels::built_in();
    for seed in 0..u64::from(cases(4000)) {
        let level = u8::try_from(seed % 5 + 1).unwrap();
        let sizes = [16, 8, 12, 24, 32, 10, 20, 7, 13, 64, 5, 9, 6, 17, 48, 4];
        let measures = sizes[usize::try_from(seed / 5).unwrap() % sizes.len()];
        let wish = Wish::level(measures, level);
        let dealt = deal(&wish, seed).expect("a board of the level");
        holds(&dealt.board, measures);
        assert_eq!(dealt.concepts, concepts(&dealt.board));
        let taught = |it: &Concept| levels.taught_at(*it).expect("it is taught");
        assert!(dealt.concepts.iter().all(|it| taught(it) <= level));
        assert!(dealt.concepts.iter().any(|it| taught(it) == level));
        assert_eq!(dealt.board.levels(), [level]);
        assert_eq!(
            deal(&wish, seed).expect("the same again").board,
            dealt.board
        );
    }
}

#[test]
fn every_pair_of_concepts_is_shown_or_refused_with_the_reason() {
    let mut refused = BTreeMap::new();
    for &one in Concept::ALL {
        for &other in Concept::ALL {
            let wish = Wish::concepts(16, BTreeSet::from([one, other]));
            for seed in 0..u64::from(cases(12)) {
                match deal(&wish, seed) {
                    Ok(dealt) => {
                        assert!(dealt.concepts.contains(&one) && dealt.concepts.contains(&other));
                        if seed < 4 {
                            holds(&dealt.board, 16);
                        }
                    }
                    Err(Impossible::Excluding { concepts, because }) => {
                        assert!(concepts.contains(&one) && concepts.contains(&other));
                        *refused.entry(because.to_string()).or_insert(0) += 1;
                    }
                    Err(error) => panic!("{one} {other}: {error}"),
                }
            }
        }
    }
    assert_eq!(refused.len(), 3, "{refused:?}");
}

#[test]
fn as_many_measures_as_are_said_to_be_needed_are_enough() {
    for &one in Concept::ALL {
        for &other in Concept::ALL {
            let set = BTreeSet::from([one, other]);
            let error = match deal(&Wish::concepts(0, set.clone()), 1) {
                Err(Impossible::Excluding { .. }) => continue,
                other => other.expect_err("no board has no measures"),
            };
            let Impossible::TooFewMeasures { needed, .. } = error else {
                panic!("{one} {other}: {error}");
            };
            for seed in 0..3 {
                let enough = deal(&Wish::concepts(needed, set.clone()), seed);
                assert!(enough.is_ok(), "{one} {other} on {needed}: {enough:?}");
                let few = deal(&Wish::concepts(needed - 1, set.clone()), seed);
                assert!(
                    matches!(few, Err(Impossible::TooFewMeasures { .. })),
                    "{one} {other}"
                );
            }
        }
    }
}

#[test]
fn wishes_that_cannot_be_met_are_refused_with_the_reason() {
    let level = |measures, level| {
        deal(&Wish::level(measures, level), 1)
            .expect_err("refused")
            .to_string()
    };
    assert_eq!(
        level(16, 9),
        "there is no level 9; the levels are 1, 2, 3, 4, 5"
    );
    assert_eq!(
        level(2, 4),
        "2 measures are too few for D.C. al Coda: at least 3 are needed"
    );
    assert_eq!(
        level(9999, 3),
        "9999 measures are too many: boards of up to 512 are dealt"
    );
    let beyond = Wish {
        concepts: vec![Concept::DaCapoAlFine],
        ..Wish::level(16, 2)
    };
    assert_eq!(
        deal(&beyond, 1).expect_err("refused").to_string(),
        "D.C. al Fine is not taught at level 2 or before but at level 3"
    );
    let both = Wish::concepts(16, [Concept::DaCapoAlFine, Concept::DalSegnoAlCoda]);
    assert_eq!(
        deal(&both, 1).expect_err("refused").to_string(),
        "D.C. al Fine and D.S. al Coda do not go together on one board: each is a D.C. or D.S., and a board that is dealt has one of them, or `dal-segno` and `da-capo`"
    );
    let nothing = Wish::concepts(16, []);
    assert_eq!(
        deal(&nothing, 1).expect_err("refused"),
        Impossible::NothingAsked
    );
}

/// A number that stands for a text (FNV-1a, 64 bits).
fn digest(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    })
}

#[test]
fn a_seed_gives_the_same_board_for_ever() {
    let mut text = String::new();
    for level in 1..=5 {
        for measures in [8, 16, 30] {
            let boards: Vec<String> = (0..200)
                .map(|seed| {
                    deal(&Wish::level(measures, level), seed)
                        .expect("a board")
                        .board
                        .to_line()
                })
                .collect();
            let all = digest(&boards.join("\n"));
            let _ = writeln!(
                text,
                "level {level}, {measures} measures, seeds 0 to 199: {all:016x}"
            );
            for (seed, line) in boards.iter().take(3).enumerate() {
                let _ = writeln!(text, "  {seed}: {line}");
            }
        }
    }
    let path = fresh::root("tests/data/dealt.txt");
    fresh::fresh(&path, &text);
}

/// The most that one structure may come, in hundredths, by level; and the fewest structures, among 10 000 boards of 16 measures.
const SPREAD: [(u32, usize); 5] = [(13, 70), (5, 500), (10, 1000), (12, 1500), (2, 5000)];

#[test]
fn no_structure_comes_too_often() {
    let seeds = cases(10_000);
    let mut table =
        String::from("| level | structures | the commonest | its share |\n|---|---|---|---|\n");
    let mut fails = Vec::new();
    for (level, (most, fewest)) in (1..).zip(SPREAD) {
        let mut counts: BTreeMap<String, u32> = BTreeMap::new();
        for seed in 0..u64::from(seeds) {
            let dealt = deal(&Wish::level(16, level), seed).expect("a board");
            *counts.entry(structure(&dealt.board)).or_default() += 1;
        }
        let (commonest, &times) = counts.iter().max_by_key(|(_, times)| **times).expect("one");
        let share = f64::from(times) / f64::from(seeds) * 100.0;
        let _ = writeln!(
            table,
            "| {level} | {} | {commonest} | {share:.1} % |",
            counts.len()
        );
        if share > f64::from(most) || seeds == 10_000 && counts.len() < fewest {
            fails.push(level);
        }
    }
    println!("{table}");
    assert!(fails.is_empty(), "levels {fails:?}:\n{table}");
}

/// Whether the second walker, with this rule changed, answers otherwise than rightly.
fn differs(board: &Board, mistake: Mistake) -> bool {
    let right = order(board);
    let walker = Walker::new(board, 2 * right.len() as u64 + 2);
    let wrong = walker
        .walk_mistaken(&Terms::default(), &[mistake])
        .expect("no errors");
    let answer = |step: &walker::PlainStep| {
        let octaves = if mistake.is_of_octaves() {
            (step.octave_right, step.octave_left)
        } else {
            (0, 0)
        };
        (step.measure, octaves)
    };
    !wrong.iter().map(answer).eq(right.iter().map(answer))
}

fn mistakes(aim: Misunderstanding) -> impl Iterator<Item = Mistake> {
    Mistake::ALL
        .into_iter()
        .filter(move |it| it.name() == aim.name())
}

#[test]
fn a_board_aimed_at_a_misunderstanding_tells_it_apart() {
    for aim in Misunderstanding::ALL {
        let mut dealt_at = Vec::new();
        for level in 1..=5 {
            let wish = Wish {
                aim: Some(aim),
                ..Wish::level(16, level)
            };
            for seed in 0..u64::from(cases(40)) {
                match deal(&wish, seed) {
                    Ok(dealt) => {
                        assert!(mistakes(aim).any(|it| differs(&dealt.board, it)), "{aim}");
                        dealt_at.push(level);
                    }
                    Err(Impossible::AimBeyondLevel {
                        from: Some(from), ..
                    }) => {
                        assert!(level < from, "{aim} at level {level}");
                    }
                    Err(error) => panic!("{aim} at level {level}: {error}"),
                }
            }
        }
        // Without a level, which is what a page says to ask for.
        let wish = Wish {
            aim: Some(aim),
            ..Wish::concepts(16, [])
        };
        let dealt = deal(&wish, 1).unwrap_or_else(|error| panic!("{aim}: {error}"));
        assert!(mistakes(aim).any(|it| differs(&dealt.board, it)), "{aim}");
        assert!(!dealt_at.is_empty(), "{aim}");
    }
}

#[test]
fn what_a_board_tells_apart_is_what_the_second_walker_answers_otherwise() {
    for seed in 0..u64::from(cases(300)) {
        let level = u8::try_from(seed % 5 + 1).unwrap();
        let board = deal(&Wish::level(16, level), seed).expect("a board").board;
        let told = told_apart(&board);
        for aim in Misunderstanding::ALL {
            let expected = mistakes(aim).any(|it| differs(&board, it));
            assert_eq!(
                told.contains(&aim),
                expected,
                "{aim} on {}",
                board.to_line()
            );
        }
    }
}

#[test]
fn a_practice_set_rises_and_shows_every_concept() {
    for seed in 0..u64::from(cases(40)) {
        let level = u8::try_from(seed % 5 + 1).unwrap();
        let set = practice(&Wish::level(16, level), 12, seed).expect("a set");
        assert_eq!(set.boards.len(), 12);
        let scores: Vec<u32> = set.boards.iter().map(|it| it.difficulty.score).collect();
        assert!(scores.is_sorted(), "{scores:?}");
        let lines: BTreeSet<String> = set
            .boards
            .iter()
            .map(|it| it.dealt.board.to_line())
            .collect();
        assert_eq!(lines.len(), 12);
        let shown: BTreeSet<Concept> = set
            .boards
            .iter()
            .flat_map(|it| it.dealt.concepts.clone())
            .collect();
        let levels = Levels::built_in();
        assert!(
            levels
                .get(level)
                .expect("it is there")
                .teaches
                .iter()
                .all(|it| shown.contains(it))
        );
        for board in &set.boards {
            holds(&board.dealt.board, 16);
            let again = deal(&board.wish, board.dealt.seed).expect("the same again");
            assert_eq!(again.board, board.dealt.board);
        }
    }
    let all = Wish::concepts(16, Concept::ALL.iter().copied());
    assert!(matches!(
        practice(&all, 3, 1),
        Err(Impossible::TooFewBoards { .. })
    ));
    let set = practice(&all, 12, 1).expect("a set");
    let shown: BTreeSet<Concept> = set
        .boards
        .iter()
        .flat_map(|it| it.dealt.concepts.clone())
        .collect();
    assert_eq!(shown.len(), Concept::ALL.len());
}

#[test]
fn the_library_carries_the_levels_of_the_specification() {
    let committed = std::fs::read_to_string(fresh::root("spec/levels.json")).expect("it is there");
    let copy = fresh::root("crates/fingerpost/src/deal/levels.json");
    fresh::fresh(&copy, &committed);
    assert_eq!(Levels::from_json(&committed), Ok(Levels::built_in()));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(cases(600)))]

    /// Whatever is wished for, there is a board that keeps its promises, or a reason.
    #[test]
    fn any_wish_is_met_or_refused(
        measures in 0_u16..70,
        chosen in proptest::collection::btree_set(proptest::sample::select(Concept::ALL), 0..5),
        level in proptest::option::of(0_u8..7),
        aim in proptest::option::of(proptest::sample::select(&Misunderstanding::ALL[..])),
        seed in any::<u64>(),
    ) {
        let concepts: Vec<Concept> = chosen.into_iter().collect();
        let wish = Wish { level, aim, ..Wish::concepts(measures, concepts.clone()) };
        match deal(&wish, seed) {
            Ok(dealt) => {
                holds(&dealt.board, measures);
                assert!(concepts.iter().all(|it| dealt.concepts.contains(it)));
            }
            Err(error) => {
                let known = !matches!(error, Impossible::NotFound { .. });
                assert!(known, "{wish:?}: {error}");
            }
        }
    }
}

#[test]
fn what_a_page_of_a_misunderstanding_says_to_practise_can_be_dealt() {
    for idea in Misunderstanding::ALL {
        let page = fresh::root(&format!("spec/misunderstandings/{idea}.md"));
        let page = std::fs::read_to_string(page).expect("it has a page");
        let named = page
            .lines()
            .filter_map(|line| line.strip_prefix("- deal: "));
        let named: Vec<Concept> = named.map(|name| name.parse().expect("a concept")).collect();
        assert!(!named.is_empty(), "{idea}");
        // The first tells it apart; others may be what it is confused with.
        for (number, &concept) in named.iter().enumerate() {
            let wish = Wish {
                aim: (number == 0).then_some(idea),
                ..Wish::concepts(16, [concept])
            };
            let dealt = deal(&wish, 1).unwrap_or_else(|error| panic!("{idea}: {concept}: {error}"));
            assert!(dealt.concepts.contains(&concept), "{idea}: {concept}");
            if number == 0 {
                assert!(told_apart(&dealt.board).contains(&idea), "{idea}");
            }
        }
    }
}
