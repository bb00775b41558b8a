//! `no-fixed-length`: a repeat that goes on until a signal.

use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};

pub(super) const RULE: Rule = Rule {
    name: "no-fixed-length",
    severity: Severity::Advice,
    category: Category::Order,
    since: "0.1",
    summary: "A repeat until a signal has no fixed length.",
    clause: "6.10",
    how: How::Looking(look),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for marking in sheet
        .sections
        .list
        .iter()
        .filter_map(|section| section.open)
    {
        let message =
            "this repeat goes on until a signal: the music has no fixed length".to_owned();
        let help = "say how often it is played where a fixed length is needed".to_owned();
        report.at(marking, &[], message, help);
    }
}
