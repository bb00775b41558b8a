//! The way of a road whose signs are laid, all of them or all but the last, and whose returns all lead to the beginning.
//!
//! What is asked of it is where the next return is obeyed, what has been played and made by then, and which passes have been reached: `legs.rs`
//! has that by visits to blocks.
//!
//! *Place*: twice the number of a barline; one less for a barline inside the part before it, which is there for the last return alone.

use super::legs::{Leg, Start, Visits};
use super::numbered::{Signs, Times, later, numbers};
use super::road::Roads;
use super::shape::few;
use super::stand::{Few, Stand, below, between};
use super::vain::Comebacks;
use crate::board::Repeats;

/// The most returns whose ways are followed; a power of two, as `Few` wants it.
pub(super) const MOST_RETURNS: usize = 8;

/// When a return is obeyed, in the order in which those at one barline are asked.
#[derive(Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Turn {
    /// At the arrivals that it names, before the end repeat.
    #[default]
    Counted,
    /// On the passes that it names.
    Listed,
    /// Once, on the last pass.
    Last,
}

/// A return that is laid and may still be obeyed.
#[derive(Clone, Copy, Default)]
pub(super) struct Mark {
    pub(super) number: u8,
    pub(super) block: u8,
    pub(super) place: u8,
    /// Whether it stands at the end of its block.
    pub(super) is_at_end: bool,
    pub(super) turn: Turn,
    pub(super) plays_repeats: bool,
    /// How often it has been come to.
    pub(super) arrived: u8,
    /// The arrivals or the passes at which it is still to be obeyed.
    pub(super) left: Times,
}

/// Where a mark is obeyed next.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Stop {
    pub(super) visit: u8,
    pub(super) place: u8,
    pub(super) turn: Turn,
    /// The mark, by its number in the list.
    pub(super) mark: u8,
}

/// How far a road has come.
#[derive(Clone, Copy)]
pub(super) struct Way {
    marks: Few<Mark, MOST_RETURNS>,
    len: u8,
    pub(super) start: Start,
    /// The blocks that have been played whole, and the parts that have been played, as bits.
    blocks: u32,
    parts: u32,
    made: u32,
    obeyed: Signs,
    /// The pass of the innermost section where it has come.
    pass: u8,
    /// How often the marks can still lead back.
    pub(super) comebacks: Comebacks,
}

/// The number of the first of some visits.
fn first_of(visits: Visits) -> Option<u8> {
    let [first, ..] = visits.trailing_zeros().to_le_bytes();
    (visits != 0).then_some(first)
}

impl Mark {
    /// The first visit of a leg on which it is obeyed.
    fn first_visit(&self, leg: &Leg) -> Option<u8> {
        let to_block = leg.to_block(self.block);
        // Before an end repeat that leads back only those are asked that count their arrivals.
        let back = if self.is_at_end { to_block.back } else { 0 };
        match self.turn {
            Turn::Counted => {
                let coming = later(self.left, self.arrived);
                if coming == 0 {
                    return None;
                }
                let passed = coming.trailing_zeros() - u32::from(self.arrived) - 1;
                let visits = (0..passed).fold(to_block.all, |left, _| left & left.wrapping_sub(1));
                first_of(visits)
            }
            Turn::Listed => {
                let mut visits = to_block.all & !back;
                while let Some(visit) = first_of(visits) {
                    let pass = leg.visits.get(usize::from(visit))?.pass;
                    if self.names(pass) {
                        return Some(visit);
                    }
                    visits &= visits - 1;
                }
                None
            }
            Turn::Last => first_of(to_block.last & !back),
        }
    }

    /// Whether it is to be obeyed at an arrival, or on a pass.
    pub(super) fn names(&self, time: u8) -> bool {
        let bit = 1_u32.checked_shl(time.into()).unwrap_or(0);
        self.left & bit != 0
    }

    /// How often it can still be obeyed.
    pub(super) fn times(&self) -> u32 {
        match self.turn {
            Turn::Counted => later(self.left, self.arrived).count_ones(),
            Turn::Listed => self.left.count_ones(),
            Turn::Last => 1,
        }
    }

    /// Is obeyed on a pass; whether it may be once more.
    fn obey(&mut self, pass: u8) -> bool {
        self.left = match self.turn {
            Turn::Counted => later(self.left, self.arrived),
            Turn::Listed => self.left & !(1 << pass),
            Turn::Last => 0,
        };
        self.left != 0
    }
}

impl Way {
    /// Lays a return; its number in the list. How often it can lead back has been counted, or is yet to be.
    pub(super) fn lay(&mut self, mark: Mark) -> u8 {
        let number = self.len;
        *self.marks.of(number) = mark;
        self.len += 1;
        number
    }

    /// The next stop in a leg.
    pub(super) fn stop(&self, leg: &Leg) -> Option<Stop> {
        let stops = (0..self.len).filter_map(|number| {
            let mark = self.marks.get(number);
            Some(Stop {
                visit: mark.first_visit(leg)?,
                place: mark.place,
                turn: mark.turn,
                mark: number,
            })
        });
        stops.min()
    }

    /// Goes on to a place on a visit of a leg.
    pub(super) fn go_to(&mut self, leg: &Leg, (number, place): (u8, u8), stand: &Stand) {
        let Some(&visit) = leg.visits.get(usize::from(number)) else {
            return;
        };
        self.blocks |= visit.played;
        self.parts |= between(stand.first.get(visit.block), place / 2);
        self.made |= visit.made;
        self.start.reached = visit.reached;
        self.pass = visit.pass;
        for at in 0..self.len {
            let mark = self.marks.of(at);
            let now = leg.arrivals((mark.block, mark.place), (number, place));
            mark.arrived = mark.arrived.saturating_add(now);
        }
    }

    /// Whether all parts of a block have been played.
    fn has_played(&self, block: u8, stand: &Stand) -> bool {
        let parts = between(stand.first.get(block), stand.first.get(block + 1));
        parts & !self.parts == 0
    }

    /// Whether a mark stands at a place.
    pub(super) fn stands_at(&self, place: u8) -> bool {
        (0..self.len).any(|number| self.marks.get(number).place == place)
    }

    /// Obeys a mark where the road has come.
    pub(super) fn obey(&mut self, number: u8) {
        let mark = self.marks.of(number);
        let may_again = mark.obey(self.pass);
        self.obeyed |= 1 << mark.number;
        self.start.repeats = if mark.plays_repeats {
            Repeats::Play
        } else {
            Repeats::Skip
        };
        self.comebacks.all -= 1;
        self.comebacks.with_repeats -= u32::from(mark.plays_repeats);
        if !may_again {
            self.len -= 1;
            *self.marks.of(number) = self.marks.get(self.len);
        }
    }
}

impl Roads<'_, '_> {
    /// What a road has come to, and the returns laid that may still be obeyed.
    pub(super) fn way(&mut self, stand: &Stand) -> Way {
        let mut way = Way {
            marks: Few::new(),
            len: 0,
            start: Start {
                reached: self.ready.legs.number(&stand.counts.reached),
                // Before the first return no section has been entered, and one that skips repeats would find the same.
                repeats: stand.returns.unwrap_or(Repeats::Skip),
            },
            blocks: 0,
            parts: stand.played,
            made: stand.made,
            obeyed: stand.obeyed,
            pass: 1,
            comebacks: Comebacks::default(),
        };
        for number in numbers(self.hand.jumps & stand.laid & !stand.spent) {
            let barline = stand.at.get(number);
            let part = stand.parts.get(barline.saturating_sub(1));
            let mark = self.mark(number, self.block(part).map_or(0, |block| block.around));
            let mark = Mark {
                block: part.block,
                place: 2 * barline,
                is_at_end: stand.first.get(part.block + 1) == barline,
                arrived: part.arrived,
                left: mark.left & !stand.used.get(number),
                ..mark
            };
            way.lay(mark);
            way.comebacks.add(mark.times(), mark.plays_repeats);
        }
        way
    }

    /// A return outside all sections, or inside one, not come to so far.
    pub(super) fn mark(&self, number: u8, around: u16) -> Mark {
        let bit: Signs = 1 << number;
        let turns = self.hand.turns(around);
        let [_, _, listed, _] = turns.others;
        Mark {
            number,
            turn: match () {
                () if turns.any_counted & bit != 0 => Turn::Counted,
                () if listed & bit != 0 => Turn::Listed,
                () => Turn::Last,
            },
            plays_repeats: self.hand.play_repeats & bit != 0,
            left: self.hand.times(number).unwrap_or(0),
            ..Mark::default()
        }
    }

    /// Whether a road comes to its end with nothing left out.
    pub(super) fn comes_whole(&mut self, mut way: Way, stand: &Stand) -> bool {
        while !self.is_done(&way, stand) {
            let leg = self.leg_from(way.start);
            let Some(leg) = leg.filter(|&leg| !self.is_lost(&way, stand, leg)) else {
                return false;
            };
            let Some(leg) = self.ready.legs.get(leg) else {
                return false;
            };
            let Some(stop) = way.stop(leg) else {
                way.blocks |= leg.played;
                way.made |= leg.made;
                return self.is_done(&way, stand);
            };
            way.go_to(leg, (stop.visit, stop.place), stand);
            way.obey(stop.mark);
        }
        true
    }

    /// Whether something is not done and never will be, where a leg begins.
    pub(super) fn is_lost(&mut self, way: &Way, stand: &Stand, leg: u32) -> bool {
        let gone = self.gone_from(way.start, leg, way.comebacks);
        let mut blocks = numbers(gone.blocks & !way.blocks);
        gone.ends & !way.made != 0 || blocks.any(|block| !way.has_played(block, stand))
    }

    /// Whether everything has been played, made and obeyed.
    fn is_done(&self, way: &Way, stand: &Stand) -> bool {
        let blocks = below(few(self.shape.blocks.len()));
        self.hand.jumps & !way.obeyed == 0
            && way.made == self.shape.ends
            && numbers(blocks & !way.blocks).all(|block| way.has_played(block, stand))
    }
}
