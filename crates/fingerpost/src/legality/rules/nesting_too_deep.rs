//! `nesting-too-deep`: sections nested deeper than eight.

use super::super::cures::{Cures, repeat_signs};
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::Edit;
use crate::roadmap::sections::DEEPEST;

pub(super) const RULE: Rule = Rule {
    name: "nesting-too-deep",
    severity: Severity::Error,
    category: Category::Order,
    since: "0.1",
    summary: "Sections are nested at most eight deep.",
    clause: "10.18",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    if sheet.sections.deepest <= DEEPEST {
        return;
    }
    let too_deep = sheet
        .sections
        .list
        .iter()
        .find(|section| usize::from(section.depth) == DEEPEST);
    let end = too_deep.and_then(|section| sheet.ends(section).next());
    let message = format!(
        "sections are nested {} deep; the most is {DEEPEST}",
        sheet.sections.deepest
    );
    let help = "write some of the repeats out".to_owned();
    match end {
        Some(end) => report.at(end.marking, &[], message, help),
        None => report.board(message, help),
    }
}

fn cure(cures: &mut Cures<'_>) {
    let section = cures.finding.marking.and_then(|end| cures.section(end));
    if let Some(signs) = section.and_then(|section| repeat_signs(cures, section)) {
        cures.propose(signs.into_iter().map(Edit::Remove));
    }
}
