//! `fine-unused`: a Fine at which nothing lets the music stop.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{Al, Jump, Sign, Then};
use crate::reading::{Arming, Reading};
use crate::roadmap::laid::JumpAt;

pub(super) const RULE: Rule = Rule {
    name: "fine-unused",
    severity: Severity::Warning,
    category: Category::Pairing,
    since: "0.1",
    summary: "A Fine needs a D.C. or D.S. that lets the music stop there.",
    clause: "4.3",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    if sheet
        .laid
        .jumps
        .iter()
        .any(|jump| arms(jump, sheet.reading))
    {
        return;
    }
    for fine in &sheet.laid.fines {
        if fine.arrivals.is_some() {
            continue;
        }
        let message =
            "this Fine cannot work alone: it needs a D.C. al Fine or D.S. al Fine".to_owned();
        let help = "put a D.C. al Fine or D.S. al Fine after it, or take the Fine away".to_owned();
        report.at(fine.marking, &[], message, help);
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some((index, marking)) = cures.marking() else {
        return;
    };
    cures.take_away(index);
    let jumps: Vec<usize> = cures.jumps().map(|(index, ..)| index).take(2).collect();
    for jump in jumps {
        let edit = cures.jump_with(jump, |jump| (jump.al, jump.label) = (Some(Al::Fine), None));
        cures.propose(edit);
    }
    let al = Some(Al::Fine);
    let ends = cures.ends_from(marking.measure()).into_iter().rev();
    let ends: Vec<u16> = ends
        .filter(|&end| end > marking.measure())
        .take(1)
        .collect();
    let segno = cures.signs(|sign| matches!(sign, Sign::Segno(_))).next();
    if let Some(Sign::Segno(segno)) = segno.map(|(_, segno)| segno.sign()) {
        let label = segno.label.clone();
        let goes_there = Jump {
            al,
            label,
            ..Jump::default()
        };
        cures.put(&Sign::DalSegno(goes_there), ends.iter().copied());
    }
    cures.put(
        &Sign::DaCapo(Jump {
            al,
            ..Jump::default()
        }),
        ends,
    );
}

/// Whether a jump lets the music stop at a Fine, at once or after the coda.
pub(super) fn arms(jump: &JumpAt, reading: Reading) -> bool {
    match jump.al {
        None => reading.arming != Arming::AlOnly,
        Some(Al::Fine | Al::Coda) => true,
        Some(Al::Segno) => jump.then == Some(Then::Coda),
        Some(Al::End) => false,
    }
}
