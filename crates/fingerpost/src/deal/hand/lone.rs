//! The last return of a hand whose returns all lead to the beginning, laid wherever the road comes while all other signs are laid.
//!
//! With all of them laid but one the road is one road, and for each place where the last may stand another one parts from it. Both are followed
//! by legs that are known (`way.rs`).

use super::legs::{Leg, Visit, Visits};
use super::numbered::{Signs, numbers};
use super::road::Roads;
use super::search::Ended;
use super::stand::{Stand, between};
use super::way::{Mark, Stop, Turn, Way};

/// The return that is still in the hand.
struct Lone {
    /// As it would be in a block outside all sections, and in one inside.
    outside: Mark,
    inside: Mark,
    /// The parts inside which it may not stand, and those at whose ends it may not.
    not_inside: u32,
    not_at_end: u32,
}

/// A visit of the leg that is being walked, and what is obeyed there.
#[derive(Clone, Copy)]
struct At {
    leg: u32,
    number: u8,
    visit: Visit,
    stop: Option<Stop>,
}

impl Lone {
    /// Those of some parts inside which or at whose ends it may stand.
    fn open_parts(&self, parts: u32) -> u32 {
        parts & !(self.not_inside & self.not_at_end)
    }

    /// Whether it is to be known how often the road has come to its places.
    fn counts(&self) -> bool {
        [self.outside.turn, self.inside.turn].contains(&Turn::Counted)
    }
}

/// Counts how often the road comes to the ends of some parts before it is led away.
fn count(stand: &mut Stand, leg: &Leg, stop: Stop, parts: u32) {
    for at in numbers(parts) {
        let part = stand.parts.of(at);
        let arrived = leg.arrivals((part.block, 2 * (at + 1)), (stop.visit, stop.place));
        part.arrived = part.arrived.saturating_add(arrived);
    }
}

impl Roads<'_, '_> {
    /// Whether the road is followed by the legs that are known, when so much is laid.
    pub(super) fn goes_by_legs(&self, stand: &Stand) -> bool {
        let unlaid = self.hand.loose & !stand.laid;
        self.ready.has_legs && unlaid & unlaid.wrapping_sub(1) == 0
    }

    /// Follows the road from the beginning of a leg; the return that is not laid, if there is one, is laid wherever it may stand.
    pub(super) fn go_by_legs(&mut self, stand: &mut Stand) -> Ended {
        let mut way = self.way(stand);
        let unlaid = numbers(self.hand.loose & !stand.laid).next();
        let Some(number) = unlaid else {
            return if self.comes_whole(way, stand) && self.is_allowed(stand) {
                self.tell_of(stand)
            } else {
                Ended::All
            };
        };
        let mut lone = self.lone(stand, number);
        // The last return leads back as well.
        let mark = lone.inside;
        way.comebacks.add(mark.times(), mark.plays_repeats);
        loop {
            if !self.work.spend() {
                return Ended::TooMany;
            }
            let Some(leg) = self.leg_from(way.start) else {
                return Ended::All;
            };
            if self.is_lost(&way, stand, leg) {
                return Ended::All;
            }
            let stop = self.ready.legs.get(leg).and_then(|leg| way.stop(leg));
            match self.lay_lone(stand, &way, (leg, stop), &mut lone) {
                Ended::All => {}
                ended => return ended,
            }
            let (Some(stop), Some(leg)) = (stop, self.ready.legs.get(leg)) else {
                return Ended::All;
            };
            let all = between(0, stand.length);
            if lone.open_parts(all) == 0 {
                return Ended::All;
            }
            if lone.counts() {
                count(stand, leg, stop, lone.open_parts(all));
            }
            way.go_to(leg, (stop.visit, stop.place), stand);
            way.obey(stop.mark);
        }
    }

    /// Where the return that is in the hand may stand.
    fn lone(&self, stand: &Stand, number: u8) -> Lone {
        let bit: Signs = 1 << number;
        let is_full = stand.length >= self.most;
        let mut lone = Lone {
            outside: self.mark(number, 0),
            inside: self.mark(number, 1),
            not_inside: if is_full { u32::MAX } else { 0 },
            not_at_end: 0,
        };
        for at in 0..stand.length {
            let part = stand.parts.get(at);
            if part.not_inside & bit != 0 {
                lone.not_inside |= 1 << at;
            }
            let others = part.at_end & self.hand.jumps != 0;
            if part.not_at_end & bit != 0 || others && !self.takes_jump(stand, at, number) {
                lone.not_at_end |= 1 << at;
            }
        }
        for (block, behind) in self.shape.blocks.iter().zip(1..) {
            if block.closes {
                lone.not_at_end |= 1 << (stand.first.get(behind) - 1);
            }
        }
        lone
    }

    /// Lays the return wherever it is obeyed in a leg before a stop.
    fn lay_lone(
        &mut self,
        stand: &mut Stand,
        way: &Way,
        (leg, stop): (u32, Option<Stop>),
        lone: &mut Lone,
    ) -> Ended {
        for number in 0..=stop.map_or(u8::MAX, |stop| stop.visit) {
            let walked = self.ready.legs.get(leg);
            let visit = walked.and_then(|leg| leg.visits.get(usize::from(number)));
            let Some(&visit) = visit else {
                break;
            };
            let stop = stop.filter(|stop| stop.visit == number);
            let at = At {
                leg,
                number,
                visit,
                stop,
            };
            let ended = self.lay_lone_in(stand, way, at, lone);
            if ended != Ended::All {
                return ended;
            }
        }
        Ended::All
    }

    /// Lays it in a block.
    fn lay_lone_in(&mut self, stand: &mut Stand, way: &Way, at: At, lone: &mut Lone) -> Ended {
        let block = at.visit.block;
        let (from, behind) = (stand.first.get(block), stand.first.get(block + 1));
        if lone.open_parts(between(from, behind)) == 0 {
            return Ended::All;
        }
        let Some(leg) = self.ready.legs.get(at.leg) else {
            return Ended::All;
        };
        let to_block = leg.to_block(block);
        let now = leg.before(block, at.number) + 1;
        let is_now = |visits: Visits| visits & 1 << at.number != 0;
        let is_outside = self
            .shape
            .blocks
            .get(usize::from(block))
            .is_none_or(|it| it.around == 0);
        let mark = if is_outside {
            lone.outside
        } else {
            lone.inside
        };
        let may_act = match mark.turn {
            Turn::Counted => true,
            Turn::Listed => mark.names(at.visit.pass),
            Turn::Last => is_now(to_block.last),
        };
        if !may_act {
            return Ended::All;
        }
        let is_counted = mark.turn == Turn::Counted;
        let leads_back = is_now(to_block.back) && !is_counted;
        for part in from..behind {
            let bit = 1 << part;
            let end = 2 * (part + 1);
            let stop = at.stop.filter(|stop| stop.place == end);
            let arrived = stand.parts.get(part).arrived;
            let acts = !is_counted || mark.names(arrived.saturating_add(now));
            let is_at_end = part + 1 == behind;
            // At the end of the part the end repeat may come before it, or another return; none of its own kind stands there.
            let is_asked =
                acts && !(is_at_end && leads_back) && stop.is_none_or(|stop| mark.turn < stop.turn);
            let inside = acts && lone.not_inside & bit == 0;
            let at_end = is_asked && lone.not_at_end & bit == 0;
            lone.not_inside |= if acts { bit } else { 0 };
            lone.not_at_end |= if is_asked { bit } else { 0 };
            if inside || at_end {
                let mark = Mark {
                    block,
                    arrived,
                    place: end,
                    is_at_end,
                    ..mark
                };
                let ended = self.try_lone(stand, way, at, mark, [inside, at_end]);
                if ended != Ended::All {
                    return ended;
                }
            }
            if stop.is_some() {
                break;
            }
        }
        Ended::All
    }

    /// Tells of the orders with the last return inside the part before a place, and there, where it is obeyed on a visit of a leg, if nothing
    /// is left out.
    fn try_lone(
        &mut self,
        stand: &mut Stand,
        way: &Way,
        at: At,
        mark: Mark,
        [inside, at_end]: [bool; 2],
    ) -> Ended {
        let part = mark.place / 2 - 1;
        // If nothing tells the two apart, the road is the same. Then one is whole as the other is: what lies behind the part is played, and by
        // a road that has come through it, for at the end of an ending the return does not stand.
        let is_repeat = mark.is_at_end && self.shape.ends & 1 << mark.block != 0;
        let is_apart = way.stands_at(mark.place) || is_repeat && mark.turn != Turn::Counted;
        let within = Mark {
            place: mark.place - 1,
            is_at_end: false,
            ..mark
        };
        let whole_inside = inside && self.comes_whole(self.with(way, within, at, stand), stand);
        let whole_at_end = at_end
            && if inside && !is_apart {
                whole_inside
            } else {
                self.comes_whole(self.with(way, mark, at, stand), stand)
            };
        if !self.work.spend() {
            return Ended::TooMany;
        }
        // It is laid on a copy only, but whether it leads over a section is asked of where it stands.
        *stand.at.of(mark.number) = part + 1;
        if !(whole_inside || whole_at_end) || !self.is_allowed(stand) {
            return Ended::All;
        }
        for (is_inside, is_whole) in [(true, whole_inside), (false, whole_at_end)] {
            if !is_whole {
                continue;
            }
            match self.tell_with(stand, mark.number, part, is_inside) {
                Ended::All => {}
                ended => return ended,
            }
        }
        Ended::All
    }

    /// The way with a return laid where it is obeyed on a visit.
    fn with(&self, way: &Way, mark: Mark, at: At, stand: &Stand) -> Way {
        let mut with = *way;
        let number = with.lay(mark);
        if let Some(leg) = self.ready.legs.get(at.leg) {
            with.go_to(leg, (at.number, mark.place), stand);
        }
        with.obey(number);
        with
    }
}
