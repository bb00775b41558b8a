//! The iterator over the steps of a route.

use super::walk::{PartRun, Walk};
use super::{Cause, Step};
use crate::roadmap::Roadmap;
use crate::roadmap::notes::{Sounding, Time};

/// The steps of a route, first to last. Nothing is allocated from one step to the next.
#[derive(Clone, Debug)]
pub struct Steps<'a> {
    roadmap: &'a Roadmap,
    walk: Walk<'a>,
    /// What is left of the run being played.
    run: Option<PartRun>,
    /// How often each part has been played so far.
    visits: Vec<u64>,
    left: u64,
}

impl<'a> Steps<'a> {
    pub(crate) fn new(roadmap: &'a Roadmap) -> Steps<'a> {
        let visits = vec![0; roadmap.plan.row.length() as usize];
        Steps {
            roadmap,
            walk: roadmap.walk(),
            run: None,
            visits,
            left: roadmap.length(),
        }
    }

    /// One step, found without walking to it.
    pub(crate) fn single(roadmap: &Roadmap, index: u64) -> Option<Step> {
        let visits = Walk::seek(roadmap, index)?.visits_before() + 1;
        let run = match index.checked_sub(1) {
            None => roadmap.walk().next_run()?,
            Some(before) => {
                // How a step is come to is known by coming to it: one step is walked from the step before.
                let mut walk = Walk::seek(roadmap, before)?;
                let run = walk.next_run()?;
                if run.from < run.to {
                    PartRun {
                        from: run.from + 1,
                        cause: Cause::On,
                        marking: None,
                        ..run
                    }
                } else {
                    walk.next_run()?
                }
            }
        };
        Some(step_of(roadmap, &run, visits))
    }
}

impl Iterator for Steps<'_> {
    type Item = Step;

    fn next(&mut self) -> Option<Step> {
        let run = match &mut self.run {
            Some(run) => run,
            none => none.insert(self.walk.next_run()?),
        };
        let visit = match self.visits.get_mut(run.from as usize) {
            Some(count) => {
                *count += 1;
                *count
            }
            None => 1,
        };
        let step = step_of(self.roadmap, run, visit);
        if run.from < run.to {
            run.from += 1;
            run.cause = Cause::On;
            run.marking = None;
        } else {
            self.run = None;
        }
        self.left = self.left.saturating_sub(1);
        Some(step)
    }

    fn size_hint(&self) -> (usize, Option<usize>) {
        let left = usize::try_from(self.left);
        (left.unwrap_or(usize::MAX), left.ok())
    }
}

/// The first step of a run.
fn step_of(roadmap: &Roadmap, run: &PartRun, visit: u64) -> Step {
    let (measure, part) = roadmap.plan.row.part(run.from);
    let notes = &roadmap.plan.notes;
    let sounding = if notes.is_empty() {
        Sounding::PLAIN
    } else {
        notes.at(
            run.from,
            Time {
                pass: run.pass,
                passes: run.passes,
                leg: run.leg,
            },
        )
    };
    Step {
        measure,
        part,
        pass: run.pass,
        enclosing: run.enclosing,
        leg: run.leg,
        visit,
        octave: sounding.octave,
        hold: sounding.hold,
        hands: sounding.hands,
        cause: run.cause,
        marking: run.marking,
    }
}
