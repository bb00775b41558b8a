//! One step after the other. Rulebook, chapters 3 to 5; what each changed rule does stands in `spec/misunderstandings`.

use super::{Changes, Course};
use crate::answer::Misunderstanding as Idea;
use crate::board::{Al, Repeats, Then};
use crate::reading::Arming;
use crate::roadmap::laid::{JumpAt, Label, ToCodaAt};
use crate::roadmap::row::PartIndex;
use crate::roadmap::sections::{Section, SectionIndex};
use crate::route::Cause;

/// Where a learner stands, and how the road led there.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Stand {
    pub(crate) part: PartIndex,
    /// The pass of the innermost section; 1 in no section.
    pub(crate) pass: u32,
    pub(crate) leg: u32,
    pub(crate) cause: Cause,
    pub(crate) marking: Option<u32>,
}

/// What sends the road to a place.
type Sent = (Cause, Option<u32>);

/// A walk over a course under changed rules. It may never end: whoever takes its steps bounds them.
#[derive(Clone, Debug)]
pub(crate) struct Walk<'c> {
    pub(super) course: &'c Course,
    pub(super) changes: Changes,
    here: Option<Stand>,
    has_begun: bool,
    /// The sections that are active, outermost first.
    active: Vec<SectionIndex>,
    /// For each section its present pass while it is active, the latest it had, and the highest it has reached.
    pass: Vec<u32>,
    latest: Vec<u32>,
    reached: Vec<u32>,
    /// For each section the leg in which it was entered last.
    entered: Vec<u32>,
    /// For each section the pass on which it is entered again, after a changed rule has led out of it; 0 for none.
    again: Vec<u32>,
    /// Whether a changed rule has sent the road to a wrong place in this leg.
    has_strayed: bool,
    /// How often the end of each part has been reached.
    pub(super) sounded: Vec<u32>,
    leg: u32,
    leg_repeats: Option<Repeats>,
    pub(super) armed: Armed,
    /// For each To Coda whether the last jump means it, and whether it has been obeyed.
    pub(super) meant: Vec<bool>,
    pub(super) obeyed_to_coda: Vec<bool>,
    pub(super) obeyed_jump: Vec<bool>,
    /// Whether a jump has been obeyed more often than the rulebook has it.
    obeyed_again: bool,
    /// Jumps with passes, and the pass on which each was obeyed.
    pub(super) used: Vec<(usize, u32)>,
    /// For each start repeat whether it has been taken as an order.
    gone_back: Vec<bool>,
}

/// What the last jump has armed, beside To Codas.
#[derive(Clone, Copy, Default, Debug)]
pub(super) struct Armed {
    pub(super) fine: bool,
    segno: Option<Label>,
    pub(super) then: Option<Label>,
    fine_from_coda: bool,
}

/// What is obeyed at the end of a part.
pub(super) enum Act {
    Stop,
    ToCoda(usize),
    Then {
        marking: u32,
        label: Label,
    },
    Back(SectionIndex, u32),
    Jump(usize),
    /// A jump that has been obeyed as often as it is meant.
    JumpAgain(usize),
    On,
}

impl<'c> Walk<'c> {
    pub(crate) fn new(course: &'c Course) -> Walk<'c> {
        let sections = course.sections.list.len();
        Walk {
            course,
            changes: Changes::NONE,
            here: None,
            has_begun: false,
            active: Vec::with_capacity(8),
            pass: vec![0; sections],
            latest: vec![0; sections],
            reached: vec![0; sections],
            entered: vec![0; sections],
            again: vec![0; sections],
            has_strayed: false,
            sounded: vec![0; course.row.length() as usize],
            leg: 1,
            leg_repeats: None,
            armed: Armed::default(),
            meant: vec![false; course.laid.to_codas.len()],
            obeyed_to_coda: vec![false; course.laid.to_codas.len()],
            obeyed_jump: vec![false; course.laid.jumps.len()],
            obeyed_again: false,
            used: Vec::new(),
            gone_back: vec![false; course.laid.starts.len()],
        }
    }

    /// Back to the beginning, with these rules changed.
    pub(crate) fn restart(&mut self, changes: Changes) {
        self.changes = changes;
        self.here = None;
        self.has_begun = false;
        self.active.clear();
        self.pass.fill(0);
        self.latest.fill(0);
        self.reached.fill(0);
        self.entered.fill(0);
        self.again.fill(0);
        self.has_strayed = false;
        self.sounded.fill(0);
        self.leg = 1;
        self.leg_repeats = None;
        self.armed = Armed::default();
        self.meant.fill(false);
        self.obeyed_to_coda.fill(false);
        self.obeyed_jump.fill(false);
        self.obeyed_again = false;
        self.used.clear();
        self.gone_back.fill(false);
    }

    /// Whether a D.C. or D.S. has been obeyed more often than the rulebook has it, which only [`Idea::JumpForEver`] does.
    pub(crate) fn has_jumped_again(&self) -> bool {
        self.obeyed_again
    }

    fn advance(&mut self) -> Option<Stand> {
        let Some(here) = self.here else {
            if self.has_begun {
                return None;
            }
            self.has_begun = true;
            return self.come_to(0, Some((Cause::Start, None)));
        };
        let part = here.part;
        if let Some(count) = self.sounded.get_mut(part as usize) {
            *count = count.saturating_add(1);
        }
        match self.decide(part) {
            Act::Stop => None,
            Act::On => self.come_to(part + 1, None),
            Act::Back(section, marking) => self.go_back(section, marking),
            Act::ToCoda(at) => {
                let to_coda = self.course.laid.to_codas.get(at)?;
                mark(&mut self.obeyed_to_coda, at);
                self.armed.fine |= self.armed.fine_from_coda;
                self.go_to_coda(to_coda.marking, to_coda.label)
            }
            Act::Then { marking, label } => self.then_coda(marking, label),
            Act::Jump(_) | Act::JumpAgain(_) if self.has(Idea::StopsAtJump) => None,
            Act::Jump(at) => self.jump(at),
            Act::JumpAgain(at) => {
                self.obeyed_again = true;
                self.jump(at)
            }
        }
    }

    pub(super) fn has(&self, idea: Idea) -> bool {
        self.changes.has(idea)
    }

    pub(super) fn section(&self, number: SectionIndex) -> Option<&'c Section> {
        self.course.sections.get(number)
    }

    /// How many passes a section is given.
    pub(super) fn top(&self, section: &Section) -> u32 {
        self.changes.passes_of(section)
    }

    pub(super) fn pass_of(&self, number: SectionIndex) -> u32 {
        self.pass.get(number as usize).copied().unwrap_or(0)
    }

    /// Back by an end repeat.
    fn go_back(&mut self, number: SectionIndex, marking: u32) -> Option<Stand> {
        let section = self.section(number)?;
        // The counts of the sections inside it start over.
        for inner in number + 1..section.after_inner {
            for list in [
                &mut self.pass,
                &mut self.reached,
                &mut self.again,
                &mut self.entered,
            ] {
                if let Some(slot) = list.get_mut(inner as usize) {
                    *slot = 0;
                }
            }
        }
        self.active
            .retain(|&other| other <= number || other >= section.after_inner);
        let target = if self.has(Idea::BackToTheBeginning) {
            0
        } else {
            section.start
        };
        let target = self.missed(target, false);
        if section.start <= target && target <= section.end {
            self.reach(number, self.pass_of(number).saturating_add(1));
        }
        if target != section.start {
            self.stray(target);
        }
        self.come_to(target, Some((Cause::Repeat, Some(marking))))
    }

    fn reach(&mut self, number: SectionIndex, pass: u32) {
        let at = number as usize;
        if let (Some(present), Some(latest), Some(reached)) = (
            self.pass.get_mut(at),
            self.latest.get_mut(at),
            self.reached.get_mut(at),
        ) {
            *present = pass;
            *latest = pass;
            *reached = pass.max(*reached);
        }
    }

    /// A changed rule has sent the road to a part. The sections that it leads out of are entered again on their next pass.
    fn stray(&mut self, target: PartIndex) {
        self.has_strayed = true;
        for &number in &self.active {
            let Some(section) = self.course.sections.get(number) else {
                continue;
            };
            if target < section.start || section.end < target {
                let pass = self.pass_of(number).saturating_add(1);
                let pass = pass.min(self.top(section));
                if let Some(slot) = self.again.get_mut(number as usize) {
                    *slot = pass;
                }
            }
        }
    }

    /// The place where a learner lands who is sent to a part.
    fn missed(&self, target: PartIndex, is_da_capo: bool) -> PartIndex {
        if !self.has(Idea::LandingOneOff) {
            return target;
        }
        let row = &self.course.row;
        let measure = self.course.measure(target);
        let neighbour = if self.changes.lands_early() {
            measure.checked_sub(1).filter(|_| !is_da_capo)
        } else {
            measure.checked_add(1)
        };
        let parts = row.parts_of(neighbour.unwrap_or(measure));
        if parts.is_empty() {
            target
        } else {
            parts.start
        }
    }

    /// A D.C. or a D.S. is obeyed: a new leg begins.
    fn jump(&mut self, at: usize) -> Option<Stand> {
        let course = self.course;
        let jump = course.laid.jumps.get(at)?;
        if jump.arrivals.is_none() && jump.passes.is_some() {
            self.used.push((at, self.innermost_pass(jump.part)));
        }
        mark(&mut self.obeyed_jump, at);
        self.leg = self.leg.saturating_add(1);
        self.leg_repeats = jump.repeats;
        self.arm(jump);
        self.leave_all();
        if self.has(Idea::StraightToCoda) {
            if let Some(meant) = self.first_meant(jump) {
                let to_coda = course.laid.to_codas.get(meant)?;
                mark(&mut self.obeyed_to_coda, meant);
                self.armed.fine |= self.armed.fine_from_coda;
                return self.go_to_coda(jump.marking, to_coda.label);
            }
            if let Some(label) = self.armed.then {
                return self.then_coda(jump.marking, label);
            }
        }
        let segno_before = || {
            let segnos = course.laid.segnos.iter();
            segnos
                .rev()
                .find(|segno| segno.part <= jump.part)
                .map(|segno| segno.part)
        };
        let segno = if jump.da_capo {
            segno_before().filter(|_| self.has(Idea::DaCapoAsDalSegno))
        } else {
            let segno = course.laid.segno(jump.segno).map(|segno| segno.part);
            segno.filter(|_| !self.has(Idea::DalSegnoAsDaCapo))
        };
        let cause = if jump.da_capo {
            Cause::DaCapo
        } else {
            Cause::DalSegno
        };
        let sent = (cause, Some(jump.marking));
        if let Some(part) = segno {
            return self.land(part, sent);
        }
        let target = self.missed(0, true);
        self.come_to(target, Some(sent))
    }

    /// The To Coda that a jump means, the first on the board whose coda stands.
    fn first_meant(&self, jump: &JumpAt) -> Option<usize> {
        let means = match jump.al {
            Some(Al::Coda) => true,
            None => self.course.reading.arming != Arming::AlOnly,
            _ => false,
        };
        let mut to_codas = self.course.laid.to_codas.iter().zip(&self.meant);
        let leads = |(to_coda, &is_meant): (&ToCodaAt, &bool)| {
            is_meant && self.course.laid.coda(to_coda.label).is_some()
        };
        to_codas.position(leads).filter(|_| means)
    }

    /// What a jump arms, in place of what the last one armed. Rulebook, chapter 4.
    fn arm(&mut self, jump: &JumpAt) {
        self.meant.fill(false);
        self.armed = Armed {
            then: (jump.then == Some(Then::Coda)).then_some(jump.coda.unwrap_or(0)),
            ..Armed::default()
        };
        match jump.al {
            Some(Al::Fine) => self.armed.fine = true,
            Some(Al::Segno) => self.armed.segno = Some(jump.segno),
            Some(Al::Coda) => {
                self.mean(jump.coda);
                self.armed.fine_from_coda = true;
            }
            Some(Al::End) => {}
            None if self.course.reading.arming == Arming::AlOnly => {}
            None => {
                self.armed.fine = true;
                self.mean(None);
            }
        }
    }

    fn mean(&mut self, coda: Option<Label>) {
        let all_obeyed = self.obeyed_to_coda.iter().all(|&obeyed| obeyed);
        let to_codas = self.course.laid.to_codas.iter();
        let obeyed = self.obeyed_to_coda.iter();
        for ((slot, to_coda), &obeyed) in self.meant.iter_mut().zip(to_codas).zip(obeyed) {
            *slot = match coda {
                Some(label) => to_coda.label == label,
                None => all_obeyed || !obeyed,
            };
        }
    }

    fn then_coda(&mut self, marking: u32, label: Label) -> Option<Stand> {
        self.armed.then = None;
        self.armed.segno = None;
        self.armed.fine = true;
        self.go_to_coda(marking, label)
    }

    fn go_to_coda(&mut self, marking: u32, label: Label) -> Option<Stand> {
        let coda = self.course.laid.coda(label)?.part;
        self.land(coda, (Cause::ToCoda, Some(marking)))
    }

    /// Lands at a segno or a coda. Under the rulebook an ending there lists the present pass; under a changed rule one that does not is
    /// passed over.
    fn land(&mut self, part: PartIndex, sent: Sent) -> Option<Stand> {
        let target = self.missed(part, false);
        if !self.changes.is_none() {
            if target != part {
                self.stray(target);
            }
            return self.come_to(target, Some(sent));
        }
        self.leave_all_but(target);
        self.enter(target);
        Some(self.stand(target, sent))
    }

    fn stand(&mut self, part: PartIndex, (cause, marking): Sent) -> Stand {
        let stand = Stand {
            part,
            pass: self.innermost_pass(part),
            leg: self.leg,
            cause,
            marking,
        };
        self.here = Some(stand);
        stand
    }

    /// Comes to a part by going on or, when it is said what sends the road there, by an end repeat or from the beginning: an ending that
    /// does not list the present pass of its section is passed over.
    fn come_to(&mut self, mut part: PartIndex, mut sent: Option<Sent>) -> Option<Stand> {
        let mut passed = None;
        self.here = None;
        let length = self.course.row.length();
        while part < length {
            self.leave_all_but(part);
            let begun = self.course.ending_from.get(part as usize);
            // A changed rule may also send into the middle of an ending.
            let amid = self.course.ending_over.get(part as usize);
            let strays = !self.changes.is_none() && sent.is_some() && passed.is_none();
            let amid = amid.filter(|_| strays);
            let mut endings = [begun, amid].into_iter().flatten();
            let over = endings.find_map(|&ending| self.passed_over(ending));
            let goes_on = sent.is_none() || passed.is_some();
            if goes_on && over.is_none() {
                if let Some(marking) = self.armed_segno(part) {
                    return match self.armed.then {
                        Some(label) => self.then_coda(marking, label),
                        None => None,
                    };
                }
            }
            if goes_on {
                if let Some((target, marking)) = self.taken_as_order(part) {
                    self.stray(target);
                    (part, passed) = (target, None);
                    sent = Some((Cause::Repeat, Some(marking)));
                    continue;
                }
            }
            self.enter(part);
            let Some(ending) = over else {
                let on = passed.map_or((Cause::On, None), |marking| {
                    (Cause::PastEnding, Some(marking))
                });
                return Some(self.stand(part, sent.unwrap_or(on)));
            };
            let ending = self.course.laid.endings.get(ending as usize)?;
            passed = passed.or(Some(ending.marking));
            part = ending.last + 1;
        }
        None
    }

    /// The start repeat at a part that is taken as an order to go back, and where to.
    fn taken_as_order(&mut self, part: PartIndex) -> Option<(PartIndex, u32)> {
        if !self.has(Idea::StartRepeatGoesBack) || part == 0 {
            return None;
        }
        let at = *self.course.start_at.get(part as usize)? as usize;
        let done = self.gone_back.get_mut(at)?;
        if std::mem::replace(done, true) {
            return None;
        }
        let marking = self.course.laid.starts.get(at)?.marking;
        let before = at
            .checked_sub(1)
            .and_then(|at| self.course.laid.starts.get(at));
        Some((before.map_or(0, |start| start.part), marking))
    }

    /// The segno at a part at which the leg is left.
    fn armed_segno(&self, part: PartIndex) -> Option<u32> {
        let label = self.armed.segno?;
        let segno = self.course.laid.segno(label)?;
        (segno.part == part).then_some(segno.marking)
    }

    /// The ending, when it is not played now.
    fn passed_over(&self, ending: u32) -> Option<u32> {
        let number = self.section_of(ending)?;
        if self.has(Idea::EndingsInARow) || self.ignores_repeat(number) {
            return None;
        }
        let present = self.pass_of(number);
        let pass = if present > 0 {
            present
        } else {
            self.pass_on_entering(number)
        };
        let passes = &self.course.laid.endings.get(ending as usize)?.passes;
        (!passes.contains(self.read_pass(number, pass))).then_some(ending)
    }

    fn leave_all(&mut self) {
        self.has_strayed = false;
        self.again.fill(0);
        for number in self.active.drain(..) {
            if let Some(slot) = self.pass.get_mut(number as usize) {
                *slot = 0;
            }
        }
    }

    /// A section is active until the road goes beyond it.
    fn leave_all_but(&mut self, part: PartIndex) {
        while let Some(&number) = self.active.last() {
            let section = self.course.sections.get(number);
            if section.is_some_and(|section| section.start <= part && part <= section.end) {
                return;
            }
            self.active.pop();
            if let Some(slot) = self.pass.get_mut(number as usize) {
                *slot = 0;
            }
        }
    }

    /// Enters the sections around a part that are not active, outermost first.
    fn enter(&mut self, part: PartIndex) {
        let around = self.course.around(part);
        for &number in around.get(self.active.len()..).unwrap_or_default() {
            let pass = self.pass_on_entering(number);
            self.reach(number, pass);
            if let Some(slot) = self.again.get_mut(number as usize) {
                *slot = 0;
            }
            if let Some(slot) = self.entered.get_mut(number as usize) {
                *slot = self.leg;
            }
            self.active.push(number);
        }
    }

    /// The pass on which a section is entered now. Rulebook, chapter 5.
    fn pass_on_entering(&self, number: SectionIndex) -> u32 {
        let Some(section) = self.section(number) else {
            return 1;
        };
        let get = |list: &[u32]| list.get(number as usize).copied().unwrap_or(0);
        let again = get(&self.again);
        if again > 0 {
            return again;
        }
        let top = self.top(section);
        let next = get(&self.reached).saturating_add(1).min(top);
        // Who passes end repeats by counts on whenever the road comes to a section, and it comes once in each leg.
        if section.jump_closed || self.ignores_repeat(number) {
            return next;
        }
        if self.course.omit_repeats {
            return top;
        }
        if self.has_strayed && get(&self.entered) == self.leg {
            return get(&self.latest).saturating_add(1).min(top);
        }
        if self.leg == 1 {
            return next;
        }
        if self.has(Idea::RepeatsAfterJump) {
            return 1;
        }
        if self.has(Idea::RepeatsLeftOut) {
            return next;
        }
        let repeats = section.on_return.or(self.leg_repeats);
        match repeats.unwrap_or(self.course.reading.repeats_on_return) {
            Repeats::Play => 1,
            Repeats::Skip => next,
        }
    }
}

impl Iterator for Walk<'_> {
    type Item = Stand;

    fn next(&mut self) -> Option<Stand> {
        let next = self.advance();
        self.here = next;
        next
    }
}

fn mark(list: &mut [bool], at: usize) {
    if let Some(slot) = list.get_mut(at) {
        *slot = true;
    }
}
