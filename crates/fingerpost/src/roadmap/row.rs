//! The row of parts: the measures in written order, each cut where a marking cuts it. Rulebook, chapter 8.

use crate::board::{Board, Fraction, Marking, Side};
use crate::route::Part;

/// A part's place in the row, counted from 0.
pub(crate) type PartIndex = u32;

/// The measures of a board, each whole or in parts.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    measures: Vec<u16>,
    /// Empty when no measure is cut.
    cuts: Vec<Option<Part>>,
    /// For each measure its first part, and one entry more for the end of the row.
    first_part: Vec<PartIndex>,
    /// The points where measures are cut, in order.
    points: Vec<(u16, Fraction)>,
}

/// Why a cut is not inside its measure.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum CutFault {
    /// The board has no meter, so that the measure's length is not known.
    NoMeter,
    /// A leaving sign at the measure's very start.
    NothingBefore,
    /// A landing sign at the measure's very end.
    NothingAfter,
    /// The point lies beyond the measure's end.
    Beyond(Fraction),
}

/// The point where a marking cuts its measure; `None` when it stands at the measure's own edge.
pub(crate) fn cut_point(board: &Board, marking: &Marking) -> Result<Option<Fraction>, CutFault> {
    let Some(cut) = marking.place().cut() else {
        return Ok(None);
    };
    let Some(length) = board.measure_length(marking.measure()) else {
        return Err(CutFault::NoMeter);
    };
    let landing = marking.sign().side() == Side::Landing;
    if cut > length {
        Err(CutFault::Beyond(length))
    } else if landing && cut == Fraction::ZERO || !landing && cut == length {
        Ok(None)
    } else if landing && cut == length {
        Err(CutFault::NothingAfter)
    } else if !landing && cut == Fraction::ZERO {
        Err(CutFault::NothingBefore)
    } else {
        Ok(Some(cut))
    }
}

impl Row {
    /// The row of a board. A cut that is not inside its measure counts as the measure's edge; it is an error of its own.
    pub(crate) fn new(board: &Board) -> Row {
        let mut points: Vec<(u16, Fraction)> = board
            .markings()
            .iter()
            .filter_map(|marking| Some((marking.measure(), cut_point(board, marking).ok()??)))
            .collect();
        points.sort_unstable();
        points.dedup();
        let parts = usize::from(board.measures()) + points.len();
        let mut first_part = Vec::with_capacity(usize::from(board.measures()) + 1);
        first_part.push(0);
        let mut row = Row {
            measures: Vec::with_capacity(parts),
            cuts: Vec::new(),
            first_part,
            points,
        };
        let mut next = 0;
        for measure in 1..=board.measures() {
            let mut from = Fraction::ZERO;
            let mut is_cut = false;
            while let Some(&(_, point)) = row.points.get(next).filter(|&&(at, _)| at == measure) {
                row.measures.push(measure);
                row.cuts.push(Some(Part { from, to: point }));
                (from, is_cut, next) = (point, true, next + 1);
            }
            row.measures.push(measure);
            if !row.is_whole() {
                let to = board.measure_length(measure).unwrap_or(Fraction::ZERO);
                row.cuts.push(is_cut.then_some(Part { from, to }));
            }
            row.first_part.push(row.length());
        }
        row
    }

    /// The number of parts.
    pub(crate) fn length(&self) -> PartIndex {
        // cannot fail: at most 65 535 measures and 100 000 cuts.
        u32::try_from(self.measures.len()).unwrap_or(u32::MAX)
    }

    /// Whether no measure is cut.
    pub(crate) fn is_whole(&self) -> bool {
        self.points.is_empty()
    }

    /// The measure of a part, and which part of it, when it is cut.
    pub(crate) fn part(&self, part: PartIndex) -> (u16, Option<Part>) {
        let at = part as usize;
        (
            self.measures.get(at).copied().unwrap_or(0),
            self.cuts.get(at).copied().flatten(),
        )
    }

    /// The parts of a measure, first to last; none for a measure that is not on the board.
    pub(crate) fn parts_of(&self, measure: u16) -> std::ops::Range<PartIndex> {
        let at = usize::from(measure);
        match (
            at.checked_sub(1)
                .and_then(|before| self.first_part.get(before)),
            self.first_part.get(at),
        ) {
            (Some(&from), Some(&to)) => from..to,
            _ => 0..0,
        }
    }

    /// The part at whose start (landing signs) or end (leaving signs) a marking stands; for the others its measure's last part.
    pub(crate) fn part_of(&self, board: &Board, marking: &Marking) -> PartIndex {
        let parts = self.parts_of(marking.measure());
        let landing = marking.sign().side() == Side::Landing;
        match cut_point(board, marking) {
            Ok(Some(point)) => {
                let first = self
                    .points
                    .partition_point(|&(measure, _)| measure < marking.measure());
                let at = self
                    .points
                    .partition_point(|&other| other < (marking.measure(), point));
                let cut = u32::try_from(at - first).unwrap_or(0);
                parts.start + cut + u32::from(landing)
            }
            _ if landing => parts.start,
            _ => parts.end.saturating_sub(1),
        }
    }
}
