//! `segno-after-jump`: a segno that stands after its D.S.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{Edit, Jump, Place, Sign};

pub(super) const RULE: Rule = Rule {
    name: "segno-after-jump",
    severity: Severity::Error,
    category: Category::Jumps,
    since: "0.1",
    summary: "A D.S. goes back: its segno stands before it.",
    clause: "10.12",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for jump in sheet.laid.jumps.iter().filter(|jump| !jump.da_capo) {
        if let Some(segno) = sheet
            .laid
            .segno(jump.segno)
            .filter(|segno| segno.part > jump.part)
        {
            let message = format!(
                "the segno of this D.S. stands after it, at measure {}",
                sheet.name(segno.part)
            );
            let help = "a D.S. goes back: put the segno before it".to_owned();
            report.at(jump.marking, &[segno.marking], message, help);
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    let (Some((index, marking)), Some((segno, landing))) = (cures.marking(), cures.other()) else {
        return;
    };
    let Sign::DalSegno(jump) = marking.sign() else {
        return;
    };
    let begins = cures.begins_up_to(marking.measure()).into_iter();
    cures.move_to(segno, begins.take(2).map(Place::at));
    let ends = cures.ends_from(landing.measure()).into_iter();
    cures.move_to(index, ends.take(1).map(Place::at));
    let label = None;
    let da_capo = Sign::DaCapo(Jump {
        label,
        ..jump.clone()
    });
    let da_capo = cures.rewritten(index, da_capo);
    cures.propose(da_capo.clone().into_iter().chain([Edit::Remove(segno)]));
    cures.propose(da_capo);
    cures.propose([Edit::Remove(index), Edit::Remove(segno)]);
    cures.take_away(index);
}
