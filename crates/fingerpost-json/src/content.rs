//! Telling a board file, a board line and what is neither apart by content.

/// What a text looks like.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Content {
    /// A board file.
    Json,
    /// A board line.
    Line,
    /// Markup, such as `MusicXML`: not read yet.
    Xml,
    /// An ABC tune: not read yet.
    Abc,
    /// A compressed file, such as compressed `MusicXML`: not read yet.
    Archive,
    /// Nothing of these.
    Other,
}

/// Tells what a text is.
///
/// A board file begins with `{` and a quote (or is an empty object); a board line holds a barline `|`. The braces of a board line hold
/// words without quotes.
///
/// ```
/// use fingerpost_json::{Content, told_apart};
/// assert_eq!(told_apart(r#"{ "board": 1, "systems": [4] }"#), Content::Json);
/// assert_eq!(told_apart("{meter 4/4} |: 1 | 2 :|"), Content::Line);
/// assert_eq!(told_apart("<score-partwise/>"), Content::Xml);
/// ```
pub fn told_apart(text: &str) -> Content {
    let body = text.strip_prefix('\u{feff}').unwrap_or(text).trim_start();
    if let Some(inside) = body.strip_prefix('{') {
        let inside = inside.trim_start();
        let object = inside.is_empty() || inside.starts_with(['"', '}']);
        return if object || !body.contains('|') {
            Content::Json
        } else {
            Content::Line
        };
    }
    if body.starts_with('<') {
        return Content::Xml;
    }
    if body.starts_with("PK\u{3}\u{4}") {
        return Content::Archive;
    }
    // An ABC tune opens with its number (`X:1`) and names its key (`K:`), each on a line of its own.
    let field = |name: &str| body.lines().any(|line| line.starts_with(name));
    if body.starts_with("%abc") || field("X:") && field("K:") {
        return Content::Abc;
    }
    let array = body
        .strip_prefix('[')
        .is_some_and(|inside| inside.trim_start().starts_with(['{', '"', ']']));
    if body.contains('|') && !array {
        Content::Line
    } else {
        Content::Other
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn braces_begin_a_file_or_the_keys_of_a_line() {
        assert_eq!(told_apart("{"), Content::Json);
        assert_eq!(told_apart("{}"), Content::Json);
        assert_eq!(told_apart("{ board: 1 }"), Content::Json);
        assert_eq!(told_apart("\u{feff} {\"title\": \"|\"}"), Content::Json);
        assert_eq!(told_apart("{title \"Hut\"} 1 | 2"), Content::Line);
    }

    #[test]
    fn a_barline_makes_a_line_and_an_array_does_not() {
        assert_eq!(told_apart("1 | 2"), Content::Line);
        assert_eq!(told_apart("[1. 1 :| [2. 2 |]"), Content::Line);
        assert_eq!(told_apart("[\"|\"]"), Content::Other);
        assert_eq!(told_apart("1 2 3"), Content::Other);
        assert_eq!(told_apart(""), Content::Other);
    }

    #[test]
    fn formats_that_are_not_read_yet_are_known() {
        assert_eq!(told_apart("<?xml version='1.0'?>"), Content::Xml);
        assert_eq!(told_apart("X:1\nT:Stile\nK:C\n|: A | B :|"), Content::Abc);
        assert_eq!(told_apart("PK\u{3}\u{4}rest"), Content::Archive);
    }
}
