//! The verb `check`.

use fingerpost::Severity;

use crate::VERSION;
use crate::error::{ErrorAnswer, ErrorBody};
use crate::findings::FindingAnswer;
use crate::score::TuneAnswer;
use crate::source::BoardRead;

/// The findings on one board or on many.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CheckAnswer {
    /// The version of the answer: 1.
    pub version: u32,
    /// The boards, in the order in which they were given.
    pub boards: Vec<CheckedBoard>,
    /// How many errors there are in all.
    pub errors: u64,
    /// How many warnings there are in all.
    pub warnings: u64,
    /// How many pieces of advice there are in all.
    pub advice: u64,
    /// How many boards could not be read.
    pub unread: u64,
}

/// One board of a check.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CheckedBoard {
    /// The name it was given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// The tune, when the file is a book of tunes in ABC: each tune is a board of its own.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tune: Option<TuneAnswer>,
    /// Its findings, in board order; before them what was noticed in reading a score.
    pub findings: Vec<FindingAnswer>,
    /// Why it could not be read; such a board has no findings.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub error: Option<ErrorBody>,
    /// The safe fixes that the command made (`check --fix`), in order. The findings are those that are left. A score is never written: none
    /// is made of it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub made: Vec<String>,
    /// The text of the board with these fixes made, when it was not written into its file: of a board line, or of a text from standard input.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub text: Option<String>,
    /// Whether there may be more safe fixes (`check --fix`): of a very large board not all are tried in one run. When some were made, another
    /// run goes on.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub unfinished: bool,
}

impl CheckedBoard {
    /// Checks a board.
    pub fn of(file: Option<String>, read: &BoardRead) -> CheckedBoard {
        let mut findings = read.notices();
        findings.extend(read.findings(&fingerpost::check(&read.board)));
        CheckedBoard {
            file,
            tune: read.tune().cloned(),
            findings,
            error: None,
            made: Vec::new(),
            text: None,
            unfinished: false,
        }
    }

    /// A board that could not be read.
    pub fn unread(file: Option<String>, error: ErrorAnswer) -> CheckedBoard {
        CheckedBoard {
            file,
            tune: None,
            findings: Vec::new(),
            error: Some(error.error),
            made: Vec::new(),
            text: None,
            unfinished: false,
        }
    }
}

impl FromIterator<CheckedBoard> for CheckAnswer {
    fn from_iter<I: IntoIterator<Item = CheckedBoard>>(boards: I) -> CheckAnswer {
        let mut answer = CheckAnswer {
            version: VERSION,
            boards: Vec::new(),
            errors: 0,
            warnings: 0,
            advice: 0,
            unread: 0,
        };
        for board in boards {
            for finding in &board.findings {
                match finding.severity {
                    Severity::Error => answer.errors += 1,
                    Severity::Warning => answer.warnings += 1,
                    Severity::Advice => answer.advice += 1,
                }
            }
            answer.unread += u64::from(board.error.is_some());
            answer.boards.push(board);
        }
        answer
    }
}

/// Checks boards, each file with its name and all the boards in it.
pub fn check<'a>(
    files: impl IntoIterator<Item = (Option<String>, Result<Vec<BoardRead<'a>>, ErrorAnswer>)>,
) -> CheckAnswer {
    let mut checked = Vec::new();
    for (file, read) in files {
        match read {
            Ok(boards) => {
                let boards = boards.iter();
                checked.extend(boards.map(|read| CheckedBoard::of(file.clone(), read)));
            }
            Err(error) => checked.push(CheckedBoard::unread(file, error)),
        }
    }
    checked.into_iter().collect()
}
