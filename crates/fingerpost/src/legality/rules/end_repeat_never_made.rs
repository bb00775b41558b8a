//! `end-repeat-never-made`: an end repeat at which the music never goes back.

use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Road};
use super::end_repeat_in_last_ending::is_in_last;
use super::{How, Rule};

pub(super) const RULE: Rule = Rule {
    name: "end-repeat-never-made",
    severity: Severity::Warning,
    category: Category::Order,
    since: "0.1",
    summary: "An end repeat sends the music back at some time.",
    clause: "3.2",
    how: How::Walked(tell),
};

fn tell(road: &Road<'_>, report: &mut Report<'_>) {
    let sheet = &road.sheet;
    for section in sheet
        .sections
        .list
        .iter()
        .filter(|section| section.passes > 1)
    {
        for end in sheet.ends(section) {
            let made = road.coverage.repeat_made(end.marking);
            if made || !road.played(end.part) || is_in_last(sheet, section, end) {
                continue;
            }
            let message = "this end repeat never sends the music back".to_owned();
            let help = "another sign always leads away first: keep one of the two".to_owned();
            report.at(end.marking, &[], message, help);
        }
    }
}
