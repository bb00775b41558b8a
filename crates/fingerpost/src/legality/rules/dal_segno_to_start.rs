//! `dal-segno-to-start`: a D.S. whose segno stands at the first measure.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{Edit, Jump, Sign};

pub(super) const RULE: Rule = Rule {
    name: "dal-segno-to-start",
    severity: Severity::Advice,
    category: Category::Jumps,
    since: "0.1",
    summary: "A jump to the first measure is a D.C.",
    clause: "4.6",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for jump in sheet.laid.jumps.iter().filter(|jump| !jump.da_capo) {
        let Some(segno) = sheet.laid.segno(jump.segno).filter(|segno| segno.part == 0) else {
            continue;
        };
        let message = "this D.S. goes to the beginning: that is a D.C.".to_owned();
        let help = "write D.C. in place of D.S., and take the segno away".to_owned();
        report.at(jump.marking, &[segno.marking], message, help);
    }
}

fn cure(cures: &mut Cures<'_>) {
    let (Some((index, marking)), Some((segno, _))) = (cures.marking(), cures.other()) else {
        return;
    };
    let Sign::DalSegno(jump) = marking.sign() else {
        return;
    };
    let label = None;
    let da_capo = Sign::DaCapo(Jump {
        label,
        ..jump.clone()
    });
    let edit = cures.rewritten(index, da_capo);
    cures.propose(edit.clone().into_iter().chain([Edit::Remove(segno)]));
    cures.propose(edit);
}
