//! `fingerpost write-out`: a score in playing order, or the route of a board as a MIDI file.

use clap::{ArgMatches, Args, Command, ValueEnum};
use fingerpost_json::{ErrorAnswer, ErrorKind};

use super::unroll::{no_route, no_route_json};
use super::{Entry, ScoreArgs, TermsArgs, opened, parsed, read_board};
use crate::Streams;
use crate::draw;
use crate::outcome::{Failure, Outcome};
use crate::report;

pub(super) const ENTRY: Entry = Entry {
    name: "write-out",
    about: "Write a score out in playing order, or the order of a board as a MIDI file",
    after: "\
Examples:
  fingerpost write-out examples/scores/over-the-hill.musicxml > in-order.musicxml
  fingerpost write-out --form midi '|: 1 | 2 :| 3 D.C. |]' > in-order.mid

A MusicXML score is copied measure by measure in the order in which it is played; no repeats,
endings, jumps or their words are left, and the music of each measure stays as it is. What could not
be kept, such as a tie that a jump cuts, stands on standard error.
As MIDI a board or a score is one pitch a measure, with octave signs heard and a click.

Copying a published score may need its owner's permission, a copy in playing order too.",
    args: <WriteOutArgs as Args>::augment_args as fn(Command) -> Command,
    run,
};

#[derive(Args, Debug)]
struct WriteOutArgs {
    /// A score; for MIDI also a board file or a board line; or - for standard input
    #[arg(value_name = "FILE|LINE|-")]
    board: String,
    /// The form in which it is written
    #[arg(long, value_enum, default_value_t = Form::Musicxml)]
    form: Form,
    #[command(flatten)]
    terms: TermsArgs,
    #[command(flatten)]
    score: ScoreArgs,
    /// How many quarter notes a minute has in a MIDI file [default: 96]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(10..=400))]
    tempo: Option<u16>,
    /// The most measures to write [default: 100000]
    #[arg(long, value_name = "N")]
    limit: Option<u32>,
    /// Print one JSON object that holds the score and what was noticed
    #[arg(long, conflicts_with = "form")]
    json: bool,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
enum Form {
    /// A MusicXML score
    Musicxml,
    /// A Standard MIDI File
    Midi,
}

fn run(matches: &ArgMatches, streams: &mut Streams<'_>) -> Result<Outcome, Failure> {
    let args: WriteOutArgs = parsed(matches)?;
    let input = opened(&args.board, streams, args.json)?;
    let asked = args.score.asked().for_reading(args.terms.reading);
    let read = read_board(&input, &asked, streams, args.json)?;
    let terms = args.terms.terms();
    if args.form == Form::Musicxml && args.tempo.is_some() {
        let message = "a tempo is for a MIDI file: give it with --form midi";
        let error = ErrorAnswer::new(ErrorKind::Request, message);
        return Err(crate::outcome::refuse_with(streams, &error, args.json));
    }
    let width = draw::width(streams);
    let written = match args.form {
        Form::Midi => fingerpost_json::midi(&read, &terms, args.tempo, args.limit)
            .map(|midi| (midi, report::how_read(&read, width))),
        Form::Musicxml => match fingerpost_json::write_out(&read, &asked, &terms, args.limit) {
            Ok(answer) if args.json => {
                report::answer(streams, &answer)?;
                return Ok(Outcome::Clean);
            }
            Ok(answer) => {
                let heading = "How the score was read and written out";
                let notices = report::noticed(heading, &answer.notices, width);
                Ok((answer.musicxml.unwrap_or_default().into_bytes(), notices))
            }
            Err(error) => Err(error),
        },
    };
    match written {
        Ok((bytes, notices)) => {
            streams.stdout.write_all(&bytes)?;
            streams.stdout.flush()?;
            streams.stderr.write_all(notices.as_bytes())?;
            Ok(Outcome::Clean)
        }
        Err(error) if args.json => no_route_json(streams, &error),
        Err(error) => match fingerpost::Roadmap::new(&read.board, &terms.into()) {
            Err(refusal) => no_route(streams, &input, &read, &refusal),
            Ok(_) => Err(crate::outcome::refuse_with(streams, &error, false)),
        },
    }
}
