//! The path through a section on each pass, and how long everything is, worked out once.
//!
//! A *level* is a section, or the whole row outside all sections. Seen from a level, the row is a list of single parts and of whole
//! inner sections. On a pass, the path through a level is a list of stretches between the endings that are passed over. Lengths are
//! kept as running sums, for three *manners* of coming to an inner section: for the first time, or once it is finished on a return that
//! skips repeats or plays them. From these sums the length of any stretch is a difference, whatever repeats lie in it.

use std::collections::BTreeSet;

use super::laid::Laid;
use super::row::PartIndex;
use super::sections::{Section, SectionIndex, Sections};
use crate::board::Repeats;

/// The whole row, as a level.
pub(crate) const ROW: SectionIndex = SectionIndex::MAX;

/// The longest route there is, in steps; a longer one is an error.
pub(crate) const LONGEST: u128 = 1_000_000_000_000_000_000;

/// Lengths above this are all alike: far beyond any route, and their sums still fit.
const FAR: u128 = 1 << 100;

/// The most stretches a roadmap may have, for all passes and for the route; beyond it the board is an error.
pub(crate) const MOST_STRETCHES: usize = 2_000_000;

/// How the sections in a stretch are come to.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Manner {
    /// For the first time, or anew after a section around them went back.
    First,
    /// Finished before, on a return that skips repeats.
    Skipping,
    /// Finished before, on a return that plays repeats.
    Playing,
}

impl Manner {
    const ALL: [Manner; 3] = [Manner::First, Manner::Skipping, Manner::Playing];
}

/// A stretch of a level's path, both ends included.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stretch {
    pub(crate) from: PartIndex,
    pub(crate) to: PartIndex,
    /// The first ending passed over just before it: its marking.
    pub(crate) passed: Option<u32>,
}

/// Passes of a section on which its path is the same.
#[derive(Clone, Debug)]
pub(crate) struct Path {
    pub(crate) first_pass: u32,
    pub(crate) last_pass: u32,
    pub(crate) stretches: Vec<Stretch>,
    /// The end repeat at which the path goes back: its marking. Without one it leaves the section.
    pub(crate) goes_back: Option<u32>,
    /// The first ending passed over on leaving: its marking.
    pub(crate) trailing: Option<u32>,
    /// Its length, by manner.
    lengths: [u128; 3],
}

/// Paths and lengths of every level.
#[derive(Clone, Debug)]
pub(crate) struct Paths {
    /// For each section its paths by rising passes.
    by_section: Vec<Vec<Path>>,
    row_path: Path,
    /// For each manner and part: how much of its level comes before it.
    before_part: [Vec<u128>; 3],
    /// For each manner and section: how much of the level around it comes before it.
    before_section: [Vec<u128>; 3],
    /// For each manner and section: its length.
    section_lengths: [Vec<u128>; 3],
    /// For each manner and section: the pass on which it is entered, and the one on which it is left.
    visits: [Vec<(u32, u32)>; 3],
    /// Whether every pass of the section and of those inside it but the last one goes back.
    regular: Vec<bool>,
    omit_repeats: bool,
}

impl Paths {
    /// Works them out; `None` when there are more than [`MOST_STRETCHES`].
    pub(crate) fn new(
        laid: &Laid,
        sections: &Sections,
        length: PartIndex,
        omit_repeats: bool,
    ) -> Option<Paths> {
        let mut stretches = 0;
        let mut by_section = Vec::with_capacity(sections.list.len());
        for section in &sections.list {
            by_section.push(paths_of(section, laid, &mut stretches)?);
        }
        let count = sections.list.len();
        let row_path = Path {
            first_pass: 1,
            last_pass: 1,
            stretches: vec![Stretch {
                from: 0,
                to: length.saturating_sub(1),
                passed: None,
            }],
            goes_back: None,
            trailing: None,
            lengths: [0; 3],
        };
        let mut paths = Paths {
            by_section,
            row_path,
            before_part: std::array::from_fn(|_| vec![0; length as usize]),
            before_section: std::array::from_fn(|_| vec![0; count]),
            section_lengths: std::array::from_fn(|_| vec![0; count]),
            visits: std::array::from_fn(|_| vec![(1, 1); count]),
            regular: vec![true; count],
            omit_repeats,
        };
        // Inner sections have higher numbers than those around them: going down, each finds its inner lengths ready.
        for index in (0..count).rev() {
            let number = SectionIndex::try_from(index).unwrap_or(SectionIndex::MAX);
            paths.measure(sections, number);
        }
        paths.sum_level(sections, ROW, 0, length.saturating_sub(1));
        Some(paths)
    }

    /// The path of a level on a pass.
    pub(crate) fn path(&self, level: SectionIndex, pass: u32) -> &Path {
        let list = self
            .by_section
            .get(level as usize)
            .map(Vec::as_slice)
            .unwrap_or_default();
        let after = list.partition_point(|path| path.first_pass <= pass);
        after
            .checked_sub(1)
            .and_then(|at| list.get(at))
            .unwrap_or(&self.row_path)
    }

    /// The paths of a section by rising passes.
    pub(crate) fn paths(&self, section: SectionIndex) -> &[Path] {
        self.by_section
            .get(section as usize)
            .map(Vec::as_slice)
            .unwrap_or_default()
    }

    /// The first pass, from `pass` on, on which the section is left.
    pub(crate) fn leaving_pass(&self, section: SectionIndex, pass: u32) -> u32 {
        let list = self.paths(section);
        let at = list.partition_point(|path| path.last_pass < pass);
        let leaving = list
            .get(at..)
            .unwrap_or_default()
            .iter()
            .find(|path| path.goes_back.is_none());
        leaving.map_or(pass, |path| path.first_pass.max(pass))
    }

    /// Whether every pass but the last goes back, in the section and in those inside it.
    pub(crate) fn is_regular(&self, section: SectionIndex) -> bool {
        self.regular.get(section as usize).copied().unwrap_or(true)
    }

    /// The pass on which a section is entered in a manner.
    fn entry(&self, section: &Section, manner: Manner) -> u32 {
        if self.omit_repeats && !section.jump_closed {
            return section.passes;
        }
        let answer = match manner {
            Manner::First => return 1,
            Manner::Skipping => section.on_return.unwrap_or(Repeats::Skip),
            Manner::Playing => section.on_return.unwrap_or(Repeats::Play),
        };
        if answer == Repeats::Play && !section.jump_closed {
            1
        } else {
            section.passes
        }
    }

    /// The passes on which a section come to in a manner is entered and left.
    pub(crate) fn visit(&self, section: SectionIndex, manner: Manner) -> (u32, u32) {
        let visits = self.visits.get(manner as usize);
        visits
            .and_then(|visits| visits.get(section as usize))
            .copied()
            .unwrap_or((1, 1))
    }

    /// The length of a whole section come to in a manner.
    pub(crate) fn section_length(&self, section: SectionIndex, manner: Manner) -> u128 {
        self.section_lengths
            .get(manner as usize)
            .and_then(|list| list.get(section as usize))
            .copied()
            .unwrap_or(0)
    }

    /// The length of the passes from `first` to `last` of a section, its inner sections come to in `manner` on the first of them and anew on
    /// the others.
    pub(crate) fn passes_length(
        &self,
        section: SectionIndex,
        first: u32,
        last: u32,
        manner: Manner,
    ) -> u128 {
        let begins = self
            .path(section, first)
            .lengths
            .get(manner as usize)
            .copied()
            .unwrap_or(0);
        begins.saturating_add(self.anew_length(section, first.saturating_add(1), last))
    }

    /// The length of passes whose inner sections are all come to anew.
    pub(crate) fn anew_length(&self, section: SectionIndex, first: u32, last: u32) -> u128 {
        let lengths = self.between(section, first, last).map(|(path, times)| {
            let once = path.lengths.first().copied().unwrap_or(0);
            once.saturating_mul(u128::from(times))
        });
        lengths.fold(0, u128::saturating_add).min(FAR)
    }

    /// The paths of the passes from `first` to `last` of a section, and how many of these passes each is for.
    pub(crate) fn between(
        &self,
        section: SectionIndex,
        first: u32,
        last: u32,
    ) -> impl Iterator<Item = (&Path, u32)> {
        let paths = self.paths(section);
        let from = paths.partition_point(|path| path.last_pass < first);
        let meeting = paths.get(from..).unwrap_or_default().iter();
        let meeting = meeting.take_while(move |path| first <= last && path.first_pass <= last);
        meeting.map(move |path| {
            let times = path.last_pass.min(last) - path.first_pass.max(first) + 1;
            (path, times)
        })
    }

    /// How much of a level comes before a part of it (or before the inner section that starts there), from the level's start.
    pub(crate) fn before(
        &self,
        sections: &Sections,
        level: SectionIndex,
        part: PartIndex,
        manner: Manner,
    ) -> u128 {
        match inner_at(sections, level, part) {
            Some(inner) => self
                .before_section
                .get(manner as usize)
                .and_then(|list| list.get(inner as usize)),
            None => self
                .before_part
                .get(manner as usize)
                .and_then(|list| list.get(part as usize)),
        }
        .copied()
        .unwrap_or(0)
    }

    /// The length of a stretch of a level, both ends included.
    pub(crate) fn stretch_length(
        &self,
        sections: &Sections,
        level: SectionIndex,
        from: PartIndex,
        to: PartIndex,
        manner: Manner,
    ) -> u128 {
        let last = match inner_at(sections, level, to) {
            Some(inner) => self.section_length(inner, manner),
            None => 1,
        };
        let before = self.before(sections, level, from, manner);
        (self.before(sections, level, to, manner) + last).saturating_sub(before)
    }

    /// Works out the sums of a section's level, the lengths of its paths and its own length.
    fn measure(&mut self, sections: &Sections, number: SectionIndex) {
        let Some(section) = sections.get(number) else {
            return;
        };
        self.sum_level(sections, number, section.start, section.end);
        let mut paths = self
            .by_section
            .get_mut(number as usize)
            .map(std::mem::take)
            .unwrap_or_default();
        for path in &mut paths {
            for manner in Manner::ALL {
                let length: u128 = path
                    .stretches
                    .iter()
                    .map(|stretch| {
                        self.stretch_length(sections, number, stretch.from, stretch.to, manner)
                    })
                    .sum();
                // cannot fail: a manner is one of three.
                path.lengths[manner as usize] = length.min(FAR);
            }
        }
        let leaves_early = paths
            .iter()
            .any(|path| path.goes_back.is_none() && path.last_pass < section.passes);
        let inner = number as usize + 1..section.after_inner as usize;
        let inner_regular = self
            .regular
            .get(inner)
            .unwrap_or_default()
            .iter()
            .all(|&regular| regular);
        if let Some(slot) = self.regular.get_mut(number as usize) {
            *slot = inner_regular && !leaves_early;
        }
        if let Some(slot) = self.by_section.get_mut(number as usize) {
            *slot = paths;
        }
        for manner in Manner::ALL {
            let entry = self.entry(section, manner);
            let leaving = self.leaving_pass(number, entry);
            let length = self.passes_length(number, entry, leaving, manner);
            // cannot fail: a manner is one of three, and the lists have a place for each section.
            self.visits[manner as usize][number as usize] = (entry, leaving);
            self.section_lengths[manner as usize][number as usize] = length.min(FAR);
        }
    }

    fn sum_level(
        &mut self,
        sections: &Sections,
        level: SectionIndex,
        start: PartIndex,
        end: PartIndex,
    ) {
        let mut sums = [0_u128; 3];
        let mut part = start;
        while part <= end {
            let inner = inner_at(sections, level, part);
            for manner in Manner::ALL {
                let at = manner as usize;
                // cannot fail: a manner is one of three, and a part or section is within its list.
                let step = if let Some(inner) = inner {
                    self.before_section[at][inner as usize] = sums[at];
                    self.section_lengths[at][inner as usize]
                } else {
                    self.before_part[at][part as usize] = sums[at];
                    1
                };
                sums[at] += step;
            }
            part = inner
                .and_then(|inner| sections.get(inner))
                .map_or(part, |section| section.end)
                + 1;
        }
    }
}

/// The section directly inside a level that holds a part.
pub(crate) fn inner_at(
    sections: &Sections,
    level: SectionIndex,
    part: PartIndex,
) -> Option<SectionIndex> {
    let around = if level == ROW { None } else { Some(level) };
    let mut at = sections.at(part)?;
    if Some(at) == around {
        return None;
    }
    loop {
        let parent = sections.get(at)?.parent;
        if parent == around {
            return Some(at);
        }
        at = parent?;
    }
}

/// The paths of a section, by rising passes; `None` when there are too many stretches.
fn paths_of(section: &Section, laid: &Laid, stretches: &mut usize) -> Option<Vec<Path>> {
    let ending = |at: usize| laid.ending(&section.endings, at);
    // Where the passes of some ending begin or are over, the path changes: (pass, ending, begins).
    let mut changes: Vec<(u32, usize, bool)> = Vec::new();
    for at in 0..section.endings.len() {
        for &(from, to) in ending(at).map(|e| e.passes.ranges()).unwrap_or_default() {
            changes.push((from, at, true));
            changes.push((to.saturating_add(1), at, false));
        }
    }
    changes.sort_unstable();
    let groups = laid.groups(&section.endings);
    let mut paths: Vec<Path> = Vec::new();
    let mut played: BTreeSet<usize> = BTreeSet::new();
    let mut next = 0;
    let mut pass = 1;
    while pass <= section.passes {
        while let Some(&(at, index, begins)) = changes.get(next).filter(|change| change.0 <= pass) {
            if begins {
                played.insert(index);
            } else {
                played.remove(&index);
            }
            debug_assert!(at <= pass, "changes are sorted");
            next += 1;
        }
        let next_change = changes.get(next).map_or(u32::MAX, |change| change.0);
        // The last pass stands alone: on it no end repeat goes back.
        let until = if pass == section.passes {
            pass
        } else {
            section.passes - 1
        };
        let last_pass = until.min(next_change.saturating_sub(1)).max(pass);
        let path = path_of(section, laid, &groups, &played, pass, last_pass);
        *stretches += path.stretches.len().max(1);
        if *stretches > MOST_STRETCHES {
            return None;
        }
        paths.push(path);
        pass = last_pass.checked_add(1)?;
    }
    Some(paths)
}

/// The path of one pass from a part on which the ordinary path does not meet, because it goes back before it.
pub(crate) fn path_from(section: &Section, laid: &Laid, pass: u32, at: PartIndex) -> Path {
    let ending = |at: usize| laid.ending(&section.endings, at);
    let played = |index: &usize| ending(*index).is_some_and(|e| e.passes.contains(pass));
    let whole = 0..section.endings.len();
    let listed: BTreeSet<usize> = whole.clone().filter(played).collect();
    let groups: Vec<std::ops::Range<usize>> = whole.map(|index| index..index + 1).collect();
    let mut path = through(section, laid, &groups, &listed, pass, pass);
    path.stretches.retain(|stretch| stretch.to >= at);
    if let Some(first) = path.stretches.first_mut() {
        first.from = first.from.max(at);
    }
    go_back(section, laid, &mut path);
    path
}

fn path_of(
    section: &Section,
    laid: &Laid,
    groups: &[std::ops::Range<usize>],
    played: &BTreeSet<usize>,
    first_pass: u32,
    last_pass: u32,
) -> Path {
    let mut path = through(section, laid, groups, played, first_pass, last_pass);
    go_back(section, laid, &mut path);
    path
}

/// The path through a whole section, past the endings that are not played, as if no end repeat went back.
fn through(
    section: &Section,
    laid: &Laid,
    groups: &[std::ops::Range<usize>],
    played: &BTreeSet<usize>,
    first_pass: u32,
    last_pass: u32,
) -> Path {
    let ending = |at: usize| laid.ending(&section.endings, at);
    let mut path = Path {
        first_pass,
        last_pass,
        stretches: Vec::new(),
        goes_back: None,
        trailing: None,
        lengths: [0; 3],
    };
    let mut from = section.start;
    let mut passed = None;
    let add = |path: &mut Path, from: PartIndex, before: PartIndex, passed: &mut Option<u32>| {
        if from < before {
            path.stretches.push(Stretch {
                from,
                to: before - 1,
                passed: passed.take(),
            });
        }
    };
    for group in groups {
        let mut expected = group.start;
        let skip = |path: &mut Path,
                    skipped: std::ops::Range<usize>,
                    from: &mut PartIndex,
                    passed: &mut Option<u32>| {
            let (Some(first), Some(last)) = (
                ending(skipped.start),
                skipped.end.checked_sub(1).and_then(ending),
            ) else {
                return;
            };
            if skipped.start < skipped.end {
                add(path, *from, first.first, passed);
                passed.get_or_insert(first.marking);
                *from = last.last + 1;
            }
        };
        for &at in played.range(group.clone()) {
            skip(&mut path, expected..at, &mut from, &mut passed);
            expected = at + 1;
        }
        skip(&mut path, expected..group.end, &mut from, &mut passed);
    }
    add(&mut path, from, section.end + 1, &mut passed);
    path.trailing = passed;
    path
}

/// Ends a path at the first end repeat on it, unless its pass is the section's last.
fn go_back(section: &Section, laid: &Laid, path: &mut Path) {
    if path.first_pass >= section.passes {
        return;
    }
    for (index, stretch) in path.stretches.iter_mut().enumerate() {
        let part_of = |number: u32| laid.ends.get(number as usize).map_or(0, |end| end.part);
        let at = section
            .ends
            .partition_point(|&number| part_of(number) < stretch.from);
        if let Some(end) = section
            .ends
            .get(at)
            .and_then(|&n| laid.ends.get(n as usize))
            .filter(|end| end.part <= stretch.to)
        {
            stretch.to = end.part;
            path.goes_back = Some(end.marking);
            path.trailing = None;
            path.stretches.truncate(index + 1);
            return;
        }
    }
}
