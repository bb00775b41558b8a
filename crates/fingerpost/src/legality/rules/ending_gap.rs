//! `ending-gap`: a pass for which a group of endings has none.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::Passes;

pub(super) const RULE: Rule = Rule {
    name: "ending-gap",
    severity: Severity::Error,
    category: Category::Endings,
    since: "0.1",
    summary: "Endings 1, 2, 3 … follow each other without a gap.",
    clause: "10.6",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for section in &sheet.sections.list {
        let group = sheet.closing_endings(section);
        let Some(last) = group.last().filter(|_| group.len() > 1) else {
            continue;
        };
        let mut ranges: Vec<(u32, u32)> = group
            .iter()
            .flat_map(|ending| ending.passes.ranges())
            .copied()
            .collect();
        ranges.sort_unstable();
        let mut covered = 0;
        for (from, to) in ranges {
            if from > covered + 1 {
                let gap = if from == covered + 2 {
                    format!("pass {}", from - 1)
                } else {
                    format!("passes {} to {}", covered + 1, from - 1)
                };
                let message = format!("no ending is played on {gap}");
                let help = format!("add an ending for {gap}, or number the endings without a gap");
                let others: Vec<u32> = group
                    .iter()
                    .map(|ending| ending.marking)
                    .filter(|&m| m != last.marking)
                    .collect();
                report.at(last.marking, &others, message, help);
            }
            covered = covered.max(to);
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some((_, group)) = cures.closing_group() else {
        return;
    };
    if group.len() > MOST_RENUMBERED {
        return;
    }
    let edits = cures.renumbered(&group);
    cures.propose(edits);
    let ranges = || {
        group
            .iter()
            .flat_map(|ending| ending.passes.ranges())
            .copied()
    };
    let mut all: Vec<(u32, u32)> = ranges().collect();
    all.sort_unstable();
    let mut covered = 0;
    let gap = all.into_iter().find_map(|(from, to)| {
        let gap = (from > covered + 1).then(|| (covered + 1, from - 1));
        covered = covered.max(to);
        gap
    });
    let Some(gap) = gap else { return };
    for ending in &group {
        let with_gap = ending.passes.ranges().iter().copied().chain([gap]);
        if let Ok(passes) = Passes::of_ranges(with_gap) {
            let edit = cures.ending_with(ending.marking as usize, passes);
            cures.propose(edit);
        }
    }
}

/// The most endings of a group that are renumbered.
const MOST_RENUMBERED: usize = 32;
