//! Logging commands: `##vso[task.logissue type=…;sourcepath=…;linenumber=…;columnnumber=…;code=…]message`, one a line.
//!
//! The grammar is that of the documentation of Azure Pipelines, the escapes those of its task library: `%`, carriage return and line feed
//! are written as `%AZP25`, `%0D` and `%0A`; in a property besides `]` as `%5D` and `;` as `%3B`.

use fingerpost::Severity;

use super::annotations::{Annotation, of_board};
use crate::check::CheckedBoard;

/// A board's findings, or why it cannot be read, as logging commands. There is no level below a warning: advice is one.
pub fn azure_lines(path: Option<&str>, board: &CheckedBoard) -> String {
    let lines = of_board(path, board);
    lines.iter().map(line).collect()
}

fn line(mark: &Annotation<'_>) -> String {
    let kind = match mark.severity {
        Severity::Error => "error",
        Severity::Warning | Severity::Advice => "warning",
    };
    let mut properties = vec![format!("type={kind}")];
    if let Some(path) = mark.path {
        properties.push(format!("sourcepath={}", property(path)));
    }
    if let Some(line) = mark.line {
        properties.push(format!("linenumber={line}"));
    }
    if let Some(column) = mark.column {
        properties.push(format!("columnnumber={column}"));
    }
    properties.push(format!("code={}", property(&mark.code)));
    let (properties, message) = (properties.join(";"), data(&mark.message));
    format!("##vso[task.logissue {properties};]{message}\n")
}

fn data(text: &str) -> String {
    text.replace('%', "%AZP25")
        .replace('\r', "%0D")
        .replace('\n', "%0A")
}

fn property(text: &str) -> String {
    data(text).replace(']', "%5D").replace(';', "%3B")
}
