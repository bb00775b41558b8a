//! What is said to the learner of an answer: what was right, what to look at, and what helps.

use super::judging::Told;
use super::judging_not_now::{NotNow, Times};
use super::judging_why::{Counting, jump_of};
use super::phrases::fill;
use crate::answer::{AnswerVerdict, Difference, DifferenceKind, Fit, Misunderstanding};
use crate::board::{Al, Jump, Marking, Side, Sign, Then};
use crate::reading::Backing;
use crate::route::{Cause, Step};

impl Told<'_> {
    pub(super) fn to_the_learner(&self) -> Vec<String> {
        let words = &self.phrases.learner;
        let judgement = self.judgement;
        match judgement.verdict {
            AnswerVerdict::Right => return vec![words.right.to_owned()],
            AnswerVerdict::RightUnder(route) => {
                let said = match self.judge.backing(route) {
                    Backing::Published => words.right_under,
                    Backing::Files => words.right_in_files,
                    Backing::Nobody => words.right_for_nobody,
                };
                let idea = self.idea_here();
                let difference = judgement.difference.as_ref();
                let by_times = |difference: &Difference| self.tip_of_the_times(difference);
                let tip = difference.and_then(by_times);
                let tip = tip.or_else(|| self.tip()).filter(|_| idea.is_some());
                let is_no_lesson = self.judge.backing(route) != Backing::Published;
                let difference = difference.filter(|_| is_no_lesson);
                let waits = difference.and_then(|it| self.tip_of_the_last_pass(it));
                let tip = waits.or(tip);
                let mut told = vec![said.to_owned()];
                told.extend(tip.map(str::to_owned));
                return told;
            }
            AnswerVerdict::Wrong => {}
        }
        let Some(difference) = &judgement.difference else {
            return Vec::new();
        };
        if difference.kind == DifferenceKind::Empty {
            return vec![words.empty.to_owned()];
        }
        if judgement.with_repeats.is_some() {
            let said = [words.with_repeats, words.repeats_left_out];
            return said.map(str::to_owned).to_vec();
        }
        if let Some(near) = judgement.near.first() {
            let said = match near.fit {
                Fit::UpTo(_) => words.other_reading,
                _ => words.near_reading,
            };
            let place = self.beside(near, |told| told.place_and_tip(&near.difference));
            return [said.to_owned()].into_iter().chain(place).collect();
        }
        let first = judgement.explanations.first();
        let under_another = first.filter(|it| it.under.is_some());
        if let Some(idea) = under_another.filter(|it| it.shows_later) {
            // Where the answer parts from the order asked for nothing is misread.
            let tip = idea.ideas.first().and_then(|&idea| self.tip_of(idea));
            let tip = tip.unwrap_or(words.finger);
            return vec![words.other_reading.to_owned(), tip.to_owned()];
        }
        let right = judgement.right_from_the_beginning;
        let mut told = vec![match right {
            0 => words.none_right.to_owned(),
            1 => words.one_right.to_owned(),
            _ => fill(words.some_right, &[("number", &right.to_string())]),
        }];
        told.extend(self.place_and_tip(difference));
        let stops_at = self.sent_on_where_it_ends();
        let stops_at = stops_at.filter(|_| self.idea_here() == Some(Misunderstanding::StopsAtJump));
        let by_times = stops_at.and_then(|sign| self.tip_by_times(sign));
        told.extend(by_times.map(str::to_owned));
        told.extend(under_another.map(|_| words.other_reading_later.to_owned()));
        told
    }

    /// Where the learner is to look, and what helps there.
    fn place_and_tip(&self, difference: &Difference) -> [String; 2] {
        let words = &self.phrases.learner;
        let before = difference.before.map(|step| step.measure);
        let has_sign = |measure: u16| {
            let mut markings = self.board.markings().iter();
            markings.any(|it| it.measure() == measure && it.sign().side() == Side::Leaving)
        };
        let look = match difference.kind {
            DifferenceKind::OffTheBoard => {
                let (first, last) = self.ends_of_the_board();
                fill(words.off_the_board, &[("first", &first), ("last", &last)])
            }
            DifferenceKind::OtherOctave => {
                let measure = difference.expected.map_or(0, |right| right.measure);
                let template = match self.octave_signs_over(measure)[..] {
                    [] => words.look_as_written,
                    _ => words.look_at_octave,
                };
                fill(template, &[("measure", &self.board.measure_words(measure))])
            }
            DifferenceKind::TooShort
                if self.ends_with_the_board() && self.sent_on_where_it_ends().is_some() =>
            {
                let last = self.board.measure_words(self.board.measures());
                fill(words.too_short_at_end, &[("measure", &last)])
            }
            DifferenceKind::TooShort => words.too_short.to_owned(),
            DifferenceKind::TooLong => words.too_long.to_owned(),
            _ => before.map_or_else(
                || words.look_at_start.to_owned(),
                |measure| {
                    let template = if has_sign(measure) {
                        words.look
                    } else {
                        words.look_after
                    };
                    fill(template, &[("measure", &self.board.measure_words(measure))])
                },
            ),
        };
        let tip = self.tip_of_the_last_pass(difference);
        let tip = tip.or_else(|| self.tip_of_the_bracket_left_out(difference));
        let tip = tip.or_else(|| self.tip_of_the_times(difference));
        let tip = tip.or_else(|| self.tip_of_the_return(difference));
        let tip = tip.or_else(|| self.tip_of_the_sign_obeyed(difference));
        let tip = tip.or_else(|| self.tip());
        let tip = tip.or_else(|| self.tip_where_it_ends(difference));
        let tip = tip.or_else(|| self.tip_of_the_end(difference));
        let tip = tip.or_else(|| self.tip_past_the_end(difference));
        let tip = tip.or_else(|| self.tip_of_a_sign(difference));
        let otherwise = match difference.kind {
            DifferenceKind::OtherOctave => {
                let tip = self.tip_of_the_octave(difference);
                tip.unwrap_or(words.hands)
            }
            _ => words.finger,
        };
        [look, tip.unwrap_or(otherwise).to_owned()]
    }

    /// What to tell the learner about the misunderstanding that is named first.
    fn tip(&self) -> Option<&'static str> {
        self.book.idea(self.idea_here()?).map(|idea| idea.tip)
    }

    /// The misunderstanding that is named first. One that shows itself only further on says nothing of the sign that stands here.
    fn idea_here(&self) -> Option<Misunderstanding> {
        let first = self.judgement.explanations.first();
        first.filter(|it| !it.shows_later)?.ideas.first().copied()
    }

    /// The sign that an answer obeys where the road does not, and why it does not count there.
    fn obeyed_here(&self, difference: &Difference) -> Option<(&Marking, NotNow)> {
        let (before, expected) = (difference.before?, difference.expected?);
        let given = difference.given?.measure;
        // Of two jumps at one barline the other counts this time.
        if matches!(expected.cause, Cause::DaCapo | Cause::DalSegno) {
            return None;
        }
        let signs = self.not_obeyed(difference, expected);
        let by_road = self.marking(expected.marking);
        let mut obeyed = signs.into_iter().filter(|it| {
            // Who takes a D.S. for a D.C. obeys it as well.
            let leads_there =
                self.leads_to(it) == Some(given) || jump_of(it).is_some() && given == 1;
            by_road != Some(*it) && leads_there
        });
        let sign = obeyed.next()?;
        Some((sign, self.not_now(sign, before, difference.index)))
    }

    /// What to tell the learner who obeys a sign in a repeat before its last pass.
    fn tip_of_the_last_pass(&self, difference: &Difference) -> Option<&'static str> {
        let (_, why) = self.obeyed_here(difference)?;
        let waits = matches!(why, NotNow::LastPass | NotNow::LastPassOfJump);
        waits.then_some(self.phrases.learner.last_pass)
    }

    /// What to tell the learner of brackets where the caller leaves all repeats out: no time has a number there, and no dots are looked for.
    fn tip_of_the_bracket_left_out(&self, difference: &Difference) -> Option<&'static str> {
        let expected = difference.expected?;
        let passed = self.marking(expected.marking);
        let passed = passed.filter(|_| expected.cause == Cause::PastEnding)?;
        let is_left_out = self.counts(passed) == Counting::Omitted && !self.is_last_ending(passed);
        is_left_out.then_some(self.phrases.learner.last_bracket)
    }

    /// What to tell the learner of a sign that is obeyed where it does not count, unless the misunderstanding is one of a sign that stands there.
    fn tip_of_the_sign_obeyed(&self, difference: &Difference) -> Option<&'static str> {
        let measure = difference.before?.measure;
        let idea = self.idea_here();
        if idea.is_some_and(|idea| self.judge.has_sign_of(idea, measure)) {
            return None;
        }
        let words = &self.phrases.learner;
        let (sign, why) = self.obeyed_here(difference)?;
        let idea = match why {
            NotNow::RepeatFirst | NotNow::NeverFine | NotNow::NeverToCoda => {
                return Some(words.never);
            }
            NotNow::OtherArrival => return Some(words.count_arrivals),
            NotNow::OtherPass | NotNow::PassesUsedUp => return Some(words.count_passes),
            NotNow::LastPass | NotNow::LastPassOfJump => return Some(words.last_pass),
            NotNow::OtherGoal | NotNow::OtherCoda => return Some(words.other_goal),
            NotNow::Return if matches!(sign.sign(), Sign::Fine(_)) => {
                Misunderstanding::FineOnTheFirstLeg
            }
            NotNow::Return => return Some(words.to_coda_waits),
            NotNow::Omitted => return Some(words.repeats_left_out),
            NotNow::UsedUp => Misunderstanding::JumpForEver,
            NotNow::Played => Misunderstanding::RepeatOnceTooOften,
            NotNow::LeftOut | NotNow::CountsOn | NotNow::CountsOnOverJump => {
                Misunderstanding::RepeatsAfterJump
            }
            NotNow::NoMore | NotNow::Else => return None,
        };
        self.book.idea(idea).map(|idea| idea.tip)
    }

    /// What to tell the learner in place of the tip, where the sign in question names its times, so that it waits for no return and is no ticket
    /// for one ride; or where it is never obeyed.
    fn tip_of_the_times(&self, difference: &Difference) -> Option<&'static str> {
        let idea = self.idea_here()?;
        let before = difference.before?.measure;
        let here = self.board.markings().iter();
        let mut here = here.filter(|it| it.measure() == before && speaks_of(idea, it.sign()));
        here.find_map(|it| match self.times_of(it) {
            _ if self.repeat_comes_first(it) => Some(self.phrases.learner.never),
            Times::Arrivals => Some(self.phrases.learner.count_arrivals),
            Times::Passes => Some(self.phrases.learner.count_passes),
            Times::None if self.is_never_obeyed(it) => Some(self.phrases.learner.never),
            Times::None => self.tip_of_the_arrival(idea, difference.before?),
        })
    }

    /// What to tell the learner about a misunderstanding of a sign that stands elsewhere.
    fn tip_of(&self, idea: Misunderstanding) -> Option<&'static str> {
        let words = &self.phrases.learner;
        let signs = self.board.markings().iter();
        let mut signs = signs.filter(|it| speaks_of(idea, it.sign()));
        let mut jumps = self.board.markings().iter().filter_map(jump_of);
        let by_times = signs.find_map(|it| self.tip_by_times(it));
        let goes_on = |jump: &Jump| match (jump.then, jump.al) {
            (Some(Then::Coda), Some(Al::Segno)) => Some(words.segno_then_coda),
            (Some(Then::Coda), _) => Some(words.fine_then_coda),
            _ => None,
        };
        let own = || self.book.idea(idea).map(|idea| idea.tip);
        by_times
            .or_else(|| match idea {
                Misunderstanding::FineIgnored | Misunderstanding::StraightToCoda => {
                    jumps.find_map(goes_on)
                }
                Misunderstanding::ToCodaOnTheFirstLeg => {
                    self.has_jump().then_some(words.to_coda_waits)
                }
                Misunderstanding::ToCodaIgnored if !self.has_jump() => Some(words.to_coda_opens),
                _ => None,
            })
            .or_else(own)
    }

    /// What to tell the learner where nothing explains the answer, of a sign that is passed by there: that it names its times, or what it says.
    fn tip_of_a_sign(&self, difference: &Difference) -> Option<&'static str> {
        let is_unexplained = self.judgement.explanations.iter().all(|it| it.shows_later);
        let (before, expected) = (difference.before?, difference.expected?);
        let given = difference.given?.measure;
        if !is_unexplained || difference.kind != DifferenceKind::OtherMeasure {
            return None;
        }
        let words = &self.phrases.learner;
        let passed_by = self.marking(expected.marking);
        let by_times = passed_by.and_then(|it| self.tip_by_times(it));
        let is_anew = u32::from(before.measure) + 1 == given && self.is_made_anew(difference);
        let is_last = || self.passes_to_the_last_ending(before, expected, given);
        by_times
            .or_else(|| is_anew.then_some(words.repeat_inside))
            .or_else(|| is_last().then_some(words.last_ending))
            .or_else(|| self.tip_of(self.misread_there(before, expected, given)?))
    }

    /// Whether an answer takes an ending on a return on which the road goes past it to the last of its section.
    fn passes_to_the_last_ending(&self, before: Step, expected: Step, given: u32) -> bool {
        let right = self.ending_at(expected.measure.into(), expected.part);
        let Some((right, taken)) = right.zip(self.ending_at(given, None)) else {
            return false;
        };
        let on_return = before.leg > 1 && before.pass > 1 && expected.cause == Cause::PastEnding;
        let is_last_time = on_return && !self.plays_again(right, expected);
        is_last_time && taken.measure() < right.measure() && self.is_last_ending(right)
    }

    /// Whether no other ending of its section stands behind an ending.
    fn is_last_ending(&self, ending: &Marking) -> bool {
        let section = self.section_of(ending);
        let is_behind = |it: &Marking| {
            let is_ending = matches!(it.sign(), Sign::Ending(_));
            is_ending && self.section_of(it) == section && it.measure() > ending.measure()
        };
        !self.board.markings().iter().any(is_behind)
    }

    /// The misunderstanding that an answer shows after a step where the road is sent on and it goes elsewhere, whatever it does besides.
    fn misread_there(&self, before: Step, expected: Step, given: u32) -> Option<Misunderstanding> {
        use Misunderstanding as Idea;
        let walks_on = u32::from(before.measure) + 1 == given;
        let goes_back = given <= before.measure.into();
        let mut markings = self.board.markings().iter();
        let is_coda =
            |it: &Marking| matches!(it.sign(), Sign::Coda(_)) && u32::from(it.measure()) == given;
        // Dots that look at you stand there as well.
        let is_start = |it: &Marking| {
            matches!(it.sign(), Sign::StartRepeat) && u32::from(it.measure()) == given
        };
        Some(match expected.cause {
            Cause::Repeat if walks_on => self.repeat_passed_by(before, expected),
            Cause::Repeat if goes_back && markings.any(is_start) => Idea::LandingOneOff,
            Cause::Repeat if goes_back && expected.measure > 1 => Idea::BackToTheBeginning,
            Cause::DaCapo if goes_back => Idea::DaCapoAsDalSegno,
            Cause::DalSegno if goes_back => Idea::DalSegnoAsDaCapo,
            Cause::DaCapo | Cause::DalSegno if !walks_on && markings.any(is_coda) => {
                Idea::StraightToCoda
            }
            Cause::DaCapo | Cause::DalSegno => Idea::JumpIgnored,
            Cause::ToCoda if walks_on => Idea::ToCodaIgnored,
            Cause::ToCoda => Idea::LandingOneOff,
            Cause::On | Cause::PastEnding => return self.ending_misread(before, expected, given),
            Cause::Repeat | Cause::Start => return None,
        })
    }

    /// The misunderstanding of brackets that an answer shows after a step, where the road goes into an ending or past one.
    fn ending_misread(&self, before: Step, expected: Step, given: u32) -> Option<Misunderstanding> {
        let right = self.ending_at(expected.measure.into(), expected.part);
        let taken = self.ending_at(given, None);
        let ending = taken.or(right)?;
        // On a return that counts no passes anew, this time is not what the number of a bracket is of.
        let counts = match self.counts(ending) {
            Counting::Anew => before.leg == 1 || self.plays_again(ending, expected),
            Counting::On => true,
            Counting::Omitted => false,
        };
        let is_between = before.measure < ending.measure() && ending.measure() < expected.measure;
        let is_behind = right.is_some() && given > expected.measure.into();
        match (taken, is_between, is_behind) {
            _ if !counts => None,
            (Some(_), true, _) => Some(Misunderstanding::FirstEndingAgain),
            (_, _, true) => Some(Misunderstanding::SecondEndingAtOnce),
            _ => None,
        }
    }

    /// What to tell the learner in place of the tip for a To Coda, where the answer has come to it before, or no return has been made.
    fn tip_of_the_arrival(&self, idea: Misunderstanding, before: Step) -> Option<&'static str> {
        let words = &self.phrases.learner;
        match idea {
            Misunderstanding::ToCodaIgnored => (before.leg == 1).then_some(words.to_coda_opens),
            Misunderstanding::ToCodaOnTheFirstLeg if before.visit > 1 => {
                let waits = before.leg == 1 && self.has_jump();
                Some(if waits {
                    words.to_coda_waits
                } else {
                    words.finger
                })
            }
            _ => None,
        }
    }

    /// What to tell the learner of a sign at which a right answer breaks off: why it does not count yet.
    fn tip_where_it_ends(&self, difference: &Difference) -> Option<&'static str> {
        let sign = self.sign_where_it_ends()?;
        let words = &self.phrases.learner;
        let before = difference.before?;
        let is_first_leg = before.leg == 1;
        self.tip_by_times(sign).or_else(|| {
            if self.is_never_obeyed(sign) {
                return Some(words.never);
            }
            if self.not_now(sign, before, difference.index) == NotNow::OtherGoal {
                return Some(words.other_goal);
            }
            let idea = self.book.idea(Misunderstanding::FineOnTheFirstLeg);
            idea.filter(|_| is_first_leg).map(|idea| idea.tip)
        })
    }

    /// What to tell the learner of the sign at which a right answer breaks off, and which sends on.
    fn tip_of_the_end(&self, difference: &Difference) -> Option<&'static str> {
        let sign = self.sent_on_where_it_ends()?;
        let by_times = self.tip_by_times(sign);
        by_times.or_else(|| {
            let idea = match difference.expected?.cause {
                Cause::Repeat => self.repeat_passed_by(difference.before?, difference.expected?),
                Cause::ToCoda => Misunderstanding::ToCodaIgnored,
                _ => Misunderstanding::JumpIgnored,
            };
            self.tip_of(idea)
        })
    }

    /// What somebody shows who passes an end repeat by.
    fn repeat_passed_by(&self, before: Step, expected: Step) -> Misunderstanding {
        match before.pass {
            1 if self.is_made_again(expected) => Misunderstanding::RepeatsLeftOut,
            1 => Misunderstanding::RepeatIgnored,
            _ => Misunderstanding::TooFewTimes,
        }
    }

    /// What to tell the learner who plays on past the Fine that ends the music.
    fn tip_past_the_end(&self, difference: &Difference) -> Option<&'static str> {
        let is_too_long = difference.kind == DifferenceKind::TooLong;
        let fine = is_too_long.then(|| self.fine_at_the_end()).flatten()?;
        let by_times = self.tip_by_times(fine);
        by_times.or_else(|| self.tip_of(Misunderstanding::FineIgnored))
    }

    /// What to tell the learner of a sign that names the times at which it counts.
    fn tip_by_times(&self, sign: &Marking) -> Option<&'static str> {
        match self.times_of(sign) {
            Times::Arrivals => Some(self.phrases.learner.count_arrivals),
            Times::Passes => Some(self.phrases.learner.count_passes),
            Times::None => None,
        }
    }

    /// What to tell the learner in place of the tip, where the words of a D.C. or D.S. say more of how far its return goes.
    fn tip_of_the_return(&self, difference: &Difference) -> Option<&'static str> {
        let words = &self.phrases.learner;
        if self.idea_here() == Some(Misunderstanding::FineIgnored) {
            let leads_on = self.fine_leads_on(difference.before);
            return leads_on.then_some(words.fine_then_coda);
        }
        if self.idea_here() == Some(Misunderstanding::StraightToCoda) {
            let jump = self.jump_after(difference.before?)?;
            return match (jump.then, jump.al) {
                (Some(Then::Coda), Some(Al::Segno)) => Some(words.segno_then_coda),
                (Some(Then::Coda), _) => Some(words.fine_then_coda),
                _ => None,
            };
        }
        let first = self.judgement.explanations.first();
        if first.is_some_and(|it| it.fit == Fit::Whole) {
            return None;
        }
        // Where the road goes on from a Fine or a segno, its words are what the answer has not followed.
        let on = difference
            .expected
            .filter(|step| step.cause == Cause::ToCoda);
        let by = self.marking(on.and_then(|step| step.marking));
        match by.map(Marking::sign) {
            Some(Sign::Fine(_)) => return Some(words.fine_then_coda),
            Some(Sign::Segno(_)) => return Some(words.segno_then_coda),
            _ => {}
        }
        if !self.passes_segno(difference) {
            return None;
        }
        let jump = self.jump_before(difference.before?)?;
        Some(match jump.then {
            Some(Then::Coda) => words.segno_then_coda,
            _ => words.segno_ends,
        })
    }

    /// A D.C. or D.S. at the end of the measure of a step.
    fn jump_after(&self, step: Step) -> Option<&Jump> {
        let mut here = self.board.markings().iter();
        here.find_map(|it| jump_of(it).filter(|_| it.measure() == step.measure))
    }

    /// Whether an answer plays on into the segno up to which the return goes.
    fn passes_segno(&self, difference: &Difference) -> bool {
        let (Some(before), Some(given)) = (difference.before, difference.given) else {
            return false;
        };
        let Some(jump) = self.jump_before(before) else {
            return false;
        };
        let passed = |it: &Marking| match it.sign() {
            Sign::Segno(segno) => {
                let place = it.place();
                let next =
                    place.cut().is_none() && place.first().checked_sub(1) == Some(before.measure);
                next && segno.label == jump.label && u32::from(place.first()) == given.measure
            }
            _ => false,
        };
        jump.al == Some(Al::Segno) && self.board.markings().iter().any(passed)
    }

    /// Whether the road goes on from the Fine to the coda: as the jump says that began the leg of a step; in the first leg, as any says.
    fn fine_leads_on(&self, step: Option<Step>) -> bool {
        let says = |jump: &Jump| jump.al == Some(Al::Fine) && jump.then == Some(Then::Coda);
        // One that names its arrivals is the end whatever the jump says (rulebook 4.8).
        let ends = |it: &Marking| matches!(it.sign(), Sign::Fine(fine) if fine.arrivals.is_some());
        let here = |it: &&Marking| step.is_some_and(|step| it.measure() == step.measure);
        if self.board.markings().iter().filter(here).any(ends) {
            return false;
        }
        match step.and_then(|step| self.jump_before(step)) {
            Some(jump) => says(jump),
            None => self.board.markings().iter().filter_map(jump_of).any(says),
        }
    }
}

/// Whether a misunderstanding is one of a Fine, a To Coda or a D.C. or D.S., and speaks of this sign.
fn speaks_of(idea: Misunderstanding, sign: &Sign) -> bool {
    match idea {
        Misunderstanding::FineIgnored | Misunderstanding::FineOnTheFirstLeg => {
            matches!(sign, Sign::Fine(_))
        }
        Misunderstanding::ToCodaIgnored | Misunderstanding::ToCodaOnTheFirstLeg => {
            matches!(sign, Sign::ToCoda(_))
        }
        Misunderstanding::JumpIgnored | Misunderstanding::JumpForEver => {
            matches!(sign, Sign::DaCapo(_) | Sign::DalSegno(_))
        }
        _ => false,
    }
}
