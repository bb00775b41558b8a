//! `fine-unused`: a Fine at which nothing lets the music stop.

use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{Al, Then};
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

/// Whether a jump lets the music stop at a Fine, at once or after the coda.
pub(super) fn arms(jump: &JumpAt, reading: Reading) -> bool {
    match jump.al {
        None => reading.arming != Arming::AlOnly,
        Some(Al::Fine | Al::Coda) => true,
        Some(Al::Segno) => jump.then == Some(Then::Coda),
        Some(Al::End) => false,
    }
}
