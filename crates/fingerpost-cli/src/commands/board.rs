//! `fingerpost board`: a board as a picture, as a board line, as a board file or as a score.

use clap::{ArgMatches, Args, Command, ValueEnum};

use super::{Entry, ScoreArgs, opened, parsed, read_board};
use crate::Streams;
use crate::draw::{self, drawn};
use crate::outcome::{Failure, Outcome};
use crate::report;

pub(super) const ENTRY: Entry = Entry {
    name: "board",
    about: "Print a board: drawn, as a board line, as a board file or as a score",
    after: "\
Examples:
  fingerpost board examples/boards/over-the-stile.json
  fingerpost board --form file '|: 1 | 2 :| 3 |]' > three.json
  fingerpost board --form line three.json
  fingerpost board --form file examples/scores/over-the-hill.musicxml > over-the-hill.json
  fingerpost board --form musicxml over-the-hill.json > signs-only.musicxml

A score becomes the board of its signs; what had to be read in a way that the score does not say
itself stands below the drawing, or on standard error with the other forms. As a score a board has
a measure of rest for each of its measures, with every sign drawn and said for playing.
A board is printed whether it has errors or not; `fingerpost check` tells them.",
    args: <BoardArgs as Args>::augment_args as fn(Command) -> Command,
    run,
};

#[derive(Args, Debug)]
struct BoardArgs {
    /// A board file, a score, a board line, or - for standard input
    #[arg(value_name = "FILE|LINE|-")]
    board: String,
    /// The form in which it is printed
    #[arg(long, value_enum, default_value_t = Form::Drawn)]
    form: Form,
    #[command(flatten)]
    score: ScoreArgs,
    /// Print one JSON object that holds it as a file and as a line
    #[arg(long, conflicts_with = "form")]
    json: bool,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
enum Form {
    /// Drawn in plain text, system by system
    Drawn,
    /// As a board line
    Line,
    /// As a board file (JSON)
    File,
    /// As a score in MusicXML 4.0: rests with all the signs
    Musicxml,
}

fn run(matches: &ArgMatches, streams: &mut Streams<'_>) -> Result<Outcome, Failure> {
    let args: BoardArgs = parsed(matches)?;
    let input = opened(&args.board, streams, args.json)?;
    let read = read_board(&input, &args.score.asked(), streams, args.json)?;
    if args.json {
        let answer = fingerpost_json::both_forms(&read);
        report::answer(streams, &answer)?;
        return Ok(Outcome::Clean);
    }
    let width = draw::width(streams);
    // Beside a text that is for a file notices are on standard error.
    let mut notices = report::how_read(&read, width);
    let text = match args.form {
        Form::Drawn => {
            let mut text = drawn(&read.board, width);
            let how = std::mem::take(&mut notices);
            if !how.is_empty() {
                text.push_str(&format!("\n{}\n", how.trim_end()));
            }
            text
        }
        Form::Line => format!("{}\n", read.board.to_line()),
        Form::File => read.board.to_json(),
        Form::Musicxml => {
            let written = fingerpost_json::musicxml(&read);
            let heading = "What the score cannot say";
            notices.push_str(&report::noticed(heading, &written.notices, width));
            written.text
        }
    };
    streams.stdout.write_all(text.as_bytes())?;
    streams.stdout.flush()?;
    streams.stderr.write_all(notices.as_bytes())?;
    Ok(Outcome::Clean)
}
