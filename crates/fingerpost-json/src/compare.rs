//! The verb `compare`.

use fingerpost::{Alternative, Comparison, Phrasebook, Question, Terms};

use crate::VERSION;
use crate::error::ErrorAnswer;
use crate::findings::FindingAnswer;
use crate::score::ScoreAnswer;
use crate::source::BoardRead;
use crate::terms::{ReadingAnswer, TermsAsked};

/// The most steps of a route written out when a request sets no limit.
const LIMIT: u64 = 10_000;

/// The routes that the readings of a board give, side by side.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CompareAnswer {
    /// The version of the answer: 1.
    pub version: u32,
    /// Whether every reading under which the board has no errors gives the same route.
    pub settled: bool,
    /// The reading whose route comes first.
    pub reading: ReadingAnswer,
    /// The questions whose answer changes the route.
    pub questions: Vec<QuestionAnswer>,
    /// The different routes, that of the reading asked for first.
    pub routes: Vec<RouteAnswer>,
    /// The readings under which the board would have errors; they give no route.
    #[serde(rename = "left-out")]
    pub left_out: Vec<LeftOutAnswer>,
    /// What to write on the board so that it is settled and keeps its first route, in order; each comes on top of those before.
    pub settling: Vec<SettlingAnswer>,
    /// The score that the board was read from, when it was read from one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub score: Option<ScoreAnswer>,
}

/// A question of the reading that changes the route.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct QuestionAnswer {
    /// Its name.
    pub question: Question,
    /// What it asks.
    pub asks: String,
    /// Its answers, the default first.
    pub answers: Vec<AnswerWords>,
    /// What an author can write so that the question does not arise.
    pub settle: String,
}

/// An answer to a question of the reading.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct AnswerWords {
    /// Its name.
    pub answer: String,
    /// What it means, and who answers so.
    pub means: String,
    /// The routes that readings with this answer give: their indices in `routes`, counted from 0.
    pub routes: Vec<usize>,
}

/// One of the routes.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RouteAnswer {
    /// The readings that give it, as far as the questions that can matter on this board differ.
    pub readings: Vec<ReadingAnswer>,
    /// The measures in the order in which they are played; of a long route its beginning.
    pub order: Vec<u16>,
    /// The number of steps of the whole route. It may be larger than 2^53.
    pub length: u64,
    /// The first step at which it differs from the first route, counted from 1; one more than the length of the shorter when it is
    /// that one's beginning. Absent for the first route, and where the routes are too long to be compared.
    #[serde(rename = "parts-at", skip_serializing_if = "Option::is_none")]
    pub parts_at: Option<u64>,
    /// How many steps at the end of the route `order` does not hold; absent when it holds them all.
    #[serde(rename = "not-written", skip_serializing_if = "Option::is_none")]
    pub not_written: Option<u64>,
}

/// A reading that gives no route.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct LeftOutAnswer {
    /// The reading.
    pub reading: ReadingAnswer,
    /// The errors that the board would have under it.
    pub findings: Vec<FindingAnswer>,
}

/// One thing to write so that a question no longer changes the route.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SettlingAnswer {
    /// The question that it settles.
    pub question: Question,
    /// What to write, in words.
    pub write: String,
    /// The board with this written on it, as a board line.
    pub line: String,
}

/// Compares the routes that the readings of a board give. `limit` is the most steps of each that are written out, 10 000 when absent.
///
/// # Errors
/// A board with errors, and an open section without a number of plays.
pub fn compare(
    read: &BoardRead,
    asked: &TermsAsked,
    limit: Option<u64>,
) -> Result<CompareAnswer, ErrorAnswer> {
    let terms = Terms::from(*asked);
    let compared = fingerpost::compare(&read.board, &terms)
        .map_err(|refusal| ErrorAnswer::refused(read, &refusal))?;
    let book = read.book();
    let limit = limit.unwrap_or(LIMIT);
    let reading = compared.routes.first().map_or_else(
        || read.board.reading().over(terms.reading),
        |first| first.roadmap.reading(),
    );
    let settling = book.settling(&read.board, &terms, &compared);
    Ok(CompareAnswer {
        version: VERSION,
        settled: compared.settled(),
        reading: ReadingAnswer::new(reading, terms.omit_repeats),
        questions: compared
            .questions
            .iter()
            .map(|&question| question_answer(book, question, &compared))
            .collect(),
        routes: compared
            .routes
            .iter()
            .map(|route| route_answer(route, &terms, limit))
            .collect(),
        left_out: compared
            .left_out
            .iter()
            .map(|left_out| LeftOutAnswer {
                reading: ReadingAnswer::new(left_out.reading, terms.omit_repeats),
                findings: read.findings(&left_out.errors),
            })
            .collect(),
        settling: settling
            .into_iter()
            .map(|it| SettlingAnswer {
                question: it.question,
                write: it.write,
                line: it.board.to_line(),
            })
            .collect(),
        score: read.score(),
    })
}

fn question_answer(book: Phrasebook, question: Question, compared: &Comparison) -> QuestionAnswer {
    let routes_with = |answer: &str| {
        let routes = compared.routes.iter().enumerate();
        routes
            .filter(|(_, route)| {
                let mut readings = route.readings.iter();
                readings.any(|reading| reading.answer(question) == answer)
            })
            .map(|(index, _)| index)
            .collect()
    };
    QuestionAnswer {
        question,
        asks: book.question(question).into_owned(),
        answers: question
            .answers()
            .into_iter()
            .map(|answer| AnswerWords {
                answer: answer.to_owned(),
                means: book
                    .answer(question, answer)
                    .unwrap_or_default()
                    .into_owned(),
                routes: routes_with(answer),
            })
            .collect(),
        settle: book.settle(question).into_owned(),
    }
}

fn route_answer(route: &Alternative, terms: &Terms, limit: u64) -> RouteAnswer {
    let length = route.roadmap.length();
    let most = usize::try_from(limit).unwrap_or(usize::MAX);
    RouteAnswer {
        readings: route
            .readings
            .iter()
            .map(|&reading| ReadingAnswer::new(reading, terms.omit_repeats))
            .collect(),
        order: route
            .roadmap
            .steps()
            .take(most)
            .map(|step| step.measure)
            .collect(),
        length,
        parts_at: route.parts_at.map(|index| index + 1),
        not_written: (length > limit).then(|| length - limit),
    }
}
