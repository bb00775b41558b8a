//! Routes as answers tell them: a cut measure as one step, or part by part.

use super::search::{Key, PartsAs, Spelling, key};
use crate::roadmap::Roadmap;
use crate::route::{Cause, Step};

/// So many steps of a right order with cut measures are counted; a longer one is taken to be as long as that.
const MOST_COUNTED: usize = 1_000_000;

/// The steps of a route as an answer tells them.
pub(super) fn told<'a>(
    roadmap: &'a Roadmap,
    spelling: Spelling,
    answer: &'a [Key],
) -> impl Iterator<Item = Step> + use<'a> {
    let mut last: Option<Step> = None;
    let mut told = 0;
    roadmap.steps().filter(move |step| {
        let goes_on = goes_on(last.replace(*step), step);
        let tells = !goes_on || spelling.tells(answer, told, u32::from(step.measure));
        told += usize::from(tells);
        tells
    })
}

/// How many steps a route has as an answer tells them.
pub(super) fn length_told(roadmap: &Roadmap, spelling: Spelling, answer: &[Key]) -> u64 {
    if spelling.parts == PartsAs::Each {
        return roadmap.length();
    }
    let all = told(roadmap, spelling, answer);
    all.take(MOST_COUNTED).count() as u64
}

/// Whether a step plays the next part of the measure that the last one played.
fn goes_on(last: Option<Step>, step: &Step) -> bool {
    last.is_some_and(|last| {
        let meets = last.part.zip(step.part).map(|(a, b)| a.to == b.from);
        step.cause == Cause::On && last.measure == step.measure && meets == Some(true)
    })
}

/// Whether a route is just what an answer tells.
pub(super) fn gives(roadmap: &Roadmap, spelling: Spelling, answer: &[Key]) -> bool {
    let steps = || told(roadmap, spelling, answer).map(|step| of_step(&step, spelling));
    match spelling.parts {
        PartsAs::Each => {
            roadmap.length() == answer.len() as u64 && steps().eq(answer.iter().copied())
        }
        PartsAs::One => steps().eq(answer.iter().copied()),
        PartsAs::Answered => is_told(roadmap, spelling, answer),
    }
}

/// Whether an answer tells a route in which each measure that is played part by part is named once, or once for each part, as the answer
/// likes: here the one, there the other.
pub(super) fn is_told(roadmap: &Roadmap, spelling: Spelling, answer: &[Key]) -> bool {
    // The places in the answer that may have been reached before the parts that are looked at.
    let mut reached = vec![0_usize];
    let mut parts: Vec<Key> = Vec::new();
    let behind = |reached: &[usize], parts: &[Key]| {
        let mut next: Vec<usize> = Vec::new();
        for &at in reached {
            let rest = answer.get(at..).unwrap_or_default();
            if !parts.is_empty() && rest.first() == parts.first() {
                next.push(at + 1);
            }
            if parts.len() > 1 && rest.starts_with(parts) {
                next.push(at + parts.len());
            }
        }
        next.sort_unstable();
        next.dedup();
        next
    };
    let mut last: Option<Step> = None;
    for step in roadmap.steps() {
        if !goes_on(last.replace(step), &step) && !parts.is_empty() {
            reached = behind(&reached, &parts);
            parts.clear();
            if reached.is_empty() {
                return false;
            }
        }
        parts.push(of_step(&step, spelling));
    }
    behind(&reached, &parts).contains(&answer.len())
}

pub(super) fn of_step(step: &Step, spelling: Spelling) -> Key {
    let octave = if spelling.octaves {
        step.octave
    } else {
        crate::route::Octaves::default()
    };
    key(u32::from(step.measure), octave)
}
