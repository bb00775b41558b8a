//! The inside of an element of which only little matters, passed over in one go.
//!
//! Nine tenths of a score are the insides of notes, of which four things matter here: how long the note is, its staff, whether it belongs to a
//! chord, whether a fermata stands over it. What is plainly written is passed over by this scan, tag by tag and each end held against its
//! beginning; at whatever else (a comment, an entity, an end that does not fit, the end of the file) it gives up, and the parser reads the
//! element from its beginning. So every fault is told by the parser, and a file is read to the same signs either way, which the test below holds.

use memchr::memchr2;

/// So deep are elements nested in what is passed over in one go; the notes of real scores need five.
const DEEPEST: usize = 16;
/// The longest number that is kept.
const LONGEST: usize = 40;

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

/// Passes over the inside of the element that has just begun; what matters of it, and how many bytes there are before its end tag.
/// `None` when the parser has to look at it.
pub(super) fn inside(bytes: &[u8]) -> Option<(Inside<'_>, usize)> {
    let mut found = Inside::default();
    let mut open: [&[u8]; DEEPEST] = [&[]; DEEPEST];
    let mut depth = 0;
    let mut rest = bytes;
    loop {
        let tag = rest.get(text_end(rest)?..)?;
        if let [b'<', b'/', end @ ..] = tag {
            if depth == 0 {
                return Some((found, bytes.len() - tag.len()));
            }
            depth -= 1;
            rest = past_end(end, open.get(depth)?)?;
            continue;
        }
        let [b'<', begin @ ..] = tag else {
            return None;
        };
        let (name, is_empty, after) = start(begin)?;
        match name {
            b"chord" => found.chord = true,
            b"fermata" => found.fermata = true,
            b"duration" | b"staff" if is_empty => return None,
            _ => {}
        }
        if is_empty {
            rest = after;
            continue;
        }
        // Mostly there is nothing but text inside.
        let (text, tag) = after.split_at_checked(text_end(after)?)?;
        let ended = match tag {
            [b'<', b'/', end @ ..] => Some(past_end(end, name)?),
            _ => None,
        };
        match name {
            b"duration" | b"staff" if ended.is_none() || text.len() > LONGEST => return None,
            b"duration" => found.duration = Some(text),
            b"staff" => found.staff = Some(text),
            _ => {}
        }
        if ended.is_none() {
            *open.get_mut(depth)? = name;
            depth += 1;
        }
        rest = ended.unwrap_or(tag);
    }
}

/// Where the inside of the next element begins, when another of the same name follows the one whose end tag is next.
pub(super) fn next_alike(bytes: &[u8], name: &[u8]) -> Option<usize> {
    let [b'<', b'/', end @ ..] = bytes else {
        return None;
    };
    let [b'<', begin @ ..] = past_end(end, name)?.trim_ascii_start() else {
        return None;
    };
    let (next, is_empty, rest) = start(begin)?;
    (next == name && !is_empty).then(|| bytes.len() - rest.len())
}

/// What stands behind the name and the `>` of an end tag.
fn past_end<'a>(mut tag: &'a [u8], name: &[u8]) -> Option<&'a [u8]> {
    // Names are short, so that byte by byte is quicker than a call.
    for byte in name {
        tag = match tag {
            [first, rest @ ..] if first == byte => rest,
            _ => return None,
        };
    }
    match tag {
        [b'>', rest @ ..] => Some(rest),
        _ => None,
    }
}

/// The name in a start tag, whether it is the end as well, and what stands behind it.
fn start(tag: &[u8]) -> Option<(&[u8], bool, &[u8])> {
    let plain = |byte: &u8| matches!(byte, b'a'..=b'z' | b'-');
    let end = tag
        .iter()
        .position(|byte| !plain(byte))
        .filter(|&end| end > 0)?;
    let (name, after) = tag.split_at_checked(end)?;
    match after {
        [b'>', rest @ ..] => Some((name, false, rest)),
        [b'/', b'>', rest @ ..] => Some((name, true, rest)),
        [b' ' | b'\t' | b'\n' | b'\r', rest @ ..] => {
            let (is_empty, rest) = past_attributes(rest)?;
            Some((name, is_empty, rest))
        }
        _ => None,
    }
}

/// What stands behind the attributes of a tag, whose values may hold a `>`; whether the tag is the end as well.
fn past_attributes(tag: &[u8]) -> Option<(bool, &[u8])> {
    let mut quote = None;
    let mut last = b' ';
    // Byte by byte: values are mostly shorter than what a wider search pays off for.
    for (at, &byte) in tag.iter().enumerate() {
        match (quote, byte) {
            (None, b'>') => return Some((last == b'/', tag.get(at + 1..)?)),
            (None, b'"' | b'\'') => quote = Some(byte),
            (Some(open), _) if open == byte => quote = None,
            _ => {}
        }
        last = byte;
    }
    None
}

/// Where a text ends: at the next `<` or `&`.
fn text_end(rest: &[u8]) -> Option<usize> {
    // Mostly the end is near: eight bytes at once, and only for a long text the search that needs longer to begin.
    let mut at = 0;
    let mut near = rest;
    for _ in 0..4 {
        let Some((eight, after)) = near.split_first_chunk::<8>() else {
            break;
        };
        let eight = u64::from_le_bytes(*eight);
        let found =
            is_zero(eight ^ (EVERY * u64::from(b'<'))) | is_zero(eight ^ (EVERY * u64::from(b'&')));
        if found != 0 {
            return Some(at + (found.trailing_zeros() / 8) as usize);
        }
        (at, near) = (at + 8, after);
    }
    Some(at + memchr2(b'<', b'&', near)?)
}

/// A one in each byte.
const EVERY: u64 = 0x0101_0101_0101_0101;

/// The highest bit of each byte that is zero, up to the first of them; behind it others may be set.
const fn is_zero(eight: u64) -> u64 {
    eight.wrapping_sub(EVERY) & !eight & (EVERY << 7)
}
