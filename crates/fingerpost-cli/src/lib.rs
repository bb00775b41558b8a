//! The command `fingerpost`, as a library: [`run`] is the whole command with its streams given to it, so that tests and other programs can
//! run it too.
//!
//! The commands are in one table, `commands::COMMANDS`; each is a file of its own. What they print for people is for reading, and may
//! change; what other programs can lean on is `--json`, whose answers come from [`fingerpost_json`], and the exit status: 0 done and
//! nothing wrong, 1 findings of the level asked for, 2 the request could not be carried out.
#![forbid(unsafe_code)]
#![deny(missing_docs)]
#![allow(
    clippy::format_push_string,
    reason = "the text is for people: it is short, and reads better so"
)]

mod class;
mod commands;
mod draw;
mod forms;
mod input;
mod mend;
mod outcome;
mod report;
mod text;
mod told;

use std::ffi::OsString;
use std::io::{BufWriter, IsTerminal, Read, Write, stderr, stdin, stdout};
use std::process::ExitCode;

use clap::error::{ContextKind, ContextValue};
use fingerpost_json::{ErrorAnswer, ErrorKind};
use outcome::{Failure, Outcome, refuse, refuse_with};

/// The streams of a run, and what is known of them.
pub struct Streams<'a> {
    /// Where a board comes from when the input is `-`.
    pub stdin: &'a mut dyn Read,
    /// Where results and findings go.
    pub stdout: &'a mut dyn Write,
    /// Where complaints and progress go.
    pub stderr: &'a mut dyn Write,
    /// The width of the terminal in columns; 100 when it is not known.
    pub width: Option<usize>,
    /// Whether progress is shown when work is long: when a person sees standard error.
    pub progress: bool,
}

/// Runs the command; `args` begins with the name by which it was called. Returns the exit status.
///
/// ```
/// use fingerpost_cli::{Streams, run};
/// let (mut out, mut err) = (Vec::new(), Vec::new());
/// let status = run(
///     ["fingerpost", "unroll", "--json", "|: 1 | 2 :| 3 |]"],
///     Streams { stdin: &mut std::io::empty(), stdout: &mut out, stderr: &mut err, width: None, progress: false },
/// );
/// assert_eq!(status, 0);
/// assert!(String::from_utf8_lossy(&out).contains(r#""order":[1,2,1,2,3]"#));
/// ```
pub fn run<A: Into<OsString> + Clone>(
    args: impl IntoIterator<Item = A>,
    mut streams: Streams<'_>,
) -> u8 {
    let args: Vec<OsString> = args.into_iter().map(Into::into).collect();
    let json = asks_for_json(&args);
    let outcome = match commands::command().try_get_matches_from(args) {
        Ok(matches) => commands::dispatch(&matches, &mut streams),
        Err(error) => arguments(&error, json, &mut streams),
    };
    let outcome = outcome.and_then(|outcome| {
        streams.stdout.flush()?;
        Ok(outcome)
    });
    match outcome {
        Ok(Outcome::Clean) => 0,
        Ok(Outcome::Found) => 1,
        Err(Failure::Refused) => 2,
        Err(Failure::Stream(error)) => {
            // Whoever reads the output may stop reading: `fingerpost check boards | head`.
            if error.kind() == std::io::ErrorKind::BrokenPipe {
                return 0;
            }
            // Nothing can be done when standard error fails too.
            let _ = writeln!(
                streams.stderr,
                "fingerpost: the output cannot be written: {error}"
            );
            2
        }
    }
}

/// Whether the answer is wanted as JSON, as far as arguments that cannot be read tell.
fn asks_for_json(args: &[OsString]) -> bool {
    let args = args.iter().take_while(|arg| *arg != "--");
    let args: Vec<&OsString> = args.collect();
    let pairs = args.windows(2).any(|pair| pair == ["--as", "json"]);
    let whole = |arg: &&OsString| *arg == "--json" || *arg == "--as=json";
    pairs || args.iter().any(whole)
}

/// What clap has to say: help and version are results, everything else is a complaint.
fn arguments(
    error: &clap::Error,
    json: bool,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Failure> {
    let text = error.render().to_string();
    if !error.use_stderr() {
        streams.stdout.write_all(text.as_bytes())?;
        return Ok(Outcome::Clean);
    }
    let own = in_own_words(error);
    if json {
        let first = text.lines().next().unwrap_or_default();
        let first = first.strip_prefix("error: ").unwrap_or(first);
        let message = own.unwrap_or_else(|| first.to_owned());
        let answer = ErrorAnswer::new(ErrorKind::Request, message);
        return Err(refuse_with(streams, &answer, true));
    }
    if let Some(message) = own {
        return Err(refuse(streams, &message));
    }
    streams.stderr.write_all(text.as_bytes())?;
    Err(Failure::Refused)
}

/// A value that an option does not take, in plain words: which option, and what is accepted.
fn in_own_words(error: &clap::Error) -> Option<String> {
    let text = |kind| match error.get(kind) {
        Some(ContextValue::String(text)) => Some(text.as_str()),
        _ => None,
    };
    // The option as it is written: what stands for its value belongs to the help.
    let option = text(ContextKind::InvalidArg)?.split(' ').next()?;
    let value = text(ContextKind::InvalidValue)?;
    match error.kind() {
        // The option's own reader says what is accepted.
        clap::error::ErrorKind::ValueValidation => {
            let source = std::error::Error::source(error)?;
            let why = of_number(value, source).unwrap_or_else(|| source.to_string());
            Some(format!("{option}: {why}"))
        }
        clap::error::ErrorKind::InvalidValue => {
            let Some(ContextValue::Strings(values)) = error.get(ContextKind::ValidValue) else {
                return None;
            };
            let near = text(ContextKind::SuggestedValue);
            let near = near.map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
            let accepted = values.join(", ");
            Some(format!(
                "{option} does not take `{value}`{near}\n  accepted: {accepted}"
            ))
        }
        _ => None,
    }
}

/// What is wrong with a value that should be a number.
fn of_number(value: &str, source: &(dyn std::error::Error + 'static)) -> Option<String> {
    let told = source.to_string();
    if let Some((_, range)) = told.split_once(" is not in ") {
        let (least, most) = range.split_once("..=")?;
        return Some(format!("`{value}` is no number from {least} to {most}"));
    }
    if source.is::<std::num::ParseIntError>() {
        Some(format!("`{value}` is no whole number, or too large a one"))
    } else if source.is::<std::num::ParseFloatError>() {
        Some(format!("`{value}` is no number"))
    } else {
        None
    }
}

/// The command with the arguments and the streams of this process.
pub fn main() -> ExitCode {
    let width = terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
    let status = run(
        std::env::args_os(),
        Streams {
            stdin: &mut stdin().lock(),
            stdout: &mut BufWriter::new(stdout().lock()),
            stderr: &mut stderr().lock(),
            width,
            progress: stderr().is_terminal(),
        },
    );
    ExitCode::from(status)
}
