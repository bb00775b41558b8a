//! `to-coda-unused`: a To Coda that nothing can have obeyed.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::coda_missing::may_be_obeyed;
use super::{How, Rule};
use crate::board::{Al, Edit, Jump, Sign};

pub(super) const RULE: Rule = Rule {
    name: "to-coda-unused",
    severity: Severity::Warning,
    category: Category::Pairing,
    since: "0.1",
    summary: "A To Coda needs a D.C. or D.S. that sends the music to it.",
    clause: "4.3",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for to_coda in &sheet.laid.to_codas {
        if may_be_obeyed(sheet, to_coda) {
            continue;
        }
        let words = sheet.words(to_coda.marking);
        let message = format!("this {words} cannot work alone: it needs a D.C. or D.S. al Coda");
        let help =
            "put a D.C. al Coda or D.S. al Coda after it, or take the To Coda away".to_owned();
        report.at(to_coda.marking, &[], message, help);
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some((index, marking)) = cures.marking() else {
        return;
    };
    let Sign::ToCoda(to_coda) = marking.sign() else {
        return;
    };
    let codas = cures.signs(|sign| match sign {
        Sign::Coda(coda) => coda.label == to_coda.label,
        _ => false,
    });
    let codas: Vec<(usize, u16)> = codas.map(|(index, coda)| (index, coda.measure())).collect();
    if let [(coda, _)] = codas.as_slice() {
        cures.propose([Edit::Remove(index), Edit::Remove(*coda)]);
    }
    cures.take_away(index);
    let jumps: Vec<usize> = cures.jumps().map(|(index, ..)| index).take(2).collect();
    for jump in jumps {
        let edit = cures.jump_with(jump, |jump| (jump.al, jump.then) = (Some(Al::Coda), None));
        cures.propose(edit);
    }
    for (_, begin) in codas {
        let al = Some(Al::Coda);
        let back = begin.saturating_sub(1);
        if back > 0 {
            cures.put(
                &Sign::DaCapo(Jump {
                    al,
                    ..Jump::default()
                }),
                [back],
            );
        }
    }
}
