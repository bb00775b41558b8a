//! Judging an answer.

use std::cmp::Reverse;

use super::distance::{MOST_SLIPS, Rows, in_order, slips};
use super::given::{Answer, AnswerStep};
use super::learner::Course;
use super::misunderstanding::Misunderstanding;
use super::search::{
    Found, Key, PartsAs, Search, Spelling, few_slips, in_common, key, same_measures,
};
use super::spelled::{gives, is_told, length_told, of_step, told};
use crate::board::Board;
use crate::compare::{Comparison, compare};
use crate::reading::{Backing, Question, Reading};
use crate::roadmap::{Refusal, Roadmap, Terms};
use crate::route::Step;

/// One board made ready to judge answers on it: its right order, the orders of the other published readings, and what each
/// misunderstanding makes of it.
///
/// ```
/// use fingerpost::{Answer, Board, Judge, Misunderstanding, Terms, AnswerVerdict};
/// let board: Board = "|: 1 | 2 :| 3 Fine | 4 D.C. al Fine |".parse()?;
/// let judge = Judge::new(&board, &Terms::default())?;
/// let judgement = judge.judge(&Answer::read(&board, "1-2 1-3")?);
/// assert_eq!(judgement.verdict, AnswerVerdict::Wrong);
/// assert_eq!(judgement.explanations[0].ideas, [Misunderstanding::FineOnTheFirstLeg]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct Judge {
    comparison: Comparison,
    course: Course,
    /// The other published readings: those that differ in equally many answers together, the fewest first.
    others: Vec<Vec<Reading>>,
    /// Where the repeats are to be left out: the routes with them.
    with_repeats: Option<Comparison>,
    measures: u16,
    /// Whether no measure is cut.
    is_whole: bool,
}

/// A right order of so many steps is looked at to its end, however short the answer is.
const MOST_LOOKED_AT: usize = 1000;

/// Under so many other readings a misunderstanding is looked for.
const MOST_OTHERS: usize = 7;

/// What becomes of an answer.
#[derive(Clone, PartialEq, Debug)]
pub struct Judgement {
    /// Right, right under another reading, or wrong.
    pub verdict: AnswerVerdict,
    /// The first place at which it parts from the right order; absent when it is that order.
    pub difference: Option<Difference>,
    /// How many steps are right from the beginning on.
    pub right_from_the_beginning: usize,
    /// How many steps are right when those between them are left out: the longest row of steps that both orders have. Of a right order of
    /// more than a thousand steps only its beginning is looked at, twice as long as the answer; of very long orders that differ in the middle
    /// the beginning and the end alone are counted.
    pub right_in_order: usize,
    /// How many steps the answer has.
    pub given: usize,
    /// How many steps the right order has.
    pub length: u64,
    /// How many slips lie between the answer and the right order (a step left out, one too many, another in its place, two neighbours
    /// exchanged), when they are few: at most eight.
    pub slips: Option<usize>,
    /// How many slips it has beside a beginning of the right order, when it breaks off: when that is what it is but for a few.
    pub breaks_off: Option<usize>,
    /// The orders of other published readings, when the answer is wrong under these too and yet nearer to them than to the right order and to
    /// what a misunderstanding gives; or when it goes along with them for longer. All are equally near; those first whose readings differ from
    /// the one asked for in the fewest answers.
    pub near: Vec<NearRoute>,
    /// Where the repeats are to be left out: the published reading under which the answer is right as the signs stand, with its repeats. It is
    /// not explained then.
    pub with_repeats: Option<Reading>,
    /// What explains the answer, when it is wrong: the best explanations, all equally good, in the order of the catalogue. None where no
    /// misunderstanding comes nearer to the answer than the right order does. Of an answer that is right under a reading which no lesson and
    /// no book has published ([`Judge::backing`]), the single misunderstandings that give the same order.
    pub explanations: Vec<Explanation>,
    /// How many more explanations there are that are as good as these.
    pub more_explanations: usize,
}

/// An order that is right under another published reading, and near to an answer.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct NearRoute {
    /// The place of its route in [`Judge::comparison`].
    pub route: usize,
    /// How near: all but a few slips, or so many steps from the beginning.
    pub fit: Fit,
    /// Where the answer parts from that order.
    pub difference: Difference,
    /// How many steps that order has.
    pub length: u64,
}

/// Right or wrong.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum AnswerVerdict {
    /// It is the order of the reading asked for.
    Right,
    /// It is the order of other readings: the place of its route in [`Judge::comparison`]. It is never called wrong. Who has published such a
    /// reading, [`Judge::backing`] says.
    RightUnder(usize),
    /// It is no order that a reading gives.
    Wrong,
}

/// Where an answer parts from the right order.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Difference {
    /// The step, counted from 0.
    pub index: usize,
    /// What the answer has there; absent when it has ended.
    pub given: Option<AnswerStep>,
    /// What would be right there, with its cause; absent when the music has ended.
    pub expected: Option<Step>,
    /// The right step before it; absent at the beginning.
    pub before: Option<Step>,
    /// What kind of difference it is.
    pub kind: DifferenceKind,
}

/// What kind of difference there is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum DifferenceKind {
    /// Nothing was answered.
    Empty,
    /// Another measure of the board.
    OtherMeasure,
    /// A measure that is not on the board.
    OffTheBoard,
    /// The right measure in another octave.
    OtherOctave,
    /// The answer ends before the music does.
    TooShort,
    /// The answer goes on after the music has ended.
    TooLong,
}

/// What explains an answer.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Explanation {
    /// One misunderstanding, or two at once.
    pub ideas: Vec<Misunderstanding>,
    /// How much of the answer they explain.
    pub fit: Fit,
    /// Whether the misunderstanding shows itself only behind the first wrong step, which is then one of the slips, or what another reading has
    /// there. It says nothing of the sign at which the answer first goes wrong.
    pub shows_later: bool,
    /// The other published reading under which the misunderstanding gives the answer; absent where that is the reading asked for. Such a
    /// pupil plays otherwise than is asked for, which is no mistake, and makes one besides.
    pub under: Option<Reading>,
}

/// How much of an answer an explanation explains.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Fit {
    /// All of it: the misunderstanding gives just this order.
    Whole,
    /// All but so many slips, fewer than lie between the answer and the right order.
    ButForSlips(usize),
    /// So many steps from the beginning, more than are right.
    UpTo(usize),
}

impl Judge {
    /// Prepares a board. The readings that are published beside the one asked for are compared here once, for all answers.
    ///
    /// # Errors
    /// As [`Roadmap::new`] on these terms: the board has errors, or an open section needs a number of plays.
    pub fn new(board: &Board, terms: &Terms) -> Result<Judge, Refusal> {
        let comparison = compare(board, terms)?;
        let reading = board.reading().over(terms.reading);
        let course = Course::new(board, &Terms { reading, ..*terms });
        let repeats_made = Terms {
            omit_repeats: false,
            ..*terms
        };
        // A board that can be walked without its repeats alone has no routes with them (rulebook 6.10).
        let with_repeats = terms
            .omit_repeats
            .then(|| compare(board, &repeats_made).ok())
            .flatten();
        let mut routes = comparison.routes.iter();
        let is_whole = routes.all(|route| route.roadmap.plan.row.is_whole());
        Ok(Judge {
            others: published_beside(&comparison, reading),
            with_repeats,
            comparison,
            course,
            is_whole,
            measures: board.measures(),
        })
    }

    /// The routes of all readings; the first is the right order.
    pub fn comparison(&self) -> &Comparison {
        &self.comparison
    }

    /// Who has published a reading that gives a route of the comparison: of its readings the best published counts, and of that one the
    /// weakest of the answers in which it differs from the reading asked for.
    pub fn backing(&self, route: usize) -> Backing {
        let asked = self.roadmap().reading();
        let nearest = self.nearest_readings(route);
        let nearest = nearest.first();
        nearest.map_or(Backing::Published, |it| it.backing_beside(&asked))
    }

    /// The readings of a route that are nearest to the one asked for.
    pub(crate) fn nearest_readings(&self, route: usize) -> Vec<Reading> {
        let route = self.comparison.routes.get(route);
        self.nearest_of(route.map_or(&[], |route| route.readings.as_slice()))
    }

    /// Of readings the best published ones, and of these the ones that differ from the reading asked for in the fewest answers.
    fn nearest_of(&self, readings: &[Reading]) -> Vec<Reading> {
        let asked = self.roadmap().reading();
        let far = |it: Reading| (it.backing_beside(&asked), apart(it, asked));
        let nearest = readings.iter().map(|&it| far(it)).min();
        let readings = readings.iter().copied();
        readings.filter(|&it| Some(far(it)) == nearest).collect()
    }

    /// The right order.
    pub fn roadmap(&self) -> &Roadmap {
        // cannot fail: a comparison has the route that was asked for.
        &self.comparison.routes[0].roadmap
    }

    /// Whether the right order leaves out every repeat, as asked for.
    pub(crate) fn omits_repeats(&self) -> bool {
        self.course.omits_repeats()
    }

    /// Whether a sign stands at the end of a measure of which a misunderstanding speaks; so too where it speaks of none that stands at an end.
    pub(crate) fn has_sign_of(&self, idea: Misunderstanding, measure: u16) -> bool {
        self.course.has_sign_of(idea, measure)
    }

    /// Judges an answer. On a board with cut measures a measure may be named once for each part played (rulebook 7.1), or once where its
    /// parts are played one after the other; both are right, and so is one here and the other there.
    pub fn judge(&self, answer: &Answer) -> Judgement {
        let octaves = answer.gives_octaves();
        let spelled = |parts| self.spelled(answer, Spelling { octaves, parts });
        let mut best = spelled(PartsAs::Each);
        for parts in [PartsAs::One, PartsAs::Answered] {
            if self.is_whole || best.verdict == AnswerVerdict::Right {
                break;
            }
            let other = spelled(parts);
            let is_better = match parts {
                // Names told now so and now so fit more easily: that they do says something only where less is left unexplained.
                PartsAs::Answered => other.explained_worth() > best.explained_worth(),
                _ => other.worth() > best.worth(),
            };
            if is_better {
                best = other;
            }
        }
        best
    }

    fn spelled(&self, answer: &Answer, spelling: Spelling) -> Judgement {
        let keys: Vec<Key> = answer
            .steps()
            .iter()
            .map(|step| key(step.measure, step.octave.unwrap_or_default()))
            .collect();
        let roadmap = self.roadmap();
        // A step or two more than the answer has decide that it is too short; the rest decides how near it is.
        let enough = keys.len().saturating_mul(2).saturating_add(MOST_SLIPS + 1);
        let enough = enough.max(MOST_LOOKED_AT);
        let steps: Vec<Step> = told(roadmap, spelling, &keys).take(enough).collect();
        let road: Vec<Key> = steps.iter().map(|step| of_step(step, spelling)).collect();
        let right = in_common(&keys, &road);
        let length = if steps.len() < enough {
            steps.len() as u64
        } else {
            length_told(roadmap, spelling, &keys)
        };
        let is_right = match spelling.parts {
            PartsAs::Answered => is_told(roadmap, spelling, &keys),
            _ => right == keys.len() && right as u64 == length,
        };
        let length = if is_right { keys.len() as u64 } else { length };
        let right = if is_right { keys.len() } else { right };
        let verdict = if is_right {
            AnswerVerdict::Right
        } else {
            self.right_under(&keys, spelling)
                .map_or(AnswerVerdict::Wrong, AnswerVerdict::RightUnder)
        };
        let search = Search::new(&self.course, &keys, spelling);
        let mut found = match verdict {
            AnswerVerdict::Wrong => search.explain(&road, length, &self.others),
            AnswerVerdict::RightUnder(route) if self.backing(route) != Backing::Published => {
                search.just_so()
            }
            _ => Found::default(),
        };
        let with_repeats = match verdict {
            AnswerVerdict::Wrong => self.with_repeats(&keys, spelling),
            _ => None,
        };
        let near = match verdict {
            AnswerVerdict::Wrong if with_repeats.is_none() => {
                self.near_routes(answer, (&keys, spelling), &found, &road)
            }
            _ => Vec::new(),
        };
        if !near.is_empty() || with_repeats.is_some() {
            // What is right under another reading, or as the signs stand, is not explained away as a misunderstanding.
            (found.explanations, found.more, found.breaks_off) = (Vec::new(), 0, None);
        }
        Judgement {
            verdict,
            difference: (!is_right).then(|| self.difference(answer, &steps, right)),
            right_from_the_beginning: right,
            right_in_order: if is_right {
                right
            } else {
                in_order(&keys, &road)
            },
            given: keys.len(),
            length,
            slips: found.slips.filter(|_| !is_right),
            breaks_off: found.breaks_off,
            near,
            with_repeats,
            explanations: found.explanations,
            more_explanations: found.more,
        }
    }

    fn right_under(&self, keys: &[Key], spelling: Spelling) -> Option<usize> {
        let routes = self.comparison.routes.iter().enumerate().skip(1);
        let fitting = routes.filter(|(_, other)| gives(&other.roadmap, spelling, keys));
        let places = fitting.map(|(at, _)| at);
        places.min_by_key(|&at| self.backing(at))
    }

    /// Where the repeats are to be left out: the published reading that gives the answer with its repeats.
    fn with_repeats(&self, keys: &[Key], spelling: Spelling) -> Option<Reading> {
        let routes = self.with_repeats.iter().flat_map(|it| &it.routes);
        let fitting = routes.filter(|it| gives(&it.roadmap, spelling, keys));
        let asked = self.roadmap().reading();
        let readings = fitting.flat_map(|it| self.nearest_of(&it.readings));
        let mut readings = readings.filter(|it| it.backing_beside(&asked) == Backing::Published);
        readings.next()
    }

    /// The orders of other published readings that are nearer than the right order, and than what explains the answer: the nearest of them. A
    /// single misunderstanding that gives just the answer is plainer. `right` is the right order, as far as it can matter.
    fn near_routes(
        &self,
        answer: &Answer,
        (keys, spelling): (&[Key], Spelling),
        found: &Found,
        right: &[Key],
    ) -> Vec<NearRoute> {
        let few = few_slips(keys.len());
        let mut most = few.min(found.slips.map_or(few, |slips| slips.saturating_sub(1)));
        // How far the answer has to go along with it, where it is further from it than a few slips.
        let is_far = found.slips.is_none_or(|slips| slips > few);
        // Where the measures are right the octaves alone speak for no other order.
        let may_go_along = is_far && !same_measures(keys, right);
        let mut least = may_go_along.then(|| in_common(keys, right) + 2);
        let explained = found.explanations.first();
        match explained.map(|first| (first.fit, first.ideas.len())) {
            Some((Fit::Whole, 1)) => return Vec::new(),
            // One slip is likelier than two misunderstandings, beside this order as beside the right one.
            Some((Fit::Whole, _)) => (most, least) = (most.min(1), None),
            Some((Fit::ButForSlips(slips), _)) => (most, least) = (most.min(slips), None),
            Some((Fit::UpTo(steps), _)) => least = least.map(|least| least.max(steps)),
            None if found.breaks_off.is_some() => least = None,
            None => {}
        }
        let least = least.map(|least| least.max(keys.len().div_ceil(2)));
        let mut rows = Rows::default();
        let routes = self.comparison.routes.iter().enumerate().skip(1);
        let near = routes.filter_map(|(route, other)| {
            if most == 0 && least.is_none() || self.backing(route) != Backing::Published {
                return None;
            }
            let enough = keys.len() + most + 1;
            let steps = told(&other.roadmap, spelling, keys).take(enough);
            let steps: Vec<Step> = steps.collect();
            let road: Vec<Key> = steps.iter().map(|step| of_step(step, spelling)).collect();
            let slips = slips(&mut rows, keys, &road, None).filter(|&slips| slips <= most);
            let along = in_common(keys, &road);
            let fit = match slips {
                Some(slips) => Fit::ButForSlips(slips),
                None if least.is_some_and(|least| along >= least) => Fit::UpTo(along),
                None => return None,
            };
            let difference = self.difference(answer, &steps, along);
            Some(NearRoute {
                route,
                fit,
                difference,
                length: length_told(&other.roadmap, spelling, keys),
            })
        });
        let mut near: Vec<NearRoute> = near.collect();
        let far = |it: &NearRoute| match it.fit {
            Fit::Whole => (0, 0),
            Fit::ButForSlips(slips) => (0, slips),
            Fit::UpTo(steps) => (1, keys.len().saturating_sub(steps)),
        };
        let nearest = near.iter().map(far).min();
        near.retain(|it| Some(far(it)) == nearest);
        let asked = self.roadmap().reading();
        let answers = |it: &NearRoute| {
            let readings = self.nearest_readings(it.route);
            readings.first().map(|&reading| apart(reading, asked))
        };
        near.sort_by_key(answers);
        // An answer that leaves an order shows nothing of the answers that matter further on in it.
        let fewest = near.first().and_then(answers);
        near.retain(|it| !matches!(it.fit, Fit::UpTo(_)) || answers(it) == fewest);
        near
    }

    fn difference(&self, answer: &Answer, right: &[Step], index: usize) -> Difference {
        let given = answer.steps().get(index).copied();
        let expected = right.get(index).copied();
        let before = index.checked_sub(1).and_then(|at| right.get(at)).copied();
        let kind = match (given, expected) {
            (None, _) if answer.steps().is_empty() => DifferenceKind::Empty,
            (None, _) => DifferenceKind::TooShort,
            (Some(step), _) if step.measure == 0 || step.measure > u32::from(self.measures) => {
                DifferenceKind::OffTheBoard
            }
            (Some(_), None) => DifferenceKind::TooLong,
            (Some(step), Some(right)) if step.measure == u32::from(right.measure) => {
                DifferenceKind::OtherOctave
            }
            _ => DifferenceKind::OtherMeasure,
        };
        Difference {
            index,
            given,
            expected,
            before,
            kind,
        }
    }
}

impl Judgement {
    /// How much it says for the answer: of two spellings the one is meant that says more.
    fn worth(&self) -> (u8, u8, usize) {
        let (verdict, explained, _) = self.explained_worth();
        (verdict, explained, self.right_in_order)
    }

    /// The same by what explains it alone, and by how few slips it has.
    fn explained_worth(&self) -> (u8, u8, Reverse<usize>) {
        let verdict = match self.verdict {
            AnswerVerdict::Right => 2,
            AnswerVerdict::RightUnder(_) => 1,
            AnswerVerdict::Wrong => 0,
        };
        let explained = match self.explanations.first() {
            // As the signs stand all of it is right.
            _ if self.with_repeats.is_some() => 4,
            None => 0,
            Some(first) => match first.fit {
                Fit::Whole if first.ideas.len() > 1 => 2,
                Fit::Whole => 3 + u8::from(first.under.is_none()),
                Fit::ButForSlips(_) => 1,
                Fit::UpTo(_) => 0,
            },
        };
        let slips = Reverse(self.slips.unwrap_or(usize::MAX));
        (verdict, explained, slips)
    }

    /// How much of it is right, from 0 to 1: the steps right in order, of the longer of the two orders.
    pub fn share(&self) -> f64 {
        let longer = self.length.max(self.given as u64);
        if longer == 0 {
            return 1.0;
        }
        #[allow(
            clippy::cast_precision_loss,
            reason = "a share needs no more than the 53 bits"
        )]
        let share = self.right_in_order as f64 / longer as f64;
        share
    }
}

/// In how many answers two readings differ.
fn apart(one: Reading, other: Reading) -> usize {
    let all = Question::ALL.into_iter();
    let differs = |&question: &Question| one.answer(question) != other.answer(question);
    all.filter(differs).count()
}

/// The published readings beside the one asked for, as far as they can matter on the board: those together that differ from it in equally many
/// answers, the fewest first. One that gives the same right order is among them, for a misunderstanding may lead where it matters.
fn published_beside(comparison: &Comparison, asked: Reading) -> Vec<Vec<Reading>> {
    let all = comparison.routes.iter().flat_map(|route| &route.readings);
    let published =
        all.filter(|&&it| it != asked && it.backing_beside(&asked) == Backing::Published);
    let mut published: Vec<Reading> = published.copied().collect();
    published.sort_by_key(|&reading| apart(reading, asked));
    published.truncate(MOST_OTHERS);
    let as_many = |one: &Reading, other: &Reading| apart(*one, asked) == apart(*other, asked);
    let groups = published.chunk_by(as_many);
    groups.map(<[Reading]>::to_vec).collect()
}
