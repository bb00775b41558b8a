//! What is missing, held against trying every set of signs on small boards.

mod support;

use std::collections::BTreeSet;

use fingerpost::{
    Al, Board, CheckOptions, EndRepeat, Ending, Fine, Jump, Landing, Marking, MissingSet, Passes,
    Severity, Sign, ToCoda, check_with, missing, sign_words,
};
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

/// All arrangements of the signs of a set that leave nothing missing, found by trying them all.
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
    whole
        .map(|these| {
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
        let proposed = set.proposed(board).expect("a board");
        assert!(is_whole(&proposed), "{line} {set:?}");
        for places in &set.first {
            let added = set.signs.iter().zip(places);
            let added: Vec<Marking> = added
                .map(|(it, &place)| Marking::new(it.card.sign.clone(), place))
                .collect();
            assert!(is_whole(&with(board, &added)), "{line} {set:?}");
        }
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
    // No smaller set of the box will do. Where nothing was found, single signs are tried all the same.
    let size = match missing.sets.first() {
        Some(set) if missing.complete => set.signs.len(),
        None if missing.complete
            && missing
                .in_the_way
                .iter()
                .all(|it| it.severity == Severity::Error) =>
        {
            2
        }
        _ => return,
    };
    let letters = letters(board);
    if size > 1 {
        for one in &letters {
            assert!(
                !is_whole(&with(board, std::slice::from_ref(one))),
                "{line}: {one:?}"
            );
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

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_smaller_set_will_do_and_every_arrangement_is_counted(board in in_the_making()) {
        holds(&board);
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
    // The segno at 1 to 4, the coda behind the To Coda: it may stand at 1 to 3, the coda at one of the measures after it: 3 + 2 + 1.
    assert_eq!(
        sets_of("1 | 2 | 3 | 4 D.S. al Coda |]"),
        [(words(&["segno", "To Coda", "coda"]), 4 * 6)]
    );
    // The end repeat stands at 2, 3 or 4.
    assert_eq!(sets_of("1 |: 2 | 3 | 4 |]"), [(words(&["end repeat"]), 3)]);
    // Nothing is missing.
    assert_eq!(sets_of("|: 1 | 2 :| 3 |]"), []);
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

#[test]
fn errors_that_no_sign_takes_away_stand_in_the_way() {
    let board: Board = "1 D.S. | segno 2 |]".parse().expect("a board");
    let found = missing(&board).expect("a small board");
    assert!(found.sets.is_empty());
    let rules: Vec<&str> = found.in_the_way.iter().map(|it| it.rule).collect();
    assert_eq!(rules, ["segno-after-jump"]);
}

#[test]
fn a_large_board_is_refused() {
    let board = Board::builder([65_535]).build().expect("a board");
    let error = missing(&board).expect_err("too large");
    assert!(error.to_string().contains("1000 measures"), "{error}");
}
