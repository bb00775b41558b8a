//! Why the right step comes where an answer parts from it: what stands there, and why it counts or does not.

use super::judging::Told;
use super::moves::{End, end_of, ending, jump_of_leg};
use super::phrases::fill;
use super::places::place_of;
use crate::answer::{Difference, DifferenceKind};
use crate::board::{Fraction, Jump, Marking, Passes, Side, Sign};
use crate::legality::sign_words;
use crate::reading::Arming;
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
    /// An end repeat whose section has been played `{times}` times.
    pub(super) played: &'static str,
    /// An end repeat of which no pass is left.
    pub(super) no_more: &'static str,
}

/// The most steps of a route that are looked at to know whether a sign is obeyed on it.
const MOST_LOOKED_AT: u64 = 100_000;

impl Told<'_> {
    /// Why the right step comes there.
    pub(super) fn why(&self, difference: &Difference) -> Option<String> {
        let words = &self.phrases.teacher;
        if difference.kind == DifferenceKind::OtherOctave {
            return None;
        }
        let Some(step) = difference.expected else {
            let ending = ending(self.book.spoken(), self.board, self.judge.roadmap());
            return Some(fill(words.ends, &[("ending", &ending)]));
        };
        let mut marking = self.marking(step.marking);
        let mut times = String::new();
        let mut clause = None;
        let template = match step.cause {
            Cause::Start => words.start,
            Cause::On => {
                let not_obeyed = self.not_obeyed(difference, step);
                let ending = self.ending_at(step.measure.into(), step.part);
                let given = difference.given.map_or(0, |given| given.measure);
                // Who has gone to another ending has not thought of any sign at the barline.
                let to_another = self.ending_at(given, None).is_some();
                match (not_obeyed, ending) {
                    (not_obeyed, Some(ending)) if to_another || not_obeyed.is_none() => {
                        marking = Some(ending);
                        words.into_ending
                    }
                    (Some((template, found, before)), _) => {
                        marking = Some(found);
                        times = before.pass.to_string();
                        let reason = self.not_this_time(found, before);
                        clause = reason.map(|(_, clause)| clause);
                        reason.map_or(template, |(template, _)| template)
                    }
                    (None, _) => words.on,
                }
            }
            Cause::PastEnding => words.past_ending,
            Cause::Repeat => words.repeat,
            Cause::DaCapo => words.da_capo,
            Cause::DalSegno => words.dal_segno,
            Cause::ToCoda => words.to_coda,
        };
        let sign = marking.map_or_else(String::new, |marking| sign_words(marking.sign()));
        let place = marking.map_or_else(String::new, |marking| {
            place_of(self.book.spoken(), self.board, marking)
        });
        Some(fill(
            template,
            &[
                ("sign", &sign),
                ("place", &place),
                ("times", &times),
                ("expected", &self.board.measure_words(step.measure)),
                (
                    "clause",
                    clause.unwrap_or_else(|| step.cause.clause(marking.map(Marking::sign))),
                ),
            ],
        ))
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

    /// Why a sign does not count this time, after a step, and the clause: where it names its times, has been obeyed, or is never obeyed.
    fn not_this_time(&self, sign: &Marking, before: Step) -> Option<(&'static str, &'static str)> {
        let words = &self.phrases.teacher.not_obeyed;
        // That nothing more comes of it is known of routes that are looked at to their end.
        let is_used = || {
            let is_known = self.judge.roadmap().length() <= MOST_LOOKED_AT;
            is_known && self.sends(sign, |_| true) && !self.sends(sign, |it| it.leg > before.leg)
        };
        match self.times_of(sign) {
            Times::Arrivals => return Some((words.listed, "4.8")),
            Times::Passes if is_used() => return Some((words.used_up, "4.9")),
            Times::Passes => return Some((words.once_a_pass, "4.9")),
            Times::None => {}
        }
        match sign.sign() {
            Sign::DaCapo(_) | Sign::DalSegno(_) => is_used().then_some((words.used_up, "4.1")),
            Sign::Fine(_) => self.is_never_obeyed(sign).then_some((words.never, "3.3")),
            Sign::ToCoda(_) => self.is_never_obeyed(sign).then_some((words.never, "3.4")),
            _ => None,
        }
    }

    /// Whether a sign sends the road to a step of which something is true.
    fn sends(&self, sign: &Marking, is_so: impl Fn(&Step) -> bool) -> bool {
        let number = self.board.markings().iter().position(|it| it == sign);
        let number = number.and_then(|it| u32::try_from(it).ok());
        let looked_at = usize::try_from(MOST_LOOKED_AT).unwrap_or(usize::MAX);
        let mut steps = self.judge.roadmap().steps().take(looked_at);
        steps.any(|step| step.marking.is_some() && step.marking == number && is_so(&step))
    }

    /// Whether a Fine or a To Coda is obeyed nowhere on the right route.
    pub(super) fn is_never_obeyed(&self, sign: &Marking) -> bool {
        let roadmap = self.judge.roadmap();
        let is_end = match end_of(self.board, roadmap) {
            End::Fine(fine) => self.marking(Some(fine)).map(Marking::place) == Some(sign.place()),
            _ => false,
        };
        let directs = matches!(sign.sign(), Sign::Fine(_) | Sign::ToCoda(_));
        let is_known = roadmap.length() <= MOST_LOOKED_AT;
        directs && is_known && !is_end && !self.sends(sign, |_| true)
    }

    /// What a sign names of the times at which it counts. Outside every section passes are arrivals (rulebook 4.9).
    pub(super) fn times_of(&self, sign: &Marking) -> Times {
        let plan = &self.judge.roadmap().plan;
        let (arrivals, passes) = match sign.sign() {
            Sign::Fine(fine) => (&fine.arrivals, &None),
            Sign::ToCoda(to_coda) => (&to_coda.arrivals, &None),
            Sign::DaCapo(jump) | Sign::DalSegno(jump) => (&jump.arrivals, &jump.passes),
            _ => return Times::None,
        };
        let is_outside = || {
            plan.sections
                .at(plan.row.part_of(self.board, sign))
                .is_none()
        };
        match (arrivals, passes) {
            (None, None) => Times::None,
            (None, Some(_)) if !is_outside() => Times::Passes,
            _ => Times::Arrivals,
        }
    }

    /// The sign that stands where the road goes on to a step, what is said of it, and the step before. Of several the one that the answer
    /// seems to obey.
    fn not_obeyed(
        &self,
        difference: &Difference,
        next: Step,
    ) -> Option<(&'static str, &Marking, Step)> {
        let before = difference.before?;
        let stands_there = |marking: &&Marking| {
            let place = marking.place();
            let at = match (place.cut(), before.part) {
                (Some(cut), Some(part)) => cut == part.to,
                (None, Some(_)) => next.measure != before.measure,
                (_, None) => true,
            };
            at && place.last() == before.measure && marking.sign().side() == Side::Leaving
        };
        let found = self.board.markings().iter().filter(stands_there);
        let seems_meant = |marking: &&Marking| match marking.sign() {
            Sign::Fine(_) => u8::from(difference.given.is_some()) * 3,
            Sign::ToCoda(to) => {
                let label = to.label.as_deref();
                let mut markings = self.board.markings().iter();
                let coda = markings.find(
                    |it| matches!(it.sign(), Sign::Coda(coda) if coda.label.as_deref() == label),
                );
                let coda = coda.map(|it| u32::from(it.measure()));
                let goes = coda.is_some() && difference.given.map(|it| it.measure) == coda;
                if goes { 0 } else { 4 }
            }
            Sign::EndRepeat(_) => 1,
            _ => 2,
        };
        let marking = found.min_by_key(seems_meant)?;
        let words = &self.phrases.teacher.not_obeyed;
        let may_wait = |arrivals: &Option<Passes>| {
            let is_jump = |it: &Marking| matches!(it.sign(), Sign::DaCapo(_) | Sign::DalSegno(_));
            arrivals.is_none() && before.leg == 1 && self.board.markings().iter().any(is_jump)
        };
        let by_count = self.judge.roadmap().reading().arming == Arming::SecondArrival;
        let template = match marking.sign() {
            Sign::Fine(fine) if may_wait(&fine.arrivals) => words.waits,
            Sign::ToCoda(to) if may_wait(&to.arrivals) && !by_count => words.waits,
            Sign::EndRepeat(_) => {
                let all = before.leg == 1 && before.pass > 1 && before.visit >= before.pass.into();
                if all { words.played } else { words.no_more }
            }
            Sign::Fine(_) | Sign::ToCoda(_) | Sign::DaCapo(_) | Sign::DalSegno(_) => words.not_now,
            // No other sign moves the road.
            _ => return None,
        };
        Some((template, marking, before))
    }
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
