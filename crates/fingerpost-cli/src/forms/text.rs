//! Text for people: findings as soon as they are known, and a summary.

use fingerpost_json::CheckAnswer;

use super::{Kept, Make, Part, Seen};
use crate::Streams;
use crate::report;
use crate::text::{counted, listed};

pub(super) struct Text;

impl Make for Text {
    fn part(&self, seen: &Seen<'_>) -> Part {
        let findings = |read| report::findings(seen.name, read, &seen.board.findings);
        Part {
            // Complaints of boards that cannot be read go to standard error.
            now: seen.read.map(findings).unwrap_or_default(),
            kept: Kept::Nothing,
        }
    }

    fn end(
        &self,
        streams: &mut Streams<'_>,
        answer: &CheckAnswer,
        _: Vec<Kept>,
    ) -> std::io::Result<()> {
        let read = answer.boards.len() as u64 - answer.unread;
        if read == 0 && answer.boards.len() == 1 {
            return Ok(());
        }
        let findings = answer.boards.iter().flat_map(|board| &board.findings);
        let more = report::more(findings);
        writeln!(streams.stdout, "{more}{}", summary(answer, read))
    }
}

/// One line at the end: how many boards were checked and what was found.
fn summary(answer: &CheckAnswer, read: u64) -> String {
    let boards = counted(read, "board", "boards");
    let counts = [
        (answer.errors, "error", "errors"),
        (answer.warnings, "warning", "warnings"),
        (answer.advice, "piece of advice", "pieces of advice"),
    ];
    let found: Vec<String> = counts
        .into_iter()
        .filter(|&(count, ..)| count > 0)
        .map(|(count, one, many)| counted(count, one, many))
        .collect();
    let found = if found.is_empty() {
        "nothing wrong".to_owned()
    } else {
        listed(&found)
    };
    let unread = match answer.unread {
        0 => String::new(),
        count => format!("; {} not read", counted(count, "board", "boards")),
    };
    format!("{boards} checked: {found}{unread}")
}
