//! Which misunderstanding explains an answer best: single ones before two at once, whole explanations before those of a part.

use super::distance::{MOST_SLIPS, Rows, slips};
use super::judge::{Explanation, Fit};
use super::learner::{Changes, Course, Hands, Stand, Walk};
use super::misunderstanding::Misunderstanding;
use crate::route::Octaves;

/// A measure and the octave of each hand, as one number.
pub(super) type Key = u64;

pub(super) fn key(measure: u32, octave: Octaves) -> Key {
    let byte = |octaves: i8| u64::from(u8::from_ne_bytes(octaves.to_ne_bytes()));
    u64::from(measure) << 16 | byte(octave.right) << 8 | byte(octave.left)
}

/// The most explanations that are listed.
const MOST_LISTED: usize = 8;

/// What a search has found.
#[derive(Default)]
pub(super) struct Found {
    pub(super) explanations: Vec<Explanation>,
    pub(super) more: usize,
    pub(super) slips: Option<usize>,
}

/// How far a changed walk goes along with an answer.
enum Along {
    /// To its end, and ends there.
    Whole,
    /// For so many steps.
    Until(usize),
}

/// A search for what explains one answer.
pub(super) struct Search<'s> {
    course: &'s Course,
    walk: Walk<'s>,
    answer: &'s [Key],
    with_octaves: bool,
    rows: Rows,
    road: Vec<Key>,
}

impl<'s> Search<'s> {
    pub(super) fn new(course: &'s Course, answer: &'s [Key], with_octaves: bool) -> Search<'s> {
        Search {
            course,
            walk: Walk::new(course),
            answer,
            with_octaves,
            rows: Rows::default(),
            road: Vec::new(),
        }
    }

    /// What explains the answer. `right` is the right order as far as it can matter, `length` the length of the whole.
    pub(super) fn explain(mut self, right: &[Key], length: u64) -> Found {
        let from_right = if right.len() as u64 == length {
            slips(&mut self.rows, self.answer, right, None)
        } else {
            None
        };
        let singles: Vec<(Misunderstanding, Changes)> = Changes::singles()
            .filter(|(idea, _)| self.with_octaves || !idea.is_of_octaves())
            .collect();
        let mut whole: Vec<Vec<Misunderstanding>> = Vec::new();
        let mut common: Vec<(Misunderstanding, usize)> = Vec::new();
        for &(idea, changes) in &singles {
            match self.along(changes) {
                Along::Whole => whole.push(vec![idea]),
                Along::Until(steps) => common.push((idea, steps)),
            }
        }
        // One slip is likelier than two misunderstandings that happen to give the same order.
        if whole.is_empty() && !self.answer.is_empty() && from_right != Some(1) {
            whole = self.pairs(&singles, right);
        }
        let explained = if whole.is_empty() {
            let near = self.nearest(&singles, from_right);
            if near.is_empty() {
                self.longest(common, right)
            } else {
                near
            }
        } else {
            let all = whole.into_iter().map(|ideas| Explanation {
                ideas,
                fit: Fit::Whole,
            });
            all.collect()
        };
        let mut found = Found {
            explanations: explained,
            more: 0,
            slips: from_right,
        };
        found.explanations.dedup();
        found.more = found.explanations.len().saturating_sub(MOST_LISTED);
        found.explanations.truncate(MOST_LISTED);
        found
    }

    /// The misunderstandings of which two at once give the answer.
    ///
    /// Up to where the answer parts from the right order no changed rule has shown itself, and one of the two shows itself just there. So two
    /// that each, alone, walk as the right rules do up to there and one step on need not be tried: these are the long walks.
    fn pairs(
        &mut self,
        singles: &[(Misunderstanding, Changes)],
        right: &[Key],
    ) -> Vec<Vec<Misunderstanding>> {
        let pairs = self.answer.iter().zip(right);
        let parts_at = pairs.take_while(|(a, b)| a == b).count();
        self.walk.restart(Changes::NONE);
        let stands: Vec<Option<Stand>> = (0..=parts_at).map(|_| self.walk.next()).collect();
        let candidates: Vec<(Misunderstanding, Changes, bool)> = singles
            .iter()
            .map(|&(idea, changes)| (idea, changes, self.acts_later(changes, &stands)))
            .collect();
        let mut whole = Vec::new();
        for (at, &(first, changes, later)) in candidates.iter().enumerate() {
            for &(second, more, later_too) in candidates.iter().skip(at + 1) {
                let may_be = first != second && !(later && later_too);
                if may_be && matches!(self.along(changes.and(more)), Along::Whole) {
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
        self.walk.restart(changes);
        right.iter().all(|&stand| self.walk.next() == stand)
    }

    /// Follows a changed walk along the answer until they part.
    fn along(&mut self, changes: Changes) -> Along {
        self.walk.restart(changes);
        let mut hands = Hands::default();
        for (steps, &given) in self.answer.iter().enumerate() {
            let Some(stand) = self.walk.next() else {
                return Along::Until(steps);
            };
            let octave = if self.with_octaves {
                hands.at(self.course, changes, stand)
            } else {
                Octaves::default()
            };
            if key(u32::from(self.course.measure(stand.part)), octave) != given {
                return Along::Until(steps);
            }
        }
        // A road that goes round for ever is explained by any beginning that goes beyond what is right.
        let for_ever = changes.has(Misunderstanding::JumpForEver) && self.walk.has_jumped_again();
        if for_ever || self.walk.next().is_none() {
            Along::Whole
        } else {
            Along::Until(self.answer.len())
        }
    }

    /// The misunderstandings that come nearest to the answer, nearer than the right order.
    fn nearest(
        &mut self,
        singles: &[(Misunderstanding, Changes)],
        from_right: Option<usize>,
    ) -> Vec<Explanation> {
        let most = self.few_slips();
        let mut best = from_right.unwrap_or(MOST_SLIPS + 1);
        let mut near: Vec<(Misunderstanding, usize)> = Vec::new();
        for &(idea, changes) in singles {
            let Some(distance) = self.distance(changes).filter(|&it| it <= most) else {
                continue;
            };
            if distance < best {
                near.clear();
                best = distance;
            }
            if distance == best && Some(distance) != from_right {
                near.push((idea, distance));
            }
        }
        let explained = near.into_iter().map(|(idea, slips)| Explanation {
            ideas: vec![idea],
            fit: Fit::ButForSlips(slips),
        });
        explained.collect()
    }

    /// How many slips an explanation may leave: with more it explains nothing. A tenth of the steps, or one beside which there is more.
    fn few_slips(&self) -> usize {
        match self.answer.len() {
            0 | 1 => 0,
            steps => (steps / 10).max(1),
        }
    }

    /// The slips between the answer and a changed walk.
    fn distance(&mut self, changes: Changes) -> Option<usize> {
        self.walk.restart(changes);
        self.road.clear();
        let mut hands = Hands::default();
        let enough = self.answer.len() + MOST_SLIPS + 1;
        let mut ends = false;
        // How many steps lead beyond what is right, on a road that goes round for ever.
        let mut beyond = None;
        while self.road.len() < enough {
            let Some(stand) = self.walk.next() else {
                ends = true;
                break;
            };
            let octave = if self.with_octaves {
                hands.at(self.course, changes, stand)
            } else {
                Octaves::default()
            };
            self.road
                .push(key(u32::from(self.course.measure(stand.part)), octave));
            if beyond.is_none() && self.walk.has_jumped_again() {
                beyond = Some(self.road.len());
            }
        }
        if ends {
            beyond = None;
        } else if beyond.is_none() {
            return None;
        }
        slips(&mut self.rows, self.answer, &self.road, beyond)
    }

    /// The misunderstandings that go along with the answer for the longest time: at least two steps longer than the right order does, and
    /// for half of the answer.
    fn longest(
        &self,
        mut common: Vec<(Misunderstanding, usize)>,
        right: &[Key],
    ) -> Vec<Explanation> {
        let pairs = self.answer.iter().zip(right);
        let from_right = pairs.take_while(|(a, b)| a == b).count();
        let most = common.iter().map(|&(_, steps)| steps).max().unwrap_or(0);
        if most < from_right + 2 || most * 2 < self.answer.len() {
            return Vec::new();
        }
        common.retain(|&(_, steps)| steps == most);
        let explained = common.into_iter().map(|(idea, steps)| Explanation {
            ideas: vec![idea],
            fit: Fit::UpTo(steps),
        });
        explained.collect()
    }
}
