//! Invented scores in MusicXML, measure by measure, and what is asked of scores in any format.
#![allow(dead_code, unreachable_pub)] // Each test takes what it needs.

use fingerpost::{Board, NamedReading, Roadmap, Terms};
use fingerpost_notation::{Score, read};

/// A measure of one whole rest, with other elements before and after it.
pub fn measure(number: usize, before: &str, after: &str) -> String {
    format!(
        "<measure number=\"{number}\">{before}<note><rest/><duration>4</duration></note>{after}</measure>\n"
    )
}

pub const TIME: &str = "<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>";

/// A score of one part; for each measure what stands before and after its rest.
pub fn score(measures: &[(&str, &str)]) -> String {
    let measures: String = measures
        .iter()
        .enumerate()
        .map(|(index, (before, after))| {
            let time = if index == 0 { TIME } else { "" };
            measure(index + 1, &format!("{time}{before}"), after)
        })
        .collect();
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<score-partwise version=\"4.0\"><part-list><score-part id=\"P1\"><part-name>Path</part-name></score-part></part-list><part id=\"P1\">\n{measures}</part></score-partwise>"
    )
}

pub fn read_one(text: &str) -> Score {
    let mut scores = read(text.as_bytes()).unwrap_or_else(|error| panic!("{error}: {text}"));
    assert_eq!(scores.len(), 1);
    scores.remove(0)
}

/// Reads a score and holds its board against a board line.
#[track_caller]
pub fn becomes(measures: &[(&str, &str)], line: &str) -> Score {
    let read = read_one(&score(measures));
    let mut wanted: Board = format!("{{meter 4/4}} {line}")
        .parse()
        .unwrap_or_else(|error| panic!("{line}: {error}"));
    // A line writes its measures with numbers; the score has the same.
    wanted = wanted.canonical();
    assert_eq!(read.board.canonical().to_line(), wanted.to_line());
    read
}

pub fn order(board: &Board) -> Vec<u16> {
    order_under(board, NamedReading::Handbook)
}

pub fn order_under(board: &Board, reading: NamedReading) -> Vec<u16> {
    let roadmap = Roadmap::new(board, &Terms::from(reading));
    let roadmap = roadmap.unwrap_or_else(|error| panic!("{error}: {}", board.to_line()));
    roadmap.steps().map(|step| step.measure).collect()
}

pub fn names(score: &Score) -> Vec<&'static str> {
    score
        .notices
        .iter()
        .map(|notice| notice.rule.name())
        .collect()
}

pub const FORWARD: &str = "<barline location=\"left\"><repeat direction=\"forward\"/></barline>";
pub const BACKWARD: &str = "<barline location=\"right\"><repeat direction=\"backward\"/></barline>";

pub fn direction(kind: &str, sound: &str) -> String {
    format!("<direction><direction-type>{kind}</direction-type>{sound}</direction>")
}

pub fn words(text: &str, sound: &str) -> String {
    direction(&format!("<words>{text}</words>"), sound)
}
