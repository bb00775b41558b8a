//! `coda-before-to-coda`: a coda that does not stand after the place from which the route goes to it.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{Al, Place, Sign, Then};

pub(super) const RULE: Rule = Rule {
    name: "coda-before-to-coda",
    severity: Severity::Error,
    category: Category::Jumps,
    since: "0.1",
    summary: "A To Coda goes on: its coda stands after it.",
    clause: "10.13",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for to_coda in &sheet.laid.to_codas {
        if let Some(coda) = sheet
            .laid
            .coda(to_coda.label)
            .filter(|coda| coda.part <= to_coda.part)
        {
            let message = format!(
                "the coda of this To Coda stands before it, at measure {}",
                sheet.name(coda.part)
            );
            let help = "a To Coda goes on: put the coda after it".to_owned();
            report.at(to_coda.marking, &[coda.marking], message, help);
        }
    }
    for jump in sheet
        .laid
        .jumps
        .iter()
        .filter(|jump| jump.al == Some(Al::Segno) && jump.then == Some(Then::Coda))
    {
        let (segno, coda) = (
            sheet.laid.segno(jump.segno),
            sheet.laid.coda(jump.coda.unwrap_or(0)),
        );
        if let (Some(segno), Some(coda)) = (segno, coda) {
            if coda.part <= segno.part {
                let message = "the coda stands before the segno from which this D.C. goes on to it"
                    .to_owned();
                let help = "put the coda after the segno".to_owned();
                report.at(jump.marking, &[segno.marking, coda.marking], message, help);
            }
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    let (Some((index, marking)), Some(&coda)) = (cures.marking(), cures.finding.related.last())
    else {
        return;
    };
    let Some((_, landing)) = cures.numbered(coda) else {
        return;
    };
    let last = cures.jumps().map(|(_, jump, _)| jump.measure()).max();
    let last = last.unwrap_or(0).max(marking.measure());
    let behind = cures.begins_after(last).into_iter().take(2);
    let after = cures.begins_after(marking.measure()).into_iter().take(1);
    cures.move_to(coda, behind.chain(after).map(Place::at));
    if let Sign::ToCoda(_) = marking.sign() {
        let before = cures.ends_before(landing.measure()).into_iter();
        cures.move_to(index, before.take(2).map(Place::at));
    } else {
        let edit = cures.jump_with(index, |jump| (jump.then, jump.coda) = (None, None));
        cures.propose(edit);
        if let Some((segno, _)) = cures.other() {
            let before = cures.begins_up_to(landing.measure()).into_iter();
            cures.move_to(segno, before.skip(1).take(1).map(Place::at));
        }
    }
    cures.take_away(index);
}
