//! The verb `board`.

use crate::VERSION;
use crate::findings::FindingAnswer;
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
    /// The board as a score, when that is asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub musicxml: Option<MusicxmlAnswer>,
    /// The score that the board was read from, when it was read from one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub score: Option<ScoreAnswer>,
}

/// A board as a score in MusicXML 4.0: a measure of rest for each of its measures, every sign drawn and said for playing.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct MusicxmlAnswer {
    /// The text of the score.
    pub text: String,
    /// What the format cannot say, and so is not in the score, or is in it as the nearest thing that it can say.
    pub notices: Vec<FindingAnswer>,
}

/// A board as a score in MusicXML.
pub fn musicxml(read: &BoardRead) -> MusicxmlAnswer {
    let written = fingerpost_notation::write_musicxml(&read.board);
    let notices = written.notices.iter();
    MusicxmlAnswer {
        notices: notices
            .map(|notice| FindingAnswer::noticed(read, notice))
            .collect(),
        text: written.text,
    }
}

/// A board as JSON and as a line.
pub fn both_forms(read: &BoardRead) -> BoardAnswer {
    let board = &read.board;
    BoardAnswer {
        version: VERSION,
        // cannot fail: a board writes itself as JSON.
        board: serde_json::from_str(&board.to_json()).unwrap_or_default(),
        line: board.to_line(),
        musicxml: None,
        score: read.score(),
    }
}
