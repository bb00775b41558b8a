//! The lists of a board file, and the times at which a sign holds.

use std::fmt;
use std::marker::PhantomData;
use std::ops::Range;

use serde::de::{self, Deserialize, Deserializer, IntoDeserializer, MapAccess, SeqAccess, Visitor};
use serde::{Serialize, Serializer};

use super::careful::each_key;
use super::complaints::{Complaints, Spot};
use super::cursor;
use super::numbers::PassNumber;
use super::values::{Value, names_of};
use crate::board::{Passes, PassesError, When};

/// Complains of every element of an array that is no `T`, and says whether there was one.
pub(super) fn each_element<T: Value>(spot: &Spot<'_>, complaints: &mut Complaints) -> bool {
    let before = complaints.count();
    for (index, element) in cursor::elements(spot.text, &spot.range).enumerate() {
        if complaints.is_full() {
            break;
        }
        spot.element(index, element).read::<T>(complaints);
    }
    complaints.count() > before
}

/// A list of at most `MOST` values.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[serde(transparent)]
pub(super) struct List<T, const MOST: usize>(pub(super) Vec<T>);

impl<'de, T: Deserialize<'de>, const MOST: usize> Deserialize<'de> for List<T, MOST> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Elements<T, const MOST: usize>(PhantomData<T>);

        impl<'de, T: Deserialize<'de>, const MOST: usize> Visitor<'de> for Elements<T, MOST> {
            type Value = List<T, MOST>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a list")
            }

            fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Self::Value, A::Error> {
                let mut found = Vec::new();
                while let Some(element) = list.next_element()? {
                    if found.len() == MOST {
                        return Err(de::Error::invalid_length(MOST + 1, &self));
                    }
                    found.push(element);
                }
                Ok(List(found))
            }
        }

        deserializer.deserialize_seq(Elements(PhantomData))
    }
}

impl<T: Value, const MOST: usize> Value for List<T, MOST> {
    fn wanted() -> String {
        format!("a list of at most {MOST} values, each {}", T::wanted())
    }

    fn explain(spot: &Spot<'_>, complaints: &mut Complaints) {
        let count = cursor::elements(spot.text, &spot.range).count();
        if count > MOST {
            let message = format!("`{}` has {count} values; the most is {MOST}", spot.name());
            complaints.add(spot, message, Some(Self::wanted()));
        } else if !each_element::<T>(spot, complaints) {
            complaints.no_value(spot, Self::wanted());
        }
    }
}

/// A list of passes or of arrivals.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct PassList(pub(super) Passes);

impl Serialize for PassList {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.0.iter())
    }
}

impl<'de> Deserialize<'de> for PassList {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<PassList, D::Error> {
        struct Numbers;

        impl<'de> Visitor<'de> for Numbers {
            type Value = PassList;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a list of passes")
            }

            fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<PassList, A::Error> {
                let mut numbers = Vec::new();
                while let Some(PassNumber(number)) = list.next_element()? {
                    numbers.push(number);
                }
                Passes::of(numbers).map(PassList).map_err(de::Error::custom)
            }
        }

        deserializer.deserialize_seq(Numbers)
    }
}

impl Value for PassList {
    fn wanted() -> String {
        "a list of whole numbers from 1 to 1000000, each once, such as `[1, 2]`".to_owned()
    }

    fn explain(spot: &Spot<'_>, complaints: &mut Complaints) {
        let before = complaints.count();
        let mut numbers: Vec<(u32, usize, Range<usize>)> = Vec::new();
        for (index, element) in cursor::elements(spot.text, &spot.range).enumerate() {
            if complaints.is_full() {
                break;
            }
            let spot = spot.element(index, element.clone());
            let Some(PassNumber(number)) = spot.read(complaints) else {
                continue;
            };
            match Passes::of([number]) {
                Ok(_) => numbers.push((number, index, element)),
                Err(error) => {
                    complaints.add(&spot, error.to_string(), Some(PassNumber::wanted()));
                }
            }
        }
        numbers.sort_by_key(|&(number, index, _)| (number, index));
        for pair in numbers.windows(2) {
            let [(first, ..), (second, index, element)] = pair else {
                continue;
            };
            if first == second {
                let error = PassesError::Twice(*second);
                let spot = spot.element(*index, element.clone());
                complaints.add(&spot, error.to_string(), Some(Self::wanted()));
            }
        }
        if complaints.count() == before {
            let message = if cursor::is_array(spot.text, &spot.range) {
                PassesError::Empty.to_string()
            } else {
                spot.is_no_value()
            };
            complaints.add(spot, message, Some(Self::wanted()));
        }
    }
}

/// The times at which a sign holds: a word, or an object with passes.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct WhenValue(pub(super) When);

/// The times that have a word.
#[derive(Clone, Copy, PartialEq, Debug, Serialize, serde::Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub(super) enum WhenWord {
    /// Every time.
    EveryPass,
    /// On every pass of the section but the first.
    OnRepeat,
    /// On the last pass of the section.
    LastPass,
    /// In every leg after a D.C. or D.S.
    OnReturn,
}

/// The passes at which a sign holds.
#[derive(Clone, PartialEq, Debug, Serialize, serde::Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(super) struct WhenPasses {
    /// The passes of the section, each once.
    pub(super) passes: PassList,
}

impl Serialize for WhenValue {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let word = match &self.0 {
            When::EveryPass => WhenWord::EveryPass,
            When::OnRepeat => WhenWord::OnRepeat,
            When::LastPass => WhenWord::LastPass,
            When::OnReturn => WhenWord::OnReturn,
            When::Passes(passes) => {
                let passes = PassList(passes.clone());
                return WhenPasses { passes }.serialize(serializer);
            }
        };
        word.serialize(serializer)
    }
}

impl<'de> Deserialize<'de> for WhenValue {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<WhenValue, D::Error> {
        struct WordOrPasses;

        impl<'de> Visitor<'de> for WordOrPasses {
            type Value = WhenValue;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a word or an object with passes")
            }

            fn visit_str<E: de::Error>(self, word: &str) -> Result<WhenValue, E> {
                Ok(WhenValue(
                    match WhenWord::deserialize(word.into_deserializer())? {
                        WhenWord::EveryPass => When::EveryPass,
                        WhenWord::OnRepeat => When::OnRepeat,
                        WhenWord::LastPass => When::LastPass,
                        WhenWord::OnReturn => When::OnReturn,
                    },
                ))
            }

            fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<WhenValue, A::Error> {
                let map = de::value::MapAccessDeserializer::new(map);
                let WhenPasses {
                    passes: PassList(passes),
                } = WhenPasses::deserialize(map)?;
                Ok(WhenValue(When::Passes(passes)))
            }
        }

        deserializer.deserialize_any(WordOrPasses)
    }
}

impl Value for WhenValue {
    fn wanted() -> String {
        let words = names_of::<WhenWord>().join("\"`, `\"");
        format!("`\"{words}\"`, or the passes, such as `{{\"passes\": [2]}}`")
    }

    fn explain(spot: &Spot<'_>, complaints: &mut Complaints) {
        if cursor::is_object(spot.text, &spot.range) {
            let mut passes: Option<PassList> = None;
            let before = complaints.count();
            each_key(
                spot,
                names_of::<WhenPasses>(),
                "`when`",
                complaints,
                |_, at: &Spot<'_>, out| {
                    passes = at.read(out);
                },
            );
            if passes.is_none() && complaints.count() == before {
                complaints.missing(spot, "passes", &PassList::wanted());
            }
        } else {
            complaints.no_word(spot, names_of::<WhenWord>(), &Self::wanted());
        }
    }
}
