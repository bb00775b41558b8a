//! The verb `board`.

use crate::VERSION;
use crate::score::ScoreAnswer;
use crate::source::BoardRead;

/// A board in both its forms.
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BoardAnswer {
    /// The version of the answer: 1.
    pub version: u32,
    /// The JSON of its board file.
    #[cfg_attr(feature = "schema", schemars(with = "crate::schema::BoardFile"))]
    pub board: serde_json::Value,
    /// Its board line.
    pub line: String,
    /// The score that the board was read from, when it was read from one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub score: Option<ScoreAnswer>,
}

/// A board as JSON and as a line.
pub fn both_forms(read: &BoardRead) -> BoardAnswer {
    let board = &read.board;
    BoardAnswer {
        version: VERSION,
        // cannot fail: a board writes itself as JSON.
        board: serde_json::from_str(&board.to_json()).unwrap_or_default(),
        line: board.to_line(),
        score: read.score(),
    }
}
