//! Barlines as they are typed: `|`, `||`, `|]`, `[|`, `|:`, `:|`, `::`, with any number of colons, and the ending that may follow.
//!
//! Source: ABC 2.1, 4.8, 4.9, 4.10.

use fingerpost::Passes;

/// A barline.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Bar {
    /// How many dots stand before it: an end repeat of one play more.
    pub(super) ends: u32,
    /// How many dots stand after it.
    pub(super) starts: u32,
    /// Two lines, or a thick one.
    pub(super) is_double: bool,
    pub(super) is_final: bool,
    /// The passes of the ending that begins here.
    pub(super) ending: Option<Passes>,
}

/// A barline at the beginning of a text, and how many bytes it has.
pub(super) fn bar(text: &str) -> Option<(Bar, usize)> {
    let mut bytes = 0;
    let (mut ends, mut starts, mut lines) = (0_u32, 0_u32, 0_u32);
    let (mut thick_end, mut thick_start) = (false, false);
    for (at, character) in text.char_indices() {
        let after = text.get(at + character.len_utf8()..).unwrap_or_default();
        match character {
            ':' if lines == 0 && !thick_start => ends += 1,
            ':' => starts += 1,
            // A second barline that begins its own dots is another one.
            '|' if starts > 0 => break,
            '|' => lines += 1,
            ']' if lines > 0 && !thick_end => thick_end = true,
            '[' if lines == 0 && ends == 0 && after.starts_with('|') => thick_start = true,
            '.' if at == 0 && after.starts_with('|') => {}
            _ => break,
        }
        bytes = at + character.len_utf8();
        if thick_end {
            break;
        }
    }
    // `::` is both; one dot alone is none.
    if lines == 0 {
        if ends < 2 {
            return lone_ending(text);
        }
        starts = ends - ends / 2;
        ends /= 2;
    }
    let mut rest = text.get(bytes..).unwrap_or_default();
    let mut ending = None;
    let blanks = rest.len() - rest.trim_start_matches([' ', '\t']).len();
    if let Some((passes, length)) = rest.get(blanks..).and_then(bracket) {
        bytes += blanks + length;
        ending = Some(passes);
        rest = "";
    }
    if let Some((passes, length)) = numbers(rest) {
        bytes += length;
        ending = Some(passes);
    }
    let bar = Bar {
        ends,
        starts,
        is_double: lines > 1 || thick_end || thick_start,
        is_final: thick_end,
        ending,
    };
    Some((bar, bytes))
}

/// `[1` without a barline before it.
fn lone_ending(text: &str) -> Option<(Bar, usize)> {
    let (passes, length) = bracket(text)?;
    let bar = Bar {
        ends: 0,
        starts: 0,
        is_double: false,
        is_final: false,
        ending: Some(passes),
    };
    Some((bar, length))
}

/// `[1`, `[1,3`, `["1. and 2."`.
fn bracket(text: &str) -> Option<(Passes, usize)> {
    let after = text.strip_prefix('[')?;
    if let Some(quoted) = after.strip_prefix('"') {
        let (inside, _) = quoted.split_once('"')?;
        let passes = crate::passes::passes(inside)?;
        return Some((passes, inside.len() + 3));
    }
    numbers(after).map(|(passes, length)| (passes, length + 1))
}

/// "1", "1,3", "1-3", "1,3,5-7" without blanks.
fn numbers(text: &str) -> Option<(Passes, usize)> {
    let length = text
        .find(|c: char| !c.is_ascii_digit() && c != ',' && c != '-')
        .unwrap_or(text.len());
    let list = text.get(..length)?;
    let list = list.trim_end_matches([',', '-']);
    list.starts_with(|c: char| c.is_ascii_digit())
        .then_some(())?;
    crate::passes::passes(list).map(|passes| (passes, list.len()))
}

#[cfg(test)]
mod tests {
    use super::bar;

    /// The barlines and endings of ABC 2.1, 4.8 to 4.10.
    #[test]
    fn barlines_of_the_standard() {
        for (text, ends, starts, double, ending, length) in [
            ("| A", 0, 0, false, None, 1),
            ("|| A", 0, 0, true, None, 2),
            ("|]", 0, 0, true, None, 2),
            ("[| A", 0, 0, true, None, 2),
            ("|: A", 0, 1, false, None, 2),
            (":| A", 1, 0, false, None, 2),
            (":: A", 1, 1, false, None, 2),
            (":|: A", 1, 1, false, None, 3),
            (":||: A", 1, 1, true, None, 4),
            ("|:: A", 0, 2, false, None, 3),
            ("::| A", 2, 0, false, None, 3),
            ("|1 A", 0, 0, false, Some("1"), 2),
            (":|2 A", 1, 0, false, Some("2"), 3),
            ("[1 A", 0, 0, false, Some("1"), 2),
            ("| [1 A", 0, 0, false, Some("1"), 4),
            ("[1,3,5-7 A", 0, 0, false, Some("1,3,5-7"), 8),
            (".| A", 0, 0, false, None, 2),
        ] {
            let (found, bytes) = bar(text).unwrap_or_else(|| panic!("{text}"));
            assert_eq!((found.ends, found.starts), (ends, starts), "{text}");
            assert_eq!(found.is_double, double, "{text}");
            let passes = found.ending.map(|passes| passes.to_string());
            assert_eq!(passes.as_deref(), ending, "{text}");
            assert_eq!(bytes, length, "{text}");
        }
        for text in ["A|", "[CEG]", ":", "[M:3/4]", ""] {
            assert_eq!(bar(text), None, "{text}");
        }
    }
}
