//! Which signs are obeyed where the road comes, if they stand there; and what is played while none can be.

use super::numbered::{Signs, numbers};
use super::road::{Next, Roads};
use super::shape::Block;
use super::stand::{Stand, below, between};
use crate::board::Repeats;

impl Roads<'_, '_> {
    /// The signs that are obeyed at the end of a part, and at barlines inside it, if they stand there now that the road comes there.
    pub(super) fn acting(&self, stand: &Stand, part: u8, block: Block) -> Signs {
        let here = stand.parts.get(part);
        // All others stand elsewhere.
        let asked = here.at_end | self.hand.loose & !stand.laid;
        if asked == 0 {
            return 0;
        }
        let turns = self.hand.turns(block.around);
        let [_, _, listed, _] = turns.others;
        let listed = listed & asked;
        let counted = turns.any_counted & asked;
        let mut acting = 0;
        if counted != 0 {
            acting |= self.hand.named(counted, here.arrived_next());
        }
        if listed != 0 {
            let pass = stand.counts.innermost(block.around);
            let is_new = |number: &u8| stand.used.get(*number) & 1 << pass == 0;
            let named = numbers(self.hand.named(listed, pass));
            acting |= named
                .filter(is_new)
                .fold(0, |all, number| all | 1 << number);
        }
        let plain = self.plain(stand, block) & asked;
        if plain != 0 && self.is_on_last_pass(stand, block) {
            acting |= plain;
        }
        acting
    }

    /// The signs that are obeyed on their last pass, if they stand there.
    fn plain(&self, stand: &Stand, block: Block) -> Signs {
        let [fines, to_codas, _, jumps] = self.hand.turns(block.around).others;
        let armed = if stand.fine_is_armed { fines } else { 0 };
        let meant = match self.hand.jumps {
            // On a board without any jump a To Coda in a section is obeyed on its last pass.
            0 if block.around != 0 => to_codas,
            _ => stand.meant & to_codas,
        };
        armed | meant | jumps & !stand.obeyed
    }

    /// Plays in one go what follows from a part on, as long as nothing can be obeyed there: where the road goes then, when it has come on.
    pub(super) fn pass_quietly(
        &self,
        stand: &mut Stand,
        mut part: u8,
        block: Block,
    ) -> Option<Next> {
        let unlaid = self.hand.loose & !stand.laid;
        if unlaid & self.hand.with_times != 0 || stand.until.is_some() {
            return None;
        }
        let section = numbers(block.around).last();
        let Some(section) = section else {
            return self.pass_outside(stand, part, unlaid);
        };
        let own = self.shape.sections.get(usize::from(section))?;
        if own.inner != 0 {
            return None;
        }
        let behind = stand.first.get(own.end + 1);
        let inside = between(stand.first.get(own.start), behind);
        // Where a sign stands that names its times, the road is followed step by step; the others act on their last pass.
        let (mut asked, mut stops) = (unlaid, 0);
        for (number, part) in self.standing(stand) {
            let (bit, at) = (1 << number, 1 << part);
            if self.hand.with_times & bit != 0 {
                stops |= at & inside;
            } else if at & inside != 0 {
                asked |= bit;
            }
        }
        let acts = self.plain(stand, block) & asked != 0;
        let ends = self.shape.ends & between(own.start, own.end + 1);
        let mut next = None;
        loop {
            let pass = stand.counts.pass.get(section);
            if acts && pass >= own.passes {
                return next;
            }
            let mut stop = behind;
            let mut passed = 0;
            for ending in &self.shape.endings {
                if ending.section != section {
                    continue;
                }
                let first = stand.first.get(ending.first);
                if ending.passes & 1 << pass == 0 {
                    passed |= between(first, stand.first.get(ending.last + 1));
                } else if acts && ending.last_pass == pass {
                    stop = stop.min(first.max(part));
                }
            }
            if let Some(first) = numbers(stops & !passed & !below(part)).next() {
                stop = stop.min(first);
            }
            let mut with_parts = numbers(ends).map(|end| (end, stand.first.get(end + 1) - 1));
            let end = with_parts
                .find(|&(_, last)| last >= part && passed & 1 << last == 0 && pass < own.passes);
            let Some((end, last)) = end.filter(|&(_, last)| last < stop) else {
                stand.played |= between(part, stop) & !passed;
                return if stop > part {
                    Some(Next::On(stop))
                } else {
                    next
                };
            };
            stand.played |= between(part, last + 1) & !passed;
            stand.made |= 1 << end;
            stand.counts.reach(section, pass + 1);
            part = stand.first.get(own.start);
            next = Some(Next::Back(part));
        }
    }

    /// The leaving signs laid that may still be obeyed, and the parts at whose ends they stand.
    fn standing(&self, stand: &Stand) -> impl Iterator<Item = (u8, u8)> {
        let laid = numbers(stand.laid & self.hand.leaving & !stand.spent);
        laid.map(|number| (number, stand.at.get(number).saturating_sub(1)))
    }

    /// Plays in one go what follows outside all sections, as far as no sign stands there.
    fn pass_outside(&self, stand: &mut Stand, part: u8, unlaid: Signs) -> Option<Next> {
        let here = stand.parts.get(part).block;
        let block = self.shape.blocks.get(usize::from(here))?;
        if self.plain(stand, *block) & unlaid != 0 {
            return None;
        }
        let blocks = self.shape.blocks.iter().zip(0..);
        let mut behind = blocks
            .skip(usize::from(here))
            .skip_while(|(block, _)| block.around == 0);
        let behind = behind
            .next()
            .map_or(stand.length, |(_, block)| stand.first.get(block));
        let parts = self.standing(stand).map(|(_, part)| part);
        let stop = parts.filter(|&it| it >= part).fold(behind, u8::min);
        stand.played |= between(part, stop);
        (stop > part).then_some(Next::On(stop))
    }

    /// Whether every section around a block is on the last pass of a mark in it (rulebook 3.9).
    fn is_on_last_pass(&self, stand: &Stand, block: Block) -> bool {
        let over = self.shape.endings.get(usize::from(block.over));
        numbers(block.around).all(|number| {
            let last = match over {
                Some(ending) if ending.section == number => ending.last_pass,
                _ => self.passes(number),
            };
            stand.counts.pass.get(number) == last
        })
    }

    fn passes(&self, section: u8) -> u8 {
        let own = self.shape.sections.get(usize::from(section));
        own.map_or(1, |own| own.passes)
    }

    /// Whether the rest of a part is never played when a jump stands inside it: in an ending on its last pass, which its section does not
    /// come to again.
    pub(super) fn is_lost_behind_jump(&self, stand: &Stand, part: u8) -> bool {
        let is_played = stand.played & 1 << part != 0;
        let block = self.block(stand.parts.get(part));
        let over = block.and_then(|it| self.shape.endings.get(usize::from(it.over)));
        let (Some(block), Some(over)) = (block, over) else {
            return false;
        };
        let Some(own) = self.shape.sections.get(usize::from(over.section)) else {
            return false;
        };
        // A section around it would begin it anew, and so would a return with repeats.
        let is_outermost = block.around == 1 << over.section;
        let goes_on = own.jump_closed
            || match own.on_return {
                Some(repeats) => repeats == Repeats::Skip,
                None => self.hand.play_repeats == 0,
            };
        !is_played && is_outermost && goes_on && over.last_pass < own.passes
    }
}
