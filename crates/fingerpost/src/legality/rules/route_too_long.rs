//! `route-too-long`: a route longer, or in more stretches, than can be counted.

use super::super::cures::{Cures, play_fewer};
use super::super::finding::{Category, Severity};
use super::super::sheet::Report;
use super::{How, Rule};
use crate::board::Board;
use crate::roadmap::compile::WalkFault;
use crate::roadmap::paths::{LONGEST, MOST_STRETCHES};
use crate::roadmap::row::Row;

pub(super) const RULE: Rule = Rule {
    name: "route-too-long",
    severity: Severity::Error,
    category: Category::Order,
    since: "0.1",
    summary: "A route has at most 10^18 steps and at most two million stretches.",
    clause: "10.19",
    how: How::Walking(tell),
    cure: Some(cure),
};

fn tell(_: &Board, _: &Row, fault: &WalkFault, report: &mut Report<'_>) {
    if *fault == WalkFault::TooLong {
        let message =
            "the route has more steps, or goes back more often, than can be counted".to_owned();
        report.board(
            message,
            format!(
                "let repeats be played fewer times: {LONGEST} steps are the most, and {MOST_STRETCHES} turns"
            ),
        );
    }
}

fn cure(cures: &mut Cures<'_>) {
    play_fewer(cures);
}
