//! What holds at a place of a part (divisions, key, time, clefs …), and what has to be written where a jump comes from another state.
//!
//! Source: MusicXML 4.0, element `attributes` and its children.

use std::collections::BTreeMap;

use super::tree::{Node, attributes};

/// The children of `attributes` that go on holding, in the order in which they are written.
const FAMILIES: [&str; 10] = [
    "divisions",
    "key",
    "time",
    "staves",
    "part-symbol",
    "instruments",
    "clef",
    "staff-details",
    "transpose",
    "for-part",
];

/// A part has no more staves; those that a hostile file numbers beyond are taken as one.
const MOST_STAVES: u16 = 16;

/// A child of `attributes` and the staff that it is for; 0 for all staves.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) struct Slot {
    family: u8,
    staff: u16,
}

/// What holds, each as it is written.
#[derive(Clone, Default, PartialEq, Eq, Debug)]
pub(super) struct State<'t> {
    slots: BTreeMap<Slot, &'t str>,
}

impl<'t> State<'t> {
    /// Takes over a child of `attributes`; `None` for one that does not go on holding.
    pub(super) fn set(&mut self, text: &'t str, node: &Node) -> Option<Slot> {
        let name = node.name(text);
        let family = FAMILIES.iter().position(|family| *family == name)?;
        let number = node.attribute(text, "number");
        let staff = number.and_then(|number| number.trim().parse::<u16>().ok());
        let staff = staff.map(|staff| staff.min(MOST_STAVES));
        let slot = Slot {
            family: u8::try_from(family).unwrap_or(u8::MAX),
            // A clef without a number is the first staff's.
            staff: staff.unwrap_or(u16::from(name == "clef")),
        };
        if slot.staff == 0 {
            self.slots.retain(|known, _| known.family != slot.family);
        }
        self.slots
            .insert(slot, text.get(node.whole.clone()).unwrap_or_default());
        Some(slot)
    }

    /// What has to be written so that this holds after `present` did; what the measure itself sets at its start (`own`) has not. And
    /// what held and cannot be taken back, because the file never says what holds here.
    pub(super) fn after(&self, present: &State<'_>, own: &[Slot]) -> (String, Vec<&'static str>) {
        let mut written = String::new();
        let mut unknown = Vec::new();
        for (number, name) in (0_u8..).zip(FAMILIES) {
            let wanted: Vec<(&Slot, &&str)> = of_family(self, number).collect();
            let held: Vec<(&Slot, &&str)> = of_family(present, number).collect();
            let sets_all = own
                .iter()
                .any(|slot| slot.family == number && slot.staff == 0);
            if wanted == held || sets_all {
                continue;
            }
            for (slot, element) in &wanted {
                if !own.contains(slot) {
                    written.push_str(&without_id(element));
                }
            }
            let known = |slot: &Slot| {
                let covers = |it: &Slot| it == slot || it.staff == 0 || slot.staff == 0;
                wanted.iter().any(|(it, _)| covers(it)) || own.contains(slot)
            };
            if held.iter().all(|(slot, _)| known(slot)) {
                continue;
            }
            match name {
                "divisions" => written.push_str("<divisions>1</divisions>"),
                "key" => written.push_str("<key><fifths>0</fifths></key>"),
                "staves" => written.push_str("<staves>1</staves>"),
                "transpose" => written.push_str("<transpose><chromatic>0</chromatic></transpose>"),
                _ => unknown.push(name),
            }
        }
        (written, unknown)
    }
}

fn of_family<'s, 't>(
    state: &'s State<'t>,
    family: u8,
) -> impl Iterator<Item = (&'s Slot, &'s &'t str)> {
    state
        .slots
        .iter()
        .filter(move |(slot, _)| slot.family == family)
}

/// An element without its `id`, which may stand in a file once only.
pub(super) fn without_id(element: &str) -> String {
    let end = element.find('>').map_or(element.len(), |end| end + 1);
    let id = attributes(element, 0..end)
        .into_iter()
        .find(|it| it.name == "id");
    let Some(id) = id else {
        return element.to_owned();
    };
    let before = element.get(..id.range.start).unwrap_or_default();
    let after = element.get(id.range.end..).unwrap_or_default();
    format!("{before}{after}")
}
