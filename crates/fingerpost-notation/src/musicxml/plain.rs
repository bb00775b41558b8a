//! Tags and texts that are plainly written, as nearly all of a score are: names of small letters and hyphens, attributes in quotes that pair.
//!
//! Whatever is not gives `None`, and the parser looks at it; what is passed over here the parser would pass over too, which
//! `tests/passed_over.rs` holds. Eight bytes are looked at in one number: most names, values and spaces are shorter than what a wider search
//! pays off for.

use memchr::{memchr, memchr2};

/// What stands behind the name and the `>` of an end tag.
pub(super) fn past_end<'a>(mut tag: &'a [u8], name: &[u8]) -> Option<&'a [u8]> {
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

/// A start tag.
pub(super) struct Start<'a> {
    pub(super) name: &'a [u8],
    pub(super) attributes: &'a [u8],
    /// Whether it is the end as well.
    pub(super) is_empty: bool,
    /// What stands behind it.
    pub(super) after: &'a [u8],
}

/// The start tag behind this `<`, when it is plainly written.
pub(super) fn start(tag: &[u8]) -> Option<Start<'_>> {
    let (name, rest) = tag.split_at_checked(name_end(tag)?)?;
    let (attributes, is_empty, after) = match rest {
        [b'>', after @ ..] => (&[][..], false, after),
        [b'/', b'>', after @ ..] => (&[][..], true, after),
        [b' ' | b'\t' | b'\n' | b'\r', ..] => {
            let end = attributes_end(rest)?;
            let (attributes, after) = rest.split_at_checked(end)?;
            let ended = attributes.strip_suffix(b"/");
            let after = after.get(1..)?;
            (ended.unwrap_or(attributes), ended.is_some(), after)
        }
        _ => return None,
    };
    Some(Start {
        name,
        attributes,
        is_empty,
        after,
    })
}

/// What stands behind a comment without a `>` in it.
pub(super) fn past_comment(tag: &[u8]) -> Option<&[u8]> {
    let [b'<', b'!', b'-', b'-', comment @ ..] = tag else {
        return None;
    };
    let (comment, after) = comment.split_at_checked(memchr(b'>', comment)?)?;
    comment.ends_with(b"--").then(|| after.get(1..))?
}

/// Where a name of small letters and hyphens ends.
fn name_end(tag: &[u8]) -> Option<usize> {
    let mut rest = tag;
    let mut passed = 0;
    while let Some((eight, after)) = rest.split_first_chunk::<8>() {
        let others = !letters(u64::from_le_bytes(*eight)) & (EVERY << 7);
        if others != 0 {
            passed += (others.trailing_zeros() / 8) as usize;
            return (passed > 0).then_some(passed);
        }
        (passed, rest) = (passed + 8, after);
    }
    // So near to the end of the file the parser looks.
    None
}

/// Where the attributes of a tag end, whose values may hold a `>`.
fn attributes_end(tag: &[u8]) -> Option<usize> {
    // Eight bytes at once: a `>` is the end when the quotes before it are pairs. What has been found of them is a set of bits, of which only
    // matters whether they are odd in number.
    let mut quotes = 0;
    let mut rest = tag;
    while let Some((eight, after)) = rest.split_first_chunk::<8>() {
        let eight = u64::from_le_bytes(*eight);
        let pairs = zeros(eight ^ (EVERY * u64::from(b'"')));
        let stops = is_zero(eight ^ (EVERY * u64::from(b'>')))
            | is_zero(eight ^ (EVERY * u64::from(b'\'')));
        if stops == 0 {
            (quotes, rest) = (quotes ^ pairs, after);
            continue;
        }
        let before = (stops & stops.wrapping_neg()) - 1;
        let stop = tag.len() - rest.len() + (stops.trailing_zeros() / 8) as usize;
        quotes ^= pairs & before;
        let is_outside = quotes.count_ones() % 2 == 0;
        if is_outside && tag.get(stop) == Some(&b'>') {
            return Some(stop);
        }
        break;
    }
    odd_attributes_end(tag)
}

/// The same byte by byte, for other quotes, for a `>` between quotes, and near the end of the file.
fn odd_attributes_end(tag: &[u8]) -> Option<usize> {
    let mut quote = None;
    for (at, &byte) in tag.iter().enumerate() {
        match (quote, byte) {
            (None, b'>') => return Some(at),
            (None, b'"' | b'\'') => quote = Some(byte),
            (Some(open), _) if open == byte => quote = None,
            _ => {}
        }
    }
    None
}

/// What stands behind a text: it ends at the next `<` or `&`.
pub(super) fn past_text(text: &[u8]) -> Option<&[u8]> {
    // Mostly the end is near: eight bytes at once, and only for a long text the search that needs longer to begin.
    let mut near = text;
    for _ in 0..4 {
        let Some((eight, after)) = near.split_first_chunk::<8>() else {
            break;
        };
        let eight = u64::from_le_bytes(*eight);
        let found =
            is_zero(eight ^ (EVERY * u64::from(b'<'))) | is_zero(eight ^ (EVERY * u64::from(b'&')));
        if found != 0 {
            return near.get((found.trailing_zeros() / 8) as usize..);
        }
        near = after;
    }
    near.get(memchr2(b'<', b'&', near)?..)
}

/// A one in each byte.
const EVERY: u64 = 0x0101_0101_0101_0101;

/// The highest bit of each byte that is zero, up to the first of them; behind it others may be set.
const fn is_zero(eight: u64) -> u64 {
    eight.wrapping_sub(EVERY) & !eight & (EVERY << 7)
}

/// The highest bit of each byte that is zero.
const fn zeros(eight: u64) -> u64 {
    const LOW: u64 = EVERY * 0x7f;
    !(((eight & LOW) + LOW) | eight | LOW)
}

/// The highest bit of each byte that is a small letter or a hyphen; the other bits say nothing.
const fn letters(eight: u64) -> u64 {
    // Added to a byte below 128, these reach the highest bit from `a` on, and from behind `z` on.
    let low = eight & (EVERY * 0x7f);
    let from_a = low + EVERY * (0x80 - b'a' as u64);
    let behind_z = low + EVERY * (0x80 - b'z' as u64 - 1);
    (from_a & !behind_z & !eight) | zeros(eight ^ (EVERY * b'-' as u64))
}
