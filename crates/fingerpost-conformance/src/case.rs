//! What a case is: a board, and what is to come out of it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::steps::StepColumns;

/// One chapter of the rulebook with its cases: the content of one exported file.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Chapter {
    /// Where the schema of this file is, seen from the file.
    #[serde(rename = "$schema")]
    pub schema: String,
    /// The version of the format; 1.
    pub conformance: u32,
    /// The name of the chapter's file without its ending: `2-sections`.
    pub chapter: String,
    /// The chapter's title.
    pub title: String,
    /// Its clauses, in order.
    pub clauses: Vec<Clause>,
    /// Its cases, in the order in which they stand.
    pub cases: Vec<Case>,
}

/// One numbered clause: where it stands and on what it rests. Its sentences are in the rulebook.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Clause {
    /// Its number, for ever: `3.2`.
    pub number: String,
    /// Its title.
    pub title: String,
    /// Its sources.
    pub sources: Vec<Citation>,
    /// The line of the Markdown file on which it begins, when it was read from there.
    #[serde(skip)]
    pub line: usize,
}

/// A source by its key, and the place in it.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Citation {
    /// The key in the list of sources, or one of [`NO_SOURCE`](crate::NO_SOURCE) and [`RULING`](crate::RULING).
    pub key: String,
    /// The place in the source: a section, a figure, an example.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
}

/// One case: a board, the routes it has, and whether it is settled.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Case {
    /// Unique in the suite, and for ever: `3.2-a`.
    pub id: String,
    /// A fact in the present tense.
    pub title: String,
    /// The number of the clause under which it stands.
    pub clause: String,
    /// The board as a board line; absent where a line cannot say it plainly.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub line: Option<String>,
    /// The board as a board file.
    pub board: serde_json::Map<String, serde_json::Value>,
    /// What comes out of it, on one set of terms each.
    pub routes: Vec<RouteCase>,
    /// Whether every reading gives the same route (rulebook 6.9).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub settled: Option<bool>,
    /// The questions that matter, in the rulebook's order (rulebook 6.9).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub questions: Option<Vec<String>>,
    /// Where the order comes from.
    pub sources: Vec<Citation>,
    /// What the order rests on.
    pub status: Status,
    /// For a published order: what its layout rests on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub layout: Option<Layout>,
    /// The line of the file on which the case begins.
    #[serde(skip)]
    pub at: usize,
}

/// What comes out of a board on one set of terms.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct RouteCase {
    /// The terms; absent for the default reading with nothing chosen.
    #[serde(default, skip_serializing_if = "TermsAsked::is_default")]
    pub terms: TermsAsked,
    /// What comes out.
    pub expect: Expected,
}

/// The terms on which a board is unrolled (rulebook 1.9).
#[derive(Clone, Default, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct TermsAsked {
    /// The reading; absent for the default.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading: Option<ReadingAsked>,
    /// Whether repeats are left out (rulebook 6.8).
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub omit_repeats: bool,
    /// How often an open section is played (rulebook 6.10).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub open_plays: Option<u32>,
}

impl TermsAsked {
    /// Whether nothing is asked for.
    pub fn is_default(&self) -> bool {
        *self == TermsAsked::default()
    }
}

/// A reading asked for.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum ReadingAsked {
    /// By its name (rulebook 6.7).
    Named(String),
    /// By its answers; questions not named have their default.
    Answers(fingerpost::Answers),
}

/// What is expected on one set of terms: a route, errors, or that a number of plays is needed.
#[derive(Clone, Default, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Expected {
    /// The measures as played.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub order: Option<Vec<u16>>,
    /// The length of the route; where the order is given, the number of its measures.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length: Option<u64>,
    /// What each step carries.
    #[serde(default, skip_serializing_if = "StepColumns::is_empty")]
    pub steps: StepColumns,
    /// The rules for which the board is refused, each once, in no order.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub errors: Option<Vec<String>>,
    /// Without a number of plays there is no route.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub needs_plays: bool,
}

/// The kinds of outcome that can be expected.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Outcome {
    /// A route.
    Route,
    /// A refusal with errors.
    Errors,
    /// A refusal for want of a number of plays.
    NeedsPlays,
}

impl Expected {
    /// Which kind it is; `None` when it says nothing or says two things at once.
    pub fn outcome(&self) -> Option<Outcome> {
        let route = self.order.is_some() || self.length.is_some() || !self.steps.is_empty();
        match (route, self.errors.is_some(), self.needs_plays) {
            (true, false, false) => Some(Outcome::Route),
            (false, true, false) => Some(Outcome::Errors),
            (false, false, true) => Some(Outcome::NeedsPlays),
            _ => None,
        }
    }
}

/// What an order rests on.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Status {
    /// It stands in print in its source, for this layout.
    Published,
    /// It follows from a rule that a standard or its group states.
    Standard,
    /// It follows from a rule that handbooks, lessons or musicians state.
    CommonPractice,
    /// It follows from a ruling of the rulebook.
    Ruling,
}

/// What the layout of a published order rests on.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Layout {
    /// Seen in the source's own figure.
    Seen,
    /// Told in the source's own words.
    Told,
    /// Put together from the stated order and the signs that the source names.
    Reconstructed,
    /// Reduced to one measure for each section that the source speaks of.
    Schematic,
    /// Drawn in another source that quotes it.
    Quoted,
}
