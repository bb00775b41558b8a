//! `segno-missing`: a D.S., or a D.C. al Segno, whose segno is not on the board.

use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{Al, Sign};

pub(super) const RULE: Rule = Rule {
    name: "segno-missing",
    severity: Severity::Error,
    category: Category::Pairing,
    since: "0.1",
    summary: "A D.S. needs its segno, and so does a D.C. al Segno.",
    clause: "10.1",
    how: How::Looking(look),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for jump in &sheet.laid.jumps {
        let needs = !jump.da_capo || jump.al == Some(Al::Segno);
        if !needs || sheet.laid.segno(jump.segno).is_some() {
            continue;
        }
        let label = match sheet
            .board
            .markings()
            .get(jump.marking as usize)
            .map(crate::board::Marking::sign)
        {
            Some(Sign::DaCapo(jump) | Sign::DalSegno(jump)) => jump.label.as_deref(),
            _ => None,
        };
        let name = if jump.da_capo {
            "D.C. al Segno"
        } else {
            "D.S."
        };
        let which = label.map_or("segno".to_owned(), |label| format!("segno {label}"));
        let others: Vec<u32> = sheet
            .laid
            .segnos
            .iter()
            .map(|segno| segno.marking)
            .collect();
        let message = format!("this {name} cannot work alone: it needs a {which}");
        let help = if others.is_empty() {
            format!("put a {which} at the measure to which the {name} goes")
        } else {
            format!(
                "put a {which} on the board, or give the {name} the label of a segno that is there"
            )
        };
        report.at(jump.marking, &others, message, help);
    }
}
