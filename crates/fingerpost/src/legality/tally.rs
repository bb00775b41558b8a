//! The arrangements of a set of signs, counted: those that stand in one order to the signs of the board together.

use std::collections::{BTreeMap, HashSet};

use super::arranged::{Counted, counted, laid_apart};
use super::hunt::Hunt;
use super::judge::Trial;
use super::wanted::Card;
use crate::board::{Marking, Place, Sign};
use crate::roadmap::Walked;

/// The most arrangements of a set that are written out.
const MOST_LISTED: usize = 12;
/// The most arrangements that are held against each other to propose one.
pub(super) const MOST_COMPARED: usize = 48;

/// The arrangements of one set of which one thing is true, as they are found.
#[derive(Default)]
pub(super) struct Arrangements {
    pub(super) count: u64,
    pub(super) first: Vec<Vec<Place>>,
    /// The same with room between the signs, up to [`MOST_COMPARED`] of them, and how many there are.
    pub(super) roomy: Vec<Vec<Place>>,
    pub(super) orders: usize,
    /// For each card of the set the first measures and rows it may stand at.
    pub(super) places: Vec<HashSet<(u16, u16)>>,
}

/// A set of signs, and its arrangements by what is true of them.
pub(super) struct Found {
    pub(super) cards: Vec<Card>,
    pub(super) arrangements: BTreeMap<Counted, Arrangements>,
}

impl Found {
    /// The arrangements of the best kind.
    pub(super) fn best(&self) -> (Counted, Option<&Arrangements>) {
        let best = self.arrangements.first_key_value();
        best.map_or((Counted::Any, None), |(&counted, it)| (counted, Some(it)))
    }
}

/// A card in the order of sets: those from the hand first.
pub(super) type Key = (usize, u8, String);

fn key_of(card: &Card) -> Key {
    // Landing signs are told before those that send the road to them.
    let rank = match card.sign {
        Sign::StartRepeat => 0,
        Sign::Ending(_) => 1,
        Sign::EndRepeat(_) => 2,
        Sign::Segno(_) => 3,
        Sign::ToCoda(_) => 4,
        Sign::Coda(_) => 5,
        Sign::Fine(_) => 6,
        _ => 7,
    };
    let hand = card.in_hand.unwrap_or(usize::MAX);
    (hand, rank, format!("{:?}", card.sign))
}

impl Hunt<'_, '_> {
    /// Of barlines between the same two signs only the first ones are tried; the others stand for the same.
    pub(super) fn may_be_first(
        &self,
        marking: &Marking,
        added: &[Marking],
        remaining: usize,
    ) -> bool {
        let mut used: Vec<(u16, u32)> = Vec::new();
        for other in added {
            used.extend(self.between(other));
        }
        used.sort_unstable();
        used.dedup();
        self.between(marking).iter().all(|&(gap, offset)| {
            let here = used.iter().filter(|&&(other, _)| other == gap).count();
            (offset as usize) < here + 2 * remaining
        })
    }

    /// The barlines of a marking that lie between two signs: which gap it is, and how many barlines of it come before.
    fn between(&self, marking: &Marking) -> Vec<(u16, u32)> {
        let (from, to) = self.search.site(marking);
        let mut found: Vec<(u16, u32)> = [from, to]
            .into_iter()
            .filter_map(|barline| self.search.classes.gap(barline))
            .map(|gap| (gap.class, gap.offset))
            .collect();
        found.dedup();
        found
    }

    /// Counts an arrangement, and all those that stand in the same order to the signs of the board.
    pub(super) fn record(
        &mut self,
        added: &[Marking],
        cards: &[Card],
        trial: Trial,
        walked: &Walked,
    ) {
        let mut both: Vec<(Key, &Card, &Marking)> = cards
            .iter()
            .zip(added)
            .map(|(card, marking)| (key_of(card), card, marking))
            .collect();
        both.sort_by(|one, other| {
            let place = |it: &Marking| (it.place().first(), it.place().last());
            (&one.0, place(one.2)).cmp(&(&other.0, place(other.2)))
        });
        let mut used: BTreeMap<u16, Vec<u32>> = BTreeMap::new();
        for (_, _, marking) in &both {
            for (gap, offset) in self.between(marking) {
                used.entry(gap).or_default().push(offset);
            }
        }
        let mut ways: u64 = 1;
        for (&gap, offsets) in &mut used {
            offsets.sort_unstable();
            offsets.dedup();
            let firsts = (0_u32..).zip(offsets.iter());
            if !firsts.clone().all(|(index, &offset)| index == offset) {
                return;
            }
            let size = self.search.classes.size_of(gap);
            ways = ways.saturating_mul(choices(size, offsets.len()));
        }
        let place = |it: &Marking| (it.place().first(), it.place().last());
        let arrangement = both
            .iter()
            .map(|(key, _, marking)| (key.clone(), place(marking).0, place(marking).1));
        if !self.seen.insert(arrangement.collect()) {
            return;
        }
        let places: Vec<Vec<(u16, u16)>> = both
            .iter()
            .map(|(_, _, marking)| self.spread(marking, &used))
            .collect();
        let counted = counted(self.judge, trial, walked, added);
        let markings: Vec<&Marking> = both.iter().map(|&(.., marking)| marking).collect();
        let roomy = laid_apart(self.judge, &self.search, &markings);
        let keys: Vec<Key> = both.iter().map(|(key, ..)| key.clone()).collect();
        let found = self.found.entry(keys).or_insert_with(|| Found {
            cards: both.iter().map(|(_, card, _)| (*card).clone()).collect(),
            arrangements: BTreeMap::new(),
        });
        let found = found.arrangements.entry(counted).or_default();
        found.count = found.count.saturating_add(ways);
        found.places.resize(both.len(), HashSet::new());
        for (known, more) in found.places.iter_mut().zip(places) {
            known.extend(more);
        }
        found.orders += 1;
        if found.first.len() < MOST_LISTED {
            let here = both.iter().map(|(_, _, marking)| marking.place());
            found.first.push(here.collect());
        }
        if found.roomy.len() < MOST_COMPARED {
            found.roomy.push(roomy);
        }
    }

    /// All places of a marking in the arrangements that stand in the same order. Whatever cuts a measure is a sign of the road, so that no
    /// cut lies in a gap: there, barlines are measures.
    fn spread(&self, marking: &Marking, used: &BTreeMap<u16, Vec<u32>>) -> Vec<(u16, u16)> {
        let (from, to) = self.search.site(marking);
        // How far each barline may move: by as much as its gap has barlines that are not needed.
        let free = |barline| match self.search.classes.gap(barline) {
            Some(gap) => {
                let needed = used.get(&gap.class).map_or(0, Vec::len);
                let size = self.search.classes.size_of(gap.class);
                u16::try_from(size.saturating_sub(needed)).unwrap_or(u16::MAX)
            }
            None => 0,
        };
        let place = marking.place();
        let (first, last) = (place.first(), place.last());
        if !marking.sign().spans() {
            let measures = first..=first.saturating_add(free(from));
            return measures.map(|measure| (measure, measure)).collect();
        }
        let same_gap = match (self.search.classes.gap(from), self.search.classes.gap(to)) {
            (Some(one), Some(other)) => one.class == other.class,
            _ => false,
        };
        let mut rows = Vec::new();
        for one in 0..=free(from) {
            for other in 0..=free(to) {
                // Two barlines of one gap keep their order.
                if !same_gap || one <= other {
                    rows.push((first + one, last + other));
                }
            }
        }
        rows
    }
}

/// In how many ways so many can be chosen of a number.
fn choices(of: usize, chosen: usize) -> u64 {
    let mut ways: u128 = 1;
    for index in 0..chosen {
        let left = of.saturating_sub(index) as u128;
        ways = ways * left / (index as u128 + 1);
    }
    u64::try_from(ways).unwrap_or(u64::MAX)
}
