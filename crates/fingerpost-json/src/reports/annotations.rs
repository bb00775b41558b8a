//! What a line says that marks a place of a file in the log of a service.

use fingerpost::Severity;

use crate::check::CheckedBoard;
use crate::error::ErrorBody;

/// A mark at a place of a file, before it is written in the way of a service.
pub(super) struct Annotation<'a> {
    pub(super) severity: Severity,
    /// The rule, or what kind of fault keeps the board from being read.
    pub(super) code: String,
    pub(super) path: Option<&'a str>,
    pub(super) line: Option<u32>,
    pub(super) column: Option<u32>,
    pub(super) message: String,
}

/// The marks of a board: one for each finding, or for each complaint of a board that cannot be read.
pub(super) fn of_board<'a>(path: Option<&'a str>, board: &'a CheckedBoard) -> Vec<Annotation<'a>> {
    let name = super::name(path, board);
    let findings = board.findings.iter().map(|finding| {
        let place = finding.place.as_ref().map(|place| heading(&place.words));
        let place = place.unwrap_or_default();
        Annotation {
            severity: finding.severity,
            code: finding.rule.clone(),
            path,
            line: finding.line,
            column: finding.column,
            message: format!("{name}{place}{}\nhelp: {}", finding.message, finding.help),
        }
    });
    let complaints = board.error.as_ref();
    let complaints = complaints.map(|error| unread(path, &name, error));
    findings.chain(complaints.into_iter().flatten()).collect()
}

/// A place before what is said of it: `measure 5: `, `at the end of measure 4: `. After the message it would read as its last words.
fn heading(place: &str) -> String {
    format!("{}: ", place.strip_prefix("in ").unwrap_or(place))
}

fn unread<'a>(path: Option<&'a str>, name: &str, error: &ErrorBody) -> Vec<Annotation<'a>> {
    let mark = |message: String, line, column| Annotation {
        severity: Severity::Error,
        code: error.kind.name().to_owned(),
        path,
        line,
        column,
        message,
    };
    if error.complaints.is_empty() {
        return vec![mark(format!("{name}{}", error.message), None, None)];
    }
    let complaints = error.complaints.iter().map(|complaint| {
        let accepted = complaint.accepted.as_ref();
        let accepted = accepted.map_or_else(String::new, |words| format!("\naccepted: {words}"));
        let message = format!("{name}{}{accepted}", complaint.message);
        mark(message, complaint.line, complaint.column)
    });
    complaints.collect()
}
