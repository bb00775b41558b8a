//! Why the right step comes where an answer parts from it: what stands there, and why it counts or does not.

use super::judging::Told;
use super::judging_not_now::{MOST_STEPS, NotNow, Times};
use super::moves::{End, end_of, ending, jump_of_leg};
use super::phrases::fill;
use super::places::place_of;
use crate::answer::{Difference, DifferenceKind};
use crate::board::{Fraction, Jump, Marking, Repeats, Sign};
use crate::legality::sign_words;
use crate::roadmap::sections::SectionIndex;
use crate::route::{Cause, Part, Step};

/// What is said where a sign stands at a barline and the road goes on. `{sign}`, `{place}`, `{expected}`, `{clause}`.
#[derive(Debug)]
pub(super) struct NotObeyed {
    /// A Fine or a To Coda before any D.C. or D.S. has been obeyed.
    pub(super) waits: &'static str,
    /// Any sign that does not count this time.
    pub(super) not_now: &'static str,
    /// The same of one that names its arrivals.
    pub(super) listed: &'static str,
    /// The same of one that names its passes, each of which counts once.
    pub(super) once_a_pass: &'static str,
    /// A D.C. or D.S. that has been obeyed as often as it is meant.
    pub(super) used_up: &'static str,
    /// A Fine or a To Coda that is obeyed nowhere on the route.
    pub(super) never: &'static str,
    /// A sign in a repeat that is obeyed on a later pass.
    pub(super) last_pass: &'static str,
    /// A Fine or a To Coda that is not the goal of this return.
    pub(super) other_goal: &'static str,
    /// An end repeat whose section has been played `{times}` times.
    pub(super) played: &'static str,
    /// An end repeat whose repeat is not made again after a D.C. or D.S.
    pub(super) left_out: &'static str,
    /// The same where the caller leaves all repeats out.
    pub(super) omitted: &'static str,
    /// An end repeat that has not sent back yet, and of whose section a return plays the last pass, `{times}`.
    pub(super) counts_on: &'static str,
    /// An end repeat of which no pass is left.
    pub(super) no_more: &'static str,
    /// A D.C. or D.S. that is never obeyed for the end repeat at its barline.
    pub(super) repeat_first: &'static str,
}

/// What is said of a sign that stands where the road goes on, and the clause where it is not that of going on.
type Reason = (&'static str, Option<&'static str>);

impl Told<'_> {
    /// Why the right step comes there. Of an end repeat and a D.C. or D.S. at one barline both are told where either may be meant.
    pub(super) fn why(&self, difference: &Difference) -> Vec<String> {
        let words = &self.phrases.teacher;
        if difference.kind == DifferenceKind::OtherOctave {
            let why = difference.expected.map(|step| self.why_octave(step));
            return why.into_iter().collect();
        }
        let Some(step) = difference.expected else {
            return vec![self.why_it_ends()];
        };
        let template = match step.cause {
            Cause::Start => words.start,
            Cause::On => return self.why_on(difference, step),
            Cause::PastEnding => {
                let marking = self.ending_passed_over(difference, step);
                let reason = self.past_ending(difference, marking);
                return vec![self.reason(reason, marking, step, difference)];
            }
            Cause::Repeat => words.repeat,
            Cause::DaCapo => words.da_capo,
            Cause::DalSegno => words.dal_segno,
            Cause::ToCoda => words.to_coda,
        };
        let marking = self.marking(step.marking);
        let reason = match marking.map_or(Times::None, |it| self.times_of(it)) {
            Times::Arrivals => (words.names_this_arrival, Some("4.8")),
            Times::Passes => (words.names_this_pass, Some("4.9")),
            Times::None if self.is_made_anew(difference) => (words.repeat_inside, Some("5.6")),
            Times::None if self.is_made_again(step) => (words.repeat_again, Some("5.3")),
            Times::None => (template, None),
        };
        vec![self.reason(reason, marking, step, difference)]
    }

    /// Whether an end repeat that sends to a step is made again on a return.
    pub(super) fn is_made_again(&self, step: Step) -> bool {
        let sign = self
            .marking(step.marking)
            .filter(|_| step.cause == Cause::Repeat);
        let made_before = |sign| self.sends(sign).any(|(_, it)| it.leg < step.leg);
        sign.is_some_and(|sign| self.plays_again(sign, step) && made_before(sign))
    }

    /// Whether the section in which a sign stands is repeated again on the return on which a step is, as its end repeat says, or the D.C. or D.S.,
    /// or the reading (rulebook 5.4).
    pub(super) fn plays_again(&self, sign: &Marking, step: Step) -> bool {
        let section = self.section_of(sign);
        let section = section.and_then(|it| self.road.plan.sections.get(it));
        let as_jump_says = || self.jump_before(step).and_then(|jump| jump.repeats);
        let on_return = section.and_then(|it| it.on_return).or_else(as_jump_says);
        let on_return = on_return.unwrap_or(self.road.reading().repeats_on_return);
        let anew = self.counts(sign) == Counting::Anew;
        step.leg > 1 && anew && on_return == Repeats::Play
    }

    /// Whether an end repeat that sends to the right step has sent back before in this leg, for an earlier pass of a section around its own.
    pub(super) fn is_made_anew(&self, difference: &Difference) -> bool {
        let Some((before, next)) = difference.before.zip(difference.expected) else {
            return false;
        };
        let sign = self
            .marking(next.marking)
            .filter(|_| next.cause == Cause::Repeat);
        let earlier = |sign| {
            let mut sent = self
                .sends(sign)
                .take_while(|&(at, _)| at < difference.index);
            sent.any(|(_, it)| it.leg == next.leg)
        };
        before.pass == 1 && sign.is_some_and(earlier)
    }

    /// Why the music ends where it ends.
    fn why_it_ends(&self) -> String {
        let words = &self.phrases.teacher;
        let fine = match end_of(self.board, self.road) {
            End::Fine(fine) => self.marking(Some(fine)),
            _ => None,
        };
        let by_number = fine.filter(|it| self.times_of(it) == Times::Arrivals);
        let Some(fine) = by_number else {
            let ending = ending(self.book.spoken(), self.board, self.road);
            return fill(words.ends, &[("ending", &ending)]);
        };
        let place = place_of(self.book.spoken(), self.board, fine);
        let sign = sign_words(fine.sign());
        fill(words.ends_by_number, &[("sign", &sign), ("place", &place)])
    }

    /// The ending that the road passes over on its way to a step: of several the one that the answer has gone into.
    fn ending_passed_over(&self, difference: &Difference, step: Step) -> Option<&Marking> {
        let given = difference.given.zip(difference.before);
        let taken = given.and_then(|(given, before)| {
            let ending = self.ending_at(given.measure, None)?;
            let is_between = before.measure < ending.measure() && ending.measure() < step.measure;
            is_between.then_some(ending)
        });
        taken.or_else(|| self.marking(step.marking))
    }

    /// Why an ending is passed over: where repeats are left out, or a return makes none again, no pass is begun anew.
    fn past_ending(&self, difference: &Difference, ending: Option<&Marking>) -> Reason {
        let words = &self.phrases.teacher;
        let Some((before, ending)) = difference.before.zip(ending) else {
            return (words.past_ending, None);
        };
        let clause = match self.counts(ending) {
            Counting::Omitted => return (words.past_ending_omitted, Some("6.8")),
            Counting::On => "5.5",
            Counting::Anew => "5.2",
        };
        let mut steps = self.road.steps().take(difference.index);
        let section = self.section_of(ending);
        let has_repeated = |step: Step| {
            let by = self.marking(step.marking);
            let is_its_own = by.is_some_and(|by| self.section_of(by) == section);
            step.leg == before.leg && step.cause == Cause::Repeat && is_its_own
        };
        let is_first = before.leg == 1 || before.pass == 1 || difference.index > MOST_STEPS;
        if is_first || steps.any(has_repeated) {
            return (words.past_ending, None);
        }
        (words.past_ending_on_return, Some(clause))
    }

    /// The innermost section in which a sign stands.
    pub(super) fn section_of(&self, sign: &Marking) -> Option<SectionIndex> {
        let plan = &self.road.plan;
        plan.sections.at(plan.row.part_of(self.board, sign))
    }

    /// How the passes are counted of the section in which a sign stands.
    pub(super) fn counts(&self, sign: &Marking) -> Counting {
        let plan = &self.road.plan;
        match self.section_of(sign).and_then(|it| plan.sections.get(it)) {
            Some(section) if section.jump_closed => Counting::On,
            Some(_) if self.judge.omits_repeats() => Counting::Omitted,
            _ => Counting::Anew,
        }
    }

    /// Why the road goes on there.
    fn why_on(&self, difference: &Difference, step: Step) -> Vec<String> {
        let words = &self.phrases.teacher;
        let signs = self.not_obeyed(difference, step);
        let ending = self.ending_at(step.measure.into(), step.part);
        let given = difference.given.map_or(0, |given| given.measure);
        // Who has gone to another ending has not thought of any sign at the barline.
        let to_another = self.ending_at(given, None).is_some();
        if let Some(ending) = ending.filter(|_| to_another || signs.is_empty()) {
            return vec![self.reason((words.into_ending, None), Some(ending), step, difference)];
        }
        let Some(before) = difference.before.filter(|_| !signs.is_empty()) else {
            return vec![self.reason((words.on, None), None, step, difference)];
        };
        let told = signs.into_iter().map(|sign| {
            let why = self.not_now(sign, before, difference.index);
            self.reason(self.not_this_time(why), Some(sign), step, difference)
        });
        told.collect()
    }

    fn reason(
        &self,
        (template, clause): Reason,
        marking: Option<&Marking>,
        step: Step,
        difference: &Difference,
    ) -> String {
        let sign = marking.map_or_else(String::new, |marking| sign_words(marking.sign()));
        let place = marking.map_or_else(String::new, |marking| {
            place_of(self.book.spoken(), self.board, marking)
        });
        let times = difference.before.map_or(0, |before| before.pass);
        let clause = clause.unwrap_or_else(|| step.cause.clause(marking.map(Marking::sign)));
        fill(
            template,
            &[
                ("sign", &sign),
                ("place", &place),
                ("times", &times.to_string()),
                ("expected", &self.board.measure_words(step.measure)),
                ("clause", clause),
            ],
        )
    }

    /// A sign at the end of the last measure of an answer that is right as far as it goes, and by which the road does not go on: a Fine, or one
    /// that names the times at which it counts.
    pub(super) fn sign_where_it_ends(&self) -> Option<&Marking> {
        let difference = self.judgement.difference.as_ref()?;
        let (before, next) = (difference.before?, difference.expected?);
        let is_there = |it: &&Marking| {
            let place = it.place();
            place.cut().is_none() && place.last() == before.measure
        };
        let is_fine = |it: &&Marking| matches!(it.sign(), Sign::Fine(_));
        let by_road = self.marking(next.marking);
        let names_others = |it: &&Marking| by_road != Some(*it) && self.times_of(it) != Times::None;
        let is_short = difference.kind == DifferenceKind::TooShort;
        let here = || self.board.markings().iter().filter(is_there);
        let found = here().find(is_fine).or_else(|| here().find(names_others));
        found.filter(|_| is_short)
    }

    /// The sign at the end of the last measure of an answer that is right as far as it goes, by which the road goes on from there.
    pub(super) fn sent_on_where_it_ends(&self) -> Option<&Marking> {
        let difference = self.judgement.difference.as_ref()?;
        let (before, next) = (difference.before?, difference.expected?);
        let sends = matches!(
            next.cause,
            Cause::Repeat | Cause::DaCapo | Cause::DalSegno | Cause::ToCoda
        );
        let sign = self.marking(next.marking).filter(|_| sends);
        let is_there = |it: &&Marking| it.place().last() == before.measure;
        let is_short = difference.kind == DifferenceKind::TooShort;
        sign.filter(is_there).filter(|_| is_short)
    }

    /// Whether the last measure that is right is the last of the board.
    pub(super) fn ends_with_the_board(&self) -> bool {
        let before = self.judgement.difference.and_then(|it| it.before);
        before.is_some_and(|before| before.measure == self.board.measures())
    }

    /// The ending that begins with a measure; with a part of it only where that is its first.
    pub(super) fn ending_at(&self, measure: u32, part: Option<Part>) -> Option<&Marking> {
        if part.is_some_and(|part| part.from != Fraction::ZERO) {
            return None;
        }
        let mut markings = self.board.markings().iter();
        markings
            .find(|it| matches!(it.sign(), Sign::Ending(_)) && u32::from(it.measure()) == measure)
    }

    /// The jump that began the leg of a step.
    pub(super) fn jump_before(&self, step: Step) -> Option<&Jump> {
        let roadmap = self.road;
        let jump = jump_of_leg(roadmap, &step, roadmap.length())?;
        jump_of(self.marking(Some(jump))?)
    }

    pub(super) fn marking(&self, index: Option<u32>) -> Option<&Marking> {
        self.board.markings().get(index? as usize)
    }

    /// What is said of why a sign does not count this time.
    fn not_this_time(&self, why: NotNow) -> Reason {
        let words = &self.phrases.teacher.not_obeyed;
        match why {
            NotNow::RepeatFirst => (words.repeat_first, Some("3.8")),
            NotNow::OtherArrival => (words.listed, Some("4.8")),
            NotNow::OtherPass => (words.once_a_pass, Some("4.9")),
            NotNow::PassesUsedUp => (words.used_up, Some("4.9")),
            NotNow::UsedUp => (words.used_up, Some("4.1")),
            NotNow::NeverFine => (words.never, Some("3.3")),
            NotNow::NeverToCoda => (words.never, Some("3.4")),
            NotNow::LastPassOfJump => (words.last_pass, Some("4.2")),
            NotNow::LastPass => (words.last_pass, Some("3.9")),
            NotNow::OtherGoal => (words.other_goal, Some("4.3")),
            NotNow::OtherCoda => (words.other_goal, Some("4.11")),
            NotNow::Return => (words.waits, None),
            NotNow::Omitted => (words.omitted, Some("6.8")),
            NotNow::Played => (words.played, None),
            NotNow::CountsOnOverJump => (words.counts_on, Some("5.5")),
            NotNow::CountsOn => (words.counts_on, Some("5.2")),
            NotNow::LeftOut => (words.left_out, Some("5.2")),
            NotNow::NoMore => (words.no_more, None),
            NotNow::Else => (words.not_now, None),
        }
    }

    /// The sign that stands where the road goes on to a step, and is not obeyed. Of several the one that the answer seems to obey; of an end
    /// repeat and a D.C. or D.S. both where it may have gone back at either.
    pub(super) fn not_obeyed(&self, difference: &Difference, next: Step) -> Vec<&Marking> {
        let Some(before) = difference.before else {
            return Vec::new();
        };
        let stands_there = |marking: &&Marking| {
            let place = marking.place();
            let at = match (place.cut(), before.part) {
                (Some(cut), Some(part)) => cut == part.to,
                (None, Some(_)) => next.measure != before.measure,
                (_, None) => true,
            };
            // No other sign moves the road.
            let moves = matches!(
                marking.sign(),
                Sign::Fine(_)
                    | Sign::ToCoda(_)
                    | Sign::EndRepeat(_)
                    | Sign::DaCapo(_)
                    | Sign::DalSegno(_)
            );
            at && place.last() == before.measure && moves
        };
        let found: Vec<&Marking> = self.board.markings().iter().filter(stands_there).collect();
        let goes_to = difference.given.map(|it| it.measure);
        let leads_there =
            |marking: &Marking| goes_to.is_some() && self.leads_to(marking) == goes_to;
        let seems_meant = |marking: &&Marking| match marking.sign() {
            Sign::Fine(_) => u8::from(difference.given.is_some()) * 3,
            Sign::ToCoda(_) if leads_there(marking) => 0,
            Sign::ToCoda(_) => 4,
            Sign::EndRepeat(_) => 1,
            _ => 2,
        };
        let Some(meant) = found.iter().copied().min_by_key(seems_meant) else {
            return Vec::new();
        };
        let jump = found.iter().copied().find(|it| jump_of(it).is_some());
        let jump = jump.filter(|jump| leads_there(jump));
        match (meant.sign(), jump) {
            (Sign::EndRepeat(_), Some(jump)) if leads_there(meant) => vec![meant, jump],
            (Sign::EndRepeat(_), Some(jump)) => vec![jump],
            _ => vec![meant],
        }
    }

    /// The measure to which a sign sends; a Fine, where a D.C. or D.S. says that the road goes on from it to the coda.
    pub(super) fn leads_to(&self, marking: &Marking) -> Option<u32> {
        let landing = |is_it: &dyn Fn(&Sign) -> bool| {
            let mut markings = self.board.markings().iter();
            let found = markings.find(|it| is_it(it.sign()));
            found.map(|it| u32::from(it.measure()))
        };
        match marking.sign() {
            Sign::ToCoda(to) => {
                landing(&|it| matches!(it, Sign::Coda(coda) if coda.label == to.label))
            }
            Sign::Fine(_) => {
                let mut markings = self.board.markings().iter();
                let on = markings.find(|it| it.sign().goes_on_from_fine())?;
                let on = jump_of(on)?;
                landing(&|it| matches!(it, Sign::Coda(coda) if coda.label == on.coda))
            }
            Sign::DaCapo(_) => Some(1),
            Sign::DalSegno(jump) => {
                landing(&|it| matches!(it, Sign::Segno(segno) if segno.label == jump.label))
            }
            Sign::EndRepeat(_) => {
                let plan = &self.road.plan;
                let around = self.section_of(marking);
                let section = around.and_then(|number| plan.sections.get(number));
                section.map(|section| u32::from(plan.row.part(section.start).0))
            }
            _ => None,
        }
    }
}

/// How the passes of a section are counted.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Counting {
    /// They begin anew, or as the reading says.
    Anew,
    /// They go on over every return (rulebook 5.5).
    On,
    /// The caller leaves the repeats out: there is the last pass alone.
    Omitted,
}

pub(super) fn jump_of(marking: &Marking) -> Option<&Jump> {
    match marking.sign() {
        Sign::DaCapo(jump) | Sign::DalSegno(jump) => Some(jump),
        _ => None,
    }
}
