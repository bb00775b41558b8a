//! What is missing: the smallest sets of signs that make a board in the making legal.

use std::collections::BTreeMap;

use super::arranged::Counted;
use super::finding::Finding;
use super::hunt::{Hunt, is_in_the_way};
use super::judge::{Judge, is_error, is_lack};
use super::partners::Partner;
use super::places::{MOST_MEASURES_TO_PLACE, MOST_SIGNS_TO_PLACE, TooLargeToPlace};
use super::tally::Found;
use super::{CheckOptions, check_with};
use crate::board::{Board, Marking, Place};

/// The most signs that are added together.
pub const MOST_MISSING: usize = 4;
/// How much is tried: a trial costs as much as the board has measures and signs.
const MOST_WORK: usize = 6_000_000;
/// How much of it goes to larger sets, when with none of the smallest every sign plays its part and every measure is played.
const MOST_WORK_BEYOND: usize = 1_000_000;

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
    /// With how many signs the board can be made legal at the least; `None` when no set was found. The sets have more signs where with so few
    /// a measure is never played, or a sign is never obeyed.
    pub least: Option<usize>,
    /// When no set was found: the errors that stand in the way.
    pub in_the_way: Vec<Finding>,
    /// Whether everything was tried up to the size of the sets found, or up to [`MOST_MISSING`] signs when none was. Else the board is too
    /// large for that: smaller sets there may be, and of the sets found there may be more arrangements.
    pub complete: bool,
    /// How many signs lie in the board's hand: those are not laid, however legal the board is without them.
    pub in_hand: usize,
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
/// A sign is tried because it takes away something that the board, or a sign added before, lacks or has wrong. Where only walking shows what
/// is wrong (the rules `landing-in-wrong-ending` and `route-too-long`), what may help are further returns and repeats, and those are tried; that
/// an ending laid elsewhere happens to lead the road another way is not looked for. There, a set that is as small or smaller may be left out.
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
        least: None,
        in_the_way: Vec::new(),
        complete: true,
        in_hand: board.unplaced().len(),
    };
    if missing.lacking.is_empty() {
        return Ok(missing);
    }
    let blocks = |it: &&Finding| is_in_the_way(board, &[], it);
    missing.in_the_way = missing.lacking.iter().filter(blocks).cloned().collect();
    if !missing.in_the_way.is_empty() {
        return Ok(missing);
    }
    let judge = Judge::new(board);
    let cost = usize::from(measures) + 4 * signs + 50;
    let mut hunt = Hunt::new(&judge, &before, MOST_WORK / cost);
    let mut smallest = BTreeMap::new();
    for size in 1..=MOST_MISSING {
        hunt.deepen(&mut Vec::new(), &mut Vec::new(), size);
        hunt.lay_all();
        if smallest.is_empty() {
            missing.complete = hunt.left > 0;
        }
        if missing.least.is_none() && !hunt.found.is_empty() {
            missing.least = Some(size);
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
    if !smallest.is_empty() {
        if hunt.found.values().any(|it| it.best().0 == Counted::Whole) {
            // Larger sets, which are all there are only when the work allowed for them was enough.
            missing.complete = hunt.left > 0;
        } else {
            hunt.found = smallest;
        }
    }
    missing.sets = hunt.sets();
    if missing.sets.is_empty() {
        let errors = missing.lacking.iter().filter(|it| is_error(it));
        missing.in_the_way = errors.cloned().collect();
    }
    Ok(missing)
}
