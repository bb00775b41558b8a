//! Wrong answers of pupils, written by hand: each worked out on paper from what the misunderstanding says. The boards are invented.
//!
//! Beside each answer stands its source: a key of `spec/sources.md` where a lesson speaks of the error or of the rule that is broken.

use crate::walker::mistaken::Mistake;
use crate::walker::mistaken::Mistake::{
    BackToTheBeginning, DaCapoAsDalSegno, DalSegnoAsDaCapo, EndingsInARow, FineAfterRepeat,
    FineAtOnce, FineIgnored, FirstEndingAgain, JumpForEver, JumpIgnored, LandingEarly, LandingLate,
    OctaveAtOtherTimes, OctaveEveryTime, OctaveInTheWrongHand, OctaveNeverUndone, OnceTooFew,
    OnlyTwice, RepeatIgnored, RepeatOnceTooOften, RepeatsAfterJump, RepeatsLeftOut,
    SecondEndingAtOnce, StartRepeatGoesBack, StopsAtJump, StraightToCoda, ToCodaAfterRepeat,
    ToCodaAtOnce, ToCodaIgnored,
};

/// An answer and the misunderstandings that lead to it.
pub(crate) struct WrongAnswer {
    pub(crate) mistakes: &'static [Mistake],
    pub(crate) board: &'static str,
    /// Measures, with runs in short: `1-4 1 2`.
    pub(crate) order: &'static str,
    /// The shift in octaves of the right and of the left hand at each step; empty where the answer says nothing of octaves.
    pub(crate) right: &'static [i8],
    pub(crate) left: &'static [i8],
    pub(crate) source: &'static str,
}

const fn order(
    mistakes: &'static [Mistake],
    board: &'static str,
    order: &'static str,
    source: &'static str,
) -> WrongAnswer {
    WrongAnswer {
        mistakes,
        board,
        order,
        right: &[],
        left: &[],
        source,
    }
}

const NO_SOURCE: &str = "common practice, no source";
const BOTH_ENDINGS: &str = "dummies, warns of playing both endings";
const MIXED: &str = "feist, on mixing D.C. and D.S.";
const ONCE: &str = "apprendre-solfege, a D.C. is obeyed once: the rule that is broken";
const FINE_LATER: &str = "bass-beginner, Fine passed over the first time: the rule that is broken";
const CODA_LATER: &str =
    "bass-beginner, To Coda passed over the first time: the rule that is broken";
const FIRST_AGAIN: &str = "hilkkapiipponen, warns of the first ending a second time";
const TURNED: &str = "kidslovemusic, a pupil goes back at the start repeat";
const FINE_SOON: &str = "kidslovemusic, a pupil stops at Fine the first time";
const MEMORY: &str = "from memory";

#[rustfmt::skip] // A table, an answer a line.
pub(crate) const WRONG_ANSWERS: &[WrongAnswer] = &[
    // An end repeat is walked past.
    order(&[RepeatIgnored], "1 | 2 :| 3 |", "1-3", NO_SOURCE),
    order(&[RepeatIgnored], "|: 1 | [1. 2 :| [2. 3 ] | 4 |", "1-4", NO_SOURCE),
    order(&[RepeatIgnored], "1 |: 2 | 3 :| 4 Fine | 5 D.C. al Fine |", "1-5 1-4", NO_SOURCE),
    // Who never plays it a second time never comes to the second pass.
    order(&[RepeatIgnored], "|: 1 | 2 D.C.(passes 2) | 3 :| 4 |", "1-4", NO_SOURCE),
    // Once too often.
    order(&[RepeatOnceTooOften], "1 |: 2 :| 3 |", "1 2 2 2 3", NO_SOURCE),
    order(&[RepeatOnceTooOften], "|: 1 | [1. 2 :| [2. 3 ] | 4 |", "1-2 1-2 1 3-4", NO_SOURCE),
    order(&[RepeatOnceTooOften], "1 | 2 :|x3 3 |", "1-2 1-2 1-2 1-3", MEMORY),
    // Back to the beginning.
    order(&[BackToTheBeginning], "1 | 2 |: 3 | 4 :| 5 |", "1-4 1-5", NO_SOURCE),
    order(&[BackToTheBeginning], "1 |: 2 | [1. 3 :| [2. 4 ] | 5 |", "1-3 1-2 4-5", NO_SOURCE),
    order(&[BackToTheBeginning], "|: 1 :|: 2 | 3 :| 4 |", "1 1-3 1-4", NO_SOURCE),
    // The start repeat taken as an order.
    order(&[StartRepeatGoesBack], "1 | 2 |: 3 | 4 :| 5 |", "1-2 1-4 3-5", TURNED),
    order(&[StartRepeatGoesBack], "|: 1 | 2 :| 3 |: 4 | 5 :|", "1-2 1-3 1-5 4-5", TURNED),
    // The first ending again.
    order(&[FirstEndingAgain], "|: 1 | [1. 2 :| [2. 3 ] | 4 |", "1-2 1-2 4", FIRST_AGAIN),
    order(&[FirstEndingAgain], "|: 1 | [1,2. 2 :| [3. 3 ] | 4 |", "1-2 1-2 1-2 4", FIRST_AGAIN),
    order(&[FirstEndingAgain], "1 |: 2 | [1. 3 :| [2. 4 ] | 5 Fine | 6 D.C. al Fine |", "1-3 2-3 5-6 1-3 5", FIRST_AGAIN),
    // The second ending at once.
    order(&[SecondEndingAtOnce], "|: 1 | [1. 2 :| [2. 3 ] | 4 |", "1 3-4", NO_SOURCE),
    order(&[SecondEndingAtOnce], "1 |: 2 | [1. 3 :| [2. 4 ] | 5 Fine | 6 D.C. al Fine |", "1-2 4-6 1-2 4-5", NO_SOURCE),
    // One ending after the other.
    order(&[EndingsInARow], "|: 1 | [1. 2 :| [2. 3 ] | 4 |", "1-2 1-4", BOTH_ENDINGS),
    order(&[EndingsInARow], "|: 1 | [1. 2 :| [2. 3 :| [3. 4 ] | 5 |", "1-2 1-2 1-5", BOTH_ENDINGS),
    // D.C. or D.S. passed by.
    order(&[JumpIgnored], "1 | segno 2 | 3 D.S. | 4 |", "1-4", NO_SOURCE),
    order(&[JumpIgnored], "1 | 2 Fine | 3 D.C. al Fine | 4 |", "1-4", NO_SOURCE),
    // D.S. for D.C., and D.C. for D.S.
    order(&[DalSegnoAsDaCapo], "1 | 2 | segno 3 | 4 Fine | 5 D.S. al Fine |", "1-5 1-4", MIXED),
    order(&[DalSegnoAsDaCapo], "1 | 2 | segno 3 | 4 To Coda | 5 D.S. al Coda | coda 6 |", "1-5 1-4 6", MIXED),
    order(&[DaCapoAsDalSegno], "1 | 2 Fine | segno 3 | 4 D.S. | 5 | 6 D.C. al Fine |", "1-4 3-6 3-6", MIXED),
    order(&[DaCapoAsDalSegno], "1 | 2 | segno 3 | 4 Fine | 5 D.C. al Fine |", "1-5 3-4", MIXED),
    // The end at the D.C. or D.S. In the second board it stands in the last measure: who passes it by gives the same answer.
    order(&[StopsAtJump], "1 | 2 To Coda | 3 D.C. al Coda | coda 4 |", "1-3", NO_SOURCE),
    order(&[StopsAtJump], "1 | 2 Fine | 3 | 4 D.C. al Fine |", "1-4", NO_SOURCE),
    order(&[StopsAtJump], "1 |: 2 :| 3 D.C. | 4 |", "1-2 2-3", NO_SOURCE),
    // The Fine too early.
    order(&[FineAtOnce], "1 | 2 Fine | 3 | 4 D.C. al Fine |", "1-2", FINE_SOON),
    order(&[FineAtOnce], "|: 1 | 2 Fine :| 3 D.C. al Fine |", "1-2", FINE_LATER),
    order(&[FineAtOnce], "|: 1 | [1. 2 :| [2. 3 Fine ] | 4 D.C. al Fine |", "1-2 1 3", FINE_LATER),
    order(&[FineAfterRepeat], "|: 1 | 2 Fine :| 3 D.C. al Fine |", "1-2 1-2", NO_SOURCE),
    order(&[FineAfterRepeat], "|: 1 :: 2 Fine :| 3 D.C. al Fine |", "1 1 2 2", NO_SOURCE),
    order(&[FineAfterRepeat], "1 | 2 Fine | 3 D.C. al Fine |", "1-2", FINE_SOON),
    // Past the Fine on the return.
    order(&[FineIgnored], "1 | 2 Fine | 3 | 4 D.C. al Fine |", "1-4 1-4", NO_SOURCE),
    order(&[FineIgnored], "1 | segno 2 | 3 Fine | 4 D.S. al Fine |", "1-4 2-4", NO_SOURCE),
    // To the coda too early.
    order(&[ToCodaAtOnce], "1 | 2 To Coda | 3 D.C. al Coda | coda 4 | 5 |", "1-2 4-5", CODA_LATER),
    order(&[ToCodaAtOnce], "|: 1 | 2 To Coda | 3 :| 4 D.C. al Coda | coda 5 |", "1-2 5", CODA_LATER),
    order(&[ToCodaAfterRepeat], "|: 1 | 2 To Coda :|x3 3 D.C. al Coda | coda 4 |", "1-2 1-2 1-2 4", NO_SOURCE),
    order(&[ToCodaAfterRepeat], "1 | 2 To Coda | 3 D.C. al Coda | coda 4 | 5 |", "1-2 4-5", CODA_LATER),
    // Past the To Coda on the return.
    order(&[ToCodaIgnored], "1 | 2 To Coda | 3 D.C. al Coda | coda 4 | 5 |", "1-3 1-5", NO_SOURCE),
    order(&[ToCodaIgnored], "1 | segno 2 | 3 To Coda | 4 D.S. al Coda | coda 5 |", "1-4 2-5", NO_SOURCE),
    // From the D.C. or D.S. straight to the coda. In the third board the coda follows at once: who passes the D.S. by gives the same answer.
    order(&[StraightToCoda], "1 | 2 To Coda | 3 D.C. al Coda | 4 | coda 5 |", "1-3 5", NO_SOURCE),
    order(&[StraightToCoda], "1 | segno 2 To Coda | 3 D.S. al Coda || 4 | coda 5 | 6 |", "1-3 5-6", NO_SOURCE),
    order(&[StraightToCoda], "1 | segno 2 | 3 To Coda | 4 D.S. al Coda | coda 5 |", "1-5", NO_SOURCE),
    order(&[StraightToCoda], "1 | 2 Fine | 3 D.C. al Fine then Coda | 4 | coda 5 |", "1-3 5", NO_SOURCE),
    order(&[StraightToCoda], "1 | segno 2 | 3 D.C. al Segno then Coda | 4 | coda 5 |", "1-3 5", NO_SOURCE),
    // Three times or more, played fewer times.
    order(&[OnlyTwice], "|: 1 | 2 :|x3 3 |", "1-2 1-3", NO_SOURCE),
    order(&[OnlyTwice], "1 |: 2 :|x4 3 |: 4 :| 5 |", "1 2 2 3 4 4 5", NO_SOURCE),
    order(&[OnlyTwice], "|: 1 | [1-2. 2 :| [3. 3 ] | 4 |", "1-2 1 3 4", NO_SOURCE),
    order(&[OnceTooFew], "|: 1 | 2 :|x4 3 |", "1-2 1-2 1-3", NO_SOURCE),
    order(&[OnceTooFew], "|: 1 | [1-3. 2 :| [4. 3 Fine ] | 4 D.C. al Fine |", "1-2 1-2 1 3-4 1 3", NO_SOURCE),
    // Repeats made again where it is written that they are not.
    order(&[RepeatsAfterJump], "|: 1 | 2 Fine :| 3 D.C. al Fine senza rep. |", "1-2 1-3 1-2 1-2", NO_SOURCE),
    order(&[RepeatsAfterJump], "|: 1 | [1. 2 :| [2. 3 Fine ] | 4 D.C. al Fine senza rep. |", "1-2 1 3-4 1-2 1 3", NO_SOURCE),
    // Repeats left out where it is written that they are made again.
    order(&[RepeatsLeftOut], "|: 1 | 2 :| 3 Fine | 4 D.C. al Fine con rep. |", "1-2 1-4 1-3", NO_SOURCE),
    order(&[RepeatsLeftOut], "|: 1 | [1. 2 :| [2. 3 Fine ] | 4 D.C. al Fine con rep. |", "1-2 1 3-4 1 3", NO_SOURCE),
    order(&[RepeatsLeftOut], "1 |: segno 2 :|x3 3 | 4 D.S. con rep. |", "1 2 2 2-4 2-4", NO_SOURCE),
    // The D.C. or D.S. obeyed again and again, until the pupil is stopped.
    order(&[JumpForEver], "1 | segno 2 | 3 D.S. | 4 |", "1-3 2-3 2-3", ONCE),
    order(&[JumpForEver], "1 | 2 D.C. | 3 |", "1-2 1-2 1-2 1", ONCE),
    order(&[JumpForEver], "1 | 2 D.C.(arrivals 1) | 3 |", "1-2 1-2 1-2 1", ONCE),
    order(&[JumpForEver], "1 |: 2 D.C.(passes 1) | 3 :| 4 |", "1-2 1-2 1-2 1-2 1", ONCE),
    // Missed by one measure: late, late, early, late, early.
    order(&[LandingLate], "1 | 2 | segno 3 | 4 | 5 Fine | 6 D.S. al Fine |", "1-6 4-5", NO_SOURCE),
    order(&[LandingLate], "1 |: 2 | 3 | 4 :| 5 |", "1-4 3-5", NO_SOURCE),
    order(&[LandingEarly], "1 | 2 |: 3 | 4 :| 5 |", "1-4 2-5", NO_SOURCE),
    order(&[LandingLate], "1 | 2 To Coda | 3 | 4 D.C. al Coda | coda 5 | 6 | 7 |", "1-4 2 6-7", NO_SOURCE),
    order(&[LandingEarly], "1 | 2 To Coda | 3 | 4 D.C. al Coda | coda 5 | 6 | 7 |", "1-4 1-2 4-7", NO_SOURCE),
    // Octaves: the shifts of each hand, step by step.
    WrongAnswer {
        right: &[1, 0, 0, 0, 0],
        left: &[0, 0, 0, 0, 0],
        ..order(&[OctaveAtOtherTimes], "|: 8va(R.H., on repeat) 1 | 2 :| 3 |", "1-2 1-3", NO_SOURCE)
    },
    WrongAnswer {
        right: &[0, 0, 0, 0, 0, 0],
        left: &[0, -1, 0, -1, 0, 0],
        ..order(&[OctaveAtOtherTimes], "|: 1 | 8vb(L.H., last pass) 2 :|x3", "1-2 1-2 1-2", NO_SOURCE)
    },
    WrongAnswer {
        right: &[0, 0, 0, 0],
        left: &[-1, 0, -1, 0],
        ..order(&[OctaveEveryTime], "1 8vb(L.H., on repeat) | 2 :|", "1-2 1-2", NO_SOURCE)
    },
    WrongAnswer {
        right: &[1, 0, 0, 1],
        left: &[0, 0, 0, 0],
        ..order(&[OctaveEveryTime], "8va(R.H., on return) 1 Fine | 2 | 3 D.C. al Fine |", "1-3 1", NO_SOURCE)
    },
    WrongAnswer {
        right: &[0, 0, 1, 1, 1],
        left: &[0, 0, 0, 0, 0],
        ..order(&[OctaveNeverUndone], "|: 8va(R.H., on repeat) 1 | 2 :| 3 |", "1-2 1-3", NO_SOURCE)
    },
    WrongAnswer {
        right: &[1, 1, -1, -1],
        left: &[0, 0, 0, 0],
        ..order(&[OctaveNeverUndone], "8va(R.H.) 1 | 2 | 8vb(R.H.) 3 | 4 |", "1-4", NO_SOURCE)
    },
    WrongAnswer {
        right: &[0, 0, 0, 0, 0],
        left: &[0, 0, 1, 0, 0],
        ..order(&[OctaveInTheWrongHand], "|: 8va(R.H., on repeat) 1 | 2 :| 3 |", "1-2 1-3", NO_SOURCE)
    },
    WrongAnswer {
        right: &[0, 0, -1],
        left: &[1, 1, 0],
        ..order(&[OctaveInTheWrongHand], "8va(R.H.)( 1 | 2 ) | 8vb(L.H.) 3 |", "1-3", NO_SOURCE)
    },
    // Two at once.
    order(&[FirstEndingAgain, FineIgnored], "1 |: 2 | [1. 3 :| [2. 4 ] | 5 Fine | 6 D.C. al Fine |", "1-3 2-3 5-6 1-3 5-6", NO_SOURCE),
    order(&[DalSegnoAsDaCapo, ToCodaIgnored], "1 | 2 | segno 3 | 4 To Coda | 5 D.S. al Coda | coda 6 |", "1-5 1-6", NO_SOURCE),
    order(&[RepeatIgnored, FineIgnored], "1 |: 2 | 3 :| 4 Fine | 5 D.C. al Fine |", "1-5 1-5", NO_SOURCE),
    order(&[FineAtOnce, EndingsInARow], "|: 1 | [1. 2 :| [2. 3 ] | 4 Fine | 5 D.C. al Fine |", "1-2 1-4", NO_SOURCE),
    order(&[BackToTheBeginning, FineIgnored], "1 | 2 |: 3 | 4 :| 5 Fine | 6 D.C. al Fine |", "1-4 1-6 1-6", NO_SOURCE),
    order(&[RepeatOnceTooOften, StopsAtJump], "|: 1 :| 2 D.C. | 3 |", "1 1 1 2", NO_SOURCE),
    WrongAnswer {
        right: &[0, 0, 0, 0, 0, 0, 0],
        left: &[0, 1, 0, 0, 1, 0, 0],
        ..order(&[OctaveInTheWrongHand, FineIgnored], "|: 8va(R.H., on repeat) 1 :| 2 Fine | 3 D.C. al Fine |", "1 1-3 1-3", NO_SOURCE)
    },
];
