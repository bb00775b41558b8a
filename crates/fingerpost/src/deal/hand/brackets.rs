//! The numbers of the endings of a hand, given to the brackets laid in every way, and the returns of the hand at the ends of endings or not
//! there.
//!
//! Where a section begins and ends, and which brackets end it, hangs on places alone (rulebook, chapter 2); how often it is played hangs on
//! the numbers. So the places are looked at once for all numberings. The tests of `search.rs` hold what is reckoned here against the rules.

use super::numbered::Signs;
use super::order::{Order, Spot};
use super::search::Ended;
use super::shape::{Shape, Shapes, few};
use crate::board::{Plays, Sign};
use crate::roadmap::laid::{EndAt, Laid};
use crate::roadmap::sections::{Section, Sections};

/// Brackets by number, as bits; passes likewise.
type Bits = u32;

/// The number of a return at the end of a bracket, and the bracket.
type Return = (usize, usize);

/// What closes a bracket.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Closed {
    /// An end repeat that always leads back, so that no return there is ever obeyed but at the arrivals that it names.
    ByRepeat,
    /// Nothing so far, and something must.
    ByReturn,
    /// Nothing need, or an end repeat that does not always lead back.
    Freely,
}

/// What of a section hangs on the numbers of its brackets.
struct Counting {
    brackets: Bits,
    /// The group of them that ends it, how many these are, and the last of them.
    closing: Bits,
    group: u32,
    last: Option<usize>,
    has_ends: bool,
    /// Whether an end repeat stands in its closing group.
    holds_end: bool,
    /// How often its end repeats say that it is played.
    plays: u32,
    /// Those of its brackets at whose ends an end repeat of its own stands, and those that hold one.
    repeated: Bits,
    holding: Bits,
    /// Whether an end repeat stands outside its brackets, and the brackets behind such a one.
    has_open_end: bool,
    behind: Bits,
}

/// Brackets laid that are given their numbers.
pub(super) struct Brackets {
    shape: Shape,
    counting: Vec<Counting>,
    /// For each bracket the closing group that it is of; nothing for one of none.
    groups: Vec<Bits>,
    /// The brackets at whose ends an end repeat stands.
    repeated: Bits,
    /// The order of the signs, with the endings where they stand now.
    order: Order,
    spots: Vec<Spot>,
    /// The signs that are endings: the number of the first, and the passes of each.
    first: usize,
    passes: Vec<Bits>,
    /// For each those that share a pass with it, and the one before it that is equal.
    meets: Vec<Bits>,
    twins: Vec<Option<usize>>,
    /// For each bracket the signs that it may not be.
    barred: Vec<Bits>,
    /// The signs that the brackets are, as far as they have one.
    given: Vec<usize>,
    /// The signs that have a bracket already, by their place among the endings.
    used: Bits,
}

impl Brackets {
    pub(super) fn new(
        laid: &Laid,
        sections: &Sections,
        shape: Shape,
        order: &Order,
        signs: &[Sign],
    ) -> Brackets {
        let endings = signs.iter().enumerate().filter_map(|(number, sign)| {
            let Sign::Ending(ending) = sign else {
                return None;
            };
            let passes = ending.passes.iter().fold(0, |bits, pass| bits | 1 << pass);
            Some((number, passes))
        });
        let (numbers, passes): (Vec<usize>, Vec<Bits>) = endings.unzip();
        let first = numbers.first().copied().unwrap_or(order.spots.len());
        let twin = |at: usize| {
            let before = at.checked_sub(1)?;
            (signs.get(first + before) == signs.get(first + at)).then_some(before)
        };
        let ends = |at: &usize| {
            let ending = laid.endings.get(*at);
            ending.is_some_and(|ending| laid.end_at(ending.last).is_some())
        };
        let spots = order.spots.iter().skip(first).copied().collect();
        let counting = sections.list.iter().map(|own| counting(laid, own));
        let counting: Vec<Counting> = counting.collect();
        let group = |bracket: usize| {
            let mut closing = counting.iter().map(|own| own.closing);
            closing.find(|group| group & 1 << bracket != 0).unwrap_or(0)
        };
        Brackets {
            groups: (0..laid.endings.len()).map(group).collect(),
            counting,
            repeated: bits((0..laid.endings.len()).filter(ends)),
            shape,
            order: order.clone(),
            spots,
            first,
            twins: (0..passes.len()).map(twin).collect(),
            meets: passes.iter().map(|&one| meeting(&passes, one)).collect(),
            barred: Vec::new(),
            given: Vec::new(),
            passes,
            used: 0,
        }
    }

    /// Numbers the brackets in every way, and goes on with each.
    pub(super) fn number_all(&mut self, shapes: &mut Shapes<'_>) -> Ended {
        let brackets = 0..self.shape.endings.len();
        self.barred = brackets
            .map(|bracket| self.too_late(bracket, shapes.hand.comebacks))
            .collect();
        self.number(shapes, 0)
    }

    /// Numbers a bracket in every way, and those after it.
    fn number(&mut self, shapes: &mut Shapes<'_>, bracket: usize) -> Ended {
        let Some(&spot) = self.spots.get(bracket) else {
            return self.numbered(shapes);
        };
        for sign in all(self.free(bracket)) {
            // Of equal endings the first is laid first.
            let twin = self.twins.get(sign).copied().flatten();
            if twin.is_some_and(|twin| self.used & 1 << twin == 0) {
                continue;
            }
            if !shapes.work.spend() {
                return Ended::TooMany;
            }
            self.used |= 1 << sign;
            self.given.push(sign);
            if let Some(own) = self.shape.endings.get_mut(bracket) {
                own.passes = self.passes.get(sign).copied().unwrap_or(0);
            }
            if let Some(place) = self.order.spots.get_mut(self.first + sign) {
                *place = spot;
            }
            let work = shapes.work;
            let is_piece = bracket == 1 && shapes.shares_numbers();
            let ended = work.share_if(is_piece, || self.number(shapes, bracket + 1));
            self.given.pop();
            self.used &= !(1 << sign);
            if ended != Ended::All {
                return ended;
            }
        }
        Ended::All
    }

    /// The signs that a bracket may be: not one that stands elsewhere, and none with a pass of an earlier bracket in its closing group.
    fn free(&self, bracket: usize) -> Bits {
        let group = self.groups.get(bracket).copied().unwrap_or(0);
        let given = all(group & below(bracket)).filter_map(|earlier| self.given.get(earlier));
        let met = given.filter_map(|&sign| self.meets.get(sign));
        let taken = met.fold(self.used, |taken, &met| taken | met);
        let barred = self.barred.get(bracket).copied().unwrap_or(0);
        below(self.passes.len()) & !taken & !barred
    }

    /// The signs that a bracket cannot be because they are for passes alone that its section never comes to: without an end repeat it goes on to
    /// the next one only when a return has led back.
    fn too_late(&self, bracket: usize, comebacks: usize) -> Bits {
        let section = self.shape.endings.get(bracket).map(|it| it.section);
        let own = section.and_then(|section| self.counting.get(usize::from(section)));
        if own.is_none_or(|own| own.has_ends) {
            return 0;
        }
        let is_late =
            |passes: &Bits| passes.trailing_zeros() as usize > comebacks.saturating_add(1);
        let signs = self.passes.iter().enumerate();
        bits(signs.filter_map(|(sign, passes)| is_late(passes).then_some(sign)))
    }

    /// Whether some bracket is played on no pass, wherever the signs that are laid later come to stand.
    fn leaves_one_out(&self, shapes: &Shapes<'_>) -> bool {
        self.counting
            .iter()
            .zip(&self.shape.sections)
            .any(|(own, section)| {
                // On these passes an end repeat leads back to the next, on the others a return has to.
                let led = if own.has_open_end {
                    Bits::MAX
                } else {
                    self.union(own.holding)
                };
                let too_late = |bracket: usize| {
                    let earlier = (1 << self.passes_of(bracket).trailing_zeros()) - 2;
                    let needed = earlier & !led;
                    needed != 0 && needed.count_ones() as usize > shapes.hand.comebacks
                };
                // Behind an end repeat outside the brackets the road goes on its own on the last pass alone.
                let passed_by = |bracket: usize| self.passes_of(bracket) & 1 << section.passes == 0;
                all(own.brackets).any(too_late) || !shapes.lands && all(own.behind).any(passed_by)
            })
    }

    fn passes_of(&self, bracket: usize) -> Bits {
        self.shape.endings.get(bracket).map_or(0, |it| it.passes)
    }

    /// The passes of brackets together.
    fn union(&self, brackets: Bits) -> Bits {
        all(brackets).fold(0, |union, bracket| union | self.passes_of(bracket))
    }

    /// All brackets are numbered.
    fn numbered(&mut self, shapes: &mut Shapes<'_>) -> Ended {
        // Pass 1, 2, 3 ... without a gap, where several brackets end a section.
        let has_gap = |own: &Counting| {
            let passes = self.union(own.closing) >> 1;
            own.group > 1 && passes & (passes + 1) != 0
        };
        if self.counting.iter().any(has_gap) {
            return Ended::All;
        }
        self.count(0);
        if !self.shape.leads_back() || self.leaves_one_out(shapes) {
            return Ended::All;
        }
        let brackets = 0..self.shape.endings.len();
        let may_stay = |bracket| self.closed_by(bracket) != Closed::ByReturn;
        if brackets.clone().all(may_stay) && self.shape.plays_endings() {
            match shapes.follow(&self.order, &self.shape) {
                Ended::All => {}
                ended => return ended,
            }
        }
        if shapes.returns.is_empty() {
            return Ended::All;
        }
        let ends: Vec<Closed> = brackets.map(|bracket| self.closed_by(bracket)).collect();
        let returns = shapes.returns.clone();
        self.lay_returns(shapes, &returns, &ends, &mut Vec::new())
    }

    /// Counts the passes of all sections, with returns at the ends of some brackets.
    fn count(&mut self, returned: Bits) {
        for at in 0..self.counting.len() {
            let Some(own) = self.counting.get(at) else {
                continue;
            };
            let highest = |brackets: Bits| self.union(brackets).checked_ilog2().unwrap_or(0);
            let lone_jump = !own.has_ends && own.last.is_some_and(|it| returned & 1 << it != 0);
            let passes = match own.group {
                2.. => highest(own.closing),
                1 if own.holds_end || lone_jump => highest(own.closing) + 1,
                _ if !own.has_ends => highest(own.brackets),
                _ => own.plays.max(highest(own.brackets)),
            };
            let passes = passes.max(1);
            let jump_closed = all(own.closing & returned & !own.repeated)
                .any(|bracket| self.passes_of(bracket).trailing_zeros() < passes);
            let is_alone = !own.has_ends && !jump_closed && own.group < 2;
            if let Some(section) = self.shape.sections.get_mut(at) {
                section.passes = few(passes as usize);
                section.jump_closed = jump_closed;
                section.is_alone = is_alone;
            }
        }
        for bracket in &mut self.shape.endings {
            let own = self.shape.sections.get(usize::from(bracket.section));
            let there = bracket.passes & ((2 << own.map_or(1, |own| own.passes)) - 1);
            bracket.last_pass = few(there.checked_ilog2().unwrap_or(0) as usize);
        }
    }

    /// Whether a bracket of a group has to be closed: it is not for the last pass alone.
    fn must_close(&self, bracket: usize) -> bool {
        let number = self.shape.endings.get(bracket).map(|it| it.section);
        let number = number.map_or(usize::MAX, usize::from);
        let passes = self.shape.sections.get(number).map_or(0, |own| own.passes);
        let in_group = self
            .counting
            .get(number)
            .is_some_and(|own| own.closing & 1 << bracket != 0 && own.group > 1);
        in_group && self.passes_of(bracket).trailing_zeros() < u32::from(passes)
    }

    fn closed_by(&self, bracket: usize) -> Closed {
        let Some(ending) = self.shape.endings.get(bracket) else {
            return Closed::Freely;
        };
        let Some(own) = self.shape.sections.get(usize::from(ending.section)) else {
            return Closed::Freely;
        };
        if self.repeated & 1 << bracket != 0 {
            return if ending.last_pass < own.passes {
                Closed::ByRepeat
            } else {
                Closed::Freely
            };
        }
        if self.must_close(bracket) {
            Closed::ByReturn
        } else {
            Closed::Freely
        }
    }

    /// At the end of each bracket some of the returns that are left, or none, as it must be closed.
    fn lay_returns(
        &mut self,
        shapes: &mut Shapes<'_>,
        left: &[usize],
        ends: &[Closed],
        laid: &mut Vec<Return>,
    ) -> Ended {
        let Some((&by, others)) = ends.split_first() else {
            return self.returned(shapes, laid);
        };
        let bracket = self.shape.endings.len() - ends.len();
        let here: Signs = laid
            .iter()
            .filter(|&&(_, at)| at == bracket)
            .fold(0, |bits, &(number, _)| bits | 1 << number);
        let open = if here == 0 { ends } else { others };
        let must = open.iter().filter(|&by| *by == Closed::ByReturn);
        if must.count() > left.len() {
            return Ended::All;
        }
        if by != Closed::ByReturn || here != 0 {
            match self.lay_returns(shapes, left, others, laid) {
                Ended::All => {}
                ended => return ended,
            }
        }
        for (at, &number) in left.iter().enumerate() {
            // Of equal ones the first goes first.
            let mut before = left.iter().take(at);
            if before.any(|&other| shapes.signs.get(other) == shapes.signs.get(number))
                || !shapes.may_close(number, here, by == Closed::ByRepeat)
            {
                continue;
            }
            let rest: Vec<usize> = left.iter().copied().filter(|&it| it != number).collect();
            laid.push((number, bracket));
            let ended = self.lay_returns(shapes, &rest, ends, laid);
            laid.pop();
            if ended != Ended::All {
                return ended;
            }
        }
        Ended::All
    }

    /// Some returns are laid at the ends of brackets, where they may change how often a section is played.
    fn returned(&mut self, shapes: &mut Shapes<'_>, returns: &[Return]) -> Ended {
        if returns.is_empty() {
            return Ended::All;
        }
        let at_ends = bits(returns.iter().map(|&(_, bracket)| bracket));
        self.count(at_ends);
        let closed = self.repeated | at_ends;
        let mut brackets = 0..self.shape.endings.len();
        let is_open = |bracket: usize| closed & 1 << bracket == 0 && self.must_close(bracket);
        let ended = if brackets.any(is_open) || !self.shape.plays_endings() {
            Ended::All
        } else {
            self.shape.put_returns(returns);
            let ended = shapes.follow(&self.order, &self.shape);
            self.shape.take_returns();
            ended
        };
        // What is asked next is asked of the brackets without returns.
        self.count(0);
        ended
    }
}

/// What of a section hangs on the numbers of its brackets.
fn counting(laid: &Laid, own: &Section) -> Counting {
    let ends = own
        .ends
        .iter()
        .filter_map(|&end| laid.ends.get(end as usize));
    let mut plays = 0;
    let mut is_open = false;
    for end in ends.clone() {
        match end.plays {
            None => plays = plays.max(2),
            Some(Plays::Times(times)) => plays = plays.max(times),
            Some(Plays::Open) => is_open = true,
        }
    }
    let stands_in = |number: u32, whole: bool| {
        let ending = laid.endings.get(number as usize);
        ending.is_some_and(|ending| {
            let first = if whole { ending.first } else { ending.last };
            ends.clone()
                .any(|end| (first..=ending.last).contains(&end.part))
        })
    };
    let group = own.endings.get(own.closing.clone()).unwrap_or_default();
    let is_open_end = |end: &&EndAt| {
        let mut brackets = own.endings.iter();
        !brackets.any(|&it| {
            let ending = laid.endings.get(it as usize);
            ending.is_some_and(|ending| (ending.first..=ending.last).contains(&end.part))
        })
    };
    let first_open_end = ends.clone().find(is_open_end).map(|end| end.part);
    let is_behind = |number: u32| {
        let ending = laid.endings.get(number as usize);
        ending
            .zip(first_open_end)
            .is_some_and(|(ending, part)| part < ending.first)
    };
    let number = |&number: &u32| number as usize;
    let those = |of: &dyn Fn(u32) -> bool| {
        let found = own.endings.iter().filter(|&&it| of(it));
        bits(found.map(number))
    };
    Counting {
        brackets: bits(own.endings.iter().map(number)),
        closing: bits(group.iter().map(number)),
        group: u32::from(few(group.len())),
        last: group.last().map(number),
        has_ends: !own.ends.is_empty(),
        holds_end: group.iter().any(|&it| stands_in(it, true)),
        // An open section is played twice here.
        plays: if is_open { 2 } else { plays },
        repeated: those(&|it| stands_in(it, false)),
        holding: those(&|it| stands_in(it, true)),
        has_open_end: first_open_end.is_some(),
        behind: those(&is_behind),
    }
}

/// Those of some endings that share a pass with one, by their places.
fn meeting(endings: &[Bits], one: Bits) -> Bits {
    let meets = endings.iter().enumerate();
    bits(meets.filter_map(|(other, passes)| (passes & one != 0).then_some(other)))
}

/// The bits below one.
fn below(number: usize) -> Bits {
    (1 << number) - 1
}

fn bits(numbers: impl Iterator<Item = usize>) -> Bits {
    numbers.fold(0, |bits, number| bits | 1 << number)
}

/// The numbers of the bits that are set, rising.
fn all(mut bits: Bits) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        let lowest = bits.trailing_zeros();
        bits &= bits.wrapping_sub(1);
        (lowest < Bits::BITS).then_some(lowest as usize)
    })
}
