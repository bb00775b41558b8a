//! What the builder finds at fault, said of the place in the file.

use std::collections::HashMap;
use std::ops::Range;

use super::careful::{Places, member};
use super::complaints::{Complaints, Spot};
use super::cursor;
use crate::board::{
    BoardBuilder, BoardError, BoardFault, LONGEST_LABEL, MOST_MARKINGS, MOST_MEASURES,
};

/// Complains of each fault at its place.
pub(super) fn complain(
    root: &Spot<'_>,
    places: &Places,
    builder: &BoardBuilder,
    errors: &[BoardError],
    complaints: &mut Complaints,
) {
    let mut found = Found::of(builder);
    let mut keys = Keys {
        object: root,
        places: HashMap::new(),
    };
    for error in errors {
        if complaints.is_full() {
            break;
        }
        let fault = error.fault();
        let (list, places, index) = match (error.marking(), error.unplaced()) {
            (Some(index), _) => ("markings", &places.markings, index),
            (None, Some(index)) => ("unplaced", &places.unplaced, index),
            (None, None) => {
                let (key, index) = found.place(fault);
                keys.complain(key, index, fault, complaints);
                continue;
            }
        };
        let list = keys.spot(list).unwrap_or_else(|| root.clone());
        let range = places.get(index).cloned().unwrap_or(list.range.clone());
        let sign = list.element(index, range);
        let (key, index) = key_of_sign(&sign, fault);
        let mut keys = Keys {
            object: &sign,
            places: HashMap::new(),
        };
        keys.complain(key, index, fault, complaints);
    }
}

/// The keys of an object, looked for once each: a board may have many faults, and its text may be long.
struct Keys<'a> {
    object: &'a Spot<'a>,
    places: HashMap<&'static str, Option<KeyPlace>>,
}

/// The bytes of the value of a key, and of its elements when it is a list.
struct KeyPlace {
    value: Range<usize>,
    elements: Vec<Range<usize>>,
}

impl Keys<'_> {
    fn place(&mut self, key: &'static str) -> Option<&KeyPlace> {
        let object = self.object;
        let place = self.places.entry(key).or_insert_with(|| {
            let value = member(object, key)?;
            let elements = cursor::elements(object.text, &value).collect();
            Some(KeyPlace { value, elements })
        });
        place.as_ref()
    }

    fn spot(&mut self, key: &'static str) -> Option<Spot<'_>> {
        let range = self.place(key)?.value.clone();
        Some(self.object.member(key, range))
    }

    /// Complains at the value of a key or at an element of it; at the object when it has no such key.
    fn complain(
        &mut self,
        key: &'static str,
        index: Option<usize>,
        fault: &BoardFault,
        complaints: &mut Complaints,
    ) {
        let (message, accepted) = (fault.to_string(), accepted(fault));
        let object = self.object;
        let Some(KeyPlace {
            value: range,
            elements,
        }) = self.place(key)
        else {
            return complaints.add(object, message, accepted);
        };
        let value = object.member(key, range.clone());
        let element = index.and_then(|index| Some((index, elements.get(index)?.clone())));
        let Some((index, range)) = element else {
            return complaints.add(&value, message, accepted);
        };
        let element = value.element(index, range);
        match member(&element, "measure") {
            Some(range) => complaints.add(&element.member("measure", range), message, accepted),
            None => complaints.add(&element, message, accepted),
        }
    }
}

fn key_of_sign(sign: &Spot<'_>, fault: &BoardFault) -> (&'static str, Option<usize>) {
    match fault {
        BoardFault::OffTheBoard { measure, .. } => match member(sign, "measures") {
            Some(range) => {
                let is_it = |at: Range<usize>| {
                    let slice = sign.text.get(at).unwrap_or_default();
                    slice.parse() == Ok(*measure)
                };
                let index = cursor::elements(sign.text, &range).position(is_it);
                ("measures", index)
            }
            None => ("measure", None),
        },
        BoardFault::Backwards(..) | BoardFault::NoRow(_) => ("measures", None),
        BoardFault::NoCut(_) => ("cut", None),
        BoardFault::PlaysOutOfRange(_) => ("plays", None),
        BoardFault::AlSegnoAtDalSegno => ("al", None),
        BoardFault::ThenWithoutPlace => ("then", None),
        BoardFault::CodaWithoutCoda => ("coda", None),
        BoardFault::LabelAtDaCapo => ("label", None),
        BoardFault::TooLong { what, .. } | BoardFault::ControlCharacter(what) => (what, None),
        _ => ("mark", None),
    }
}

/// The places of faults that come once for each element of a list, in the order of the list.
struct Found {
    long_names: std::vec::IntoIter<usize>,
    control_names: std::vec::IntoIter<usize>,
    meters_off: std::vec::IntoIter<usize>,
    levels: std::vec::IntoIter<usize>,
    meters_falling: Option<usize>,
}

impl Found {
    fn of(builder: &BoardBuilder) -> Found {
        let board = &builder.board;
        let names = board.measure_numbers.as_deref().unwrap_or_default();
        let measures = board.measures();
        let levels = board.levels.iter().enumerate();
        let mut seen = [false; 100];
        let bad_level = |&(_, &level): &(usize, &u8)| match seen.get_mut(usize::from(level)) {
            Some(seen) if level > 0 => std::mem::replace(seen, true),
            _ => true,
        };
        let pairs = board.meters.windows(2).enumerate();
        Found {
            long_names: indices(names, |name| name.chars().count() > LONGEST_LABEL),
            control_names: indices(names, |name| name.bytes().any(|b| b < 0x20 || b == 0x7f)),
            meters_off: indices(&board.meters, |change| {
                change.measure == 0 || change.measure > measures
            }),
            levels: levels
                .filter(bad_level)
                .map(|(index, _)| index)
                .collect::<Vec<_>>()
                .into_iter(),
            meters_falling: pairs
                .filter(|(_, pair)| !pair.is_sorted_by(|a, b| a.measure < b.measure))
                .map(|(index, _)| index + 1)
                .next(),
        }
    }

    /// The key and the element where a fault of the board as a whole stands.
    fn place(&mut self, fault: &BoardFault) -> (&'static str, Option<usize>) {
        match fault {
            BoardFault::NoSystems | BoardFault::TooManyMeasures(_) => ("systems", None),
            BoardFault::EmptySystem(number) => ("systems", number.checked_sub(1)),
            BoardFault::TooManyMarkings(_) => ("markings", None),
            BoardFault::OffTheBoard { .. } => ("meters", self.meters_off.next()),
            BoardFault::MeasureNumbers { .. } => ("measure-numbers", None),
            BoardFault::MetersOutOfOrder => ("meters", self.meters_falling),
            BoardFault::MetersWithoutMeter => ("meters", None),
            BoardFault::EmptyPickup => ("pickup", None),
            BoardFault::Level(_) => ("levels", self.levels.next()),
            BoardFault::TooLong { what, .. } => match *what {
                "measure-numbers" => ("measure-numbers", self.long_names.next()),
                what => (what, None),
            },
            BoardFault::ControlCharacter(what) => match *what {
                "measure-numbers" => ("measure-numbers", self.control_names.next()),
                what => (what, None),
            },
            _ => ("board", None),
        }
    }
}

fn indices<T>(list: &[T], is_bad: impl Fn(&T) -> bool) -> std::vec::IntoIter<usize> {
    let bad = list.iter().enumerate().filter(|(_, value)| is_bad(value));
    let bad: Vec<usize> = bad.map(|(index, _)| index).collect();
    bad.into_iter()
}

/// What would be accepted in place of a fault; absent where the message says it.
pub(super) fn accepted(fault: &BoardFault) -> Option<String> {
    Some(match fault {
        BoardFault::NoSystems => {
            "the number of measures of each system, such as `[4, 4]`".to_owned()
        }
        BoardFault::EmptySystem(_) => "a whole number of measures from 1 to 65535".to_owned(),
        BoardFault::TooManyMeasures(_) => {
            format!("systems with at most {MOST_MEASURES} measures in all")
        }
        BoardFault::TooManyMarkings(_) => {
            format!("at most {MOST_MARKINGS} signs, those in the hand included")
        }
        BoardFault::OffTheBoard { measures, .. } => format!("a measure from 1 to {measures}"),
        BoardFault::Backwards(first, last) => {
            format!("the first measure, then the last: `[{last}, {first}]`")
        }
        BoardFault::PlaysOutOfRange(_) => "a whole number from 1 to 1000000, or `\"open\"`".into(),
        BoardFault::AlSegnoAtDalSegno => "`\"fine\"`, `\"coda\"`, `\"end\"`, or no `al`".to_owned(),
        BoardFault::ThenWithoutPlace => {
            "`al` with `\"fine\"` or `\"segno\"`, or no `then`".to_owned()
        }
        BoardFault::CodaWithoutCoda => {
            "`al` with `\"coda\"`, `then` with `\"coda\"`, or no `coda`".to_owned()
        }
        BoardFault::LabelAtDaCapo => "`al` with `\"segno\"`, or no `label`".to_owned(),
        BoardFault::TooLong { most, .. } => format!("a text of at most {most} characters"),
        BoardFault::ControlCharacter(_) => "a text on one line".to_owned(),
        BoardFault::MeasureNumbers { measures, .. } => {
            format!("a list of {measures} texts, one for each measure")
        }
        BoardFault::MetersOutOfOrder => "changes of meter whose measures rise".to_owned(),
        BoardFault::MetersWithoutMeter => "the key `meter` as well, or no `meters`".to_owned(),
        BoardFault::EmptyPickup => "a fraction of a whole note above 0, such as `\"1/4\"`".into(),
        BoardFault::Level(_) => "whole numbers from 1 to 99, each once".to_owned(),
        _ => return None,
    })
}
