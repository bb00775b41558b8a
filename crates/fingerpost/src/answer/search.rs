//! Which misunderstanding explains an answer best: single ones before two at once (`pairs.rs`), whole explanations before those of a part.

use std::collections::HashMap;

use super::distance::{MOST_SLIPS, Rows, slips};
use super::judge::{Explanation, Fit};
use super::learner::{Changes, Course, Hands, Stand, Walk};
use super::misunderstanding::Misunderstanding::{
    self, JumpForEver, JumpIgnored, LandingOneOff, StopsAtJump,
};
use crate::reading::Reading;
use crate::route::{Cause, Octaves};

/// A measure and the octave of each hand, as one number.
pub(super) type Key = u64;

pub(super) fn key(measure: u32, octave: Octaves) -> Key {
    let byte = |octaves: i8| u64::from(u8::from_ne_bytes(octaves.to_ne_bytes()));
    u64::from(measure) << 16 | byte(octave.right) << 8 | byte(octave.left)
}

fn measure_of(key: Key) -> u32 {
    u32::try_from(key >> 16).unwrap_or(u32::MAX)
}

/// The most explanations that are listed.
const MOST_LISTED: usize = 8;

/// The place of an explanation among those that are as good.
type Rank = Vec<(u8, bool)>;

/// The place of an explanation among those that are as good: that of the catalogue. But who stops at a D.C. after which nothing comes has
/// hardly overlooked it, and a landing missed says least of what is misunderstood.
fn rank(ideas: &[Misunderstanding]) -> Rank {
    let rank = |idea: &Misunderstanding| match idea {
        LandingOneOff => (u8::MAX, false),
        StopsAtJump => (JumpIgnored as u8, false),
        other => (*other as u8, true),
    };
    let mut ranks: Rank = ideas.iter().map(rank).collect();
    ranks.sort_unstable_by(|a, b| b.cmp(a));
    ranks
}

/// How far an explanation is from where an answer first goes wrong: how many steps behind it shows itself, and whether no sign that it speaks of
/// stands there, or its road has ended there.
type Away = (usize, bool);

/// What a search has found.
#[derive(Default)]
pub(super) struct Found {
    pub(super) explanations: Vec<Explanation>,
    pub(super) more: usize,
    pub(super) slips: Option<usize>,
    /// How many slips the answer has beside a beginning of the right order, when that is what it is but for a few.
    pub(super) breaks_off: Option<usize>,
}

impl Found {
    /// Of explanations, each with how far it is from the first wrong step.
    fn of(explained: Vec<(Away, Explanation)>, slips: Option<usize>) -> Found {
        let mut explained: Vec<_> = explained
            .into_iter()
            .map(|(away, it)| ((away, rank(&it.ideas)), it))
            .collect();
        explained.sort_by(|(one, _), (other, _)| one.cmp(other));
        // Two forms of one misunderstanding under one reading are one explanation, whichever of two at once shows itself first.
        let mut known: Vec<(Rank, Option<Reading>)> = Vec::new();
        explained.retain(|((_, rank), it)| {
            let this = (rank.clone(), it.under);
            let is_new = !known.contains(&this);
            known.push(this);
            is_new
        });
        let mut explanations: Vec<Explanation> = explained.into_iter().map(|(_, it)| it).collect();
        let more = explanations.len().saturating_sub(MOST_LISTED);
        explanations.truncate(MOST_LISTED);
        Found {
            explanations,
            more,
            slips,
            breaks_off: None,
        }
    }
}

/// How many slips an explanation may leave in an answer of so many steps: with more it explains nothing. A tenth of the steps, or one beside
/// which there is more.
pub(crate) fn few_slips(steps: usize) -> usize {
    match steps {
        0 | 1 => 0,
        _ => (steps / 10).max(1),
    }
}

/// How many steps two orders have in common from the beginning.
pub(super) fn in_common(one: &[Key], other: &[Key]) -> usize {
    let pairs = one.iter().zip(other);
    pairs.take_while(|(a, b)| a == b).count()
}

/// Whether two orders have the same measures, whatever their octaves.
pub(super) fn same_measures(one: &[Key], other: &[Key]) -> bool {
    let measures = |order: &[Key]| order.iter().copied().map(measure_of).collect::<Vec<_>>();
    one.len() == other.len() && measures(one) == measures(other)
}

/// How often an order leaps from a measure to another that is not the next one.
fn leaps(order: &[Key]) -> HashMap<(Key, Key), usize> {
    let mut leaps = HashMap::new();
    for (&from, &to) in order.iter().zip(order.iter().skip(1)) {
        if measure_of(from).checked_add(1) != Some(measure_of(to)) {
            *leaps.entry((from, to)).or_default() += 1;
        }
    }
    leaps
}

/// Whether an answer makes a leap of a changed walk that the right order does not make, or more often than that.
fn has_own_leap(road: &[Key], answer: &[Key], right: &[Key]) -> bool {
    let [road, answer, right] = [road, answer, right].map(leaps);
    let more = |order: &HashMap<(Key, Key), usize>, leap| order.get(leap) > right.get(leap);
    road.keys()
        .any(|leap| more(&road, leap) && more(&answer, leap))
}

/// How far a changed walk goes along with an answer.
pub(super) enum Along {
    /// To its end, and ends there.
    Whole,
    /// For so many steps: then they part.
    Until(usize),
    /// For so many steps: then the road ends, and the answer goes on.
    UntilItsEnd(usize),
}

/// A search for what explains one answer.
pub(super) struct Search<'s> {
    pub(super) course: &'s Course,
    walk: Walk<'s>,
    pub(super) answer: &'s [Key],
    spelling: Spelling,
    rows: Rows,
    road: Vec<Key>,
    changes: Changes,
    hands: Hands,
    /// Where the learner stood last.
    pub(super) last: Option<Stand>,
    /// How many steps have been told.
    told: usize,
}

/// How an answer is spelled.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Spelling {
    /// Whether it tells octaves.
    pub(super) octaves: bool,
    /// How the parts of a cut measure are told that are played one after the other.
    pub(super) parts: PartsAs,
}

/// How the parts of a cut measure are told.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum PartsAs {
    /// Each is a step.
    Each,
    /// All together are one step.
    One,
    /// As many are steps as the answer names in a row.
    Answered,
}

impl Spelling {
    /// Whether a further part of a measure is a step of its own, when the answer has told so many steps.
    pub(super) fn tells(self, answer: &[Key], told: usize, measure: u32) -> bool {
        match self.parts {
            PartsAs::Each => true,
            PartsAs::One => false,
            PartsAs::Answered => answer
                .get(told)
                .is_some_and(|&it| measure_of(it) == measure),
        }
    }
}

impl<'s> Search<'s> {
    pub(super) fn new(course: &'s Course, answer: &'s [Key], spelling: Spelling) -> Search<'s> {
        Search {
            course,
            walk: Walk::new(course),
            answer,
            spelling,
            rows: Rows::default(),
            road: Vec::new(),
            changes: Changes::NONE,
            hands: Hands::default(),
            last: None,
            told: 0,
        }
    }

    /// Sets out anew under changed rules.
    pub(super) fn set_out(&mut self, changes: Changes) {
        self.walk.restart(changes);
        (self.changes, self.hands, self.last) = (changes, Hands::default(), None);
        self.told = 0;
    }

    /// The next step, as an answer would tell it.
    pub(super) fn step(&mut self) -> Option<(Stand, Key)> {
        loop {
            let stand = self.walk.next()?;
            let octave = if self.spelling.octaves {
                self.hands.at(self.course, self.changes, stand)
            } else {
                Octaves::default()
            };
            let measure = self.course.measure(stand.part);
            let last = self.last.replace(stand);
            let goes_on = last.is_some_and(|last| {
                stand.cause == Cause::On
                    && last.part + 1 == stand.part
                    && self.course.measure(last.part) == measure
            });
            let measure_told = u32::from(measure);
            if !goes_on || self.spelling.tells(self.answer, self.told, measure_told) {
                self.told += 1;
                return Some((stand, key(u32::from(measure), octave)));
            }
        }
    }

    /// What explains the answer. `right` is the right order as far as it can matter, `length` the length of the whole; `others` are the other
    /// readings under which a misunderstanding may give the answer, those together that are equally near to the one asked for.
    pub(super) fn explain(mut self, right: &[Key], length: u64, others: &[Vec<Reading>]) -> Found {
        let from_right = if right.len() as u64 == length {
            slips(&mut self.rows, self.answer, right, None)
        } else {
            None
        };
        let singles: Vec<(Misunderstanding, Changes)> = Changes::singles()
            .filter(|(idea, _)| self.spelling.octaves || !idea.is_of_octaves())
            .collect();
        let mut whole: Vec<Vec<Misunderstanding>> = Vec::new();
        let mut common: Vec<(Misunderstanding, usize)> = Vec::new();
        let mut ended: Vec<(Misunderstanding, usize)> = Vec::new();
        for &(idea, changes) in &singles {
            match self.along(changes) {
                Along::Whole => whole.push(vec![idea]),
                Along::Until(steps) => common.push((idea, steps)),
                Along::UntilItsEnd(steps) => ended.push((idea, steps)),
            }
        }
        let is_shorter = (self.answer.len() as u64) < length;
        let is_beginning = is_shorter && right.starts_with(self.answer);
        // One slip is likelier than two misunderstandings that happen to give the same order; and of two at once an answer that is right as far
        // as it goes shows one at most.
        // But a landing missed that looks like walking on is no likelier than two others.
        let landing = |ideas: &Vec<Misunderstanding>| ideas[..] == [LandingOneOff];
        let may_be_two = if whole.is_empty() {
            !self.answer.is_empty() && !is_beginning && from_right != Some(1)
        } else {
            whole.iter().all(landing)
                && !is_beginning
                && !has_own_leap(self.answer, self.answer, right)
        };
        // To play as another published reading has it is no mistake: one misunderstanding is plainer than two.
        let under = if may_be_two && whole.is_empty() {
            self.under(others, right)
        } else {
            Vec::new()
        };
        if may_be_two && under.is_empty() {
            // One that explains all by itself needs no other beside it.
            let known = whole.first().map(|_| LandingOneOff);
            let others = singles.iter().filter(|(idea, _)| Some(*idea) != known);
            let others: Vec<(Misunderstanding, Changes)> = others.copied().collect();
            whole.extend(self.pairs(&others, right));
        }
        // An answer that is right as far as it goes says no more than that it breaks off.
        let few = few_slips(self.answer.len());
        let explained = if !under.is_empty() {
            under
        } else if whole.is_empty() && is_beginning {
            Vec::new()
        } else if whole.is_empty() {
            let mut found = self.nearest(&singles, right, from_right);
            // A slip or a few are plainer than an idea that explains a part.
            if found.is_empty() && from_right.is_none_or(|slips| slips > few) {
                found = self.longest(common, right);
                // An answer that goes on where a road has ended speaks against whoever took that road.
                if found.is_empty() {
                    found = self.longest(ended, right);
                }
            }
            found
        } else {
            let all = whole.into_iter().map(|ideas| Explanation {
                ideas,
                fit: Fit::Whole,
                shows_later: false,
                under: None,
            });
            self.placed(all, right)
        };
        let from_beginning = slips(&mut self.rows, self.answer, right, Some(0));
        let is_nearer = |slips| from_right.is_none_or(|whole| slips < whole);
        // What ends where the music ends has left something out before.
        let is_whole = right.len() as u64 == length;
        let ends_like_it = is_whole && !is_beginning && self.answer.last() == right.last();
        let breaks_off = from_beginning
            .filter(|&slips| is_shorter && !ends_like_it && slips <= few && is_nearer(slips));
        Found {
            breaks_off,
            ..Found::of(explained, from_right)
        }
    }

    /// The single misunderstandings that give just the answer under other published readings: all of those that are nearest to the one asked
    /// for. A landing missed that looks like walking on is likelier to be something else.
    fn under(&self, others: &[Vec<Reading>], right: &[Key]) -> Vec<(Away, Explanation)> {
        let explained = |&reading: &Reading| {
            let course = self.course.under(reading);
            let mut search = Search::new(&course, self.answer, self.spelling);
            search.set_out(Changes::NONE);
            let enough = 2 * self.answer.len() + MOST_SLIPS;
            let road = (0..enough).map_while(|_| search.step().map(|(_, key)| key));
            let road: Vec<Key> = road.collect();
            let has_leap = has_own_leap(self.answer, self.answer, &road);
            // Up to there nothing is misread.
            let shows_later = in_common(self.answer, &road) > in_common(self.answer, right);
            let found = search.just_so().explanations.into_iter();
            let found = found.filter(|it| has_leap || it.ideas[..] != [LandingOneOff]);
            let under = Some(reading);
            let found = found.map(|it| Explanation {
                shows_later,
                under,
                ..it
            });
            let found = found.map(|it| ((0, false), it));
            found.collect::<Vec<_>>()
        };
        let as_near = others.iter();
        let as_near = as_near.map(|readings| readings.iter().flat_map(explained).collect());
        let mut as_near = as_near.skip_while(Vec::is_empty);
        as_near.next().unwrap_or_default()
    }

    /// The single misunderstandings that give just the answer.
    pub(super) fn just_so(mut self) -> Found {
        let octaves = self.spelling.octaves;
        let singles = Changes::singles().filter(|(idea, _)| octaves || !idea.is_of_octaves());
        let whole = singles.filter(|&(_, changes)| matches!(self.along(changes), Along::Whole));
        let explained = whole.map(|(idea, _)| Explanation {
            ideas: vec![idea],
            fit: Fit::Whole,
            shows_later: false,
            under: None,
        });
        let explained = explained.map(|it| ((0, false), it)).collect();
        Found::of(explained, None)
    }

    /// Explanations that show themselves where the answer first goes wrong.
    fn placed(
        &mut self,
        explained: impl Iterator<Item = Explanation>,
        right: &[Key],
    ) -> Vec<(Away, Explanation)> {
        self.set_out(Changes::NONE);
        let right_for = in_common(self.answer, right);
        let before = (0..right_for).map_while(|_| self.step()).last();
        let before = before.map(|(stand, _)| self.course.measure(stand.part));
        // Where the right road obeys a D.C. or D.S., an end repeat at the same barline has done its work.
        let next = self.step().map(|(stand, _)| stand.cause);
        let by_jump = matches!(next, Some(Cause::DaCapo | Cause::DalSegno));
        // Who is to leave the repeats out does so rightly by passing end repeats by.
        let omits = self.course.omits_repeats();
        let is_elsewhere = |it: &Explanation| {
            if omits && it.ideas.first() == Some(&Misunderstanding::RepeatIgnored) {
                return true;
            }
            let first = it.ideas.first().zip(before);
            first.is_some_and(|(&idea, measure)| {
                by_jump && idea.is_of_end_repeats() || !self.course.has_sign_of(idea, measure)
            })
        };
        explained.map(|it| ((0, is_elsewhere(&it)), it)).collect()
    }

    /// Follows a changed walk along the answer until they part.
    pub(super) fn along(&mut self, changes: Changes) -> Along {
        self.set_out(changes);
        for (steps, &given) in self.answer.iter().enumerate() {
            match self.step() {
                None => return Along::UntilItsEnd(steps),
                Some((_, here)) if here != given => return Along::Until(steps),
                Some(_) => {}
            }
        }
        // A road that goes round for ever is explained by any beginning that goes beyond what is right.
        let for_ever = changes.has(JumpForEver) && self.walk.has_jumped_again();
        if for_ever || self.step().is_none() {
            Along::Whole
        } else {
            Along::Until(self.answer.len())
        }
    }

    /// The misunderstandings that come nearest to the answer, nearer than the right order. One that shows itself where the answer is right
    /// is none of the pupil's, nor are landings that the answer does not have.
    fn nearest(
        &mut self,
        singles: &[(Misunderstanding, Changes)],
        right: &[Key],
        from_right: Option<usize>,
    ) -> Vec<(Away, Explanation)> {
        let is_right_for = in_common(self.answer, right);
        let most = few_slips(self.answer.len());
        let there = self.answer.get(is_right_for).copied().map(measure_of);
        let before = is_right_for.checked_sub(1);
        let before = before.and_then(|at| self.answer.get(at)).copied();
        let goes_back = there
            .zip(before)
            .is_some_and(|(there, it)| there < measure_of(it));
        let mut best = from_right.unwrap_or(MOST_SLIPS + 1);
        let mut near: Vec<(Away, Explanation)> = Vec::new();
        for &(idea, changes) in singles {
            let Some(distance) = self.distance(changes).filter(|&it| it <= most) else {
                continue;
            };
            let shows_at = in_common(&self.road, right);
            let Some(shows_late) = shows_at.checked_sub(is_right_for) else {
                continue;
            };
            let by_leaps = matches!(idea, LandingOneOff | JumpForEver);
            if by_leaps && !has_own_leap(&self.road, self.answer, right) {
                continue;
            }
            // Who goes back there, wherever to, has neither played on past the D.C. or D.S. nor stopped at it.
            let by_staying = matches!(idea, JumpIgnored | StopsAtJump);
            let is_led = self.road.get(is_right_for) == self.answer.get(is_right_for);
            if by_staying && shows_late == 0 && goes_back && !is_led {
                continue;
            }
            if distance < best {
                near.clear();
                best = distance;
            }
            if distance == best && Some(distance) != from_right {
                let explained = Explanation {
                    ideas: vec![idea],
                    fit: Fit::ButForSlips(distance),
                    shows_later: shows_late > 0,
                    under: None,
                };
                // An answer that goes on where a road has ended speaks against whoever took that road.
                let has_ended = self.road.len() < self.answer.len();
                let goes_on = has_ended && self.answer.starts_with(&self.road);
                near.push(((shows_late, goes_on), explained));
            }
        }
        near
    }

    /// The slips between the answer and a changed walk.
    fn distance(&mut self, changes: Changes) -> Option<usize> {
        self.set_out(changes);
        self.road.clear();
        let enough = self.answer.len() + MOST_SLIPS + 1;
        let mut ends = false;
        // How many steps lead beyond what is right, on a road that goes round for ever.
        let mut beyond = None;
        while self.road.len() < enough {
            let Some((_, here)) = self.step() else {
                ends = true;
                break;
            };
            self.road.push(here);
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
    ) -> Vec<(Away, Explanation)> {
        let from_right = in_common(self.answer, right);
        let most = common.iter().map(|&(_, steps)| steps).max().unwrap_or(0);
        if most < from_right + 2 || most * 2 < self.answer.len() {
            return Vec::new();
        }
        common.retain(|&(_, steps)| steps == most);
        let explained = common.into_iter().map(|(idea, steps)| Explanation {
            ideas: vec![idea],
            fit: Fit::UpTo(steps),
            shows_later: false,
            under: None,
        });
        explained.map(|it| ((0, false), it)).collect()
    }
}
