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
    /// `at_nodes` has the notes of all nodes one after the other, and `node_ends` where those of each node end.
    at_nodes: Vec<u32>,
    node_ends: Vec<u32>,
    leaves: usize,
    /// The first node that has a note: those nearer to the root have none.
    first_node: usize,
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
        let mut placed: Vec<(u32, u32)> = Vec::new();
        for (index, &(from, to)) in spans.iter().enumerate() {
            let index = u32::try_from(index).unwrap_or(u32::MAX);
            covering(
                from as usize + notes.leaves,
                to as usize + notes.leaves,
                &mut |node| {
                    placed.push((node, index));
                },
            );
        }
        placed.sort_unstable();
        notes.first_node = placed.first().map_or(0, |at| at.0 as usize);
        notes.node_ends = vec![0; 2 * notes.leaves];
        let mut next = placed.iter().peekable();
        for (node, end) in notes.node_ends.iter_mut().enumerate() {
            while let Some(&(_, index)) = next.next_if(|at| at.0 as usize == node) {
                notes.at_nodes.push(index);
            }
            *end = u32::try_from(notes.at_nodes.len()).unwrap_or(u32::MAX);
        }
        notes.next = next_covered(&mut spans, row.length());
        notes
    }

    fn at_node(&self, node: usize) -> &[u32] {
        let end = |node: usize| self.node_ends.get(node).map_or(0, |&end| end as usize);
        let begin = node.checked_sub(1).map_or(0, end);
        self.at_nodes.get(begin..end(node)).unwrap_or_default()
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
        while node >= self.first_node.max(1) {
            for note in self
                .at_node(node)
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

/// How octave signs are read when their shifts are worked out alone.
#[derive(Clone, Copy, Default, PartialEq, Eq, Debug)]
pub(crate) struct OctavesRead {
    /// When a sign holds that is not for every time.
    pub(crate) times: TimesRead,
    /// A sign for one hand is played by the other.
    pub(crate) by_other_hand: bool,
}

/// When a sign is read to hold that is for some times only.
#[derive(Clone, Copy, Default, PartialEq, Eq, Debug)]
pub(crate) enum TimesRead {
    #[default]
    AsMeant,
    OtherTimes,
    EveryTime,
}

/// What octave signs do to one hand at a step.
#[derive(Clone, Copy, Default, PartialEq, Eq, Debug)]
pub(crate) struct Shifted {
    /// Whether any sign holds for the hand.
    pub(crate) holds: bool,
    /// The shift.
    pub(crate) octaves: i8,
}

impl Notes {
    /// What the octave signs do to the right and the left hand at a part at a time.
    pub(crate) fn octaves(&self, part: PartIndex, time: Time, read: OctavesRead) -> [Shifted; 2] {
        let mut hands = [Shifted::default(); 2];
        let mut node = part as usize + self.leaves;
        while node >= self.first_node.max(1) {
            let notes = self.at_node(node).iter();
            for note in notes.filter_map(|&index| self.list.get(index as usize)) {
                let What::Octave(shift) = note.what else {
                    continue;
                };
                let holds = match read.times {
                    _ if note.when == When::EveryPass => true,
                    TimesRead::AsMeant => time.is(&note.when),
                    TimesRead::OtherTimes => !time.is(&note.when),
                    TimesRead::EveryTime => true,
                };
                if !holds {
                    continue;
                }
                let mut on = [note.hands.right(), note.hands.left()];
                if read.by_other_hand {
                    on.reverse();
                }
                for (hand, on) in hands.iter_mut().zip(on) {
                    if on {
                        hand.holds = true;
                        hand.octaves = hand.octaves.saturating_add(shift);
                    }
                }
            }
            node /= 2;
        }
        hands
    }
}

impl Time {
    /// Whether a mark that holds then holds now.
    pub(crate) fn is(self, when: &When) -> bool {
        match when {
            When::EveryPass => true,
            When::OnRepeat => self.pass >= 2,
            When::LastPass => self.pass == self.passes,
            When::OnReturn => self.leg >= 2,
            When::Passes(passes) => passes.contains(self.pass),
        }
    }
}

/// The few nodes of the tree that together cover the leaves from `from` to before `to`.
fn covering(mut from: usize, mut to: usize, found: &mut impl FnMut(u32)) {
    let number = |node: usize| u32::try_from(node).unwrap_or(u32::MAX);
    while from < to {
        if from % 2 == 1 {
            found(number(from));
            from += 1;
        }
        if to % 2 == 1 {
            to -= 1;
            found(number(to));
        }
        from /= 2;
        to /= 2;
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

#[cfg(test)]
mod tests;
