//! Fixes: edits of a board that cure a finding. What a rule proposes is tried before it is offered, so that a fix offered is a fix proved.

use super::CheckOptions;
use super::finding::Finding;
use super::ward::Ward;
use crate::board::{Board, Edit, EditError};

/// The most proposals that are tried against one finding.
pub const MOST_TRIED: usize = 24;
/// The most fixes that are offered for one finding.
pub const MOST_OFFERED: usize = 4;
/// The most findings of one board for which fixes are looked for.
pub const MOST_FINDINGS_FIXED: usize = 64;
/// The most measures and markings, taken together, with which [`MOST_FINDINGS_FIXED`] findings get fixes. On a board twice as large half
/// as many do, and so on; the first one always does.
pub const FULLY_FIXED: usize = 1_000;
/// Edits that cure one finding of a board.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[non_exhaustive]
pub struct Fix {
    /// The edits, all of them needed. Their indices are those of the board.
    pub edits: Vec<Edit>,
    /// Whether it can be made without asking anybody.
    pub kind: FixKind,
}

/// Whether a fix leaves the music as it is.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, serde::Serialize, serde::Deserialize,
)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum FixKind {
    /// What is played stays the same (the order, the passes, the octaves, the hands, what is held), under every reading under which the
    /// board has a route. On a board with errors: it restores the only meaning that the signs can have. No sign is taken away that could
    /// matter once its partner is there.
    Safe,
    /// It may change what is played, it moves a sign, or it takes one away that may still wait for its partner (a segno, a coda, a Fine, a
    /// start repeat, an ending, a D.C. …) or its time (the return on a board without a D.C. or D.S., a repeat on one without an end repeat):
    /// somebody who knows the piece has to choose it. So too where it takes away what may stay as well: the start repeat at the first measure.
    Choice,
}

impl Fix {
    /// The board with this fix made.
    ///
    /// ```
    /// use fingerpost::{Board, FixKind, check, fixes};
    /// let board: Board = "1 |: 2 fermata(pass 3) :| 3 |".parse()?;
    /// let findings = check(&board);
    /// let fixes = fixes(&board, &findings[0]);
    /// assert_eq!(fixes[0].kind, FixKind::Safe);
    /// assert_eq!(fixes[0].apply(&board)?.to_line(), "1 |: 2 :| 3 |]");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// On another board than the one it was made for: as [`Board::edited`]. On its own board it does not fail.
    pub fn apply(&self, board: &Board) -> Result<Board, EditError> {
        board.edited(&self.edits)
    }
}

/// The fixes of one finding of a board, the best first: safe ones before choices, those that only take signs away
/// behind all others of their kind, then those that lead as the board is read now before one that leads otherwise, then those that leave
/// fewer findings.
///
/// Each has been tried: with it the finding is gone, no other of its rule has come in its place, and the board has no error that it did
/// not have before. It has been tried by itself: the fixes of two findings may spoil each other, so that a board is checked again after
/// each that is chosen ([`safe_fixes`](crate::safe_fixes) gives those that go together). Every rule has its own proposals, [`MOST_TRIED`] of which are tried at most, and the first [`MOST_OFFERED`] that hold
/// are offered; for a finding that no edit of signs can cure there are none.
pub fn fixes(board: &Board, finding: &Finding) -> Vec<Fix> {
    fixes_with(board, finding, &CheckOptions::default())
}

/// As [`fixes`], for a finding of [`check_with`](crate::check_with) with these options.
pub fn fixes_with(board: &Board, finding: &Finding, options: &CheckOptions) -> Vec<Fix> {
    Ward::new(board, options).fixes(finding)
}

/// The fixes of many findings of one board, in the order of the findings: what is known of the board is worked out once.
///
/// Only the first findings of a large board get fixes, so that the time taken stays in proportion to the board: [`MOST_FINDINGS_FIXED`]
/// of a board of up to [`FULLY_FIXED`] measures and markings, fewer of a larger one, one of a board twice as large as that many times
/// [`FULLY_FIXED`].
pub fn fixes_of_all(board: &Board, findings: &[Finding], options: &CheckOptions) -> Vec<Vec<Fix>> {
    let mut fixes = Vec::with_capacity(findings.len());
    if !findings.is_empty() {
        let ward = Ward::new(board, options);
        let first = findings.iter().take(most_findings(board));
        fixes.extend(first.map(|finding| ward.fixes(finding)));
        fixes.resize_with(findings.len(), Vec::new);
    }
    fixes
}

/// A safe fix for the first finding that has one; the findings are looked through as far as [`fixes_of_all`] goes.
pub fn safe_fix(board: &Board, findings: &[Finding]) -> Option<Fix> {
    let options = CheckOptions::default();
    if findings.is_empty() {
        return None;
    }
    Ward::new(board, &options).safe_fix(findings)
}

/// For how many findings of a board fixes are looked for.
pub(super) fn most_findings(board: &Board) -> usize {
    let size = usize::from(board.measures()) + board.markings().len();
    (MOST_FINDINGS_FIXED * FULLY_FIXED / size.max(1)).clamp(1, MOST_FINDINGS_FIXED)
}
