//! The signs themselves, without their places.

use super::meter::Fraction;
use super::passes::Passes;

/// A sign of a score's road map: what it is and what is written beside it, without the place where it stands.
///
/// A sign with a place is a [`Marking`](super::Marking); a sign without one is a card in the hand. The names are the trade's;
/// where the trade has none (`Only`), it is a word of the rulebook. Source: rulebook, chapter 1.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[non_exhaustive]
pub enum Sign {
    /// A start repeat barline. Lands.
    StartRepeat,
    /// An end repeat barline. Leaves.
    EndRepeat(EndRepeat),
    /// An ending bracket over one or more measures.
    Ending(Ending),
    /// The sign 𝄋, where a D.S. goes to. Lands.
    Segno(Landing),
    /// The coda sign 𝄌 at the start of the coda. Lands.
    Coda(Landing),
    /// The words To Coda. Leaves.
    ToCoda(ToCoda),
    /// The word Fine. Leaves.
    Fine(Fine),
    /// Da capo. Leaves.
    DaCapo(Jump),
    /// Dal segno. Leaves.
    DalSegno(Jump),
    /// A double barline, or a final barline in the middle of the board. It changes no route unless the reading says so.
    DoubleBar(DoubleBar),
    /// An octave sign over one or more measures. It changes no route.
    Octave(Octave),
    /// A fermata. It changes no route.
    Fermata(Fermata),
    /// Hands that play only on some passes, over one or more measures. It changes no route.
    Only(Only),
}

/// What is written at an end repeat.
#[derive(Clone, Default, PartialEq, Eq, Hash, Debug)]
pub struct EndRepeat {
    /// How many times the section is played in all; absent means 2.
    pub plays: Option<Plays>,
    /// Whether this section is repeated again after a D.C. or D.S.; absent leaves it to the jump and the reading.
    pub on_return: Option<Repeats>,
}

/// How often a section is played.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Plays {
    /// So many times in all, from 1 to 1 000 000.
    Times(u32),
    /// Until a signal (a vamp): no fixed length.
    Open,
}

/// Whether the repeats are made.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[derive(serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Repeats {
    /// They are made again (con ripetizione).
    Play,
    /// They are left out (senza ripetizione).
    Skip,
}

/// What is written on an ending bracket.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Ending {
    /// The passes of its section on which it is played.
    pub passes: Passes,
    /// Drawn without its closing hook. Appearance only.
    pub open: bool,
}

/// What is written at a segno or a coda: the label that pairs it with its jump.
#[derive(Clone, Default, PartialEq, Eq, Hash, Debug)]
pub struct Landing {
    /// Equal labels belong together; absent labels belong together.
    pub label: Option<String>,
}

/// What is written at a To Coda.
#[derive(Clone, Default, PartialEq, Eq, Hash, Debug)]
pub struct ToCoda {
    /// The label of the coda it goes to.
    pub label: Option<String>,
    /// The arrivals at which it is obeyed, armed or not; absent: when it is armed.
    pub arrivals: Option<Passes>,
}

/// What is written at a Fine.
#[derive(Clone, Default, PartialEq, Eq, Hash, Debug)]
pub struct Fine {
    /// The arrivals at which it is obeyed, armed or not; absent: when it is armed.
    pub arrivals: Option<Passes>,
}

/// What is written at a D.C. or a D.S.
#[derive(Clone, Default, PartialEq, Eq, Hash, Debug)]
pub struct Jump {
    /// What the words after `al` say; absent for a bare D.C. or D.S.
    pub al: Option<Al>,
    /// Where the road goes on from the place that `al` names; with `al: fine` and `al: segno` only. Absent: it stops there.
    pub then: Option<Then>,
    /// The label of the To Coda that is meant, with `al: coda`; of the coda, with `then: coda`.
    pub coda: Option<String>,
    /// The label of the segno: for a D.S. where it goes to, for a D.C. al Segno where it leaves.
    pub label: Option<String>,
    /// Whether the repeats are made again on this return.
    pub repeats: Option<Repeats>,
    /// The arrivals, counted over the whole route, at which it is obeyed.
    pub arrivals: Option<Passes>,
    /// The passes of its section on which it is obeyed, in place of the last one.
    pub passes: Option<Passes>,
}

/// The words after `al`.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Al {
    /// al Fine: until Fine.
    Fine,
    /// al Coda: until To Coda, then the coda.
    Coda,
    /// al Segno: until the segno; with a D.C. only.
    Segno,
    /// Until the written end: nothing is armed.
    End,
}

/// Where the road goes on after `al Fine` or `al Segno`.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Then {
    /// On to the coda ("poi la Coda").
    Coda,
    /// It stops there.
    End,
}

/// How a double barline is drawn.
#[derive(Clone, Copy, Default, PartialEq, Eq, Hash, Debug)]
pub struct DoubleBar {
    /// Thin and thick, as at the end of a piece, but in the middle of the board.
    pub is_final: bool,
}

/// An octave sign.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Octave {
    /// The hands it is for.
    pub hands: Hands,
    /// The shift in octaves: 8va +1, 15ma +2, 8vb -1, 15mb -2.
    pub shift: Shift,
    /// The times at which it holds.
    pub when: When,
}

/// The shift of an octave sign, in octaves up.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Shift {
    /// 8va: one octave higher than written.
    Up1,
    /// 15ma: two octaves higher than written.
    Up2,
    /// 8vb: one octave lower than written.
    Down1,
    /// 15mb: two octaves lower than written.
    Down2,
}

impl Shift {
    /// The shift in octaves, higher is positive.
    pub fn octaves(self) -> i8 {
        match self {
            Shift::Up1 => 1,
            Shift::Up2 => 2,
            Shift::Down1 => -1,
            Shift::Down2 => -2,
        }
    }

    /// The shift of so many octaves; `None` for 0 and beyond two.
    pub fn of_octaves(octaves: i64) -> Option<Shift> {
        match octaves {
            1 => Some(Shift::Up1),
            2 => Some(Shift::Up2),
            -1 => Some(Shift::Down1),
            -2 => Some(Shift::Down2),
            _ => None,
        }
    }
}

/// A fermata.
#[derive(Clone, Default, PartialEq, Eq, Hash, Debug)]
pub struct Fermata {
    /// The hands that hold.
    pub hands: Hands,
    /// The times at which it holds.
    pub when: When,
}

/// Hands that play at some times only: "first time only", "second time only".
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Only {
    /// The hands meant; the other hand is not touched.
    pub hands: Hands,
    /// The times at which they play.
    pub when: When,
}

/// One hand or both.
#[derive(
    Clone, Copy, Default, PartialEq, Eq, Hash, Debug, serde::Serialize, serde::Deserialize,
)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Hands {
    /// The right hand.
    Right,
    /// The left hand.
    Left,
    /// Both hands.
    #[default]
    Both,
}

impl Hands {
    /// Whether the right hand is meant.
    pub fn right(self) -> bool {
        self != Hands::Left
    }

    /// Whether the left hand is meant.
    pub fn left(self) -> bool {
        self != Hands::Right
    }
}

/// The times at which an octave sign, a fermata or an [`Only`] holds. Rulebook, chapter 7.
#[derive(Clone, Default, PartialEq, Eq, Hash, Debug)]
pub enum When {
    /// Every time.
    #[default]
    EveryPass,
    /// On every pass of the section but the first.
    OnRepeat,
    /// On the last pass of the section.
    LastPass,
    /// In every leg after a D.C. or D.S.
    OnReturn,
    /// On the passes listed.
    Passes(Passes),
}

/// On which side of its measure a sign acts.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Side {
    /// It acts at the end of its measure.
    Leaving,
    /// It acts at the start of its measure.
    Landing,
    /// It covers whole measures, or stands beside the road.
    Over,
}

impl Sign {
    /// The kind's name in a board file: `start-repeat`, `to-coda` …
    pub fn kind(&self) -> &'static str {
        match self {
            Sign::StartRepeat => "start-repeat",
            Sign::EndRepeat(_) => "end-repeat",
            Sign::Ending(_) => "ending",
            Sign::Segno(_) => "segno",
            Sign::Coda(_) => "coda",
            Sign::ToCoda(_) => "to-coda",
            Sign::Fine(_) => "fine",
            Sign::DaCapo(_) => "da-capo",
            Sign::DalSegno(_) => "dal-segno",
            Sign::DoubleBar(_) => "double-bar",
            Sign::Octave(_) => "octave",
            Sign::Fermata(_) => "fermata",
            Sign::Only(_) => "only",
        }
    }

    /// Whether it leaves at the end of its measure, lands at the start of it, or neither.
    pub fn side(&self) -> Side {
        match self {
            Sign::EndRepeat(_)
            | Sign::ToCoda(_)
            | Sign::Fine(_)
            | Sign::DaCapo(_)
            | Sign::DalSegno(_) => Side::Leaving,
            Sign::StartRepeat | Sign::Segno(_) | Sign::Coda(_) => Side::Landing,
            Sign::Ending(_)
            | Sign::DoubleBar(_)
            | Sign::Octave(_)
            | Sign::Fermata(_)
            | Sign::Only(_) => Side::Over,
        }
    }

    /// Whether it stands over a row of measures (an ending, an octave sign, an [`Only`]) and not at one.
    pub fn spans(&self) -> bool {
        matches!(self, Sign::Ending(_) | Sign::Octave(_) | Sign::Only(_))
    }

    /// Whether it may cut a measure: leaving and landing signs may.
    pub fn may_cut(&self) -> bool {
        self.side() != Side::Over
    }

    /// Whether it is a D.C. or D.S. al Fine that goes on to the coda from there (rulebook 4.7).
    pub(crate) fn goes_on_from_fine(&self) -> bool {
        match self {
            Sign::DaCapo(jump) | Sign::DalSegno(jump) => {
                jump.al == Some(Al::Fine) && jump.then == Some(Then::Coda)
            }
            _ => false,
        }
    }
}

/// Where a marking stands: one measure or a row of them, and the point where it cuts its measure.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Place {
    pub(super) first: u16,
    pub(super) last: u16,
    pub(super) cut: Option<Fraction>,
}

impl Place {
    /// At one measure, counted from 1.
    pub fn at(measure: u16) -> Place {
        Place {
            first: measure,
            last: measure,
            cut: None,
        }
    }

    /// Over the measures from `first` to `last`, both included.
    pub fn over(first: u16, last: u16) -> Place {
        Place {
            first,
            last,
            cut: None,
        }
    }

    /// At a point inside a measure, as a fraction of a whole note from the measure's start.
    pub fn cutting(measure: u16, cut: Fraction) -> Place {
        Place {
            first: measure,
            last: measure,
            cut: Some(cut),
        }
    }

    /// The measure, or the first of a row.
    pub fn first(self) -> u16 {
        self.first
    }

    /// The measure, or the last of a row.
    pub fn last(self) -> u16 {
        self.last
    }

    /// The point where the measure is cut; absent: the measure's own edge.
    pub fn cut(self) -> Option<Fraction> {
        self.cut
    }
}
