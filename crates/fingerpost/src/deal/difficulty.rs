//! How hard a board is, with the parts of which that is made up.

use super::concept::{Concept, concepts};
use super::level::Levels;
use super::telling::{shown_by, told_apart};
use crate::answer::Misunderstanding;
use crate::board::Board;
use crate::roadmap::Roadmap;
use crate::route::Cause;

/// How hard a board is. The parts are counted; that they are added up as they are is a ruling of ours, good for putting boards in an order
/// and for nothing else.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub struct Difficulty {
    /// The sum: for each concept the number of its level, for each move 1, for the longest way jumped 1 for every four measures, for each
    /// misunderstanding told apart 1.
    pub score: u32,
    /// The concepts on the board, each with the level that teaches it.
    pub concepts: Vec<(Concept, u8)>,
    /// How often the road does not simply go on: repeats made, endings passed over, returns, ways to the coda. At most [`MOST_MOVES`].
    pub moves: u32,
    /// Over how many measures the longest of these moves goes.
    pub longest_jump: u16,
    /// The misunderstandings that give another answer here.
    pub told_apart: Vec<Misunderstanding>,
    /// Those that give the right answer although signs of their kind are on the board: the board teaches nothing about them.
    pub not_told_apart: Vec<Misunderstanding>,
}

/// The most moves that are counted.
pub const MOST_MOVES: u32 = 100_000;

/// How hard a board is, by the levels given.
///
/// ```
/// use fingerpost::{Board, Levels, Roadmap, Terms, difficulty};
/// let board: Board = "segno 1 | 2 Fine | 3 D.S. al Fine |]".parse()?;
/// let hard = difficulty(&board, &Roadmap::new(&board, &Terms::default())?, &Levels::built_in());
/// assert_eq!((hard.moves, hard.longest_jump), (1, 2));
/// // The segno stands at measure 1: whoever reads the D.S. as a D.C. is right here.
/// assert!(hard.not_told_apart.iter().any(|it| it.name() == "dal-segno-as-da-capo"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn difficulty(board: &Board, roadmap: &Roadmap, levels: &Levels) -> Difficulty {
    let shown = concepts(board);
    let graded = shown
        .iter()
        .map(|&it| (it, levels.taught_at(it).unwrap_or(0)));
    let graded: Vec<(Concept, u8)> = graded.collect();
    let (mut moves, mut longest_jump) = (0, 0);
    let mut before: Option<u16> = None;
    for run in roadmap.runs() {
        if !matches!(run.cause, Cause::Start | Cause::On) {
            moves += 1;
            if let Some(from) = before {
                longest_jump = longest_jump.max(run.from.abs_diff(from));
            }
        }
        before = Some(run.to);
        if moves >= MOST_MOVES {
            break;
        }
    }
    let told = told_apart(board);
    let silent = |idea: &Misunderstanding| {
        !told.contains(idea)
            && shown_by(*idea)
                .iter()
                .any(|set| set.iter().all(|concept| shown.contains(concept)))
    };
    let not_told_apart = Misunderstanding::ALL.into_iter().filter(silent).collect();
    let count = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    let levels: u32 = graded.iter().map(|(_, level)| u32::from(*level)).sum();
    let score = levels + moves + u32::from(longest_jump) / 4 + count(told.len());
    Difficulty {
        score,
        concepts: graded,
        moves,
        longest_jump,
        told_apart: told,
        not_told_apart,
    }
}
