//! Text for people: findings as soon as they are known, and a summary.

use fingerpost_json::{CheckAnswer, CheckedBoard, FixAnswer, Form};

use super::{Kept, Make, Part, Seen};
use crate::Streams;
use crate::text::{counted, listed};
use crate::{mend, report};

pub(super) struct Text;

/// What stands below the findings of a score that have fixes.
const NEVER_WRITTEN: &str = "\
The fixes are for you to make in the score: --fix writes board files, and never a score.
";

/// What stands below all findings where a board has several whose fixes are a choice.
const ONE_BY_ONE: &str = "\
Each fix was tried by itself, and one may spoil another: check again after each that you make.
";

/// The most lines that tell of safe fixes made on one board.
const MOST_MADE_SHOWN: usize = 100;

impl Make for Text {
    fn part(&self, seen: &Seen<'_>) -> Part {
        // Complaints of boards that cannot be read go to standard error.
        let mut now = made(seen);
        if let Some(read) = seen.read {
            let findings = &seen.board.findings;
            now.push_str(&report::findings(seen.name, read, findings));
            if read.form == Form::Score && findings.iter().any(|it| !it.fixes.is_empty()) {
                now.push_str(NEVER_WRITTEN);
            }
            let firsts = findings.iter().filter_map(|finding| finding.fixes.first());
            if firsts.into_iter().any(FixAnswer::is_safe) {
                now.push_str(&mend::would_change(seen.name, read));
            }
        }
        Part {
            now,
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
        let together = if answer.boards.iter().any(has_choices) {
            ONE_BY_ONE
        } else {
            ""
        };
        writeln!(streams.stdout, "{together}{more}{}", summary(answer, read))
    }
}

/// Whether the fixes of several findings can be made on a board, and somebody has to choose one of them.
fn has_choices(board: &CheckedBoard) -> bool {
    let firsts = board.findings.iter().filter_map(|it| it.fixes.first());
    let firsts: Vec<&FixAnswer> = firsts.collect();
    firsts.len() > 1 && firsts.into_iter().any(|it| !it.is_safe())
}

/// The safe fixes that were made, and the text that was not written into a file.
fn made(seen: &Seen<'_>) -> String {
    let name = report::shown_name(seen.name);
    let mut text = String::new();
    let made = &seen.board.made;
    let runs: Vec<&[String]> = made.chunk_by(|one, other| one == other).collect();
    for run in runs.iter().take(MOST_MADE_SHOWN) {
        let [title, ..] = run else { continue };
        let times = match run.len() {
            1 => String::new(),
            times => format!(" ({times} times)"),
        };
        text.push_str(&format!("{name}: made: {title}{times}\n"));
    }
    let more: usize = runs.iter().skip(MOST_MADE_SHOWN).map(|run| run.len()).sum();
    if more > 0 {
        text.push_str(&format!("{name}: made: {more} more\n"));
    }
    if seen.board.unfinished {
        let more = if made.is_empty() {
            "this board is too large for every fix to be tried; there may be safe ones"
        } else {
            "there may be more safe fixes: `--fix` makes them when it is run again"
        };
        text.push_str(&format!("{name}: {more}\n"));
    }
    // The board of standard input goes to standard output alone.
    if let Some(board) = seen.board.text.as_ref().filter(|_| seen.name != "-") {
        text.push_str(board);
        if !board.ends_with('\n') {
            text.push('\n');
        }
    }
    text
}

/// One line at the end: how many boards were checked and what was found.
fn summary(answer: &CheckAnswer, read: u64) -> String {
    if read == 0 && answer.unread > 0 {
        return format!("no board could be read, of {}", answer.unread);
    }
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
    let made = answer.boards.iter().map(|board| board.made.len() as u64);
    let made = match made.sum() {
        0 => String::new(),
        count => format!("; {} made", counted(count, "safe fix", "safe fixes")),
    };
    format!("{boards} checked: {found}{made}{unread}")
}

#[cfg(test)]
mod tests {
    use fingerpost_json::{CheckedBoard, Source};

    use super::super::Seen;
    use super::made;

    #[test]
    fn what_another_run_would_make_is_said() {
        let read = Source::line("1 | 2 |]").read().expect("a board");
        let board = CheckedBoard {
            made: vec!["Take the Fine away".to_owned(); 2],
            unfinished: true,
            ..CheckedBoard::of(None, &read)
        };
        let seen = Seen {
            name: "hut.json",
            path: None,
            read: Some(&read),
            board: &board,
        };
        assert_eq!(
            made(&seen),
            "hut.json: made: Take the Fine away (2 times)\n\
            hut.json: there may be more safe fixes: `--fix` makes them when it is run again\n"
        );
    }
}
