//! Which misunderstandings a board tells apart from the right reading, and with which concepts it can.

use super::concept::Concept;
use crate::answer::Misunderstanding as Idea;
use crate::answer::learner::{Changes, Course, Hands, Walk};
use crate::board::Board;
use crate::roadmap::Terms;
use crate::route::Octaves;

/// The most steps of a right order that are held against wrong ones. Beyond, a difference is not looked for.
const MOST_STEPS: usize = 10_000;

/// The misunderstandings that give another answer than the right one on a board without errors: another order, or for those of octaves
/// another octave. Of landings that are one off it is enough that one of the two, late or early, does.
///
/// A learner with any other misunderstanding answers rightly here: about it, the board says nothing. Nothing is told apart on a board that has
/// errors.
///
/// ```
/// use fingerpost::{Board, Misunderstanding, told_apart};
/// let board: Board = "1 | 2 :| 3 |]".parse()?;
/// let told = told_apart(&board);
/// assert!(told.contains(&Misunderstanding::RepeatIgnored));
/// // The repeat begins at measure 1: who always goes back there is right.
/// assert!(!told.contains(&Misunderstanding::BackToTheBeginning));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn told_apart(board: &Board) -> Vec<Idea> {
    let Some(right) = Right::of(board) else {
        return Vec::new();
    };
    let mut walk = Walk::new(&right.course);
    let mut told: Vec<Idea> = Vec::new();
    for (idea, changes) in Changes::singles() {
        if told.last() != Some(&idea) && right.differs(&mut walk, idea, changes) {
            told.push(idea);
        }
    }
    told
}

/// Whether a board without errors tells this misunderstanding apart.
pub(super) fn tells_apart(board: &Board, idea: Idea) -> bool {
    let Some(right) = Right::of(board) else {
        return false;
    };
    let mut walk = Walk::new(&right.course);
    let mut these = Changes::singles().filter(|(it, _)| *it == idea);
    these.any(|(_, changes)| right.differs(&mut walk, idea, changes))
}

/// The right answer.
struct Right {
    course: Course,
    steps: Vec<(u16, Octaves)>,
}

impl Right {
    /// The right answer of a board; `None` when it has errors.
    fn of(board: &Board) -> Option<Right> {
        let terms = Terms {
            open_plays: Some(2),
            ..Terms::default()
        };
        let roadmap = crate::Roadmap::new(board, &terms).ok()?;
        let steps = roadmap.steps().take(MOST_STEPS);
        Some(Right {
            steps: steps.map(|step| (step.measure, step.octave)).collect(),
            course: Course::new(board, &terms),
        })
    }

    /// Whether the walk under changed rules gives another answer.
    fn differs(&self, walk: &mut Walk<'_>, idea: Idea, changes: Changes) -> bool {
        walk.restart(changes);
        let mut hands = Hands::default();
        for &(measure, octave) in &self.steps {
            let Some(stand) = walk.next() else {
                return true;
            };
            if self.course.measure(stand.part) != measure {
                return true;
            }
            if idea.is_of_octaves() && hands.at(&self.course, changes, stand) != octave {
                return true;
            }
        }
        self.steps.len() < MOST_STEPS && walk.next().is_some()
    }
}

/// What lets a dealt board tell a misunderstanding apart: sets of concepts any one of which is enough, in the order of teaching.
pub(super) fn shown_by(idea: Idea) -> Vec<Vec<Concept>> {
    // The segno alone would be a sign too many: the D.S. goes to it.
    if idea == Idea::DaCapoAsDalSegno {
        return vec![vec![Concept::DaCapo, Concept::DalSegno]];
    }
    let alone = alone(idea).into_iter();
    alone.map(|concept| vec![concept]).collect()
}

/// The concepts any one of which is enough alone.
fn alone(idea: Idea) -> Vec<Concept> {
    let all = Concept::ALL.iter().copied();
    match idea {
        Idea::RepeatIgnored | Idea::RepeatOnceTooOften => vec![
            Concept::RepeatFromBeginning,
            Concept::StartAndEndRepeat,
            Concept::TwoRepeats,
            Concept::TwoEndings,
            Concept::PlaysTimes,
            Concept::MoreEndings,
        ],
        Idea::TooFewTimes => vec![Concept::PlaysTimes, Concept::MoreEndings],
        Idea::BackToTheBeginning | Idea::StartRepeatGoesBack => {
            vec![Concept::StartAndEndRepeat, Concept::TwoRepeats]
        }
        Idea::FirstEndingAgain | Idea::SecondEndingAtOnce | Idea::EndingsInARow => {
            vec![Concept::TwoEndings, Concept::MoreEndings]
        }
        Idea::JumpIgnored | Idea::StopsAtJump => all.filter(|it| it.is_return()).collect(),
        Idea::DalSegnoAsDaCapo => vec![
            Concept::DalSegno,
            Concept::DalSegnoAlFine,
            Concept::DalSegnoAlCoda,
        ],
        Idea::FineOnTheFirstLeg | Idea::FineIgnored => {
            vec![Concept::DaCapoAlFine, Concept::DalSegnoAlFine]
        }
        Idea::ToCodaOnTheFirstLeg | Idea::ToCodaIgnored | Idea::StraightToCoda => {
            vec![Concept::DaCapoAlCoda, Concept::DalSegnoAlCoda]
        }
        Idea::RepeatsAfterJump => vec![Concept::RepeatsLeftOut],
        Idea::RepeatsLeftOut => vec![Concept::RepeatsAgain],
        Idea::JumpForEver => vec![Concept::DaCapo, Concept::DalSegno],
        Idea::LandingOneOff => vec![
            Concept::RepeatFromBeginning,
            Concept::StartAndEndRepeat,
            Concept::TwoRepeats,
            Concept::TwoEndings,
            Concept::PlaysTimes,
            Concept::DaCapo,
            Concept::DaCapoAlFine,
            Concept::DalSegno,
            Concept::DalSegnoAlFine,
            Concept::DaCapoAlCoda,
            Concept::DalSegnoAlCoda,
            Concept::MoreEndings,
        ],
        Idea::OctaveAtTheWrongTime => vec![Concept::OctaveOnRepeat, Concept::OctaveOnReturn],
        Idea::OctaveNeverUndone | Idea::OctaveInTheWrongHand => vec![
            Concept::OctaveSign,
            Concept::OctaveOnRepeat,
            Concept::OctaveOnReturn,
        ],
        Idea::DaCapoAsDalSegno => Vec::new(),
    }
}
