//! The code quality report of GitLab: a JSON array of issues, each with `description`, `check_name`, `fingerprint`, `severity` and
//! `location`, as GitLab's documentation of code quality asks for.

use std::collections::HashSet;

use fingerpost::Severity;

use super::annotations::of_board;
use super::{OFFSET, fingerprints, fnv_1a};
use crate::check::CheckedBoard;

/// An issue of the report.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
pub struct QualityIssue {
    /// What is wrong.
    pub description: String,
    /// The rule, or what kind of fault keeps the board from being read.
    pub check_name: String,
    /// A name of this issue that stays the same from one report to the next.
    pub fingerprint: String,
    /// How grave it is.
    pub severity: QualitySeverity,
    /// Where it is.
    pub location: QualityPlace,
}

/// How grave an issue is.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum QualitySeverity {
    /// A piece of advice.
    Info,
    /// A warning.
    Minor,
    /// An error.
    Major,
    /// A board that cannot be read.
    Blocker,
}

/// Where an issue is.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
pub struct QualityPlace {
    /// The path of the file from the root of the repository; of a board that is no file its name.
    pub path: String,
    /// The lines.
    pub lines: QualityLines,
}

/// The lines at which an issue is.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize)]
pub struct QualityLines {
    /// The first line, counted from 1; 1 for an issue that is about the whole board.
    pub begin: u32,
}

/// A board's findings, or why it cannot be read, as issues.
pub fn quality_issues(path: Option<&str>, board: &CheckedBoard) -> Vec<QualityIssue> {
    let file = path.or(board.file.as_deref()).unwrap_or("board");
    let mut fingerprints = fingerprints(Some(file), board).into_iter();
    let issue = |(index, mark): (usize, super::annotations::Annotation<'_>)| QualityIssue {
        check_name: mark.code,
        // A complaint of a reader has no place on the board: what tells it from others is what it says.
        fingerprint: fingerprints.next().unwrap_or_else(|| {
            let parts = [file, mark.message.as_str(), &index.to_string()];
            let hash = parts.iter().fold(OFFSET, |hash, part| {
                fnv_1a(fnv_1a(hash, part.as_bytes()), &[0])
            });
            format!("{hash:032x}")
        }),
        severity: match mark.severity {
            _ if board.error.is_some() => QualitySeverity::Blocker,
            Severity::Error => QualitySeverity::Major,
            Severity::Warning => QualitySeverity::Minor,
            Severity::Advice => QualitySeverity::Info,
        },
        location: QualityPlace {
            path: file.to_owned(),
            lines: QualityLines {
                begin: mark.line.unwrap_or(1),
            },
        },
        description: mark.message.replace('\n', "; "),
    };
    let marks = of_board(Some(file), board).into_iter().enumerate();
    marks.map(issue).collect()
}

/// The report of many boards. An issue that is there already, of a file that was given twice, is not written again.
pub fn quality_report(issues: impl IntoIterator<Item = QualityIssue>) -> Vec<QualityIssue> {
    let mut seen = HashSet::new();
    let mut report: Vec<QualityIssue> = issues.into_iter().collect();
    report.retain(|issue| seen.insert(issue.fingerprint.clone()));
    report
}
