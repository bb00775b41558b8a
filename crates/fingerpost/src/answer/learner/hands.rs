//! Which octave each hand plays on a walk, with the rules of the octave signs changed.

use super::{Changes, Course, Stand};
use crate::answer::Misunderstanding as Idea;
use crate::roadmap::notes::{OctavesRead, Shifted, Time};
use crate::route::Octaves;

/// The hands of a learner on a walk. They are told each stand of it, from the first on.
#[derive(Clone, Copy, Default, Debug)]
pub(crate) struct Hands {
    /// The shifts that a learner who never undoes them has come to.
    kept: Octaves,
}

impl Hands {
    /// What the hands play at the next stand of a walk under these changes.
    pub(crate) fn at(&mut self, course: &Course, changes: Changes, stand: Stand) -> Octaves {
        let innermost = course.sections.at(stand.part);
        let section = innermost.and_then(|number| course.sections.get(number));
        let passes = section.map_or(1, |section| changes.passes_of(section));
        let time = Time {
            pass: stand.pass,
            passes,
            leg: stand.leg,
        };
        let read = OctavesRead {
            times: changes.octave_times(),
            by_other_hand: changes.has(Idea::OctaveInTheWrongHand),
        };
        let [right, left] = course.notes.octaves(stand.part, time, read);
        if !changes.has(Idea::OctaveNeverUndone) {
            return Octaves {
                right: right.octaves,
                left: left.octaves,
            };
        }
        let keep = |now: Shifted, kept: i8| if now.holds { now.octaves } else { kept };
        self.kept = Octaves {
            right: keep(right, self.kept.right),
            left: keep(left, self.kept.left),
        };
        self.kept
    }
}
