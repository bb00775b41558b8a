//! `implied-start-in-doubt`: an end repeat, or an ending, whose start is not written and is read differently by different people.

use std::collections::HashMap;

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{Edit, Fraction, Marking, Place, Sign};
use crate::reading::{LoneEndRepeat, Reading};
use crate::roadmap::sections::{Section, Sections};

pub(super) const RULE: Rule = Rule {
    name: "implied-start-in-doubt",
    severity: Severity::Advice,
    category: Category::Pairing,
    since: "0.1",
    summary: "An end repeat without a start repeat can be read in more than one way.",
    clause: "6.5",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for doubt in doubts(sheet) {
        let (here, there) = (sheet.name(doubt.start), sheet.name(doubt.other));
        let message =
            format!("where does this repeat begin: at measure {here} or at measure {there}");
        let help = format!(
            "put a start repeat at measure {here}, as it is read here (lone-end-repeat {})",
            sheet.reading.lone_end_repeat.name()
        );
        report.at(doubt.marking, &[], message, help);
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some(doubt) = cures.doubt() else {
        return;
    };
    for begin in [doubt.start, doubt.other] {
        let (measure, part) = cures.sheet.row.part(begin);
        let place = match part.map(|part| part.from) {
            Some(from) if from != Fraction::ZERO => Place::cutting(measure, from),
            _ => Place::at(measure),
        };
        cures.propose([Edit::Add(Marking::new(Sign::StartRepeat, place))]);
    }
}

/// A section whose start is read differently.
pub(crate) struct Doubt {
    /// The end repeat or ending that shows it.
    pub(crate) marking: u32,
    /// Where it starts under the reading, and under another.
    start: u32,
    other: u32,
}

/// The sections whose start is not written and hangs on the reading, unless the board itself says how to read it.
pub(crate) fn doubts(sheet: &Sheet<'_>) -> Vec<Doubt> {
    let implied = |section: &&Section| section.opened_by.is_none() && section.passes > 1;
    let in_question = sheet.board.reading().lone_end_repeat.is_none();
    let mut doubts = Vec::new();
    if !in_question || !sheet.sections.list.iter().any(|section| implied(&section)) {
        return doubts;
    }
    let mut others: Vec<HashMap<Shown, u32>> = Vec::new();
    for &lone_end_repeat in LoneEndRepeat::ALL {
        let reading = Reading {
            lone_end_repeat,
            ..sheet.reading
        };
        if reading != sheet.reading {
            let sections = Sections::new(sheet.laid, sheet.row.length(), reading, 2);
            let starts = sections.list.iter();
            others.push(
                starts
                    .filter_map(|own| Some((shown_by(own)?, own.start)))
                    .collect(),
            );
        }
    }
    for section in sheet.sections.list.iter().filter(implied) {
        let Some(shown) = shown_by(section) else {
            continue;
        };
        let mut starts = others
            .iter()
            .filter_map(|starts| starts.get(&shown).copied());
        let marking = match shown {
            Shown::ByEnd(at) => sheet.laid.ends.get(at as usize).map(|end| end.marking),
            Shown::ByEnding(at) => sheet
                .laid
                .endings
                .get(at as usize)
                .map(|ending| ending.marking),
        };
        let other = starts.find(|&start| start != section.start);
        if let (Some(marking), Some(other)) = (marking, other) {
            doubts.push(Doubt {
                marking,
                start: section.start,
                other,
            });
        }
    }
    doubts
}

/// By which sign a section without a written start is known, under every reading the same.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
enum Shown {
    ByEnd(u32),
    ByEnding(u32),
}

fn shown_by(section: &Section) -> Option<Shown> {
    let by_end = section.ends.first().map(|&at| Shown::ByEnd(at));
    by_end.or(section.endings.first().map(|&at| Shown::ByEnding(at)))
}
