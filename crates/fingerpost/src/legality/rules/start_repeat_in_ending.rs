//! `start-repeat-in-ending`: a start repeat under an ending bracket: two repeats would cross.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::Place;

pub(super) const RULE: Rule = Rule {
    name: "start-repeat-in-ending",
    severity: Severity::Error,
    category: Category::Endings,
    since: "0.1",
    summary: "No start repeat stands under an ending bracket.",
    clause: "10.9",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    // The bracket that reaches furthest among those begun so far: brackets may overlap, which is an error of its own.
    let mut furthest: Option<(u32, u32)> = None;
    let mut endings = sheet.laid.endings.iter().peekable();
    for start in &sheet.laid.starts {
        while let Some(ending) = endings.next_if(|ending| ending.first <= start.part) {
            if furthest.is_none_or(|(last, _)| last < ending.last) {
                furthest = Some((ending.last, ending.marking));
            }
        }
        if let Some((_, ending)) = furthest.filter(|&(last, _)| start.part <= last) {
            let message =
                "this start repeat stands under an ending bracket: two repeats would cross"
                    .to_owned();
            let help = "let the ending stop before the start repeat, or move the start repeat behind the ending".to_owned();
            report.at(start.marking, &[ending], message, help);
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    let (Some((index, start)), Some((other_index, ending, _))) =
        (cures.marking(), cures.other_ending())
    else {
        return;
    };
    let measure = start.measure();
    if ending.first() < measure && start.place().cut().is_none() {
        cures.move_to(other_index, [Place::over(ending.first(), measure - 1)]);
    }
    if ending.last() < cures.measures() {
        cures.move_to(index, [Place::at(ending.last() + 1)]);
    }
    cures.take_away(index);
    cures.take_away(other_index);
}
