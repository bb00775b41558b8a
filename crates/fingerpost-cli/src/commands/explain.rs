//! `fingerpost explain`: a rule, a misunderstanding, a clause, a question or a reading by name.

use clap::{ArgMatches, Args, Command};
use fingerpost_json::{ExplainAnswer, ExplainKind, MisreadPage, RulePage};

use super::{Entry, parsed};
use crate::Streams;
use crate::draw;
use crate::outcome::{Failure, Outcome, refuse, refuse_with};
use crate::report::{self, severity};
use crate::text::{prose, wrapped};

pub(super) const ENTRY: Entry = Entry {
    name: "explain",
    about: "Explain a rule, a notice on a score, a misunderstanding, a clause, a question or a reading by its name",
    after: "\
Examples:
  fingerpost explain fine-missing
  fingerpost explain 3.2
  fingerpost explain repeats-on-return
  fingerpost explain repeat-ignored
  fingerpost explain musicxml
  fingerpost explain names",
    args: <ExplainArgs as Args>::augment_args as fn(Command) -> Command,
    run,
};

/// The clause that says what T is, of which other clauses speak.
const PASSES: &str = "1.4";

/// There are too many names to be read below a message.
const ALL_NAMES: &str = "  `fingerpost explain names` lists every name";

#[derive(Args, Debug)]
struct ExplainArgs {
    /// A rule, a notice, a misunderstanding, the number of a clause, a question or a reading; `names` lists them all
    #[arg(value_name = "NAME")]
    name: String,
    /// Print one JSON object instead of text
    #[arg(long)]
    json: bool,
}

fn run(matches: &ArgMatches, streams: &mut Streams<'_>) -> Result<Outcome, Failure> {
    let args: ExplainArgs = parsed(matches)?;
    if args.name == "names" && !args.json {
        for name in fingerpost_json::names() {
            writeln!(streams.stdout, "{name}")?;
        }
        return Ok(Outcome::Clean);
    }
    let answer = match fingerpost_json::explain(&args.name) {
        Ok(answer) => answer,
        Err(error) if args.json => return Err(refuse_with(streams, &error, true)),
        Err(error) => {
            let message = format!("{}\n{ALL_NAMES}", error.error.message);
            return Err(refuse(streams, &message));
        }
    };
    if args.json {
        report::answer(streams, &answer)?;
        return Ok(Outcome::Clean);
    }
    let text = explained(&answer, draw::width(streams));
    streams.stdout.write_all(text.as_bytes())?;
    Ok(Outcome::Clean)
}

fn explained(answer: &ExplainAnswer, width: usize) -> String {
    let head = match (answer.kind, answer.severity) {
        (ExplainKind::Rule, Some(level)) => format!("{} ({})", answer.name, severity(level)),
        (ExplainKind::Notice, Some(level)) => {
            format!("{} ({}, of a score)", answer.name, severity(level))
        }
        (ExplainKind::Clause, _) => format!("Clause {}", answer.name),
        (ExplainKind::Question, _) => format!("{} (a question of the reading)", answer.name),
        (ExplainKind::Reading, _) => format!("{} (a reading)", answer.name),
        (ExplainKind::Misunderstanding, _) => format!("{} (a misunderstanding)", answer.name),
        _ => answer.name.clone(),
    };
    let mut text = format!("{head}\n");
    text.push_str(&wrapped(&answer.title, width, "", ""));
    if let Some(page) = &answer.page {
        text.push_str(&page_text(page, width));
        if let Some(clause) = &answer.clause {
            let line =
                format!("Clause {clause} of the rulebook: `fingerpost explain {clause}` shows it.");
            text.push_str(&wrapped(&line, width, "", "  "));
        }
        return text;
    }
    if let Some(page) = &answer.misunderstanding {
        text.push_str(&misread_text(page, width));
        if let Some(clause) = &answer.clause {
            let line = format!("The rule itself: `fingerpost explain {clause}`.");
            text.push_str(&wrapped(&line, width, "", "  "));
        }
        return text;
    }
    if answer.kind == ExplainKind::Notice {
        text.push_str(&notice_text(answer, width));
    }
    let question = answer.kind == ExplainKind::Question;
    if !answer.answers.is_empty() {
        text.push('\n');
    }
    for it in &answer.answers {
        let line = if question {
            format!("{}: {}", it.answer, it.means)
        } else {
            format!("{}: {}. {}", it.question.name(), it.answer, it.means)
        };
        text.push_str(&wrapped(&line, width, "  ", "    "));
    }
    if let Some(settle) = &answer.settle {
        text.push_str("\nTo settle it\n");
        text.push_str(&wrapped(settle, width, "  ", "  "));
    }
    if let Some(clause) = &answer.clause {
        if answer.kind == ExplainKind::Clause {
            text.push('\n');
        } else {
            text.push_str(&format!("\nClause {clause}\n"));
        }
        text.push_str(&prose(&answer.text, width));
        let mut words = answer.text.split(|c: char| !c.is_alphanumeric());
        if answer.name != PASSES && words.any(|word| word == "T") {
            let line = format!("T is the number of passes of a section (clause {PASSES}).");
            text.push_str(&wrapped(&line, width, "", ""));
        }
    }
    if !answer.examples.is_empty() {
        text.push_str("\nExamples\n");
    }
    for example in &answer.examples {
        text.push_str(&wrapped(&example.title, width, "  ", "  "));
        text.push_str(&format!("    {}\n", example.board));
        for result in &example.results {
            text.push_str(&wrapped(result, width, "    ", "      "));
        }
    }
    if let Some(source) = &answer.source {
        text.push('\n');
        text.push_str(&wrapped(&format!("Source: {source}"), width, "", "  "));
    }
    text
}

/// The page of what is noticed of a score, from its first heading on.
fn notice_text(answer: &ExplainAnswer, width: usize) -> String {
    let todo = answer.todo.as_deref().unwrap_or_default();
    let mut text = String::new();
    for (heading, prose) in [("What", answer.text.as_str()), ("What to do", todo)] {
        text.push_str(&format!("\n{heading}\n{}", indented(prose, width)));
    }
    text.push_str("\nFor example\n");
    for line in answer.score.iter().flat_map(|score| score.lines()) {
        text.push_str(&format!("    {line}\n"));
    }
    text
}

/// The page of a misunderstanding, from its first heading on.
fn misread_text(page: &MisreadPage, width: usize) -> String {
    let mut text = format!("\nWhat it is\n{}", indented(&page.what, width));
    text.push_str(&format!(
        "\nThe board\n    {}\n    right:     {}\n    the pupil: {}\n",
        page.board, page.right, page.pupil
    ));
    for (heading, prose) in [
        ("What the pupil does", &page.does),
        ("What to say", &page.say),
        ("Practise next", &page.practise),
    ] {
        text.push_str(&format!("\n{heading}\n{}", indented(prose, width)));
    }
    let boards = format!("Boards for it: {}.", page.deal.join(", "));
    text.push_str(&wrapped(&boards, width, "  ", "    "));
    let sources = format!("Source: {}", page.sources.join("; "));
    text.push('\n');
    text.push_str(&wrapped(&sources, width, "", "  "));
    text
}

/// The page of a rule, from its first heading on.
fn page_text(page: &RulePage, width: usize) -> String {
    let mut text = String::new();
    for (heading, prose) in [("What", &page.what), ("Why", &page.why)] {
        text.push_str(&format!("\n{heading}\n"));
        text.push_str(&indented(prose, width));
    }
    for (heading, boards) in [("Wrong", &page.wrong), ("Right", &page.right)] {
        text.push_str(&format!("\n{heading}\n"));
        for board in boards {
            text.push_str(&format!("    {board}\n"));
        }
    }
    text.push_str("\nWhat to tell a beginner\n");
    text.push_str(&indented(&page.beginner, width));
    let sources = format!("Source: {}", page.sources.join("; "));
    text.push('\n');
    text.push_str(&wrapped(&sources, width, "", "  "));
    let category = page.category.name();
    text.push_str(&format!("Category {category}, since {}.\n", page.since));
    text
}

fn indented(prose: &str, width: usize) -> String {
    let lines = prose.lines().map(|line| wrapped(line, width, "  ", "  "));
    lines.collect()
}
