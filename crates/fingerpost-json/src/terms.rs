//! The terms of a request: the reading, and what a performer chooses beside it.

use std::fmt;

use fingerpost::{Answers, NamedReading, Reading, Terms};
use serde::de::value::MapAccessDeserializer;
use serde::{Deserialize, Deserializer};

/// A reading as a request asks for it: by name, or by its answers to some of the questions.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum ReadingAsked {
    /// A reading with a name.
    Named(NamedReading),
    /// Answers; the handbook's where none is given.
    Answers(Answers),
}

impl Default for ReadingAsked {
    fn default() -> ReadingAsked {
        ReadingAsked::Named(NamedReading::Handbook)
    }
}

impl<'de> Deserialize<'de> for ReadingAsked {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<ReadingAsked, D::Error> {
        struct Visitor;
        impl<'de> serde::de::Visitor<'de> for Visitor {
            type Value = ReadingAsked;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("the name of a reading, or an object of questions and answers")
            }

            fn visit_str<E: serde::de::Error>(self, name: &str) -> Result<ReadingAsked, E> {
                name.parse().map(ReadingAsked::Named).map_err(E::custom)
            }

            fn visit_map<A: serde::de::MapAccess<'de>>(
                self,
                map: A,
            ) -> Result<ReadingAsked, A::Error> {
                Answers::deserialize(MapAccessDeserializer::new(map)).map(ReadingAsked::Answers)
            }
        }
        deserializer.deserialize_any(Visitor)
    }
}

#[cfg(feature = "schema")]
impl schemars::JsonSchema for ReadingAsked {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "ReadingAsked".into()
    }

    fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
        let names = NamedReading::ALL.map(NamedReading::name);
        let answers = generator.subschema_for::<Answers>();
        schemars::json_schema!({
            "description": "A reading: its name, or answers to some of the questions; the handbook's where none is given.",
            "anyOf": [{ "enum": names }, answers]
        })
    }
}

/// The terms of a request.
#[derive(Clone, Copy, Default, PartialEq, Eq, Debug)]
pub struct TermsAsked {
    /// The reading.
    pub reading: ReadingAsked,
    /// How many times a section that is open ("until the signal") is played.
    pub plays: Option<u32>,
    /// Every section once, on its last pass.
    pub omit_repeats: bool,
}

impl From<TermsAsked> for Terms {
    fn from(asked: TermsAsked) -> Terms {
        let mut terms = match asked.reading {
            ReadingAsked::Named(named) => Terms::from(named),
            ReadingAsked::Answers(answers) => Terms::from(answers.over(Reading::default())),
        };
        terms.open_plays = asked.plays;
        terms.omit_repeats |= asked.omit_repeats;
        terms
    }
}

/// A reading in an answer: its name when it has one, else its answers.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize)]
#[serde(untagged)]
pub enum ReadingAnswer {
    /// The name of a reading.
    Named(#[serde(serialize_with = "name_of")] NamedReading),
    /// Its answers to the six questions.
    Answers(Reading),
}

// The signature is serde's.
#[allow(clippy::trivially_copy_pass_by_ref)]
fn name_of<S: serde::Serializer>(named: &NamedReading, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(named.name())
}

impl ReadingAnswer {
    /// A reading, and whether repeats are left out beside it.
    pub fn new(reading: Reading, omit_repeats: bool) -> ReadingAnswer {
        NamedReading::ALL
            .into_iter()
            .find(|named| named.reading() == reading && named.omits_repeats() == omit_repeats)
            .map_or(ReadingAnswer::Answers(reading), ReadingAnswer::Named)
    }
}

impl fmt::Display for ReadingAnswer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ReadingAnswer::Named(named) => named.fmt(f),
            ReadingAnswer::Answers(reading) => {
                let handbook = Reading::default();
                let mut separator = "";
                for question in fingerpost::Question::ALL {
                    let answer = reading.answer(question);
                    if answer != handbook.answer(question) {
                        write!(f, "{separator}{} {answer}", question.name())?;
                        separator = ", ";
                    }
                }
                if separator.is_empty() {
                    f.write_str("handbook")?;
                }
                Ok(())
            }
        }
    }
}

#[cfg(feature = "schema")]
impl schemars::JsonSchema for ReadingAnswer {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "ReadingAnswer".into()
    }

    fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
        let names = NamedReading::ALL.map(NamedReading::name);
        let reading = generator.subschema_for::<Reading>();
        schemars::json_schema!({
            "description": "A reading: its name when it has one, else its answers to the six questions.",
            "anyOf": [{ "enum": names }, reading]
        })
    }
}
