//! Two misunderstandings at once.

use super::learner::{Changes, Stand};
use super::misunderstanding::Misunderstanding::{
    self, FineOnTheFirstLeg, JumpForEver, RepeatIgnored, ToCodaOnTheFirstLeg, TooFewTimes,
};
use super::search::{Along, Key, Search, in_common};

impl Search<'_> {
    /// The misunderstandings of which two at once give the answer.
    ///
    /// Up to where the answer parts from the right order no changed rule has shown itself, and one of the two shows itself just there. So two
    /// that each, alone, walk as the right rules do up to there and one step on need not be tried: these are the long walks.
    pub(super) fn pairs(
        &mut self,
        singles: &[(Misunderstanding, Changes)],
        right: &[Key],
    ) -> Vec<Vec<Misunderstanding>> {
        let parts_at = in_common(self.answer, right);
        self.set_out(Changes::NONE);
        let stands = (0..=parts_at).map(|_| self.step().map(|(stand, _)| stand));
        let stands: Vec<Option<Stand>> = stands.collect();
        let candidates: Vec<(Misunderstanding, Changes, bool)> = singles
            .iter()
            .map(|&(idea, changes)| (idea, changes, self.acts_later(changes, &stands)))
            .collect();
        let last = parts_at.checked_sub(1).and_then(|at| *stands.get(at)?);
        let mut whole = Vec::new();
        for (at, &(first, changes, later)) in candidates.iter().enumerate() {
            for &(second, more, later_too) in candidates.iter().skip(at + 1) {
                let may_be = first != second && !first.contradicts(second) && !(later && later_too);
                if !may_be || !matches!(self.along(changes.and(more)), Along::Whole) {
                    continue;
                }
                let both = [first, second];
                let for_ever = both == [RepeatIgnored, JumpForEver];
                if for_ever && self.goes_back_at_each_end(changes.and(more))
                    || first == TooFewTimes && self.leaves_before_its_time(second, last)
                {
                    // Only the second shows itself.
                    whole.push(vec![second]);
                } else if later {
                    // The one that shows itself where the answer parts from the right order is named first.
                    whole.push(vec![second, first]);
                } else {
                    whole.push(vec![first, second]);
                }
            }
        }
        whole
    }

    /// Whether a changed walk is the right one, in every way, as far as it is given.
    fn acts_later(&mut self, changes: Changes, right: &[Option<Stand>]) -> bool {
        if changes.is_of_octaves() {
            return false;
        }
        self.set_out(changes);
        let mut right = right.iter();
        right.all(|&stand| self.step().map(|(stand, _)| stand) == stand)
    }

    /// Whether a changed walk, as far as the answer goes, is sent at each end repeat to where that sends: no end repeat is seen to be passed by.
    fn goes_back_at_each_end(&mut self, changes: Changes) -> bool {
        self.set_out(changes);
        for _ in self.answer {
            let sends_to = self
                .last
                .and_then(|last| self.course.end_sends_to(last.part));
            let Some((here, _)) = self.step() else {
                break;
            };
            if sends_to.is_some_and(|part| part != here.part) {
                return false;
            }
        }
        true
    }

    /// Whether an answer that goes wrong after a step leaves there by a Fine or a To Coda that names its arrivals, and is obeyed too soon: then
    /// it does not show that a repeat is made too few times, where no other could be.
    fn leaves_before_its_time(&self, idea: Misunderstanding, last: Option<Stand>) -> bool {
        let laid = &self.course.laid;
        let Some(part) = last.map(|stand| stand.part) else {
            return false;
        };
        let names = match idea {
            FineOnTheFirstLeg => {
                let mut fines = laid.fines.iter();
                fines.any(|it| it.part == part && it.arrivals.is_some())
            }
            ToCodaOnTheFirstLeg => {
                let mut to_codas = laid.to_codas.iter();
                to_codas.any(|it| it.part == part && it.arrivals.is_some())
            }
            _ => false,
        };
        let too_few = Changes::of(TooFewTimes);
        let sections = self.course.sections.list.iter();
        names && sections.filter(|it| too_few.makes_too_few(it)).count() == 1
    }
}
