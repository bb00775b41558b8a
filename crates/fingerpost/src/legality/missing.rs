//! What is missing: the smallest sets of signs that make a board in the making legal.

use std::collections::{BTreeMap, HashSet};

use super::arranged::{Counted, Proposal, counted, laid_apart, proposal};
use super::finding::Finding;
use super::judge::{Judge, Trial, is_curable, is_error, is_lack};
use super::partners::{Partner, Search, places_of};
use super::places::{MOST_MEASURES_TO_PLACE, MOST_SIGNS_TO_PLACE, TooLargeToPlace};
use super::wanted::{Card, jumps, wanted};
use super::{CheckOptions, check_with};
use crate::board::{Al, Board, EndRepeat, Marking, Place, Sign};
use crate::roadmap::Walked;

/// The most signs that are added together.
pub const MOST_MISSING: usize = 4;
/// The most arrangements of a set that are written out.
const MOST_LISTED: usize = 12;
/// The most arrangements that are held against each other to propose one.
const MOST_COMPARED: usize = 48;
/// How much is tried: a trial costs as much as the board has measures and signs.
const MOST_WORK: usize = 6_000_000;
/// How much of it goes to larger sets, when with none of the smallest every sign plays its part and every measure is played.
const MOST_WORK_BEYOND: usize = 1_000_000;

/// The errors that no further sign takes away.
const IN_THE_WAY: [&str; 7] = [
    "label-twice",
    "endings-overlap",
    "start-repeat-in-ending",
    "ending-past-section",
    "segno-after-jump",
    "coda-before-to-coda",
    "cut-outside-measure",
];

/// What a board lacks, and what would make it legal.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub struct Missing {
    /// What is wrong with the board as it is: its errors, and the signs that lack their partner. Empty: nothing is missing.
    pub lacking: Vec<Finding>,
    /// The smallest sets of signs that leave no error, and no sign without its partner; all have the same number of signs. Those with the most
    /// signs from the hand come first, then those whose proposal leaves the fewest warnings. Sets that leave measures unplayed, or a sign
    /// that is never obeyed, count only when no set does better.
    pub sets: Vec<MissingSet>,
    /// When no set was found: the errors that stand in the way.
    pub in_the_way: Vec<Finding>,
    /// Whether everything was tried up to the size of the sets found, or up to [`MOST_MISSING`] signs when none was. Else the board is too
    /// large for that: smaller sets there may be, and of the sets found there may be more arrangements.
    pub complete: bool,
}

/// Signs that together make a board legal.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub struct MissingSet {
    /// The signs, each with all the places that it has in some arrangement.
    pub signs: Vec<Partner>,
    /// In how many ways they can be laid, of those that are counted; at most `u64::MAX`.
    pub arrangements: u64,
    /// Which ways are counted.
    pub counted: Counted,
    /// The first ways, one for each order of the signs to those of the board, at most 12: for each sign, in the order of `signs`, its place.
    pub first: Vec<Vec<Place>>,
    /// The way, among the first 48, in which the fewest signs have no effect, then that with the fewest warnings.
    pub proposal: Vec<Place>,
    /// The warnings on the board as proposed that it does not have now.
    pub warnings: Vec<Finding>,
    /// Whether every way that is counted leaves a new warning, so far as that is known: false where there are more than were held against
    /// each other.
    pub always_warned: bool,
}

impl MissingSet {
    /// The board with the signs laid as proposed. Signs from the hand are no longer in the hand.
    pub fn proposed(&self, board: &Board) -> Option<Board> {
        let mut kept = board.unplaced().to_vec();
        let mut taken: Vec<usize> = self.signs.iter().filter_map(|it| it.card.in_hand).collect();
        taken.sort_unstable();
        for index in taken.into_iter().rev() {
            if index < kept.len() {
                kept.remove(index);
            }
        }
        let markings = self.signs.iter().zip(&self.proposal).map(|(it, &place)| {
            let marking = Marking::new(it.card.sign.clone(), place);
            let id = it
                .card
                .in_hand
                .and_then(|index| board.unplaced().get(index));
            match id.and_then(|unplaced| unplaced.id.clone()) {
                Some(id) => marking.with_id(id),
                None => marking,
            }
        });
        let builder = board.to_builder().markings(markings).hand(kept);
        builder.build().ok()
    }
}

/// Finds the smallest sets of signs that, laid on a board, leave no error and no sign that lacks its partner.
///
/// Sets of up to [`MOST_MISSING`] signs are tried: start and end repeats, endings for the passes that have none, segno, coda and To Coda with
/// the labels that are called, Fine, and the D.C. and D.S. that call what is there; and every sign in the board's hand. The board is judged
/// under its default reading, an open section played twice.
///
/// ```
/// use fingerpost::{Board, missing, sign_words};
/// let board: Board = "1 | 2 | 3 | 4 D.S. al Fine |]".parse()?;
/// let missing = missing(&board)?;
/// let signs = missing.sets[0].signs.iter().map(|it| sign_words(&it.card.sign));
/// assert_eq!(signs.collect::<Vec<_>>(), ["segno", "Fine"]);
/// // The Fine stands where the return comes by: at the segno or behind it.
/// assert_eq!(missing.sets[0].arrangements, 10);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// A board of more than [`MOST_MEASURES_TO_PLACE`] measures or more than [`MOST_SIGNS_TO_PLACE`] signs.
pub fn missing(board: &Board) -> Result<Missing, TooLargeToPlace> {
    let (measures, signs) = (board.measures(), board.markings().len());
    if measures > MOST_MEASURES_TO_PLACE || signs > MOST_SIGNS_TO_PLACE {
        return Err(TooLargeToPlace { measures, signs });
    }
    let options = CheckOptions {
        most_compared: 0,
        ..CheckOptions::default()
    };
    let before = check_with(board, &options);
    let wrong = before.iter().filter(|it| is_error(it) || is_lack(it));
    let lacking = wrong.cloned().collect();
    let mut missing = Missing {
        lacking,
        sets: Vec::new(),
        in_the_way: Vec::new(),
        complete: true,
    };
    if missing.lacking.is_empty() {
        return Ok(missing);
    }
    let blocks = |it: &&Finding| IN_THE_WAY.contains(&it.rule);
    missing.in_the_way = missing.lacking.iter().filter(blocks).cloned().collect();
    if !missing.in_the_way.is_empty() {
        return Ok(missing);
    }
    let judge = Judge::new(board);
    let cost = usize::from(measures) + 4 * signs + 50;
    let mut hunt = Hunt {
        judge: &judge,
        search: Search::new(&judge),
        before: &before,
        comes_again: missing
            .lacking
            .iter()
            .any(|it| it.rule.starts_with("ending-")),
        left: MOST_WORK / cost,
        found: BTreeMap::new(),
        seen: HashSet::new(),
    };
    let mut smallest = BTreeMap::new();
    for size in 1..=MOST_MISSING {
        hunt.deepen(&mut Vec::new(), &mut Vec::new(), size);
        hunt.lay_all();
        if smallest.is_empty() {
            missing.complete = hunt.left > 0;
        }
        let is_whole = |found: &Found| found.best().0 == Counted::Whole;
        if hunt.left == 0 || hunt.found.values().any(is_whole) {
            break;
        }
        // Nothing so small has every sign play its part and every measure played: perhaps something larger does.
        if smallest.is_empty() && !hunt.found.is_empty() {
            smallest = std::mem::take(&mut hunt.found);
            hunt.left = hunt.left.min(MOST_WORK_BEYOND / cost);
        }
        hunt.found.clear();
    }
    if !hunt.found.values().any(|it| it.best().0 == Counted::Whole) && !smallest.is_empty() {
        hunt.found = smallest;
    }
    missing.sets = hunt.sets();
    if missing.sets.is_empty() {
        let errors = missing.lacking.iter().filter(|it| is_error(it));
        missing.in_the_way = errors.cloned().collect();
    }
    Ok(missing)
}

/// The arrangements of one set of which one thing is true, as they are found.
#[derive(Default)]
struct Arrangements {
    count: u64,
    first: Vec<Vec<Place>>,
    /// The same with room between the signs, up to [`MOST_COMPARED`] of them, and how many there are.
    roomy: Vec<Vec<Place>>,
    orders: usize,
    /// For each card of the set the first measures and rows it may stand at.
    places: Vec<HashSet<(u16, u16)>>,
}

/// A set of signs, and its arrangements by what is true of them.
struct Found {
    cards: Vec<Card>,
    arrangements: BTreeMap<Counted, Arrangements>,
}

impl Found {
    /// The arrangements of the best kind.
    fn best(&self) -> (Counted, Option<&Arrangements>) {
        let best = self.arrangements.first_key_value();
        best.map_or((Counted::Any, None), |(&counted, it)| (counted, Some(it)))
    }
}

struct Hunt<'j, 'b> {
    judge: &'j Judge<'b>,
    search: Search<'j, 'b>,
    /// What is found on the board as it is.
    before: &'j [Finding],
    /// Whether the board lacks something that a return can give it.
    comes_again: bool,
    /// How many trials are left.
    left: usize,
    found: BTreeMap<Vec<Key>, Found>,
    /// The arrangements that have been counted: they can be come to in several orders.
    seen: HashSet<Vec<(Key, u16, u16)>>,
}

/// A card in the order of sets: those from the hand first.
type Key = (usize, u8, String);

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
    /// Adds signs, so many in all, that take away what is missing: one after the other, each for one thing that is missing, so that no set
    /// is left out.
    fn deepen(&mut self, added: &mut Vec<Marking>, cards: &mut Vec<Card>, size: usize) {
        if self.left == 0 {
            return;
        }
        self.left -= 1;
        let trial = self.judge.trial(added);
        if trial.found.iter().any(|it| IN_THE_WAY.contains(&it.rule)) {
            return;
        }
        let lacks = match self.lacks(&trial) {
            Ok(walked) => {
                if cards.len() == size {
                    self.record(added, cards, trial, &walked);
                }
                return;
            }
            Err(lacks) => lacks,
        };
        let remaining = size - cards.len();
        if remaining == 0 {
            return;
        }
        let wants: Vec<Vec<Card>> = lacks
            .iter()
            .map(|lack| self.cards_for(added, cards, &trial, lack))
            .collect();
        // What only one sign can take away needs a sign of its own.
        let mut alone: Vec<&Sign> = wants
            .iter()
            .filter_map(|cards| match cards.as_slice() {
                [card] if !matches!(card.sign, Sign::EndRepeat(_)) => Some(&card.sign),
                _ => None,
            })
            .collect();
        alone.sort_by_key(|sign| format!("{sign:?}"));
        alone.dedup();
        if alone.len() > remaining {
            return;
        }
        let Some(wanted) = wants.into_iter().min_by_key(Vec::len) else {
            return;
        };
        for card in wanted {
            let longest = self.judge.board.measures();
            for place in places_of(self.judge.board, &card.sign, longest) {
                let marking = Marking::new(card.sign.clone(), place);
                if !self.may_be_first(&marking, added, remaining) {
                    continue;
                }
                added.push(marking);
                cards.push(card.clone());
                self.deepen(added, cards, size);
                added.pop();
                cards.pop();
            }
        }
    }

    /// Counts the arrangements of the sets found: all of them, not those alone in which each sign was added for something that was missing.
    fn lay_all(&mut self) {
        let sets: Vec<Vec<Card>> = self
            .found
            .values()
            .map(|found| found.cards.clone())
            .collect();
        for cards in sets {
            self.lay(&mut Vec::new(), &cards);
        }
    }

    fn lay(&mut self, added: &mut Vec<Marking>, cards: &[Card]) {
        if self.left == 0 {
            return;
        }
        self.left -= 1;
        let trial = self.judge.trial(added);
        if trial.found.iter().any(|it| IN_THE_WAY.contains(&it.rule)) {
            return;
        }
        let Some(card) = cards.get(added.len()) else {
            if let Ok(walked) = self.lacks(&trial) {
                self.record(added, cards, trial, &walked);
            }
            return;
        };
        let (board, remaining) = (self.judge.board, cards.len() - added.len());
        for place in places_of(board, &card.sign, board.measures()) {
            let marking = Marking::new(card.sign.clone(), place);
            if self.may_be_first(&marking, added, remaining) {
                added.push(marking);
                self.lay(added, cards);
                added.pop();
            }
        }
    }

    /// The route of a board with signs added.
    ///
    /// # Errors
    /// What is missing there, or wrong.
    fn lacks(&self, trial: &Trial) -> Result<Walked, Vec<Finding>> {
        if !trial.found.is_empty() {
            return Err(trial.found.clone());
        }
        self.judge.walk(trial).map_err(|fault| {
            let (board, row) = (self.judge.board, &self.judge.row);
            vec![super::walk_fault(board, row, &fault)]
        })
    }

    /// The signs one of which has to be added so that a finding goes.
    fn cards_for(
        &self,
        added: &[Marking],
        cards: &[Card],
        trial: &Trial,
        lack: &Finding,
    ) -> Vec<Card> {
        let plain = |sign| Card {
            sign,
            in_hand: None,
        };
        let mut found = wanted(self.judge, added, cards, trial, lack);
        let structural = !is_lack(lack) || lack.rule.starts_with("ending-");
        let mut more = Vec::new();
        let closes = structural || lack.rule == "to-coda-unused" && trial.laid.jumps.is_empty();
        if closes {
            let mut signs = vec![Sign::EndRepeat(EndRepeat::default())];
            if is_error(lack) && !is_curable(lack) {
                signs.push(Sign::StartRepeat);
            }
            more.extend(signs);
        }
        // A D.C. or D.S. comes again to an ending, and may be what another sign lacks besides.
        let calls = matches!(lack.rule, "to-coda-unused" | "fine-unused" | "segno-unused");
        if structural || calls && self.comes_again {
            more.extend(jumps(self.judge, added));
        }
        for sign in more {
            if found.iter().all(|card| card.sign != sign) {
                found.push(plain(sign));
            }
        }
        found
    }

    /// Of barlines between the same two signs only the first ones are tried; the others stand for the same.
    fn may_be_first(&self, marking: &Marking, added: &[Marking], remaining: usize) -> bool {
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
    fn record(&mut self, added: &[Marking], cards: &[Card], trial: Trial, walked: &Walked) {
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

    /// All places of a marking in the arrangements that stand in the same order.
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

    /// The sets of the best kind, those with the most signs from the hand first, then those proposed with the fewest warnings.
    fn sets(self) -> Vec<MissingSet> {
        let board = self.judge.board;
        let best = self.found.values().map(|it| it.best().0).min();
        let mut sets: Vec<MissingSet> = Vec::new();
        for found in self.found.into_values() {
            let Some((counted, these)) = found.arrangements.into_iter().next() else {
                continue;
            };
            if Some(counted) != best {
                continue;
            }
            let Proposal { places, warnings } =
                proposal(board, self.before, &found.cards, &these.roomy);
            let signs = found.cards.into_iter().zip(these.places);
            let signs = signs.map(|(card, places)| partner(card, places));
            sets.push(MissingSet {
                signs: signs.collect(),
                arrangements: these.count,
                counted,
                first: these.first,
                proposal: places,
                always_warned: !warnings.is_empty() && these.orders <= MOST_COMPARED,
                warnings,
            });
        }
        let rank = |set: &MissingSet| {
            let signs = set.signs.iter();
            let bare = signs.clone().filter(|it| is_special(&it.card.sign)).count();
            let box_signs = signs.filter(|it| it.card.in_hand.is_none()).count();
            (box_signs, set.warnings.len(), bare)
        };
        sets.sort_by_key(rank);
        sets
    }
}

/// A sign with its places, in board order.
fn partner(card: Card, places: HashSet<(u16, u16)>) -> Partner {
    let spans = card.sign.spans();
    let mut places: Vec<(u16, u16)> = places.into_iter().collect();
    places.sort_unstable();
    let place = |(first, last)| {
        if spans {
            Place::over(first, last)
        } else {
            Place::at(first)
        }
    };
    Partner {
        card,
        places: places.into_iter().map(place).collect(),
    }
}

/// Whether a jump is one that a teacher would not think of first.
fn is_special(sign: &Sign) -> bool {
    match sign {
        Sign::DaCapo(jump) | Sign::DalSegno(jump) => {
            jump.then.is_some() || jump.al == Some(Al::Segno)
        }
        _ => false,
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
