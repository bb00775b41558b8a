//! The values a board file may hold, one type for each meaning: how it is read, written and described.
//!
//! Both ways of reading a file go through these types, so that they accept the same values.

use std::fmt;
use std::marker::PhantomData;

use serde::de::{self, Deserialize, Deserializer, IntoDeserializer, MapAccess, Visitor};
use serde::{Serialize, Serializer};

use super::complaints::{Complaints, Spot};
use crate::board::{Fraction, Meter};

/// A value of a board file.
pub(super) trait Value: for<'de> Deserialize<'de> {
    /// What would be accepted in its place.
    fn wanted() -> String;

    /// Says what is wrong with a text that is no such value.
    fn explain(spot: &Spot<'_>, complaints: &mut Complaints) {
        complaints.no_value(spot, Self::wanted());
    }
}

/// Reads a key that may be absent; `null` is a value like any other, and none that a key accepts.
pub(super) fn given<'de, D: Deserializer<'de>, T: Deserialize<'de>>(
    deserializer: D,
) -> Result<Option<T>, D::Error> {
    T::deserialize(deserializer).map(Some)
}

/// The names that serde's derive knows for a type: the variants of an enum, the keys of a struct.
pub(super) fn names_of<'de, T: Deserialize<'de>>() -> &'static [&'static str] {
    struct Asks<'a>(&'a mut &'static [&'static str]);

    impl<'de> Deserializer<'de> for Asks<'_> {
        type Error = de::value::Error;

        fn deserialize_any<V: Visitor<'de>>(self, _: V) -> Result<V::Value, Self::Error> {
            Err(de::Error::custom("only names are asked for"))
        }

        fn deserialize_enum<V: Visitor<'de>>(
            self,
            _: &'static str,
            variants: &'static [&'static str],
            visitor: V,
        ) -> Result<V::Value, Self::Error> {
            *self.0 = variants;
            self.deserialize_any(visitor)
        }

        fn deserialize_struct<V: Visitor<'de>>(
            self,
            _: &'static str,
            fields: &'static [&'static str],
            visitor: V,
        ) -> Result<V::Value, Self::Error> {
            *self.0 = fields;
            self.deserialize_any(visitor)
        }

        serde::forward_to_deserialize_any! {
            bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf option unit unit_struct
            newtype_struct seq tuple tuple_struct map identifier ignored_any
        }
    }

    let mut names: &'static [&'static str] = &[];
    // The answer is always an error; what counts is what was asked for on the way.
    let _ = T::deserialize(Asks(&mut names));
    names
}

/// Yes or no.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
#[serde(transparent)]
pub(super) struct Flag(pub(super) bool);

impl<'de> Deserialize<'de> for Flag {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Flag, D::Error> {
        bool::deserialize(deserializer).map(Flag)
    }
}

impl Value for Flag {
    fn wanted() -> String {
        "`true` or `false`".to_owned()
    }
}

macro_rules! texts {
    ($($(#[$meta:meta])* $name:ident, $wanted:literal;)+) => {$(
        $(#[$meta])*
        #[derive(Clone, PartialEq, Debug, Serialize)]
        #[serde(transparent)]
        pub(super) struct $name(pub(super) String);

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<$name, D::Error> {
                String::deserialize(deserializer).map($name)
            }
        }

        impl Value for $name {
            fn wanted() -> String {
                $wanted.to_owned()
            }
        }
    )+};
}

texts! {
    /// A title, a composer, a source; its length is left to the builder.
    Title, "a text of at most 500 characters, without line breaks";
    /// A label, an id, the printed number of a measure; its length is left to the builder.
    Label, "a text of at most 60 characters, without line breaks";
    /// A text that means nothing to the reader.
    Address, "a text";
}

/// A value written as a text: a fraction, a meter.
fn written<'de, D: Deserializer<'de>, T: std::str::FromStr>(deserializer: D) -> Result<T, D::Error>
where
    T::Err: fmt::Display,
{
    struct Written<T>(PhantomData<T>);

    impl<T: std::str::FromStr> Visitor<'_> for Written<T>
    where
        T::Err: fmt::Display,
    {
        type Value = T;

        fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            f.write_str("a text")
        }

        fn visit_str<E: de::Error>(self, text: &str) -> Result<T, E> {
            text.parse().map_err(E::custom)
        }
    }

    deserializer.deserialize_str(Written(PhantomData))
}

macro_rules! written_values {
    ($($(#[$meta:meta])* $name:ident($inner:ty), $wanted:literal;)+) => {$(
        $(#[$meta])*
        #[derive(Clone, Copy, PartialEq, Debug)]
        pub(super) struct $name(pub(super) $inner);

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(&self.0)
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<$name, D::Error> {
                written(deserializer).map($name)
            }
        }

        impl Value for $name {
            fn wanted() -> String {
                $wanted.to_owned()
            }
        }
    )+};
}

written_values! {
    /// A point inside a measure.
    Cut(Fraction), "a fraction of a whole note, such as `\"3/8\"`, both numbers at most 65535";
    /// The length of a pickup; that it is above 0 is left to the builder.
    Pickup(Fraction), "a fraction of a whole note above 0, such as `\"1/4\"`, both numbers at most 65535";
    /// A meter.
    MeterValue(Meter), "a meter such as `\"4/4\"` or `\"6/8\"`, both numbers from 1 to 255";
}

/// One word of a fixed list, written as a text and in no other way.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
#[serde(transparent)]
pub(super) struct Word<T>(pub(super) T);

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Word<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Word<T>, D::Error> {
        struct Written<T>(PhantomData<T>);

        impl<'de, T: Deserialize<'de>> Visitor<'de> for Written<T> {
            type Value = Word<T>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a word")
            }

            fn visit_str<E: de::Error>(self, word: &str) -> Result<Word<T>, E> {
                T::deserialize(word.into_deserializer()).map(Word)
            }
        }

        deserializer.deserialize_str(Written(PhantomData))
    }
}

impl<T: for<'de> Deserialize<'de>> Value for Word<T> {
    fn wanted() -> String {
        one_of(names_of::<T>())
    }

    fn explain(spot: &Spot<'_>, complaints: &mut Complaints) {
        complaints.no_word(spot, names_of::<T>(), &Self::wanted());
    }
}

/// `a`, `b` or `c`, as they are written in a file.
pub(super) fn one_of(names: &[&str]) -> String {
    let quoted: Vec<String> = names.iter().map(|name| format!("`\"{name}\"`")).collect();
    match quoted.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        _ => quoted.concat(),
    }
}

/// A value that is written as an object and in no other way.
#[derive(Clone, Copy, PartialEq, Debug, Default, Serialize)]
#[serde(transparent)]
pub(super) struct Object<T>(pub(super) T);

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Object<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Object<T>, D::Error> {
        struct Members<T>(PhantomData<T>);

        impl<'de, T: Deserialize<'de>> Visitor<'de> for Members<T> {
            type Value = Object<T>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an object")
            }

            fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Object<T>, A::Error> {
                T::deserialize(de::value::MapAccessDeserializer::new(map)).map(Object)
            }
        }

        deserializer.deserialize_map(Members(PhantomData))
    }
}
