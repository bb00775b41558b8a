//! `nested-sections`: a repeat inside a repeat.

use super::super::cures::{Cures, put, repeat_signs};
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{Edit, EndRepeat, Sign};
use crate::roadmap::sections::{DEEPEST, Section};

pub(super) const RULE: Rule = Rule {
    name: "nested-sections",
    severity: Severity::Warning,
    category: Category::Order,
    since: "0.1",
    summary: "No repeat stands inside another repeat.",
    clause: "2.12",
    how: How::Looking(look),
    cure: Some(cure),
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

fn cure(cures: &mut Cures<'_>) {
    let inner = cures.finding.marking.and_then(|shown| cures.section(shown));
    let outer = cures.other().and_then(|(shown, _)| cures.section(shown));
    for section in inner.into_iter().chain(outer) {
        if let Some(signs) = repeat_signs(cures, section) {
            cures.propose(signs.into_iter().map(Edit::Remove));
        }
    }
    // One repeat after another in place of one inside another.
    if let (Some(inner), Some(outer)) = (inner, outer) {
        let measure = |part| cures.sheet.measure(part);
        let (first, last) = (measure(inner.start), measure(inner.end));
        let mut edits = Vec::new();
        if measure(outer.start) < first {
            let end = Sign::EndRepeat(EndRepeat::default());
            edits.push(put(end, first.saturating_sub(1)));
        }
        if last < measure(outer.end) {
            edits.push(put(Sign::StartRepeat, last.saturating_add(1)));
        }
        cures.propose(edits);
    }
}

/// The sign that shows a section: its start repeat, else its first end repeat, else its first ending.
fn shown_by(sheet: &Sheet<'_>, section: &Section) -> Option<u32> {
    let end = || sheet.ends(section).next().map(|end| end.marking);
    let ending = || sheet.endings(section).next().map(|ending| ending.marking);
    section.opened_by.or_else(end).or_else(ending)
}
