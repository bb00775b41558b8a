//! `fingerpost explain`: the route and the findings of a board in words; or a rule, a misunderstanding, a clause, a question or a reading by
//! name.

use std::path::Path;

use clap::{ArgMatches, Args, Command};
use fingerpost::Phrasebook;
use fingerpost_json::{
    BoardExplained, ErrorKind, ExplainAnswer, ExplainKind, FindingTold, MisreadPage, RegisterName,
    RulePage, explain_board,
};

use super::unroll::CLAUSES;
use super::{Entry, ScoreArgs, TermsArgs, VoiceArgs, opened, parsed, read_board};
use crate::Streams;
use crate::draw::{self, drawn_by};
use crate::input;
use crate::outcome::{Failure, Outcome, refuse, refuse_with};
use crate::report::{self, severity};
use crate::text::{counted, prose, wrapped};
use crate::told;

pub(super) const ENTRY: Entry = Entry {
    name: "explain",
    about: "Explain a board in words, to a learner too: its route and what is found; or a sign, a rule, a misunderstanding, a clause, a question by its name",
    after: "\
Examples:
  fingerpost explain examples/boards/over-the-stile.json
  fingerpost explain --learner --bars '|: 1 | 2 :| 3 D.C. |]'
  fingerpost explain fine-missing
  fingerpost explain repeat-ignored
  fingerpost explain 3.2
  fingerpost explain repeats-on-return
  fingerpost explain musicxml
  fingerpost explain 'To Coda'
  fingerpost explain names

A name that is known is explained by its page. Anything else that is a file, a line with a barline
`|`, or - is read as a board. All flags but --json are for boards.

Exit status: 0 explained; 1 the board has errors, and they are explained in place of its route;
2 there is nothing of that name, or the board cannot be read.",
    args: <ExplainArgs as Args>::augment_args as fn(Command) -> Command,
    run,
};

/// The clause that says what T is, of which other clauses speak.
const PASSES: &str = "1.4";

/// There are too many names to be read below a message.
const ALL_NAMES: &str = "  `fingerpost explain names` lists every name";

/// The most things that are told of a route with --json, and the most findings that are told as text.
const MOST_IN_JSON: usize = 1000;
const MOST_FINDINGS: usize = 40;

const MORE: &str = "`fingerpost unroll` lists any steps.";
const IN_ENGLISH: &str = "(in English: this language has no sentences for findings yet)";

#[derive(Args, Debug)]
struct ExplainArgs {
    /// A board file, a score, a board line or - for standard input; or a name: of a sign, a rule, a notice, a misunderstanding, a question or a reading,
    /// or the number of a clause (`names` lists them all)
    #[arg(value_name = "FILE|LINE|-|NAME")]
    name: String,
    #[command(flatten)]
    voice: VoiceArgs,
    /// The language, by its tag; findings are told in English where the language has no sentences for them
    #[arg(long, value_name = "TAG", default_value = "en")]
    language: String,
    #[command(flatten)]
    terms: TermsArgs,
    #[command(flatten)]
    score: ScoreArgs,
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
        Err(_) if is_board(&args.name) => return board(&args, streams),
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

/// Whether what is not known by its name is a board: standard input, a board line, or a file that is there.
fn is_board(argument: &str) -> bool {
    argument == "-" || input::is_line(argument) || Path::new(argument).exists()
}

fn board(args: &ExplainArgs, streams: &mut Streams<'_>) -> Result<Outcome, Failure> {
    let voice = match args.voice.of(&args.language) {
        Ok(voice) => voice,
        Err(error) => return Err(refuse_with(streams, &error, args.json)),
    };
    let input = opened(&args.name, streams, args.json)?;
    let asked = args.score.asked().for_reading(args.terms.reading);
    let read = read_board(&input, &asked, streams, args.json)?.spoken(voice);
    let most = if args.json {
        MOST_IN_JSON
    } else {
        told::MOST_TOLD
    };
    let explained = match explain_board(&read, &args.terms.terms(), &voice, most) {
        Ok(explained) => explained,
        Err(mut error) => {
            if error.error.kind == ErrorKind::OpenSection && !args.json {
                error.error.message.push_str(" with --plays N");
            }
            return Err(refuse_with(streams, &error, args.json));
        }
    };
    let outcome = match explained.route {
        Some(_) => Outcome::Clean,
        None => Outcome::Found,
    };
    if args.json {
        report::answer(streams, &explained)?;
        return Ok(outcome);
    }
    let width = draw::width(streams);
    let mut text = drawn_by(&read.book(), &read.board, width);
    text.push('\n');
    text.push_str(&report::how_named_and_read(&read, width));
    text.push_str(&of_board(&explained, &voice.book(), width));
    streams.stdout.write_all(text.as_bytes())?;
    Ok(outcome)
}

fn of_board(board: &BoardExplained, book: &Phrasebook, width: usize) -> String {
    let clauses = board.register == RegisterName::Teacher;
    let mut text = String::new();
    if let Some(route) = &board.route {
        // A learner types no commands.
        let more = if clauses { MORE } else { "" };
        text.push_str(&told::route(route, clauses, more, width));
        text.push('\n');
        // What a finding tells in the same language is not told twice.
        let is_told = board.language_of_findings == board.language
            && board.findings.iter().any(|it| it.rule == "not-settled");
        if !route.settled && !is_told {
            text.push_str(&wrapped(&book.unsettled(), width, "", "  "));
            text.push('\n');
        }
    }
    if !board.findings.is_empty() {
        text.push_str("What is found\n");
        if board.language_of_findings != board.language {
            text.push_str(&wrapped(IN_ENGLISH, width, "  ", "  "));
        }
    }
    // The gravest come first where there are too many.
    let mut findings: Vec<&FindingTold> = board.findings.iter().collect();
    let more = findings.len().saturating_sub(MOST_FINDINGS);
    if more > 0 {
        findings.sort_by_key(|it| it.severity);
    }
    for it in findings.into_iter().take(MOST_FINDINGS) {
        text.push_str(&finding(it, clauses, width));
    }
    if more > 0 {
        let more = counted(more as u64, "finding", "findings");
        text.push_str(&if clauses {
            format!("  … {more} more; `fingerpost check` tells of all.\n")
        } else {
            format!("  … {more} more.\n")
        });
    }
    if clauses {
        if !board.findings.is_empty() {
            text.push('\n');
        }
        text.push_str(&wrapped(CLAUSES, width, "", "  "));
    }
    let mut text = text.trim_end().to_owned();
    text.push('\n');
    text
}

fn finding(finding: &FindingTold, clauses: bool, width: usize) -> String {
    let at = finding.at.as_ref().map(|at| format!("{at}: "));
    let mut sentence = format!("{}{}", at.unwrap_or_default(), finding.says);
    if clauses {
        let level = severity(finding.severity);
        let (clause, rule) = (&finding.clause, &finding.rule);
        sentence.push_str(&format!(" [{clause}; {level}, {rule}]"));
    }
    wrapped(&sentence, width, "  - ", "    ")
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
        (ExplainKind::Sign, _) => format!("{} (a sign)", answer.name),
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
            let deal = format!("A board for it: `fingerpost deal --aim {}`.", answer.name);
            text.push_str(&wrapped(&deal, width, "", "  "));
            let line = format!("The rule itself: `fingerpost explain {clause}`.");
            text.push_str(&wrapped(&line, width, "", "  "));
        }
        return text;
    }
    if answer.kind == ExplainKind::Sign {
        text.push_str(&sign_text(answer, width));
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

/// What is said of a sign below its meaning: what to say to a learner, and where to read more.
fn sign_text(answer: &ExplainAnswer, width: usize) -> String {
    let mut text = format!(
        "\nWhat to say to a learner\n{}",
        indented(&answer.text, width)
    );
    let (clauses, pages): (Vec<&str>, Vec<&str>) = answer
        .about
        .iter()
        .map(String::as_str)
        .partition(|name| name.starts_with(|first: char| first.is_ascii_digit()));
    if !answer.about.is_empty() {
        text.push_str("\nTo read more: `fingerpost explain` with one of\n");
    }
    for (kind, names) in [("pages", pages), ("clauses", clauses)] {
        if !names.is_empty() {
            let names = format!("{kind}: {}", names.join(", "));
            text.push_str(&wrapped(&names, width, "  ", "    "));
        }
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
    let boards = format!("What boards for it show: {}.", page.deal.join(", "));
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
