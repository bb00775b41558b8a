//! MusicXML 4.0, partwise and timewise, plain and compressed.
//!
//! Source: MusicXML 4.0, W3C Community Group Final Report, June 2021: the element pages named at each reader.

mod barline;
mod container;
mod direction;
mod inside;
mod literal;
mod measure;
mod parts;
mod plain;
mod source;
mod write;
mod xml;

use std::borrow::Cow;
use std::io::{self, Cursor, Read};

use crate::error::{NotationError, NotationErrorKind};
use crate::notices::Notice;
use crate::written::Written;
use crate::{ReadOptions, SignsFrom};

pub(crate) use container::is_zip;
use container::{LARGEST_HELD, Unpacked, decoded, encoding, unpacked};
use parts::Parts;
use source::{Slice, Source, Stream};
pub use write::{WrittenScore, write_musicxml};
use xml::{Name, Next, Xml};

/// Whether a text looks like MusicXML, or like XML at all.
pub(crate) fn is_xml(bytes: &[u8]) -> bool {
    let start = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let wide: [&[u8]; 8] = [
        // UTF-16 with and without its mark.
        b"\xff\xfe<\0",
        b"\xfe\xff\0<",
        b"<\0",
        b"\0<",
        // UTF-32, which is told and not read.
        b"\xff\xfe\0\0",
        b"\0\0\xfe\xff",
        b"<\0\0\0",
        b"\0\0\0<",
    ];
    wide.iter().any(|wide| start.starts_with(wide)) || start.trim_ascii_start().starts_with(b"<")
}

/// The signs of a score.
pub(crate) fn read(
    bytes: &[u8],
    options: &ReadOptions,
) -> Result<(Written, Vec<Notice>), NotationError> {
    if is_zip(bytes) {
        return unpacked(bytes, |unpacked| match unpacked {
            Unpacked::Whole(held) => score_held(held, std::io::empty(), options),
            Unpacked::Stream(stream, size) if size > LARGEST_HELD => {
                score(Stream::new(decoded(stream)?), options)
            }
            Unpacked::Stream(mut stream, size) => {
                let mut held = Vec::with_capacity(usize::try_from(size).unwrap_or_default());
                let most = stream.by_ref().take(LARGEST_HELD + 1);
                if let Err(error) = { most }.read_to_end(&mut held) {
                    return Err(unreadable(&error));
                }
                score_held(held, stream, options)
            }
        });
    }
    if encoding(bytes)? == encoding_rs::UTF_8 {
        return score(Slice::new(bytes), options);
    }
    let stream: Box<dyn Read + '_> = Box::new(bytes);
    score(Stream::new(decoded(stream)?), options)
}

/// The signs of a score of which the beginning is unpacked; mostly that is all of it.
fn score_held(
    held: Vec<u8>,
    rest: impl Read,
    options: &ReadOptions,
) -> Result<(Written, Vec<Notice>), NotationError> {
    if held.len() as u64 <= LARGEST_HELD && encoding(&held)? == encoding_rs::UTF_8 {
        return score(Slice::new(&held), options);
    }
    let whole = Box::new(Cursor::new(held).chain(rest));
    score(Stream::new(decoded(whole)?), options)
}

/// The text of a file that is not compressed.
pub(crate) fn text_of(bytes: &[u8]) -> Cow<'_, str> {
    match encoding(bytes) {
        Ok(encoding) => encoding.decode(bytes).0,
        Err(_) => String::from_utf8_lossy(bytes),
    }
}

/// The whole text of a score in UTF-8, unpacked and decoded, without a byte order mark.
pub(crate) fn text(bytes: &[u8]) -> Result<String, NotationError> {
    let whole = |mut stream: Box<dyn Read + '_>| {
        let mut text = Vec::new();
        match stream.read_to_end(&mut text) {
            Ok(_) => Ok(String::from_utf8(text)
                .unwrap_or_else(|error| String::from_utf8_lossy(error.as_bytes()).into_owned())),
            Err(error) => Err(unreadable(&error)),
        }
    };
    let mut text = if is_zip(bytes) {
        unpacked(bytes, |unpacked| match unpacked {
            Unpacked::Whole(held) => whole(decoded(Box::new(Cursor::new(held)))?),
            Unpacked::Stream(stream, _) => whole(decoded(stream)?),
        })?
    } else {
        whole(decoded(Box::new(bytes))?)?
    };
    if text.starts_with('\u{feff}') {
        text.remove(0);
    }
    Ok(text)
}

fn unreadable(error: &io::Error) -> NotationError {
    let message = format!("the file cannot be read on: {error}");
    NotationError::new(NotationErrorKind::Container, None, message)
}

fn score(
    source: impl Source,
    options: &ReadOptions,
) -> Result<(Written, Vec<Notice>), NotationError> {
    let mut xml = Xml::new(source);
    let mut title = None;
    let mut work = None;
    let mut composer = None;
    let timewise = loop {
        match xml.next()? {
            Next::Start(Name::Partwise) => break false,
            Next::Start(Name::Timewise) => break true,
            Next::Start(_) => {
                return Err(xml.error(
                    NotationErrorKind::UnknownFormat,
                    "this XML is no MusicXML score: its outermost element is `<score-partwise>` or `<score-timewise>`".to_owned(),
                ));
            }
            Next::End(_) | Next::Text => {}
            Next::Eof => {
                return Err(xml.error(
                    NotationErrorKind::NoMusic,
                    "there is no score in this file".to_owned(),
                ));
            }
        }
    };
    let mut parts = Parts::default();
    loop {
        match xml.next()? {
            Next::Start(Name::Part) if !timewise => {
                let id = xml.attribute("id").unwrap_or_default();
                parts.partwise(&mut xml, id)?;
            }
            Next::Start(Name::Measure) if timewise => parts.timewise(&mut xml)?,
            Next::Start(Name::MovementTitle) => {
                title = Some(xml.text(Name::MovementTitle)?.to_owned());
            }
            Next::Start(Name::WorkTitle) => work = Some(xml.text(Name::WorkTitle)?.to_owned()),
            Next::Start(Name::Creator) => {
                let is_composer = xml.attribute("type").as_deref() == Some("composer");
                let name = xml.text(Name::Creator)?.to_owned();
                if is_composer && composer.is_none() {
                    composer = Some(name);
                }
            }
            // Much, and nothing of it is read.
            Next::Start(name @ (Name::Encoding | Name::Defaults | Name::Credit)) => {
                xml.pass_over(name)?;
            }
            Next::Start(Name::PartList) => parts.list(&mut xml)?,
            Next::End(Name::Partwise | Name::Timewise) => break,
            Next::Eof => return Err(xml.cut_short(Name::Partwise)),
            _ => {}
        }
    }
    let part = options.part.as_deref();
    let (mut written, mut notices) = parts.joined(part, xml.line())?;
    if options.signs_from == SignsFrom::Sound {
        literal::pass_over_words(&mut written, &mut notices);
    }
    written.title = title.filter(|title| !title.trim().is_empty()).or(work);
    written.composer = composer;
    Ok((written, notices))
}
