//! How long it takes to judge an answer: against every single misunderstanding, and every two at once.

use std::hint::black_box;

use criterion::Criterion;
use fingerpost::{Answer, AnswerStep, AnswerVerdict, Board, Fit, Judge, Judgement, Terms};

/// 64 measures with signs of every kind that a learner can misread; its right order has 200 steps. Invented.
fn board() -> Board {
    let measures = (1..=64).map(|measure| {
        let (before, after) = match measure {
            1 | 24 | 44 => ("|:", ""),
            9 => ("| [1.", ""),
            11 => (":| [2.", ""),
            12 => ("|| segno", ""),
            13 => ("|: 8va(R.H., on repeat)", ""),
            21 => (":|x6", ""),
            30 => ("| [1,2.", ""),
            32 => (":| [3.", ""),
            33 => ("||", ""),
            41 => ("|", "To Coda"),
            50 => (":|x9 8vb(L.H.)", ""),
            58 => ("|", "D.S. al Coda"),
            59 => ("| coda", ""),
            62 => ("|", "Fine"),
            _ => ("|", ""),
        };
        format!("{before} {measure} {after} ")
    });
    let line: String = measures.collect();
    line.parse().expect("a board")
}

/// The right order with the octaves told.
fn right(judge: &Judge) -> Vec<AnswerStep> {
    let steps = judge.roadmap().steps().map(|step| AnswerStep {
        measure: u32::from(step.measure),
        octave: Some(step.octave),
    });
    steps.collect()
}

/// The answers: one that two misunderstandings explain, so that each single one and every two are tried; and one that nothing explains
/// and that goes along with the right order until its last steps, so that every road is walked to its end or to where it parts.
fn answers(judge: &Judge) -> [(&'static str, Answer); 2] {
    let right = right(judge);
    assert_eq!(right.len(), 200);
    // The hands are exchanged wherever an octave sign holds, and the Fine is walked past.
    let mut two = right.clone();
    for octave in two.iter_mut().filter_map(|step| step.octave.as_mut()) {
        (octave.right, octave.left) = (octave.left, octave.right);
    }
    two.extend([63, 64].map(|measure| AnswerStep {
        measure,
        octave: None,
    }));
    let mut none = right;
    for step in none.iter_mut().rev().take(2) {
        step.measure = 64;
    }
    [
        ("two at once", Answer::of_steps(two).expect("few steps")),
        ("unexplained", Answer::of_steps(none).expect("few steps")),
    ]
}

pub(crate) fn judging(criterion: &mut Criterion) {
    let board = board();
    let judge = Judge::new(&board, &Terms::default()).expect("a board in order");
    let mut group = criterion.benchmark_group("answer");
    for (name, answer) in answers(&judge) {
        let judgement: Judgement = judge.judge(&answer);
        assert_eq!(judgement.verdict, AnswerVerdict::Wrong);
        match judgement.explanations.first() {
            Some(found) => assert_eq!((found.ideas.len(), found.fit), (2, Fit::Whole), "{name}"),
            None => assert_eq!(name, "unexplained"),
        }
        group.bench_function(name, |bencher| {
            bencher.iter(|| assert_eq!(judge.judge(black_box(&answer)), judgement));
        });
    }
    group.finish();
}
