//! The orders of a hand's signs, each judged by the rules when all signs are laid: for hands whose road is not followed while they are laid.

use super::order::{Make, Order, choices};
use super::search::{Ended, rank};
use super::shape::{OF_PLACES, SHARED_AT, fits, shapes};
use super::work::Work;
use crate::board::{Board, Jump, Sign};
use crate::legality::judge::Judge;
use crate::legality::{Counted, counted};

/// To judge an order takes as long as to look at so many on the way.
const JUDGING: u64 = 8;

/// Orders of the signs that are legal.
struct Search<'s> {
    /// The signs of the road, in the order in which they are laid.
    signs: &'s [Sign],
    /// For each sign the one before it that is equal.
    twins: Vec<Option<usize>>,
    /// How many measures the board has.
    measures: u16,
    /// The rules, for boards of 1 measure, 2 measures …
    judges: Vec<Judge<'s>>,
    /// How many orders may still be looked at, and which of them by this thread.
    work: &'s Work<'s>,
    /// What is done with an order that is legal; whether to go on.
    found: &'s mut dyn FnMut(Make<'_>, u64) -> bool,
    /// How many signs shape the repeats; they come first.
    shaping: usize,
    /// Whether the hand has a D.C. or D.S.
    has_returns: bool,
    /// Whether the hand has both endings and returns: a return in an ending closes a repeat too, so that little is known before all is laid.
    mixes: bool,
    /// Whether orders that cannot become legal are left early. Tests look at all of them.
    leaves_early: bool,
}

/// Looks through all legal orders of the signs by judging each.
pub(super) fn judged(
    signs: &[Sign],
    boards: &[Board],
    measures: u16,
    work: &Work<'_>,
    leaves_early: bool,
    found: &mut dyn FnMut(Make<'_>, u64) -> bool,
) -> Ended {
    let twin = |at: usize| {
        let before = signs.get(..at)?;
        before
            .iter()
            .rposition(|other| Some(other) == signs.get(at))
    };
    let until = |most: u8| signs.iter().filter(|sign| rank(sign) <= most).count();
    let has = |of: fn(&Sign) -> bool| signs.iter().any(of);
    let has_returns = has(|sign| matches!(sign, Sign::DaCapo(_) | Sign::DalSegno(_)));
    let mut search = Search {
        mixes: has(|sign| matches!(sign, Sign::Ending(_))) && has_returns,
        has_returns,
        twins: (0..signs.len()).map(twin).collect(),
        signs,
        measures,
        judges: boards.iter().map(Judge::new).collect(),
        work,
        found,
        shaping: until(2),
        leaves_early,
    };
    search.deepen(&Order::empty())
}

/// What is amiss with repeats and endings, and is mended by nothing that is laid after them, where no return stands in an ending.
const OF_REPEATS: [&str; 7] = [
    "endings-overlap",
    "start-repeat-in-ending",
    "ending-past-section",
    "ending-gap",
    "ending-not-closed",
    "ending-pass-twice",
    "start-repeat-unclosed",
];

impl Search<'_> {
    /// Lays the next sign in every way, and those after it.
    fn deepen(&mut self, order: &Order) -> Ended {
        let number = order.spots.len();
        let Some(sign) = self.signs.get(number) else {
            return self.judged(order);
        };
        let twin = self.twins.get(number).copied().flatten();
        let most = u16::try_from(self.judges.len()).unwrap_or(u16::MAX);
        for with in order.with(sign, most) {
            if !self.work.spend() {
                return Ended::TooMany;
            }
            // Equal signs are laid from left to right, and not one on the other.
            let here = with.spots.last().copied();
            let before = twin.and_then(|twin| with.spots.get(twin).copied());
            if before.is_some() && before >= here {
                continue;
            }
            if self.leaves_early && !(self.fits(&with) && self.is_sound(&with)) {
                continue;
            }
            let is_piece = with.spots.len() == SHARED_AT.min(self.signs.len());
            match self.work.share_if(is_piece, || self.deepen(&with)) {
                Ended::All => {}
                ended => return ended,
            }
        }
        Ended::All
    }

    /// Whether the last sign of an order may stand where it does, by where the others stand.
    fn fits(&self, order: &Order) -> bool {
        let number = order.spots.len();
        let (Some(sign), Some(&(from, _))) = (self.signs.get(number - 1), order.spots.last())
        else {
            return true;
        };
        let mut earlier = self.signs.iter().zip(&order.spots).take(number - 1);
        match sign {
            sign if shapes(sign) => fits(self.signs, order, self.has_returns),
            Sign::DaCapo(jump) | Sign::DalSegno(jump) => earlier.all(|(other, spot)| match other {
                Sign::DaCapo(other) | Sign::DalSegno(other) => {
                    spot.0 != from || !is_plain(jump) || !is_plain(other)
                }
                _ => true,
            }),
            Sign::Segno(segno) => earlier.all(|(other, spot)| match other {
                Sign::DalSegno(jump) => jump.label != segno.label || from < spot.0,
                _ => true,
            }),
            Sign::Coda(coda) => earlier.all(|(other, spot)| match other {
                Sign::ToCoda(to_coda) => to_coda.label != coda.label || from >= spot.0,
                _ => true,
            }),
            _ => true,
        }
    }

    /// Whether the repeats of an order, once all are laid, are sound.
    fn is_sound(&self, order: &Order) -> bool {
        if order.spots.len() != self.shaping {
            return true;
        }
        let rules: &[&str] = if self.mixes { &OF_PLACES } else { &OF_REPEATS };
        let judge = self.judges.get(usize::from(order.measures) - 1);
        judge.is_none_or(|judge| !judge.breaks_any(&order.markings(self.signs), rules))
    }

    /// Tells of an order of all signs when it is legal and every sign plays its part.
    fn judged(&mut self, order: &Order) -> Ended {
        if !self.work.spend_all(JUDGING) {
            return Ended::TooMany;
        }
        let Some(judge) = self.judges.get(usize::from(order.measures) - 1) else {
            return Ended::All;
        };
        let markings = order.markings(self.signs);
        let Some(trial) = judge.clean_trial(&markings) else {
            return Ended::All;
        };
        let Ok(walked) = judge.walk(&trial) else {
            return Ended::All;
        };
        let mut obeyed = trial.laid.jumps.iter().map(|it| it.marking);
        let mut to_codas = trial.laid.to_codas.iter().map(|it| it.marking);
        let obeys = |marking: u32| walked.obeyed.contains(&marking);
        if !obeyed.all(obeys) || !to_codas.all(obeys) {
            return Ended::All;
        }
        if counted(judge, trial, &walked, &markings) != Counted::Whole {
            return Ended::All;
        }
        let ways = choices(
            u64::from(self.measures.saturating_sub(1)),
            u64::from(order.measures) - 1,
        );
        if (self.found)(&|| order.clone(), ways) {
            Ended::All
        } else {
            Ended::Enough
        }
    }
}

/// Whether nothing at a jump says when it is obeyed.
pub(super) fn is_plain(jump: &Jump) -> bool {
    jump.arrivals.is_none() && jump.passes.is_none()
}
