//! How far each section has come, while a route is compiled. Rulebook, chapter 5.

use std::collections::BTreeSet;

use super::paths::{Manner, Paths, ROW};
use super::sections::{SectionIndex, Sections};

/// How far each section has come.
pub(crate) struct Progress<'a> {
    sections: &'a Sections,
    paths: &'a Paths,
    status: Vec<Status>,
    /// The highest pass reached, for sections that are begun.
    reached: Vec<u32>,
    /// The sections that are not finished.
    unfinished: BTreeSet<SectionIndex>,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Status {
    Fresh,
    Finished,
    /// Entered, and not finished or not wholly so.
    Begun,
}

impl<'a> Progress<'a> {
    pub(crate) fn new(sections: &'a Sections, paths: &'a Paths) -> Progress<'a> {
        let count = sections.list.len();
        Progress {
            sections,
            paths,
            status: vec![Status::Fresh; count],
            reached: vec![0; count],
            unfinished: (0..SectionIndex::try_from(count).unwrap_or(ROW)).collect(),
        }
    }

    /// Whether a section, and everything in it, has not been entered since it was last begun anew.
    pub(crate) fn is_fresh(&self, number: SectionIndex) -> bool {
        self.status.get(number as usize) == Some(&Status::Fresh)
    }

    /// The first section, from a number on, that is not finished.
    pub(crate) fn next_unfinished(&self, from: SectionIndex) -> Option<SectionIndex> {
        self.unfinished.range(from..).next().copied()
    }

    pub(crate) fn reached_pass(&self, number: SectionIndex) -> u32 {
        match self.status.get(number as usize) {
            Some(Status::Finished) => self
                .sections
                .get(number)
                .map_or(1, |section| section.passes),
            Some(Status::Begun) => self.reached.get(number as usize).copied().unwrap_or(0),
            _ => 0,
        }
    }

    pub(crate) fn reach(&mut self, number: SectionIndex, pass: u32) {
        if let Some(reached) = self.reached.get_mut(number as usize) {
            *reached = pass.max(*reached);
        }
    }

    fn set(&mut self, number: SectionIndex, status: Status) {
        if let Some(slot) = self.status.get_mut(number as usize) {
            *slot = status;
        }
        if status == Status::Finished {
            self.unfinished.remove(&number);
        } else {
            self.unfinished.insert(number);
        }
    }

    pub(crate) fn begin(&mut self, number: SectionIndex) {
        let reached = self.reached_pass(number);
        if let Some(slot) = self.reached.get_mut(number as usize) {
            *slot = reached;
        }
        self.set(number, Status::Begun);
    }

    /// A section is finished when its last pass is reached and everything in it is finished; one that does not always go back is taken pass by pass.
    pub(crate) fn finish_if_whole(&mut self, number: SectionIndex) {
        let Some(section) = self.sections.get(number) else {
            return;
        };
        let whole = self
            .unfinished
            .range(number + 1..section.after_inner)
            .next()
            .is_none();
        if whole && self.paths.is_regular(number) && self.reached_pass(number) == section.passes {
            self.set(number, Status::Finished);
        }
    }

    /// A section has been played anew, from its first pass until it was left.
    pub(crate) fn finish_anew(&mut self, number: SectionIndex) {
        let Some(section) = self.sections.get(number) else {
            return;
        };
        let after = section.after_inner;
        for inner in (number..after).rev() {
            let (_, leaving) = self.paths.visit(inner, Manner::First);
            if self.paths.is_regular(inner) {
                self.set(inner, Status::Finished);
            } else {
                self.set(inner, Status::Begun);
                if let Some(slot) = self.reached.get_mut(inner as usize) {
                    *slot = leaving;
                }
            }
        }
    }

    pub(crate) fn finish_inner_anew(&mut self, number: SectionIndex) {
        let Some(section) = self.sections.get(number) else {
            return;
        };
        let mut inner = number + 1;
        while inner < section.after_inner {
            self.finish_anew(inner);
            inner = self
                .sections
                .get(inner)
                .map_or(inner + 1, |section| section.after_inner);
        }
    }

    /// A section goes back: the counts of those inside it start over.
    pub(crate) fn reset_inner(&mut self, number: SectionIndex) {
        let Some(section) = self.sections.get(number) else {
            return;
        };
        for inner in number + 1..section.after_inner {
            self.set(inner, Status::Fresh);
        }
    }
}
