//! Answers as requests give them.

use std::fmt;

use fingerpost::{Answer, AnswerError, AnswerStep, MOST_STEPS_OF_ANSWER, Octaves};
use serde::de::{MapAccess, SeqAccess, Visitor, value::MapAccessDeserializer};
use serde::{Deserialize, Deserializer};

use crate::error::ComplaintAnswer;
use crate::source::BoardRead;

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
                let counted = u32::try_from(number).map(StepAsked::Number);
                // A number beyond all numbers of measures is typed, so that what is said of it names it.
                Ok(counted.unwrap_or_else(|_| StepAsked::Text(format!("#{number}"))))
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

/// The answer that is meant.
pub(super) fn answer_of(read: &BoardRead, asked: AnswerAsked) -> Result<Answer, ComplaintAnswer> {
    let steps = match asked {
        AnswerAsked::Text(text) => {
            return Answer::read(&read.board, &text).map_err(|error| complaint(read, &error, None));
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
                    .map_err(|error| complaint(read, &error, Some(index)))?;
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

fn complaint(read: &BoardRead, error: &AnswerError, index: Option<usize>) -> ComplaintAnswer {
    let book = read.book();
    ComplaintAnswer {
        message: book.message(&error.message),
        accepted: Some(book.message(&error.accepted)),
        pointer: index.map(|index| format!("/{index}")),
        line: Some(error.position.line),
        column: Some(error.position.column),
    }
}
