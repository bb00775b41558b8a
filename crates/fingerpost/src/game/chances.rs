//! How long a game lasts: exact chances, not throws by chance.
//!
//! A piece alone is a Markov chain on the steps of its route that ends when it comes home; players walk independently of each other. What
//! is worked out here are sums of those chances, in numbers of 53 bits; only what lies so far out that it weighs less than
//! [`Spread::tail`] is left away.

use super::rules::{GameRules, HIGHEST_FACES, MOST_PLAYERS};
use crate::roadmap::Roadmap;
use crate::route::Held;

/// The longest route whose chances are worked out.
pub const LONGEST_ROUTE_OF_CHANCES: u64 = 20_000;

/// What may be left away at the far end of a distribution.
const LEFT_AWAY: f64 = 1e-13;

/// What is left away of the pieces that have come least far: all of it together weighs less than 10^-13.
const TOO_LIGHT: f64 = 1e-18;

/// Why no chances are worked out.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum NoChances {
    /// The route is longer than [`LONGEST_ROUTE_OF_CHANCES`].
    #[error(
        "chances are worked out for routes of up to {LONGEST_ROUTE_OF_CHANCES} measures; this one has {0}"
    )]
    TooLong(u64),
    /// There is no step to walk.
    #[error("the music has no measure to walk to")]
    NothingToWalk,
    /// There are no players, or more than [`MOST_PLAYERS`].
    #[error("a game has 1 to {MOST_PLAYERS} players, not {0}")]
    Players(usize),
    /// The die has fewer than 2 or more than 100 faces.
    #[error("a die has 2 to {HIGHEST_FACES} faces, not {0}")]
    Faces(u8),
}

/// How a number is spread: the chance of each value.
#[derive(Clone, PartialEq, Debug)]
pub struct Spread {
    /// The value that `chances` begins with.
    first: u64,
    chances: Vec<f64>,
}

impl Spread {
    /// The chance of a value.
    pub fn chance(&self, value: u64) -> f64 {
        let at = value.checked_sub(self.first);
        at.and_then(|at| self.chances.get(usize::try_from(at).ok()?))
            .copied()
            .unwrap_or(0.0)
    }

    /// The values that have a chance, with it, smallest first.
    pub fn iter(&self) -> impl Iterator<Item = (u64, f64)> + '_ {
        (self.first..).zip(self.chances.iter().copied())
    }

    /// The chance that it is at most so much.
    pub fn at_most(&self, value: u64) -> f64 {
        let within = self.iter().take_while(|&(at, _)| at <= value);
        within.map(|(_, chance)| chance).sum::<f64>().min(1.0)
    }

    /// The expected value.
    #[allow(clippy::cast_precision_loss, reason = "values stay far below 2^53")]
    pub fn expected(&self) -> f64 {
        self.iter().map(|(at, chance)| at as f64 * chance).sum()
    }

    /// The smallest value that is not exceeded with this chance, from 0 to 1: 0.5 gives the median.
    pub fn quantile(&self, share: f64) -> u64 {
        let mut sum = 0.0;
        for (at, chance) in self.iter() {
            sum += chance;
            if sum >= share {
                return at;
            }
        }
        self.first + (self.chances.len() as u64).saturating_sub(1)
    }

    /// The sum of two numbers that have nothing to do with each other.
    fn and(&self, other: &Spread) -> Spread {
        let mut chances = vec![0.0; self.chances.len() + other.chances.len()];
        for (at, &one) in self.chances.iter().enumerate() {
            let sums = chances.iter_mut().skip(at);
            for (sum, &two) in sums.zip(&other.chances) {
                *sum += one * two;
            }
        }
        Spread {
            first: self.first + other.first,
            chances,
        }
        .trimmed()
    }

    /// Without what weighs next to nothing at both ends.
    fn trimmed(mut self) -> Spread {
        let heavy = |chance: &f64| *chance >= TOO_LIGHT;
        let last = self.chances.iter().rposition(heavy);
        self.chances.truncate(last.map_or(0, |last| last + 1));
        let first = self.chances.iter().position(heavy).unwrap_or(0);
        self.chances.drain(..first);
        self.first += first as u64;
        self
    }

    /// What is left away at the far end, so that all chances together are 1 less this; below 10^-12.
    pub fn tail(&self) -> f64 {
        (1.0 - self.chances.iter().sum::<f64>()).max(0.0)
    }
}

/// The exact numbers of a game on a route.
///
/// ```
/// use fingerpost::{Board, Chances, GameRules, Roadmap, Terms};
/// let board: Board = "1 | 2 |".parse()?;
/// let roadmap = Roadmap::new(&board, &Terms::default())?;
/// let coin = GameRules { faces: 2, ..GameRules::default() };
/// let chances = Chances::new(&roadmap, &coin, 1)?;
/// // A 2 comes home at once, a 1 needs one throw more.
/// assert_eq!(chances.throws_alone(), 1.5);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, PartialEq, Debug)]
pub struct Chances {
    players: usize,
    throws_alone: f64,
    throws: Spread,
    turns_alone: Spread,
    rounds: Spread,
    turns: Spread,
    wins: Vec<f64>,
    all_home: f64,
}

impl Chances {
    /// The chances of a game of so many players who walk this route by these rules.
    ///
    /// # Errors
    /// The route is too long or has no step to walk, or players or die are none that a game can have.
    pub fn new(roadmap: &Roadmap, rules: &GameRules, players: usize) -> Result<Chances, NoChances> {
        let length = roadmap.length();
        if length > LONGEST_ROUTE_OF_CHANCES {
            return Err(NoChances::TooLong(length));
        }
        if !(1..=MOST_PLAYERS).contains(&players) {
            return Err(NoChances::Players(players));
        }
        if !(2..=HIGHEST_FACES).contains(&rules.faces) {
            return Err(NoChances::Faces(rules.faces));
        }
        let skipped = rules.start.steps();
        if length <= skipped {
            return Err(NoChances::NothingToWalk);
        }
        // Position 0 is where the pieces begin; whether each further one holds.
        let mut holds = vec![false];
        let steps = roadmap.steps().skip(usize::try_from(skipped).unwrap_or(0));
        holds.extend(steps.map(|step| rules.fermata_holds && step.hold != Held::None));
        let walk = Alone {
            holds: &holds,
            faces: usize::from(rules.faces),
            exact: rules.exact_finish,
        };
        let turns_alone = walk.turns();
        let throws_alone = walk.expected_throws();
        // Whoever holds a fermata throws as often as without.
        let throws = if holds.contains(&true) {
            let holds = vec![false; holds.len()];
            let walk = Alone {
                holds: &holds,
                ..walk
            };
            walk.turns()
        } else {
            turns_alone.clone()
        };
        Ok(Chances::together(
            players,
            throws_alone,
            throws,
            turns_alone,
        ))
    }

    /// The chances of players who each need a number of turns spread in this way, independently of each other.
    fn together(players: usize, throws_alone: f64, throws: Spread, turns_alone: Spread) -> Chances {
        // What is left after each round: the chance that a piece needs more turns than that.
        let mut left = 1.0_f64;
        let mut wins = vec![0.0; players];
        let mut rounds = Vec::with_capacity(turns_alone.chances.len());
        let mut turns = Vec::with_capacity(turns_alone.chances.len() * players);
        let mut all_home = 0.0_f64;
        let mut gone = 0.0_f64;
        for (_, chance) in turns_alone.iter() {
            let before = left;
            left = (left - chance).max(0.0);
            let mut ends = 0.0;
            for (seat, wins) in wins.iter_mut().enumerate() {
                // Those before have not come home in this round either; those behind have not in the rounds before.
                let seats_before = i32::try_from(seat).unwrap_or(0);
                let seats_behind = i32::try_from(players - 1 - seat).unwrap_or(0);
                let first = chance * left.powi(seats_before) * before.powi(seats_behind);
                *wins += first;
                ends += first;
                turns.push(first);
            }
            rounds.push(ends);
            // The round in which the last piece comes home.
            let all = i32::try_from(players).unwrap_or(1);
            all_home += 1.0 - gone.powi(all);
            gone = (gone + chance).min(1.0);
        }
        let first_turn = (turns_alone.first.saturating_sub(1)) * players as u64 + 1;
        // Before the first round in which anyone can come home nothing has been added to the rounds that all need.
        #[allow(clippy::cast_precision_loss, reason = "a number of rounds")]
        let all_home = all_home + turns_alone.first.saturating_sub(1) as f64;
        Chances {
            players,
            throws_alone,
            throws,
            rounds: Spread {
                first: turns_alone.first,
                chances: rounds,
            },
            turns: Spread {
                first: first_turn,
                chances: turns,
            },
            turns_alone,
            wins,
            all_home,
        }
    }

    /// How many players there are.
    pub fn players(&self) -> usize {
        self.players
    }

    /// The expected number of throws that one piece needs to come home.
    pub fn throws_alone(&self) -> f64 {
        self.throws_alone
    }

    /// How many throws one piece needs, whether it holds fermatas or not.
    pub fn throws(&self) -> &Spread {
        &self.throws
    }

    /// How many turns one piece needs: its throws, and the turns in which it holds a fermata.
    pub fn turns_alone(&self) -> &Spread {
        &self.turns_alone
    }

    /// In which round the first piece comes home.
    pub fn rounds(&self) -> &Spread {
        &self.rounds
    }

    /// How many turns have been taken in all when the first piece comes home, those in which a fermata is held among them.
    pub fn turns(&self) -> &Spread {
        &self.turns
    }

    /// The chance of each seat to come home first, in the order of the turns.
    pub fn wins(&self) -> &[f64] {
        &self.wins
    }

    /// The expected round in which the last piece comes home.
    pub fn rounds_until_all_home(&self) -> f64 {
        self.all_home
    }

    /// The expected number of turns until all pieces are home, when those that are home take none.
    #[allow(clippy::cast_precision_loss, reason = "at most 8 players")]
    pub fn turns_until_all_home(&self) -> f64 {
        self.turns_alone.expected() * self.players as f64
    }

    /// In which round the last piece comes home.
    pub fn rounds_all_home(&self) -> Spread {
        let all = i32::try_from(self.players).unwrap_or(1);
        let (mut home, mut before) = (0.0_f64, 0.0);
        let chances = self.turns_alone.iter().map(|(_, chance)| {
            home = (home + chance).min(1.0);
            let by_now = home.powi(all);
            let ends = (by_now - before).max(0.0);
            before = by_now;
            ends
        });
        Spread {
            first: self.turns_alone.first,
            chances: chances.collect(),
        }
        .trimmed()
    }

    /// How many turns have been taken in all when the last piece comes home. Those that are home take none, so that it is the sum of
    /// the turns that each piece needs.
    pub fn turns_all_home(&self) -> Spread {
        let one = self.turns_alone.clone().trimmed();
        (1..self.players).fold(one.clone(), |sum, _| sum.and(&one))
    }
}

/// One piece on its way.
struct Alone<'a> {
    /// For each position whether a piece that stops there holds for one turn. The last position is home.
    holds: &'a [bool],
    faces: usize,
    exact: bool,
}

impl Alone<'_> {
    fn home(&self) -> usize {
        self.holds.len() - 1
    }

    /// How the number of turns is spread.
    fn turns(&self) -> Spread {
        let (home, faces) = (self.home(), self.faces);
        #[allow(clippy::cast_precision_loss, reason = "at most 100 faces")]
        let share = 1.0 / faces as f64;
        // The chance that the piece stands at each position, ready to throw, and at each that it has to hold first.
        let places = home + faces + 1;
        let mut ready = vec![0.0; places];
        let mut holding = vec![0.0; places];
        let mut next_ready = vec![0.0; places];
        let mut next_holding = vec![0.0; places];
        let mut sums = Sums::new(faces, places);
        set(&mut ready, 0, 1.0);
        let mut chances = Vec::new();
        let mut left = 1.0;
        // No piece stands before `from` or behind `upto`.
        let (mut from, mut upto) = (0, 0);
        while left > LEFT_AWAY && from < home {
            let reach = (upto + faces).min(home + faces - 1);
            sums.over(&ready, from, reach);
            for at in from..=reach {
                // Who holds is ready in the next round.
                set(&mut next_ready, at, get(&holding, at));
                set(&mut next_holding, at, 0.0);
            }
            let mut arrived = 0.0;
            for to in from + 1..=reach {
                let chance = sums.before(to) * share;
                if to < home && self.holds.get(to).copied().unwrap_or(false) {
                    add(&mut next_holding, to, chance);
                } else if to < home {
                    add(&mut next_ready, to, chance);
                } else if to == home || !self.exact {
                    arrived += chance;
                }
            }
            if self.exact {
                // A throw too high does not move: from each position near home so many of the faces.
                for at in (home + 1).saturating_sub(faces).max(from)..home {
                    #[allow(clippy::cast_precision_loss, reason = "at most 100 faces")]
                    let too_high = (at + faces - home) as f64 * share;
                    add(&mut next_ready, at, get(&ready, at) * too_high);
                }
            }
            std::mem::swap(&mut ready, &mut next_ready);
            std::mem::swap(&mut holding, &mut next_holding);
            chances.push(arrived);
            left -= arrived;
            upto = reach.min(home - 1);
            let is_light = |at: usize| get(&ready, at) + get(&holding, at) < TOO_LIGHT;
            while from < home && is_light(from) {
                left -= get(&ready, from) + get(&holding, from);
                from += 1;
            }
        }
        let impossible = chances.iter().take_while(|&&it| it <= 0.0).count();
        chances.drain(..impossible);
        Spread {
            first: 1 + impossible as u64,
            chances,
        }
    }

    /// The expected number of throws, worked out from home backwards: one throw, and what is to be expected from where it leads.
    #[allow(clippy::cast_precision_loss, reason = "at most 100 faces")]
    fn expected_throws(&self) -> f64 {
        let home = self.home();
        let faces = self.faces as f64;
        let mut expected = vec![0.0_f64; home + 1];
        for at in (0..home).rev() {
            let reach = self.faces.min(home - at);
            let beyond = expected.get(at + 1..=at + reach).unwrap_or_default();
            let sum: f64 = beyond.iter().sum();
            // A throw too high leads home, or is thrown again.
            let moves = if self.exact { reach as f64 } else { faces };
            set(&mut expected, at, (faces + sum) / moves);
        }
        expected.first().copied().unwrap_or(0.0)
    }
}

/// The expected number of throws of a die to reach or pass the last of so many steps, as it is on long routes: `2n/(f+1) + 2(f-1)/(3(f+1))`.
///
/// The renewal theorem with its second term: the expected number tends to `n/m + (s - m)/(2m^2)`, where `m` is the mean of a
/// throw and `s` the mean of its square (W. Feller, An Introduction to Probability Theory and Its Applications, vol. 1, ch. XIII). An
/// approximation: for short routes and with fermatas that hold, [`Chances`] has the exact number.
#[allow(clippy::cast_precision_loss, reason = "an approximation")]
pub fn throws_by_renewal(steps: u64, faces: u8) -> f64 {
    let faces = f64::from(faces);
    2.0 * steps as f64 / (faces + 1.0) + 2.0 * (faces - 1.0) / (3.0 * (faces + 1.0))
}

/// Sums over as many neighbours as the die has faces, without a subtraction, so that nothing is lost by rounding: the positions are divided
/// into blocks of that many, and every sum is the end of one block and the beginning of the next.
struct Sums {
    faces: usize,
    /// For each position the sum from the beginning of its block to it, and from it to the end of its block.
    upto: Vec<f64>,
    from: Vec<f64>,
}

impl Sums {
    fn new(faces: usize, places: usize) -> Sums {
        Sums {
            faces,
            upto: vec![0.0; places],
            from: vec![0.0; places],
        }
    }

    /// Sums up what stands from `first` to `last`; before `first` nothing does.
    fn over(&mut self, values: &[f64], first: usize, last: usize) {
        let begin = first - first % self.faces;
        let end = (last - last % self.faces + self.faces).min(values.len());
        let value = |at: usize| {
            if at < first { 0.0 } else { get(values, at) }
        };
        let mut sum = 0.0;
        for at in begin..end {
            sum = if at % self.faces == 0 { 0.0 } else { sum } + value(at);
            set(&mut self.upto, at, sum);
        }
        sum = 0.0;
        for at in (begin..end).rev() {
            sum = if at % self.faces == self.faces - 1 {
                0.0
            } else {
                sum
            } + value(at);
            set(&mut self.from, at, sum);
        }
        // The block before is empty.
        for at in begin.saturating_sub(self.faces)..begin {
            set(&mut self.from, at, 0.0);
        }
    }

    /// The sum over the positions from which a throw can lead to this one.
    fn before(&self, to: usize) -> f64 {
        let last = to - 1;
        match to.checked_sub(self.faces) {
            None => get(&self.upto, last),
            Some(first) if first % self.faces == 0 => get(&self.upto, last),
            Some(first) => get(&self.from, first) + get(&self.upto, last),
        }
    }
}

fn get(list: &[f64], at: usize) -> f64 {
    list.get(at).copied().unwrap_or(0.0)
}

fn set(list: &mut [f64], at: usize, value: f64) {
    if let Some(slot) = list.get_mut(at) {
        *slot = value;
    }
}

fn add(list: &mut [f64], at: usize, value: f64) {
    if let Some(slot) = list.get_mut(at) {
        *slot += value;
    }
}
