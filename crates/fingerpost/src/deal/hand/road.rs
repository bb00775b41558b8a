//! Signs laid as the road comes to need them.
//!
//! Every sign of a hand must play its part. So the road is followed over a board of repeats and endings, and wherever it comes to an end of
//! a measure at which a sign in the hand would be obeyed, it goes on in two ways: the sign stands there, or it stands at no place of this
//! kind that has been passed. Orders that begin alike share the beginning of their road, and those of no use are never made.
//!
//! Followed are chapters 3 to 5 of the rulebook under the default reading, for signs without `arrivals` and `passes` and without al Segno; hands with those are judged order by order (`judged.rs`). The tests hold one way against the other.

use std::cell::Cell;

use super::numbered::{Numbered, Signs, numbers};
use super::order::{Order, Spot};
use super::search::Ended;
use super::shape::{NONE, Shape};
use crate::board::{Al, Jump, Repeats, Sign};

/// More barlines than the signs of a hand can have, those included that are tried as missing.
const MOST_PARTS: usize = 24;
/// More sections than they can make, and more signs.
const MOST_SECTIONS: usize = 16;
const MOST_SIGNS: usize = 16;

/// A measure between two barlines.
#[derive(Clone, Copy, Default)]
struct Part {
    block: u8,
    is_played: bool,
    /// The signs that can stand at no barline inside it, and the ones that cannot stand at its end: they would have been obeyed.
    not_inside: Signs,
    not_at_end: Signs,
    /// The leaving signs laid at its end.
    at_end: Signs,
}

/// A short list kept in place. What lies beyond it is as it began.
#[derive(Clone, Copy)]
struct Few<T, const N: usize>([T; N]);

/// How far the road has come, and what is laid.
#[derive(Clone, Copy)]
struct Stand {
    parts: Few<Part, MOST_PARTS>,
    length: u8,
    /// The first part of each block, and behind the last block the length.
    first: Few<u8, MOST_PARTS>,
    /// For each sign laid its barline: a leaving one stands at the end of the part before it, a landing one at the start of that behind it.
    at: Few<u8, MOST_SIGNS>,
    laid: Signs,
    /// The jumps obeyed.
    obeyed: Signs,
    /// For each section its present pass, 0 where it is not active, and the highest it has reached.
    pass: Few<u8, MOST_SECTIONS>,
    reached: Few<u8, MOST_SECTIONS>,
    active: u16,
    /// The end repeats made, by blocks.
    made: u32,
    /// Whether this leg is a return, and what it says of repeats.
    returns: Option<Repeats>,
    fine_is_armed: bool,
    coda_arms_fine: bool,
    /// The To Codas that the last jump means.
    meant: Signs,
    /// The coda to which the road goes on from the Fine.
    on_from_fine: Option<u8>,
}

impl<T: Copy + Default, const N: usize> Few<T, N> {
    fn new() -> Few<T, N> {
        Few([T::default(); N])
    }

    fn get(&self, at: u8) -> T {
        self.0.get(usize::from(at)).copied().unwrap_or_default()
    }

    fn of(&mut self, at: u8) -> &mut T {
        let last = N - 1;
        // cannot fail: no list is empty, and the index is not beyond the last entry.
        &mut self.0[usize::from(at).min(last)]
    }
}

/// The roads over one board of repeats and endings.
pub(super) struct Roads<'r, 's> {
    pub(super) hand: &'r Numbered<'s>,
    pub(super) shape: &'r Shape,
    /// Where the repeats and endings stand.
    pub(super) order: &'r Order,
    /// The most measures that there may be.
    pub(super) most: u8,
    /// How many roads may still be begun.
    pub(super) left: &'r Cell<u64>,
    /// What is done with an order in which every sign plays its part and every measure is played; whether to go on.
    pub(super) found: &'r mut dyn FnMut(&Order) -> bool,
}

/// Where the road goes next.
#[derive(Clone, Copy)]
enum Next {
    /// To a part by going on or back.
    On(u8),
    /// To a segno or a coda at the start of a part.
    Landing(u8),
}

impl Roads<'_, '_> {
    /// Follows all roads.
    pub(super) fn follow_all(&mut self) -> Ended {
        let mut stand = Stand {
            parts: Few::new(),
            length: 0,
            first: Few::new(),
            at: Few::new(),
            laid: self.shape.returns,
            obeyed: 0,
            pass: Few::new(),
            reached: Few::new(),
            active: 0,
            made: 0,
            returns: None,
            fine_is_armed: false,
            coda_arms_fine: false,
            meant: 0,
            on_from_fine: None,
        };
        for (block, at) in self.shape.blocks.iter().zip(0..) {
            *stand.parts.of(at) = Part {
                block: at,
                at_end: block.returns,
                ..Part::default()
            };
            *stand.first.of(at) = at;
            for number in numbers(block.returns) {
                *stand.at.of(number) = at + 1;
            }
            stand.length = at + 1;
        }
        *stand.first.of(stand.length) = stand.length;
        self.follow(stand, Next::On(0))
    }

    /// Follows the road from a place, and all roads that part from it.
    fn follow(&mut self, mut stand: Stand, mut next: Next) -> Ended {
        let Some(left) = self.left.get().checked_sub(1) else {
            return Ended::TooMany;
        };
        self.left.set(left);
        loop {
            let arrived = match next {
                Next::On(part) => self.go_on(&mut stand, part),
                Next::Landing(part) if self.land(&mut stand, part) => Some(part),
                Next::Landing(_) => return Ended::All,
            };
            let Some(part) = arrived else {
                return self.end(&stand);
            };
            let Some(&block) = self
                .shape
                .blocks
                .get(usize::from(stand.parts.get(part).block))
            else {
                return Ended::All;
            };
            let acting = self.acting(&stand, block.around, block.over);
            let loose = self.hand.loose & !stand.laid & acting;
            if loose & !stand.parts.get(part).not_inside != 0 && stand.length < self.most {
                match self.leave_inside(&stand, part, loose) {
                    Ended::All => {}
                    ended => return ended,
                }
            }
            let here = stand.parts.of(part);
            here.is_played = true;
            here.not_inside |= loose;
            let is_last = stand.first.get(stand.parts.get(part).block + 1) == part + 1;
            if is_last && block.end != NONE {
                if let Some(start) = self.goes_back(&mut stand, block.end) {
                    stand.made |= 1 << stand.parts.get(part).block;
                    next = Next::On(stand.first.get(start));
                    continue;
                }
            }
            next = Next::On(part + 1);
            if acting == 0 {
                continue;
            }
            // Fine is asked before To Coda, and both before a jump.
            let jumps_stand = is_last && block.closes;
            for asked in [self.hand.fines, self.hand.to_codas, self.hand.jumps] {
                for number in numbers(asked & acting) {
                    let bit: Signs = 1 << number;
                    let here = stand.parts.get(part);
                    if here.at_end & bit != 0 {
                        return self.obey(stand, number, part);
                    }
                    if stand.laid & bit != 0 || here.not_at_end & bit != 0 {
                        continue;
                    }
                    let is_jump = self.hand.jumps & bit != 0;
                    let crowded = self.hand.equal(number) & here.at_end != 0
                        || is_jump && (jumps_stand || here.at_end & self.hand.jumps != 0);
                    if !crowded && self.is_first_of_equal(&stand, number) {
                        let mut with = stand;
                        with.lay(number, part + 1);
                        with.parts.of(part).at_end |= bit;
                        match self.obey(with, number, part) {
                            Ended::All => {}
                            ended => return ended,
                        }
                    }
                    stand.parts.of(part).not_at_end |= bit;
                }
            }
        }
    }

    /// Whether a sign is the first of the equal ones that are still in the hand: they are not told apart.
    fn is_first_of_equal(&self, stand: &Stand, number: u8) -> bool {
        let before = self.hand.equal(number) & ((1 << number) - 1);
        before & !stand.laid == 0
    }

    /// The signs that are obeyed at the ends of the parts of a block now, if they stand there.
    fn acting(&self, stand: &Stand, around: u16, over: u8) -> Signs {
        let fines = if stand.fine_is_armed {
            self.hand.fines
        } else {
            0
        };
        let to_codas = match self.hand.jumps {
            // On a board without any jump a To Coda in a section is obeyed on its last pass.
            0 if around != 0 => self.hand.to_codas,
            _ => stand.meant,
        };
        let acting = fines | to_codas | self.hand.jumps & !stand.obeyed;
        if acting == 0 {
            return 0;
        }
        let over = self.shape.endings.get(usize::from(over));
        let is_on_last_pass = numbers(around).all(|number| {
            let last = match over {
                Some(ending) if ending.section == number => ending.last_pass,
                _ => self.passes(number),
            };
            stand.pass.get(number) == last
        });
        if is_on_last_pass { acting } else { 0 }
    }

    fn passes(&self, section: u8) -> u8 {
        let own = self.shape.sections.get(usize::from(section));
        own.map_or(1, |own| own.passes)
    }

    /// The roads that leave a part at a barline inside it, by one of these signs.
    fn leave_inside(&mut self, stand: &Stand, part: u8, loose: Signs) -> Ended {
        let jumps = if self.is_lost_behind_jump(stand, part) {
            0
        } else {
            self.hand.jumps
        };
        for asked in [self.hand.fines, self.hand.to_codas, jumps] {
            let here = stand.parts.get(part);
            for number in numbers(asked & loose & !here.not_inside) {
                if !self.is_first_of_equal(stand, number) {
                    continue;
                }
                let bit: Signs = 1 << number;
                let mut with = *stand;
                with.part_at(part);
                let front = with.parts.of(part);
                front.is_played = true;
                front.not_inside |= loose;
                // What is asked before it would have been obeyed there.
                front.not_at_end |= loose & self.asked_before(number);
                front.at_end = bit;
                with.lay(number, part + 1);
                match self.obey(with, number, part) {
                    Ended::All => {}
                    ended => return ended,
                }
            }
        }
        Ended::All
    }

    /// Whether the rest of a part is never played when a jump stands inside it: in an ending on its last pass, which its section does not
    /// come to again.
    fn is_lost_behind_jump(&self, stand: &Stand, part: u8) -> bool {
        let part = stand.parts.get(part);
        let block = self.shape.blocks.get(usize::from(part.block));
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
                None => !self.hand.repeats_on_return,
            };
        !part.is_played && is_outermost && goes_on && over.last_pass < own.passes
    }

    /// The signs that are asked before one at the same barline.
    fn asked_before(&self, number: u8) -> Signs {
        let bit: Signs = 1 << number;
        let kinds = [self.hand.fines, self.hand.to_codas, self.hand.jumps];
        let mut before = 0;
        for kind in kinds {
            if kind & bit != 0 {
                return before | kind & (bit - 1);
            }
            before |= kind;
        }
        before
    }

    /// Goes on to a part, over the endings that are not played now; `None` beyond the board.
    fn go_on(&self, stand: &mut Stand, mut part: u8) -> Option<u8> {
        while part < stand.length {
            let number = stand.parts.get(part).block;
            let block = self.shape.blocks.get(usize::from(number))?;
            stand.leave_all_but(block.around);
            self.enter(stand, block.around);
            if stand.first.get(number) == part && block.begins != NONE {
                let ending = self.shape.endings.get(usize::from(block.begins))?;
                if ending.passes & 1 << stand.pass.get(ending.section) == 0 {
                    part = stand.first.get(ending.last + 1);
                    continue;
                }
            }
            return Some(part);
        }
        None
    }

    /// Lands at the start of a part; whether that is allowed.
    fn land(&self, stand: &mut Stand, part: u8) -> bool {
        let number = stand.parts.get(part).block;
        let Some(block) = self.shape.blocks.get(usize::from(number)) else {
            return false;
        };
        stand.leave_all_but(block.around);
        self.enter(stand, block.around);
        let over = self.shape.endings.get(usize::from(block.over));
        over.is_none_or(|ending| ending.passes & 1 << stand.pass.get(ending.section) != 0)
    }

    /// Enters the sections around a part that are not active.
    fn enter(&self, stand: &mut Stand, around: u16) {
        for section in numbers(around & !stand.active) {
            let pass = self.entry(stand, section);
            stand.reach(section, pass);
        }
        stand.active |= around;
    }

    /// The pass on which a section is entered now.
    fn entry(&self, stand: &Stand, section: u8) -> u8 {
        let Some(own) = self.shape.sections.get(usize::from(section)) else {
            return 1;
        };
        let on = (stand.reached.get(section) + 1).min(own.passes);
        match stand
            .returns
            .map(|repeats| own.on_return.unwrap_or(repeats))
        {
            Some(Repeats::Play) if !own.jump_closed => 1,
            _ => on,
        }
    }

    /// The block to which an end repeat leads back, while its section has passes left.
    fn goes_back(&self, stand: &mut Stand, section: u8) -> Option<u8> {
        let own = self.shape.sections.get(usize::from(section))?;
        let pass = stand.pass.get(section);
        if pass == 0 || pass >= own.passes {
            return None;
        }
        for inner in numbers(own.inner) {
            *stand.pass.of(inner) = 0;
            *stand.reached.of(inner) = 0;
        }
        stand.active &= !own.inner;
        stand.reach(section, pass + 1);
        Some(own.start)
    }

    /// The road is led on by a sign at the end of a part. Where that leads to a sign in the hand, it is laid wherever it may stand.
    fn obey(&mut self, mut stand: Stand, number: u8, part: u8) -> Ended {
        let bit: Signs = 1 << number;
        let is_jump = self.hand.jumps & bit != 0;
        let landing = if self.hand.fines & bit != 0 {
            let Some(coda) = stand.on_from_fine.take() else {
                return self.end(&stand);
            };
            stand.fine_is_armed = true;
            Some(coda)
        } else if let Some(jump) = self.hand.jump(number) {
            stand.obeyed |= bit;
            stand.leave_all_but(0);
            self.arm(&mut stand, number, jump);
            if matches!(
                self.hand.signs.get(usize::from(number)),
                Some(Sign::DaCapo(_))
            ) {
                return self.follow(stand, Next::On(0));
            }
            self.hand.leads_to(number)
        } else {
            stand.fine_is_armed |= stand.coda_arms_fine;
            self.hand.leads_to(number)
        };
        let Some(landing) = landing else {
            return Ended::All;
        };
        if stand.laid & 1 << landing != 0 {
            let to = stand.at.get(landing);
            // A D.S. leads back, a To Coda on, and so does a Fine that is not the end.
            return if is_jump == (to <= part) {
                self.follow(stand, Next::Landing(to))
            } else {
                Ended::All
            };
        }
        let (from, to) = if is_jump {
            (0, part + 1)
        } else {
            (part + 1, stand.length)
        };
        for at in from..to {
            let mut with = stand;
            with.lay(landing, at);
            let mut ended = self.follow(with, Next::Landing(at));
            if ended == Ended::All && stand.length < self.most {
                let mut with = stand;
                with.part_at(at);
                with.lay(landing, at + 1);
                ended = self.follow(with, Next::Landing(at + 1));
            }
            if ended != Ended::All {
                return ended;
            }
        }
        Ended::All
    }

    /// What a jump arms, in place of what the last one has armed.
    fn arm(&self, stand: &mut Stand, number: u8, jump: &Jump) {
        stand.returns = Some(jump.repeats.unwrap_or(Repeats::Skip));
        stand.fine_is_armed = matches!(jump.al, None | Some(Al::Fine));
        stand.coda_arms_fine = jump.al == Some(Al::Coda);
        let named = self.hand.names.get(usize::from(number)).copied().flatten();
        stand.meant = match (jump.al, named) {
            (Some(Al::Coda), Some(named)) => named,
            (None | Some(Al::Coda), _) => {
                // Those not obeyed so far, and all of them when every one has been; a To Coda is laid when it is obeyed.
                let new = self.hand.to_codas & !stand.laid;
                if new == 0 { self.hand.to_codas } else { new }
            }
            _ => 0,
        };
        stand.on_from_fine = self.hand.goes_on_to(number);
    }

    /// The road has come to its end: tells of the order when nothing is left out.
    fn end(&mut self, stand: &Stand) -> Ended {
        let hand = self.hand;
        let is_whole = hand.loose & !stand.laid == 0
            && hand.jumps & !stand.obeyed == 0
            && stand.made == self.shape.ends
            && (0..stand.length).all(|part| stand.parts.get(part).is_played)
            && self.is_come_back_to(stand);
        if !is_whole {
            return Ended::All;
        }
        let order = self.order(stand);
        if (self.found)(&order) {
            Ended::All
        } else {
            Ended::Enough
        }
    }

    /// Whether a return leads over each section that has nothing else to play it on another pass.
    fn is_come_back_to(&self, stand: &Stand) -> bool {
        let block = |part: u8| stand.parts.get(part).block;
        let mut alone = self.shape.sections.iter().filter(|own| own.is_alone);
        alone.all(|own| {
            numbers(self.hand.jumps).any(|jump| {
                let to = self.hand.leads_to(jump).map_or(0, |it| stand.at.get(it));
                own.start <= block(stand.at.get(jump) - 1) && block(to) <= own.end
            })
        })
    }

    /// The order that the signs have come to stand in.
    fn order(&self, stand: &Stand) -> Order {
        let barline = |block: u16| {
            let block = u8::try_from(block).unwrap_or(NONE);
            u16::from(stand.first.get(block))
        };
        let spots = self.order.spots.iter();
        let mut spots: Vec<Spot> = spots
            .map(|&(from, to)| (barline(from), barline(to)))
            .collect();
        for number in numbers(self.hand.loose | self.shape.returns) {
            let at = u16::from(stand.at.get(number));
            spots.push((at, at));
        }
        Order {
            measures: u16::from(stand.length),
            spots,
        }
    }
}

impl Stand {
    /// Lays a sign at a barline.
    fn lay(&mut self, number: u8, barline: u8) {
        self.laid |= 1 << number;
        *self.at.of(number) = barline;
    }

    /// Makes two parts of one. What is known of the inside of the one holds of both and of the barline between them.
    fn part_at(&mut self, part: u8) {
        for at in (part..self.length).rev() {
            *self.parts.of(at + 1) = self.parts.get(at);
        }
        let front = self.parts.of(part);
        front.not_at_end = front.not_inside;
        front.at_end = 0;
        let block = front.block;
        self.length += 1;
        for first in self.first.0.iter_mut().skip(usize::from(block) + 1) {
            *first += 1;
        }
        for number in numbers(self.laid) {
            let at = self.at.of(number);
            *at += u8::from(*at > part);
        }
    }

    fn reach(&mut self, section: u8, pass: u8) {
        *self.pass.of(section) = pass;
        let reached = self.reached.of(section);
        *reached = pass.max(*reached);
    }

    /// The sections that do not hold the part to which the road goes are active no longer.
    fn leave_all_but(&mut self, around: u16) {
        for section in numbers(self.active & !around) {
            *self.pass.of(section) = 0;
        }
        self.active &= around;
    }
}
