//! Safe fixes that are made together: proved as one, and halved where they do not hold as one, so that a board with many findings takes
//! hardly longer than one with few.

use std::collections::{HashMap, HashSet};

use super::finding::Finding;
use super::fixes::{Fix, FixKind};
use super::rules::NOT_SETTLED;
use super::spots::{Findings, Moved};
use super::ward::Ward;
use super::{CheckOptions, check_with};
use crate::board::{Board, Edit};

/// The most measures and markings that are gone through in proving, so that a large board is proved fewer times.
const MOST_PROVED: usize = 600_000;
/// The most proofs of a small board.
const MOST_PROOFS: usize = 1_000;

/// Safe fixes of a board that can be made at once.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
#[non_exhaustive]
pub struct SafeFixes {
    /// The fixes, no two of which edit the same marking: the edits of all of them together are safe. They may be many; of each the indices
    /// are those of the board.
    pub fixes: Vec<Fix>,
    /// Whether the search was broken off because the board is large: there may be more.
    pub broken_off: bool,
}

/// Safe fixes of a board that can be made at once. On the board with them made there may be others; when there are none here, there are
/// none.
///
/// Together they are what each is alone ([`FixKind::Safe`]): nothing that is played changes, the findings they are against are gone, and
/// there is no new error. The time taken grows with the board; on a very large one the search is broken off after about a second.
///
/// ```
/// use fingerpost::{Board, safe_fixes};
/// let board: Board = "1 | 2 Fine Fine Fine | 3 D.C. al Fine |".parse()?;
/// let safe = safe_fixes(&board);
/// assert_eq!(safe.fixes.len(), 2);
/// let edits: Vec<_> = safe.fixes.into_iter().flat_map(|fix| fix.edits).collect();
/// assert_eq!(board.edited(&edits)?.to_line(), "1 | 2 Fine | 3 D.C. al Fine |]");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn safe_fixes(board: &Board) -> SafeFixes {
    // Whether a board is settled takes long to find, and no safe fix makes it so: it changes no route.
    let options = CheckOptions {
        most_compared: 0,
        ..CheckOptions::default()
    };
    let findings = check_with(board, &options);
    if findings.is_empty() {
        return SafeFixes::default();
    }
    let ward = Ward::with_findings(board, &options, &findings);
    let proposed = proposed(&ward, &findings);
    let mut broken_off = ward.is_tired();
    let size = usize::from(board.measures()) + board.markings().len();
    let mut proofs = (MOST_PROVED / size.max(1)).clamp(4, MOST_PROOFS);
    let mut made: Vec<&Proposed<'_>> = Vec::new();
    // From the first on: halves that wait stand in the order of the board, the nearest last.
    let mut waiting: Vec<&[Proposed<'_>]> = vec![&proposed];
    while let Some(next) = waiting.pop() {
        if next.is_empty() {
            continue;
        }
        if ward.is_tired() || proofs == 0 {
            broken_off = true;
            break;
        }
        proofs -= 1;
        let with_next: Vec<&Proposed<'_>> = made.iter().copied().chain(next).collect();
        if hold_together(&ward, &with_next) {
            made = with_next;
        } else if next.len() > 1 {
            let (first, second) = next.split_at(next.len() / 2);
            waiting.extend([second, first]);
        }
    }
    let kind = FixKind::Safe;
    let edits = made.into_iter().map(|proposed| proposed.edits.clone());
    let mut fixes: Vec<Fix> = edits.map(|edits| Fix { edits, kind }).collect();
    if fixes.is_empty() {
        // What a rule proposes in the second place may be safe where its first proposal is not, and one may be where many are not.
        ward.work.set(0);
        fixes.extend(ward.safe_fix(&findings));
    }
    SafeFixes { fixes, broken_off }
}

/// Against one finding: what may be safe.
struct Proposed<'f> {
    finding: &'f Finding,
    edits: Vec<Edit>,
}

/// The first proposal against each finding that may be made unasked, as far as none edits what another does.
fn proposed<'f>(ward: &Ward<'_>, findings: &'f [Finding]) -> Vec<Proposed<'f>> {
    let mut proposed = Vec::new();
    let mut edited: HashSet<usize> = HashSet::new();
    let mut added = HashSet::new();
    for finding in findings.iter().filter(|it| it.rule != NOT_SETTLED) {
        if ward.is_tired() {
            break;
        }
        let mut cures = ward.cures(finding).into_iter();
        let Some(cure) = cures.find(|cure| ward.is_unasked(finding, cure)) else {
            continue;
        };
        let is_free = cure.edits.iter().all(|edit| match edit {
            Edit::Add(marking) => !added.contains(marking),
            Edit::Remove(index) | Edit::Replace(index, _) => !edited.contains(index),
        });
        if !is_free {
            continue;
        }
        for edit in &cure.edits {
            match edit {
                Edit::Add(marking) => drop(added.insert(marking.clone())),
                Edit::Remove(index) | Edit::Replace(index, _) => drop(edited.insert(*index)),
            }
        }
        let edits = cure.edits;
        proposed.push(Proposed { finding, edits });
    }
    proposed
}

/// Whether fixes are safe when all of them are made: of each rule at least as many findings are gone as it has fixes here.
fn hold_together(ward: &Ward<'_>, fixes: &[&Proposed<'_>]) -> bool {
    let edits: Vec<Edit> = fixes.iter().flat_map(|it| it.edits.clone()).collect();
    let Ok(edited) = ward.board.edited(&edits) else {
        return false;
    };
    let before = ward.findings(false);
    let after = Findings::of(&edited, &ward.options_for(false), &ward.work);
    let mut of_rule: HashMap<&str, usize> = HashMap::new();
    for fix in fixes {
        *of_rule.entry(fix.finding.rule).or_default() += 1;
    }
    let gone = of_rule
        .iter()
        .all(|(rule, count)| after.of_rule(rule) + count <= before.of_rule(rule));
    gone && after.count + fixes.len() <= before.count
        && Moved::new(ward.board, &edits).is_some_and(|moved| !moved.has_new_error(before, &after))
        && ward.keeps_the_route(&edited)
}
