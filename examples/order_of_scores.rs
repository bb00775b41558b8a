//! Reads scores and prints in which order the measures of each are played, one line of JSON a score.
//!
//! The names of the files come on standard input, one a line; a tune book gives a line for every tune in it. With `--times N` every file is
//! read and unrolled N times in this process, and the line holds the medians of the microseconds on the clock: from the name of the file to
//! the last measure of its order (opening and reading the file, its signs, their legality, the route), and for the route of the board alone.
//!
//! ```text
//! ls *.musicxml | cargo run --release --example order_of_scores
//! ```

use std::collections::BTreeMap;
use std::error::Error;
use std::hint::black_box;
use std::io::{self, BufRead, Write};
use std::time::Instant;

use fingerpost::{Cause, Comparison, Question, Reading, Roadmap, Terms, check, compare};
use fingerpost_notation::{Score, read};
use serde_json::{Value, json};

/// The most steps whose causes are written out.
const MOST_MOVES: usize = 20_000;

fn main() -> Result<(), Box<dyn Error>> {
    let times = times(std::env::args().skip(1))?;
    let mut out = io::stdout().lock();
    for file in io::stdin().lock().lines() {
        let file = file?;
        for answer in answers(&file, times) {
            writeln!(out, "{answer}")?;
        }
    }
    Ok(())
}

/// How many times each file is timed; 0 when it is not.
fn times(mut arguments: impl Iterator<Item = String>) -> Result<usize, Box<dyn Error>> {
    match (arguments.next().as_deref(), arguments.next()) {
        (None, _) => Ok(0),
        (Some("--times"), Some(number)) => Ok(number.parse()?),
        _ => Err("usage: order_of_scores [--times N] <names-of-files".into()),
    }
}

/// A line for each score of a file, or one that says why there is none.
fn answers(file: &str, times: usize) -> Vec<Value> {
    let bytes = match std::fs::read(file) {
        Ok(bytes) => bytes,
        Err(error) => return vec![json!({ "file": file, "error": error.to_string() })],
    };
    let scores = match read(&bytes) {
        Ok(scores) => scores,
        Err(error) => {
            return vec![json!({ "file": file, "error": error.to_string(), "line": error.line() })];
        }
    };
    let took = (times > 0).then(|| took(file, &scores, times));
    let mut answers = Vec::new();
    for (tune, score) in scores.iter().enumerate() {
        let mut answer = answer(score);
        answer["file"] = json!(file);
        answer["tune"] = json!(tune + 1);
        if let Some(took) = &took {
            answer["microseconds"] = took.clone();
        }
        answers.push(answer);
    }
    answers
}

/// What is known of one score.
fn answer(score: &Score) -> Value {
    let line = |marking: Option<usize>| marking.and_then(|index| score.lines.get(index));
    let findings: Vec<Value> = check(&score.board)
        .iter()
        .map(|finding| {
            json!({
                "rule": finding.rule,
                "severity": finding.severity,
                "measure": finding.measure,
                "line": line(finding.marking),
            })
        })
        .collect();
    let notices: Vec<Value> = score
        .notices
        .iter()
        .map(|notice| {
            json!({
                "rule": notice.rule.name(),
                "severity": notice.rule.severity(),
                "measure": notice.measure,
                "line": notice.line,
            })
        })
        .collect();
    let mut answer = json!({
        "measures": score.board.measures(),
        "board": serde_json::from_str::<Value>(&score.board.to_json()).unwrap_or_default(),
        "findings": findings,
        "notices": notices,
    });
    match compare(&score.board, &Terms::default()) {
        Ok(comparison) => add_routes(&mut answer, &comparison, score),
        Err(refusal) => answer["refused"] = json!(refusal.to_string()),
    }
    answer
}

/// The route, the moves in it, and the other routes with the answers that give them.
fn add_routes(answer: &mut Value, comparison: &Comparison, score: &Score) {
    let mut routes = comparison.routes.iter();
    let Some(first) = routes.next() else { return };
    answer["order"] = json!(runs(&first.roadmap));
    answer["moves"] = json!(moves(&first.roadmap, score));
    let others: Vec<Value> = routes
        .map(|other| {
            let readings: Vec<BTreeMap<&str, &str>> =
                other.readings.iter().copied().map(departures).collect();
            json!({ "order": runs(&other.roadmap), "readings": readings })
        })
        .collect();
    answer["others"] = json!(others);
}

/// The answers in which a reading is not the default one.
fn departures(reading: Reading) -> BTreeMap<&'static str, &'static str> {
    Question::ALL
        .iter()
        .filter(|question| reading.answer(**question) != Reading::default().answer(**question))
        .map(|question| (question.name(), reading.answer(*question)))
        .collect()
}

/// The order as runs of measures: the first and the last of each. The parts of a cut measure that follow each other are one measure.
fn runs(roadmap: &Roadmap) -> Vec<(u16, u16)> {
    let mut runs: Vec<(u16, u16)> = Vec::new();
    let mut before = None;
    for step in roadmap.steps() {
        let goes_on_inside = step
            .part
            .is_some_and(|part| before == Some((step.measure, part.from)));
        before = step.part.map(|part| (step.measure, part.to));
        if goes_on_inside {
            continue;
        }
        match runs.last_mut() {
            Some((_, last)) if last.checked_add(1) == Some(step.measure) => *last = step.measure,
            _ => runs.push((step.measure, step.measure)),
        }
    }
    runs
}

/// Each step to which a sign led: from where, to where, why, and the line of the file that holds the sign.
fn moves(roadmap: &Roadmap, score: &Score) -> Vec<Value> {
    let mut moves = Vec::new();
    let mut from = 0;
    for step in roadmap.steps().take(MOST_MOVES) {
        if !matches!(step.cause, Cause::Start | Cause::On) {
            let marking = step.marking.and_then(|index| usize::try_from(index).ok());
            moves.push(json!({
                "from": from,
                "to": step.measure,
                "cause": step.cause,
                "mark": marking.and_then(|index| Some(score.board.markings().get(index)?.sign().kind())),
                "line": marking.and_then(|index| score.lines.get(index)),
            }));
        }
        from = step.measure;
    }
    moves
}

/// Medians in microseconds: from the name of the file to its order, and from the boards to it.
fn took(file: &str, scores: &[Score], times: usize) -> Value {
    let read_and_unrolled = median(times, || {
        let bytes = std::fs::read(black_box(file)).unwrap_or_default();
        if let Ok(scores) = read(&bytes) {
            scores.iter().for_each(unrolled);
        }
    });
    let unrolled_alone = median(times, || scores.iter().for_each(unrolled));
    json!({ "file-to-order": read_and_unrolled, "unrolling": unrolled_alone })
}

fn unrolled(score: &Score) {
    if let Ok(roadmap) = Roadmap::new(black_box(&score.board), &Terms::default()) {
        for step in roadmap.steps() {
            black_box(step);
        }
    }
}

fn median(times: usize, mut run: impl FnMut()) -> f64 {
    let mut took: Vec<f64> = (0..times)
        .map(|_| {
            let start = Instant::now();
            run();
            start.elapsed().as_secs_f64() * 1e6
        })
        .collect();
    took.sort_by(f64::total_cmp);
    took.get(times / 2).copied().unwrap_or_default()
}
