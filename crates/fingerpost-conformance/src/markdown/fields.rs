//! The fields of a case as the rulebook writes them, one a line.

use std::collections::BTreeSet;
use std::str::FromStr;

use fingerpost::{Answers, Board, Fraction, NamedReading, Question};
use serde::de::DeserializeOwned;

use crate::case::{Case, Citation, Expected, Layout, ReadingAsked, RouteCase, Status, TermsAsked};
use crate::load::LoadError;
use crate::steps::{OctaveShift, StepColumns};

/// A block that is being read.
pub(super) struct Block<'a> {
    file: &'a str,
    at: usize,
    seen: BTreeSet<String>,
    id: Option<String>,
    title: Option<String>,
    line: Option<String>,
    board: Option<Board>,
    /// What is expected on the default terms.
    plain: Expected,
    steps: StepColumns,
    others: Vec<RouteCase>,
    settled: Option<bool>,
    questions: Option<Vec<String>>,
    sources: Vec<Citation>,
    status: Option<Status>,
    layout: Option<Layout>,
}

impl<'a> Block<'a> {
    pub(super) fn new(file: &'a str, at: usize) -> Block<'a> {
        Block {
            file,
            at,
            seen: BTreeSet::new(),
            id: None,
            title: None,
            line: None,
            board: None,
            plain: Expected::default(),
            steps: StepColumns::default(),
            others: Vec::new(),
            settled: None,
            questions: None,
            sources: Vec::new(),
            status: None,
            layout: None,
        }
    }

    /// Reads one field.
    pub(super) fn field(&mut self, text: &str, at: usize) -> Result<(), LoadError> {
        let complain = |message: String| LoadError::at(self.file, at, message);
        let (name, value) = text
            .split_once(": ")
            .ok_or_else(|| complain(format!("`{text}` is no field: `name: value`")))?;
        if !self.seen.insert(name.to_owned()) {
            return Err(complain(format!("`{name}` stands twice in this case")));
        }
        let file = self.file;
        self.take(name, value.trim())
            .map_err(|message| LoadError::at(file, at, message))
    }

    fn take(&mut self, name: &str, value: &str) -> Result<(), String> {
        match name {
            "id" => self.id = Some(value.to_owned()),
            "title" => self.title = Some(value.to_owned()),
            "board" => {
                self.board(Board::from_line(value))?;
                self.line = Some(value.to_owned());
            }
            "json" => self.board(Board::from_json(value))?,
            "order" => self.plain.order = Some(measures(value)?),
            "length" => self.plain.length = Some(number(value)?),
            "errors" => self.plain.errors = Some(words(value)),
            "needs-plays" => self.plain.needs_plays = yes_or_no(value)?,
            "omit-repeats" => self.other(
                TermsAsked {
                    omit_repeats: true,
                    ..TermsAsked::default()
                },
                value,
            )?,
            "settled" => self.settled = Some(yes_or_no(value)?),
            "questions" => self.questions = Some(questions(value)?),
            "passes" => {
                let passes = |word: &str| word.split('.').map(number).collect();
                self.steps.passes = Some(each(value, passes)?);
            }
            "legs" => self.steps.legs = Some(each(value, number)?),
            "visits" => self.steps.visits = Some(each(value, number)?),
            "causes" => self.steps.causes = Some(each(value, named)?),
            "parts" => self.steps.parts = Some(each(value, part)?),
            "octaves" => self.steps.octaves = Some(each(value, octave)?),
            "holds" => self.steps.holds = Some(each(value, named)?),
            "hands" => self.steps.hands = Some(each(value, named)?),
            "source" => self.sources = citations(value)?,
            "status" => self.status = Some(named(&value.replace(' ', "-"))?),
            "layout" => self.layout = Some(named(value)?),
            _ => match name.split_once(' ') {
                Some(("reading", asked)) => {
                    let terms = TermsAsked {
                        reading: Some(reading(asked)?),
                        ..TermsAsked::default()
                    };
                    self.other(terms, value)?;
                }
                Some(("plays", plays)) => {
                    let terms = TermsAsked {
                        open_plays: Some(number(plays)?),
                        ..TermsAsked::default()
                    };
                    self.other(terms, value)?;
                }
                _ => return Err(format!("`{name}` is no field of a case")),
            },
        }
        Ok(())
    }

    fn board(&mut self, read: Result<Board, fingerpost::ReadError>) -> Result<(), String> {
        let board = read.map_err(|error| error.to_string())?;
        match self.board.replace(board) {
            None => Ok(()),
            Some(_) => Err("a case has one board: `board` or `json`".to_owned()),
        }
    }

    fn other(&mut self, terms: TermsAsked, value: &str) -> Result<(), String> {
        let mut expect = Expected::default();
        match value.strip_prefix("errors ") {
            Some(errors) => expect.errors = Some(words(errors)),
            None => expect.order = Some(measures(value)?),
        }
        self.others.push(RouteCase { terms, expect });
        Ok(())
    }

    /// The case, when nothing is missing.
    pub(super) fn case(self, clause: &str) -> Result<Case, LoadError> {
        let (file, at) = (self.file, self.at);
        let complain = |message: String| LoadError::at(file, at, message);
        let id = self
            .id
            .ok_or_else(|| complain("this case has no id".to_owned()))?;
        let missing = |what: &str| complain(format!("case {id} has no {what}"));
        let board = self.board.ok_or_else(|| missing("board"))?;
        let board = serde_json::from_str(&board.to_json()).map_err(|error| {
            complain(format!("case {id}: its board cannot be written: {error}"))
        })?;
        let mut plain = self.plain;
        if let Some(order) = &plain.order {
            for (name, length) in self.steps.lengths() {
                if length != order.len() {
                    return Err(complain(format!(
                        "case {id} has {} steps in `order` and {length} in `{name}`",
                        order.len()
                    )));
                }
            }
        }
        plain.steps = self.steps;
        let mut routes = Vec::new();
        if plain != Expected::default() {
            if plain.outcome().is_none() {
                let message = format!("case {id} expects two things at once of its board");
                return Err(complain(message));
            }
            routes.push(RouteCase {
                terms: TermsAsked::default(),
                expect: plain,
            });
        }
        routes.extend(self.others);
        if routes.is_empty() {
            return Err(missing("order, and nothing else that it expects"));
        }
        if self.sources.is_empty() {
            return Err(missing("source"));
        }
        Ok(Case {
            title: self.title.ok_or_else(|| missing("title"))?,
            clause: clause.to_owned(),
            line: self.line,
            board,
            routes,
            settled: self.settled,
            questions: self.questions,
            sources: self.sources,
            status: self.status.ok_or_else(|| missing("status"))?,
            layout: self.layout,
            at: self.at,
            id,
        })
    }
}

/// Reads `key, place; key, place`.
pub(super) fn citations(text: &str) -> Result<Vec<Citation>, String> {
    let citation = |entry: &str| {
        let (key, place) = match entry.split_once(", ") {
            Some((key, place)) => (key, Some(place)),
            None => (entry, None),
        };
        let key = key.trim();
        if key.is_empty() {
            return Err(format!("`{entry}` names no source"));
        }
        Ok(Citation {
            key: key.to_owned(),
            place: place.map(|place| place.trim().to_owned()),
        })
    };
    text.split(';').map(citation).collect()
}

fn words(value: &str) -> Vec<String> {
    value.split_whitespace().map(str::to_owned).collect()
}

fn each<T>(value: &str, one: impl Fn(&str) -> Result<T, String>) -> Result<Vec<T>, String> {
    value.split_whitespace().map(one).collect()
}

fn measures(value: &str) -> Result<Vec<u16>, String> {
    each(value, |word| {
        word.parse::<u16>()
            .ok()
            .filter(|&measure| measure > 0)
            .ok_or_else(|| format!("`{word}` is no measure"))
    })
}

fn number<T: FromStr>(word: &str) -> Result<T, String> {
    word.parse().map_err(|_| format!("`{word}` is no number"))
}

fn yes_or_no(value: &str) -> Result<bool, String> {
    match value {
        "yes" => Ok(true),
        "no" => Ok(false),
        _ => Err(format!("`{value}` is neither yes nor no")),
    }
}

/// One of the names of an enum, as its JSON writes it.
fn named<T: DeserializeOwned>(word: &str) -> Result<T, String> {
    serde_json::from_value(serde_json::Value::from(word)).map_err(|error| error.to_string())
}

/// `whole`, or from where to where: `0-1/2`.
fn part(word: &str) -> Result<Option<[String; 2]>, String> {
    if word == "whole" {
        return Ok(None);
    }
    let fraction = |text: &str| {
        let whole = text.bytes().all(|b| b.is_ascii_digit());
        let text = if whole {
            format!("{text}/1")
        } else {
            text.to_owned()
        };
        text.parse::<Fraction>()
            .map(|fraction| fraction.to_string())
            .map_err(|error| error.to_string())
    };
    let (from, to) = word
        .split_once('-')
        .ok_or_else(|| format!("`{word}` is no part: `whole`, or like `0-1/2`"))?;
    Ok(Some([fraction(from)?, fraction(to)?]))
}

/// `+1` for both hands, `+1/0` for right and left.
fn octave(word: &str) -> Result<OctaveShift, String> {
    let (right, left) = word.split_once('/').unwrap_or((word, word));
    Ok(OctaveShift {
        right: number(right)?,
        left: number(left)?,
    })
}

/// A name, or `question=answer,question=answer`.
fn reading(text: &str) -> Result<ReadingAsked, String> {
    if !text.contains('=') {
        let named: NamedReading = text
            .parse()
            .map_err(|error: fingerpost::UnknownReading| error.to_string())?;
        return Ok(ReadingAsked::Named(named.name().to_owned()));
    }
    let mut answers = serde_json::Map::new();
    for pair in text.split(',') {
        let (question, answer) = pair
            .split_once('=')
            .ok_or_else(|| format!("`{pair}` is no `question=answer`"))?;
        let question = question_named(question)?;
        if !question.answers().contains(&answer) {
            return Err(format!(
                "`{answer}` is no answer to {}; its answers are {}",
                question.name(),
                question.answers().join(", ")
            ));
        }
        answers.insert(question.name().to_owned(), answer.into());
    }
    let answers: Answers =
        serde_json::from_value(answers.into()).map_err(|error| error.to_string())?;
    Ok(ReadingAsked::Answers(answers))
}

fn questions(value: &str) -> Result<Vec<String>, String> {
    each(value, |word| {
        question_named(word).map(|question| question.name().to_owned())
    })
}

fn question_named(name: &str) -> Result<Question, String> {
    Question::ALL
        .into_iter()
        .find(|question| question.name() == name)
        .ok_or_else(|| {
            let names: Vec<&str> = Question::ALL.iter().map(|q| q.name()).collect();
            format!(
                "`{name}` is no question; the questions are {}",
                names.join(", ")
            )
        })
}
