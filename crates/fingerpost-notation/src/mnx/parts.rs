//! What the parts add: octave lines and fermatas. They change no order.

use std::collections::HashSet;

use fingerpost::Hands;
use serde::Deserialize;
use serde_json::value::RawValue;

use super::{Position, Reading};
use crate::error::NotationError;
use crate::notices::Rule;
use crate::written::{At, OctaveStart, What, hands_of};

#[derive(Deserialize)]
#[serde(expecting = "an object for a part")]
struct Part<'a> {
    staves: Option<u8>,
    #[serde(borrow, default)]
    measures: Vec<&'a RawValue>,
}

#[derive(Deserialize)]
#[serde(expecting = "an object for a measure of a part")]
struct PartMeasure<'a> {
    #[serde(borrow, default)]
    ottavas: Vec<&'a RawValue>,
    #[serde(borrow, default)]
    sequences: Vec<Sequence<'a>>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase", expecting = "an object for a voice")]
struct Sequence<'a> {
    staff: Option<u8>,
    #[serde(borrow)]
    full_measure: Option<Held<'a>>,
    #[serde(borrow, default)]
    content: Vec<Held<'a>>,
}

/// A note, a rest, or what holds several of them.
#[derive(Deserialize)]
#[serde(expecting = "an object for a note or a rest")]
struct Held<'a> {
    #[serde(borrow)]
    fermata: Option<&'a RawValue>,
    staff: Option<u8>,
    #[serde(borrow, default)]
    content: Vec<Held<'a>>,
}

#[derive(Deserialize)]
#[serde(expecting = "an object with `value`, `position` and `end`")]
struct Ottava {
    value: i8,
    position: Position,
    end: End,
    staff: Option<u8>,
}

#[derive(Deserialize)]
#[serde(expecting = "an object with `measure` and `position`")]
struct End {
    measure: Called,
    position: Position,
}

/// A measure as other places of the document call it.
#[derive(Deserialize)]
#[serde(untagged)]
enum Called {
    Index(i64),
    Id(String),
}

impl<'a> Reading<'a> {
    pub(super) fn part(&mut self, raw: &'a RawValue) -> Result<(), NotationError> {
        let part: Part<'_> = self.object(raw)?;
        let mut held = HashSet::new();
        for (at, raw) in (0..self.measures()).zip(part.measures) {
            let measure: PartMeasure<'_> = self.object(raw)?;
            for raw in measure.ottavas {
                self.ottava(at, part.staves, raw)?;
            }
            for sequence in &measure.sequences {
                let all = sequence.full_measure.iter().chain(&sequence.content);
                for event in all {
                    for (raw, staff) in event.fermatas(sequence.staff) {
                        let hands = hands(part.staves, staff);
                        // Held by several notes, it is one fermata.
                        if held.insert((at, hands)) {
                            self.mark(at, At::End, raw, What::Fermata(hands));
                        }
                    }
                }
            }
        }
        Ok(())
    }

    fn ottava(
        &mut self,
        at: u32,
        staves: Option<u8>,
        raw: &'a RawValue,
    ) -> Result<(), NotationError> {
        let ottava: Ottava = self.object(raw)?;
        let last = match &ottava.end.measure {
            Called::Index(index) => self.by_index.get(index).copied(),
            Called::Id(id) => self.by_id.get(id).copied(),
        };
        let Some(last) = last.filter(|last| *last >= at) else {
            let message = "the end of this octave line is in no measure after it".to_owned();
            let help = "it was left out; let `end` name a measure of the score";
            self.notice(Rule::LineWithoutEnd, at, raw, message, help);
            return Ok(());
        };
        self.octaves = self.octaves.wrapping_add(1);
        let number = self.octaves;
        let start = OctaveStart {
            number,
            shift: ottava.value,
            hands: hands(staves, ottava.staff),
        };
        self.mark(
            at,
            ottava.position.at(self.length(at)),
            raw,
            What::OctaveStart(start),
        );
        // The end is the place of the last note under it: it lies in that measure, even where it is its start.
        let end = match ottava.end.position.at(self.length(last)) {
            At::Start | At::End => At::End,
            inside @ At::Inside(_) => inside,
        };
        self.mark(last, end, raw, What::OctaveStop { number });
        Ok(())
    }
}

impl<'a> Held<'a> {
    /// The fermatas of an event and of those in it, with their staves.
    fn fermatas(&self, staff: Option<u8>) -> Vec<(&'a RawValue, Option<u8>)> {
        let staff = self.staff.or(staff);
        let own = self.fermata.map(|raw| (raw, staff));
        let inner = self.content.iter().flat_map(|event| event.fermatas(staff));
        own.into_iter().chain(inner).collect()
    }
}

/// The hands of a staff; the first where none is named.
fn hands(staves: Option<u8>, staff: Option<u8>) -> Hands {
    hands_of(staves.unwrap_or(1), staff.or(Some(1)))
}
