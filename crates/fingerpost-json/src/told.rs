//! The verb `explain`, of a board: its whole route and its findings in words.

use std::ops::Range;

use fingerpost::{
    Comparison, Finding, MeasureWord, Phrasebook, Question, Refusal, Register, RouteWords,
    Severity, Terms, Told,
};
use serde::{Deserialize, Serialize};

use crate::VERSION;
use crate::error::{ErrorAnswer, ErrorKind, nearest, shown};
use crate::explain::ExplainAnswer;
use crate::request::request;
use crate::score::ScoreAnswer;
use crate::source::BoardRead;
use crate::terms::{ReadingAnswer, TermsAsked};

/// The most things that are told of a route in an answer.
pub(crate) const MOST_TOLD: usize = 1000;

request! {
    /// `explain`: by its name a sign, a rule, a notice of the reading of scores, a misunderstanding, a clause of the rulebook, a question of the reading or a
    /// named reading; or, of a board, its whole route and its findings in words.
    #[cfg_attr(
        feature = "schema",
        schemars(extend("anyOf" = [
            { "required": ["name"] }, { "required": ["board"] }, { "required": ["line"] },
            { "required": ["text"] }, { "required": ["score"] }
        ]))
    )]
    ExplainRequest = "explain", reading "The reading; the board's own answers outrank it." {
        /// Its name: `segno-missing`, `3.2`, `repeats-on-return`, `musicxml`. Given alone; absent where a board is given.
        #[serde(default)]
        pub(crate) name: Option<String>,
        /// To whom it is explained; to the teacher when absent.
        #[serde(default)]
        pub(crate) register: RegisterName,
        /// The tag of the language; `en` when absent.
        #[serde(default)]
        pub(crate) language: Option<String>,
    }
}

impl ExplainRequest<'_> {
    pub(crate) fn voice(&self) -> Result<Voice, ErrorAnswer> {
        Voice::new(
            self.language.as_deref().unwrap_or("en"),
            self.register,
            self.measures,
        )
    }
}

/// To whom it is explained.
#[derive(Clone, Copy, Default, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum RegisterName {
    /// The teacher: with the trade's words, and the clause.
    #[default]
    Teacher,
    /// The learner, who may be nine years old.
    Learner,
}

/// What a measure is called.
#[derive(Clone, Copy, Default, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum MeasureName {
    /// Measure, as in America.
    #[default]
    Measure,
    /// Bar, as in Britain.
    Bar,
}

/// How somebody is spoken to: in English, the teacher, of measures, when nothing else is asked for.
#[derive(Clone, Copy, Default, Debug)]
pub struct Voice {
    book: Phrasebook,
    register: RegisterName,
    measures: MeasureName,
}

impl Voice {
    /// A voice in a language, by its tag.
    ///
    /// # Errors
    /// A language of which there are no phrases, with those there are.
    pub fn new(
        language: &str,
        register: RegisterName,
        measures: MeasureName,
    ) -> Result<Voice, ErrorAnswer> {
        let to = match register {
            RegisterName::Teacher => Register::Teacher,
            RegisterName::Learner => Register::Learner,
        };
        let word = match measures {
            MeasureName::Measure => MeasureWord::Measure,
            MeasureName::Bar => MeasureWord::Bar,
        };
        let Some(book) = Phrasebook::of(language, to) else {
            let known: Vec<&str> = Phrasebook::languages().collect();
            let hint = nearest(language, known.iter().copied());
            let hint = hint.map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
            let message = format!(
                "there are no phrases in the language `{}`; there are: {}{hint}",
                shown(language),
                known.join(", ")
            );
            return Err(ErrorAnswer::new(ErrorKind::Request, message));
        };
        Ok(Voice {
            book: book.with_measures(word),
            register,
            measures,
        })
    }

    /// The usual voice with a word for a measure.
    pub fn of_measures(measures: MeasureName) -> Voice {
        Voice::new("en", RegisterName::Teacher, measures).unwrap_or_default()
    }

    /// Its phrases.
    pub fn book(&self) -> Phrasebook {
        self.book
    }

    /// To whom it speaks.
    pub fn register(&self) -> RegisterName {
        self.register
    }
}

/// The answer to `explain`: of a name, or of a board.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(untagged)]
pub enum ExplainedAnswer {
    /// What a name stands for.
    Name(Box<ExplainAnswer>),
    /// A board in words.
    Board(Box<BoardExplained>),
}

/// A board in words.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct BoardExplained {
    /// The version of the answer: 1.
    pub version: u32,
    /// `board`.
    #[cfg_attr(feature = "schema", schemars(extend("const" = "board")))]
    pub kind: String,
    /// The language of what is said of the route.
    pub language: String,
    /// The language of what is said of findings: English where the language has no sentences for them.
    pub language_of_findings: String,
    /// To whom it is explained.
    pub register: RegisterName,
    /// What a measure is called in English.
    pub measures: MeasureName,
    /// The route; absent when the board has errors.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub route: Option<RouteTold>,
    /// What the rules find on the board, in board order.
    pub findings: Vec<FindingTold>,
    /// The score that the board was read from, when it was read from one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub score: Option<ScoreAnswer>,
}

/// A route in words.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RouteTold {
    /// What is told, first to last.
    pub told: Vec<ToldAnswer>,
    /// Why the route ends; absent when it is not told to its end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ending: Option<String>,
    /// How many of the steps asked for are not told; 0 when all are. It may be larger than 2^53.
    pub left: u64,
    /// The number of steps of the whole route. It may be larger than 2^53.
    pub length: u64,
    /// The reading under which the board was read.
    pub reading: ReadingAnswer,
    /// Whether every reading under which the board has no errors gives this route.
    pub settled: bool,
    /// The questions whose answer changes the route; none for a settled board.
    pub questions: Vec<Question>,
}

/// One thing that is told of a route: measures played one after the other, or moves that come again.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ToldAnswer {
    /// What is said.
    pub says: String,
    /// The measures played, the first and the last; absent where moves come again.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub measures: Option<[u16; 2]>,
    /// The step that the first of them is, counted from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub step: Option<u64>,
    /// The clause of the rulebook by which the road comes there.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clause: Option<String>,
    /// Where moves come again: which, and how often.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub again: Option<AgainAnswer>,
}

/// Moves that come again.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct AgainAnswer {
    /// How many of the moves told last come again.
    pub moves: u32,
    /// How often.
    pub times: u64,
}

/// A finding in words.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct FindingTold {
    /// The rule's name.
    pub rule: String,
    /// How grave it is.
    pub severity: Severity,
    /// Where it is: `At the end of measure 4`; absent when it is about the whole board.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// What it says.
    pub says: String,
    /// The clause of the rulebook on which its rule stands.
    pub clause: String,
}

/// The first route of a comparison in words, or of it the moves that play some `steps`, counted from 0; `None` when there is none. At most
/// `most` things are told.
pub fn route_told(
    read: &BoardRead,
    compared: &Comparison,
    terms: &Terms,
    voice: &Voice,
    most: usize,
    steps: Option<Range<u64>>,
) -> Option<RouteTold> {
    let roadmap = &compared.routes.first()?.roadmap;
    let words = match steps {
        None => voice.book.route(&read.board, roadmap, most),
        Some(steps) => voice.book.route_between(&read.board, roadmap, steps, most),
    };
    Some(RouteTold {
        length: roadmap.length(),
        reading: ReadingAnswer::new(roadmap.reading(), terms.omit_repeats),
        settled: compared.settled(),
        questions: compared.questions.clone(),
        left: words.left,
        ending: words.ending.clone(),
        told: told(words),
    })
}

/// Explains a board: its route move by move, and its findings. At most `most` things are told of the route.
///
/// # Errors
/// An open section without a number of plays, or a limit of the library.
pub fn explain_board(
    read: &BoardRead,
    asked: &TermsAsked,
    voice: &Voice,
    most: usize,
) -> Result<BoardExplained, ErrorAnswer> {
    let terms = Terms::from(*asked);
    let book = &voice.book;
    let mut findings = fingerpost::check(&read.board);
    let route = match fingerpost::compare(&read.board, &terms) {
        Ok(compared) => {
            // On these terms there may be no question left.
            if compared.settled() {
                findings.retain(|it| it.rule != "not-settled");
            }
            route_told(read, &compared, &terms, voice, most, None)
        }
        Err(Refusal::Errors(errors)) => {
            // Under a reading that was asked for there may be others.
            if findings.iter().all(|it| it.severity != Severity::Error) {
                findings = errors;
            }
            None
        }
        Err(refusal) => return Err(ErrorAnswer::refused(read, &refusal)),
    };
    let of_findings = if book.speaks_of_findings() {
        book.language()
    } else {
        "en"
    };
    Ok(BoardExplained {
        version: VERSION,
        kind: "board".to_owned(),
        language: book.language().to_owned(),
        language_of_findings: of_findings.to_owned(),
        register: voice.register,
        measures: voice.measures,
        route,
        findings: findings.iter().map(|it| finding(read, book, it)).collect(),
        score: read.score(),
    })
}

fn told(words: RouteWords) -> Vec<ToldAnswer> {
    let answer = |told| match told {
        Told::Move(it) => ToldAnswer {
            says: it.says(),
            measures: Some([it.run.from, it.run.to]),
            step: Some(it.run.index + 1),
            clause: Some(it.clause.to_owned()),
            again: None,
        },
        Told::Again { moves, times, says } => ToldAnswer {
            says,
            measures: None,
            step: None,
            clause: None,
            again: Some(AgainAnswer { moves, times }),
        },
    };
    words.told.into_iter().map(answer).collect()
}

fn finding(read: &BoardRead, book: &Phrasebook, finding: &Finding) -> FindingTold {
    let words = book.told(&read.board, finding);
    FindingTold {
        rule: finding.rule.to_owned(),
        severity: finding.severity,
        at: words.at,
        says: words.says,
        clause: words.clause.to_owned(),
    }
}
