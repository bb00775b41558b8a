//! Whether a text is JSON at all, and what is wrong with it when it is not.

use std::ops::Range;

use serde::de::IgnoredAny;

use super::LARGEST_FILE;
use super::complaints::{complaint, find_positions};
use super::cursor;
use crate::board::{Complaint, ReadError};

/// The deepest nesting of objects and lists; a board needs four levels.
const DEEPEST: usize = 64;

/// Refuses bytes that are too many or no text.
pub(super) fn text_of(bytes: &[u8]) -> Result<&str, ReadError> {
    within_size(bytes.len())?;
    std::str::from_utf8(bytes).map_err(|error| {
        let start = error.valid_up_to();
        let valid = bytes
            .get(..start)
            .and_then(|valid| std::str::from_utf8(valid).ok())
            .unwrap_or_default();
        let odd = bytes.get(start).copied().unwrap_or_default();
        let message = match bytes {
            [0xff, 0xfe, ..] | [0xfe, 0xff, ..] => {
                "the file is written in UTF-16, not in UTF-8".to_owned()
            }
            _ => format!("the byte 0x{odd:02X} is not UTF-8"),
        };
        let end = start + error.error_len().unwrap_or(bytes.len() - start);
        refuse(valid, message, "a text in UTF-8", None, start..end)
    })
}

/// Refuses a text that is no JSON.
pub(super) fn check(text: &str) -> Result<(), ReadError> {
    within_size(text.len())?;
    let start = cursor::byte_order_mark(text);
    let body = text.get(start..).unwrap_or_default();
    if body.trim_ascii().is_empty() {
        let message = "the file is empty".to_owned();
        return Err(refuse(text, message, SMALLEST_BOARD, None, start..start));
    }
    if let Some(at) = too_deep(text) {
        let message = format!("objects and lists are nested more than {DEEPEST} deep");
        let accepted = "a board file, which is nested 4 deep at most";
        return Err(refuse(text, message, accepted, None, at..at + 1));
    }
    match serde_json::from_str::<IgnoredAny>(body) {
        Ok(IgnoredAny) => Ok(()),
        Err(error) => Err(not_json(text, start, &error)),
    }
}

/// The smallest board, for a text that holds none.
pub(super) const SMALLEST_BOARD: &str = "a board, such as `{\"board\": 1, \"systems\": [4, 4]}`";

fn within_size(bytes: usize) -> Result<(), ReadError> {
    if bytes <= LARGEST_FILE {
        return Ok(());
    }
    // Whoever reads a file may have stopped reading at one byte too many: the number is not told.
    let message = "the file has more than 16 MiB".to_owned();
    let accepted = "a board file of at most 16 MiB";
    Err(refuse("", message, accepted, Some(String::new()), 0..0))
}

fn refuse(
    text: &str,
    message: String,
    accepted: &str,
    pointer: Option<String>,
    bytes: Range<usize>,
) -> ReadError {
    let mut one: [Complaint; 1] = [complaint(
        message,
        Some(accepted.to_owned()),
        pointer,
        bytes,
    )];
    find_positions(text, &mut one);
    let [one] = one;
    ReadError::new(one, [])
}

/// The byte of the first bracket that is nested too deep. A text that is no JSON may count wrongly; it is refused in any case.
fn too_deep(text: &str) -> Option<usize> {
    let (mut depth, mut in_string, mut escaped) = (0_usize, false, false);
    for (at, byte) in text.bytes().enumerate() {
        if in_string {
            match byte {
                _ if escaped => escaped = false,
                b'\\' => escaped = true,
                b'"' => in_string = false,
                _ => {}
            }
            continue;
        }
        match byte {
            b'"' => in_string = true,
            b'{' | b'[' => {
                depth += 1;
                if depth > DEEPEST {
                    return Some(at);
                }
            }
            b'}' | b']' => depth = depth.saturating_sub(1),
            _ => {}
        }
    }
    None
}

/// Says in our words where the text stops being JSON. `start` is the byte at which the JSON begins.
fn not_json(text: &str, start: usize, error: &serde_json::Error) -> ReadError {
    let body = text.get(start..).unwrap_or_default();
    let place = format!(" at line {} column {}", error.line(), error.column());
    let said = error.to_string();
    let said = said.strip_suffix(&place).unwrap_or(&said);
    if error.is_eof() {
        let inside = match said {
            "EOF while parsing a list" => " inside a list",
            "EOF while parsing an object" => " inside an object",
            "EOF while parsing a string" => " inside a text",
            _ => "",
        };
        let end = start + body.trim_ascii_end().len();
        let accepted = "the rest of the file: has it been cut off?";
        let message = format!("the file ends too early{inside}");
        return refuse(text, message, accepted, None, end..end);
    }
    let mut bytes = byte_of(body, error.line(), error.column());
    if said.starts_with("control character") {
        // It is reported by the byte before it.
        let from = body.get(bytes.start..).unwrap_or_default();
        bytes.start += from.bytes().position(|byte| byte < 0x20).unwrap_or(0);
        bytes.end = bytes.start + 1;
    }
    let bytes = start + bytes.start..start + bytes.end;
    let found = text.get(bytes.clone()).unwrap_or_default();
    let (message, accepted) = match (said, found) {
        ("key must be a string", "}") | ("expected value", "]") | ("trailing comma", _) => (
            "a comma with nothing after it",
            "something after the comma, or no comma",
        ),
        ("key must be a string", _) => ("no key in double quotes", "a key in double quotes"),
        ("expected value" | "expected ident", _) => (
            "no JSON value",
            "a text in double quotes, a number, a list, an object, `true`, `false` or `null`",
        ),
        ("expected `:`", _) => ("no colon after a key", "`:`"),
        ("expected `,` or `]`", _) => ("no comma and no end of the list", "`,` or `]`"),
        ("expected `,` or `}`", _) => ("no comma and no end of the object", "`,` or `}`"),
        ("trailing characters", _) => ("something after the end of the board", "nothing more"),
        ("invalid number", _) => ("no JSON number", "a number such as `12`"),
        ("invalid escape", _) => (
            "no escape that JSON has",
            "`\\\"`, `\\\\`, `\\/`, `\\b`, `\\f`, `\\n`, `\\r`, `\\t` or `\\u` and four digits",
        ),
        _ if said.starts_with("control character") => (
            "a control character or a line break inside a text",
            "an escape such as `\\n`, or a closing quote before it",
        ),
        _ => return refuse(text, format!("not JSON: {said}"), "JSON", None, bytes),
    };
    let message = match found.chars().next() {
        Some(character) if !character.is_control() => {
            format!("not JSON: {message} at `{character}`")
        }
        _ => format!("not JSON: {message}"),
    };
    refuse(text, message, accepted, None, bytes)
}

/// The bytes of the character at a line and a column, both from 1, the column in bytes.
fn byte_of(text: &str, line: usize, column: usize) -> Range<usize> {
    let line_start = match line.checked_sub(2) {
        None => 0,
        Some(breaks_before) => text
            .bytes()
            .enumerate()
            .filter(|&(_, byte)| byte == b'\n')
            .nth(breaks_before)
            .map_or(text.len(), |(at, _)| at + 1),
    };
    let mut start = (line_start + column.saturating_sub(1)).min(text.len());
    while !text.is_char_boundary(start) {
        start -= 1;
    }
    let character = text.get(start..).and_then(|rest| rest.chars().next());
    start..start + character.map_or(0, char::len_utf8)
}
