//! What is said of an answer with the right measure in another octave.

use super::judging::Told;
use super::phrases::fill;
use super::places::place_of;
use crate::answer::{Difference, Misunderstanding};
use crate::board::{Marking, Octave, Sign, When};
use crate::legality::sign_words;
use crate::route::{Octaves, Step};

/// Why a measure is played in an octave. `{clause}`.
#[derive(Debug)]
pub(super) struct WhyOctave {
    /// `{measure}`: no octave sign stands over it.
    pub(super) no_sign: &'static str,
    /// `{sign}`, `{place}`: the one sign that stands over it holds, or does not.
    pub(super) holds: &'static str,
    pub(super) holds_not: &'static str,
    /// `{measure}`: several stand over it.
    pub(super) several: &'static str,
}

impl Told<'_> {
    /// Why the octave is what it is.
    pub(super) fn why_octave(&self, step: Step) -> String {
        let words = &self.phrases.teacher.why_octave;
        let measure = self.board.measure_words(step.measure);
        let measure = ("measure", measure.as_str());
        match self.octave_signs_over(step.measure)[..] {
            [] => fill(words.no_sign, &[measure, ("clause", "7.6")]),
            [(sign, octave)] => {
                let is_shifted = step.octave != Octaves::default();
                let (template, clause) = match (is_shifted, &octave.when) {
                    (true, When::EveryPass) => (words.holds, "7.6"),
                    (true, _) => (words.holds, "7.5"),
                    (false, _) => (words.holds_not, "7.5"),
                };
                let place = place_of(self.book.spoken(), self.board, sign);
                let sign = sign_words(sign.sign());
                let names = [("sign", sign.as_str()), ("place", &place)];
                fill(template, &[names[0], names[1], ("clause", clause)])
            }
            _ => fill(words.several, &[measure, ("clause", "7.6")]),
        }
    }

    /// What helps the learner where nothing explains the answer.
    pub(super) fn tip_of_the_octave(&self, difference: &Difference) -> Option<&'static str> {
        let right = difference.expected?;
        let given = difference.given?.octave.unwrap_or_default();
        let signs = self.octave_signs_over(right.measure);
        let swapped = Octaves {
            right: right.octave.left,
            left: right.octave.right,
        };
        let stays = difference.before.is_some_and(|it| it.octave == given);
        let names_times = |(_, octave): &(_, &Octave)| octave.when != When::EveryPass;
        let idea = if signs.is_empty() && stays {
            Misunderstanding::OctaveNeverUndone
        } else if given == swapped {
            Misunderstanding::OctaveInTheWrongHand
        } else if signs.iter().any(names_times) && (given == Octaves::default()) {
            Misunderstanding::OctaveAtTheWrongTime
        } else {
            return None;
        };
        self.book.idea(idea).map(|idea| idea.tip)
    }

    /// The octave signs that stand over a measure; equal ones over the same measures are one (rulebook 1.10).
    pub(super) fn octave_signs_over(&self, measure: u16) -> Vec<(&Marking, &Octave)> {
        let mut over: Vec<(&Marking, &Octave)> = Vec::new();
        for marking in self.board.markings() {
            let place = marking.place();
            let is_over = (place.first()..=place.last()).contains(&measure);
            let is_known = || {
                let mut known = over.iter();
                known.any(|(it, _)| it.place() == place && it.sign() == marking.sign())
            };
            if let Sign::Octave(octave) = marking.sign() {
                if is_over && !is_known() {
                    over.push((marking, octave));
                }
            }
        }
        over
    }
}
