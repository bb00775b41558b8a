//! `octave-never-sounds`: an octave sign whose time never comes.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::notes::{Looks, notes};
use super::super::sheet::{Report, Road};
use super::super::words::never_comes;
use super::{How, Rule};
use crate::board::Sign;

pub(super) const RULE: Rule = Rule {
    name: "octave-never-sounds",
    severity: Severity::Advice,
    category: Category::Idle,
    since: "0.1",
    summary: "An octave sign holds at some time.",
    clause: "7.5",
    how: How::Walked(tell),
    cure: Some(cure),
};

fn tell(road: &Road<'_>, report: &mut Report<'_>) {
    let mut looks = Looks::default();
    for note in notes(&road.sheet) {
        let Sign::Octave(octave) = note.sign else {
            continue;
        };
        let holds = note.somewhere(road, &mut looks, |_, times, passes| {
            !times.holding(&octave.when, passes).is_empty()
        });
        if holds == Some(false) {
            let (words, never) = (road.sheet.words(note.marking), never_comes(&octave.when));
            let message = format!("this {words} never sounds: {never} here");
            let help = "put it where that time comes, or let it hold every time".to_owned();
            report.at(note.marking, &[], message, help);
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    if let Some(index) = cures.finding.marking {
        cures.take_away(index);
        cures.hold_every_time(index);
    }
}
