//! The forms in which `check` says what it found: one file a form.

mod azure;
mod github;
mod gitlab;
mod json;
mod sarif;
mod text;

use std::path::{Component, Path};

use fingerpost_json::{BoardRead, CheckAnswer, CheckedBoard, QualityIssue, SarifBoard};

use crate::Streams;

/// A form, by its name on the command line.
#[derive(Clone, Copy, PartialEq, Eq, Debug, clap::ValueEnum)]
pub(crate) enum Form {
    /// For people
    Text,
    /// One JSON object: spec/check.schema.json
    Json,
    /// A SARIF 2.1.0 log, which many services and editors read
    Sarif,
    /// Workflow commands, one a line, for GitHub Actions
    Github,
    /// Logging commands, one a line, for Azure Pipelines
    Azure,
    /// A code quality report for GitLab
    Gitlab,
}

/// A board that has been checked, or that cannot be read.
pub(crate) struct Seen<'a> {
    /// The name by which reports call it.
    pub(crate) name: &'a str,
    /// The path of its file; none of a board line and of standard input.
    pub(crate) path: Option<&'a Path>,
    /// The board; none when it cannot be read.
    pub(crate) read: Option<&'a BoardRead<'a>>,
    pub(crate) board: &'a CheckedBoard,
}

/// What a form makes of one board.
#[derive(Debug, Default)]
pub(crate) struct Part {
    /// What is printed as soon as the board's turn has come.
    pub(crate) now: String,
    /// What is kept for the end.
    pub(crate) kept: Kept,
}

/// What is kept of a board until all are checked.
#[derive(Debug, Default)]
pub(crate) enum Kept {
    /// Nothing but its answer.
    #[default]
    Nothing,
    /// For the log.
    Sarif(SarifBoard),
    /// For the report.
    Quality(Vec<QualityIssue>),
}

impl Form {
    fn make(self) -> &'static dyn Make {
        match self {
            Form::Text => &text::Text,
            Form::Json => &json::Json,
            Form::Sarif => &sarif::Sarif,
            Form::Github => &github::Github,
            Form::Azure => &azure::Azure,
            Form::Gitlab => &gitlab::Gitlab,
        }
    }

    /// What this form makes of a board.
    pub(crate) fn part(self, seen: &Seen<'_>) -> Part {
        self.make().part(seen)
    }

    /// Prints what stands at the end.
    pub(crate) fn end(
        self,
        streams: &mut Streams<'_>,
        answer: &CheckAnswer,
        kept: Vec<Kept>,
    ) -> std::io::Result<()> {
        self.make().end(streams, answer, kept)
    }
}

/// How a form is made.
trait Make {
    fn part(&self, seen: &Seen<'_>) -> Part;
    fn end(
        &self,
        streams: &mut Streams<'_>,
        answer: &CheckAnswer,
        kept: Vec<Kept>,
    ) -> std::io::Result<()>;
}

impl Seen<'_> {
    /// The path of its file as reports give it: from the folder in which the command runs when the file lies there, with `/` between its
    /// parts.
    fn reported(&self) -> Option<String> {
        self.path.map(reported)
    }
}

fn reported(path: &Path) -> String {
    let here = std::env::current_dir().unwrap_or_default();
    let path = path.strip_prefix(&here).unwrap_or(path);
    let mut text = String::new();
    for part in path.components() {
        match part {
            Component::CurDir => continue,
            Component::RootDir => {
                text.push('/');
                continue;
            }
            _ => {}
        }
        if !text.is_empty() && !text.ends_with('/') {
            text.push('/');
        }
        text.push_str(&part.as_os_str().to_string_lossy());
    }
    text
}
