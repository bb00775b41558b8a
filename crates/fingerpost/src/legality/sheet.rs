//! What a rule is given to look at, and where it reports.

use super::finding::Finding;
use super::rules::Rule;
use crate::board::{Board, Marking};
use crate::reading::Reading;
use crate::roadmap::laid::{EndAt, EndingAt, Laid};
use crate::roadmap::row::{PartIndex, Row};
use crate::roadmap::sections::{Section, Sections};

/// A board with everything that is known of it under a reading.
#[derive(Clone, Copy)]
pub(crate) struct Sheet<'a> {
    pub(crate) board: &'a Board,
    pub(crate) row: &'a Row,
    pub(crate) laid: &'a Laid,
    pub(crate) sections: &'a Sections,
    pub(crate) reading: Reading,
}

impl<'a> Sheet<'a> {
    /// The measure of a part.
    pub(crate) fn measure(&self, part: PartIndex) -> u16 {
        self.row.part(part).0
    }

    /// The endings of a section's closing group, in written order.
    pub(crate) fn closing_endings(&self, section: &'a Section) -> Vec<&'a EndingAt> {
        let numbers = section
            .endings
            .get(section.closing.clone())
            .unwrap_or_default();
        numbers
            .iter()
            .filter_map(|&number| self.laid.endings.get(number as usize))
            .collect()
    }

    /// A section's end repeats, in written order.
    pub(crate) fn ends(&self, section: &'a Section) -> impl Iterator<Item = &'a EndAt> + use<'a> {
        let laid = self.laid;
        section
            .ends
            .iter()
            .filter_map(move |&number| laid.ends.get(number as usize))
    }
}

/// Where a rule reports.
pub(crate) struct Report<'a> {
    rule: &'a Rule,
    board: &'a Board,
    findings: &'a mut Vec<Finding>,
}

impl<'a> Report<'a> {
    pub(crate) fn new(
        rule: &'a Rule,
        board: &'a Board,
        findings: &'a mut Vec<Finding>,
    ) -> Report<'a> {
        Report {
            rule,
            board,
            findings,
        }
    }

    /// A finding about a marking.
    pub(crate) fn at(&mut self, marking: u32, related: &[u32], message: String, help: String) {
        let at = marking as usize;
        self.findings.push(Finding {
            rule: self.rule.name,
            severity: self.rule.severity,
            message,
            help,
            measure: self.board.markings().get(at).map(Marking::measure),
            marking: Some(at),
            related: related.iter().map(|&index| index as usize).collect(),
        });
    }

    /// A finding about the whole board.
    pub(crate) fn board(&mut self, message: String, help: String) {
        self.findings.push(Finding {
            rule: self.rule.name,
            severity: self.rule.severity,
            message,
            help,
            measure: None,
            marking: None,
            related: Vec::new(),
        });
    }
}
