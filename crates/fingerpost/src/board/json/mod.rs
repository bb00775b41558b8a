//! The board file: a board as JSON, read with places and written with one sign a line. Source: rulebook, and spec/board-file.md.

mod careful;
mod complaints;
mod cursor;
mod description;
mod edited;
mod faults;
mod lists;
mod marking;
mod numbers;
mod quick;
#[cfg(feature = "schema")]
mod schema;
mod syntax;
#[cfg(test)]
mod tests;
mod values;
mod write;

use std::ops::Range;

use super::{Board, Edit, EditError, Marking, ReadError};

#[cfg(feature = "schema")]
pub use schema::board_schema;

/// The most bytes a board file may have: 16 MiB.
pub const LARGEST_FILE: usize = 16 * 1024 * 1024;

impl Board {
    /// Reads a board file. A byte order mark at its beginning is passed over.
    ///
    /// ```
    /// use fingerpost::Board;
    /// let text = r#"{ "board": 1, "systems": [4, 4], "markings": [{ "mark": "fine", "mesure": 4 }] }"#;
    /// let refused = Board::from_json(text).unwrap_err();
    /// assert_eq!(refused.to_string(), "line 1, column 65: `mesure` is not a key of `fine`");
    /// assert_eq!(refused.complaints()[0].pointer.as_deref(), Some("/markings/0/mesure"));
    /// # Ok::<(), fingerpost::ReadError>(())
    /// ```
    ///
    /// # Errors
    /// Everything that is wrong with the file, each complaint with line, column, JSON Pointer and what would be accepted. A text that is no
    /// JSON has one complaint, without a pointer; a file of another version or of more than 16 MiB has one complaint; after 1000 complaints
    /// one more says that there may be others.
    pub fn from_json(text: &str) -> Result<Board, ReadError> {
        let body = text.get(cursor::byte_order_mark(text)..).unwrap_or(text);
        let quick = (text.len() <= LARGEST_FILE).then(|| quick::read(body));
        match quick.flatten() {
            Some(board) => Ok(board),
            None => careful::read(text),
        }
    }

    /// Reads a board file from its bytes.
    ///
    /// # Errors
    /// As [`Board::from_json`], and bytes that are not UTF-8, with the place of the first.
    pub fn from_json_bytes(bytes: &[u8]) -> Result<Board, ReadError> {
        Board::from_json(syntax::text_of(bytes)?)
    }

    /// Writes the board file: the signs in canonical order, one a line. Reading it gives the same board in
    /// [canonical](Board::canonical) form. Every number of a list of passes is written out, so that a board with several lists of hundreds of
    /// thousands of numbers can give more than the [`LARGEST_FILE`] that is read.
    ///
    /// ```
    /// use fingerpost::{Board, Sign};
    /// let board = Board::builder([2]).mark(Sign::StartRepeat, 2).build()?;
    /// let file = r#"{
    ///   "board": 1,
    ///   "systems": [2],
    ///   "markings": [
    ///     { "mark": "start-repeat", "measure": 2 }
    ///   ]
    /// }
    /// "#;
    /// assert_eq!(board.to_json(), file);
    /// # Ok::<(), fingerpost::BoardError>(())
    /// ```
    pub fn to_json(&self) -> String {
        write::file_of(self)
    }
}

impl Marking {
    /// Writes the marking as it stands in a board file, in one line.
    ///
    /// ```
    /// use fingerpost::{Marking, Place, Sign};
    /// let start = Marking::new(Sign::StartRepeat, Place::at(2));
    /// assert_eq!(start.to_json(), r#"{ "mark": "start-repeat", "measure": 2 }"#);
    /// ```
    pub fn to_json(&self) -> String {
        write::marking_of(self)
    }
}

/// Why the text of a board file cannot be edited.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum EditTextError {
    /// The text is no board file.
    #[error(transparent)]
    Read(#[from] ReadError),
    /// The edits are not of the board that the text holds.
    #[error(transparent)]
    Edit(#[from] EditError),
}

/// Makes edits in the text of a board file and changes nothing else: what stays keeps its bytes, its line breaks and its blanks; markings
/// that are added are laid out like those that stand there. The text that comes out holds exactly the [edited](Board::edited) board.
///
/// ```
/// use fingerpost::{Edit, Marking, Place, Sign, edit_json};
/// let file = r#"{"board":1, "systems":[4],
///   "markings":[
///     {"mark":"fine",  "measure":2} ] }"#;
/// let start = Marking::new(Sign::StartRepeat, Place::at(3));
/// let edited = r#"{"board":1, "systems":[4],
///   "markings":[
///     {"mark":"fine",  "measure":2},
///     {"mark":"start-repeat", "measure":3} ] }"#;
/// assert_eq!(edit_json(file, &[Edit::Add(start)])?, edited);
/// # Ok::<(), fingerpost::EditTextError>(())
/// ```
///
/// # Errors
/// A text that is no board file; edits that are not of its board.
pub fn edit_json(text: &str, edits: &[Edit]) -> Result<String, EditTextError> {
    let board = Board::from_json(text)?;
    board.edited(edits)?;
    Ok(edited::text_with(text, &board, edits))
}

/// The bytes of each marking in the text of a board file, by index; nothing when the text is no JSON object with `markings`.
pub fn json_places(text: &str) -> Vec<Range<usize>> {
    let markings = json_place(text, "/markings").unwrap_or_default();
    cursor::elements(text, &markings).collect()
}

/// The bytes of the value that a JSON Pointer (RFC 6901) names in a text; `None` when the text is no JSON or has no such
/// value. Of keys that stand twice the first is meant.
///
/// ```
/// use fingerpost::json_place;
/// let text = r#"{"markings": [{"mark": "fine", "measure": 4}]}"#;
/// assert_eq!(json_place(text, "/markings/0/measure"), Some(42..43));
/// ```
pub fn json_place(text: &str, pointer: &str) -> Option<Range<usize>> {
    syntax::check(text).ok()?;
    let mut place = cursor::root(text);
    if pointer.is_empty() {
        return Some(place);
    }
    for step in pointer.strip_prefix('/')?.split('/') {
        let name = step.replace("~1", "/").replace("~0", "~");
        place = if cursor::is_array(text, &place) {
            let plain = step == "0" || !step.starts_with('0');
            let index = step.bytes().all(|b| b.is_ascii_digit()) && plain;
            let index: usize = index.then(|| step.parse().ok())??;
            cursor::elements(text, &place).nth(index)?
        } else {
            let is_it = |key: &Range<usize>| {
                let key = text.get(key.clone()).unwrap_or_default();
                serde_json::from_str::<String>(key).is_ok_and(|key| key == name)
            };
            cursor::members(text, &place).find(|(key, _)| is_it(key))?.1
        };
    }
    Some(place)
}
