//! What a rule is given to look at, and where it reports.

use super::CheckOptions;
use super::finding::Finding;
use super::rules::Rule;
use super::words::sign_words;
use crate::board::{Board, Marking, Sign};
use crate::reading::{Question, Reading};
use crate::roadmap::coverage::Coverage;
use crate::roadmap::laid::{EndAt, EndingAt, Laid};
use crate::roadmap::row::{PartIndex, Row};
use crate::roadmap::sections::{Section, Sections};
use crate::roadmap::{Ground, Walked};

/// A board with everything that is known of it under a reading.
#[derive(Clone, Copy)]
pub(crate) struct Sheet<'a> {
    pub(crate) board: &'a Board,
    pub(crate) row: &'a Row,
    pub(crate) laid: &'a Laid,
    pub(crate) sections: &'a Sections,
    pub(crate) reading: Reading,
}

/// A board without errors, with its route under the default reading.
pub(crate) struct Road<'a> {
    pub(crate) sheet: Sheet<'a>,
    pub(crate) walked: &'a Walked,
    pub(crate) coverage: &'a Coverage,
    pub(crate) options: &'a CheckOptions,
}

impl Road<'_> {
    /// Whether a mark that leaves is ever obeyed.
    pub(crate) fn obeyed(&self, marking: u32) -> bool {
        self.walked.obeyed.contains(&marking)
    }

    /// Whether a part is ever played.
    pub(crate) fn played(&self, part: PartIndex) -> bool {
        self.coverage.times(part).played()
    }
}

impl<'a> Sheet<'a> {
    pub(crate) fn new(board: &'a Board, ground: &'a Ground) -> Sheet<'a> {
        Sheet {
            board,
            row: &ground.row,
            laid: &ground.laid,
            sections: &ground.sections,
            reading: ground.reading,
        }
    }

    /// A marking's sign as a musician names it.
    pub(crate) fn words(&self, marking: u32) -> String {
        self.sign(marking).map_or_else(String::new, sign_words)
    }

    pub(crate) fn sign(&self, marking: u32) -> Option<&'a Sign> {
        self.board
            .markings()
            .get(marking as usize)
            .map(Marking::sign)
    }

    /// The measure of a part.
    pub(crate) fn measure(&self, part: PartIndex) -> u16 {
        self.row.part(part).0
    }

    /// The measure of a part as sentences name it.
    pub(crate) fn name(&self, part: PartIndex) -> String {
        self.board.measure_words(self.measure(part))
    }

    /// The endings of a section's closing group, in written order.
    pub(crate) fn closing_endings(&self, section: &'a Section) -> Vec<&'a EndingAt> {
        let numbers = section
            .endings
            .get(section.closing.clone())
            .unwrap_or_default();
        self.numbered(numbers).collect()
    }

    /// All endings of a section, in written order.
    pub(crate) fn endings(
        &self,
        section: &'a Section,
    ) -> impl Iterator<Item = &'a EndingAt> + use<'a> {
        self.numbered(&section.endings)
    }

    fn numbered(&self, numbers: &'a [u32]) -> impl Iterator<Item = &'a EndingAt> + use<'a> {
        let laid = self.laid;
        numbers
            .iter()
            .filter_map(move |&number| laid.endings.get(number as usize))
    }

    /// The section's ending that holds a part.
    pub(crate) fn ending_at(&self, section: &Section, part: PartIndex) -> Option<&'a EndingAt> {
        let number = section.ending_at(self.laid, part)?;
        self.laid.endings.get(number as usize)
    }

    /// The innermost section that holds a part, and those around it, from the inside out.
    pub(crate) fn around(&self, part: PartIndex) -> impl Iterator<Item = &'a Section> + use<'a> {
        let sections = self.sections;
        let innermost = sections.at(part).and_then(|number| sections.get(number));
        std::iter::successors(innermost, |section| sections.get(section.parent?))
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
            last: None,
            marking: Some(at),
            related: related.iter().map(|&index| index as usize).collect(),
            question: None,
        });
    }

    /// A finding about a measure, or about all from one to another.
    pub(crate) fn measures(
        &mut self,
        (first, last): (u16, u16),
        related: Vec<usize>,
        message: String,
        help: String,
    ) {
        self.findings.push(Finding {
            rule: self.rule.name,
            severity: self.rule.severity,
            message,
            help,
            measure: Some(first),
            last: (last != first).then_some(last),
            marking: None,
            related,
            question: None,
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
            last: None,
            marking: None,
            related: Vec::new(),
            question: None,
        });
    }

    /// Says of the last finding reported which question of the reading it is about.
    pub(crate) fn about(&mut self, question: Question) {
        if let Some(finding) = self.findings.last_mut() {
            finding.question = Some(question);
        }
    }
}
