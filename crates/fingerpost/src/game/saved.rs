//! The form in which a game is kept.

use serde::de::{Deserialize, Deserializer, Error};

use super::rules::GameRules;
use super::state::{Game, GameError};
use super::throw::{Refused, Throw};
use crate::board::Board;
use crate::reading::{Answers, Reading};
use crate::roadmap::Terms;

/// The version of the form in which games are kept.
pub const SAVED_GAME_VERSION: u32 = 1;

/// A game as it is kept: all that is needed to go on, the board among it.
///
/// It holds what was thrown and not where the pieces stand: the throws made again give the game, and a game that has been tampered with is
/// refused.
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "schema", schemars(deny_unknown_fields))]
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
        let mut game = Game::begun(saved)?;
        for (at, &thrown) in saved.throws.iter().enumerate() {
            let player = game.turn().ok_or(Refused::Over);
            let led = player.and_then(|player| game.lead(player, u64::from(thrown)));
            led.map_err(|refused| impossible(at, &refused))?;
        }
        Ok(game)
    }

    /// The same, for a board that the players have before them: the game goes on only on its own.
    ///
    /// # Errors
    /// As [`Game::restore`]; and [`GameError::AnotherBoard`] when the two boards differ.
    pub fn restore_on(saved: &SavedGame, board: &Board) -> Result<Game, GameError> {
        let game = Game::restore(saved)?;
        let own = game.board.to_line();
        if own == board.to_line() {
            return Ok(game);
        }
        let mut shown: String = own.chars().take(60).collect();
        if shown.len() < own.len() {
            shown.push('…');
        }
        Err(GameError::AnotherBoard(shown))
    }

    /// The game from its beginning, throw by throw: each throw as it was made, and the game as it stands after the last.
    ///
    /// ```
    /// use fingerpost::{Board, Game, GameRules, Terms};
    /// let board: Board = "|: 1 | 2 :| 3 | 4 |]".parse()?;
    /// let mut game = Game::new(&board, &Terms::default(), ["A".to_owned()], GameRules::default(), Some(7))?;
    /// let made = [game.throw(0)?];
    /// let (again, throws) = Game::replay(&game.save())?;
    /// assert_eq!(throws, made);
    /// assert_eq!(again.pieces(), game.pieces());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// As [`Game::restore`].
    pub fn replay(saved: &SavedGame) -> Result<(Game, Vec<Throw>), GameError> {
        let mut game = Game::begun(saved)?;
        let mut throws = Vec::with_capacity(saved.throws.len());
        for (at, &thrown) in saved.throws.iter().enumerate() {
            let player = game.turn().ok_or(Refused::Over);
            let throw = player.and_then(|player| game.throw_of(player, u64::from(thrown)));
            throws.push(throw.map_err(|refused| impossible(at, &refused))?);
        }
        Ok((game, throws))
    }

    /// The game before its first throw.
    fn begun(saved: &SavedGame) -> Result<Game, GameError> {
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
        Game::new(&board, &terms, players, saved.rules, seed)
    }
}

fn impossible(at: usize, refused: &Refused) -> GameError {
    GameError::Throw {
        number: at + 1,
        reason: refused.to_string(),
    }
}

/// The keys of version 1, read once the version is known: what a newer version adds is then not told as a wrong key.
#[derive(serde::Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
struct Kept {
    game: u32,
    board: String,
    reading: Answers,
    #[serde(default)]
    omit_repeats: bool,
    #[serde(default)]
    plays: Option<u32>,
    #[serde(default)]
    rules: GameRules,
    players: Vec<String>,
    #[serde(default)]
    seed: Option<String>,
    throws: Vec<u8>,
}

impl<'de> Deserialize<'de> for SavedGame {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<SavedGame, D::Error> {
        let value = serde_json::Value::deserialize(deserializer)?;
        let version = value.get("game").and_then(serde_json::Value::as_u64);
        if let Some(newer) = version.filter(|&version| version != u64::from(SAVED_GAME_VERSION)) {
            let newer = u32::try_from(newer).unwrap_or(u32::MAX);
            return Err(D::Error::custom(GameError::Version(newer)));
        }
        let kept: Kept = serde_json::from_value(value).map_err(D::Error::custom)?;
        Ok(SavedGame {
            game: kept.game,
            board: kept.board,
            reading: kept.reading,
            omit_repeats: kept.omit_repeats,
            plays: kept.plays,
            rules: kept.rules,
            players: kept.players,
            seed: kept.seed,
            throws: kept.throws,
        })
    }
}
