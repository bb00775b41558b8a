//! `coda-run-into`: a coda into which the music also runs straight on.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Road};
use super::{How, Rule};
use crate::board::{Place, Sign};

pub(super) const RULE: Rule = Rule {
    name: "coda-run-into",
    severity: Severity::Warning,
    category: Category::Jumps,
    since: "0.1",
    summary: "Only a To Coda leads into the coda.",
    clause: "4.6",
    how: How::Walked(tell),
    cure: Some(cure),
};

fn tell(road: &Road<'_>, report: &mut Report<'_>) {
    for coda in &road.sheet.laid.codas {
        // Where a jump goes on to the coda from a Fine or a segno, the coda is often played on the way there too.
        let by = road.coverage.coda_landing(coda.part);
        let is_to_coda = |&by: &u32| matches!(road.sheet.sign(by), Some(Sign::ToCoda(_)));
        let Some(by) = by.filter(is_to_coda) else {
            continue;
        };
        if road.coverage.times(coda.part).gone_into() {
            let words = road.sheet.words(coda.marking);
            let message =
                format!("the music also runs straight on into this {words}, without a jump");
            let help =
                "let the music turn back, by a D.C. or D.S., before the coda begins".to_owned();
            report.at(coda.marking, &[by], message, help);
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some((index, marking)) = cures.marking() else {
        return;
    };
    let begin = marking.measure();
    let jumps: Vec<(usize, u16)> = cures
        .jumps()
        .map(|(index, jump, _)| (index, jump.measure()))
        .collect();
    if let Some(last) = jumps.iter().map(|&(_, measure)| measure).max() {
        let behind = cures.begins_after(last).into_iter().take(2);
        cures.move_to(index, behind.map(Place::at));
    }
    let before = begin.saturating_sub(1);
    if before > 0 {
        let jumps = jumps.iter().filter(|&&(_, measure)| begin <= measure);
        let jumps: Vec<usize> = jumps.map(|&(index, _)| index).take(2).collect();
        for jump in jumps {
            cures.move_to(jump, [Place::at(before)]);
        }
    }
}
