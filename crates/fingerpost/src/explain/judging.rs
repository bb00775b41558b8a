//! What is said of a learner's answer: to the teacher, and to the learner.
//!
//! The sentences stand in tables of their own, one a language. To add one, write its file beside `judging_english.rs` and enter it in
//! [`TABLES`].

use std::borrow::Cow;

use super::judging_octaves::WhyOctave;
use super::judging_why::NotObeyed;
use super::phrases::fill;
use super::{Phrasebook, judging_english};
use crate::answer::{
    AnswerVerdict, Difference, DifferenceKind, Judge, Judgement, Misunderstanding, NearRoute,
};
use crate::board::Board;
use crate::reading::{Backing, Question, Reading};
use crate::roadmap::Roadmap;
use crate::route::Octaves;

/// Every table; the first is the one used for a language that has none.
const TABLES: &[&JudgingPhrases] = &[&judging_english::ENGLISH];

/// What is said of an answer.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct JudgementWords {
    /// To the teacher: the verdict, where the answer parts from the right order and why, what explains it, how much is right.
    pub teacher: Vec<String>,
    /// To the learner: what was right, and what to look at.
    pub learner: Vec<String>,
}

/// The phrases of one language about answers.
#[derive(Debug)]
pub(super) struct JudgingPhrases {
    pub(super) language: &'static str,
    pub(super) teacher: TeacherPhrases,
    pub(super) learner: LearnerPhrases,
    pub(super) by_count: ByCount,
    /// One entry for each misunderstanding, in the order of the catalogue.
    pub(super) ideas: [IdeaPhrases; Misunderstanding::ALL.len()],
}

/// A misunderstanding.
#[derive(Debug)]
pub(super) struct IdeaPhrases {
    pub(super) name: &'static str,
    /// What it is: one sentence.
    pub(super) what: &'static str,
    /// What somebody does who has it, as it follows "a pupil who".
    pub(super) who: &'static str,
    /// What to tell the learner, in a sentence or two.
    pub(super) tip: &'static str,
}

/// What somebody does with a Fine or a To Coda, in place of what [`IdeaPhrases::who`] says, where no return makes the sign hold or the road
/// has not come to it for the first time.
#[derive(Debug)]
pub(super) struct ByCount {
    pub(super) fine_ignored: &'static str,
    pub(super) to_coda_ignored: &'static str,
    pub(super) to_coda_too_soon: &'static str,
}

/// To the teacher.
#[derive(Debug)]
pub(super) struct TeacherPhrases {
    /// `{length}`.
    pub(super) right: &'static str,
    /// `{answers}`.
    pub(super) right_under: &'static str,
    /// The same under a reading that standards of files alone have published, or nobody.
    pub(super) right_in_files: &'static str,
    pub(super) right_for_nobody: &'static str,
    /// `{asks}`, `{means}`, `{question}`, `{answer}`.
    pub(super) question: &'static str,
    pub(super) empty: &'static str,
    /// `{step}`, `{given}`, `{expected}`.
    pub(super) other_measure: &'static str,
    /// `{step}`, `{given}`: not on the board.
    pub(super) off_the_board: &'static str,
    /// `{step}`, `{measure}`, `{given}`, `{expected}`: octaves.
    pub(super) other_octave: &'static str,
    /// `{given}`, `{length}`.
    pub(super) too_short: &'static str,
    pub(super) too_long: &'static str,
    /// Why the right step comes there. `{sign}`, `{place}`, `{expected}`, `{clause}`.
    pub(super) start: &'static str,
    pub(super) on: &'static str,
    pub(super) not_obeyed: NotObeyed,
    pub(super) into_ending: &'static str,
    pub(super) past_ending: &'static str,
    /// The same where the caller leaves all repeats out.
    pub(super) past_ending_omitted: &'static str,
    /// The same on a return on which its repeat is not made again, on pass `{times}`.
    pub(super) past_ending_on_return: &'static str,
    pub(super) repeat: &'static str,
    /// The same on a return on which the repeats are made again.
    pub(super) repeat_again: &'static str,
    /// The same of a repeat inside a repeat that has been made before.
    pub(super) repeat_inside: &'static str,
    pub(super) da_capo: &'static str,
    pub(super) dal_segno: &'static str,
    pub(super) to_coda: &'static str,
    /// The same of a D.C., a D.S. or a To Coda that names this arrival, or this pass.
    pub(super) names_this_arrival: &'static str,
    pub(super) names_this_pass: &'static str,
    pub(super) why_octave: WhyOctave,
    /// `{ending}`: why the music ends where it ends.
    pub(super) ends: &'static str,
    /// The same at a Fine that names this arrival. `{sign}`, `{place}`.
    pub(super) ends_by_number: &'static str,
    /// `{who}`, `{names}`.
    pub(super) whole: &'static str,
    /// `{who}`, `{names}`, `{slips}`.
    pub(super) but_for_slips: &'static str,
    /// `{who}`, `{names}`, `{step}`.
    pub(super) up_to: &'static str,
    /// Beside one that shows itself only behind the first wrong step.
    pub(super) shows_later: &'static str,
    /// The order of a pupil under another published reading. `{who}`, `{names}`, `{answers}`.
    pub(super) whole_under: &'static str,
    /// One more explanation that is as good. `{who}`, `{names}`.
    pub(super) or: &'static str,
    /// The same of one under another published reading than the first. `{answers}` besides.
    pub(super) or_under: &'static str,
    /// The same of one that shows itself only behind the first wrong step.
    pub(super) or_later: &'static str,
    pub(super) one_more: &'static str,
    /// `{number}`.
    pub(super) more: &'static str,
    pub(super) and: &'static str,
    /// Right as the signs stand, where the repeats are to be left out.
    pub(super) with_repeats: &'static str,
    pub(super) not_explained: &'static str,
    /// `{slips}`.
    pub(super) near: &'static str,
    /// Nearer to what another published reading gives. `{slips}`, `{answers}`.
    pub(super) near_reading: &'static str,
    /// Where it parts from that. `{step}`.
    pub(super) right_so_far: &'static str,
    /// The same for some steps. `{step}`, `{answers}`.
    pub(super) up_to_reading: &'static str,
    /// The same where the answer breaks off and is right so far. `{answers}`.
    pub(super) breaks_off_reading: &'static str,
    /// One more reading that gives the order, or one that is as near. `{answers}`.
    pub(super) right_too: &'static str,
    pub(super) near_too: &'static str,
    pub(super) one_more_reading: &'static str,
    /// `{number}`.
    pub(super) more_readings: &'static str,
    /// The answer breaks off, and is right so far or but for `{slips}`. `{given}`, `{length}`.
    pub(super) breaks_off_right: &'static str,
    pub(super) breaks_off_wrong: &'static str,
    /// The answer is right so far and ends at a sign: a Fine that does not count there, or one that sends on. `{sign}`, `{place}`.
    pub(super) stops_at_sign: &'static str,
    /// The same where that is the end of the board.
    pub(super) stops_at_end: &'static str,
    pub(super) one_step: &'static str,
    /// `{number}`.
    pub(super) steps: &'static str,
    pub(super) one_slip: &'static str,
    /// `{number}`.
    pub(super) slips: &'static str,
    /// `{first}`, `{in_order}`, `{length}`, `{percent}`.
    pub(super) credit: &'static str,
    /// The same of an answer that is longer than the music: `{given}` more.
    pub(super) credit_too_long: &'static str,
    /// How the hands play.
    pub(super) as_written: &'static str,
    pub(super) both_hands: &'static str,
    pub(super) right_hand: &'static str,
    pub(super) left_hand: &'static str,
    /// `{hand}`.
    pub(super) one_higher: &'static str,
    pub(super) one_lower: &'static str,
    /// `{hand}`, `{number}`.
    pub(super) higher: &'static str,
    pub(super) lower: &'static str,
    /// What practice is named after. `{name}`.
    pub(super) page: &'static str,
}

/// To the learner.
#[derive(Debug)]
pub(super) struct LearnerPhrases {
    pub(super) right: &'static str,
    pub(super) right_under: &'static str,
    pub(super) right_in_files: &'static str,
    pub(super) right_for_nobody: &'static str,
    pub(super) empty: &'static str,
    pub(super) none_right: &'static str,
    pub(super) one_right: &'static str,
    /// `{number}`.
    pub(super) some_right: &'static str,
    /// Where to look. `{measure}`: the last right one.
    pub(super) look: &'static str,
    /// The same where no sign stands. `{measure}`.
    pub(super) look_after: &'static str,
    pub(super) look_at_start: &'static str,
    /// `{measure}`: an octave sign stands over it, or none.
    pub(super) look_at_octave: &'static str,
    pub(super) look_as_written: &'static str,
    /// `{measure}`.
    pub(super) off_the_board: &'static str,
    pub(super) too_short: &'static str,
    /// The same at the end of the board, where a sign sends on. `{measure}`.
    pub(super) too_short_at_end: &'static str,
    pub(super) too_long: &'static str,
    /// In place of the tip for a Fine or a To Coda that is obeyed nowhere.
    pub(super) never: &'static str,
    /// In place of the tip for a To Coda that is obeyed on the first leg, at another arrival than the first.
    pub(super) to_coda_waits: &'static str,
    /// In place of the tip for a To Coda that is passed by where no return has been made.
    pub(super) to_coda_opens: &'static str,
    /// Where the repeats are to be left out, and the answer is right with them.
    pub(super) with_repeats: &'static str,
    /// For an end repeat that is obeyed, where the caller leaves all repeats out.
    pub(super) repeats_left_out: &'static str,
    /// In place of the tip where the sign names its passes.
    pub(super) count_passes: &'static str,
    /// In place of the tip for a Fine that is passed by, where the road goes on from it to the coda.
    pub(super) fine_then_coda: &'static str,
    /// For a segno that is passed by, at which the road goes on to the coda, or ends.
    pub(super) segno_then_coda: &'static str,
    pub(super) segno_ends: &'static str,
    /// Where a sign names the arrivals at which it is obeyed.
    pub(super) count_arrivals: &'static str,
    /// For a Fine or a To Coda that is not the goal of a return.
    pub(super) other_goal: &'static str,
    /// For a bracket that is not played where the caller leaves all repeats out.
    pub(super) last_bracket: &'static str,
    /// For a repeat inside a repeat that is not made anew.
    pub(super) repeat_inside: &'static str,
    /// For a bracket of an earlier time that is taken on a return.
    pub(super) last_ending: &'static str,
    /// For a sign in a repeat that is obeyed before its last pass.
    pub(super) last_pass: &'static str,
    /// Where nothing explains the answer.
    pub(super) finger: &'static str,
    /// What to do where the order is right and the octave is not.
    pub(super) hands: &'static str,
    /// Nearly right as another published reading has it.
    pub(super) near_reading: &'static str,
    /// The answer plays as another published reading has it, with something wrong besides.
    pub(super) other_reading: &'static str,
    /// The same where the answer goes wrong at a sign that no reading reads so, and plays as that reading has it besides.
    pub(super) other_reading_later: &'static str,
}

impl Phrasebook {
    /// What a misunderstanding is, in one sentence.
    ///
    /// ```
    /// use fingerpost::{Misunderstanding, Phrasebook};
    /// let words = Phrasebook::default().misunderstanding(Misunderstanding::JumpIgnored);
    /// assert_eq!(words, "No D.C. and no D.S. is obeyed.");
    /// ```
    pub fn misunderstanding(&self, idea: Misunderstanding) -> Cow<'static, str> {
        self.worded_as_it_is(self.idea(idea).map_or("", |it| it.what))
    }

    /// What is said of an answer. `board` is the one that the judge was made for, and the judgement is one of its.
    ///
    /// ```
    /// use fingerpost::{Answer, Board, Judge, Phrasebook, Terms};
    /// let board: Board = "1 |: 2 | 3 :| 4 |".parse()?;
    /// let judge = Judge::new(&board, &Terms::default())?;
    /// let judgement = judge.judge(&Answer::read(&board, "1-4")?);
    /// let words = Phrasebook::default().judgement(&board, &judge, &judgement);
    /// assert_eq!(words.teacher[0], "Step 4 is measure 4; measure 2 is expected.");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn judgement(&self, board: &Board, judge: &Judge, judgement: &Judgement) -> JudgementWords {
        let told = Told {
            book: *self,
            board,
            judge,
            road: judge.roadmap(),
            judgement,
            phrases: self.judging(),
        };
        let worded = |said: Vec<String>| said.into_iter().map(|it| self.worded(it)).collect();
        JudgementWords {
            teacher: worded(told.to_the_teacher()),
            learner: worded(told.to_the_learner()),
        }
    }

    fn judging(self) -> &'static JudgingPhrases {
        let mut tables = TABLES.iter();
        let own = tables.find(|table| table.language == self.language());
        own.unwrap_or(&TABLES[0]) // cannot fail: there is one table at least.
    }

    pub(super) fn idea(self, idea: Misunderstanding) -> Option<&'static IdeaPhrases> {
        let mut ideas = self.judging().ideas.iter();
        ideas.find(|it| it.name == idea.name())
    }
}

pub(super) struct Told<'a> {
    pub(super) book: Phrasebook,
    pub(super) board: &'a Board,
    pub(super) judge: &'a Judge,
    /// The road that the answer is held against: the right one, or one that is near.
    pub(super) road: &'a Roadmap,
    pub(super) judgement: &'a Judgement,
    pub(super) phrases: &'static JudgingPhrases,
}

impl Told<'_> {
    fn to_the_teacher(&self) -> Vec<String> {
        let words = &self.phrases.teacher;
        let length = self.steps(self.judgement.length);
        match self.judgement.verdict {
            AnswerVerdict::Right => return vec![fill(words.right, &[("length", &length)])],
            AnswerVerdict::RightUnder(route) => {
                let template = match self.judge.backing(route) {
                    Backing::Published => words.right_under,
                    Backing::Files => words.right_in_files,
                    Backing::Nobody => words.right_for_nobody,
                };
                let readings = self.judge.nearest_readings(route);
                let mut told = self.of_readings(&readings, template, &[], words.right_too);
                // Where nothing gives the same order there is nothing beside it to say.
                if !self.judgement.explanations.is_empty() {
                    told.extend(self.explained());
                }
                return told;
            }
            AnswerVerdict::Wrong => {}
        }
        let mut told = Vec::new();
        if let Some(difference) = &self.judgement.difference {
            told.push(self.parts(difference));
            if difference.kind == DifferenceKind::Empty {
                return told;
            }
            told.extend(self.why(difference));
        }
        told.extend(self.explained());
        told.push(self.credit());
        told
    }

    /// What is said of an answer beside an order that is near: where it parts from that.
    pub(super) fn beside<T>(&self, near: &NearRoute, say: impl FnOnce(&Told<'_>) -> T) -> T {
        let routes = &self.judge.comparison().routes;
        let road = routes.get(near.route).map_or(self.road, |it| &it.roadmap);
        let judgement = Judgement {
            difference: Some(near.difference),
            length: near.length,
            ..self.judgement.clone()
        };
        say(&Told {
            road,
            judgement: &judgement,
            ..*self
        })
    }

    /// In which answers to the questions a reading differs from the one asked for.
    pub(super) fn answers_in(&self, reading: Reading) -> String {
        let asked = self.judge.roadmap().reading();
        let differs = |&question: &Question| reading.answer(question) != asked.answer(question);
        let told = Question::ALL.into_iter().filter(differs).map(|question| {
            let answer = reading.answer(question);
            let means = self.book.answer(question, answer).unwrap_or_default();
            fill(
                self.phrases.teacher.question,
                &[
                    ("question", question.name()),
                    ("answer", answer),
                    ("asks", &self.book.question(question)),
                    ("means", &means),
                ],
            )
        });
        told.collect::<Vec<_>>().join(" ")
    }

    /// Where the answer parts from the right order.
    pub(super) fn parts(&self, difference: &Difference) -> String {
        let words = &self.phrases.teacher;
        let step = (difference.index + 1).to_string();
        let given = difference.given.map_or_else(String::new, |given| {
            u16::try_from(given.measure)
                .ok()
                .filter(|&measure| measure > 0 && measure <= self.board.measures())
                .map_or_else(
                    || given.measure.to_string(),
                    |it| self.board.measure_words(it),
                )
        });
        let expected = difference
            .expected
            .map_or_else(String::new, |right| self.board.measure_words(right.measure));
        let measures = [
            ("step", step.as_str()),
            ("given", &given),
            ("expected", &expected),
        ];
        match difference.kind {
            DifferenceKind::Empty => words.empty.to_owned(),
            DifferenceKind::OffTheBoard => {
                let (first, last) = self.ends_of_the_board();
                fill(
                    words.off_the_board,
                    &[
                        ("step", &step),
                        ("given", &given),
                        ("first", &first),
                        ("last", &last),
                    ],
                )
            }
            DifferenceKind::OtherOctave => {
                let told = difference.given.and_then(|given| given.octave);
                let right = difference.expected.map(|right| right.octave);
                fill(
                    words.other_octave,
                    &[
                        ("step", &step),
                        ("measure", &expected),
                        ("given", &self.octaves(told.unwrap_or_default())),
                        ("expected", &self.octaves(right.unwrap_or_default())),
                    ],
                )
            }
            DifferenceKind::TooShort | DifferenceKind::TooLong => {
                let template = if difference.kind == DifferenceKind::TooShort {
                    words.too_short
                } else {
                    words.too_long
                };
                let given = self.steps(self.judgement.given as u64);
                let length = self.steps(self.judgement.length);
                fill(template, &[("given", &given), ("length", &length)])
            }
            DifferenceKind::OtherMeasure => fill(words.other_measure, &measures),
        }
    }

    /// The first measure of the board and its last, in words.
    pub(super) fn ends_of_the_board(&self) -> (String, String) {
        let last = self.board.measures();
        (self.board.measure_words(1), self.board.measure_words(last))
    }

    fn octaves(&self, octaves: Octaves) -> String {
        let words = &self.phrases.teacher;
        let hand = |shift: i8, hand: &str| {
            let number = shift.unsigned_abs();
            let template = match (shift > 0, number) {
                (true, 1) => words.one_higher,
                (false, 1) => words.one_lower,
                (true, _) => words.higher,
                (false, _) => words.lower,
            };
            fill(template, &[("hand", hand), ("number", &number.to_string())])
        };
        match (octaves.right, octaves.left) {
            (0, 0) => words.as_written.to_owned(),
            (right, left) if right == left => hand(right, words.both_hands),
            (right, 0) => hand(right, words.right_hand),
            (0, left) => hand(left, words.left_hand),
            (right, left) => {
                let (right, left) = (hand(right, words.right_hand), hand(left, words.left_hand));
                format!("{right}{}{left}", words.and)
            }
        }
    }

    pub(super) fn steps(&self, steps: u64) -> String {
        let words = &self.phrases.teacher;
        match steps {
            1 => words.one_step.to_owned(),
            _ => fill(words.steps, &[("number", &steps.to_string())]),
        }
    }

    pub(super) fn slips(&self, slips: usize) -> String {
        let words = &self.phrases.teacher;
        match slips {
            1 => words.one_slip.to_owned(),
            _ => fill(words.slips, &[("number", &slips.to_string())]),
        }
    }

    fn credit(&self) -> String {
        let judgement = self.judgement;
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a share lies between 0 and 1"
        )]
        let percent = (judgement.share() * 100.0).floor() as u32;
        let words = &self.phrases.teacher;
        let too_long = judgement.given as u64 > judgement.length;
        fill(
            if too_long {
                words.credit_too_long
            } else {
                words.credit
            },
            &[
                ("given", &judgement.given.to_string()),
                ("first", &judgement.right_from_the_beginning.to_string()),
                ("in_order", &judgement.right_in_order.to_string()),
                ("length", &self.steps(judgement.length)),
                ("percent", &percent.to_string()),
            ],
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_table_has_every_misunderstanding_in_order() {
        for table in TABLES {
            for (words, idea) in table.ideas.iter().zip(Misunderstanding::ALL) {
                assert_eq!(words.name, idea.name());
                for text in [words.what, words.who, words.tip] {
                    assert!(!text.is_empty(), "{idea}");
                }
                for text in [words.what, words.tip] {
                    assert!(text.ends_with(['.', '!']), "{idea}: {text}");
                }
                let short = words.who.ends_with("D.C.") || words.who.ends_with("D.S.");
                assert!(short || !words.who.ends_with('.'), "{idea}");
            }
        }
    }
}
