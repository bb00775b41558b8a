//! `segno-unused`: a segno that nothing calls.

use std::collections::HashSet;

use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::Al;
use crate::roadmap::laid::Label;

pub(super) const RULE: Rule = Rule {
    name: "segno-unused",
    severity: Severity::Warning,
    category: Category::Pairing,
    since: "0.1",
    summary: "A segno needs a D.S. that goes to it, or a D.C. al Segno.",
    clause: "4.6",
    how: How::Looking(look),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    let called: HashSet<Label> = sheet
        .laid
        .jumps
        .iter()
        .filter(|jump| !jump.da_capo || jump.al == Some(Al::Segno))
        .map(|jump| jump.segno)
        .collect();
    for segno in &sheet.laid.segnos {
        if called.contains(&segno.label) {
            continue;
        }
        let words = sheet.words(segno.marking);
        let message = format!("this {words} cannot work alone: it needs a D.S. that goes to it");
        let help = "put a D.S. to it further on, or take it away".to_owned();
        report.at(segno.marking, &[], message, help);
    }
}
