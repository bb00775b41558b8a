//! What is said in a game: what was thrown, what is played, and what to do at each sign on the way.

use super::Phrasebook;
use super::moves::said_at;
use super::phrases::fill;
use crate::game::{Game, Throw, ThrowEnd};

impl Phrasebook {
    /// A throw in words: what is played, what to say at each sign on the way, and how it ends. `game` is the game in which it was made.
    ///
    /// ```
    /// use fingerpost::{Board, Game, GameRules, Phrasebook, Terms};
    /// let board: Board = "|: 1 | 2 :| 3 | 4 |]".parse()?;
    /// let mut game = Game::new(&board, &Terms::default(), ["A".to_owned()], GameRules::default(), None)?;
    /// let throw = game.throw_of(0, 3)?;
    /// assert_eq!(
    ///     Phrasebook::default().throw(&game, &throw),
    ///     [
    ///         "A throws 3 and plays measures 1 2 1.",
    ///         "The end repeat at the end of measure 2 sends you back to the start repeat at measure 1, for pass 2 of 2."
    ///     ]
    /// );
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn throw(&self, game: &Game, throw: &Throw) -> Vec<String> {
        let words = &self.desk().playing;
        let player = |at: usize| game.players().get(at).map_or("", String::as_str);
        let own = player(throw.player);
        let thrown = throw.thrown.to_string();
        let mut said = Vec::new();
        let mut say = |sentence| said.push(self.worded(sentence));
        if throw.walked.is_empty() {
            let most = (game.roadmap().length() - throw.from).to_string();
            say(fill(
                words.stays,
                &[("player", own), ("thrown", &thrown), ("most", &most)],
            ));
        } else {
            let order: Vec<String> = throw
                .walked
                .iter()
                .map(|step| game.board().measure_words(step.measure))
                .collect();
            let template = match order.len() {
                1 => words.walks_one,
                _ => words.walks_many,
            };
            let order = order.join(" ");
            say(fill(
                template,
                &[("player", own), ("thrown", &thrown), ("order", &order)],
            ));
        }
        for index in (throw.from..).take(throw.walked.len()) {
            for sentence in said_at(self.spoken(), game.board(), game.roadmap(), index) {
                say(sentence);
            }
        }
        match throw.end {
            ThrowEnd::Holds => say(fill(words.holds, &[("player", own)])),
            ThrowEnd::Home(1) => say(fill(words.first_home, &[("player", own)])),
            ThrowEnd::Home(place) => {
                let place = place.to_string();
                say(fill(words.home, &[("player", own), ("place", &place)]));
            }
            ThrowEnd::Stands | ThrowEnd::Stays => {}
        }
        for &passed in &throw.passed {
            say(fill(words.passes, &[("player", player(passed))]));
        }
        said
    }

    /// What a player says who comes to a step of the game's route: what led there, and what changes of how it sounds.
    pub fn at_step(&self, game: &Game, index: u64) -> Vec<String> {
        let said = said_at(self.spoken(), game.board(), game.roadmap(), index).into_iter();
        said.map(|sentence| self.worded(sentence)).collect()
    }
}
