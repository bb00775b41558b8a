//! One throw: who may make it, where it leads, and whose turn comes next.

use super::rules::Until;
use super::state::{Game, MOST_THROWS};
use crate::chance::Chance;
use crate::route::{Held, Step};

/// What a throw has done, without the steps between.
pub(super) struct Led {
    thrown: u8,
    from: u64,
    to: u64,
    end: ThrowEnd,
    passed: Vec<usize>,
}

/// What a throw has done.
#[derive(Clone, PartialEq, Debug)]
pub struct Throw {
    /// Whose throw it was.
    pub player: usize,
    /// What the die shows.
    pub thrown: u8,
    /// The index of the first step walked.
    pub from: u64,
    /// The steps walked, first to last; none when the piece stays.
    pub walked: Vec<Step>,
    /// How it ended.
    pub end: ThrowEnd,
    /// The players whose next turn passes because they hold a fermata, in order, before it is `next`'s turn.
    pub passed: Vec<usize>,
    /// Whose turn it is now; `None` when the game is over.
    pub next: Option<usize>,
}

/// How a throw ended.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum ThrowEnd {
    /// The piece stands where it was led.
    Stands,
    /// It stands at a fermata and holds it.
    Holds,
    /// The throw leads beyond the last measure, which must be reached exactly: the piece stays where it was.
    Stays,
    /// The piece has come to the end of the music, in this place, counted from 1.
    Home(usize),
}

/// Why a throw is not possible. The game is as it was.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Refused {
    /// The game is over.
    #[error("the game is over")]
    Over,
    /// It is another player's turn.
    #[error("it is the turn of {name}")]
    NotInTurn {
        /// Whose turn it is.
        player: usize,
        /// That player's name.
        name: String,
    },
    /// It is another player's turn, and this one holds a fermata, so that the next turn passes.
    #[error("{holder} holds a fermata and the next turn passes; it is the turn of {name}")]
    Holds {
        /// Who holds it.
        holder: String,
        /// Whose turn it is.
        player: usize,
        /// That player's name.
        name: String,
    },
    /// There is no such player.
    #[error("there is no player {0}: they are counted from 0 to {1}")]
    NoPlayer(usize, usize),
    /// The die has no such face.
    #[error("a die with {faces} faces shows 1 to {faces}, not {thrown}")]
    NotOnTheDie {
        /// What was thrown.
        thrown: u64,
        /// The faces of the die.
        faces: u8,
    },
    /// The game has no seed to throw by.
    #[error("this game has no seed: say what was thrown")]
    NoSeed,
    /// The game has had [`MOST_THROWS`] throws.
    #[error("a game has at most {MOST_THROWS} throws")]
    TooLong,
}

/// For which purpose a game draws from its seed.
const THROWING: u64 = 1 << 32;

impl Game {
    /// Throws the die for a player, by the game's seed: the same game throws the same next, however often it was saved between.
    ///
    /// # Errors
    /// It is not this player's turn, the game is over or has no seed. The game is as it was then.
    pub fn throw(&mut self, player: usize) -> Result<Throw, Refused> {
        self.may_throw(player)?;
        let seed = self.seed.ok_or(Refused::NoSeed)?;
        // Each throw draws by its number, so that nothing but the seed and the throws needs to be kept.
        let mut chance = Chance::new(seed, THROWING + self.throws.len() as u64);
        let drawn = chance.below(u64::from(self.rules.faces)) + 1;
        self.throw_of(player, drawn)
    }

    /// A player reports what the die shows.
    ///
    /// # Errors
    /// It is not this player's turn, the game is over, or the die has no such face. The game is as it was then.
    pub fn throw_of(&mut self, player: usize, thrown: u64) -> Result<Throw, Refused> {
        let led = self.lead(player, thrown)?;
        let steps = led.from..led.to;
        Ok(Throw {
            player,
            thrown: led.thrown,
            from: led.from,
            walked: steps.map_while(|at| self.roadmap.step(at)).collect(),
            end: led.end,
            passed: led.passed,
            next: self.turn,
        })
    }

    /// Moves the piece, in a time that does not depend on how far.
    pub(super) fn lead(&mut self, player: usize, thrown: u64) -> Result<Led, Refused> {
        self.may_throw(player)?;
        let faces = self.rules.faces;
        let value = u8::try_from(thrown)
            .ok()
            .filter(|value| (1..=faces).contains(value))
            .ok_or(Refused::NotOnTheDie { thrown, faces })?;
        let length = self.roadmap.length();
        let home = self.pieces.iter().filter(|it| it.place.is_some()).count();
        let Some(piece) = self.pieces.get_mut(player) else {
            return Err(Refused::NoPlayer(player, self.players.len() - 1));
        };
        let from = piece.walked;
        let wanted = from.saturating_add(u64::from(value));
        let stays = self.rules.exact_finish && wanted > length;
        let to = if stays { from } else { wanted.min(length) };
        piece.walked = to;
        let end = if stays {
            ThrowEnd::Stays
        } else if to == length {
            piece.place = Some(home + 1);
            ThrowEnd::Home(home + 1)
        } else if self.rules.fermata_holds && self.roadmap.held(to - 1) != Held::None {
            // cannot fail: a piece that has moved has walked a step.
            piece.holds = true;
            ThrowEnd::Holds
        } else {
            ThrowEnd::Stands
        };
        self.throws.push(value);
        let passed = self.pass_on(player);
        Ok(Led {
            thrown: value,
            from,
            to,
            end,
            passed,
        })
    }

    fn may_throw(&self, player: usize) -> Result<(), Refused> {
        let Some(turn) = self.turn else {
            return Err(Refused::Over);
        };
        if player >= self.players.len() {
            return Err(Refused::NoPlayer(player, self.players.len() - 1));
        }
        if player != turn {
            let name = |at: usize| self.players.get(at).cloned().unwrap_or_default();
            let holds = self.pieces.get(player).is_some_and(|piece| piece.holds);
            return Err(if holds {
                Refused::Holds {
                    holder: name(player),
                    player: turn,
                    name: name(turn),
                }
            } else {
                Refused::NotInTurn {
                    player: turn,
                    name: name(turn),
                }
            });
        }
        if self.throws.len() >= MOST_THROWS {
            return Err(Refused::TooLong);
        }
        Ok(())
    }

    /// Gives the turn to the next player who may throw. Who holds a fermata holds it now, and is passed over once.
    fn pass_on(&mut self, player: usize) -> Vec<usize> {
        let mut passed = Vec::new();
        let over = match self.rules.until {
            Until::FirstHome => self.pieces.iter().any(|piece| piece.place.is_some()),
            Until::AllHome => self.pieces.iter().all(|piece| piece.place.is_some()),
        };
        if over {
            self.turn = None;
            return passed;
        }
        let count = self.pieces.len();
        let mut at = player;
        loop {
            at = (at + 1) % count;
            let Some(piece) = self.pieces.get_mut(at) else {
                break;
            };
            if piece.place.is_some() {
                continue;
            }
            if !std::mem::take(&mut piece.holds) {
                break;
            }
            passed.push(at);
        }
        self.turn = Some(at);
        passed
    }
}
