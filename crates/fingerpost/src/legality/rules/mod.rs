//! The registry of all rules. To add a rule, add its file here and to [`ALL`], and its page under `spec/rules`.

mod coda_before_to_coda;
mod coda_missing;
mod coda_run_into;
mod coda_unused;
mod cut_outside_measure;
mod dal_segno_to_start;
mod end_repeat_in_last_ending;
mod end_repeat_never_made;
mod ending_gap;
mod ending_not_closed;
mod ending_on_every_pass;
mod ending_over_system_break;
mod ending_pass_twice;
mod ending_past_section;
mod ending_without_repeat;
mod endings_out_of_order;
mod endings_overlap;
mod fermata_never_held;
mod fine_missing;
mod fine_never_met;
mod fine_unused;
mod hand_never_plays;
mod implied_start_in_doubt;
mod jump_in_section;
mod jump_never_obeyed;
mod jumps_together;
mod label_twice;
mod landing_in_ending;
mod landing_in_wrong_ending;
mod lone_ending_misnumbered;
mod measure_never_played;
mod nested_sections;
mod nesting_too_deep;
mod no_fixed_length;
mod not_settled;
mod octave_never_sounds;
mod octave_over_silent_hands;
mod octaves_contradict;
mod octaves_too_far;
mod on_return_contradicts;
mod only_without_effect;
mod pass_never_reached;
mod plays_against_endings;
mod plays_once;
mod route_over_limit;
mod route_too_long;
mod same_sign_twice;
mod segno_after_jump;
mod segno_missing;
mod segno_never_met;
mod segno_unused;
mod start_repeat_in_ending;
mod start_repeat_not_needed;
mod start_repeat_unclosed;
mod to_coda_missing;
mod to_coda_never_met;
mod to_coda_unused;

pub(crate) use implied_start_in_doubt::{Doubt, doubts};

use super::cures::Cures;
use super::finding::{Category, Severity};
use super::sheet::{Report, Road, Sheet};
use crate::board::Board;
use crate::roadmap::compile::WalkFault;
use crate::roadmap::row::Row;

/// A rule of the catalogue.
pub(crate) struct Rule {
    /// Its name, for ever.
    pub(crate) name: &'static str,
    pub(crate) severity: Severity,
    pub(crate) category: Category,
    /// The version of the catalogue in which it came.
    pub(crate) since: &'static str,
    /// What it says, in one sentence.
    pub(crate) summary: &'static str,
    /// The clause of the rulebook it stands on.
    pub(crate) clause: &'static str,
    pub(crate) how: How,
    /// What it proposes against its findings; absent where no edit of a sign makes sense.
    pub(crate) cure: Option<Cure>,
}

/// Adds what may cure a finding, the musician's ways first. Every proposal is tried before it is offered.
pub(crate) type Cure = fn(&mut Cures<'_>);

/// How a rule finds what it finds.
pub(crate) enum How {
    /// By looking at the signs.
    Looking(fn(&Sheet<'_>, &mut Report<'_>)),
    /// By what stops the route from being followed to its end.
    Walking(fn(&Board, &Row, &WalkFault, &mut Report<'_>)),
    /// By what the route plays, on a board without errors.
    Walked(fn(&Road<'_>, &mut Report<'_>)),
}

/// The name of the rule for routes beyond reckoning.
pub(crate) const ROUTE_TOO_LONG: &str = route_too_long::RULE.name;

/// The name of the rule for boards whose route hangs on how they are read.
pub(crate) const NOT_SETTLED: &str = not_settled::RULE.name;

/// The rule against equal signs at one place.
pub(crate) const SAME_SIGN_TWICE: &str = same_sign_twice::RULE.name;

/// Every rule: errors in the order of the rulebook's chapter 10, then the others by category.
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
    &start_repeat_unclosed::RULE,
    &segno_unused::RULE,
    &coda_unused::RULE,
    &to_coda_unused::RULE,
    &fine_unused::RULE,
    &implied_start_in_doubt::RULE,
    &ending_without_repeat::RULE,
    &end_repeat_in_last_ending::RULE,
    &plays_against_endings::RULE,
    &endings_out_of_order::RULE,
    &lone_ending_misnumbered::RULE,
    &fine_never_met::RULE,
    &to_coda_never_met::RULE,
    &segno_never_met::RULE,
    &jump_never_obeyed::RULE,
    &landing_in_ending::RULE,
    &coda_run_into::RULE,
    &jump_in_section::RULE,
    &dal_segno_to_start::RULE,
    &measure_never_played::RULE,
    &end_repeat_never_made::RULE,
    &nested_sections::RULE,
    &plays_once::RULE,
    &pass_never_reached::RULE,
    &route_over_limit::RULE,
    &no_fixed_length::RULE,
    &same_sign_twice::RULE,
    &start_repeat_not_needed::RULE,
    &ending_on_every_pass::RULE,
    &octave_never_sounds::RULE,
    &octave_over_silent_hands::RULE,
    &fermata_never_held::RULE,
    &only_without_effect::RULE,
    &octaves_contradict::RULE,
    &octaves_too_far::RULE,
    &hand_never_plays::RULE,
    &not_settled::RULE,
    &ending_over_system_break::RULE,
];

/// What a rule proposes against its findings.
pub(crate) fn cures_of(rule: &str) -> Option<Cure> {
    ALL.iter().find(|known| known.name == rule)?.cure
}

/// What a rule is about.
pub(crate) fn category_of(rule: &str) -> Option<Category> {
    let known = ALL.iter().find(|known| known.name == rule);
    known.map(|known| known.category)
}

/// What is to be known of a rule.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub struct RuleInfo {
    /// Its name, for ever.
    pub name: &'static str,
    /// How grave its findings are.
    pub severity: Severity,
    /// What it is about.
    pub category: Category,
    /// The version of the catalogue in which it came.
    pub since: &'static str,
    /// What it says, in one sentence.
    pub summary: &'static str,
    /// The clause of the rulebook it stands on.
    pub clause: &'static str,
}

/// Every rule of the catalogue: errors in the rulebook's order, then warnings and advice by category.
pub fn rules() -> impl Iterator<Item = RuleInfo> {
    ALL.iter().map(|rule| RuleInfo {
        name: rule.name,
        severity: rule.severity,
        category: rule.category,
        since: rule.since,
        summary: rule.summary,
        clause: rule.clause,
    })
}
