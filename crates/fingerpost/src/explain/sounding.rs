//! How the measures of a run sound, in words.

use super::phrases::{Phrases, fill};
use crate::board::Board;
use crate::roadmap::Roadmap;
use crate::route::{Held, Octaves, Run, Step};

/// What is to be said of octaves, hands and fermatas in a run; nothing when it is played as written.
pub(super) fn sounding(
    phrases: &Phrases,
    board: &Board,
    roadmap: &Roadmap,
    run: &Run,
) -> Vec<String> {
    let steps: Vec<Step> = (run.index..run.index + run.steps)
        .map_while(|index| roadmap.step(index))
        .collect();
    let mut notes = Vec::new();
    let mut say = |differs: &dyn Fn(&Step) -> Option<String>| {
        let mut rest = steps.as_slice();
        while let Some(first) = rest.first() {
            let key = differs(first);
            let count = rest.iter().take_while(|step| differs(step) == key).count();
            let (group, after) = rest.split_at_checked(count).unwrap_or((rest, &[]));
            if let (Some(template), Some(last)) = (key, group.last()) {
                let measures = measures(phrases, board, first.measure, last.measure);
                notes.push((first.measure, fill(&template, &[("measures", &measures)])));
            }
            rest = after;
        }
    };
    let words = &phrases.sounding;
    say(&|step| both(phrases, step.octave));
    say(&|step| hand(phrases, step.octave, words.right, |it| it.right));
    say(&|step| hand(phrases, step.octave, words.left, |it| it.left));
    say(&|step| match step.hands {
        Held::Both => None,
        Held::Right => Some(with_hand(words.only, words.right)),
        Held::Left => Some(with_hand(words.only, words.left)),
        Held::None => Some(words.silent.to_owned()),
    });
    say(&|step| match step.hold {
        Held::None => None,
        Held::Both => Some(words.hold.to_owned()),
        Held::Right => Some(with_hand(words.hold_hand, words.right)),
        Held::Left => Some(with_hand(words.hold_hand, words.left)),
    });
    // What is said of one measure keeps its order.
    notes.sort_by_key(|&(measure, _)| measure);
    notes.into_iter().map(|(_, note)| note).collect()
}

/// Both hands shifted alike.
fn both(phrases: &Phrases, octave: Octaves) -> Option<String> {
    let alike = octave.right == octave.left && octave.right != 0;
    alike.then(|| {
        let shift = shift(phrases, octave.right);
        fill(
            phrases.sounding.both_hands,
            &[("measures", "{measures}"), ("shift", &shift)],
        )
    })
}

/// One hand shifted otherwise than the other.
fn hand(phrases: &Phrases, octave: Octaves, name: &str, of: fn(Octaves) -> i8) -> Option<String> {
    let differs = octave.right != octave.left && of(octave) != 0;
    differs.then(|| {
        let shift = shift(phrases, of(octave));
        fill(
            phrases.sounding.one_hand,
            &[
                ("measures", "{measures}"),
                ("hand", name),
                ("shift", &shift),
            ],
        )
    })
}

fn with_hand(template: &str, hand: &str) -> String {
    fill(template, &[("measures", "{measures}"), ("hand", hand)])
}

fn shift(phrases: &Phrases, octaves: i8) -> String {
    let words = &phrases.sounding;
    match octaves {
        1 => words.up_one.to_owned(),
        2 => words.up_two.to_owned(),
        -1 => words.down_one.to_owned(),
        -2 => words.down_two.to_owned(),
        up if up > 0 => fill(words.up, &[("octaves", &up.to_string())]),
        down => fill(words.down, &[("octaves", &down.unsigned_abs().to_string())]),
    }
}

/// In one measure, in words.
pub(super) fn one(phrases: &Phrases, board: &Board, measure: u16) -> String {
    measures(phrases, board, measure, measure)
}

fn measures(phrases: &Phrases, board: &Board, from: u16, to: u16) -> String {
    let words = &phrases.sounding;
    let template = match to - from {
        0 => words.in_one,
        1 => words.in_two,
        _ => words.in_many,
    };
    let (from, to) = (board.measure_words(from), board.measure_words(to));
    fill(template, &[("from", &from), ("to", &to)])
}
