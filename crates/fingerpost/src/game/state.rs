//! A game: who plays on which board, and what has been thrown.

use super::rules::{GameRules, HIGHEST_FACES, MOST_PLAYERS};
use crate::board::Board;
use crate::roadmap::{Refusal, Roadmap, Terms};

/// The most throws of a game.
pub const MOST_THROWS: usize = 1_000_000;

/// A game on a board: the pieces walk its route by the throws of a die.
///
/// A game is a value. It is what its board, its players, its rules and its throws make of it: the same throws give the same game.
/// It is kept as a [`SavedGame`](super::SavedGame) and goes on from there.
///
/// ```
/// use fingerpost::{Board, Game, GameRules, Terms};
/// let board: Board = "|: 1 | 2 :| 3 | 4 |]".parse()?;
/// let players = ["A".to_owned(), "B".to_owned()];
/// let mut game = Game::new(&board, &Terms::default(), players, GameRules::default(), Some(7))?;
/// let throw = game.throw_of(0, 4)?;
/// assert_eq!(throw.walked.iter().map(|step| step.measure).collect::<Vec<_>>(), [1, 2, 1, 2]);
/// assert_eq!(game.turn(), Some(1));
/// assert!(game.throw_of(0, 3).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct Game {
    pub(super) board: Board,
    pub(super) terms: Terms,
    pub(super) roadmap: Roadmap,
    pub(super) rules: GameRules,
    pub(super) players: Vec<String>,
    pub(super) seed: Option<u64>,
    // What follows is what the throws have made.
    pub(super) throws: Vec<u8>,
    pub(super) pieces: Vec<Piece>,
    pub(super) turn: Option<usize>,
}

/// A player's piece.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Piece {
    /// How many steps of the route it has walked: 0 before the board, and the length of the route at the end. It stands on the step with the
    /// index one less.
    pub walked: u64,
    /// Whether it holds a fermata, so that its next turn passes.
    pub holds: bool,
    /// The place in which it has come home, counted from 1; absent while it is on its way.
    pub place: Option<usize>,
}

/// Why there is no game.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum GameError {
    /// The board has no route on these terms.
    #[error(transparent)]
    NoRoute(#[from] Refusal),
    /// The route has no step, or with all pieces on the first measure no second one.
    #[error("the music has no measure to walk to")]
    NothingToWalk,
    /// There are no players, or more than [`MOST_PLAYERS`].
    #[error("a game has 1 to {MOST_PLAYERS} players, not {0}")]
    Players(usize),
    /// A player's name is empty or longer than 100 characters, or two are the same.
    #[error("the name of player {0} is empty, too long or taken: 1 to 100 characters, each once")]
    Name(usize),
    /// The die has fewer than 2 or more than 100 faces.
    #[error("a die has 2 to {HIGHEST_FACES} faces, not {0}")]
    Faces(u8),
    /// A saved game was written by a newer version.
    #[error(
        "this game was saved in version {0} of its form, and this program reads version 1: it needs a newer one"
    )]
    Version(u32),
    /// A saved game is to go on on a board on which it was not begun.
    #[error("this game was begun on another board: go on with its own, `{0}`")]
    AnotherBoard(String),
    /// The board in a saved game cannot be read.
    #[error("the board of the saved game cannot be read: {0}")]
    Board(String),
    /// The seed in a saved game is no number.
    #[error("the seed of the saved game is a number from 0 to 2^64 - 1, not `{0}`")]
    Seed(String),
    /// A throw in a saved game is not possible.
    #[error("throw {number} of the saved game is not possible: {reason}")]
    Throw {
        /// Which throw, counted from 1.
        number: usize,
        /// Why.
        reason: String,
    },
}

impl Game {
    /// A game that begins. With a seed the game can throw the die itself; without one each throw is reported.
    ///
    /// # Errors
    /// The board has no route on these terms, or the players or rules are none that a game can have.
    pub fn new(
        board: &Board,
        terms: &Terms,
        players: impl IntoIterator<Item = String>,
        rules: GameRules,
        seed: Option<u64>,
    ) -> Result<Game, GameError> {
        let players: Vec<String> = players.into_iter().take(MOST_PLAYERS + 1).collect();
        if players.is_empty() || players.len() > MOST_PLAYERS {
            return Err(GameError::Players(players.len()));
        }
        for (at, name) in players.iter().enumerate() {
            let taken = players.iter().take(at).any(|other| other == name);
            if taken || name.trim().is_empty() || name.chars().count() > 100 {
                return Err(GameError::Name(at + 1));
            }
        }
        if !(2..=HIGHEST_FACES).contains(&rules.faces) {
            return Err(GameError::Faces(rules.faces));
        }
        let roadmap = Roadmap::new(board, terms)?;
        if roadmap.length() <= rules.start.steps() {
            return Err(GameError::NothingToWalk);
        }
        let piece = Piece {
            walked: rules.start.steps(),
            holds: false,
            place: None,
        };
        Ok(Game {
            pieces: vec![piece; players.len()],
            board: board.clone(),
            terms: *terms,
            roadmap,
            rules,
            players,
            seed,
            throws: Vec::new(),
            turn: Some(0),
        })
    }

    /// The board.
    pub fn board(&self) -> &Board {
        &self.board
    }

    /// The route.
    pub fn roadmap(&self) -> &Roadmap {
        &self.roadmap
    }

    /// The rules.
    pub fn rules(&self) -> &GameRules {
        &self.rules
    }

    /// The players, in the order of their turns.
    pub fn players(&self) -> &[String] {
        &self.players
    }

    /// The pieces, one for each player.
    pub fn pieces(&self) -> &[Piece] {
        &self.pieces
    }

    /// The seed from which the game throws the die.
    pub fn seed(&self) -> Option<u64> {
        self.seed
    }

    /// What has been thrown, first to last.
    pub fn throws(&self) -> &[u8] {
        &self.throws
    }

    /// Whose turn it is: an index into the players; `None` when the game is over.
    pub fn turn(&self) -> Option<usize> {
        self.turn
    }

    /// The player who came home first.
    pub fn winner(&self) -> Option<usize> {
        self.pieces.iter().position(|piece| piece.place == Some(1))
    }
}
