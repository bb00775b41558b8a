//! `fingerpost missing`: the smallest sets of signs that make a board legal.

use clap::{ArgMatches, Args, Command};
use fingerpost::{Board, MissingSet, Phrasebook, Roadmap, Terms};
use fingerpost_json::{ErrorAnswer, ErrorKind};

use super::{Entry, MeasuresArgs, ScoreArgs, opened, parsed, read_board};
use crate::Streams;
use crate::draw::{self, drawn_by};
use crate::outcome::{Failure, Outcome, refuse_with};
use crate::report;
use crate::text::{counted, wrapped};

pub(super) const ENTRY: Entry = Entry {
    name: "missing",
    about: "Say which signs are missing on a board in the making, and where they may go",
    after: "\
Examples:
  fingerpost missing '1 | 2 | 3 | 4 D.S. al Coda |]'
  fingerpost missing '{unplaced :|x3} 1 |: 2 | 3 |]'
  fingerpost missing --json board.json

The sets named are the smallest there are: of signs in the hand first. The exit status is 1 when
something is missing.",
    args: <MissingArgs as Args>::augment_args as fn(Command) -> Command,
    run,
};

#[derive(Args, Debug)]
struct MissingArgs {
    /// A board file, a score, a board line, or - for standard input
    #[arg(value_name = "FILE|LINE|-")]
    board: String,
    #[command(flatten)]
    score: ScoreArgs,
    #[command(flatten)]
    measures: MeasuresArgs,
    /// Print one JSON object instead of text
    #[arg(long)]
    json: bool,
}

/// The most sets that are told.
const MOST_SETS: usize = 12;
/// The most measures of a board whose line is printed.
const MOST_IN_LINE: u16 = 40;

fn run(matches: &ArgMatches, streams: &mut Streams<'_>) -> Result<Outcome, Failure> {
    let args: MissingArgs = parsed(matches)?;
    let input = opened(&args.board, streams, args.json)?;
    let read = read_board(&input, &args.score.asked(), streams, args.json)?;
    let read = read.spoken(args.measures.voice());
    if args.json {
        return match fingerpost_json::missing(&read) {
            Ok(answer) => {
                report::answer(streams, &answer)?;
                Ok(outcome(answer.lacking.is_empty()))
            }
            Err(error) => Err(refuse_with(streams, &error, true)),
        };
    }
    let missing = match fingerpost::missing(&read.board) {
        Ok(missing) => missing,
        Err(error) => {
            let error = ErrorAnswer::new(ErrorKind::Request, error.to_string());
            return Err(refuse_with(streams, &error, false));
        }
    };
    let (book, width) = (read.book(), draw::width(streams));
    let mut text = drawn_by(&read.book(), &read.board, width);
    text.push('\n');
    text.push_str(&report::how_named_and_read(&read, width));
    text.push_str(&wrapped(&book.missing(&missing), width, "", "  "));
    for set in missing.sets.iter().take(MOST_SETS) {
        text.push_str(&told(&book, &read.board, set, width));
    }
    let more = missing.sets.len().saturating_sub(MOST_SETS);
    if more > 0 {
        let more = counted(more as u64, "set", "sets");
        text.push_str(&format!("  … {more} more; --json gives them all.\n"));
    }
    if let Some(rests_on) = book.missing_rests_on(&missing) {
        text.push('\n');
        text.push_str(&wrapped(&rests_on, width, "", "  "));
    }
    text.push_str(&report::findings(
        &input.name,
        &read,
        &read.findings(&missing.in_the_way),
    ));
    streams.stdout.write_all(text.as_bytes())?;
    Ok(outcome(missing.lacking.is_empty()))
}

fn outcome(whole: bool) -> Outcome {
    if whole {
        Outcome::Clean
    } else {
        Outcome::Found
    }
}

/// One set of signs, where each may go, and the board as proposed with its road.
fn told(book: &Phrasebook, board: &Board, set: &MissingSet, width: usize) -> String {
    let mut text = String::new();
    for (number, line) in book.missing_set(board, set).iter().enumerate() {
        let (first, rest) = if number == 0 {
            ("- ", "    ")
        } else {
            ("    ", "      ")
        };
        text.push_str(&wrapped(line, width, first, rest));
    }
    let Some(proposed) = set.proposed(board) else {
        return text;
    };
    if proposed.measures() <= MOST_IN_LINE {
        text.push_str(&wrapped(&proposed.to_line(), width, "    ", "      "));
    }
    let terms = Terms {
        open_plays: Some(2),
        ..Terms::default()
    };
    if let Ok(roadmap) = Roadmap::new(&proposed, &terms) {
        let road = format!("road: {}", book.road(&proposed, &roadmap));
        text.push_str(&wrapped(&road, width, "    ", "      "));
    }
    text
}
