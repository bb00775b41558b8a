//! The iterator over the steps of a route.

use super::walk::{PartRun, Walk};
use super::{Cause, Held, Part, Step};
use crate::roadmap::Roadmap;
use crate::roadmap::notes::{Sounding, Time};
use crate::roadmap::row::PartIndex;

/// The steps of a route, first to last. Nothing is allocated from one step to the next.
#[derive(Clone, Debug)]
pub struct Steps<'a> {
    roadmap: &'a Roadmap,
    walk: Walk<'a>,
    /// The part of the last step, and the last part of its run; nothing is left of the run when they are equal.
    part: PartIndex,
    run_end: PartIndex,
    passes: u32,
    /// What the steps of a run have in common.
    step: Step,
    /// The part of the last step that was looked at, and its measure.
    first: PartIndex,
    first_measure: u16,
    /// The last part of the run up to which measures are whole and nothing is written over them.
    plain_end: PartIndex,
    begun: bool,
    /// How often each part has been played so far.
    visits: Vec<u64>,
    left: u64,
}

impl<'a> Steps<'a> {
    pub(crate) fn new(roadmap: &'a Roadmap) -> Steps<'a> {
        Steps {
            roadmap,
            walk: roadmap.walk(),
            part: 0,
            run_end: 0,
            passes: 1,
            step: Step::PLAIN,
            first: 0,
            first_measure: 0,
            plain_end: 0,
            begun: false,
            visits: vec![0; roadmap.plan.row.length() as usize],
            left: roadmap.length(),
        }
    }

    /// One step, found without walking to it.
    pub(crate) fn single(roadmap: &Roadmap, index: u64) -> Option<Step> {
        let mut walk = Walk::seek(roadmap, index)?;
        let visit = walk.visits_before() + 1;
        let run = if walk.follows_on() {
            walk.next_run()?
        } else {
            // How a step is come to is known by coming to it: from the step before, or from the beginning.
            let mut walk = match index.checked_sub(1) {
                None => roadmap.walk(),
                Some(before) => Walk::seek(roadmap, before)?,
            };
            let run = walk.next_run()?;
            if index == 0 { run } else { walk.next_run()? }
        };
        let mut step = first_step(&run);
        step.visit = visit;
        (step.measure, step.part) = roadmap.plan.row.part(run.from);
        let time = Time {
            pass: run.pass,
            passes: run.passes,
            leg: run.leg,
        };
        let sounding = roadmap.plan.notes.at(run.from, time);
        (step.octave, step.hold, step.hands) = (sounding.octave, sounding.hold, sounding.hands);
        Some(step)
    }

    /// Which hands hold a fermata at one step, found without counting how often its measure has sounded.
    pub(crate) fn held(roadmap: &Roadmap, index: u64) -> Option<Held> {
        let run = Walk::seek(roadmap, index)?.next_run()?;
        let time = Time {
            pass: run.pass,
            passes: run.passes,
            leg: run.leg,
        };
        Some(roadmap.plan.notes.at(run.from, time).hold)
    }

    /// The next step where a run begins, where a measure is cut, or where something may be written over it.
    #[inline(never)]
    fn look(&mut self) -> Option<Changing> {
        self.left = self.left.checked_sub(1)?;
        let (mut cause, mut marking) = (Cause::On, None);
        if self.begun && self.part < self.run_end {
            self.part += 1;
        } else {
            let run = self.walk.next_run()?;
            (cause, marking) = (run.cause, run.marking);
            (self.begun, self.part, self.run_end, self.passes) =
                (true, run.from, run.to, run.passes);
            self.step = first_step(&run);
        }
        let plan = &self.roadmap.plan;
        let visit = self.visits.get_mut(self.part as usize)?;
        *visit += 1;
        let (measure, part) = plan.row.part(self.part);
        let sounding = if plan.notes.next_from(self.part) == self.part {
            let time = Time {
                pass: self.step.pass,
                passes: self.passes,
                leg: self.step.leg,
            };
            plan.notes.at(self.part, time)
        } else {
            Sounding::PLAIN
        };
        (self.first, self.first_measure) = (self.part, measure);
        let plain_until = plan.notes.next_from(self.part + 1).saturating_sub(1);
        self.plain_end = if plan.row.is_whole() {
            self.run_end.min(plain_until)
        } else {
            self.part
        };
        Some(Changing {
            measure,
            part,
            visit: *visit,
            sounding,
            cause,
            marking,
        })
    }
}

impl Steps<'_> {
    /// What changes at a whole measure with nothing written over it, inside a run.
    #[inline]
    fn plain(&mut self) -> Changing {
        let mut visit = 1;
        if let Some(count) = self.visits.get_mut(self.part as usize) {
            *count += 1;
            visit = *count;
        }
        Changing {
            measure: self.first_measure + u16::try_from(self.part - self.first).unwrap_or(0),
            part: None,
            visit,
            sounding: Sounding::PLAIN,
            cause: Cause::On,
            marking: None,
        }
    }

    #[inline]
    fn with(&self, now: Changing) -> Step {
        Step {
            measure: now.measure,
            part: now.part,
            visit: now.visit,
            octave: now.sounding.octave,
            hold: now.sounding.hold,
            hands: now.sounding.hands,
            cause: now.cause,
            marking: now.marking,
            ..self.step
        }
    }
}

/// What changes from one step of a run to the next.
#[derive(Clone, Copy)]
struct Changing {
    measure: u16,
    part: Option<Part>,
    visit: u64,
    sounding: Sounding,
    cause: Cause,
    marking: Option<u32>,
}

impl Iterator for Steps<'_> {
    type Item = Step;

    #[inline]
    fn next(&mut self) -> Option<Step> {
        // Within a run of whole measures with nothing written over them only the measure and its visit change.
        let now = if self.part < self.plain_end {
            self.part += 1;
            self.left -= 1;
            self.plain()
        } else {
            self.look()?
        };
        Some(self.with(now))
    }

    /// Walks to the end. Inside a run nothing has to be decided, so that this is the fastest way to take every step.
    #[inline]
    fn fold<B, F: FnMut(B, Step) -> B>(mut self, init: B, mut take: F) -> B {
        let mut taken = init;
        while let Some(now) = self.look() {
            taken = take(taken, self.with(now));
            while self.part < self.plain_end {
                self.part += 1;
                self.left -= 1;
                let now = self.plain();
                taken = take(taken, self.with(now));
            }
        }
        taken
    }

    fn size_hint(&self) -> (usize, Option<usize>) {
        let left = usize::try_from(self.left);
        (left.unwrap_or(usize::MAX), left.ok())
    }
}

/// The first step of a run, without its place, its visit and what sounds.
fn first_step(run: &PartRun) -> Step {
    Step {
        pass: run.pass,
        enclosing: run.enclosing,
        leg: run.leg,
        cause: run.cause,
        marking: run.marking,
        ..Step::PLAIN
    }
}
