//! The verb `game`: starting a game, throwing, and looking at a game that was kept. The door keeps nothing: each request brings the game.

use fingerpost::{Game, GameRules, SavedGame, Terms, Throw, ThrowEnd};
use serde::Deserialize;

use crate::VERSION;
use crate::error::{ErrorAnswer, ErrorKind};
use crate::request::request;
use crate::source::BoardRead;
use crate::terms::TermsAsked;
use crate::told::Voice;

request! {
    /// `game`: a game on a board. To start, the board is needed; else it may be given as the one that the players have before them, and must be
    /// that of the game.
    GameRequest = "game", reading "The reading; the board's own answers outrank it." {
        /// What is to be done.
        pub(crate) action: GameAction,
        /// To start: the players, in the order of their turns.
        #[serde(default)]
        #[cfg_attr(feature = "schema", schemars(length(max = 8)))]
        pub(crate) players: Option<Vec<String>>,
        /// To start: what the players agree on; the usual rules when absent.
        #[serde(default)]
        pub(crate) rules: Option<GameRules>,
        /// To start: the seed by which the game throws the die; without one each throw is reported.
        #[serde(default)]
        pub(crate) seed: Option<Seed>,
        /// For all but to start: the game, as an answer gave it.
        #[serde(default)]
        pub(crate) game: Option<SavedGame>,
        /// To throw: whose throw it is, an index into the players; absent: whose turn it is.
        #[serde(default)]
        pub(crate) player: Option<usize>,
        /// To throw: what the die shows; absent: the game throws by its seed.
        #[serde(default)]
        pub(crate) thrown: Option<u64>,
    }
}

/// What a request asks of a game.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub(crate) enum GameAction {
    /// Begin a game.
    Start,
    /// Throw once.
    Throw,
    /// Say how a game stands.
    Show,
    /// Play a game again from its beginning, and say what each throw did.
    Replay,
}

/// A seed: a number, or its digits as text, since some writers of JSON round large numbers.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(untagged)]
pub(crate) enum Seed {
    /// A number.
    Number(u64),
    /// Its digits.
    Text(String),
}

impl Seed {
    pub(crate) fn number(&self) -> Result<u64, ErrorAnswer> {
        match self {
            Seed::Number(number) => Ok(*number),
            Seed::Text(text) => text.parse().map_err(|_| {
                let message = format!(
                    "a seed is a number from 0 to 2^64 - 1, not `{}`",
                    crate::error::shown(text)
                );
                ErrorAnswer::new(ErrorKind::Request, message)
            }),
        }
    }
}

impl GameRequest<'_> {
    /// Refuses what means nothing to the action: a game keeps its players and rules, and one that begins has no throws yet.
    pub(crate) fn fits_its_action(&self) -> Result<(), ErrorAnswer> {
        let starts = self.action == GameAction::Start;
        let throws = self.action == GameAction::Throw;
        let only_to_start = "is only to start: a game goes on with what it began with";
        let only_to_throw = "is only to throw";
        let keys = [
            ("players", self.players.is_some() && !starts, only_to_start),
            ("rules", self.rules.is_some() && !starts, only_to_start),
            ("seed", self.seed.is_some() && !starts, only_to_start),
            (
                "game",
                self.game.is_some() && starts,
                "is not for the start: a new game begins on a board",
            ),
            ("player", self.player.is_some() && !throws, only_to_throw),
            ("thrown", self.thrown.is_some() && !throws, only_to_throw),
        ];
        match keys.into_iter().find(|&(_, wrong, _)| wrong) {
            None => Ok(()),
            Some((key, _, why)) => {
                let message = format!("`{key}` {why}");
                Err(ErrorAnswer::new(ErrorKind::Request, message))
            }
        }
    }
}

/// How a game stands, and what the throw asked for has done.
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct GameAnswer {
    /// The version of the answer: 1.
    pub version: u32,
    /// The game, to be kept and given again.
    pub game: SavedGame,
    /// How many steps the route has.
    pub length: u64,
    /// The pieces, in the order of the turns.
    pub pieces: Vec<PieceAnswer>,
    /// Whose turn it is: an index into `pieces`; absent when the game is over.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub turn: Option<usize>,
    /// The throw that was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub throw: Option<ThrowAnswer>,
    /// For a replay: every throw, first to last.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub throws: Option<Vec<ThrowAnswer>>,
}

/// A player's piece.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PieceAnswer {
    /// The player.
    pub player: String,
    /// How many steps it has walked.
    pub walked: u64,
    /// The measure on which it stands; absent before the board.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub measure: Option<u16>,
    /// Whether it holds a fermata, so that its next turn passes.
    pub holds: bool,
    /// The place in which it has come home, counted from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<usize>,
}

/// What a throw has done.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ThrowAnswer {
    /// Whose throw it was: an index into the players.
    pub player: usize,
    /// What the die shows.
    pub thrown: u8,
    /// The measures walked, first to last; none when the piece stays.
    pub walked: Vec<WalkedAnswer>,
    /// How it ended.
    pub end: ThrowEndName,
    /// The players whose turn passes because they hold a fermata.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub passed: Vec<usize>,
    /// The whole of it in sentences.
    pub said: Vec<String>,
}

/// A measure on which a piece steps.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct WalkedAnswer {
    /// The step, counted from 1.
    pub step: u64,
    /// The measure.
    pub measure: u16,
    /// What is to be said there: what led there, and how it sounds.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub said: Vec<String>,
}

/// How a throw ended.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum ThrowEndName {
    /// The piece stands where it was led.
    Stands,
    /// It stands at a fermata and holds it.
    Holds,
    /// The throw leads beyond the end, which must be reached exactly.
    Stays,
    /// The piece has come to the end of the music.
    Home,
}

/// Begins a game.
///
/// # Errors
/// The board has no route, or the players or rules are none that a game can have.
pub fn start(
    read: &BoardRead,
    terms: &TermsAsked,
    players: Vec<String>,
    rules: GameRules,
    seed: Option<u64>,
) -> Result<Game, ErrorAnswer> {
    Game::new(&read.board, &Terms::from(*terms), players, rules, seed).map_err(
        |error| match error {
            fingerpost::GameError::NoRoute(refusal) => ErrorAnswer::refused(read, &refusal),
            other => ErrorAnswer::new(ErrorKind::Request, other.to_string()),
        },
    )
}

/// A game that was kept, or why it cannot go on.
///
/// # Errors
/// As [`Game::restore`].
pub fn restored(saved: &SavedGame) -> Result<Game, ErrorAnswer> {
    Game::restore(saved).map_err(|error| ErrorAnswer::new(ErrorKind::Request, error.to_string()))
}

/// How a game stands, with a throw that was made in it.
pub fn shown(game: &Game, throw: Option<&Throw>, voice: &Voice) -> GameAnswer {
    let pieces = game.players().iter().zip(game.pieces());
    GameAnswer {
        version: VERSION,
        game: game.save(),
        length: game.roadmap().length(),
        pieces: pieces
            .map(|(player, piece)| {
                let on = piece.walked.checked_sub(1);
                let step = on.and_then(|on| game.roadmap().step(on));
                PieceAnswer {
                    player: player.clone(),
                    walked: piece.walked,
                    measure: step.map(|step| step.measure),
                    holds: piece.holds,
                    place: piece.place,
                }
            })
            .collect(),
        turn: game.turn(),
        throw: throw.map(|throw| told(game, throw, voice)),
        throws: None,
    }
}

fn told(game: &Game, throw: &Throw, voice: &Voice) -> ThrowAnswer {
    let book = voice.book();
    ThrowAnswer {
        player: throw.player,
        thrown: throw.thrown,
        walked: (throw.from..)
            .zip(&throw.walked)
            .map(|(index, step)| WalkedAnswer {
                step: index + 1,
                measure: step.measure,
                said: book.at_step(game, index),
            })
            .collect(),
        end: match throw.end {
            ThrowEnd::Holds => ThrowEndName::Holds,
            ThrowEnd::Stays => ThrowEndName::Stays,
            ThrowEnd::Home(_) => ThrowEndName::Home,
            _ => ThrowEndName::Stands,
        },
        passed: throw.passed.clone(),
        said: book.throw(game, throw),
    }
}

/// The most throws of a game that are told again, one by one.
const MOST_TOLD: usize = 10_000;

/// Plays a game again from its beginning.
fn replayed(saved: &SavedGame, voice: &Voice) -> Result<GameAnswer, ErrorAnswer> {
    let request = |message: String| ErrorAnswer::new(ErrorKind::Request, message);
    if saved.throws.len() > MOST_TOLD {
        return Err(request(format!(
            "a replay tells at most {MOST_TOLD} throws, and this game has {}; `show` says how it stands",
            saved.throws.len()
        )));
    }
    let (game, throws) = Game::replay(saved).map_err(|error| request(error.to_string()))?;
    Ok(GameAnswer {
        throws: Some(
            throws
                .iter()
                .map(|throw| told(&game, throw, voice))
                .collect(),
        ),
        ..shown(&game, None, voice)
    })
}

/// Carries out a request that brings its game.
pub(crate) fn go_on(
    action: GameAction,
    (game, board): (Option<&SavedGame>, Option<&BoardRead>),
    player: Option<usize>,
    thrown: Option<u64>,
    voice: &Voice,
) -> Result<GameAnswer, ErrorAnswer> {
    let request = |message: &str| ErrorAnswer::new(ErrorKind::Request, message);
    let saved =
        game.ok_or_else(|| request("the request has no `game`: give the one that an answer gave"))?;
    let mut game = match board {
        None => restored(saved)?,
        Some(read) => {
            Game::restore_on(saved, &read.board).map_err(|error| request(&error.to_string()))?
        }
    };
    match action {
        GameAction::Show => return Ok(shown(&game, None, voice)),
        GameAction::Replay => return replayed(saved, voice),
        GameAction::Start | GameAction::Throw => {}
    }
    let player = player
        .or(game.turn())
        .ok_or_else(|| request("the game is over"))?;
    let throw = match thrown {
        Some(thrown) => game.throw_of(player, thrown),
        None => game.throw(player),
    };
    let throw = throw.map_err(|refused| request(&refused.to_string()))?;
    Ok(shown(&game, Some(&throw), voice))
}
