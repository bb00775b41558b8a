//! Walks over the tokens of a line and collects the complaints about it.

use std::ops::Range;

use super::scan::{Lexeme, Token, lexeme, unquoted};
use crate::board::{Complaint, HIGHEST_PASS, Passes, PassesError, Position};

/// After so many complaints the rest of the line is not read: nobody mends a line by a longer list.
const MOST_COMPLAINTS: usize = 100;
/// The longest piece of a user's text that a message repeats, in characters.
const LONGEST_SHOWN: usize = 30;

/// The tokens of a line, one ahead, and what is wrong with them so far.
pub(super) struct Reader<'t> {
    text: &'t str,
    /// The token that comes next.
    pub(super) ahead: Lexeme,
    /// The byte where the last token taken ends.
    pub(super) end: usize,
    faults: Vec<Fault>,
}

struct Fault {
    bytes: Range<usize>,
    message: String,
    accepted: Option<String>,
}

impl<'t> Reader<'t> {
    pub(super) fn new(text: &'t str) -> Reader<'t> {
        Reader {
            text,
            ahead: lexeme(text, 0),
            end: 0,
            faults: Vec::new(),
        }
    }

    /// Takes the token ahead.
    pub(super) fn take(&mut self) -> Lexeme {
        let taken = self.ahead;
        self.end = taken.end;
        self.ahead = lexeme(self.text, taken.end);
        taken
    }

    /// Takes tokens until one of those wanted is ahead, or the end.
    pub(super) fn skip_until(&mut self, wanted: impl Fn(Token) -> bool) {
        while self.ahead.token != Token::End && !wanted(self.ahead.token) {
            self.take();
        }
    }

    /// The token after the one ahead.
    pub(super) fn second(&self) -> Lexeme {
        lexeme(self.text, self.ahead.end)
    }

    /// The text of a token.
    pub(super) fn raw(&self, lexeme: Lexeme) -> &'t str {
        self.text.get(lexeme.start..lexeme.end).unwrap_or_default()
    }

    /// A token's text as words are compared: in lower case and without dots, since both are free in the trade's words.
    pub(super) fn plain(&self, lexeme: Lexeme) -> String {
        let raw = self.raw(lexeme);
        if lexeme.token != Token::Word || raw.len() > 4 * LONGEST_SHOWN {
            return String::new();
        }
        let lower = raw.to_lowercase();
        lower.chars().filter(|&c| c != '.').collect()
    }

    /// The word ahead as words are compared; empty when no word is ahead.
    pub(super) fn plain_ahead(&self) -> String {
        self.plain(self.ahead)
    }

    /// Whether the token ahead follows the last one without a blank.
    pub(super) fn touches(&self) -> bool {
        self.ahead.start == self.end
    }

    /// The character right after the token ahead.
    pub(super) fn after_ahead(&self) -> Option<char> {
        self.text.get(self.ahead.end..)?.chars().next()
    }

    /// A token's text for a message.
    pub(super) fn shown(&self, lexeme: Lexeme) -> String {
        shown(self.raw(lexeme))
    }

    /// The text at these bytes for a message.
    pub(super) fn of(&self, bytes: &Range<usize>) -> String {
        shown(self.text.get(bytes.clone()).unwrap_or_default())
    }

    /// The bytes of the token ahead.
    pub(super) fn bytes_ahead(&self) -> Range<usize> {
        self.ahead.start..self.ahead.end
    }

    /// Whether no further complaint is noted.
    pub(super) fn is_full(&self) -> bool {
        self.faults.len() >= MOST_COMPLAINTS
    }

    /// Whether nothing has been complained of.
    pub(super) fn is_clean(&self) -> bool {
        self.faults.is_empty()
    }

    /// Notes what is wrong at these bytes, and what would be accepted there (empty: nothing to say).
    pub(super) fn complain(
        &mut self,
        bytes: Range<usize>,
        message: impl Into<String>,
        accepted: &str,
    ) {
        if self.is_full() {
            return;
        }
        self.faults.push(Fault {
            bytes,
            message: message.into(),
            accepted: (!accepted.is_empty()).then(|| accepted.to_owned()),
        });
        if self.faults.len() == MOST_COMPLAINTS {
            self.ahead = lexeme(self.text, self.text.len());
        }
    }

    /// The text of a value: a word as it stands, or a quoted word without its quotes. `None`, with a complaint, when there is none.
    pub(super) fn text_value(
        &mut self,
        owner: &str,
        accepted: &str,
    ) -> Option<(String, Range<usize>)> {
        let bytes = self.bytes_ahead();
        match self.ahead.token {
            Token::Word => {
                let word = self.take();
                Some((self.raw(word).to_owned(), bytes))
            }
            Token::Quoted => {
                let quoted = self.take();
                Some((self.unquoted(quoted)?, bytes))
            }
            Token::Unclosed => {
                self.take();
                self.unclosed_quote(bytes);
                None
            }
            _ => {
                self.complain(
                    self.end..bytes.start.max(self.end),
                    format!("`{owner}` lacks its value"),
                    accepted,
                );
                None
            }
        }
    }

    /// The text of a quoted token.
    pub(super) fn unquoted(&mut self, quoted: Lexeme) -> Option<String> {
        match unquoted(self.raw(quoted)) {
            Ok(text) => Some(text),
            Err(at) => {
                let at = quoted.start + at;
                self.complain(
                    at..at + 1,
                    "a backslash in a quoted word stands before a quote or a backslash",
                    "`\\\"` or `\\\\`",
                );
                None
            }
        }
    }

    pub(super) fn unclosed_quote(&mut self, bytes: Range<usize>) {
        self.complain(
            bytes.start..bytes.start + 1,
            "the quote is not closed",
            "a closing `\"` on the same line of text",
        );
    }

    /// A list of numbers and ranges separated by blanks, up to the first token that is no word.
    pub(super) fn numbers(&mut self, owner: &str) -> Option<Passes> {
        let start = self.ahead.start;
        let mut ranges = Vec::new();
        while self.ahead.token == Token::Word {
            let raw = self.raw(self.ahead);
            match range(raw) {
                Some(Ok(range)) => ranges.push(range),
                Some(Err(fault)) => {
                    self.complain(self.bytes_ahead(), fault.to_string(), "");
                    return None;
                }
                None => {
                    self.complain(
                        self.bytes_ahead(),
                        format!("`{}` is no number", shown(raw)),
                        NUMBERS,
                    );
                    return None;
                }
            }
            self.take();
        }
        if ranges.is_empty() {
            self.complain(
                self.end..self.ahead.start,
                format!("`{owner}` lacks its numbers"),
                NUMBERS,
            );
            return None;
        }
        self.passes(ranges, start..self.end)
    }

    /// The list of passes of an ending token.
    pub(super) fn ending_numbers(&mut self, ending: Lexeme) -> Option<Passes> {
        let raw = self.raw(ending);
        let bytes = ending.start..ending.end;
        let inside = raw.strip_prefix('[').and_then(|r| r.strip_suffix('.'));
        let mut ranges = Vec::new();
        for written in inside.unwrap_or_default().split(',') {
            let parts = written.split_whitespace().collect::<Vec<_>>();
            let parts = if parts.is_empty() { vec![""] } else { parts };
            for part in parts {
                match range(part) {
                    Some(Ok(range)) => ranges.push(range),
                    Some(Err(fault)) => {
                        self.complain(bytes, fault.to_string(), "");
                        return None;
                    }
                    None => {
                        self.complain(
                            bytes,
                            "the passes of the ending are not a list of numbers",
                            ENDINGS,
                        );
                        return None;
                    }
                }
            }
        }
        self.passes(ranges, bytes)
    }

    fn passes(&mut self, ranges: Vec<(u32, u32)>, bytes: Range<usize>) -> Option<Passes> {
        match Passes::of_ranges(ranges) {
            Ok(passes) => Some(passes),
            Err(fault) => {
                self.complain(bytes, fault.to_string(), "each number once");
                None
            }
        }
    }

    /// Everything that is wrong, in the order of the text.
    pub(super) fn complaints(self) -> Vec<Complaint> {
        let mut faults = self.faults;
        faults.sort_by_key(|fault| fault.bytes.start);
        let mut position = Position { line: 1, column: 1 };
        let mut at = 0;
        let mut complaints = Vec::with_capacity(faults.len());
        for fault in faults {
            let between = self.text.get(at..fault.bytes.start).unwrap_or_default();
            // As in every position, a byte order mark at the beginning takes no column.
            let between = match at {
                0 => between.strip_prefix('\u{feff}').unwrap_or(between),
                _ => between,
            };
            for c in between.chars() {
                if c == '\n' {
                    position = Position {
                        line: position.line + 1,
                        column: 1,
                    };
                } else {
                    position.column += 1;
                }
            }
            at = fault.bytes.start;
            complaints.push(Complaint {
                message: fault.message,
                accepted: fault.accepted,
                pointer: None,
                position,
                bytes: fault.bytes,
            });
        }
        complaints
    }
}

pub(super) const NUMBERS: &str = "numbers and ranges separated by blanks, such as `1 3` or `1-3 7`";
pub(super) const ENDINGS: &str = "an ending such as `[1.`, `[1,2.` or `[1-3,7.`";

/// The ending that was meant by a bracket with passes behind it and no dot.
pub(super) fn ending_meant(written: &str) -> Option<String> {
    let passes = written.strip_prefix('[')?;
    let read = |part: &str| matches!(range(part), Some(Ok(_)));
    passes.split(',').all(read).then(|| format!("[{passes}."))
}

/// A number or a range of passes; `None` when the text is neither.
fn range(text: &str) -> Option<Result<(u32, u32), PassesError>> {
    let (from, to) = text.split_once('-').unwrap_or((text, text));
    let (from, to) = (number(from)?, number(to)?);
    let pass = |n: u64| {
        u32::try_from(n)
            .ok()
            .filter(|n| (1..=HIGHEST_PASS).contains(n))
            .ok_or(PassesError::OutOfRange(n))
    };
    Some(
        pass(from)
            .and_then(|from| Ok((from, pass(to)?)))
            .and_then(|(from, to)| {
                if to < from {
                    Err(PassesError::Backwards(from, to))
                } else {
                    Ok((from, to))
                }
            }),
    )
}

/// A whole number written in plain digits; one too large for any use becomes the largest there is.
pub(super) fn number(digits: &str) -> Option<u64> {
    let plain = !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit());
    plain.then(|| digits.parse().unwrap_or(u64::MAX))
}

/// A piece of a user's text for a message: not too long, and nothing in it that moves a terminal's cursor.
pub(super) fn shown(text: &str) -> String {
    let mut chars = text.chars();
    let mut shown: String = chars
        .by_ref()
        .take(LONGEST_SHOWN)
        .map(|c| if c.is_control() { '\u{fffd}' } else { c })
        .collect();
    if chars.next().is_some() {
        shown.push('…');
    }
    shown
}
