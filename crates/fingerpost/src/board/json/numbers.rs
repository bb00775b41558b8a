//! The numbers of a board file.

use std::fmt;
use std::ops::RangeInclusive;

use serde::de::{self, Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};
use serde::{Serialize, Serializer};

use super::complaints::{Complaints, Spot};
use super::cursor;
use super::faults;
use super::lists::each_element;
use super::values::Value;
use crate::board::{BoardFault, HIGHEST_PASS, Plays, Shift};

/// A whole number of JSON: `3`, and `3.0` and `3e0` which are the same number.
fn whole<'de, D: Deserializer<'de>>(deserializer: D) -> Result<i64, D::Error> {
    struct Whole;

    impl Visitor<'_> for Whole {
        type Value = i64;

        fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            f.write_str("a whole number")
        }

        fn visit_i64<E: de::Error>(self, number: i64) -> Result<i64, E> {
            Ok(number)
        }

        fn visit_u64<E: de::Error>(self, number: u64) -> Result<i64, E> {
            i64::try_from(number).map_err(E::custom)
        }

        fn visit_f64<E: de::Error>(self, number: f64) -> Result<i64, E> {
            whole_of_float(number).ok_or_else(|| E::custom("no whole number"))
        }
    }

    deserializer.deserialize_i64(Whole)
}

fn whole_of_float(number: f64) -> Option<i64> {
    const BEYOND_ALL_LIMITS: f64 = 1e9;
    #[allow(
        clippy::cast_possible_truncation,
        reason = "the number is whole and within the range of i64"
    )]
    (number.fract() == 0.0 && number.abs() < BEYOND_ALL_LIMITS).then_some(number as i64)
}

macro_rules! whole_numbers {
    ($($(#[$meta:meta])* $name:ident($inner:ty), $range:expr, $wanted:literal $(, $explain:path)?;)+) => {$(
        $(#[$meta])*
        #[derive(Clone, Copy, PartialEq, Debug, Serialize)]
        #[serde(transparent)]
        pub(super) struct $name(pub(super) $inner);

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<$name, D::Error> {
                let range: RangeInclusive<$inner> = $range;
                let number = <$inner>::try_from(whole(deserializer)?).ok();
                let number = number.filter(|number| range.contains(number));
                number.map($name).ok_or_else(|| de::Error::custom($wanted))
            }
        }

        impl Value for $name {
            fn wanted() -> String {
                $wanted.to_owned()
            }

            $(
                fn explain(spot: &Spot<'_>, complaints: &mut Complaints) {
                    $explain(spot, complaints);
                }
            )?
        }
    )+};
}

whole_numbers! {
    /// A measure, counted from 1; 0 is left to the builder, which can say how many measures there are.
    Measure(u16), 0..=u16::MAX, "a measure of the board, counted from 1";
    /// How many measures a system has.
    SystemLength(u16), 1..=u16::MAX, "a whole number of measures from 1 to 65535", explain_system;
    /// A level; that each stands once is left to the builder.
    Level(u8), 1..=99, "a level: a whole number from 1 to 99";
    /// A pass or an arrival; 0 is left to [`Passes`](crate::board::Passes).
    PassNumber(u32), 0..=HIGHEST_PASS, "a whole number from 1 to 1000000";
}

/// An empty system is named by its number, as the builder names it.
fn explain_system(spot: &Spot<'_>, complaints: &mut Complaints) {
    let slice = spot.text.get(spot.range.clone()).unwrap_or_default();
    match (slice, spot.index()) {
        ("0", Some(index)) => {
            let fault = BoardFault::EmptySystem(index + 1);
            complaints.add(spot, fault.to_string(), faults::accepted(&fault));
        }
        _ => complaints.no_value(spot, SystemLength::wanted()),
    }
}

/// The version of the format.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Version;

impl Version {
    /// The only version there is.
    pub(super) const NUMBER: i64 = 1;
}

impl Serialize for Version {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_i64(Version::NUMBER)
    }
}

impl<'de> Deserialize<'de> for Version {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Version, D::Error> {
        match whole(deserializer)? {
            Version::NUMBER => Ok(Version),
            other => Err(de::Error::custom(other)),
        }
    }
}

impl Value for Version {
    fn wanted() -> String {
        "`1`, the version of the format".to_owned()
    }
}

/// A row of measures: the first and the last, both included.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub(super) struct Row(pub(super) Measure, pub(super) Measure);

impl<'de> Deserialize<'de> for Row {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Row, D::Error> {
        struct Two;

        impl<'de> Visitor<'de> for Two {
            type Value = Row;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("two measures")
            }

            fn visit_seq<A: SeqAccess<'de>>(self, mut row: A) -> Result<Row, A::Error> {
                let first = row.next_element()?;
                let last = row.next_element()?;
                let more: Option<Measure> = row.next_element()?;
                match (first, last, more) {
                    (Some(first), Some(last), None) => Ok(Row(first, last)),
                    _ => Err(de::Error::invalid_length(0, &self)),
                }
            }
        }

        deserializer.deserialize_seq(Two)
    }
}

impl Value for Row {
    fn wanted() -> String {
        "the first and the last measure of a row, such as `[5, 6]`".to_owned()
    }

    fn explain(spot: &Spot<'_>, complaints: &mut Complaints) {
        let two = cursor::elements(spot.text, &spot.range).count() == 2;
        if !two || !each_element::<Measure>(spot, complaints) {
            complaints.no_value(spot, Self::wanted());
        }
    }
}

/// How often a section is played: a number or `open`. The range of the number is left to the builder.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct PlaysValue(pub(super) Plays);

const OPEN: &str = "open";

impl Serialize for PlaysValue {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self.0 {
            Plays::Times(times) => serializer.serialize_u32(times),
            Plays::Open => serializer.serialize_str(OPEN),
        }
    }
}

impl<'de> Deserialize<'de> for PlaysValue {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<PlaysValue, D::Error> {
        struct TimesOrOpen;

        impl<'de> Visitor<'de> for TimesOrOpen {
            type Value = PlaysValue;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a number or `open`")
            }

            fn visit_u64<E: de::Error>(self, number: u64) -> Result<PlaysValue, E> {
                let times = u32::try_from(number).map_err(E::custom)?;
                Ok(PlaysValue(Plays::Times(times)))
            }

            fn visit_f64<E: de::Error>(self, number: f64) -> Result<PlaysValue, E> {
                let whole = whole_of_float(number).and_then(|n| u64::try_from(n).ok());
                self.visit_u64(whole.ok_or_else(|| E::custom("no whole number"))?)
            }

            fn visit_str<E: de::Error>(self, word: &str) -> Result<PlaysValue, E> {
                if word == OPEN {
                    Ok(PlaysValue(Plays::Open))
                } else {
                    Err(E::custom("no number and not `open`"))
                }
            }

            /// An app may have built `serde_json` so that it hands over every number in a map of its own.
            fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<PlaysValue, A::Error> {
                let map = de::value::MapAccessDeserializer::new(map);
                let number = serde_json::Number::deserialize(map)?;
                match (number.as_u64(), number.as_f64()) {
                    (Some(whole), _) => self.visit_u64(whole),
                    (None, Some(float)) => self.visit_f64(float),
                    (None, None) => Err(de::Error::custom("no whole number")),
                }
            }
        }

        deserializer.deserialize_any(TimesOrOpen)
    }
}

impl Value for PlaysValue {
    fn wanted() -> String {
        "a whole number from 1 to 1000000, or `\"open\"`".to_owned()
    }
}

/// The shift of an octave sign, in octaves.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct ShiftValue(pub(super) Shift);

impl Serialize for ShiftValue {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_i8(self.0.octaves())
    }
}

impl<'de> Deserialize<'de> for ShiftValue {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<ShiftValue, D::Error> {
        let shift = Shift::of_octaves(whole(deserializer)?);
        shift
            .map(ShiftValue)
            .ok_or_else(|| de::Error::custom("no shift"))
    }
}

impl Value for ShiftValue {
    fn wanted() -> String {
        "`1` (8va), `2` (15ma), `-1` (8vb) or `-2` (15mb)".to_owned()
    }
}
