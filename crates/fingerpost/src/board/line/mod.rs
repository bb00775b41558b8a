//! The board line: one board in one line of text, as a musician would write it on a napkin. Its grammar is in spec/board-line.md.

mod build;
mod card;
mod draft;
mod header;
mod keys;
mod parse;
mod print;
mod reader;
mod scan;
mod sign;
#[cfg(test)]
mod tests;
mod written;

use std::ops::Range;
use std::str::FromStr;

use super::{Board, ReadError};

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

    /// Writes the board as a board line. Boards that mean the same give the same line, and the line read again gives the same
    /// board, its markings in another order.
    ///
    /// ```
    /// use fingerpost::{Board, Sign};
    /// let board = Board::builder([2, 2])
    ///     .mark(Sign::StartRepeat, 3)
    ///     .mark(Sign::EndRepeat(Default::default()), 4)
    ///     .build()?;
    /// assert_eq!(board.to_line(), "1 | 2 | // |: 3 | 4 :|");
    /// # Ok::<(), fingerpost::BoardError>(())
    /// ```
    pub fn to_line(&self) -> String {
        print::line(&self.canonical())
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
