//! `fine-never-met`: a Fine that the return never comes to.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Road};
use super::fine_unused::arms;
use super::{How, Rule};
use crate::board::Place;
use crate::roadmap::laid::equal_range;

pub(super) const RULE: Rule = Rule {
    name: "fine-never-met",
    severity: Severity::Warning,
    category: Category::Jumps,
    since: "0.1",
    summary: "The return meets the Fine at which it is to stop.",
    clause: "3.3",
    how: How::Walked(tell),
    cure: Some(cure),
};

fn tell(road: &Road<'_>, report: &mut Report<'_>) {
    let sheet = &road.sheet;
    let armed = sheet
        .laid
        .jumps
        .iter()
        .any(|jump| arms(jump, sheet.reading) && road.obeyed(jump.marking));
    for fine in &sheet.laid.fines {
        // Of several at one place one is enough.
        let here = equal_range(&sheet.laid.fines, fine.part, |fine| fine.part);
        let mut here = sheet.laid.fines.get(here).unwrap_or_default().iter();
        if here.any(|fine| road.obeyed(fine.marking)) || !road.played(fine.part) {
            continue;
        }
        let (message, help) = match fine.arrivals {
            Some(_) => (
                "the music never stops at this Fine: the arrivals it names never come",
                "name arrivals that come, or take the Fine away",
            ),
            None if armed => (
                "the music never stops at this Fine",
                "no return that heeds it comes by: put it on the way of the return, or take it away",
            ),
            None => continue,
        };
        report.at(fine.marking, &[], message.to_owned(), help.to_owned());
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some((index, marking)) = cures.marking() else {
        return;
    };
    cures.hold_every_time(index);
    cures.take_away(index);
    let measure = marking.measure();
    let ends = cures.ends_from(measure).into_iter().take(4);
    let ends: Vec<u16> = ends
        .chain(cures.ends_before(measure).into_iter().take(2))
        .collect();
    cures.move_to(index, ends.into_iter().map(Place::at));
}
