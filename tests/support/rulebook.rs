//! The boards of the rulebook.

use std::path::Path;

use fingerpost::Board;
use fingerpost_conformance::Suite;

/// Every case with its board.
pub(crate) fn rulebook() -> Vec<(String, Board)> {
    let rulebook = Path::new(env!("CARGO_MANIFEST_DIR")).join("spec/rulebook");
    let suite = Suite::read_markdown(&rulebook).expect("the rulebook can be read");
    let cases = suite.chapters.into_iter().flat_map(|chapter| chapter.cases);
    cases
        .map(|case| {
            let text = serde_json::Value::Object(case.board).to_string();
            let board = Board::from_json(&text).expect("a case has a board");
            (case.id, board)
        })
        .collect()
}
