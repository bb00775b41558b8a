//! `endings-out-of-order`: an ending that stands after one for a later pass.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{Edit, Place};

pub(super) const RULE: Rule = Rule {
    name: "endings-out-of-order",
    severity: Severity::Warning,
    category: Category::Endings,
    since: "0.1",
    summary: "Endings stand in the order in which they are played.",
    clause: "2.6",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for section in &sheet.sections.list {
        let endings: Vec<_> = sheet.endings(section).collect();
        for (before, ending) in endings.iter().zip(endings.iter().skip(1)) {
            let side_by_side = before.last + 1 == ending.first;
            if side_by_side && ending.passes.lowest() < before.passes.lowest() {
                let message = format!(
                    "ending {} stands after ending {}",
                    ending.passes, before.passes
                );
                let help = "put the endings in the order in which they are played".to_owned();
                report.at(ending.marking, &[before.marking], message, help);
            }
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    let (Some((index, place, ending)), Some((other_index, other_place, other))) =
        (cures.ending(), cures.other_ending())
    else {
        return;
    };
    let ending = cures
        .ending_with(index, other.passes.clone())
        .into_iter()
        .chain(cures.ending_with(other_index, ending.passes.clone()));
    let swapped: Vec<Edit> = ending.collect();
    // The end repeat belongs to the ending that is played first.
    let end = cures
        .sheet
        .laid
        .ends
        .iter()
        .find(|end| cures.sheet.measure(end.part) == place.last());
    let moved =
        end.and_then(|end| cures.moved(end.marking as usize, Place::at(other_place.last())));
    cures.propose(swapped.clone());
    cures.propose(swapped.into_iter().chain(moved));
}
