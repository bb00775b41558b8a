//! Signs laid as the road comes to need them.
//!
//! Every sign of a hand must play its part. So the road is followed over a board of repeats and endings, and wherever it comes to an end of
//! a measure at which a sign in the hand would be obeyed, it goes on in two ways: the sign stands there, or it stands at no place of this
//! kind that has been passed. Orders that begin alike share the beginning of their road, and those of no use are never made.
//!
//! Followed are chapters 3 to 5 of the rulebook under the default reading. Hands whose roads are very long are judged order by order (`judged.rs`). The tests hold one way against the other.

use super::last::{Came, Rest};
use super::numbered::{Numbered, Signs, numbers};
use super::order::{Make, Order};
use super::ready::Ready;
use super::search::Ended;
use super::shape::{Block, Bracket, NONE, Shape, few};
use super::stand::{Counts, Few, Part, Stand};
use super::work::Work;
use crate::board::{Al, Jump, Repeats, Sign};

/// The roads over one board of repeats and endings.
pub(super) struct Roads<'r, 's> {
    pub(super) hand: &'r Numbered<'s>,
    pub(super) shape: &'r Shape,
    /// Where the repeats and endings stand.
    pub(super) order: &'r Order,
    /// Whether the hand has places to land at.
    pub(super) lands: bool,
    /// The most measures that there may be.
    pub(super) most: u8,
    /// What has been made ready of the shape.
    pub(super) ready: &'r mut Ready,
    /// What the road comes to behind the last sign, where that has been asked in this leg.
    pub(super) rest: Option<Rest>,
    /// Whether it is being asked: then the end of the road is noted and not told of.
    pub(super) is_trial: bool,
    pub(super) came: Option<Came>,
    /// How many roads may still be begun, and which of them by this thread.
    pub(super) work: &'r Work<'r>,
    /// What is done with an order in which every sign plays its part and every measure is played; whether to go on.
    pub(super) found: &'r mut dyn FnMut(Make<'_>, u8) -> bool,
}

/// Where the road goes next.
#[derive(Clone, Copy)]
pub(super) enum Next {
    /// To a part by going on.
    On(u8),
    /// To a part by going back to where a section or the board begins.
    Back(u8),
    /// To a segno or a coda at the start of a part.
    Landing(u8),
}

impl<'r> Roads<'r, '_> {
    /// The block that holds a part.
    pub(super) fn block(&self, part: Part) -> Option<&'r Block> {
        self.shape.blocks.get(usize::from(part.block))
    }
}

impl Roads<'_, '_> {
    /// Follows all roads.
    pub(super) fn follow_all(&mut self) -> Ended {
        if self.hand.loose | self.hand.jumps == 0 {
            if !self.work.spend() {
                return Ended::TooMany;
            }
            let is_whole = self.shape.is_played_through()
                || self.is_whole_in_one_leg() && self.is_allowed(&self.start());
            let order = self.order;
            return if is_whole {
                self.tell(&|| order.clone(), few(self.shape.blocks.len()))
            } else {
                Ended::All
            };
        }
        let mut stand = self.start();
        if self.goes_by_legs(&stand) {
            return self.work.share(|| self.go_by_legs(&mut stand));
        }
        if self.hand.jumps != 0 && self.is_in_vain(&stand) {
            return Ended::All;
        }
        self.follow(&mut stand, Next::On(0))
    }

    /// The road at its beginning: nothing stands but the repeats and endings, and returns at the ends of endings.
    pub(super) fn start(&self) -> Stand {
        let mut stand = Stand {
            parts: Few::new(),
            length: 0,
            played: 0,
            first: Few::new(),
            at: Few::new(),
            laid: self.shape.returns,
            obeyed: 0,
            spent: 0,
            counts: Counts::none(),
            made: 0,
            returns: None,
            fine_is_armed: false,
            coda_arms_fine: false,
            meant: 0,
            until: None,
            goes_on_to: None,
            used: Few::new(),
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
        stand
    }

    /// Follows the road from a place, and all roads that part from it.
    pub(super) fn follow(&mut self, stand: &mut Stand, mut next: Next) -> Ended {
        if !self.work.spend() {
            return Ended::TooMany;
        }
        self.rest = None;
        // Where signs name their times much is played in vain, so that it pays to ask more often what is played quietly.
        let asks_often = self.hand.with_times != 0;
        let unlaid = self.hand.loose & !stand.laid;
        let until: Signs = stand.until.map_or(0, |segno| 1 << segno);
        let may_pass = unlaid & self.hand.with_times == 0 && until == 0;
        let mut is_fresh = true;
        let mut is_mark = false;
        let mut marks = None;
        loop {
            let part = match next {
                Next::On(to) | Next::Back(to) => {
                    let mut before = None;
                    let Some(part) = self.go_on(stand, to, &mut before) else {
                        return self.end(stand);
                    };
                    // An al Segno does not leave where the road is led to just this part (rulebook 4.7).
                    if until != 0 && !matches!(next, Next::Back(to) if to == part) {
                        let counts = before.unwrap_or(stand.counts);
                        if let Some(ended) = self.leave_at_segno(stand, counts, part) {
                            return ended;
                        }
                    }
                    part
                }
                Next::Landing(part) if self.land(stand, part) => part,
                Next::Landing(_) => return Ended::All,
            };
            let here = stand.parts.get(part);
            let Some(block) = self.block(here) else {
                return Ended::All;
            };
            let begins = stand.first.get(here.block) == part;
            let asks = asks_often && (is_fresh || begins) || block.starts && begins;
            let asks = asks && may_pass && !is_mark;
            is_mark = false;
            if asks {
                is_fresh = false;
                if let Some(quietly) = self.pass_quietly(stand, part, block, &mut marks) {
                    next = quietly.next;
                    is_mark = quietly.is_mark;
                    continue;
                }
            }
            is_fresh = here.at_end != 0;
            let acting = self.acting(stand, part, block);
            let loose = unlaid & (acting | until);
            if loose & !here.not_inside != 0 && stand.length < self.most {
                match self.leave_inside(stand, part, loose) {
                    Ended::All => {}
                    ended => return ended,
                }
            }
            stand.played |= 1 << part;
            let now = stand.parts.of(part);
            now.not_inside |= loose;
            now.arrived = here.arrived_next();
            let is_last = stand.first.get(here.block + 1) == part + 1;
            let turns = self.hand.turns(block.around);
            if acting & turns.any_counted != 0 {
                let counted = acting & turns.any_counted;
                if let Some(ended) = self.ask(stand, part, counted, &turns.counted) {
                    return ended;
                }
            }
            if is_last && block.end != NONE {
                if let Some(start) = self.goes_back(&mut stand.counts, block.end) {
                    stand.made |= 1 << here.block;
                    next = Next::Back(stand.first.get(start));
                    continue;
                }
            }
            next = Next::On(part + 1);
            if acting & !turns.any_counted != 0 {
                let others = acting & !turns.any_counted;
                if let Some(ended) = self.ask(stand, part, others, &turns.others) {
                    return ended;
                }
            }
        }
    }

    /// Asks signs at the end of a part, kind by kind: those that stand there, and those in the hand that may. How it has ended when the road
    /// is led away, or nothing more is wanted.
    fn ask(
        &mut self,
        stand: &mut Stand,
        part: u8,
        acting: Signs,
        turns: &[Signs],
    ) -> Option<Ended> {
        // One sign is asked at once.
        let turns = if acting.is_power_of_two() {
            std::slice::from_ref(&acting)
        } else {
            turns
        };
        for asked in turns {
            for number in numbers(asked & acting) {
                let bit: Signs = 1 << number;
                let here = stand.parts.get(part);
                if here.at_end & bit != 0 {
                    return Some(self.obey(stand, number, part));
                }
                if stand.laid & bit != 0 || here.not_at_end & bit != 0 {
                    continue;
                }
                let is_jump = self.hand.jumps & bit != 0;
                let crowded = self.hand.equal(number) & here.at_end != 0
                    || is_jump && !self.takes_jump(stand, part, number);
                let is_laid = !crowded
                    && self.is_first_of_equal(stand, number)
                    && !self.ends_too_early(stand, number);
                if is_laid {
                    self.begin_piece();
                    let ended = self.work.share(|| {
                        let ended = self.lay_last(stand, number, part, false);
                        ended.unwrap_or_else(|| {
                            let mut with = *stand;
                            with.lay(number, part + 1);
                            with.parts.of(part).at_end |= bit;
                            self.obey(&mut with, number, part)
                        })
                    });
                    if ended != Ended::All {
                        return Some(ended);
                    }
                }
                stand.parts.of(part).not_at_end |= bit;
            }
        }
        None
    }

    /// Forgets what another piece of the search has left: how much work a piece is must not hang on who has done the one before.
    fn begin_piece(&mut self) {
        if self.work.is_outside() {
            self.rest = None;
        }
    }

    /// Leaves the road at a segno where a part begins, if it stands there or may; the sections that begin with it are not entered. How it has
    /// ended when the road is led away, or nothing more is wanted.
    fn leave_at_segno(&mut self, stand: &mut Stand, counts: Counts, part: u8) -> Option<Ended> {
        let segno = stand.until?;
        let bit: Signs = 1 << segno;
        let mut with = Stand { counts, ..*stand };
        if stand.laid & bit != 0 {
            return (stand.at.get(segno) == part).then(|| self.obey(&mut with, segno, part));
        }
        // What is known of a barline stands with the part before it. To the first of all nobody walks.
        let before = stand.parts.of(part.checked_sub(1)?);
        if before.not_at_end & bit == 0 {
            before.not_at_end |= bit;
            if self.ends_too_early(stand, segno) {
                return None;
            }
            with.lay(segno, part);
            match self.obey(&mut with, segno, part) {
                Ended::All => {}
                ended => return Some(ended),
            }
        }
        None
    }

    /// Whether a sign is the first of the equal ones that are still in the hand: they are not told apart.
    fn is_first_of_equal(&self, stand: &Stand, number: u8) -> bool {
        let before = self.hand.equal(number) & ((1 << number) - 1);
        before & !stand.laid == 0
    }

    /// The roads that leave a part at a barline inside it, by one of these signs.
    fn leave_inside(&mut self, stand: &mut Stand, part: u8, loose: Signs) -> Ended {
        let here = stand.parts.get(part);
        let turns = *self
            .hand
            .turns(self.block(here).map_or(0, |block| block.around));
        let [.., jumps] = turns.others;
        let jumps = jumps & loose;
        let is_lost = jumps != 0 && self.is_lost_behind_jump(stand, part);
        let lost = if is_lost { jumps } else { 0 };
        // What is asked before it would have been obeyed there; a segno comes behind the barline.
        let mut before = 0;
        let leaving = self.hand.leaving;
        let [first, second, third, fines, to_codas, listed, others] = turns.all();
        let kinds = [
            first, second, third, fines, to_codas, listed, others, !leaving,
        ];
        // One sign is asked at once.
        let kinds: &[Signs] = if loose.is_power_of_two() {
            &[loose]
        } else {
            &kinds
        };
        for asked in kinds {
            for number in numbers(asked & loose) {
                let bit: Signs = 1 << number;
                let is_laid = here.not_inside & bit == 0
                    && lost & bit == 0
                    && !(self.ends_too_early(stand, number)
                        || stand.played & 1 << part == 0 && self.ends(stand, number))
                    && self.is_first_of_equal(stand, number);
                if is_laid {
                    self.begin_piece();
                    let ended = self.work.share(|| {
                        let ended = self.lay_last(stand, number, part, true);
                        ended.unwrap_or_else(|| {
                            let mut with = *stand;
                            with.part_at(part);
                            with.played |= 1 << part;
                            let front = with.parts.of(part);
                            front.not_inside |= loose;
                            front.not_at_end |= before;
                            front.arrived = here.arrived_next();
                            with.lay(number, part + 1);
                            if leaving & bit == 0 {
                                return self.obey(&mut with, number, part + 1);
                            }
                            with.parts.of(part).at_end = bit;
                            self.obey(&mut with, number, part)
                        })
                    });
                    if ended != Ended::All {
                        return ended;
                    }
                }
                before |= bit;
            }
        }
        Ended::All
    }

    /// Goes on to a part, over the endings that are not played now; `None` beyond the board. Where the road may be left at a segno and other
    /// sections hold that part, `before` becomes the counts before these were entered.
    fn go_on(&self, stand: &mut Stand, mut part: u8, before: &mut Option<Counts>) -> Option<u8> {
        while part < stand.length {
            let here = stand.parts.get(part);
            let block = self.block(here)?;
            if stand.until.is_some() && stand.counts.active != block.around {
                stand.counts.leave_all_but(block.around);
                *before = Some(stand.counts);
            }
            self.come_to(&mut stand.counts, block, stand.returns);
            if stand.first.get(here.block) == part {
                if let Some(ending) = self.passed_over(&stand.counts, block) {
                    part = stand.first.get(ending.last + 1);
                    *before = None;
                    continue;
                }
            }
            return Some(part);
        }
        None
    }

    /// Leaves the sections that do not hold a block, and enters those that do, on a return with such repeats or on none.
    pub(super) fn come_to(&self, counts: &mut Counts, block: &Block, returns: Option<Repeats>) {
        if counts.active != block.around {
            counts.leave_all_but(block.around);
            self.enter(counts, block.around, returns);
        }
    }

    /// The ending that begins with a block and is not played now.
    pub(super) fn passed_over(&self, counts: &Counts, block: &Block) -> Option<Bracket> {
        let ending = self.shape.endings.get(usize::from(block.begins))?;
        let is_played = ending.passes & 1 << counts.pass.get(ending.section) != 0;
        (!is_played).then_some(*ending)
    }

    /// Lands at the start of a part; whether that is allowed.
    fn land(&self, stand: &mut Stand, part: u8) -> bool {
        let Some(block) = self.block(stand.parts.get(part)) else {
            return false;
        };
        stand.counts.leave_all_but(block.around);
        self.enter(&mut stand.counts, block.around, stand.returns);
        let over = self.shape.endings.get(usize::from(block.over));
        over.is_none_or(|ending| ending.passes & 1 << stand.counts.pass.get(ending.section) != 0)
    }

    /// Enters the sections around a part that are not active.
    fn enter(&self, counts: &mut Counts, around: u16, returns: Option<Repeats>) {
        for section in numbers(around & !counts.active) {
            let pass = self.entry(counts, section, returns);
            counts.reach(section, pass);
        }
        counts.active |= around;
    }

    /// The pass on which a section is entered now.
    fn entry(&self, counts: &Counts, section: u8, returns: Option<Repeats>) -> u8 {
        let Some(own) = self.shape.sections.get(usize::from(section)) else {
            return 1;
        };
        let on = (counts.reached.get(section) + 1).min(own.passes);
        match returns.map(|repeats| own.on_return.unwrap_or(repeats)) {
            Some(Repeats::Play) if !own.jump_closed => 1,
            _ => on,
        }
    }

    /// The block to which an end repeat leads back, while its section has passes left.
    pub(super) fn goes_back(&self, counts: &mut Counts, section: u8) -> Option<u8> {
        let own = self.shape.sections.get(usize::from(section))?;
        let pass = counts.pass.get(section);
        if pass == 0 || pass >= own.passes {
            return None;
        }
        for inner in numbers(own.inner) {
            *counts.pass.of(inner) = 0;
            *counts.reached.of(inner) = 0;
        }
        counts.active &= !own.inner;
        counts.reach(section, pass + 1);
        Some(own.start)
    }

    /// The road is led on by a sign at the end of a part, or by a segno where it begins. Where that leads to a sign in the hand, it is laid
    /// wherever it may stand.
    fn obey(&mut self, stand: &mut Stand, number: u8, part: u8) -> Ended {
        let bit: Signs = 1 << number;
        let is_jump = self.hand.jumps & bit != 0;
        let landing = if let Some(jump) = self.hand.jump(number) {
            stand.obeyed |= bit;
            self.use_up(stand, number, part);
            self.begin_leg(stand, number, jump);
            // Nothing that is still to come can spoil what is whole: there is no place to land at, and a Fine that is laid has ended the road.
            if !self.lands && self.is_played(stand) {
                return if self.work.spend() {
                    self.end(stand)
                } else {
                    Ended::TooMany
                };
            }
            if self.goes_by_legs(stand) {
                return self.work.share(|| self.go_by_legs(stand));
            }
            if self.is_in_vain(stand) {
                return Ended::All;
            }
            if matches!(
                self.hand.signs.get(usize::from(number)),
                Some(Sign::DaCapo(_))
            ) {
                return self.follow(stand, Next::Back(0));
            }
            self.hand.leads_to(number)
        } else if self.hand.to_codas & bit != 0 {
            stand.fine_is_armed |= stand.coda_arms_fine;
            self.hand.leads_to(number)
        } else {
            // A Fine or a segno: the end, or on to the coda.
            let Some(coda) = self.coda_after(stand, number) else {
                return self.end(stand);
            };
            stand.goes_on_to = None;
            stand.until = None;
            stand.fine_is_armed = true;
            Some(coda)
        };
        let Some(landing) = landing else {
            return Ended::All;
        };
        if stand.laid & 1 << landing != 0 {
            let to = stand.at.get(landing);
            // A D.S. leads back, a To Coda on, and so does what is not the end.
            return if is_jump == (to <= part) {
                self.follow(stand, Next::Landing(to))
            } else {
                Ended::All
            };
        }
        // A segno is left where its part begins, and the coda may be inside that part.
        let sign = self.hand.signs.get(usize::from(number));
        let is_segno = matches!(sign, Some(Sign::Segno(_)));
        let (from, to) = if is_jump {
            (0, part + 1)
        } else {
            (part + u8::from(!is_segno), stand.length)
        };
        let bit: Signs = 1 << landing;
        for at in from..to {
            let before = at.checked_sub(1).map(|before| stand.parts.get(before));
            let is_here = is_segno && at == part;
            if !is_here && before.is_none_or(|before| before.not_at_end & bit == 0) {
                let mut with = *stand;
                with.lay(landing, at);
                match self.follow(&mut with, Next::Landing(at)) {
                    Ended::All => {}
                    ended => return ended,
                }
            }
            if stand.length < self.most && stand.parts.get(at).not_inside & bit == 0 {
                let mut with = *stand;
                with.part_at(at);
                with.lay(landing, at + 1);
                match self.follow(&mut with, Next::Landing(at + 1)) {
                    Ended::All => {}
                    ended => return ended,
                }
            }
        }
        Ended::All
    }

    /// A jump that is obeyed on the passes that it names is obeyed once on each (rulebook 4.9).
    fn use_up(&self, stand: &mut Stand, number: u8, part: u8) {
        let block = self.block(stand.parts.get(part));
        let around = block.map_or(0, |block| block.around);
        let [_, _, listed, _] = self.hand.turns(around).others;
        if listed & 1 << number != 0 {
            *stand.used.of(number) |= 1 << stand.counts.innermost(around);
        }
        if self.times_left(stand, number) == 0 {
            stand.spent |= 1 << number;
        }
    }

    /// A jump leaves all sections, and what it arms takes the place of what the last one has armed.
    pub(super) fn begin_leg(&self, stand: &mut Stand, number: u8, jump: &Jump) {
        stand.counts.leave_all_but(0);
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
        stand.until = self.hand.until(number);
        stand.goes_on_to = self.hand.goes_on_to(number);
    }
}
