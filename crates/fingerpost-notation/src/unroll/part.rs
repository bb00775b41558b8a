//! One part of a score made ready to be written out: its units with what of their text is left out when.

use std::collections::HashMap;
use std::ops::Range;

use fingerpost::{Fraction, Passes};

use super::lines::{Event, Kind, Role};
use super::page::Body;
use super::state::{Slot, State};
use super::tree::Node;

/// A measure, or a part of one that the road cuts.
#[derive(Default)]
pub(super) struct Unit {
    /// What stands before, in and after the music: left barlines, the music, right barlines.
    pub(super) head: Vec<Piece>,
    pub(super) middle: Vec<Piece>,
    pub(super) tail: Vec<Piece>,
    /// What is left out, in the order of the text; of two at one place the longer first, after what is only put in.
    pub(super) cuts: Vec<Cut>,
    /// What holds before and after it: indices of the states.
    pub(super) before: usize,
    pub(super) after: usize,
    /// What it sets itself before its first note.
    pub(super) own: Vec<Slot>,
    /// Whether a right barline of its own is left.
    pub(super) is_barred: bool,
    /// The bytes of its text.
    pub(super) length: u64,
    /// Verses of words under its notes that no pass is said for: where.
    pub(super) verses: Option<usize>,
}

/// Text of a unit.
pub(super) enum Piece {
    /// As it stands in the file, but for what is cut.
    Copy(Range<usize>),
    Put(String),
}

/// Bytes that are left out, and what is written there instead.
#[derive(Clone, Debug)]
pub(super) struct Cut {
    pub(super) range: Range<usize>,
    pub(super) when: When,
    pub(super) put: Option<String>,
}

/// When something is left out.
#[derive(Clone, Debug)]
pub(super) enum When {
    Always,
    /// But for the first time that the unit is written.
    Again,
    /// But at the very beginning.
    NotFirst,
    /// But at the very end.
    NotLast,
    /// On a pass that is on none of these lists.
    OnNone(Vec<u32>),
    /// When these lines are all broken there.
    Broken(Vec<u32>),
}

/// A part that has been read.
#[derive(Default)]
pub(super) struct Part<'t> {
    pub(super) units: Vec<Unit>,
    pub(super) states: Vec<State<'t>>,
    pub(super) events: Vec<Event>,
    pub(super) passes: Vec<Passes>,
    /// Notes that sound across a cut.
    pub(super) across: Vec<usize>,
}

/// A part as far as it has been read.
pub(super) struct Reading<'t> {
    pub(super) text: &'t str,
    pub(super) part: Part<'t>,
    keys: HashMap<String, u32>,
    state: State<'t>,
    divisions: u64,
    /// Of the present measure.
    pub(super) items: Vec<Item>,
    pub(super) cuts: Vec<Cut>,
    pub(super) now: u64,
    /// The lists of passes of the notes of the present chord, and the length of its first.
    pub(super) chord: Vec<Option<u32>>,
    pub(super) chord_length: u64,
    pub(super) verses: Option<usize>,
}

/// A child of a measure.
pub(super) struct Item {
    /// With the blank before it.
    pub(super) range: Range<usize>,
    pub(super) place: Place,
    /// In divisions from the start of the measure.
    pub(super) onset: u64,
    pub(super) length: u64,
    /// The events that begin with this one are its own.
    pub(super) events: Range<usize>,
    pub(super) cuts: Range<usize>,
    state: Option<usize>,
    own: Vec<Slot>,
    is_barred: bool,
}

/// Where an item belongs.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Place {
    Head,
    Note,
    /// A move in time: a backup or a forward.
    Move,
    Attributes,
    Middle,
    Tail,
}

impl<'t> Reading<'t> {
    pub(super) fn new(text: &'t str) -> Reading<'t> {
        Reading {
            text,
            part: Part {
                states: vec![State::default()],
                ..Part::default()
            },
            keys: HashMap::new(),
            state: State::default(),
            divisions: 1,
            items: Vec::new(),
            cuts: Vec::new(),
            now: 0,
            chord: Vec::new(),
            chord_length: 0,
            verses: None,
        }
    }

    /// Reads a measure; `cuts` says where the road cuts it, in fractions of a whole note. Without a cut it is one unit.
    pub(super) fn measure(&mut self, body: &Body, nodes: &[Node], cuts: &[Fraction]) {
        self.items.clear();
        self.cuts.clear();
        self.verses = None;
        self.now = 0;
        let before = self.part.states.len() - 1;
        let first_event = self.part.events.len();
        let mut end = body.inner.start;
        for (at, node) in nodes.iter().enumerate() {
            let name = node.name(self.text);
            if name != "note" || node.child(self.text, "chord").is_none() {
                self.end_chord(end);
                let cuts = self.cuts.len();
                if let Some(last) = self.items.last_mut() {
                    last.cuts.end = cuts;
                }
            }
            let events = self.part.events.len();
            let cuts = self.cuts.len();
            let mut item = Item {
                range: end..node.whole.end,
                place: Place::Middle,
                onset: self.now,
                length: 0,
                events: events..events,
                cuts: cuts..cuts,
                state: None,
                own: Vec::new(),
                is_barred: false,
            };
            self.item(node, nodes.get(at + 1), &mut item);
            self.common(node, &item.range, name == "note");
            item.events.end = self.part.events.len();
            item.cuts.end = self.cuts.len();
            end = node.whole.end;
            self.items.push(item);
        }
        self.end_chord(end);
        if let Some(last) = self.items.last_mut() {
            last.cuts.end = self.cuts.len();
        }
        if cuts.is_empty() {
            self.whole(body, before, first_event);
        } else {
            self.split(cuts, before, first_event);
        }
    }

    fn item(&mut self, node: &Node, next: Option<&Node>, item: &mut Item) {
        match node.name(self.text) {
            "note" => {
                item.place = Place::Note;
                self.note(node, item);
            }
            "backup" => {
                item.place = Place::Move;
                self.now = self
                    .now
                    .saturating_sub(node.number_in(self.text, "duration"));
            }
            "forward" => {
                item.place = Place::Move;
                self.now = self
                    .now
                    .saturating_add(node.number_in(self.text, "duration"));
            }
            "attributes" => {
                item.place = Place::Attributes;
                self.attributes(node, item);
            }
            "print" => {
                item.place = Place::Head;
                self.cut(item.range.clone(), When::NotFirst);
            }
            "bookmark" => {
                item.place = Place::Head;
                self.cut(item.range.clone(), When::Again);
            }
            "direction" => self.direction(node, next, item),
            "sound" => {
                let whole = item.range.clone();
                self.sound(node, whole);
            }
            "barline" => {
                let location = node.attribute(self.text, "location");
                item.place = match location.as_deref() {
                    Some("left") => Place::Head,
                    Some("middle") => Place::Middle,
                    _ => Place::Tail,
                };
                let stays = self.barline(node, item);
                item.is_barred = stays && item.place == Place::Tail;
            }
            _ => {}
        }
    }

    fn attributes(&mut self, node: &Node, item: &mut Item) {
        let text = self.text;
        for child in &node.children {
            if child.name(text) == "measure-style" {
                let numbers = child.attributes(text);
                let number = numbers.iter().find(|it| it.name == "number");
                let staff =
                    number.map_or_else(String::new, |number| number.value.clone().into_owned());
                let staff_at = number.map_or(0..0, |number| number.range.clone());
                for style in &child.children {
                    let event = self.event(style, child.whole.clone(), &staff, None);
                    self.stands_at(event, staff_at.clone());
                }
                continue;
            }
            if child.name(text) == "divisions" {
                self.divisions = node.number_in(text, "divisions").max(1);
            }
            item.own.extend(self.state.set(text, child));
        }
        if !item.own.is_empty() {
            if self.part.states.last() != Some(&self.state) {
                self.part.states.push(self.state.clone());
            }
            item.state = Some(self.part.states.len() - 1);
        }
    }

    /// Takes up an element that says something about a line; `cut` is what is left out with it.
    pub(super) fn event(
        &mut self,
        node: &Node,
        cut: Range<usize>,
        line: &str,
        only: Option<u32>,
    ) -> Option<u32> {
        let text = self.text;
        let kind = Kind::of(node.name(text))?;
        let role = if kind == Kind::MultipleRest {
            Role::Rest(node.text(text).trim().parse().ok()?)
        } else {
            match node.attribute(text, "type")?.as_ref() {
                "stop" | "discontinue" => Role::Stop,
                "continue" | "change" => Role::Continue,
                "start" | "up" | "down" | "crescendo" | "diminuendo" | "sostenuto" | "resume" => {
                    Role::Start
                }
                _ => return None,
            }
        };
        let number = node.attribute(text, "number");
        // A hostile file could make any number of lines; more than these are no lines of a score.
        let number = number
            .and_then(|number| number.trim().parse::<u8>().ok())
            .unwrap_or(1)
            .min(16);
        let (key, alike) = if matches!(kind, Kind::Tie | Kind::Tied) {
            let (pitch, _) = line.rsplit_once('/').unwrap_or((line, ""));
            (format!("{kind:?} {line}"), format!("{kind:?} {pitch}"))
        } else {
            (
                format!("{kind:?} {number} {line}"),
                format!("{kind:?} {number}"),
            )
        };
        let index = u32::try_from(self.part.events.len()).ok()?;
        let (key, alike) = (self.key(key), self.key(alike));
        self.part.events.push(Event {
            kind,
            key,
            alike,
            role,
            unit: 0,
            range: node.whole.clone(),
            staff: 0..0,
            only,
        });
        self.cuts.push(Cut {
            range: cut,
            when: When::Broken(vec![index]),
            put: None,
        });
        Some(index)
    }

    /// The words by which the file says for which staff a line is.
    pub(super) fn stands_at(&mut self, event: Option<u32>, staff: Range<usize>) {
        let event = event.and_then(|event| self.part.events.get_mut(event as usize));
        if let Some(event) = event {
            event.staff = staff;
        }
    }

    fn key(&mut self, name: String) -> u32 {
        let next = u32::try_from(self.keys.len()).unwrap_or(u32::MAX);
        *self.keys.entry(name).or_insert(next)
    }

    pub(super) fn cut(&mut self, range: Range<usize>, when: When) {
        self.cuts.push(Cut {
            range,
            when,
            put: None,
        });
    }

    /// A list of passes of the file's, by its index.
    pub(super) fn passes(&mut self, text: &str) -> Option<u32> {
        let passes = crate::passes::passes(text)?;
        let index = u32::try_from(self.part.passes.len()).ok()?;
        self.part.passes.push(passes);
        Some(index)
    }

    /// A measure that nothing cuts.
    fn whole(&mut self, body: &Body, before: usize, first_event: usize) {
        let index = u32::try_from(self.part.units.len()).unwrap_or(u32::MAX);
        for event in self.part.events.iter_mut().skip(first_event) {
            event.unit = index;
        }
        let leading = self
            .items
            .iter()
            .take_while(|item| item.place == Place::Head);
        let opens_at = leading
            .last()
            .map_or(body.inner.start, |item| item.range.end);
        let trailing = self
            .items
            .iter()
            .rev()
            .take_while(|item| item.place == Place::Tail);
        let closes_at = match trailing.last() {
            Some(item) => item.range.start,
            None => self.items.last().map_or(opens_at, |item| item.range.end),
        };
        let mut unit = Unit {
            head: vec![Piece::Copy(body.inner.start..opens_at)],
            middle: vec![Piece::Copy(opens_at..closes_at.max(opens_at))],
            tail: vec![Piece::Copy(closes_at.max(opens_at)..body.inner.end)],
            cuts: self.cuts.clone(),
            before,
            after: self.part.states.len() - 1,
            own: self.own(0..self.items.len()),
            is_barred: self.items.iter().any(|item| item.is_barred),
            length: body.inner.len() as u64,
            verses: self.verses,
        };
        unit.sort();
        self.part.units.push(unit);
    }

    /// What the items set before the first note among them.
    fn own(&self, items: Range<usize>) -> Vec<Slot> {
        let items = self.items.get(items).unwrap_or_default().iter();
        items
            .take_while(|item| !matches!(item.place, Place::Note | Place::Move))
            .flat_map(|item| item.own.iter().copied())
            .collect()
    }

    /// A measure that the road cuts, in so many units and one more.
    fn split(&mut self, cuts: &[Fraction], before: usize, first_event: usize) {
        let first = self.part.units.len();
        let cuts: Vec<u64> = cuts.iter().map(|cut| self.divisions_of(*cut)).collect();
        let mut units: Vec<Unit> = Vec::new();
        units.resize_with(cuts.len() + 1, Unit::default);
        let mut cursors = vec![0_u64; units.len()];
        let mut barred = None;
        let mut local: Vec<(u32, usize)> = Vec::new();
        for item in &self.items {
            let at_cut = cuts.iter().position(|cut| *cut == item.onset);
            let passed = cuts.iter().filter(|cut| **cut < item.onset).count();
            let later = matches!(item.place, Place::Note | Place::Attributes) || barred == at_cut;
            let unit = match item.place {
                Place::Head if item.onset == 0 => 0,
                Place::Tail => cuts.len(),
                _ => passed + usize::from(at_cut.is_some() && later),
            };
            if item.place == Place::Middle && at_cut.is_some() && !item.cuts.is_empty() {
                barred = at_cut;
            }
            let of_item = item.events.clone();
            local.extend(
                of_item.map(|event| (u32::try_from(first + unit).unwrap_or(u32::MAX), event)),
            );
            let ends = item.onset.saturating_add(item.length);
            if cuts.iter().any(|cut| *cut > item.onset && *cut < ends) {
                self.part.across.push(item.range.end);
            }
            let start = unit
                .checked_sub(1)
                .and_then(|at| cuts.get(at))
                .copied()
                .unwrap_or(0);
            let (Some(target), Some(cursor)) = (units.get_mut(unit), cursors.get_mut(unit)) else {
                continue;
            };
            target.cuts.extend(
                self.cuts
                    .get(item.cuts.clone())
                    .unwrap_or_default()
                    .iter()
                    .cloned(),
            );
            target.length += item.range.len() as u64;
            target.is_barred |= item.is_barred;
            if let Some(state) = item.state {
                target.after = target.after.max(state);
            }
            let copied = Piece::Copy(item.range.clone());
            match item.place {
                Place::Move => {}
                Place::Head => target.head.push(copied),
                Place::Tail => target.tail.push(copied),
                _ => {
                    let onset = item.onset.saturating_sub(start);
                    target.middle.extend(moved(*cursor, onset));
                    *cursor = onset.saturating_add(item.length);
                    target.middle.push(copied);
                    if !matches!(item.place, Place::Note) && target.middle.len() == 1 {
                        target.own.extend(item.own.iter().copied());
                    }
                }
            }
        }
        let mut known = before;
        for unit in &mut units {
            unit.before = known;
            known = known.max(unit.after);
            unit.after = known;
            unit.sort();
        }
        for (unit, event) in local {
            if let Some(event) = self.part.events.get_mut(event) {
                event.unit = unit;
            }
        }
        self.sort_events(first_event, &mut units);
        self.part.units.append(&mut units);
    }

    /// Puts the events of a cut measure in the order of its units.
    fn sort_events(&mut self, from: usize, units: &mut [Unit]) {
        let mut order: Vec<usize> = (from..self.part.events.len()).collect();
        order.sort_by_key(|index| self.part.events.get(*index).map(|event| event.unit));
        let sorted: Vec<Event> = order
            .iter()
            .filter_map(|index| self.part.events.get(*index).cloned())
            .collect();
        self.part.events.truncate(from);
        self.part.events.extend(sorted);
        let places: HashMap<usize, usize> = order
            .iter()
            .enumerate()
            .map(|(new, old)| (*old, from + new))
            .collect();
        for unit in units {
            for cut in &mut unit.cuts {
                if let When::Broken(events) = &mut cut.when {
                    for event in events {
                        let place = places
                            .get(&(*event as usize))
                            .and_then(|new| u32::try_from(*new).ok());
                        *event = place.unwrap_or(*event);
                    }
                }
            }
        }
    }

    /// A part of a whole note in the divisions that hold now.
    fn divisions_of(&self, length: Fraction) -> u64 {
        let whole = u64::from(length.numerator())
            .saturating_mul(4)
            .saturating_mul(self.divisions);
        whole / u64::from(length.denominator()).max(1)
    }
}

impl Unit {
    fn sort(&mut self) {
        self.cuts.sort_by_key(|cut| {
            let is_cut = !cut.range.is_empty();
            (cut.range.start, is_cut, std::cmp::Reverse(cut.range.end))
        });
    }
}

/// A move in time from one place to another.
fn moved(from: u64, to: u64) -> Option<Piece> {
    let (name, by) = match from.cmp(&to) {
        std::cmp::Ordering::Equal => return None,
        std::cmp::Ordering::Less => ("forward", to - from),
        std::cmp::Ordering::Greater => ("backup", from - to),
    };
    Some(Piece::Put(format!(
        "<{name}><duration>{by}</duration></{name}>"
    )))
}
