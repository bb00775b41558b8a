//! A checked board made ready to walk. It is compiled once and cannot be wrong.

pub(crate) mod compile;
pub(crate) mod count;
pub(crate) mod coverage;
pub(crate) mod laid;
pub(crate) mod notes;
pub(crate) mod paths;
pub(crate) mod pieces;
mod progress;
pub(crate) mod row;
pub(crate) mod sections;
mod watch;

use std::collections::HashSet;

use crate::board::Board;
use crate::legality::{Finding, errors_under, walk_fault};
use crate::reading::{NamedReading, Reading};
use crate::route::walk::{Walk, occurrences_in_piece};
use crate::route::{Held, Runs, Step, Steps};

use compile::WalkFault;
use laid::Laid;
use notes::Notes;
use paths::Paths;
use pieces::Compiled;
use row::{PartIndex, Row};
use sections::{DEEPEST, Sections};

/// On which terms a board is to be unrolled: the reading, and what a performer chooses beside it.
#[derive(Clone, Copy, Default, PartialEq, Eq, Hash, Debug)]
pub struct Terms {
    /// The answers where the board has none of its own.
    pub reading: Reading,
    /// Every section once, on its last pass; D.C. and D.S. are obeyed all the same. A performer's choice, no answer to a question
    /// (rulebook 6.8).
    pub omit_repeats: bool,
    /// How many times a section that is open ("until the signal") is played, at least once; numbers above 1 000 000 count as that.
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

impl From<Reading> for Terms {
    fn from(reading: Reading) -> Terms {
        Terms {
            reading,
            ..Terms::default()
        }
    }
}

/// Why a board has no roadmap on the terms asked for.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Refusal {
    /// The board has errors; every one of them, in board order. When the board has none under the default reading, these are the errors it
    /// would have under the reading asked for.
    #[error("the board has errors: {}", .0.iter().map(|f| f.message.as_str()).collect::<Vec<_>>().join("; "))]
    Errors(Vec<Finding>),
    /// A section is played until a signal, and the terms do not say how many times.
    #[error(
        "the end repeat of measure {name} is open (played until a signal): say how many times it is played"
    )]
    OpenPlays {
        /// The end repeat: its index in the board.
        marking: usize,
        /// Its measure.
        measure: u16,
        /// That measure as sentences name it ([`Board::measure_words`]).
        name: String,
    },
}

/// A checked board made ready to walk, with its route compiled.
///
/// The route is kept as a short list of pieces, not written out: its length, any step of it and how often a measure is played are
/// known at once, whether it has ten steps or 10^15.
///
/// ```
/// use fingerpost::{Board, Roadmap, Terms};
/// let board: Board = "|: 1 | 2 | [1. 3 :| [2. 4 Fine ] | 5 D.C. al Fine |".parse()?;
/// let roadmap = Roadmap::new(&board, &Terms::default())?;
/// let order: Vec<u16> = roadmap.steps().map(|step| step.measure).collect();
/// assert_eq!(order, [1, 2, 3, 1, 2, 4, 5, 1, 2, 4]);
/// assert_eq!(roadmap.length(), 10);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct Roadmap {
    pub(crate) plan: Plan,
    pub(crate) compiled: Compiled,
    reading: Reading,
}

/// The board as the walk sees it under one reading.
#[derive(Clone, Debug)]
pub(crate) struct Plan {
    pub(crate) row: Row,
    pub(crate) sections: Sections,
    pub(crate) paths: Paths,
    pub(crate) notes: Notes,
    /// For each part the last part up to which everything lies in the same innermost section.
    level_until: Vec<PartIndex>,
}

impl Roadmap {
    /// Checks a board and compiles its route. The board's own answers outrank the reading of the terms.
    ///
    /// # Errors
    /// The errors of the board, judged under the default reading; then those it has under the reading asked for; or that an open section
    /// needs a number of plays.
    pub fn new(board: &Board, terms: &Terms) -> Result<Roadmap, Refusal> {
        let judged = Terms {
            open_plays: terms.open_plays,
            ..Terms::default()
        };
        let (default, reading) = (
            board.reading().over(judged.reading),
            board.reading().over(terms.reading),
        );
        if default == reading && !terms.omit_repeats {
            return Roadmap::under(board, terms);
        }
        match Roadmap::under(board, &judged) {
            Err(Refusal::Errors(errors)) => Err(Refusal::Errors(errors)),
            _ => Roadmap::under(board, terms),
        }
    }

    /// As [`Roadmap::new`], without asking whether the board is in order under the default reading.
    pub(crate) fn under(board: &Board, terms: &Terms) -> Result<Roadmap, Refusal> {
        let ground = Ground::new(board, terms);
        let errors = errors_under(board, &ground);
        if !errors.is_empty() {
            return Err(Refusal::Errors(errors));
        }
        let walked = ground
            .walk(terms)
            .map_err(|fault| Refusal::Errors(vec![walk_fault(board, &ground.row, &fault)]))?;
        let open = ground.sections.list.iter().find_map(|section| section.open);
        if let Some(marking) = open.filter(|_| terms.open_plays.is_none() && !terms.omit_repeats) {
            let measure = board
                .markings()
                .get(marking as usize)
                .map_or(0, crate::board::Marking::measure);
            return Err(Refusal::OpenPlays {
                marking: marking as usize,
                measure,
                name: board.measure_words(measure),
            });
        }
        Ok(Roadmap::of(board, ground, walked))
    }

    /// The roadmap of a board whose route has been worked out.
    pub(crate) fn of(board: &Board, ground: Ground, walked: Walked) -> Roadmap {
        let notes = Notes::new(board, &ground.row);
        let level_until = level_until(&ground.sections);
        Roadmap {
            plan: Plan {
                row: ground.row,
                sections: ground.sections,
                paths: walked.paths,
                notes,
                level_until,
            },
            compiled: walked.compiled,
            reading: ground.reading,
        }
    }

    /// The same route over a board of which only the signs over its measures differ.
    pub(crate) fn with_notes_of(&self, board: &Board) -> Roadmap {
        let mut other = self.clone();
        other.plan.notes = Notes::new(board, &other.plan.row);
        other
    }

    /// The reading it was compiled under: the board's own answers, and those asked for where it has none.
    pub fn reading(&self) -> Reading {
        self.reading
    }

    /// The number of steps.
    pub fn length(&self) -> u64 {
        self.compiled.length
    }

    /// The steps, first to last.
    pub fn steps(&self) -> Steps<'_> {
        Steps::new(self)
    }

    /// The step at `index`, counted from 0, without walking; `None` beyond the end.
    pub fn step(&self, index: u64) -> Option<Step> {
        Steps::single(self, index)
    }

    /// Which hands hold a fermata at the step at `index`; none beyond the end.
    pub(crate) fn held(&self, index: u64) -> Held {
        Steps::held(self, index).unwrap_or(Held::None)
    }

    /// The runs of consecutive measures, first to last: a new run begins wherever the route does not simply go on to the next measure.
    pub fn runs(&self) -> Runs<'_> {
        Runs::new(self)
    }

    /// How many times a measure is played, without walking; for a cut measure the times of its parts taken together.
    pub fn visits(&self, measure: u16) -> u64 {
        let parts = self.plan.row.parts_of(measure);
        let pieces = &self.compiled.pieces;
        parts
            .flat_map(|part| {
                pieces
                    .iter()
                    .map(move |piece| occurrences_in_piece(self, piece, part))
            })
            .fold(0, u64::saturating_add)
    }

    /// How many legs the route has: one, and one more for each D.C. or D.S. obeyed.
    pub fn legs(&self) -> u32 {
        self.compiled.pieces.last().map_or(1, |piece| piece.leg)
    }

    pub(crate) fn walk(&self) -> Walk<'_> {
        Walk::new(self)
    }
}

/// What the signs of a board make of its measures under a reading, before anything is walked.
#[derive(Clone, Debug)]
pub(crate) struct Ground {
    pub(crate) row: Row,
    pub(crate) laid: Laid,
    pub(crate) sections: Sections,
    pub(crate) reading: Reading,
}

/// The route over a [`Ground`].
#[derive(Clone, Debug)]
pub(crate) struct Walked {
    pub(crate) paths: Paths,
    pub(crate) compiled: Compiled,
    /// The Fines, To Codas, jumps and (for al Segno) segnos that are obeyed, as markings; and the end repeats at which the road has gone
    /// back to a pass that it follows by itself.
    pub(crate) obeyed: HashSet<u32>,
}

impl Terms {
    /// How often an open section is played; twice where the caller does not say.
    pub(crate) fn plays_when_open(&self) -> u32 {
        self.open_plays
            .map_or(2, |plays| plays.clamp(1, crate::board::HIGHEST_PASS))
    }
}

impl Ground {
    pub(crate) fn new(board: &Board, terms: &Terms) -> Ground {
        let reading = board.reading().over(terms.reading);
        let row = Row::new(board);
        let laid = Laid::new(board, &row);
        let sections = Sections::new(&laid, row.length(), reading, terms.plays_when_open());
        Ground {
            row,
            laid,
            sections,
            reading,
        }
    }

    /// Works out the route. There must be no error that can be seen by looking.
    pub(crate) fn walk(&self, terms: &Terms) -> Result<Walked, WalkFault> {
        walk_over(
            &self.laid,
            &self.sections,
            self.row.length(),
            self.reading,
            terms,
        )
    }
}

/// The route over what the signs make of a row of so many parts. There must be no error that can be seen by looking.
pub(crate) fn walk_over(
    laid: &Laid,
    sections: &Sections,
    length: PartIndex,
    reading: Reading,
    terms: &Terms,
) -> Result<Walked, WalkFault> {
    debug_assert!(sections.deepest <= DEEPEST, "deeper nesting is an error");
    let paths = Paths::new(laid, sections, length, terms.omit_repeats).ok_or(WalkFault::TooLong)?;
    let (compiled, obeyed) = compile::compile(laid, sections, &paths, reading)?;
    Ok(Walked {
        paths,
        compiled,
        obeyed,
    })
}

impl Plan {
    pub(crate) fn level_until(&self, part: PartIndex) -> PartIndex {
        self.level_until.get(part as usize).copied().unwrap_or(part)
    }
}

fn level_until(sections: &Sections) -> Vec<PartIndex> {
    let mut until = vec![0; sections.innermost.len()];
    let mut last = None;
    for (part, innermost) in sections.innermost.iter().enumerate().rev() {
        let number = PartIndex::try_from(part).unwrap_or(PartIndex::MAX);
        last = match last {
            Some((level, end)) if level == *innermost => Some((level, end)),
            _ => Some((*innermost, number)),
        };
        if let (Some(slot), Some((_, end))) = (until.get_mut(part), last) {
            *slot = end;
        }
    }
    until
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::board::{Al, EndRepeat, Fine, Jump, Plays, Sign};

    /// How many pieces the route of a board is kept in.
    fn pieces(board: &Board) -> usize {
        let roadmap = Roadmap::new(board, &Terms::default()).unwrap();
        roadmap.compiled.pieces.len()
    }

    fn da_capo(al: Option<Al>) -> Sign {
        Sign::DaCapo(Jump {
            al,
            ..Jump::default()
        })
    }

    fn end(plays: u32) -> Sign {
        Sign::EndRepeat(EndRepeat {
            plays: Some(Plays::Times(plays)),
            on_return: None,
        })
    }

    // Compiling takes time in proportion to the signs, and no further, because a route is kept in few pieces.

    #[test]
    fn a_long_board_has_no_more_pieces_than_a_short_one() {
        for measures in [10, 60_000] {
            let last = measures - 2;
            let systems = || Board::builder([measures]);
            let plain = systems().mark(da_capo(None), last);
            assert_eq!(pieces(&plain.build().unwrap()), 2);
            let with_fine = systems()
                .mark(Sign::Fine(Fine::default()), 5)
                .mark(da_capo(Some(Al::Fine)), last);
            assert_eq!(pieces(&with_fine.build().unwrap()), 2);
            let repeated = systems()
                .mark(Sign::StartRepeat, 2)
                .mark(end(1_000_000), 7)
                .mark(Sign::Fine(Fine::default()), 5)
                .mark(da_capo(Some(Al::Fine)), last);
            assert!(pieces(&repeated.build().unwrap()) <= 8);
        }
    }

    /// By hand: measures 4 to 6 are a section in the section of measures 2 to 7.
    #[test]
    fn a_level_goes_on_to_the_next_section_or_its_end() {
        let board: Board = "1 |: 2 | 3 |: 4 | 5 | 6 :| 7 :| 8 | 9 |".parse().unwrap();
        let roadmap = Roadmap::new(&board, &Terms::default()).unwrap();
        let until: Vec<PartIndex> = (0..9).map(|at| roadmap.plan.level_until(at)).collect();
        assert_eq!(until, [0, 2, 2, 5, 5, 5, 6, 8, 8]);
    }

    #[test]
    fn many_sections_in_a_row_are_one_piece() {
        for sections in [3, 3_000] {
            let mut builder = Board::builder([sections * 2 + 1]);
            for number in 0..sections {
                builder = builder
                    .mark(Sign::StartRepeat, number * 2 + 1)
                    .mark(end(3), number * 2 + 2);
            }
            let plain = builder.clone().build().unwrap();
            assert_eq!(pieces(&plain), 1);
            let again = builder.mark(da_capo(None), sections * 2 + 1);
            assert_eq!(pieces(&again.build().unwrap()), 2);
        }
    }
}
