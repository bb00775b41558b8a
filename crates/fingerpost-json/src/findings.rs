//! Findings as answers hold them.

use fingerpost::{Board, Finding, FindingSide, Phrasebook, Register, Severity};

use crate::fixes::FixAnswer;
use crate::positions::Positions;
use crate::source::BoardRead;

/// What a rule found on a board.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct FindingAnswer {
    /// The rule's name, for ever: `segno-missing`.
    pub rule: String,
    /// How grave it is.
    pub severity: Severity,
    /// What is wrong.
    pub message: String,
    /// What to do about it.
    pub help: String,
    /// The clause of the rulebook on which the rule stands; absent for what was noticed in reading a score.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clause: Option<String>,
    /// The page of the rule, in the repository of fingerpost; the verb `explain` gives what it says.
    pub page: String,
    /// Where on the board it is; absent when it is about the whole board.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<PlaceAnswer>,
    /// The measure it is about, counted from 1 in written order.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub measure: Option<u16>,
    /// The marking it is about: its index in `markings`, counted from 0.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub marking: Option<usize>,
    /// The id of that marking, when it has one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub id: Option<String>,
    /// Other markings that take part: their indices.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub related: Vec<usize>,
    /// The line of the text where the marking stands, counted from 1: of the request for a board given as `board`, else of the board's own
    /// text. Of a score it is the line from which the marking was read; a compressed score has no lines of its own.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<u32>,
    /// The column in characters, counted from 1; absent for a score, of which the line is all that is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub column: Option<u32>,
    /// Edits of the board that cure it, the best first; none where no edit of signs can, and for all but the first findings of a very large
    /// board.
    pub fixes: Vec<FixAnswer>,
}

/// Where on the board a finding is.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PlaceAnswer {
    /// In words: `at the end of measure 4`.
    pub words: String,
    /// At which side of its measures.
    pub side: FindingSide,
    /// The first of the measures, counted from 1 in written order.
    pub from: u16,
    /// The last of them; the same as `from` where there is one alone.
    pub to: u16,
    /// The printed names of the first measure and of the last, when the board gives names to its measures.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub names: Vec<String>,
    /// For a sign that cuts its measure: how far from the measure's start, as a fraction of a whole note.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub point: Option<String>,
    /// The beat of that point, where the board has a meter and the point lies on a beat: of a sign at which the road is left the last beat
    /// that sounds, of any other the first.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub beat: Option<u32>,
}

impl BoardRead<'_> {
    /// Findings on this board as answers hold them, with their places in its text.
    pub fn findings(&self, findings: &[Finding]) -> Vec<FindingAnswer> {
        if findings.is_empty() {
            return Vec::new();
        }
        let book = self.book();
        let places = self.places();
        let (whole, base) = self.within();
        // Of a score no places are looked up, and its text may be long.
        let positions = Positions::new(if places.is_empty() { "" } else { whole });
        let answer = |(finding, fixes): (&Finding, Vec<FixAnswer>)| {
            let marking = finding
                .marking
                .and_then(|index| self.board.markings().get(index));
            let place = finding
                .marking
                .and_then(|index| places.get(index))
                .map(|place| positions.of(base + place.start));
            let line = place.map(|place| place.line);
            let line = line.or_else(|| self.line(finding.marking));
            FindingAnswer {
                rule: finding.rule.to_owned(),
                severity: finding.severity,
                message: message(&book, finding),
                help: help(&book, finding),
                clause: fingerpost::rules()
                    .find(|rule| rule.name == finding.rule)
                    .map(|rule| rule.clause.to_owned()),
                page: format!("spec/rules/{}.md", finding.rule),
                place: place_on(&book, &self.board, finding),
                measure: finding.measure,
                marking: finding.marking,
                id: marking.and_then(|marking| marking.id()).map(str::to_owned),
                related: finding.related.clone(),
                line,
                column: place.map(|place| place.column),
                fixes,
            }
        };
        let fixes = self.fixes(findings);
        findings.iter().zip(fixes).map(answer).collect()
    }
}

/// What is wrong: to a learner the sentence or two that say what to do as well.
fn message(book: &Phrasebook, finding: &Finding) -> String {
    let of_learner = match book.register() {
        Register::Learner => book.rule(finding.rule),
        _ => None,
    };
    of_learner.unwrap_or_else(|| book.message(&finding.message))
}

/// What to do about it; nothing where that is told with what is wrong.
fn help(book: &Phrasebook, finding: &Finding) -> String {
    match book.register() {
        Register::Learner => String::new(),
        _ => book.message(&finding.help),
    }
}

fn place_on(book: &Phrasebook, board: &Board, finding: &Finding) -> Option<PlaceAnswer> {
    let place = finding.place(board)?;
    let names = [place.from, place.to].map(|measure| board.measure_name(measure));
    Some(PlaceAnswer {
        words: book.finding(board, finding)?,
        side: place.side,
        from: place.from,
        to: place.to,
        names: board
            .measure_numbers()
            .map_or_else(Vec::new, |_| names.to_vec()),
        point: place.point.map(|point| point.to_string()),
        beat: place.beat,
    })
}
