//! The marks that may act: which of them are still to be reckoned with, and where the next one stands.
//!
//! Everything between two such marks can be taken in one stretch, whatever its length.

mod foresee;

use std::collections::{BTreeSet, HashMap};

use crate::board::{Al, Passes, Then};
use crate::reading::{ArmedInRepeat, Arming, JumpInRepeat, Reading};
use crate::roadmap::laid::{JumpAt, Label, Laid, equal_range};
use crate::roadmap::row::PartIndex;
use crate::roadmap::sections::{SectionIndex, Sections};

/// A mark that is obeyed at numbered arrivals.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub(crate) enum Counted {
    Fine(usize),
    ToCoda(usize),
    Jump(usize),
}

/// Which To Codas the last jump armed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum ArmedCodas {
    None,
    All,
    Labelled(Label),
    /// Those not obeyed when the jump was made.
    Unobeyed,
}

/// What may still act.
#[derive(Clone, Debug)]
pub(crate) struct Watch<'a> {
    laid: &'a Laid,
    sections: &'a Sections,
    reading: Reading,
    fine_parts: Vec<PartIndex>,
    fines_armed: bool,
    fine_after_coda: bool,
    to_coda_parts: Vec<PartIndex>,
    to_codas_of: HashMap<Label, Vec<PartIndex>>,
    armed: ArmedCodas,
    unobeyed: BTreeSet<(PartIndex, usize)>,
    obeyed_in_leg: BTreeSet<(PartIndex, usize)>,
    /// To Codas that are obeyed on a last pass without any jump (rulebook 4.4).
    jumpless: Vec<PartIndex>,
    /// Plain jumps not yet obeyed, and among them those at an end repeat.
    pending: BTreeSet<(PartIndex, usize)>,
    pending_at_end: BTreeSet<(PartIndex, usize)>,
    /// Jumps with `passes`, and which passes each has used.
    listed: BTreeSet<(PartIndex, usize)>,
    used: HashMap<usize, BTreeSet<u32>>,
    counted: BTreeSet<(PartIndex, Counted)>,
    counts: HashMap<Counted, u64>,
    segno: Option<PartIndex>,
    then_coda: Option<Label>,
    second: Passes,
}

/// What a mark does.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Act {
    Stop,
    Coda { to: PartIndex, marking: u32 },
    Jump(usize),
}

impl<'a> Watch<'a> {
    pub(crate) fn new(laid: &'a Laid, sections: &'a Sections, reading: Reading) -> Watch<'a> {
        // cannot fail: 2 is a pass.
        let second = Passes::of([2]).unwrap_or_else(|_| unreachable!("2 is a pass"));
        let mut watch = Watch {
            laid,
            sections,
            reading,
            fine_parts: Vec::new(),
            fines_armed: false,
            fine_after_coda: false,
            to_coda_parts: Vec::new(),
            to_codas_of: HashMap::new(),
            armed: ArmedCodas::None,
            unobeyed: BTreeSet::new(),
            obeyed_in_leg: BTreeSet::new(),
            jumpless: Vec::new(),
            pending: BTreeSet::new(),
            pending_at_end: BTreeSet::new(),
            listed: BTreeSet::new(),
            used: HashMap::new(),
            counted: BTreeSet::new(),
            counts: HashMap::new(),
            segno: None,
            then_coda: None,
            second,
        };
        watch.look_over();
        watch
    }

    fn look_over(&mut self) {
        let laid = self.laid;
        for (at, fine) in laid.fines.iter().enumerate() {
            if fine.arrivals.is_some() {
                self.counted.insert((fine.part, Counted::Fine(at)));
            } else {
                self.fine_parts.push(fine.part);
            }
        }
        let by_count = self.reading.arming == Arming::SecondArrival;
        for (at, to_coda) in laid.to_codas.iter().enumerate() {
            self.unobeyed.insert((to_coda.part, at));
            if to_coda.arrivals.is_some() || by_count {
                self.counted.insert((to_coda.part, Counted::ToCoda(at)));
                continue;
            }
            self.to_coda_parts.push(to_coda.part);
            self.to_codas_of
                .entry(to_coda.label)
                .or_default()
                .push(to_coda.part);
            if laid.jumps.is_empty() && self.sections.at(to_coda.part).is_some() {
                self.jumpless.push(to_coda.part);
            }
        }
        for (at, jump) in laid.jumps.iter().enumerate() {
            let in_section = self.sections.at(jump.part).is_some();
            if jump.arrivals.is_some() || jump.passes.is_some() && !in_section {
                self.counted.insert((jump.part, Counted::Jump(at)));
            } else if jump.passes.is_some() {
                self.listed.insert((jump.part, at));
            } else if in_section && laid.end_at(jump.part).is_some() {
                self.pending_at_end.insert((jump.part, at));
            } else {
                self.pending.insert((jump.part, at));
            }
        }
    }

    /// The next part, from `part` on, at whose end something may act.
    pub(crate) fn next_from(&self, part: PartIndex) -> Option<PartIndex> {
        let in_set =
            |set: &BTreeSet<(PartIndex, usize)>| set.range((part, 0)..).next().map(|&(at, _)| at);
        let in_list = |list: &[PartIndex]| list.get(list.partition_point(|&at| at < part)).copied();
        let codas = match self.armed {
            ArmedCodas::None => None,
            ArmedCodas::All => in_list(&self.to_coda_parts),
            ArmedCodas::Labelled(label) => {
                self.to_codas_of.get(&label).and_then(|list| in_list(list))
            }
            ArmedCodas::Unobeyed => [in_set(&self.unobeyed), in_set(&self.obeyed_in_leg)]
                .into_iter()
                .flatten()
                .min(),
        };
        [
            in_set(&self.pending),
            in_set(&self.pending_at_end),
            in_set(&self.listed),
            self.counted
                .range((part, Counted::Fine(0))..)
                .next()
                .map(|&(at, _)| at),
            if self.fines_armed {
                in_list(&self.fine_parts)
            } else {
                None
            },
            codas,
            in_list(&self.jumpless),
        ]
        .into_iter()
        .flatten()
        .min()
    }

    /// The part at whose start the road is left, when the last jump was al Segno.
    pub(crate) fn segno(&self) -> Option<PartIndex> {
        self.segno
    }

    /// Whether anything may act in the parts from `from` to `to`.
    pub(crate) fn any_in(&self, from: PartIndex, to: PartIndex) -> bool {
        self.next_from(from).is_some_and(|at| at <= to)
            || self.segno.is_some_and(|at| from <= at && at <= to)
    }

    /// A jump is obeyed: what was armed is no longer, and what it arms is.
    pub(crate) fn arm(&mut self, jump: &JumpAt) {
        self.fines_armed = false;
        self.fine_after_coda = false;
        self.armed = ArmedCodas::None;
        self.segno = None;
        self.then_coda = None;
        self.obeyed_in_leg.clear();
        let by_count = self.reading.arming == Arming::SecondArrival;
        let (fines, codas) = match jump.al {
            None => {
                let arms = self.reading.arming != Arming::AlOnly;
                (arms, arms)
            }
            Some(Al::Fine) => (true, false),
            Some(Al::Coda) => {
                self.fine_after_coda = true;
                (false, true)
            }
            Some(Al::Segno) => {
                self.segno = self.laid.segno(jump.segno).map(|segno| segno.part);
                (false, false)
            }
            Some(Al::End) => (false, false),
        };
        self.fines_armed = fines;
        if codas && !by_count {
            self.armed = match jump.coda {
                Some(label) => ArmedCodas::Labelled(label),
                None if self.unobeyed.is_empty() => ArmedCodas::All,
                None => ArmedCodas::Unobeyed,
            };
        }
        if jump.then == Some(Then::Coda) {
            self.then_coda = Some(jump.coda.unwrap_or(0));
        }
    }

    /// What happens at the start of the segno of an al Segno.
    pub(crate) fn at_segno(&mut self) -> Act {
        let marking = self
            .segno
            .and_then(|part| self.laid.segnos.iter().find(|segno| segno.part == part));
        let marking = marking.map_or(0, |segno| segno.marking);
        self.leave_by(marking)
    }

    /// What happens at the end of a part, when anything does: everything but the end repeat, which is made when nothing comes before it and
    /// `goes_back`. `around` are the sections that hold the part with their passes, outermost first.
    pub(crate) fn at_end(
        &mut self,
        part: PartIndex,
        goes_back: bool,
        around: &[(SectionIndex, u32)],
    ) -> Option<Act> {
        let laid = self.laid;
        let fines = equal_range(&laid.fines, part, |fine| fine.part);
        let to_codas = equal_range(&laid.to_codas, part, |to_coda| to_coda.part);
        let jumps = equal_range(&laid.jumps, part, |jump| jump.part);
        // Marks that name their arrivals.
        let (mut fired, mut second) = (None, None);
        for mark in fines
            .clone()
            .map(Counted::Fine)
            .chain(to_codas.clone().map(Counted::ToCoda))
            .chain(jumps.clone().map(Counted::Jump))
        {
            if !self.counted.contains(&(part, mark)) || !self.arrive(part, mark) {
                continue;
            }
            if self.waits_for_second(mark) {
                second.get_or_insert(mark);
            } else {
                fired.get_or_insert(mark);
            }
        }
        if let Some(mark) = fired {
            return Some(self.obey(mark));
        }
        let last_pass = self.on_last_pass(part, around);
        let at_once = self.reading.armed_in_repeat == ArmedInRepeat::FirstArrival;
        if at_once || !goes_back {
            if at_once || last_pass {
                if let Some(act) = self.armed_at(fines, to_codas.clone()) {
                    return Some(act);
                }
            }
            if goes_back {
                return None;
            }
        } else {
            return None;
        }
        for at in to_codas {
            let jumpless =
                last_pass && self.jumpless.binary_search(&part).is_ok() && self.is_plain(at);
            if jumpless || second == Some(Counted::ToCoda(at)) {
                return Some(self.obey(Counted::ToCoda(at)));
            }
        }
        for at in jumps.clone() {
            let passes = laid.jumps.get(at).and_then(|jump| jump.passes.as_ref());
            let Some(&(_, pass)) = around.last() else {
                continue;
            };
            if self.listed.contains(&(part, at))
                && passes.is_some_and(|passes| passes.contains(pass))
                && self.used.entry(at).or_default().insert(pass)
            {
                return Some(Act::Jump(at));
            }
        }
        let first_arrival = self.reading.jump_in_repeat == JumpInRepeat::FirstArrival;
        for at in jumps {
            let waits =
                self.pending.contains(&(part, at)) || self.pending_at_end.contains(&(part, at));
            if waits && (first_arrival || last_pass) {
                self.pending.remove(&(part, at));
                self.pending_at_end.remove(&(part, at));
                return Some(Act::Jump(at));
            }
        }
        None
    }

    /// The marks with numbered arrivals in the parts from `from` to `to`.
    pub(crate) fn counted_in(&self, from: PartIndex, to: PartIndex) -> Vec<(PartIndex, Counted)> {
        self.counted
            .range((from, Counted::Fine(0))..)
            .take_while(|&&(part, _)| part <= to)
            .copied()
            .collect()
    }

    /// Counts arrivals at which nothing happened.
    pub(crate) fn count(&mut self, part: PartIndex, mark: Counted, arrivals: u64) {
        let count = self.counts.entry(mark).or_default();
        *count = count.saturating_add(arrivals);
        self.drop_if_over(part, mark);
    }

    fn next_arrival(&self, mark: Counted, count: u64) -> Option<u32> {
        self.arrivals_of(mark)?
            .next_from(u32::try_from(count.saturating_add(1)).ok()?)
    }

    fn arrivals_of(&self, mark: Counted) -> Option<&Passes> {
        match mark {
            Counted::Fine(at) => self.laid.fines.get(at)?.arrivals.as_ref(),
            Counted::ToCoda(at) => self
                .laid
                .to_codas
                .get(at)?
                .arrivals
                .as_ref()
                .or(Some(&self.second)),
            Counted::Jump(at) => {
                let jump = self.laid.jumps.get(at)?;
                jump.arrivals.as_ref().or(jump.passes.as_ref())
            }
        }
    }

    /// Counts an arrival and says whether it is one of those named.
    fn arrive(&mut self, part: PartIndex, mark: Counted) -> bool {
        let count = self.counts.entry(mark).or_default();
        *count = count.saturating_add(1);
        let count = *count;
        let named = u32::try_from(count).is_ok_and(|n| {
            self.arrivals_of(mark)
                .is_some_and(|arrivals| arrivals.contains(n))
        });
        self.drop_if_over(part, mark);
        named
    }

    fn drop_if_over(&mut self, part: PartIndex, mark: Counted) {
        let count = self.counts.get(&mark).copied().unwrap_or(0);
        if self.next_arrival(mark, count).is_none() {
            self.counted.remove(&(part, mark));
        }
    }

    /// Whether a mark is a To Coda without arrivals of its own, which the reading obeys at its second arrival, after the end repeat.
    fn waits_for_second(&self, mark: Counted) -> bool {
        match mark {
            Counted::ToCoda(at) => {
                self.reading.arming == Arming::SecondArrival && self.is_plain(at)
            }
            _ => false,
        }
    }

    fn is_plain(&self, to_coda: usize) -> bool {
        self.laid
            .to_codas
            .get(to_coda)
            .is_some_and(|to_coda| to_coda.arrivals.is_none())
    }

    fn is_armed(&self, at: usize) -> bool {
        let Some(to_coda) = self.laid.to_codas.get(at) else {
            return false;
        };
        let key = (to_coda.part, at);
        self.is_plain(at)
            && match self.armed {
                ArmedCodas::None => false,
                ArmedCodas::All => true,
                ArmedCodas::Labelled(label) => to_coda.label == label,
                ArmedCodas::Unobeyed => {
                    self.unobeyed.contains(&key) || self.obeyed_in_leg.contains(&key)
                }
            }
    }

    fn armed_at(
        &mut self,
        fines: std::ops::Range<usize>,
        to_codas: std::ops::Range<usize>,
    ) -> Option<Act> {
        if self.fines_armed {
            let plain = fines
                .into_iter()
                .filter_map(|at| self.laid.fines.get(at))
                .find(|fine| fine.arrivals.is_none());
            if let Some(marking) = plain.map(|fine| fine.marking) {
                return Some(self.leave_by(marking));
            }
        }
        let at = to_codas.into_iter().find(|&at| self.is_armed(at))?;
        Some(self.obey(Counted::ToCoda(at)))
    }

    /// At the place that `al` names: stop, or with `then coda` on to the coda.
    fn leave_by(&mut self, marking: u32) -> Act {
        let coda = self
            .then_coda
            .take()
            .and_then(|label| self.laid.coda(label));
        self.segno = None;
        match coda {
            Some(coda) => {
                self.fines_armed = true;
                Act::Coda {
                    to: coda.part,
                    marking,
                }
            }
            None => Act::Stop,
        }
    }

    fn obey(&mut self, mark: Counted) -> Act {
        match mark {
            Counted::Fine(_) => Act::Stop,
            Counted::Jump(at) => Act::Jump(at),
            Counted::ToCoda(at) => {
                let Some(to_coda) = self.laid.to_codas.get(at) else {
                    return Act::Stop;
                };
                if self.unobeyed.remove(&(to_coda.part, at)) && self.armed == ArmedCodas::Unobeyed {
                    self.obeyed_in_leg.insert((to_coda.part, at));
                }
                self.fines_armed |= self.fine_after_coda;
                match self.laid.coda(to_coda.label) {
                    Some(coda) => Act::Coda {
                        to: coda.part,
                        marking: to_coda.marking,
                    },
                    None => Act::Stop,
                }
            }
        }
    }

    fn on_last_pass(&self, part: PartIndex, around: &[(SectionIndex, u32)]) -> bool {
        around.iter().all(|&(number, pass)| {
            self.sections
                .get(number)
                .is_some_and(|section| section.last_pass_at(self.laid, part) == Some(pass))
        })
    }
}
