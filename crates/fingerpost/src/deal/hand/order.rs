//! The orders in which signs can stand to one another.
//!
//! What a board of signs means hangs on the order of its barlines, not on how many measures lie between them. So signs are laid on as
//! few measures as their order needs, every barline inside used by one of them; each such order stands for all ways to choose those barlines
//! among the ones of the board.

use crate::board::{Marking, Place, Side, Sign};

/// Where a sign stands: the barlines, counted from 0 at the beginning, at which it begins and ends; the same for a sign at one barline.
pub(super) type Spot = (u16, u16);

/// Signs in an order on as few measures as it needs.
#[derive(Clone, Debug)]
pub(super) struct Order {
    pub(super) measures: u16,
    pub(super) spots: Vec<Spot>,
}

/// A barline for a sign: one that is there, or a new one inside a measure.
#[derive(Clone, Copy)]
enum Barline {
    There(u16),
    /// Inside the measure that begins at this barline.
    New(u16),
}

/// Makes the order that has been found: few of them are looked at more closely than that they are counted.
pub(super) type Make<'m> = &'m dyn Fn() -> Order;

impl Order {
    /// No signs, on one measure.
    pub(super) fn empty() -> Order {
        Order {
            measures: 1,
            spots: Vec::new(),
        }
    }

    /// The orders with one more sign, on at most so many measures.
    pub(super) fn with(&self, sign: &Sign, most: u16) -> Vec<Order> {
        let mut orders = Vec::new();
        for first in self.barlines(most) {
            let (order, from) = self.clone().at(first);
            if !sign.spans() {
                let fits = match sign.side() {
                    Side::Landing => from < order.measures,
                    _ => from > 0,
                };
                if fits {
                    orders.push(order.and((from, from)));
                }
                continue;
            }
            for second in order.barlines(most) {
                let (order, to) = order.clone().at(second);
                // A new barline before the first moves it on; such an order is met the other way round.
                if to > from {
                    orders.push(order.and((from, to)));
                }
            }
        }
        orders
    }

    fn barlines(&self, most: u16) -> Vec<Barline> {
        let there = (0..=self.measures).map(Barline::There);
        let new = (0..self.measures).map(Barline::New);
        there.chain(new.filter(|_| self.measures < most)).collect()
    }

    /// The order with a barline in it, and its number.
    fn at(mut self, barline: Barline) -> (Order, u16) {
        match barline {
            Barline::There(at) => (self, at),
            Barline::New(at) => {
                self.measures += 1;
                for (from, to) in &mut self.spots {
                    *from += u16::from(*from > at);
                    *to += u16::from(*to > at);
                }
                (self, at + 1)
            }
        }
    }

    fn and(mut self, spot: Spot) -> Order {
        self.spots.push(spot);
        self
    }

    /// The signs laid on the measures of the order.
    pub(super) fn markings(&self, signs: &[Sign]) -> Vec<Marking> {
        let both = signs.iter().zip(&self.spots);
        both.map(|(sign, &spot)| Marking::new(sign.clone(), place(sign, spot)))
            .collect()
    }

    /// The same signs on a board where the barlines inside are these.
    pub(super) fn markings_at(
        &self,
        signs: &[Sign],
        inside: &[u16],
        measures: u16,
    ) -> Vec<Marking> {
        let barline = |number: u16| match number {
            0 => 0,
            _ if number == self.measures => measures,
            _ => inside.get(usize::from(number) - 1).copied().unwrap_or(0),
        };
        let both = signs.iter().zip(&self.spots);
        both.map(|(sign, &(from, to))| {
            Marking::new(sign.clone(), place(sign, (barline(from), barline(to))))
        })
        .collect()
    }
}

fn place(sign: &Sign, (from, to): Spot) -> Place {
    if sign.spans() {
        Place::over(from + 1, to)
    } else if sign.side() == Side::Landing {
        Place::at(from + 1)
    } else {
        Place::at(from)
    }
}

/// In how many ways so many can be chosen of a number.
pub(super) fn choices(of: u64, chosen: u64) -> u64 {
    if chosen > of {
        return 0;
    }
    let mut ways: u128 = 1;
    for index in 0..chosen.min(of - chosen) {
        ways = ways * u128::from(of - index) / u128::from(index + 1);
        if ways > u128::from(u64::MAX) {
            return u64::MAX;
        }
    }
    u64::try_from(ways).unwrap_or(u64::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_orders_of_signs_stand_for_every_way_to_lay_them() {
        // Two leaving signs on n measures: n * n ways; a leaving and a landing one the same.
        for signs in [["Fine", "D.C."], ["Fine", "segno"]] {
            let signs = signs.map(|sign| Sign::from_line(sign).unwrap());
            for measures in 1..8 {
                let mut ways = 0;
                for first in Order::empty().with(&signs[0], measures) {
                    for both in first.with(&signs[1], measures) {
                        ways += choices(u64::from(measures) - 1, u64::from(both.measures) - 1);
                    }
                }
                assert_eq!(ways, u64::from(measures * measures));
            }
        }
        // A bracket and a sign: n * (n + 1) / 2 rows, n places.
        let signs = ["[1.", "Fine"].map(|sign| Sign::from_line(sign).unwrap());
        for measures in 1..8_u16 {
            let mut ways = 0;
            for first in Order::empty().with(&signs[0], measures) {
                for both in first.with(&signs[1], measures) {
                    ways += choices(u64::from(measures) - 1, u64::from(both.measures) - 1);
                }
            }
            assert_eq!(ways, u64::from(measures * (measures + 1) / 2 * measures));
        }
    }
}
