//! Roads of no use, and what they never come to again (`gone`), known as such where they begin and when a return leads back: a measure in an ending is played no more, an end repeat leads
//! back no more, a return at the end of an ending is obeyed no more, or a sign in the hand may stand nowhere any more.
//!
//! The passes of a section that no other section holds rise, as long as no return begins it anew. So an ending that is not for the last of
//! them is played once on each of its passes at most, and not again when these are past; and without an end repeat each further pass needs a
//! return that is still to be obeyed. A leg comes into each such section once, for a coda stands behind the To Coda that leads to it
//! (rulebook 10.13). All is reckoned in favour of the road: one that is left is of no use, one that is followed may be.

use super::numbered::{Signs, Times, later, numbers};
use super::road::Roads;
use super::shape::{Bracket, Repeated, Shape};
use super::stand::{Reached, Stand, between};
use crate::board::Repeats;

/// Passes or arrivals, as bits.
type Passes = u32;

/// The passes from one to another, both included.
fn passes(from: u32, to: u32) -> Passes {
    let below = |pass: u32| 1_u32.checked_shl(pass).map_or(Passes::MAX, |bit| bit - 1);
    below(to.saturating_add(1)) & !below(from)
}

/// The sections that no other holds, and the endings in which no other section is, as bits.
#[derive(Clone, Copy, Default)]
pub(super) struct Outermost {
    sections: u16,
    endings: u32,
}

impl Outermost {
    /// Those of a shape.
    pub(super) fn of(shape: &Shape) -> Outermost {
        let inside = shape.sections.iter().fold(0, |all, own| all | own.inner);
        let mut outermost = Outermost::default();
        for (_, number) in shape.sections.iter().zip(0..) {
            outermost.sections |= 1 << number & !inside;
        }
        for (ending, number) in shape.endings.iter().zip(0..) {
            let over = usize::from(ending.first)..=usize::from(ending.last);
            let mut blocks = shape.blocks.get(over).unwrap_or_default().iter();
            let section = 1_u16.checked_shl(u32::from(ending.section)).unwrap_or(0);
            let is_alone = blocks.all(|block| block.around == section);
            outermost.endings |= u32::from(outermost.sections & section != 0 && is_alone) << number;
        }
        outermost
    }
}

/// What may still come of a section.
#[derive(Clone, Copy)]
struct Coming {
    /// The passes on which it may still be played.
    passes: Passes,
    /// How often it may be begun anew.
    anew: u32,
    /// How often its measures may be come to at most; without limit where an end repeat leads back.
    legs: u32,
}

/// How often returns can still lead back, all together and those that have repeats played.
#[derive(Clone, Copy, Default)]
pub(super) struct Comebacks {
    pub(super) all: u32,
    pub(super) with_repeats: u32,
}

impl Comebacks {
    /// Adds those of a return.
    pub(super) fn add(&mut self, times: u32, plays_repeats: bool) {
        self.all += times;
        self.with_repeats += if plays_repeats { times } else { 0 };
    }
}

/// What is never come to again.
#[derive(Clone, Copy, Default)]
pub(super) struct Gone {
    /// The blocks that are not played, and the end repeats that do not lead back, by blocks as bits.
    pub(super) blocks: u32,
    pub(super) ends: u32,
}

/// The parts under an ending, as bits.
fn parts_of(stand: &Stand, ending: Bracket) -> u32 {
    between(
        stand.first.get(ending.first),
        stand.first.get(ending.last + 1),
    )
}

/// Whether some of an ending has not been played.
fn is_unplayed(stand: &Stand, ending: Bracket) -> bool {
    parts_of(stand, ending) & !stand.played != 0
}

impl Coming {
    /// How often the end of an ending may still be come to at most.
    fn arrivals(&self, own: Repeated, ending: Bracket) -> u32 {
        let last = 1 << own.passes;
        // On its last pass a section may be played again and again.
        if ending.passes & last != 0 && (self.passes & last != 0 || self.anew > 0) {
            return self.legs;
        }
        let whole = ending.passes & passes(1, own.passes.into());
        let each_time = (ending.passes & self.passes).count_ones();
        self.legs.min(each_time + self.anew * whole.count_ones())
    }
}

impl Roads<'_, '_> {
    /// Whether the road is of no use from here on, where it begins or is led back by a return.
    pub(super) fn is_in_vain(&self, stand: &Stand) -> bool {
        // Where neither signs name their times nor repeats are made again, few roads are in vain, and to ask takes longer than to follow them.
        if self.hand.with_times == 0 && self.hand.play_repeats == 0 {
            return false;
        }
        let unlaid = self.hand.loose & self.hand.leaving & !stand.laid;
        // When all leaving signs are laid and a return has been obeyed there is one road, and to follow it to its end takes no longer than to ask.
        // And a trial (`last.rs`) must not be asked: it holds for many places, and has played what was played before the first of them alone.
        if unlaid == 0 && stand.obeyed != 0 {
            return false;
        }
        let unmade = self.shape.ends & !stand.made;
        let unobeyed = self.shape.returns & !stand.obeyed;
        // Where all else has been done a sign in the hand may still find no place.
        if unmade == 0 && unobeyed == 0 && stand.played == between(0, stand.length) {
            return unlaid & self.excluded(stand, 0) != 0;
        }
        let mut comebacks = None;
        let mut known: Option<(u8, Coming)> = None;
        let mut coming = |own: Repeated, section: u8| match known {
            Some((of, coming)) if of == section => coming,
            _ => {
                let comebacks = *comebacks.get_or_insert_with(|| self.comebacks(stand));
                let reached = stand.counts.reached.get(section);
                let coming = self.coming(own, reached, stand.returns, comebacks);
                known = Some((section, coming));
                coming
            }
        };
        let mut gone = 0;
        for (&ending, number) in self.shape.endings.iter().zip(0..) {
            let is_outermost = self.ready.outermost.endings & 1 << number != 0;
            let at_stake = unlaid | self.returns(ending) & unobeyed != 0;
            if !is_outermost || !at_stake && !is_unplayed(stand, ending) {
                continue;
            }
            let Some(&own) = self.shape.sections.get(usize::from(ending.section)) else {
                continue;
            };
            let coming = coming(own, ending.section);
            if self.is_left_out(stand, own, ending, &coming) {
                return true;
            }
            if ending.passes & coming.passes == 0 {
                gone |= parts_of(stand, ending);
            }
        }
        numbers(unmade).any(|end| self.is_left_unmade(end, &mut coming))
            || unlaid != 0 && unlaid & self.excluded(stand, gone) != 0
    }

    /// The signs that can be laid at the end of no part and inside none, but for these parts, to which the road does not come again.
    fn excluded(&self, stand: &Stand, gone: u32) -> Signs {
        let is_full = stand.length >= self.most;
        let parts = numbers(between(0, stand.length) & !gone).map(|part| stand.parts.get(part));
        parts.fold(Signs::MAX, |excluded, part| {
            let inside = if is_full { Signs::MAX } else { part.not_inside };
            excluded & inside & part.not_at_end
        })
    }

    /// The returns at the end of an ending.
    fn returns(&self, ending: Bracket) -> Signs {
        let block = self.shape.blocks.get(usize::from(ending.last));
        block.map_or(0, |block| block.returns)
    }

    /// What is never played or made again from the beginning of a leg on.
    pub(super) fn gone(
        &self,
        reached: &Reached,
        returns: Option<Repeats>,
        comebacks: Comebacks,
    ) -> Gone {
        let mut gone = Gone::default();
        let mut coming =
            |own: Repeated, section: u8| self.coming(own, reached.get(section), returns, comebacks);
        for (&ending, number) in self.shape.endings.iter().zip(0..) {
            let own = self.shape.sections.get(usize::from(ending.section));
            let is_outermost = self.ready.outermost.endings & 1 << number != 0;
            let Some(&own) = own.filter(|_| is_outermost) else {
                continue;
            };
            if ending.passes & coming(own, ending.section).passes == 0 {
                gone.blocks |= between(ending.first, ending.last + 1);
            }
        }
        for end in numbers(self.shape.ends) {
            if self.is_left_unmade(end, &mut coming) {
                gone.ends |= 1 << end;
            }
        }
        gone
    }

    /// What may come of a section from the beginning of a leg on, when it has reached a pass.
    fn coming(
        &self,
        own: Repeated,
        reached: u8,
        returns: Option<Repeats>,
        comebacks: Comebacks,
    ) -> Coming {
        let last = u32::from(own.passes);
        let next = (u32::from(reached) + 1).min(last);
        let has_ends = self.shape.ends & between(own.start, own.end + 1) != 0;
        let further = if has_ends { last } else { comebacks.all };
        let armed = |repeats| returns == Some(repeats);
        let anew = match own.on_return {
            _ if own.jump_closed => 0,
            Some(Repeats::Skip) => 0,
            Some(Repeats::Play) => comebacks.all + u32::from(returns.is_some()),
            None => comebacks.with_repeats + u32::from(armed(Repeats::Play)),
        };
        let begun_anew = if anew > 0 {
            passes(1, last.min(1 + further))
        } else {
            0
        };
        Coming {
            passes: passes(next, last.min(next + further)) | begun_anew,
            anew,
            legs: if has_ends {
                u32::MAX
            } else {
                comebacks.all + 1
            },
        }
    }

    /// Whether an ending is never played again and not all of it has been, or a return at its end is obeyed no more.
    fn is_left_out(&self, stand: &Stand, own: Repeated, ending: Bracket, coming: &Coming) -> bool {
        let passes = ending.passes & coming.passes;
        if passes == 0 && is_unplayed(stand, ending) {
            return true;
        }
        let behind = stand.first.get(ending.last + 1);
        numbers(self.returns(ending) & !stand.obeyed).any(|number| {
            let Some(named) = self.hand.times(number) else {
                return passes & 1 << ending.last_pass == 0;
            };
            if self.hand.turns(1).any_counted & 1 << number == 0 {
                return named & passes == 0;
            }
            let arrived = u32::from(stand.parts.get(behind.saturating_sub(1)).arrived);
            let latest = arrived.saturating_add(coming.arrivals(own, ending));
            named & self::passes(arrived + 1, latest) == 0
        })
    }

    /// Whether an end repeat that has not led back comes to no pass from which it may.
    fn is_left_unmade(&self, end: u8, coming: &mut impl FnMut(Repeated, u8) -> Coming) -> bool {
        let Some(block) = self.shape.blocks.get(usize::from(end)) else {
            return false;
        };
        let own = self.shape.sections.get(usize::from(block.end)).copied();
        let section = 1_u16.checked_shl(block.end.into()).unwrap_or(0);
        let Some(own) = own.filter(|_| self.ready.outermost.sections & section != 0) else {
            return false;
        };
        let passes = coming(own, block.end).passes & !(1 << own.passes);
        let ending = 1_u32.checked_shl(block.over.into()).unwrap_or(0);
        let over = self.shape.endings.get(usize::from(block.over));
        let over = over
            .filter(|over| over.section == block.end && self.ready.outermost.endings & ending != 0);
        over.map_or(passes, |ending| passes & ending.passes) == 0
    }

    /// How often the returns can still lead back.
    fn comebacks(&self, stand: &Stand) -> Comebacks {
        let mut comebacks = Comebacks::default();
        for number in numbers(self.hand.jumps & !stand.spent) {
            let times = self.times_left(stand, number).count_ones();
            comebacks.add(times, self.hand.play_repeats & 1 << number != 0);
        }
        comebacks
    }

    /// The arrivals or passes at which a sign may still be obeyed; of one that names none any.
    pub(super) fn times_left(&self, stand: &Stand, number: u8) -> Times {
        let bit = 1 << number;
        let Some(named) = self.hand.times(number) else {
            return Times::from(stand.obeyed & bit == 0);
        };
        if stand.laid & bit == 0 {
            return named;
        }
        let part = stand.parts.get(stand.at.get(number).saturating_sub(1));
        let around = self.block(part).map_or(0, |block| block.around);
        if self.hand.turns(around).any_counted & bit == 0 {
            return named & !stand.used.get(number);
        }
        later(named, part.arrived)
    }
}
