//! Roads of no use, known as such when a return leads back: a measure that is in an ending and is played no more, an end repeat that leads
//! back no more, or a return at the end of an ending that is obeyed no more.
//!
//! The passes of a section that no other section holds, and that no return begins anew, only rise. So an ending that is not for the last of
//! them is played once on each of its passes at most, and not again when these are past; and without an end repeat each further pass needs a
//! return that is still to be obeyed.

use super::numbered::{Signs, Times, numbers};
use super::road::Roads;
use super::shape::{Bracket, Repeated, Shape};
use super::stand::{Stand, between};
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
struct Coming {
    /// The passes on which it may still be played.
    passes: Passes,
    /// How often it may be begun anew.
    anew: u32,
    /// How often its measures may be come to at most, if no end repeat leads back.
    legs: u32,
}

/// How often returns can still lead back, all together and those that have repeats played.
#[derive(Clone, Copy)]
struct Comebacks {
    all: u32,
    with_repeats: u32,
}

impl Coming {
    /// How often the end of an ending may still be come to at most.
    fn arrivals(&self, own: &Repeated, ending: &Bracket) -> u32 {
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
        let unmade = self.shape.ends & !stand.made;
        let unobeyed = self.shape.returns & !stand.obeyed;
        if unmade == 0 && unobeyed == 0 && stand.played == between(0, stand.length) {
            return false;
        }
        let mut comebacks = None;
        let mut sections = self.shape.sections.iter().zip(0..);
        sections.any(|(own, section)| {
            if self.outermost.sections & 1 << section == 0 {
                return false;
            }
            let unmade = unmade & between(own.start, own.end + 1);
            let endings = self.shape.endings.iter().zip(0..);
            let endings = endings.filter(|&(ending, number)| {
                ending.section == section
                    && self.outermost.endings & 1 << number != 0
                    && (self.is_unplayed(stand, ending) || self.returns(ending) & unobeyed != 0)
            });
            let mut endings = endings.map(|(ending, _)| ending).peekable();
            if unmade == 0 && endings.peek().is_none() {
                return false;
            }
            let comebacks = *comebacks.get_or_insert_with(|| self.comebacks(stand));
            let coming = self.coming(stand, section, own, comebacks);
            endings.any(|ending| self.is_left_out(stand, own, ending, &coming))
                || self.is_left_unmade(unmade, section, own, &coming)
        })
    }

    /// Whether some of an ending has not been played.
    fn is_unplayed(&self, stand: &Stand, ending: &Bracket) -> bool {
        let from = stand.first.get(ending.first);
        between(from, stand.first.get(ending.last + 1)) & !stand.played != 0
    }

    /// The returns at the end of an ending.
    fn returns(&self, ending: &Bracket) -> Signs {
        let block = self.shape.blocks.get(usize::from(ending.last));
        block.map_or(0, |block| block.returns)
    }

    /// What may come of a section from now on.
    fn coming(&self, stand: &Stand, section: u8, own: &Repeated, comebacks: Comebacks) -> Coming {
        let last = u32::from(own.passes);
        let next = (u32::from(stand.counts.reached.get(section)) + 1).min(last);
        let has_ends = self.shape.ends & between(own.start, own.end + 1) != 0;
        let further = if has_ends { last } else { comebacks.all };
        let armed = |repeats| stand.returns == Some(repeats);
        let anew = match own.on_return {
            _ if own.jump_closed => 0,
            Some(Repeats::Skip) => 0,
            Some(Repeats::Play) => comebacks.all + u32::from(stand.returns.is_some()),
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
    fn is_left_out(
        &self,
        stand: &Stand,
        own: &Repeated,
        ending: &Bracket,
        coming: &Coming,
    ) -> bool {
        let passes = ending.passes & coming.passes;
        if passes == 0 && self.is_unplayed(stand, ending) {
            return true;
        }
        let behind = stand.first.get(ending.last + 1);
        numbers(self.returns(ending) & !stand.obeyed).any(|number| {
            let Some(named) = self.hand.times(number) else {
                return passes & 1 << ending.last_pass == 0;
            };
            let named = u32::from(named);
            if self.hand.turns(1).any_counted & 1 << number == 0 {
                return named & passes == 0;
            }
            let arrived = u32::from(stand.parts.get(behind.saturating_sub(1)).arrived);
            let latest = arrived.saturating_add(coming.arrivals(own, ending));
            named & self::passes(arrived + 1, latest) == 0
        })
    }

    /// Whether an end repeat of a section, one of these that have not led back, comes to no pass from which it may.
    fn is_left_unmade(&self, unmade: u32, section: u8, own: &Repeated, coming: &Coming) -> bool {
        numbers(unmade).any(|end| {
            let block = self.shape.blocks.get(usize::from(end));
            let Some(block) = block.filter(|block| block.end == section) else {
                return false;
            };
            let passes = coming.passes & !(1 << own.passes);
            let is_alone =
                |over: u8| self.outermost.endings.checked_shr(over.into()).unwrap_or(0) & 1 != 0;
            let over = self.shape.endings.get(usize::from(block.over));
            let over = over.filter(|ending| ending.section == section && is_alone(block.over));
            over.map_or(passes, |ending| passes & ending.passes) == 0
        })
    }

    /// How often the returns can still lead back.
    fn comebacks(&self, stand: &Stand) -> Comebacks {
        let mut comebacks = Comebacks {
            all: 0,
            with_repeats: 0,
        };
        for number in numbers(self.hand.jumps & !stand.spent) {
            let times = self.times_left(stand, number).count_ones();
            comebacks.all += times;
            if self.hand.play_repeats & 1 << number != 0 {
                comebacks.with_repeats += times;
            }
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
        let past = Times::MAX.checked_shl(u32::from(part.arrived) + 1);
        named & past.unwrap_or(0)
    }
}
