//! A board drawn in plain text, system by system.
//!
//! A system is a line of barlines with the measures' numbers between them. Above it stand the signs: those that land at the left edge of
//! their measure, those that leave at its right edge; above them the endings, the octave signs and whatever else holds for a row of measures.

mod signs;
mod system;

use fingerpost::Board;

use crate::Streams;
use crate::text::{counted, wrapped};

/// The width of the terminal, within reason.
pub(crate) fn width(streams: &Streams<'_>) -> usize {
    streams.width.unwrap_or(100).clamp(40, 400)
}

/// On a board of more measures than this, systems without a sign are told of and not drawn.
const MOST_DRAWN_IN_FULL: u16 = 200;

/// The most systems that are drawn.
const MOST_SYSTEMS: usize = 200;

/// A board with its title, drawn.
pub(crate) fn drawn(board: &Board, width: usize) -> String {
    let mut text = heading(board, width);
    text.push('\n');
    let in_full = board.measures() <= MOST_DRAWN_IN_FULL;
    let mut first = 1_u32;
    let mut drawn = 0;
    // Systems without a sign that are not drawn, as a row of measures.
    let mut plain: Option<(u32, u32)> = None;
    let tell = |plain: Option<(u32, u32)>| {
        plain.map_or_else(String::new, |(from, to)| {
            format!("… measures {from} to {to}: no signs\n\n")
        })
    };
    let picture = signs::Picture::of(board);
    for &measures in board.systems() {
        let last = first + u32::from(measures) - 1;
        // cannot fail: a board has at most 65 535 measures.
        let (from, to) = (
            u16::try_from(first).unwrap_or(u16::MAX),
            u16::try_from(last).unwrap_or(u16::MAX),
        );
        if in_full || picture.has_signs(from, to) {
            text.push_str(&tell(plain.take()));
            if drawn == MOST_SYSTEMS {
                let left = u64::from(board.measures()) - u64::from(first) + 1;
                let left = counted(left, "measure", "measures");
                text.push_str(&format!("… {left} more, with their signs, are not drawn\n"));
                return text;
            }
            if drawn > 0 || first > 1 {
                while !text.ends_with("\n\n") {
                    text.push('\n');
                }
            }
            text.push_str(&system::drawn(&picture, from, to, width));
            drawn += 1;
        } else {
            if plain.is_none() && !text.ends_with("\n\n") {
                text.push('\n');
            }
            plain = Some((plain.map_or(first, |(from, _)| from), last));
        }
        first = last + 1;
    }
    text.push_str(&tell(plain));
    text
}

/// Title, composer, and what is to be known before the first measure.
fn heading(board: &Board, width: usize) -> String {
    let mut text = String::new();
    if let Some(title) = board.title() {
        text.push_str(&wrapped(title, width, "", ""));
    }
    if let Some(composer) = board.composer() {
        text.push_str(&wrapped(composer, width, "", ""));
    }
    let mut facts = vec![counted(u64::from(board.measures()), "measure", "measures")];
    if let Some(meter) = board.meter() {
        facts.push(format!("meter {meter}"));
    }
    if let Some(pickup) = board.pickup() {
        facts.push(format!("pickup of {pickup} of a whole note"));
    }
    text.push_str(&wrapped(&facts.join(", "), width, "", ""));
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
    text
}
