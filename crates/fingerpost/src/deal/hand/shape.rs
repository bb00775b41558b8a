//! The repeats and endings of a hand, laid on a board of their own in every way, and made ready to be walked.
//!
//! What is repeated, how often, and which ending is played when hangs on these signs alone, and on the returns that stand at the ends of
//! endings, where they take the place of an end repeat. A measure of such a board is a *block*: further barlines may come to lie inside it,
//! but nothing begins or ends there that has to do with repeats.

use super::numbered::Signs;
use super::order::Order;
use super::search::Ended;
use crate::board::{Repeats, Sign};
use crate::legality::judge::Judge;
use crate::roadmap::laid::Laid;
use crate::roadmap::sections::{Section, Sections};

/// No ending, no section.
pub(super) const NONE: u8 = u8::MAX;

/// What is amiss with repeats and endings, and is mended by nothing that is laid inside a block or at the end of one where no ending ends.
const OF_REPEATS: [&str; 9] = [
    "endings-overlap",
    "start-repeat-in-ending",
    "ending-past-section",
    "ending-gap",
    "ending-not-closed",
    "ending-pass-twice",
    "start-repeat-unclosed",
    "on-return-contradicts",
    "nesting-too-deep",
];

/// The number of a return at the end of an ending, and its barline.
pub(super) type Return = (usize, u16);
/// What is done with an order of repeats and endings, and with returns at the ends of endings.
type Then<'t> = &'t mut dyn FnMut(&Order, &[Return]) -> Ended;

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
    /// What the repeats and endings of an order make of its measures, with these returns at the ends of endings; `None` where no board
    /// with them can be legal, every measure played and every repeat made.
    pub(super) fn of(
        judge: &Judge<'_>,
        signs: &[Sign],
        order: &Order,
        returns: &[Return],
    ) -> Option<Shape> {
        let mut markings = order.markings(signs);
        let mut at_barlines = order.clone();
        at_barlines.spots = returns.iter().map(|&(_, at)| (at, at)).collect();
        let jumps: Vec<Sign> = returns
            .iter()
            .filter_map(|&(number, _)| signs.get(number).cloned())
            .collect();
        markings.extend(at_barlines.markings(&jumps));
        let (laid, sections) = judge.sections_with(&markings, &OF_REPEATS)?;
        let mut shape = Shape {
            blocks: Vec::with_capacity(usize::from(order.measures)),
            endings: Vec::with_capacity(laid.endings.len()),
            sections: sections.list.iter().zip(0..).map(repeated).collect(),
            ends: 0,
            returns: 0,
        };
        shape.lay_brackets(&laid, &sections);
        shape.lay_blocks(&laid, &sections, order.measures);
        for &(number, at) in returns {
            shape.returns |= 1 << number;
            if let Some(block) = shape.blocks.get_mut(usize::from(at) - 1) {
                block.returns |= 1 << number;
            }
        }
        shape.can_be_played().then_some(shape)
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

    /// Whether each ending is for some pass that there is, and each end repeat has a pass to lead back from.
    fn can_be_played(&self) -> bool {
        let is_played = |ending: &Bracket| ending.last_pass > 0;
        let leads_back = |block: &Block| {
            let Some(own) = self.sections.get(usize::from(block.end)) else {
                return true;
            };
            match self.endings.get(usize::from(block.over)) {
                Some(ending) if ending.section == block.end => {
                    ending.passes & ((1 << own.passes) - 1) != 0
                }
                _ => own.passes > 1,
            }
        };
        self.endings.iter().all(is_played) && self.blocks.iter().all(leads_back)
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

/// Lays the repeats and endings of a hand in every way, and the returns of the hand at the ends of endings or not there.
pub(super) fn each_shape(
    signs: &[Sign],
    shaping: usize,
    order: &Order,
    most: usize,
    then: Then<'_>,
) -> Ended {
    let number = order.spots.len();
    let is_return = |sign: &Sign| matches!(sign, Sign::DaCapo(_) | Sign::DalSegno(_));
    if number >= shaping {
        let ends = signs.iter().zip(&order.spots);
        let ends = ends.filter(|(sign, _)| matches!(sign, Sign::Ending(_)));
        let mut ends: Vec<u16> = ends.map(|(_, spot)| spot.1).collect();
        ends.sort_unstable();
        let returns: Vec<usize> = (shaping..signs.len())
            .filter(|&at| signs.get(at).is_some_and(is_return))
            .collect();
        return each_return(signs, &returns, &ends, &mut Vec::new(), &mut |returns| {
            then(order, returns)
        });
    }
    let Some(sign) = signs.get(number) else {
        return Ended::All;
    };
    let returns = signs.iter().any(is_return);
    let twin = number
        .checked_sub(1)
        .filter(|&at| signs.get(at) == Some(sign));
    for with in order.with(sign, u16::try_from(most).unwrap_or(u16::MAX)) {
        // Equal signs are laid from left to right, and not one on the other.
        let before = twin.and_then(|twin| with.spots.get(twin));
        if before.is_some() && before >= with.spots.last() || !fits(signs, &with, returns) {
            continue;
        }
        match each_shape(signs, shaping, &with, most, then) {
            Ended::All => {}
            ended => return ended,
        }
    }
    Ended::All
}

/// At each of the barlines one of the returns that are left, or none.
fn each_return(
    signs: &[Sign],
    left: &[usize],
    barlines: &[u16],
    laid: &mut Vec<Return>,
    then: &mut dyn FnMut(&[Return]) -> Ended,
) -> Ended {
    let Some((&barline, others)) = barlines.split_first() else {
        return then(laid);
    };
    match each_return(signs, left, others, laid, then) {
        Ended::All => {}
        ended => return ended,
    }
    for (at, &number) in left.iter().enumerate() {
        // Of equal ones the first goes first.
        let mut before = left.iter().take(at);
        if before.any(|&other| signs.get(other) == signs.get(number)) {
            continue;
        }
        let rest: Vec<usize> = left.iter().copied().filter(|&it| it != number).collect();
        laid.push((number, barline));
        let ended = each_return(signs, &rest, others, laid, then);
        laid.pop();
        if ended != Ended::All {
            return ended;
        }
    }
    Ended::All
}
