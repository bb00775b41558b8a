//! The levels of conformance: how much of the rulebook a program claims to follow.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::case::{Case, Expected, Outcome, RouteCase};
use crate::steps::StepColumns;

/// How much of the rulebook is asked of a subject. Each level holds those before it.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize, JsonSchema,
)]
#[serde(try_from = "u8", into = "u8")]
#[schemars(with = "u8", extend("minimum" = 1, "maximum" = 4))]
pub enum Level {
    /// 1: the route of a board under the default reading.
    Routes,
    /// 2: which boards are refused, and for which rules.
    Refusals,
    /// 3: the other readings, repeats left out, a chosen number of plays, and whether a board is settled.
    Readings,
    /// 4: what each step carries.
    Steps,
}

impl Level {
    /// All levels in order.
    pub const ALL: [Level; 4] = [
        Level::Routes,
        Level::Refusals,
        Level::Readings,
        Level::Steps,
    ];

    /// Its number, 1 to 4.
    pub fn number(self) -> u8 {
        match self {
            Level::Routes => 1,
            Level::Refusals => 2,
            Level::Readings => 3,
            Level::Steps => 4,
        }
    }

    /// What it asks, in a few words.
    pub fn title(self) -> &'static str {
        match self {
            Level::Routes => "routes under the default reading",
            Level::Refusals => "boards that are refused",
            Level::Readings => "all readings, settled or not",
            Level::Steps => "what a step carries",
        }
    }
}

impl From<Level> for u8 {
    fn from(level: Level) -> u8 {
        level.number()
    }
}

impl TryFrom<u8> for Level {
    type Error = String;

    fn try_from(number: u8) -> Result<Level, String> {
        let level = Level::ALL.into_iter().find(|l| l.number() == number);
        level.ok_or_else(|| format!("`{number}` is no level; the levels are 1 to 4"))
    }
}

impl Case {
    /// What the case asks at this level alone, as a case of its own; `None` when it asks nothing there.
    pub fn at(&self, level: Level) -> Option<Case> {
        let mut part = self.clone();
        part.routes = self
            .routes
            .iter()
            .filter_map(|r| route_at(r, level))
            .collect();
        if level != Level::Readings {
            part.settled = None;
            part.questions = None;
        }
        let asks = !part.routes.is_empty() || part.settled.is_some() || part.questions.is_some();
        asks.then_some(part)
    }
}

fn route_at(route: &RouteCase, level: Level) -> Option<RouteCase> {
    let expect = match level {
        Level::Steps => Expected {
            steps: route.expect.steps.clone(),
            ..Expected::default()
        },
        _ => Expected {
            steps: StepColumns::default(),
            ..route.expect.clone()
        },
    };
    let asked_at = match expect.outcome()? {
        _ if level == Level::Steps => Level::Steps,
        _ if !route.terms.is_default() => Level::Readings,
        Outcome::Route => Level::Routes,
        Outcome::Errors | Outcome::NeedsPlays => Level::Refusals,
    };
    (asked_at == level).then(|| RouteCase {
        terms: route.terms.clone(),
        expect,
    })
}
