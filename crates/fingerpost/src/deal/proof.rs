//! The proof of a board that is dealt: that it is in order, settled, played whole, and has no sign too many.

use super::concept::{Concept, concepts_on};
use crate::board::{Board, Marking, Sign};
use crate::compare::{questions_on, same_route};
use crate::legality::{errors_under, sound};
use crate::reading::Question;
use crate::roadmap::pieces::Compiled;
use crate::roadmap::sections::Sections;
use crate::roadmap::{Ground, Refusal, Roadmap, Terms};

/// What a proof shows to be amiss.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Amiss {
    /// It has an error or a warning: the rule.
    Finding(&'static str),
    /// A question of the reading changes its route.
    Unsettled,
    /// The sign of this index changes nothing.
    Idle(usize),
}

/// A board that is proved: its route, and the concepts that it shows.
pub(super) struct Proved {
    pub(super) roadmap: Roadmap,
    pub(super) concepts: Vec<Concept>,
}

/// Proves a board.
pub(super) fn prove(board: &Board) -> Result<Proved, Amiss> {
    let terms = Terms::default();
    let ground = Ground::new(board, &terms);
    let walked = sound(board, &ground, &terms).map_err(Amiss::Finding)?;
    if !is_settled(board, &ground, &walked.compiled) {
        return Err(Amiss::Unsettled);
    }
    let concepts = concepts_on(board, &ground);
    let roadmap = Roadmap::of(board, ground, walked);
    let mut all = 0..board.markings().len();
    match all.find(|&index| !is_needed(board, &roadmap, index)) {
        Some(idle) => Err(Amiss::Idle(idle)),
        None => Ok(Proved { roadmap, concepts }),
    }
}

/// Whether a board without one of its signs is no longer certain to be played as it is: its route is another, or it has an error, or readers
/// would differ on it.
pub(super) fn is_needed(board: &Board, roadmap: &Roadmap, index: usize) -> bool {
    let less = without(board, index);
    let sign = board.markings().get(index).map(Marking::sign);
    if matches!(
        sign,
        Some(Sign::Octave(_) | Sign::Fermata(_) | Sign::Only(_))
    ) {
        let other = roadmap.with_notes_of(&less);
        let heard = |it: &Roadmap| {
            it.steps()
                .map(|step| (step.octave, step.hold, step.hands))
                .collect::<Vec<_>>()
        };
        return heard(roadmap) != heard(&other);
    }
    let terms = Terms::default();
    let ground = Ground::new(&less, &terms);
    if !errors_under(&less, &ground).is_empty() {
        return true;
    }
    let Ok(walked) = ground.walk(&terms) else {
        return true;
    };
    let (compiled, sections) = (&roadmap.compiled, &roadmap.plan.sections);
    if walked.compiled.length != compiled.length {
        return true;
    }
    if walked.compiled == *compiled && ground.sections.same_as(sections) {
        return !is_settled(&less, &ground, &walked.compiled);
    }
    // They were not compiled alike, and may be the same nevertheless.
    match Roadmap::under(&less, &terms) {
        Ok(other) => !same_route(roadmap, &other) || !is_settled(&less, &ground, &walked.compiled),
        Err(Refusal::Errors(_) | Refusal::OpenPlays { .. }) => true,
    }
}

/// Whether no question of the reading changes the route of a board, which is known for the default reading: as
/// [`Comparison::settled`](crate::Comparison::settled), without the routes.
fn is_settled(board: &Board, ground: &Ground, compiled: &Compiled) -> bool {
    let questions = questions_on(board, &ground.laid, ground.row.length());
    if questions.is_empty() {
        return true;
    }
    let terms = Terms::default();
    let moved = [Question::LoneEndRepeat, Question::Nested];
    let same_sections = !questions.iter().any(|question| moved.contains(question));
    let mut other = ground.clone();
    let mut default = None;
    for reading in ground.reading.varied(&questions) {
        if reading == ground.reading {
            continue;
        }
        other.reading = reading;
        if !same_sections {
            other.sections = Sections::new(&other.laid, other.row.length(), reading, 2);
        }
        // A reading under which the board has errors gives no route.
        if !errors_under(board, &other).is_empty() {
            continue;
        }
        let Ok(walked) = other.walk(&terms) else {
            continue;
        };
        if walked.compiled.length != compiled.length {
            return false;
        }
        // Mostly the readings are compiled alike; where they are not, they are compared step by step.
        let alike_cut = same_sections || other.sections.same_as(&ground.sections);
        if !(alike_cut && walked.compiled == *compiled) {
            let default = default.get_or_insert_with(|| Roadmap::under(board, &terms));
            let varied = Roadmap::of(board, other.clone(), walked);
            if !default.as_ref().is_ok_and(|it| same_route(it, &varied)) {
                return false;
            }
        }
    }
    true
}

/// The board without one of its signs. The endings of one repeat go together: a second ending says nothing without a first.
fn without(board: &Board, index: usize) -> Board {
    let group = group_of(board.markings(), index);
    let others = board.markings().iter().enumerate();
    let others = others.filter(|(other, _)| *other != index && !group.contains(other));
    let others = others.map(|(_, marking)| marking.clone());
    let less = Board::builder(board.systems().iter().copied()).markings(others);
    // cannot fail: signs that stand on a board stand on it without some of them.
    less.build().unwrap_or_else(|_| board.clone())
}

/// The endings that follow one another with this one among them; none for another sign.
fn group_of(markings: &[Marking], index: usize) -> Vec<usize> {
    let is_ending = |marking: &Marking| matches!(marking.sign(), Sign::Ending(_));
    let Some(this) = markings.get(index).filter(|it| is_ending(it)) else {
        return Vec::new();
    };
    let endings: Vec<usize> = (0..markings.len())
        .filter(|&at| markings.get(at).is_some_and(is_ending))
        .collect();
    let mut group = vec![index];
    let (mut first, mut last) = (this.measure(), this.place().last());
    for _ in 0..endings.len() {
        for &at in endings.iter().filter(|at| **at != index) {
            let Some(place) = markings.get(at).map(Marking::place) else {
                continue;
            };
            if place.last() + 1 == first || last + 1 == place.first() {
                group.push(at);
                (first, last) = (first.min(place.first()), last.max(place.last()));
            }
        }
    }
    group
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::compare;
    use crate::deal::{Wish, deal};

    /// What is asked of boards that lack a sign is what comparing all readings says of them.
    #[test]
    fn a_board_is_settled_as_the_comparison_says() {
        let terms = Terms::default();
        let (mut settled, mut open) = (0, 0);
        for (level, seed) in (1..=5).flat_map(|level| (0..100).map(move |seed| (level, seed))) {
            let dealt = deal(&Wish::level(12, level), seed).unwrap();
            for index in 0..dealt.board.markings().len() {
                let less = without(&dealt.board, index);
                let Ok(comparison) = compare(&less, &terms) else {
                    continue;
                };
                let ground = Ground::new(&less, &terms);
                let walked = ground.walk(&terms).unwrap();
                let is_settled = is_settled(&less, &ground, &walked.compiled);
                assert_eq!(is_settled, comparison.settled(), "{}", less.to_line());
                *(if is_settled { &mut settled } else { &mut open }) += 1;
            }
        }
        assert!(settled > 100 && open > 100, "{settled} and {open}");
    }
}
