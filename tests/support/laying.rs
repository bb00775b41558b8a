//! Signs laid on a board by trying.

use fingerpost::{Board, Marking, Place, Sign};

/// Warnings that a sign lacks its partner.
pub const LACKS: [&str; 6] = [
    "segno-unused",
    "coda-unused",
    "to-coda-unused",
    "fine-unused",
    "start-repeat-unclosed",
    "ending-without-repeat",
];

/// The board with more markings on it.
pub fn with(board: &Board, added: &[Marking]) -> Board {
    let builder = board.to_builder().markings(added.iter().cloned());
    builder.build().expect("it stands on the board")
}

/// Every place where a sign could stand, cuts inside a measure apart.
pub fn places_of(board: &Board, sign: &Sign) -> Vec<Place> {
    let measures = board.measures();
    let rows = |first| (first..=measures).map(move |last| Place::over(first, last));
    if sign.spans() {
        (1..=measures).flat_map(rows).collect()
    } else {
        (1..=measures).map(Place::at).collect()
    }
}
