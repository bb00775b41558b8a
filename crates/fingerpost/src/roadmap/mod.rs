//! A checked board made ready to walk. It is compiled once and cannot be wrong.

use crate::board::Board;
use crate::legality::Finding;
use crate::reading::{NamedReading, Reading};
use crate::route::Step;

/// On which terms a board is to be unrolled: the reading, and what a performer chooses beside it.
#[derive(Clone, Copy, Default, PartialEq, Eq, Hash, Debug)]
pub struct Terms {
    /// The answers where the board has none of its own.
    pub reading: Reading,
    /// Every section once, on its last pass; D.C. and D.S. are obeyed all the same. A performer's choice, no answer to a question.
    pub omit_repeats: bool,
    /// How many times a section that is open ("until the signal") is played; from 1 to 1 000 000.
    pub open_plays: Option<u32>,
}

impl From<NamedReading> for Terms {
    fn from(named: NamedReading) -> Terms {
        Terms {
            reading: named.reading(),
            omit_repeats: named.omits_repeats(),
            open_plays: None,
        }
    }
}

/// Why a board has no roadmap on the terms asked for.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Refusal {
    /// The board has errors; every one of them, in board order.
    #[error("the board has errors: {}", .0.iter().map(|f| f.message.as_str()).collect::<Vec<_>>().join("; "))]
    Errors(Vec<Finding>),
    /// A section is played until a signal, and the terms do not say how many times.
    #[error(
        "the end repeat of measure {measure} is open (played until a signal): say how many times it is played"
    )]
    OpenPlays {
        /// The end repeat: its index in the board.
        marking: usize,
        /// Its measure.
        measure: u16,
    },
}

/// A checked board made ready to walk.
#[derive(Clone, Debug)]
pub struct Roadmap {}

impl Roadmap {
    /// Checks a board and compiles its route.
    ///
    /// # Errors
    /// The errors of the board; or that an open section needs a number of plays.
    pub fn new(_board: &Board, _terms: &Terms) -> Result<Roadmap, Refusal> {
        todo!()
    }

    /// The number of steps.
    pub fn length(&self) -> u64 {
        todo!()
    }

    /// The steps, first to last.
    pub fn steps(&self) -> Steps<'_> {
        todo!()
    }

    /// The step at `index`, counted from 0, without walking.
    pub fn step(&self, _index: u64) -> Option<Step> {
        todo!()
    }

    /// How many times a measure is played (the sum over its parts for a cut measure), without walking.
    pub fn visits(&self, _measure: u16) -> u64 {
        todo!()
    }
}

/// The steps of a route.
#[derive(Clone, Debug)]
pub struct Steps<'a>(std::marker::PhantomData<&'a ()>);

impl Iterator for Steps<'_> {
    type Item = Step;
    fn next(&mut self) -> Option<Step> {
        todo!()
    }
}
