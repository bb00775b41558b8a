//! `nested-sections`: a repeat inside a repeat.

use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::roadmap::sections::{DEEPEST, Section};

pub(super) const RULE: Rule = Rule {
    name: "nested-sections",
    severity: Severity::Warning,
    category: Category::Order,
    since: "0.1",
    summary: "No repeat stands inside another repeat.",
    clause: "2.12",
    how: How::Looking(look),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    // Of what is nested too deep, an error tells.
    if sheet.sections.deepest > DEEPEST {
        return;
    }
    for section in &sheet.sections.list {
        let Some(outer) = section.parent.and_then(|outer| sheet.sections.get(outer)) else {
            continue;
        };
        if let Some(marking) = shown_by(sheet, section) {
            let outer: Vec<u32> = shown_by(sheet, outer).into_iter().collect();
            let message = "this repeat stands inside another repeat: few will expect it".to_owned();
            let help =
                "write one of the two out, so that no repeat stands inside another".to_owned();
            report.at(marking, &outer, message, help);
        }
    }
}

/// The sign that shows a section: its start repeat, else its first end repeat, else its first ending.
fn shown_by(sheet: &Sheet<'_>, section: &Section) -> Option<u32> {
    let end = || sheet.ends(section).next().map(|end| end.marking);
    let ending = || sheet.endings(section).next().map(|ending| ending.marking);
    section.opened_by.or_else(end).or_else(ending)
}
