//! `ending-pass-twice`: two endings of one group for one pass.

use super::super::cures::{Cures, without};
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::roadmap::laid::EndingAt;

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
        let mut ranges: Vec<(u32, u32, usize)> = group
            .iter()
            .enumerate()
            .flat_map(|(at, ending)| {
                let ranges = ending.passes.ranges().iter();
                ranges.map(move |&(from, to)| (from, to, at))
            })
            .collect();
        ranges.sort_unstable();
        let mut furthest: Option<(u32, usize)> = None;
        for (from, to, at) in ranges {
            let other = furthest.filter(|&(end, _)| from <= end);
            let two = other
                .and_then(|(_, other)| Some((at.max(other), group.get(at)?, group.get(other)?)));
            if let Some((later, this, other)) = two {
                let message = format!(
                    "two endings are played on pass {from}: this and the one at measure {}",
                    sheet.name(other.first)
                );
                let (help, long) = match runs_on_to(sheet, &group, later) {
                    Some(long) => (
                        format!(
                            "the ending at measure {} runs to measure {}: end it sooner, or give each pass one ending",
                            sheet.name(long.first),
                            sheet.name(long.last)
                        ),
                        Some(long.marking),
                    ),
                    None => ("let each pass have one ending".to_owned(), None),
                };
                let long = long.filter(|&long| long != this.marking && long != other.marking);
                let others: Vec<u32> = std::iter::once(other.marking).chain(long).collect();
                report.at(this.marking, &others, message, help);
            }
            if furthest.is_none_or(|(end, _)| end < to) {
                furthest = Some((to, at));
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

/// The ending before this one of the group when its bracket runs on to it, over several measures and with no end repeat at its end: where
/// a line leaves out the end of a bracket, the endings of another repeat fall together with those before them.
fn runs_on_to<'a>(sheet: &Sheet<'_>, group: &[&'a EndingAt], at: usize) -> Option<&'a EndingAt> {
    let before = group.get(at.checked_sub(1)?)?;
    let several = sheet.measure(before.first) < sheet.measure(before.last);
    (several && sheet.laid.end_at(before.last).is_none()).then_some(before)
}
