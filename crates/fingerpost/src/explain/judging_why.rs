//! Why the right step comes where an answer parts from it: what stands there, and why it counts or does not.

use super::judging::Told;
use super::moves::{End, end_of, ending, jump_of_leg};
use super::phrases::fill;
use super::places::place_of;
use crate::answer::{Difference, DifferenceKind};
use crate::board::{Al, Fraction, Jump, Marking, Place, Sign};
use crate::legality::sign_words;
use crate::reading::Arming;
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

/// The most steps of a route that are looked at to know whether a sign is obeyed on it.
const MOST_STEPS: usize = 100_000;

impl Told<'_> {
    /// Why the right step comes there. Of an end repeat and a D.C. or D.S. at one barline both are told where either may be meant.
    pub(super) fn why(&self, difference: &Difference) -> Vec<String> {
        let words = &self.phrases.teacher;
        if difference.kind == DifferenceKind::OtherOctave {
            return Vec::new();
        }
        let Some(step) = difference.expected else {
            let ending = ending(self.book.spoken(), self.board, self.judge.roadmap());
            return vec![fill(words.ends, &[("ending", &ending)])];
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
        vec![self.reason((template, None), marking, step, difference)]
    }

    /// The ending that the road passes over on its way to a step: of several the one that the answer has gone into.
    pub(super) fn ending_passed_over(
        &self,
        difference: &Difference,
        step: Step,
    ) -> Option<&Marking> {
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
        let mut steps = self.judge.roadmap().steps().take(difference.index);
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
    fn section_of(&self, sign: &Marking) -> Option<SectionIndex> {
        let plan = &self.judge.roadmap().plan;
        plan.sections.at(plan.row.part_of(self.board, sign))
    }

    /// How the passes are counted of the section in which a sign stands.
    pub(super) fn counts(&self, sign: &Marking) -> Counting {
        let plan = &self.judge.roadmap().plan;
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
            let reason = self.not_this_time(sign, before, difference.index);
            self.reason(reason, Some(sign), step, difference)
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

    /// The Fine at the end of the last measure of an answer that is right as far as it goes.
    pub(super) fn fine_where_it_ends(&self) -> Option<&Marking> {
        let difference = self.judgement.difference.as_ref()?;
        let before = difference.before?;
        let is_there = |it: &&Marking| {
            let place = it.place();
            let ends = place.cut().is_none() && place.last() == before.measure;
            ends && matches!(it.sign(), Sign::Fine(_))
        };
        let is_short = difference.kind == DifferenceKind::TooShort;
        let found = self.board.markings().iter().find(is_there);
        found.filter(|_| is_short)
    }

    /// The ending that begins with a measure; with a part of it only where that is its first.
    fn ending_at(&self, measure: u32, part: Option<Part>) -> Option<&Marking> {
        if part.is_some_and(|part| part.from != Fraction::ZERO) {
            return None;
        }
        let mut markings = self.board.markings().iter();
        markings
            .find(|it| matches!(it.sign(), Sign::Ending(_)) && u32::from(it.measure()) == measure)
    }

    /// The jump that began the leg of a step.
    pub(super) fn jump_before(&self, step: Step) -> Option<&Jump> {
        let roadmap = self.judge.roadmap();
        let jump = jump_of_leg(roadmap, &step, roadmap.length())?;
        jump_of(self.marking(Some(jump))?)
    }

    pub(super) fn marking(&self, index: Option<u32>) -> Option<&Marking> {
        self.board.markings().get(index? as usize)
    }

    /// Why a sign does not count this time, after a step, which so many steps lead to: where it names its times, has been obeyed, waits, or is
    /// never obeyed.
    fn not_this_time(&self, sign: &Marking, before: Step, steps: usize) -> Reason {
        let words = &self.phrases.teacher.not_obeyed;
        // That nothing more comes of it is known of routes that are looked at to their end.
        let is_used = || {
            let last = self.sends(sign).map(|(_, it)| it.leg).max();
            self.is_looked_at() && last.is_some_and(|leg| leg <= before.leg)
        };
        match self.times_of(sign) {
            _ if self.repeat_comes_first(sign) => return (words.repeat_first, Some("3.8")),
            Times::Arrivals => return (words.listed, Some("4.8")),
            Times::Passes if is_used() => return (words.used_up, Some("4.9")),
            Times::Passes => return (words.once_a_pass, Some("4.9")),
            Times::None => {}
        }
        let may_wait = || before.leg == 1 && self.has_jump();
        let by_count = self.judge.roadmap().reading().arming == Arming::SecondArrival;
        match sign.sign() {
            Sign::DaCapo(_) | Sign::DalSegno(_) if is_used() => (words.used_up, Some("4.1")),
            Sign::Fine(_) if self.is_never_obeyed(sign) => (words.never, Some("3.3")),
            Sign::ToCoda(_) if self.is_never_obeyed(sign) => (words.never, Some("3.4")),
            _ if self.waits_for_its_last_pass(sign, before, steps) => {
                let is_jump = jump_of(sign).is_some();
                (words.last_pass, Some(if is_jump { "4.2" } else { "3.9" }))
            }
            Sign::Fine(_) if may_wait() => (words.waits, None),
            Sign::ToCoda(_) if may_wait() && !by_count => (words.waits, None),
            Sign::EndRepeat(_) => self.sends_no_more(sign, before, steps),
            _ => (words.not_now, None),
        }
    }

    /// Whether a sign that names no times is passed by after a step because it waits for its last pass (rulebook 3.9): it has not been obeyed,
    /// and is obeyed later; a Fine or a To Coda in the same leg, in which it is armed.
    fn waits_for_its_last_pass(&self, sign: &Marking, before: Step, steps: usize) -> bool {
        let roadmap = self.judge.roadmap();
        let mut sends = self.sends(sign);
        let mut in_this_leg = || sends.any(|(at, step)| at >= steps && step.leg == before.leg);
        match sign.sign() {
            Sign::DaCapo(_) | Sign::DalSegno(_) => sends.next().is_some_and(|(at, _)| at >= steps),
            Sign::ToCoda(_) => roadmap.reading().arming != Arming::SecondArrival && in_this_leg(),
            Sign::Fine(_) => {
                let last = roadmap.length().checked_sub(1);
                let last = last.and_then(|last| roadmap.step(last));
                let ends_this_leg = last.is_some_and(|last| last.leg == before.leg);
                let arms = |jump: &Jump| matches!(jump.al, None | Some(Al::Fine));
                let is_armed = self.jump_before(before).is_some_and(arms);
                is_armed && (ends_this_leg && self.is_the_end(sign) || in_this_leg())
            }
            _ => false,
        }
    }

    /// Why an end repeat does not send back after a step.
    fn sends_no_more(&self, sign: &Marking, before: Step, steps: usize) -> Reason {
        let words = &self.phrases.teacher.not_obeyed;
        let counts = self.counts(sign);
        if counts == Counting::Omitted {
            return (words.omitted, Some("6.8"));
        }
        if before.leg == 1 {
            let all = before.pass > 1 && before.visit >= before.pass.into();
            return (if all { words.played } else { words.no_more }, None);
        }
        let sent = self.sends(sign).take_while(|&(index, _)| index < steps);
        let (mut earlier, mut here) = (false, 0_u32);
        for (_, step) in sent {
            if step.leg == before.leg {
                here = here.saturating_add(1);
            } else {
                earlier = true;
            }
        }
        match (here, earlier) {
            (0, _) if before.pass > 1 && counts == Counting::On => (words.counts_on, Some("5.5")),
            (0, true) if before.pass > 1 => (words.left_out, Some("5.2")),
            (0, false) if before.pass > 1 => (words.counts_on, Some("5.2")),
            _ if here > 0 && before.pass == here.saturating_add(1) => (words.played, None),
            _ => (words.no_more, None),
        }
    }

    /// Whether a D.C. or D.S. stands anywhere on the board.
    pub(super) fn has_jump(&self) -> bool {
        let mut markings = self.board.markings().iter();
        markings.any(|it| jump_of(it).is_some())
    }

    /// Whether a D.C. or D.S. is never obeyed and an end repeat stands at its barline.
    pub(super) fn repeat_comes_first(&self, sign: &Marking) -> bool {
        let has_repeat = |place: Place| {
            let mut markings = self.board.markings().iter();
            markings.any(|it| it.place() == place && matches!(it.sign(), Sign::EndRepeat(_)))
        };
        // One that names its arrivals comes before it (rulebook 3.8).
        let comes_later = jump_of(sign).is_some_and(|jump| jump.arrivals.is_none());
        let never = || self.is_looked_at() && self.sends(sign).next().is_none();
        comes_later && has_repeat(sign.place()) && never()
    }

    /// Whether the right route is short enough to be looked at to its end.
    fn is_looked_at(&self) -> bool {
        self.judge.roadmap().length() <= MOST_STEPS as u64
    }

    /// The steps to which a sign sends the road, each with its place on the route.
    fn sends(&self, sign: &Marking) -> impl Iterator<Item = (usize, Step)> {
        let number = self.board.markings().iter().position(|it| it == sign);
        let number = number.and_then(|it| u32::try_from(it).ok());
        let steps = self.judge.roadmap().steps().take(MOST_STEPS).enumerate();
        steps.filter(move |(_, step)| step.marking.is_some() && step.marking == number)
    }

    /// Whether a Fine or a To Coda is obeyed nowhere on the right route.
    pub(super) fn is_never_obeyed(&self, sign: &Marking) -> bool {
        let directs = matches!(sign.sign(), Sign::Fine(_) | Sign::ToCoda(_));
        let is_sent = || self.is_the_end(sign) || self.sends(sign).next().is_some();
        directs && self.is_looked_at() && !is_sent()
    }

    /// Whether the road ends at a Fine at this sign's place.
    fn is_the_end(&self, sign: &Marking) -> bool {
        match end_of(self.board, self.judge.roadmap()) {
            End::Fine(fine) => self.marking(Some(fine)).map(Marking::place) == Some(sign.place()),
            _ => false,
        }
    }

    /// What a sign names of the times at which it counts. Outside every section passes are arrivals (rulebook 4.9).
    pub(super) fn times_of(&self, sign: &Marking) -> Times {
        let (arrivals, passes) = match sign.sign() {
            Sign::Fine(fine) => (&fine.arrivals, &None),
            Sign::ToCoda(to_coda) => (&to_coda.arrivals, &None),
            Sign::DaCapo(jump) | Sign::DalSegno(jump) => (&jump.arrivals, &jump.passes),
            _ => return Times::None,
        };
        let is_outside = || self.section_of(sign).is_none();
        match (arrivals, passes) {
            (None, None) => Times::None,
            (None, Some(_)) if !is_outside() => Times::Passes,
            _ => Times::Arrivals,
        }
    }

    /// The sign that stands where the road goes on to a step, and is not obeyed. Of several the one that the answer seems to obey; of an end
    /// repeat and a D.C. or D.S. both where it may have gone back at either.
    fn not_obeyed(&self, difference: &Difference, next: Step) -> Vec<&Marking> {
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

    /// The measure to which a sign sends.
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
            Sign::DaCapo(_) => Some(1),
            Sign::DalSegno(jump) => {
                landing(&|it| matches!(it, Sign::Segno(segno) if segno.label == jump.label))
            }
            Sign::EndRepeat(_) => {
                let plan = &self.judge.roadmap().plan;
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

/// What a sign names of the times at which it counts.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Times {
    None,
    Arrivals,
    Passes,
}

pub(super) fn jump_of(marking: &Marking) -> Option<&Jump> {
    match marking.sign() {
        Sign::DaCapo(jump) | Sign::DalSegno(jump) => Some(jump),
        _ => None,
    }
}
