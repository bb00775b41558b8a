//! Telling a board file, a board line, a score and what is none of them apart by content.

/// What a text looks like.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Content {
    /// A board file.
    Json,
    /// A board line.
    Line,
    /// A score: MusicXML, MNX or ABC; or XML at all, which the reader of scores has to look into.
    Score,
    /// Nothing of these.
    Other,
}

/// Tells what a text is.
///
/// A board file begins with `{` and a quote (or is an empty object); a board line holds a barline `|`. The braces of a board line hold
/// words without quotes. A score is told by `fingerpost_notation::format_of`.
///
/// ```
/// use fingerpost_json::{Content, told_apart};
/// assert_eq!(told_apart(r#"{ "board": 1, "systems": [4] }"#), Content::Json);
/// assert_eq!(told_apart("{meter 4/4} |: 1 | 2 :|"), Content::Line);
/// assert_eq!(told_apart("<score-partwise/>"), Content::Score);
/// assert_eq!(told_apart("X:1\nK:C\n|: C D :|"), Content::Score);
/// ```
pub fn told_apart(text: &str) -> Content {
    if fingerpost_notation::format_of(text.as_bytes()).is_some() {
        return Content::Score;
    }
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
    // What is to be a tune and has no number: the reader of scores says so.
    if body.starts_with("%abc") || body.lines().any(|line| line.starts_with("K:")) {
        return Content::Score;
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
    fn scores_are_told_by_the_reader_of_scores() {
        assert_eq!(told_apart("<?xml version='1.0'?>"), Content::Score);
        let tune = "X:1\nT:Stile\nK:C\n|: A | B :|";
        assert_eq!(told_apart(tune), Content::Score);
        assert_eq!(told_apart("PK\u{3}\u{4}rest"), Content::Score);
        let mnx = r#"{ "mnx": { "version": 1 }, "global": { "measures": [] } }"#;
        assert_eq!(told_apart(mnx), Content::Score);
    }
}
