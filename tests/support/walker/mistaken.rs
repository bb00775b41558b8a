//! A learner's misunderstandings: one rule changed, all others kept. From the page that names and defines them, and from its text alone.

use fingerpost::{Cause, Sign};

use super::playing::{Label, Next, Playing};

/// A changed rule. The two directions of a landing missed by one measure are one misunderstanding with one name, and so are the two ways
/// to play a section too few times, the two to play an octave sign at the wrong times, and the two to obey a Fine or a To Coda too soon:
/// at once, or when the end repeat at its barline has been made.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) enum Mistake {
    RepeatIgnored,
    RepeatOnceTooOften,
    OnlyTwice,
    OnceTooFew,
    BackToTheBeginning,
    StartRepeatGoesBack,
    FirstEndingAgain,
    SecondEndingAtOnce,
    EndingsInARow,
    JumpIgnored,
    DalSegnoAsDaCapo,
    DaCapoAsDalSegno,
    StopsAtJump,
    FineAtOnce,
    FineAfterRepeat,
    FineIgnored,
    ToCodaAtOnce,
    ToCodaAfterRepeat,
    ToCodaIgnored,
    StraightToCoda,
    RepeatsAfterJump,
    RepeatsLeftOut,
    JumpForEver,
    LandingLate,
    LandingEarly,
    OctaveAtOtherTimes,
    OctaveEveryTime,
    OctaveNeverUndone,
    OctaveInTheWrongHand,
}

impl Mistake {
    /// All, in the order of the page.
    pub(crate) const ALL: [Mistake; 29] = [
        Self::RepeatIgnored,
        Self::RepeatOnceTooOften,
        Self::OnlyTwice,
        Self::OnceTooFew,
        Self::BackToTheBeginning,
        Self::StartRepeatGoesBack,
        Self::FirstEndingAgain,
        Self::SecondEndingAtOnce,
        Self::EndingsInARow,
        Self::JumpIgnored,
        Self::DalSegnoAsDaCapo,
        Self::DaCapoAsDalSegno,
        Self::StopsAtJump,
        Self::FineAtOnce,
        Self::FineAfterRepeat,
        Self::FineIgnored,
        Self::ToCodaAtOnce,
        Self::ToCodaAfterRepeat,
        Self::ToCodaIgnored,
        Self::StraightToCoda,
        Self::RepeatsAfterJump,
        Self::RepeatsLeftOut,
        Self::JumpForEver,
        Self::LandingLate,
        Self::LandingEarly,
        Self::OctaveAtOtherTimes,
        Self::OctaveEveryTime,
        Self::OctaveNeverUndone,
        Self::OctaveInTheWrongHand,
    ];

    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::RepeatIgnored => "repeat-ignored",
            Self::RepeatOnceTooOften => "repeat-once-too-often",
            Self::OnlyTwice | Self::OnceTooFew => "too-few-times",
            Self::BackToTheBeginning => "back-to-the-beginning",
            Self::StartRepeatGoesBack => "start-repeat-goes-back",
            Self::FirstEndingAgain => "first-ending-again",
            Self::SecondEndingAtOnce => "second-ending-at-once",
            Self::EndingsInARow => "endings-in-a-row",
            Self::JumpIgnored => "jump-ignored",
            Self::DalSegnoAsDaCapo => "dal-segno-as-da-capo",
            Self::DaCapoAsDalSegno => "da-capo-as-dal-segno",
            Self::StopsAtJump => "stops-at-jump",
            Self::FineAtOnce | Self::FineAfterRepeat => "fine-on-the-first-leg",
            Self::FineIgnored => "fine-ignored",
            Self::ToCodaAtOnce | Self::ToCodaAfterRepeat => "to-coda-on-the-first-leg",
            Self::ToCodaIgnored => "to-coda-ignored",
            Self::StraightToCoda => "straight-to-coda",
            Self::RepeatsAfterJump => "repeats-after-jump",
            Self::RepeatsLeftOut => "repeats-left-out",
            Self::JumpForEver => "jump-for-ever",
            Self::LandingLate | Self::LandingEarly => "landing-one-off",
            Self::OctaveAtOtherTimes | Self::OctaveEveryTime => "octave-at-the-wrong-time",
            Self::OctaveNeverUndone => "octave-never-undone",
            Self::OctaveInTheWrongHand => "octave-in-the-wrong-hand",
        }
    }

    /// Whether it changes what is said of octaves, and no order.
    pub(crate) fn is_of_octaves(self) -> bool {
        matches!(
            self,
            Self::OctaveAtOtherTimes
                | Self::OctaveEveryTime
                | Self::OctaveNeverUndone
                | Self::OctaveInTheWrongHand
        )
    }
}

/// What a learner believes, and what a walk must keep in mind for it.
pub(super) struct Beliefs<'m> {
    mistakes: &'m [Mistake],
    /// The start repeats that have been taken as an order to go back.
    turned: Vec<usize>,
    /// The latest pass in this leg of each section that has been met in it.
    latest: Vec<Option<u32>>,
    /// Whether a changed rule has sent the road in this leg.
    astray: bool,
    /// The shifts of the right and of the left hand, where octave signs held last.
    stuck: (i8, i8),
}

impl<'m> Beliefs<'m> {
    pub(super) fn new(mistakes: &'m [Mistake], sections: usize) -> Beliefs<'m> {
        Beliefs {
            mistakes,
            turned: Vec::new(),
            latest: vec![None; sections],
            astray: false,
            stuck: (0, 0),
        }
    }

    pub(super) fn has(&self, mistake: Mistake) -> bool {
        self.mistakes.contains(&mistake)
    }

    /// Whether nothing is believed that is not so.
    pub(super) fn none(&self) -> bool {
        self.mistakes.is_empty()
    }

    /// A new leg: what was met in the last one no longer counts.
    pub(super) fn new_leg(&mut self) {
        self.latest.fill(None);
        self.astray = false;
    }

    pub(super) fn is_on(&mut self, section: usize, pass: u32) {
        self.latest[section] = Some(pass);
    }

    pub(super) fn starts_over(&mut self, section: usize) {
        self.latest[section] = None;
    }

    /// The shifts of a step, given the sum for each hand where some octave sign holds for it.
    pub(super) fn shifts(&mut self, right: Option<i8>, left: Option<i8>) -> (i8, i8) {
        if !self.has(Mistake::OctaveNeverUndone) {
            return (right.unwrap_or(0), left.unwrap_or(0));
        }
        self.stuck = (right.unwrap_or(self.stuck.0), left.unwrap_or(self.stuck.1));
        self.stuck
    }
}

impl<'b> Playing<'_, 'b> {
    pub(super) fn believes(&self, mistake: Mistake) -> bool {
        self.beliefs.has(mistake)
    }

    /// A changed rule has sent the road.
    fn stray(&mut self) {
        self.beliefs.astray = true;
    }

    /// The passes that a learner counts: one more for each section that an end repeat closes, or of three or more only two, or one less.
    pub(super) fn count_wrongly(&mut self) {
        for id in 0..self.tops.len() {
            let ends = !self.sections.list[id].ends.is_empty();
            let written = self.written[id];
            self.tops[id] = if self.is_cut_short(id) {
                let once_less = self.believes(Mistake::OnceTooFew);
                if once_less { written - 1 } else { 2 }
            } else {
                written + u32::from(ends && self.believes(Mistake::RepeatOnceTooOften))
            };
        }
    }

    /// Whether a section is played too few times: an end repeat closes it and no jump one of its endings.
    fn is_cut_short(&self, id: usize) -> bool {
        let section = &self.sections.list[id];
        let believes = self.believes(Mistake::OnlyTwice) || self.believes(Mistake::OnceTooFew);
        believes && !section.ends.is_empty() && !section.jump_closed && self.written[id] >= 3
    }

    /// Whether the end repeats of a section are not seen. One that jumps alone close has none.
    pub(super) fn passes_dots_by(&self, id: usize) -> bool {
        self.believes(Mistake::RepeatIgnored) && !self.sections.list[id].ends.is_empty()
    }

    /// The pass as which the brackets of a section are read on this pass; none when they are not read.
    pub(super) fn bracket_pass(&self, id: usize, pass: u32) -> Option<u32> {
        let section = &self.sections.list[id];
        if self.believes(Mistake::EndingsInARow) || self.passes_dots_by(id) {
            return None;
        }
        if self.believes(Mistake::FirstEndingAgain) {
            return Some(1);
        }
        if self.believes(Mistake::SecondEndingAtOnce) && pass == 1 {
            let first = section
                .endings
                .iter()
                .find_map(|&e| self.road.marks[e].passes());
            // The lowest pass that the first ending does not list; where there is none, all is read rightly.
            let unlisted = |&p: &u32| !first.is_some_and(|passes| passes.contains(p));
            return (1..=self.written[id]).find(unlisted).or(Some(pass));
        }
        if self.is_cut_short(id) && pass == self.tops[id] {
            return Some(self.written[id]);
        }
        let once_more = self.believes(Mistake::RepeatOnceTooOften) && !self.is_cut_short(id);
        if once_more && !section.ends.is_empty() && pass > 1 {
            return Some(pass - 1);
        }
        Some(pass)
    }

    /// Whether a sign in an ending whose highest pass is `last` has come to its last pass: the section's pass, or the one as which the brackets
    /// are read, is that one or a later one.
    pub(super) fn past_in_ending(&self, section: usize, last: u32) -> bool {
        let on = |pass: u32| {
            let read = self.bracket_pass(section, pass);
            pass >= last || read.is_some_and(|read| read >= last)
        };
        self.pass[section].is_some_and(on)
    }

    /// The pass on which a section is entered, where a changed rule says so.
    pub(super) fn believed_pass(&self, id: usize) -> Option<u32> {
        if self.passes_dots_by(id) {
            // One more with each leg.
            return Some(self.next_pass(id));
        }
        if self.sections.list[id].jump_closed {
            return None;
        }
        let again = self.beliefs.latest[id].filter(|_| self.beliefs.astray);
        if let Some(latest) = again {
            return Some(self.tops[id].min(latest + 1));
        }
        if self.leg == 1 {
            None
        } else if self.believes(Mistake::RepeatsAfterJump) {
            Some(1)
        } else if self.believes(Mistake::RepeatsLeftOut) {
            // As on the way on: the pass after the highest so far.
            Some(self.next_pass(id))
        } else {
            None
        }
    }

    /// Where an end repeat sends.
    pub(super) fn end_repeat_target(&mut self, start: usize) -> usize {
        if self.believes(Mistake::BackToTheBeginning) && start != 0 {
            self.stray();
            return self.off_by_one(0);
        }
        self.off_by_one(start)
    }

    /// Where a D.C. sends. The first measure is not missed by one measure before it.
    pub(super) fn da_capo_target(&mut self, jump: usize) -> usize {
        let here = self.road.marks[jump].last;
        let marks = self.road.marks.iter();
        let before = marks.filter(|m| matches!(m.sign, Sign::Segno(_)) && m.first <= here);
        let nearest = before.map(|mark| mark.first).max();
        match nearest.filter(|_| self.believes(Mistake::DaCapoAsDalSegno)) {
            Some(segno) => self.off_by_one(segno),
            None => self.off_by_one(0),
        }
    }

    /// Where a D.S. sends, or the way to a coda: one measure later or earlier for those who miss it.
    pub(super) fn off_by_one(&mut self, part: usize) -> usize {
        let parts = &self.road.parts;
        let measure = parts[part].measure;
        let wanted = if self.believes(Mistake::LandingLate) {
            measure + 1
        } else if self.believes(Mistake::LandingEarly) {
            measure - 1
        } else {
            return part;
        };
        match parts.iter().position(|p| p.measure == wanted) {
            Some(missed) => {
                self.stray();
                missed
            }
            // Beyond the board nobody steps.
            None => part,
        }
    }

    /// A start repeat into which the road goes on, taken as an order to go back: from where the road goes on then.
    pub(super) fn turn_back(&mut self, part: usize) -> Option<(usize, usize)> {
        if !self.believes(Mistake::StartRepeatGoesBack) || part == 0 {
            return None;
        }
        let is_start = |id: &usize| matches!(self.road.marks[*id].sign, Sign::StartRepeat);
        let id = self.road.parts[part].lands.iter().copied().find(is_start)?;
        if self.beliefs.turned.contains(&id) {
            return None;
        }
        self.beliefs.turned.push(id);
        self.stray();
        let earlier = (0..self.road.marks.len()).filter(is_start);
        let places = earlier.map(|other| self.road.marks[other].first);
        let back = places.filter(|&place| place < part).max().unwrap_or(0);
        Some((back, id))
    }

    /// A Fine at the end of a part, for those who stop at the first one they meet.
    pub(super) fn stops_at_any_fine(&self, part: usize, how: Mistake) -> bool {
        let mut leaves = self.road.parts[part].leaves.iter();
        self.believes(how) && leaves.any(|&id| matches!(self.road.marks[id].sign, Sign::Fine(_)))
    }

    /// A To Coda at the end of a part, for those who obey each the first time they come to it.
    pub(super) fn hasty_to_coda(&self, part: usize) -> Option<(usize, Label<'b>)> {
        if !self.believes(Mistake::ToCodaAtOnce) || self.sounded[part] != 1 {
            return None;
        }
        let mut leaves = self.road.parts[part].leaves.iter();
        leaves.find_map(|&id| self.to_coda_that_leads(id))
    }

    /// The same for those who make the end repeat at its barline first: each that has never been obeyed.
    pub(super) fn hasty_after_repeat(&self, part: usize) -> Option<(usize, Label<'b>)> {
        if !self.believes(Mistake::ToCodaAfterRepeat) {
            return None;
        }
        if self.road.end_repeat(part).is_none() && self.sounded[part] != 1 {
            return None;
        }
        let leaves = self.road.parts[part].leaves.iter();
        let mut new = leaves.filter(|&&id| !self.obeyed[id]);
        new.find_map(|&id| self.to_coda_that_leads(id))
    }

    /// The To Coda that the last jump meant and that is first in the row, for those who go straight to its coda.
    pub(super) fn straight(&self) -> Option<(usize, Label<'b>)> {
        if !self.believes(Mistake::StraightToCoda) {
            return None;
        }
        let meant = (0..self.road.marks.len()).filter(|&id| self.meant[id]);
        let leading = meant.filter_map(|id| self.to_coda_that_leads(id));
        leading.min_by_key(|&(id, _)| self.road.marks[id].last)
    }

    /// A sign with its label, when it is a To Coda whose coda stands.
    fn to_coda_that_leads(&self, id: usize) -> Option<(usize, Label<'b>)> {
        let Sign::ToCoda(to) = self.road.marks[id].sign else {
            return None;
        };
        let label = to.label.as_deref();
        self.road.coda(label).map(|_| (id, label))
    }

    /// Sends the road to a part that a changed rule may have named: an ending there that is not for the pass on which it is read is passed
    /// over, as where an end repeat sends.
    pub(super) fn send(
        &mut self,
        part: usize,
        cause: Cause,
        sender: usize,
    ) -> Result<Option<Next>, &'static str> {
        self.come_to(part, Some((cause, Some(sender))))
    }
}
