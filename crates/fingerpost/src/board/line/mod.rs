//! The board line: one board in one line of text, as a musician would write it on a napkin. Its grammar is in spec/board-line.md.

mod build;
mod draft;
mod header;
mod keys;
mod parse;
mod reader;
mod scan;
mod sign;
#[cfg(test)]
mod tests;

use std::ops::Range;
use std::str::FromStr;

use super::{Board, ReadError};

/// The longest board line, in bytes.
pub(crate) const MOST_BYTES: usize = 16 * 1024 * 1024;

impl Board {
    /// Reads a board line. The markings have the order of the text.
    ///
    /// ```
    /// use fingerpost::Board;
    /// let board = Board::from_line("|: 1 | 2 | [1. 3 :| [2. 4 Fine ] | 5 D.C. al Fine |]")?;
    /// assert_eq!(board.measures(), 5);
    /// assert_eq!(board.markings().len(), 6);
    /// # Ok::<(), fingerpost::ReadError>(())
    /// ```
    ///
    /// # Errors
    /// Everything that is wrong with the line, at most 100 complaints, each with its place and what would be accepted there.
    pub fn from_line(text: &str) -> Result<Board, ReadError> {
        parse::parse(text).map(|(board, _)| board)
    }
}

impl FromStr for Board {
    type Err = ReadError;

    /// Reads a board line, as [`Board::from_line`].
    fn from_str(text: &str) -> Result<Board, ReadError> {
        Board::from_line(text)
    }
}

/// Where each marking of a board line stands: the bytes of its sign with its keys, by marking index. Empty for a text that is no board.
///
/// ```
/// let line = "1 | 2 D.C. al Fine |]";
/// let places = fingerpost::line_places(line);
/// assert_eq!(&line[places[0].clone()], "D.C. al Fine");
/// ```
pub fn line_places(text: &str) -> Vec<Range<usize>> {
    parse::parse(text).map_or_else(|_| Vec::new(), |(_, places)| places)
}
