//! `octave-over-silent-hands`: an octave sign over hands that are silent whenever it holds.

use std::collections::BTreeSet;

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::notes::{Layers, Looks, NoteAt, TimeSet, notes};
use super::super::sheet::{Report, Road};
use super::{How, Rule};
use crate::board::{Hands, Sign};

pub(super) const RULE: Rule = Rule {
    name: "octave-over-silent-hands",
    severity: Severity::Advice,
    category: Category::Idle,
    since: "0.1",
    summary: "An octave sign stands over a hand that plays.",
    clause: "7.8",
    how: How::Walked(tell),
    cure: Some(cure),
};

fn tell(road: &Road<'_>, report: &mut Report<'_>) {
    let onlys: Vec<NoteAt<'_>> = notes(&road.sheet)
        .filter(|note| matches!(note.sign, Sign::Only(_)))
        .collect();
    if onlys.is_empty() {
        return;
    }
    let layers = Layers::new(&onlys);
    let mut looks = Looks::default();
    for note in notes(&road.sheet) {
        let Sign::Octave(octave) = note.sign else {
            continue;
        };
        let (mut holds, mut silencing) = (false, BTreeSet::new());
        let sounds = note.somewhere(road, &mut looks, |part, times, passes| {
            let times = times.holding(&octave.when, passes);
            holds |= !times.is_empty();
            let Some(over) = layers.at(part) else {
                return true;
            };
            silencing.extend(over.iter().map(|only| only.marking));
            let plays = |named: fn(Hands) -> bool| {
                named(octave.hands) && !playing(&times, passes, &over, named).is_empty()
            };
            plays(Hands::right) || plays(Hands::left)
        });
        if holds && sounds == Some(false) {
            let silencing: Vec<u32> = silencing.into_iter().collect();
            let words = road.sheet.words(note.marking);
            let message =
                format!("this {words} stands over hands that are silent whenever it holds");
            let help = "let the hands play there, or take the octave sign away".to_owned();
            report.at(note.marking, &silencing, message, help);
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    if let Some(index) = cures.finding.marking {
        cures.take_away(index);
        for &silencing in cures.finding.related.iter().take(2) {
            cures.take_away(silencing);
        }
    }
}

/// The times, of those given, at which a hand plays.
fn playing(
    times: &TimeSet,
    passes: u32,
    over: &[&NoteAt<'_>],
    named: fn(Hands) -> bool,
) -> TimeSet {
    over.iter()
        .fold(times.clone(), |times, only| match only.sign {
            Sign::Only(only) if named(only.hands) => times.holding(&only.when, passes),
            _ => times,
        })
}
