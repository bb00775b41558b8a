//! The marks that may act: which of them are still to be reckoned with, and where the next one stands.
//!
//! Everything between two such marks can be taken in one stretch, whatever its length.

mod arrivals;
mod foresee;

use std::cell::Cell;
use std::collections::{BTreeMap, BTreeSet, HashMap};

use crate::board::{Al, Passes, Then};
use crate::reading::{ArmedInRepeat, Arming, JumpInRepeat, Reading};
use crate::roadmap::laid::{JumpAt, Label, Laid, equal_range};
use crate::roadmap::paths::ROW;
use crate::roadmap::row::PartIndex;
use crate::roadmap::sections::{SectionIndex, Sections};

use arrivals::Arrivals;

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
    /// The barlines with marks that name their arrivals, as long as one of them may still be obeyed.
    counted: BTreeMap<PartIndex, Arrivals>,
    /// The segno at which the road is left: its part and its marking.
    segno: Option<(PartIndex, u32)>,
    then_coda: Option<Label>,
    /// How much has been looked at so far, so that a board beyond reckoning is told from a large one.
    looked: Cell<usize>,
}

/// What a mark does.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Act {
    Stop { marking: u32 },
    Coda { to: PartIndex, marking: u32 },
    Jump(usize),
}

impl<'a> Watch<'a> {
    pub(crate) fn new(laid: &'a Laid, sections: &'a Sections, reading: Reading) -> Watch<'a> {
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
            counted: BTreeMap::new(),
            segno: None,
            then_coda: None,
            looked: Cell::new(0),
        };
        watch.look_over();
        watch
    }

    fn look_over(&mut self) {
        let laid = self.laid;
        for (at, fine) in laid.fines.iter().enumerate() {
            match &fine.arrivals {
                Some(arrivals) => self.add_counted(fine.part, Counted::Fine(at), arrivals),
                None => self.fine_parts.push(fine.part),
            }
        }
        let second = Passes::of([2]).ok();
        let second = second.filter(|_| self.reading.arming == Arming::SecondArrival);
        for (at, to_coda) in laid.to_codas.iter().enumerate() {
            self.unobeyed.insert((to_coda.part, at));
            if let Some(arrivals) = to_coda.arrivals.as_ref().or(second.as_ref()) {
                self.add_counted(to_coda.part, Counted::ToCoda(at), arrivals);
                continue;
            }
            self.to_coda_parts.push(to_coda.part);
            let same_label = self.to_codas_of.entry(to_coda.label).or_default();
            same_label.push(to_coda.part);
            if laid.jumps.is_empty() && self.sections.at(to_coda.part).is_some() {
                self.jumpless.push(to_coda.part);
            }
        }
        for (at, jump) in laid.jumps.iter().enumerate() {
            let in_section = self.sections.at(jump.part).is_some();
            let passes_outside = jump.passes.as_ref().filter(|_| !in_section);
            if let Some(arrivals) = jump.arrivals.as_ref().or(passes_outside) {
                self.add_counted(jump.part, Counted::Jump(at), arrivals);
            } else if jump.passes.is_some() {
                self.listed.insert((jump.part, at));
            } else if in_section && laid.end_at(jump.part).is_some() {
                self.pending_at_end.insert((jump.part, at));
            } else {
                self.pending.insert((jump.part, at));
            }
        }
        self.counted.values_mut().for_each(Arrivals::begin);
    }

    fn add_counted(&mut self, part: PartIndex, mark: Counted, arrivals: &Passes) {
        self.counted.entry(part).or_default().add(mark, arrivals);
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
            self.counted.range(part..).next().map(|(&at, _)| at),
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

    /// How much has been looked at so far.
    pub(crate) fn looked(&self) -> usize {
        self.looked.get()
    }

    /// The part at whose start the road is left, when the last jump was al Segno.
    pub(crate) fn segno(&self) -> Option<PartIndex> {
        self.segno.map(|(part, _)| part)
    }

    /// Whether anything may act in the parts from `from` to `to`.
    pub(crate) fn any_in(&self, from: PartIndex, to: PartIndex) -> bool {
        self.next_from(from).is_some_and(|at| at <= to)
            || self.segno().is_some_and(|at| from <= at && at <= to)
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
                let segno = self.laid.segno(jump.segno);
                self.segno = segno.map(|segno| (segno.part, segno.marking));
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
        let marking = self.segno.map_or(0, |(_, marking)| marking);
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
        // Marks that name their arrivals come first; a To Coda that the reading obeys at its second arrival waits for the end repeat.
        let named = self.arrive(part);
        let (waiting, named): (Vec<_>, Vec<_>) = named
            .into_iter()
            .partition(|&mark| self.waits_for_second(mark));
        if let Some(&mark) = named.first() {
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
            if jumpless || waiting.contains(&Counted::ToCoda(at)) {
                return Some(self.obey(Counted::ToCoda(at)));
            }
        }
        let (_, pass) = around.last().copied().unwrap_or((ROW, 1));
        for &(_, at) in self.listed.range((part, 0)..=(part, usize::MAX)) {
            let passes = laid.jumps.get(at).and_then(|jump| jump.passes.as_ref());
            if passes.is_some_and(|passes| passes.contains(pass))
                && self.used.entry(at).or_default().insert(pass)
            {
                return Some(Act::Jump(at));
            }
        }
        if last_pass || self.reading.jump_in_repeat == JumpInRepeat::FirstArrival {
            let here = (part, 0)..=(part, usize::MAX);
            for set in [&mut self.pending, &mut self.pending_at_end] {
                if let Some(waits) = set.range(here.clone()).next().copied() {
                    set.remove(&waits);
                    return Some(Act::Jump(waits.1));
                }
            }
        }
        None
    }

    /// The barlines from `from` to `to` with marks that name their arrivals.
    pub(crate) fn counted_in(&self, from: PartIndex, to: PartIndex) -> Vec<PartIndex> {
        self.counted
            .range(from..=to)
            .map(|(&part, _)| part)
            .collect()
    }

    /// Counts arrivals that no mark names.
    pub(crate) fn count(&mut self, part: PartIndex, arrivals: u64) {
        if let Some(counted) = self.counted.get_mut(&part) {
            counted.skip(arrivals);
        }
    }

    /// Counts an arrival, and returns the marks that name it.
    fn arrive(&mut self, part: PartIndex) -> Vec<Counted> {
        let Some(counted) = self.counted.get_mut(&part) else {
            return Vec::new();
        };
        let named = counted.arrive();
        if counted.next_named().is_none() {
            self.counted.remove(&part);
        }
        named
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
            None => Act::Stop { marking },
        }
    }

    fn obey(&mut self, mark: Counted) -> Act {
        match mark {
            Counted::Fine(at) => Act::Stop {
                marking: self.laid.fines.get(at).map_or(0, |fine| fine.marking),
            },
            Counted::Jump(at) => Act::Jump(at),
            Counted::ToCoda(at) => {
                let Some(to_coda) = self.laid.to_codas.get(at) else {
                    return Act::Stop { marking: 0 };
                };
                if self.unobeyed.remove(&(to_coda.part, at)) && self.armed == ArmedCodas::Unobeyed {
                    self.obeyed_in_leg.insert((to_coda.part, at));
                }
                self.fines_armed |= self.fine_after_coda;
                let marking = to_coda.marking;
                match self.laid.coda(to_coda.label) {
                    Some(coda) => Act::Coda {
                        to: coda.part,
                        marking,
                    },
                    None => Act::Stop { marking },
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
