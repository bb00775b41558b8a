//! What is said to the teacher of what explains an answer.

use super::judging::Told;
use super::judging_not_now::Times;
use super::phrases::fill;
use super::places::place_of;
use crate::answer::{
    AnswerVerdict, Difference, DifferenceKind, Explanation, Fit, Misunderstanding, NearRoute,
    few_slips,
};
use crate::board::Sign;
use crate::legality::sign_words;
use crate::reading::{Arming, Reading};

/// The most explanations that are told one by one; the others are counted.
const MOST_TOLD: usize = 3;

impl Told<'_> {
    pub(super) fn explained(&self) -> Vec<String> {
        let words = &self.phrases.teacher;
        let all = &self.judgement.explanations;
        if let Some(reading) = self.judgement.with_repeats {
            let answers = self.answers_in(reading);
            let mut told = vec![words.with_repeats.to_owned()];
            told.extend((!answers.is_empty()).then_some(answers));
            return told;
        }
        if let Some(near) = self.judgement.near.first() {
            let (template, name, how_near) = match near.fit {
                Fit::UpTo(steps) if steps == self.judgement.given => {
                    (words.breaks_off_reading, "step", String::new())
                }
                Fit::UpTo(steps) => (words.up_to_reading, "step", self.steps(steps as u64)),
                Fit::ButForSlips(slips) => (words.near_reading, "slips", self.slips(slips)),
                Fit::Whole => (words.near_reading, "slips", self.slips(0)),
            };
            let routes = self.judgement.near.iter();
            let readings = routes.flat_map(|it| self.judge.nearest_readings(it.route));
            let readings: Vec<Reading> = readings.collect();
            let names = [(name, how_near.as_str())];
            let mut told = self.of_readings(&readings, template, &names, words.near_too);
            let place = self.place_beside(near);
            told.splice(1..1, place);
            return told;
        }
        let Some(first) = all.first() else {
            return vec![self.not_explained()];
        };
        let (who, names) = self.ideas(first);
        let words_of = [("who", who.as_str()), ("names", &names)];
        let is_right = self.judgement.verdict != AnswerVerdict::Wrong;
        let mut told = vec![match first.fit {
            Fit::Whole if first.under.is_some() => {
                let answers = first.under.map(|reading| self.answers_in(reading));
                let answers = ("answers", answers.as_deref().unwrap_or_default());
                fill(words.whole_under, &[words_of[0], words_of[1], answers])
            }
            Fit::Whole if is_right => fill(words.or, &words_of),
            Fit::Whole => fill(words.whole, &words_of),
            Fit::ButForSlips(slips) => {
                let slips = self.slips(slips);
                fill(
                    words.but_for_slips,
                    &[words_of[0], words_of[1], ("slips", &slips)],
                )
            }
            Fit::UpTo(steps) => {
                let steps = self.steps(steps as u64);
                fill(words.up_to, &[words_of[0], words_of[1], ("step", &steps)])
            }
        }];
        if first.shows_later {
            told.push(words.shows_later.to_owned());
        }
        for other in all.iter().skip(1).take(MOST_TOLD - 1) {
            let (who, names) = self.ideas(other);
            // Where all show themselves later that has been said.
            let is_later = other.shows_later && !first.shows_later;
            let answers = other.under.filter(|_| other.under != first.under);
            let template = match answers {
                Some(_) => words.or_under,
                None if is_later => words.or_later,
                None => words.or,
            };
            let answers = answers.map(|reading| self.answers_in(reading));
            let answers = ("answers", answers.as_deref().unwrap_or_default());
            told.push(fill(template, &[("who", &who), ("names", &names), answers]));
        }
        let more = all.len().saturating_sub(MOST_TOLD) + self.judgement.more_explanations;
        match more {
            0 => {}
            1 => told.push(words.one_more.to_owned()),
            _ => told.push(fill(words.more, &[("number", &more.to_string())])),
        }
        if let [idea, ..] = first.ideas.as_slice() {
            told.push(fill(words.page, &[("name", idea.name())]));
        }
        told
    }

    /// Where the answer parts from an order that is near, and why that goes on as it does; nothing where it parts there from the right one, too.
    fn place_beside(&self, near: &NearRoute) -> Vec<String> {
        let there = near.difference;
        let of = |it: Difference| (it.index, it.expected.map(|step| step.measure));
        if self.judgement.difference.map(of) == Some(of(there)) {
            return Vec::new();
        }
        let steps = self.steps(there.index as u64);
        let so_far = fill(self.phrases.teacher.right_so_far, &[("step", &steps)]);
        let says_so = matches!(near.fit, Fit::UpTo(_));
        let mut told = if says_so { Vec::new() } else { vec![so_far] };
        told.extend(self.beside(near, |told| {
            let mut place = vec![told.parts(&there)];
            place.extend(told.why(&there));
            place
        }));
        told
    }

    /// What is said of readings that are equally near: of the first by its own phrase, with what that names besides; of some others by another.
    pub(super) fn of_readings(
        &self,
        readings: &[Reading],
        first: &str,
        names: &[(&str, &str)],
        other: &str,
    ) -> Vec<String> {
        let words = &self.phrases.teacher;
        let templates = std::iter::once(first).chain(std::iter::repeat(other));
        let listed = readings.iter().zip(templates).take(MOST_TOLD);
        let mut told: Vec<String> = listed
            .map(|(&reading, template)| {
                let answers = self.answers_in(reading);
                let mut names = names.to_vec();
                names.push(("answers", &answers));
                fill(template, &names)
            })
            .collect();
        match readings.len().saturating_sub(MOST_TOLD) {
            0 => {}
            1 => told.push(words.one_more_reading.to_owned()),
            more => told.push(fill(words.more_readings, &[("number", &more.to_string())])),
        }
        told
    }

    /// What is said where no misunderstanding explains the answer. Beside one that breaks off the slips say nothing: most are what is missing.
    /// Many slips say nothing either.
    fn not_explained(&self) -> String {
        let words = &self.phrases.teacher;
        let judgement = self.judgement;
        let kind = judgement.difference.map(|it| it.kind);
        if kind == Some(DifferenceKind::TooShort) {
            let sends_on = self.sent_on_where_it_ends();
            let (sign, template) = match (self.sign_where_it_ends(), sends_on) {
                (None, Some(sign)) if self.ends_with_the_board() => (sign, words.stops_at_end),
                (Some(sign), _) | (None, Some(sign)) => (sign, words.stops_at_sign),
                (None, None) => return words.breaks_off_right.to_owned(),
            };
            let place = place_of(self.book.spoken(), self.board, sign);
            let sign = sign_words(sign.sign());
            return fill(template, &[("sign", &sign), ("place", &place)]);
        }
        if let Some(slips) = judgement.breaks_off {
            let given = judgement.given.to_string();
            let length = self.steps(judgement.length);
            let slips = self.slips(slips);
            return fill(
                words.breaks_off_wrong,
                &[("slips", &slips), ("given", &given), ("length", &length)],
            );
        }
        match judgement.slips {
            Some(slips) if slips <= few_slips(judgement.given) => {
                fill(words.near, &[("slips", &self.slips(slips))])
            }
            _ => words.not_explained.to_owned(),
        }
    }

    /// What somebody does who has the misunderstandings of an explanation, and their names.
    fn ideas(&self, explanation: &Explanation) -> (String, String) {
        let who = explanation.ideas.iter();
        let who: Vec<&str> = who
            .filter_map(|&idea| self.who(idea, explanation))
            .collect();
        let names: Vec<&str> = explanation.ideas.iter().map(|idea| idea.name()).collect();
        (who.join(self.phrases.teacher.and), names.join(", "))
    }

    /// What somebody does who has a misunderstanding. A sign that names its arrivals holds on no return, nor does any on a board without a D.C.
    /// or D.S.
    fn who(&self, idea: Misunderstanding, explanation: &Explanation) -> Option<&'static str> {
        let words = &self.phrases.by_count;
        let by_count = |is_meant: &dyn Fn(&Sign) -> bool| {
            let markings = self.board.markings().iter();
            let mut meant = markings.filter(|it| is_meant(it.sign()));
            !self.has_jump() || meant.any(|it| self.times_of(it) == Times::Arrivals)
        };
        let is_to_coda = |it: &Sign| matches!(it, Sign::ToCoda(_));
        let counts = match idea {
            Misunderstanding::FineIgnored => by_count(&|it| matches!(it, Sign::Fine(_))),
            Misunderstanding::ToCodaIgnored => {
                by_count(&is_to_coda)
                    || self.judge.roadmap().reading().arming == Arming::SecondArrival
            }
            // At the first arrival, if it is that which makes the answer go wrong.
            Misunderstanding::ToCodaOnTheFirstLeg => {
                let before = self.judgement.difference.and_then(|it| it.before);
                let is_here = explanation.ideas.first() == Some(&idea) && !explanation.shows_later;
                !is_here || before.is_none_or(|before| before.visit > 1)
            }
            _ => false,
        };
        match idea {
            Misunderstanding::FineIgnored if counts => Some(words.fine_ignored),
            Misunderstanding::ToCodaIgnored if counts => Some(words.to_coda_ignored),
            Misunderstanding::ToCodaOnTheFirstLeg if counts => Some(words.to_coda_too_soon),
            _ => self.book.idea(idea).map(|it| it.who),
        }
    }
}
