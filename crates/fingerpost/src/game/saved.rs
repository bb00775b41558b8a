//! The form in which a game is kept.

use super::rules::GameRules;
use super::state::{Game, GameError};
use crate::board::Board;
use crate::reading::{Answers, Reading};
use crate::roadmap::Terms;

/// The version of the form in which games are kept.
pub const SAVED_GAME_VERSION: u32 = 1;

/// A game as it is kept: all that is needed to go on, the board among it.
///
/// It holds what was thrown and not where the pieces stand: the throws made again give the game, and a game that has been tampered with is
/// refused.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct SavedGame {
    /// The version of this form: 1.
    pub game: u32,
    /// The board, as a board line.
    pub board: String,
    /// The reading under which the route was made.
    pub reading: Answers,
    /// Whether repeats are left out.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub omit_repeats: bool,
    /// How many times an open section is played.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plays: Option<u32>,
    /// What the players agreed on.
    #[serde(default)]
    pub rules: GameRules,
    /// The players, in the order of their turns.
    pub players: Vec<String>,
    /// The seed, where the game throws the die itself. Written as text, since some readers of JSON round large numbers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seed: Option<String>,
    /// What was thrown, first to last.
    pub throws: Vec<u8>,
}

impl Game {
    /// The game as it is kept.
    pub fn save(&self) -> SavedGame {
        SavedGame {
            game: SAVED_GAME_VERSION,
            board: self.board.to_line(),
            reading: Answers::from(self.roadmap.reading()),
            omit_repeats: self.terms.omit_repeats,
            plays: self.terms.open_plays,
            rules: self.rules,
            players: self.players.clone(),
            seed: self.seed.map(|seed| seed.to_string()),
            throws: self.throws.clone(),
        }
    }

    /// The game that was kept: every throw is made again.
    ///
    /// ```
    /// use fingerpost::{Board, Game, GameRules, Terms};
    /// let board: Board = "|: 1 | 2 :| 3 | 4 |]".parse()?;
    /// let mut game = Game::new(&board, &Terms::default(), ["A".to_owned()], GameRules::default(), Some(7))?;
    /// game.throw(0)?;
    /// let mut again = Game::restore(&game.save())?;
    /// assert_eq!(again.pieces(), game.pieces());
    /// assert_eq!(again.throw(0), game.throw(0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// It is of a newer version, its board cannot be read or has no route, or one of its throws is not possible.
    pub fn restore(saved: &SavedGame) -> Result<Game, GameError> {
        if saved.game != SAVED_GAME_VERSION {
            return Err(GameError::Version(saved.game));
        }
        let board =
            Board::from_line(&saved.board).map_err(|error| GameError::Board(error.to_string()))?;
        let terms = Terms {
            reading: saved.reading.over(Reading::default()),
            omit_repeats: saved.omit_repeats,
            open_plays: saved.plays,
        };
        let seed = match &saved.seed {
            None => None,
            Some(text) => Some(text.parse().map_err(|_| GameError::Seed(text.clone()))?),
        };
        let players = saved.players.iter().cloned();
        let mut game = Game::new(&board, &terms, players, saved.rules, seed)?;
        for (at, &thrown) in saved.throws.iter().enumerate() {
            let impossible = |reason: String| GameError::Throw {
                number: at + 1,
                reason,
            };
            let Some(player) = game.turn() else {
                return Err(impossible("the game is over".to_owned()));
            };
            game.throw_of(player, u64::from(thrown))
                .map_err(|refused| impossible(refused.to_string()))?;
        }
        Ok(game)
    }
}
