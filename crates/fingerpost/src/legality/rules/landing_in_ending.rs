//! `landing-in-ending`: a jump that lands inside an ending.

use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Road};
use super::{How, Rule};
use crate::roadmap::laid::LandingAt;

pub(super) const RULE: Rule = Rule {
    name: "landing-in-ending",
    severity: Severity::Warning,
    category: Category::Jumps,
    since: "0.1",
    summary: "A segno or coda does not stand inside an ending.",
    clause: "5.7",
    how: How::Walked(tell),
};

fn tell(road: &Road<'_>, report: &mut Report<'_>) {
    let laid = road.sheet.laid;
    for segno in &laid.segnos {
        tell_of(road, segno, road.coverage.segno_landing(segno.part), report);
    }
    for coda in &laid.codas {
        tell_of(road, coda, road.coverage.coda_landing(coda.part), report);
    }
}

fn tell_of(road: &Road<'_>, landing: &LandingAt, by: Option<u32>, report: &mut Report<'_>) {
    let sheet = &road.sheet;
    let Some(by) = by else { return };
    let mut around = sheet.around(landing.part);
    if let Some(ending) = around.find_map(|section| sheet.ending_at(section, landing.part)) {
        let words = sheet.words(landing.marking);
        let message = format!("this {words} stands inside an ending, and a jump lands on it");
        let help = "put it before the ending, where every pass comes along".to_owned();
        report.at(landing.marking, &[by, ending.marking], message, help);
    }
}
