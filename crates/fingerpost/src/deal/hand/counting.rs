//! All ways to lay a hand counted, and some orders drawn by chance, by several threads where that takes long.

use std::cell::RefCell;
use std::thread;

use super::order::{Make, Order};
use super::search::{MOST_ORDERS, empty_boards, search};
use super::work::{Common, Work};
use super::{Hand, HandRefused, SHOWING, over};
use crate::board::Board;
use crate::chance::Chance;

/// How many orders are wanted, drawn by chance from a seed.
#[derive(Clone, Copy)]
pub(super) struct Wanted {
    pub(super) orders: usize,
    pub(super) seed: u64,
}

/// What is found in one share of a search.
struct Found {
    number: u64,
    ways: u64,
    drawn: Vec<Drawn>,
    /// Up to so many ways none of those drawn changes.
    until: u64,
    chance: Chance,
}

/// A share of 1, drawn by chance, is a number of parts of this.
const WHOLE: u64 = 1 << 62;

/// An order drawn by chance from those met so far, each as likely as the number of ways that it stands for.
#[derive(Clone, Default)]
struct Drawn {
    order: Option<Order>,
    /// The number of ways up to which it stays.
    until: u64,
}

impl Hand {
    /// The number of ways, and some orders drawn by chance, each as often as it stands for ways. At most so many threads count; what is found does
    /// not hang on that.
    pub(super) fn count(
        &self,
        measures: u16,
        wanted: Wanted,
        most: usize,
        chance: &mut Chance,
    ) -> Result<(u64, Vec<Order>), HandRefused> {
        let boards = empty_boards(&self.road, measures);
        let common = Common::new(MOST_ORDERS);
        let counts = |work: Work<'_>| self.count_shares(&boards, measures, wanted, work);
        let mut found = thread::scope(|scope| {
            let helpers = RefCell::new(Vec::new());
            let calls_help = || {
                for _ in 1..most {
                    // Where there can be no further thread, the work is done by those who are there.
                    let helper = thread::Builder::new()
                        .spawn_scoped(scope, || counts(Work::shared(&common, None)));
                    helpers.borrow_mut().extend(helper);
                }
            };
            let mut found = counts(Work::shared(&common, Some(&calls_help)));
            for helper in helpers.take() {
                match helper.join() {
                    Ok(more) => found.extend(more),
                    Err(panic) => std::panic::resume_unwind(panic),
                }
            }
            found
        });
        if common.is_overspent() {
            return Err(HandRefused::TooManyOrders);
        }
        found.sort_unstable_by_key(|found| found.number);
        Ok(together(found, wanted.orders, chance))
    }

    /// What is found in the shares that one of those who count comes to do. Whether they have looked at too many orders is known to all.
    fn count_shares(
        &self,
        boards: &[Board],
        measures: u16,
        wanted: Wanted,
        work: Work<'_>,
    ) -> Vec<Found> {
        let mut all: Vec<Found> = Vec::new();
        search(&self.road, boards, measures, &work, &mut |make, ways| {
            let ways = if self.over.is_empty() {
                ways
            } else {
                over::ways(&self.over, &make(), &self.road, measures)
            };
            let number = work.number();
            if all.last().is_none_or(|found| found.number != number) {
                all.push(Found::new(number, wanted));
            }
            if let Some(found) = all.last_mut() {
                found.meet(make, ways);
            }
            true
        });
        work.end();
        all
    }
}

/// The ways of all shares, in their order, and of each draw the order that it comes to.
fn together(found: Vec<Found>, orders: usize, chance: &mut Chance) -> (u64, Vec<Order>) {
    let mut ways = 0_u64;
    let mut drawn = vec![Drawn::default(); orders];
    for share in found {
        ways = ways.saturating_add(share.ways);
        for (slot, of_share) in drawn.iter_mut().zip(share.drawn) {
            if chance.below(ways) < share.ways {
                *slot = of_share;
            }
        }
    }
    let orders = drawn.into_iter().filter_map(|slot| slot.order);
    (ways, orders.collect())
}

impl Found {
    fn new(number: u64, wanted: Wanted) -> Found {
        Found {
            number,
            ways: 0,
            drawn: vec![Drawn::default(); wanted.orders],
            until: 0,
            chance: Chance::new(wanted.seed, SHOWING + number * SHARES_APART),
        }
    }

    /// Meets an order that stands for so many ways.
    fn meet(&mut self, make: Make<'_>, ways: u64) {
        self.ways = self.ways.saturating_add(ways);
        if self.ways <= self.until {
            return;
        }
        let order = make();
        for slot in &mut self.drawn {
            slot.meet(&order, self.ways, &mut self.chance);
        }
        let changes = self.drawn.iter().map(|slot| slot.until);
        self.until = changes.min().unwrap_or(u64::MAX);
    }
}

/// The purposes for which the shares use chance lie so far apart, so that they meet none that there is.
const SHARES_APART: u64 = 1 << 40;

impl Drawn {
    /// Meets an order, with which so many ways are known.
    fn meet(&mut self, order: &Order, ways: u64, chance: &mut Chance) {
        if ways <= self.until {
            return;
        }
        self.order = Some(order.clone());
        // Among ten times as many ways it is still the one drawn in one of ten cases: that is drawn at once, not again for each order.
        let part = chance.below(WHOLE) + 1;
        let until = u128::from(ways) * u128::from(WHOLE) / u128::from(part);
        self.until = u64::try_from(until).unwrap_or(u64::MAX);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::board::Sign;

    #[test]
    fn what_is_counted_and_drawn_hangs_on_nobody_who_helps() {
        for (hand, measures) in [
            // Repeats and endings as they are laid are shared.
            (
                &["[1.", "[2.", "[3.", ":|", "D.C.", "D.C.(arrivals 1 2)"][..],
                16,
            ),
            // The roads are.
            (
                &[
                    "D.C.",
                    "D.C.(arrivals 1 2)",
                    "D.C.(arrivals 2)",
                    "D.S.",
                    "segno",
                    "Fine",
                    "D.C. al Fine",
                ],
                16,
            ),
            // Each order is judged by itself.
            (&[":|x40", "|:", "D.C.(arrivals 33)", "D.S.", "segno"], 16),
            // Short, and with signs over the measures.
            (&["|:", ":|", "8va(on repeat)"], 8),
        ] {
            let signs: Vec<Sign> = hand.iter().map(|it| Sign::from_line(it).unwrap()).collect();
            let hand = Hand::of(&signs);
            let count = |most| {
                let wanted = Wanted {
                    orders: 24,
                    seed: 5,
                };
                let (ways, drawn) = hand
                    .count(measures, wanted, most, &mut Chance::new(5, SHOWING))
                    .unwrap();
                let drawn: Vec<_> = drawn
                    .iter()
                    .map(|it| (it.measures, it.spots.clone()))
                    .collect();
                (ways, drawn)
            };
            let alone = count(1);
            assert!(alone.0 > 0 && alone.1.len() == 24, "{signs:?}");
            for most in [2, 5] {
                assert_eq!(count(most), alone, "{signs:?}");
            }
        }
    }
}
