//! The verb `judge`.

use std::collections::BTreeMap;
use std::fmt;

use fingerpost::{
    Answer, AnswerError, AnswerStep, AnswerVerdict, Difference, DifferenceKind, Explanation, Fit,
    Judge, Judgement, MOST_STEPS_OF_ANSWER, Misunderstanding, Octaves, Phrasebook, Terms,
};
use serde::de::{MapAccess, SeqAccess, Visitor, value::MapAccessDeserializer};
use serde::{Deserialize, Deserializer};

use crate::VERSION;
use crate::error::{ComplaintAnswer, ErrorAnswer, ErrorKind};
use crate::misread;
use crate::score::ScoreAnswer;
use crate::source::BoardRead;
use crate::terms::{ReadingAnswer, TermsAsked};
use crate::unroll::StepAnswer;

/// The most answers of one request, and the most steps of all of them together.
const MOST_ANSWERS: usize = 10_000;
const MOST_STEPS: usize = 1_000_000;

/// An answer to be judged, as a request gives it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum AnswerAsked {
    /// As it is typed: `1-4 1 2 5`.
    Text(String),
    /// Step by step.
    Steps(Vec<StepAsked>),
}

/// One step of an answer, or what is typed for some of them.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum StepAsked {
    /// A measure, counted from 1 in written order.
    Number(u32),
    /// A measure by its printed name, or a range, as it is typed.
    Text(String),
    /// A measure with the octave of each hand.
    Step(FullStep),
}

/// A measure with the octave of each hand.
#[derive(Clone, PartialEq, Eq, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct FullStep {
    /// The measure, counted from 1 in written order.
    pub measure: u32,
    /// How many octaves each hand plays higher than written; lower is negative. Absent: as written.
    #[serde(default)]
    pub octave: Option<HandsAsked>,
}

/// The octave of each hand.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct HandsAsked {
    /// The right hand; 0 when absent.
    #[serde(default)]
    pub right: i8,
    /// The left hand; 0 when absent.
    #[serde(default)]
    pub left: i8,
}

/// One of several answers.
#[derive(Clone, PartialEq, Eq, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct NamedAsked {
    /// Whose it is, repeated in the answer: initials or a number are enough.
    #[serde(default)]
    pub pupil: Option<String>,
    /// The answer.
    pub answer: AnswerAsked,
}

impl<'de> Deserialize<'de> for AnswerAsked {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<AnswerAsked, D::Error> {
        struct Asked;
        impl<'de> Visitor<'de> for Asked {
            type Value = AnswerAsked;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an order as text, such as \"1-4 1 2 5\", or an array of measures")
            }

            fn visit_str<E: serde::de::Error>(self, text: &str) -> Result<AnswerAsked, E> {
                Ok(AnswerAsked::Text(text.to_owned()))
            }

            fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<AnswerAsked, A::Error> {
                let mut steps = Vec::new();
                while let Some(step) = list.next_element()? {
                    if steps.len() == MOST_STEPS_OF_ANSWER {
                        let message = fingerpost::TooManySteps.to_string();
                        return Err(serde::de::Error::custom(message));
                    }
                    steps.push(step);
                }
                Ok(AnswerAsked::Steps(steps))
            }
        }
        deserializer.deserialize_any(Asked)
    }
}

impl<'de> Deserialize<'de> for StepAsked {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<StepAsked, D::Error> {
        struct Asked;
        impl<'de> Visitor<'de> for Asked {
            type Value = StepAsked;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a measure: its number, its name as text, or an object with `measure`")
            }

            fn visit_u64<E: serde::de::Error>(self, number: u64) -> Result<StepAsked, E> {
                // A number beyond every board stays one that is beyond every board.
                Ok(StepAsked::Number(u32::try_from(number).unwrap_or(u32::MAX)))
            }

            fn visit_str<E: serde::de::Error>(self, text: &str) -> Result<StepAsked, E> {
                Ok(StepAsked::Text(text.to_owned()))
            }

            fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<StepAsked, A::Error> {
                FullStep::deserialize(MapAccessDeserializer::new(map)).map(StepAsked::Step)
            }
        }
        deserializer.deserialize_any(Asked)
    }
}

#[cfg(feature = "schema")]
impl schemars::JsonSchema for AnswerAsked {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "AnswerAsked".into()
    }

    fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
        let step = generator.subschema_for::<FullStep>();
        schemars::json_schema!({
            "description": "An order: as text (`1-4 1 2 5`), or its measures, each a number counted from 1, a printed name, or an object.",
            "anyOf": [
                { "type": "string" },
                {
                    "type": "array",
                    "maxItems": MOST_STEPS_OF_ANSWER,
                    "items": { "anyOf": [{ "type": "integer", "minimum": 0 }, { "type": "string" }, step] }
                }
            ]
        })
    }
}

/// What becomes of answers.
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct JudgeAnswer {
    /// The version of the answer: 1.
    pub version: u32,
    /// The reading whose order is the right one.
    pub reading: ReadingAnswer,
    /// Whether every reading under which the board has no errors gives this order.
    pub settled: bool,
    /// How many steps the right order has. It may be larger than 2^53.
    pub length: u64,
    /// The answers, in their order.
    pub answers: Vec<JudgedAnswer>,
    /// What they show together.
    pub summary: Summary,
    /// The score that the board was read from, when it was read from one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub score: Option<ScoreAnswer>,
}

/// One answer.
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct JudgedAnswer {
    /// Whose it is, as the request says.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pupil: Option<String>,
    /// What becomes of it.
    pub verdict: VerdictOfAnswer,
    /// For an answer that is right under other readings: these, as far as the questions that can matter on this board differ.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub readings: Vec<ReadingAnswer>,
    /// Where it first parts from the right order.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub difference: Option<DifferenceAnswer>,
    /// How much of it is right.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub credit: Option<Credit>,
    /// What explains it: the best explanations, all equally good.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub explanations: Vec<ExplanationAnswer>,
    /// How many more there are that are as good.
    #[serde(skip_serializing_if = "is_zero")]
    pub more_explanations: usize,
    /// What is said to the teacher.
    pub teacher: Vec<String>,
    /// What is said to the learner.
    pub learner: Vec<String>,
    /// For an answer that cannot be read: why.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub complaint: Option<ComplaintAnswer>,
}

// The signature is serde's.
#[allow(clippy::trivially_copy_pass_by_ref)]
fn is_zero(value: &usize) -> bool {
    *value == 0
}

/// What becomes of an answer.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum VerdictOfAnswer {
    /// It is the order of the reading asked for.
    Right,
    /// It is the order of another published reading, and is not wrong.
    RightUnder,
    /// It is no order that a published reading gives.
    Wrong,
    /// It cannot be read.
    NotReadable,
}

/// Where an answer parts from the right order.
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct DifferenceAnswer {
    /// The step, counted from 1.
    pub step: usize,
    /// What kind of difference it is.
    pub kind: DifferenceName,
    /// What the answer has there; absent when it has ended.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub given: Option<GivenAnswer>,
    /// What would be right there, with its cause and clause; absent when the music has ended.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub expected: Option<StepAnswer>,
}

/// What an answer has at a step.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct GivenAnswer {
    /// The measure, counted from 1; it may lie off the board.
    pub measure: u32,
    /// The octave of each hand, where the answer says it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub octave: Option<Octaves>,
}

/// What kind of difference there is.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum DifferenceName {
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

/// How much of an answer is right.
#[derive(Clone, Copy, PartialEq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct Credit {
    /// How many steps it has.
    pub given: usize,
    /// How many are right from the beginning on.
    pub from_the_beginning: usize,
    /// How many are right when those between them are left out.
    pub in_order: usize,
    /// That number as a share of the longer of the two orders, from 0 to 1.
    pub share: f64,
    /// How many slips lie between it and the right order, when they are few: a step left out, one too many, another in its place, two
    /// neighbours exchanged.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slips: Option<usize>,
}

/// What explains an answer.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct ExplanationAnswer {
    /// One misunderstanding, or two at once.
    pub misunderstandings: Vec<MisunderstandingName>,
    /// How much of the answer they explain.
    pub fit: FitName,
    /// For `but-for-slips`: how many slips remain.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slips: Option<usize>,
    /// For `up-to`: how many steps from the beginning are explained.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub steps: Option<usize>,
}

/// A misunderstanding, by its name.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct MisunderstandingName(pub Misunderstanding);

impl serde::Serialize for MisunderstandingName {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.0.name())
    }
}

#[cfg(feature = "schema")]
impl schemars::JsonSchema for MisunderstandingName {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "MisunderstandingName".into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        let names = Misunderstanding::ALL.map(Misunderstanding::name);
        schemars::json_schema!({ "description": "A misunderstanding, by its name.", "enum": names })
    }
}

/// How much of an answer is explained.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum FitName {
    /// All of it.
    Whole,
    /// All but some slips.
    ButForSlips,
    /// Some steps from the beginning.
    UpTo,
}

/// What answers show together.
#[derive(Clone, PartialEq, Eq, Debug, Default, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct Summary {
    /// How many answers are right.
    pub right: usize,
    /// How many are right under another reading.
    pub right_under: usize,
    /// How many are wrong.
    pub wrong: usize,
    /// How many cannot be read.
    pub not_readable: usize,
    /// The misunderstandings that explain wrong answers, the commonest first. An answer with several explanations that are equally good
    /// counts for the first alone; one with two misunderstandings at once counts for both.
    pub misunderstandings: Vec<CountedIdea>,
    /// What to teach next: what boards should have that practise the commonest misunderstanding.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub teach_next: Vec<String>,
}

/// A misunderstanding, and how many answers it explains.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct CountedIdea {
    /// Its name.
    pub misunderstanding: MisunderstandingName,
    /// What it is, in one sentence.
    pub what: String,
    /// How many answers it explains.
    pub answers: usize,
    /// Whose they are, as far as the request says.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub pupils: Vec<String>,
}

/// Judges the one answer of a request.
///
/// # Errors
/// A board with errors, an open section without a number of plays, an answer that cannot be read.
pub fn judge_one(
    read: &BoardRead,
    asked: &TermsAsked,
    answer: AnswerAsked,
) -> Result<JudgeAnswer, ErrorAnswer> {
    let pupil = None;
    let judged = judge(read, asked, vec![NamedAsked { pupil, answer }])?;
    let complaint = judged
        .answers
        .first()
        .and_then(|only| only.complaint.clone());
    match complaint {
        None => Ok(judged),
        Some(complaint) => {
            let message = complaint.message.clone();
            Err(ErrorAnswer::new(ErrorKind::Request, message).with_complaints(vec![complaint]))
        }
    }
}

/// Judges answers on one board. One that cannot be read says so in its place.
///
/// # Errors
/// A board with errors, an open section without a number of plays, more answers or steps than one request may have.
pub fn judge(
    read: &BoardRead,
    asked: &TermsAsked,
    answers: Vec<NamedAsked>,
) -> Result<JudgeAnswer, ErrorAnswer> {
    let terms = Terms::from(*asked);
    if answers.len() > MOST_ANSWERS {
        let message = format!("one request has at most {MOST_ANSWERS} answers");
        return Err(ErrorAnswer::new(ErrorKind::Request, message));
    }
    let judge =
        Judge::new(&read.board, &terms).map_err(|refusal| ErrorAnswer::refused(read, &refusal))?;
    let mut judged = Vec::with_capacity(answers.len());
    let mut steps = 0;
    for asked in answers {
        let given = answer_of(read, asked.answer);
        steps += given.as_ref().map_or(0, |given| given.steps().len());
        if steps > MOST_STEPS {
            let message = format!("the answers of one request have at most {MOST_STEPS} steps");
            return Err(ErrorAnswer::new(ErrorKind::Request, message));
        }
        judged.push(match given {
            Ok(given) => {
                let judgement = judge.judge(&given);
                judged_answer(read, &judge, &terms, asked.pupil, &judgement)
            }
            Err(complaint) => not_readable(asked.pupil, complaint),
        });
    }
    Ok(JudgeAnswer {
        version: VERSION,
        reading: ReadingAnswer::new(judge.roadmap().reading(), terms.omit_repeats),
        settled: judge.comparison().settled(),
        length: judge.roadmap().length(),
        summary: summary(&judged),
        answers: judged,
        score: read.score(),
    })
}

/// The answer that is meant.
fn answer_of(read: &BoardRead, asked: AnswerAsked) -> Result<Answer, ComplaintAnswer> {
    let steps = match asked {
        AnswerAsked::Text(text) => {
            return Answer::read(&read.board, &text).map_err(|error| complaint(error, None));
        }
        AnswerAsked::Steps(steps) => steps,
    };
    let mut all: Vec<AnswerStep> = Vec::with_capacity(steps.len());
    for (index, step) in steps.into_iter().enumerate() {
        match step {
            StepAsked::Number(measure) => all.push(AnswerStep {
                measure,
                octave: None,
            }),
            StepAsked::Step(step) => all.push(AnswerStep {
                measure: step.measure,
                octave: step.octave.map(|octave| Octaves {
                    right: octave.right,
                    left: octave.left,
                }),
            }),
            StepAsked::Text(text) => {
                let typed = Answer::read(&read.board, &text)
                    .map_err(|error| complaint(error, Some(index)))?;
                all.extend_from_slice(typed.steps());
            }
        }
        if all.len() > MOST_STEPS_OF_ANSWER {
            break;
        }
    }
    Answer::of_steps(all).map_err(|too_many| ComplaintAnswer {
        message: too_many.to_string(),
        accepted: None,
        pointer: None,
        line: None,
        column: None,
    })
}

fn complaint(error: AnswerError, index: Option<usize>) -> ComplaintAnswer {
    ComplaintAnswer {
        message: error.message,
        accepted: Some(error.accepted),
        pointer: index.map(|index| format!("/{index}")),
        line: Some(error.position.line),
        column: Some(error.position.column),
    }
}

fn not_readable(pupil: Option<String>, complaint: ComplaintAnswer) -> JudgedAnswer {
    JudgedAnswer {
        pupil,
        verdict: VerdictOfAnswer::NotReadable,
        readings: Vec::new(),
        difference: None,
        credit: None,
        explanations: Vec::new(),
        more_explanations: 0,
        teacher: Vec::new(),
        learner: Vec::new(),
        complaint: Some(complaint),
    }
}

fn judged_answer(
    read: &BoardRead,
    judge: &Judge,
    terms: &Terms,
    pupil: Option<String>,
    judgement: &Judgement,
) -> JudgedAnswer {
    let (verdict, route) = match judgement.verdict {
        AnswerVerdict::Right => (VerdictOfAnswer::Right, None),
        AnswerVerdict::RightUnder(route) => (VerdictOfAnswer::RightUnder, Some(route)),
        AnswerVerdict::Wrong => (VerdictOfAnswer::Wrong, None),
    };
    let route = route.and_then(|route| judge.comparison().routes.get(route));
    let readings = route.map(|route| route.readings.as_slice());
    let words = Phrasebook::default().judgement(&read.board, judge, judgement);
    JudgedAnswer {
        pupil,
        verdict,
        readings: readings
            .unwrap_or_default()
            .iter()
            .map(|&reading| ReadingAnswer::new(reading, terms.omit_repeats))
            .collect(),
        difference: judgement.difference.map(|it| difference(read, &it)),
        credit: Some(Credit {
            given: judgement.given,
            from_the_beginning: judgement.right_from_the_beginning,
            in_order: judgement.right_in_order,
            share: judgement.share(),
            slips: judgement.slips,
        }),
        explanations: judgement.explanations.iter().map(explanation).collect(),
        more_explanations: judgement.more_explanations,
        teacher: words.teacher,
        learner: words.learner,
        complaint: None,
    }
}

fn difference(read: &BoardRead, difference: &Difference) -> DifferenceAnswer {
    DifferenceAnswer {
        step: difference.index + 1,
        kind: match difference.kind {
            DifferenceKind::Empty => DifferenceName::Empty,
            DifferenceKind::OffTheBoard => DifferenceName::OffTheBoard,
            DifferenceKind::OtherOctave => DifferenceName::OtherOctave,
            DifferenceKind::TooShort => DifferenceName::TooShort,
            DifferenceKind::TooLong => DifferenceName::TooLong,
            _ => DifferenceName::OtherMeasure,
        },
        given: difference.given.map(|given| GivenAnswer {
            measure: given.measure,
            octave: given.octave,
        }),
        expected: difference.expected.map(|step| StepAnswer::new(read, &step)),
    }
}

fn explanation(explanation: &Explanation) -> ExplanationAnswer {
    let (fit, slips, steps) = match explanation.fit {
        Fit::Whole => (FitName::Whole, None, None),
        Fit::ButForSlips(slips) => (FitName::ButForSlips, Some(slips), None),
        Fit::UpTo(steps) => (FitName::UpTo, None, Some(steps)),
    };
    ExplanationAnswer {
        misunderstandings: explanation
            .ideas
            .iter()
            .map(|&idea| MisunderstandingName(idea))
            .collect(),
        fit,
        slips,
        steps,
    }
}

fn summary(answers: &[JudgedAnswer]) -> Summary {
    let count = |verdict| answers.iter().filter(|it| it.verdict == verdict).count();
    let mut explained: BTreeMap<Misunderstanding, (usize, Vec<String>)> = BTreeMap::new();
    for answer in answers {
        let first = answer.explanations.first();
        for idea in first.iter().flat_map(|first| &first.misunderstandings) {
            let (answers, pupils) = explained.entry(idea.0).or_default();
            *answers += 1;
            pupils.extend(answer.pupil.clone());
        }
    }
    let mut ideas: Vec<CountedIdea> = explained
        .into_iter()
        .map(|(idea, (answers, pupils))| CountedIdea {
            misunderstanding: MisunderstandingName(idea),
            what: Phrasebook::default().misunderstanding(idea).into_owned(),
            answers,
            pupils,
        })
        .collect();
    // Those that come up equally often stay in the order of the catalogue, which is that of teaching.
    ideas.sort_by_key(|idea| std::cmp::Reverse(idea.answers));
    let commonest = ideas
        .first()
        .and_then(|idea| misread::page(idea.misunderstanding.0));
    Summary {
        right: count(VerdictOfAnswer::Right),
        right_under: count(VerdictOfAnswer::RightUnder),
        wrong: count(VerdictOfAnswer::Wrong),
        not_readable: count(VerdictOfAnswer::NotReadable),
        misunderstandings: ideas,
        teach_next: commonest.map(|(_, page)| page.deal).unwrap_or_default(),
    }
}
