//! What is missing, held against trying every set of signs on small boards; what each way is good for, against the second walker.

#[path = "support/good_for.rs"]
mod good_for;
mod support;
#[path = "support/walker/mod.rs"]
mod walker;

use std::collections::BTreeSet;

use fingerpost::{
    Al, Board, CheckOptions, Counted, EndRepeat, Ending, Fine, Jump, Landing, Marking, MissingSet,
    Passes, Phrasebook, Severity, Sign, ToCoda, check_with, missing, sign_words,
};
use good_for::good_for;
use proptest::prelude::*;
use support::boards::any_laid_board;
use support::laying::{LACKS, places_of, with};

/// Whether a board has no error, and no sign that lacks its partner.
fn is_whole(board: &Board) -> bool {
    let options = CheckOptions {
        most_compared: 0,
        ..CheckOptions::default()
    };
    let found = check_with(board, &options);
    let bad = |it: &fingerpost::Finding| it.severity == Severity::Error || LACKS.contains(&it.rule);
    !found.iter().any(bad)
}

/// Every sign that a lesson uses.
fn box_of_signs() -> Vec<Sign> {
    let ending = |list: &[u32]| {
        Sign::Ending(Ending {
            passes: Passes::of(list.iter().copied()).expect("passes"),
            open: false,
        })
    };
    let mut signs = vec![
        Sign::StartRepeat,
        Sign::EndRepeat(EndRepeat::default()),
        ending(&[1]),
        ending(&[2]),
        ending(&[1, 2]),
        Sign::Fine(Fine::default()),
        Sign::Segno(Landing::default()),
        Sign::Coda(Landing::default()),
        Sign::ToCoda(ToCoda::default()),
    ];
    for al in [None, Some(Al::Fine), Some(Al::Coda)] {
        let jump = Jump {
            al,
            ..Jump::default()
        };
        signs.extend([Sign::DaCapo(jump.clone()), Sign::DalSegno(jump)]);
    }
    signs
}

/// Every sign of the box at every place.
fn letters(board: &Board) -> Vec<Marking> {
    let signs = box_of_signs();
    let letters = signs.iter().flat_map(|sign| {
        places_of(board, sign)
            .into_iter()
            .map(|place| Marking::new(sign.clone(), place))
    });
    letters.collect()
}

/// All arrangements of the signs of a set that leave nothing missing, the best of them only, found by trying them all.
fn arrangements(board: &Board, set: &MissingSet) -> BTreeSet<Vec<(String, u16, u16)>> {
    let mut all: Vec<Vec<Marking>> = vec![Vec::new()];
    for partner in &set.signs {
        let sign = &partner.card.sign;
        let places = places_of(board, sign);
        all = all
            .into_iter()
            .flat_map(|before| {
                places.iter().map(move |&place| {
                    let mut these = before.clone();
                    these.push(Marking::new(sign.clone(), place));
                    these
                })
            })
            .collect();
    }
    let whole = all
        .into_iter()
        .filter(|these| is_whole(&with(board, these)));
    let judged: Vec<(Counted, Vec<Marking>)> = whole
        .map(|these| (good_for(board, &these), these))
        .collect();
    let best = judged.iter().map(|(counted, _)| *counted).min();
    assert_eq!(best, Some(set.counted), "{} {set:?}", board.to_line());
    let counted = judged.into_iter().filter(|(it, _)| *it == set.counted);
    counted
        .map(|(_, these)| {
            let key = |it: &Marking| {
                (
                    format!("{:?}", it.sign()),
                    it.place().first(),
                    it.place().last(),
                )
            };
            let mut these: Vec<_> = these.iter().map(key).collect();
            these.sort();
            these
        })
        .collect()
}

fn in_the_making() -> impl Strategy<Value = Board> {
    (any_laid_board(), any::<u16>()).prop_map(|(board, taken)| {
        let kept = board.markings().iter().enumerate();
        let kept = kept.filter(|(index, _)| *index > 15 || taken & (1 << index) == 0);
        let kept: Vec<Marking> = kept.map(|(_, marking)| marking.clone()).collect();
        let builder = board.to_builder().without_markings().markings(kept);
        builder.build().expect("fewer signs")
    })
}

fn holds(board: &Board) {
    let missing = missing(board).expect("a small board");
    let line = board.to_line();
    assert_eq!(missing.lacking.is_empty(), is_whole(board), "{line}");
    if missing.lacking.is_empty() {
        assert!(missing.sets.is_empty() && missing.in_the_way.is_empty());
        return;
    }
    for set in &missing.sets {
        assert_eq!(set.signs.len(), missing.sets[0].signs.len(), "{line}");
        assert_eq!(set.counted, missing.sets[0].counted, "{line}");
        let proposed = set.proposed(board).expect("a board");
        assert!(is_whole(&proposed), "{line} {set:?}");
        for places in &set.first {
            let added = set.signs.iter().zip(places);
            let added: Vec<Marking> = added
                .map(|(it, &place)| Marking::new(it.card.sign.clone(), place))
                .collect();
            assert!(is_whole(&with(board, &added)), "{line} {set:?}");
            assert_eq!(good_for(board, &added), set.counted, "{line} {set:?}");
        }
        warnings_hold(board, set);
        let tries = set
            .signs
            .iter()
            .map(|it| places_of(board, &it.card.sign).len());
        if missing.complete && tries.product::<usize>() <= 1_500 {
            let all = arrangements(board, set);
            assert_eq!(set.arrangements, all.len() as u64, "{line} {set:?}");
            for partner in &set.signs {
                let words = format!("{:?}", partner.card.sign);
                let twins = set
                    .signs
                    .iter()
                    .filter(|it| it.card.sign == partner.card.sign);
                if twins.count() > 1 {
                    continue;
                }
                let possible: BTreeSet<(u16, u16)> = all
                    .iter()
                    .flatten()
                    .filter(|(sign, ..)| *sign == words)
                    .map(|&(_, first, last)| (first, last))
                    .collect();
                let told = partner.places.iter();
                let told: BTreeSet<_> = told.map(|it| (it.first(), it.last())).collect();
                assert_eq!(told, possible, "{line} {set:?}");
            }
        }
    }
    // No smaller set of the box will do, whatever the ways are counted for. Where nothing was found, single signs are tried all the same.
    let named = missing.sets.first().map_or(0, |set| set.signs.len());
    assert!(missing.least.is_none_or(|least| least <= named), "{line}");
    let errors = || missing.in_the_way.iter();
    let size = match missing.least {
        Some(least) if missing.complete => least,
        None if missing.complete && errors().all(|it| it.severity == Severity::Error) => 2,
        _ => return,
    };
    // What only walking shows is looked for by what may cure it, not everywhere: see `an_ending_that_leads_elsewhere_is_not_looked_for`.
    let walked =
        |it: &fingerpost::Finding| ["landing-in-wrong-ending", "route-too-long"].contains(&it.rule);
    if missing.lacking.iter().any(walked) {
        return;
    }
    let letters = letters(board);
    if size > 1 {
        for one in &letters {
            let one = std::slice::from_ref(one);
            assert!(!is_whole(&with(board, one)), "{line}: {one:?}");
        }
    }
    if size > 2 && letters.len() < 120 {
        for (index, one) in letters.iter().enumerate() {
            for other in &letters[index + 1..] {
                let both = [one.clone(), other.clone()];
                assert!(!is_whole(&with(board, &both)), "{line}: {both:?}");
            }
        }
    }
}

/// The warnings told are those of the board as proposed that it has not now.
fn warnings_hold(board: &Board, set: &MissingSet) {
    let warnings = |board: &Board| {
        let mut found = check_with(
            board,
            &CheckOptions {
                most_compared: 0,
                ..CheckOptions::default()
            },
        );
        found.retain(|it| it.severity == Severity::Warning);
        found
    };
    let proposed = set.proposed(board).expect("a board");
    let now = warnings(&proposed);
    let before = warnings(board);
    for warning in &set.warnings {
        let told = |it: &&fingerpost::Finding| it.message == warning.message;
        assert!(now.iter().any(|it| told(&it)), "{set:?}");
    }
    let known = |it: &fingerpost::Finding| {
        let same = |other: &fingerpost::Finding| other.rule == it.rule;
        before.iter().any(same) || set.warnings.iter().any(same)
    };
    assert!(now.iter().all(known), "{} {set:?}", board.to_line());
    assert!(!set.always_warned || !set.warnings.is_empty());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: support::more_cases(300), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_smaller_set_will_do_and_every_arrangement_is_counted(board in in_the_making()) {
        holds(&board);
    }
}

/// Two Fines at one barline are one (rulebook, 1.10), also where the road goes on from it to the coda: none of the ways has both there.
#[test]
fn equal_signs_at_one_place_are_one() {
    for line in [
        "1 D.C.(passes 2) al Fine then Coda | 2 | 3 |",
        "1 | 2 D.C.(passes 2) al Fine then Coda | 3 |",
    ] {
        holds(&line.parse().expect("a board"));
    }
}

/// The signs of each set, as words, and in how many ways they can be laid.
fn sets_of(line: &str) -> Vec<(Vec<String>, u64)> {
    let board: Board = line.parse().expect("a board");
    let missing = missing(&board).expect("a small board");
    let words = |set: &MissingSet| {
        let words = set.signs.iter().map(|it| sign_words(&it.card.sign));
        (words.collect(), set.arrangements)
    };
    missing.sets.iter().map(words).collect()
}

fn words(words: &[&str]) -> Vec<String> {
    words.iter().map(|&word| word.to_owned()).collect()
}

/// Worked out by hand; common practice.
#[test]
fn boards_in_the_making() {
    // The Fine may stand at any of the three measures.
    assert_eq!(
        sets_of("1 | 2 | 3 D.C. al Fine |]"),
        [(words(&["Fine"]), 3)]
    );
    // The To Coda stands at 1 to 3, the segno no later than it, or it would not be met; the coda behind the To Coda: 1 * 3 + 2 * 2 + 3 * 1.
    assert_eq!(
        sets_of("1 | 2 | 3 | 4 D.S. al Coda |]"),
        [(words(&["segno", "To Coda", "coda"]), 10)]
    );
    // The end repeat stands at 2, 3 or 4.
    assert_eq!(sets_of("1 |: 2 | 3 | 4 |]"), [(words(&["end repeat"]), 3)]);
    // The Fine from which the road goes on to the coda stands before it: at 1 or 2.
    assert_eq!(
        sets_of("1 | 2 | coda 3 | 4 Fine | 5 D.C. al Fine then Coda |]"),
        [(words(&["Fine"]), 2)]
    );
    // Nothing is missing.
    assert_eq!(sets_of("|: 1 | 2 :| 3 |]"), []);
}

/// The boards as proposed, and the rules that warn of them.
fn proposals(line: &str) -> Vec<(String, Vec<&'static str>)> {
    let board: Board = line.parse().expect("a board");
    let sets = missing(&board).expect("a small board").sets;
    let told = sets.iter().map(|set| {
        let proposed = set.proposed(&board).expect("a board");
        let warnings = set.warnings.iter().map(|it| it.rule).collect();
        (proposed.to_line(), warnings)
    });
    told.collect()
}

/// Common practice: three endings are closed by an end repeat each, the last apart (rulebook, chapter 2); the coda stands behind the D.S.,
/// and no music runs into it (4.6); the road from the segno meets the To Coda (3.4).
#[test]
fn what_is_proposed_is_what_a_musician_would_write() {
    let endings = proposals("1 | 2 | [1. 3 | [2. 4 | [3. 5 | 6 |]");
    assert_eq!(endings[0].0, "1 | 2 | [1. 3 :| [2. 4 :| [3. 5 | 6 |]");
    assert!(endings[0].1.is_empty());
    assert_eq!(
        proposals("1 | 2 | 3 | 4 D.S. al Coda | 5 | 6 |]"),
        [(
            "1 | segno 2 | 3 To Coda | 4 D.S. al Coda | coda 5 | 6 |]".to_owned(),
            vec![]
        )]
    );
    // Behind the D.S. there is no measure left for the coda.
    let cramped = "1 | 2 | 3 | 4 D.S. al Coda |]";
    assert_eq!(
        proposals(cramped),
        [(
            "1 | segno 2 | 3 To Coda | coda 4 D.S. al Coda |]".to_owned(),
            vec!["coda-run-into"]
        )]
    );
    let board: Board = cramped.parse().expect("a board");
    assert!(missing(&board).expect("small").sets[0].always_warned);
    assert_eq!(proposals("1 |: 2 | 3 | 4 |]")[0].0, "1 |: 2 | 3 | 4 :|");
}

#[test]
fn ways_in_which_a_sign_is_never_obeyed_count_only_where_there_are_no_others() {
    // Whatever stands at 3 is never played.
    let board: Board = "{unplaced :|} 1 Fine | 2 D.C. al Fine | |: 3 |]"
        .parse()
        .expect("a board");
    let found = missing(&board).expect("small");
    assert_eq!(found.sets[0].counted, Counted::Any);
}

#[test]
fn a_sign_in_the_hand_comes_first() {
    let line = "{unplaced D.S.(id first) , D.C.(al Fine, id second)} 1 | 2 Fine | 3 |]";
    let board: Board = line.parse().expect("a board");
    let found = missing(&board).expect("a small board");
    let first = &found.sets[0].signs;
    assert_eq!(first.len(), 1);
    assert_eq!(first[0].card.in_hand, Some(1));
    let proposed = found.sets[0].proposed(&board).expect("a board");
    assert_eq!(proposed.unplaced().len(), 1);
    assert_eq!(proposed.markings()[1].id(), Some("second"));
    assert!(is_whole(&proposed));
}

/// A board that is legal without the signs in the hand lacks nothing, and yet is not laid to its end.
#[test]
fn signs_left_in_the_hand_are_told() {
    let says = |line: &str| {
        Phrasebook::default().missing(&missing(&line.parse().expect("a board")).expect("small"))
    };
    assert!(!says("|: 1 | 2 :|").contains("hand"));
    let says = |hand: &str| says(&format!("{{unplaced {hand}}} |: 1 | 2 :|"));
    assert!(
        says("segno").ends_with("One sign still lies in the hand."),
        "{}",
        says("segno")
    );
    assert!(
        says("segno, D.S.").ends_with("2 signs still lie in the hand."),
        "{}",
        says("segno, D.S.")
    );
}

/// A To Coda is obeyed on the return first, in a repeat only where a text says so (common practice, no source).
#[test]
fn a_return_is_proposed_before_a_leap_out_of_a_repeat() {
    let sets = sets_of("1 | coda 2 | 3 | 4 |]");
    assert_eq!(sets[0].0, words(&["To Coda", "D.C. al Coda"]), "{sets:?}");
    assert!(
        sets.iter()
            .any(|(signs, _)| signs.contains(&"end repeat".to_owned()))
    );
}

#[test]
fn errors_that_no_sign_takes_away_stand_in_the_way() {
    let board: Board = "1 D.S. | segno 2 |]".parse().expect("a board");
    let found = missing(&board).expect("a small board");
    assert!(found.sets.is_empty());
    let rules: Vec<&str> = found.in_the_way.iter().map(|it| it.rule).collect();
    assert_eq!(rules, ["segno-after-jump"]);
}

/// A limit of the search that the docs of `missing` state: where only walking shows what is wrong, an ending that happens to lead the road another
/// way is not looked for.
#[test]
fn an_ending_that_leads_elsewhere_is_not_looked_for() {
    let line = "1 Fine | [1. segno 2 D.S. :| 3 | 4 D.S. al Fine | 5 | 6 | 7 |]";
    let board: Board = line.parse().expect("a board");
    let found = missing(&board).expect("a small board");
    let rules: Vec<&str> = found.lacking.iter().map(|it| it.rule).collect();
    assert_eq!(rules, ["landing-in-wrong-ending"]);
    let second = Sign::Ending(Ending {
        passes: Passes::of([2]).expect("passes"),
        open: false,
    });
    let helps = Marking::new(second.clone(), fingerpost::Place::at(4));
    assert!(is_whole(&with(&board, &[helps])));
    let signs = found.sets.iter().flat_map(|set| &set.signs);
    let signs: Vec<&Sign> = signs.map(|it| &it.card.sign).collect();
    assert!(!signs.is_empty() && !signs.contains(&&second), "{signs:?}");
}

/// Only signs of the road cut a measure, so that no cut lies between two of them: between signs, barlines are measures (rulebook, chapter 8).
#[test]
fn a_cut_measure_beside_it_changes_no_places() {
    for line in [
        "{meter 4/4} 1 | 2 Fine@3 | 3 | 4 | 5 D.S. al Fine |]",
        "{meter 4/4} 1 | segno@2 2 Fine@3 | 3 | 4 | 5 D.S. al Coda |]",
        "{meter 4/4} 1 | 2 | 3 | 4 | 5 D.S.@2 | 6 | 7 |]",
    ] {
        holds(&line.parse().expect("a board"));
    }
}

#[test]
fn a_large_board_is_refused() {
    let board = Board::builder([65_535]).build().expect("a board");
    let error = missing(&board).expect_err("too large");
    assert!(error.to_string().contains("1000 measures"), "{error}");
}

/// Every set and every way to lay it, by trying them all, on boards on which chance seldom hits: they need several signs of a kind or more
/// than the findings ask for.
#[test]
fn boards_that_chance_seldom_lays() {
    for line in [
        "1 | 2 | 3 | 4 D.S. al Coda | 5 |]",
        "1 | segno 2 | 3 | 4 |]",
        "{arming al-only} 1 | segno coda 2 | 3 |]",
        "1 Fine | [2. 2 :|(plays open) 3 D.C. al Coda | 4 | 5 | 6 |]",
        "1 | [1. 2 | [3. 3 | 4 |]",
        "|: 1 | [1,2. 2 :| [4. 3 | 4 |]",
        "|: 1 | |: 2 | 3 |]",
        "1 | coda 2 | 3 Fine | 4 |]",
        "1 | segno:B 2 | 3 | coda 4 |]",
        "1 To Coda | 2 | 3 Fine | 4 |]",
        "{unplaced segno} 1 | 2 | 3 D.S. al Fine | 4 |]",
        "{unplaced segno:B, coda} 1 | 2 | 3 D.S.(al Coda, label B) | 4 |]",
        "|: 1 | 2 Fine | 3 | 4 |]",
        "|: 1 | 2 To Coda | 3 |]",
        "1 | 2 To Coda | 3 | 4 Fine | 5 |]",
        "|: 1 | [1. 2 | 3 ] | 4 |]",
        "1 | [2. 2 ] | 3 |]",
        "|: 1 | [1. 2 :| [3. 3 ] | 4 |]",
        "|: 1 | [1. 2 :| [4. 3 ] | 4 |]",
        "1 | 2 D.S. al Fine | 3 |]",
        "1 | 2 D.C.(al Coda, coda B) | 3 | 4 |]",
        "1 | segno:A 2 To Coda:B | 3 | 4 |]",
        "1 | 2 D.C. al Segno | 3 | 4 |]",
        "1 | 2 D.C.(al Segno, then Coda) | 3 | 4 |]",
        "|: 1 |: 2 | 3 | 4 |]",
        "1 | coda 2 | coda:B 3 | 4 |]",
        "{unplaced Fine, D.C. al Fine} 1 To Coda | 2 D.C. | 3 | 4 |]",
        // Another Fine before the coda takes the error away.
        "1 | coda 2 | 3 Fine | 4 D.C. al Fine then Coda |]",
        "1 | segno 2 | coda 3 Fine | 4 D.S. al Fine then Coda |]",
    ] {
        holds(
            &line
                .parse()
                .unwrap_or_else(|error| panic!("{line}: {error}")),
        );
    }
}

/// A return that stops at the Fine and goes on to the coda gives both what they lack (common practice, no source).
#[test]
fn one_return_may_serve_a_fine_and_a_coda() {
    for (line, wanted) in [
        ("1 | 2 Fine | 3 | coda 4 |]", "D.C. al Fine poi la Coda"),
        (
            "1 | segno 2 | 3 Fine | 4 | coda 5 |]",
            "D.S. al Fine poi la Coda",
        ),
    ] {
        let board: Board = line.parse().expect("a board");
        let missing = missing(&board).expect("a small board");
        let signs = |set: &MissingSet| {
            let signs = set.signs.iter().map(|it| sign_words(&it.card.sign));
            signs.collect::<Vec<_>>()
        };
        let sets: Vec<_> = missing.sets.iter().map(signs).collect();
        assert_eq!(sets, [[wanted]], "{line}");
    }
}
