//! The signs of a hand by number, and what they have to do with each other.

use super::often::led_back;
use super::way::MOST_RETURNS;
use crate::board::{Al, Fine, Jump, Passes, Repeats, Sign, Then, ToCoda};

/// Signs of a hand by number, as bits.
pub(super) type Signs = u16;

/// Arrivals or passes from 0 to 31, as bits.
pub(super) type Times = u32;

/// The signs that may be obeyed at a barline, kind by kind in the order in which they are asked. Rulebook 3.8 and 4.10.
#[derive(Clone, Copy)]
pub(super) struct Turns {
    /// Those that name the arrivals at which they are obeyed, before the end repeat.
    pub(super) counted: [Signs; 3],
    /// All of these.
    pub(super) any_counted: Signs,
    /// The others, after it: the third kind are jumps that name passes.
    pub(super) others: [Signs; 4],
}

impl Turns {
    /// All of them, in this order.
    pub(super) fn all(&self) -> [Signs; 7] {
        let ([first, second, third], [fines, to_codas, listed, jumps]) =
            (self.counted, self.others);
        [first, second, third, fines, to_codas, listed, jumps]
    }
}

/// The signs of a hand by number.
pub(super) struct Numbered<'s> {
    pub(super) signs: &'s [Sign],
    /// For each sign the others that are equal to it.
    equal: Vec<Signs>,
    pub(super) to_codas: Signs,
    pub(super) jumps: Signs,
    /// When the signs at a barline are asked: outside all sections, and in one.
    outside: Turns,
    inside: Turns,
    /// For each sign the arrivals or the passes that it names, and for each time the signs that name it.
    times: Vec<Times>,
    at_times: [Signs; Times::BITS as usize],
    /// For each jump those that may stand at one barline with it, outside all sections and in one.
    apart: Vec<[Signs; 2]>,
    /// The signs that name arrivals or passes.
    pub(super) with_times: Signs,
    /// The signs at which the road may be left, but for a segno.
    pub(super) leaving: Signs,
    /// The most times that jumps can lead back, all together.
    pub(super) comebacks: usize,
    /// The jumps that have repeats played after them.
    pub(super) play_repeats: Signs,
    /// Those that are laid on the way.
    pub(super) loose: Signs,
    /// For each D.S. its segno, for each To Coda its coda.
    leads_to: Vec<Option<u8>>,
    /// For each D.C. al Segno the segno at which its return is left.
    until: Vec<Option<u8>>,
    /// For each jump the coda to which its Fine or its segno goes on.
    goes_on_to: Vec<Option<u8>>,
    /// For each jump the To Codas that it names.
    pub(super) names: Vec<Option<Signs>>,
}

/// The numbers of the bits that are set, rising.
pub(super) fn numbers(bits: impl Into<u32>) -> impl Iterator<Item = u8> {
    let mut bits = bits.into();
    std::iter::from_fn(move || {
        let [lowest, ..] = bits.trailing_zeros().to_le_bytes();
        let is_set = bits != 0;
        bits &= bits.wrapping_sub(1);
        is_set.then_some(lowest)
    })
}

impl<'s> Numbered<'s> {
    /// The signs of a hand, the first so many of which are repeats and endings.
    pub(super) fn new(signs: &'s [Sign], shaping: usize) -> Numbered<'s> {
        let having = |wanted: &dyn Fn(&Sign) -> bool| {
            let found = signs.iter().enumerate().filter(|(_, sign)| wanted(sign));
            found.fold(0, |bits: Signs, (number, _)| bits | 1 << number)
        };
        let first = |wanted: &dyn Fn(&Sign) -> bool| {
            let found = signs.iter().position(wanted);
            found.and_then(|number| u8::try_from(number).ok())
        };
        let equal = signs
            .iter()
            .enumerate()
            .map(|(number, sign)| having(&|other| other == sign) & !(1 << number));
        let leads_to = signs.iter().map(|sign| match sign {
            Sign::DalSegno(jump) => {
                first(&|it| matches!(it, Sign::Segno(segno) if segno.label == jump.label))
            }
            Sign::ToCoda(to_coda) => {
                first(&|it| matches!(it, Sign::Coda(coda) if coda.label == to_coda.label))
            }
            _ => None,
        });
        let until = signs.iter().map(|sign| match sign {
            Sign::DaCapo(jump) if jump.al == Some(Al::Segno) => {
                first(&|it| matches!(it, Sign::Segno(segno) if segno.label == jump.label))
            }
            _ => None,
        });
        let goes_on_to = signs.iter().map(|sign| match sign {
            Sign::DaCapo(jump) | Sign::DalSegno(jump) if jump.then == Some(Then::Coda) => {
                first(&|it| matches!(it, Sign::Coda(coda) if coda.label == jump.coda))
            }
            _ => None,
        });
        let names = signs.iter().map(|sign| {
            let (Sign::DaCapo(jump) | Sign::DalSegno(jump)) = sign else {
                return None;
            };
            let coda = jump.coda.as_ref()?;
            Some(having(
                &|it| matches!(it, Sign::ToCoda(to_coda) if to_coda.label.as_ref() == Some(coda)),
            ))
        });
        let fines = having(&|it| matches!(it, Sign::Fine(_)));
        let to_codas = having(&|it| matches!(it, Sign::ToCoda(_)));
        let jumps = having(&|it| matches!(it, Sign::DaCapo(_) | Sign::DalSegno(_)));
        let with_arrivals = having(&|it| named(it).is_some_and(|(kind, _)| kind == Kind::Arrivals));
        let with_passes = having(&|it| named(it).is_some_and(|(kind, _)| kind == Kind::Passes));
        let turns = |counted: Signs, listed: Signs| Turns {
            counted: [fines, to_codas, jumps].map(|kind| kind & counted),
            any_counted: counted,
            others: [fines, to_codas, jumps & listed, jumps & !listed].map(|kind| kind & !counted),
        };
        let apart = signs.iter().map(|sign| {
            [true, false].map(|outside| having(&|other| are_apart(sign, other, outside)) & jumps)
        });
        Numbered {
            signs,
            equal: equal.collect(),
            // Outside all sections passes are arrivals.
            outside: turns(with_arrivals | with_passes, 0),
            inside: turns(with_arrivals, with_passes),
            at_times: std::array::from_fn(|time| having(&|it| times(it) & 1 << time != 0)),
            times: signs.iter().map(times).collect(),
            apart: apart.collect(),
            with_times: with_arrivals | with_passes,
            leaving: fines | to_codas | jumps,
            comebacks: led_back(signs),
            to_codas,
            jumps,
            play_repeats: having(&|it| match it {
                Sign::DaCapo(jump) | Sign::DalSegno(jump) => jump.repeats == Some(Repeats::Play),
                _ => false,
            }),
            loose: having(&|_| true) & !((1 << shaping) - 1),
            leads_to: leads_to.collect(),
            until: until.collect(),
            goes_on_to: goes_on_to.collect(),
            names: names.collect(),
        }
    }

    /// Whether all that is laid on the way are returns to the beginning, not too many for their ways (`way.rs`).
    pub(super) fn has_few_returns_to_beginning(&self) -> bool {
        let returns = self.loose | self.jumps;
        let to_beginning = |number| {
            let sign = self.signs.get(usize::from(number));
            matches!(sign, Some(Sign::DaCapo(_)))
        };
        (1..=MOST_RETURNS).contains(&(returns.count_ones() as usize))
            && numbers(returns).all(to_beginning)
    }

    pub(super) fn jump(&self, number: u8) -> Option<&'s Jump> {
        match self.signs.get(usize::from(number))? {
            Sign::DaCapo(jump) | Sign::DalSegno(jump) => Some(jump),
            _ => None,
        }
    }

    pub(super) fn equal(&self, number: u8) -> Signs {
        self.equal.get(usize::from(number)).copied().unwrap_or(0)
    }

    pub(super) fn leads_to(&self, number: u8) -> Option<u8> {
        self.leads_to.get(usize::from(number)).copied().flatten()
    }

    /// The segno at which the return of a D.C. is left.
    pub(super) fn until(&self, number: u8) -> Option<u8> {
        self.until.get(usize::from(number)).copied().flatten()
    }

    /// When the signs at a barline in these sections are asked.
    pub(super) fn turns(&self, around: u16) -> &Turns {
        if around == 0 {
            &self.outside
        } else {
            &self.inside
        }
    }

    /// The arrivals or passes that a sign names, if it names any.
    pub(super) fn times(&self, number: u8) -> Option<Times> {
        let times = self.times.get(usize::from(number)).copied();
        times.filter(|&times| times != 0)
    }

    /// Those of some signs that name this arrival, or this pass.
    pub(super) fn named(&self, signs: Signs, time: u8) -> Signs {
        signs & self.at_times.get(usize::from(time)).copied().unwrap_or(0)
    }

    /// Whether a jump may stand at one barline with all of these.
    pub(super) fn is_apart(&self, number: u8, others: Signs, around: u16) -> bool {
        let [outside, inside] = self
            .apart
            .get(usize::from(number))
            .copied()
            .unwrap_or_default();
        others & !(if around == 0 { outside } else { inside }) == 0
    }

    pub(super) fn goes_on_to(&self, number: u8) -> Option<u8> {
        self.goes_on_to.get(usize::from(number)).copied().flatten()
    }
}

/// What a sign names to say when it is obeyed.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Arrivals,
    Passes,
}

/// The times at which a sign says that it is obeyed, if it says any. Beside arrivals passes are not used.
fn named(sign: &Sign) -> Option<(Kind, &Passes)> {
    match sign {
        Sign::Fine(Fine { arrivals }) | Sign::ToCoda(ToCoda { arrivals, .. }) => {
            arrivals.as_ref().map(|arrivals| (Kind::Arrivals, arrivals))
        }
        Sign::DaCapo(jump) | Sign::DalSegno(jump) => {
            let arrivals = jump.arrivals.as_ref();
            let passes = jump.passes.as_ref().map(|passes| (Kind::Passes, passes));
            arrivals
                .map(|arrivals| (Kind::Arrivals, arrivals))
                .or(passes)
        }
        _ => None,
    }
}

fn times(sign: &Sign) -> Times {
    let named = named(sign)
        .into_iter()
        .flat_map(|(_, times)| times.ranges());
    named.fold(0, |bits, &(from, to)| {
        let within = from..=to.min(Times::BITS - 1);
        within.fold(bits, |bits, time| bits | 1 << time)
    })
}

/// Those of some arrivals that are later than one.
pub(super) fn later(named: Times, arrival: u8) -> Times {
    named & Times::MAX.checked_shl(u32::from(arrival) + 1).unwrap_or(0)
}

/// The latest of the times that a sign names.
pub(super) fn latest(sign: &Sign) -> u32 {
    named(sign).map_or(0, |(_, times)| times.highest())
}

/// The first of the times that a sign names; 0 when it names none.
pub(super) fn earliest(sign: &Sign) -> u32 {
    named(sign).map_or(0, |(_, times)| times.lowest())
}

/// How often a jump can lead back at most.
pub(super) fn comebacks(sign: &Sign) -> usize {
    match sign {
        Sign::DaCapo(_) | Sign::DalSegno(_) => named(sign).map_or(1, |(_, times)| how_many(times)),
        _ => 0,
    }
}

/// How many times these are.
pub(super) fn how_many(times: &Passes) -> usize {
    let long = times.ranges().iter().map(|(from, to)| to - from + 1);
    long.fold(0, |sum, long| sum.saturating_add(long as usize))
}

/// Whether something keeps two jumps at one barline apart (rulebook 10.15).
fn are_apart(one: &Sign, other: &Sign, outside: bool) -> bool {
    let kind = |kind| if outside { Kind::Arrivals } else { kind };
    match (named(one), named(other)) {
        (Some((of_one, one)), Some((of_other, other))) => {
            kind(of_one) != kind(of_other) || !one.meets(other)
        }
        (None, None) => false,
        _ => true,
    }
}
