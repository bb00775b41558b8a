//! `octaves-too-far`: octave signs that add up to more than two octaves for one hand.

use std::collections::HashSet;

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::notes::{Layers, Looks, NoteAt, TimeSet, octaves};
use super::super::sheet::{Report, Road};
use super::super::words::hands_words;
use super::{How, Rule};
use crate::board::{Hands, Octave, Sign};

pub(super) const RULE: Rule = Rule {
    name: "octaves-too-far",
    severity: Severity::Warning,
    category: Category::Hands,
    since: "0.1",
    summary: "Octave signs add up to two octaves at most.",
    clause: "7.6",
    how: How::Walked(tell),
    cure: Some(cure),
};

/// The furthest that one octave sign goes, and that notes are ever sent in print.
const FURTHEST: i32 = 2;

fn tell(road: &Road<'_>, report: &mut Report<'_>) {
    let octaves = octaves(&road.sheet);
    let layers = Layers::new(&octaves);
    let (mut told, mut looks) = (HashSet::new(), Looks::default());
    layers.each_crowded(road, &mut looks, |over, times, passes| {
        for hand in [Hands::Right, Hands::Left] {
            let Some((shift, summed)) = furthest(over, hand, times, passes) else {
                continue;
            };
            let Some((&last, others)) = summed.split_last() else {
                continue;
            };
            if told.insert(last) {
                let direction = if shift > 0 { "up" } else { "down" };
                let message = format!(
                    "octave signs add up to {} octaves {direction} for {}",
                    shift.abs(),
                    hands_words(hand)
                );
                let help = format!("take one away: at most {FURTHEST} octaves can be read");
                report.at(last, others, message, help);
            }
        }
    });
}

fn cure(cures: &mut Cures<'_>) {
    if let Some(index) = cures.finding.marking {
        cures.take_away(index);
        for &other in cures.finding.related.iter().take(3) {
            cures.take_away(other);
        }
    }
}

/// A shift of a hand that goes too far, and the signs that add up to it.
fn furthest(
    over: &[&NoteAt<'_>],
    hand: Hands,
    times: &TimeSet,
    passes: u32,
) -> Option<(i32, Vec<u32>)> {
    let named = |octave: &Octave| octave.hands == Hands::Both || octave.hands == hand;
    let held: Vec<(u32, i32, TimeSet)> = over
        .iter()
        .filter_map(|note| match note.sign {
            Sign::Octave(octave) if named(octave) => Some((
                note.marking,
                i32::from(octave.shift.octaves()),
                times.holding(&octave.when, passes),
            )),
            _ => None,
        })
        .collect();
    // Where a sum is largest, some sign begins to hold.
    let begins = held.iter().flat_map(|(_, _, held)| held.begins());
    let mut begins: Vec<(bool, u32)> = begins.collect();
    begins.sort_unstable();
    begins.dedup();
    begins.into_iter().find_map(|(back, pass)| {
        let now = held.iter().filter(|(_, _, held)| held.has(back, pass));
        let sum: i32 = now.clone().map(|(_, shift, _)| shift).sum();
        let same_way = now.filter(|(_, shift, _)| (*shift > 0) == (sum > 0));
        (sum.abs() > FURTHEST).then(|| (sum, same_way.map(|(marking, _, _)| *marking).collect()))
    })
}
