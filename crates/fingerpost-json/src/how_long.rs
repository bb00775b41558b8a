//! The verb `how-long`: how long a game on a board lasts, in exact chances.

use fingerpost::{
    Chances, GameRules, Lesson, NoChances, Roadmap, Spread, Terms, Until, throws_by_renewal,
};

use crate::VERSION;
use crate::error::{ErrorAnswer, ErrorKind};
use crate::request::request;
use crate::source::BoardRead;
use crate::terms::TermsAsked;

request! {
    /// `how-long`: how long a game on a board lasts.
    HowLongRequest = "how-long", reading "The reading; the board's own answers outrank it." {
        /// How many players there are; 2 when absent.
        #[serde(default)]
        #[cfg_attr(feature = "schema", schemars(range(min = 1, max = 8)))]
        pub(crate) players: Option<usize>,
        /// What the players agree on.
        #[serde(default)]
        pub(crate) rules: GameRules,
        /// The seconds that one turn takes; 20 when absent.
        #[serde(default)]
        pub(crate) seconds: Option<f64>,
        /// The minutes that there are.
        #[serde(default)]
        pub(crate) minutes: Option<f64>,
    }
}

impl HowLongRequest<'_> {
    pub(crate) fn asked(&self) -> HowLongAsked {
        HowLongAsked {
            players: self.players.unwrap_or(2),
            rules: self.rules,
            seconds: self.seconds.unwrap_or(20.0),
            minutes: self.minutes,
        }
    }
}

/// What is asked of a game's length.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct HowLongAsked {
    /// How many players there are.
    pub players: usize,
    /// What the players agree on.
    pub rules: GameRules,
    /// The seconds that one turn takes.
    pub seconds: f64,
    /// The minutes that there are.
    pub minutes: Option<f64>,
}

/// How long a game lasts. All of it is worked out exactly, to 12 digits behind the point; nothing is played by chance.
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct HowLongAnswer {
    /// The version of the answer: 1.
    pub version: u32,
    /// Where the command was asked of several boards: the title of this one, else the name of its file, else the number of its line.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub board: Option<String>,
    /// Where the command was asked of several boards and of a lesson's minutes: whether this one fits the lesson best.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub best: Option<bool>,
    /// How many steps the route has.
    pub length: u64,
    /// How many players there are.
    pub players: usize,
    /// What the players agree on.
    pub rules: GameRules,
    /// The expected number of throws that one piece needs.
    pub throws_alone: f64,
    /// How many throws one piece needs, whether it holds fermatas or not.
    pub throws: SpreadAnswer,
    /// How many turns one piece needs: its throws, and the turns in which it holds a fermata.
    pub turns_alone: SpreadAnswer,
    /// In which round the first piece comes home.
    pub rounds: SpreadAnswer,
    /// How many turns have been taken in all when the first piece comes home.
    pub turns: SpreadAnswer,
    /// The expected number of turns until all pieces are home.
    pub turns_until_all_home: f64,
    /// For a game until all are home: in which round the last piece comes home.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rounds_all_home: Option<SpreadAnswer>,
    /// For a game until all are home: how many turns have been taken in all when the last piece comes home.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub turns_all_home: Option<SpreadAnswer>,
    /// The chance of each seat to come home first, in the order of the turns.
    pub wins: Vec<f64>,
    /// The time that it takes.
    pub time: TimeAnswer,
}

/// How a number is spread.
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct SpreadAnswer {
    /// The expected number.
    pub expected: f64,
    /// One game in ten has at most so many.
    pub one_in_ten: u64,
    /// Half of the games have at most so many.
    pub half: u64,
    /// Nine games in ten have at most so many.
    pub nine_in_ten: u64,
    /// Each number with its chance; those with a chance below 10^-9 are left away.
    pub chances: Vec<(u64, f64)>,
}

impl SpreadAnswer {
    fn of(spread: &Spread) -> SpreadAnswer {
        SpreadAnswer {
            expected: spread.expected(),
            one_in_ten: spread.quantile(0.1),
            half: spread.quantile(0.5),
            nine_in_ten: spread.quantile(0.9),
            chances: spread
                .iter()
                .filter(|&(_, chance)| chance >= 1e-9)
                .collect(),
        }
    }
}

/// The time that a game takes.
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct TimeAnswer {
    /// The seconds that one turn takes.
    pub seconds: f64,
    /// The expected minutes until the game is over.
    pub expected_minutes: f64,
    /// Half of the games are over within so many minutes.
    pub half_within: f64,
    /// Nine in ten are.
    pub nine_in_ten_within: f64,
    /// The chance that the game is over within the minutes asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub in_time: Option<f64>,
}

/// How long a game on a board lasts, with the chances themselves.
///
/// # Errors
/// The board has no route or a very long one, or what is asked for is no game or no time.
pub fn how_long(
    read: &BoardRead,
    terms: &TermsAsked,
    asked: &HowLongAsked,
) -> Result<(HowLongAnswer, Chances), ErrorAnswer> {
    let request = |message: String| ErrorAnswer::new(ErrorKind::Request, message);
    for (name, value) in [("seconds", Some(asked.seconds)), ("minutes", asked.minutes)] {
        let wrong = value.filter(|value| !(value.is_finite() && (0.1..=100_000.0).contains(value)));
        if let Some(value) = wrong {
            return Err(request(format!(
                "`{name}` is a number from 0.1 to 100000, not {value}"
            )));
        }
    }
    let roadmap = Roadmap::new(&read.board, &Terms::from(*terms))
        .map_err(|refusal| ErrorAnswer::refused(read, &refusal))?;
    let chances = Chances::new(&roadmap, &asked.rules, asked.players)
        .map_err(|error| request(no_chances(error, asked.rules)))?;
    let lesson = Lesson {
        seconds_a_turn: asked.seconds,
        minutes: asked.minutes.unwrap_or(0.0),
    };
    let fit = lesson.fit(&chances, asked.rules.until);
    #[allow(clippy::cast_precision_loss, reason = "a number of turns")]
    let minutes = |turns: u64| turns as f64 * asked.seconds / 60.0;
    let turns = SpreadAnswer::of(chances.turns());
    let all_home = asked.rules.until == Until::AllHome;
    let turns_all_home = all_home.then(|| SpreadAnswer::of(&chances.turns_all_home()));
    let rounds_all_home = all_home.then(|| SpreadAnswer::of(&chances.rounds_all_home()));
    let over = turns_all_home.as_ref().unwrap_or(&turns);
    let answer = HowLongAnswer {
        version: VERSION,
        board: None,
        best: None,
        length: roadmap.length(),
        players: asked.players,
        rules: asked.rules,
        throws_alone: chances.throws_alone(),
        throws: SpreadAnswer::of(chances.throws()),
        turns_alone: SpreadAnswer::of(chances.turns_alone()),
        rounds: SpreadAnswer::of(chances.rounds()),
        turns_until_all_home: chances.turns_until_all_home(),
        wins: chances.wins().to_vec(),
        time: TimeAnswer {
            seconds: asked.seconds,
            expected_minutes: fit.expected_minutes,
            half_within: minutes(over.half),
            nine_in_ten_within: minutes(over.nine_in_ten),
            in_time: asked.minutes.map(|_| fit.in_time),
        },
        turns,
        rounds_all_home,
        turns_all_home,
    };
    Ok((answer, chances))
}

/// Why there are no exact numbers; for a very long route with what can be said of it all the same, and by which theorem.
fn no_chances(why: NoChances, rules: GameRules) -> String {
    match why {
        NoChances::TooLong(length) => format!(
            "{why}; by the renewal theorem, an approximation without fermatas held, one piece needs about {:.0} throws",
            throws_by_renewal(length, rules.faces)
        ),
        other => other.to_string(),
    }
}
