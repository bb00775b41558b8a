//! What a hand lacks that can be laid nowhere: signs any one of which makes a way possible, or two that do together.
//!
//! They are tried in their order, some at a time by a thread each. How many orders may still be looked at for the next of them is reckoned in
//! that order too, so that what is found does not hang on how many threads there are.

use std::thread;

use super::numbered::latest;
use super::work::Work;
use super::{Hand, HandPlaced};
use crate::board::{Al, EndRepeat, Ending, Fine, Jump, Landing, Passes, Plays, Sign, Then, ToCoda};

/// How many orders are looked at to know whether a sign or two are what is missing, and how many for all of them together.
const MOST_TRIED: u64 = if cfg!(test) { 3_000 } else { 3_000_000 };
const MOST_TRIED_TOGETHER: u64 = if cfg!(test) { 10_000 } else { 10_000_000 };
/// The most times that a repeat is proposed to be played.
const MOST_TIMES: u32 = 8;

/// Names the signs that a hand lacks: single ones, or the first two that do together. At most so many threads look for them.
pub(super) fn find_missing(signs: &[Sign], threads: usize, placed: &mut HandPlaced) {
    let partners = partners(signs);
    let mut trials = Trials {
        signs,
        threads: threads.max(1),
        left: MOST_TRIED_TOGETHER,
        is_whole: true,
    };
    let single: Vec<Vec<Sign>> = partners.iter().map(|sign| vec![sign.clone()]).collect();
    trials.each(&single, &mut |set, needed| {
        placed.missing.extend_from_slice(set);
        placed.missing_measures.push(needed);
        true
    });
    if placed.missing.is_empty() {
        let pairs = partners.iter().enumerate().flat_map(|(at, one)| {
            let others = partners.iter().skip(at);
            others.map(|other| vec![one.clone(), other.clone()])
        });
        let pairs: Vec<Vec<Sign>> = pairs.collect();
        trials.each(&pairs, &mut |set, needed| {
            if let [one, other] = set {
                placed.missing_pair = Some((one.clone(), other.clone()));
            }
            placed.missing_measures.push(needed);
            false
        });
    }
    placed.missing_is_whole = trials.is_whole;
}

/// Signs of a hand that others are laid with.
struct Trials<'s> {
    signs: &'s [Sign],
    threads: usize,
    /// How many orders may still be looked at.
    left: u64,
    /// Whether all that was tried was looked at to the end.
    is_whole: bool,
}

/// What has come of it.
struct Tried {
    /// How many measures are needed, where all can be laid; `Err` when there were too many orders to know.
    needed: Result<Option<u16>, ()>,
    /// How many orders were looked at.
    spent: u64,
}

impl Trials<'_> {
    /// Lays each of these sets of signs with those of the hand, and tells of those with which all can be laid, as long as more is wanted.
    fn each(&mut self, sets: &[Vec<Sign>], found: &mut dyn FnMut(&[Sign], u16) -> bool) {
        for together in sets.chunks(self.threads) {
            let tried = self.together(together);
            for (set, tried) in together.iter().zip(tried) {
                // Those before it have left it less, perhaps, than it was given.
                let given = self.left.min(MOST_TRIED);
                self.left -= tried.spent.min(given);
                match tried.needed {
                    Ok(_) if tried.spent > given => self.is_whole = false,
                    Ok(Some(needed)) if !found(set, needed) => return,
                    Ok(_) => {}
                    Err(()) => self.is_whole = false,
                }
            }
        }
    }

    /// Tries some sets at once.
    fn together(&self, sets: &[Vec<Sign>]) -> Vec<Tried> {
        let Some((first, others)) = sets.split_first() else {
            return Vec::new();
        };
        thread::scope(|scope| {
            let others = others.iter().map(|set| {
                let helper = thread::Builder::new().spawn_scoped(scope, || self.tried(set));
                helper.map_err(|_| set)
            });
            let others: Vec<_> = others.collect();
            let mut all = vec![self.tried(first)];
            all.extend(others.into_iter().map(|helper| {
                match helper {
                    Ok(helper) => helper
                        .join()
                        .unwrap_or_else(|panic| std::panic::resume_unwind(panic)),
                    // Where there can be no further thread, the work is done by this one.
                    Err(set) => self.tried(set),
                }
            }));
            all
        })
    }

    fn tried(&self, more: &[Sign]) -> Tried {
        let with: Vec<Sign> = self.signs.iter().chain(more).cloned().collect();
        let given = self.left.min(MOST_TRIED);
        let work = Work::alone(given);
        let needed = Hand::of(&with).needed(&work);
        Tried {
            needed: needed.map_err(|_| ()),
            spent: given - work.left(),
        }
    }
}

/// The signs that may be what a hand lacks, the plainest first; with the labels that are in the hand. No sign with `arrivals` or `passes`, none
/// that has repeats made again and no ending above the third is among them.
fn partners(signs: &[Sign]) -> Vec<Sign> {
    let mut labels: Vec<Option<String>> = vec![None];
    for sign in signs {
        let of_sign = match sign {
            Sign::Segno(landing) | Sign::Coda(landing) => vec![&landing.label],
            Sign::ToCoda(to_coda) => vec![&to_coda.label],
            Sign::DaCapo(jump) | Sign::DalSegno(jump) => vec![&jump.label, &jump.coda],
            _ => Vec::new(),
        };
        for label in of_sign {
            if !labels.contains(label) {
                labels.push(label.clone());
            }
        }
    }
    let ending = |pass: u32| {
        let passes = Passes::of([pass]).ok()?;
        Some(Sign::Ending(Ending {
            passes,
            open: false,
        }))
    };
    let landing = |label: &Option<String>| Landing {
        label: label.clone(),
    };
    let mut all = vec![Sign::Fine(Fine::default())];
    for label in &labels {
        all.push(Sign::Segno(landing(label)));
        all.push(Sign::ToCoda(ToCoda {
            label: label.clone(),
            arrivals: None,
        }));
        all.push(Sign::Coda(landing(label)));
    }
    for al in [Some(Al::Fine), Some(Al::Coda), None] {
        let jump = |label: &Option<String>| Jump {
            al,
            label: label.clone(),
            ..Jump::default()
        };
        all.push(Sign::DaCapo(jump(&None)));
        all.extend(labels.iter().map(|label| Sign::DalSegno(jump(label))));
    }
    all.push(Sign::EndRepeat(EndRepeat::default()));
    all.push(Sign::StartRepeat);
    all.extend([1, 2, 3].into_iter().filter_map(ending));
    // Plainer signs first; these are for hands that want them.
    let latest = signs.iter().map(latest).max().unwrap_or(0);
    if (3..=MOST_TIMES).contains(&latest) {
        let plays = Some(Plays::Times(latest));
        all.push(Sign::EndRepeat(EndRepeat {
            plays,
            ..EndRepeat::default()
        }));
    }
    let has = |of: fn(&Sign) -> bool| signs.iter().any(of);
    let until = |al: Al, then: Option<Then>| {
        let jump = Jump {
            al: Some(al),
            then,
            ..Jump::default()
        };
        Sign::DaCapo(jump)
    };
    if has(|it| matches!(it, Sign::Segno(_))) {
        all.push(until(Al::Segno, None));
    }
    if has(|it| matches!(it, Sign::Coda(_))) {
        all.push(until(Al::Segno, Some(Then::Coda)));
    }
    if has(|it| matches!(it, Sign::Coda(_) | Sign::Fine(_))) {
        all.push(until(Al::Fine, Some(Then::Coda)));
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place_hand;

    #[test]
    fn what_is_missing_hangs_on_nobody_who_helps() {
        let (mut single, mut pairs, mut broken_off) = (0, 0, 0);
        for hand in [
            &["segno", "D.S. al Fine"][..],
            &["To Coda", "D.C. al Coda", "[1."],
            &["[1.", "[2.", "[3.", "[4.", "segno"],
            &["[4.", "[3.", "|:", "D.C.(arrivals 1 2)", "segno:A"],
            &["[1.", "[1,2.", "Fine", "segno", "D.C.(passes 2)"],
            &["D.C. al Segno", "[2.", "[1.", "coda", "D.C.(arrivals 2)"],
        ] {
            let signs: Vec<Sign> = hand.iter().map(|it| Sign::from_line(it).unwrap()).collect();
            let empty = place_hand(&signs, 16, 0, 1).unwrap();
            assert_eq!(empty.arrangements, 0, "{hand:?}");
            let lacking = |threads| {
                let mut placed = empty.clone();
                (placed.missing, placed.missing_pair) = (Vec::new(), None);
                placed.missing_measures.clear();
                find_missing(&signs, threads, &mut placed);
                placed
            };
            let alone = lacking(1);
            single += usize::from(!alone.missing.is_empty());
            pairs += usize::from(alone.missing_pair.is_some());
            broken_off += usize::from(!alone.missing_is_whole);
            for threads in [2, 5] {
                assert_eq!(lacking(threads), alone, "{hand:?}");
            }
        }
        assert!(
            single > 0 && pairs > 0 && broken_off > 0,
            "{single} {pairs} {broken_off}"
        );
    }
}
