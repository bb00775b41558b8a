//! The marks at one barline that are obeyed at numbered arrivals. Rulebook 4.8.

use std::collections::BTreeSet;

use super::Counted;
use crate::board::Passes;

/// How often a barline has been reached, and which of its marks name which arrivals.
#[derive(Clone, Debug, Default)]
pub(crate) struct Arrivals {
    count: u64,
    /// Where a mark begins or ceases to be named, by arrival.
    changes: Vec<(u32, bool, Counted)>,
    next_change: usize,
    /// The marks that name the next arrival.
    named: BTreeSet<Counted>,
}

impl Arrivals {
    /// Adds a mark; before the first arrival.
    pub(crate) fn add(&mut self, mark: Counted, arrivals: &Passes) {
        for &(from, to) in arrivals.ranges() {
            self.changes.push((from, true, mark));
            self.changes.push((to + 1, false, mark));
        }
    }

    /// All marks are added.
    pub(crate) fn begin(&mut self) {
        self.changes.sort_unstable();
        self.look_ahead();
    }

    /// How many arrivals there have been.
    pub(crate) fn count(&self) -> u64 {
        self.count
    }

    /// The next arrival that some mark names.
    pub(crate) fn next_named(&self) -> Option<u64> {
        if self.named.is_empty() {
            let mut changes = self.changes.get(self.next_change..)?.iter();
            changes
                .find(|change| change.1)
                .map(|change| u64::from(change.0))
        } else {
            Some(self.count + 1)
        }
    }

    /// Counts an arrival, and returns the marks that name it.
    pub(crate) fn arrive(&mut self) -> Vec<Counted> {
        let named = self.named.iter().copied().collect();
        self.skip(1);
        named
    }

    /// Counts arrivals that no mark names.
    pub(crate) fn skip(&mut self, arrivals: u64) {
        self.count = self.count.saturating_add(arrivals);
        self.look_ahead();
    }

    fn look_ahead(&mut self) {
        let next = self.count.saturating_add(1);
        while let Some(&(_, begins, mark)) = self
            .changes
            .get(self.next_change)
            .filter(|change| u64::from(change.0) <= next)
        {
            if begins {
                self.named.insert(mark);
            } else {
                self.named.remove(&mark);
            }
            self.next_change += 1;
        }
    }
}
