//! What a board in the making lacks still when a sign has been laid on it.

use std::cell::OnceCell;

use super::finding::Finding;
use super::judge::{Judge, is_curable, is_error, is_lack};
use super::partners::{Lack, Partner, Search, directs, is_structural};
use super::places::Verdict;
use crate::board::{Board, Marking};

/// The most ways to complete a board that are named.
const MOST_WAYS: usize = 12;

/// The two kinds of what a board lacks, each judged as if the other were in order.
pub(super) struct Halves<'b> {
    /// What directs the road.
    road: Judge<'b>,
    /// Its errors alone, and what the signs lack that are laid: that a sign of the board stays without its partner is no fault of those.
    /// Judged where nothing else decides.
    errors: OnceCell<Judge<'b>>,
    /// Repeats and endings.
    sections: Judge<'b>,
}

impl<'b> Halves<'b> {
    pub(super) fn new(board: &'b Board) -> Halves<'b> {
        let is_of_road = |it: &Finding| is_lack(it) && !is_structural(it.rule);
        let is_of_sections = |it: &Finding| is_lack(it) && is_structural(it.rule);
        Halves {
            road: Judge::overlooking(board, |it| !is_of_road(it)),
            errors: OnceCell::new(),
            sections: Judge::overlooking(board, |it| !is_of_sections(it)),
        }
    }

    fn errors(&self) -> &Judge<'b> {
        let is_known = |it: &Finding| !is_curable(it) || is_structural(it.rule);
        self.errors
            .get_or_init(|| Judge::overlooking_the_unused(self.road.board, is_known))
    }
}

/// Looks for what is missing besides a sign, place by place.
pub(super) struct Still<'j, 'b> {
    halves: &'j Halves<'b>,
    road: Search<'j, 'b>,
    errors: Option<Search<'j, 'b>>,
    sections: Search<'j, 'b>,
}

impl<'j, 'b> Still<'j, 'b> {
    pub(super) fn new(halves: &'j Halves<'b>) -> Still<'j, 'b> {
        Still {
            halves,
            road: Search::new(&halves.road),
            errors: None,
            sections: Search::new(&halves.sections),
        }
    }

    /// The verdict on a place at which a sign makes nothing worse, on a board that has errors.
    pub(super) fn verdict(&mut self, marking: &Marking) -> Verdict {
        let judge = self.road.judge;
        let trial = judge.trial(std::slice::from_ref(marking));
        let wrong = trial.found.iter().any(|it| is_error(it) && !is_lack(it));
        let of_road = judge.fresh(trial.found.clone());
        let of_sections = self.sections.judge.fresh(trial.found.clone());
        let lacks: Vec<Lack> = of_road.iter().map(|it| (it.rule, it.marking)).collect();
        let mut ways = vec![Vec::new()];
        if !lacks.is_empty() {
            ways = self.road.ways_of(marking, lacks, true);
            if ways.is_empty() && self.takes_the_last_place(marking) {
                let errors = of_road.iter().filter(|it| is_error(it));
                let mut rules: Vec<&'static str> = errors.map(|it| it.rule).collect();
                rules.dedup();
                if !rules.is_empty() {
                    return Verdict::NotLegal { rules };
                }
            }
        }
        if !of_sections.is_empty() {
            let more = self.sections.one_partner(marking, &trial, &of_sections);
            ways = both(&ways, &more);
        }
        ways.retain(|way| !way.is_empty());
        // While something is wrong that no sign cures, these signs alone do not make the board legal.
        if wrong {
            ways.clear();
        }
        Verdict::Legal {
            route: false,
            missing: ways,
        }
    }

    /// Whether one of the signs that are missing has a place without a marking, and with it none of them all.
    fn takes_the_last_place(&mut self, marking: &Marking) -> bool {
        if !directs(marking.sign()) || self.road.jumps(Some(marking), &[]).is_empty() {
            return false;
        }
        let halves = self.halves;
        let search = self
            .errors
            .get_or_insert_with(|| Search::new(halves.errors()));
        let ways = search.by_presence(marking, true);
        let mut has_places = |marking: Option<&Marking>, way: &[_]| {
            let jumps = search.jumps(marking, way);
            let spots = search.spots(marking, way, &jumps);
            !spots.iter().any(Vec::is_empty)
        };
        let none = !ways.iter().any(|way| has_places(Some(marking), way));
        none && ways.iter().any(|way| has_places(None, way))
    }
}

/// Each way of one kind with each of the other.
fn both(ways: &[Vec<Partner>], more: &[Vec<Partner>]) -> Vec<Vec<Partner>> {
    let pairs = ways
        .iter()
        .flat_map(|way| more.iter().map(move |more| [&way[..], &more[..]].concat()));
    pairs.take(MOST_WAYS).collect()
}
