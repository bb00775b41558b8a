//! The hunt for the signs that are missing: one after the other, each for one thing that is missing.

use std::collections::{BTreeMap, HashSet};

use super::arranged::{Proposal, proposal};
use super::finding::Finding;
use super::judge::{Judge, Trial, is_curable, is_error, is_lack};
use super::missing::MissingSet;
use super::partners::{Partner, Search, places_of};
use super::tally::{Found, Key, MOST_COMPARED};
use super::wanted::{Card, jumps, wanted};
use crate::board::{Al, Board, EndRepeat, Marking, Place, Sign};
use crate::roadmap::Walked;

/// The errors that no further sign takes away, a coda before its Fine left out.
const IN_THE_WAY: [&str; 7] = [
    "label-twice",
    "endings-overlap",
    "start-repeat-in-ending",
    "ending-past-section",
    "segno-after-jump",
    "coda-before-to-coda",
    "cut-outside-measure",
];

/// Whether a finding on a board with signs added is an error that no further sign takes away. From another Fine, before the coda, a jump
/// may go on to it.
pub(super) fn is_in_the_way(board: &Board, added: &[Marking], finding: &Finding) -> bool {
    IN_THE_WAY.contains(&finding.rule)
        && !found_at(board, added, finding).is_some_and(Sign::goes_on_from_fine)
}

/// The sign of a finding on a board with signs added.
pub(super) fn found_at<'s>(
    board: &'s Board,
    added: &'s [Marking],
    finding: &Finding,
) -> Option<&'s Sign> {
    let mut signs = board.markings().iter().chain(added).map(Marking::sign);
    signs.nth(finding.marking?)
}

pub(super) struct Hunt<'j, 'b> {
    pub(super) judge: &'j Judge<'b>,
    pub(super) search: Search<'j, 'b>,
    /// What is found on the board as it is.
    before: &'j [Finding],
    /// Whether the board lacks something that a return can give it.
    comes_again: bool,
    /// How many trials are left.
    pub(super) left: usize,
    pub(super) found: BTreeMap<Vec<Key>, Found>,
    /// The arrangements that have been counted: they can be come to in several orders.
    pub(super) seen: HashSet<Vec<(Key, u16, u16)>>,
}

impl<'j, 'b> Hunt<'j, 'b> {
    pub(super) fn new(judge: &'j Judge<'b>, before: &'j [Finding], left: usize) -> Hunt<'j, 'b> {
        let of_endings = |it: &Finding| it.rule.starts_with("ending-");
        let lacking = |it: &&Finding| is_error(it) || is_lack(it);
        Hunt {
            judge,
            search: Search::new(judge),
            before,
            comes_again: before.iter().filter(lacking).any(of_endings),
            left,
            found: BTreeMap::new(),
            seen: HashSet::new(),
        }
    }
}

impl Hunt<'_, '_> {
    /// Adds signs, so many in all, that take away what is missing: one after the other, each for one thing that is missing, so that no set
    /// is left out.
    pub(super) fn deepen(&mut self, added: &mut Vec<Marking>, cards: &mut Vec<Card>, size: usize) {
        let Some(trial) = self.tried(added) else {
            return;
        };
        let lacks = match self.lacks(&trial) {
            Ok(walked) => {
                if cards.len() == size {
                    self.record(added, cards, trial, &walked);
                }
                return;
            }
            Err(lacks) => lacks,
        };
        let remaining = size - cards.len();
        if remaining == 0 {
            return;
        }
        let wants: Vec<Vec<Card>> = lacks
            .iter()
            .map(|lack| self.cards_for(added, cards, &trial, lack))
            .collect();
        // What only one sign can take away needs a sign of its own.
        let mut alone: Vec<&Sign> = wants
            .iter()
            .filter_map(|cards| match cards.as_slice() {
                [card] if !matches!(card.sign, Sign::EndRepeat(_)) => Some(&card.sign),
                _ => None,
            })
            .collect();
        alone.sort_by_key(|sign| format!("{sign:?}"));
        alone.dedup();
        if alone.len() > remaining {
            return;
        }
        let Some(wanted) = wants.into_iter().min_by_key(Vec::len) else {
            return;
        };
        for card in wanted {
            let longest = self.judge.board.measures();
            for place in places_of(self.judge.board, &card.sign, longest) {
                let marking = Marking::new(card.sign.clone(), place);
                if !self.may_be_first(&marking, added, remaining) {
                    continue;
                }
                added.push(marking);
                cards.push(card.clone());
                self.deepen(added, cards, size);
                added.pop();
                cards.pop();
            }
        }
    }

    /// Counts the arrangements of the sets found: all of them, not those alone in which each sign was added for something that was missing.
    pub(super) fn lay_all(&mut self) {
        let sets: Vec<Vec<Card>> = self
            .found
            .values()
            .map(|found| found.cards.clone())
            .collect();
        for cards in sets {
            self.lay(&mut Vec::new(), &cards);
        }
    }

    /// The board with these signs added, as far as work is left for trying it; `None` too where something no sign takes away is in the way.
    fn tried(&mut self, added: &[Marking]) -> Option<Trial> {
        self.left = self.left.checked_sub(1)?;
        let trial = self.judge.trial(added);
        let blocks = |it: &Finding| is_in_the_way(self.judge.board, added, it);
        let blocked = trial.found.iter().any(blocks);
        (!blocked).then_some(trial)
    }

    fn lay(&mut self, added: &mut Vec<Marking>, cards: &[Card]) {
        let Some(trial) = self.tried(added) else {
            return;
        };
        let Some(card) = cards.get(added.len()) else {
            if let Ok(walked) = self.lacks(&trial) {
                self.record(added, cards, trial, &walked);
            }
            return;
        };
        let (board, remaining) = (self.judge.board, cards.len() - added.len());
        for place in places_of(board, &card.sign, board.measures()) {
            let marking = Marking::new(card.sign.clone(), place);
            if self.may_be_first(&marking, added, remaining) {
                added.push(marking);
                self.lay(added, cards);
                added.pop();
            }
        }
    }

    /// The route of a board with signs added.
    ///
    /// # Errors
    /// What is missing there, or wrong.
    fn lacks(&self, trial: &Trial) -> Result<Walked, Vec<Finding>> {
        if !trial.found.is_empty() {
            return Err(trial.found.clone());
        }
        self.judge.walk(trial).map_err(|fault| {
            let (board, row) = (self.judge.board, &self.judge.row);
            vec![super::walk_fault(board, row, &fault)]
        })
    }

    /// The signs one of which has to be added so that a finding goes.
    fn cards_for(
        &self,
        added: &[Marking],
        cards: &[Card],
        trial: &Trial,
        lack: &Finding,
    ) -> Vec<Card> {
        let plain = |sign| Card {
            sign,
            in_hand: None,
        };
        let mut found = wanted(self.judge, added, cards, trial, lack);
        let structural = !is_lack(lack) || lack.rule.starts_with("ending-");
        let mut more = Vec::new();
        let closes = structural || lack.rule == "to-coda-unused" && trial.laid.jumps.is_empty();
        if closes {
            let mut signs = vec![Sign::EndRepeat(EndRepeat::default())];
            if is_error(lack) && !is_curable(lack) {
                signs.push(Sign::StartRepeat);
            }
            more.extend(signs);
        }
        // A D.C. or D.S. comes again to an ending, and may be what another sign lacks besides.
        let calls = matches!(lack.rule, "to-coda-unused" | "fine-unused" | "segno-unused");
        if structural || calls && self.comes_again {
            more.extend(jumps(self.judge, added));
        }
        for sign in more {
            if found.iter().all(|card| card.sign != sign) {
                found.push(plain(sign));
            }
        }
        found
    }

    /// The sets of the best kind, those with the most signs from the hand first, then those proposed with the fewest warnings.
    pub(super) fn sets(self) -> Vec<MissingSet> {
        let board = self.judge.board;
        let best = self.found.values().map(|it| it.best().0).min();
        let mut sets: Vec<MissingSet> = Vec::new();
        for found in self.found.into_values() {
            let Some((counted, these)) = found.arrangements.into_iter().next() else {
                continue;
            };
            if Some(counted) != best {
                continue;
            }
            let Proposal { places, warnings } =
                proposal(board, self.before, &found.cards, &these.roomy);
            let signs = found.cards.into_iter().zip(these.places);
            let signs = signs.map(|(card, places)| partner(card, places));
            sets.push(MissingSet {
                signs: signs.collect(),
                arrangements: these.count,
                counted,
                first: these.first,
                proposal: places,
                always_warned: !warnings.is_empty() && these.orders <= MOST_COMPARED,
                warnings,
            });
        }
        let rank = |set: &MissingSet| {
            let signs = set.signs.iter();
            let bare = signs.clone().filter(|it| is_special(&it.card.sign)).count();
            let bare = bare + usize::from(leaps_out_of_a_repeat(board, set));
            let box_signs = signs.filter(|it| it.card.in_hand.is_none()).count();
            (box_signs, set.warnings.len(), bare)
        };
        sets.sort_by_key(rank);
        sets
    }
}

/// A sign with its places, in board order.
fn partner(card: Card, places: HashSet<(u16, u16)>) -> Partner {
    let spans = card.sign.spans();
    let mut places: Vec<(u16, u16)> = places.into_iter().collect();
    places.sort_unstable();
    let place = |(first, last)| {
        if spans {
            Place::over(first, last)
        } else {
            Place::at(first)
        }
    };
    Partner {
        card,
        places: places.into_iter().map(place).collect(),
    }
}

/// Whether a To Coda is to be obeyed on a repeat, and not on a return as is usual.
fn leaps_out_of_a_repeat(board: &Board, set: &MissingSet) -> bool {
    let added = set.signs.iter().map(|it| &it.card.sign);
    let there = board.markings().iter().map(Marking::sign);
    let all: Vec<&Sign> = there.chain(added.clone()).collect();
    let has = |of: fn(&Sign) -> bool| all.iter().any(|&it| of(it));
    added.into_iter().any(|it| matches!(it, Sign::EndRepeat(_)))
        && has(|it| matches!(it, Sign::ToCoda(_)))
        && !has(|it| matches!(it, Sign::DaCapo(_) | Sign::DalSegno(_)))
}

/// Whether a jump is one that a teacher would not think of first.
fn is_special(sign: &Sign) -> bool {
    match sign {
        Sign::DaCapo(jump) | Sign::DalSegno(jump) => {
            jump.then.is_some() || jump.al == Some(Al::Segno)
        }
        _ => false,
    }
}
