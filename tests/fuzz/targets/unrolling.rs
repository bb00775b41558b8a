//! Any board: checking it never fails; without errors it has a roadmap, whose length, steps, runs and counts tell one story.

use std::collections::HashMap;

use fingerpost::{
    Board, Cause, Finding, Phrasebook, Reading, Refusal, Roadmap, Severity, Step, Terms, check,
    compare,
};

use super::chance::{self, Dice};

/// The most steps of a route that are walked.
const MOST_WALKED: u64 = 20_000;
/// The longest route whose board is compared under all readings.
const LONGEST_COMPARED: u64 = 2_000;
/// The most moves of a route that are put into words.
const MOST_MOVES: usize = 50;
/// The readings tried besides that of the handbooks.
const READINGS: usize = 3;

/// A board line, or `#` and the numbers that decide which board is made.
pub(crate) fn check_then_unroll(bytes: &[u8]) {
    let Some((board, mut dice)) = board_and_dice(bytes) else {
        return;
    };
    let findings = check(&board);
    findings_are_in_order(&board, &findings);
    assert_eq!(check(&board), findings);
    let mut errors: Vec<_> = findings;
    errors.retain(|finding| finding.severity == Severity::Error);
    let terms = Terms {
        open_plays: Some(2),
        ..Terms::default()
    };
    match Roadmap::new(&board, &terms) {
        Ok(roadmap) => {
            assert_eq!(errors, []);
            tells_one_story(&board, &roadmap);
            if roadmap.length() <= LONGEST_COMPARED {
                is_compared(&board, &roadmap, &terms);
            }
        }
        Err(Refusal::Errors(found)) => assert_eq!(found, errors),
        Err(refusal) => panic!("the number of plays is known: {refusal}"),
    }
    for _ in 0..READINGS {
        let terms = Terms {
            reading: dice.reading(),
            omit_repeats: dice.once_in(4),
            open_plays: [None, Some(0), Some(1), Some(3)][dice.below(4)],
        };
        match Roadmap::new(&board, &terms) {
            Ok(roadmap) => tells_one_story(&board, &roadmap),
            Err(Refusal::Errors(found)) => findings_are_in_order(&board, &found),
            Err(Refusal::OpenPlays {
                marking, measure, ..
            }) => {
                assert_eq!(board.markings()[marking].measure(), measure);
            }
            Err(other) => panic!("a refusal not thought of: {other}"),
        }
    }
}

/// The board that the bytes stand for, and what is left to decide by.
fn board_and_dice(bytes: &[u8]) -> Option<(Board, Dice)> {
    let (rest, make): (_, fn(&mut Dice) -> Board) = match bytes {
        [b'#', b'w', rest @ ..] => (rest, chance::wild),
        [b'#', rest @ ..] => (rest, chance::from_pieces),
        _ => {
            let board = Board::from_line(&String::from_utf8_lossy(bytes)).ok()?;
            return Some((board, Dice::new(bytes.len() as u64)));
        }
    };
    let mut dice = Dice::from_bytes(rest);
    Some((make(&mut dice), dice))
}

/// The board that the bytes stand for.
pub(crate) fn board_of(bytes: &[u8]) -> Option<Board> {
    board_and_dice(bytes).map(|(board, _)| board)
}

fn findings_are_in_order(board: &Board, findings: &[Finding]) {
    assert!(findings.is_sorted_by_key(|finding| (finding.measure, finding.marking)));
    for finding in findings {
        assert!(!finding.message.is_empty() && !finding.help.is_empty());
        let measures = 1..=board.measures();
        assert!(
            finding
                .measure
                .is_none_or(|measure| measures.contains(&measure))
        );
        for &marking in finding.marking.iter().chain(&finding.related) {
            assert!(marking < board.markings().len());
        }
    }
}

fn tells_one_story(board: &Board, roadmap: &Roadmap) {
    let length = roadmap.length();
    assert_eq!(roadmap.step(length), None);
    let first = roadmap.steps().next();
    assert_eq!(first.is_some(), length > 0);
    assert_eq!(roadmap.step(0), first);
    if let Some(last) = length.checked_sub(1).and_then(|k| roadmap.step(k)) {
        assert_eq!(last.leg, roadmap.legs());
        assert!(last.visit <= roadmap.visits(last.measure));
    }
    for moved in Phrasebook::default().moves(board, roadmap).take(MOST_MOVES) {
        assert!(!moved.why.is_empty() && !moved.play.is_empty());
    }
    assert!(!Phrasebook::default().ending(board, roadmap).is_empty());
    if length > MOST_WALKED {
        let near: Vec<Step> = roadmap.steps().take(200).collect();
        assert_eq!(near.len(), 200);
        steps_are_found_by_index(roadmap, &near);
        return;
    }
    let steps: Vec<Step> = roadmap.steps().collect();
    assert_eq!(steps.len() as u64, length);
    let mut left = roadmap.steps();
    for gone in 0..=steps.len().min(5) {
        let count = steps.len() - gone;
        assert_eq!(left.size_hint(), (count, Some(count)));
        assert_eq!(left.next(), steps.get(gone).copied());
    }
    assert_eq!(
        left.fold(0, |count, _| count + 1),
        steps.len().saturating_sub(6)
    );
    assert!(
        steps
            .iter()
            .all(|step| step.cause.clause(None).starts_with("3."))
    );
    let mut folded = Vec::with_capacity(steps.len());
    roadmap.steps().for_each(|step| folded.push(step));
    assert_eq!(folded, steps);
    steps_are_found_by_index(roadmap, &steps);
    let mut heard: HashMap<u16, u64> = HashMap::new();
    for step in &steps {
        *heard.entry(step.measure).or_default() += 1;
    }
    for measure in 1..=board.measures() {
        let heard = heard.get(&measure).copied().unwrap_or(0);
        assert_eq!(roadmap.visits(measure), heard, "measure {measure}");
    }
    let mut index = 0;
    for run in roadmap.runs() {
        assert_eq!(run.index, index);
        let begins = &steps[usize::try_from(run.index).expect("a place in the steps")];
        assert_eq!((begins.measure, begins.part), (run.from, run.from_part));
        assert_eq!((begins.cause, begins.marking), (run.cause, run.marking));
        assert_eq!((begins.pass, begins.leg), (run.pass, run.leg));
        // A run ends where the road does not go on to the next measure, and nowhere else.
        assert!(run.index == 0 || begins.cause != Cause::On, "{run:?}");
        index += run.steps;
        let on = usize::try_from(run.index + 1).expect("a place in the steps")
            ..usize::try_from(index).expect("a place in the steps");
        assert!(
            steps[on].iter().all(|step| step.cause == Cause::On),
            "{run:?}"
        );
        let ends = &steps[usize::try_from(index - 1).expect("a place in the steps")];
        assert_eq!((ends.measure, ends.part), (run.to, run.to_part));
    }
    assert_eq!(index, length);
}

/// About forty of them.
fn steps_are_found_by_index(roadmap: &Roadmap, steps: &[Step]) {
    let stride = steps.len() / 40 + 1;
    for (index, step) in steps.iter().enumerate().step_by(stride) {
        assert_eq!(roadmap.step(index as u64), Some(*step), "step {index}");
    }
}

fn is_compared(board: &Board, roadmap: &Roadmap, terms: &Terms) {
    let comparison = compare(board, terms).expect("a board with a roadmap has a comparison");
    assert_eq!(comparison.routes[0].roadmap.length(), roadmap.length());
    // The converse does not hold: two routes may differ in two answers at once, with an error wherever one of them alone is another
    // (rulebook 6.9).
    assert!(!comparison.settled() || comparison.questions.is_empty());
    let readings = comparison.routes.iter().map(|route| route.readings.len());
    let readings = readings.sum::<usize>() + comparison.left_out.len();
    assert!(readings <= Reading::all().count());
    for other in &comparison.routes[1..] {
        if let Some(at) = other.parts_at {
            let sounds = |roadmap: &Roadmap| {
                let step = roadmap.step(at);
                step.map(|s| (s.measure, s.part, s.octave, s.hold, s.hands))
            };
            assert_ne!(sounds(roadmap), sounds(&other.roadmap));
        }
    }
    for left_out in &comparison.left_out {
        assert!(!left_out.errors.is_empty());
    }
}
