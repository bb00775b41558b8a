//! `hand-never-plays`: hands that play only at a time that never comes.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::notes::{Looks, notes};
use super::super::sheet::{Report, Road};
use super::super::words::{hands_words, never_comes};
use super::{How, Rule};
use crate::board::{Hands, Only, Sign, When};

pub(super) const RULE: Rule = Rule {
    name: "hand-never-plays",
    severity: Severity::Advice,
    category: Category::Hands,
    since: "0.1",
    summary: "A hand that plays at some times only plays at one of them.",
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
        let plays = note.somewhere(road, &mut looks, |_, times, passes| {
            !times.holding(&only.when, passes).is_empty()
        });
        if plays == Some(false) {
            let (hands, never) = (hands_words(only.hands), never_comes(&only.when));
            let verb = if only.hands == Hands::Both {
                "play"
            } else {
                "plays"
            };
            let message = format!("{hands} never {verb} here: {never}");
            let help = "name times that come, or let the hands play every time".to_owned();
            report.at(note.marking, &[], message, help);
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some((index, marking)) = cures.marking() else {
        return;
    };
    cures.take_away(index);
    if let Sign::Only(only) = marking.sign() {
        let (hands, when) = (only.hands, When::LastPass);
        cures.rewrite(index, Sign::Only(Only { hands, when }));
    }
}
