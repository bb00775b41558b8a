//! The answer to a request that cannot be carried out.

use fingerpost::Refusal;

use crate::VERSION;
use crate::findings::FindingAnswer;
use crate::source::BoardRead;

/// A request that cannot be carried out.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ErrorAnswer {
    /// The version of the answer: 1.
    pub version: u32,
    /// Why the request cannot be carried out.
    pub error: ErrorBody,
}

/// Why a request cannot be carried out.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ErrorBody {
    /// What kind of fault it is.
    pub kind: ErrorKind,
    /// What is wrong, in one line.
    pub message: String,
    /// Everything that is wrong with the text of the request or of the board, in the order of the text.
    pub complaints: Vec<ComplaintAnswer>,
    /// For a board that can be read and has errors: its findings.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub findings: Vec<FindingAnswer>,
    /// For a board that was read from a score and has errors: what was noticed in reading it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub notices: Vec<FindingAnswer>,
}

/// The kinds of fault.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum ErrorKind {
    /// The request is not JSON, has an unknown verb or key, or lacks something.
    Request,
    /// The text of the board is no board; the complaints say where.
    NoBoard,
    /// The text is of a format that is not read.
    FormatNotRead,
    /// The score is a book of several tunes: `tune` has to say which is meant.
    SeveralTunes,
    /// The board has errors, so that it has no route; the findings say which.
    BoardErrors,
    /// A section is played until a signal: `plays` has to say how many times.
    OpenSection,
    /// No rule, clause, question, reading, schema, tune or part has this name.
    UnknownName,
    /// A file cannot be written: nothing in it was changed.
    NotWritten,
    /// No board is as it is wished for.
    Impossible,
}

impl ErrorKind {
    /// All of them.
    #[cfg(test)]
    const ALL: [ErrorKind; 9] = [
        ErrorKind::Request,
        ErrorKind::NoBoard,
        ErrorKind::FormatNotRead,
        ErrorKind::SeveralTunes,
        ErrorKind::BoardErrors,
        ErrorKind::OpenSection,
        ErrorKind::UnknownName,
        ErrorKind::NotWritten,
        ErrorKind::Impossible,
    ];

    /// Its name in JSON.
    pub fn name(self) -> &'static str {
        match self {
            ErrorKind::Request => "request",
            ErrorKind::NoBoard => "no-board",
            ErrorKind::FormatNotRead => "format-not-read",
            ErrorKind::SeveralTunes => "several-tunes",
            ErrorKind::BoardErrors => "board-errors",
            ErrorKind::OpenSection => "open-section",
            ErrorKind::UnknownName => "unknown-name",
            ErrorKind::NotWritten => "not-written",
            ErrorKind::Impossible => "impossible",
        }
    }
}

/// One thing that is wrong with a text.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ComplaintAnswer {
    /// What is wrong.
    pub message: String,
    /// What would be accepted there.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub accepted: Option<String>,
    /// The JSON Pointer of the value: inside the request for a board given as `board`, inside the board file for one given as `text`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pointer: Option<String>,
    /// The line, counted from 1: of the request for a board given as `board`, else of the board's own text.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<u32>,
    /// The column in characters, counted from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub column: Option<u32>,
}

impl ErrorAnswer {
    /// A fault with its message, lower case and without a full stop.
    pub fn new(kind: ErrorKind, message: impl Into<String>) -> ErrorAnswer {
        ErrorAnswer {
            version: VERSION,
            error: ErrorBody {
                kind,
                message: message.into(),
                complaints: Vec::new(),
                findings: Vec::new(),
                notices: Vec::new(),
            },
        }
    }

    /// The same with everything that is wrong with the text.
    #[must_use]
    pub fn with_complaints(mut self, complaints: Vec<ComplaintAnswer>) -> ErrorAnswer {
        self.error.complaints = complaints;
        self
    }

    /// Why a board has no route on the terms asked for.
    pub fn refused(read: &BoardRead, refusal: &Refusal) -> ErrorAnswer {
        let told = |refusal: &Refusal| read.book().message(&refusal.to_string());
        match refusal {
            Refusal::Errors(errors) => {
                let count = match errors.len() {
                    1 => "1 error".to_owned(),
                    count => format!("{count} errors"),
                };
                let message = format!("the board has {count} and no route");
                let mut answer = ErrorAnswer::new(ErrorKind::BoardErrors, message);
                answer.error.findings = read.findings(errors);
                answer.error.notices = read.notices();
                answer
            }
            Refusal::OpenPlays { .. } => ErrorAnswer::new(ErrorKind::OpenSection, told(refusal)),
            _ => ErrorAnswer::new(ErrorKind::Request, told(refusal)),
        }
    }
}

/// The name among `known` that is nearest to `found`, when one is near enough to be meant.
pub(crate) fn nearest<'a>(
    found: &str,
    known: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    // No known name is nearly that long.
    if found.len() > 100 {
        return None;
    }
    let found = found.to_lowercase();
    let near = |name: &str| strsim::damerau_levenshtein(&found, name);
    known
        .into_iter()
        .map(|name| (near(name), name))
        .filter(|&(distance, name)| distance <= 1 + name.chars().count() / 4)
        .min_by_key(|&(distance, _)| distance)
        .map(|(_, name)| name)
}

/// A name as a message shows it: cut when it is very long.
pub(crate) fn shown(name: &str) -> String {
    let mut chars = name.chars();
    let mut short: String = chars.by_ref().take(60).collect();
    if chars.next().is_some() {
        short.push('…');
    }
    short.replace(|c: char| c.is_control(), "\u{fffd}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_kind_has_the_name_that_json_gives_it() {
        for kind in ErrorKind::ALL {
            assert_eq!(serde_json::to_value(kind).unwrap(), kind.name());
        }
    }
}
