//! Workflow commands: `::error file=…,line=…,col=…,title=…::message`, one a line.
//!
//! The grammar and the escapes are those of GitHub's documentation of workflow commands and of its toolkit: `%`, carriage return and line
//! feed are written as `%25`, `%0D` and `%0A`; in a property besides `:` as `%3A` and `,` as `%2C`.

use fingerpost::Severity;

use super::annotations::{Annotation, of_board};
use crate::check::CheckedBoard;

/// A board's findings, or why it cannot be read, as workflow commands. Advice is a notice.
pub fn github_lines(path: Option<&str>, board: &CheckedBoard) -> String {
    let lines = of_board(path, board);
    lines.iter().map(line).collect()
}

fn line(mark: &Annotation<'_>) -> String {
    let name = match mark.severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Advice => "notice",
    };
    let mut properties = Vec::new();
    if let Some(path) = mark.path {
        properties.push(format!("file={}", property(path)));
    }
    if let Some(line) = mark.line {
        properties.push(format!("line={line}"));
    }
    if let Some(column) = mark.column {
        properties.push(format!("col={column}"));
    }
    properties.push(format!("title={}", property(&mark.code)));
    let (properties, message) = (properties.join(","), data(&mark.message));
    format!("::{name} {properties}::{message}\n")
}

fn data(text: &str) -> String {
    text.replace('%', "%25")
        .replace('\r', "%0D")
        .replace('\n', "%0A")
}

fn property(text: &str) -> String {
    data(text).replace(':', "%3A").replace(',', "%2C")
}
