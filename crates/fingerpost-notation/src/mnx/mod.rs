//! MNX, a draft: the signs of its global measures, the octave signs and fermatas of its parts.
//!
//! Source: MNX specification, drafts of April 2026 (schema version number 15) and the later one with version number 42: objects "global
//! measure", "repeat start", "repeat end", "ending", "jump", "segno", "coda", "fine", "barline", "fermata", "ottava". Both drafts are read;
//! the later one has all kinds of jumps. What a measure says is valid for all parts, so that parts cannot disagree.

mod global;
mod parts;

use std::collections::HashMap;

use fingerpost::{Fraction, MOST_MEASURES};
use serde::Deserialize;
use serde_json::value::RawValue;

use crate::error::{NotationError, NotationErrorKind};
use crate::notices::{Notice, Rule};
use crate::written::{At, Mark, What, Written};

/// Whether a text is an MNX document: an object with a key `mnx`, which no board file has.
pub(crate) fn is_mnx(bytes: &[u8]) -> bool {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    if bytes.trim_ascii_start().first() != Some(&b'{') {
        return false;
    }
    memchr::memmem::find_iter(bytes, b"\"mnx\"").any(|at| {
        let after = bytes.get(at + 5..).unwrap_or_default();
        after.trim_ascii_start().first() == Some(&b':')
    })
}

/// The signs of a document.
pub(crate) fn read(bytes: &[u8]) -> Result<(Written, Vec<Notice>), NotationError> {
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let before = bytes.get(..error.valid_up_to()).unwrap_or_default();
        let line = memchr::memchr_iter(b'\n', before).count() + 1;
        NotationError::new(
            NotationErrorKind::Malformed,
            u32::try_from(line).unwrap_or(u32::MAX),
            "a byte that is not UTF-8, in which MNX is written",
        )
    })?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let document: Document<'_> = serde_json::from_str(text).map_err(|error| fault(&error, 1))?;
    let measures = document.global.measures;
    if measures.is_empty() {
        return Err(NotationError::new(
            NotationErrorKind::NoMusic,
            1,
            "there is no measure in this score: `global` has them in its list `measures`",
        ));
    }
    if let Some(beyond) = measures.get(MOST_MEASURES as usize) {
        return Err(NotationError::new(
            NotationErrorKind::TooLarge,
            Lines::new(text).of(beyond.get()),
            format!("the score has more than {MOST_MEASURES} measures; so many are read"),
        ));
    }
    let mut reading = Reading {
        lines: Lines::new(text),
        written: Written::default(),
        last: None,
        by_index: HashMap::with_capacity(measures.len()),
        by_id: HashMap::new(),
        lengths: Vec::with_capacity(measures.len()),
        // cannot fail: a board's measures are counted in sixteen bits.
        total: u32::try_from(measures.len()).unwrap_or(u32::MAX),
        octaves: 0,
        notices: Vec::new(),
    };
    for measure in &measures {
        reading.global_measure(measure)?;
    }
    for part in &document.parts {
        reading.part(part)?;
    }
    // One list in the order of the measures: a measure's signs first, then what its parts add.
    reading.written.marks.sort_by_key(|mark| mark.measure);
    Ok((reading.written, reading.notices))
}

#[derive(Deserialize)]
#[serde(expecting = "an object with `global` and `parts`")]
struct Document<'a> {
    #[serde(borrow)]
    global: Global<'a>,
    #[serde(borrow, default)]
    parts: Vec<&'a RawValue>,
}

#[derive(Deserialize)]
#[serde(expecting = "an object with the list `measures`")]
struct Global<'a> {
    #[serde(borrow, default)]
    measures: Vec<&'a RawValue>,
}

/// A place in a measure: a fraction of a whole note from its start.
#[derive(Deserialize)]
#[serde(expecting = "an object with `fraction`, such as [1, 4]")]
struct Position {
    fraction: (u32, u32),
}

impl Position {
    /// Where in a measure of that length it is.
    fn at(&self, length: Fraction) -> At {
        let (numerator, denominator) = self.fraction;
        if numerator == 0 {
            return At::Start;
        }
        match Fraction::new(numerator, denominator) {
            Some(place) if place < length => At::Inside(place),
            _ => At::End,
        }
    }
}

/// A document on its way to be read.
struct Reading<'a> {
    lines: Lines<'a>,
    written: Written,
    /// The index and the number of the last measure that has been read.
    last: Option<Name>,
    /// The measures, from 0, by the names that other places of the document call them by; of several with one name the first.
    by_index: HashMap<i64, u32>,
    by_id: HashMap<String, u32>,
    /// How long each measure is.
    lengths: Vec<Fraction>,
    /// How many measures there are.
    total: u32,
    /// How many octave lines have been read: what tells them apart.
    octaves: u8,
    notices: Vec<Notice>,
}

/// How a document counts one of its measures.
#[derive(Clone, Copy)]
struct Name {
    index: i64,
    /// The number that is printed.
    number: i64,
}

impl<'a> Reading<'a> {
    /// One object of the document, with the line of a fault in it.
    fn object<T: Deserialize<'a>>(&self, raw: &'a RawValue) -> Result<T, NotationError> {
        serde_json::from_str(raw.get()).map_err(|error| fault(&error, self.lines.of(raw.get())))
    }

    fn mark(&mut self, measure: u32, at: At, raw: &RawValue, what: What) {
        let line = self.lines.of(raw.get());
        self.written.marks.push(Mark {
            measure,
            at,
            line,
            what,
        });
    }

    fn notice(&mut self, rule: Rule, measure: u32, raw: &RawValue, message: String, help: &str) {
        let line = self.lines.of(raw.get());
        self.notices
            .push(Notice::new(rule, line, Some(measure), message, help));
    }

    /// How long a measure is, by the meter that holds there.
    fn length(&self, measure: u32) -> Fraction {
        let at = usize::try_from(measure).unwrap_or(usize::MAX);
        self.lengths.get(at).copied().unwrap_or(Fraction::ZERO)
    }

    fn measures(&self) -> u32 {
        u32::try_from(self.written.measures.len()).unwrap_or(u32::MAX)
    }
}

/// Where the lines of a text begin.
struct Lines<'a> {
    text: &'a str,
    ends: Vec<usize>,
}

impl<'a> Lines<'a> {
    fn new(text: &'a str) -> Lines<'a> {
        let ends = memchr::memchr_iter(b'\n', text.as_bytes()).collect();
        Lines { text, ends }
    }

    /// The line, from 1, on which a piece of the text begins.
    fn of(&self, piece: &str) -> u32 {
        // The pieces are slices of the text: their place in it is the distance of their beginnings.
        let at = piece
            .as_ptr()
            .addr()
            .saturating_sub(self.text.as_ptr().addr());
        let line = self.ends.partition_point(|end| *end < at) + 1;
        u32::try_from(line).unwrap_or(u32::MAX)
    }
}

/// What is wrong with the text of an object that begins on that line.
fn fault(error: &serde_json::Error, first_line: u32) -> NotationError {
    let within = u32::try_from(error.line().saturating_sub(1)).unwrap_or(u32::MAX);
    let line = first_line.saturating_add(within);
    if error.is_eof() {
        return NotationError::new(
            NotationErrorKind::Truncated,
            line,
            "the text ends in the middle of the score",
        );
    }
    let told = error.to_string();
    // The line is told apart; the column counts from the object's beginning, which says nothing.
    let told = told.split(" at line ").next().unwrap_or_default();
    NotationError::new(
        NotationErrorKind::Malformed,
        line,
        format!("this is not written as MNX has it: {told}"),
    )
}
