//! `ending-on-every-pass`: an ending that is played on every pass.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::Plays;

pub(super) const RULE: Rule = Rule {
    name: "ending-on-every-pass",
    severity: Severity::Advice,
    category: Category::Idle,
    since: "0.1",
    summary: "An ending is left out on some pass.",
    clause: "2.10",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for section in &sheet.sections.list {
        // A bracket that opens its section is not idle.
        let Some(end) = sheet
            .ends(section)
            .next()
            .filter(|_| section.opened_by.is_some())
        else {
            continue;
        };
        let closing = sheet.closing_endings(section);
        let plays = sheet.ends(section).filter_map(|end| match end.plays {
            None => Some(2),
            Some(Plays::Times(times)) => Some(times),
            Some(Plays::Open) => None,
        });
        let plays = plays.max().unwrap_or(0);
        for ending in sheet.endings(section) {
            // Nor is one that ends its section or says how often it is played.
            let before_its_end = match closing.first() {
                Some(first) => ending.last < first.first,
                None => ending.last < end.part && ending.passes.highest() <= plays,
            };
            let first = ending.passes.ranges().first();
            let every = first.is_some_and(|&(first, last)| first == 1 && last >= section.passes);
            if before_its_end && every {
                let message =
                    "this ending is played on every pass: the bracket says nothing".to_owned();
                let help =
                    "take the bracket away, or name the passes on which it is played".to_owned();
                report.at(ending.marking, &[], message, help);
            }
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    if let Some(index) = cures.finding.marking {
        cures.take_away(index);
    }
}
