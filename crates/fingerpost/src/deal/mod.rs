//! Boards made for teaching: dealt from a seed, graded, and put together to practice sets; and signs of the hand laid in every legal way.

mod concept;
mod difficulty;
mod hand;
mod lay;
mod level;
mod plan;
mod practice;
mod proof;
mod structure;
mod telling;
mod wish;

use crate::answer::Misunderstanding;
use crate::board::Board;
use crate::chance::Chance;
use crate::roadmap::Roadmap;

pub use concept::{Concept, UnknownConcept, concepts};
pub use difficulty::{Difficulty, MOST_MOVES, difficulty};
pub use hand::{
    HandPlaced, HandRefused, MOST_MEASURES_FOR_HAND, MOST_SHOWN, MOST_SIGNS_IN_HAND, place_hand,
};
pub use level::{LARGEST_LEVELS, Level, Levels, LevelsError, LevelsFile, MOST_LEVELS};
pub use practice::{MOST_BOARDS, Practice, PracticeBoard, practice};
pub use structure::structure;
pub use telling::told_apart;
pub use wish::{Exclusion, Impossible, MOST_MEASURES_DEALT, Wish};

use plan::Plan;
use proof::Proved;
use wish::{excluded, two_returns};

/// What chance is used for here; another number gives other boards.
const DEALING: u64 = 1;
/// How many plans are tried for one board.
const MOST_TRIES: u32 = 400;
/// How many measures more are tried where a board is too small for what is aimed at.
const MOST_MORE: u16 = 8;
/// How many tight plans are looked at to know how many measures are needed.
const MOST_TIGHT: u32 = 200;

/// A board that has been dealt.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Dealt {
    /// The board.
    pub board: Board,
    /// Its route.
    pub roadmap: Roadmap,
    /// The concepts that it shows, in the order of teaching.
    pub concepts: Vec<Concept>,
    /// The seed that gives it again.
    pub seed: u64,
}

/// Deals a board.
///
/// The board has no error and no warning, no question of the reading changes its route, every measure is played, and it has no sign too
/// many: without any one of them the route would be another, or the board no longer in order. All this is proved of each board before it is
/// given. The same wish and seed give the same board on every platform.
///
/// ```
/// use fingerpost::{Concept, Wish, check, deal};
/// let dealt = deal(&Wish::level(16, 3), 7)?;
/// assert_eq!(dealt.board.measures(), 16);
/// assert!(check(&dealt.board).is_empty());
/// let wish = Wish::concepts(8, [Concept::TwoEndings, Concept::Fermata]);
/// assert!(deal(&wish, 1)?.concepts.contains(&Concept::Fermata));
/// # Ok::<(), fingerpost::Impossible>(())
/// ```
///
/// # Errors
/// Why no board meets the wish: too few measures (and how many are needed), concepts that exclude each other, concepts beyond the level,
/// a misunderstanding that no such board tells apart.
pub fn deal(wish: &Wish, seed: u64) -> Result<Dealt, Impossible> {
    let asked = Asked::of(wish)?;
    match dealt(&asked, seed) {
        Err(Impossible::NotFound { tries }) => match (wish.aim, on_more(wish, seed)) {
            (Some(aim), Some(needed)) => Err(Impossible::TooFewForAim {
                measures: wish.measures,
                aim,
                needed,
            }),
            _ => Err(Impossible::NotFound { tries }),
        },
        dealt => dealt,
    }
}

/// On how many measures more a board is found for a wish that aims at a misunderstanding: some show it only where there is room for it.
fn on_more(wish: &Wish, seed: u64) -> Option<u16> {
    let mut larger = wish.clone();
    let sizes = wish.measures.saturating_add(1)..=wish.measures.saturating_add(MOST_MORE);
    let mut sizes = sizes.filter(|&measures| {
        larger.measures = measures;
        Asked::of(&larger)
            .and_then(|asked| dealt(&asked, seed))
            .is_ok()
    });
    wish.aim.and_then(|_| sizes.next())
}

fn dealt(asked: &Asked<'_>, seed: u64) -> Result<Dealt, Impossible> {
    let mut chance = Chance::new(seed, DEALING);
    for number in 0..MOST_TRIES {
        if let Some((board, roadmap, concepts)) = asked.tried(number, &mut chance) {
            return Ok(Dealt {
                board,
                roadmap,
                concepts,
                seed,
            });
        }
        // Only where chance finds nothing is it asked whether there is anything.
        if number == MOST_TRIES / 8 {
            asked.large_enough()?;
        }
    }
    Err(Impossible::NotFound { tries: MOST_TRIES })
}

/// A wish that has been looked through.
struct Asked<'w> {
    wish: &'w Wish,
    /// What is new at the level, when one is asked for.
    new: Vec<Concept>,
    /// What is known there.
    known: Vec<Concept>,
    /// How many of each a board shows.
    counts: [(u8, u8); 2],
    /// The sets of concepts one of which the board needs for the misunderstanding that is aimed at; none when it shows with those wished for.
    aims: Vec<Vec<Concept>>,
}

impl<'w> Asked<'w> {
    fn of(wish: &'w Wish) -> Result<Asked<'w>, Impossible> {
        let measures = wish.measures;
        if measures > MOST_MEASURES_DEALT {
            return Err(Impossible::TooManyMeasures { measures });
        }
        let mut asked = Asked {
            wish,
            new: Vec::new(),
            known: Vec::new(),
            counts: [(0, 0); 2],
            aims: Vec::new(),
        };
        if let Some(number) = wish.level {
            let levels = &wish.levels;
            let Some(level) = levels.get(number) else {
                return Err(Impossible::NoSuchLevel {
                    level: number,
                    levels: levels.list().iter().map(|level| level.level).collect(),
                });
            };
            asked.new.clone_from(&level.teaches);
            asked.known = levels.known_before(number);
            asked.counts = [level.new, level.known];
            let beyond = |it: &&Concept| !asked.new.contains(it) && !asked.known.contains(it);
            if let Some(&concept) = wish.concepts.iter().find(beyond) {
                return Err(Impossible::BeyondLevel {
                    concept,
                    level: number,
                    taught_at: levels.taught_at(concept),
                });
            }
        } else if wish.concepts.is_empty() && wish.aim.is_none() {
            return Err(Impossible::NothingAsked);
        }
        if let Some(excluded) = excluded(&wish.concepts) {
            return Err(excluded);
        }
        if let Some(aim) = wish.aim {
            asked.aims = asked.concepts_for(aim)?;
        }
        Ok(asked)
    }

    /// The sets of concepts one of which must be added so that a misunderstanding shows.
    fn concepts_for(&self, aim: Misunderstanding) -> Result<Vec<Vec<Concept>>, Impossible> {
        let shown_by = telling::shown_by(aim);
        let wished = &self.wish.concepts;
        let all_in = |set: &Vec<Concept>, list: &[Concept]| set.iter().all(|it| list.contains(it));
        if shown_by.iter().any(|set| all_in(set, wished)) {
            return Ok(Vec::new());
        }
        let mut aims = shown_by.clone();
        if let Some(level) = self.wish.level {
            let allowed = self.allowed();
            aims.retain(|set| all_in(set, &allowed));
            if aims.is_empty() {
                let levels = &self.wish.levels;
                // A set is taught when the last of it is.
                let taught = |set: &Vec<Concept>| {
                    let each = set.iter().map(|&it| levels.taught_at(it));
                    each.collect::<Option<Vec<u8>>>()?.into_iter().max()
                };
                let from = shown_by.iter().filter_map(taught).min();
                return Err(Impossible::AimBeyondLevel { aim, level, from });
            }
        }
        for set in &mut aims {
            set.retain(|it| !wished.contains(it));
        }
        aims.retain(|set| excluded(&joined(wished, set)).is_none());
        if aims.is_empty() {
            return Err(Impossible::AimExcluded { aim, shown_by });
        }
        Ok(aims)
    }

    /// Refuses when no plan fits on so few measures.
    fn large_enough(&self) -> Result<(), Impossible> {
        let measures = self.wish.measures;
        let (needed, concepts) = self.least();
        if measures < needed {
            return Err(Impossible::TooFewMeasures {
                measures,
                needed,
                concepts,
            });
        }
        Ok(())
    }

    /// How many measures are needed at least, and for which concepts.
    fn least(&self) -> (u16, Vec<Concept>) {
        let wished = &self.wish.concepts;
        let sets: Vec<Vec<Concept>> = if !self.aims.is_empty() {
            let aims = self.aims.iter();
            aims.map(|set| joined(wished, set)).collect()
        } else if wished.is_empty() {
            self.new.iter().map(|&concept| vec![concept]).collect()
        } else {
            vec![wished.clone()]
        };
        let mut chance = Chance::new(0, DEALING);
        let allowed = self.allowed();
        let least = sets.into_iter().map(|concepts| {
            let plans = (0..MOST_TIGHT)
                .map(|_| Plan::by_chance(&concepts, &allowed, true, &mut chance).least());
            (plans.min().unwrap_or(1), concepts)
        });
        let least = least.min_by_key(|(least, _)| *least);
        least.unwrap_or_else(|| (1, Vec::new()))
    }

    /// The concepts that a board may show besides.
    fn allowed(&self) -> Vec<Concept> {
        [self.known.as_slice(), self.new.as_slice()].concat()
    }

    /// One plan laid and proved.
    fn tried(&self, number: u32, chance: &mut Chance) -> Option<(Board, Roadmap, Vec<Concept>)> {
        // The later the try, the less is asked beyond what must be.
        let modest = number >= MOST_TRIES / 16;
        let chosen = self.choose(modest, chance);
        let allowed = self.allowed();
        let plan = Plan::by_chance(&chosen, &allowed, modest, chance);
        if plan.least() > self.wish.measures {
            return None;
        }
        let board = lay::lay(&plan, self.wish.measures, self.wish.level, chance)?;
        let Proved { roadmap, concepts } = proof::prove(&board).ok()?;
        let shown = chosen.iter().all(|it| concepts.contains(it));
        let within = self.wish.level.is_none() || concepts.iter().all(|it| allowed.contains(it));
        let tells = |aim| telling::tells_apart(&board, aim);
        let fits = shown && within && self.wish.aim.is_none_or(tells);
        fits.then_some((board, roadmap, concepts))
    }

    /// The concepts of one plan: those wished for, else some of the level's own; and some that are known.
    fn choose(&self, modest: bool, chance: &mut Chance) -> Vec<Concept> {
        let mut chosen = self.wish.concepts.clone();
        let aim = chance.index(self.aims.len());
        chosen.extend(self.aims.get(aim).into_iter().flatten());
        if self.wish.level.is_none() {
            return chosen;
        }
        let [new, known] = self.counts;
        if chosen.is_empty() {
            add_some(&mut chosen, &self.new, new, modest, chance);
        }
        add_some(&mut chosen, &self.known, known, modest, chance);
        chosen.sort_unstable();
        chosen
    }
}

fn joined(one: &[Concept], other: &[Concept]) -> Vec<Concept> {
    [one, other].concat()
}

/// Adds some of a list, as many as a range says, that do not exclude each other.
fn add_some(
    chosen: &mut Vec<Concept>,
    list: &[Concept],
    (from, to): (u8, u8),
    modest: bool,
    chance: &mut Chance,
) {
    let from = if modest { from.min(1) } else { from };
    let to = if modest { from } else { to };
    let count = from + u8::try_from(chance.below(u64::from(to - from) + 1)).unwrap_or(0);
    let mut order = list.to_vec();
    chance.shuffle(&mut order);
    // With a bare D.C. no repeat can stand, so that such boards are all much alike: it comes half as often.
    if order.first() == Some(&Concept::DaCapo) && chance.happens(1, 2) {
        order.rotate_left(1);
    }
    let mut left = count;
    for concept in order {
        if left == 0 {
            break;
        }
        if chosen.contains(&concept) {
            continue;
        }
        chosen.push(concept);
        if excluded(chosen).is_some() || two_returns(chosen) {
            chosen.pop();
        } else {
            left -= 1;
        }
    }
}
