//! The verb `missing`: the smallest sets of signs that make a board legal.

use fingerpost::{Counted, MissingSet, Roadmap, Terms};

use crate::VERSION;
use crate::error::{ErrorAnswer, ErrorKind};
use crate::findings::FindingAnswer;
use crate::places::{PartnerAnswer, RoadAnswer, measures};
use crate::score::ScoreAnswer;
use crate::source::BoardRead;

/// What a board lacks, and which signs would make it legal.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct MissingAnswer {
    /// The version of the answer: 1.
    pub version: u32,
    /// What is wrong with the board as it is: its errors, and the signs that lack their partner. Empty: nothing is missing.
    pub lacking: Vec<FindingAnswer>,
    /// The smallest sets of signs that leave no error and no sign without its partner, those with the most signs from the hand first.
    pub sets: Vec<MissingSetAnswer>,
    /// With how few signs the board can be made legal; absent when no set was found. The sets have more signs where with so few a measure is
    /// never played, or a sign is never obeyed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub least: Option<usize>,
    /// When there is no such set: the errors that stand in the way.
    #[serde(rename = "in-the-way")]
    pub in_the_way: Vec<FindingAnswer>,
    /// Whether everything was tried up to the size of these sets. Else the board is too large for that: smaller sets there may be, and more
    /// arrangements.
    pub complete: bool,
    /// The score that the board was read from, when it was read from one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub score: Option<ScoreAnswer>,
}

/// Signs that together make a board legal.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct MissingSetAnswer {
    /// The signs, each with all the places that it has in some arrangement.
    pub signs: Vec<PartnerAnswer>,
    /// In how many ways they can be laid, of those that are counted. It may be larger than 2^53.
    pub arrangements: u64,
    /// Which ways are counted.
    pub counted: CountedName,
    /// The first ways, at most 12: for each sign the first and the last measure of its place.
    pub first: Vec<Vec<[u16; 2]>>,
    /// The way proposed: few signs in it have no effect, and it leaves few warnings.
    pub proposal: Vec<[u16; 2]>,
    /// The warnings on the board as proposed that it does not have now.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub warnings: Vec<FindingAnswer>,
    /// Whether every way that is counted leaves a warning. False where there are too many ways to hold against each other.
    #[serde(rename = "always-warned")]
    pub always_warned: bool,
    /// The board as proposed, as a board line.
    pub line: String,
    /// The road of the board as proposed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub road: Option<RoadAnswer>,
}

/// Which ways to lay the signs of a set are counted: the best there are.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum CountedName {
    /// Those in which each of these signs plays its part, and so does each Fine, To Coda, D.C. and D.S. of the board; and every measure is
    /// played.
    Whole,
    /// Those in which each of these signs plays its part; in each some measures are never played, or a sign of the board plays no part.
    Working,
    /// All that leave no error, and no sign without its partner; in none of them does each of these signs play its part.
    Any,
}

/// What a board lacks.
///
/// # Errors
/// A board that is too large.
pub fn missing(read: &BoardRead) -> Result<MissingAnswer, ErrorAnswer> {
    let missing = fingerpost::missing(&read.board)
        .map_err(|error| ErrorAnswer::new(ErrorKind::Request, error.to_string()))?;
    Ok(MissingAnswer {
        version: VERSION,
        lacking: read.findings(&missing.lacking),
        sets: missing.sets.iter().map(|set| answer(read, set)).collect(),
        least: missing.least,
        in_the_way: read.findings(&missing.in_the_way),
        complete: missing.complete,
        score: read.score(),
    })
}

fn answer(read: &BoardRead, set: &MissingSet) -> MissingSetAnswer {
    let board = set.proposed(&read.board);
    let terms = Terms {
        open_plays: Some(2),
        ..Terms::default()
    };
    let played = board.as_ref().and_then(|board| {
        let roadmap = Roadmap::new(board, &terms).ok()?;
        Some(RoadAnswer::new(board, &roadmap))
    });
    let places = |places: &Vec<_>| places.iter().copied().map(measures).collect();
    MissingSetAnswer {
        signs: set.signs.iter().map(PartnerAnswer::new).collect(),
        arrangements: set.arrangements,
        counted: match set.counted {
            Counted::Whole => CountedName::Whole,
            Counted::Working => CountedName::Working,
            _ => CountedName::Any,
        },
        first: set.first.iter().map(places).collect(),
        proposal: places(&set.proposal),
        warnings: read.findings(&set.warnings),
        always_warned: set.always_warned,
        line: board.map_or_else(String::new, |board| board.to_line()),
        road: played,
    }
}
