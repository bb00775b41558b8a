//! What the players agree on.

/// The most players of a game.
pub const MOST_PLAYERS: usize = 8;

/// The most faces of a die.
pub const HIGHEST_FACES: u8 = 100;

/// What the players agree on before they begin. These rules are ours; how long a game lasts under them is mathematics.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields, default)]
pub struct GameRules {
    /// The faces of the die, from 2 to 100, numbered from 1.
    #[cfg_attr(feature = "schema", schemars(range(min = 2, max = 100)))]
    pub faces: u8,
    /// Whether the last measure must be reached exactly. A throw that leads beyond it does not move the piece then; else the piece stops on the
    /// last measure.
    pub exact_finish: bool,
    /// Whether a piece that stops at a fermata holds it for one turn: its next turn passes without a throw.
    pub fermata_holds: bool,
    /// Where the pieces stand before the first throw.
    pub start: Start,
    /// When the game is over.
    pub until: Until,
}

impl Default for GameRules {
    fn default() -> GameRules {
        GameRules {
            faces: 6,
            exact_finish: false,
            fermata_holds: true,
            start: Start::BeforeTheFirstMeasure,
            until: Until::FirstHome,
        }
    }
}

/// Where the pieces stand before the first throw.
#[derive(Clone, Copy, Default, PartialEq, Eq, Debug, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Start {
    /// Beside the board: a throw of 1 leads to the first measure.
    #[default]
    BeforeTheFirstMeasure,
    /// All together on the first measure: a throw of 1 leads to the second.
    OnTheFirstMeasure,
}

/// When a game is over.
#[derive(Clone, Copy, Default, PartialEq, Eq, Debug, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Until {
    /// As soon as one piece has come to the end of the music.
    #[default]
    FirstHome,
    /// When every piece has.
    AllHome,
}

impl Start {
    /// How many steps of the route are behind a piece before the first throw.
    pub(crate) fn steps(self) -> u64 {
        match self {
            Start::BeforeTheFirstMeasure => 0,
            Start::OnTheFirstMeasure => 1,
        }
    }
}
