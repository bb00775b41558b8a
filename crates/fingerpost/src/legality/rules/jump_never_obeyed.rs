//! `jump-never-obeyed`: a D.C. or D.S. that is never obeyed.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Road};
use super::{How, Rule};
use crate::board::{Place, Sign};

pub(super) const RULE: Rule = Rule {
    name: "jump-never-obeyed",
    severity: Severity::Warning,
    category: Category::Jumps,
    since: "0.1",
    summary: "A D.C. or D.S. is obeyed at some time.",
    clause: "3.8",
    how: How::Walked(tell),
    cure: Some(cure),
};

fn tell(road: &Road<'_>, report: &mut Report<'_>) {
    let sheet = &road.sheet;
    for jump in &sheet.laid.jumps {
        if road.obeyed(jump.marking) || !road.played(jump.part) {
            continue;
        }
        let name = match sheet.sign(jump.marking) {
            Some(Sign::DaCapo(_)) => "D.C.",
            _ => "D.S.",
        };
        let end = sheet
            .laid
            .end_at(jump.part)
            .and_then(|at| sheet.laid.ends.get(at));
        let comes_first = end.filter(|end| road.coverage.repeat_made(end.marking));
        let (why, help) = if jump.arrivals.is_some() || jump.passes.is_some() {
            ("the times it names never come", "name times that come")
        } else if comes_first.is_some() {
            (
                "the end repeat here always comes first",
                "put it where the last pass ends",
            )
        } else {
            (
                "the music goes another way here each time",
                "put it where the music comes along on the last pass",
            )
        };
        let message = format!("this {name} is never obeyed: {why}");
        let related: Vec<u32> = comes_first.map(|end| end.marking).into_iter().collect();
        report.at(
            jump.marking,
            &related,
            message,
            format!("{help}, or take the {name} away"),
        );
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some((index, marking)) = cures.marking() else {
        return;
    };
    cures.hold_every_time(index);
    let mut ends: Vec<u16> = Vec::new();
    if let Some(section) = cures.other().and_then(|(end, _)| cures.section(end)) {
        ends.push(cures.sheet.measure(section.end));
    }
    ends.extend(cures.ends_from(marking.measure()).into_iter().take(2));
    cures.take_away(index);
    cures.move_to(index, ends.into_iter().map(Place::at));
}
