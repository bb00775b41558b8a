//! `segno-unused`: a segno that nothing calls.

use std::collections::HashSet;

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{Al, Jump, Sign};
use crate::roadmap::laid::Label;

pub(super) const RULE: Rule = Rule {
    name: "segno-unused",
    severity: Severity::Warning,
    category: Category::Pairing,
    since: "0.1",
    summary: "A segno needs a D.S. that goes to it, or a D.C. al Segno.",
    clause: "4.6",
    how: How::Looking(look),
    cure: Some(cure),
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

fn cure(cures: &mut Cures<'_>) {
    let Some((index, marking)) = cures.marking() else {
        return;
    };
    let Sign::Segno(segno) = marking.sign() else {
        return;
    };
    cures.take_away(index);
    let label = segno.label.clone();
    let has_fine = cures
        .signs(|sign| matches!(sign, Sign::Fine(_)))
        .next()
        .is_some();
    let al = has_fine.then_some(Al::Fine);
    let goes_there = Sign::DalSegno(Jump {
        al,
        label,
        ..Jump::default()
    });
    let ends = cures.ends_from(marking.measure()).into_iter().rev();
    let ends = ends.filter(|&end| end > marking.measure());
    cures.put(&goes_there, ends.take(3));
}
