//! `landing-in-ending`: a jump that lands inside an ending.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Road};
use super::{How, Rule};
use crate::board::Place;
use crate::roadmap::laid::LandingAt;

pub(super) const RULE: Rule = Rule {
    name: "landing-in-ending",
    severity: Severity::Warning,
    category: Category::Jumps,
    since: "0.1",
    summary: "A segno or coda does not stand inside an ending.",
    clause: "5.7",
    how: How::Walked(tell),
    cure: Some(cure),
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

fn cure(cures: &mut Cures<'_>) {
    let Some((index, marking)) = cures.marking() else {
        return;
    };
    let ending = cures.finding.related.last().copied();
    let Some((_, ending)) = ending.and_then(|ending| cures.numbered(ending)) else {
        return;
    };
    let place = ending.place();
    let behind = cures.begins_after(place.last()).into_iter().take(2);
    let before = cures.begins_up_to(place.first()).into_iter();
    let before = before.filter(|&begin| begin < place.first()).take(2);
    let begins: Vec<u16> = behind.chain(before).collect();
    cures.move_to(index, begins.into_iter().map(Place::at));
    if let Some(&ending) = cures.finding.related.last() {
        cures.take_away(ending);
    }
    // The last ending may go on behind its measures as if it had none.
    let shorter = marking.measure().saturating_sub(1);
    if place.first() <= shorter {
        let edit = cures.finding.related.last().copied();
        let edit = edit.and_then(|ending| cures.moved(ending, Place::over(place.first(), shorter)));
        cures.propose(edit);
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
