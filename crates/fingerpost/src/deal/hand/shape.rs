//! The repeats and endings of a hand, laid on a board of their own in every way, and made ready to be walked.
//!
//! What is repeated, how often, and which ending is played when hangs on these signs alone, and on the returns that stand at the ends of
//! endings, where they take the place of an end repeat. A measure of such a board is a *block*: further barlines may come to lie inside it,
//! but nothing begins or ends there that has to do with repeats.

use std::cell::Cell;

use super::numbered::Signs;
use super::order::Order;
use super::search::Ended;
use crate::board::{Marking, Place, Repeats, Sign};
use crate::legality::judge::Judge;
use crate::roadmap::laid::{EndingAt, Laid};
use crate::roadmap::sections::{Section, Sections};

/// No ending, no section.
pub(super) const NONE: u8 = u8::MAX;

/// What is amiss with repeats and endings, and is mended by nothing that is laid inside a block or at its end.
const OF_REPEATS: [&str; 8] = [
    "endings-overlap",
    "start-repeat-in-ending",
    "ending-past-section",
    "ending-gap",
    "ending-pass-twice",
    "start-repeat-unclosed",
    "on-return-contradicts",
    "nesting-too-deep",
];
/// What a return at the end of an ending mends.
const OF_RETURNS: [&str; 1] = ["ending-not-closed"];

/// The number of a return at the end of an ending, and its barline.
type Return = (usize, u16);

/// The repeats and endings of a board, by blocks.
#[derive(Clone, Debug)]
pub(super) struct Shape {
    pub(super) blocks: Vec<Block>,
    pub(super) endings: Vec<Bracket>,
    pub(super) sections: Vec<Repeated>,
    /// The blocks with an end repeat at their ends, as bits.
    pub(super) ends: u32,
    /// The returns at the ends of endings.
    pub(super) returns: Signs,
}

/// A measure on a board of repeats and endings alone.
#[derive(Clone, Copy, Debug)]
pub(super) struct Block {
    /// The sections that hold it, as bits; an outer one has a lower number.
    pub(super) around: u16,
    /// The ending over it, and the one that begins with it.
    pub(super) over: u8,
    pub(super) begins: u8,
    /// The section of the end repeat at its end.
    pub(super) end: u8,
    /// Whether an ending ends with it.
    pub(super) closes: bool,
    /// The returns at its end.
    pub(super) returns: Signs,
}

/// An ending, by blocks.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bracket {
    pub(super) section: u8,
    pub(super) last: u8,
    /// The passes on which it is played, as bits.
    pub(super) passes: u32,
    /// The last of them that its section has.
    pub(super) last_pass: u8,
}

/// A section, by blocks.
#[derive(Clone, Copy, Debug)]
pub(super) struct Repeated {
    pub(super) start: u8,
    pub(super) end: u8,
    pub(super) passes: u8,
    /// The sections inside it, as bits.
    pub(super) inner: u16,
    /// Whether its passes go on counting over returns.
    pub(super) jump_closed: bool,
    pub(super) on_return: Option<Repeats>,
    /// Whether only a return over it gives its endings a meaning.
    pub(super) is_alone: bool,
}

/// Whether a sign has a part in where the sections are, wherever it stands.
pub(super) fn shapes(sign: &Sign) -> bool {
    matches!(
        sign,
        Sign::EndRepeat(_) | Sign::StartRepeat | Sign::Ending(_)
    )
}

/// Whether the last sign of an order of repeats and endings may stand where it does, by where the others stand. `returns`: whether the hand
/// has any.
fn fits(signs: &[Sign], order: &Order, returns: bool) -> bool {
    let number = order.spots.len().saturating_sub(1);
    let (Some(sign), Some(&(from, to))) = (signs.get(number), order.spots.last()) else {
        return true;
    };
    let mut earlier = signs.iter().zip(&order.spots).take(number);
    match sign {
        // Two at one barline are one, and the second of them never leads back.
        Sign::EndRepeat(_) => {
            earlier.all(|(other, spot)| !matches!(other, Sign::EndRepeat(_)) || spot.0 != from)
        }
        // An end repeat must close it, unless a return in an ending does.
        Sign::StartRepeat => {
            let has_endings = || signs.iter().any(|it| matches!(it, Sign::Ending(_)));
            returns && has_endings()
                || earlier.any(|(other, spot)| matches!(other, Sign::EndRepeat(_)) && spot.0 > from)
        }
        Sign::Ending(_) => earlier.all(|(other, spot)| match other {
            Sign::Ending(_) => spot.1 <= from || to <= spot.0,
            Sign::StartRepeat => spot.0 < from || to <= spot.0,
            Sign::EndRepeat(_) => spot.0 <= from || to <= spot.0,
            _ => true,
        }),
        _ => true,
    }
}

impl Shape {
    /// What the signs laid on so many blocks make of them.
    fn of(laid: &Laid, sections: &Sections, blocks: u16) -> Shape {
        let mut shape = Shape {
            blocks: Vec::with_capacity(usize::from(blocks)),
            endings: Vec::with_capacity(laid.endings.len()),
            sections: sections.list.iter().zip(0..).map(repeated).collect(),
            ends: 0,
            returns: 0,
        };
        shape.lay_brackets(laid, sections);
        shape.lay_blocks(laid, sections, blocks);
        shape
    }

    /// The same with returns noted at the ends of endings.
    fn with_returns(mut self, returns: &[Return]) -> Shape {
        for &(number, at) in returns {
            self.returns |= 1 << number;
            if let Some(block) = self.blocks.get_mut(usize::from(at) - 1) {
                block.returns |= 1 << number;
            }
        }
        self
    }

    fn lay_brackets(&mut self, laid: &Laid, sections: &Sections) {
        for (at, ending) in laid.endings.iter().enumerate() {
            let owns = |own: &&Section| own.endings.iter().any(|&own| own as usize == at);
            let (number, passes) = sections
                .list
                .iter()
                .enumerate()
                .find(|(_, own)| owns(own))
                .map_or((NONE, 1), |(number, own)| (few(number), own.passes));
            self.endings.push(Bracket {
                section: number,
                last: few(ending.last as usize),
                passes: ending.passes.iter().fold(0, |bits, pass| bits | 1 << pass),
                last_pass: few(ending.passes.highest_up_to(passes).unwrap_or(0) as usize),
            });
        }
    }

    fn lay_blocks(&mut self, laid: &Laid, sections: &Sections, blocks: u16) {
        for at in 0..u32::from(blocks) {
            let holds = |own: &Repeated| u32::from(own.start) <= at && at <= u32::from(own.end);
            let around = self.sections.iter().enumerate();
            let around = around.filter(|(_, own)| holds(own));
            let around = around.fold(0, |bits, (number, _)| bits | 1 << number);
            let number = |found: Option<usize>| found.map_or(NONE, few);
            let mut endings = laid.endings.iter();
            let over = endings.position(|it| it.first <= at && at <= it.last);
            let begins = laid.endings.iter().position(|it| it.first == at);
            let end = laid.end_at(at).and_then(|end| {
                let mut all = sections.list.iter();
                all.position(|own| own.ends.iter().any(|&own| own as usize == end))
            });
            self.ends |= u32::from(end.is_some()) << at;
            self.blocks.push(Block {
                around,
                over: number(over),
                begins: number(begins),
                end: number(end),
                closes: laid.endings.iter().any(|it| it.last == at),
                returns: 0,
            });
        }
    }

    /// Whether each end repeat has a pass to lead back from. No return changes that.
    fn leads_back(&self) -> bool {
        self.blocks.iter().all(|block| {
            let Some(own) = self.sections.get(usize::from(block.end)) else {
                return true;
            };
            match self.endings.get(usize::from(block.over)) {
                Some(ending) if ending.section == block.end => {
                    ending.passes & ((1 << own.passes) - 1) != 0
                }
                _ => own.passes > 1,
            }
        })
    }

    /// Whether each ending is for some pass that there is.
    fn plays_endings(&self) -> bool {
        self.endings.iter().all(|ending| ending.last_pass > 0)
    }
}

fn repeated((own, number): (&Section, u32)) -> Repeated {
    Repeated {
        start: few(own.start as usize),
        end: few(own.end as usize),
        passes: few(own.passes as usize),
        inner: (number + 1..own.after_inner).fold(0, |bits, inner| bits | 1 << inner),
        jump_closed: own.jump_closed,
        on_return: own.on_return,
        is_alone: own.ends.is_empty() && !own.jump_closed && own.closing.len() < 2,
    }
}

/// A number that is known to be small.
fn few(number: usize) -> u8 {
    u8::try_from(number).unwrap_or(NONE)
}

/// What closes an ending.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Closed {
    /// An end repeat that always leads back, so that no return there is ever obeyed.
    ByRepeat,
    /// Nothing so far, and something must.
    ByReturn,
    /// Nothing need, or an end repeat that does not always lead back.
    Freely,
}

/// What closes one of the endings laid.
fn closed_by(laid: &Laid, sections: &Sections, at: &EndingAt, bracket: Bracket) -> Closed {
    let Some(own) = sections.get(u32::from(bracket.section)) else {
        return Closed::Freely;
    };
    if laid.end_at(at.last).is_some() {
        return if u32::from(bracket.last_pass) < own.passes {
            Closed::ByRepeat
        } else {
            Closed::Freely
        };
    }
    let mut group = own.closing.clone();
    let is_in_group = group.any(|number| {
        let ending = laid.ending(&own.endings, number);
        ending.is_some_and(|ending| ending.marking == at.marking)
    });
    if is_in_group && own.closing.len() > 1 && at.passes.lowest() < own.passes {
        Closed::ByReturn
    } else {
        Closed::Freely
    }
}

/// The repeats and endings of a hand laid in every way, and the returns of the hand at the ends of endings or not there.
pub(super) struct Shapes<'h> {
    pub(super) signs: &'h [Sign],
    /// How many signs are repeats and endings; they come first.
    pub(super) shaping: usize,
    /// The returns of the hand, by number.
    pub(super) returns: Vec<usize>,
    /// The rules, for boards of 1 measure, 2 measures …
    pub(super) judges: &'h [Judge<'h>],
    /// How many orders may still be looked at.
    pub(super) left: &'h Cell<u64>,
    /// What is done with each shape.
    pub(super) then: &'h mut dyn FnMut(&Order, &Shape) -> Ended,
}

impl Shapes<'_> {
    /// Lays the next sign in every way, and those after it.
    pub(super) fn lay(&mut self, order: &Order) -> Ended {
        let number = order.spots.len();
        if number >= self.shaping {
            return self.laid(order);
        }
        let Some(sign) = self.signs.get(number) else {
            return Ended::All;
        };
        let most = u16::try_from(self.judges.len()).unwrap_or(u16::MAX);
        let twin = number.checked_sub(1);
        let twin = twin.filter(|&at| self.signs.get(at) == Some(sign));
        for with in order.with(sign, most) {
            let Some(left) = self.left.get().checked_sub(1) else {
                return Ended::TooMany;
            };
            self.left.set(left);
            // Equal signs are laid from left to right, and not one on the other.
            let before = twin.and_then(|twin| with.spots.get(twin));
            let is_out_of_turn = before.is_some() && before >= with.spots.last();
            if is_out_of_turn || !fits(self.signs, &with, !self.returns.is_empty()) {
                continue;
            }
            match self.lay(&with) {
                Ended::All => {}
                ended => return ended,
            }
        }
        Ended::All
    }

    /// All repeats and endings are laid.
    fn laid(&mut self, order: &Order) -> Ended {
        let judge = self.judges.get(usize::from(order.measures) - 1);
        let markings = order.markings(self.signs);
        let made = judge.and_then(|judge| judge.sections_with(&markings, &OF_REPEATS));
        let Some((laid, sections)) = made else {
            return Ended::All;
        };
        let shape = Shape::of(&laid, &sections, order.measures);
        if !shape.leads_back() {
            return Ended::All;
        }
        let ends = laid.endings.iter().zip(&shape.endings);
        let ends = ends.map(|(at, bracket)| {
            let last = u16::from(bracket.last) + 1;
            (last, closed_by(&laid, &sections, at, *bracket))
        });
        let ends: Vec<(u16, Closed)> = ends.collect();
        let may_stay = ends.iter().all(|&(_, by)| by != Closed::ByReturn);
        if may_stay && shape.plays_endings() {
            match (self.then)(order, &shape) {
                Ended::All => {}
                ended => return ended,
            }
        }
        let returns = self.returns.clone();
        self.lay_returns(order, &returns, &ends, &mut Vec::new())
    }

    /// At the end of each ending one of the returns that are left, or none, as it must be closed.
    fn lay_returns(
        &mut self,
        order: &Order,
        left: &[usize],
        ends: &[(u16, Closed)],
        laid: &mut Vec<Return>,
    ) -> Ended {
        let must = ends.iter().filter(|&(_, by)| *by == Closed::ByReturn);
        if must.count() > left.len() {
            return Ended::All;
        }
        let Some((&(barline, by), others)) = ends.split_first() else {
            return self.returned(order, laid);
        };
        if by != Closed::ByReturn {
            match self.lay_returns(order, left, others, laid) {
                Ended::All => {}
                ended => return ended,
            }
        }
        if by == Closed::ByRepeat {
            return Ended::All;
        }
        for (at, &number) in left.iter().enumerate() {
            // Of equal ones the first goes first.
            let mut before = left.iter().take(at);
            if before.any(|&other| self.signs.get(other) == self.signs.get(number)) {
                continue;
            }
            let rest: Vec<usize> = left.iter().copied().filter(|&it| it != number).collect();
            laid.push((number, barline));
            let ended = self.lay_returns(order, &rest, others, laid);
            laid.pop();
            if ended != Ended::All {
                return ended;
            }
        }
        Ended::All
    }

    /// Some returns are laid at the ends of endings, where they may change how often a section is played.
    fn returned(&mut self, order: &Order, returns: &[Return]) -> Ended {
        if returns.is_empty() {
            return Ended::All;
        }
        let mut markings = order.markings(self.signs);
        markings.reserve(returns.len());
        markings.extend(returns.iter().filter_map(|&(number, at)| {
            let sign = self.signs.get(number)?.clone();
            Some(Marking::new(sign, Place::at(at)))
        }));
        let judge = self.judges.get(usize::from(order.measures) - 1);
        let made = judge.and_then(|judge| judge.sections_with(&markings, &OF_RETURNS));
        let Some((laid, sections)) = made else {
            return Ended::All;
        };
        let shape = Shape::of(&laid, &sections, order.measures).with_returns(returns);
        if shape.plays_endings() {
            (self.then)(order, &shape)
        } else {
            Ended::All
        }
    }
}
