//! Sections: what each repeat encloses, found by scanning the row from left to right. Rulebook, chapter 2.

use super::laid::{Laid, StartAt};
use super::row::PartIndex;
use crate::board::{Plays, Repeats};
use crate::reading::{LoneEndRepeat, Nested, Reading};

/// A section's number. Sections are numbered in order of their starts, an outer one before those inside it.
pub(crate) type SectionIndex = u32;

/// What one repeat encloses.
#[derive(Clone, Debug)]
pub(crate) struct Section {
    pub(crate) start: PartIndex,
    /// The start repeat that opens it; absent when its start is implied.
    pub(crate) opened_by: Option<u32>,
    /// Its last part, endings included.
    pub(crate) end: PartIndex,
    /// How many passes it has.
    pub(crate) passes: u32,
    /// The open end repeat (a vamp) that gives its passes.
    pub(crate) open: Option<u32>,
    /// Whether a jump stands in place of an end repeat in one of its endings.
    pub(crate) jump_closed: bool,
    pub(crate) on_return: Option<Repeats>,
    /// Its endings: indices into [`Laid::endings`], in written order.
    pub(crate) endings: Vec<u32>,
    /// The group of endings that ends it: a range of `endings`.
    pub(crate) closing: std::ops::Range<usize>,
    /// Its end repeats: indices into [`Laid::ends`], in written order.
    pub(crate) ends: Vec<u32>,
    /// The section around it.
    pub(crate) parent: Option<SectionIndex>,
    /// The first number after those of the sections inside it.
    pub(crate) after_inner: SectionIndex,
    /// How many sections are around it.
    pub(crate) depth: u8,
}

/// The sections of a board under a reading.
#[derive(Clone, Debug)]
pub(crate) struct Sections {
    pub(crate) list: Vec<Section>,
    /// The innermost section that holds each part.
    pub(crate) innermost: Vec<Option<SectionIndex>>,
    /// The deepest nesting found, counted from 1; above 8 it is an error.
    pub(crate) deepest: usize,
    /// The start repeats that open no section.
    pub(crate) unclosed: Vec<u32>,
}

/// The deepest that sections may be nested.
pub(crate) const DEEPEST: usize = 8;

impl Sections {
    /// Finds the sections. `open_plays` is how often an open section is played.
    pub(crate) fn new(
        laid: &Laid,
        length: PartIndex,
        reading: Reading,
        open_plays: u32,
    ) -> Sections {
        let mut scan = Scan {
            laid,
            reading,
            open: Vec::new(),
            closing: None,
            done: Vec::new(),
            last_end: None,
            unclosed: Vec::new(),
        };
        scan.run();
        let unclosed = std::mem::take(&mut scan.unclosed);
        let mut list: Vec<Section> = scan
            .done
            .into_iter()
            .map(|found| found.section(laid, open_plays))
            .collect();
        list.sort_by_key(|section| (section.start, std::cmp::Reverse(section.end)));
        let deepest = nest(&mut list);
        let innermost = innermost(&list, length);
        Sections {
            list,
            innermost,
            deepest,
            unclosed,
        }
    }

    pub(crate) fn get(&self, index: SectionIndex) -> Option<&Section> {
        self.list.get(index as usize)
    }

    /// The innermost section that holds a part.
    pub(crate) fn at(&self, part: PartIndex) -> Option<SectionIndex> {
        self.innermost.get(part as usize).copied().flatten()
    }

    /// Whether two readings give the same sections.
    pub(crate) fn same_as(&self, other: &Sections) -> bool {
        let key = |s: &Section| (s.start, s.end, s.passes);
        self.list.len() == other.list.len()
            && self
                .list
                .iter()
                .zip(&other.list)
                .all(|(a, b)| key(a) == key(b) && a.endings == b.endings && a.ends == b.ends)
    }
}

impl Section {
    /// The section's ending that holds a part.
    pub(crate) fn ending_at(&self, laid: &Laid, part: PartIndex) -> Option<u32> {
        let first_of = |&index: &u32| {
            laid.endings
                .get(index as usize)
                .map_or(0, |ending| ending.first)
        };
        let after = self
            .endings
            .partition_point(|index| first_of(index) <= part);
        let index = *self.endings.get(after.checked_sub(1)?)?;
        laid.endings
            .get(index as usize)
            .filter(|ending| part <= ending.last)
            .map(|_| index)
    }

    /// The last of its passes on which a part is played: its number of passes, or the highest of the ending that holds the part. `None` when
    /// it is never played.
    pub(crate) fn last_pass_at(&self, laid: &Laid, part: PartIndex) -> Option<u32> {
        match self
            .ending_at(laid, part)
            .and_then(|index| laid.endings.get(index as usize))
        {
            Some(ending) => ending.passes.highest_up_to(self.passes),
            None => Some(self.passes),
        }
    }
}

/// Fills in who is around whom, and returns the deepest nesting. The list is sorted by start, longer first.
fn nest(list: &mut [Section]) -> usize {
    let number = |i: usize| SectionIndex::try_from(i).unwrap_or(SectionIndex::MAX);
    let mut around: Vec<usize> = Vec::new();
    let mut deepest = 0;
    for index in 0..list.len() {
        // cannot fail: `index` runs over the list, and `around` holds indices of it.
        let start = list[index].start;
        while let Some(&outer) = around.last().filter(|&&outer| list[outer].end < start) {
            around.pop();
            list[outer].after_inner = number(index);
        }
        list[index].parent = around.last().copied().map(number);
        list[index].depth = u8::try_from(around.len()).unwrap_or(u8::MAX);
        around.push(index);
        deepest = deepest.max(around.len());
    }
    for outer in around {
        // cannot fail: as above.
        list[outer].after_inner = number(list.len());
    }
    deepest
}

/// The innermost section of each part.
fn innermost(list: &[Section], length: PartIndex) -> Vec<Option<SectionIndex>> {
    let mut innermost = Vec::with_capacity(length as usize);
    let mut around: Vec<SectionIndex> = Vec::new();
    let mut next = 0;
    let end_of = |index: SectionIndex| list.get(index as usize).map_or(0, |section| section.end);
    for part in 0..length {
        while around.last().is_some_and(|&index| end_of(index) < part) {
            around.pop();
        }
        while list.get(next).is_some_and(|section| section.start == part) {
            around.push(SectionIndex::try_from(next).unwrap_or(SectionIndex::MAX));
            next += 1;
        }
        innermost.push(around.last().copied());
    }
    innermost
}

/// A section while it is being found.
#[derive(Debug)]
struct Found {
    start: PartIndex,
    opened_by: Option<u32>,
    endings: Vec<u32>,
    ends: Vec<u32>,
    /// Its last part, as far as it is known.
    end: PartIndex,
}

struct Scan<'a> {
    laid: &'a Laid,
    reading: Reading,
    /// The open sections, innermost last.
    open: Vec<Found>,
    /// The section that has met its end repeat and may still go on with endings.
    closing: Option<Found>,
    done: Vec<Found>,
    /// The last part of the sections done.
    last_end: Option<PartIndex>,
    unclosed: Vec<u32>,
}

impl Scan<'_> {
    fn run(&mut self) {
        // At each part first a start repeat, then an ending that begins, then an end repeat.
        let laid = self.laid;
        let (mut starts, mut endings, mut ends) = (0, 0, 0);
        loop {
            let start = laid
                .starts
                .get(starts)
                .map_or(u64::MAX, |s| u64::from(s.part) * 4);
            let ending = laid
                .endings
                .get(endings)
                .map_or(u64::MAX, |e| u64::from(e.first) * 4 + 1);
            let end = laid
                .ends
                .get(ends)
                .map_or(u64::MAX, |e| u64::from(e.part) * 4 + 2);
            let next = start.min(ending).min(end);
            if next == u64::MAX {
                break;
            } else if next == start {
                if let Some(&start) = laid.starts.get(starts) {
                    self.start_repeat(start);
                }
                starts += 1;
            } else if next == ending {
                self.ending(endings);
                endings += 1;
            } else {
                self.end_repeat(ends);
                ends += 1;
            }
        }
        self.close();
        self.drop_open();
    }

    fn start_repeat(&mut self, start: StartAt) {
        // An ending that begins here, too, would still belong to the section that has just met its end repeat.
        if self
            .closing
            .as_ref()
            .is_some_and(|found| found.end.saturating_add(1) < start.part)
        {
            self.close();
        }
        if self.reading.nested == Nested::Flat {
            self.drop_open();
        }
        self.open.push(Found {
            start: start.part,
            opened_by: Some(start.marking),
            endings: Vec::new(),
            ends: Vec::new(),
            end: start.part,
        });
    }

    fn ending(&mut self, index: usize) {
        let Some(ending) = self.laid.endings.get(index) else {
            return;
        };
        let number = u32::try_from(index).unwrap_or(u32::MAX);
        if let Some(closing) = self
            .closing
            .as_mut()
            .filter(|found| ending.first <= found.end.saturating_add(1))
        {
            closing.endings.push(number);
            closing.end = closing.end.max(ending.last);
            return;
        }
        self.close();
        if self.open.is_empty() {
            let found = self.implied(ending.first);
            self.open.push(found);
        }
        if let Some(innermost) = self.open.last_mut() {
            innermost.endings.push(number);
            innermost.end = innermost.end.max(ending.last);
        }
    }

    fn end_repeat(&mut self, index: usize) {
        let Some(end) = self.laid.ends.get(index) else {
            return;
        };
        let number = u32::try_from(index).unwrap_or(u32::MAX);
        let part = end.part;
        if let Some(closing) = self.closing.as_mut().filter(|found| part <= found.end) {
            closing.ends.push(number);
            return;
        }
        self.close();
        let innermost = self.open.pop();
        let mut found = innermost.unwrap_or_else(|| self.implied(part));
        found.ends.push(number);
        // An end repeat in an ending ends the section with that ending; one outside endings ends it here.
        found.end = found.end.max(part);
        self.closing = Some(found);
    }

    /// A section whose start is not written, seen from a part in it.
    fn implied(&self, part: PartIndex) -> Found {
        let after_section = self.last_end.map_or(0, |end| end + 1);
        let start = match self.reading.lone_end_repeat {
            LoneEndRepeat::AfterPreviousSection => after_section,
            LoneEndRepeat::Beginning => 0,
            LoneEndRepeat::AfterDoubleBar => {
                let before = self.laid.double_bars.partition_point(|&bar| bar < part);
                let after_bar = before
                    .checked_sub(1)
                    .and_then(|at| self.laid.double_bars.get(at))
                    .map_or(0, |bar| bar + 1);
                after_section.max(after_bar)
            }
        };
        Found {
            start: start.min(part),
            opened_by: None,
            endings: Vec::new(),
            ends: Vec::new(),
            end: part,
        }
    }

    /// The section that has met its end repeat is done.
    fn close(&mut self) {
        if let Some(found) = self.closing.take() {
            self.finish(found);
        }
    }

    /// Open sections with endings are done after their last ending; without endings they are none.
    fn drop_open(&mut self) {
        for found in std::mem::take(&mut self.open) {
            if found.endings.is_empty() {
                self.unclosed.extend(found.opened_by);
            } else {
                self.finish(found);
            }
        }
    }

    fn finish(&mut self, found: Found) {
        self.last_end = self.last_end.max(Some(found.end));
        self.done.push(found);
    }
}

impl Found {
    fn section(self, laid: &Laid, open_plays: u32) -> Section {
        let closing = self.closing_group(laid);
        let own = |number: u32| laid.endings.get(number as usize);
        let group = self.endings.get(closing.clone()).unwrap_or_default();
        let highest_of = |numbers: &[u32]| {
            numbers
                .iter()
                .filter_map(|&n| own(n))
                .map(|e| e.passes.highest())
                .max()
        };
        let holds_end = group
            .iter()
            .filter_map(|&n| own(n))
            .any(|e| self.has_end_in(laid, e.first, e.last));
        let jump_at = |part: PartIndex| !laid.jumps_at(part).is_empty();
        let lone_jump = self.ends.is_empty()
            && group
                .last()
                .and_then(|&n| own(n))
                .is_some_and(|e| jump_at(e.last));
        let mut open = None;
        let passes = match group.len() {
            2.. => highest_of(group).unwrap_or(1),
            1 if holds_end || lone_jump => highest_of(group).unwrap_or(1).saturating_add(1),
            _ if self.ends.is_empty() => highest_of(&self.endings).unwrap_or(1),
            _ => {
                let mut plays = 0;
                for end in self.ends.iter().filter_map(|&n| laid.ends.get(n as usize)) {
                    plays = plays.max(match end.plays {
                        None => 2,
                        Some(Plays::Times(times)) => times,
                        Some(Plays::Open) => {
                            open = Some(end.marking);
                            0
                        }
                    });
                }
                if open.is_some() {
                    plays = open_plays;
                }
                plays.max(highest_of(&self.endings).unwrap_or(0))
            }
        };
        let jump_closed = group.iter().filter_map(|&n| own(n)).any(|e| {
            e.passes.lowest() < passes && jump_at(e.last) && !self.has_end_in(laid, e.last, e.last)
        });
        let on_return = self
            .ends
            .iter()
            .filter_map(|&n| laid.ends.get(n as usize))
            .find_map(|end| end.on_return.first())
            .map(|&(answer, _)| answer);
        Section {
            start: self.start,
            opened_by: self.opened_by,
            end: self.end,
            passes: passes.max(1),
            open,
            jump_closed,
            on_return,
            endings: self.endings,
            closing,
            ends: self.ends,
            parent: None,
            after_inner: 0,
            depth: 0,
        }
    }

    /// The group of endings in which an end repeat of this section stands; without an end repeat, the last group.
    fn closing_group(&self, laid: &Laid) -> std::ops::Range<usize> {
        let mut groups = laid.groups(&self.endings);
        if self.ends.is_empty() {
            return groups.pop().unwrap_or(0..0);
        }
        let holds = |group: &std::ops::Range<usize>| {
            let mut endings = group
                .clone()
                .filter_map(|at| laid.ending(&self.endings, at));
            endings.any(|ending| self.has_end_in(laid, ending.first, ending.last))
        };
        groups.into_iter().find(holds).unwrap_or(0..0)
    }

    /// Whether an end repeat of this section stands at the end of one of the parts from `first` to `last`.
    fn has_end_in(&self, laid: &Laid, first: PartIndex, last: PartIndex) -> bool {
        let part_of = |number: u32| laid.ends.get(number as usize).map_or(0, |end| end.part);
        let at = self.ends.partition_point(|&number| part_of(number) < first);
        self.ends
            .get(at)
            .is_some_and(|&number| part_of(number) <= last)
    }
}
