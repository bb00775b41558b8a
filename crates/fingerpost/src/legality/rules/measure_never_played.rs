//! `measure-never-played`: measures to which the route never comes.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Road};
use super::{How, Rule};
use super::{ending_without_repeat, lone_ending_misnumbered};
use crate::board::{Marking, Place, Side};
use crate::roadmap::row::PartIndex;

pub(super) const RULE: Rule = Rule {
    name: "measure-never-played",
    severity: Severity::Warning,
    category: Category::Order,
    since: "0.1",
    summary: "Every measure is played at some time.",
    clause: "3.6",
    how: How::Walked(tell),
    cure: Some(cure),
};

fn tell(road: &Road<'_>, report: &mut Report<'_>) {
    let sheet = &road.sheet;
    let told = endings_told(road);
    let mut part = 0;
    while part < sheet.row.length() {
        let first = part;
        while part < sheet.row.length() && !road.played(part) && !lies_in(&told, part) {
            part += 1;
        }
        if first == part {
            part += 1;
            continue;
        }
        let (from, to) = (sheet.measure(first), sheet.measure(part - 1));
        let whole = first == sheet.row.parts_of(from).start && part == sheet.row.parts_of(to).end;
        let [one, other] = [from, to].map(|measure| sheet.board.measure_words(measure));
        let message = match (whole, from == to) {
            (true, true) => format!("measure {one} is never played"),
            (true, false) => format!("measures {one} to {other} are never played"),
            (false, true) => format!("a part of measure {one} is never played"),
            (false, false) => {
                format!("the music between measure {one} and measure {other} is never played")
            }
        };
        let help = "let a repeat or a jump lead there, or take it away".to_owned();
        report.measures((from, to), signs_in(road, first, part - 1), message, help);
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some(from) = cures.finding.measure else {
        return;
    };
    let leaves = |marking: &Marking| {
        marking.sign().side() == Side::Leaving && marking.measure().saturating_add(1) == from
    };
    let leaving: Vec<usize> = cures
        .signs(|_| true)
        .filter(|(_, marking)| leaves(marking))
        .map(|(index, _)| index)
        .take(2)
        .collect();
    let ends: Vec<u16> = cures.ends_from(from).into_iter().take(3).collect();
    for &index in &leaving {
        cures.move_to(index, ends.iter().copied().map(Place::at));
    }
    let landing = cures
        .signs(|sign| sign.side() == Side::Landing)
        .filter(|(_, marking)| from < marking.measure())
        .min_by_key(|(_, marking)| marking.measure());
    if let Some((index, _)) = landing {
        cures.move_to(index, [Place::at(from)]);
    }
    for index in leaving {
        cures.hold_every_time(index);
        cures.take_away(index);
    }
}

/// The parts of endings that are never played, and of which another rule tells why; by rising parts.
fn endings_told(road: &Road<'_>) -> Vec<(PartIndex, PartIndex)> {
    let sheet = &road.sheet;
    let mut told = Vec::new();
    for section in &sheet.sections.list {
        let unrepeated = ending_without_repeat::is_unrepeated(sheet, section);
        let misnumbered = lone_ending_misnumbered::gap(sheet, section);
        for ending in sheet.endings(section) {
            let never = ending.passes.lowest() > section.passes;
            if unrepeated
                || never
                || misnumbered.is_some_and(|(other, _)| other.marking == ending.marking)
            {
                told.push((ending.first, ending.last));
            }
        }
    }
    told.sort_unstable();
    told
}

fn lies_in(spans: &[(PartIndex, PartIndex)], part: PartIndex) -> bool {
    let after = spans.partition_point(|&(first, _)| first <= part);
    let before = after.checked_sub(1).and_then(|at| spans.get(at));
    before.is_some_and(|&(_, last)| part <= last)
}

/// The markings that stand wholly between two parts, both included.
fn signs_in(road: &Road<'_>, first: PartIndex, last: PartIndex) -> Vec<usize> {
    let (board, row) = (road.sheet.board, road.sheet.row);
    let within = |marking: &Marking| {
        if marking.sign().side() == Side::Over {
            let place = marking.place();
            first <= row.parts_of(place.first()).start && row.parts_of(place.last()).end <= last + 1
        } else {
            (first..=last).contains(&row.part_of(board, marking))
        }
    };
    let markings = board.markings().iter().enumerate();
    markings
        .filter(|(_, marking)| within(marking))
        .map(|(index, _)| index)
        .collect()
}
