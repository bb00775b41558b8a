//! Signs in the hand, laid on an empty board: in how many ways that can be done, some of the ways, and what is missing where there is none.

mod acting;
mod brackets;
mod counting;
mod end;
mod judged;
mod lacking;
mod last;
mod legs;
mod lone;
mod numbered;
mod often;
mod order;
mod over;
mod quietly;
mod ready;
mod road;
mod search;
mod shape;
mod stand;
mod vain;
mod way;
mod work;

use std::collections::HashSet;
use std::num::NonZero;

use crate::board::{Board, Marking, Side, Sign};
use crate::chance::Chance;
use crate::legality::{CheckOptions, Severity, check_with};

use counting::Wanted;
use lacking::find_missing;
use order::Order;
use over::Same;
use search::{Ended, MOST_ORDERS, barlines, empty_boards, search, sorted};
use work::Work;

/// The most signs of a hand.
pub const MOST_SIGNS_IN_HAND: usize = 8;
/// The most measures of a board that a hand is laid on.
pub const MOST_MEASURES_FOR_HAND: u16 = 64;
/// The most boards that are shown.
pub const MOST_SHOWN: usize = 12;
/// What chance is used for here.
const SHOWING: u64 = 3;
/// How many boards are held against each other for each that is shown.
const DRAWN: usize = 8;

/// What can be done with the signs of a hand.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub struct HandPlaced {
    /// In how many ways all the signs can be laid on the board; exact, or `u64::MAX` when there are more. What counts as a way: see
    /// [`place_hand`].
    pub arrangements: u64,
    /// Some of the ways, chosen by chance, those with few findings, with signs at the ends of phrases and not two in one place rather than
    /// others.
    pub shown: Vec<Board>,
    /// When there is no way on so few measures, and one on more: how many are needed.
    pub needed: Option<u16>,
    /// When there is no way at all: the signs any one of which makes one possible, of the plain ones: without `arrivals`, `passes` and
    /// "con rep.", and no endings above the third.
    pub missing: Vec<Sign>,
    /// When no single sign is enough: two signs that together are. Of several pairs the first.
    pub missing_pair: Option<(Sign, Sign)>,
    /// For each of the missing signs, or for the pair, how many measures are needed at least when it is added.
    pub missing_measures: Vec<u16>,
    /// Whether all that may be missing was looked at to the end. If not, signs may be enough that are not named: with some there were more
    /// orders than are looked at for this.
    pub missing_is_whole: bool,
}

/// Why a hand is not laid.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum HandRefused {
    /// No sign at all.
    #[error("the hand is empty: name at least one sign")]
    Empty,
    /// Too many signs.
    #[error("{0} signs are too many: a hand of up to {MOST_SIGNS_IN_HAND} is laid")]
    TooManySigns(usize),
    /// No measure, or too many.
    #[error("{0} is not a number of measures for a hand: 1 to {MOST_MEASURES_FOR_HAND}")]
    Measures(u16),
    /// More boards to show than are shown.
    #[error("{0} boards are too many to show: at most {MOST_SHOWN} are")]
    Shown(usize),
    /// More orders of the signs than can be looked at.
    #[error(
        "these signs can be laid in too many orders to look at them all: take one away, or lay them on fewer measures"
    )]
    TooManyOrders,
}

/// Lays the signs of a hand on an empty board of so many measures in every way, and counts the ways.
///
/// A way is counted when the board has no error, no sign lacks its partner, every measure is played, and every sign plays its part: each Fine
/// ends the music, each To Coda, D.C. and D.S. is obeyed, each segno is gone back to or, by an al Segno, left at, each coda is come to, each end repeat leads back;
/// an octave sign, a fermata or an `only` holds at some time. An ending is played, whether or not that makes the road another one, and of several
/// arrivals that a sign names one is enough. Warnings beside that, and questions of the reading, are no hindrance. Two equal
/// signs are not told apart, and do not lie on each other. No sign cuts a measure. The board is judged under its default reading, an open section played twice.
///
/// The road is followed while the signs are laid, and orders of no use are left as soon as that is known. A long search is shared among as many
/// threads as the machine has cores; what is found does not hang on their number, and where there can be no threads, as in a browser, one does
/// all. On two cores a hand of eight of the signs that boards are dealt with takes less than a second on 16 measures, and nearly every other
/// hand too; of those in which returns name several arrivals or passes, the slowest found with five endings or more take one and a half. Where
/// a sign names a time beyond the twenty-ninth, or sections of many passes lie inside one another, orders are judged one by one instead; with
/// eight signs that may take ten seconds, or be refused for there are too many.
///
/// ```
/// use fingerpost::{Sign, place_hand};
/// let hand = ["segno", "D.S. al Fine", "Fine"].map(|it| Sign::from_line(it).unwrap());
/// let placed = place_hand(&hand, 8, 2, 1)?;
/// // The D.S. at the end, the Fine at the segno or later: 36 ways; the Fine at the end, the D.S. before it: 28.
/// assert_eq!(placed.arrangements, 64);
/// assert_eq!(placed.shown.len(), 2);
/// let lone = place_hand(&hand[..2], 8, 2, 1)?;
/// assert_eq!(lone.missing[0].to_line(), "Fine");
/// # Ok::<(), fingerpost::HandRefused>(())
/// ```
///
/// # Errors
/// No sign or too many of them; no measure or too many; more than [`MOST_SHOWN`] boards to show; more orders than can be looked at, which few hands of eight signs have.
pub fn place_hand(
    signs: &[Sign],
    measures: u16,
    show: usize,
    seed: u64,
) -> Result<HandPlaced, HandRefused> {
    if signs.is_empty() {
        return Err(HandRefused::Empty);
    }
    if signs.len() > MOST_SIGNS_IN_HAND {
        return Err(HandRefused::TooManySigns(signs.len()));
    }
    if measures == 0 || measures > MOST_MEASURES_FOR_HAND {
        return Err(HandRefused::Measures(measures));
    }
    if show > MOST_SHOWN {
        return Err(HandRefused::Shown(show));
    }
    let mut chance = Chance::new(seed, SHOWING);
    let hand = Hand::of(signs);
    let most = std::thread::available_parallelism().map_or(1, NonZero::get);
    let wanted = Wanted {
        orders: show * DRAWN,
        seed,
    };
    let (arrangements, drawn) = hand.count(measures, wanted, most, &mut chance)?;
    let mut placed = HandPlaced {
        arrangements,
        shown: Vec::new(),
        needed: None,
        missing: Vec::new(),
        missing_pair: None,
        missing_measures: Vec::new(),
        missing_is_whole: true,
    };
    if arrangements > 0 {
        placed.shown = hand.shown(&drawn, measures, show, &mut chance);
        return Ok(placed);
    }
    placed.needed = hand.needed(&Work::alone(MOST_ORDERS))?;
    if placed.needed.is_none() {
        find_missing(signs, most, &mut placed);
    }
    Ok(placed)
}

/// The signs of a hand, put in order.
struct Hand {
    road: Vec<Sign>,
    over: Vec<Same>,
}

impl Hand {
    fn of(signs: &[Sign]) -> Hand {
        let road: Vec<Sign> = signs
            .iter()
            .filter(|it| over::is_of_the_road(it))
            .cloned()
            .collect();
        Hand {
            road: sorted(&road),
            over: over::gathered(signs),
        }
    }

    /// The fewest measures on which the signs can be laid at all; `None` when they cannot, for which so many orders may be looked at.
    fn needed(&self, work: &Work<'_>) -> Result<Option<u16>, HandRefused> {
        let boards = empty_boards(&self.road, MOST_MEASURES_FOR_HAND);
        // Equal signs over the measures need a measure each.
        let over = self.over.iter().map(|same| same.count).max().unwrap_or(0);
        let over = usize::try_from(over).unwrap_or(0);
        let largest = boards.len() + over;
        // What cannot be laid on the largest can on none.
        if !self.can_be_laid(&boards, largest, work)? {
            return Ok(None);
        }
        let work = Work::alone(MOST_ORDERS);
        for most in 1..=largest {
            if self.can_be_laid(&boards, most, &work)? {
                return Ok(u16::try_from(most).ok());
            }
        }
        Ok(None)
    }

    /// Whether the signs can be laid on a board of so many measures.
    fn can_be_laid(
        &self,
        boards: &[Board],
        most: usize,
        work: &Work<'_>,
    ) -> Result<bool, HandRefused> {
        let boards = boards.get(..most).unwrap_or(boards);
        let large = u16::try_from(most).unwrap_or(u16::MAX);
        let mut found = false;
        let ended = search(
            &self.road,
            boards,
            MOST_MEASURES_FOR_HAND,
            work,
            &mut |make, _| {
                let order = make();
                let ways = over::ways(&self.over, &order, &self.road, large.max(order.measures));
                found = ways > 0;
                !found
            },
        );
        match ended {
            Ended::TooMany => Err(HandRefused::TooManyOrders),
            Ended::All | Ended::Enough => Ok(found),
        }
    }

    /// Boards of the orders drawn: the ones with the fewest findings first, of these the ones whose signs stand apart; no two equal.
    fn shown(
        &self,
        drawn: &[Order],
        measures: u16,
        show: usize,
        chance: &mut Chance,
    ) -> Vec<Board> {
        let mut boards: Vec<([usize; 3], Board)> = Vec::new();
        for order in drawn {
            let Some(board) = self.board(order, measures, chance) else {
                continue;
            };
            if boards.iter().any(|(_, other)| *other == board) {
                continue;
            }
            let found = check_with(&board, &CheckOptions::default());
            let warnings = found
                .iter()
                .filter(|it| it.severity != Severity::Advice)
                .count();
            boards.push(([warnings, found.len(), crowded(&board)], board));
        }
        boards.sort_by_key(|(rank, _)| *rank);
        boards
            .into_iter()
            .take(show)
            .map(|(_, board)| board)
            .collect()
    }

    fn board(&self, order: &Order, measures: u16, chance: &mut Chance) -> Option<Board> {
        let inside = barlines(order.measures - 1, measures, chance);
        let rows = std::iter::repeat_n(4, usize::from(measures / 4));
        let rest = measures % 4;
        let systems = rows.chain((rest > 0).then_some(rest));
        let mut markings = order.markings_at(&self.road, &inside, measures);
        let road = Board::builder(systems)
            .markings(markings.clone())
            .build()
            .ok()?;
        let mut laid: Vec<Marking> = Vec::new();
        for same in &self.over {
            for _ in 0..same.count {
                let marking = over::lay(&same.sign, &laid, &road, chance)?;
                laid.push(marking);
            }
        }
        markings.extend(laid);
        let board = road
            .to_builder()
            .without_markings()
            .markings(markings)
            .build();
        Some(board.ok()?.canonical())
    }
}

/// How many signs stand where another one stands already.
fn crowded(board: &Board) -> usize {
    let places = board
        .markings()
        .iter()
        .map(|it| (it.place(), it.sign().side() == Side::Landing));
    let apart: HashSet<_> = places.collect();
    board.markings().len() - apart.len()
}
