//! Playing a board: pieces walk the route by the throws of a die, and how long that takes.
//!
//! Design of the parts: `rules.rs` has what the players agree on, `state.rs` the game, `throw.rs` what a throw does, `saved.rs` the form in
//! which a game is kept, `chances.rs` and `lesson.rs` the exact numbers.

mod chances;
mod lesson;
mod rules;
mod saved;
mod state;
#[cfg(test)]
mod tests;
mod throw;

pub use chances::{Chances, LONGEST_ROUTE_OF_CHANCES, NoChances, Spread, throws_by_renewal};
pub use lesson::{Lesson, LessonFit, best_fit};
pub use rules::{GameRules, HIGHEST_FACES, MOST_PLAYERS, Start, Until};
pub use saved::{SAVED_GAME_VERSION, SavedGame};
pub use state::{Game, GameError, MOST_THROWS, Piece};
pub use throw::{Refused, Throw, ThrowEnd};
