//! Whether the library and the second walker agree on a board: its errors, its routes, the counts, and the signs that can be taken away.

use std::fmt::Write;

use fingerpost::{Board, Reading, Refusal, Roadmap, Severity, Sign, Step, Terms, check};

use crate::trials::chance::Dice;
use crate::trials::portrait;
use crate::walker::{Outcome, PlainStep, Rules, Walker};

/// The most steps compared of one route.
const LIMIT: u64 = 4_000;
/// The errors that lean on which section an ending belongs to. Where brackets overlap, hold a start repeat or reach past an end repeat, each
/// of which is an error, the rules leave that open.
const OF_SECTIONS: [&str; 6] = [
    "coda-missing",
    "ending-gap",
    "ending-not-closed",
    "ending-pass-twice",
    "nesting-too-deep",
    "on-return-contradicts",
];

/// Which errors are compared on a board whose brackets are in disorder.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum InDisorder {
    Every,
    /// Those that do not lean on sections.
    NotOfSections,
}

/// What has been tried.
#[derive(Default)]
pub(crate) struct Counts {
    pub(crate) boards: u64,
    /// Boards without errors.
    pub(crate) sound: u64,
    /// Outcomes compared.
    pub(crate) compared: u64,
    /// Outcomes that are a route.
    pub(crate) routes: u64,
    pub(crate) steps: u64,
    pub(crate) left_out: u64,
    pub(crate) open: u64,
    /// Idle signs taken away.
    pub(crate) idle: u64,
}

impl std::fmt::Display for Counts {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "{} boards, {} without errors; {} outcomes compared: {} routes of {} steps in all, {} left out, {} without a number of plays; {} idle signs taken away",
            self.boards,
            self.sound,
            self.compared,
            self.routes,
            self.steps,
            self.left_out,
            self.open,
            self.idle
        )
    }
}

/// Compares the errors of a board and, where there are none, its routes under these readings.
pub(crate) fn try_board(
    board: &Board,
    readings: &[Reading],
    in_disorder: InDisorder,
    counts: &mut Counts,
    report: &mut dyn FnMut(String),
) {
    let walker = Walker::new(board, LIMIT);
    counts.boards += 1;
    if !errors_agree(board, &walker, in_disorder, report) {
        return;
    }
    if !walker.errors().is_empty() {
        return;
    }
    counts.sound += 1;
    for &reading in readings {
        let terms = Terms {
            reading,
            ..Terms::default()
        };
        if !agree(board, &walker, &terms, counts, report) {
            return;
        }
    }
}

pub(crate) fn try_large_board(
    board: &Board,
    dice: &mut Dice,
    counts: &mut Counts,
    report: &mut dyn FnMut(String),
) {
    let some: Vec<Reading> = if dice.once_in(16) {
        Reading::all().collect()
    } else {
        std::iter::once(Reading::default())
            .chain((0..8).map(|_| dice.reading()))
            .collect()
    };
    let before = counts.sound;
    try_board(board, &some, InDisorder::NotOfSections, counts, report);
    if counts.sound == before {
        return;
    }
    let walker = Walker::new(board, LIMIT);
    for reading in [Reading::default(), dice.reading(), dice.reading()] {
        for (omit_repeats, open_plays) in [(true, None), (false, Some(3)), (true, Some(1))] {
            let terms = Terms {
                reading,
                omit_repeats,
                open_plays,
            };
            if !agree(board, &walker, &terms, counts, report) {
                return;
            }
        }
    }
    for reading in [Reading::default(), dice.reading()] {
        let terms = Terms {
            reading,
            omit_repeats: dice.once_in(4),
            open_plays: Some(2),
        };
        counting_agrees(board, &walker, &terms, dice, report);
    }
    taking_idle_signs_away(board, &walker, counts, report);
}

/// Whether both find the same errors, whichever way the library is asked.
fn errors_agree(
    board: &Board,
    walker: &Walker,
    in_disorder: InDisorder,
    report: &mut dyn FnMut(String),
) -> bool {
    let expected = walker.errors();
    let found = match Roadmap::new(board, &Terms::default()) {
        Err(Refusal::Errors(findings)) => findings.iter().map(|f| f.rule).collect(),
        _ => Rules::new(),
    };
    // Whether a refusal under the default terms is one of the board or of the terms shows in what `check` says.
    let checked: Rules = check(board)
        .iter()
        .filter(|finding| finding.severity == Severity::Error)
        .map(|finding| finding.rule)
        .collect();
    let disorder = [
        "endings-overlap",
        "ending-past-section",
        "start-repeat-in-ending",
    ];
    let lean = in_disorder == InDisorder::NotOfSections
        && disorder.iter().any(|rule| expected.contains(rule));
    let compared = |rules: &Rules| -> Rules {
        let kept = rules
            .iter()
            .filter(|rule| !lean || !OF_SECTIONS.contains(rule));
        kept.copied().collect()
    };
    if compared(&found) == compared(expected) && compared(&checked) == compared(expected) {
        return true;
    }
    report(format!(
        "{}\n  errors of the library {found:?}, by check {checked:?}\n  errors of the walker  {expected:?}",
        portrait(board)
    ));
    false
}

/// Whether both come to the same outcome on these terms, in every field of every step.
fn agree(
    board: &Board,
    walker: &Walker,
    terms: &Terms,
    counts: &mut Counts,
    report: &mut dyn FnMut(String),
) -> bool {
    counts.compared += 1;
    let expected = walker.walk(terms);
    let found = Roadmap::new(board, terms);
    let same = match (&expected, &found) {
        (Outcome::Steps(steps), Ok(roadmap)) => {
            counts.routes += 1;
            counts.steps += steps.len() as u64;
            same_steps(steps, roadmap)
        }
        // A number of plays may bring errors that the board has not without it.
        (Outcome::LeftOut(rules) | Outcome::Errors(rules), Err(Refusal::Errors(findings))) => {
            counts.left_out += 1;
            *rules == findings.iter().map(|f| f.rule).collect()
        }
        (Outcome::OpenPlays, Err(Refusal::OpenPlays { .. })) => {
            counts.open += 1;
            true
        }
        // What lies beyond the steps that are compared is not judged.
        (Outcome::Steps(steps), Err(_)) => steps.len() as u64 == LIMIT,
        _ => false,
    };
    if !same {
        report(format!(
            "{}\n  {terms:?}\n{}",
            portrait(board),
            side_by_side(&expected, found)
        ));
    }
    same
}

fn same_steps(steps: &[PlainStep], roadmap: &Roadmap) -> bool {
    let mut found = roadmap.steps();
    let length = steps.len() as u64;
    let ends = if length < LIMIT {
        roadmap.length() == length
    } else {
        roadmap.length() >= LIMIT
    };
    ends && steps
        .iter()
        .all(|step| found.next().is_some_and(|other| step.is(&other)))
        && (length == LIMIT || found.next().is_none())
}

/// The length, some steps by their index and the visits of each measure, which the library has without walking.
fn counting_agrees(
    board: &Board,
    walker: &Walker,
    terms: &Terms,
    dice: &mut Dice,
    report: &mut dyn FnMut(String),
) {
    let (Outcome::Steps(steps), Ok(roadmap)) = (walker.walk(terms), Roadmap::new(board, terms))
    else {
        return;
    };
    let ends = (steps.len() as u64) < LIMIT;
    let mut wrong = Vec::new();
    if !steps.is_empty() {
        let some = [
            0,
            steps.len() - 1,
            dice.below(steps.len()),
            dice.below(steps.len()),
        ];
        for index in some {
            let found = roadmap.step(index as u64);
            if !found.is_some_and(|step| steps[index].is(&step)) {
                wrong.push(format!("step {index} is {found:?}, not {:?}", steps[index]));
            }
        }
    }
    if ends {
        if let Some(step) = roadmap.step(steps.len() as u64) {
            wrong.push(format!("a step beyond the end: {step:?}"));
        }
        for measure in 1..=board.measures() {
            let heard = steps.iter().filter(|s| s.measure == measure).count() as u64;
            let counted = roadmap.visits(measure);
            if heard != counted {
                wrong.push(format!("measure {measure}: {counted} visits, not {heard}"));
            }
        }
    }
    if !wrong.is_empty() {
        report(format!(
            "{}\n  {terms:?}\n  {}",
            portrait(board),
            wrong.join("\n  ")
        ));
    }
}

/// A sign written twice, a start repeat never closed, a landing that nothing goes to and (where they are no places to go back to) a
/// double bar can be taken away: the measures are played in the same order.
fn taking_idle_signs_away(
    board: &Board,
    walker: &Walker,
    counts: &mut Counts,
    report: &mut dyn FnMut(String),
) {
    let terms = Terms {
        open_plays: Some(2),
        ..Terms::default()
    };
    let measures = |board: &Board| -> Option<Vec<u16>> {
        let roadmap = Roadmap::new(board, &terms).ok()?;
        let limit = usize::try_from(LIMIT).unwrap();
        Some(roadmap.steps().take(limit).map(|s| s.measure).collect())
    };
    // The board's own answers may be others than the handbook's.
    if !board.reading().is_empty() {
        return;
    }
    let markings = board.markings();
    for (index, marking) in markings.iter().enumerate() {
        let twice = markings[..index].contains(marking);
        let lonely = match marking.sign() {
            Sign::StartRepeat => walker.opens_nothing(index),
            Sign::DoubleBar(_) => true,
            Sign::Segno(segno) => markings.iter().all(|other| match other.sign() {
                Sign::DaCapo(jump) => {
                    jump.al != Some(fingerpost::Al::Segno) || jump.label != segno.label
                }
                Sign::DalSegno(jump) => jump.label != segno.label,
                _ => true,
            }),
            Sign::Coda(coda) => markings.iter().all(|other| match other.sign() {
                Sign::ToCoda(to) => to.label != coda.label,
                Sign::DaCapo(jump) | Sign::DalSegno(jump) => {
                    jump.coda != coda.label || jump.then.is_none()
                }
                _ => true,
            }),
            _ => false,
        };
        // A cut divides its measure whatever the sign does.
        if !twice && (!lonely || marking.place().cut().is_some()) {
            continue;
        }
        let others = markings.iter().enumerate().filter(|&(i, _)| i != index);
        let without = board
            .to_builder()
            .without_markings()
            .markings(others.map(|(_, marking)| marking.clone()))
            .build()
            .expect("a sign less is no fault");
        counts.idle += 1;
        if measures(board) != measures(&without) {
            report(format!(
                "{}\n  without marking {index} the order is another",
                portrait(board)
            ));
        }
    }
}

fn plain(step: Step) -> PlainStep {
    PlainStep {
        measure: step.measure,
        part: step.part.map(|part| (part.from, part.to)),
        pass: step.pass,
        enclosing: step.enclosing.as_slice().to_vec(),
        leg: step.leg,
        visit: step.visit,
        octave_right: step.octave.right,
        octave_left: step.octave.left,
        hold: step.hold,
        hands: step.hands,
        cause: step.cause,
        marking: step.marking,
    }
}

/// What each side says; of two routes, the steps where they part.
fn side_by_side(expected: &Outcome, found: Result<Roadmap, Refusal>) -> String {
    let limit = usize::try_from(LIMIT).unwrap();
    let found = match found {
        Ok(roadmap) => Outcome::Steps(roadmap.steps().take(limit).map(plain).collect()),
        Err(Refusal::Errors(findings)) => {
            Outcome::Errors(findings.iter().map(|f| f.rule).collect())
        }
        Err(_) => Outcome::OpenPlays,
    };
    let mut parting = 0;
    if let (Outcome::Steps(a), Outcome::Steps(b)) = (expected, &found) {
        parting = a.iter().zip(b).take_while(|(a, b)| a == b).count();
    }
    let show = |side: &Outcome| match side {
        Outcome::Steps(steps) => {
            let near = steps.iter().enumerate().skip(parting.saturating_sub(3));
            near.take(6).fold(String::new(), |mut text, (k, step)| {
                let _ = write!(text, "\n    {k}: {step:?}");
                text
            })
        }
        other => format!(" {other:?}"),
    };
    format!("  library:{}\n  walker: {}", show(&found), show(expected))
}
