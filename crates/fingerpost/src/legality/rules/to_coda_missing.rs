//! `to-coda-missing`: an al Coda that finds no To Coda.

use super::super::cures::{Cures, landing, put, to_coda};
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{Al, Sign};

pub(super) const RULE: Rule = Rule {
    name: "to-coda-missing",
    severity: Severity::Error,
    category: Category::Pairing,
    since: "0.1",
    summary: "A D.C. al Coda or D.S. al Coda needs a To Coda.",
    clause: "10.3",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for jump in sheet
        .laid
        .jumps
        .iter()
        .filter(|jump| jump.al == Some(Al::Coda))
    {
        let meant = match jump.coda {
            Some(label) => sheet
                .laid
                .to_codas
                .iter()
                .any(|to_coda| to_coda.label == label),
            None => !sheet.laid.to_codas.is_empty(),
        };
        if meant {
            continue;
        }
        let name = if jump.da_capo {
            "D.C. al Coda"
        } else {
            "D.S. al Coda"
        };
        let (message, help) = if sheet.laid.to_codas.is_empty() {
            (
                format!("this {name} cannot work alone: it needs a To Coda"),
                "put a To Coda at the measure from which the return goes to the coda".to_owned(),
            )
        } else {
            (
                format!("this {name} names a To Coda that is not on the board"),
                "give it the label of a To Coda that is there, or put that To Coda on the board"
                    .to_owned(),
            )
        };
        let others: Vec<u32> = sheet
            .laid
            .to_codas
            .iter()
            .map(|to_coda| to_coda.marking)
            .collect();
        report.at(jump.marking, &others, message, help);
    }
}

fn cure(cures: &mut Cures<'_>) {
    let (Some((index, marking)), Some((_, jump))) = (cures.marking(), cures.jump()) else {
        return;
    };
    let measure = marking.measure();
    let to_codas: Vec<_> = cures
        .signs(|sign| matches!(sign, Sign::ToCoda(_)))
        .collect();
    let calls = cures
        .jumps()
        .filter(|(_, _, jump)| jump.al == Some(Al::Coda));
    let alone = calls.count() == 1 && to_codas.len() == 1;
    for (_, other) in to_codas.iter().take(2) {
        let Sign::ToCoda(other) = other.sign() else {
            continue;
        };
        let edit = cures.jump_with(index, |jump| jump.coda.clone_from(&other.label));
        // One To Coda and one jump that goes to a To Coda: neither can mean anything but the other.
        if alone {
            cures.restore(edit);
        } else {
            cures.propose(edit);
        }
    }
    let codas: Vec<_> = cures.signs(|sign| matches!(sign, Sign::Coda(_))).collect();
    let labels: Vec<Option<&str>> = codas
        .iter()
        .filter_map(|(_, coda)| match coda.sign() {
            Sign::Coda(landing) => Some(landing.label.as_deref()),
            _ => None,
        })
        .collect();
    let label = match &jump.coda {
        Some(label) => Some(label.as_str()),
        None => labels.first().copied().flatten(),
    };
    for place in cures.ends_before(measure).into_iter().take(2) {
        if labels.contains(&label) {
            cures.propose([put(to_coda(label), place)]);
        } else if let Some(&begin) = cures.begins_after(measure).first() {
            let coda = put(Sign::Coda(landing(label)), begin);
            cures.propose([put(to_coda(label), place), coda]);
        }
    }
    let edit = cures.jump_with(index, |jump| (jump.al, jump.coda) = (None, None));
    cures.propose(edit);
    cures.take_away(index);
}
