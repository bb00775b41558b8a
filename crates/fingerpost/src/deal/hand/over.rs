//! Signs that stand over the measures and move no road: octave signs, fermatas, hands that rest, double bars. They may stand wherever they
//! hold at some time.

use std::collections::BTreeSet;

use super::order::{Order, choices};
use crate::board::{Board, Marking, Place, Sign, When};
use crate::chance::Chance;
use crate::roadmap::{Roadmap, Terms};
use crate::route::{Held, Octaves};

/// Equal signs over the measures, and how many of them there are.
#[derive(Clone, Debug)]
pub(super) struct Same {
    pub(super) sign: Sign,
    pub(super) count: u64,
}

/// Whether a sign is of the road.
pub(super) fn is_of_the_road(sign: &Sign) -> bool {
    !matches!(
        sign,
        Sign::Octave(_) | Sign::Fermata(_) | Sign::Only(_) | Sign::DoubleBar(_)
    )
}

/// The signs over the measures, equal ones together.
pub(super) fn gathered(signs: &[Sign]) -> Vec<Same> {
    let mut all: Vec<Same> = Vec::new();
    for sign in signs.iter().filter(|sign| !is_of_the_road(sign)) {
        match all.iter_mut().find(|same| same.sign == *sign) {
            Some(same) => same.count += 1,
            None => all.push(Same {
                sign: sign.clone(),
                count: 1,
            }),
        }
    }
    all
}

/// Whether it holds at some times only, so that where it may stand hangs on the road.
fn has_times(sign: &Sign) -> bool {
    match sign {
        Sign::Octave(octave) => octave.when != When::EveryPass,
        Sign::Fermata(fermata) => fermata.when != When::EveryPass,
        Sign::Only(_) => true,
        _ => false,
    }
}

/// In how many ways the signs over the measures may be laid, all together, on all boards of so many measures that an order of the road stands
/// for.
pub(super) fn ways(all: &[Same], order: &Order, road: &[Sign], measures: u16) -> u64 {
    let n = u64::from(measures);
    let rows = n * (n + 1) / 2;
    let free: u64 = all
        .iter()
        .filter(|same| !has_times(&same.sign))
        .map(|same| choices(if same.sign.spans() { rows } else { n }, same.count))
        .fold(1, u64::saturating_mul);
    let timed: Vec<(&Same, BTreeSet<u16>)> = all
        .iter()
        .filter(|same| has_times(&same.sign))
        .map(|same| (same, held(&same.sign, order, road)))
        .collect();
    if timed.is_empty() {
        let inside = u64::from(order.measures) - 1;
        return free.saturating_mul(choices(n - 1, inside));
    }
    let mut sum = 0_u64;
    each_length(order.measures, measures, &mut Vec::new(), &mut |lengths| {
        let ways = timed.iter().map(|(same, held)| {
            let places = places(&same.sign, held, lengths);
            choices(places, same.count)
        });
        sum = sum.saturating_add(ways.fold(1, u64::saturating_mul));
    });
    free.saturating_mul(sum)
}

/// The measures of an order at which a sign holds at some time.
fn held(sign: &Sign, order: &Order, road: &[Sign]) -> BTreeSet<u16> {
    let over = if sign.spans() {
        vec![Marking::new(sign.clone(), Place::over(1, order.measures))]
    } else {
        let each = (1..=order.measures).map(|at| Marking::new(sign.clone(), Place::at(at)));
        each.collect()
    };
    let board = Board::builder([order.measures])
        .markings(order.markings(road))
        .markings(over);
    let terms = Terms {
        open_plays: Some(2),
        ..Terms::default()
    };
    let roadmap = board
        .build()
        .ok()
        .and_then(|board| Roadmap::under(&board, &terms).ok());
    let Some(roadmap) = roadmap else {
        return BTreeSet::new();
    };
    let steps = roadmap.steps().filter(|step| {
        step.octave != Octaves::default() || step.hold != Held::None || step.hands != Held::Both
    });
    steps.map(|step| step.measure).collect()
}

/// How many places a sign has on measures of these lengths, of which it holds at some.
fn places(sign: &Sign, held: &BTreeSet<u16>, lengths: &[u16]) -> u64 {
    let total: u64 = lengths.iter().map(|&length| u64::from(length)).sum();
    let holds = |at: usize| u16::try_from(at + 1).is_ok_and(|measure| held.contains(&measure));
    if !sign.spans() {
        let here = lengths.iter().enumerate().filter(|(at, _)| holds(*at));
        return here.map(|(_, &length)| u64::from(length)).sum();
    }
    // All rows but those over measures where it never holds.
    let (mut idle, mut run) = (0, 0);
    for (at, &length) in lengths.iter().enumerate() {
        if holds(at) {
            idle += run * (run + 1) / 2;
            run = 0;
        } else {
            run += u64::from(length);
        }
    }
    idle += run * (run + 1) / 2;
    total * (total + 1) / 2 - idle
}

/// Every way to make so many measures of so many lengths, each at least 1.
fn each_length(parts: u16, measures: u16, lengths: &mut Vec<u16>, then: &mut dyn FnMut(&[u16])) {
    if parts <= 1 {
        if parts == 1 && measures >= 1 {
            lengths.push(measures);
            then(lengths);
            lengths.pop();
        }
        return;
    }
    for first in 1..measures.saturating_sub(parts - 2) {
        lengths.push(first);
        each_length(parts - 1, measures - first, lengths, then);
        lengths.pop();
    }
}

/// One of the signs laid over a board by chance; `None` when chance found no place where it holds.
pub(super) fn lay(
    sign: &Sign,
    taken: &[Marking],
    board: &Board,
    chance: &mut Chance,
) -> Option<Marking> {
    let measures = u64::from(board.measures());
    let measure = |chance: &mut Chance| u16::try_from(chance.below(measures) + 1).unwrap_or(1);
    for _ in 0..40 {
        let first = measure(chance);
        let place = if sign.spans() {
            // Rows of half a phrase or a whole one, as far as the board goes.
            let length = chance.one(&[1, 2, 4, 4])?;
            Place::over(first, (first + length - 1).min(board.measures()))
        } else {
            Place::at(first)
        };
        let marking = Marking::new(sign.clone(), place);
        let there = taken.iter().chain(board.markings());
        let twice = there.clone().any(|other| *other == marking);
        let crowded = there.clone().any(|other| {
            matches!(other.sign(), Sign::Octave(_) | Sign::Only(_))
                && other.place().first() <= place.last()
                && place.first() <= other.place().last()
        });
        if !twice && !crowded && plays_its_part(board, &marking) {
            return Some(marking);
        }
    }
    None
}

fn plays_its_part(board: &Board, marking: &Marking) -> bool {
    if !has_times(marking.sign()) {
        return true;
    }
    let with = board.to_builder().marking(marking.clone()).build();
    let terms = Terms {
        open_plays: Some(2),
        ..Terms::default()
    };
    let roadmap = |board: &Board| Roadmap::under(board, &terms).ok();
    let sounds = |map: &Roadmap| {
        let steps = map.steps().take(100_000);
        steps
            .map(|it| (it.octave, it.hold, it.hands))
            .collect::<Vec<_>>()
    };
    match (roadmap(board), with.ok().as_ref().and_then(roadmap)) {
        (Some(one), Some(other)) => sounds(&one) != sounds(&other),
        _ => false,
    }
}
