//! Whether a game fits into a lesson.

use super::chances::Chances;
use super::rules::Until;

/// A lesson: how long a turn takes, and how much time there is.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Lesson {
    /// The seconds that one turn takes, with throwing, walking and saying what the signs ask for.
    pub seconds_a_turn: f64,
    /// The minutes that there are.
    pub minutes: f64,
}

/// How a game fits into a lesson.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct LessonFit {
    /// The expected minutes until the game is over.
    pub expected_minutes: f64,
    /// The chance that the game is over within the time: that the first piece is home, or all are, as the players agreed.
    pub in_time: f64,
    /// How many turns can be taken in the time.
    pub turns: u64,
}

impl Lesson {
    /// How a game with these chances fits.
    pub fn fit(&self, chances: &Chances, until: Until) -> LessonFit {
        let seconds = self.seconds_a_turn.max(0.1);
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "negative and endless times count as none and as very long"
        )]
        let turns = (self.minutes * 60.0 / seconds + 1e-9).floor() as u64;
        let (expected, in_time) = match until {
            Until::FirstHome => (chances.turns().expected(), chances.turns().at_most(turns)),
            Until::AllHome => {
                let all = chances.turns_all_home();
                (chances.turns_until_all_home(), all.at_most(turns))
            }
        };
        LessonFit {
            expected_minutes: expected * seconds / 60.0,
            in_time,
            turns,
        }
    }
}

/// Which of several games fits best into its lesson: the one that takes most of the time of those that end within it at least four times in
/// five; where none does, the one that ends within it most often. A ruling of ours.
pub fn best_fit(fits: &[LessonFit]) -> Option<usize> {
    let indexed = || fits.iter().enumerate();
    let long = |a: &(usize, &LessonFit), b: &(usize, &LessonFit)| {
        a.1.expected_minutes.total_cmp(&b.1.expected_minutes)
    };
    let often =
        |a: &(usize, &LessonFit), b: &(usize, &LessonFit)| a.1.in_time.total_cmp(&b.1.in_time);
    let sure = indexed().filter(|(_, fit)| fit.in_time >= 0.8).max_by(long);
    sure.or_else(|| indexed().max_by(often)).map(|(at, _)| at)
}
