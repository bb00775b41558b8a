//! Where the parser's events come from: a text in memory, which is passed over without copying, or a stream, of which a piece is held.

use std::cell::Cell;
use std::io::{self, BufRead, Read};

use quick_xml::Reader;
use quick_xml::errors::IllFormedError;
use quick_xml::events::{BytesStart, Event};

use super::inside::{Inside, Seen, inside, next_alike};
use super::plain::{Start, past_comment, past_end, past_text, start};

/// The longest tag, comment or stretch of text in a stream: so much of it is held at most.
const LONGEST: usize = 4 << 20;
/// How much of a stream is read at once.
const PIECE: usize = 64 << 10;

/// A source of events.
pub(super) trait Source {
    fn event(&mut self) -> Result<Event<'_>, quick_xml::Error>;

    /// The tag that comes next, behind any text when that is not wanted; `None` when that has to be an event, as everything does that is not
    /// plainly written.
    fn tag(&mut self, _wants_text: bool) -> Option<Tag<'_>> {
        None
    }

    /// The text of the element that has begun, up to its end tag; `None` when that has to be read event by event.
    fn text(&mut self) -> Option<&[u8]> {
        None
    }

    /// Passes over the inside of the element that has just begun, up to its end tag; `None` when that has to be done event by event.
    fn inside(&mut self) -> Option<Inside<'_>> {
        None
    }

    /// Goes on into the next element of this name, when it follows the one whose end comes next; whether it has.
    fn next_alike(&mut self, _name: &[u8]) -> bool {
        false
    }

    /// The line that has been read up to, from 1.
    fn line(&self) -> u32;
}

/// A tag that is plainly written.
pub(super) enum Tag<'a> {
    Start(Start<'a>),
    End(&'a [u8]),
}

/// A text in memory.
pub(super) struct Slice<'a> {
    bytes: &'a [u8],
    reader: Reader<&'a [u8]>,
    /// The names of the elements that have begun and not ended. The parser knows only of those that it has read itself.
    open: Vec<&'a [u8]>,
    /// Whether the parser has read a text and waits for what ends it.
    is_in_text: bool,
    seen: Seen<'a>,
    /// Up to which byte lines have been counted, and the line there. They are counted when they are asked for, which is seldom.
    counted: Cell<(usize, u32)>,
}

impl<'a> Slice<'a> {
    pub(super) fn new(bytes: &'a [u8]) -> Slice<'a> {
        let mut reader = Reader::from_reader(bytes);
        let config = reader.config_mut();
        config.check_end_names = false;
        config.allow_unmatched_ends = true;
        Slice {
            bytes,
            reader,
            open: Vec::new(),
            // It begins before the text, where there may be a byte order mark.
            is_in_text: true,
            seen: Seen::default(),
            counted: Cell::new((0, 1)),
        }
    }

    /// The name in a tag that the parser has just read.
    fn name(&self, tag: &BytesStart) -> &'a [u8] {
        let after = self.bytes.len() - self.reader.get_ref().len();
        let begin = after.saturating_sub(tag.len() + ">".len());
        let name = begin..begin + tag.name().as_ref().len();
        self.bytes.get(name).unwrap_or_default()
    }
}

/// Whether an end tag fits what has begun, in the parser's own words where it does not.
fn fits(begun: Option<&[u8]>, end: &[u8]) -> Result<(), IllFormedError> {
    let text = |name| std::str::from_utf8(name).unwrap_or_default().to_owned();
    match begun {
        Some(name) if name == end => Ok(()),
        Some(name) => Err(IllFormedError::MismatchedEndTag {
            expected: text(name),
            found: text(end),
        }),
        None => Err(IllFormedError::UnmatchedEndTag(text(end))),
    }
}

impl<'a> Source for Slice<'a> {
    fn event(&mut self) -> Result<Event<'_>, quick_xml::Error> {
        let event = self.reader.read_event()?;
        self.is_in_text = matches!(event, Event::Text(_));
        match &event {
            Event::Start(tag) => self.open.push(self.name(tag)),
            Event::End(tag) => fits(self.open.pop(), tag.name().as_ref())?,
            _ => {}
        }
        Ok(event)
    }

    fn tag(&mut self, wants_text: bool) -> Option<Tag<'_>> {
        if self.is_in_text {
            return None;
        }
        let mut rest: &'a [u8] = self.reader.get_ref();
        if !wants_text {
            rest = past_text(rest)?;
            while let Some(after) = past_comment(rest) {
                rest = past_text(after)?;
            }
        }
        let (tag, after) = match rest {
            [b'<', b'/', end @ ..] => {
                let name = *self.open.last()?;
                let after = past_end(end, name)?;
                self.open.pop();
                (Tag::End(name), after)
            }
            [b'<', begin @ ..] => {
                let tag = start(begin)?;
                if !tag.is_empty {
                    self.open.push(tag.name);
                }
                let after = tag.after;
                (Tag::Start(tag), after)
            }
            _ => return None,
        };
        *self.reader.get_mut() = after;
        Some(tag)
    }

    fn text(&mut self) -> Option<&[u8]> {
        let rest: &'a [u8] = self.reader.get_ref();
        let end = past_text(rest)?;
        let text = rest.get(..rest.len() - end.len())?;
        if !end.starts_with(b"</") {
            return None;
        }
        *self.reader.get_mut() = end;
        Some(text)
    }

    fn inside(&mut self) -> Option<Inside<'_>> {
        let rest: &'a [u8] = self.reader.get_ref();
        let (found, before_end) = inside(rest, &mut self.seen)?;
        *self.reader.get_mut() = rest.get(before_end..)?;
        Some(found)
    }

    fn next_alike(&mut self, name: &[u8]) -> bool {
        let rest: &'a [u8] = self.reader.get_ref();
        let next = next_alike(rest, name).and_then(|at| rest.get(at..));
        if let Some(next) = next {
            // For the parser it is the same element that goes on.
            *self.reader.get_mut() = next;
        }
        next.is_some()
    }

    fn line(&self) -> u32 {
        let (from, line) = self.counted.get();
        // Not the position that the reader counts: it does not know of what was passed over in one go.
        let left = self.reader.get_ref().len();
        let to = self.bytes.len().saturating_sub(left).max(from);
        let line = plus(line, self.bytes.get(from..to).unwrap_or_default());
        self.counted.set((to, line));
        line
    }
}

/// A stream.
pub(super) struct Stream<R> {
    reader: Reader<Pieces<R>>,
    /// The present event.
    held: Vec<u8>,
}

impl<R: Read> Stream<R> {
    pub(super) fn new(source: R) -> Stream<R> {
        let pieces = Pieces {
            source,
            piece: vec![0; PIECE].into_boxed_slice(),
            at: 0,
            end: 0,
            line: 1,
            since: 0,
        };
        Stream {
            reader: Reader::from_reader(pieces),
            held: Vec::new(),
        }
    }
}

impl<R: Read> Source for Stream<R> {
    fn event(&mut self) -> Result<Event<'_>, quick_xml::Error> {
        self.held.clear();
        self.reader.get_mut().since = 0;
        self.reader.read_event_into(&mut self.held)
    }

    fn line(&self) -> u32 {
        let pieces = self.reader.get_ref();
        plus(
            pieces.line,
            pieces.piece.get(..pieces.at).unwrap_or_default(),
        )
    }
}

/// A stream piece by piece, with the lines counted once a piece.
struct Pieces<R> {
    source: R,
    piece: Box<[u8]>,
    /// What of the piece is not consumed.
    at: usize,
    end: usize,
    /// The line at which the piece begins.
    line: u32,
    /// How many bytes have been consumed since the last event.
    since: usize,
}

impl<R: Read> BufRead for Pieces<R> {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        if self.at >= self.end {
            if self.since > LONGEST {
                return Err(io::Error::other(Oversized));
            }
            self.line = plus(self.line, self.piece.get(..self.end).unwrap_or_default());
            (self.at, self.end) = (0, 0);
            self.end = self.source.read(&mut self.piece)?;
        }
        Ok(self.piece.get(self.at..self.end).unwrap_or_default())
    }

    fn consume(&mut self, amount: usize) {
        self.at = self.at.saturating_add(amount).min(self.end);
        self.since = self.since.saturating_add(amount);
    }
}

impl<R: Read> Read for Pieces<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let read = self.fill_buf()?.read(buffer)?;
        self.consume(read);
        Ok(read)
    }
}

/// A tag or a text that is longer than what is held.
#[derive(Debug, thiserror::Error)]
#[error("one tag or text has more than {} MiB; no score needs that", LONGEST >> 20)]
struct Oversized;

/// Whether reading stopped at something that is too large to be held, and not at a fault.
pub(super) fn is_oversized(error: &io::Error) -> bool {
    let inner = error.get_ref();
    inner.is_some_and(|inner| inner.is::<Oversized>() || inner.is::<TooMuch>())
}

/// More bytes than are unpacked.
#[derive(Debug, thiserror::Error)]
#[error("it unpacks to more than {} MiB; that is no score", .0 >> 20)]
pub(super) struct TooMuch(pub(super) u64);

fn plus(line: u32, bytes: &[u8]) -> u32 {
    let lines = memchr::memchr_iter(b'\n', bytes).count();
    line.saturating_add(u32::try_from(lines).unwrap_or(u32::MAX))
}
