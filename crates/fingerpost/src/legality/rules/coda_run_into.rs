//! `coda-run-into`: a coda into which the music also runs straight on.

use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Road};
use super::{How, Rule};
use crate::board::Sign;

pub(super) const RULE: Rule = Rule {
    name: "coda-run-into",
    severity: Severity::Warning,
    category: Category::Jumps,
    since: "0.1",
    summary: "Only a To Coda leads into the coda.",
    clause: "4.6",
    how: How::Walked(tell),
};

fn tell(road: &Road<'_>, report: &mut Report<'_>) {
    for coda in &road.sheet.laid.codas {
        // Where a jump goes on to the coda from a Fine or a segno, the coda is often played on the way there too.
        let by = road.coverage.coda_landing(coda.part);
        let is_to_coda = |&by: &u32| matches!(road.sheet.sign(by), Some(Sign::ToCoda(_)));
        let Some(by) = by.filter(is_to_coda) else {
            continue;
        };
        if road.coverage.times(coda.part).gone_into() {
            let words = road.sheet.words(coda.marking);
            let message =
                format!("the music also runs straight on into this {words}, without a jump");
            let help =
                "let the music turn back, by a D.C. or D.S., before the coda begins".to_owned();
            report.at(coda.marking, &[by], message, help);
        }
    }
}
