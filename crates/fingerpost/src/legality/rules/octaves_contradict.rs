//! `octaves-contradict`: octave signs that send one hand up and down at the same time.

use std::collections::HashSet;

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::notes::{Layers, Looks, NoteAt, TimeSet, octaves};
use super::super::sheet::{Report, Road};
use super::super::words::hands_words;
use super::{How, Rule};
use crate::board::{Hands, Octave, Sign};

pub(super) const RULE: Rule = Rule {
    name: "octaves-contradict",
    severity: Severity::Warning,
    category: Category::Hands,
    since: "0.1",
    summary: "One hand is not sent up and down at the same time.",
    clause: "7.6",
    how: How::Walked(tell),
    cure: Some(cure),
};

fn tell(road: &Road<'_>, report: &mut Report<'_>) {
    let octaves = octaves(&road.sheet);
    let layers = Layers::new(&octaves);
    let (mut told, mut looks) = (HashSet::new(), Looks::default());
    layers.each_crowded(road, &mut looks, |over, times, passes| {
        for (at, note) in over.iter().enumerate() {
            let mut before = over.iter().take(at);
            let clash = before.find_map(|other| Some((other, hands(note, other, times, passes)?)));
            let Some((other, hands)) = clash else {
                continue;
            };
            if told.insert(note.marking) {
                let (one, two) = (
                    road.sheet.words(other.marking),
                    road.sheet.words(note.marking),
                );
                let message = format!(
                    "{two} and {one} hold at the same time for {}",
                    hands_words(hands)
                );
                let help = "take one of them away, or let them hold at different times".to_owned();
                report.at(note.marking, &[other.marking], message, help);
            }
        }
    });
}

fn cure(cures: &mut Cures<'_>) {
    let (Some((index, marking)), Some((other_index, other))) = (cures.marking(), cures.other())
    else {
        return;
    };
    cures.take_away(index);
    cures.take_away(other_index);
    let (Sign::Octave(one), Sign::Octave(two)) = (other.sign(), marking.sign()) else {
        return;
    };
    for (first, second) in [(Hands::Right, Hands::Left), (Hands::Left, Hands::Right)] {
        let for_hands = |index, octave: &Octave, hands| {
            cures.rewritten(
                index,
                Sign::Octave(Octave {
                    hands,
                    ..octave.clone()
                }),
            )
        };
        let edits = for_hands(other_index, one, first).into_iter();
        let edits: Vec<_> = edits.chain(for_hands(index, two, second)).collect();
        cures.propose(edits);
    }
}

/// The hands that two octave signs send in different directions at the same time.
fn hands(one: &NoteAt<'_>, other: &NoteAt<'_>, times: &TimeSet, passes: u32) -> Option<Hands> {
    let (Sign::Octave(one), Sign::Octave(other)) = (one.sign, other.sign) else {
        return None;
    };
    let hands = match (
        one.hands.right() && other.hands.right(),
        one.hands.left() && other.hands.left(),
    ) {
        (true, true) => Hands::Both,
        (true, false) => Hands::Right,
        (false, true) => Hands::Left,
        (false, false) => return None,
    };
    let opposite = (one.shift.octaves() > 0) != (other.shift.octaves() > 0);
    let together = || {
        times
            .holding(&one.when, passes)
            .holding(&other.when, passes)
    };
    (opposite && !together().is_empty()).then_some(hands)
}
