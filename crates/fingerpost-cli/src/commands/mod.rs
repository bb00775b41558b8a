//! The commands, in one table. The help, the man page and the completions are made from it.

mod board;
mod check;
mod compare;
mod completions;
mod deal;
mod explain;
mod hand;
mod how_long;
mod judge;
mod manual;
mod missing;
mod places;
mod play;
mod schema;
mod unroll;
mod write_out;

use clap::{ArgMatches, Args, Command};

use fingerpost_json::{BoardRead, ErrorAnswer, MeasureName, RegisterName, ScoreAsked, Voice};

use crate::Streams;
use crate::input::Input;
use crate::outcome::{Failure, Outcome};
use crate::report;

/// A command.
pub(crate) struct Entry {
    name: &'static str,
    about: &'static str,
    /// What else there is to say, with examples.
    after: &'static str,
    args: fn(Command) -> Command,
    run: fn(&ArgMatches, &mut Streams<'_>) -> Result<Outcome, Failure>,
}

/// Every command, in the order of the help.
pub(crate) const COMMANDS: &[Entry] = &[
    unroll::ENTRY,
    check::ENTRY,
    compare::ENTRY,
    places::ENTRY,
    missing::ENTRY,
    judge::ENTRY,
    play::ENTRY,
    how_long::ENTRY,
    explain::ENTRY,
    deal::ENTRY,
    hand::ENTRY,
    board::ENTRY,
    write_out::ENTRY,
    schema::ENTRY,
    completions::ENTRY,
    manual::ENTRY,
];

const ABOUT: &str =
    "Reads the road signs of a score and says in which order its measures are played, and why";

const AFTER: &str = "\
Examples:
  fingerpost unroll '|: 1 | 2 | [1. 3 :| [2. 4 Fine ] | 5 D.C. al Fine |]'
  fingerpost unroll examples/boards/over-the-stile.json
  fingerpost check examples/boards
  fingerpost compare '1 | 2 :| 3 D.C. |]'

A board is a file (JSON), a board line (an argument with a barline `|` in it), or `-` for standard input.
A score is read as the board of its signs: MusicXML, plain or compressed, MNX, or a tune in ABC, told by what is in the file.

Exit status: 0 done and nothing wrong; 1 findings of the level asked for; 2 the request could not be carried out.
With --json an answer is one JSON object on standard output, and a complaint is one on standard error.";

/// The whole command line.
pub(crate) fn command() -> Command {
    let command = Command::new("fingerpost")
        .version(env!("CARGO_PKG_VERSION"))
        .about(ABOUT)
        .after_help(AFTER)
        .arg_required_else_help(true)
        .subcommand_required(true)
        .disable_help_subcommand(true)
        .max_term_width(100);
    COMMANDS.iter().fold(command, |command, entry| {
        let own = (entry.args)(Command::new(entry.name));
        command.subcommand(
            own.about(entry.about)
                .long_about(None)
                .after_help(entry.after),
        )
    })
}

/// Runs the command that was asked for.
pub(crate) fn dispatch(
    matches: &ArgMatches,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Failure> {
    let asked = matches.subcommand();
    let entry = asked.and_then(|(name, matches)| {
        let entry = COMMANDS.iter().find(|entry| entry.name == name)?;
        Some((entry, matches))
    });
    // cannot fail: clap accepts the commands of the table alone, and asks for one.
    let Some((entry, matches)) = entry else {
        return Err(Failure::Refused);
    };
    (entry.run)(matches, streams)
}

/// The arguments of a command as its own type.
fn parsed<A: Args>(matches: &ArgMatches) -> Result<A, Failure> {
    // cannot fail: clap has accepted these matches for these very arguments.
    A::from_arg_matches(matches).map_err(|_| Failure::Refused)
}

/// The text of the one board that a command is about, or its refusal.
fn opened(argument: &str, streams: &mut Streams<'_>, json: bool) -> Result<Input, Failure> {
    Input::open(argument, streams).map_err(|unread| report::refuse(streams, &unread, json))
}

/// The board in it, or its refusal.
fn read_board<'a>(
    input: &'a Input,
    asked: &ScoreAsked,
    streams: &mut Streams<'_>,
    json: bool,
) -> Result<BoardRead<'a>, Failure> {
    input
        .read(asked)
        .map_err(|unread| report::refuse(streams, &unread, json))
}

// The choice of a tune and of a part: the same flags for every command that reads a board. No doc comment: clap would print it.
#[derive(Args, Debug)]
pub(crate) struct ScoreArgs {
    /// The tune of a book of tunes (ABC), by its number or its title
    #[arg(long, value_name = "N|TITLE")]
    tune: Option<String>,
    /// The one part of a MusicXML score to read, by its id or its name [default: all, held against each other]
    #[arg(long, value_name = "PART")]
    part: Option<String>,
}

impl ScoreArgs {
    fn asked(&self) -> ScoreAsked {
        let tune = self.tune.as_ref().map(|tune| match tune.trim().parse() {
            Ok(number) => fingerpost_json::TuneAsked::Number(number),
            Err(_) => fingerpost_json::TuneAsked::Title(tune.clone()),
        });
        ScoreAsked {
            tune,
            part: self.part.clone(),
            ..ScoreAsked::default()
        }
    }
}

// The terms on which a board is read: the same flags for every command that reads one. No doc comment: clap would print it.
#[derive(Args, Debug)]
pub(crate) struct TermsArgs {
    /// The reading: handbook, musicxml, mnx, abc, all-repeats, examination, or answers such as repeats-on-return=play
    ///
    /// What the board says for itself outranks it. Several answers are separated by commas. Of a score in MusicXML the reading musicxml takes
    /// the instructions for playing at their word and passes over what is printed.
    #[arg(long, value_name = "NAME", default_value = "handbook", value_parser = reading)]
    reading: fingerpost_json::ReadingAsked,
    /// How many times an open section ("until the signal") is played
    #[arg(long, value_name = "N", value_parser = plays)]
    plays: Option<u32>,
    /// Leave the repeats out: every section once, on its last pass
    #[arg(long)]
    omit_repeats: bool,
}

impl TermsArgs {
    fn terms(&self) -> fingerpost_json::TermsAsked {
        fingerpost_json::TermsAsked {
            reading: self.reading,
            plays: self.plays,
            omit_repeats: self.omit_repeats,
        }
    }
}

// The word for a measure: the same flag for every command that speaks of a board. No doc comment: clap would print it.
#[derive(Args, Debug)]
pub(crate) struct MeasuresArgs {
    /// Call a measure a bar, as in Britain
    #[arg(long)]
    bars: bool,
}

impl MeasuresArgs {
    fn measures(&self) -> MeasureName {
        if self.bars {
            MeasureName::Bar
        } else {
            MeasureName::Measure
        }
    }

    fn voice(&self) -> Voice {
        Voice::of_measures(self.measures())
    }
}

// How one is spoken to: the same flags for every command that can speak to a learner. No doc comment: clap would print it.
#[derive(Args, Debug)]
pub(crate) struct VoiceArgs {
    /// Speak to the learner: short sentences that a child can follow
    #[arg(long)]
    learner: bool,
    #[command(flatten)]
    measures: MeasuresArgs,
}

impl VoiceArgs {
    fn register(&self) -> RegisterName {
        if self.learner {
            RegisterName::Learner
        } else {
            RegisterName::Teacher
        }
    }

    /// The voice in a language, by its tag.
    fn of(&self, language: &str) -> Result<Voice, ErrorAnswer> {
        Voice::new(language, self.register(), self.measures.measures())
    }

    /// The voice in English.
    fn voice(&self) -> Voice {
        // cannot fail: there are phrases in English.
        self.of("en").unwrap_or_default()
    }
}

/// A seed that is another each time, and short enough to be typed again.
fn seed_of_the_clock() -> u64 {
    let now = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH);
    let now = now.map_or(0, |since| since.as_micros());
    u64::try_from(now % 1_000_000_000).unwrap_or(0)
}

/// A number of plays.
fn plays(text: &str) -> Result<u32, String> {
    match text.trim().parse() {
        Ok(plays @ 1..=1_000_000) => Ok(plays),
        _ => Err(format!(
            "`{text}` is not a number of plays; write a number from 1 to 1000000"
        )),
    }
}

/// A reading by its name, or by answers to questions.
fn reading(text: &str) -> Result<fingerpost_json::ReadingAsked, String> {
    if !text.contains('=') {
        return text
            .parse()
            .map(fingerpost_json::ReadingAsked::Named)
            .map_err(|error: fingerpost::UnknownReading| error.to_string());
    }
    let mut answers = serde_json::Map::new();
    for answer in text.split(',') {
        let (question, answer) = answer
            .split_once('=')
            .ok_or_else(|| format!("`{answer}` is no answer: write question=answer"))?;
        let (question, answer) = (question.trim(), answer.trim());
        known_answer(question, answer)?;
        if answers
            .insert(question.to_owned(), serde_json::Value::from(answer))
            .is_some()
        {
            return Err(format!("`{question}` is answered twice"));
        }
    }
    serde_json::from_value(serde_json::Value::Object(answers)).map_err(|error| error.to_string())
}

/// Refuses a question or an answer that there is none of, with those that there are.
fn known_answer(question: &str, answer: &str) -> Result<(), String> {
    let questions = fingerpost::Question::ALL;
    let Some(asked) = questions.into_iter().find(|it| it.name() == question) else {
        let names = questions.map(fingerpost::Question::name).join(", ");
        return Err(format!(
            "`{question}` is not a question of the reading; the questions are {names}"
        ));
    };
    let answers = asked.answers();
    if answers.contains(&answer) {
        return Ok(());
    }
    Err(format!(
        "`{answer}` does not answer `{question}`; its answers are {}",
        answers.join(", ")
    ))
}
