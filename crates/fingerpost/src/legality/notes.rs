//! When a part may be played and when an octave sign, a fermata or an `only` holds: sets of times, and what they have in common.

use std::collections::{BTreeSet, HashSet};

use super::sheet::{Road, Sheet};
use crate::board::{Marking, Passes, Place, Sign, When};
use crate::roadmap::row::PartIndex;

/// The most parts that are looked at, all signs of one kind together. Beyond it a sign is taken to have its effect.
const MOST_LOOKS: usize = 2_000_000;

/// Times: the passes of the innermost section, in leg 1 and in later legs. The passes are ranges, rising, with a gap between neighbours.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct TimeSet {
    pub(crate) out: Vec<(u32, u32)>,
    pub(crate) back: Vec<(u32, u32)>,
}

impl TimeSet {
    /// The times at which the route may play a part: every time at which it does is among them.
    pub(crate) fn of_part(road: &Road<'_>, part: PartIndex) -> TimeSet {
        let times = road.coverage.times(part);
        let sheet = &road.sheet;
        let number = sheet.sections.at(part);
        let ending = number.and_then(|number| sheet.ending_at(sheet.sections.get(number)?, part));
        let in_leg = |back: bool| {
            let mut ranges = Vec::new();
            ranges.extend(times.on_first(back).then_some((1, 1)));
            let highest = number.map_or(1, |number| road.coverage.highest_pass(number, back));
            if times.on_repeat(back) && highest >= 2 {
                let from = if ranges.is_empty() { 2 } else { 1 };
                ranges = vec![(from, highest)];
            }
            match ending {
                Some(ending) => meet(&ranges, ending.passes.ranges()),
                None => ranges,
            }
        };
        TimeSet {
            out: in_leg(false),
            back: in_leg(true),
        }
    }

    /// The times, of those given, at which a mark at a part holds.
    pub(crate) fn holding(&self, when: &When, passes: u32) -> TimeSet {
        let ranges = |ranges: &[(u32, u32)]| TimeSet {
            out: meet(&self.out, ranges),
            back: meet(&self.back, ranges),
        };
        match when {
            When::EveryPass => self.clone(),
            When::OnRepeat => ranges(&[(2, u32::MAX)]),
            When::LastPass => ranges(&[(passes, passes)]),
            When::OnReturn => TimeSet {
                out: Vec::new(),
                back: self.back.clone(),
            },
            When::Passes(list) => ranges(list.ranges()),
        }
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.out.is_empty() && self.back.is_empty()
    }

    /// Where its ranges begin: in which leg (a later one or not), on which pass.
    pub(crate) fn begins(&self) -> impl Iterator<Item = (bool, u32)> {
        let out = self.out.iter().map(|&(from, _)| (false, from));
        out.chain(self.back.iter().map(|&(from, _)| (true, from)))
    }

    pub(crate) fn has(&self, back: bool, pass: u32) -> bool {
        let ranges = if back { &self.back } else { &self.out };
        ranges.iter().any(|&(from, to)| from <= pass && pass <= to)
    }
}

/// The ranges that two lists of ranges have in common.
fn meet(some: &[(u32, u32)], others: &[(u32, u32)]) -> Vec<(u32, u32)> {
    let (mut one, mut other) = (some.iter().peekable(), others.iter().peekable());
    let mut common = Vec::new();
    while let (Some(&&(a, b)), Some(&&(c, d))) = (one.peek(), other.peek()) {
        if a.max(c) <= b.min(d) {
            common.push((a.max(c), b.min(d)));
        }
        if b < d {
            one.next();
        } else {
            other.next();
        }
    }
    common
}

/// A mark over measures that changes no order, with its parts.
pub(crate) struct NoteAt<'a> {
    pub(crate) marking: u32,
    pub(crate) sign: &'a Sign,
    pub(crate) first: PartIndex,
    pub(crate) last: PartIndex,
}

impl NoteAt<'_> {
    /// Whether something is so at a part that the mark covers and the route plays; `None` when it plays none of them. `is_so` is given the
    /// part, the times at which it may be played, and the number of passes there.
    pub(crate) fn somewhere(
        &self,
        road: &Road<'_>,
        looks: &mut Looks,
        mut is_so: impl FnMut(PartIndex, &TimeSet, u32) -> bool,
    ) -> Option<bool> {
        let mut played = false;
        for part in self.first..=self.last {
            if looks.are_over() {
                return Some(true);
            }
            if !road.played(part) {
                continue;
            }
            played = true;
            let times = TimeSet::of_part(road, part);
            if is_so(part, &times, passes_at(&road.sheet, part)) {
                return Some(true);
            }
        }
        played.then_some(false)
    }
}

/// The most signs of one kind over one measure that are looked at.
const MOST_LAYERS: usize = 16;

/// Signs that overlap: which of them lie over which parts.
pub(crate) struct Layers<'a> {
    notes: &'a [NoteAt<'a>],
    /// Rows of parts over which the same signs lie, by rising parts: the first part, the signs (the earliest of them, at most
    /// [`MOST_LAYERS`]) and whether there are more.
    rows: Vec<(PartIndex, Vec<u32>, bool)>,
}

impl<'a> Layers<'a> {
    pub(crate) fn new(notes: &'a [NoteAt<'a>]) -> Layers<'a> {
        // At each part first those that are over before it.
        let mut changes: Vec<(PartIndex, bool, u32)> = Vec::with_capacity(2 * notes.len());
        for (at, note) in notes.iter().enumerate() {
            let at = u32::try_from(at).unwrap_or(u32::MAX);
            changes.push((note.first, true, at));
            changes.push((note.last + 1, false, at));
        }
        changes.sort_unstable();
        let mut over: BTreeSet<(PartIndex, u32)> = BTreeSet::new();
        let mut rows: Vec<(PartIndex, Vec<u32>, bool)> = Vec::new();
        for together in changes.chunk_by(|a, b| a.0 == b.0) {
            for &(part, begins, at) in together {
                let first = notes.get(at as usize).map_or(part, |note| note.first);
                if begins {
                    over.insert((first, at));
                } else {
                    over.remove(&(first, at));
                }
            }
            if let Some(&(part, ..)) = together.first() {
                let first = over.iter().take(MOST_LAYERS).map(|&(_, at)| at).collect();
                rows.push((part, first, over.len() > MOST_LAYERS));
            }
        }
        Layers { notes, rows }
    }

    /// The signs over a part; `None` when there are too many to look at.
    pub(crate) fn at(&self, part: PartIndex) -> Option<Vec<&'a NoteAt<'a>>> {
        let after = self.rows.partition_point(|row| row.0 <= part);
        match after.checked_sub(1).and_then(|at| self.rows.get(at)) {
            Some((_, _, true)) => None,
            Some((_, over, false)) => Some(self.numbered(over)),
            None => Some(Vec::new()),
        }
    }

    /// Goes through the parts over which two signs or more lie and that the route plays, with the first signs there, the times at which
    /// the part may be played and its number of passes; parts that differ in none of these are seen once.
    pub(crate) fn each_crowded(
        &self,
        road: &Road<'_>,
        looks: &mut Looks,
        mut see: impl FnMut(&[&'a NoteAt<'a>], &TimeSet, u32),
    ) {
        let ends = self.rows.iter().skip(1).map(|row| row.0);
        for ((first, over, _), end) in self.rows.iter().zip(ends) {
            if over.len() < 2 {
                continue;
            }
            let over = self.numbered(over);
            let mut last = None;
            for part in *first..end {
                if looks.are_over() {
                    return;
                }
                if road.played(part) {
                    let now = (TimeSet::of_part(road, part), passes_at(&road.sheet, part));
                    if last.as_ref() != Some(&now) {
                        see(&over, &now.0, now.1);
                        last = Some(now);
                    }
                }
            }
        }
    }

    fn numbered(&self, numbers: &[u32]) -> Vec<&'a NoteAt<'a>> {
        let notes = self.notes;
        numbers
            .iter()
            .filter_map(|&at| notes.get(at as usize))
            .collect()
    }
}

/// How many parts have been looked at.
#[derive(Default)]
pub(crate) struct Looks(usize);

impl Looks {
    fn are_over(&mut self) -> bool {
        self.0 += 1;
        self.0 > MOST_LOOKS
    }
}

/// The number of passes of the innermost section that holds a part.
pub(crate) fn passes_at(sheet: &Sheet<'_>, part: PartIndex) -> u32 {
    sheet
        .around(part)
        .next()
        .map_or(1, |section| section.passes)
}

/// The octave signs, fermatas and hands that play at some times only, in the order of their markings, equal ones at one place once.
pub(crate) fn notes<'a>(sheet: &Sheet<'a>) -> impl Iterator<Item = NoteAt<'a>> + use<'a> {
    let (board, row) = (sheet.board, sheet.row);
    let mut seen: HashSet<(&Sign, Place)> = HashSet::new();
    let markings = board.markings().iter().enumerate();
    markings.filter_map(move |(index, marking): (usize, &Marking)| {
        let sign = marking.sign();
        when_of(sign)?;
        let place = marking.place();
        seen.insert((sign, place)).then(|| NoteAt {
            marking: u32::try_from(index).unwrap_or(u32::MAX),
            sign,
            first: row.parts_of(place.first()).start,
            last: row.parts_of(place.last()).end.saturating_sub(1),
        })
    })
}

/// The octave signs alone.
pub(crate) fn octaves<'a>(sheet: &Sheet<'a>) -> Vec<NoteAt<'a>> {
    notes(sheet)
        .filter(|note| matches!(note.sign, Sign::Octave(_)))
        .collect()
}

/// When a mark that changes no order holds; `None` for other signs.
pub(crate) fn when_of(sign: &Sign) -> Option<&When> {
    match sign {
        Sign::Octave(octave) => Some(&octave.when),
        Sign::Fermata(fermata) => Some(&fermata.when),
        Sign::Only(only) => Some(&only.when),
        _ => None,
    }
}

/// The list of passes of a mark that changes no order.
pub(crate) fn passes_of(sign: &Sign) -> Option<&Passes> {
    match when_of(sign)? {
        When::Passes(passes) => Some(passes),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::meet;

    /// Each set of the numbers from 1 to 6, as ranges.
    fn sets() -> impl Iterator<Item = (Vec<u32>, Vec<(u32, u32)>)> {
        (0..64_u32).map(|bits| {
            let numbers: Vec<u32> = (1..=6)
                .filter(|number| bits >> (number - 1) & 1 == 1)
                .collect();
            let mut ranges: Vec<(u32, u32)> = Vec::new();
            for &number in &numbers {
                match ranges.last_mut() {
                    Some(last) if last.1 + 1 == number => last.1 = number,
                    _ => ranges.push((number, number)),
                }
            }
            (numbers, ranges)
        })
    }

    #[test]
    fn two_lists_meet_in_the_numbers_of_both() {
        for (some, ranges) in sets() {
            for (others, other_ranges) in sets() {
                let common = meet(&ranges, &other_ranges);
                let common: Vec<u32> = common.iter().flat_map(|&(from, to)| from..=to).collect();
                let both: Vec<u32> = some
                    .iter()
                    .copied()
                    .filter(|it| others.contains(it))
                    .collect();
                assert_eq!(common, both, "{some:?} and {others:?}");
            }
        }
    }
}
