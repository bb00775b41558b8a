//! `route-over-limit`: a route with more steps than the limit.

use super::super::cures::{Cures, play_fewer};
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Road};
use super::{How, Rule};

pub(super) const RULE: Rule = Rule {
    name: "route-over-limit",
    severity: Severity::Advice,
    category: Category::Order,
    since: "0.1",
    summary: "A route has no more steps than the caller has asked for.",
    clause: "9.2",
    how: How::Walked(tell),
    cure: Some(cure),
};

fn tell(road: &Road<'_>, report: &mut Report<'_>) {
    let (length, limit) = (road.walked.compiled.length, road.options.longest_route);
    if length > limit {
        let message = format!("this route has {length} steps, more than {limit}");
        let help = "let repeats be played fewer times, or leave it as it is where that is meant"
            .to_owned();
        report.board(message, help);
    }
}

fn cure(cures: &mut Cures<'_>) {
    play_fewer(cures);
}
