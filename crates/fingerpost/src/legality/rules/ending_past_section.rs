//! `ending-past-section`: an ending bracket that goes on behind its end repeat.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::Place;

pub(super) const RULE: Rule = Rule {
    name: "ending-past-section",
    severity: Severity::Error,
    category: Category::Endings,
    since: "0.1",
    summary: "An ending bracket stops at its end repeat.",
    clause: "10.10",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for ending in &sheet.laid.endings {
        let at = sheet
            .laid
            .ends
            .partition_point(|end| end.part < ending.first);
        if let Some(end) = sheet.laid.ends.get(at).filter(|end| end.part < ending.last) {
            let message = format!(
                "this ending goes on behind the end repeat of measure {}",
                sheet.name(end.part)
            );
            let help = "let the bracket stop at the end repeat".to_owned();
            report.at(ending.marking, &[end.marking], message, help);
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    let (Some((index, place, _)), Some((other, end))) = (cures.ending(), cures.other()) else {
        return;
    };
    cures.move_to(index, [Place::over(place.first(), end.measure())]);
    cures.move_to(other, [Place::at(place.last())]);
    cures.take_away(index);
    cures.take_away(other);
}
