//! The learner's walk: the rulebook followed one step at a time, with some of its rules changed.
//!
//! [`Roadmap`](crate::Roadmap) compiles a route, and can follow no other rules than the rulebook's. A [`Course`] has the same signs in
//! tables, worked out once, and a [`Walk`] over it decides at each barline anew, so that any decision can be changed. Without changes it
//! gives the steps of the roadmap.

mod changes;
mod decide;
mod hands;
mod walk;

use super::Misunderstanding;
use crate::board::Board;
use crate::reading::Reading;
use crate::roadmap::laid::{Laid, equal_range};
use crate::roadmap::notes::Notes;
use crate::roadmap::row::{PartIndex, Row};
use crate::roadmap::sections::{SectionIndex, Sections};
use crate::roadmap::{Ground, Terms};

pub(crate) use changes::Changes;
pub(crate) use hands::Hands;
#[allow(
    unused_imports,
    reason = "what judges answers and deals boards comes next"
)]
pub(crate) use walk::{Stand, Walk};

/// No sign of the kind stands there.
const NONE: u32 = u32::MAX;

/// A board as a learner walks it under one reading.
#[derive(Clone, Debug)]
pub(crate) struct Course {
    row: Row,
    pub(in crate::answer) laid: Laid,
    pub(in crate::answer) sections: Sections,
    notes: Notes,
    reading: Reading,
    omit_repeats: bool,
    /// How often an open section is played.
    open_plays: u32,
    /// For each part the barline at its end, when signs stand there: an index into `barlines`.
    barline_at: Vec<u32>,
    barlines: Vec<Barline>,
    /// For each part the start repeat at its start, the ending that begins there, and the ending over it.
    start_at: Vec<u32>,
    ending_from: Vec<u32>,
    ending_over: Vec<u32>,
    /// For each ending the section it belongs to.
    section_of_ending: Vec<Option<SectionIndex>>,
    /// For each section the sections around it and itself, outermost first: a range of `chain`.
    chain_of: Vec<(u32, u32)>,
    chain: Vec<SectionIndex>,
    /// For each section the lowest pass that its first ending does not list; 0 when it lists all.
    second_pass: Vec<u32>,
}

/// What stands at the end of a part.
#[derive(Clone, Debug)]
struct Barline {
    /// The end repeat: its section and its marking.
    end: Option<(SectionIndex, u32)>,
    fines: std::ops::Range<usize>,
    to_codas: std::ops::Range<usize>,
    jumps: std::ops::Range<usize>,
}

impl Course {
    /// The course of a board that has no errors under the terms.
    pub(crate) fn new(board: &Board, terms: &Terms) -> Course {
        let ground = Ground::new(board, terms);
        let notes = Notes::new(board, &ground.row);
        Course::over(ground, notes, terms.omit_repeats, terms.plays_when_open())
    }

    /// The course of the same board under another reading, under which it has no errors either.
    pub(crate) fn under(&self, reading: Reading) -> Course {
        let sections = Sections::new(&self.laid, self.row.length(), reading, self.open_plays);
        let ground = Ground {
            row: self.row.clone(),
            laid: self.laid.clone(),
            sections,
            reading,
        };
        Course::over(
            ground,
            self.notes.clone(),
            self.omit_repeats,
            self.open_plays,
        )
    }

    fn over(ground: Ground, notes: Notes, omit_repeats: bool, open_plays: u32) -> Course {
        let Ground {
            row,
            laid,
            sections,
            reading,
        } = ground;
        let parts = row.length() as usize;
        let mut course = Course {
            row,
            reading,
            notes,
            omit_repeats,
            open_plays,
            barline_at: vec![NONE; parts],
            barlines: Vec::new(),
            start_at: vec![NONE; parts],
            ending_from: vec![NONE; parts],
            ending_over: vec![NONE; parts],
            section_of_ending: vec![None; laid.endings.len()],
            chain_of: Vec::with_capacity(sections.list.len()),
            chain: Vec::new(),
            second_pass: Vec::with_capacity(sections.list.len()),
            laid,
            sections,
        };
        course.lay_landings();
        course.lay_sections();
        course.lay_barlines();
        course
    }

    fn lay_landings(&mut self) {
        for (at, start) in self.laid.starts.iter().enumerate() {
            put(&mut self.start_at, start.part, at);
        }
        for (at, ending) in self.laid.endings.iter().enumerate() {
            put(&mut self.ending_from, ending.first, at);
            for part in ending.first..=ending.last {
                put(&mut self.ending_over, part, at);
            }
        }
    }

    fn lay_sections(&mut self) {
        for (number, section) in self.sections.list.iter().enumerate() {
            let number = index(number);
            let from = self.chain.len();
            if let Some(&(first, end)) = section
                .parent
                .and_then(|parent| self.chain_of.get(parent as usize))
            {
                self.chain.extend_from_within(first as usize..end as usize);
            }
            self.chain.push(number);
            self.chain_of.push((index(from), index(self.chain.len())));
            for &ending in &section.endings {
                if let Some(slot) = self.section_of_ending.get_mut(ending as usize) {
                    *slot = Some(number);
                }
            }
            let first = self.laid.ending(&section.endings, 0);
            let second = first.and_then(|first| {
                // The first pass behind the ranges that begin with pass 1.
                let mut pass = 1;
                for &(from, to) in first.passes.ranges() {
                    if from <= pass {
                        pass = pass.max(to.saturating_add(1));
                    }
                }
                (pass <= section.passes).then_some(pass)
            });
            self.second_pass.push(second.unwrap_or(0));
        }
    }

    fn lay_barlines(&mut self) {
        let mut parts: Vec<PartIndex> = self.laid.fines.iter().map(|fine| fine.part).collect();
        parts.extend(self.laid.to_codas.iter().map(|to_coda| to_coda.part));
        parts.extend(self.laid.jumps.iter().map(|jump| jump.part));
        parts.extend(self.laid.ends.iter().map(|end| end.part));
        parts.sort_unstable();
        parts.dedup();
        let mut section_of_end = vec![None; self.laid.ends.len()];
        for (number, section) in self.sections.list.iter().enumerate() {
            for &end in &section.ends {
                if let Some(slot) = section_of_end.get_mut(end as usize) {
                    *slot = Some(index(number));
                }
            }
        }
        for part in parts {
            let end = self.laid.end_at(part).and_then(|at| {
                let marking = self.laid.ends.get(at)?.marking;
                Some(((*section_of_end.get(at)?)?, marking))
            });
            put(&mut self.barline_at, part, self.barlines.len());
            self.barlines.push(Barline {
                end,
                fines: equal_range(&self.laid.fines, part, |fine| fine.part),
                to_codas: equal_range(&self.laid.to_codas, part, |to_coda| to_coda.part),
                jumps: equal_range(&self.laid.jumps, part, |jump| jump.part),
            });
        }
    }

    fn barline(&self, part: PartIndex) -> Option<&Barline> {
        let at = *self.barline_at.get(part as usize)?;
        self.barlines.get(at as usize)
    }

    /// The sections that hold a part, outermost first.
    fn around(&self, part: PartIndex) -> &[SectionIndex] {
        let range = self
            .sections
            .at(part)
            .and_then(|innermost| self.chain_of.get(innermost as usize));
        range
            .and_then(|&(from, to)| self.chain.get(from as usize..to as usize))
            .unwrap_or_default()
    }

    /// The part to which an end repeat at the end of a part sends.
    pub(crate) fn end_sends_to(&self, part: PartIndex) -> Option<PartIndex> {
        let (section, _) = self.barline(part)?.end?;
        self.sections.get(section).map(|section| section.start)
    }

    /// Whether a sign stands at the end of a measure, or inside it, of which this misunderstanding speaks; so too where it speaks of no sign
    /// that stands at an end.
    pub(crate) fn has_sign_of(&self, idea: Misunderstanding, measure: u16) -> bool {
        use Misunderstanding as Idea;
        let speaks_of: fn(&Barline) -> bool = match idea {
            idea if idea.is_of_end_repeats() => |it| it.end.is_some(),
            Idea::JumpIgnored
            | Idea::DalSegnoAsDaCapo
            | Idea::DaCapoAsDalSegno
            | Idea::StopsAtJump
            | Idea::StraightToCoda
            | Idea::JumpForEver => |it| !it.jumps.is_empty(),
            Idea::FineOnTheFirstLeg | Idea::FineIgnored => |it| !it.fines.is_empty(),
            Idea::ToCodaOnTheFirstLeg | Idea::ToCodaIgnored => |it| !it.to_codas.is_empty(),
            // It speaks of every sign that sends, and of none in particular.
            Idea::LandingOneOff => return false,
            _ => return true,
        };
        // Who counts passes otherwise reads the brackets otherwise.
        let of_passes = matches!(
            idea,
            Idea::RepeatIgnored | Idea::RepeatOnceTooOften | Idea::TooFewTimes
        );
        let begins_ending = |part: PartIndex| {
            let next = self.ending_from.get(part as usize + 1);
            next.is_some_and(|&ending| ending != NONE)
        };
        let mut parts = self.row.parts_of(measure);
        parts.any(|part| {
            let stands = self.barline(part).is_some_and(speaks_of);
            stands || of_passes && begins_ending(part)
        })
    }

    /// Whether every repeat is left out, as asked for.
    pub(crate) fn omits_repeats(&self) -> bool {
        self.omit_repeats
    }

    /// The measure of a part.
    pub(crate) fn measure(&self, part: PartIndex) -> u16 {
        self.row.part(part).0
    }
}

fn put(list: &mut [u32], part: PartIndex, value: usize) {
    if let Some(slot) = list.get_mut(part as usize) {
        *slot = index(value);
    }
}

/// An index as it is kept.
fn index(value: usize) -> u32 {
    // cannot fail: at most 100 000 markings.
    u32::try_from(value).unwrap_or(NONE)
}

#[cfg(test)]
mod tests;
