//! What is wished of a board, and why a wish cannot be met.

use super::concept::Concept;
use super::level::Levels;
use crate::answer::Misunderstanding;

/// The most measures of a board that is dealt.
pub const MOST_MEASURES_DEALT: u16 = 512;

/// What is wished of a board.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Wish {
    /// How many measures it has, exactly; at most [`MOST_MEASURES_DEALT`].
    pub measures: u16,
    /// The concepts that it must show, all of them.
    pub concepts: Vec<Concept>,
    /// The level it is for: it shows some of what is new there, some of what is known before, and nothing else. With `concepts` those are shown,
    /// and what is known at the level may stand beside them.
    pub level: Option<u8>,
    /// The misunderstanding that it must tell apart from the right reading.
    pub aim: Option<Misunderstanding>,
    /// The levels that are meant.
    pub levels: Levels,
}

impl Wish {
    /// A board of so many measures for a level of the built-in ones.
    pub fn level(measures: u16, level: u8) -> Wish {
        Wish {
            level: Some(level),
            ..Wish::concepts(measures, [])
        }
    }

    /// A board of so many measures that shows these concepts and, as far as these allow it, no others.
    pub fn concepts(measures: u16, concepts: impl IntoIterator<Item = Concept>) -> Wish {
        Wish {
            measures,
            concepts: concepts.into_iter().collect(),
            level: None,
            aim: None,
            levels: Levels::built_in(),
        }
    }
}

/// Why no board can be dealt.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Impossible {
    /// Neither a concept nor a level is wished for.
    #[error("say what the board is to teach: a level, concepts, or a misunderstanding to aim at")]
    NothingAsked,
    /// The board is too small.
    #[error("{} too few for {}: at least {needed} are needed", are(*.measures, "measure"), listed(.concepts))]
    TooFewMeasures {
        /// How many were asked for.
        measures: u16,
        /// How many are needed at least.
        needed: u16,
        /// The concepts; those of the level that needs the fewest measures, when a level was asked for.
        concepts: Vec<Concept>,
    },
    /// The board is too large.
    #[error("{measures} measures are too many: boards of up to {MOST_MEASURES_DEALT} are dealt")]
    TooManyMeasures {
        /// How many were asked for.
        measures: u16,
    },
    /// A level that there is not.
    #[error("there is no level {level}; the levels are {}", numbers(.levels))]
    NoSuchLevel {
        /// The level asked for.
        level: u8,
        /// Those that there are.
        levels: Vec<u8>,
    },
    /// A concept that is not known at the level asked for.
    #[error("{} is not taught at level {level} or before{}", .concept.words(), taught(*.taught_at))]
    BeyondLevel {
        /// The concept.
        concept: Concept,
        /// The level asked for.
        level: u8,
        /// The level at which it is taught.
        taught_at: Option<u8>,
    },
    /// Concepts that no board dealt shows together.
    #[error("{} do not go together on one board: {because}", listed(.concepts))]
    Excluding {
        /// The concepts that exclude each other.
        concepts: Vec<Concept>,
        /// Why.
        because: Exclusion,
    },
    /// A misunderstanding that no board of the level tells apart.
    #[error(
        "no board of level {level} tells `{aim}` apart from the right reading{}", from_level(*.from)
    )]
    AimBeyondLevel {
        /// The misunderstanding.
        aim: Misunderstanding,
        /// The level asked for.
        level: u8,
        /// The first level of which a board can.
        from: Option<u8>,
    },
    /// A board on which what is aimed at has no room.
    #[error(
        "on {} no board was found that tells `{aim}` apart; on {needed} there is one",
        counted(*.measures, "measure")
    )]
    TooFewForAim {
        /// How many were asked for.
        measures: u16,
        /// The misunderstanding.
        aim: Misunderstanding,
        /// On how many measures one was found.
        needed: u16,
    },
    /// A misunderstanding that shows with none of the concepts asked for, nor with one that goes with them.
    #[error("with these concepts no board tells `{aim}` apart; it shows with {}", either(.shown_by))]
    AimExcluded {
        /// The misunderstanding.
        aim: Misunderstanding,
        /// The sets of concepts it shows with, any one of which is enough.
        shown_by: Vec<Vec<Concept>>,
    },
    /// Fewer boards than the concepts need that exclude each other.
    #[error(
        "{} too few to show all that is asked for: at least {needed} are needed",
        are(*.count as u64, "board")
    )]
    TooFewBoards {
        /// How many were asked for.
        count: usize,
        /// How many are needed.
        needed: usize,
    },
    /// More boards than are dealt at once.
    #[error(
        "{count} boards are too many: up to {} are dealt at once",
        super::practice::MOST_BOARDS
    )]
    TooManyBoards {
        /// How many were asked for.
        count: usize,
    },
    /// There are not so many different boards.
    #[error("only {} found; more measures give more", if *.found == 1 { "1 board was".to_owned() } else { format!("{} different boards were", .found) })]
    TooFewDifferent {
        /// How many were found.
        found: usize,
    },
    /// Nothing stands in the way that is known, and yet no board was found.
    #[error("no such board was found in {tries} tries; another seed or more measures may give one")]
    NotFound {
        /// How many boards were tried.
        tries: u32,
    },
}

/// Why concepts exclude each other on the boards that are dealt.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Exclusion {
    /// Each is a D.C. or D.S., and a board dealt has one, or a bare D.S. and a bare D.C.
    #[error(
        "each is a D.C. or D.S., and a board that is dealt has one of them, or `dal-segno` and `da-capo`"
    )]
    OneReturn,
    /// One leaves the repeats out, the other makes them.
    #[error("the repeats of a return are either left out or made again")]
    LeftOutOrAgain,
    /// The return comes over the repeat, and nothing says whether it is made again.
    #[error(
        "the return comes over the repeat, and readers differ on whether it is made again; add `repeats-left-out-on-the-return` or `repeats-again-on-the-return`"
    )]
    RepeatOnReturn,
}

/// What excludes concepts from standing on one board.
pub(super) fn excluded(concepts: &[Concept]) -> Option<Impossible> {
    let has = |concept| concepts.contains(&concept);
    let refuse = |concepts: &[Concept], because| {
        Some(Impossible::Excluding {
            concepts: concepts.to_vec(),
            because,
        })
    };
    let returns: Vec<Concept> = concepts
        .iter()
        .copied()
        .filter(|it| it.is_return())
        .collect();
    match *returns.as_slice() {
        [_, _] if two_returns(&returns) => {}
        [one, other, ..] => return refuse(&[one, other], Exclusion::OneReturn),
        _ => {}
    }
    let words = [Concept::RepeatsLeftOut, Concept::RepeatsAgain];
    if words.into_iter().all(has) {
        return refuse(&words, Exclusion::LeftOutOrAgain);
    }
    let back = match *returns.as_slice() {
        // Of the two the D.C. comes over more.
        [_, _] => Concept::DaCapo,
        [back] => back,
        _ => return None,
    };
    if words.into_iter().any(has) {
        return None;
    }
    // What the road comes over again from the beginning: all of it, or the beginning at least.
    let over = |concept: &Concept| match back {
        Concept::DaCapo => concept.needs_repeat(),
        Concept::DaCapoAlFine | Concept::DaCapoAlCoda => *concept == Concept::RepeatFromBeginning,
        _ => false,
    };
    let repeat = concepts.iter().copied().find(over)?;
    refuse(&[repeat, back], Exclusion::RepeatOnReturn)
}

/// Whether both a D.C. and a D.S. are among these, each to the written end: the one pair of returns that a board dealt can have.
pub(super) fn two_returns(concepts: &[Concept]) -> bool {
    [Concept::DaCapo, Concept::DalSegno]
        .iter()
        .all(|it| concepts.contains(it))
}

fn from_level(level: Option<u8>) -> String {
    level.map_or_else(
        || ", nor one of these levels".to_owned(),
        |level| format!("; from level {level} on one can"),
    )
}

fn either(sets: &[Vec<Concept>]) -> String {
    let names = sets.iter().map(|set| {
        let names: Vec<&str> = set.iter().map(|concept| concept.name()).collect();
        names.join(" and ")
    });
    names.collect::<Vec<_>>().join(", ")
}

/// `1 measure`, `2 measures`.
fn counted(number: impl Into<u64>, word: &str) -> String {
    match number.into() {
        1 => format!("1 {word}"),
        number => format!("{number} {word}s"),
    }
}

/// `1 measure is`, `2 measures are`.
fn are(number: impl Into<u64>, word: &str) -> String {
    let number = number.into();
    let are = if number == 1 { "is" } else { "are" };
    format!("{} {are}", counted(number, word))
}

fn listed(concepts: &[Concept]) -> String {
    let words: Vec<&str> = concepts.iter().map(|concept| concept.words()).collect();
    match words.as_slice() {
        [] => "this".to_owned(),
        [one] => (*one).to_owned(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

fn numbers(levels: &[u8]) -> String {
    let numbers: Vec<String> = levels.iter().map(u8::to_string).collect();
    numbers.join(", ")
}

fn taught(level: Option<u8>) -> String {
    level.map_or_else(
        || ", and at no other level of these".to_owned(),
        |level| format!(" but at level {level}"),
    )
}
