//! Where several signs may stand together beside what is on a board: signs that send the road elsewhere, and those it is sent to.

use super::partners::{Partner, Search, part_of};
use super::wanted::Card;
use crate::board::{Al, Jump, Marking, Place, Sign, Then};
use crate::reading::Arming;
use crate::roadmap::row::PartIndex;

/// The most arrangements of several partners that are tried before they are given up.
const MOST_TRIED: usize = 32;
/// The most arrangements that are looked at for that.
const MOST_LOOKED_AT: usize = 4_000;

/// A measure, and the part of it at which a sign stands.
pub(super) type Spot = (u16, PartIndex);

impl Search<'_, '_> {
    /// Where the cards of a way may go beside a marking; `None` when there is no arrangement of them.
    pub(super) fn together(&mut self, marking: &Marking, way: &[Card]) -> Option<Vec<Partner>> {
        let judge = self.judge;
        let jumps = self.jumps(Some(marking), way);
        let mut spots = self.spots(Some(marking), way, &jumps);
        // An ending that nothing closes lacks its end repeat or not, by where the returns lead, and of several Fines the first from there
        // has to stand before the coda to which a return goes on: no pair shows that.
        let unclosed = judge.sections.list.iter().any(|it| it.ends.is_empty());
        let uneasy = unclosed || jumps.iter().any(Sign::goes_on_from_fine);
        if let ([card], [spots]) = (way, spots.as_mut_slice()) {
            // What the pairs do not show (three signs that hang together, a landing in an ending) shows at once, or is looked for at each.
            let lands = |measure| {
                let partner = Marking::new(card.sign.clone(), Place::at(measure));
                judge.may_land_wrongly(&[marking.clone(), partner])
            };
            // For a partner that is no landing itself it is the same wherever that stands.
            let anywhere = match card.sign {
                Sign::Segno(_) | Sign::Coda(_) => None,
                _ => spots.first().map(|&(measure, _)| lands(measure)),
            };
            let lands = |measure| anywhere.unwrap_or_else(|| lands(measure));
            let mut fits = |measure| self.fits(marking, card, Place::at(measure));
            let first = spots.first().is_none_or(|&(measure, _)| fits(measure));
            spots.retain(|&(measure, _)| first && !uneasy && !lands(measure) || fits(measure));
        } else if uneasy {
            let all = spots.clone();
            for (index, (card, spots)) in way.iter().zip(spots.iter_mut()).enumerate() {
                let has_place = |spot: &Spot| {
                    let mut these = all.clone();
                    if let Some(this) = these.get_mut(index) {
                        *this = vec![*spot];
                    }
                    self.stands(marking, way, &these, &jumps, false)
                };
                match card.sign {
                    _ if unclosed => spots.retain(has_place),
                    // A coda that stands well does so too further on, and a Fine that is alone further back.
                    Sign::Coda(_) => {
                        let first = spots.iter().position(has_place);
                        spots.drain(..first.unwrap_or(spots.len()));
                    }
                    Sign::Fine(_) if judge.laid.fines.is_empty() => {
                        let last = spots.iter().rposition(has_place);
                        spots.truncate(last.map_or(0, |last| last + 1));
                    }
                    Sign::Fine(_) | Sign::Segno(_) => spots.retain(has_place),
                    _ => {}
                }
            }
        }
        if spots.iter().any(Vec::is_empty) || !self.stands(marking, way, &spots, &jumps, true) {
            return None;
        }
        let partner = |(card, spots): (&Card, Vec<Spot>)| Partner {
            card: card.clone(),
            places: spots
                .into_iter()
                .map(|(measure, _)| Place::at(measure))
                .collect(),
        };
        Some(way.iter().zip(spots).map(partner).collect())
    }

    /// The D.C. and D.S. of the board, of a marking and of some cards.
    pub(super) fn jumps(&self, marking: Option<&Marking>, way: &[Card]) -> Vec<Sign> {
        let before = self.judge.board.markings().iter().chain(marking);
        let cards = way.iter().map(|card| &card.sign);
        let all = before.map(Marking::sign).chain(cards);
        all.filter(|sign| matches!(sign, Sign::DaCapo(_) | Sign::DalSegno(_)))
            .cloned()
            .collect()
    }

    /// For each card of a way the measures, with their parts, at which it contradicts nothing that stands, nor leaves another card
    /// without a place. With none for one of them there is no arrangement.
    pub(super) fn spots(
        &mut self,
        marking: Option<&Marking>,
        way: &[Card],
        jumps: &[Sign],
    ) -> Vec<Vec<Spot>> {
        let judge = self.judge;
        let lands = |sign: &Sign| matches!(sign, Sign::Segno(_) | Sign::Coda(_));
        let before = judge.board.markings().iter();
        let standing = before.filter(|other| lands(other.sign()));
        let mut standing: Vec<(&Sign, PartIndex)> = standing
            .map(|other| (other.sign(), part_of(judge, other)))
            .collect();
        // Of several with one label the first is meant.
        standing.sort_by_key(|&(_, part)| part);
        let all = std::mem::take(&mut standing);
        for (sign, part) in all {
            if !standing.iter().any(|&(known, _)| known == sign) {
                standing.push((sign, part));
            }
        }
        standing.extend(marking.map(|it| (it.sign(), part_of(judge, it))));
        let in_section = jumps.is_empty() && judge.reading.arming != Arming::SecondArrival;
        let mut spots: Vec<Vec<Spot>> = Vec::with_capacity(way.len());
        for card in way {
            let sign = &card.sign;
            let alone = self.alone(sign);
            let needs_section = match sign {
                Sign::ToCoda(to_coda) => in_section && to_coda.arrivals.is_none(),
                _ => false,
            };
            let apart = |part| {
                let called = !needs_section || judge.sections.at(part).is_some();
                // A jump that is added can put signs in order that stood there before.
                let mut others = standing.iter();
                called && others.all(|&other| !clash(jumps, other, (sign, part)))
            };
            let spots_of = alone.into_iter().map(|measure| {
                let marking = Marking::new(sign.clone(), Place::at(measure));
                (measure, part_of(judge, &marking))
            });
            spots.push(spots_of.filter(|&(_, part)| apart(part)).collect());
        }
        // Of two that stand in one order, one keeps the other away from its end of the board.
        for (one, card) in way.iter().enumerate() {
            for (other, partner) in way.iter().enumerate() {
                let (Some(before), Some(after)) = (spots.get(one), spots.get(other)) else {
                    continue;
                };
                let Some(gap) = order(jumps, &card.sign, &partner.sign) else {
                    continue;
                };
                let earliest = before.first().map_or(PartIndex::MAX, |&(_, part)| part);
                let latest = after.last().map_or(0, |&(_, part)| part);
                if let Some(before) = spots.get_mut(one) {
                    before.retain(|&(_, part)| part.saturating_add(gap) <= latest);
                }
                if let Some(after) = spots.get_mut(other) {
                    after.retain(|&(_, part)| earliest.saturating_add(gap) <= part);
                }
            }
        }
        spots
    }

    /// Whether some arrangement of several cards is found that lacks nothing, and, when asked, that can be walked.
    fn stands(
        &self,
        marking: &Marking,
        way: &[Card],
        spots: &[Vec<Spot>],
        jumps: &[Sign],
        walked: bool,
    ) -> bool {
        if way.len() < 2 {
            return true;
        }
        let mut at = vec![0; way.len()];
        let mut tried = 0;
        for _ in 0..MOST_LOOKED_AT {
            let chosen: Vec<(&Sign, u16, PartIndex)> = way
                .iter()
                .zip(spots)
                .zip(&at)
                .filter_map(|((card, spots), &at)| {
                    // A coda is looked for from the end of the board, the others from its beginning.
                    let (measure, part) = match card.sign {
                        Sign::Coda(_) => spots.get(spots.len().checked_sub(at + 1)?)?,
                        _ => spots.get(at)?,
                    };
                    Some((&card.sign, *measure, *part))
                })
                .collect();
            let apart = chosen.iter().enumerate().all(|(index, one)| {
                let mut others = chosen.iter().skip(index + 1);
                others.all(|other| !clash(jumps, (one.0, one.2), (other.0, other.2)))
            });
            if apart {
                let mut added = vec![marking.clone()];
                added.extend(
                    chosen
                        .iter()
                        .map(|&(sign, measure, _)| Marking::new(sign.clone(), Place::at(measure))),
                );
                if self.is_whole(&added, walked) {
                    return true;
                }
                tried += 1;
            }
            if tried == MOST_TRIED || !turn(&mut at, spots) {
                return false;
            }
        }
        false
    }
}

/// The next arrangement, the last card turning fastest; false when all have been.
fn turn(at: &mut [usize], spots: &[Vec<Spot>]) -> bool {
    for (at, spots) in at.iter_mut().zip(spots).rev() {
        *at += 1;
        if *at < spots.len() {
            return true;
        }
        *at = 0;
    }
    false
}

/// Whether two signs that direct the road contradict each other where they stand.
fn clash(jumps: &[Sign], one: (&Sign, PartIndex), other: (&Sign, PartIndex)) -> bool {
    let plain = |jump: &Jump| jump.arrivals.is_none() && jump.passes.is_none();
    let wrong = |one: (&Sign, PartIndex), other: (&Sign, PartIndex)| match (one.0, other.0) {
        (Sign::DaCapo(jump) | Sign::DalSegno(jump), Sign::DaCapo(two) | Sign::DalSegno(two)) => {
            one.1 == other.1 && plain(jump) && plain(two)
        }
        _ => order(jumps, one.0, other.0).is_some_and(|gap| one.1.saturating_add(gap) > other.1),
    };
    wrong(one, other) || wrong(other, one)
}

/// By how many parts the first of two signs has to stand before the second, when it has to: a segno not after its D.S., a To Coda before
/// its coda, and a segno before the coda to which a D.C. al Segno goes on from it.
fn order(jumps: &[Sign], one: &Sign, other: &Sign) -> Option<PartIndex> {
    match (one, other) {
        (Sign::Segno(segno), Sign::DalSegno(jump)) => (segno.label == jump.label).then_some(0),
        (Sign::ToCoda(to_coda), Sign::Coda(coda)) => (to_coda.label == coda.label).then_some(1),
        (Sign::Segno(segno), Sign::Coda(coda)) => {
            let onwards = |sign: &Sign| match sign {
                Sign::DaCapo(jump) => {
                    jump.al == Some(Al::Segno)
                        && jump.then == Some(Then::Coda)
                        && jump.label == segno.label
                        && jump.coda == coda.label
                }
                _ => false,
            };
            jumps.iter().any(onwards).then_some(1)
        }
        _ => None,
    }
}
