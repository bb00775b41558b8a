//! Octave signs, fermatas and hands that play at some times only: what sounds at a part, and when. Rulebook, chapter 7.

use std::collections::HashSet;

use super::row::{PartIndex, Row};
use crate::board::{Board, Hands, Sign, When};
use crate::route::{Held, Octaves};

/// The marks that change what sounds, and the parts they cover.
#[derive(Clone, Debug, Default)]
pub(crate) struct Notes {
    list: Vec<Note>,
    /// A tree over the parts: each note stands at the few nodes that together cover its parts, so that long notes cost little.
    nodes: Vec<Vec<u32>>,
    leaves: usize,
    /// For each part the next one, itself included, that a note covers.
    next: Vec<PartIndex>,
}

#[derive(Clone, Debug)]
struct Note {
    what: What,
    hands: Hands,
    when: When,
}

#[derive(Clone, Copy, Debug)]
enum What {
    Octave(i8),
    Fermata,
    Only,
}

/// Which time it is.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Time {
    pub(crate) pass: u32,
    /// The number of passes of the innermost section.
    pub(crate) passes: u32,
    pub(crate) leg: u32,
}

/// What sounds at a step.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Sounding {
    pub(crate) octave: Octaves,
    pub(crate) hold: Held,
    pub(crate) hands: Held,
}

impl Sounding {
    pub(crate) const PLAIN: Sounding = Sounding {
        octave: Octaves { right: 0, left: 0 },
        hold: Held::None,
        hands: Held::Both,
    };
}

impl Notes {
    pub(crate) fn new(board: &Board, row: &Row) -> Notes {
        let mut notes = Notes::default();
        let mut spans: Vec<(PartIndex, PartIndex)> = Vec::new();
        // Equal signs over the same measures are one (rulebook 1.10).
        let mut seen = HashSet::new();
        for marking in board.markings() {
            let note = match marking.sign() {
                Sign::Octave(octave) => Note {
                    what: What::Octave(octave.shift.octaves()),
                    hands: octave.hands,
                    when: octave.when.clone(),
                },
                Sign::Fermata(fermata) => Note {
                    what: What::Fermata,
                    hands: fermata.hands,
                    when: fermata.when.clone(),
                },
                Sign::Only(only) => Note {
                    what: What::Only,
                    hands: only.hands,
                    when: only.when.clone(),
                },
                _ => continue,
            };
            let place = marking.place();
            if !seen.insert((marking.sign(), place)) {
                continue;
            }
            spans.push((
                row.parts_of(place.first()).start,
                row.parts_of(place.last()).end,
            ));
            notes.list.push(note);
        }
        if notes.list.is_empty() {
            return notes;
        }
        notes.leaves = (row.length() as usize).next_power_of_two();
        notes.nodes = vec![Vec::new(); 2 * notes.leaves];
        notes.next = next_covered(&mut spans.clone(), row.length());
        for (index, (from, to)) in spans.into_iter().enumerate() {
            notes.cover(
                index,
                from as usize + notes.leaves,
                to as usize + notes.leaves,
            );
        }
        notes
    }

    /// Adds a note to the nodes that cover the leaves from `from` to before `to`.
    fn cover(&mut self, index: usize, mut from: usize, mut to: usize) {
        let number = u32::try_from(index).unwrap_or(u32::MAX);
        while from < to {
            if from % 2 == 1 {
                if let Some(node) = self.nodes.get_mut(from) {
                    node.push(number);
                }
                from += 1;
            }
            if to % 2 == 1 {
                to -= 1;
                if let Some(node) = self.nodes.get_mut(to) {
                    node.push(number);
                }
            }
            from /= 2;
            to /= 2;
        }
    }

    /// The next part, from `part` on, at which something may hold; beyond every part when there is none.
    pub(crate) fn next_from(&self, part: PartIndex) -> PartIndex {
        self.next
            .get(part as usize)
            .copied()
            .unwrap_or(PartIndex::MAX)
    }

    /// What sounds at a part at a time.
    pub(crate) fn at(&self, part: PartIndex, time: Time) -> Sounding {
        let (mut right, mut left) = (0_i8, 0_i8);
        let (mut holds, mut plays) = ((false, false), (true, true));
        let mut node = part as usize + self.leaves;
        while node > 0 {
            let here = self.nodes.get(node).map(Vec::as_slice).unwrap_or_default();
            for note in here
                .iter()
                .filter_map(|&index| self.list.get(index as usize))
            {
                let now = time.is(&note.when);
                let (on_right, on_left) = (note.hands.right(), note.hands.left());
                match note.what {
                    What::Octave(shift) if now => {
                        right = right.saturating_add(if on_right { shift } else { 0 });
                        left = left.saturating_add(if on_left { shift } else { 0 });
                    }
                    What::Fermata if now => holds = (holds.0 || on_right, holds.1 || on_left),
                    What::Only if !now => plays = (plays.0 && !on_right, plays.1 && !on_left),
                    _ => {}
                }
            }
            node /= 2;
        }
        Sounding {
            octave: Octaves { right, left },
            hold: Held::from_hands(holds.0, holds.1),
            hands: Held::from_hands(plays.0, plays.1),
        }
    }
}

impl Time {
    fn is(self, when: &When) -> bool {
        match when {
            When::EveryPass => true,
            When::OnRepeat => self.pass >= 2,
            When::LastPass => self.pass == self.passes,
            When::OnReturn => self.leg >= 2,
            When::Passes(passes) => passes.contains(self.pass),
        }
    }
}

/// For each part the next one, itself included, that lies in one of the spans (from a part to before another).
fn next_covered(spans: &mut [(PartIndex, PartIndex)], length: PartIndex) -> Vec<PartIndex> {
    spans.sort_unstable();
    let mut next = Vec::with_capacity(length as usize);
    for &(from, to) in &*spans {
        while next.len() < to as usize {
            let part = PartIndex::try_from(next.len()).unwrap_or(PartIndex::MAX);
            next.push(part.max(from));
        }
    }
    next
}
