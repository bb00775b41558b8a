//! What is put to a program under test, and what it answers. Both are plain data, so that a subject may as well be another program.

use std::borrow::Cow;

use schemars::JsonSchema;
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
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", tag = "ask", deny_unknown_fields)]
pub enum Ask<'a> {
    /// Its route on these terms, with its order and steps.
    Route {
        /// The board.
        board: BoardText<'a>,
        /// The terms; an empty object for the default reading with nothing chosen.
        #[serde(default)]
        terms: Cow<'a, TermsAsked>,
    },
    /// The length of its route on these terms; the route may be too long to write out.
    Length {
        /// The board.
        board: BoardText<'a>,
        /// The terms; an empty object for the default reading with nothing chosen.
        #[serde(default)]
        terms: Cow<'a, TermsAsked>,
    },
    /// Whether it is settled, and which questions matter.
    Comparison {
        /// The board.
        board: BoardText<'a>,
    },
}

/// A board as it is put to a subject.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum BoardText<'a> {
    /// A board line.
    Line(Cow<'a, str>),
    /// A board file.
    Json(Cow<'a, serde_json::Map<String, serde_json::Value>>),
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
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
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
#[derive(Clone, Default, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct RouteAnswer {
    /// Its length.
    pub length: u64,
    /// The measures as played; may be absent when the length was asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub order: Option<Vec<u16>>,
    /// What the steps carry.
    #[serde(default, skip_serializing_if = "StepColumns::is_empty")]
    pub steps: StepColumns,
}

/// Whether a board is settled, and which questions matter.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
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
    passed_by: bool,
}

impl SubjectError {
    /// With a message for people: lower case, no full stop.
    pub fn new(message: impl Into<String>) -> SubjectError {
        SubjectError {
            message: message.into(),
            passed_by: false,
        }
    }

    /// The subject passes the question by, for this reason: it does not claim to answer it, so nothing has failed.
    pub fn skip(reason: impl Into<String>) -> SubjectError {
        SubjectError {
            message: reason.into(),
            passed_by: true,
        }
    }

    /// Whether the subject passed the question by of its own accord.
    pub fn is_skip(&self) -> bool {
        self.passed_by
    }
}
