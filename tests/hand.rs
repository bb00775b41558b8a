//! The signs of a hand: the number of ways to lay them against laying them in every way, each judged by
//! `check` and by the steps of the second walker.

mod support;
#[path = "support/walker/mod.rs"]
mod walker;

use fingerpost::{
    Al, Board, Cause, HandRefused, Landing, Marking, Place, Severity, Sign, Terms, check,
    place_hand,
};
use proptest::prelude::*;
use support::cases;
use walker::{Outcome, PlainStep, Walker, walk};

/// Findings that say of a sign that it lacks its partner or plays no part, of a measure that it is never played, and of equal signs that they
/// lie on each other. The counting does not know these rules.
const IDLE: [&str; 18] = [
    "start-repeat-unclosed",
    "segno-unused",
    "coda-unused",
    "to-coda-unused",
    "fine-unused",
    "ending-without-repeat",
    "fine-never-met",
    "to-coda-never-met",
    "jump-never-obeyed",
    "end-repeat-never-made",
    "end-repeat-in-last-ending",
    "plays-once",
    "measure-never-played",
    "same-sign-twice",
    "octave-never-sounds",
    "octave-over-silent-hands",
    "fermata-never-held",
    "only-without-effect",
];

/// Whether every measure is played and every sign of the road plays its part, by the steps of the second walker.
fn works(board: &Board) -> bool {
    let terms = Terms {
        open_plays: Some(2),
        ..Terms::default()
    };
    let walker = Walker::new(board, 10_000);
    let Outcome::Steps(steps) = walker.walk(&terms) else {
        return false;
    };
    let obeyed = walker.obeyed(&terms);
    let played = |measure| steps.iter().any(|step| step.measure == measure);
    let markings = || board.markings().iter().zip(0_u32..);
    let sent = |number, cause| {
        steps
            .iter()
            .any(|step| step.marking == Some(number) && step.cause == cause)
    };
    // Who sends the road to a place.
    let sender = |step: &PlainStep| {
        step.marking
            .map(|number| board.markings()[number as usize].sign().clone())
    };
    // Left at: the road is another when the return goes on to the end.
    let left_at = |segno: &Landing| {
        let on = board.markings().iter().map(|other| match other.sign() {
            Sign::DaCapo(jump) if jump.al == Some(Al::Segno) && jump.label == segno.label => {
                let mut jump = jump.clone();
                (jump.al, jump.label, jump.then, jump.coda) = (Some(Al::End), None, None, None);
                Marking::new(Sign::DaCapo(jump), other.place())
            }
            _ => other.clone(),
        });
        let on = board.to_builder().without_markings().markings(on);
        let on = walk(&on.build().expect("a board"), &terms, 10_000);
        !matches!(on, Outcome::Steps(others) if others.len() == steps.len())
    };
    let plays = |(marking, number): (&Marking, u32)| {
        match marking.sign() {
        // A return is obeyed also where every measure that it leads to is passed over.
        Sign::DaCapo(_) | Sign::DalSegno(_) => obeyed.contains(&number),
        Sign::ToCoda(_) => sent(number, Cause::ToCoda),
        Sign::Segno(segno) => steps.iter().any(|step| {
            matches!(sender(step), Some(Sign::DalSegno(jump)) if step.cause == Cause::DalSegno && jump.label == segno.label)
        }) || sent(number, Cause::ToCoda) || left_at(segno),
        // Come to from its To Coda, or from a Fine or a segno; there is one coda where these go on to it here.
        Sign::Coda(coda) => steps.iter().any(|step| match sender(step) {
            Some(Sign::ToCoda(to_coda)) => step.cause == Cause::ToCoda && to_coda.label == coda.label,
            Some(Sign::Fine(_) | Sign::Segno(_)) => step.cause == Cause::ToCoda,
            _ => false,
        }),
        // The last one ends the music; of two at one place only one does.
        Sign::Fine(_) => {
            let ends = |number, fine: &Marking| {
                matches!(fine.sign(), Sign::Fine(_))
                    && !sent(number, Cause::ToCoda)
                    && steps.last().is_some_and(|step| step.measure == fine.measure())
            };
            let ending = markings().filter(|&(fine, number)| ends(number, fine)).count();
            sent(number, Cause::ToCoda) || ends(number, marking) && ending == 1
        }
        _ => true,
    }
    };
    (1..=board.measures()).all(played) && markings().all(plays)
}

fn signs(hand: &[&str]) -> Vec<Sign> {
    let signs = hand
        .iter()
        .map(|sign| Sign::from_line(sign).expect("a sign"));
    signs.collect()
}

fn places(sign: &Sign, measures: u16) -> Vec<Place> {
    if sign.spans() {
        let rows = (1..=measures)
            .flat_map(|first| (first..=measures).map(move |last| Place::over(first, last)));
        rows.collect()
    } else {
        (1..=measures).map(Place::at).collect()
    }
}

/// The number of ways, by laying the signs in each.
fn tried(hand: &[Sign], measures: u16) -> u64 {
    fn lay(hand: &[Sign], measures: u16, laid: &mut Vec<(usize, Marking)>, ways: &mut u64) {
        let Some(sign) = hand.get(laid.len()) else {
            let markings = laid.iter().map(|(_, marking)| marking.clone());
            let board = Board::builder([measures])
                .markings(markings)
                .build()
                .expect("a board");
            let idle = |rule: &str| IDLE.contains(&rule);
            let wrong = check(&board)
                .into_iter()
                .any(|it| it.severity == Severity::Error || idle(it.rule));
            *ways += u64::from(!wrong && works(&board));
            return;
        };
        for (number, place) in places(sign, measures).into_iter().enumerate() {
            // Of equal signs the earlier one of the hand stands at the earlier place.
            let mut equal = laid.iter().filter(|(_, marking)| marking.sign() == sign);
            if equal.any(|(other, _)| *other >= number) {
                continue;
            }
            laid.push((number, Marking::new(sign.clone(), place)));
            lay(hand, measures, laid, ways);
            laid.pop();
        }
    }
    let mut ways = 0;
    lay(hand, measures, &mut Vec::new(), &mut ways);
    ways
}

fn counted(hand: &[Sign], measures: u16) -> u64 {
    place_hand(hand, measures, 3, 1)
        .expect("a small hand")
        .arrangements
}

#[test]
fn the_ways_counted_are_those_that_there_are() {
    for hand in [
        &["segno", "D.S. al Fine", "Fine"][..],
        &["segno", "D.S."],
        &["D.C."],
        &["D.C. al Fine", "Fine"],
        &["|:", ":|"],
        &[":|", ":|"],
        &["|:", ":|", "[1."],
        &["|:", ":|", "[1.", "[2."],
        &[":|", "[1.", "[2."],
        &[":|", ":|", "[1.", "[2."],
        &["segno", "To Coda", "D.S. al Coda", "coda"],
        &["To Coda", "D.C. al Coda", "coda"],
        &["|:", ":|", "Fine", "D.C. al Fine"],
        &["|:", ":|", ":|x3"],
        &["D.C.", "D.C.", "Fine"],
        &["D.C.", "D.S.", "segno"],
        &["segno:A", "D.S.:A", "segno:B", "D.S.:B"],
        &["D.C.", "[1.", "[2."],
        &["D.C. al Fine", "Fine", "Fine"],
        &["|:", "|:", ":|"],
        &["fermata", "segno", "D.S."],
        &["8va(on repeat)", ":|"],
        &["8va(R.H., on return)", "D.C.", "fermata(on return)"],
        &["only(R.H., pass 1)", "|:", ":|"],
        &["8va", "8va"],
        &["||", ":|"],
        &["Fine"],
        &["segno", "Fine", "D.C. al Fine"],
        &["[1.", ":|", "[2.", "D.C."],
        &["[1.", "D.C.", "[2.", "Fine"],
        &["[1.", "D.S.", "segno", "D.C."],
        &["To Coda", "coda", "D.C.", ":|"],
        // A D.C. to a measure that is passed over from then on.
        &["D.C.", ":|", "[1,2."],
        &["Fine", "D.C. al Fine then Coda", "coda"],
        &["|:", "|:", ":|"],
        &["Fine", "D.C.", "To Coda", "coda"],
        &["D.C.", "D.S. al Fine", "segno", "Fine"],
        &[":|", "To Coda", "coda", "|:"],
        &["D.C. con rep.", "|:", ":|"],
        &["[2.", "D.C."],
        &["[1.", ":|", "To Coda", "coda"],
        &["[1.", ":|", "D.C.", "D.C. al End"],
        &["D.C.", "[1."],
        // Signs that say when they are obeyed (rulebook 4.8 to 4.10).
        &["Fine", "D.C. al Fine", "Fine(arrivals 2)"],
        &["D.C.(arrivals 1 2)"],
        &["D.C.(passes 1)", "|:", ":|"],
        &["D.C.(passes 1 2)", "[1,2.", "[3."],
        &["D.C.(arrivals 1)", ":|"],
        &["D.C.(arrivals 1)", "D.C.(arrivals 2)", "Fine"],
        &["D.C.(arrivals 1)", "D.C.", "[1.", "[2."],
        &["segno", "D.S.(arrivals 1 2)", "Fine(arrivals 2)"],
        &["segno", "D.S.(passes 2)", ":|"],
        &["Fine(arrivals 1)", "D.C."],
        &["Fine(arrivals 3)", "D.C. al Fine", ":|"],
        &["To Coda(arrivals 2)", "coda", ":|x3"],
        &["To Coda(arrivals 1)", "coda", "D.C. al Coda", "Fine"],
        // A return that is left at the segno (rulebook 4.7).
        &["segno", "D.C. al Segno"],
        &["segno", "D.C. al Segno", ":|"],
        &["segno", "D.C. al Segno", "D.S."],
        &["segno", "coda", "D.C.(al Segno, then Coda)"],
        &["segno", "coda", "D.C.(al Segno, then Coda)", "Fine"],
    ] {
        let signs = signs(hand);
        let most = if signs.len() > 3 { 4 } else { 5 };
        for measures in 1..=most {
            assert_eq!(
                counted(&signs, measures),
                tried(&signs, measures),
                "{hand:?} on {measures}"
            );
        }
    }
}

const ALPHABET: [&str; 30] = [
    "|:",
    ":|",
    ":|x3",
    "[1.",
    "[2.",
    "[1,2.",
    "[3.",
    "segno",
    "coda",
    "To Coda",
    "Fine",
    "D.C.",
    "D.S.",
    "D.C. al Fine",
    "D.S. al Fine",
    "D.C. al Coda",
    "D.S. al Coda",
    "fermata",
    "8va(on repeat)",
    "||",
    "D.C.(arrivals 1 2)",
    "D.C.(arrivals 2)",
    "D.C.(passes 1)",
    "D.S.(arrivals 1)",
    "D.S.(passes 1 2)",
    "Fine(arrivals 2)",
    "To Coda(arrivals 1 3)",
    "D.C. al Segno",
    "D.C. al Segno then Coda",
    "D.C. al Fine(arrivals 1 2)",
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(cases(80)))]

    #[test]
    fn the_ways_of_any_small_hand_are_those_that_there_are(
        hand in proptest::collection::vec(proptest::sample::select(&ALPHABET[..]), 1..5),
        measures in 1_u16..5,
    ) {
        let signs = signs(&hand);
        assert_eq!(counted(&signs, measures), tried(&signs, measures), "{hand:?} on {measures}");
    }
}

/// Common practice, no source: a repeat sign that sends the road back has done so, also where every measure it leads to is passed over.
#[test]
fn an_end_repeat_is_made_also_where_nothing_is_played_after_it() {
    for line in ["[1. 1 | 2 :|", "[1. 1 To Coda | coda 2 :|"] {
        let board: Board = line.parse().expect("a board");
        let never = check(&board)
            .into_iter()
            .find(|it| it.rule == "end-repeat-never-made");
        assert_eq!(never, None, "{line}");
    }
}

#[test]
fn what_is_shown_is_legal_and_uses_every_sign() {
    for hand in [
        &["segno", "D.S. al Fine", "Fine"][..],
        &["|:", ":|", "segno", "To Coda", "D.S. al Coda", "coda"],
        &["8va(on repeat)", "fermata", ":|", "|:", ":|"],
    ] {
        let signs = signs(hand);
        let placed = place_hand(&signs, 16, 4, 9).expect("a hand");
        assert_eq!(placed.shown.len(), 4, "{hand:?}");
        for board in &placed.shown {
            let mut laid: Vec<String> = board
                .markings()
                .iter()
                .map(|it| it.sign().to_line())
                .collect();
            let mut asked: Vec<String> = signs.iter().map(Sign::to_line).collect();
            laid.sort();
            asked.sort();
            assert_eq!(laid, asked);
            let wrong = check(board)
                .into_iter()
                .find(|it| it.severity == Severity::Error || IDLE.contains(&it.rule));
            assert_eq!(wrong, None, "{}", board.to_line());
        }
        assert_eq!(place_hand(&signs, 16, 4, 9), Ok(placed));
    }
}

#[test]
fn what_is_missing_is_named() {
    let missing = |hand: &[&str]| {
        let placed = place_hand(&signs(hand), 8, 1, 1).expect("a hand");
        assert_eq!((placed.arrangements, placed.needed), (0, None), "{hand:?}");
        let lines = placed.missing.iter().map(Sign::to_line);
        lines.collect::<Vec<String>>()
    };
    assert_eq!(missing(&["segno", "D.S. al Fine"]), ["Fine"]);
    assert_eq!(missing(&["|:"]), [":|"]);
    assert_eq!(missing(&["Fine"]), ["D.C. al Fine", "D.C."]);
    assert_eq!(missing(&["segno", "To Coda", "D.S. al Coda"]), ["coda"]);
    let pair = place_hand(&signs(&["To Coda"]), 8, 1, 1)
        .expect("a hand")
        .missing_pair;
    let pair = pair.map(|(one, other)| (one.to_line(), other.to_line()));
    assert_eq!(pair, Some(("coda".to_owned(), "D.C. al Coda".to_owned())));
    // The plain signs first, and others where the hand wants them.
    assert_eq!(missing(&["coda", "segno"]), ["D.C. al Segno then Coda"]);
    assert_eq!(missing(&["Fine", "coda"]), ["D.C. al Fine then Coda"]);
    assert_eq!(missing(&["segno"]), ["D.S.", "D.C. al Segno"]);
    assert_eq!(missing(&["Fine(arrivals 5)"]), [":|x5"]);
    assert_eq!(missing(&["D.C.(passes 3)"]), [":|x3"]);
    // Only one of them can end the music.
    let never = place_hand(&signs(&["Fine(arrivals 1)", "Fine(arrivals 2)"]), 8, 1, 1).unwrap();
    assert!(never.missing.is_empty() && never.missing_pair.is_none() && never.missing_is_whole);
    let small = place_hand(&signs(&["To Coda", "D.C. al Coda", "coda"]), 1, 1, 1).expect("a hand");
    assert_eq!((small.arrangements, small.needed), (0, Some(2)));
}

/// Equal signs do not lie on each other, so that so many fermatas want so many measures.
#[test]
fn as_many_measures_are_needed_as_there_are_equal_signs() {
    for (hand, measures, needed) in [
        (&["fermata"; 2][..], 1, 2),
        (&["fermata"; 8], 7, 8),
        (&["fermata", "fermata", "fermata", ":|"], 1, 3),
        (
            &["segno", "D.S. al Fine", "Fine", "fermata", "fermata"],
            1,
            2,
        ),
    ] {
        let placed = place_hand(&signs(hand), measures, 1, 1).unwrap();
        assert_eq!(placed.needed, Some(needed), "{hand:?}");
        assert!(placed.missing.is_empty() && placed.missing_pair.is_none());
        // So many are enough, and no fewer.
        assert_eq!(counted(&signs(hand), needed - 1), 0);
        assert!(counted(&signs(hand), needed) > 0);
    }
}

#[test]
fn hands_that_are_not_laid_are_refused() {
    assert_eq!(place_hand(&[], 8, 1, 1), Err(HandRefused::Empty));
    let nine = signs(&["Fine"; 9]);
    assert_eq!(
        place_hand(&nine, 8, 1, 1),
        Err(HandRefused::TooManySigns(9))
    );
    assert_eq!(
        place_hand(&nine[..1], 0, 1, 1),
        Err(HandRefused::Measures(0))
    );
    assert_eq!(
        place_hand(&nine[..1], 99, 1, 1),
        Err(HandRefused::Measures(99))
    );
}

/// Hands of eight signs as text, so that each stands on one line.
const LARGE: [&str; 5] = [
    "[1. ; [2. ; [3. ; :| ; segno ; D.S. ; D.C. ; D.C.",
    "|: ; :| ; |: ; :| ; segno ; To Coda ; D.S. al Coda ; coda",
    "|: ; :| ; segno ; D.S. al Fine ; Fine ; D.C. ; To Coda ; coda",
    "|: ; :| ; 8va(on repeat) ; 8vb(on return) ; segno ; Fine ; D.S. al Fine ; fermata",
    "segno:A ; D.S.:A ; segno:B ; D.S.:B ; segno ; D.S. al Fine ; Fine ; :|",
];

/// As many orders as there are numbers for the brackets: counted as well by laying each numbered ending by itself.
#[test]
fn many_endings_are_counted() {
    let counted = |hand: &[&str]| {
        let start = std::time::Instant::now();
        let placed = place_hand(&signs(hand), 16, 1, 1).expect("a hand");
        println!("{:>8.1?} {hand:?}", start.elapsed());
        placed
    };
    let ways = counted(&["[1.", "[2.", "[3.", "[4.", "[5.", ":|", ":|", ":|"]).arrangements;
    assert_eq!(ways, 368_484_504);
    let ways = counted(&["[1.", "[2.", "[3.", "[4.", "D.C.", "D.C.", "D.C."]).arrangements;
    assert_eq!(ways, 12_846_288);
    // Three returns reach pass 4, and a fourth, or an end repeat, is missing.
    let placed = counted(&["[1.", "[2.", "[3.", "[4.", "[5.", "D.C.", "D.C.", "D.C."]);
    let missing: Vec<String> = placed.missing.iter().map(Sign::to_line).collect();
    assert_eq!(missing, ["D.C.", ":|"]);
    assert_eq!(placed.missing_measures, [5, 5]);
    // Seven of them, with the one end repeat that plays them all: the number as it was counted; smaller hands are held against trying.
    let seven = signs(&["[1.", "[2.", "[3.", "[4.", "[5.", "[6.", "[7.", ":|"]);
    let ways = place_hand(&seven, 16, 1, 1).expect("a hand").arrangements;
    assert_eq!(ways, 2_701_416_960);
    assert_eq!(place_hand(&seven, 7, 1, 1).expect("a hand").needed, Some(8));
}

/// Repeats in a repeat: a barline is reached more often than a byte can count, and nothing overflows.
#[test]
fn a_barline_reached_hundreds_of_times_is_counted() {
    let hand = signs(&[
        "|:",
        "|:",
        ":|x15",
        ":|x15",
        "D.C.(repeats play, arrivals 1 2)",
    ]);
    let ways = place_hand(&hand, 16, 1, 1).expect("a hand").arrangements;
    assert!(ways > 0);
}

#[test]
fn eight_signs_on_sixteen_measures_are_counted() {
    for hand in LARGE {
        let hand: Vec<&str> = hand.split(" ; ").collect();
        assert_eq!(hand.len(), 8);
        let start = std::time::Instant::now();
        let placed = place_hand(&signs(&hand), 16, 3, 1).expect("a hand");
        println!(
            "{:>8.1?} {:>12} {hand:?}",
            start.elapsed(),
            placed.arrangements
        );
        assert!(placed.arrangements > 0);
        assert_eq!(placed.shown.len(), 3);
    }
}
