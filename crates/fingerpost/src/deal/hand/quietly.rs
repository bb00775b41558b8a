//! What is played while no sign can be obeyed, in one go.

use super::numbered::{Signs, numbers};
use super::road::{Next, Roads};
use super::shape::{Block, Shape, few};
use super::stand::{Stand, below, between};

/// What a pass of a section is like, by blocks, as bits.
#[derive(Clone, Copy, Default)]
struct OnPass {
    /// The blocks of endings that are not for it.
    passed: u32,
    /// The blocks of endings whose last pass it is.
    last: u32,
    /// The end repeats that lead back from it.
    ends: u32,
}

/// All passes of the sections of a shape.
#[derive(Default)]
pub(super) struct OnPasses {
    /// For each section so many of them, from 0.
    all: Vec<OnPass>,
    each: usize,
    /// The blocks inside sections, as bits.
    inside: u32,
}

/// The blocks in which signs may be obeyed, as bits: those that name their times, and the others; and in the block from which it is asked
/// those that lie behind.
#[derive(Clone, Copy, Default)]
pub(super) struct Marks {
    timed: u32,
    plain: u32,
    timed_behind: u32,
    plain_behind: u32,
}

/// The marks from the beginning of any block on, for signs that act on their last pass. As long as the road is not led on by a
/// sign, nothing of that changes.
pub(super) type Known = Option<(Signs, Marks)>;

/// How the road goes on when it has come on quietly.
pub(super) struct Quietly {
    pub(super) next: Next,
    /// Whether a sign may be obeyed there.
    pub(super) is_mark: bool,
}

impl OnPasses {
    /// Looks at all passes of another shape.
    pub(super) fn make(&mut self, shape: &Shape) {
        let most = shape.sections.iter().map(|own| own.passes).max();
        let each = usize::from(most.unwrap_or(0)) + 1;
        let all = &mut self.all;
        all.clear();
        all.resize(each * shape.sections.len(), OnPass::default());
        for ((own, section), passes) in shape.sections.iter().zip(0..).zip(all.chunks_mut(each)) {
            let endings = shape.endings.iter().filter(|it| it.section == section);
            for (on, pass) in passes.iter_mut().zip(0..) {
                for ending in endings.clone() {
                    let blocks = between(ending.first, ending.last + 1);
                    if ending.passes & 1 << pass == 0 {
                        on.passed |= blocks;
                    }
                    if ending.last_pass == pass {
                        on.last |= blocks;
                    }
                }
                if pass < own.passes {
                    let ends = shape.blocks.iter().zip(0..);
                    let ends = ends.filter(|(block, _)| block.end == section);
                    let ends = ends.fold(0, |bits: u32, (_, at)| bits | 1 << at);
                    on.ends = ends & !on.passed;
                }
            }
        }
        let inside = shape.blocks.iter().zip(0..);
        let inside = inside.filter(|(block, _)| block.around != 0);
        self.inside = inside.fold(0, |bits, (_, at)| bits | 1 << at);
        self.each = each;
    }

    fn get(&self, section: u8, pass: u8) -> OnPass {
        let at = usize::from(section) * self.each + usize::from(pass);
        self.all.get(at).copied().unwrap_or_default()
    }
}

impl Roads<'_, '_> {
    /// Plays in one go what follows from a part on, as long as nothing can be obeyed there: where the road goes then, when it has come on.
    pub(super) fn pass_quietly(
        &self,
        stand: &mut Stand,
        part: u8,
        block: &Block,
        known: &mut Known,
    ) -> Option<Quietly> {
        let unlaid = self.hand.loose & !stand.laid;
        let live = self.plain(stand, block);
        let is_anywhere = live & unlaid != 0;
        let Some(section) = numbers(block.around).last() else {
            return if is_anywhere {
                None
            } else {
                self.pass_outside(stand, part, live, known)
            };
        };
        let own = *self.shape.sections.get(usize::from(section))?;
        if own.inner != 0 || is_anywhere && stand.counts.pass.get(section) >= own.passes {
            return None;
        }
        let mut from = part;
        let mut at = stand.parts.get(part).block;
        let mut marks = self.marks(stand, part, live, known);
        if is_anywhere {
            marks.plain = u32::MAX;
        }
        let mut next = None;
        loop {
            let pass = stand.counts.pass.get(section);
            let on = self.ready.on_passes.get(section, pass);
            let mut stops = marks.timed;
            stops |= if pass < own.passes {
                marks.plain & on.last
            } else {
                marks.plain
            };
            let ahead = !on.passed & !below(at);
            let stop = first_of(stops & ahead | 1 << (own.end + 1));
            let back = Some(first_of(on.ends & ahead)).filter(|&back| back < stop);
            let to = back.map_or(stop, |back| back + 1);
            let blocks = between(at, to) & !on.passed;
            play_blocks(stand, from, blocks);
            let Some(end) = back else {
                let next = if stop > at {
                    Some(Next::On(stand.first.get(stop)))
                } else {
                    next
                };
                return next.map(|next| Quietly {
                    next,
                    is_mark: stop <= own.end,
                });
            };
            stand.made |= 1 << end;
            stand.counts.reach(section, pass + 1);
            at = own.start;
            from = stand.first.get(at);
            marks.timed |= marks.timed_behind;
            marks.plain |= marks.plain_behind;
            next = Some(Next::Back(from));
        }
    }

    /// The blocks in which a sign that is laid may be obeyed from a part on; `live`: the signs that act on their last pass.
    fn marks(&self, stand: &Stand, part: u8, live: Signs, known: &mut Known) -> Marks {
        let here = stand.parts.get(part).block;
        let begins = stand.first.get(here) == part;
        match known {
            Some((of, marks)) if begins && *of == live => return *marks,
            _ => {}
        }
        let mut marks = Marks::default();
        let laid = stand.laid & self.hand.leaving & !stand.spent;
        for number in numbers(laid & (live | self.hand.with_times)) {
            let before = stand.at.get(number).saturating_sub(1);
            let block = stand.parts.get(before).block;
            let is_behind = block == here && before < part;
            let is_timed = self.hand.with_times & 1 << number != 0;
            let blocks = match (is_timed, is_behind) {
                (true, false) => &mut marks.timed,
                (true, true) => &mut marks.timed_behind,
                (false, false) => &mut marks.plain,
                (false, true) => &mut marks.plain_behind,
            };
            *blocks |= 1 << block;
        }
        if begins {
            *known = Some((live, marks));
        }
        marks
    }

    /// Plays in one go what follows outside all sections, as far as no sign stands there.
    fn pass_outside(
        &self,
        stand: &mut Stand,
        part: u8,
        live: Signs,
        known: &mut Known,
    ) -> Option<Quietly> {
        let marks = self.marks(stand, part, live, known);
        let here = stand.parts.get(part).block;
        let marks = marks.timed | marks.plain;
        let stops = (marks | self.ready.on_passes.inside) & !below(here);
        let blocks = few(self.shape.blocks.len());
        let block = first_of(stops | 1 << blocks);
        let stop = stand.first.get(block);
        if stop <= part {
            return None;
        }
        stand.played |= between(part, stop);
        Some(Quietly {
            next: Next::On(stop),
            is_mark: marks & 1 << block != 0,
        })
    }
}

/// The number of the first bit that is set; 32 without one.
fn first_of(bits: u32) -> u8 {
    let [first, ..] = bits.trailing_zeros().to_le_bytes();
    first
}

/// Plays blocks, the first from a part on.
fn play_blocks(stand: &mut Stand, from: u8, blocks: u32) {
    for block in numbers(blocks) {
        let first = stand.first.get(block).max(from);
        stand.played |= between(first, stand.first.get(block + 1));
    }
}
