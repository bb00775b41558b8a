//! Which signs are obeyed where the road comes, if they stand there, and where they may not stand.

use super::numbered::{Signs, numbers};
use super::road::Roads;
use super::shape::Block;
use super::stand::{Counts, Stand};
use crate::board::Repeats;

impl Roads<'_, '_> {
    /// The signs that are obeyed at the end of a part, and at barlines inside it, if they stand there now that the road comes there.
    pub(super) fn acting(&self, stand: &Stand, part: u8, block: &Block) -> Signs {
        let here = stand.parts.get(part);
        // All others stand elsewhere, or are obeyed no more.
        let asked = here.at_end & !stand.spent | self.hand.loose & !stand.laid;
        let timed = asked & self.hand.with_times;
        let mut acting = 0;
        if timed != 0 {
            let turns = self.hand.turns(block.around);
            let [_, _, listed, _] = turns.others;
            acting |= self
                .hand
                .named(timed & turns.any_counted, here.arrived_next());
            if timed & listed != 0 {
                let pass = stand.counts.innermost(block.around);
                let is_new = |number: &u8| stand.used.get(*number) & 1 << pass == 0;
                let named = numbers(self.hand.named(timed & listed, pass));
                acting |= named
                    .filter(is_new)
                    .fold(0, |all, number| all | 1 << number);
            }
        }
        if asked != timed {
            let plain = self.plain(stand, block) & asked;
            if plain != 0 && self.is_on_last_pass(&stand.counts, block) {
                acting |= plain;
            }
        }
        acting
    }

    /// The signs that are obeyed on their last pass, if they stand there.
    pub(super) fn plain(&self, stand: &Stand, block: &Block) -> Signs {
        let [fines, to_codas, _, jumps] = self.hand.turns(block.around).others;
        let armed = if stand.fine_is_armed { fines } else { 0 };
        let meant = match self.hand.jumps {
            // On a board without any jump a To Coda in a section is obeyed on its last pass.
            0 if block.around != 0 => to_codas,
            _ => stand.meant & to_codas,
        };
        armed | meant | jumps & !stand.obeyed
    }

    /// Whether a jump may stand at the end of a part with those that stand there. At the ends of endings they stand already.
    pub(super) fn takes_jump(&self, stand: &Stand, part: u8, number: u8) -> bool {
        let here = stand.parts.get(part);
        let is_last = stand.first.get(here.block + 1) == part + 1;
        let Some(block) = self.block(here).filter(|it| !(is_last && it.closes)) else {
            return false;
        };
        let jumps = here.at_end & self.hand.jumps;
        self.hand.is_apart(number, jumps, block.around)
    }

    /// Whether every section around a block is on the last pass of a mark in it (rulebook 3.9).
    pub(super) fn is_on_last_pass(&self, counts: &Counts, block: &Block) -> bool {
        let over = self.shape.endings.get(usize::from(block.over));
        numbers(block.around).all(|number| {
            let last = match over {
                Some(ending) if ending.section == number => ending.last_pass,
                _ => self.passes(number),
            };
            counts.pass.get(number) == last
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
