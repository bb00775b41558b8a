//! One finding of a rule on a board, and where it is.

use crate::board::{Board, Fraction, Side, Sign};

use crate::reading::Question;

/// How grave a finding is.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, serde::Serialize, serde::Deserialize,
)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// The route is undefined, or a sign contradicts another.
    Error,
    /// It can be played, but a sign is idle, a measure is never reached, or practice forbids it.
    Warning,
    /// Style and clarity.
    Advice,
}

impl Severity {
    /// Its name in JSON and on the rule's page.
    pub fn name(self) -> &'static str {
        match self {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Advice => "advice",
        }
    }
}

/// What a rule is about.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, serde::Serialize, serde::Deserialize,
)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Category {
    /// Signs that belong together: a D.S. and its segno, a start repeat and its end repeat.
    Pairing,
    /// Ending brackets and their passes.
    Endings,
    /// D.C., D.S., Fine, To Coda, and where they lead.
    Jumps,
    /// What is played, how often, and what is never met.
    Order,
    /// Signs that could be taken away: the order of the measures stays as it is.
    Idle,
    /// Octaves, and hands that play at some times only.
    Hands,
    /// What can be read in more than one way.
    Clarity,
    /// Where a sign stands on the page.
    Place,
}

impl Category {
    /// All of them, in the order of the catalogue.
    pub const ALL: [Category; 8] = [
        Category::Pairing,
        Category::Endings,
        Category::Jumps,
        Category::Order,
        Category::Idle,
        Category::Hands,
        Category::Clarity,
        Category::Place,
    ];

    /// Its name in JSON and on the rule's page.
    pub fn name(self) -> &'static str {
        match self {
            Category::Pairing => "pairing",
            Category::Endings => "endings",
            Category::Jumps => "jumps",
            Category::Order => "order",
            Category::Idle => "idle",
            Category::Hands => "hands",
            Category::Clarity => "clarity",
            Category::Place => "place",
        }
    }
}

/// What a rule found on a board.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub struct Finding {
    /// The rule's name, for ever: `segno-missing`.
    pub rule: &'static str,
    /// How grave it is.
    pub severity: Severity,
    /// What is wrong, in a teacher's words.
    pub message: String,
    /// What to do about it.
    pub help: String,
    /// The measure it is about, counted from 1.
    pub measure: Option<u16>,
    /// The last measure it is about, when it is about several and about no one marking.
    pub last: Option<u16>,
    /// The marking it is about: its index in the board.
    pub marking: Option<usize>,
    /// Other markings that take part: their indices in the board.
    pub related: Vec<usize>,
    /// The question of the reading it is about (rule `not-settled`).
    pub question: Option<Question>,
}

/// Where on a board a finding is.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[non_exhaustive]
pub struct FindingPlace {
    /// At which side of its measures.
    pub side: FindingSide,
    /// The first of the measures, counted from 1.
    pub from: u16,
    /// The last of them; `from` itself where there is one alone.
    pub to: u16,
    /// For a sign that cuts its measure: how far from the measure's start, in whole notes.
    pub point: Option<Fraction>,
    /// The beat of that point, where the board has a meter and the point lies on a beat: of a sign at which the road is left the last beat
    /// that sounds, of any other the first.
    pub beat: Option<u32>,
}

/// The side of the measures at which a finding is.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, serde::Serialize, serde::Deserialize,
)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum FindingSide {
    /// At the barline with which the measure starts.
    Start,
    /// At the barline with which the measure ends.
    End,
    /// Between two beats of the measure.
    Inside,
    /// Over the measures, as a bracket stands.
    Over,
    /// The measures themselves.
    Whole,
}

impl Finding {
    /// Where on the board it is; `None` when it is about the whole board.
    ///
    /// ```
    /// use fingerpost::{Board, FindingSide, check};
    /// let board: Board = "1 | 2 D.S. | 3 |".parse()?;
    /// let place = check(&board)[0].place(&board).ok_or("a place")?;
    /// assert_eq!((place.side, place.from), (FindingSide::End, 2));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn place(&self, board: &Board) -> Option<FindingPlace> {
        let marking = self.marking.and_then(|index| board.markings().get(index));
        let Some(marking) = marking else {
            let from = self.measure?;
            return Some(FindingPlace {
                side: FindingSide::Whole,
                from,
                to: self.last.unwrap_or(from),
                point: None,
                beat: None,
            });
        };
        let (place, sign) = (marking.place(), marking.sign());
        let (from, to) = (place.first(), place.last());
        let leaves = sign.side() == Side::Leaving;
        let edge = match board.measure_length(from) {
            Some(length) if leaves => length,
            _ => Fraction::ZERO,
        };
        let point = place.cut().filter(|&cut| cut != edge);
        let before = point.and_then(|point| board.beats_before(from, point));
        Some(FindingPlace {
            side: match sign.side() {
                Side::Leaving | Side::Landing if point.is_some() => FindingSide::Inside,
                Side::Leaving => FindingSide::End,
                Side::Landing => FindingSide::Start,
                // A double bar is a barline, and stands beside the road.
                Side::Over if matches!(sign, Sign::DoubleBar(_)) => FindingSide::End,
                Side::Over => FindingSide::Over,
            },
            from,
            to,
            point,
            beat: before.map(|beats| if leaves { beats } else { beats + 1 }),
        })
    }
}
