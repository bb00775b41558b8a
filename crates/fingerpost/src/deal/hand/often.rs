//! How often sections are played and signs come to, as far as that can be said of a hand before it is laid.

use super::numbered::{Times, comebacks, earliest, how_many, latest};
use crate::board::{EndRepeat, Plays, Sign, ToCoda};

/// The most that a section may be played, and that all sections inside one another may be played together, for roads to be followed.
const MOST_PLAYS: u32 = Times::BITS - 1;
const MOST_ROUNDS: u64 = 1024;

/// With so many plays of one measure a route may be longer than is walked, which is an error: these are not lowered.
const MOST_ROUNDS_LOWERED: u64 = 1 << 40;

/// The signs, with end repeats that are made fewer times where that changes no order.
///
/// On passes beyond all that signs name nothing happens, and one is like the other but for the last, as soon as all arrivals that signs name are
/// past. Each pass is an arrival, unless the road leaves the section before the sign, or comes into it behind the sign, or a To Coda leads over
/// it: a return may do each of these once, and a To Coda as often as it names arrivals. Two more passes are left, one of them the last.
/// Different numbers of times stay different.
pub(super) fn with_fewer_passes(signs: &[Sign]) -> Vec<Sign> {
    if rounds(&plays(signs)) > MOST_ROUNDS_LOWERED {
        return signs.to_vec();
    }
    let led_over = signs.iter().map(|sign| match sign {
        Sign::ToCoda(ToCoda {
            arrivals: Some(arrivals),
            ..
        }) => how_many(arrivals),
        _ => 0,
    });
    let led_over = led_over.fold(0, usize::saturating_add);
    let missed = few_times(led_back(signs))
        .saturating_mul(3)
        .saturating_add(few_times(led_over));
    let named = signs.iter().map(|sign| match sign {
        Sign::Ending(ending) => ending.passes.highest(),
        sign => latest(sign),
    });
    let beyond = named
        .max()
        .unwrap_or(0)
        .saturating_add(missed)
        .saturating_add(2);
    let mut many: Vec<u32> = signs
        .iter()
        .filter_map(times)
        .filter(|&it| it > beyond)
        .collect();
    many.sort_unstable();
    many.dedup();
    let fewer = |sign: &Sign| {
        let place = many.binary_search(&times(sign)?).ok()?;
        let Sign::EndRepeat(end) = sign else {
            return None;
        };
        // Above all that stay as they are.
        let plays = Plays::Times(beyond.saturating_add(1 + few_times(place)));
        Some(Sign::EndRepeat(EndRepeat {
            plays: Some(plays),
            ..end.clone()
        }))
    };
    signs
        .iter()
        .map(|sign| fewer(sign).unwrap_or_else(|| sign.clone()))
        .collect()
}

/// How often jumps lead back at most, all together.
pub(super) fn led_back(signs: &[Sign]) -> usize {
    let times = signs.iter().map(comebacks);
    times.fold(0, usize::saturating_add)
}

/// A number that is small, or as large as can be.
fn few_times(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}

/// How often an end repeat says that its section is played.
fn times(sign: &Sign) -> Option<u32> {
    match sign {
        Sign::EndRepeat(EndRepeat {
            plays: Some(Plays::Times(times)),
            ..
        }) => Some(*times),
        _ => None,
    }
}

/// Whether repeats or jumps are made so often that following the road would take long.
pub(super) fn are_long(signs: &[Sign]) -> bool {
    let plays = plays(signs);
    plays.iter().any(|&times| times >= MOST_PLAYS)
        || signs.iter().any(|sign| latest(sign) >= MOST_PLAYS)
        || rounds(&plays) > MOST_ROUNDS
}

/// How often the sections that lie inside one another may be played, the most often played first.
fn plays(signs: &[Sign]) -> Vec<u32> {
    let mut plays: Vec<u32> = Vec::new();
    let (mut starts, mut closing) = (0, 0);
    for sign in signs {
        match sign {
            Sign::EndRepeat(_) => {
                closing += 1;
                plays.push(times(sign).unwrap_or(2));
            }
            Sign::Ending(ending) => plays.push(ending.passes.highest().saturating_add(1)),
            Sign::StartRepeat => starts += 1,
            Sign::DaCapo(_) | Sign::DalSegno(_) => closing += 1,
            _ => {}
        }
    }
    // Each section but one that lies inside another begins with a start repeat, and each is closed by something.
    plays.sort_unstable_by(|one, other| other.cmp(one));
    plays.truncate(closing.min(starts + 1));
    plays
}

/// How often a measure is played at most before a jump leads back, in sections that are played so often.
fn rounds(plays: &[u32]) -> u64 {
    let plays = plays.iter().copied().map(u64::from);
    plays.fold(1, u64::saturating_mul)
}

/// Whether the road does not come to a sign as often as it says, wherever the signs stand: it comes there no more often than its measure is
/// played, and as often again for each time that another jump leads back.
pub(super) fn comes_too_late(sign: &Sign, signs: &[Sign]) -> bool {
    let others = led_back(signs).saturating_sub(comebacks(sign));
    let legs = u64::from(few_times(others)) + 1;
    u64::from(earliest(sign)) > rounds(&plays(signs)).saturating_mul(legs)
}
