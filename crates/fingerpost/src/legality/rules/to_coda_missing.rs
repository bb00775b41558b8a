//! `to-coda-missing`: an al Coda that finds no To Coda.

use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::Al;

pub(super) const RULE: Rule = Rule {
    name: "to-coda-missing",
    severity: Severity::Error,
    category: Category::Pairing,
    since: "0.1",
    summary: "A D.C. al Coda or D.S. al Coda needs a To Coda.",
    clause: "10.3",
    how: How::Looking(look),
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
