//! ABC 2.1: tune books, barlines and endings, decorations, annotations, the order of parts.
//!
//! Source: The abc music standard 2.1, December 2011: 2.2 (files and tunes), 3.1 (fields), 4.8 to 4.10 (barlines, endings), 4.14
//! (decorations), 3.1.9 (parts), 4.19 (annotations), 7 (voices).

mod bars;
mod music;
mod order;
mod tune;

use std::borrow::Cow;

use crate::error::{NotationError, NotationErrorKind};
use crate::notices::Notice;
use crate::written::Written;

use tune::Tune;

/// The most tunes of a book: several times as many as the largest collections have.
const MOST_TUNES: usize = 100_000;

/// Whether a text is a tune book: a line that begins with `X:` and a number, and one after it that begins with `K:`.
pub(crate) fn is_abc(bytes: &[u8]) -> bool {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let mut numbered = false;
    for line in bytes.split(|&byte| byte == b'\n' || byte == b'\r') {
        match line {
            [b'X', b':', rest @ ..] => {
                let rest = rest.trim_ascii_start();
                numbered |= rest.first().is_some_and(u8::is_ascii_digit);
            }
            [b'K', b':', ..] if numbered => return true,
            [b'{', ..] => return false,
            _ => {}
        }
    }
    false
}

/// The signs of every tune of a book, in its order.
pub(crate) fn read(bytes: &[u8]) -> Result<Vec<(Written, Vec<Notice>)>, NotationError> {
    let text = decoded(bytes);
    let mut read = Vec::new();
    let mut tune: Option<Tune> = None;
    for (index, line) in lines(&text).enumerate() {
        let number = u32::try_from(index + 1).unwrap_or(u32::MAX);
        if line.starts_with("X:") {
            finish(&mut read, tune.take(), number)?;
            tune = Some(Tune::new(line, number));
            continue;
        }
        // An empty line ends a tune (2.2.1); what stands between tunes is text.
        if line.trim().is_empty() {
            finish(&mut read, tune.take(), number)?;
            continue;
        }
        if let Some(tune) = &mut tune {
            tune.line(line, number)?;
        }
    }
    finish(&mut read, tune, 1)?;
    if read.is_empty() {
        return Err(NotationError::new(
            NotationErrorKind::NoMusic,
            1,
            "there is no tune with a measure in this book: a tune begins with `X:`, its music after `K:`",
        ));
    }
    Ok(read)
}

/// Adds a tune to those that have been read; one of fields and words only has no board.
fn finish(
    read: &mut Vec<(Written, Vec<Notice>)>,
    tune: Option<Tune>,
    line: u32,
) -> Result<(), NotationError> {
    let Some(tune) = tune else { return Ok(()) };
    read.extend(tune.finish()?);
    if read.len() > MOST_TUNES {
        return Err(NotationError::new(
            NotationErrorKind::TooLarge,
            line,
            format!("the book has more than {MOST_TUNES} tunes; so many are read"),
        ));
    }
    Ok(())
}

/// The text in UTF-8; a book that is not in it is in the older Latin 1 (2.2.2).
pub(crate) fn decoded(bytes: &[u8]) -> Cow<'_, str> {
    match std::str::from_utf8(bytes) {
        Ok(text) => Cow::Borrowed(text.strip_prefix('\u{feff}').unwrap_or(text)),
        Err(_) => encoding_rs::WINDOWS_1252.decode(bytes).0,
    }
}

/// Whether a text has the key of a tune and no tune: what is pasted without its first lines.
pub(crate) fn lacks_its_number(bytes: &[u8]) -> bool {
    let mut lines = bytes.split(|&byte| byte == b'\n' || byte == b'\r');
    lines.any(|line| line.starts_with(b"K:")) && !is_abc(bytes)
}

/// Lines that end as on any system, the oldest included, which have no line feed at all.
fn lines(text: &str) -> impl Iterator<Item = &str> {
    let end = if text.contains('\n') { '\n' } else { '\r' };
    text.split(end)
        .map(|line| line.strip_suffix('\r').unwrap_or(line))
}
