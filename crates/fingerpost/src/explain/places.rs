//! Measures and places in words, by their printed names.

use super::phrases::{Desk, Phrases, fill};
use crate::board::{Board, Fraction, Marking, Side};
use crate::legality::{Finding, FindingSide};
use crate::route::{Part, Run};

/// Where a marking stands: at the start of its measure, at its end, or at a point inside.
pub(super) fn place_of(phrases: &Phrases, board: &Board, marking: &Marking) -> String {
    let (measure, places) = (marking.measure(), &phrases.places);
    let landing = marking.sign().side() != Side::Leaving;
    let edge = match board.measure_length(measure) {
        Some(length) if !landing => length,
        _ => Fraction::ZERO,
    };
    match marking.place().cut().filter(|&cut| cut != edge) {
        None if landing => start_place(phrases, board, measure, None),
        None => {
            let name = board.measure_words(marking.place().last());
            fill(places.at_end, &[("measure", &name)])
        }
        Some(cut) if landing => start_place(phrases, board, measure, Some(cut)),
        Some(cut) => {
            let name = board.measure_words(measure);
            match board.beats_before(measure, cut) {
                Some(beats) => fill(
                    places.after_beat,
                    &[("measure", &name), ("beat", &beats.to_string())],
                ),
                None => fill(
                    places.after_point,
                    &[("measure", &name), ("point", &length(phrases, cut))],
                ),
            }
        }
    }
}

/// The start of a measure, or a point inside it where something lands.
pub(super) fn start_place(
    phrases: &Phrases,
    board: &Board,
    measure: u16,
    point: Option<Fraction>,
) -> String {
    let (name, places) = (board.measure_words(measure), &phrases.places);
    match point.filter(|&point| point != Fraction::ZERO) {
        None => fill(places.at_start, &[("measure", &name)]),
        Some(point) => match board.beats_before(measure, point) {
            Some(beats) => fill(
                places.at_beat,
                &[("measure", &name), ("beat", &(beats + 1).to_string())],
            ),
            None => fill(
                places.at_point,
                &[("measure", &name), ("point", &length(phrases, point))],
            ),
        },
    }
}

/// The start of a measure, or a point inside it, as the road is sent there where no sign marks it.
pub(super) fn target_place(
    phrases: &Phrases,
    board: &Board,
    measure: u16,
    point: Option<Fraction>,
) -> String {
    let (name, places) = (board.measure_words(measure), &phrases.places);
    match point.filter(|&point| point != Fraction::ZERO) {
        None => fill(places.measure, &[("measure", &name)]),
        Some(point) => match board.beats_before(measure, point) {
            Some(beats) => fill(
                places.beat,
                &[("measure", &name), ("beat", &(beats + 1).to_string())],
            ),
            None => fill(
                places.point,
                &[("measure", &name), ("point", &length(phrases, point))],
            ),
        },
    }
}

/// Where a finding is; nothing for one about the whole board. Measures are named as everywhere; beside a measure that is counted stands what
/// is printed over it.
pub(super) fn finding_place(desk: &Desk, board: &Board, finding: &Finding) -> Option<String> {
    let (place, words) = (finding.place(board)?, &desk.findings);
    let [from, to] = [place.from, place.to].map(|measure| with_print(desk, board, measure));
    let mark = finding
        .marking
        .and_then(|index| board.markings().get(index));
    let leaves = mark.is_some_and(|mark| mark.sign().side() == Side::Leaving);
    let (template, at) = match (place.side, place.beat, place.point) {
        (FindingSide::Inside, Some(beat), _) if leaves => (words.after_beat, beat.to_string()),
        (FindingSide::Inside, Some(beat), _) => (words.at_beat, beat.to_string()),
        (FindingSide::Inside, None, Some(point)) => (words.at_point, length(desk.words, point)),
        // A point is known of every place inside a measure.
        (FindingSide::Inside | FindingSide::Whole, ..) if place.from == place.to => {
            (words.in_one, String::new())
        }
        (FindingSide::Inside | FindingSide::Whole, ..) => (words.in_many, String::new()),
        (FindingSide::Start, ..) => (words.at_start, String::new()),
        (FindingSide::End, ..) => (words.at_end, String::new()),
        (FindingSide::Over, ..) if place.from == place.to => (words.over_one, String::new()),
        (FindingSide::Over, ..) => (words.over_many, String::new()),
    };
    Some(fill(template, &[("from", &from), ("to", &to), ("at", &at)]))
}

/// What is to be known of measures that are counted; nothing where none is.
pub(super) fn counting(desk: &Desk, board: &Board) -> Option<String> {
    board.measure_numbers()?;
    let mut measures = (1..=board.measures()).map(|measure| board.measure_words(measure));
    let first = measures.find(|words| words.starts_with('#') || words.ends_with(')'))?;
    Some(fill(desk.findings.counting, &[("measure", &first)]))
}

/// In a measure.
pub(super) fn in_measure(desk: &Desk, board: &Board, measure: u16) -> String {
    let measure = with_print(desk, board, measure);
    fill(desk.findings.in_one, &[("from", &measure)])
}

/// A measure as sentences name it; one that is counted with what is printed over it.
fn with_print(desk: &Desk, board: &Board, measure: u16) -> String {
    let said = board.measure_words(measure);
    if !said.starts_with('#') {
        return said;
    }
    let (words, name) = (desk.findings.printed, board.measure_name(measure));
    fill(words, &[("measure", &said), ("name", &name)])
}

/// What to play in a run.
pub(super) fn play(phrases: &Phrases, board: &Board, run: &Run) -> String {
    let words = &phrases.play;
    let starts = run.from_part.map(|part| part.from);
    let ends = run.to_part.map(|part| part.to);
    if run.from == run.to {
        let part = starts.zip(ends).map(|(from, to)| Part { from, to });
        let name = part_words(phrases, board, run.from, part);
        return fill(words.one, &[("from", &name)]);
    }
    let edge = |measure, part: Option<Part>| part_words(phrases, board, measure, part);
    let length = |measure| board.measure_length(measure).unwrap_or(Fraction::ZERO);
    let first = starts.map(|from| Part {
        from,
        to: length(run.from),
    });
    let last = ends.map(|to| Part {
        from: Fraction::ZERO,
        to,
    });
    let template = if run.to == run.from + 1 {
        words.two
    } else {
        words.many
    };
    fill(
        template,
        &[
            ("from", &edge(run.from, first)),
            ("to", &edge(run.to, last)),
        ],
    )
}

/// A measure, or a part of it.
fn part_words(phrases: &Phrases, board: &Board, measure: u16, part: Option<Part>) -> String {
    let name = board.measure_words(measure);
    let Some(part) = part else { return name };
    let words = &phrases.play;
    let from = (part.from != Fraction::ZERO).then_some(part.from);
    let to = (board.measure_length(measure) != Some(part.to)).then_some(part.to);
    let before = |point| board.beats_before(measure, point);
    let text = |point: Fraction| length(phrases, point);
    match (from, to) {
        (None, None) => name,
        (Some(from), None) => match before(from) {
            Some(beats) => fill(
                words.from_beat,
                &[("measure", &name), ("beat", &(beats + 1).to_string())],
            ),
            None => fill(
                words.from_point,
                &[("measure", &name), ("point", &text(from))],
            ),
        },
        (None, Some(to)) => match before(to) {
            Some(beats) => fill(
                words.to_beat,
                &[("measure", &name), ("beat", &beats.to_string())],
            ),
            None => fill(words.to_point, &[("measure", &name), ("point", &text(to))]),
        },
        (Some(from), Some(to)) => match (before(from), before(to)) {
            (Some(first), Some(last)) => fill(
                if first + 1 == last {
                    words.beat
                } else {
                    words.beats
                },
                &[
                    ("measure", &name),
                    ("from", &(first + 1).to_string()),
                    ("to", &last.to_string()),
                ],
            ),
            _ => fill(
                words.points,
                &[
                    ("measure", &name),
                    ("from", &from.to_string()),
                    ("to", &text(to)),
                ],
            ),
        },
    }
}

/// What stands above a board.
pub(super) fn heading(phrases: &Phrases, board: &Board) -> String {
    let words = &phrases.heading;
    let mut facts = vec![match board.measures() {
        1 => words.one_measure.to_owned(),
        number => fill(words.measures, &[("number", &number.to_string())]),
    }];
    let meter = board.meter();
    facts.extend(meter.map(|meter| fill(words.meter, &[("meter", &meter.to_string())])));
    facts.extend(board.pickup().map(|pickup| {
        let length = length(phrases, pickup);
        fill(words.pickup, &[("length", &length)])
    }));
    facts.join(", ")
}

/// A length in whole notes.
pub(super) fn length(phrases: &Phrases, length: Fraction) -> String {
    let words = &phrases.lengths;
    match (length.numerator(), length.denominator()) {
        (1, 1) => words.one.to_owned(),
        (number, 1) => fill(words.many, &[("number", &number.to_string())]),
        _ => fill(words.part, &[("part", &length.to_string())]),
    }
}
