//! The verb `explain`.

use fingerpost::{
    Category, Misunderstanding, NamedReading, Phrasebook, Question, Register, RuleInfo, Severity,
    rules,
};
use fingerpost_notation::Rule;
use serde::Deserialize;

use crate::VERSION;
use crate::about::{about, sign, words_of_names};
use crate::error::{ComplaintAnswer, ErrorAnswer, ErrorKind, nearest, shown};
use crate::misread::{self, MisreadPage};
use crate::notices;

/// The clauses of the rulebook, generated from spec/rulebook and proved fresh by a test.
const CLAUSES: &str = include_str!("clauses.json");

/// The pages of the rules, generated from spec/rules and proved fresh by a test.
const PAGES: &str = include_str!("pages.json");

/// The most examples that an explanation shows.
const MOST_EXAMPLES: usize = 3;

/// What a name stands for.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ExplainAnswer {
    /// The version of the answer: 1.
    pub version: u32,
    /// What it is.
    pub kind: ExplainKind,
    /// Its name.
    pub name: String,
    /// What it says, asks or means, in one sentence.
    pub title: String,
    /// The text of its clause, as it stands in the rulebook; for a notice, what it says of a score; for a sign, what to say to a learner.
    pub text: String,
    /// The number of that clause.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clause: Option<String>,
    /// For a rule and a notice: how grave its findings are.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub severity: Option<Severity>,
    /// For a rule: its page.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub page: Option<RulePage>,
    /// For a misunderstanding: its page.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub misunderstanding: Option<MisreadPage>,
    /// For a question: its answers, the default first. For a reading: its answers to the six questions, each after the question's name.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub answers: Vec<NamedAnswer>,
    /// For a question: what an author can write so that it does not arise.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub settle: Option<String>,
    /// For a sign: the names of rules, questions, notices and misunderstandings that speak of it, and the numbers of clauses.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub about: Vec<String>,
    /// For a notice: what to do about it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub todo: Option<String>,
    /// For a notice: a score that gives it, or a board that gives it when it is written as a score.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub score: Option<String>,
    /// On whose word the clause, or the notice, stands.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
    /// Boards from the clause.
    pub examples: Vec<Example>,
}

/// The page of a rule.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RulePage {
    /// What the rule is about.
    pub category: Category,
    /// The version of the catalogue in which it came.
    pub since: String,
    /// What it finds.
    pub what: String,
    /// Why that matters.
    pub why: String,
    /// Boards on which it finds something, and nothing else does; as board lines.
    pub wrong: Vec<String>,
    /// Boards of which nothing is said; as board lines.
    pub right: Vec<String>,
    /// What to tell a beginner.
    pub beginner: String,
    /// On whose word the rule stands.
    pub sources: Vec<String>,
}

/// A page as the generated file holds it.
#[derive(Clone, Debug, Deserialize)]
struct PageText {
    name: String,
    what: String,
    why: String,
    wrong: Vec<String>,
    right: Vec<String>,
    beginner: String,
    sources: Vec<String>,
}

/// What an explanation is of.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum ExplainKind {
    /// A rule by which findings are made.
    Rule,
    /// What is noticed in reading or writing a score.
    Notice,
    /// A clause of the rulebook.
    Clause,
    /// A question of the reading.
    Question,
    /// A reading with a name.
    Reading,
    /// A misunderstanding of learners.
    Misunderstanding,
    /// A sign.
    Sign,
}

/// An answer to a question, with what it means.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct NamedAnswer {
    /// The question.
    pub question: Question,
    /// The answer's name.
    pub answer: String,
    /// What it means, and who answers so.
    pub means: String,
}

/// A board that shows a clause.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Example {
    /// What it shows.
    pub title: String,
    /// The board, as a board line.
    pub board: String,
    /// What comes of it: its order under the default reading and under others, or the rules by which it is refused.
    pub results: Vec<String>,
}

/// A clause as the generated file holds it.
#[derive(Clone, Debug, Deserialize)]
struct Clause {
    number: String,
    title: String,
    text: String,
    #[serde(default)]
    source: Option<String>,
    #[serde(default)]
    examples: Vec<Example>,
}

/// Explains a rule, a notice, a misunderstanding, a clause, a question, a named reading or a sign.
///
/// ```
/// let answer = fingerpost_json::explain("3.2")?;
/// assert_eq!(answer.title, "The end repeat");
/// # Ok::<(), Box<fingerpost_json::ErrorAnswer>>(())
/// ```
///
/// # Errors
/// A name that is none, with the pages that speak of it, or with the nearest name.
pub fn explain(name: &str) -> Result<ExplainAnswer, ErrorAnswer> {
    let clauses = clauses();
    let asked = name.trim();
    of_rule(asked, &clauses)
        .or_else(|| of_notice(asked))
        .or_else(|| of_misunderstanding(asked))
        .or_else(|| of_question(asked, &clauses))
        .or_else(|| of_reading(asked, &clauses))
        .or_else(|| of_clause(asked, &clauses))
        .or_else(|| of_sign(asked, &clauses))
        .ok_or_else(|| unknown(asked, &clauses))
}

/// Every name that can be explained: rules, what is noticed in reading and writing scores, misunderstandings, questions, readings, clauses,
/// signs.
pub fn names() -> Vec<String> {
    let rules = rules().map(|rule| rule.name.to_owned());
    let notices = Rule::ALL.map(|rule| rule.name().to_owned());
    let ideas = Misunderstanding::ALL.map(|idea| idea.name().to_owned());
    let questions = Question::ALL.map(|question| question.name().to_owned());
    let readings = NamedReading::ALL.map(|named| named.name().to_owned());
    let clauses = clauses().into_iter().map(|clause| clause.number);
    rules
        .chain(notices)
        .chain(ideas)
        .chain(questions)
        .chain(readings)
        .chain(clauses)
        .chain(Phrasebook::signs().map(str::to_owned))
        .collect()
}

fn clauses() -> Vec<Clause> {
    // cannot fail: a test reads the generated file.
    serde_json::from_str(CLAUSES).unwrap_or_default()
}

fn from_clause(
    kind: ExplainKind,
    name: &str,
    title: &str,
    number: &str,
    clauses: &[Clause],
) -> ExplainAnswer {
    let clause = clauses.iter().find(|clause| clause.number == number);
    let examples = clause.map(|clause| clause.examples.iter().take(MOST_EXAMPLES).cloned());
    ExplainAnswer {
        version: VERSION,
        kind,
        name: name.to_owned(),
        title: title.to_owned(),
        text: clause.map(|clause| clause.text.clone()).unwrap_or_default(),
        clause: clause.map(|clause| clause.number.clone()),
        severity: None,
        page: None,
        misunderstanding: None,
        answers: Vec::new(),
        settle: None,
        about: Vec::new(),
        todo: None,
        score: None,
        source: clause.and_then(|clause| clause.source.clone()),
        examples: examples.into_iter().flatten().collect(),
    }
}

fn of_rule(name: &str, clauses: &[Clause]) -> Option<ExplainAnswer> {
    let rule = rules().find(|rule| rule.name == name)?;
    Some(ExplainAnswer {
        severity: Some(rule.severity),
        page: page_of(rule),
        ..from_clause(
            ExplainKind::Rule,
            rule.name,
            rule.summary,
            rule.clause,
            clauses,
        )
    })
}

fn of_notice(name: &str) -> Option<ExplainAnswer> {
    let (rule, page) = notices::pages().find(|(rule, _)| rule.name() == name)?;
    Some(ExplainAnswer {
        title: page.title,
        text: page.what,
        severity: Some(rule.severity()),
        todo: Some(page.todo),
        score: Some(page.example),
        source: Some(page.sources.join("; ")),
        ..from_clause(ExplainKind::Notice, rule.name(), "", "", &[])
    })
}

fn of_misunderstanding(name: &str) -> Option<ExplainAnswer> {
    let idea: Misunderstanding = name.parse().ok()?;
    let (clause, page) = misread::page(idea)?;
    let title = Phrasebook::default().misunderstanding(idea);
    Some(ExplainAnswer {
        title: title.into_owned(),
        text: page.what.clone(),
        clause: Some(clause),
        source: Some(page.sources.join("; ")),
        misunderstanding: Some(page),
        ..from_clause(ExplainKind::Misunderstanding, idea.name(), "", "", &[])
    })
}

fn page_of(rule: RuleInfo) -> Option<RulePage> {
    let mut pages = pages();
    pages.find_map(|(it, page)| (it.name == rule.name).then_some(page))
}

/// Every rule with its page.
pub(crate) fn pages() -> impl Iterator<Item = (RuleInfo, RulePage)> {
    // cannot fail: a test reads the generated file.
    let mut pages: Vec<PageText> = serde_json::from_str(PAGES).unwrap_or_default();
    rules().filter_map(move |rule| {
        let at = pages.iter().position(|page| page.name == rule.name)?;
        let page = pages.swap_remove(at);
        let page = RulePage {
            category: rule.category,
            since: rule.since.to_owned(),
            what: page.what,
            why: page.why,
            wrong: page.wrong,
            right: page.right,
            beginner: page.beginner,
            sources: page.sources,
        };
        Some((rule, page))
    })
}

fn of_question(name: &str, clauses: &[Clause]) -> Option<ExplainAnswer> {
    let question = Question::ALL.into_iter().find(|it| it.name() == name)?;
    let book = Phrasebook::default();
    let answers = question.answers().into_iter();
    Some(ExplainAnswer {
        answers: answers
            .map(|answer| named_answer(book, question, answer))
            .collect(),
        settle: Some(book.settle(question).into_owned()),
        ..from_clause(
            ExplainKind::Question,
            question.name(),
            &book.question(question),
            question_clause(question),
            clauses,
        )
    })
}

fn of_reading(name: &str, clauses: &[Clause]) -> Option<ExplainAnswer> {
    let named = NamedReading::ALL.into_iter().find(|it| it.name() == name)?;
    let book = Phrasebook::default();
    let reading = named.reading();
    let title = if named.omits_repeats() {
        "The handbook's answers, with every repeat left out."
    } else {
        "A named reading: its answers to the six questions."
    };
    let clause = if named.omits_repeats() { "6.8" } else { "6.7" };
    let answers = Question::ALL.into_iter();
    Some(ExplainAnswer {
        answers: answers
            .map(|question| named_answer(book, question, reading.answer(question)))
            .collect(),
        ..from_clause(ExplainKind::Reading, named.name(), title, clause, clauses)
    })
}

fn of_clause(number: &str, clauses: &[Clause]) -> Option<ExplainAnswer> {
    let clause = clauses.iter().find(|clause| clause.number == number)?;
    Some(from_clause(
        ExplainKind::Clause,
        &clause.number,
        &clause.title,
        &clause.number,
        clauses,
    ))
}

fn of_sign(name: &str, clauses: &[Clause]) -> Option<ExplainAnswer> {
    let sign = sign(name)?;
    let learner = Phrasebook::of("en", Register::Learner)?;
    let titles = titles(clauses);
    let mut pages = about(name, &titles);
    // A sign as it is drawn has no words.
    if pages.names.is_empty() || name.contains(['|', '[']) {
        pages = about(sign, &titles);
    }
    Some(ExplainAnswer {
        text: learner.sign(sign)?.into_owned(),
        about: pages.names.into_iter().chain(pages.clauses).collect(),
        ..from_clause(
            ExplainKind::Sign,
            sign,
            &Phrasebook::default().sign(sign)?,
            "",
            &[],
        )
    })
}

/// The numbers of the clauses with their titles.
fn titles(clauses: &[Clause]) -> Vec<(&str, &str)> {
    let titles = clauses
        .iter()
        .map(|it| (it.number.as_str(), it.title.as_str()));
    titles.collect()
}

fn named_answer(book: Phrasebook, question: Question, answer: &str) -> NamedAnswer {
    NamedAnswer {
        question,
        answer: answer.to_owned(),
        means: book
            .answer(question, answer)
            .unwrap_or_default()
            .into_owned(),
    }
}

/// The clause of the rulebook that asks a question.
fn question_clause(question: Question) -> &'static str {
    match question {
        Question::RepeatsOnReturn => "6.1",
        Question::JumpInRepeat => "6.2",
        Question::ArmedInRepeat => "6.3",
        Question::Arming => "6.4",
        Question::LoneEndRepeat => "6.5",
        Question::Nested => "6.6",
    }
}

fn unknown(name: &str, clauses: &[Clause]) -> ErrorAnswer {
    let known = names();
    let hint = hint(name, &known, clauses);
    let name = shown(name);
    let message = match hint {
        Some(hint) => format!("no page is called `{name}`; {hint}"),
        None => {
            format!(
                "`{name}` is no rule, notice, misunderstanding, clause, question, reading or sign"
            )
        }
    };
    let numbers = "the number of a clause, such as 3.2";
    let words: Vec<&str> = known
        .iter()
        .map(String::as_str)
        .filter(|name| !name.starts_with(|first: char| first.is_ascii_digit()))
        .collect();
    let complaint = ComplaintAnswer {
        message: message.clone(),
        accepted: Some(format!("{}; or {numbers}", words.join(", "))),
        pointer: Some("/name".to_owned()),
        line: None,
        column: None,
    };
    ErrorAnswer::new(ErrorKind::UnknownName, message).with_complaints(vec![complaint])
}

/// What somebody may have meant who asked for a name that is none: the pages that speak of it, else a name that is near, else the pages
/// that speak of a word that is near.
fn hint(name: &str, known: &[String], clauses: &[Clause]) -> Option<String> {
    let titles = titles(clauses);
    if let Some(pages) = about(name, &titles).told() {
        return Some(format!("about it: {pages}"));
    }
    if let Some(near) = nearest(name, known.iter().map(String::as_str)) {
        return Some(format!("did you mean `{near}`?"));
    }
    let words = words_of_names();
    let word = nearest(name, words.iter().map(String::as_str))?;
    let pages = about(word, &titles).told()?;
    Some(format!("about {word}: {pages}"))
}
