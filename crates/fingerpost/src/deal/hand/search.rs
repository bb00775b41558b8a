//! The search through all orders of the signs of a hand.

use super::order::{Order, choices};
use crate::board::{Al, Board, Fine, Jump, Repeats, Sign, ToCoda};
use crate::chance::Chance;
use crate::legality::judge::Judge;
use crate::legality::{Counted, counted};

/// The most orders that are looked at, those of some of the signs included.
const MOST_ORDERS: u64 = 30_000_000;

/// Orders of the signs that are legal.
pub(super) struct Search<'s> {
    /// The signs of the road, in the order in which they are laid.
    signs: &'s [Sign],
    /// For each sign the one before it that is equal.
    twins: Vec<Option<usize>>,
    /// How many measures the board has.
    measures: u16,
    /// The rules, for boards of 1 measure, 2 measures …
    judges: Vec<Judge<'s>>,
    looked_at: u64,
    /// What is done with an order that is legal; whether to go on.
    found: &'s mut dyn FnMut(&Order, u64) -> bool,
    /// How many signs shape the repeats; they come first.
    shaping: usize,
    /// What is known beforehand of a hand with one return.
    lone: Option<Lone>,
    /// Whether the hand has both endings and returns: a return in an ending closes a repeat too, so that little is known before all is laid.
    mixes: bool,
    /// Whether orders that cannot become legal are left early. Tests look at all of them.
    leaves_early: bool,
}

/// How a search has ended.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Ended {
    /// Every order was looked at.
    All,
    /// Who was told of an order wanted no more.
    Enough,
    /// There are too many.
    TooMany,
}

/// The signs in the order in which they are laid: those first that forbid most to the others.
pub(super) fn sorted(signs: &[Sign]) -> Vec<Sign> {
    let mut sorted = signs.to_vec();
    sorted.sort_by_key(|sign| (rank(sign), format!("{sign:?}")));
    sorted
}

fn rank(sign: &Sign) -> u8 {
    match sign {
        Sign::EndRepeat(_) => 0,
        Sign::StartRepeat => 1,
        Sign::Ending(_) => 2,
        Sign::DaCapo(_) | Sign::DalSegno(_) => 3,
        Sign::Segno(_) => 4,
        Sign::Fine(_) => 5,
        Sign::ToCoda(_) => 6,
        _ => 7,
    }
}

/// Empty boards of 1 measure, 2 measures …: enough for every order of the signs.
pub(super) fn empty_boards(signs: &[Sign], measures: u16) -> Vec<Board> {
    let edges: usize = signs.iter().map(|sign| 1 + usize::from(sign.spans())).sum();
    let most = u16::try_from(edges + 1)
        .unwrap_or(u16::MAX)
        .min(measures.max(1));
    // cannot fail: a board of one measure or more can be built.
    (1..=most)
        .filter_map(|measures| Board::builder([measures]).build().ok())
        .collect()
}

/// Looks through all legal orders of the signs on a board of so many measures, and tells of each with the number of ways it stands for.
pub(super) fn search(
    signs: &[Sign],
    boards: &[Board],
    measures: u16,
    found: &mut dyn FnMut(&Order, u64) -> bool,
) -> Ended {
    searched(signs, boards, measures, true, found)
}

fn searched(
    signs: &[Sign],
    boards: &[Board],
    measures: u16,
    leaves_early: bool,
    found: &mut dyn FnMut(&Order, u64) -> bool,
) -> Ended {
    let twin = |at: usize| {
        let before = signs.get(..at)?;
        before
            .iter()
            .rposition(|other| Some(other) == signs.get(at))
    };
    let until = |most: u8| signs.iter().filter(|sign| rank(sign) <= most).count();
    let has = |of: fn(&Sign) -> bool| signs.iter().any(of);
    let mut search = Search {
        mixes: has(|sign| matches!(sign, Sign::Ending(_)))
            && has(|sign| matches!(sign, Sign::DaCapo(_) | Sign::DalSegno(_))),
        twins: (0..signs.len()).map(twin).collect(),
        signs,
        measures,
        judges: boards.iter().map(Judge::new).collect(),
        looked_at: 0,
        found,
        shaping: until(2),
        lone: Lone::of(signs),
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

/// What is known of a hand whose one D.C. or D.S. is plain, and whose Fines or To Codas are: where the road ends.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Lone {
    /// The place of the return among the signs.
    jump: usize,
    /// The only coda and its To Coda are in the hand, and no Fine.
    to_coda: bool,
}

impl Lone {
    fn of(signs: &[Sign]) -> Option<Lone> {
        let jumps = || {
            signs
                .iter()
                .enumerate()
                .filter(|(_, sign)| matches!(sign, Sign::DaCapo(_) | Sign::DalSegno(_)))
        };
        let (number, Sign::DaCapo(jump) | Sign::DalSegno(jump)) = jumps().next()? else {
            return None;
        };
        let count = |of: fn(&Sign) -> bool| signs.iter().filter(|&sign| of(sign)).count();
        let fines = count(|sign| matches!(sign, Sign::Fine(_)));
        let to_codas = count(|sign| matches!(sign, Sign::ToCoda(_)));
        let codas = count(|sign| matches!(sign, Sign::Coda(_)));
        let plain = signs.iter().all(|sign| match sign {
            Sign::Fine(Fine { arrivals }) | Sign::ToCoda(ToCoda { arrivals, .. }) => {
                arrivals.is_none()
            }
            // Repeats that are made again on the return lead back beyond the place it goes to.
            Sign::EndRepeat(end) => end.on_return.is_none(),
            Sign::DaCapo(jump) | Sign::DalSegno(jump) => jump.repeats != Some(Repeats::Play),
            _ => true,
        });
        let one = jumps().count() == 1 && is_plain(jump) && jump.then.is_none() && plain;
        let to_fine =
            matches!(jump.al, None | Some(Al::Fine)) && (fines, to_codas, codas) == (1, 0, 0);
        let to_coda =
            matches!(jump.al, None | Some(Al::Coda)) && (fines, to_codas, codas) == (0, 1, 1);
        (one && (to_fine || to_coda)).then_some(Lone {
            jump: number,
            to_coda,
        })
    }
}

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
            self.looked_at += 1;
            if self.looked_at > MOST_ORDERS {
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
            match self.deepen(&with) {
                Ended::All => {}
                ended => return ended,
            }
        }
        Ended::All
    }

    /// Whether the last sign of an order may stand where it does, by where the others stand.
    fn fits(&self, order: &Order) -> bool {
        let number = order.spots.len();
        let (Some(sign), Some(&(from, to))) = (self.signs.get(number - 1), order.spots.last())
        else {
            return true;
        };
        let mut earlier = self.signs.iter().zip(&order.spots).take(number - 1);
        let apart = match sign {
            // An end repeat must close it, unless a return in an ending does.
            Sign::StartRepeat => {
                self.mixes
                    || earlier
                        .any(|(other, spot)| matches!(other, Sign::EndRepeat(_)) && spot.0 > from)
            }
            Sign::Ending(_) => earlier.all(|(other, spot)| match other {
                Sign::Ending(_) => spot.1 <= from || to <= spot.0,
                Sign::StartRepeat => spot.0 <= from || to <= spot.0,
                _ => true,
            }),
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
        };
        apart
            && self
                .lone
                .is_none_or(|lone| self.leads_everywhere(lone, order, sign, from))
    }

    /// On a board with one return: whether what it leads to lies beyond the place it goes back to, and no measure is left out at the end.
    fn leads_everywhere(&self, lone: Lone, order: &Order, sign: &Sign, at: u16) -> bool {
        let spot = |of: fn(&Sign) -> bool| {
            let mut both = self.signs.iter().zip(&order.spots);
            both.find(|(sign, _)| of(sign))
                .map_or(0, |(_, spot)| spot.0)
        };
        let jump = order.spots.get(lone.jump).map_or(0, |spot| spot.0);
        let lands = || match self.signs.get(lone.jump) {
            Some(Sign::DalSegno(_)) => spot(|sign| matches!(sign, Sign::Segno(_))),
            _ => 0,
        };
        // A return in an ending may leave passes for the repeat to make, which lead back beyond the segno.
        let passes_left = self
            .signs
            .iter()
            .any(|sign| matches!(sign, Sign::Ending(_)));
        let segnos = self
            .signs
            .iter()
            .filter(|sign| matches!(sign, Sign::Segno(_)))
            .count();
        // As far as a section goes that holds the return, its measures have been played on an earlier pass.
        let ends = self.signs.iter().zip(&order.spots);
        let ends = ends.filter(|(sign, _)| matches!(sign, Sign::EndRepeat(_) | Sign::Ending(_)));
        let reach = ends.map(|(_, spot)| spot.1).max().unwrap_or(0);
        match sign {
            Sign::Fine(_) | Sign::ToCoda(_) if segnos <= 1 && !passes_left && at <= lands() => {
                false
            }
            // The music ends there on the return; it goes as far as the later of the two.
            Sign::Fine(_) => at.max(jump).max(reach) == order.measures,
            Sign::Coda(_) if lone.to_coda => {
                at <= jump
                    .max(reach)
                    .max(spot(|sign| matches!(sign, Sign::ToCoda(_))))
            }
            _ => true,
        }
    }

    /// Whether the repeats of an order, once all are laid, are sound.
    fn is_sound(&self, order: &Order) -> bool {
        if order.spots.len() != self.shaping || self.mixes {
            return true;
        }
        let judge = self.judges.get(usize::from(order.measures) - 1);
        judge.is_none_or(|judge| !judge.breaks_any(&order.markings(self.signs), &OF_REPEATS))
    }

    /// Tells of an order of all signs when it is legal and every sign plays its part.
    fn judged(&mut self, order: &Order) -> Ended {
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
        if (self.found)(order, ways) {
            Ended::All
        } else {
            Ended::Enough
        }
    }
}

/// Whether nothing at a jump says when it is obeyed.
fn is_plain(jump: &Jump) -> bool {
    jump.arrivals.is_none() && jump.passes.is_none()
}

/// The barlines inside a board of so many measures, so many of them, by chance: those at the ends of phrases rather than others.
pub(super) fn barlines(inside: u16, measures: u16, chance: &mut Chance) -> Vec<u16> {
    let mut all: Vec<(u8, u64, u16)> = (1..measures)
        .map(|at| {
            let fine = match at {
                _ if at % 4 == 0 => 0,
                _ if at % 2 == 0 => 1,
                _ => 2,
            };
            // Mostly the ends of phrases, at times another barline.
            let fine = if chance.happens(1, 8) { 0 } else { fine };
            (fine, chance.below(u64::MAX), at)
        })
        .collect();
    all.sort_unstable();
    let mut chosen: Vec<u16> = all
        .iter()
        .take(usize::from(inside))
        .map(|it| it.2)
        .collect();
    chosen.sort_unstable();
    chosen
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The number of ways, and the first order that only one of the searches finds.
    fn ways(hand: &[&str], measures: u16, leaves_early: bool) -> Vec<String> {
        let signs: Vec<Sign> = hand.iter().map(|it| Sign::from_line(it).unwrap()).collect();
        let signs = sorted(&signs);
        let boards = empty_boards(&signs, measures);
        let mut found = Vec::new();
        let ended = searched(&signs, &boards, measures, leaves_early, &mut |order, _| {
            let board = Board::builder([order.measures]).markings(order.markings(&signs));
            found.push(board.build().unwrap().to_line());
            true
        });
        assert_eq!(ended, Ended::All);
        found.sort();
        found
    }

    #[test]
    fn leaving_orders_early_loses_none() {
        for hand in [
            &["|:", ":|", "[1.", "[2.", "segno", "D.S."][..],
            &["|:", ":|", "[1.", "[2.", "D.C. al Fine", "Fine"],
            &[":|", ":|", "[1.", "[2.", "[3.", "D.C."],
            &["[1.", "[2.", "[3.", "segno", "D.S."],
            &["[1.", "[2.", ":|", "To Coda", "D.C. al Coda", "coda"],
            &["|:", ":|", "segno", "To Coda", "D.S. al Coda", "coda"],
            &["|:", ":|", ":|x3", "Fine", "D.C. al Fine"],
            &["|:", ":|", "segno", "Fine", "D.S. al Fine con rep."],
            &["D.C.", "D.S. al Fine", "segno", "Fine", ":|"],
            &["|:", ":|", "|:", ":|", "[1.", "[2."],
        ] {
            let (early, all) = (ways(hand, 7, true), ways(hand, 7, false));
            let lost = all.iter().find(|line| !early.contains(line));
            assert_eq!(lost, None, "{hand:?}");
            assert_eq!(early.len(), all.len(), "{hand:?}");
        }
    }
}
