//! What a jump arms. From the chapters "jumps" and "reading".

use fingerpost::{Al, Arming, Jump, Sign, Then};

use super::by_count;
use super::mistaken::Mistake;
use super::playing::{Armed, Label, Move, Playing};
use super::road::Mark;

impl<'b> Playing<'_, 'b> {
    /// An armed Fine at the end of a part. One that has arrivals is obeyed at those only.
    pub(super) fn armed_fine(&self, part: usize) -> Option<Move<'b>> {
        if !self.armed.fine || self.believes(Mistake::FineIgnored) {
            return None;
        }
        let mut leaves = self.road.parts[part].leaves.iter();
        let fine = leaves.find(
            |&&id| matches!(self.road.marks[id].sign, Sign::Fine(fine) if fine.arrivals.is_none()),
        );
        // It stops the road, unless the jump says that the coda follows.
        fine.map(|&id| match self.armed.then {
            Some(label) => Move::Then(id, label),
            None => Move::Stop,
        })
    }

    /// An armed To Coda at the end of a part. Where To Codas are obeyed by count, none is.
    pub(super) fn armed_to_coda(&self, part: usize) -> Option<Move<'b>> {
        if by_count(self.reading.arming) || self.believes(Mistake::ToCodaIgnored) {
            return None;
        }
        let mut leaves = self.road.parts[part].leaves.iter();
        leaves.find_map(|&id| match self.road.marks[id].sign {
            Sign::ToCoda(to) if self.meant[id] && to.arrivals.is_none() => {
                Some(Move::Coda(id, to.label.as_deref()))
            }
            _ => None,
        })
    }

    /// The armed segno at the start of a part. The leg is left there when the road goes on into it, not when the road is sent to it.
    pub(super) fn armed_segno(&self, part: usize) -> Option<usize> {
        let label = self.armed.segno?;
        let mut lands = self.road.parts[part].lands.iter().copied();
        lands.find(|&id| {
            matches!(self.road.marks[id].sign, Sign::Segno(segno) if segno.label.as_deref() == label)
        })
    }

    /// A new jump replaces what the last one armed.
    pub(super) fn arm(&mut self, jump: &'b Jump) {
        self.meant.fill(false);
        let coda = jump.coda.as_deref();
        let then = (jump.then == Some(Then::Coda)).then_some(coda);
        self.armed = Armed {
            then,
            ..Armed::default()
        };
        match jump.al {
            Some(Al::Fine) => self.armed.fine = true,
            Some(Al::Segno) => self.armed.segno = Some(jump.label.as_deref()),
            Some(Al::Coda) => {
                self.mean(coda);
                self.armed.fine_from_coda = true;
            }
            Some(Al::End) => {}
            // A bare jump arms both, or nothing, as the reading says.
            None if self.reading.arming == Arming::AlOnly => {}
            None => {
                self.armed.fine = true;
                self.mean(None);
            }
        }
    }

    /// Arms the To Codas that a jump means: those of its label; without one those not obeyed so far, and all when all have been.
    fn mean(&mut self, coda: Label<'b>) {
        let label = |mark: &Mark<'b>| match mark.sign {
            Sign::ToCoda(to) => Some(to.label.as_deref()),
            _ => None,
        };
        let marks = &self.road.marks;
        let is_to_coda = |id: &usize| label(&marks[*id]).is_some();
        let all_obeyed = (0..marks.len())
            .filter(is_to_coda)
            .all(|id| self.obeyed[id]);
        for (id, mark) in marks.iter().enumerate() {
            self.meant[id] = match (label(mark), coda) {
                (None, _) => false,
                (Some(label), Some(_)) => label == coda,
                (Some(_), None) => all_obeyed || !self.obeyed[id],
            };
        }
    }
}
