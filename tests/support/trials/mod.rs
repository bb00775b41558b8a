//! Boards to try walkers on: every small one, and large ones by chance.

// Each test that includes these files uses a part of them.
#![allow(dead_code)]

pub(crate) mod chance;
pub(crate) mod pupils;
pub(crate) mod slips;
pub(crate) mod small;

use std::fmt::Write;

use fingerpost::{Board, Sign};

/// A board in a few lines, for the message of a failing test: its line, its size, what it answers for itself, and each marking.
pub(crate) fn portrait(board: &Board) -> String {
    let mut text = format!("{}\n  {} measures", board.to_line(), board.measures());
    if !board.reading().is_empty() {
        let _ = write!(text, ", answers {:?}", board.reading());
    }
    if let Some(meter) = board.meter() {
        let _ = write!(text, ", meter {meter}");
    }
    if let Some(pickup) = board.pickup() {
        let _ = write!(text, ", pickup {pickup}");
    }
    for (index, marking) in board.markings().iter().enumerate() {
        let place = marking.place();
        let _ = write!(text, "\n  {index}: {}", place.first());
        if place.last() > place.first() {
            let _ = write!(text, "-{}", place.last());
        }
        if let Some(cut) = place.cut() {
            let _ = write!(text, " at {cut}");
        }
        let _ = match marking.sign() {
            Sign::Ending(ending) => write!(text, " ending {}", ending.passes),
            other => write!(text, " {other:?}"),
        };
    }
    text
}
