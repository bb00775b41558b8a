//! Each part of the line's grammar, and what is said of a line that breaks it.

mod measures;
mod printed;
mod signs;
mod whole;

use super::super::*;

fn board(line: &str) -> Board {
    match Board::from_line(line) {
        Ok(board) => board,
        Err(error) => panic!("`{line}`: {error}"),
    }
}

/// The markings as `kind first-last`, in the order of the text.
fn places(line: &str) -> Vec<String> {
    let board = board(line);
    let markings = board.markings().iter();
    markings
        .map(|m| {
            let place = m.place();
            let cut = place.cut().map(|cut| format!(" cut {cut}"));
            let last = (place.last() != place.first()).then(|| format!("-{}", place.last()));
            let (cut, last) = (cut.unwrap_or_default(), last.unwrap_or_default());
            format!("{} {}{last}{cut}", m.sign().kind(), place.first())
        })
        .collect()
}

fn sign(line: &str) -> Sign {
    let board = board(line);
    assert_eq!(board.markings().len(), 1, "{line}");
    board.markings()[0].sign().clone()
}

/// The complaints as `found text: message`.
fn complaints(line: &str) -> Vec<String> {
    let error = Board::from_line(line).expect_err(line);
    let complaints = error.complaints().iter();
    complaints
        .map(|c| format!("{}: {}", &line[c.bytes.clone()], c.message))
        .collect()
}

fn only_complaint(line: &str) -> String {
    let mut all = complaints(line);
    assert_eq!(all.len(), 1, "{line}: {all:?}");
    all.remove(0)
}

fn jump(line: &str) -> Jump {
    match sign(line) {
        Sign::DaCapo(jump) | Sign::DalSegno(jump) => jump,
        other => panic!("{other:?}"),
    }
}

fn of(numbers: &[u32]) -> Passes {
    Passes::of(numbers.iter().copied()).unwrap()
}
