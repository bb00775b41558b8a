//! `fingerpost judge`: the order that a learner gives, or those of a whole class.

use std::path::{Path, PathBuf};

use clap::{ArgMatches, Args, Command};
use fingerpost_json::{
    AnswerAsked, BackingName, BoardRead, ComplaintAnswer, DifferenceName, ErrorAnswer, ErrorKind,
    JudgeAnswer, JudgedAnswer, MisunderstandingName, NamedAsked, VerdictOfAnswer,
};
use serde::Deserialize;

use super::{Entry, ScoreArgs, TermsArgs, VoiceArgs, opened, parsed, read_board};
use crate::Streams;
use crate::class;
use crate::draw::{self, drawn_by};
use crate::input::Input;
use crate::outcome::{Failure, Outcome, refuse, refuse_with};
use crate::report::{self, shown_name};
use crate::text::{counted, wrapped};

pub(super) const ENTRY: Entry = Entry {
    name: "judge",
    about: "Judge the order that a learner gives, or a whole class, and name the misunderstanding behind it",
    after: "\
Examples:
  fingerpost judge '1 |: 2 | 3 :| 4 |]' '1-4'
  fingerpost judge examples/boards/over-the-stile.json 1-6 3-6 7 8
  fingerpost judge --class answers.csv examples/boards/over-the-stile.json
  fingerpost judge --learner examples/boards/over-the-stile.json 1-6 3-6 7 8
  fingerpost judge --json board.json answers.json

An answer is typed as measures with blanks between, 1-4 for measures 1 to 4, and 3(8va R.H.) where
octaves are told. An order that another published reading gives is right under it, never wrong.
A class is a table with the columns `pupil` and `answer`, as a spreadsheet saves it (CSV, UTF-8).
Make the column of answers text: a spreadsheet takes 1-4 for a date.
A JSON file holds one answer, \"1-4 1 2 5\" or [1, 2, 1, 2], or many:
[{\"pupil\": \"A1\", \"answer\": \"1-4 1 2 5\"}, {\"pupil\": \"B2\", \"answer\": [1, 2, 3]}]

What pupils answer stays on this machine: nothing is sent, and nothing is stored. Write initials
or numbers in place of names; the rules of your school and your country for children's data come
first.

Exit status: 0 all right, also under another reading; 1 some not right, or not readable among
others; 2 the answer, the class or the board cannot be read.",
    args: <JudgeArgs as Args>::augment_args as fn(Command) -> Command,
    run,
};

#[derive(Args, Debug)]
struct JudgeArgs {
    /// A board file, a score, a board line, or - for standard input
    #[arg(value_name = "FILE|LINE|-")]
    board: String,
    /// The answer: measures such as 1-4 1 2 5, or a JSON file (NAME.json) of one answer or of many
    #[arg(value_name = "ANSWER|FILE.json", required_unless_present = "class")]
    answer: Vec<String>,
    /// A whole class: a CSV file with the columns pupil (initials or a number) and answer
    #[arg(long, value_name = "FILE.csv", conflicts_with = "answer")]
    class: Option<PathBuf>,
    #[command(flatten)]
    terms: TermsArgs,
    #[command(flatten)]
    score: ScoreArgs,
    #[command(flatten)]
    voice: VoiceArgs,
    /// Print one JSON object instead of text
    #[arg(long, conflicts_with = "learner")]
    json: bool,
}

/// What a JSON file of answers holds.
const IN_A_FILE: &str = r#"an order such as "1-4 1 2 5" or [1, 2, 1, 2], or many: [{"pupil": "A1", "answer": "1-4 1 2 5"}]"#;

/// What is to be judged.
enum Asked {
    One(AnswerAsked),
    Many(Vec<NamedAsked>),
}

/// A JSON file of answers, when it is an object.
#[derive(Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
struct InFile {
    #[serde(default)]
    answer: Option<AnswerAsked>,
    #[serde(default)]
    answers: Option<Vec<NamedAsked>>,
}

fn run(matches: &ArgMatches, streams: &mut Streams<'_>) -> Result<Outcome, Failure> {
    let mut args: JudgeArgs = parsed(matches)?;
    let input = opened(&args.board, streams, args.json)?;
    let asked = args.score.asked().for_reading(args.terms.reading);
    let voice = args.voice.measures.voice();
    let read = read_board(&input, &asked, streams, args.json)?.spoken(voice);
    let asked = match asked_for(&mut args) {
        Ok(asked) => asked,
        Err(error) => return Err(refuse_with(streams, &error, args.json)),
    };
    let terms = args.terms.terms();
    let is_one = matches!(asked, Asked::One(_));
    let judged = match asked {
        Asked::One(answer) => fingerpost_json::judge_one(&read, &terms, answer),
        Asked::Many(answers) => fingerpost_json::judge(&read, &terms, answers),
    };
    let judged = match judged {
        Ok(judged) => judged,
        Err(error) => return Err(refused(streams, &input, &read, &error, args.json)),
    };
    if args.json {
        report::answer(streams, &judged)?;
    } else {
        let width = draw::width(streams);
        let mut text = drawn_by(&read.book(), &read.board, width);
        text.push('\n');
        text.push_str(&report::how_named_and_read(&read, width));
        let learner = args.voice.learner;
        match judged.answers.as_slice() {
            [only] if is_one && learner => text.push_str(&to_the_pupil(only, width, "")),
            [only] if is_one => text.push_str(&one(only, width)),
            all if learner => text.push_str(&to_each_pupil(all, width)),
            _ => text.push_str(&class_told(&judged, width)),
        }
        streams.stdout.write_all(text.as_bytes())?;
    }
    let summary = &judged.summary;
    if summary.wrong + summary.not_readable == 0 {
        Ok(Outcome::Clean)
    } else {
        Ok(Outcome::Found)
    }
}

/// What is to be judged: typed, in a file, or of a class.
fn asked_for(args: &mut JudgeArgs) -> Result<Asked, ErrorAnswer> {
    if let Some(path) = &args.class {
        return class::read(path).map(Asked::Many);
    }
    if let [only] = args.answer.as_slice() {
        let path = Path::new(only);
        if path
            .extension()
            .is_some_and(|it| it.eq_ignore_ascii_case("json"))
        {
            return in_file(path);
        }
    }
    Ok(Asked::One(AnswerAsked::Text(args.answer.join(" "))))
}

fn in_file(path: &Path) -> Result<Asked, ErrorAnswer> {
    let text = class::text_of(path)?;
    let name = path.display();
    let no_answer = |error: serde_json::Error| {
        ErrorAnswer::new(
            ErrorKind::Request,
            format!("{name} is no answer: {error}\n  accepted: {IN_A_FILE}"),
        )
    };
    match serde_json::from_str::<Vec<NamedAsked>>(&text) {
        Ok(many) if !many.is_empty() => return Ok(Asked::Many(many)),
        Err(error) if begins_with_a_pupil(&text) => return Err(no_answer(error)),
        _ => {}
    }
    if !text.trim_start().starts_with('{') {
        return serde_json::from_str(&text)
            .map(Asked::One)
            .map_err(no_answer);
    }
    let file: InFile = serde_json::from_str(&text).map_err(no_answer)?;
    match (file.answer, file.answers) {
        (Some(one), None) => Ok(Asked::One(one)),
        (None, Some(many)) => Ok(Asked::Many(many)),
        _ => Err(ErrorAnswer::new(
            ErrorKind::Request,
            format!("{name} has to hold either `answer` or `answers`"),
        )),
    }
}

/// Whether a text is a list that begins with an answer of many, and not with a step of one.
fn begins_with_a_pupil(text: &str) -> bool {
    let list: Vec<serde_json::Value> = serde_json::from_str(text).unwrap_or_default();
    let first = list.first().and_then(serde_json::Value::as_object);
    first.is_some_and(|first| !first.contains_key("measure"))
}

/// Nothing can be judged: the findings of a board with errors, or what cannot be read.
fn refused(
    streams: &mut Streams<'_>,
    input: &Input,
    read: &BoardRead,
    error: &ErrorAnswer,
    json: bool,
) -> Failure {
    if json || error.error.findings.is_empty() {
        return refuse_with(streams, error, json);
    }
    let text = report::findings(&input.name, read, &error.error.findings);
    match streams.stderr.write_all(text.as_bytes()) {
        Ok(()) => refuse(streams, "a board with errors has no right order"),
        Err(error) => error.into(),
    }
}

fn one(answer: &JudgedAnswer, width: usize) -> String {
    let mut text = String::new();
    for sentence in &answer.teacher {
        text.push_str(&wrapped(sentence, width, "", "  "));
    }
    text.push_str("\nTo the pupil:\n");
    text.push_str(&to_the_pupil(answer, width, "  "));
    text
}

/// What is said to the pupil alone.
fn to_the_pupil(answer: &JudgedAnswer, width: usize, indent: &str) -> String {
    let next = format!("{indent}  ");
    let sentences = answer.learner.iter();
    sentences
        .map(|sentence| wrapped(sentence, width, indent, &next))
        .collect()
}

/// What is said to each pupil of a class: nothing of the others.
fn to_each_pupil(answers: &[JudgedAnswer], width: usize) -> String {
    let mut text = String::new();
    for (answer, number) in answers.iter().zip(1..) {
        text.push_str(&format!("{}\n", whose(answer, number)));
        if let Some(unread) = &answer.complaint {
            let line = format!("This answer cannot be read: {}", complaint(unread));
            text.push_str(&wrapped(&line, width, "  ", "    "));
        }
        text.push_str(&to_the_pupil(answer, width, "  "));
        text.push('\n');
    }
    text
}

/// Whose answer it is: the pupil, else the number of the answer.
fn whose(answer: &JudgedAnswer, number: usize) -> String {
    let pupil = answer.pupil.as_deref().map(str::trim);
    match pupil.filter(|pupil| !pupil.is_empty()) {
        Some(pupil) => shown_name(pupil),
        None => format!("answer {number}"),
    }
}

/// Whose answers a misunderstanding explains, as the summary counts them: the first explanation of an answer that is not right.
fn whose_all(answers: &[JudgedAnswer], idea: MisunderstandingName) -> Vec<String> {
    let pairs = answers.iter().zip(1..);
    let explained = pairs.filter(|(answer, _)| {
        let first = answer.explanations.first();
        answer.verdict == VerdictOfAnswer::Wrong
            && first.is_some_and(|first| first.misunderstandings.contains(&idea))
    });
    explained
        .map(|(answer, number)| whose(answer, number))
        .collect()
}

fn class_told(judged: &JudgeAnswer, width: usize) -> String {
    let mut text = String::new();
    for (answer, number) in judged.answers.iter().zip(1..) {
        let pupil = whose(answer, number);
        let line = format!("{pupil}: {}", verdict(answer));
        text.push_str(&wrapped(&line, width, "  ", "      "));
    }
    let summary = &judged.summary;
    let nobody = match summary.published_by_nobody {
        0 => String::new(),
        some => format!(" ({some} of them under one that nobody has published)"),
    };
    let under = format!("right under another reading{nobody}");
    let mut counts = vec![format!("{} right", summary.right)];
    for (number, words) in [
        (summary.right_under, under.as_str()),
        (summary.wrong, "not yet right"),
        (summary.not_readable, "not readable"),
    ] {
        if number > 0 {
            counts.push(format!("{number} {words}"));
        }
    }
    let all = counted(judged.answers.len() as u64, "answer", "answers");
    text.push_str(&format!("\n{all}: {}.\n", counts.join(", ")));
    let twice = told_twice(&judged.answers);
    if !twice.is_empty() {
        let line = format!("More than one answer each: {}.", twice.join(", "));
        text.push_str(&wrapped(&line, width, "", "  "));
    }
    if summary.not_readable > 0 {
        let hint =
            "Where a spreadsheet has taken 1-4 for a date, make the column text and type it again.";
        text.push_str(&wrapped(hint, width, "", "  "));
    }
    if !summary.misunderstandings.is_empty() {
        text.push_str("\nWhat comes up:\n");
    }
    for idea in &summary.misunderstandings {
        let name = idea.misunderstanding.0.name();
        let who = whose_all(&judged.answers, idea.misunderstanding).join(", ");
        let line = format!("{} {name} ({who}): {}", idea.answers, idea.what);
        text.push_str(&wrapped(&line, width, "  ", "      "));
    }
    if let Some(idea) = summary.misunderstandings.first() {
        let name = idea.misunderstanding.0.name();
        let next = summary.teach_next.join(", ");
        let line = format!(
            "Teach next: {next}. How: `fingerpost explain {name}`. Boards for it: `fingerpost deal --aim {name}`."
        );
        text.push_str(&wrapped(&line, width, "", "  "));
    }
    text
}

/// The pupils with more than one answer.
fn told_twice(answers: &[JudgedAnswer]) -> Vec<String> {
    let mut pupils: Vec<&str> = answers
        .iter()
        .filter_map(|it| it.pupil.as_deref())
        .collect();
    pupils.retain(|pupil| !pupil.is_empty());
    pupils.sort_unstable();
    let pairs = pupils.iter().zip(pupils.iter().skip(1));
    let mut twice: Vec<&str> = pairs
        .filter(|(one, other)| one == other)
        .map(|it| *it.0)
        .collect();
    twice.dedup();
    twice.into_iter().map(shown_name).collect()
}

/// The verdict on one answer of a class, in a line.
fn verdict(answer: &JudgedAnswer) -> String {
    match answer.verdict {
        VerdictOfAnswer::Right => "right".to_owned(),
        VerdictOfAnswer::RightUnder => match answer.backing {
            Some(BackingName::Nobody) => "right only under a reading that nobody has published",
            Some(BackingName::Files) => "right under another reading, of computer files alone",
            _ => "right under another reading",
        }
        .to_owned(),
        VerdictOfAnswer::NotReadable => {
            let words = answer.complaint.as_ref().map(complaint);
            format!("not readable: {}", words.unwrap_or_default())
        }
        _ => {
            let explained = answer.explanations.iter().map(|explanation| {
                let names = explanation.misunderstandings.iter();
                let names: Vec<&str> = names.map(|idea| idea.0.name()).collect();
                let mut names = names.join(" and ");
                if explanation.reading.is_some() {
                    names.push_str(" under another reading");
                }
                match (explanation.slips, explanation.steps) {
                    (Some(slips), _) => {
                        format!("{names}, with {}", counted(slips as u64, "slip", "slips"))
                    }
                    (None, Some(steps)) => format!("{names}, up to step {steps}"),
                    (None, None) => names,
                }
            });
            let explained: Vec<String> = explained.collect();
            let first = answer.teacher.first().cloned().unwrap_or_default();
            let slips = answer.credit.as_ref().and_then(|credit| credit.slips);
            let breaks_off =
                answer.difference.as_ref().map(|it| it.kind) == Some(DifferenceName::TooShort);
            if answer.with_repeats.is_some() {
                return format!("right with the repeats that are to be left out. {first}");
            }
            if let Some(near) = &answer.near {
                let reading = match answer.near_too.len() {
                    0 => "another reading".to_owned(),
                    more => format!("each of {} other readings", more + 1),
                };
                return match (near.slips, near.steps) {
                    (None, Some(steps)) => {
                        let steps = counted(steps as u64, "step", "steps");
                        format!("{steps} right under {reading}. {first}")
                    }
                    (slips, _) => {
                        let slips = counted(slips.unwrap_or(0) as u64, "slip", "slips");
                        format!("{slips} from {reading}. {first}")
                    }
                };
            }
            match (explained.is_empty(), slips.filter(|_| !breaks_off)) {
                (false, _) => format!("{}. {first}", explained.join(", or ")),
                (true, Some(slips)) => {
                    format!("{}. {first}", counted(slips as u64, "slip", "slips"))
                }
                (true, None) => first,
            }
        }
    }
}

fn complaint(complaint: &ComplaintAnswer) -> String {
    match complaint.column {
        Some(column) => format!("{} (character {column})", complaint.message),
        None => complaint.message.clone(),
    }
}
