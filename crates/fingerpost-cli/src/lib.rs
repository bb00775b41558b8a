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

mod commands;
mod draw;
mod forms;
mod input;
mod mend;
mod outcome;
mod report;
mod text;

use std::ffi::OsString;
use std::io::{BufWriter, IsTerminal, Read, Write, stderr, stdin, stdout};
use std::process::ExitCode;

use outcome::{Failure, Outcome};

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
    let outcome = match commands::command().try_get_matches_from(args) {
        Ok(matches) => commands::dispatch(&matches, &mut streams),
        Err(error) => arguments(&error, &mut streams),
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

/// What clap has to say: help and version are results, everything else is a complaint.
fn arguments(error: &clap::Error, streams: &mut Streams<'_>) -> Result<Outcome, Failure> {
    let text = error.render().to_string();
    if error.use_stderr() {
        streams.stderr.write_all(text.as_bytes())?;
        return Err(Failure::Refused);
    }
    streams.stdout.write_all(text.as_bytes())?;
    Ok(Outcome::Clean)
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
