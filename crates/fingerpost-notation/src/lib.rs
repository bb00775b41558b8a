//! Reads scores in open formats into boards: their repeats, endings, D.C., D.S., Fine, To Coda, coda and segno.
//!
//! A score's file says more and less than a board: notes and layout are passed over, and what only words say is read from the words. What
//! was read how stands in [`Score::notices`], each with its line.
//!
//! ```
//! let score = r#"<score-partwise version="4.0"><part-list/><part id="P1">
//!   <measure number="1"><note><rest/><duration>4</duration></note></measure>
//!   <measure number="2"><direction><direction-type><words>D.C.</words></direction-type></direction></measure>
//! </part></score-partwise>"#;
//! let scores = fingerpost_notation::read(score.as_bytes())?;
//! assert_eq!(scores[0].board.to_line(), "1 | 2 D.C. |]");
//! assert_eq!(scores[0].notices[0].rule.name(), "words-read");
//! # Ok::<(), fingerpost_notation::NotationError>(())
//! ```
#![forbid(unsafe_code)]
#![deny(missing_docs)]

mod abc;
mod error;
mod lay;
mod midi;
mod mnx;
mod musicxml;
mod notices;
mod passes;
mod unroll;
mod words;
mod written;

use std::borrow::Cow;

pub use error::{NotationError, NotationErrorKind};
pub use lay::Score;
pub use midi::{MidiOptions, write_midi};
pub use musicxml::{WrittenScore, write_musicxml};
pub use notices::{Notice, Rule};
pub use unroll::{Unrolled, Unrolling, unrolled, write_unrolled};

/// A format of scores.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[non_exhaustive]
pub enum Format {
    /// MusicXML 4.0, plain.
    MusicXml,
    /// MusicXML 4.0, compressed (.mxl).
    CompressedMusicXml,
    /// ABC 2.1, a tune or a book of tunes.
    Abc,
    /// MNX, a draft (JSON).
    Mnx,
}

/// The format of a file, told by its content; `None` for a board, a board line, or anything else.
pub fn format_of(bytes: &[u8]) -> Option<Format> {
    if musicxml::is_zip(bytes) {
        Some(Format::CompressedMusicXml)
    } else if musicxml::is_xml(bytes) {
        Some(Format::MusicXml)
    } else if mnx::is_mnx(bytes) {
        Some(Format::Mnx)
    } else if abc::is_abc(bytes) {
        Some(Format::Abc)
    } else {
        None
    }
}

/// What is asked of a reader besides the signs of a score.
#[derive(Clone, Default, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub struct ReadOptions {
    /// The one part of a MusicXML score that is read, by its `id` or its name; when absent all are, and held against each other.
    pub part: Option<String>,
    /// From what the signs of a MusicXML score are read.
    pub signs_from: SignsFrom,
}

/// From what the signs of a MusicXML score are read; other formats have no instructions for playing beside what is printed.
#[derive(Clone, Copy, Default, PartialEq, Eq, Hash, Debug)]
#[non_exhaustive]
pub enum SignsFrom {
    /// From the instructions for playing, and from words and drawn signs where these are alone or say more.
    #[default]
    SoundAndWords,
    /// From the instructions for playing alone: what the format itself gives a meaning to (element `sound`, and `barline` with its children
    /// `repeat` and `ending`).
    Sound,
}

/// The text of a file, whatever its encoding: the one whose lines are counted. `None` for a compressed file, which has none of its own.
pub fn text_of(bytes: &[u8]) -> Option<Cow<'_, str>> {
    match format_of(bytes) {
        Some(Format::CompressedMusicXml) => None,
        Some(Format::MusicXml) => Some(musicxml::text_of(bytes)),
        Some(Format::Abc) => Some(abc::decoded(bytes)),
        _ => Some(String::from_utf8_lossy(bytes)),
    }
}

/// Reads every score of a file: a MusicXML file holds one, a tune book may hold many.
///
/// # Errors
/// A text in none of the formats, one that breaks its format or is cut short, one beyond the limits of a board (65 535 measures,
/// 100 000 marks) or of unpacking (512 MiB); each with its line where it has one.
pub fn read(bytes: &[u8]) -> Result<Vec<Score>, NotationError> {
    read_with(bytes, &ReadOptions::default())
}

/// The same, with what is asked of it.
///
/// # Errors
/// Those of [`read`]; a part that the score does not have, with those that it has; a part asked of a format that has none to choose from.
pub fn read_with(bytes: &[u8], options: &ReadOptions) -> Result<Vec<Score>, NotationError> {
    let format = format_of(bytes);
    let has_parts = matches!(
        format,
        None | Some(Format::MusicXml | Format::CompressedMusicXml)
    );
    if options.part.is_some() && !has_parts {
        return Err(NotationError::new(
            NotationErrorKind::NoSuchPart,
            None,
            "only a MusicXML score has parts with signs of their own to choose from",
        ));
    }
    match format {
        Some(Format::MusicXml | Format::CompressedMusicXml) => {
            let (written, notices) = musicxml::read(bytes, options)?;
            Ok(vec![lay::lay(&written, notices)?])
        }
        Some(Format::Mnx) => {
            let (written, notices) = mnx::read(bytes)?;
            Ok(vec![lay::lay(&written, notices)?])
        }
        Some(Format::Abc) => abc::read(bytes)?
            .into_iter()
            .map(|(written, notices)| lay::lay(&written, notices))
            .collect(),
        None if abc::lacks_its_number(bytes) => Err(NotationError::new(
            NotationErrorKind::Malformed,
            1,
            "a tune in ABC begins with its number, on a line of its own before the others: `X:1`",
        )),
        None => Err(NotationError::new(
            NotationErrorKind::UnknownFormat,
            1,
            "this is no score in a format that is read: MusicXML, plain or compressed, MNX and ABC",
        )),
    }
}
