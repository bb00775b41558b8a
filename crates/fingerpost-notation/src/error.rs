//! Why a text is no score.

/// A score that cannot be read: where, and what would be accepted.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("{message}")]
pub struct NotationError {
    kind: NotationErrorKind,
    line: Option<u32>,
    message: String,
}

/// What kind of fault it is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum NotationErrorKind {
    /// None of the formats that are read.
    UnknownFormat,
    /// The text breaks its format.
    Malformed,
    /// The file is cut short.
    Truncated,
    /// A compressed file that cannot be unpacked, or one without a score in it.
    Container,
    /// More than what is read: of measures, of marks, of bytes.
    TooLarge,
    /// The format is right, and no music is in it.
    NoMusic,
    /// The part asked for is not in the score, or its format has no parts to choose from.
    NoSuchPart,
    /// The signs give no order.
    NoOrder,
    /// What was made cannot be written to where it should go.
    NotWritten,
}

impl NotationError {
    pub(crate) fn new(
        kind: NotationErrorKind,
        line: impl Into<Option<u32>>,
        message: impl Into<String>,
    ) -> NotationError {
        NotationError {
            kind,
            line: line.into(),
            message: message.into(),
        }
    }

    /// What kind of fault it is.
    pub fn kind(&self) -> NotationErrorKind {
        self.kind
    }

    /// The line of the file, counted from 1, where one can be named.
    pub fn line(&self) -> Option<u32> {
        self.line
    }
}
