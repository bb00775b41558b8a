//! The order in which the units of a score are played.

use std::collections::BTreeMap;

use fingerpost::{Board, Fraction, Roadmap};

use super::lines::Played;

/// The route in units: measures, and parts of measures where the road cuts one.
pub(super) struct Order {
    pub(super) played: Vec<Played>,
    /// Where measures are cut.
    cuts: BTreeMap<u16, Vec<Fraction>>,
    /// For each unit its measure, from 1.
    pub(super) measures: Vec<u16>,
}

impl Order {
    /// The caller has seen to it that the route is not too long.
    pub(super) fn new(board: &Board, roadmap: &Roadmap) -> Order {
        let mut cuts: BTreeMap<u16, Vec<Fraction>> = BTreeMap::new();
        let mut highest = vec![1_u32; usize::from(board.measures()) + 1];
        for step in roadmap.steps() {
            if let Some(highest) = highest.get_mut(usize::from(step.measure)) {
                *highest = step.pass.max(*highest);
            }
            let Some(part) = step.part else { continue };
            let of_measure = cuts.entry(step.measure).or_default();
            let length = board.measure_length(step.measure);
            for cut in [part.from, part.to] {
                let is_inside =
                    cut.numerator() > 0 && length.is_none_or(|length| before(cut, length));
                if is_inside && !of_measure.contains(&cut) {
                    of_measure.push(cut);
                }
            }
        }
        for of_measure in cuts.values_mut() {
            of_measure.sort_by(|a, b| before(*b, *a).cmp(&before(*a, *b)));
        }
        let mut first = vec![0_u32];
        let mut measures = Vec::new();
        for measure in 1..=board.measures() {
            first.push(u32::try_from(measures.len()).unwrap_or(u32::MAX));
            let parts = cuts.get(&measure).map_or(0, Vec::len) + 1;
            measures.extend(std::iter::repeat_n(measure, parts));
        }
        let mut known = vec![false; measures.len()];
        let played = roadmap.steps().map(|step| {
            let of_measure = cuts.get(&step.measure).map_or(&[][..], Vec::as_slice);
            let at = step.part.map_or(0, |part| {
                of_measure
                    .iter()
                    .filter(|cut| !before(part.from, **cut))
                    .count()
            });
            let first = first.get(usize::from(step.measure)).copied().unwrap_or(0);
            let unit = first + u32::try_from(at).unwrap_or(0);
            let again = known
                .get_mut(unit as usize)
                .is_some_and(|known| std::mem::replace(known, true));
            // A measure that no repeat encloses knows no passes: it counts how often it comes.
            let repeats = highest
                .get(usize::from(step.measure))
                .is_some_and(|highest| *highest > 1);
            let pass = if repeats {
                step.pass
            } else {
                u32::try_from(step.visit).unwrap_or(u32::MAX)
            };
            Played { unit, pass, again }
        });
        Order {
            played: played.collect(),
            cuts,
            measures,
        }
    }

    /// Where a measure is cut.
    pub(super) fn cuts(&self, measure: u16) -> &[Fraction] {
        self.cuts.get(&measure).map_or(&[], Vec::as_slice)
    }

    pub(super) fn cut_measures(&self) -> impl Iterator<Item = u16> + '_ {
        self.cuts.keys().copied()
    }
}

/// Whether one place stands before another.
fn before(a: Fraction, b: Fraction) -> bool {
    u64::from(a.numerator()) * u64::from(b.denominator())
        < u64::from(b.numerator()) * u64::from(a.denominator())
}
