//! What a reader says of a text that is no board.

use std::fmt;
use std::ops::Range;

use unicode_width::UnicodeWidthStr;

use super::builder::BoardError;

/// A place in a text.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Position {
    /// The line, counted from 1.
    pub line: u32,
    /// The column in characters (not bytes), counted from 1.
    pub column: u32,
}

impl Position {
    /// The place of a byte of a text. A byte order mark at the beginning takes no column.
    pub fn of_byte(text: &str, byte: usize) -> Position {
        let before = text.get(..byte).unwrap_or(text);
        let before = before.strip_prefix('\u{feff}').unwrap_or(before);
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        let count = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        Position {
            line: count(before.bytes().filter(|&b| b == b'\n').count() + 1),
            column: count(before.get(line_start..).unwrap_or_default().chars().count() + 1),
        }
    }
}

/// One complaint about a text that is no board: where, what was found, and what would be accepted.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Complaint {
    /// What is wrong, lower case, no full stop.
    pub message: String,
    /// What would be accepted there.
    pub accepted: Option<String>,
    /// The JSON Pointer of the value, for a board file.
    pub pointer: Option<String>,
    /// Where it stands.
    pub position: Position,
    /// The bytes of the text it is about.
    pub bytes: Range<usize>,
}

/// The most characters of a line that are drawn on either side of a caret.
const DRAWN_AROUND: usize = 60;

impl Complaint {
    /// The line of the text that it is about, and under it a line with carets below the place: two lines, without a line break at
    /// the end. Tabs are kept, so that the carets stand right in any terminal; a very long line is cut on both sides, where `…` stands;
    /// control characters are replaced. Wide characters have the carets of two columns.
    ///
    /// ```
    /// let line = "1 | 2 fin |]";
    /// let error = fingerpost::Board::from_line(line).unwrap_err();
    /// assert_eq!(error.complaints()[0].drawn(line), "1 | 2 fin |]\n      ^^^");
    /// ```
    pub fn drawn(&self, text: &str) -> String {
        let start = self.bytes.start.min(text.len());
        let (before, from) = text.split_at_checked(start).unwrap_or((text, ""));
        let before = before.rfind('\n').map_or(before, |at| {
            // cannot fail: a line break is one byte long, and `at` is its place.
            &before[at + 1..]
        });
        let before = before.strip_prefix('\u{feff}').unwrap_or(before);
        let from = from.split('\n').next().unwrap_or_default();
        let before = before.strip_prefix('\u{feff}').unwrap_or(before);
        let from = from.strip_suffix('\r').unwrap_or(from);
        let length = self.bytes.end.saturating_sub(start).min(from.len());
        let marked: String = from
            .char_indices()
            .take_while(|&(at, _)| at < length)
            .take(DRAWN_AROUND)
            .map(|(_, c)| drawn_char(c))
            .collect();

        let (mut source, mut under) = (String::new(), String::new());
        let skipped = before.chars().count().saturating_sub(DRAWN_AROUND);
        if skipped > 0 {
            source.push('…');
            under.push(' ');
        }
        let before: String = before.chars().skip(skipped).map(drawn_char).collect();
        // A tab is as wide as the terminal makes it; other characters are none, one or two columns wide.
        for (index, piece) in before.split('\t').enumerate() {
            if index > 0 {
                under.push('\t');
            }
            under.extend(std::iter::repeat_n(' ', piece.width()));
        }
        source.push_str(&before);
        let mut rest = from.chars();
        source.extend(rest.by_ref().take(DRAWN_AROUND).map(drawn_char));
        if rest.next().is_some() {
            source.push('…');
        }
        under.extend(std::iter::repeat_n('^', marked.width().max(1)));
        format!("{source}\n{under}")
    }
}

fn drawn_char(c: char) -> char {
    if c.is_control() && c != '\t' {
        '\u{fffd}'
    } else {
        c
    }
}

/// A text that is no board, with everything that is wrong with it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ReadError {
    // INVARIANT: never empty, in the order of the text.
    complaints: Vec<Complaint>,
    board_errors: Vec<BoardError>,
}

impl ReadError {
    pub(crate) fn new(first: Complaint, rest: impl IntoIterator<Item = Complaint>) -> ReadError {
        let mut complaints = vec![first];
        complaints.extend(rest);
        complaints.sort_by_key(|complaint| complaint.bytes.start);
        ReadError {
            complaints,
            board_errors: Vec::new(),
        }
    }

    /// The same with what the builder said.
    pub(crate) fn with_board_errors(mut self, board_errors: Vec<BoardError>) -> ReadError {
        self.board_errors = board_errors;
        self
    }

    /// What the builder said of a text that can be read but gives no board, for callers that ask for the kind of a fault. Each of them is
    /// among the complaints, which may hold more.
    pub fn board_errors(&self) -> &[BoardError] {
        &self.board_errors
    }

    /// The complaints, in the order of the text; never empty.
    pub fn complaints(&self) -> &[Complaint] {
        &self.complaints
    }
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, complaint) in self.complaints.iter().enumerate() {
            if index > 0 {
                f.write_str("; ")?;
            }
            let Position { line, column } = complaint.position;
            write!(f, "line {line}, column {column}: {}", complaint.message)?;
        }
        Ok(())
    }
}

impl std::error::Error for ReadError {}

/// The name among `known` that is nearest to `found`, when one is near enough to be meant.
pub(crate) fn nearest<'a>(
    found: &str,
    known: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    // No known name is nearly that long, and the distance of long texts costs much time and memory.
    if found.len() > 200 {
        return None;
    }
    let found = found.to_lowercase();
    known
        .into_iter()
        .map(|name| {
            (
                strsim::damerau_levenshtein(&found, &name.to_lowercase()),
                name,
            )
        })
        .filter(|&(distance, name)| distance <= 1 + name.chars().count() / 4)
        .min_by_key(|&(distance, _)| distance)
        .map(|(_, name)| name)
}

#[cfg(test)]
mod tests {
    use crate::Board;

    #[test]
    fn a_refusal_says_every_complaint_with_its_place() {
        let refused = Board::from_line("1 fin |\n2 D.X. |").unwrap_err();
        let said: Vec<String> = refused
            .complaints()
            .iter()
            .map(|it| {
                format!(
                    "line {}, column {}: {}",
                    it.position.line, it.position.column, it.message
                )
            })
            .collect();
        assert!(said.len() > 1);
        assert_eq!(refused.to_string(), said.join("; "));
    }
}
