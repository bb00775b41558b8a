//! `fingerpost board`: a board as a picture, as a board line or as a board file.

use clap::{ArgMatches, Args, Command, ValueEnum};

use super::{Entry, ScoreArgs, opened, parsed, read_board};
use crate::Streams;
use crate::draw::{self, drawn};
use crate::outcome::{Failure, Outcome};
use crate::report;

pub(super) const ENTRY: Entry = Entry {
    name: "board",
    about: "Print a board: drawn, as a board line or as a board file",
    after: "\
Examples:
  fingerpost board examples/boards/over-the-stile.json
  fingerpost board --form file '|: 1 | 2 :| 3 |]' > three.json
  fingerpost board --form line three.json

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
}

fn run(matches: &ArgMatches, streams: &mut Streams<'_>) -> Result<Outcome, Failure> {
    let args: BoardArgs = parsed(matches)?;
    let input = opened(&args.board, streams, args.json)?;
    let read = read_board(&input, &args.score, streams, args.json)?;
    if args.json {
        let answer = fingerpost_json::both_forms(&read);
        report::answer(streams, &answer)?;
        return Ok(Outcome::Clean);
    }
    let text = match args.form {
        Form::Drawn => drawn(&read.board, draw::width(streams)),
        Form::Line => format!("{}\n", read.board.to_line()),
        Form::File => read.board.to_json(),
    };
    streams.stdout.write_all(text.as_bytes())?;
    Ok(Outcome::Clean)
}
