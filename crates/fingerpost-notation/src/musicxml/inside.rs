//! The inside of an element of which only little matters, passed over in one go.
//!
//! Nine tenths of a score are the insides of notes, of which four things matter here: how long the note is, its staff, whether it belongs to a
//! chord, whether a fermata stands over it. What is plainly written is passed over by this scan, tag by tag and each end held against its
//! beginning; at whatever else (a comment, an entity, an end that does not fit, the end of the file) it gives up, and the parser reads the
//! element from its beginning. So every fault is told by the parser, and a file is read to the same signs either way, which
//! `tests/passed_over.rs` holds.
//!
//! Most of what stands in notes stands there again and again, to the letter: `<octave>4</octave>`, and the spaces up to the next tag. What has
//! once been looked at is known again as a whole, by comparing its bytes.

use super::plain::{Start, past_end, past_text, start};

/// So deep are elements nested in what is passed over in one go; the notes of real scores need five.
const DEEPEST: usize = 16;
/// The longest number that is kept.
const LONGEST: usize = 40;

/// In so many places is kept what has been looked at, two in each.
const PLACES: usize = 128;

/// What matters of the inside of an element.
#[derive(Clone, Copy, Default, PartialEq, Eq, Debug)]
pub(super) struct Inside<'a> {
    /// The text of the last `<duration>`.
    pub(super) duration: Option<&'a [u8]>,
    /// The text of the last `<staff>`.
    pub(super) staff: Option<&'a [u8]>,
    pub(super) chord: bool,
    pub(super) fermata: bool,
}

/// An element with nothing or only text in it, or the start tag of one with others in it.
#[derive(Clone, Copy)]
struct Begun<'a> {
    /// How many bytes it has with the text behind it, up to the next tag.
    length: usize,
    what: What<'a>,
}

/// What has begun, as far as it matters.
#[derive(Clone, Copy)]
enum What<'a> {
    Mute,
    Duration(&'a [u8]),
    Staff(&'a [u8]),
    Chord,
    Fermata,
    /// An element with others in it, of this name.
    Opened(&'a [u8]),
}

impl<'a> What<'a> {
    /// What an element of this name and text says; `None` when there is no knowing it from them.
    fn of(name: &[u8], text: Option<&'a [u8]>) -> Option<What<'a>> {
        let number = || text.filter(|text| text.len() <= LONGEST);
        Some(match name {
            b"duration" => What::Duration(number()?),
            b"staff" => What::Staff(number()?),
            b"chord" => What::Chord,
            b"fermata" => What::Fermata,
            _ => What::Mute,
        })
    }
}

/// So many bytes of what has been looked at are kept. What is longer is seldom there again; what is shorter is soon looked at.
const KEPT: usize = 48;
const SHORTEST_KEPT: usize = 16;

/// What has been looked at.
#[derive(Default)]
pub(super) struct Seen<'a>(Vec<[Kept<'a>; 2]>);

#[derive(Clone, Copy)]
struct Kept<'a> {
    bytes: &'a [u8; KEPT],
    begun: Begun<'a>,
}

impl<'a> Seen<'a> {
    /// What begins at this tag, when the same has been looked at.
    fn again(&self, tag: &[u8]) -> Option<Begun<'a>> {
        let bytes = tag.first_chunk()?;
        let [newer, older] = self.0.get(place(bytes))?;
        if newer.begins(bytes) {
            Some(newer.begun)
        } else if older.begins(bytes) {
            Some(older.begun)
        } else {
            None
        }
    }

    /// Keeps what has been looked at and begins at this tag, and forgets the older of the two in its place.
    fn keep(&mut self, tag: &'a [u8], begun: Begun<'a>) {
        // With the byte behind it: without that, the same beginning of a longer text would do.
        let fits = (SHORTEST_KEPT..KEPT).contains(&begun.length);
        let (Some(bytes), true) = (tag.first_chunk(), fits) else {
            return;
        };
        let kept = Kept { bytes, begun };
        if self.0.is_empty() {
            self.0 = vec![[kept; 2]; PLACES];
        }
        if let Some(place) = self.0.get_mut(place(bytes)) {
            let [newer, _] = *place;
            *place = [kept, newer];
        }
    }
}

impl Kept<'_> {
    /// Whether it is what these bytes begin with.
    fn begins(&self, bytes: &[u8; KEPT]) -> bool {
        let differs = |at: usize| {
            let sixteen =
                |of: &[u8; KEPT]| Some(u128::from_le_bytes(*of.get(at..)?.first_chunk()?));
            // cannot fail: sixteen bytes end before the last.
            sixteen(self.bytes)
                .zip(sixteen(bytes))
                .map_or(1, |(a, b)| a ^ b)
        };
        // The first sixteen, the last, and those between: they overlap, so that there is one thing to decide, whatever the length.
        let last = (self.begun.length + 1 - SHORTEST_KEPT).min(KEPT - 16);
        differs(0) | differs(last.min(16)) | differs(last) == 0
    }
}

/// The place in which what begins at a tag is kept: by its first twenty bytes, which hold its name and, as scores are written, the beginning of
/// its text.
fn place(bytes: &[u8; KEPT]) -> usize {
    let part = |at: usize| bytes.get(at..).and_then(|part| part.first_chunk());
    // The next tag cannot be looked for before this is known: so one multiplication, not three.
    let [first, second, third] =
        [0, 8, 12].map(|at| part(at).map_or(0, |it| u64::from_le_bytes(*it)));
    let mixed = first ^ second.rotate_left(23) ^ third.rotate_left(41);
    // cannot fail: seven bits.
    usize::try_from(mixed.wrapping_mul(SPREAD) >> 57).unwrap_or(0)
}

/// An odd number with its bits strewn: 2^64 over the golden ratio.
const SPREAD: u64 = 0x9e37_79b9_7f4a_7c15;

/// Passes over the inside of the element that has just begun; what matters of it, and how many bytes there are before its end tag.
/// `None` when the parser has to look at it.
pub(super) fn inside<'a>(bytes: &'a [u8], seen: &mut Seen<'a>) -> Option<(Inside<'a>, usize)> {
    let mut found = Inside::default();
    let mut open: [&[u8]; DEEPEST] = [&[]; DEEPEST];
    let mut depth = 0;
    let mut tag = past_text(bytes)?;
    loop {
        if let [b'<', b'/', end @ ..] = tag {
            if depth == 0 {
                return Some((found, bytes.len() - tag.len()));
            }
            depth -= 1;
            tag = past_text(past_end(end, open.get(depth)?)?)?;
            continue;
        }
        let begun = if let Some(begun) = seen.again(tag) {
            begun
        } else {
            let begun = begun(tag)?;
            seen.keep(tag, begun);
            begun
        };
        tag = tag.get(begun.length..)?;
        match begun.what {
            What::Mute => {}
            What::Opened(name) => {
                *open.get_mut(depth)? = name;
                depth += 1;
            }
            What::Duration(text) => found.duration = Some(text),
            What::Staff(text) => found.staff = Some(text),
            What::Chord => found.chord = true,
            What::Fermata => found.fermata = true,
        }
    }
}

/// What begins at this tag; `None` when nothing does, or not plainly.
fn begun(tag: &[u8]) -> Option<Begun<'_>> {
    let [b'<', begin @ ..] = tag else {
        return None;
    };
    let Start {
        name,
        is_empty,
        after,
        ..
    } = start(begin)?;
    let next = past_text(after)?;
    let (what, next) = match next {
        _ if is_empty => (What::of(name, None)?, next),
        // Mostly there is nothing but text inside.
        [b'<', b'/', end @ ..] => {
            let text = after.get(..after.len() - next.len());
            (What::of(name, text)?, past_text(past_end(end, name)?)?)
        }
        // One that says something and holds others is left to the parser.
        _ => match What::of(name, None)? {
            What::Mute => (What::Opened(name), next),
            _ => return None,
        },
    };
    Some(Begun {
        length: tag.len() - next.len(),
        what,
    })
}

/// Where the inside of the next element begins, when another of the same name follows the one whose end tag is next.
pub(super) fn next_alike(bytes: &[u8], name: &[u8]) -> Option<usize> {
    let [b'<', b'/', end @ ..] = bytes else {
        return None;
    };
    let [b'<', begin @ ..] = past_text(past_end(end, name)?)? else {
        return None;
    };
    let next = start(begin)?;
    (next.name == name && !next.is_empty).then(|| bytes.len() - next.after.len())
}
