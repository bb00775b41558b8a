//! Why a sign that stands where the road goes on does not count there this time.

use super::judging::Told;
use super::judging_why::{Counting, jump_of};
use super::moves::{End, end_of};
use crate::board::{Al, Jump, Marking, Place, Sign, ToCoda};
use crate::reading::Arming;
use crate::route::{Cause, Step};

/// The most steps of a route that are looked at to know whether a sign is obeyed on it.
pub(super) const MOST_STEPS: usize = 100_000;

/// Why a sign does not count this time.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum NotNow {
    /// A D.C. or D.S. that is never obeyed, for the end repeat at its barline comes first.
    RepeatFirst,
    /// It names the arrivals at which it counts.
    OtherArrival,
    /// It names the passes on which it counts, each once.
    OtherPass,
    /// It has been obeyed on all of them.
    PassesUsedUp,
    /// A D.C. or D.S. that has been obeyed.
    UsedUp,
    /// A Fine, or a To Coda, that is obeyed nowhere.
    NeverFine,
    NeverToCoda,
    /// It stands in a repeat and waits for its last pass: a D.C. or D.S., or another sign.
    LastPassOfJump,
    LastPass,
    /// A Fine or a To Coda on a return whose D.C. or D.S. names another goal; or a To Coda with another label than it names.
    OtherGoal,
    OtherCoda,
    /// It waits for the return.
    Return,
    /// An end repeat where the caller leaves the repeats out.
    Omitted,
    /// An end repeat that has been played as often as it is meant.
    Played,
    /// An end repeat whose section goes on counting over a return: since a jump closes it, or since it was left on the way.
    CountsOnOverJump,
    CountsOn,
    /// An end repeat that is not made again on a return.
    LeftOut,
    /// An end repeat of which no pass is left.
    NoMore,
    /// Anything else.
    Else,
}

/// What a sign names of the times at which it counts.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Times {
    None,
    Arrivals,
    Passes,
}

impl Told<'_> {
    /// Why a sign does not count this time, after a step, which so many steps lead to: where it names its times, has been obeyed, waits, or is
    /// never obeyed.
    pub(super) fn not_now(&self, sign: &Marking, before: Step, steps: usize) -> NotNow {
        // That nothing more comes of it is known of routes that are looked at to their end.
        let is_used = || {
            let last = self.sends(sign).map(|(_, it)| it.leg).max();
            self.is_looked_at() && last.is_some_and(|leg| leg <= before.leg)
        };
        // On its last pass the end repeat sends nobody back.
        let meets_repeat = || {
            let passes = jump_of(sign).and_then(|jump| jump.passes.as_ref());
            let section = self.section_of(sign);
            let section = section.and_then(|it| self.road.plan.sections.get(it));
            passes
                .zip(section)
                .is_some_and(|(passes, section)| passes.lowest() < section.passes)
        };
        match self.times_of(sign) {
            times
                if self.repeat_comes_first(sign) && (times != Times::Passes || meets_repeat()) =>
            {
                return NotNow::RepeatFirst;
            }
            Times::Arrivals => return NotNow::OtherArrival,
            Times::Passes if is_used() => return NotNow::PassesUsedUp,
            Times::Passes => return NotNow::OtherPass,
            Times::None => {}
        }
        let may_wait = || before.leg == 1 && self.has_jump();
        let by_count = self.road.reading().arming == Arming::SecondArrival;
        match sign.sign() {
            Sign::DaCapo(_) | Sign::DalSegno(_) if is_used() => NotNow::UsedUp,
            Sign::Fine(_) if self.is_never_obeyed(sign) => NotNow::NeverFine,
            Sign::ToCoda(_) if self.is_never_obeyed(sign) => NotNow::NeverToCoda,
            Sign::Fine(_)
                if self.has_other_goal(before, Al::Fine)
                    && !self.has_come_to_coda(before, steps) =>
            {
                NotNow::OtherGoal
            }
            Sign::ToCoda(_) if !by_count && self.has_other_goal(before, Al::Coda) => {
                NotNow::OtherGoal
            }
            Sign::ToCoda(to) if !by_count && self.means_another_coda(before, to) => {
                NotNow::OtherCoda
            }
            _ if self.waits_for_its_last_pass(sign, before, steps) => match jump_of(sign) {
                Some(_) => NotNow::LastPassOfJump,
                None => NotNow::LastPass,
            },
            Sign::Fine(_) if may_wait() => NotNow::Return,
            Sign::ToCoda(_) if may_wait() && !by_count => NotNow::Return,
            Sign::EndRepeat(_) => self.sends_no_more(sign, before, steps),
            _ => NotNow::Else,
        }
    }

    /// Whether the return on which a step is goes to another goal than this, as its D.C. or D.S. says.
    fn has_other_goal(&self, step: Step, goal: Al) -> bool {
        let named = self.jump_before(step).and_then(|jump| jump.al);
        named.is_some_and(|named| named != goal)
    }

    /// Whether the road has come to the coda on the return on which a step is: from there on it ends at a Fine (rulebook 4.3, 4.7).
    fn has_come_to_coda(&self, step: Step, steps: usize) -> bool {
        let mut so_far = self.road.steps().take(steps.min(MOST_STEPS));
        so_far.any(|it| it.leg == step.leg && it.cause == Cause::ToCoda)
    }

    /// Whether the D.C. or D.S. of the return on which a step is names another To Coda.
    fn means_another_coda(&self, step: Step, to_coda: &ToCoda) -> bool {
        let named = self.jump_before(step).filter(|it| it.al == Some(Al::Coda));
        let named = named.and_then(|jump| jump.coda.as_ref());
        named.is_some_and(|named| to_coda.label.as_ref() != Some(named))
    }

    /// Whether a sign that names no times is passed by after a step because it waits for its last pass (rulebook 3.9): it has not been obeyed,
    /// and is obeyed later; a Fine or a To Coda in the same leg, in which it is armed.
    fn waits_for_its_last_pass(&self, sign: &Marking, before: Step, steps: usize) -> bool {
        let roadmap = self.road;
        let mut sends = self.sends(sign);
        let mut in_this_leg = || sends.any(|(at, step)| at >= steps && step.leg == before.leg);
        match sign.sign() {
            Sign::DaCapo(_) | Sign::DalSegno(_) => {
                self.section_of(sign).is_some() && sends.next().is_some_and(|(at, _)| at >= steps)
            }
            Sign::ToCoda(_) => roadmap.reading().arming != Arming::SecondArrival && in_this_leg(),
            Sign::Fine(_) => {
                let last = roadmap.length().checked_sub(1);
                let last = last.and_then(|last| roadmap.step(last));
                let ends_this_leg = last.is_some_and(|last| last.leg == before.leg);
                let arms = |jump: &Jump| matches!(jump.al, None | Some(Al::Fine));
                let is_armed = self.jump_before(before).is_some_and(arms)
                    || before.leg > 1 && self.has_come_to_coda(before, steps);
                is_armed && (ends_this_leg && self.is_the_end(sign) || in_this_leg())
            }
            _ => false,
        }
    }

    /// Why an end repeat does not send back after a step.
    fn sends_no_more(&self, sign: &Marking, before: Step, steps: usize) -> NotNow {
        let counts = self.counts(sign);
        if counts == Counting::Omitted {
            return NotNow::Omitted;
        }
        if before.leg == 1 {
            let all = before.pass > 1 && before.visit >= before.pass.into();
            return if all { NotNow::Played } else { NotNow::NoMore };
        }
        let sent = self.sends(sign).take_while(|&(index, _)| index < steps);
        // The highest pass that it has sent to in earlier legs, and how often it has sent back in this one.
        let (mut earlier, mut here) = (0, 0_u32);
        for (_, step) in sent {
            if step.leg == before.leg {
                here = here.saturating_add(1);
            } else {
                earlier = earlier.max(step.pass);
            }
        }
        match (here, earlier) {
            (0, _) if before.pass > 1 && counts == Counting::On => NotNow::CountsOnOverJump,
            (0, pass) if before.pass > 1 && pass >= before.pass => NotNow::LeftOut,
            (0, _) if before.pass > 1 => NotNow::CountsOn,
            _ if here > 0 && before.pass == here.saturating_add(1) => NotNow::Played,
            _ => NotNow::NoMore,
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
        self.road.length() <= MOST_STEPS as u64
    }

    /// The steps to which a sign sends the road, each with its place on the route.
    pub(super) fn sends(&self, sign: &Marking) -> impl Iterator<Item = (usize, Step)> {
        let number = self.board.markings().iter().position(|it| it == sign);
        let number = number.and_then(|it| u32::try_from(it).ok());
        let steps = self.road.steps().take(MOST_STEPS).enumerate();
        steps.filter(move |(_, step)| step.marking.is_some() && step.marking == number)
    }

    /// Whether a Fine or a To Coda is obeyed nowhere on the right route.
    pub(super) fn is_never_obeyed(&self, sign: &Marking) -> bool {
        let directs = matches!(sign.sign(), Sign::Fine(_) | Sign::ToCoda(_));
        let is_sent = || self.is_the_end(sign) || self.sends(sign).next().is_some();
        directs && self.is_looked_at() && !is_sent()
    }

    /// The Fine at which the road ends.
    pub(super) fn fine_at_the_end(&self) -> Option<&Marking> {
        match end_of(self.board, self.road) {
            End::Fine(fine) => self.marking(Some(fine)),
            _ => None,
        }
    }

    /// Whether the road ends at a Fine at this sign's place.
    pub(super) fn is_the_end(&self, sign: &Marking) -> bool {
        self.fine_at_the_end().map(Marking::place) == Some(sign.place())
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
}
