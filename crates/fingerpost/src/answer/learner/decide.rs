//! What is obeyed at the end of a part, in the order in which the signs there are asked. Rulebook, chapter 3.

use super::walk::{Act, Walk};
use super::{Barline, Course, NONE};
use crate::answer::Misunderstanding as Idea;
use crate::board::Passes;
use crate::reading::{ArmedInRepeat, Arming, JumpInRepeat};
use crate::roadmap::laid::{FineAt, JumpAt, ToCodaAt};
use crate::roadmap::row::PartIndex;
use crate::roadmap::sections::SectionIndex;

/// The signs at a barline that the road has come to.
struct Met<'c> {
    course: &'c Course,
    barline: &'c Barline,
    part: PartIndex,
    /// How often it has come there, this time included.
    arrival: u32,
}

impl<'c> Met<'c> {
    fn fines(&self) -> impl Iterator<Item = &'c FineAt> + use<'c> {
        let range = self.barline.fines.clone();
        let list = self.course.laid.fines.get(range);
        list.unwrap_or_default().iter()
    }

    fn to_codas(&self) -> impl Iterator<Item = (usize, &'c ToCodaAt)> + use<'c> {
        let range = self.barline.to_codas.clone();
        let list = self.course.laid.to_codas.get(range.clone());
        range.zip(list.unwrap_or_default())
    }

    fn jumps(&self) -> impl Iterator<Item = (usize, &'c JumpAt)> + use<'c> {
        let range = self.barline.jumps.clone();
        let list = self.course.laid.jumps.get(range.clone());
        range.zip(list.unwrap_or_default())
    }

    fn is_named(&self, arrivals: Option<&Passes>) -> bool {
        arrivals.is_some_and(|list| list.contains(self.arrival))
    }

    /// The arrivals at which a jump is obeyed. They outrank its passes; and outside every section its passes are arrivals.
    fn arrivals_of(&self, jump: &'c JumpAt) -> Option<&'c Passes> {
        let outside = self.course.sections.at(self.part).is_none();
        let passes = jump.passes.as_ref().filter(|_| outside);
        jump.arrivals.as_ref().or(passes)
    }
}

impl<'c> Walk<'c> {
    /// What is obeyed at the end of a part.
    pub(super) fn decide(&self, part: PartIndex) -> Act {
        let Some(barline) = self.course.barline(part) else {
            return Act::On;
        };
        let met = Met {
            course: self.course,
            barline,
            part,
            arrival: self.sounded.get(part as usize).copied().unwrap_or(0),
        };
        let last_pass = self.on_last_pass(part);
        let at_once = self.course.reading.armed_in_repeat == ArmedInRepeat::FirstArrival;
        self.fine_at_once(&met)
            .or_else(|| self.named(&met))
            .or_else(|| self.to_coda_at_once(&met))
            .or_else(|| self.armed_fine(&met).filter(|_| at_once))
            .or_else(|| self.armed_to_coda(&met).filter(|_| at_once))
            .or_else(|| self.repeat(barline))
            .or_else(|| self.fine_after_repeat(&met))
            .or_else(|| self.to_coda_after_repeat(&met))
            .or_else(|| self.armed_fine(&met).filter(|_| last_pass))
            .or_else(|| self.to_coda(&met, last_pass))
            .or_else(|| self.jump_met(&met, last_pass))
            .unwrap_or(Act::On)
    }

    /// A Fine that is obeyed before anything has armed it, and before the end repeat at its barline.
    fn fine_at_once(&self, met: &Met<'c>) -> Option<Act> {
        self.fine_too_soon(met)
            .filter(|_| !self.changes.makes_repeat_before_fine())
    }

    /// The same after the end repeat at its barline.
    fn fine_after_repeat(&self, met: &Met<'c>) -> Option<Act> {
        self.fine_too_soon(met)
            .filter(|_| self.changes.makes_repeat_before_fine())
    }

    fn fine_too_soon(&self, met: &Met<'c>) -> Option<Act> {
        let stops = self.has(Idea::FineOnTheFirstLeg) && !self.has(Idea::FineIgnored);
        (stops && met.fines().next().is_some()).then_some(Act::Stop)
    }

    /// A To Coda that is obeyed the first time it is met, also by those who pass it by when it counts.
    fn to_coda_at_once(&self, met: &Met<'c>) -> Option<Act> {
        let too_soon = met.arrival == 1 && !self.changes.makes_repeat_before_to_coda();
        too_soon.then(|| self.to_coda_too_soon(met, |_| true))?
    }

    /// The same where the end repeat at its barline has been made: the first time that it is asked there.
    fn to_coda_after_repeat(&self, met: &Met<'c>) -> Option<Act> {
        let has_end = met.barline.end.is_some();
        let too_soon = (has_end || met.arrival == 1) && self.changes.makes_repeat_before_to_coda();
        let is_new = |at: usize| !self.obeyed_to_coda.get(at).copied().unwrap_or(false);
        too_soon.then(|| self.to_coda_too_soon(met, is_new))?
    }

    fn to_coda_too_soon(&self, met: &Met<'c>, is_asked: impl Fn(usize) -> bool) -> Option<Act> {
        let leads = |to_coda: &ToCodaAt| self.course.laid.coda(to_coda.label).is_some();
        let mut to_codas = met.to_codas().filter(|(at, _)| is_asked(*at));
        let found = to_codas.find(|(_, to_coda)| leads(to_coda));
        let found = found.filter(|_| self.has(Idea::ToCodaOnTheFirstLeg));
        found.map(|(at, _)| Act::ToCoda(at))
    }

    /// Signs whose arrivals name this one come before all others.
    fn named(&self, met: &Met<'c>) -> Option<Act> {
        let mut fines = met.fines();
        let fine = fines.any(|fine| met.is_named(fine.arrivals.as_ref()));
        if fine && !self.has(Idea::FineIgnored) {
            return Some(Act::Stop);
        }
        let mut to_codas = met.to_codas();
        let to_coda = to_codas.find(|(_, to_coda)| met.is_named(to_coda.arrivals.as_ref()));
        if let Some((at, _)) = to_coda.filter(|_| !self.has(Idea::ToCodaIgnored)) {
            return Some(Act::ToCoda(at));
        }
        let mut jumps = met.jumps();
        let jump = jumps.find(|(_, jump)| met.is_named(met.arrivals_of(jump)));
        let jump = jump.filter(|_| !self.has(Idea::JumpIgnored));
        jump.map(|(at, _)| Act::Jump(at))
    }

    fn armed_fine(&self, met: &Met<'c>) -> Option<Act> {
        if !self.armed.fine || self.has(Idea::FineIgnored) {
            return None;
        }
        let fine = met.fines().find(|fine| fine.arrivals.is_none())?;
        Some(match self.armed.then {
            Some(label) => Act::Then {
                marking: fine.marking,
                label,
            },
            None => Act::Stop,
        })
    }

    /// A To Coda that the last jump meant; none where the reading counts arrivals.
    fn armed_to_coda(&self, met: &Met<'c>) -> Option<Act> {
        let by_count = self.course.reading.arming == Arming::SecondArrival;
        if by_count || self.has(Idea::ToCodaIgnored) {
            return None;
        }
        let mut plain = met.to_codas().filter(|(_, it)| it.arrivals.is_none());
        let found = plain.find(|&(at, _)| self.is_meant(at));
        found.map(|(at, _)| Act::ToCoda(at))
    }

    fn is_meant(&self, to_coda: usize) -> bool {
        self.meant.get(to_coda).copied().unwrap_or(false)
    }

    /// The end repeat, while its section has passes left.
    fn repeat(&self, barline: &Barline) -> Option<Act> {
        let (number, marking) = barline.end?;
        let pass = self.pass_of(number);
        let has_left = self
            .section(number)
            .is_some_and(|section| pass > 0 && pass < self.top(section));
        (has_left && !self.ignores_repeat(number)).then_some(Act::Back(number, marking))
    }

    /// A To Coda after the end repeat: armed and on the last pass, or as the reading and the board have it.
    fn to_coda(&self, met: &Met<'c>, last_pass: bool) -> Option<Act> {
        if self.has(Idea::ToCodaIgnored) {
            return None;
        }
        let by_count = self.course.reading.arming == Arming::SecondArrival;
        let has_jump = !self.course.laid.jumps.is_empty();
        let is_obeyed = |at: usize| {
            if by_count {
                met.arrival == 2
            } else if has_jump {
                self.is_meant(at) && last_pass
            } else {
                // On a board without any jump it is obeyed on the last pass of a section.
                last_pass && self.course.sections.at(met.part).is_some()
            }
        };
        let mut plain = met.to_codas().filter(|(_, it)| it.arrivals.is_none());
        let found = plain.find(|&(at, _)| is_obeyed(at));
        found.map(|(at, _)| Act::ToCoda(at))
    }

    /// A jump without arrivals: first one with passes, then a plain one.
    fn jump_met(&self, met: &Met<'c>, last_pass: bool) -> Option<Act> {
        if self.has(Idea::JumpIgnored) {
            return None;
        }
        let pass = self.innermost_pass(met.part);
        let is_listed = |at: usize, jump: &'c JumpAt| {
            let passes = jump
                .passes
                .as_ref()
                .filter(|_| met.arrivals_of(jump).is_none());
            passes.is_some_and(|list| list.contains(pass)) && !self.used.contains(&(at, pass))
        };
        let listed = met.jumps().find(|&(at, jump)| is_listed(at, jump));
        if let Some((at, _)) = listed {
            return Some(Act::Jump(at));
        }
        let in_time = last_pass || self.course.reading.jump_in_repeat == JumpInRepeat::FirstArrival;
        let is_done = |at: usize| self.obeyed_jump.get(at).copied().unwrap_or(true);
        let mut plain = met.jumps().filter(|(_, jump)| jump.is_plain());
        let new = plain.find(|&(at, _)| !is_done(at));
        if let Some((at, _)) = new.filter(|_| in_time) {
            return Some(Act::Jump(at));
        }
        let again = |(at, jump): &(usize, &JumpAt)| is_done(*at) && (in_time || !jump.is_plain());
        let again = met.jumps().find(again);
        let again = again.filter(|_| self.has(Idea::JumpForEver));
        again.map(|(at, _)| Act::JumpAgain(at))
    }

    /// Whether the end repeats of a section, and the brackets in it, are not seen. What jumps alone close is read rightly.
    pub(super) fn ignores_repeat(&self, number: SectionIndex) -> bool {
        let section = self.section(number);
        self.has(Idea::RepeatIgnored) && section.is_some_and(|it| !it.ends.is_empty())
    }

    /// Whether this is the last pass of every section around the end of a part.
    fn on_last_pass(&self, part: PartIndex) -> bool {
        let over = self.course.ending_over.get(part as usize).copied();
        let over = over.filter(|&ending| ending != NONE);
        let around = self.course.around(part).iter();
        around.copied().all(|number| {
            let own = over.filter(|&ending| self.section_of(ending) == Some(number));
            self.ignores_repeat(number) || self.is_last_pass(number, own)
        })
    }

    /// Whether a section is on its last pass; inside one of its endings, on the last that this ending lists. A changed rule may play an
    /// ending on other passes than it lists: there the section's pass counts, or the one as which the brackets are read, from that last
    /// one on.
    fn is_last_pass(&self, number: SectionIndex, ending: Option<u32>) -> bool {
        let Some(section) = self.section(number) else {
            return true;
        };
        let pass = self.pass_of(number);
        let Some(ending) = ending else {
            return pass == self.top(section);
        };
        let ending = self.course.laid.endings.get(ending as usize);
        let last = ending.and_then(|ending| ending.passes.highest_up_to(section.passes));
        let read = self.read_pass(number, pass);
        last.is_some_and(|last| pass >= last || read >= last)
    }

    /// The pass as which a learner reads the brackets of a section.
    pub(super) fn read_pass(&self, number: SectionIndex, pass: u32) -> u32 {
        if self.has(Idea::FirstEndingAgain) {
            return 1;
        }
        let section = self.section(number);
        let counts_on = section.is_some_and(|section| self.changes.repeats_once_more(section));
        if counts_on && pass > 1 {
            return pass - 1;
        }
        let shortened = section.filter(|section| self.changes.makes_too_few(section));
        // Where brackets are not read, they are not read as on the last pass.
        let shortened = shortened.filter(|_| !self.has(Idea::EndingsInARow));
        if let Some(section) = shortened.filter(|&section| pass == self.top(section)) {
            return section.passes;
        }
        let second = self.course.second_pass.get(number as usize).copied();
        let second = second.filter(|&second| second > 0 && pass == 1);
        second
            .filter(|_| self.has(Idea::SecondEndingAtOnce))
            .unwrap_or(pass)
    }

    pub(super) fn section_of(&self, ending: u32) -> Option<SectionIndex> {
        let section = self.course.section_of_ending.get(ending as usize);
        section.copied().flatten()
    }

    pub(super) fn innermost_pass(&self, part: PartIndex) -> u32 {
        let innermost = self.course.sections.at(part);
        innermost.map_or(1, |number| self.pass_of(number).max(1))
    }
}
