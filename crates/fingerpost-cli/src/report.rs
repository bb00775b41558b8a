//! Findings and complaints as people read them.

use std::ops::Range;

use fingerpost::{Complaint, Position};
use fingerpost_json::{BoardRead, ErrorBody, ErrorKind, FindingAnswer, Form};

use crate::Streams;
use crate::input::Unread;
use crate::text::{counted, wrapped};

/// How many bytes on either side of a place are looked at: more than are drawn.
const AROUND: usize = 400;
/// The most findings on one board that are shown.
const MOST_FINDINGS: usize = 100;
/// The longest line of a score that is shown, in bytes.
const LONGEST_LINE: usize = 400;
/// The most of what was noticed in reading a score that is told beside its board.
const MOST_NOTICES: usize = 8;
/// The most complaints about one text that are shown.
const MOST_COMPLAINTS: usize = 20;

/// Findings on a board: place in the text, severity, rule and message; the place on the board; the line of the text with its place marked;
/// what to do. Of more findings than anyone reads the gravest are shown, and the others counted.
pub(crate) fn findings(name: &str, read: &BoardRead, findings: &[FindingAnswer]) -> String {
    let name = shown_name(name);
    let tune = read.tune().map(|tune| format!(", tune {}", tune.words()));
    let of_tune = tune.unwrap_or_default();
    let whole = format!("{name}{of_tune}");
    let places = if findings.is_empty() {
        Vec::new()
    } else {
        read.places()
    };
    let mut text = String::new();
    let shown = gravest(findings, MOST_FINDINGS);
    for finding in &shown {
        let place = match (finding.line, finding.column) {
            (Some(line), Some(column)) => format!("{name}:{line}:{column}"),
            (Some(line), None) => format!("{name}:{line}"),
            (None, _) => whole.clone(),
        };
        let severity = severity(finding.severity);
        let (rule, message) = (&finding.rule, &finding.message);
        text.push_str(&format!("{place}: {severity}[{rule}]: {message}\n"));
        if let Some(place) = &finding.place {
            text.push_str(&format!("  {}{of_tune}\n", place.words));
        }
        if let Some(bytes) = finding.marking.and_then(|index| places.get(index)) {
            text.push_str(&indented(&marked_in(read.text(), bytes)));
        } else if let Some(line) = line_of(read, finding) {
            text.push_str(&indented(&marked_in(line, &(0..line.len()))));
        }
        if !finding.help.is_empty() {
            text.push_str(&format!("  help: {}\n", finding.help));
        }
        for (at, fix) in finding.fixes.iter().enumerate() {
            let lead = if at == 0 { "fix" } else { "or" };
            let safe = if fix.is_safe() { " (safe)" } else { "" };
            text.push_str(&format!("  {lead}: {}{safe}\n", fix.title));
        }
    }
    let more = (findings.len() - shown.len()) as u64;
    if more > 0 {
        let more = counted(more, "finding", "findings");
        text.push_str(&format!(
            "{name}: and {more} more; `fingerpost check --json` tells of all\n"
        ));
    }
    text
}

/// The line of a score's file at which a finding is, without the blanks around it. A file in one long line has none to show.
fn line_of<'a>(read: &'a BoardRead, finding: &FindingAnswer) -> Option<&'a str> {
    let line = finding.line.filter(|_| read.form == Form::Score)?;
    let line = read.line_of_text(line)?.trim();
    (!line.is_empty() && line.len() <= LONGEST_LINE).then_some(line)
}

/// How a score was read, where that was not plain: once below the drawing of its board.
pub(crate) fn how_read(read: &BoardRead, width: usize) -> String {
    noticed("How the score was read", &read.notices(), width)
}

/// How measures are named that their printed numbers do not tell apart, and how a score was read: once below the drawing of its board.
pub(crate) fn how_named_and_read(read: &BoardRead, width: usize) -> String {
    let mut text = String::new();
    if let Some(says) = read.book().counting(&read.board) {
        text.push_str(&wrapped(&says, width, "", "  "));
        text.push('\n');
    }
    text.push_str(&how_read(read, width));
    text
}

/// What was noticed in reading or writing a score, under a heading; nothing when there is nothing.
pub(crate) fn noticed(heading: &str, notices: &[FindingAnswer], width: usize) -> String {
    if notices.is_empty() {
        return String::new();
    }
    let mut text = format!("{heading}\n");
    for notice in gravest(notices, MOST_NOTICES) {
        let place = notice.place.as_ref().map(|place| place.words.clone());
        let line = notice.line.map(|line| format!("line {line}"));
        let place: Vec<String> = place.into_iter().chain(line).collect();
        let place = match place.join(", ") {
            place if place.is_empty() => place,
            place => format!("{place}: "),
        };
        let (message, help, rule) = (&notice.message, &notice.help, &notice.rule);
        let line = format!("{place}{message}; {help}. [{rule}]");
        text.push_str(&wrapped(&line, width, "  ", "    "));
    }
    let more = notices.len().saturating_sub(MOST_NOTICES) as u64;
    if more > 0 {
        text.push_str(&format!("  … {more} more; --json gives them all.\n"));
    }
    text.push('\n');
    text
}

/// The findings that are shown, in board order: all of them, or the gravest when there are too many.
fn gravest(findings: &[FindingAnswer], most: usize) -> Vec<&FindingAnswer> {
    let mut shown: Vec<(usize, &FindingAnswer)> = findings.iter().enumerate().collect();
    if shown.len() > most {
        shown.sort_by_key(|(_, finding)| finding.severity);
        shown.truncate(most);
        shown.sort_by_key(|&(index, _)| index);
    }
    shown.into_iter().map(|(_, finding)| finding).collect()
}

/// Where to read more about findings: once for all of them, in a line; nothing when there are none.
pub(crate) fn more<'a>(findings: impl IntoIterator<Item = &'a FindingAnswer>) -> String {
    let mut rules: Vec<&str> = Vec::new();
    for finding in findings {
        if !rules.contains(&finding.rule.as_str()) {
            rules.push(&finding.rule);
        }
    }
    let Some((first, others)) = rules.split_first() else {
        return String::new();
    };
    let others = if others.is_empty() {
        ""
    } else {
        ", and so for the other rules"
    };
    format!("To read more: `fingerpost explain {first}`{others}\n")
}

/// A place of a text with a mark under it. Of a text in one long line only what lies around the place is looked at.
fn marked_in(text: &str, bytes: &Range<usize>) -> String {
    let mut from = bytes.start.saturating_sub(AROUND);
    while !text.is_char_boundary(from) {
        from -= 1;
    }
    let mut to = bytes.end.saturating_add(AROUND).min(text.len());
    while !text.is_char_boundary(to) {
        to += 1;
    }
    let around = text.get(from..to).unwrap_or(text);
    let place = Complaint {
        message: String::new(),
        accepted: None,
        pointer: None,
        position: Position { line: 1, column: 1 },
        bytes: bytes.start - from..bytes.end - from,
    };
    place.drawn(around)
}

/// The word for a severity.
pub(crate) fn severity(severity: fingerpost::Severity) -> &'static str {
    match severity {
        fingerpost::Severity::Error => "error",
        fingerpost::Severity::Warning => "warning",
        fingerpost::Severity::Advice => "advice",
    }
}

/// The name of an input as text shows it: a file's name may hold characters that would steer the terminal.
pub(crate) fn shown_name(name: &str) -> String {
    name.replace(char::is_control, "\u{fffd}")
}

/// Why a text is no board.
pub(crate) fn unread(unread: &Unread) -> String {
    let name = shown_name(&unread.name);
    if unread.complaints.is_empty() {
        return in_words(&name, &unread.answer.error);
    }
    let mut text = String::new();
    for complaint in unread.complaints.iter().take(MOST_COMPLAINTS) {
        let Position { line, column } = complaint.position;
        text.push_str(&format!("{name}:{line}:{column}: {}\n", complaint.message));
        // The pointer of the whole file is empty, and says nothing.
        if let Some(pointer) = complaint.pointer.as_ref().filter(|it| !it.is_empty()) {
            text.push_str(&format!("  at {}\n", shown_name(pointer)));
        }
        text.push_str(&indented(&complaint.drawn(&unread.text)));
        if let Some(accepted) = &complaint.accepted {
            text.push_str(&format!("  accepted: {accepted}\n"));
        }
    }
    let more = unread.complaints.len().saturating_sub(MOST_COMPLAINTS);
    if more > 0 {
        text.push_str(&format!("{name}: and {more} complaints more\n"));
    }
    text
}

/// A complaint that is drawn into no text: that of the reader of scores, or one about the choice of a tune or part.
fn in_words(name: &str, error: &ErrorBody) -> String {
    let Some(complaint) = error.complaints.first() else {
        return format!("{name}: {}\n", error.message);
    };
    let line = complaint.line.map(|line| format!(":{line}"));
    let line = line.unwrap_or_default();
    let mut text = format!("{name}{line}: {}\n", complaint.message);
    if let Some(accepted) = &complaint.accepted {
        let option = match error.kind {
            ErrorKind::SeveralTunes => "--tune with ",
            _ => "",
        };
        text.push_str(&format!("  accepted: {option}{accepted}\n"));
    }
    text
}

fn indented(lines: &str) -> String {
    let mut text = String::new();
    for line in lines.lines() {
        text.push_str(&format!("    {}\n", line.trim_end()));
    }
    text
}

/// Writes an answer: one JSON object in a line of its own on standard output.
pub(crate) fn answer(
    streams: &mut Streams<'_>,
    answer: &impl serde::Serialize,
) -> std::io::Result<()> {
    serde_json::to_writer(&mut *streams.stdout, answer)?;
    writeln!(streams.stdout)
}

/// Complains about an input that is no board.
pub(crate) fn refuse(
    streams: &mut Streams<'_>,
    unread: &Unread,
    json: bool,
) -> crate::outcome::Failure {
    let text = if json {
        let answer = serde_json::to_string(&unread.answer).unwrap_or_default();
        format!("{answer}\n")
    } else {
        self::unread(unread)
    };
    match streams.stderr.write_all(text.as_bytes()) {
        Ok(()) => crate::outcome::Failure::Refused,
        Err(error) => error.into(),
    }
}
