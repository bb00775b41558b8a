//! One finding of a rule on a board.

/// How grave a finding is.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, serde::Serialize, serde::Deserialize,
)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// The route is undefined, or a sign contradicts another.
    Error,
    /// It can be played, but a sign is idle, a measure is never reached, or practice forbids it.
    Warning,
    /// Style and clarity.
    Advice,
}

impl Severity {
    /// Its name in JSON and on the rule's page.
    pub fn name(self) -> &'static str {
        match self {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Advice => "advice",
        }
    }
}

/// What a rule is about.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, serde::Serialize, serde::Deserialize,
)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Category {
    /// Signs that belong together: a D.S. and its segno, a start repeat and its end repeat.
    Pairing,
    /// Ending brackets and their passes.
    Endings,
    /// D.C., D.S., Fine, To Coda, and where they lead.
    Jumps,
    /// What is played, how often, and what is never met.
    Order,
    /// Signs that could be taken away: the order of the measures stays as it is.
    Idle,
    /// Octaves, and hands that play at some times only.
    Hands,
    /// What can be read in more than one way.
    Clarity,
    /// Where a sign stands on the page.
    Place,
}

impl Category {
    /// All of them, in the order of the catalogue.
    pub const ALL: [Category; 8] = [
        Category::Pairing,
        Category::Endings,
        Category::Jumps,
        Category::Order,
        Category::Idle,
        Category::Hands,
        Category::Clarity,
        Category::Place,
    ];

    /// Its name in JSON and on the rule's page.
    pub fn name(self) -> &'static str {
        match self {
            Category::Pairing => "pairing",
            Category::Endings => "endings",
            Category::Jumps => "jumps",
            Category::Order => "order",
            Category::Idle => "idle",
            Category::Hands => "hands",
            Category::Clarity => "clarity",
            Category::Place => "place",
        }
    }
}

/// What a rule found on a board.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub struct Finding {
    /// The rule's name, for ever: `segno-missing`.
    pub rule: &'static str,
    /// How grave it is.
    pub severity: Severity,
    /// What is wrong, in a teacher's words.
    pub message: String,
    /// What to do about it.
    pub help: String,
    /// The measure it is about, counted from 1.
    pub measure: Option<u16>,
    /// The marking it is about: its index in the board.
    pub marking: Option<usize>,
    /// Other markings that take part: their indices in the board.
    pub related: Vec<usize>,
}
