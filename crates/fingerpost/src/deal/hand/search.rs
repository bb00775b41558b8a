//! The search through all orders of the signs of a hand.

use super::judged::judged;
use super::numbered::{Numbered, comebacks};
use super::often::{are_long, comes_too_late, led_back, with_fewer_passes};
use super::order::{Make, Order, choices};
use super::ready::Ready;
use super::road::Roads;
use super::shape::{Shape, Shapes, shapes};
use super::work::Work;
use crate::board::{Board, Fine, Sign};
use crate::chance::Chance;
use crate::legality::judge::Judge;

/// The most orders of a hand that are looked at, those of some of its signs included; but for what every thread goes through (`work.rs`).
pub(super) const MOST_ORDERS: u64 = 30_000_000;

/// What is amiss with signs wherever they stand: a sign that lacks its partner, or one too many.
const OF_PARTNERS: [&str; 8] = [
    "segno-missing",
    "fine-missing",
    "to-coda-missing",
    "coda-missing",
    "label-twice",
    "segno-unused",
    "coda-unused",
    "fine-unused",
];

/// How a search has ended.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Ended {
    /// Every order was looked at.
    All,
    /// Who was told of an order wanted no more.
    Enough,
    /// There are too many.
    TooMany,
}

/// The signs in the order in which they are laid: those first that forbid most to the others.
pub(super) fn sorted(signs: &[Sign]) -> Vec<Sign> {
    let mut sorted = signs.to_vec();
    sorted.sort_by_key(|sign| (rank(sign), format!("{sign:?}")));
    sorted
}

pub(super) fn rank(sign: &Sign) -> u8 {
    match sign {
        Sign::EndRepeat(_) => 0,
        Sign::StartRepeat => 1,
        Sign::Ending(_) => 2,
        Sign::DaCapo(_) | Sign::DalSegno(_) => 3,
        Sign::Segno(_) => 4,
        Sign::Fine(_) => 5,
        Sign::ToCoda(_) => 6,
        _ => 7,
    }
}

/// Empty boards of 1 measure, 2 measures …: enough for every order of the signs.
pub(super) fn empty_boards(signs: &[Sign], measures: u16) -> Vec<Board> {
    let edges: usize = signs.iter().map(|sign| 1 + usize::from(sign.spans())).sum();
    let most = u16::try_from(edges + 1)
        .unwrap_or(u16::MAX)
        .min(measures.max(1));
    // cannot fail: a board of one measure or more can be built.
    (1..=most)
        .filter_map(|measures| Board::builder([measures]).build().ok())
        .collect()
}

/// Looks through all legal orders of the signs on a board of so many measures, and tells of each with the number of ways it stands for.
/// `work`: how many orders, those of some of the signs included, may still be looked at, and which of them by this thread.
pub(super) fn search(
    signs: &[Sign],
    boards: &[Board],
    measures: u16,
    work: &Work<'_>,
    found: &mut dyn FnMut(Make<'_>, u64) -> bool,
) -> Ended {
    if lacks_partners(signs) {
        return Ended::All;
    }
    let fewer = with_fewer_passes(signs);
    if are_long(&fewer) {
        return judged(signs, boards, measures, work, true, found);
    }
    let ways: Vec<u64> = (0..=boards.len() as u64)
        .map(|inside| choices(u64::from(measures.max(1)) - 1, inside))
        .collect();
    let mut found = |make: Make<'_>, measures: u8| {
        let inside = usize::from(measures) - 1;
        found(make, ways.get(inside).copied().unwrap_or(0))
    };
    roads(&fewer, boards, work, &mut found)
}

/// Lays repeats and endings in every way, and the other signs as the road needs them.
fn roads(
    signs: &[Sign],
    boards: &[Board],
    work: &Work<'_>,
    found: &mut dyn FnMut(Make<'_>, u8) -> bool,
) -> Ended {
    let shaping = signs.iter().take_while(|sign| shapes(sign)).count();
    let hand = Numbered::new(signs, shaping);
    let judges: Vec<Judge<'_>> = boards.iter().map(Judge::new).collect();
    let is_return = |sign: &Sign| matches!(sign, Sign::DaCapo(_) | Sign::DalSegno(_));
    let returns = signs.iter().enumerate().filter(|(_, sign)| is_return(sign));
    let lands = signs
        .iter()
        .any(|sign| matches!(sign, Sign::Segno(_) | Sign::Coda(_)));
    let mut ready = Ready::default();
    let mut follow = |order: &Order, shape: &Shape| {
        ready.make(&hand, shape);
        let mut roads = Roads {
            hand: &hand,
            shape,
            order,
            lands,
            most: u8::try_from(judges.len()).unwrap_or(u8::MAX),
            ready: &mut ready,
            rest: None,
            is_trial: false,
            came: None,
            work,
            found,
        };
        roads.follow_all()
    };
    let mut shapes = Shapes {
        signs,
        hand: &hand,
        shaping,
        returns: returns.map(|(number, _)| number).collect(),
        lands,
        judges: &judges,
        work,
        then: &mut follow,
    };
    shapes.lay(&Order::empty())
}

/// Whether signs can be laid nowhere, for some lack their partner wherever they stand, or only one of two can be obeyed, or one is never come to
/// as often as it says.
fn lacks_partners(signs: &[Sign]) -> bool {
    let count = |of: fn(&Sign) -> bool| signs.iter().filter(|&sign| of(sign)).count();
    let fines = count(|sign| matches!(sign, Sign::Fine(_)));
    let endings = count(|sign| matches!(sign, Sign::Ending(_)));
    let closing = count(|sign| {
        matches!(
            sign,
            Sign::EndRepeat(_) | Sign::DaCapo(_) | Sign::DalSegno(_)
        )
    });
    // Each Fine ends the music, or one without arrivals sends to the coda for a return that goes on to it; and an ending needs something to come back by.
    let goes_on = signs.iter().filter(|sign| sign.goes_on_from_fine());
    let goes_on = goes_on.map(comebacks).fold(0, usize::saturating_add);
    let counted = count(|sign| matches!(sign, Sign::Fine(Fine { arrivals: Some(_) })));
    if fines > goes_on.saturating_add(1) || counted > 1 || endings > 0 && closing == 0 {
        return true;
    }
    // Each start repeat needs an end repeat of its own, or an ending.
    let starts = count(|sign| matches!(sign, Sign::StartRepeat));
    let ends = count(|sign| matches!(sign, Sign::EndRepeat(_)));
    if starts > ends + endings {
        return true;
    }
    // A To Coda leads nowhere without its coda.
    let is_lost = |sign: &Sign| match sign {
        Sign::ToCoda(to_coda) => !signs
            .iter()
            .any(|it| matches!(it, Sign::Coda(coda) if coda.label == to_coda.label)),
        _ => false,
    };
    if signs.iter().any(is_lost) {
        return true;
    }
    // Without end repeats a section goes on to its next pass only when a return has led back.
    let returns = count(|sign| matches!(sign, Sign::DaCapo(_) | Sign::DalSegno(_)));
    let led_back = led_back(signs);
    let beyond = |sign: &Sign| match sign {
        Sign::Ending(ending) => ending.passes.lowest() as usize > led_back.saturating_add(1),
        _ => false,
    };
    if closing == returns && signs.iter().any(beyond) {
        return true;
    }
    if signs.iter().any(|sign| comes_too_late(sign, signs)) {
        return true;
    }
    let apart = apart(signs);
    let board = Board::builder([apart.measures]).build();
    board.is_ok_and(|board| Judge::new(&board).breaks_any(&apart.markings(signs), &OF_PARTNERS))
}

/// The signs one behind the other, each in a measure of its own.
fn apart(signs: &[Sign]) -> Order {
    let number = |at: usize| u16::try_from(at).unwrap_or(u16::MAX);
    Order {
        measures: number(signs.len() + 1),
        spots: (0..signs.len())
            .map(|at| {
                if signs.get(at).is_some_and(Sign::spans) {
                    (number(at), number(at + 1))
                } else {
                    (number(at + 1), number(at + 1))
                }
            })
            .collect(),
    }
}

/// The barlines inside a board of so many measures, so many of them, by chance: those at the ends of phrases rather than others.
pub(super) fn barlines(inside: u16, measures: u16, chance: &mut Chance) -> Vec<u16> {
    let mut all: Vec<(u8, u64, u16)> = (1..measures)
        .map(|at| {
            let fine = match at {
                _ if at % 4 == 0 => 0,
                _ if at % 2 == 0 => 1,
                _ => 2,
            };
            // Mostly the ends of phrases, at times another barline.
            let fine = if chance.happens(1, 8) { 0 } else { fine };
            (fine, chance.below(u64::MAX), at)
        })
        .collect();
    all.sort_unstable();
    let mut chosen: Vec<u16> = all
        .iter()
        .take(usize::from(inside))
        .map(|it| it.2)
        .collect();
    chosen.sort_unstable();
    chosen
}

#[cfg(test)]
mod tests;
