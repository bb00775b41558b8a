//! What is put to a program under test, and what it answers. Both are plain data, so that a subject may as well be another program.

use serde::{Deserialize, Serialize};

use crate::case::TermsAsked;
use crate::steps::StepColumns;

/// A program under test.
pub trait Subject {
    /// Answers one request about one board.
    ///
    /// # Errors
    /// The subject gave no answer: it cannot read the board, it broke down, it does not know what is asked.
    fn answer(&mut self, ask: &Ask<'_>) -> Result<Answer, SubjectError>;
}

/// What is asked about a board.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[serde(rename_all = "kebab-case", tag = "ask")]
pub enum Ask<'a> {
    /// Its route on these terms, with its order and steps.
    Route {
        /// The board.
        board: BoardText<'a>,
        /// The terms.
        terms: &'a TermsAsked,
    },
    /// The length of its route on these terms; the route may be too long to write out.
    Length {
        /// The board.
        board: BoardText<'a>,
        /// The terms.
        terms: &'a TermsAsked,
    },
    /// Whether it is settled, and which questions matter.
    Comparison {
        /// The board.
        board: BoardText<'a>,
    },
}

/// A board as it is put to a subject.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum BoardText<'a> {
    /// A board line.
    Line(&'a str),
    /// A board file.
    Json(&'a serde_json::Map<String, serde_json::Value>),
}

/// In which form boards are put to a subject.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Form {
    /// As a board line where the case has one, else as a board file.
    Line,
    /// As a board file.
    Json,
}

/// What a subject answers.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "answer")]
pub enum Answer {
    /// The route.
    Route(RouteAnswer),
    /// The board is refused, for these rules.
    Errors {
        /// The rules' names, in any order, each as often as it was found.
        errors: Vec<String>,
    },
    /// Without a number of plays there is no route.
    NeedsPlays,
    /// Whether the board is settled.
    Comparison(Comparison),
}

/// A route, as far as the subject tells it.
#[derive(Clone, Default, PartialEq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct RouteAnswer {
    /// Its length.
    pub length: u64,
    /// The measures as played; may be absent when the length was asked for.
    #[serde(default)]
    pub order: Option<Vec<u16>>,
    /// What the steps carry.
    #[serde(default)]
    pub steps: StepColumns,
}

/// Whether a board is settled, and which questions matter.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Comparison {
    /// Whether every reading gives the same route.
    pub settled: bool,
    /// The questions that matter, in any order.
    pub questions: Vec<String>,
}

/// Why a subject gave no answer.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("{message}")]
pub struct SubjectError {
    message: String,
}

impl SubjectError {
    /// With a message for people: lower case, no full stop.
    pub fn new(message: impl Into<String>) -> SubjectError {
        SubjectError {
            message: message.into(),
        }
    }
}
