//! How a command ends.

use fingerpost_json::ErrorAnswer;

use crate::Streams;

/// A command that has been carried out.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Outcome {
    /// Done, and nothing wrong.
    Clean,
    /// There are findings of the level asked for.
    Found,
}

/// A command that could not be carried out.
#[derive(Debug)]
pub(crate) enum Failure {
    /// The complaint is on standard error.
    Refused,
    /// A stream failed.
    Stream(std::io::Error),
}

impl From<std::io::Error> for Failure {
    fn from(error: std::io::Error) -> Failure {
        Failure::Stream(error)
    }
}

/// Complains in one line and refuses.
pub(crate) fn refuse(streams: &mut Streams<'_>, message: &str) -> Failure {
    match writeln!(streams.stderr, "fingerpost: {message}") {
        Ok(()) => Failure::Refused,
        Err(error) => error.into(),
    }
}

/// Refuses with an answer of the JSON door: as JSON when that was asked for, else with its message and what would be accepted.
pub(crate) fn refuse_with(streams: &mut Streams<'_>, answer: &ErrorAnswer, json: bool) -> Failure {
    if json {
        let text = serde_json::to_string(answer).unwrap_or_default();
        return match writeln!(streams.stderr, "{text}") {
            Ok(()) => Failure::Refused,
            Err(error) => error.into(),
        };
    }
    let mut message = answer.error.message.clone();
    for complaint in &answer.error.complaints {
        if let Some(accepted) = &complaint.accepted {
            message = format!("{message}\n  accepted: {accepted}");
        }
    }
    refuse(streams, &message)
}
