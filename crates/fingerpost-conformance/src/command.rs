//! The command `fingerpost-conformance`.

use std::ffi::OsString;
use std::io::{BufRead, Write};
use std::path::PathBuf;
use std::time::Duration;

use clap::{CommandFactory, FromArgMatches, Parser, Subcommand};

use crate::levels::Level;
use crate::library::Library;
use crate::load::Suite;
use crate::program::{Program, split_command};
use crate::reply::answer_lines;
use crate::report::examine;

/// Puts the conformance cases of the fingerpost rulebook to any program, over its standard input and output.
///
/// Exit status: 0 no case failed, 1 some failed, 2 the cases could not be run.
#[derive(Parser)]
#[command(
    name = "fingerpost-conformance",
    version,
    args_conflicts_with_subcommands = true,
    subcommand_negates_reqs = true,
    after_help = "Examples:\n  fingerpost-conformance --subject \"python3 walk.py\"\n  fingerpost-conformance --subject ./walk --level 1\n  fingerpost-conformance --subject \"fingerpost-conformance answer\" --json"
)]
struct Arguments {
    #[command(subcommand)]
    mode: Option<Mode>,
    /// The program under test with its arguments; split at blanks, except between two quotation marks
    #[arg(long, value_name = "COMMAND", required = true)]
    subject: Option<String>,
    /// The highest level that is asked, 1 to 4
    #[arg(long, value_name = "LEVEL", default_value = "4", value_parser = level)]
    level: Level,
    /// A folder of cases in place of those carried along
    #[arg(long, value_name = "FOLDER")]
    cases: Option<PathBuf>,
    /// How many seconds one answer may take
    #[arg(long, value_name = "SECONDS", default_value = "5", value_parser = seconds)]
    limit: Duration,
    /// Start the program anew for each question
    #[arg(long)]
    each: bool,
    /// Print the report as JSON
    #[arg(long)]
    json: bool,
}

#[derive(Subcommand)]
enum Mode {
    /// Be a program under test: answer requests by the fingerpost library, one a line
    Answer,
}

/// Runs the command; `args` begins with the name by which it was called. Returns the exit status.
pub fn run_command<A: Into<OsString> + Clone>(
    args: impl IntoIterator<Item = A>,
    stdin: &mut dyn BufRead,
    stdout: &mut dyn Write,
    stderr: &mut dyn Write,
) -> u8 {
    let parsed = Arguments::command()
        .try_get_matches_from(args)
        .and_then(|matches| Arguments::from_arg_matches(&matches));
    let arguments = match parsed {
        Ok(arguments) => arguments,
        Err(error) => {
            // Nothing can be said when the stream that would say it fails.
            let _ = if error.use_stderr() {
                write!(stderr, "{}", error.render())
            } else {
                write!(stdout, "{}", error.render())
            };
            let status = if error.use_stderr() { 2 } else { 0 };
            return status;
        }
    };
    let done = match arguments.mode {
        Some(Mode::Answer) => answer_lines(stdin, stdout, &mut Library)
            .map(|()| 0)
            .map_err(|error| error.to_string()),
        None => put(&arguments, stdout),
    };
    done.unwrap_or_else(|message| {
        let _ = writeln!(stderr, "fingerpost-conformance: {message}");
        2
    })
}

fn put(arguments: &Arguments, stdout: &mut dyn Write) -> Result<u8, String> {
    let suite = match &arguments.cases {
        Some(folder) => Suite::read_json(folder),
        None => Suite::carried(),
    };
    let suite = suite.map_err(|error| format!("the cases cannot be read: {error}"))?;
    let command = arguments.subject.as_deref().unwrap_or_default();
    let command = split_command(command).map_err(|error| error.to_string())?;
    let mut program = Program::new(command, arguments.limit, arguments.each);
    program.start().map_err(|error| error.to_string())?;
    let report = examine(&suite, &mut program, arguments.level);
    let text = if arguments.json {
        serde_json::to_string(&report).map_err(|error| error.to_string())? + "\n"
    } else {
        report.to_string()
    };
    stdout
        .write_all(text.as_bytes())
        .and_then(|()| stdout.flush())
        .map_err(|error| format!("the report cannot be written: {error}"))?;
    Ok(u8::from(report.totals.failed > 0))
}

fn level(text: &str) -> Result<Level, String> {
    let number: u8 = text
        .parse()
        .map_err(|_| format!("`{text}` is no level; the levels are 1 to 4"))?;
    Level::try_from(number)
}

fn seconds(text: &str) -> Result<Duration, String> {
    let number = text.parse().ok().filter(|&n: &f64| n > 0.0);
    number
        .and_then(|n| Duration::try_from_secs_f64(n).ok())
        .ok_or_else(|| format!("`{text}` is no time; a number of seconds above 0 is wanted"))
}
