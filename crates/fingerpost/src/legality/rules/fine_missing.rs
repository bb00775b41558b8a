//! `fine-missing`: an al Fine on a board with no Fine.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{Al, Fine, Sign};

pub(super) const RULE: Rule = Rule {
    name: "fine-missing",
    severity: Severity::Error,
    category: Category::Pairing,
    since: "0.1",
    summary: "A D.C. al Fine or D.S. al Fine needs a Fine.",
    clause: "10.2",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    if !sheet.laid.fines.is_empty() {
        return;
    }
    for jump in sheet
        .laid
        .jumps
        .iter()
        .filter(|jump| jump.al == Some(Al::Fine))
    {
        let name = if jump.da_capo {
            "D.C. al Fine"
        } else {
            "D.S. al Fine"
        };
        let message = format!("this {name} cannot work alone: it needs a Fine");
        let help = "put a Fine at the measure with which the piece ends on the return".to_owned();
        report.at(jump.marking, &[], message, help);
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some((index, marking)) = cures.marking() else {
        return;
    };
    let measure = marking.measure();
    let places = cures.ends_before(measure).into_iter().take(2);
    cures.put(&Sign::Fine(Fine::default()), places.chain([measure]));
    let edit = cures.jump_with(index, |jump| {
        (jump.al, jump.then, jump.coda) = (None, None, None);
    });
    cures.propose(edit);
    cures.take_away(index);
}
