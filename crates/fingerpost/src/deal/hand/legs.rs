//! Legs that begin at the first measure, block by block, as they are when no sign leads away from them.
//!
//! Such a leg hangs on the passes that the sections have reached and on what is said of repeats, and on nothing that lies inside the blocks. So it
//! is walked once for all roads over a shape, and what a road asks of it is looked up: the first of some visits to a block, what has been
//! played before one.

use super::road::Roads;
use super::shape::{Block, Shape, few};
use super::stand::{Counts, Few, Reached, below};
use super::vain::{Comebacks, Gone};
use crate::board::Repeats;

/// Visits of a leg by number, as bits.
pub(super) type Visits = u64;

/// Where a leg begins.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Start {
    /// The number of the passes reached.
    pub(super) reached: u32,
    /// What the return to which the leg belongs says of repeats.
    pub(super) repeats: Repeats,
}

/// A block as a leg comes to it.
#[derive(Clone, Copy)]
pub(super) struct Visit {
    pub(super) block: u8,
    /// The pass of the innermost section around it.
    pub(super) pass: u8,
    /// The number of the passes reached with it.
    pub(super) reached: u32,
    /// The blocks played before it, and those at whose ends an end repeat has led back, as bits.
    pub(super) played: u32,
    pub(super) made: u32,
}

/// All visits of a leg to one block.
#[derive(Clone, Copy, Default)]
pub(super) struct ToBlock {
    pub(super) all: Visits,
    /// Those on the last pass of a mark in it, and those behind which an end repeat leads back.
    pub(super) last: Visits,
    pub(super) back: Visits,
}

/// A leg from the first measure to the end of the board.
#[derive(Clone, Default)]
pub(super) struct Leg {
    pub(super) visits: Vec<Visit>,
    to_blocks: Vec<ToBlock>,
    /// For each visit how often each block has been come to before it.
    before: Vec<u8>,
    /// All blocks played, and all end repeats made.
    pub(super) played: u32,
    pub(super) made: u32,
    /// What is gone from its beginning on, when so few further returns follow, without and with one that has repeats played; and which of that
    /// is known, as bits.
    gone: [[Gone; 2]; FEW_COMEBACKS],
    known: [u16; 2],
}

/// Where more returns are to follow it is not asked how many.
const FEW_COMEBACKS: usize = 16;

/// The legs of one shape that have been walked.
#[derive(Default)]
pub(super) struct Legs {
    starts: Starts,
    /// The first so many are of this shape; those behind are kept for their room.
    all: Vec<Leg>,
    walked: u32,
}

/// Where the legs of a shape begin.
struct Starts {
    /// For each section all its passes but one.
    most: Reached,
    reached: Vec<Reached>,
    /// For each number of the passes reached the legs that begin there, with repeats played and skipped.
    legs: Vec<[Option<u32>; 2]>,
}

impl Leg {
    /// Begins a leg over so many blocks, in the room that there is.
    fn begin(&mut self, blocks: usize) {
        self.visits.clear();
        self.to_blocks.clear();
        self.to_blocks.resize(blocks, ToBlock::default());
        self.before.clear();
        self.before.resize(blocks, 0);
        (self.played, self.made, self.known) = (0, 0, [0; 2]);
    }

    /// How often it comes to a block before a visit.
    pub(super) fn before(&self, block: u8, visit: u8) -> u8 {
        let at = usize::from(visit) * self.to_blocks.len() + usize::from(block);
        self.before.get(at).copied().unwrap_or(0)
    }

    /// How often the road comes to a place in a block (`lone.rs`), when it goes to a place on a visit and no further.
    pub(super) fn arrivals(&self, (block, place): (u8, u8), (visit, to): (u8, u8)) -> u8 {
        let is_there = self.to_block(block).all & 1 << visit != 0 && place <= to;
        self.before(block, visit) + u8::from(is_there)
    }

    pub(super) fn to_block(&self, block: u8) -> ToBlock {
        let found = self.to_blocks.get(usize::from(block));
        found.copied().unwrap_or_default()
    }
}

impl Default for Starts {
    fn default() -> Starts {
        Starts {
            most: Few::new(),
            reached: Vec::new(),
            legs: Vec::new(),
        }
    }
}

impl Starts {
    /// The number of some passes reached.
    fn number(&mut self, reached: &Reached) -> u32 {
        // Behind all passes but one a section is entered as behind all of them.
        let reached = reached.at_most(&self.most);
        let known = self.reached.iter().zip(0..);
        if let Some((_, number)) = known.into_iter().find(|(it, _)| **it == reached) {
            return number;
        }
        let number = self.reached.len();
        self.reached.push(reached);
        self.legs.push([None; 2]);
        // cannot fail: so many legs are never walked.
        u32::try_from(number).unwrap_or(u32::MAX)
    }

    /// The leg that begins somewhere.
    fn leg(&mut self, start: Start) -> Option<&mut Option<u32>> {
        let which = match start.repeats {
            Repeats::Play => 0,
            Repeats::Skip => 1,
        };
        self.legs.get_mut(start.reached as usize)?.get_mut(which)
    }
}

impl Legs {
    /// Forgets the legs of another shape.
    pub(super) fn forget(&mut self, shape: &Shape) {
        self.walked = 0;
        self.starts.reached.clear();
        self.starts.legs.clear();
        self.starts.most = Few::new();
        for (own, section) in shape.sections.iter().zip(0..) {
            *self.starts.most.of(section) = own.passes - 1;
        }
    }

    /// A leg that has been walked.
    pub(super) fn get(&self, leg: u32) -> Option<&Leg> {
        self.all.get(leg as usize)
    }

    /// The number of some passes reached.
    pub(super) fn number(&mut self, reached: &Reached) -> u32 {
        self.starts.number(reached)
    }
}

/// Whether all legs over a shape are so short that their visits are told by bits.
pub(super) fn are_short(shape: &Shape) -> bool {
    let times = |around: u16| {
        let sections = shape.sections.iter().zip(0..);
        let around = sections.filter(|(_, number)| around & 1 << *number != 0);
        around.fold(1, |times: u32, (own, _)| {
            times.saturating_mul(own.passes.into())
        })
    };
    let visits = shape.blocks.iter().map(|block| times(block.around));
    visits.fold(0, u32::saturating_add) <= Visits::BITS
}

impl Roads<'_, '_> {
    /// The leg that begins somewhere.
    pub(super) fn leg_from(&mut self, start: Start) -> Option<u32> {
        if let Some(&mut Some(leg)) = self.ready.legs.starts.leg(start) {
            return Some(leg);
        }
        let mut legs = std::mem::take(&mut self.ready.legs);
        let leg = self.walk(start, &mut legs);
        self.ready.legs = legs;
        leg
    }

    /// What is gone from the beginning of a leg on.
    pub(super) fn gone_from(&mut self, start: Start, leg: u32, comebacks: Comebacks) -> Gone {
        let plays = usize::from(comebacks.with_repeats > 0);
        let further = comebacks.all as usize;
        let Some(found) = self.ready.legs.all.get(leg as usize) else {
            return Gone::default();
        };
        let Some(gone) = found.gone.get(further) else {
            return Gone::default();
        };
        if found.known[plays] & 1 << further != 0 {
            return gone[plays];
        }
        let reached = self.ready.legs.starts.reached.get(start.reached as usize);
        let gone = reached.map_or_else(Gone::default, |reached| {
            self.gone(reached, Some(start.repeats), comebacks)
        });
        if let Some(leg) = self.ready.legs.all.get_mut(leg as usize) {
            leg.gone[further][plays] = gone;
            leg.known[plays] |= 1 << further;
        }
        gone
    }

    /// Whether the one leg that there is without returns plays all blocks and makes all end repeats.
    pub(super) fn is_whole_in_one_leg(&self) -> bool {
        let mut counts = Counts::none();
        let (mut played, mut made, mut next) = (0, 0, 0);
        while let Some((at, block)) = self.go_on_to_block(&mut counts, next, None) {
            played |= 1_u32 << at;
            let back = self.goes_back(&mut counts, block.end);
            made |= u32::from(back.is_some()) << at;
            next = back.unwrap_or(at + 1);
        }
        played == below(few(self.shape.blocks.len())) && made == self.shape.ends
    }

    /// Goes on to a block, over the endings that are not played now, on a return with such repeats or on none; nothing beyond the board.
    fn go_on_to_block(
        &self,
        counts: &mut Counts,
        mut at: u8,
        returns: Option<Repeats>,
    ) -> Option<(u8, Block)> {
        loop {
            let block = self.shape.blocks.get(usize::from(at))?;
            self.come_to(counts, block, returns);
            match self.passed_over(counts, block) {
                Some(ending) => at = ending.last + 1,
                None => return Some((at, *block)),
            }
        }
    }

    /// Walks the leg that begins somewhere.
    fn walk(&self, start: Start, legs: &mut Legs) -> Option<u32> {
        let number = legs.walked;
        if legs.all.len() <= number as usize {
            legs.all.push(Leg::default());
        }
        let leg = legs.all.get_mut(number as usize)?;
        leg.begin(self.shape.blocks.len());
        let mut counts = Counts::none();
        counts.reached = *legs.starts.reached.get(start.reached as usize)?;
        let (mut known, mut reached) = (counts.reached, start.reached);
        let (mut next, repeats) = (0, Some(start.repeats));
        while let Some((at, block)) = self.go_on_to_block(&mut counts, next, repeats) {
            // cannot fail: the legs are short (`are_short`).
            let bit: Visits = 1_u64.checked_shl(few(leg.visits.len()).into())?;
            if known != counts.reached {
                known = counts.reached;
                reached = legs.starts.number(&known);
            }
            leg.visits.push(Visit {
                block: at,
                pass: counts.innermost(block.around),
                reached,
                played: leg.played,
                made: leg.made,
            });
            leg.played |= 1 << at;
            let before = leg.before.len();
            leg.before
                .extend_from_within(before - self.shape.blocks.len()..);
            if let Some(times) = leg.before.get_mut(before + usize::from(at)) {
                *times += 1;
            }
            let to_block = leg.to_blocks.get_mut(usize::from(at))?;
            to_block.all |= bit;
            if self.is_on_last_pass(&counts, &block) {
                to_block.last |= bit;
            }
            let back = self.goes_back(&mut counts, block.end);
            if back.is_some() {
                to_block.back |= bit;
                leg.made |= 1 << at;
            }
            next = back.unwrap_or(at + 1);
        }
        legs.walked += 1;
        *legs.starts.leg(start)? = Some(number);
        Some(number)
    }
}
