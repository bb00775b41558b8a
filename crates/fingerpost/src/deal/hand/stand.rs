//! How far a road has come that is followed while signs are laid, and what is known of each measure.

use super::numbered::{Signs, Times, numbers};
use super::order::Order;
use super::shape::few;
use crate::board::Repeats;

// All these are powers of two.
/// More barlines than the signs of a hand can have, those included that are tried as missing.
const MOST_PARTS: usize = 32;
/// More sections than they can make, and more signs.
const MOST_SECTIONS: usize = 16;
const MOST_SIGNS: usize = 16;

/// A measure between two barlines.
#[derive(Clone, Copy, Default)]
pub(super) struct Part {
    pub(super) block: u8,
    /// How often its end has been reached.
    pub(super) arrived: u8,
    /// The signs that can stand at no barline inside it, and the ones that cannot stand at its end: they would have been obeyed.
    pub(super) not_inside: Signs,
    pub(super) not_at_end: Signs,
    /// The leaving signs laid at its end.
    pub(super) at_end: Signs,
}

/// A short list kept in place. It is longer than what it is for, and nothing is asked for beyond its end: that would be another entry.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) struct Few<T, const N: usize>([T; N]);

/// The highest pass that each section has reached.
pub(super) type Reached = Few<u8, MOST_SECTIONS>;

/// Where the counting of passes stands.
#[derive(Clone, Copy)]
pub(super) struct Counts {
    /// For each section its present pass, 0 where it is not active.
    pub(super) pass: Few<u8, MOST_SECTIONS>,
    pub(super) reached: Reached,
    pub(super) active: u16,
}

/// How far the road has come, and what is laid.
#[derive(Clone, Copy)]
pub(super) struct Stand {
    pub(super) parts: Few<Part, MOST_PARTS>,
    pub(super) length: u8,
    /// The parts that have been played, as bits.
    pub(super) played: u32,
    /// The first part of each block, and behind the last block the length.
    pub(super) first: Few<u8, MOST_PARTS>,
    /// For each sign laid its barline: a leaving one stands at the end of the part before it, a landing one at the start of that behind it.
    pub(super) at: Few<u8, MOST_SIGNS>,
    pub(super) laid: Signs,
    /// The jumps obeyed, and those of them that are obeyed no more.
    pub(super) obeyed: Signs,
    pub(super) spent: Signs,
    pub(super) counts: Counts,
    /// The end repeats made, by blocks.
    pub(super) made: u32,
    /// Whether this leg is a return, and what it says of repeats.
    pub(super) returns: Option<Repeats>,
    pub(super) fine_is_armed: bool,
    pub(super) coda_arms_fine: bool,
    /// The To Codas that the last jump means.
    pub(super) meant: Signs,
    /// The segno at which the road is left.
    pub(super) until: Option<u8>,
    /// The coda to which the road goes on from the Fine or from that segno.
    pub(super) goes_on_to: Option<u8>,
    /// For each jump the passes on which it has been obeyed because it names them.
    pub(super) used: Few<Times, MOST_SIGNS>,
}

impl<T: Copy + Default, const N: usize> Few<T, N> {
    pub(super) fn new() -> Few<T, N> {
        Few([T::default(); N])
    }

    /// Each of them, or another's where that is less.
    pub(super) fn at_most(&self, others: &Few<T, N>) -> Few<T, N>
    where
        T: Ord,
    {
        Few(std::array::from_fn(|at| self.0[at].min(others.0[at])))
    }

    pub(super) fn get(&self, at: u8) -> T {
        self.0[Self::place(at)]
    }

    pub(super) fn of(&mut self, at: u8) -> &mut T {
        &mut self.0[Self::place(at)]
    }

    /// cannot fail: the length is a power of two, so that no place lies beyond it.
    fn place(at: u8) -> usize {
        const { assert!(N.is_power_of_two()) };
        usize::from(at) & (N - 1)
    }
}

/// The bits from one number of a part or block to another, this one not included. There are fewer of these than bits.
pub(super) fn between(from: u8, to: u8) -> u32 {
    below(to) & !below(from)
}

/// The bits below a number.
pub(super) fn below(number: u8) -> u32 {
    1_u32.wrapping_shl(u32::from(number)) - 1
}

impl Stand {
    /// Lays a sign at a barline.
    pub(super) fn lay(&mut self, number: u8, barline: u8) {
        self.laid |= 1 << number;
        *self.at.of(number) = barline;
    }

    /// Makes two parts of one. What is known of the inside of the one holds of both and of the barline between them.
    pub(super) fn part_at(&mut self, part: u8) {
        let (from, to) = (usize::from(part), usize::from(self.length));
        self.parts.0.copy_within(from..to, from + 1);
        let front = self.played & between(0, part + 1);
        self.played = front | (self.played & !between(0, part)) << 1;
        let front = self.parts.of(part);
        front.not_at_end = front.not_inside;
        front.at_end = 0;
        let block = front.block;
        self.length += 1;
        for first in self.first.0.iter_mut().skip(usize::from(block) + 1) {
            *first += 1;
        }
        for at in &mut self.at.0 {
            *at += u8::from(*at > part);
        }
    }

    /// The order in which the signs stand: the ones that shape the repeats where their blocks are, the loose ones where they are laid.
    pub(super) fn order(&self, shaped: &Order, loose: Signs) -> Order {
        // cannot fail: there are few blocks.
        let barline = |block: u16| u16::from(self.first.get(few(block.into())));
        let spots = shaped.spots.iter();
        let spots = spots.map(|&(from, to)| (barline(from), barline(to)));
        let loose = numbers(loose).map(|number| {
            let at = u16::from(self.at.get(number));
            (at, at)
        });
        Order {
            measures: u16::from(self.length),
            spots: spots.chain(loose).collect(),
        }
    }
}

impl Part {
    /// The number of the next arrival at its end; the highest there is stands for all beyond it.
    pub(super) fn arrived_next(self) -> u8 {
        self.arrived.saturating_add(1)
    }
}

impl Counts {
    /// Nothing has been played.
    pub(super) fn none() -> Counts {
        Counts {
            pass: Few::new(),
            reached: Few::new(),
            active: 0,
        }
    }

    /// The pass of the innermost of some sections.
    pub(super) fn innermost(&self, around: u16) -> u8 {
        numbers(around).last().map_or(1, |it| self.pass.get(it))
    }

    pub(super) fn reach(&mut self, section: u8, pass: u8) {
        *self.pass.of(section) = pass;
        let reached = self.reached.of(section);
        *reached = pass.max(*reached);
    }

    /// The sections that do not hold the part to which the road goes are active no longer.
    pub(super) fn leave_all_but(&mut self, around: u16) {
        for section in numbers(self.active & !around) {
            *self.pass.of(section) = 0;
        }
        self.active &= around;
    }
}
