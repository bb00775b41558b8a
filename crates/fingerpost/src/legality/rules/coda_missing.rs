//! `coda-missing`: a To Coda that may be obeyed, or a jump that goes on to the coda, and no coda to go to.

use super::super::cures::{Cures, landing};
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{Al, Edit, Jump, Sign, Then};
use crate::reading::{Arming, Reading};
use crate::roadmap::laid::{JumpAt, ToCodaAt};

pub(super) const RULE: Rule = Rule {
    name: "coda-missing",
    severity: Severity::Error,
    category: Category::Pairing,
    since: "0.1",
    summary: "A To Coda that may be obeyed needs its coda, and so does a jump that goes on to the coda.",
    clause: "10.4",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for to_coda in sheet
        .laid
        .to_codas
        .iter()
        .filter(|to_coda| sheet.laid.coda(to_coda.label).is_none())
    {
        if may_be_obeyed(sheet, to_coda) {
            let message = "this To Coda cannot work alone: it needs its coda".to_owned();
            let help = "put a coda with the same label at the measure with which the coda begins, after the To Coda".to_owned();
            report.at(to_coda.marking, &[], message, help);
        }
    }
    for jump in sheet
        .laid
        .jumps
        .iter()
        .filter(|jump| jump.then == Some(Then::Coda))
    {
        if sheet.laid.coda(jump.coda.unwrap_or(0)).is_none() {
            let message = "this jump goes on to the coda, and there is none".to_owned();
            let help = "put a coda at the measure with which the coda begins".to_owned();
            report.at(jump.marking, &[], message, help);
        }
    }
    // An al Coda on a board with neither To Coda nor coda lacks both.
    for jump in sheet
        .laid
        .jumps
        .iter()
        .filter(|jump| jump.al == Some(Al::Coda))
    {
        let to_codas = sheet
            .laid
            .to_codas
            .iter()
            .any(|to_coda| jump.coda.is_none_or(|label| label == to_coda.label));
        let coda = match jump.coda {
            Some(label) => sheet.laid.coda(label).is_some(),
            None => !sheet.laid.codas.is_empty(),
        };
        if !to_codas && !coda {
            let message = "this al Coda cannot work alone: it needs a coda".to_owned();
            let help = "put a coda at the measure with which the coda begins".to_owned();
            report.at(jump.marking, &[], message, help);
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some((index, marking)) = cures.marking() else {
        return;
    };
    let last = cures.jumps().map(|(_, jump, _)| jump.measure()).max();
    let last = last.unwrap_or(0).max(marking.measure());
    let begins = |cures: &Cures<'_>| {
        let behind = cures.begins_after(last).into_iter().take(2);
        behind.chain(cures.begins_after(marking.measure()).into_iter().take(1))
    };
    let Sign::ToCoda(to_coda) = marking.sign() else {
        let label = cures.jump().and_then(|(_, jump)| jump.coda.as_deref());
        let places = begins(cures);
        cures.put(&Sign::Coda(landing(label)), places);
        let without = |jump: &mut Jump| (jump.then, jump.coda) = (None, None);
        let edit = cures.jump_with(index, without);
        cures.propose(edit);
        let edit = cures.jump_with(index, |jump| {
            without(jump);
            jump.al = None;
        });
        cures.propose(edit);
        cures.take_away(index);
        return;
    };
    let codas: Vec<_> = cures.signs(|sign| matches!(sign, Sign::Coda(_))).collect();
    let to_codas = cures.signs(|sign| matches!(sign, Sign::ToCoda(_))).count();
    for (_, coda) in codas.iter().take(2) {
        let Sign::Coda(coda) = coda.sign() else {
            continue;
        };
        let mut renamed = to_coda.clone();
        renamed.label.clone_from(&coda.label);
        let edit = cures.rewritten(index, Sign::ToCoda(renamed));
        // One To Coda and one coda: neither can mean anything but the other.
        if codas.len() == 1 && to_codas == 1 {
            cures.restore(edit);
        } else {
            cures.propose(edit);
        }
    }
    let places = begins(cures);
    cures.put(&Sign::Coda(landing(to_coda.label.as_deref())), places);
    let jumps: Vec<usize> = cures.jumps().map(|(index, ..)| index).take(4).collect();
    let plain = jumps.iter().filter_map(|&jump| {
        cures.jump_with(jump, |jump| {
            if jump.al == Some(Al::Coda) {
                (jump.al, jump.coda) = (None, None);
            }
        })
    });
    let edits: Vec<Edit> = plain.chain([Edit::Remove(index)]).collect();
    cures.propose(edits);
    cures.take_away(index);
}

/// Whether something on the board may have a To Coda obeyed under the reading.
pub(super) fn may_be_obeyed(sheet: &Sheet<'_>, to_coda: &ToCodaAt) -> bool {
    if to_coda.arrivals.is_some() || sheet.reading.arming == Arming::SecondArrival {
        return true;
    }
    if sheet.laid.jumps.is_empty() {
        return sheet.sections.at(to_coda.part).is_some();
    }
    let mut jumps = sheet.laid.jumps.iter();
    jumps.any(|jump| means(jump, to_coda, sheet.reading))
}

/// Whether a jump may mean a To Coda.
pub(super) fn means(jump: &JumpAt, to_coda: &ToCodaAt, reading: Reading) -> bool {
    match jump.al {
        None => reading.arming == Arming::AlOrBare,
        Some(Al::Coda) => jump.coda.is_none_or(|label| label == to_coda.label),
        _ => false,
    }
}
