//! `ending-not-closed`: an ending that should send the route back, and nothing closes it.

use super::super::cures::{Cures, put};
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{EndRepeat, Sign};

pub(super) const RULE: Rule = Rule {
    name: "ending-not-closed",
    severity: Severity::Error,
    category: Category::Endings,
    since: "0.1",
    summary: "Every ending of a group but the one for the last pass is closed by an end repeat or a jump.",
    clause: "10.11",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for section in &sheet.sections.list {
        let group = sheet.closing_endings(section);
        if group.len() < 2 {
            continue;
        }
        for ending in group {
            let closed = sheet.laid.end_at(ending.last).is_some()
                || !sheet.laid.jumps_at(ending.last).is_empty();
            if ending.passes.lowest() < section.passes && !closed {
                let message = format!(
                    "nothing closes ending {}: it has no end repeat",
                    ending.passes
                );
                let help = format!(
                    "add an end repeat at the end of measure {}",
                    sheet.name(ending.last)
                );
                report.at(ending.marking, &[], message, help);
            }
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some((index, place, _)) = cures.ending() else {
        return;
    };
    let is_last = cures.closing_group().is_none_or(|(_, group)| {
        let last = group.last().map(|ending| ending.marking as usize);
        last == Some(index)
    });
    let end = put(Sign::EndRepeat(EndRepeat::default()), place.last());
    // An ending before the last of its group cannot run on, into an ending for another pass: all it can do is go back.
    if is_last {
        cures.propose([end]);
    } else {
        cures.restore([end]);
    }
    if let Some((_, group)) = cures.closing_group().filter(|(_, group)| group.len() <= 8) {
        let edits = cures.renumbered(&group);
        cures.propose(edits);
    }
    cures.take_away(index);
}
