//! What the steps of a route carry, one list for each thing, with one entry a step. Rulebook, chapter 7.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What the steps carry. In a case only the lists that it tests are there; in an answer, those that the subject knows.
#[derive(Clone, Default, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct StepColumns {
    /// The passes of all sections that hold the part, outermost first; `[1]` in no section.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub passes: Option<Vec<Vec<u32>>>,
    /// The legs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub legs: Option<Vec<u32>>,
    /// The visits.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub visits: Option<Vec<u64>>,
    /// How the road came to each step.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub causes: Option<Vec<Cause>>,
    /// The part of a cut measure, from where to where in whole notes; null for a whole measure.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub parts: Option<Vec<Option<[String; 2]>>>,
    /// The shift of each hand.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub octaves: Option<Vec<OctaveShift>>,
    /// The hands that hold.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub holds: Option<Vec<Hands>>,
    /// The hands that play.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hands: Option<Vec<Hands>>,
}

impl StepColumns {
    /// Whether there is no list at all.
    pub fn is_empty(&self) -> bool {
        *self == StepColumns::default()
    }

    /// The name and the number of entries of each list that is there.
    pub fn lengths(&self) -> Vec<(&'static str, usize)> {
        let mut lengths = Vec::new();
        let mut add = |name, length: Option<usize>| lengths.extend(length.map(|n| (name, n)));
        add("passes", self.passes.as_ref().map(Vec::len));
        add("legs", self.legs.as_ref().map(Vec::len));
        add("visits", self.visits.as_ref().map(Vec::len));
        add("causes", self.causes.as_ref().map(Vec::len));
        add("parts", self.parts.as_ref().map(Vec::len));
        add("octaves", self.octaves.as_ref().map(Vec::len));
        add("holds", self.holds.as_ref().map(Vec::len));
        add("hands", self.hands.as_ref().map(Vec::len));
        lengths
    }
}

/// How the road came to a step (rulebook 7.4).
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Cause {
    /// It begins here.
    Start,
    /// On from the part before.
    On,
    /// On, past an ending or several.
    PastEnding,
    /// Back by an end repeat.
    Repeat,
    /// To the beginning by a D.C.
    DaCapo,
    /// To a segno by a D.S.
    DalSegno,
    /// On to a coda.
    ToCoda,
}

/// The hands that something concerns.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Hands {
    /// Both.
    Both,
    /// The right hand.
    Right,
    /// The left hand.
    Left,
    /// Neither.
    None,
}

/// The shift of each hand, in octaves up.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct OctaveShift {
    /// The right hand.
    pub right: i8,
    /// The left hand.
    pub left: i8,
}
