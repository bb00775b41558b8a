//! `only-without-effect`: hands that are to play at some times only, and no other time ever comes.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::notes::{Looks, notes};
use super::super::sheet::{Report, Road};
use super::super::words::{hands_words, when_words};
use super::{How, Rule};
use crate::board::{Sign, When};

pub(super) const RULE: Rule = Rule {
    name: "only-without-effect",
    severity: Severity::Advice,
    category: Category::Idle,
    since: "0.1",
    summary: "A hand that plays at some times only is silent at others.",
    clause: "7.8",
    how: How::Walked(tell),
    cure: Some(cure),
};

fn tell(road: &Road<'_>, report: &mut Report<'_>) {
    let mut looks = Looks::default();
    for note in notes(&road.sheet) {
        let Sign::Only(only) = note.sign else {
            continue;
        };
        let silences = note.somewhere(road, &mut looks, |_, times, passes| {
            times.holding(&only.when, passes) != *times
        });
        if silences == Some(false) {
            let (hands, time) = (hands_words(only.hands), when_words(&only.when));
            let message = match only.when {
                When::EveryPass => format!("{hands} only on every pass: nothing is left out"),
                _ => format!("{hands} only on {time}, and no other time comes here"),
            };
            let help = "take it away, or name fewer times".to_owned();
            report.at(note.marking, &[], message, help);
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    if let Some(index) = cures.finding.marking {
        cures.take_away(index);
    }
}
