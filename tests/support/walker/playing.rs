//! Playing the road. From the chapters "leaving a measure", "jumps", "passes on a return", "reading" and "what a step carries".

use fingerpost::{ArmedInRepeat, Cause, Jump, JumpInRepeat, Passes, Reading, Repeats, Sign, Terms};

use super::road::Road;
use super::sections::Sections;
use super::{PlainStep, by_count};

/// The part to which the road comes, how it comes there, and the mark that sent it.
type Next = (usize, Cause, Option<usize>);

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
        Playing {
            road,
            sections,
            reading: terms.reading,
            omit_repeats: terms.omit_repeats,
            tops: sections.list.iter().map(|s| s.passes(open_plays)).collect(),
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
        }
    }

    /// The steps, at most so many; or the rule against which the road runs.
    pub(super) fn play(mut self, limit: u64) -> Result<Vec<PlainStep>, &'static str> {
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
                    Some(self.go_to_coda(id, label)?)
                }
                Move::Then(id, label) => Some(self.then_coda(id, label)?),
                Move::Back(id) => self.go_back(id)?,
                Move::Jump(id, jump) => self.jump(id, jump)?,
                Move::On => self.come_to(part + 1, None)?,
            };
        }
        Ok(steps)
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

        // Marks whose arrivals name this one come before all others: Fine, To Coda, jump.
        for (_, mark) in leaves() {
            if matches!(mark.sign, Sign::Fine(fine) if named(&fine.arrivals)) {
                return Move::Stop;
            }
        }
        for (id, mark) in leaves() {
            if let Sign::ToCoda(to) = mark.sign {
                if named(&to.arrivals) {
                    return Move::Coda(id, to.label.as_deref());
                }
            }
        }
        for (id, mark) in leaves() {
            if let Some(jump) = mark.jump() {
                if self
                    .arrivals_of(jump, part)
                    .is_some_and(|l| l.contains(arrival))
                {
                    return Move::Jump(id, jump);
                }
            }
        }

        // Where an armed mark acts as soon as it is met, it comes before the end repeat.
        let at_once = self.reading.armed_in_repeat == ArmedInRepeat::FirstArrival;
        let last_pass = self.on_last_pass(part);
        if at_once {
            if let Some(found) = self.armed_fine(part).or_else(|| self.armed_to_coda(part)) {
                return found;
            }
        }

        // The end repeat, while its section has passes left.
        if let Some(id) = self.road.end_repeat(part) {
            let section = self.sections.section_of[id].expect("an end repeat has a section");
            if self.pass[section].is_some_and(|pass| pass < self.tops[section]) {
                return Move::Back(id);
            }
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
            if to.arrivals.is_some() {
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
        for (id, mark) in leaves() {
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
        for (id, mark) in leaves() {
            let Some(jump) = mark.jump() else { continue };
            if jump.arrivals.is_some() || jump.passes.is_some() {
                continue;
            }
            let in_time = last_pass || self.reading.jump_in_repeat == JumpInRepeat::FirstArrival;
            if !self.obeyed[id] && in_time {
                return Move::Jump(id, jump);
            }
        }
        Move::On
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
        self.sections.around[part].iter().all(|&section| {
            let top = self.tops[section];
            let last = match ending {
                Some(id) if self.sections.section_of[id] == Some(section) => {
                    let passes = self.road.marks[id].passes();
                    passes.and_then(|passes| passes.highest_up_to(top))
                }
                _ => Some(top),
            };
            last.is_some() && self.pass[section] == last
        })
    }

    /// Back to the start of the section of an end repeat.
    fn go_back(&mut self, end_repeat: usize) -> Result<Option<Next>, &'static str> {
        let list = &self.sections.list;
        let section = self.sections.section_of[end_repeat].expect("an end repeat has a section");
        let pass = self.pass[section].map_or(1, |pass| pass + 1);
        self.pass[section] = Some(pass);
        self.reached[section] = self.reached[section].max(pass);
        // The counts of the sections inside it start over.
        for inner in 0..list.len() {
            if inner != section && list[section].encloses(&list[inner]) {
                self.pass[inner] = None;
                self.reached[inner] = 0;
            }
        }
        self.come_to(list[section].first, Some((Cause::Repeat, Some(end_repeat))))
    }

    /// A D.C. or a D.S. is obeyed: a new leg begins.
    fn jump(&mut self, id: usize, jump: &'b Jump) -> Result<Option<Next>, &'static str> {
        if jump.arrivals.is_none() && jump.passes.is_some() {
            self.used
                .push((id, self.innermost_pass(self.road.marks[id].last)));
        }
        self.obeyed[id] = true;
        self.leg += 1;
        self.leg_repeats = jump.repeats;
        self.arm(jump);
        self.pass.fill(None);
        let label = jump.label.as_deref();
        if matches!(self.road.marks[id].sign, Sign::DaCapo(_)) {
            return self.come_to(0, Some((Cause::DaCapo, Some(id))));
        }
        let segno = self.road.segno(label).ok_or("segno-missing")?;
        self.land(segno)?;
        Ok(Some((segno, Cause::DalSegno, Some(id))))
    }

    /// On to the coda from the Fine or the segno that the jump named: from then on every Fine stops, and the segno no longer does.
    fn then_coda(&mut self, id: usize, label: Label<'b>) -> Result<Next, &'static str> {
        self.armed.then = None;
        self.armed.segno = None;
        self.armed.fine = true;
        self.go_to_coda(id, label)
    }

    fn go_to_coda(&mut self, id: usize, label: Label<'b>) -> Result<Next, &'static str> {
        let coda = self.road.coda(label).ok_or("coda-missing")?;
        self.land(coda)?;
        Ok((coda, Cause::ToCoda, Some(id)))
    }

    /// Lands at a segno or a coda. An ending there must list the present pass of its section.
    fn land(&mut self, part: usize) -> Result<(), &'static str> {
        self.leave_all_but(part);
        self.enter(part);
        match self.sections.ending_over[part] {
            Some(id) if !self.listed(id) => Err("landing-in-wrong-ending"),
            _ => Ok(()),
        }
    }

    /// Comes to a part by going on or, when it is said what sends the road there, by an end repeat or from the beginning: an ending that
    /// does not list the present pass of its section is passed over. None at the end of the road.
    fn come_to(
        &mut self,
        mut part: usize,
        sent: Option<(Cause, Option<usize>)>,
    ) -> Result<Option<Next>, &'static str> {
        let mut passed = None;
        while let Some(here) = self.road.parts.get(part) {
            self.leave_all_but(part);
            let lacks_pass =
                |&&id: &&usize| self.road.marks[id].passes().is_some() && !self.listed(id);
            let over = here.lands.iter().find(lacks_pass).copied();
            let goes_on = sent.is_none() || passed.is_some();
            if goes_on && over.is_none() {
                if let Some(segno) = self.armed_segno(part) {
                    // The leg is left at the start of the segno, before anything is entered there: the road stops, or goes on to the coda.
                    let then = self.armed.then;
                    return then.map(|label| self.then_coda(segno, label)).transpose();
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
        self.road.marks[ending]
            .passes()
            .is_some_and(|passes| passes.contains(pass))
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
                self.pass[section] = Some(pass);
                self.reached[section] = self.reached[section].max(pass);
            }
        }
    }

    fn pass_on_entering(&self, id: usize) -> u32 {
        let section = &self.sections.list[id];
        let next = self.tops[id].min(self.reached[id] + 1);
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
