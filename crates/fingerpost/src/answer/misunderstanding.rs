//! The misunderstandings: rules that a learner has changed.

use std::fmt;
use std::str::FromStr;

use crate::board::complaint::nearest;

/// One way to misread the signs: a rule of the rulebook, changed, while all others are kept.
///
/// Run on the same board, the changed rule gives the order that a learner walks who has this idea. That wrong answers come of right
/// work by a changed rule, and can be told by running it, is the finding of Brown and Burton, "Diagnostic models for procedural bugs in
/// basic mathematical skills", Cognitive Science 2 (1978). Which rules are changed how is a ruling of ours: a page each in
/// `spec/misunderstandings`.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[non_exhaustive]
pub enum Misunderstanding {
    /// No end repeat is obeyed, and brackets are walked over.
    RepeatIgnored,
    /// Every section is played once more than written.
    RepeatOnceTooOften,
    /// A section of three passes or more is played only twice, or once less than written.
    TooFewTimes,
    /// An end repeat sends to measure 1 instead of its start repeat.
    BackToTheBeginning,
    /// A start repeat that the road comes to is taken as an order to go back.
    StartRepeatGoesBack,
    /// The ending of the first pass is played on every pass.
    FirstEndingAgain,
    /// On the first pass the next ending is played in place of the first.
    SecondEndingAtOnce,
    /// Every ending is played on every pass, one after the other.
    EndingsInARow,
    /// No D.C. or D.S. is obeyed.
    JumpIgnored,
    /// A D.S. goes to the beginning.
    DalSegnoAsDaCapo,
    /// A D.C. goes to the segno before it.
    DaCapoAsDalSegno,
    /// The road ends at the first D.C. or D.S.
    StopsAtJump,
    /// The first Fine met ends the road, also where nothing has sent back yet: at once, or after the end repeat there.
    FineOnTheFirstLeg,
    /// No Fine ends the road.
    FineIgnored,
    /// To Coda is obeyed the first time it is met: at once, or after the end repeat there.
    ToCodaOnTheFirstLeg,
    /// No To Coda is obeyed.
    ToCodaIgnored,
    /// The D.C. or D.S. leads straight to the coda.
    StraightToCoda,
    /// After a D.C. or D.S. the repeats are made again where they are left out.
    RepeatsAfterJump,
    /// After a D.C. or D.S. the repeats are left out where they are made again.
    RepeatsLeftOut,
    /// The D.C. or D.S. is obeyed every time it is met.
    JumpForEver,
    /// Every place to which the road is sent is missed by one measure.
    LandingOneOff,
    /// An octave sign is played at the times at which it is not meant.
    OctaveAtTheWrongTime,
    /// After an octave sign has ended the hand stays where it was moved.
    OctaveNeverUndone,
    /// The other hand plays the octave sign.
    OctaveInTheWrongHand,
}

impl Misunderstanding {
    /// All of them, in the order of the catalogue.
    pub const ALL: [Misunderstanding; 24] = [
        Misunderstanding::RepeatIgnored,
        Misunderstanding::RepeatOnceTooOften,
        Misunderstanding::TooFewTimes,
        Misunderstanding::BackToTheBeginning,
        Misunderstanding::StartRepeatGoesBack,
        Misunderstanding::FirstEndingAgain,
        Misunderstanding::SecondEndingAtOnce,
        Misunderstanding::EndingsInARow,
        Misunderstanding::JumpIgnored,
        Misunderstanding::DalSegnoAsDaCapo,
        Misunderstanding::DaCapoAsDalSegno,
        Misunderstanding::StopsAtJump,
        Misunderstanding::FineOnTheFirstLeg,
        Misunderstanding::FineIgnored,
        Misunderstanding::ToCodaOnTheFirstLeg,
        Misunderstanding::ToCodaIgnored,
        Misunderstanding::StraightToCoda,
        Misunderstanding::RepeatsAfterJump,
        Misunderstanding::RepeatsLeftOut,
        Misunderstanding::JumpForEver,
        Misunderstanding::LandingOneOff,
        Misunderstanding::OctaveAtTheWrongTime,
        Misunderstanding::OctaveNeverUndone,
        Misunderstanding::OctaveInTheWrongHand,
    ];

    /// Its name, for ever: that of its page in `spec/misunderstandings`.
    pub fn name(self) -> &'static str {
        match self {
            Misunderstanding::RepeatIgnored => "repeat-ignored",
            Misunderstanding::RepeatOnceTooOften => "repeat-once-too-often",
            Misunderstanding::TooFewTimes => "too-few-times",
            Misunderstanding::BackToTheBeginning => "back-to-the-beginning",
            Misunderstanding::StartRepeatGoesBack => "start-repeat-goes-back",
            Misunderstanding::FirstEndingAgain => "first-ending-again",
            Misunderstanding::SecondEndingAtOnce => "second-ending-at-once",
            Misunderstanding::EndingsInARow => "endings-in-a-row",
            Misunderstanding::JumpIgnored => "jump-ignored",
            Misunderstanding::DalSegnoAsDaCapo => "dal-segno-as-da-capo",
            Misunderstanding::DaCapoAsDalSegno => "da-capo-as-dal-segno",
            Misunderstanding::StopsAtJump => "stops-at-jump",
            Misunderstanding::FineOnTheFirstLeg => "fine-on-the-first-leg",
            Misunderstanding::FineIgnored => "fine-ignored",
            Misunderstanding::ToCodaOnTheFirstLeg => "to-coda-on-the-first-leg",
            Misunderstanding::ToCodaIgnored => "to-coda-ignored",
            Misunderstanding::StraightToCoda => "straight-to-coda",
            Misunderstanding::RepeatsAfterJump => "repeats-after-jump",
            Misunderstanding::RepeatsLeftOut => "repeats-left-out",
            Misunderstanding::JumpForEver => "jump-for-ever",
            Misunderstanding::LandingOneOff => "landing-one-off",
            Misunderstanding::OctaveAtTheWrongTime => "octave-at-the-wrong-time",
            Misunderstanding::OctaveNeverUndone => "octave-never-undone",
            Misunderstanding::OctaveInTheWrongHand => "octave-in-the-wrong-hand",
        }
    }

    /// Whether nobody has both, since they say opposite things of the same signs. A To Coda obeyed too soon may be passed by later.
    pub(crate) fn contradicts(self, other: Misunderstanding) -> bool {
        use Misunderstanding::{
            EndingsInARow, FineIgnored, FineOnTheFirstLeg, FirstEndingAgain, JumpForEver,
            JumpIgnored, RepeatIgnored, RepeatOnceTooOften, RepeatsAfterJump, RepeatsLeftOut,
            SecondEndingAtOnce, StopsAtJump, TooFewTimes,
        };
        let opposite = |one: Misunderstanding, other: Misunderstanding| match one {
            RepeatIgnored => matches!(other, RepeatOnceTooOften | TooFewTimes),
            FirstEndingAgain => matches!(other, SecondEndingAtOnce | EndingsInARow),
            SecondEndingAtOnce => other == EndingsInARow,
            JumpIgnored => matches!(other, StopsAtJump | JumpForEver),
            StopsAtJump => other == JumpForEver,
            FineOnTheFirstLeg => other == FineIgnored,
            RepeatsAfterJump => other == RepeatsLeftOut,
            _ => false,
        };
        opposite(self, other) || opposite(other, self)
    }

    /// Whether it changes what an end repeat does.
    pub(crate) fn is_of_end_repeats(self) -> bool {
        matches!(
            self,
            Misunderstanding::RepeatIgnored
                | Misunderstanding::RepeatOnceTooOften
                | Misunderstanding::TooFewTimes
                | Misunderstanding::BackToTheBeginning
        )
    }

    /// Whether it changes which octave is played, and not the order.
    pub fn is_of_octaves(self) -> bool {
        matches!(
            self,
            Misunderstanding::OctaveAtTheWrongTime
                | Misunderstanding::OctaveNeverUndone
                | Misunderstanding::OctaveInTheWrongHand
        )
    }
}

impl fmt::Display for Misunderstanding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// A name that no misunderstanding has.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("{message}")]
pub struct UnknownMisunderstanding {
    message: String,
}

impl FromStr for Misunderstanding {
    type Err = UnknownMisunderstanding;

    fn from_str(text: &str) -> Result<Misunderstanding, UnknownMisunderstanding> {
        let mut all = Misunderstanding::ALL.into_iter();
        if let Some(found) = all.find(|known| known.name() == text) {
            return Ok(found);
        }
        let names = Misunderstanding::ALL.map(Misunderstanding::name);
        let message = match nearest(text, names) {
            Some(near) => format!("`{text}` is no misunderstanding; did you mean `{near}`?"),
            None => format!(
                "`{text}` is no misunderstanding; they are {}",
                names.join(", ")
            ),
        };
        Err(UnknownMisunderstanding { message })
    }
}
