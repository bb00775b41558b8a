//! The registry: every rule, in the order of the rulebook's chapter 10. To add a rule, add its file here and to [`ALL`].

mod coda_before_to_coda;
mod coda_missing;
mod cut_outside_measure;
mod ending_gap;
mod ending_not_closed;
mod ending_pass_twice;
mod ending_past_section;
mod endings_overlap;
mod fine_missing;
mod jumps_together;
mod label_twice;
mod landing_in_wrong_ending;
mod nesting_too_deep;
mod on_return_contradicts;
mod route_too_long;
mod segno_after_jump;
mod segno_missing;
mod start_repeat_in_ending;
mod to_coda_missing;

use super::finding::Severity;
use super::sheet::{Report, Sheet};
use crate::board::Board;
use crate::roadmap::compile::WalkFault;
use crate::roadmap::row::Row;

/// A rule of the catalogue.
pub(crate) struct Rule {
    /// Its name, for ever.
    pub(crate) name: &'static str,
    pub(crate) severity: Severity,
    /// What it says, in one sentence.
    pub(crate) summary: &'static str,
    /// The clause of the rulebook it stands on.
    pub(crate) clause: &'static str,
    pub(crate) how: How,
}

/// How a rule finds what it finds.
pub(crate) enum How {
    /// By looking at the signs.
    Looking(fn(&Sheet<'_>, &mut Report<'_>)),
    /// By following the route.
    Walking(fn(&Board, &Row, &WalkFault, &mut Report<'_>)),
}

/// The name of the rule for routes beyond reckoning.
pub(crate) const ROUTE_TOO_LONG: &str = route_too_long::RULE.name;

/// Every rule.
pub(crate) const ALL: &[&Rule] = &[
    &segno_missing::RULE,
    &fine_missing::RULE,
    &to_coda_missing::RULE,
    &coda_missing::RULE,
    &label_twice::RULE,
    &ending_gap::RULE,
    &ending_pass_twice::RULE,
    &endings_overlap::RULE,
    &start_repeat_in_ending::RULE,
    &ending_past_section::RULE,
    &ending_not_closed::RULE,
    &segno_after_jump::RULE,
    &coda_before_to_coda::RULE,
    &landing_in_wrong_ending::RULE,
    &jumps_together::RULE,
    &on_return_contradicts::RULE,
    &cut_outside_measure::RULE,
    &nesting_too_deep::RULE,
    &route_too_long::RULE,
];

/// What is to be known of a rule.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct RuleInfo {
    /// Its name, for ever.
    pub name: &'static str,
    /// How grave its findings are.
    pub severity: Severity,
    /// What it says, in one sentence.
    pub summary: &'static str,
    /// The clause of the rulebook it stands on.
    pub clause: &'static str,
}

/// Every rule of the catalogue, in the rulebook's order.
pub fn rules() -> impl Iterator<Item = RuleInfo> {
    ALL.iter().map(|rule| RuleInfo {
        name: rule.name,
        severity: rule.severity,
        summary: rule.summary,
        clause: rule.clause,
    })
}
