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

/// What a rule found on a board.
#[derive(Clone, PartialEq, Eq, Debug)]
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
