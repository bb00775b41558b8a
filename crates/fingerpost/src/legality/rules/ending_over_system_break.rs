//! `ending-over-system-break`: an ending bracket that goes on in the next system.

use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};

pub(super) const RULE: Rule = Rule {
    name: "ending-over-system-break",
    severity: Severity::Advice,
    category: Category::Place,
    since: "0.1",
    summary: "An ending stands in one system.",
    clause: "1.1",
    how: How::Looking(look),
    // Where the systems break is for the engraver: no sign that is moved or taken away keeps what is played.
    cure: None,
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    // The last measure of each system.
    let mut lasts: Vec<u16> = Vec::new();
    for &measures in sheet.board.systems() {
        lasts.push(lasts.last().copied().unwrap_or(0).saturating_add(measures));
    }
    for ending in &sheet.laid.endings {
        let (from, to) = (sheet.measure(ending.first), sheet.measure(ending.last));
        let system_of = |measure: u16| lasts.partition_point(|&last| last < measure);
        if system_of(from) < system_of(to) {
            let message =
                "this ending goes on in the next system: its bracket is torn in two".to_owned();
            let help = "break the system before the ending begins, or after it ends".to_owned();
            report.at(ending.marking, &[], message, help);
        }
    }
}
