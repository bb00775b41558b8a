//! `end-repeat-in-last-ending`: an end repeat in the ending for the last pass.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{Ending, Passes, Sign};
use crate::roadmap::laid::EndAt;
use crate::roadmap::sections::Section;

pub(super) const RULE: Rule = Rule {
    name: "end-repeat-in-last-ending",
    severity: Severity::Warning,
    category: Category::Endings,
    since: "0.1",
    summary: "An end repeat in the last ending sends nobody back.",
    clause: "2.14",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for section in &sheet.sections.list {
        for end in sheet
            .ends(section)
            .filter(|end| is_in_last(sheet, section, end))
        {
            let ending = sheet
                .ending_at(section, end.part)
                .map(|ending| ending.marking);
            let message =
                "this end repeat stands in the last ending and sends nobody back".to_owned();
            let help = format!(
                "take it away, or add an ending after it: now the repeat is over with pass {}",
                section.passes
            );
            report.at(end.marking, ending.as_slice(), message, help);
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some((index, _)) = cures.marking() else {
        return;
    };
    cures.take_away(index);
    if let Some((_, place, ending)) = cures.other_ending() {
        let next = place.last().saturating_add(1);
        if let Ok(passes) = Passes::of([ending.passes.highest().saturating_add(1)]) {
            let open = false;
            cures.put(&Sign::Ending(Ending { passes, open }), [next]);
        }
    }
}

/// Whether an end repeat stands in an ending that is played on no pass but the last.
pub(super) fn is_in_last(sheet: &Sheet<'_>, section: &Section, end: &EndAt) -> bool {
    let ending = sheet.ending_at(section, end.part);
    ending.is_some_and(|ending| ending.passes.lowest() >= section.passes)
}
