//! Playing the road. From the chapters "leaving a measure", "jumps", "passes on a return", "reading" and "what a step carries".

use fingerpost::{ArmedInRepeat, Cause, Jump, JumpInRepeat, Passes, Reading, Repeats, Sign, Terms};

use super::mistaken::{Beliefs, Mistake};
use super::road::Road;
use super::sections::Sections;
use super::{PlainStep, by_count};

/// The part to which the road comes, how it comes there, and the mark that sent it.
pub(super) type Next = (usize, Cause, Option<usize>);

/// A label; none is a label of its own.
pub(super) type Label<'b> = Option<&'b str>;

/// The state of one walk.
pub(super) struct Playing<'w, 'b> {
    pub(super) road: &'w Road<'b>,
    pub(super) sections: &'w Sections,
    pub(super) reading: Reading,
    omit_repeats: bool,
    /// How many passes each section has.
    pub(super) tops: Vec<u32>,
    /// The same as it is written, whatever a learner believes.
    pub(super) written: Vec<u32>,
    /// The present pass of each section that is active.
    pub(super) pass: Vec<Option<u32>>,
    /// The highest pass each section has reached.
    reached: Vec<u32>,
    /// How often each part has sounded; so often its end has been reached.
    pub(super) sounded: Vec<u64>,
    pub(super) leg: u32,
    /// What the jump that began this leg says about repeats.
    leg_repeats: Option<Repeats>,
    pub(super) armed: Armed<'b>,
    /// For each mark, whether it is a To Coda that the last jump meant.
    pub(super) meant: Vec<bool>,
    /// For each mark, whether it is a To Coda or a jump that has been obeyed.
    pub(super) obeyed: Vec<bool>,
    /// Jumps with passes, and the pass on which each was obeyed.
    used: Vec<(usize, u32)>,
    /// What a learner believes that is not so; nothing on the right road.
    pub(super) beliefs: Beliefs<'w>,
}

/// What the last jump has armed, beside To Codas.
#[derive(Default)]
pub(super) struct Armed<'b> {
    pub(super) fine: bool,
    /// The segno at whose start the leg is left.
    pub(super) segno: Option<Label<'b>>,
    /// The coda to which the road goes on from the armed place.
    pub(super) then: Option<Label<'b>>,
    /// Whether every Fine is armed once a To Coda has been obeyed.
    pub(super) fine_from_coda: bool,
}

/// What the marks at the end of a part ask for.
pub(super) enum Move<'b> {
    Stop,
    /// To the coda of this label, sent by this mark.
    Coda(usize, Label<'b>),
    /// To the coda of this label from the place that the jump named.
    Then(usize, Label<'b>),
    Back(usize),
    Jump(usize, &'b Jump),
    On,
}

impl<'w, 'b> Playing<'w, 'b> {
    pub(super) fn new(
        road: &'w Road<'b>,
        sections: &'w Sections,
        terms: &Terms,
    ) -> Playing<'w, 'b> {
        let open_plays = terms.open_plays.unwrap_or(2);
        let count = sections.list.len();
        let written: Vec<u32> = sections.list.iter().map(|s| s.passes(open_plays)).collect();
        Playing {
            road,
            sections,
            reading: terms.reading,
            omit_repeats: terms.omit_repeats,
            tops: written.clone(),
            written,
            pass: vec![None; count],
            reached: vec![0; count],
            sounded: vec![0; road.parts.len()],
            leg: 1,
            leg_repeats: None,
            // In the first leg nothing is armed.
            armed: Armed::default(),
            meant: vec![false; road.marks.len()],
            obeyed: vec![false; road.marks.len()],
            used: Vec::new(),
            beliefs: Beliefs::new(&[], count),
        }
    }

    /// The same walk with some rules changed.
    pub(super) fn believing(mut self, mistakes: &'w [Mistake]) -> Playing<'w, 'b> {
        self.beliefs = Beliefs::new(mistakes, self.sections.list.len());
        self.count_wrongly();
        self
    }

    /// The steps, at most so many; or the rule against which the road runs.
    pub(super) fn play(self, limit: u64) -> Result<Vec<PlainStep>, &'static str> {
        Ok(self.play_noting(limit)?.0)
    }

    /// The same, and the To Codas and jumps obeyed, as markings.
    pub(super) fn play_noting(
        mut self,
        limit: u64,
    ) -> Result<(Vec<PlainStep>, Vec<u32>), &'static str> {
        let mut steps = Vec::new();
        let mut here = self.come_to(0, Some((Cause::Start, None)))?;
        while let Some((part, cause, sender)) = here {
            if steps.len() as u64 == limit {
                break;
            }
            self.sounded[part] += 1;
            steps.push(self.step(part, cause, sender));
            here = match self.decide(part) {
                Move::Stop => None,
                Move::Coda(id, label) => {
                    self.obeyed[id] = true;
                    // After al Coda every Fine is armed from the moment a To Coda is obeyed.
                    self.armed.fine |= self.armed.fine_from_coda;
                    self.go_to_coda(id, label)?
                }
                Move::Then(id, label) => self.then_coda(id, label)?,
                Move::Back(id) => self.go_back(id)?,
                Move::Jump(id, jump) => self.jump(id, jump)?,
                Move::On => self.come_to(part + 1, None)?,
            };
        }
        let marks = self.road.marks.iter().zip(&self.obeyed);
        let obeyed = marks.filter(|(_, obeyed)| **obeyed);
        Ok((steps, obeyed.map(|(mark, _)| mark.index).collect()))
    }

    /// What is obeyed at the end of a part, in the order in which the marks are asked.
    fn decide(&self, part: usize) -> Move<'b> {
        let arrival = u32::try_from(self.sounded[part]).unwrap_or(u32::MAX);
        let named = |list: &Option<Passes>| list.as_ref().is_some_and(|l| l.contains(arrival));
        let leaves = || {
            let ids = self.road.parts[part].leaves.iter();
            ids.map(|&id| (id, &self.road.marks[id]))
        };
        if self.road.parts[part].leaves.is_empty() {
            return Move::On;
        }
        if self.stops_at_any_fine(part, Mistake::FineAtOnce) {
            return Move::Stop;
        }

        // Marks whose arrivals name this one come before all others: Fine, To Coda, jump.
        for (_, mark) in leaves() {
            let stops = matches!(mark.sign, Sign::Fine(fine) if named(&fine.arrivals));
            if stops && !self.believes(Mistake::FineIgnored) {
                return Move::Stop;
            }
        }
        for (id, mark) in leaves() {
            if let Sign::ToCoda(to) = mark.sign {
                if named(&to.arrivals) && !self.believes(Mistake::ToCodaIgnored) {
                    return Move::Coda(id, to.label.as_deref());
                }
            }
        }
        let obeys_jumps = !self.believes(Mistake::JumpIgnored);
        for (id, mark) in leaves().filter(|_| obeys_jumps) {
            if let Some(jump) = mark.jump() {
                if self
                    .arrivals_of(jump, part)
                    .is_some_and(|l| l.contains(arrival))
                {
                    return Move::Jump(id, jump);
                }
            }
        }
        if let Some((id, label)) = self.hasty_to_coda(part) {
            return Move::Coda(id, label);
        }

        // Where an armed mark acts as soon as it is met, it comes before the end repeat.
        let at_once = self.reading.armed_in_repeat == ArmedInRepeat::FirstArrival;
        let last_pass = self.on_last_pass(part);
        if at_once {
            if let Some(found) = self.armed_fine(part).or_else(|| self.armed_to_coda(part)) {
                return found;
            }
        }

        let back = self.back_by_end_repeat(part);
        if let Some(found) = back.or_else(|| self.too_soon_after_repeat(part)) {
            return found;
        }

        // An armed Fine, then an armed To Coda, on the last pass.
        if last_pass {
            if let Some(found) = self.armed_fine(part) {
                return found;
            }
        }
        for (id, mark) in leaves() {
            let Sign::ToCoda(to) = mark.sign else {
                continue;
            };
            if to.arrivals.is_some() || self.believes(Mistake::ToCodaIgnored) {
                continue;
            }
            let obeyed = if by_count(self.reading.arming) {
                // By count: at its second arrival, whatever is armed, and never else.
                arrival == 2
            } else if self.road.has_jump() {
                self.meant[id] && last_pass
            } else {
                // On a board without any jump, a To Coda inside a section is obeyed on that section's last pass.
                !self.sections.around[part].is_empty() && last_pass
            };
            if obeyed {
                return Move::Coda(id, to.label.as_deref());
            }
        }

        // A jump with passes goes before the plain one.
        for (id, mark) in leaves().filter(|_| obeys_jumps) {
            let Some(jump) = mark.jump() else { continue };
            if self.arrivals_of(jump, part).is_some() {
                continue;
            }
            if let Some(passes) = &jump.passes {
                // Once on each pass listed, of the innermost section.
                let pass = self.innermost_pass(part);
                if passes.contains(pass) && !self.used.contains(&(id, pass)) {
                    return Move::Jump(id, jump);
                }
            }
        }
        for (id, mark) in leaves().filter(|_| obeys_jumps) {
            let Some(jump) = mark.jump() else { continue };
            if jump.arrivals.is_some() || jump.passes.is_some() {
                continue;
            }
            let in_time = last_pass || self.reading.jump_in_repeat == JumpInRepeat::FirstArrival;
            if !self.obeyed[id] && in_time {
                return Move::Jump(id, jump);
            }
        }
        if let Some((id, jump)) = self.once_more(part, last_pass) {
            return Move::Jump(id, jump);
        }
        Move::On
    }

    /// A ticket that is never used up: what has sent back once sends back whenever it is met, one without a list as late as the first time.
    fn once_more(&self, part: usize, last_pass: bool) -> Option<(usize, &'b Jump)> {
        if !self.believes(Mistake::JumpForEver) {
            return None;
        }
        let early = self.reading.jump_in_repeat == JumpInRepeat::FirstArrival;
        let leaves = self.road.parts[part].leaves.iter();
        let mut done = leaves.filter(|&&id| self.obeyed[id]);
        done.find_map(|&id| {
            let jump = self.road.marks[id].jump()?;
            let listed = jump.arrivals.is_some() || jump.passes.is_some();
            (listed || last_pass || early).then_some((id, jump))
        })
    }

    /// The end repeat, while its section has passes left.
    fn back_by_end_repeat(&self, part: usize) -> Option<Move<'b>> {
        let id = self.road.end_repeat(part)?;
        let section = self.sections.section_of[id].expect("an end repeat has a section");
        let remain = self.pass[section].is_some_and(|pass| pass < self.tops[section]);
        (remain && !self.believes(Mistake::RepeatIgnored)).then_some(Move::Back(id))
    }

    /// A Fine or a To Coda, for those who obey it too soon and make the end repeat first.
    fn too_soon_after_repeat(&self, part: usize) -> Option<Move<'b>> {
        if self.stops_at_any_fine(part, Mistake::FineAfterRepeat) {
            return Some(Move::Stop);
        }
        let (id, label) = self.hasty_after_repeat(part)?;
        Some(Move::Coda(id, label))
    }

    /// The arrivals at which a jump is obeyed. They outrank its passes; and outside every section its passes are arrivals.
    fn arrivals_of(&self, jump: &'b Jump, part: usize) -> Option<&'b Passes> {
        let outside = self.sections.around[part].is_empty();
        let passes = jump.passes.as_ref().filter(|_| outside);
        jump.arrivals.as_ref().or(passes)
    }

    /// Whether this is the last pass of every section around the end of a part: inside an ending of a section, the last of that
    /// ending's passes.
    fn on_last_pass(&self, part: usize) -> bool {
        let ending = self.sections.ending_over[part];
        let mut around = self.sections.around[part].iter();
        around.all(|&section| {
            if self.passes_dots_by(section) {
                return true;
            }
            let top = self.tops[section];
            match ending {
                Some(id) if self.sections.section_of[id] == Some(section) => {
                    let passes = self.road.marks[id].passes();
                    let last =
                        passes.and_then(|passes| passes.highest_up_to(self.written[section]));
                    if self.beliefs.none() {
                        last.is_some() && self.pass[section] == last
                    } else {
                        last.is_some_and(|last| self.past_in_ending(section, last))
                    }
                }
                _ => self.pass[section] == Some(top),
            }
        })
    }

    /// Back to the start of the section of an end repeat.
    fn go_back(&mut self, end_repeat: usize) -> Result<Option<Next>, &'static str> {
        let list = &self.sections.list;
        let section = self.sections.section_of[end_repeat].expect("an end repeat has a section");
        let target = self.end_repeat_target(list[section].first);
        // A section that the road leaves for a wrong place goes on to its next pass when it is entered again.
        if list[section].holds(target) {
            let pass = self.pass[section].map_or(1, |pass| pass + 1);
            self.is_on(section, pass);
        }
        // The counts of the sections inside it start over.
        for inner in 0..list.len() {
            if inner != section && list[section].encloses(&list[inner]) {
                self.pass[inner] = None;
                self.reached[inner] = 0;
                self.beliefs.starts_over(inner);
            }
        }
        self.send(target, Cause::Repeat, end_repeat)
    }

    fn is_on(&mut self, section: usize, pass: u32) {
        self.pass[section] = Some(pass);
        self.reached[section] = self.reached[section].max(pass);
        self.beliefs.is_on(section, pass);
    }

    /// A D.C. or a D.S. is obeyed: a new leg begins.
    fn jump(&mut self, id: usize, jump: &'b Jump) -> Result<Option<Next>, &'static str> {
        if self.believes(Mistake::StopsAtJump) {
            return Ok(None);
        }
        if jump.arrivals.is_none() && jump.passes.is_some() {
            self.used
                .push((id, self.innermost_pass(self.road.marks[id].last)));
        }
        self.obeyed[id] = true;
        self.leg += 1;
        self.leg_repeats = jump.repeats;
        self.arm(jump);
        self.pass.fill(None);
        self.beliefs.new_leg();
        if let Some((to_coda, label)) = self.straight() {
            self.obeyed[to_coda] = true;
            self.armed.fine |= self.armed.fine_from_coda;
            return self.go_to_coda(to_coda, label);
        }
        if let Some(label) = self
            .armed
            .then
            .filter(|_| self.believes(Mistake::StraightToCoda))
        {
            return self.then_coda(id, label);
        }
        let label = jump.label.as_deref();
        if matches!(self.road.marks[id].sign, Sign::DaCapo(_)) {
            let target = self.da_capo_target(id);
            return self.send(target, Cause::DaCapo, id);
        }
        let segno = self.road.segno(label).ok_or("segno-missing")?;
        let segno = if self.believes(Mistake::DalSegnoAsDaCapo) {
            0
        } else {
            segno
        };
        self.land(segno, Cause::DalSegno, id)
    }

    /// On to the coda from the Fine or the segno that the jump named: from then on every Fine stops, and the segno no longer does.
    fn then_coda(&mut self, id: usize, label: Label<'b>) -> Result<Option<Next>, &'static str> {
        self.armed.then = None;
        self.armed.segno = None;
        self.armed.fine = true;
        self.go_to_coda(id, label)
    }

    fn go_to_coda(&mut self, id: usize, label: Label<'b>) -> Result<Option<Next>, &'static str> {
        let coda = self.road.coda(label).ok_or("coda-missing")?;
        self.land(coda, Cause::ToCoda, id)
    }

    /// Lands at a segno or a coda. An ending there must list the present pass of its section.
    fn land(
        &mut self,
        part: usize,
        cause: Cause,
        sender: usize,
    ) -> Result<Option<Next>, &'static str> {
        if !self.beliefs.none() {
            let part = self.off_by_one(part);
            return self.send(part, cause, sender);
        }
        self.leave_all_but(part);
        self.enter(part);
        match self.sections.ending_over[part] {
            Some(id) if !self.listed(id) => Err("landing-in-wrong-ending"),
            _ => Ok(Some((part, cause, Some(sender)))),
        }
    }

    /// Comes to a part by going on or, when it is said what sends the road there, by an end repeat or from the beginning: an ending that
    /// does not list the present pass of its section is passed over. None at the end of the road.
    pub(super) fn come_to(
        &mut self,
        mut part: usize,
        sent: Option<(Cause, Option<usize>)>,
    ) -> Result<Option<Next>, &'static str> {
        let mut passed = None;
        while let Some(here) = self.road.parts.get(part) {
            self.leave_all_but(part);
            let lacks_pass =
                |&&id: &&usize| self.road.marks[id].passes().is_some() && !self.listed(id);
            let begins_over = here.lands.iter().find(lacks_pass).copied();
            // A learner may be sent into the midst of an ending.
            let into = sent.is_some() && passed.is_none() && !self.beliefs.none();
            let amid = self.sections.ending_over[part].filter(|id| into && !self.listed(*id));
            let over = begins_over.or(amid);
            let goes_on = sent.is_none() || passed.is_some();
            if goes_on && over.is_none() {
                if let Some(segno) = self.armed_segno(part) {
                    // The leg is left at the start of the segno, before anything is entered there: the road stops, or goes on to the coda.
                    let then = self.armed.then;
                    return then.map_or(Ok(None), |label| self.then_coda(segno, label));
                }
                if let Some((back, start)) = self.turn_back(part) {
                    return self.send(back, Cause::Repeat, start);
                }
            }
            self.enter(part);
            let Some(id) = over else {
                // What sent the road stays the cause, also over an ending.
                let on = passed.map_or((Cause::On, None), |_| (Cause::PastEnding, passed));
                let (cause, sender) = sent.unwrap_or(on);
                return Ok(Some((part, cause, sender)));
            };
            passed = passed.or(over);
            part = self.road.marks[id].last + 1;
        }
        Ok(None)
    }

    /// Whether an ending lists the present pass of its section, or the one on which the section is about to be entered.
    fn listed(&self, ending: usize) -> bool {
        let section = self.sections.section_of[ending].expect("an ending has a section");
        let pass = self.pass[section].unwrap_or_else(|| self.pass_on_entering(section));
        // Where the brackets are not read, all are played.
        let Some(read) = self.bracket_pass(section, pass) else {
            return true;
        };
        let passes = self.road.marks[ending].passes();
        passes.is_some_and(|passes| passes.contains(read))
    }

    /// A section is active until the road goes beyond it.
    fn leave_all_but(&mut self, part: usize) {
        for (section, pass) in self.sections.list.iter().zip(&mut self.pass) {
            if !section.holds(part) {
                *pass = None;
            }
        }
    }

    /// Enters the sections around a part that are not active, outermost first.
    fn enter(&mut self, part: usize) {
        for &section in &self.sections.around[part] {
            if self.pass[section].is_none() {
                let pass = self.pass_on_entering(section);
                self.is_on(section, pass);
            }
        }
    }

    /// The pass after the highest that a section has reached, as far as it has more.
    pub(super) fn next_pass(&self, id: usize) -> u32 {
        self.tops[id].min(self.reached[id] + 1)
    }

    fn pass_on_entering(&self, id: usize) -> u32 {
        if let Some(pass) = self.believed_pass(id) {
            return pass;
        }
        let section = &self.sections.list[id];
        let next = self.next_pass(id);
        // Sections whose endings are closed by a jump go on counting whatever is said about repeats.
        if section.jump_closed {
            return next;
        }
        // Who leaves repeats out plays every section on its last pass.
        if self.omit_repeats {
            return self.tops[id];
        }
        if self.leg == 1 {
            return next;
        }
        // On a return the section's own end repeat is asked first, then the jump, then the reading.
        let repeats = section.on_return.or(self.leg_repeats);
        match repeats.unwrap_or(self.reading.repeats_on_return) {
            Repeats::Play => 1,
            Repeats::Skip => next,
        }
    }

    /// The pass of the innermost section around a part; 1 in no section.
    pub(super) fn innermost_pass(&self, part: usize) -> u32 {
        let innermost = self.sections.around[part].last();
        innermost
            .and_then(|&section| self.pass[section])
            .unwrap_or(1)
    }
}
