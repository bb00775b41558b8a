//! What has to be said of an unrolled score: lines that a jump cuts, verses, cut measures.

use std::collections::BTreeSet;

use super::lines::Kind;
use super::order::Order;
use super::part::Part;
use super::write::Writing;
use crate::notices::{Notice, Rule};

pub(super) fn notices(
    text: &str,
    parts: &[Part<'_>],
    order: &Order,
    writing: &Writing<'_>,
) -> Vec<Notice> {
    let lines = LineNumbers::of(text);
    let measure = |unit: u32| {
        let measure = order.measures.get(unit as usize).copied();
        measure.map(|measure| u32::from(measure).saturating_sub(1))
    };
    let mut notices = Vec::new();
    let mut said = BTreeSet::new();
    for (part, voice) in parts.iter().zip(writing.voices()) {
        let followed = &voice.followed;
        for (_, event) in followed.broken.iter().chain(&followed.closed) {
            let Some(event) = part.events.get(*event as usize) else {
                continue;
            };
            if !said.insert((measure(event.unit), event.kind.name())) {
                continue;
            }
            let name = event.kind.name();
            notices.push(Notice::new(
                Rule::LineCut,
                lines.at(event.range.start),
                measure(event.unit),
                format!("{name} cannot go on where the road jumps"),
                made_of(event.kind),
            ));
        }
        for (unit, name) in &voice.unknown {
            if said.insert((measure(*unit), name)) {
                notices.push(Notice::new(
                    Rule::NotWritten,
                    0,
                    measure(*unit),
                    format!("the score does not say which `{name}` holds here after a jump"),
                    "the one from before the jump goes on; write it in this measure",
                ));
            }
        }
        for at in &part.across {
            notices.push(Notice::new(
                Rule::MeasureCut,
                lines.at(*at),
                None,
                "this note sounds across the place where the road cuts its measure",
                "it was written whole; split the note there, with a tie",
            ));
        }
    }
    for cut in order.cut_measures() {
        notices.push(Notice::new(
            Rule::MeasureCut,
            0,
            Some(u32::from(cut).saturating_sub(1)),
            "the road cuts this measure",
            "its parts were written as measures of their own",
        ));
    }
    let verses = order
        .played
        .iter()
        .filter(|played| played.again)
        .find_map(|played| {
            let units = parts
                .iter()
                .filter_map(|part| part.units.get(played.unit as usize));
            let mut verses = units.filter_map(|unit| unit.verses);
            verses.next().map(|at| (played.unit, at))
        });
    if let Some((unit, at)) = verses {
        notices.push(Notice::new(
            Rule::VersesKept,
            lines.at(at),
            measure(unit),
            "several verses stand under music that is played again",
            "all stand under it each time; only `time-only` says which verse is for which time",
        ));
    }
    notices
}

/// What was made of a line that cannot go on.
fn made_of(kind: Kind) -> &'static str {
    match kind {
        Kind::Tie | Kind::Tied => "it was left out there: the note is struck anew",
        Kind::MultipleRest => "it was left out: its measures stand one by one",
        _ if kind.is_style() => "it was ended there: the measures stand written out",
        _ if kind.is_over_staff() => {
            "it was ended there, and begun again where the road comes back into it"
        }
        _ => "it was left out there",
    }
}

/// The lines of a text.
struct LineNumbers {
    ends: Vec<usize>,
}

impl LineNumbers {
    fn of(text: &str) -> LineNumbers {
        LineNumbers {
            ends: memchr::memchr_iter(b'\n', text.as_bytes()).collect(),
        }
    }

    /// The line of a byte, from 1.
    fn at(&self, byte: usize) -> u32 {
        let before = self.ends.partition_point(|end| *end < byte);
        u32::try_from(before + 1).unwrap_or(u32::MAX)
    }
}
