//! Which partners a sign would need at a place, and where each of them could go.
//!
//! Two ways lead there. Signs that send the road elsewhere, and those it is sent to, contradict each other in pairs only, so that each is
//! judged once for each measure and then held against the others. Repeats and endings change what a section is: with them every pair of
//! places is tried, but of places that stand in the same order to all signs only one (rulebook, chapter 2: nothing but order counts).

use std::collections::HashMap;

use super::classes::{Class, Classes};

use super::finding::Finding;
use super::judge::{Judge, Trial, is_curable, is_error};
use super::wanted::{Card, wanted, wanted_by_to_coda};
use crate::board::{Board, EndRepeat, Marking, Place, Side, Sign};
use crate::roadmap::row::PartIndex;

/// A sign that is missing, and where it may go.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub struct Partner {
    /// The sign, and whether it is in the hand.
    pub card: Card,
    /// The places where it may go, in board order; never empty.
    pub places: Vec<Place>,
}

/// The most signs that are put together as partners of one.
const MOST_PARTNERS: usize = 3;

/// The two barlines of a place, which are one for a sign that stands at one.
pub(super) type Site = (PartIndex, PartIndex);

/// What a sign lacks: the rule and the marking it is about.
pub(super) type Lack = (&'static str, Option<usize>);

/// How a partner stands to the board and to the sign it is for: the groups of both, and their order to each other, packed into one number.
type Pair = (u64, u32);

/// The partners of one sign, asked place by place.
pub(super) struct Search<'j, 'b> {
    pub(super) judge: &'j Judge<'b>,
    pub(super) classes: Classes,
    /// For each sign the measures at which it makes no error that nothing cures, whatever else is added.
    alone: HashMap<Sign, Vec<u16>>,
    /// Which cards cure what is missing, by what is missing.
    ways: HashMap<(Vec<Lack>, bool), Vec<Vec<Card>>>,
    cards: Vec<Card>,
    pairs: HashMap<Pair, bool>,
    /// Of pairs that fit, whether a measure is never played that was played before.
    costly: HashMap<Pair, bool>,
    /// The measures that are never played on the board as it is; none on one that has no route.
    never_before: Option<Vec<bool>>,
}

impl<'j, 'b> Search<'j, 'b> {
    pub(super) fn new(judge: &'j Judge<'b>) -> Search<'j, 'b> {
        Search {
            judge,
            classes: Classes::new(judge),
            alone: HashMap::new(),
            ways: HashMap::new(),
            cards: Vec::new(),
            pairs: HashMap::new(),
            costly: HashMap::new(),
            never_before: None,
        }
    }

    /// The barlines of a marking.
    pub(super) fn site(&self, marking: &Marking) -> Site {
        site(self.judge, marking)
    }

    /// The ways in which a marking that lacks something gets its partners: each way a list of partners that are all needed.
    pub(super) fn partners(
        &mut self,
        marking: &Marking,
        trial: &Trial,
        lacks: &[Finding],
    ) -> Vec<Vec<Partner>> {
        if !directs(marking.sign()) || lacks.iter().any(|lack| is_structural(lack.rule)) {
            return self.one_partner(marking, trial, lacks);
        }
        let lacks: Vec<Lack> = lacks.iter().map(|it| (it.rule, it.marking)).collect();
        let ways = self.ways_of(marking, lacks.clone(), true);
        if ways.is_empty() {
            self.ways_of(marking, lacks, false)
        } else {
            ways
        }
    }

    /// The ways of the smallest number of partners. On a board without a D.C. or D.S. a To Coda in a section is obeyed on the last pass
    /// (rulebook 4.8); whether that is reckoned with is said by `in_section`.
    pub(super) fn ways_of(
        &mut self,
        marking: &Marking,
        lacks: Vec<Lack>,
        in_section: bool,
    ) -> Vec<Vec<Partner>> {
        let key = (lacks, in_section);
        let known = self.ways.get(&key).cloned();
        let ways = known.unwrap_or_else(|| {
            let ways = self.by_presence(marking, in_section);
            self.ways.insert(key, ways.clone());
            ways
        });
        ways.iter()
            .filter_map(|way| self.together(marking, way))
            .collect()
    }

    /// The smallest sets of cards after which nothing is missing, wherever they stand.
    pub(super) fn by_presence(&self, marking: &Marking, in_section: bool) -> Vec<Vec<Card>> {
        let mut sets: Vec<Vec<Card>> = vec![Vec::new()];
        for _ in 0..=MOST_PARTNERS {
            let mut whole = Vec::new();
            let mut larger: Vec<Vec<Card>> = Vec::new();
            for set in sets {
                let cards = self.missing_from(marking, &set, in_section);
                if cards.is_empty() {
                    whole.push(set);
                    continue;
                }
                for card in cards {
                    let mut set = set.clone();
                    set.push(card);
                    let is_known = |other: &Vec<Card>| {
                        set.len() == other.len() && set.iter().all(|it| other.contains(it))
                    };
                    if !larger.iter().any(is_known) {
                        larger.push(set);
                    }
                }
            }
            if !whole.is_empty() {
                return whole;
            }
            sets = larger;
        }
        Vec::new()
    }

    /// The cards one of which is needed still; none for a set after which nothing is missing.
    fn missing_from(&self, marking: &Marking, set: &[Card], in_section: bool) -> Vec<Card> {
        let judge = self.judge;
        let mut added = vec![marking.clone()];
        for card in set {
            // Any place will do: what is missing does not hang on it, save for a To Coda on a board without jumps.
            let measure = match card.sign {
                Sign::ToCoda(_) => self.measure_in_section().unwrap_or(1),
                _ => 1,
            };
            added.push(Marking::new(card.sign.clone(), Place::at(measure)));
        }
        let trial = judge.trial(&added);
        let fresh = judge.fresh(trial.found.clone());
        let lack = fresh.iter().find(|it| !is_error(it) || is_curable(it));
        if let Some(lack) = lack.filter(|it| !is_structural(it.rule)) {
            return wanted(judge, &added, set, &trial, lack);
        }
        let to_coda = set.iter().find_map(|card| match &card.sign {
            Sign::ToCoda(to_coda) if to_coda.arrivals.is_none() => Some(to_coda),
            _ => None,
        });
        match to_coda {
            Some(to_coda) if !in_section && trial.laid.jumps.is_empty() => {
                wanted_by_to_coda(judge, &added, set, to_coda.label.clone())
            }
            _ => Vec::new(),
        }
    }

    /// A measure whose end lies in a section.
    fn measure_in_section(&self) -> Option<u16> {
        let measures = 1..=self.judge.board.measures();
        let mut ends = measures.map(|measure| (measure, self.judge.row.parts_of(measure).end));
        let held = ends.find(|&(_, end)| self.judge.sections.at(end.saturating_sub(1)).is_some());
        held.map(|(measure, _)| measure)
    }

    /// Whether the board with these signs has no new error, none that walking shows when that is asked, and no sign that newly lacks its
    /// partner.
    pub(super) fn is_whole(&self, added: &[Marking], walked: bool) -> bool {
        let trial = self.judge.trial(added);
        let walks = walked && self.judge.may_land_wrongly(added);
        let walks = !walks || self.judge.walks(&trial).is_ok();
        walks && self.judge.fresh(trial.found).is_empty()
    }

    /// The measures at which a sign makes no error that no partner cures.
    pub(super) fn alone(&mut self, sign: &Sign) -> Vec<u16> {
        if let Some(measures) = self.alone.get(sign) {
            return measures.clone();
        }
        let judge = self.judge;
        let fits = |measure: &u16| {
            let marking = Marking::new(sign.clone(), Place::at(*measure));
            let trial = judge.trial(&[marking]);
            let fresh = judge.fresh(trial.found);
            fresh.iter().all(|it| !is_error(it) || is_curable(it))
        };
        let measures: Vec<u16> = (1..=judge.board.measures()).filter(fits).collect();
        self.alone.insert(sign.clone(), measures.clone());
        measures
    }

    /// Each sign that by itself gives a marking what it lacks, with its places. Where a repeat or an ending is lacking and can be laid so that
    /// every measure is played that was played before, other places are left out.
    pub(super) fn one_partner(
        &mut self,
        marking: &Marking,
        trial: &Trial,
        lacks: &[Finding],
    ) -> Vec<Vec<Partner>> {
        let added = std::slice::from_ref(marking);
        let mut cards: Vec<Card> = Vec::new();
        for lack in lacks {
            for card in wanted(self.judge, added, &[], trial, lack) {
                if !cards.contains(&card) {
                    cards.push(card);
                }
            }
        }
        // Where endings lack something, an end repeat can make another group of them the one that ends the section.
        let end = Sign::EndRepeat(EndRepeat::default());
        let is_end = |card: &Card| matches!(card.sign, Sign::EndRepeat(_));
        let of_sections = lacks.iter().any(|lack| is_structural(lack.rule));
        if of_sections && !cards.iter().any(is_end) {
            cards.push(Card {
                sign: end,
                in_hand: None,
            });
        }
        // Whether an end repeat is all that the sign itself lacks, and no section is open, or can be torn open, into which it could fall.
        let own = self.judge.board.markings().len();
        let own =
            |lack: &Finding| lack.rule == "ending-without-repeat" && lack.marking == Some(own);
        let sections = &self.judge.sections;
        let all_closed = sections.unclosed.is_empty()
            && sections.list.iter().all(|section| !section.ends.is_empty());
        let laid = &self.judge.laid;
        let mut endings = laid.endings.iter();
        let torn = endings.any(|ending| laid.starts.iter().any(|it| it.part == ending.first));
        let own = all_closed && !torn && lacks.iter().all(own);
        let mut ways = Vec::new();
        for card in cards {
            let places: Vec<Place> = self
                .sites_for(&card.sign, marking, own)
                .into_iter()
                .filter(|&place| self.fits(marking, &card, place))
                .collect();
            if !places.is_empty() {
                ways.push(Partner { card, places });
            }
        }
        let counts = ways.iter().filter(|_| of_sections);
        let best = counts.map(|way| self.that_leave_none_out(marking, way));
        let mut best: Vec<Partner> = best.collect();
        best.retain(|way| !way.places.is_empty());
        let best = if best.is_empty() { ways } else { best };
        best.into_iter().map(|way| vec![way]).collect()
    }

    /// A partner with those of its places alone with which every measure is played that was played before.
    fn that_leave_none_out(&mut self, marking: &Marking, way: &Partner) -> Partner {
        let mut kept = way.clone();
        kept.places.retain(|&place| {
            let pair = self.pair(marking, &way.card, place);
            if let Some(&costly) = self.costly.get(&pair) {
                return !costly;
            }
            let partner = Marking::new(way.card.sign.clone(), place);
            let never = self.judge.never_played(&[marking.clone(), partner]);
            let before = self
                .never_before
                .get_or_insert_with(|| self.judge.never_played(&[]));
            let known = |at: usize| before.get(at).copied().unwrap_or(false);
            let mut now = never.iter().enumerate();
            let costly = now.any(|(at, &never)| never && !known(at));
            self.costly.insert(pair, costly);
            !costly
        });
        kept
    }

    /// Where a partner is looked for: at every measure; an ending beside other endings, where it can close a gap.
    fn sites_for(&self, sign: &Sign, marking: &Marking, own: bool) -> Vec<Place> {
        let measures = self.judge.board.measures();
        if !sign.spans() {
            // Where no section is open, an end repeat further before an ending than right before it belongs to another one.
            let first = match (sign, marking.sign()) {
                (Sign::EndRepeat(_), Sign::Ending(_)) if own => marking.measure().max(2) - 1,
                _ => 1,
            };
            return (first..=measures).map(Place::at).collect();
        }
        let before = self.judge.board.markings().iter().chain([marking]);
        let endings: Vec<(u16, u16)> = before
            .filter(|other| matches!(other.sign(), Sign::Ending(_)))
            .map(|other| (other.place().first(), other.place().last()))
            .collect();
        let rows =
            (1..=measures).flat_map(|first| (first..=measures).map(move |last| (first, last)));
        let beside = |&(first, last): &(u16, u16)| {
            endings
                .iter()
                .any(|&(from, to)| last + 1 == from || first == to + 1)
        };
        rows.filter(beside)
            .map(|(first, last)| Place::over(first, last))
            .collect()
    }

    /// Whether a partner at a place gives a marking all it lacks, and makes no error.
    pub(super) fn fits(&mut self, marking: &Marking, card: &Card, place: Place) -> bool {
        let pair = self.pair(marking, card, place);
        if let Some(&known) = self.pairs.get(&pair) {
            return known;
        }
        let partner = Marking::new(card.sign.clone(), place);
        let fits = self.is_whole(&[marking.clone(), partner], true);
        self.pairs.insert(pair, fits);
        fits
    }

    /// How a partner at a place stands to the board and to the marking it is for.
    fn pair(&mut self, marking: &Marking, card: &Card, place: Place) -> Pair {
        let partner = Marking::new(card.sign.clone(), place);
        let known = self.cards.iter().position(|known| known == card);
        let number = known.unwrap_or_else(|| {
            self.cards.push(card.clone());
            self.cards.len() - 1
        });
        // cannot fail: a board has at most 100 000 cards in the hand, and few others are wanted.
        let number = u32::try_from(number).unwrap_or(u32::MAX / 81);
        let (one, other) = (self.site(marking), self.site(&partner));
        let class = |barline| u64::from(self.classes.at(barline));
        let groups = [class(one.0), class(one.1), class(other.0), class(other.1)];
        let orders = [
            other.0.cmp(&one.0),
            other.0.cmp(&one.1),
            other.1.cmp(&one.0),
            other.1.cmp(&one.1),
        ];
        let orders = orders.into_iter().fold(number, |packed, order| {
            packed * 3 + u32::from(order.is_ge()) + u32::from(order.is_gt())
        });
        let groups = groups
            .into_iter()
            .fold(0, |packed, group| packed << 16 | group);
        (groups, orders)
    }

    /// The groups of the two barlines of a marking: all markings of one sign with the same groups have the same verdict.
    pub(super) fn group(&self, marking: &Marking) -> (Class, Class) {
        let (from, to) = self.site(marking);
        (self.classes.at(from), self.classes.at(to))
    }
}

/// The barlines of a marking.
fn site(judge: &Judge<'_>, marking: &Marking) -> Site {
    let place = marking.place();
    if marking.sign().spans() {
        let first = judge.row.parts_of(place.first()).start;
        return (first, judge.row.parts_of(place.last()).end);
    }
    let part = part_of(judge, marking);
    let barline = match marking.sign().side() {
        Side::Landing => part,
        Side::Leaving | Side::Over => part + 1,
    };
    (barline, barline)
}

pub(super) fn part_of(judge: &Judge<'_>, marking: &Marking) -> PartIndex {
    judge.row.part_of(judge.board, marking)
}

/// Whether a sign sends the road elsewhere, or is where it is sent.
pub(super) fn directs(sign: &Sign) -> bool {
    matches!(
        sign,
        Sign::Segno(_)
            | Sign::Coda(_)
            | Sign::ToCoda(_)
            | Sign::Fine(_)
            | Sign::DaCapo(_)
            | Sign::DalSegno(_)
    )
}

/// Whether what is missing hangs on where the sections are.
pub(super) fn is_structural(rule: &str) -> bool {
    matches!(
        rule,
        "start-repeat-unclosed" | "ending-without-repeat" | "ending-not-closed" | "ending-gap"
    )
}

/// Every place of a sign on a board, in board order; rows of at most so many measures.
pub(super) fn places_of(board: &Board, sign: &Sign, longest_row: u16) -> Vec<Place> {
    let measures = board.measures();
    if !sign.spans() {
        return (1..=measures).map(Place::at).collect();
    }
    let rows = (1..=measures).flat_map(|first| {
        let last = measures.min(first.saturating_add(longest_row - 1));
        (first..=last).map(move |last| Place::over(first, last))
    });
    rows.collect()
}
