//! Settled or not: the routes that the readings of one board give, side by side. Rulebook 6.9.

use crate::board::Board;
use crate::legality::Finding;
use crate::reading::{Arming, Question, Reading};
use crate::roadmap::laid::Laid;
use crate::roadmap::row::{PartIndex, Row};
use crate::roadmap::sections::Sections;
use crate::roadmap::{Refusal, Roadmap, Terms};
use crate::route::Step;

/// The most steps that are compared one by one. Two routes of one length that are alike so far and were not compiled alike are taken
/// to differ, without a place where they part.
const MOST_COMPARED: u64 = 1_000_000;

/// What the readings make of a board.
#[derive(Clone, Debug)]
pub struct Comparison {
    /// The different routes, that of the terms asked for first.
    pub routes: Vec<Alternative>,
    /// The questions whose answer changes the route, while the others keep some answer.
    pub questions: Vec<Question>,
    /// The readings under which the board would have errors; they give no route.
    pub left_out: Vec<LeftOut>,
}

/// One of the routes.
#[derive(Clone, Debug)]
pub struct Alternative {
    /// The readings that give it, as far as the questions that can matter on this board differ: one reading for each combination of their
    /// answers.
    pub readings: Vec<Reading>,
    /// The route.
    pub roadmap: Roadmap,
    /// The index of the first step at which it parts from the first route; absent for the first route, and where the routes are too long to
    /// be compared step by step.
    pub parts_at: Option<u64>,
}

/// A reading that gives no route.
#[derive(Clone, Debug)]
pub struct LeftOut {
    /// The reading.
    pub reading: Reading,
    /// The errors the board would have under it.
    pub errors: Vec<Finding>,
}

impl Comparison {
    /// Whether every reading under which the board has no errors gives the same route.
    pub fn settled(&self) -> bool {
        self.routes.len() == 1
    }
}

/// Compares the routes that a board has under every reading.
///
/// Only the questions that can matter are varied; the board's own answers stand. What a route sounds like is compared: its measures (and
/// parts), the octave of each hand, the hands that play and hold.
///
/// ```
/// use fingerpost::{Board, Question, Terms, compare};
/// let board: Board = "|: 1 | 2 :| 3 D.C. |".parse()?;
/// let comparison = compare(&board, &Terms::default())?;
/// assert!(!comparison.settled());
/// assert_eq!(comparison.questions, [Question::RepeatsOnReturn]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// As [`Roadmap::new`] on these terms.
pub fn compare(board: &Board, terms: &Terms) -> Result<Comparison, Refusal> {
    let asked = Roadmap::new(board, terms)?;
    let questions = questions_that_can_matter(board);
    let reading = asked.reading();
    let mut routes = vec![Alternative {
        readings: vec![reading],
        roadmap: asked,
        parts_at: None,
    }];
    let mut left_out: Vec<LeftOut> = Vec::new();
    // Which route each reading gives, by its place in `routes`.
    let mut outcomes: Vec<(Reading, Option<usize>)> = vec![(reading, Some(0))];
    for varied in reading.varied(&questions) {
        if varied == reading {
            continue;
        }
        match Roadmap::under(
            board,
            &Terms {
                reading: varied,
                ..*terms
            },
        ) {
            Ok(roadmap) => {
                let same = routes
                    .iter()
                    .position(|other| same_route(&other.roadmap, &roadmap));
                if let Some(alternative) = same.and_then(|at| routes.get_mut(at)) {
                    alternative.readings.push(varied);
                } else {
                    let parts_at = routes
                        .first()
                        .and_then(|first| parting(&first.roadmap, &roadmap));
                    routes.push(Alternative {
                        readings: vec![varied],
                        roadmap,
                        parts_at,
                    });
                }
                outcomes.push((varied, Some(same.unwrap_or(routes.len() - 1))));
            }
            Err(Refusal::Errors(errors)) => {
                left_out.push(LeftOut {
                    reading: varied,
                    errors,
                });
                outcomes.push((varied, None));
            }
            Err(refusal @ Refusal::OpenPlays { .. }) => return Err(refusal),
        }
    }
    let questions = questions
        .into_iter()
        .filter(|&question| changes(question, &outcomes))
        .collect();
    Ok(Comparison {
        routes,
        questions,
        left_out,
    })
}

/// Whether two readings that differ in this question alone give different routes.
fn changes(question: Question, outcomes: &[(Reading, Option<usize>)]) -> bool {
    let route_of = |reading: Reading| {
        outcomes
            .iter()
            .find(|(other, _)| *other == reading)
            .and_then(|&(_, route)| route)
    };
    outcomes.iter().any(|&(reading, route)| {
        route.is_some()
            && reading
                .each_answer(question)
                .into_iter()
                .filter_map(route_of)
                .any(|other| Some(other) != route)
    })
}

/// The questions that the board leaves open and whose answer can make a difference: by the signs that are there. A question not among them never
/// changes the route.
pub(crate) fn questions_that_can_matter(board: &Board) -> Vec<Question> {
    let row = Row::new(board);
    questions_on(board, &Laid::new(board, &row), row.length())
}

/// The same of a board whose signs are laid on its row of so many parts.
pub(crate) fn questions_on(board: &Board, laid: &Laid, length: PartIndex) -> Vec<Question> {
    let own = board.reading();
    let base = own.over(Reading::default());
    let open = |question| !own.answers(question);
    // The two questions of where a section is are asked together: an answer to one can make the other matter.
    let mut asked = vec![Question::LoneEndRepeat, Question::Nested];
    asked.retain(|&question| open(question));
    let scanned: Vec<(Reading, Sections)> = base
        .varied(&asked)
        .into_iter()
        .map(|reading| (reading, Sections::new(laid, length, reading, 2)))
        .collect();
    // Mostly they are all the same.
    let mut neighbours = scanned.iter().zip(scanned.iter().skip(1));
    let differ = neighbours.any(|((_, one), (_, next))| !next.same_as(one));
    let matters = |&question: &Question| {
        differ
            && scanned.iter().any(|(reading, sections)| {
                let answers = reading.each_answer(question);
                let mut others = scanned.iter().filter(|(it, _)| answers.contains(it));
                others.any(|(_, other)| !other.same_as(sections))
            })
    };
    let mut questions: Vec<Question> = asked.into_iter().filter(matters).collect();
    let repeated = repeated_parts(scanned.iter().map(|(_, sections)| sections));
    let jumps = &laid.jumps;
    let in_repeat = |part| repeated.get(part as usize).copied().unwrap_or(false);
    if open(Question::RepeatsOnReturn)
        && jumps.iter().any(|jump| jump.repeats.is_none())
        && repeated.contains(&true)
    {
        questions.push(Question::RepeatsOnReturn);
    }
    let plain =
        |jump: &&crate::roadmap::laid::JumpAt| jump.arrivals.is_none() && jump.passes.is_none();
    if open(Question::JumpInRepeat) && jumps.iter().filter(plain).any(|jump| in_repeat(jump.part)) {
        questions.push(Question::JumpInRepeat);
    }
    let armable = laid
        .fines
        .iter()
        .filter(|fine| fine.arrivals.is_none())
        .map(|fine| fine.part);
    let armable = armable.chain(
        laid.to_codas
            .iter()
            .filter(|t| t.arrivals.is_none())
            .map(|t| t.part),
    );
    if open(Question::ArmedInRepeat) && !jumps.is_empty() && armable.clone().any(in_repeat) {
        questions.push(Question::ArmedInRepeat);
    }
    let has_bare = jumps.iter().any(|jump| jump.al.is_none());
    let to_codas = laid
        .to_codas
        .iter()
        .any(|to_coda| to_coda.arrivals.is_none());
    if open(Question::Arming) && (has_bare && armable.clone().next().is_some() || to_codas) {
        questions.push(Question::Arming);
    }
    questions.sort_unstable();
    questions
}

/// For each part whether it lies in a section of more than one pass, in any of these ways to see the sections.
fn repeated_parts<'a>(scanned: impl Iterator<Item = &'a Sections>) -> Vec<bool> {
    let mut held: Vec<bool> = Vec::new();
    for sections in scanned {
        held.resize(sections.innermost.len(), false);
        for (slot, innermost) in held.iter_mut().zip(&sections.innermost) {
            let mut around = innermost.and_then(|number| sections.get(number));
            while let Some(section) = around {
                *slot |= section.passes > 1;
                around = section.parent.and_then(|number| sections.get(number));
            }
        }
    }
    held
}

/// Whether two routes of one board are the same.
pub(crate) fn same_route(a: &Roadmap, b: &Roadmap) -> bool {
    if a.length() != b.length() {
        return false;
    }
    let alike = a.compiled == b.compiled && a.plan.sections.same_as(&b.plan.sections);
    alike || a.length() <= MOST_COMPARED && first_difference(a, b).is_none()
}

/// Where two different routes of one board part; `None` when it is further on than is compared.
fn parting(a: &Roadmap, b: &Roadmap) -> Option<u64> {
    let shorter = a.length().min(b.length());
    let ends = (shorter <= MOST_COMPARED).then_some(shorter);
    first_difference(a, b).or(ends)
}

fn first_difference(a: &Roadmap, b: &Roadmap) -> Option<u64> {
    let sounds = |step: Step| (step.measure, step.part, step.octave, step.hold, step.hands);
    let mut both = (0..MOST_COMPARED).zip(a.steps().zip(b.steps()));
    both.find(|&(_, (a, b))| sounds(a) != sounds(b))
        .map(|(index, _)| index)
}

const _: () = {
    // The comparison treats the answers to `arming` as a whole; a new one has to be thought through in `questions_that_can_matter`.
    assert!(Arming::ALL.len() == 3);
};

#[cfg(test)]
mod tests {
    use super::*;

    /// How many readings were tried on a board.
    fn tried(line: &str) -> usize {
        let board: Board = line.parse().unwrap();
        let terms = Terms {
            open_plays: Some(2),
            ..Terms::default()
        };
        let comparison = compare(&board, &terms).unwrap();
        let readings = comparison.routes.iter().map(|route| route.readings.len());
        readings.sum::<usize>() + comparison.left_out.len()
    }

    #[test]
    fn questions_that_cannot_matter_are_not_varied() {
        // No sign is in doubt.
        for line in [
            "1 | 2 |",
            "|: 1 | 2 :| 3 |",
            "|: 1 | [1. 2 :| [2. 3 ] | 4 |",
            // Nothing is repeated, so that it is the same whether repeats are made again.
            "1 | 2 D.C. |",
            "|: 1 :|x1 2 D.C.(arrivals 1) |",
            // The jump says so itself.
            "|: 1 :| 2 D.C. senza rep. |",
            // A Fine that names its arrivals is not in doubt, nor is one that nothing leads to.
            "|: 1 Fine :| 2 |",
        ] {
            assert_eq!(tried(line), 1, "{line}");
        }
    }

    #[test]
    fn questions_that_may_matter_are_varied_once_for_each_answer() {
        for (line, readings) in [
            // Whether repeats are made again.
            ("|: 1 :| 2 D.C. |", 2),
            // Whether a D.C. in a repeat waits for the last pass, and whether repeats are made again.
            ("|: 1 D.C. | 2 :| 3 |", 4),
            ("|: 1 D.C.(arrivals 1) | 2 :| 3 |", 2),
            ("|: 1 D.C.(senza rep.) | 2 :| 3 |", 2),
            // Which returns make a Fine hold, besides.
            ("1 Fine | 2 D.C. |", 3),
            ("1 Fine | 2 D.C. al Fine |", 1),
        ] {
            assert_eq!(tried(line), readings, "{line}");
        }
    }

    #[test]
    fn a_board_answers_for_itself() {
        for line in [
            "{repeats-on-return skip} |: 1 :| 2 D.C. |",
            "{repeats-on-return play} |: 1 :| 2 D.C. |",
            "{repeats-on-return skip; jump-in-repeat last-pass} |: 1 D.C. | 2 :| 3 |",
        ] {
            assert_eq!(tried(line), 1, "{line}");
        }
    }
}
