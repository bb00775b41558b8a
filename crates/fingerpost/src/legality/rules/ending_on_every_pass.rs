//! `ending-on-every-pass`: an ending that is played on every pass.

use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::Plays;
use crate::roadmap::laid::EndingAt;
use crate::roadmap::sections::Section;

pub(super) const RULE: Rule = Rule {
    name: "ending-on-every-pass",
    severity: Severity::Advice,
    category: Category::Idle,
    since: "0.1",
    summary: "An ending is left out on some pass.",
    clause: "2.10",
    how: How::Looking(look),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for section in &sheet.sections.list {
        for ending in sheet
            .endings(section)
            .filter(|ending| is_idle(sheet, section, ending))
        {
            let message =
                "this ending is played on every pass: the bracket says nothing".to_owned();
            let help = "take the bracket away, or name the passes on which it is played".to_owned();
            report.at(ending.marking, &[], message, help);
        }
    }
}

/// Whether the section stays what it is without this bracket.
fn is_idle(sheet: &Sheet<'_>, section: &Section, ending: &EndingAt) -> bool {
    let closing = sheet.closing_endings(section);
    // A bracket that opens its section, ends it or says how often it is played is not idle.
    let written = section.opened_by.is_some();
    let mut ends = sheet.ends(section);
    let before_its_end = ends.next().is_some_and(|end| ending.last < end.part);
    let said = if closing.is_empty() {
        let plays = |plays| match plays {
            None => Some(2),
            Some(Plays::Times(times)) => Some(times),
            Some(Plays::Open) => None,
        };
        let most = sheet.ends(section).filter_map(|end| plays(end.plays)).max();
        most.is_some_and(|plays| plays >= ending.passes.highest())
    } else {
        closing.iter().all(|other| ending.last + 1 < other.first)
    };
    let first = ending.passes.ranges().first();
    let every = first.is_some_and(|&(first, last)| first == 1 && last >= section.passes);
    written && before_its_end && said && every
}
