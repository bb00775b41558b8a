//! A board drawn in plain text, system by system.
//!
//! A system is a line of barlines with the measures' numbers between them. Above it stand the signs: those that land at the left edge of
//! their measure, those that leave at its right edge; above them the endings, the octave signs and whatever else holds for a row of measures.

mod signs;
mod system;

use fingerpost::{Board, Phrasebook, sign_words};

use crate::Streams;
use crate::text::{counted, wrapped};

/// The width of the terminal, within reason.
pub(crate) fn width(streams: &Streams<'_>) -> usize {
    streams.width.unwrap_or(100).clamp(40, 400)
}

/// On a board of more measures than this, rows without a sign are told of and not drawn.
const MOST_DRAWN_IN_FULL: u16 = 200;
/// On such a board a system is looked at in rows of so many measures.
const ROW: u16 = 16;
/// The most rows of such a board that are drawn.
const MOST_ROWS: usize = 40;

/// A board with its title, drawn.
pub(crate) fn drawn(board: &Board, width: usize) -> String {
    drawn_by(&Phrasebook::default(), board, width)
}

/// The same with the word for a measure that a book has.
pub(crate) fn drawn_by(book: &Phrasebook, board: &Board, width: usize) -> String {
    let mut text = heading(book, board, width);
    let picture = signs::Picture::of(board);
    if board.measures() <= MOST_DRAWN_IN_FULL {
        for (first, last) in rows(board, board.measures()) {
            text.push('\n');
            text.push_str(&system::drawn(&picture, first, last, width));
        }
        return text;
    }
    let mut drawn = 0;
    // Rows without a sign that follow each other.
    let mut plain: Option<(u16, u16)> = None;
    let tell = |plain: Option<(u16, u16)>| {
        plain.map_or_else(String::new, |(from, to)| {
            book.message(&format!("\n… measures {from} to {to}: no signs\n"))
        })
    };
    for (first, last) in rows(board, ROW) {
        if !picture.has_signs(first, last) {
            plain = Some((plain.map_or(first, |(from, _)| from), last));
            continue;
        }
        text.push_str(&tell(plain.take()));
        if drawn == MOST_ROWS {
            let left = u64::from(board.measures() - first) + 1;
            let left = book.message(&counted(left, "measure", "measures"));
            text.push_str(&format!(
                "\n… {left} more, with their signs, are not drawn\n"
            ));
            return text;
        }
        text.push('\n');
        text.push_str(&system::drawn(&picture, first, last, width));
        drawn += 1;
    }
    text.push_str(&tell(plain));
    text
}

/// The systems as first and last measures, those of more measures than `most` in several rows.
fn rows(board: &Board, most: u16) -> Vec<(u16, u16)> {
    let mut rows = Vec::new();
    let mut before: u16 = 0;
    for &measures in board.systems() {
        let end = before.saturating_add(measures);
        while before < end {
            let last = end.min(before.saturating_add(most));
            rows.push((before + 1, last));
            before = last;
        }
    }
    rows
}

/// Title, composer, and what is to be known before the first measure.
fn heading(book: &Phrasebook, board: &Board, width: usize) -> String {
    let mut text = String::new();
    if let Some(title) = board.title() {
        text.push_str(&wrapped(title, width, "", ""));
    }
    if let Some(composer) = board.composer() {
        text.push_str(&wrapped(composer, width, "", ""));
    }
    text.push_str(&wrapped(&book.heading(board), width, "", ""));
    let answers: Vec<String> = fingerpost::Question::ALL
        .into_iter()
        .filter_map(|question| {
            let answer = board.reading().answer(question)?;
            Some(format!("{} {answer}", question.name()))
        })
        .collect();
    if !answers.is_empty() {
        let says = format!("The board's own reading: {}", answers.join(", "));
        text.push_str(&wrapped(&says, width, "", "  "));
    }
    let in_hand: Vec<String> = board
        .unplaced()
        .iter()
        .map(|card| sign_words(&card.sign))
        .collect();
    if !in_hand.is_empty() {
        let says = format!("In the hand, not yet on the board: {}", in_hand.join(", "));
        text.push_str(&wrapped(&says, width, "", "  "));
    }
    text
}
