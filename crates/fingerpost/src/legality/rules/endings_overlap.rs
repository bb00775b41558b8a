//! `endings-overlap`: two ending brackets over one measure.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::Place;

pub(super) const RULE: Rule = Rule {
    name: "endings-overlap",
    severity: Severity::Error,
    category: Category::Endings,
    since: "0.1",
    summary: "Ending brackets do not overlap.",
    clause: "10.8",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    let mut furthest: Option<(u32, u32)> = None;
    for ending in &sheet.laid.endings {
        if let Some((_, other)) = furthest.filter(|&(last, _)| ending.first <= last) {
            let message = format!(
                "two ending brackets stand over measure {}",
                sheet.name(ending.first)
            );
            let help = "let one ending stop before the next begins".to_owned();
            report.at(ending.marking, &[other], message, help);
        }
        if furthest.is_none_or(|(last, _)| last < ending.last) {
            furthest = Some((ending.last, ending.marking));
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    let (Some((index, place, _)), Some((other_index, other, _))) =
        (cures.ending(), cures.other_ending())
    else {
        return;
    };
    if other.first() < place.first() {
        cures.move_to(other_index, [Place::over(other.first(), place.first() - 1)]);
    }
    if other.last() < place.last() {
        cures.move_to(index, [Place::over(other.last() + 1, place.last())]);
    }
    cures.take_away(index);
    cures.take_away(other_index);
}
