//! Practice sets: boards that rise in difficulty and together show every concept asked for.

use super::concept::Concept;
use super::difficulty::{Difficulty, difficulty};
use super::structure::structure;
use super::wish::{Impossible, Wish, excluded, two_returns};
use super::{Dealt, deal};
use crate::chance::Chance;

/// The most boards of a set.
pub const MOST_BOARDS: usize = 200;
/// What chance is used for here.
const CHOOSING: u64 = 2;
/// How many seeds are tried for a board that differs from the others.
const MOST_SEEDS: usize = 60;

/// A practice set.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Practice {
    /// The boards, the easiest first.
    pub boards: Vec<PracticeBoard>,
    /// The concepts that the set was asked to show; each is on a board of it.
    pub concepts: Vec<Concept>,
    /// The seed that gives the set again.
    pub seed: u64,
}

/// A board of a practice set.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct PracticeBoard {
    /// The board, with the seed that gives it again by `wish`.
    pub dealt: Dealt,
    /// What was wished of it.
    pub wish: Wish,
    /// How hard it is.
    pub difficulty: Difficulty,
}

/// Deals a practice set of so many boards, each on as many measures as the wish says.
///
/// The concepts of the wish, or of its level all that are new there, are spread over the boards: what excludes each other is shown on
/// different ones. No two boards are equal, and as far as chance finds them, no two have the same signs in the same order. They stand in the order of their
/// [difficulty](Difficulty). Each board is proved as [`deal`] does.
///
/// ```
/// use fingerpost::{Wish, practice};
/// let set = practice(&Wish::level(16, 3), 6, 7)?;
/// assert_eq!(set.boards.len(), 6);
/// assert!(set.boards.windows(2).all(|two| two[0].difficulty.score <= two[1].difficulty.score));
/// # Ok::<(), fingerpost::Impossible>(())
/// ```
///
/// # Errors
/// As [`deal`]; and when there are too few boards for the concepts, or not so many different ones.
pub fn practice(wish: &Wish, count: usize, seed: u64) -> Result<Practice, Impossible> {
    if count > MOST_BOARDS {
        return Err(Impossible::TooManyBoards { count });
    }
    let concepts = covered(wish);
    let groups = groups(wish, &concepts)?;
    if count < groups.len() || count == 0 {
        return Err(Impossible::TooFewBoards {
            count,
            needed: groups.len().max(1),
        });
    }
    let mut chance = Chance::new(seed, CHOOSING);
    let mut boards: Vec<PracticeBoard> = Vec::with_capacity(count);
    for number in 0..count {
        let group = groups
            .get(number % groups.len().max(1))
            .cloned()
            .unwrap_or_default();
        // Each group is shown once; after that, boards of a level are what chance makes of it.
        let concepts = if number < groups.len() || wish.level.is_none() {
            group
        } else if wish.concepts.is_empty() {
            Vec::new()
        } else {
            chance.one(&group).into_iter().collect()
        };
        let one = Wish {
            concepts,
            ..wish.clone()
        };
        let board = another(&one, &boards, &mut chance)?;
        boards.push(board);
    }
    boards.sort_by_key(|it| it.difficulty.score);
    Ok(Practice {
        boards,
        concepts,
        seed,
    })
}

/// The concepts that a set must show.
fn covered(wish: &Wish) -> Vec<Concept> {
    let level = wish.level.and_then(|number| wish.levels.get(number));
    let mut concepts = match level {
        Some(level) if wish.concepts.is_empty() => level.teaches.clone(),
        _ => wish.concepts.clone(),
    };
    concepts.sort_unstable();
    concepts.dedup();
    concepts
}

/// Concepts that go together, and on a board of that size: as few groups as come of putting each concept to the first that takes it.
fn groups(wish: &Wish, concepts: &[Concept]) -> Result<Vec<Vec<Concept>>, Impossible> {
    let mut groups: Vec<Vec<Concept>> = Vec::new();
    for &concept in concepts {
        let alone = Wish {
            concepts: vec![concept],
            ..wish.clone()
        };
        deal(&alone, 0)?;
        let takes = |group: &&mut Vec<Concept>| {
            let joined = [group.as_slice(), &[concept]].concat();
            // A board that shows more than four new things at once is no practice.
            if joined.len() > 4 || excluded(&joined).is_some() || two_returns(&joined) {
                return false;
            }
            let wish = Wish {
                concepts: joined,
                ..wish.clone()
            };
            deal(&wish, 0).is_ok()
        };
        match groups.iter_mut().find(takes) {
            Some(group) => group.push(concept),
            None => groups.push(vec![concept]),
        }
    }
    if groups.is_empty() {
        groups.push(Vec::new());
    }
    Ok(groups)
}

/// A board that is not among those that there are.
fn another(
    wish: &Wish,
    boards: &[PracticeBoard],
    chance: &mut Chance,
) -> Result<PracticeBoard, Impossible> {
    let mut second_best = None;
    for _ in 0..MOST_SEEDS {
        // A seed that is short enough to be typed.
        let dealt = deal(wish, chance.below(1_000_000_000))?;
        let same = |other: &PracticeBoard| other.dealt.board.markings() == dealt.board.markings();
        if boards.iter().any(same) {
            continue;
        }
        let like = |other: &PracticeBoard| structure(&other.dealt.board) == structure(&dealt.board);
        if !boards.iter().any(like) {
            return Ok(graded(wish, dealt));
        }
        second_best.get_or_insert(dealt);
    }
    let dealt = second_best.ok_or(Impossible::TooFewDifferent {
        found: boards.len(),
    })?;
    Ok(graded(wish, dealt))
}

fn graded(wish: &Wish, dealt: Dealt) -> PracticeBoard {
    PracticeBoard {
        difficulty: difficulty(&dealt.board, &dealt.roadmap, &wish.levels),
        wish: wish.clone(),
        dealt,
    }
}
