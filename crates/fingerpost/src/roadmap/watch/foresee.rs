//! On which pass of a section something in it may act: so that all passes before it can be taken at once.

use std::collections::BTreeSet;

use super::arrivals::Arrivals;
use super::{ArmedCodas, Watch};
use crate::board::Passes;
use crate::reading::{ArmedInRepeat, JumpInRepeat};
use crate::roadmap::row::PartIndex;
use crate::roadmap::sections::SectionIndex;

impl Watch<'_> {
    /// The first pass of a section, from `pass` on, on which something in it may act; `None` when nothing can. `occurrences` says how
    /// often a part is played on the passes from one to another.
    pub(crate) fn first_pass_to_act(
        &self,
        number: SectionIndex,
        pass: u32,
        leaving: u32,
        occurrences: &dyn Fn(PartIndex, u32, u32) -> u64,
    ) -> Option<u32> {
        let section = self.sections.get(number)?;
        let (from, to) = (section.start, section.end);
        if !self.any_in(from, to) {
            return None;
        }
        let laid = self.laid;
        let mut first: Option<u32> = None;
        let mut offer = |candidate: Option<u32>| {
            if let Some(candidate) = candidate.filter(|&candidate| candidate >= pass) {
                first = Some(first.map_or(candidate, |other| other.min(candidate)));
            }
        };
        // Segments of the section: its endings, with their passes, and everything else, on any pass.
        let mut segments: Vec<(PartIndex, PartIndex, Option<&Passes>)> = Vec::new();
        let mut next = from;
        for ending in section
            .endings
            .iter()
            .filter_map(|&n| laid.endings.get(n as usize))
        {
            if next < ending.first {
                segments.push((next, ending.first - 1, None));
            }
            segments.push((ending.first, ending.last, Some(&ending.passes)));
            next = ending.last + 1;
        }
        if next <= to {
            segments.push((next, to, None));
        }
        self.looked.set(self.looked.get() + segments.len());
        for &(from, to, passes) in &segments {
            let on_last = passes.map_or(Some(section.passes), |passes| {
                passes.highest_up_to(section.passes)
            });
            let on_any = passes.map_or(Some(pass), |passes| passes.next_from(pass));
            let in_set = |set: &BTreeSet<(PartIndex, usize)>| {
                set.range((from, 0)..=(to, usize::MAX)).next().is_some()
            };
            // Armed Fine and To Coda.
            let armed = self.armed_in(from, to);
            if armed {
                offer(
                    if self.reading.armed_in_repeat == ArmedInRepeat::FirstArrival {
                        on_any
                    } else {
                        on_last
                    },
                );
            }
            let jumpless = self
                .jumpless
                .get(self.jumpless.partition_point(|&at| at < from))
                .is_some_and(|&at| at <= to);
            if jumpless {
                offer(on_last);
            }
            if self.segno().is_some_and(|at| from <= at && at <= to) {
                offer(on_any);
            }
            // Plain jumps; one at an end repeat comes after it.
            let first_arrival = self.reading.jump_in_repeat == JumpInRepeat::FirstArrival;
            if in_set(&self.pending) {
                offer(if first_arrival { on_any } else { on_last });
            }
            for &(part, _) in self.pending_at_end.range((from, 0)..=(to, usize::MAX)) {
                if self.sections.at(part) == Some(number) {
                    offer(
                        if passes.is_none_or(|passes| passes.contains(section.passes)) {
                            Some(section.passes)
                        } else {
                            None
                        },
                    );
                } else {
                    offer(if first_arrival { on_any } else { on_last });
                    break;
                }
            }
            for &(part, at) in self.listed.range((from, 0)..=(to, usize::MAX)) {
                let candidate = self.listed_pass(number, part, at, pass, on_any);
                offer(candidate);
                if candidate == Some(pass) {
                    // There is no earlier pass to be found.
                    return candidate;
                }
            }
        }
        for (&part, arrivals) in self.counted.range(from..=to) {
            self.looked.set(self.looked.get() + 1);
            let candidate = counted_pass(part, arrivals, pass, leaving, occurrences);
            offer(candidate);
            if candidate == Some(pass) {
                return candidate;
            }
        }
        first
    }

    fn listed_pass(
        &self,
        number: SectionIndex,
        part: PartIndex,
        at: usize,
        pass: u32,
        on_any: Option<u32>,
    ) -> Option<u32> {
        let innermost = self.sections.at(part)?;
        let section = self.sections.get(innermost)?;
        let passes = self.laid.jumps.get(at)?.passes.as_ref()?;
        let ending = section
            .ending_at(self.laid, part)
            .and_then(|n| self.laid.endings.get(n as usize));
        let at_end = self.laid.end_at(part).is_some();
        let mut from = if innermost == number { pass } else { 1 };
        // The next pass that is listed, not used, played under its ending, and not taken by an end repeat.
        loop {
            self.looked.set(self.looked.get() + 1);
            from = passes.next_from(if at_end {
                from.max(section.passes)
            } else {
                from
            })?;
            let played = ending.map_or(Some(from), |ending| ending.passes.next_from(from))?;
            if played > section.passes {
                return None;
            }
            if played == from && !self.used.get(&at).is_some_and(|used| used.contains(&from)) {
                return if innermost == number {
                    Some(from)
                } else {
                    on_any
                };
            }
            from = played.max(from + u32::from(played == from));
        }
    }

    fn armed_in(&self, from: PartIndex, to: PartIndex) -> bool {
        let in_list = |list: &[PartIndex]| {
            list.get(list.partition_point(|&at| at < from))
                .is_some_and(|&at| at <= to)
        };
        let in_set = |set: &BTreeSet<(PartIndex, usize)>| {
            set.range((from, 0)..=(to, usize::MAX)).next().is_some()
        };
        let codas = match self.armed {
            ArmedCodas::None => false,
            ArmedCodas::All => in_list(&self.to_coda_parts),
            ArmedCodas::Labelled(label) => self
                .to_codas_of
                .get(&label)
                .is_some_and(|list| in_list(list)),
            ArmedCodas::Unobeyed => in_set(&self.unobeyed) || in_set(&self.obeyed_in_leg),
        };
        codas || self.fines_armed && in_list(&self.fine_parts)
    }
}

/// The first pass by whose end the next arrival that a mark names has come.
fn counted_pass(
    part: PartIndex,
    arrivals: &Arrivals,
    pass: u32,
    leaving: u32,
    occurrences: &dyn Fn(PartIndex, u32, u32) -> u64,
) -> Option<u32> {
    let wanted = arrivals.next_named()?.saturating_sub(arrivals.count());
    if occurrences(part, pass, leaving) < wanted {
        return None;
    }
    let (mut low, mut high) = (pass, leaving);
    while low < high {
        let middle = low + (high - low) / 2;
        if occurrences(part, pass, middle) >= wanted {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    Some(low)
}
