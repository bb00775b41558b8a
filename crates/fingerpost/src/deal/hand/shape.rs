//! The repeats and endings of a hand, laid on a board of their own in every way, and made ready to be walked.
//!
//! Endings are laid without their numbers first; `brackets.rs` gives them these in every way. What is repeated, how often, and which ending is played when hangs on these signs alone, and on the returns that stand at the ends of
//! endings, where they take the place of an end repeat. A measure of such a board is a *block*: further barlines may come to lie inside it,
//! but nothing begins or ends there that has to do with repeats.

use super::brackets::Brackets;
use super::numbered::{Numbered, Signs};
use super::order::Order;
use super::search::Ended;
use super::work::Work;
use crate::board::{Repeats, Sign};
use crate::legality::judge::Judge;
use crate::roadmap::laid::Laid;
use crate::roadmap::sections::{Section, Sections};

/// How many signs are laid when the ways of the others are shared among those who search.
pub(super) const SHARED_AT: usize = 3;

/// No ending, no section.
pub(super) const NONE: u8 = u8::MAX;

/// What is amiss with where repeats and endings stand, whatever passes the endings are for, and is mended by nothing that is laid inside a
/// block or at its end.
pub(super) const OF_PLACES: [&str; 6] = [
    "endings-overlap",
    "start-repeat-in-ending",
    "ending-past-section",
    "start-repeat-unclosed",
    "on-return-contradicts",
    "nesting-too-deep",
];

/// The repeats and endings of a board, by blocks.
#[derive(Clone, Default, Debug)]
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
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Block {
    /// The sections that hold it, as bits; an outer one has a lower number.
    pub(super) around: u16,
    /// The ending over it, and the one that begins with it.
    pub(super) over: u8,
    pub(super) begins: u8,
    /// Whether a section begins with it.
    pub(super) starts: bool,
    /// The section of the end repeat at its end.
    pub(super) end: u8,
    /// Whether an ending ends with it.
    pub(super) closes: bool,
    /// The returns at its end.
    pub(super) returns: Signs,
}

/// An ending, by blocks.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Bracket {
    pub(super) section: u8,
    pub(super) first: u8,
    pub(super) last: u8,
    /// The passes on which it is played, as bits.
    pub(super) passes: u32,
    /// The last of them that its section has.
    pub(super) last_pass: u8,
}

/// A section, by blocks.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
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
pub(super) fn fits(signs: &[Sign], order: &Order, returns: bool) -> bool {
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
    /// What the signs laid on so many blocks make of them, whatever passes the endings are for: those and the passes of the sections come
    /// later.
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

    /// Notes returns at the ends of brackets.
    pub(super) fn put_returns(&mut self, returns: &[(usize, usize)]) {
        for &(number, bracket) in returns {
            self.returns |= 1 << number;
            let last = self.endings.get(bracket).map(|it| usize::from(it.last));
            if let Some(block) = last.and_then(|last| self.blocks.get_mut(last)) {
                block.returns |= 1 << number;
            }
        }
    }

    /// Becomes equal to another shape, in the room that there is.
    pub(super) fn become_like(&mut self, other: &Shape) {
        self.blocks.clone_from(&other.blocks);
        self.endings.clone_from(&other.endings);
        self.sections.clone_from(&other.sections);
        (self.ends, self.returns) = (other.ends, other.returns);
    }

    /// Whether roads that no return leads away are the same over another shape.
    pub(super) fn is_walked_like(&self, other: &Shape) -> bool {
        let are_alike = |(one, other): (&Block, &Block)| {
            let returns = one.returns;
            *one == Block { returns, ..*other }
        };
        self.sections == other.sections
            && self.endings == other.endings
            && self.blocks.len() == other.blocks.len()
            && self.blocks.iter().zip(&other.blocks).all(are_alike)
    }

    /// Takes all returns away again.
    pub(super) fn take_returns(&mut self) {
        self.returns = 0;
        for block in &mut self.blocks {
            block.returns = 0;
        }
    }

    fn lay_brackets(&mut self, laid: &Laid, sections: &Sections) {
        for (at, ending) in laid.endings.iter().enumerate() {
            let owns = |own: &&Section| own.endings.iter().any(|&own| own as usize == at);
            let section = sections.list.iter().position(|own| owns(&own));
            self.endings.push(Bracket {
                section: section.map_or(NONE, few),
                first: few(ending.first as usize),
                last: few(ending.last as usize),
                passes: 0,
                last_pass: 0,
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
                starts: self.sections.iter().any(|own| u32::from(own.start) == at),
                end: number(end),
                closes: laid.endings.iter().any(|it| it.last == at),
                returns: 0,
            });
        }
    }

    /// Whether each end repeat has a pass to lead back from. No return changes that.
    pub(super) fn leads_back(&self) -> bool {
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

    /// Whether one end repeat behind all endings has the whole board played, on every pass that there is, where no sign leads elsewhere.
    pub(super) fn is_played_through(&self) -> bool {
        let end = self.ends.trailing_zeros();
        let block = self.blocks.get(end as usize);
        self.ends.is_power_of_two()
            && self.sections.len() == 1
            && block.is_some_and(|block| block.over == NONE && block.end == 0)
            && self
                .endings
                .iter()
                .all(|it| it.section == 0 && u32::from(it.last) < end)
    }

    /// Whether each ending is for some pass that there is.
    pub(super) fn plays_endings(&self) -> bool {
        self.endings.iter().all(|ending| ending.last_pass > 0)
    }
}

fn repeated((own, number): (&Section, u32)) -> Repeated {
    Repeated {
        start: few(own.start as usize),
        end: few(own.end as usize),
        passes: 1,
        inner: (number + 1..own.after_inner).fold(0, |bits, inner| bits | 1 << inner),
        jump_closed: false,
        on_return: own.on_return,
        is_alone: false,
    }
}

/// A number that is known to be small.
pub(super) fn few(number: usize) -> u8 {
    u8::try_from(number).unwrap_or(NONE)
}

/// The repeats and endings of a hand laid in every way, and the returns of the hand at the ends of endings or not there.
pub(super) struct Shapes<'h> {
    pub(super) signs: &'h [Sign],
    pub(super) hand: &'h Numbered<'h>,
    /// How many signs are repeats and endings; they come first.
    pub(super) shaping: usize,
    /// The returns of the hand, by number.
    pub(super) returns: Vec<usize>,
    /// Whether the hand has places to land at.
    pub(super) lands: bool,
    /// The rules, for boards of 1 measure, 2 measures …
    pub(super) judges: &'h [Judge<'h>],
    /// How many orders may still be looked at, and which of them by this thread.
    pub(super) work: &'h Work<'h>,
    /// What is done with each shape.
    pub(super) then: &'h mut dyn FnMut(&Order, &Shape) -> Ended,
}

impl Shapes<'_> {
    fn endings(&self) -> usize {
        let is_ending = |sign: &&Sign| matches!(sign, Sign::Ending(_));
        self.signs.iter().filter(is_ending).count()
    }

    /// Whether the places of repeats are shared among the threads. They are where they are most of the work: with returns the roads are more, and
    /// with several endings their numbers.
    fn shares_places(&self) -> bool {
        self.returns.is_empty() && self.endings() < 2
    }

    /// Whether the numbers of several endings are shared among the threads: where there are no roads that are more work.
    pub(super) fn shares_numbers(&self) -> bool {
        self.returns.is_empty()
    }

    /// Goes on with a shape. With many endings there are many shapes, and each is a piece of the search; else each of its roads is (`road.rs`).
    pub(super) fn follow(&mut self, order: &Order, shape: &Shape) -> Ended {
        let is_piece = self.endings() >= 3;
        self.work.share_if(is_piece, || (self.then)(order, shape))
    }

    /// Whether a return may stand at the end of a bracket behind these others, where an end repeat always leads back or not.
    pub(super) fn may_close(&self, number: usize, others: Signs, by_repeat: bool) -> bool {
        let inside = self.hand.turns(1);
        let [.., counted] = inside.counted;
        others >> number == 0
            && self.hand.is_apart(few(number), others, 1)
            && (!by_repeat || counted & 1 << number != 0)
    }

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
        let is_ending = |sign: &Sign| matches!(sign, Sign::Ending(_));
        let alike = |other: &Sign| other == sign || is_ending(other) && is_ending(sign);
        let twin = twin.filter(|&at| self.signs.get(at).is_some_and(alike));
        for with in order.with(sign, most) {
            if !self.work.spend() {
                return Ended::TooMany;
            }
            // Equal signs are laid from left to right, and not one on the other; endings are equal as long as they have no numbers.
            let before = twin.and_then(|twin| with.spots.get(twin));
            let is_out_of_turn = before.is_some() && before >= with.spots.last();
            if is_out_of_turn || !fits(self.signs, &with, !self.returns.is_empty()) {
                continue;
            }
            let is_piece = with.spots.len() == SHARED_AT && self.shares_places();
            match self.work.share_if(is_piece, || self.lay(&with)) {
                Ended::All => {}
                ended => return ended,
            }
        }
        Ended::All
    }

    /// All repeats and endings are laid, the endings in the order of their places: which of them stands where is asked now.
    fn laid(&mut self, order: &Order) -> Ended {
        let judge = self.judges.get(usize::from(order.measures) - 1);
        let markings = order.markings(self.signs);
        let made = judge.and_then(|judge| judge.sections_with(&markings, &OF_PLACES));
        let Some((laid, sections)) = made else {
            return Ended::All;
        };
        let shape = Shape::of(&laid, &sections, order.measures);
        let mut brackets = Brackets::new(&laid, &sections, shape, order, self.signs);
        brackets.number_all(self)
    }
}
