//! Where the parser's events come from: a text in memory, which is passed over without copying, or a stream, of which a piece is held.

use std::cell::Cell;
use std::io::{self, BufRead, Read};

use quick_xml::Reader;
use quick_xml::events::Event;

use super::inside::{Inside, inside, next_alike};

/// The longest tag, comment or stretch of text in a stream: so much of it is held at most.
const LONGEST: usize = 4 << 20;
/// How much of a stream is read at once.
const PIECE: usize = 64 << 10;

/// A source of events.
pub(super) trait Source {
    fn event(&mut self) -> Result<Event<'_>, quick_xml::Error>;

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

/// A text in memory.
pub(super) struct Slice<'a> {
    bytes: &'a [u8],
    reader: Reader<&'a [u8]>,
    /// Up to which byte lines have been counted, and the line there. They are counted when they are asked for, which is seldom.
    counted: Cell<(usize, u32)>,
}

impl<'a> Slice<'a> {
    pub(super) fn new(bytes: &'a [u8]) -> Slice<'a> {
        Slice {
            bytes,
            reader: Reader::from_reader(bytes),
            counted: Cell::new((0, 1)),
        }
    }
}

impl<'a> Source for Slice<'a> {
    fn event(&mut self) -> Result<Event<'_>, quick_xml::Error> {
        self.reader.read_event()
    }

    fn inside(&mut self) -> Option<Inside<'_>> {
        let rest: &'a [u8] = self.reader.get_ref();
        let (found, before_end) = inside(rest)?;
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
