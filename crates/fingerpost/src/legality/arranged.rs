//! Ways to lay the signs that are missing: which of them are counted, and which is proposed.

use std::collections::BTreeMap;

use super::finding::{Finding, Severity};
use super::judge::{Judge, Trial, fresh};
use super::partners::Search;
use super::places::is_idle;
use super::wanted::Card;
use super::{CheckOptions, check_with};
use crate::board::{Board, Marking, Place, Sign, Then};
use crate::roadmap::Walked;
use crate::roadmap::coverage::Coverage;
use crate::roadmap::row::PartIndex;

/// Which ways to lay signs are counted: the best there are.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[non_exhaustive]
pub enum Counted {
    /// Those in which each of the signs added plays its part (a Fine ends the music, a To Coda is obeyed, a segno is gone back to, a coda is
    /// come to, a D.C. or D.S. is obeyed, an end repeat leads back), and so do each Fine, To Coda, D.C. and D.S. of the board; and every
    /// measure is played at some time.
    Whole,
    /// Those in which each of the signs added plays its part; in each some measures are never played, or a sign of the board plays no part.
    Working,
    /// All that leave no error, and no sign without its partner; in none of them does each of the signs added play its part.
    Any,
}

/// What is true of the board with signs added, whose route is known.
pub(crate) fn counted(
    judge: &Judge<'_>,
    trial: Trial,
    walked: &Walked,
    added: &[Marking],
) -> Counted {
    let ground = judge.ground_of(trial);
    let coverage = Coverage::new(&ground, walked);
    let first = judge.board.markings().len();
    let laid = &ground.laid;
    let obeyed = |marking: u32| walked.obeyed.contains(&marking);
    // Signs of other labels may stand at the same place.
    let is_gone_back_to = |segno: u32| {
        let mut jumps = laid.jumps.iter().filter(|jump| !jump.da_capo);
        jumps.any(|jump| {
            let to = laid.segno(jump.segno);
            obeyed(jump.marking) && to.is_some_and(|to| to.marking == segno)
        })
    };
    let is_come_to = |coda: u32, part: PartIndex| {
        let is_it = |label| laid.coda(label).is_some_and(|to| to.marking == coda);
        coverage.led_to_coda(part).iter().any(|by| {
            let to_coda = laid.to_codas.iter().find(|it| it.marking == *by);
            match to_coda {
                Some(to_coda) => is_it(to_coda.label),
                None => laid.jumps.iter().any(|jump| {
                    let goes_on = jump.then == Some(Then::Coda) && obeyed(jump.marking);
                    goes_on && is_it(jump.coda.unwrap_or(0))
                }),
            }
        })
    };
    let works = |(number, marking): (usize, &Marking)| {
        let index = u32::try_from(first + number).unwrap_or(u32::MAX);
        match marking.sign() {
            Sign::Segno(_) => obeyed(index) || is_gone_back_to(index),
            Sign::Coda(_) => is_come_to(index, judge.row.part_of(judge.board, marking)),
            Sign::EndRepeat(_) => coverage.repeat_made(index),
            Sign::Fine(_) | Sign::ToCoda(_) | Sign::DaCapo(_) | Sign::DalSegno(_) => obeyed(index),
            _ => true,
        }
    };
    if !added.iter().enumerate().all(works) {
        return Counted::Any;
    }
    let ends_at = |part: PartIndex| {
        let mut here = laid.fines.iter().filter(|fine| fine.part == part);
        here.any(|fine| obeyed(fine.marking))
    };
    let all_obeyed = laid.jumps.iter().all(|jump| obeyed(jump.marking))
        && laid.to_codas.iter().all(|to_coda| obeyed(to_coda.marking))
        && laid.fines.iter().all(|fine| ends_at(fine.part));
    let mut parts = 0..ground.row.length();
    if all_obeyed && parts.all(|part| coverage.times(part).played()) {
        Counted::Whole
    } else {
        Counted::Working
    }
}

/// The places of signs moved apart, in an order that stays as it is: of those between the same two signs of the board, the ones that lead
/// away go as far back as they can, with all that stands behind them; what is come to stays in front.
pub(super) fn laid_apart(
    judge: &Judge<'_>,
    search: &Search<'_, '_>,
    markings: &[&Marking],
) -> Vec<Place> {
    let mut used: BTreeMap<u16, Vec<(u32, bool)>> = BTreeMap::new();
    let mut spanned: Vec<u16> = Vec::new();
    let gaps = |marking: &Marking| {
        let (from, to) = search.site(marking);
        [from, to].map(|barline| search.classes.gap(barline))
    };
    for marking in markings {
        for gap in gaps(marking).into_iter().flatten() {
            let leads_away = leads_away(marking.sign());
            used.entry(gap.class)
                .or_default()
                .push((gap.offset, leads_away));
            spanned.extend(marking.sign().spans().then_some(gap.class));
        }
    }
    let moved = |marking: &&Marking| {
        let place = marking.place();
        let [Some(gap), _] = gaps(marking) else {
            return place;
        };
        // Where a measure is cut, barlines are not measures.
        if spanned.contains(&gap.class) || !judge.row.is_whole() {
            return place;
        }
        let here = used.get(&gap.class).map_or(&[][..], Vec::as_slice);
        let leading = here.iter().filter(|(_, leads_away)| *leads_away);
        let first = leading.map(|&(offset, _)| offset).min();
        if first.is_none_or(|first| gap.offset < first) {
            return place;
        }
        let taken = here.iter().map(|&(offset, _)| offset + 1).max();
        let size = u32::try_from(search.classes.size_of(gap.class)).unwrap_or(0);
        let by = size.saturating_sub(taken.unwrap_or(size));
        let by = u16::try_from(by).unwrap_or(0);
        Place::at(place.first().saturating_add(by))
    };
    markings.iter().map(moved).collect()
}

/// Whether the road leaves at a sign.
fn leads_away(sign: &Sign) -> bool {
    matches!(
        sign,
        Sign::EndRepeat(_) | Sign::Fine(_) | Sign::ToCoda(_) | Sign::DaCapo(_) | Sign::DalSegno(_)
    )
}

/// The way that is proposed.
#[derive(Default)]
pub(super) struct Proposal {
    pub(super) places: Vec<Place>,
    /// The warnings that the board does not have now.
    pub(super) warnings: Vec<Finding>,
}

/// The arrangement in which the fewest signs have no effect, then that with the fewest warnings that are new, and the least advice; of several
/// the one that turns back latest, for then the most is heard again.
pub(super) fn proposal(
    board: &Board,
    before: &[Finding],
    cards: &[Card],
    arrangements: &[Vec<Place>],
) -> Proposal {
    let options = CheckOptions {
        most_compared: 0,
        ..CheckOptions::default()
    };
    let judged = arrangements.iter().map(|places| {
        let markings = cards.iter().zip(places.iter());
        let markings = markings.map(|(card, &place)| Marking::new(card.sign.clone(), place));
        let with = board.to_builder().markings(markings).build();
        let found = with.map_or_else(|_| Vec::new(), |board| check_with(&board, &options));
        let mut found = fresh(before, found);
        let of = |severity| found.iter().filter(|it| it.severity == severity).count();
        let turns = cards.iter().zip(places);
        let early = turns.map(|(card, place)| match card.sign {
            Sign::EndRepeat(_) | Sign::DaCapo(_) | Sign::DalSegno(_) => {
                u64::from(board.measures() - place.last())
            }
            _ => 0,
        });
        // A sign that has no effect is worse than one that is laid unusually.
        let rank = (
            of(Severity::Error),
            found.iter().filter(|it| is_idle(it.rule)).count(),
            of(Severity::Warning),
            of(Severity::Advice),
            early.sum::<u64>(),
        );
        found.retain(|it| it.severity == Severity::Warning);
        (rank, places, found)
    });
    let best = judged.min_by(|(one, ..), (other, ..)| one.cmp(other));
    best.map_or_else(Proposal::default, |(_, places, warnings)| Proposal {
        places: places.clone(),
        warnings,
    })
}
