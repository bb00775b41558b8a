//! Unrolled scores: the music of a MusicXML score written out in the order in which it is played, with no signs left.
//!
//! The text of each measure is copied as it stands. What is left out: repeats, endings, segno and coda signs, the instructions and words
//! of the road; notes and words that are for other passes; breaks of lines and pages. What is put in: the attributes that a jump makes
//! needed, the ends and new beginnings of lines over the staff, a final barline.
//!
//! Source: MusicXML 4.0, W3C Community Group Final Report, June 2021.

mod lines;
mod music;
mod notes;
mod order;
mod page;
mod part;
mod state;
mod tree;
mod write;

use std::io::Write;

use fingerpost::{Refusal, Roadmap, Terms};

use crate::error::{NotationError, NotationErrorKind};
use crate::lay::Score;
use crate::notices::Notice;
use crate::{Format, ReadOptions, format_of, musicxml, read_with};

use order::Order;
use part::{Part, Reading};
use write::{Out, Writing};

/// How a score is unrolled, and how long it may become.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Unrolling {
    /// How the signs are read. Where one part alone is read, all are unrolled as it says.
    pub read: ReadOptions,
    /// The reading, whether repeats are left out, and how often an open repeat is played.
    pub terms: Terms,
    /// The most measures that are written.
    pub most_measures: u32,
    /// The most bytes that are written.
    pub most_bytes: u64,
}

impl Default for Unrolling {
    /// The handbook reading; 100 000 measures and 256 MiB at most.
    fn default() -> Unrolling {
        Unrolling {
            read: ReadOptions::default(),
            terms: Terms::default(),
            most_measures: 100_000,
            most_bytes: 256 << 20,
        }
    }
}

/// A score written out in playing order.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub struct Unrolled {
    /// The text of the file, MusicXML in UTF-8; partwise or timewise, as the score was.
    pub text: String,
    /// How the signs were read, and what could not be kept; lines and measures are those of the score.
    pub notices: Vec<Notice>,
}

/// Writes a MusicXML score out in playing order: no repeats, endings, segno or coda signs, jumps or their words are left, every part is
/// unrolled alike, and the music of each measure is copied as it stands. Other words stay.
///
/// Measures are numbered anew from 1 (from 0 when the score begins with a pickup). Notes, lyrics, ties and sounds with `time-only` stand
/// on those passes only. Where a jump changes what holds (key, time, clefs, transposition, divisions), it is written there. A tie goes on
/// over a jump where the next measure has its other end, as in a second ending; other lines that a jump cuts are left out, or ended and
/// begun again, and each is in the notices.
///
/// Copying a published score may need its owner's permission, an unrolled copy too.
///
/// ```
/// let score = r#"<score-partwise version="4.0"><part-list><score-part id="P1"><part-name/></score-part></part-list><part id="P1">
///   <measure number="1"><note><rest measure="yes"/><duration>4</duration></note></measure>
///   <measure number="2"><note><rest measure="yes"/><duration>4</duration></note>
///     <barline location="right"><bar-style>light-heavy</bar-style><repeat direction="backward"/></barline></measure>
/// </part></score-partwise>"#;
/// let unrolled = fingerpost_notation::unrolled(score.as_bytes(), &Default::default())?;
/// assert_eq!(unrolled.text.matches("<measure ").count(), 4);
/// assert_eq!(unrolled.text.matches("<repeat").count(), 0);
/// # Ok::<(), fingerpost_notation::NotationError>(())
/// ```
///
/// # Errors
/// As [`read_with`]; a score in another format than MusicXML; signs that give no order, with the line of the first that is wrong; more
/// measures or bytes than asked for.
pub fn unrolled(bytes: &[u8], unrolling: &Unrolling) -> Result<Unrolled, NotationError> {
    let mut text = Vec::new();
    let notices = write_unrolled(bytes, unrolling, &mut text)?;
    // cannot fail: the text is made of pieces of a text, cut between characters.
    let text = String::from_utf8(text).unwrap_or_default();
    Ok(Unrolled { text, notices })
}

/// As [`unrolled`], written measure by measure.
///
/// # Errors
/// As [`unrolled`]; and what the writer reports. Something may have been written then.
pub fn write_unrolled(
    bytes: &[u8],
    unrolling: &Unrolling,
    out: impl Write,
) -> Result<Vec<Notice>, NotationError> {
    if !matches!(
        format_of(bytes),
        Some(Format::MusicXml | Format::CompressedMusicXml)
    ) {
        return Err(NotationError::new(
            NotationErrorKind::UnknownFormat,
            1,
            "only MusicXML scores, plain or compressed, can be written out in playing order",
        ));
    }
    let score = read_with(bytes, &unrolling.read)?
        .into_iter()
        .next()
        .ok_or_else(|| {
            NotationError::new(
                NotationErrorKind::NoMusic,
                None,
                "there is no score in this file",
            )
        })?;
    let roadmap = Roadmap::new(&score.board, &unrolling.terms)
        .map_err(|refusal| no_order(&score, &refusal))?;
    if roadmap.length() == 0 {
        return Err(NotationError::new(
            NotationErrorKind::NoOrder,
            None,
            "no measure of the score is ever played: there is nothing to write out",
        ));
    }
    let most = u64::from(unrolling.most_measures);
    if roadmap.length() > most {
        let length = roadmap.length();
        return Err(too_long(format!(
            "written out, the score has {length} measures; at most {most} were asked for"
        )));
    }
    let text = musicxml::text(bytes)?;
    let order = Order::new(&score.board, &roadmap);
    let page = page::page(&text);
    let parts: Vec<Part<'_>> = page
        .parts
        .iter()
        .map(|part| {
            let mut reading = Reading::new(&text);
            for (measure, body) in (1_u16..).zip(&part.measures) {
                let nodes = tree::nodes(&text, body.inner.clone());
                reading.measure(body, &nodes, order.cuts(measure));
            }
            reading.part
        })
        .collect();
    let mut out = Out::new(out, unrolling.most_bytes);
    let mut writing = Writing::new(&text, &page, &parts, &order);
    out.has_room(writing.length())?;
    writing.score(&mut out)?;
    let mut notices = score.notices;
    notices.extend(notes::notices(&text, &parts, &order, &writing));
    Ok(notices)
}

fn no_order(score: &Score, refusal: &Refusal) -> NotationError {
    let line = match refusal {
        Refusal::Errors(errors) => errors.first().and_then(|error| error.marking),
        Refusal::OpenPlays { marking, .. } => Some(*marking),
        _ => None,
    };
    let line = line.and_then(|marking| score.lines.get(marking).copied().flatten());
    NotationError::new(NotationErrorKind::NoOrder, line, refusal.to_string())
}

fn too_long(message: String) -> NotationError {
    NotationError::new(NotationErrorKind::TooLarge, None, message)
}
