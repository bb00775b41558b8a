//! Which signs would give a sign its partner: from the hand first, then from the box.

use super::finding::Finding;
use super::hunt::found_at;
use super::judge::{Judge, Trial};
use crate::board::{
    Al, EndRepeat, Ending, Fine, Jump, Landing, Marking, Passes, Sign, Then, ToCoda,
};

/// A sign that is to be added, and where it is taken from.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Card {
    /// What it is.
    pub sign: Sign,
    /// Its index among the signs in the board's hand; absent for a sign that is not in the hand.
    pub in_hand: Option<usize>,
}

/// The signs any one of which takes away what a finding says is missing: those in the hand first, which are not used twice.
pub(super) fn wanted(
    judge: &Judge<'_>,
    added: &[Marking],
    taken: &[Card],
    trial: &Trial,
    finding: &Finding,
) -> Vec<Card> {
    Want::of(judge, added, trial, finding).cards(judge, added, taken)
}

/// The signs any one of which has a To Coda of this label obeyed.
pub(super) fn wanted_by_to_coda(
    judge: &Judge<'_>,
    added: &[Marking],
    taken: &[Card],
    label: Option<String>,
) -> Vec<Card> {
    Want::Arming(label).cards(judge, added, taken)
}

/// The D.C. and D.S. that call nothing that is not there: an ending is come to again by each of them.
pub(super) fn jumps(judge: &Judge<'_>, added: &[Marking]) -> Vec<Sign> {
    let signs = || {
        let before = judge.board.markings().iter();
        before.chain(added).map(Marking::sign)
    };
    let mut als = vec![None];
    if signs().any(|sign| matches!(sign, Sign::Fine(_))) {
        als.push(Some(Al::Fine));
    }
    if signs().any(|sign| matches!(sign, Sign::ToCoda(_))) {
        als.push(Some(Al::Coda));
    }
    als.into_iter()
        .flat_map(|al| returns(al, signs()))
        .collect()
}

/// What is missing.
enum Want {
    Segno(Option<String>),
    Fine,
    /// A To Coda of this label.
    ToCoda(String),
    /// A To Coda of any label.
    AnyToCoda,
    Coda(Option<String>),
    /// A jump that goes to the segno of this label, or stops there.
    ToSegno(Option<String>),
    /// A jump that has a To Coda of this label obeyed.
    Arming(Option<String>),
    /// A jump that has a Fine obeyed.
    ToFine,
    /// What goes to the coda of this label.
    ToTheCoda(Option<String>),
    EndRepeat,
    Endings(Vec<Passes>),
    Nothing,
}

impl Want {
    fn of(judge: &Judge<'_>, added: &[Marking], trial: &Trial, finding: &Finding) -> Want {
        let sign = found_at(judge.board, added, finding);
        match (finding.rule, sign) {
            ("segno-missing", Some(Sign::DaCapo(jump) | Sign::DalSegno(jump))) => {
                Want::Segno(jump.label.clone())
            }
            ("fine-missing", _) => Want::Fine,
            // The first Fine is the one from which the road goes on.
            ("coda-before-to-coda", Some(sign)) if sign.goes_on_from_fine() => Want::Fine,
            ("to-coda-missing", Some(Sign::DaCapo(jump) | Sign::DalSegno(jump))) => {
                jump.coda.clone().map_or(Want::AnyToCoda, Want::ToCoda)
            }
            ("coda-missing", Some(Sign::DaCapo(jump) | Sign::DalSegno(jump))) => {
                Want::Coda(jump.coda.clone())
            }
            ("coda-missing", Some(Sign::ToCoda(to_coda))) => Want::Coda(to_coda.label.clone()),
            ("segno-unused", Some(Sign::Segno(segno))) => Want::ToSegno(segno.label.clone()),
            ("coda-unused", Some(Sign::Coda(coda))) => Want::ToTheCoda(coda.label.clone()),
            ("to-coda-unused", Some(Sign::ToCoda(to_coda))) => Want::Arming(to_coda.label.clone()),
            ("fine-unused", _) => Want::ToFine,
            ("start-repeat-unclosed" | "ending-without-repeat" | "ending-not-closed", _) => {
                Want::EndRepeat
            }
            ("ending-gap", _) => Want::Endings(gaps(trial)),
            _ => Want::Nothing,
        }
    }

    fn cards(&self, judge: &Judge<'_>, added: &[Marking], taken: &[Card]) -> Vec<Card> {
        let mut cards: Vec<Card> = Vec::new();
        for (index, unplaced) in judge.board.unplaced().iter().enumerate() {
            let is_taken = taken.iter().any(|card| card.in_hand == Some(index));
            let is_there = cards.iter().any(|card| card.sign == unplaced.sign);
            if !is_taken && !is_there && self.takes(&unplaced.sign) {
                cards.push(Card {
                    sign: unplaced.sign.clone(),
                    in_hand: Some(index),
                });
            }
        }
        for sign in self.plain(judge, added) {
            if cards.iter().all(|card| card.sign != sign) {
                cards.push(Card {
                    sign,
                    in_hand: None,
                });
            }
        }
        cards
    }

    /// Whether a sign is what is missing.
    fn takes(&self, sign: &Sign) -> bool {
        match (self, sign) {
            (Want::Segno(label), Sign::Segno(segno)) => segno.label == *label,
            (Want::Fine, Sign::Fine(_))
            | (Want::EndRepeat, Sign::EndRepeat(_))
            | (Want::AnyToCoda, Sign::ToCoda(_)) => true,
            (Want::ToCoda(label), Sign::ToCoda(to_coda)) => to_coda.label.as_ref() == Some(label),
            (Want::Coda(label), Sign::Coda(coda)) => coda.label == *label,
            (Want::ToSegno(label), Sign::DalSegno(jump)) => jump.label == *label,
            (Want::ToSegno(label), Sign::DaCapo(jump)) => {
                jump.al == Some(Al::Segno) && jump.label == *label
            }
            (Want::Arming(label), Sign::DaCapo(jump) | Sign::DalSegno(jump)) => {
                let named = jump.coda.is_none() || jump.coda == *label;
                matches!(jump.al, None | Some(Al::Coda)) && named
            }
            (Want::ToFine, Sign::DaCapo(jump) | Sign::DalSegno(jump)) => {
                matches!(jump.al, None | Some(Al::Fine | Al::Coda))
            }
            (Want::ToTheCoda(label), Sign::ToCoda(to_coda)) => to_coda.label == *label,
            (Want::ToTheCoda(label), Sign::DaCapo(jump) | Sign::DalSegno(jump)) => {
                jump.then == Some(Then::Coda) && jump.coda == *label
            }
            (Want::Endings(gaps), Sign::Ending(ending)) => gaps.contains(&ending.passes),
            _ => false,
        }
    }

    /// The plain signs that are missing.
    fn plain(&self, judge: &Judge<'_>, added: &[Marking]) -> Vec<Sign> {
        let signs = || {
            let before = judge.board.markings().iter();
            before.chain(added).map(Marking::sign)
        };
        match self {
            Want::Segno(label) => vec![Sign::Segno(Landing {
                label: label.clone(),
            })],
            Want::Fine => vec![Sign::Fine(Fine::default())],
            Want::ToCoda(label) => vec![to_coda(Some(label.clone()))],
            Want::AnyToCoda => {
                // The To Coda of a coda that is there.
                let codas = signs().filter_map(|sign| match sign {
                    Sign::Coda(coda) => Some(to_coda(coda.label.clone())),
                    _ => None,
                });
                let mut signs: Vec<Sign> = codas.take(3).collect();
                if signs.is_empty() {
                    signs.push(to_coda(None));
                }
                signs
            }
            Want::Coda(label) => vec![Sign::Coda(Landing {
                label: label.clone(),
            })],
            Want::ToSegno(label) => {
                let ways = [
                    // Where the coda stands and its To Coda does not yet, the way back is al Coda all the same.
                    (
                        Some(Al::Coda),
                        signs().any(|it| matches!(it, Sign::ToCoda(_) | Sign::Coda(_))),
                    ),
                    (
                        Some(Al::Fine),
                        signs().any(|it| matches!(it, Sign::Fine(_))),
                    ),
                    (None, true),
                ];
                let jump = |al| Jump {
                    al,
                    label: label.clone(),
                    ..Jump::default()
                };
                let ways = ways.into_iter().filter(|(_, fits)| *fits);
                let ways = ways.map(|(al, _)| Sign::DalSegno(jump(al)));
                let stops = Sign::DaCapo(jump(Some(Al::Segno)));
                let on_to_codas = on_to_codas(signs()).into_iter();
                let on =
                    on_to_codas.filter(|it| matches!(it, Sign::DalSegno(it) if it.label == *label));
                ways.chain([stops]).chain(on).collect()
            }
            Want::Arming(_) => returns(Some(Al::Coda), signs()),
            Want::ToFine => {
                let mut ways = returns(Some(Al::Fine), signs());
                if signs().any(|sign| matches!(sign, Sign::ToCoda(_))) {
                    ways.extend(returns(Some(Al::Coda), signs()));
                }
                ways.extend(on_to_codas(signs()));
                ways
            }
            Want::ToTheCoda(label) => {
                // On to the coda from a Fine or a segno that is there.
                let then = |al, segno: Option<String>| {
                    Sign::DaCapo(Jump {
                        al: Some(al),
                        then: Some(Then::Coda),
                        coda: label.clone(),
                        label: segno,
                        ..Jump::default()
                    })
                };
                let onwards = signs().filter_map(|sign| match sign {
                    Sign::Fine(_) => Some(then(Al::Fine, None)),
                    Sign::Segno(segno) => Some(then(Al::Segno, segno.label.clone())),
                    _ => None,
                });
                let returns = on_to_codas(signs()).into_iter();
                let returns = returns.filter(|it| match it {
                    Sign::DalSegno(jump) => jump.coda == *label,
                    _ => false,
                });
                let mut signs = vec![to_coda(label.clone())];
                signs.extend(onwards.take(4).chain(returns));
                signs
            }
            Want::EndRepeat => vec![Sign::EndRepeat(EndRepeat::default())],
            Want::Endings(gaps) => gaps
                .iter()
                .map(|passes| {
                    Sign::Ending(Ending {
                        passes: passes.clone(),
                        open: false,
                    })
                })
                .collect(),
            Want::Nothing => Vec::new(),
        }
    }
}

fn to_coda(label: Option<String>) -> Sign {
    Sign::ToCoda(ToCoda {
        label,
        arrivals: None,
    })
}

/// A D.C., and a D.S. to a segno that is there.
fn returns<'s>(al: Option<Al>, signs: impl Iterator<Item = &'s Sign>) -> Vec<Sign> {
    let jump = |label| Jump {
        al,
        label,
        ..Jump::default()
    };
    let segnos = signs.filter_map(|sign| match sign {
        Sign::Segno(segno) => Some(Sign::DalSegno(jump(segno.label.clone()))),
        _ => None,
    });
    let mut returns = vec![Sign::DaCapo(jump(None))];
    returns.extend(segnos.take(3));
    returns
}

/// The returns that stop at a Fine that is there and go on to a coda that nothing goes to yet.
fn on_to_codas<'s>(signs: impl Iterator<Item = &'s Sign> + Clone) -> Vec<Sign> {
    if !signs.clone().any(|it| matches!(it, Sign::Fine(_))) {
        return Vec::new();
    }
    let is_called = |label: &Option<String>| {
        signs.clone().any(|it| match it {
            Sign::ToCoda(to_coda) => to_coda.label == *label,
            Sign::DaCapo(jump) | Sign::DalSegno(jump) => {
                jump.then == Some(Then::Coda) && jump.coda == *label
            }
            _ => false,
        })
    };
    let codas = signs.clone().filter_map(|it| match it {
        Sign::Coda(coda) if !is_called(&coda.label) => Some(coda.label.clone()),
        _ => None,
    });
    let on = |sign: Sign, coda: &Option<String>| {
        let on = |jump| Jump {
            then: Some(Then::Coda),
            coda: coda.clone(),
            ..jump
        };
        match sign {
            Sign::DaCapo(jump) => Sign::DaCapo(on(jump)),
            Sign::DalSegno(jump) => Sign::DalSegno(on(jump)),
            other => other,
        }
    };
    let codas: Vec<Option<String>> = codas.take(2).collect();
    let returns = returns(Some(Al::Fine), signs);
    let each = |coda: &Option<String>| {
        let these = returns.iter().cloned();
        these.map(|sign| on(sign, coda)).collect::<Vec<_>>()
    };
    codas.iter().flat_map(each).collect()
}

/// The passes for which the groups of endings have none.
fn gaps(trial: &Trial) -> Vec<Passes> {
    let mut gaps: Vec<Passes> = Vec::new();
    for section in &trial.sections.list {
        let group = section
            .endings
            .get(section.closing.clone())
            .unwrap_or_default();
        let endings = group
            .iter()
            .filter_map(|&number| trial.laid.endings.get(number as usize));
        let mut ranges: Vec<(u32, u32)> = endings
            .flat_map(|ending| ending.passes.ranges())
            .copied()
            .collect();
        ranges.sort_unstable();
        let mut covered = 0;
        for (from, to) in ranges {
            if group.len() > 1 && from > covered + 1 {
                gaps.extend(Passes::of_ranges([(covered + 1, from - 1)]).ok());
            }
            covered = covered.max(to);
        }
    }
    gaps.dedup();
    gaps
}
