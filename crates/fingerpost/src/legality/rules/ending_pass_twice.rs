//! `ending-pass-twice`: two endings of one group for one pass.

use super::super::cures::{Cures, without};
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};

pub(super) const RULE: Rule = Rule {
    name: "ending-pass-twice",
    severity: Severity::Error,
    category: Category::Endings,
    since: "0.1",
    summary: "Two endings of a group do not share a pass.",
    clause: "10.7",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for section in &sheet.sections.list {
        let group = sheet.closing_endings(section);
        // Ranges in rising order: one that begins before another has ended shares a pass with it.
        let mut ranges: Vec<(u32, u32, u32)> = group
            .iter()
            .flat_map(|ending| {
                ending
                    .passes
                    .ranges()
                    .iter()
                    .map(|&(from, to)| (from, to, ending.marking))
            })
            .collect();
        ranges.sort_unstable();
        let mut furthest: Option<(u32, u32)> = None;
        for (from, to, marking) in ranges {
            if let Some((_, other)) = furthest.filter(|&(end, _)| from <= end) {
                let message = format!("two endings are played on pass {from}");
                let help = "let each pass have one ending".to_owned();
                report.at(marking, &[other], message, help);
            }
            if furthest.is_none_or(|(end, _)| end < to) {
                furthest = Some((to, marking));
            }
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    let (Some((index, _, ending)), Some((other_index, _, other))) =
        (cures.ending(), cures.other_ending())
    else {
        return;
    };
    if let Some((_, group)) = cures.closing_group().filter(|(_, group)| group.len() <= 8) {
        let edits = cures.renumbered(&group);
        cures.propose(edits);
    }
    if let Some(rest) = without(&ending.passes, &other.passes) {
        let edit = cures.ending_with(index, rest);
        cures.propose(edit);
    }
    if let Some(rest) = without(&other.passes, &ending.passes) {
        let edit = cures.ending_with(other_index, rest);
        cures.propose(edit);
    }
    cures.take_away(index);
    cures.take_away(other_index);
}
