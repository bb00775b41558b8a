//! The quick way to read a board file: straight into the board, with no places and no complaints. It says only whether the
//! file is a board; for a file that is none, the careful way says why.

use std::fmt;

use serde::Deserialize;
use serde::de::{self, Deserializer, SeqAccess, Visitor};

use super::description::BoardFile;
use super::marking::Keys;
use super::values::{Object, Title};
use crate::board::{Board, BoardBuilder, MOST_MARKINGS, Marking, MeterChange, Unplaced};

/// The board that a text without byte order mark holds; `None` when it holds none.
pub(super) fn read(text: &str) -> Option<Board> {
    let Object(file): Object<BoardFile<Markings, Cards>> = serde_json::from_str(text).ok()?;
    builder_of(file).build_all().ok()
}

/// The builder that holds what a file holds.
pub(super) fn builder_of(file: BoardFile<Markings, Cards>) -> BoardBuilder {
    let text = |text: Option<Title>| text.map(|Title(text)| text);
    let systems = file.systems.0.into_iter().map(|length| length.0);
    let mut builder = Board::builder(systems);
    let board = &mut builder.board;
    board.title = text(file.title);
    board.composer = text(file.composer);
    board.source = text(file.source);
    let levels = file.levels.map(|list| list.0).unwrap_or_default();
    board.levels = levels.into_iter().map(|level| level.0).collect();
    board.meter = file.meter.map(|meter| meter.0);
    let meters = file.meters.map(|list| list.0).unwrap_or_default();
    board.meters = meters
        .into_iter()
        .map(|Object(change)| MeterChange {
            measure: change.measure.0,
            meter: change.meter.0,
        })
        .collect();
    board.pickup = file.pickup.map(|pickup| pickup.0);
    board.measure_numbers = file
        .measure_numbers
        .map(|names| names.0.into_iter().map(|name| name.0).collect());
    board.markings = file.markings.map(|list| list.0).unwrap_or_default();
    board.unplaced = file.unplaced.map(|list| list.0).unwrap_or_default();
    board.reading = file
        .reading
        .map(|Object(reading)| reading.into())
        .unwrap_or_default();
    builder
}

macro_rules! sign_lists {
    ($($(#[$meta:meta])* $name:ident($inner:ty), $put_together:path;)+) => {$(
        $(#[$meta])*
        #[derive(Default)]
        pub(super) struct $name(pub(super) Vec<$inner>);

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<$name, D::Error> {
                struct Signs;

                impl<'de> Visitor<'de> for Signs {
                    type Value = $name;

                    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                        f.write_str("a list of signs")
                    }

                    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<$name, A::Error> {
                        let mut found = Vec::new();
                        while let Some(Object(keys)) = list.next_element()? {
                            if found.len() == MOST_MARKINGS {
                                return Err(de::Error::invalid_length(MOST_MARKINGS + 1, &self));
                            }
                            let sign = $put_together(keys);
                            found.push(sign.ok_or_else(|| de::Error::custom("keys that do not go together"))?);
                        }
                        Ok($name(found))
                    }
                }

                deserializer.deserialize_seq(Signs)
            }
        }
    )+};
}

sign_lists! {
    /// The signs on the board.
    Markings(Marking), Keys::into_marking;
    /// The signs in the hand.
    Cards(Unplaced), Keys::into_card;
}
