//! Fixes as answers hold them, and the text of a board with its safe fixes made.

use fingerpost::{
    Board, CheckOptions, Edit, Finding, Fix, FixKind, Marking, edit_json, fixes_of_all, safe_fixes,
};
use serde_json::Value;

use crate::source::{BoardRead, Form};

/// Edits of the board that cure a finding. Each fix has been tried by itself: with it the finding is gone, and there is no error that was
/// not there before. The fixes of two findings may spoil each other: ask again after each that is made.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct FixAnswer {
    /// What it does, in at most 80 characters.
    pub title: String,
    /// Whether it leaves what is played as it is, or somebody has to choose it.
    pub kind: FixKind,
    /// The edits as a JSON Patch (RFC 6902) of the board file. For a board given as a line they are those of a board file whose markings
    /// stand in the order of the line; for a score, of one whose markings stand in the order in which they were read.
    pub edits: Vec<PatchAnswer>,
    /// The board line with the fix made; for a board given as a line.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<String>,
    /// The fix itself.
    #[serde(skip)]
    pub(crate) fix: Fix,
}

/// One operation of a JSON Patch.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "op", rename_all = "kebab-case")]
pub enum PatchAnswer {
    /// Another value in place of the one at `path`.
    Replace {
        /// The JSON Pointer of a marking.
        path: String,
        /// A marking as a board file has it.
        value: Value,
    },
    /// The value at `path` taken away.
    Remove {
        /// The JSON Pointer of a marking.
        path: String,
    },
    /// A value more.
    Add {
        /// `/markings/-`: behind all markings; `/markings`: all markings of a board that had none.
        path: String,
        /// A marking as a board file has it, or a list of them.
        value: Value,
    },
}

/// The text of a board with its safe fixes made.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub struct Mended {
    /// The text: of a board file with the layout it had, or a board line.
    pub text: String,
    /// What was done, in order.
    pub titles: Vec<String>,
    /// Whether there may be more to do: of a very large board not every fix is tried in one go.
    pub unfinished: bool,
}

/// The most rounds of safe fixes in one go. A round makes all that can be made at once, and few boards have a third.
const MOST_ROUNDS: usize = 100;
/// The most measures and markings that are gone through in all rounds together, so that a large board has fewer of them.
const MOST_WORK: usize = 400_000;

impl BoardRead<'_> {
    /// The fixes of findings on this board, in the order of the findings.
    pub(crate) fn fixes(&self, findings: &[Finding]) -> Vec<Vec<FixAnswer>> {
        let all = fixes_of_all(&self.board, findings, &CheckOptions::default());
        let book = self.book();
        let answer = |fix: Fix| FixAnswer {
            title: book.title(&self.board, &fix),
            kind: fix.kind,
            edits: patch(&self.board, &fix.edits),
            line: match self.form {
                Form::Json | Form::Score => None,
                Form::Line => fix.apply(&self.board).ok().map(|board| board.to_line()),
            },
            fix,
        };
        all.into_iter()
            .map(|fixes| fixes.into_iter().map(answer).collect())
            .collect()
    }

    /// This board with its safe fixes made, in rounds, until none is left or the board is too large for another; `None` when it has none,
    /// and for a score, which is never written. Of a board too large for all of them to be tried it may be the board as it was.
    pub fn mended(&self) -> Option<Mended> {
        if self.form == Form::Score {
            return None;
        }
        let mut mended = Mended {
            text: self.text().to_owned(),
            titles: Vec::new(),
            unfinished: false,
        };
        let mut board = self.board.clone();
        let size = usize::from(board.measures()) + board.markings().len();
        let rounds = (MOST_WORK / size.max(1)).clamp(1, MOST_ROUNDS);
        for round in 1.. {
            let safe = safe_fixes(&board);
            if safe.fixes.is_empty() {
                mended.unfinished = safe.broken_off;
                break;
            }
            let edits = safe.fixes.iter().flat_map(|fix| fix.edits.clone());
            let edits: Vec<Edit> = edits.collect();
            let Ok(edited) = board.edited(&edits) else {
                break;
            };
            mended.text = match self.form {
                Form::Json => match edit_json(&mended.text, &edits) {
                    Ok(text) => text,
                    Err(_) => break,
                },
                Form::Line | Form::Score => edited.to_line(),
            };
            let book = self.book();
            let titles = safe.fixes.iter().map(|fix| book.title(&board, fix));
            mended.titles.extend(titles);
            board = edited;
            mended.unfinished = safe.broken_off || round == rounds;
            if mended.unfinished {
                break;
            }
        }
        (mended.unfinished || !mended.titles.is_empty()).then_some(mended)
    }
}

impl FixAnswer {
    /// Whether it can be made without asking anybody.
    pub fn is_safe(&self) -> bool {
        self.kind == FixKind::Safe
    }
}

/// Edits as operations that can be made one after the other: what is replaced first, then what is taken away from the end on, so that no
/// index moves before its turn, then what is added.
fn patch(board: &Board, edits: &[Edit]) -> Vec<PatchAnswer> {
    let path = |index: usize| format!("/markings/{index}");
    let mut operations = Vec::with_capacity(edits.len());
    let mut removed: Vec<usize> = Vec::new();
    let mut added: Vec<Value> = Vec::new();
    for edit in edits {
        match edit {
            Edit::Replace(index, marking) => operations.push(PatchAnswer::Replace {
                path: path(*index),
                value: value(marking),
            }),
            Edit::Remove(index) => removed.push(*index),
            Edit::Add(marking) => added.push(value(marking)),
            _ => {}
        }
    }
    removed.sort_unstable_by(|one, other| other.cmp(one));
    let removed = removed.into_iter().map(path);
    operations.extend(removed.map(|path| PatchAnswer::Remove { path }));
    if board.markings().is_empty() && !added.is_empty() {
        // The board file may have no `markings`; where it has them, they are replaced.
        operations.push(PatchAnswer::Add {
            path: "/markings".to_owned(),
            value: Value::Array(added),
        });
    } else {
        operations.extend(added.into_iter().map(|value| PatchAnswer::Add {
            path: "/markings/-".to_owned(),
            value,
        }));
    }
    operations
}

fn value(marking: &Marking) -> Value {
    // cannot fail: a marking writes itself as JSON.
    serde_json::from_str(&marking.to_json()).unwrap_or_default()
}
