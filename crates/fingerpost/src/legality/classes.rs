//! Barlines that stand in the same order to all signs of a board.

use super::judge::Judge;
use crate::board::Sign;
use crate::roadmap::row::PartIndex;

/// A place between two parts, by its order to the signs of the board.
pub(super) type Class = u16;

/// Barlines grouped by their order to all signs of the board that have a part in a route: the barlines at which a sign stands are each a
/// group of their own, and so are all those between two of them. Barline 0 is the beginning.
pub(super) struct Classes {
    of: Vec<Class>,
}

/// A barline between two signs.
#[derive(Clone, Copy)]
pub(super) struct Gap {
    pub(super) class: Class,
    /// How many barlines of the gap come before it.
    pub(super) offset: PartIndex,
}

impl Classes {
    pub(super) fn new(judge: &Judge<'_>) -> Classes {
        Classes::between(judge, Vec::new())
    }

    /// The same, grouped by their order to the signs that change what sounds as well.
    pub(super) fn with_sounding(judge: &Judge<'_>) -> Classes {
        let sounding = judge.board.markings().iter();
        let sounding = sounding.filter(|marking| sounds(marking.sign()));
        let edges = sounding.flat_map(|marking| {
            let first = judge.row.parts_of(marking.place().first());
            [first.start, judge.row.parts_of(marking.place().last()).end]
        });
        Classes::between(judge, edges.collect())
    }

    /// Barlines grouped by the signs that have a part in a route, and by further bounds.
    fn between(judge: &Judge<'_>, mut bounds: Vec<PartIndex>) -> Classes {
        let (laid, length) = (&judge.laid, judge.row.length());
        bounds.extend([0, length]);
        let after = |part: PartIndex| part + 1;
        bounds.extend(laid.starts.iter().map(|it| it.part));
        bounds.extend(laid.segnos.iter().chain(&laid.codas).map(|it| it.part));
        bounds.extend(laid.ends.iter().map(|it| after(it.part)));
        bounds.extend(laid.fines.iter().map(|it| after(it.part)));
        bounds.extend(laid.to_codas.iter().map(|it| after(it.part)));
        bounds.extend(laid.jumps.iter().map(|it| after(it.part)));
        bounds.extend(laid.double_bars.iter().map(|&part| after(part)));
        for ending in &laid.endings {
            bounds.extend([ending.first, after(ending.last)]);
        }
        bounds.sort_unstable();
        bounds.dedup();
        let mut of = Vec::with_capacity(length as usize + 1);
        let mut passed: Class = 0;
        let mut next = bounds.iter().peekable();
        for barline in 0..=length {
            let stands = next.next_if(|&&bound| bound == barline).is_some();
            of.push(if stands { 2 * passed + 1 } else { 2 * passed });
            passed += Class::from(stands);
        }
        Classes { of }
    }

    pub(super) fn at(&self, barline: PartIndex) -> Class {
        self.of.get(barline as usize).copied().unwrap_or(Class::MAX)
    }

    /// The gap in which a barline lies; `None` where a sign stands.
    pub(super) fn gap(&self, barline: PartIndex) -> Option<Gap> {
        let class = self.at(barline);
        if class % 2 == 1 {
            return None;
        }
        let before = self.of.partition_point(|&other| other < class);
        let offset = barline.saturating_sub(PartIndex::try_from(before).unwrap_or(0));
        Some(Gap { class, offset })
    }

    /// The number of barlines in a gap.
    pub(super) fn size_of(&self, class: Class) -> usize {
        let before = self.of.partition_point(|&other| other < class);
        self.of.partition_point(|&other| other <= class) - before
    }
}

/// Whether a sign changes what sounds, and no order.
pub(super) fn sounds(sign: &Sign) -> bool {
    matches!(sign, Sign::Octave(_) | Sign::Fermata(_) | Sign::Only(_))
}
