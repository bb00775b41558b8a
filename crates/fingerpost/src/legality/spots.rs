//! Findings counted, and known again on a board that has been edited.

use std::cell::Cell;
use std::collections::HashMap;

use super::finding::{Finding, Severity};
use super::{CheckOptions, checked};
use crate::board::edit::{Fate, fates};
use crate::board::{Board, Edit};
use crate::reading::Question;

/// What a board's check found, counted.
pub(super) struct Findings {
    pub(super) errors: bool,
    pub(super) count: usize,
    of_rule: HashMap<&'static str, usize>,
    at: HashMap<Spot, usize>,
}

impl Findings {
    pub(super) fn of(board: &Board, options: &CheckOptions, work: &Cell<usize>) -> Findings {
        let (findings, done) = checked(board, options);
        work.set(work.get().saturating_add(done));
        Findings::counted(&findings)
    }

    pub(super) fn counted(findings: &[Finding]) -> Findings {
        let mut found = Findings {
            errors: false,
            count: findings.len(),
            of_rule: HashMap::new(),
            at: HashMap::new(),
        };
        for finding in findings {
            found.errors |= finding.severity == Severity::Error;
            *found.of_rule.entry(finding.rule).or_default() += 1;
            *found.at.entry(Spot::of(finding)).or_default() += 1;
        }
        found
    }

    pub(super) fn of_rule(&self, rule: &str) -> usize {
        self.of_rule.get(rule).copied().unwrap_or(0)
    }

    pub(super) fn at(&self, spot: &Spot) -> usize {
        self.at.get(spot).copied().unwrap_or(0)
    }
}

/// Where each marking is after edits.
pub(super) struct Moved {
    /// The markings that are taken away, by rising index.
    removed: Vec<usize>,
}

impl Moved {
    pub(super) fn new(board: &Board, edits: &[Edit]) -> Option<Moved> {
        let fates = fates(edits, board.markings().len()).ok()?;
        let removed = fates
            .into_iter()
            .filter(|(_, fate)| matches!(fate, Fate::Removed))
            .map(|(index, _)| index);
        Some(Moved {
            removed: removed.collect(),
        })
    }

    /// Whether the edited board has an error that the board did not have before.
    pub(super) fn has_new_error(&self, before: &Findings, after: &Findings) -> bool {
        let mut errors_before: HashMap<Spot, usize> = HashMap::new();
        for (spot, count) in &before.at {
            if spot.severity == Severity::Error {
                if let Some(spot) = self.spot(spot) {
                    *errors_before.entry(spot).or_default() += count;
                }
            }
        }
        after.at.iter().any(|(spot, &count)| {
            spot.severity == Severity::Error
                && count > errors_before.get(spot).copied().unwrap_or(0)
        })
    }

    /// The same spot on the edited board; `None` when its marking was taken away.
    pub(super) fn spot(&self, spot: &Spot) -> Option<Spot> {
        let marking = match spot.marking {
            None => None,
            Some(index) => {
                let before = self.removed.partition_point(|&removed| removed < index);
                if self.removed.get(before) == Some(&index) {
                    return None;
                }
                Some(index - before)
            }
        };
        Some(Spot {
            marking,
            ..spot.clone()
        })
    }
}

/// By what a finding is known again when markings have moved: its rule, and the marking, else the measure, it is about.
#[derive(Clone, PartialEq, Eq, Hash)]
pub(super) struct Spot {
    rule: &'static str,
    severity: Severity,
    marking: Option<usize>,
    measure: Option<u16>,
    question: Option<Question>,
}

impl Spot {
    pub(super) fn of(finding: &Finding) -> Spot {
        Spot {
            rule: finding.rule,
            severity: finding.severity,
            marking: finding.marking,
            measure: finding.measure.filter(|_| finding.marking.is_none()),
            question: finding.question,
        }
    }
}
