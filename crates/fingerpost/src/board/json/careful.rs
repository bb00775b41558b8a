//! The careful way to read a board file: everything that is wrong with it, each with its place and with what would be accepted.
//!
//! It takes every value through the same types as the quick way, so the two accept the same files.

use std::ops::Range;

use super::complaints::{Complaints, Spot, quote};
use super::description::{BoardFile, KeyOf, Kind, MOST_VALUES, MeterChangeFile, ReadingFile};
use super::faults;
use super::lists::{List, PassList};
use super::marking::{Keys, put_together};
use super::numbers::{Measure, Row, ShiftValue, SystemLength, Version};
use super::quick::{Cards, Markings, builder_of};
use super::syntax::{self, SMALLEST_BOARD};
use super::values::{Label, MeterValue, Object, Value, Word, names_of, one_of};
use super::{cursor, values::Title};
use crate::board::{
    Board, BoardFault, Hands, MOST_MARKINGS, Marking, Meter, Octave, Place, ReadError, Shift, Sign,
    Unplaced, When,
};

/// The board that a text holds, or everything that is wrong with it.
pub(super) fn read(text: &str) -> Result<Board, ReadError> {
    syntax::check(text)?;
    let root = Spot::root(text);
    let mut complaints = Complaints::default();
    if !cursor::is_object(text, &root.range) {
        complaints.no_value(&root, SMALLEST_BOARD.to_owned());
    } else if !other_version(&root, &mut complaints) {
        let mut reader = Reader::default();
        reader.take_board(&root, &mut complaints);
        let builder = builder_of(reader.file);
        match builder.clone().build_all() {
            Ok(board) if complaints.count() == 0 => return Ok(board),
            Ok(_) => {}
            Err(errors) => {
                faults::complain(&root, &reader.places, &builder, &errors, &mut complaints);
                return Err(refused(complaints, text, errors));
            }
        }
    }
    Err(refused(complaints, text, Vec::new()))
}

fn refused(complaints: Complaints, text: &str, errors: Vec<crate::board::BoardError>) -> ReadError {
    complaints.into_error(text, errors).unwrap_or_else(|| {
        // cannot fail: a text is refused only after a complaint or a fault, and each fault makes a complaint.
        let whole = super::complaints::complaint(
            "the file is not a board".to_owned(),
            Some(SMALLEST_BOARD.to_owned()),
            Some(String::new()),
            cursor::root(text),
        );
        ReadError::new(whole, [])
    })
}

/// Whether the file says that it is of another version; its other keys may then mean anything.
fn other_version(root: &Spot<'_>, complaints: &mut Complaints) -> bool {
    let Some(range) = member(root, "board") else {
        return false;
    };
    let spot = root.member("board", range);
    let slice = root.text.get(spot.range.clone()).unwrap_or_default();
    let is_other = slice
        .parse::<i64>()
        .is_ok_and(|number| number != Version::NUMBER);
    if is_other {
        let message = format!("version {} of the format is not known here", quote(slice));
        complaints.add(&spot, message, Some(Version::wanted()));
    }
    is_other
}

/// The value of the first member of that name.
pub(super) fn member(object: &Spot<'_>, name: &str) -> Option<Range<usize>> {
    cursor::members(object.text, &object.range)
        .find(|(key, _)| text_at(object.text, key).as_deref() == Some(name))
        .map(|(_, value)| value)
}

fn text_at(text: &str, range: &Range<usize>) -> Option<String> {
    serde_json::from_str(text.get(range.clone())?).ok()
}

/// Where the parts of a board stand that the builder may find at fault.
#[derive(Default)]
pub(super) struct Places {
    /// The bytes of each marking.
    pub(super) markings: Vec<Range<usize>>,
    /// The bytes of each sign in the hand.
    pub(super) unplaced: Vec<Range<usize>>,
}

struct Reader {
    file: BoardFile<Markings, Cards>,
    places: Places,
}

impl Default for Reader {
    fn default() -> Reader {
        Reader {
            file: BoardFile {
                schema: None,
                board: Version,
                title: None,
                composer: None,
                source: None,
                levels: None,
                meter: None,
                meters: None,
                pickup: None,
                systems: List(Vec::new()),
                measure_numbers: None,
                markings: None,
                unplaced: None,
                reading: None,
            },
            places: Places::default(),
        }
    }
}

impl Reader {
    fn take_board(&mut self, root: &Spot<'_>, complaints: &mut Complaints) {
        let file = &mut self.file;
        let places = &mut self.places;
        let mut systems: Option<List<SystemLength, MOST_VALUES>> = None;
        let known = names_of::<BoardFile<Markings, Cards>>();
        let seen = each_key(
            root,
            known,
            "a board",
            complaints,
            |key, at, out| match key {
                "$schema" => file.schema = at.read(out),
                "board" => drop(at.read::<Version>(out)),
                "title" => file.title = at.read::<Title>(out),
                "composer" => file.composer = at.read(out),
                "source" => file.source = at.read(out),
                "levels" => file.levels = at.read(out),
                // A meter that could not be read is no reason to ask for one.
                "meter" => file.meter = at.read(out).or(Meter::new(4, 4).map(MeterValue)),
                "meters" => file.meters = at.read(out),
                "pickup" => file.pickup = at.read(out),
                "systems" => systems = at.read(out),
                "measure-numbers" => file.measure_numbers = at.read(out),
                "markings" => {
                    let signs = each_sign(at, &mut places.markings, out, marking);
                    file.markings = Some(Markings(signs));
                }
                "unplaced" => {
                    let signs = each_sign(at, &mut places.unplaced, out, card);
                    file.unplaced = Some(Cards(signs));
                }
                "reading" => file.reading = at.read(out),
                _ => drop(out.no_key(at, at.range.clone(), "a board", known)),
            },
        );
        if seen.misses("board") {
            complaints.missing(root, "board", &Version::wanted());
        }
        if seen.misses("systems") {
            let wanted = "the number of measures of each system, such as `[4, 4]`";
            complaints.missing(root, "systems", wanted);
        }
        if let Some(systems) = systems {
            self.file.systems = systems;
        } else {
            // How many measures there are is not known, so no measure is off the board.
            self.file.systems = List(vec![SystemLength(u16::MAX)]);
            self.file.measure_numbers = None;
        }
    }
}

/// Which keys an object has.
pub(super) struct Seen<'k> {
    known: &'k [&'k str],
    /// For each known key, whether it is there.
    there: Vec<bool>,
    /// Known keys that an unknown one may be meant for.
    meant: Vec<&'k str>,
}

impl Seen<'_> {
    /// Whether the object has neither this key nor another that may be meant for it.
    pub(super) fn misses(&self, key: &str) -> bool {
        let mut keys = self.known.iter().zip(&self.there);
        !keys.any(|(&name, &there)| there && name == key) && !self.meant.contains(&key)
    }
}

/// Takes each member of an object once, and complains of keys that are not known or stand twice.
pub(super) fn each_key<'k>(
    object: &Spot<'_>,
    known: &'k [&'k str],
    what: &str,
    complaints: &mut Complaints,
    mut take: impl FnMut(&str, &Spot<'_>, &mut Complaints),
) -> Seen<'k> {
    let mut seen = Seen {
        known,
        there: vec![false; known.len()],
        meant: Vec::new(),
    };
    for (key, value) in cursor::members(object.text, &object.range) {
        if complaints.is_full() {
            break;
        }
        let Some(name) = text_at(object.text, &key) else {
            let shown = object.text.get(key.clone()).unwrap_or_default();
            let message = format!("{} is not a text that a key can have", quote(shown));
            complaints.add_at(object, key, message, None);
            continue;
        };
        let spot = object.member(&name, value);
        let index = known.iter().position(|&other| other == name);
        match index.and_then(|index| seen.there.get_mut(index)) {
            None => {
                seen.meant
                    .extend(complaints.no_key(&spot, key, what, known));
            }
            Some(true) => {
                let message = format!("the key {} stands twice", quote(&name));
                complaints.add_at(&spot, key, message, Some("each key once".to_owned()));
            }
            Some(first) => {
                *first = true;
                take(&name, &spot, complaints);
            }
        }
    }
    seen
}

/// Takes each sign of a list, and notes where it stands.
fn each_sign<T>(
    list: &Spot<'_>,
    places: &mut Vec<Range<usize>>,
    complaints: &mut Complaints,
    take: impl Fn(&Spot<'_>, &mut Complaints) -> T,
) -> Vec<T> {
    if !cursor::is_array(list.text, &list.range) {
        let wanted = "a list of signs, such as `[{\"mark\": \"fine\", \"measure\": 4}]`";
        complaints.no_value(list, wanted.to_owned());
        return Vec::new();
    }
    let count = cursor::elements(list.text, &list.range).count();
    if count > MOST_MARKINGS {
        let fault = BoardFault::TooManyMarkings(count);
        complaints.add(list, fault.to_string(), faults::accepted(&fault));
        return Vec::new();
    }
    places.extend(cursor::elements(list.text, &list.range));
    let mut taken = Vec::with_capacity(count);
    for (index, range) in places.iter().enumerate() {
        if complaints.is_full() {
            break;
        }
        taken.push(take(&list.element(index, range.clone()), complaints));
    }
    taken
}

fn marking(spot: &Spot<'_>, complaints: &mut Complaints) -> Marking {
    let (sign, mut keys) = sign(spot, true, complaints);
    // Where the place could not be read, any place on the board will do: the file is refused in any case.
    let place = keys.take_place(&sign).unwrap_or(Place::at(1));
    put_together(sign, place, keys.id)
}

fn card(spot: &Spot<'_>, complaints: &mut Complaints) -> Unplaced {
    let (sign, keys) = sign(spot, false, complaints);
    let id = keys.id.map(|Label(id)| id);
    Unplaced { sign, id }
}

/// Reads a sign; when something is wrong with it, one of the same shape stands in for it, so that its place is still looked at.
fn sign(spot: &Spot<'_>, placed: bool, complaints: &mut Complaints) -> (Sign, Keys) {
    let before = complaints.count();
    let mut keys = Keys::default();
    if !cursor::is_object(spot.text, &spot.range) {
        let wanted = "an object, such as `{\"mark\": \"fine\", \"measure\": 4}`";
        complaints.no_value(spot, wanted.to_owned());
        return (Sign::StartRepeat, keys);
    }
    let kind = member(spot, "mark").and_then(|range| {
        let slice = spot.text.get(range)?;
        serde_json::from_str::<Word<Kind>>(slice).ok()
    });
    let Some(Word(kind)) = kind else {
        // Without the kind nothing says which keys belong to it; those that belong to none are still named.
        let seen = each_key(
            spot,
            names_of::<Keys>(),
            "any mark",
            complaints,
            |key, at, out| {
                if key == "mark" {
                    at.read::<Word<Kind>>(out);
                }
            },
        );
        if seen.misses("mark") {
            complaints.missing(spot, "mark", &one_of(names_of::<Kind>()));
        }
        return (Sign::StartRepeat, keys);
    };
    let own: Vec<&KeyOf> = kind
        .keys()
        .iter()
        .filter(|key| placed || !key.place)
        .collect();
    let mut known = vec!["mark"];
    known.extend(own.iter().map(|key| key.name));
    let what = if placed {
        format!("`{}`", kind.name())
    } else {
        format!("an unplaced `{}`", kind.name())
    };
    let seen = each_key(spot, &known, &what, complaints, |key, at, out| {
        take_key(&mut keys, key, at, out);
    });
    for key in own {
        if key.required && seen.misses(key.name) {
            complaints.missing(spot, key.name, &wanted(key.name));
        }
    }
    let sign = keys.take_sign();
    match sign {
        Some(sign) if complaints.count() == before => (sign, keys),
        _ => (stand_in(kind), keys),
    }
}

fn take_key(keys: &mut Keys, key: &str, at: &Spot<'_>, out: &mut Complaints) {
    match key {
        "mark" => keys.mark = at.read(out),
        "measure" => keys.measure = at.read(out),
        "measures" => keys.measures = at.read(out),
        "cut" => keys.cut = at.read(out),
        "plays" => keys.plays = at.read(out),
        "on-return" => keys.on_return = at.read(out),
        "passes" => keys.passes = at.read(out),
        "open" => keys.open = at.read(out),
        "label" => keys.label = at.read(out),
        "arrivals" => keys.arrivals = at.read(out),
        "al" => keys.al = at.read(out),
        "then" => keys.then = at.read(out),
        "coda" => keys.coda = at.read(out),
        "repeats" => keys.repeats = at.read(out),
        "style" => keys.style = at.read(out),
        "hands" => keys.hands = at.read(out),
        "shift" => keys.shift = at.read(out),
        "when" => keys.when = at.read(out),
        "id" => keys.id = at.read(out),
        _ => drop(out.no_key(at, at.range.clone(), "any mark", names_of::<Keys>())),
    }
}

/// What would be accepted for a key that must not be missing.
fn wanted(key: &str) -> String {
    match key {
        "measure" => Measure::wanted(),
        "measures" => Row::wanted(),
        "passes" => PassList::wanted(),
        "shift" => ShiftValue::wanted(),
        _ => "a value".to_owned(),
    }
}

fn stand_in(kind: Kind) -> Sign {
    let spans = kind.keys().iter().any(|key| key.name == "measures");
    if spans {
        Sign::Octave(Octave {
            hands: Hands::Both,
            shift: Shift::Up1,
            when: When::EveryPass,
        })
    } else {
        Sign::StartRepeat
    }
}

impl Value for Object<MeterChangeFile> {
    fn wanted() -> String {
        "a change of meter, such as `{\"measure\": 5, \"meter\": \"3/4\"}`".to_owned()
    }

    fn explain(spot: &Spot<'_>, complaints: &mut Complaints) {
        if !cursor::is_object(spot.text, &spot.range) {
            return complaints.no_value(spot, Self::wanted());
        }
        let known = names_of::<MeterChangeFile>();
        let seen = each_key(
            spot,
            known,
            "a change of meter",
            complaints,
            |key, at, out| match key {
                "measure" => drop(at.read::<Measure>(out)),
                _ => drop(at.read::<MeterValue>(out)),
            },
        );
        if seen.misses("measure") {
            complaints.missing(spot, "measure", &Measure::wanted());
        }
        if seen.misses("meter") {
            complaints.missing(spot, "meter", &MeterValue::wanted());
        }
    }
}

impl Value for Object<ReadingFile> {
    fn wanted() -> String {
        "answers to the questions, such as `{\"repeats-on-return\": \"play\"}`".to_owned()
    }

    fn explain(spot: &Spot<'_>, complaints: &mut Complaints) {
        if !cursor::is_object(spot.text, &spot.range) {
            return complaints.no_value(spot, Self::wanted());
        }
        let known = names_of::<ReadingFile>();
        let mut file = ReadingFile::default();
        each_key(
            spot,
            known,
            "a reading",
            complaints,
            |key, at, out| match key {
                "repeats-on-return" => file.repeats_on_return = at.read(out),
                "jump-in-repeat" => file.jump_in_repeat = at.read(out),
                "armed-in-repeat" => file.armed_in_repeat = at.read(out),
                "arming" => file.arming = at.read(out),
                "lone-end-repeat" => file.lone_end_repeat = at.read(out),
                "nested" => file.nested = at.read(out),
                _ => drop(out.no_key(at, at.range.clone(), "a reading", known)),
            },
        );
    }
}
