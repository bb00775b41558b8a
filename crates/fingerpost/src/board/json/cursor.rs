//! Finds the parts of a JSON text by their bytes. The text is known to be well-formed by then; on any other text the walk ends early.

use std::ops::Range;

/// The bytes of the whole value of a text, without the white space and the byte order mark around it.
pub(super) fn root(text: &str) -> Range<usize> {
    let start = after_space(text, byte_order_mark(text));
    start..value_end(text, start)
}

/// How many bytes a leading byte order mark takes.
pub(super) fn byte_order_mark(text: &str) -> usize {
    if text.starts_with('\u{feff}') {
        '\u{feff}'.len_utf8()
    } else {
        0
    }
}

/// Whether the value that starts here is an object.
pub(super) fn is_object(text: &str, value: &Range<usize>) -> bool {
    byte(text, value.start) == Some(b'{')
}

/// Whether the value that starts here is an array.
pub(super) fn is_array(text: &str, value: &Range<usize>) -> bool {
    byte(text, value.start) == Some(b'[')
}

/// The members of an object, each as the bytes of its key (with the quotes) and of its value; nothing for any other value.
pub(super) fn members<'t>(text: &'t str, object: &Range<usize>) -> Parts<'t> {
    Parts {
        text,
        at: object.start + 1,
        open: is_object(text, object),
        keyed: true,
    }
}

/// The elements of an array, as bytes (the key is empty); nothing for any other value.
pub(super) fn elements<'t>(
    text: &'t str,
    array: &Range<usize>,
) -> impl Iterator<Item = Range<usize>> + use<'t> {
    let parts = Parts {
        text,
        at: array.start + 1,
        open: is_array(text, array),
        keyed: false,
    };
    parts.map(|(_, value)| value)
}

/// The parts of an object or an array, one after the other.
pub(super) struct Parts<'t> {
    text: &'t str,
    at: usize,
    open: bool,
    keyed: bool,
}

impl Iterator for Parts<'_> {
    type Item = (Range<usize>, Range<usize>);

    fn next(&mut self) -> Option<Self::Item> {
        if !self.open {
            return None;
        }
        let mut at = after_space(self.text, self.at);
        if byte(self.text, at) == Some(b',') {
            at = after_space(self.text, at + 1);
        }
        if matches!(byte(self.text, at), None | Some(b'}' | b']')) {
            self.open = false;
            return None;
        }
        let mut key = at..at;
        if self.keyed {
            key = at..value_end(self.text, at);
            at = after_space(self.text, key.end);
            // The colon.
            at = after_space(self.text, at + 1);
        }
        let value = at..value_end(self.text, at);
        self.at = value.end;
        // A part of no bytes stands in no well-formed text; without this the walk would not end.
        self.open = !value.is_empty();
        self.open.then_some((key, value))
    }
}

fn byte(text: &str, at: usize) -> Option<u8> {
    text.as_bytes().get(at).copied()
}

fn after_space(text: &str, mut at: usize) -> usize {
    while matches!(byte(text, at), Some(b' ' | b'\t' | b'\n' | b'\r')) {
        at += 1;
    }
    at
}

/// The byte after the value that starts at `at`.
fn value_end(text: &str, at: usize) -> usize {
    match byte(text, at) {
        Some(b'"') => string_end(text, at),
        Some(b'{' | b'[') => {
            let (mut at, mut depth) = (at, 0_usize);
            while let Some(found) = byte(text, at) {
                match found {
                    b'"' => {
                        at = string_end(text, at);
                        continue;
                    }
                    b'{' | b'[' => depth += 1,
                    b'}' | b']' => depth -= 1,
                    _ => {}
                }
                at += 1;
                if depth == 0 {
                    break;
                }
            }
            at
        }
        _ => {
            let mut at = at;
            while !matches!(
                byte(text, at),
                None | Some(b',' | b':' | b']' | b'}' | b' ' | b'\t' | b'\n' | b'\r')
            ) {
                at += 1;
            }
            at
        }
    }
}

/// The byte after the string whose opening quote stands at `at`.
fn string_end(text: &str, at: usize) -> usize {
    let mut at = at + 1;
    while let Some(found) = byte(text, at) {
        match found {
            b'\\' => at += 2,
            b'"' => return at + 1,
            _ => at += 1,
        }
    }
    text.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parts(text: &str) -> Vec<(&str, &str)> {
        members(text, &root(text))
            .map(|(key, value)| (&text[key], &text[value]))
            .collect()
    }

    #[test]
    fn members_are_found_by_their_bytes() {
        let text = "\u{feff} { \"a\\\"}\" : [1, {\"b\": \"]\"}], \"\":-1.5e3 ,\"c\":null}\n";
        assert_eq!(
            parts(text),
            [
                ("\"a\\\"}\"", "[1, {\"b\": \"]\"}]"),
                ("\"\"", "-1.5e3"),
                ("\"c\"", "null")
            ]
        );
        assert!(parts("{}").is_empty());
        assert!(parts("[1]").is_empty());
    }

    #[test]
    fn elements_are_found_by_their_bytes() {
        let text = " [ 1,[2 , 3],\"4,\" ] ";
        let found: Vec<&str> = elements(text, &root(text)).map(|at| &text[at]).collect();
        assert_eq!(found, ["1", "[2 , 3]", "\"4,\""]);
        assert_eq!(elements("[ ]", &(0..3)).count(), 0);
    }

    #[test]
    fn the_walk_ends_on_text_that_is_not_well_formed() {
        for text in [
            "", "{", "{\"", "{\"a", "{\"a\":", "[,,,]", "[:]", "[1", "{]", "{a:}}",
        ] {
            let whole = root(text);
            assert!(members(text, &whole).count() < 5, "{text}");
            assert!(elements(text, &whole).count() < 5, "{text}");
        }
    }
}
