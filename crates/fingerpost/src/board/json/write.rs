//! Writing a board file: one key a line, one sign a line.

use std::io::{self, Write};

use serde::Serialize;
use serde_json::ser::Formatter;

use super::description::{BoardFile, Card, Mark, MeterChangeFile, ReadingFile};
use super::lists::List;
use super::numbers::{Level, Measure, SystemLength, Version};
use super::values::{Label, MeterValue, Object, Pickup, Title};
use crate::board::{Board, Marking, Place};

/// The file of a board.
pub(super) fn file_of(board: &Board) -> String {
    let mut bytes = Vec::new();
    let mut serializer = serde_json::Serializer::with_formatter(&mut bytes, Lines::default());
    // cannot fail: memory takes every byte, and the keys of a board file are all texts.
    let _ = describe(board).serialize(&mut serializer);
    bytes.push(b'\n');
    // cannot fail: the serializer writes UTF-8.
    String::from_utf8(bytes).unwrap_or_default()
}

/// The object of a marking, in one line.
pub(super) fn marking_of(marking: &Marking) -> String {
    let mut bytes = Vec::new();
    let lines = Lines {
        depth: 2,
        ..Lines::default()
    };
    let mut serializer = serde_json::Serializer::with_formatter(&mut bytes, lines);
    // cannot fail: memory takes every byte, and the keys of a marking are all texts.
    let _ = Mark::new(marking.sign(), marking.place(), marking.id()).serialize(&mut serializer);
    // cannot fail: the serializer writes UTF-8.
    String::from_utf8(bytes).unwrap_or_default()
}

fn describe(board: &Board) -> BoardFile<Vec<Mark>, Vec<Card>> {
    let title = |text: Option<&str>| text.map(|text| Title(text.to_owned()));
    let levels: Vec<Level> = board.levels().iter().copied().map(Level).collect();
    let meters: Vec<Object<MeterChangeFile>> = board
        .meters()
        .iter()
        .map(|change| {
            Object(MeterChangeFile {
                measure: Measure(change.measure),
                meter: MeterValue(change.meter),
            })
        })
        .collect();
    let names = board.measure_numbers().map(|names| {
        let names = names.iter().cloned().map(Label);
        List(names.collect())
    });
    let markings = board.canonical().markings;
    let markings = markings
        .iter()
        .map(|marking| Mark::new(marking.sign(), marking.place(), marking.id()));
    let unplaced = board
        .unplaced()
        .iter()
        .map(|card| Mark::new(&card.sign, Place::at(1), card.id.as_deref()).into_card())
        .collect::<Vec<_>>();
    let reading = board.reading();
    BoardFile {
        schema: None,
        board: Version,
        title: title(board.title()),
        composer: title(board.composer()),
        source: title(board.source()),
        levels: (!levels.is_empty()).then_some(List(levels)),
        meter: board.meter().map(MeterValue),
        meters: (!meters.is_empty()).then_some(List(meters)),
        pickup: board.pickup().map(Pickup),
        systems: List(board.systems().iter().copied().map(SystemLength).collect()),
        measure_numbers: names,
        markings: Some(markings.collect()),
        unplaced: (!unplaced.is_empty()).then_some(unplaced),
        reading: (!reading.is_empty()).then(|| Object(ReadingFile::from(reading))),
    }
}

/// Lays the text out: the keys of the board and the signs on lines of their own, everything else on one line.
#[derive(Default)]
struct Lines {
    depth: usize,
    /// Whether a key of the board is being written.
    in_key: bool,
    /// Whether the list being written holds signs.
    signs: bool,
}

impl Lines {
    /// The space before a part of an object or a list at this depth.
    fn part<W: Write + ?Sized>(
        &self,
        writer: &mut W,
        first: bool,
        in_list: bool,
    ) -> io::Result<()> {
        if !first {
            writer.write_all(b",")?;
        }
        match (self.depth, in_list) {
            (1, false) => writer.write_all(b"\n  "),
            (2, true) if self.signs => writer.write_all(b"\n    "),
            _ if first && in_list => Ok(()),
            _ => writer.write_all(b" "),
        }
    }
}

impl Formatter for Lines {
    fn begin_object<W: Write + ?Sized>(&mut self, writer: &mut W) -> io::Result<()> {
        self.depth += 1;
        writer.write_all(b"{")
    }

    fn end_object<W: Write + ?Sized>(&mut self, writer: &mut W) -> io::Result<()> {
        self.depth -= 1;
        writer.write_all(if self.depth == 0 { b"\n}" } else { b" }" })
    }

    fn begin_object_key<W: Write + ?Sized>(
        &mut self,
        writer: &mut W,
        first: bool,
    ) -> io::Result<()> {
        self.in_key = self.depth == 1;
        self.part(writer, first, false)
    }

    fn end_object_key<W: Write + ?Sized>(&mut self, _: &mut W) -> io::Result<()> {
        self.in_key = false;
        Ok(())
    }

    fn begin_object_value<W: Write + ?Sized>(&mut self, writer: &mut W) -> io::Result<()> {
        writer.write_all(b": ")
    }

    fn begin_array<W: Write + ?Sized>(&mut self, writer: &mut W) -> io::Result<()> {
        self.depth += 1;
        writer.write_all(b"[")
    }

    fn end_array<W: Write + ?Sized>(&mut self, writer: &mut W) -> io::Result<()> {
        self.depth -= 1;
        if self.depth == 1 && self.signs {
            writer.write_all(b"\n  ")?;
        }
        writer.write_all(b"]")
    }

    fn begin_array_value<W: Write + ?Sized>(
        &mut self,
        writer: &mut W,
        first: bool,
    ) -> io::Result<()> {
        self.part(writer, first, true)
    }

    fn write_string_fragment<W: Write + ?Sized>(
        &mut self,
        writer: &mut W,
        piece: &str,
    ) -> io::Result<()> {
        if self.in_key {
            self.signs = matches!(piece, "markings" | "unplaced");
        }
        writer.write_all(piece.as_bytes())
    }
}
