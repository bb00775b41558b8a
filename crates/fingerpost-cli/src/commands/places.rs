//! `fingerpost where`: the places where a sign may go.

use clap::{ArgMatches, Args, Command};
use fingerpost::{Phrasebook, Places, Verdict, sign_words};
use fingerpost_json::{ErrorAnswer, ErrorKind, VerdictName};

use super::{Entry, MeasuresArgs, ScoreArgs, opened, parsed, read_board};
use crate::Streams;
use crate::draw::{self, drawn_by};
use crate::outcome::{Failure, Outcome, refuse_with};
use crate::report;
use crate::text::{counted, wrapped};

pub(super) const ENTRY: Entry = Entry {
    name: "where",
    about: "Say where a sign may go on a board, what it would need there, and the road it would give",
    after: "\
Examples:
  fingerpost where '|: 1 | 2 | 3 | 4 D.C. al Fine |]' Fine
  fingerpost where '1 | 2 | 3 | 4 |]' 'D.S. al Coda'
  fingerpost where examples/boards/over-the-stile.json '[1.'
  fingerpost where '{unplaced |:, Fine} 1 | 2 | 3 :| 4 |]'

A place is judged by what is new there: what is wrong with the board already counts against none.
The exit status is 1 when a sign asked about may go nowhere now, by itself.",
    args: <WhereArgs as Args>::augment_args as fn(Command) -> Command,
    run,
};

#[derive(Args, Debug)]
struct WhereArgs {
    /// A board file, a score, a board line, or - for standard input
    #[arg(value_name = "FILE|LINE|-")]
    board: String,
    /// The sign as a board line writes it, or by its name: 'D.S. al Coda', '|:', '[1.', 8va; without it each sign in the board's hand
    #[arg(value_name = "SIGN")]
    sign: Option<String>,
    #[command(flatten)]
    score: ScoreArgs,
    #[command(flatten)]
    measures: MeasuresArgs,
    /// Print one JSON object instead of text
    #[arg(long)]
    json: bool,
}

/// The most groups of places of one sign that are told.
const MOST_GROUPS: usize = 80;
/// The longest list of places that is told.
const LONGEST_LIST: usize = 600;

fn run(matches: &ArgMatches, streams: &mut Streams<'_>) -> Result<Outcome, Failure> {
    let args: WhereArgs = parsed(matches)?;
    let input = opened(&args.board, streams, args.json)?;
    let read = read_board(&input, &args.score.asked(), streams, args.json)?;
    let read = read.spoken(args.measures.voice());
    let sign = args.sign.as_deref();
    if args.json {
        return match fingerpost_json::places(&read, sign) {
            Ok(answer) => {
                report::answer(streams, &answer)?;
                let mut signs = answer.signs.iter();
                let all = signs.all(|sign| {
                    let mut places = sign.places.iter();
                    places.any(|place| is_open_name(place.verdict))
                });
                Ok(outcome(all))
            }
            Err(error) => Err(refuse_with(streams, &error, true)),
        };
    }
    let signs = match fingerpost_json::asked(&read, sign) {
        Ok(signs) => signs,
        Err(error) => return Err(refuse_with(streams, &error, false)),
    };
    let width = draw::width(streams);
    let mut text = drawn_by(&read.book(), &read.board, width);
    let how = report::how_named_and_read(&read, width);
    if !how.is_empty() {
        text.push('\n');
        text.push_str(how.trim_end_matches('\n'));
        text.push('\n');
    }
    let mut all = true;
    let mut rests_on = String::new();
    for (in_hand, sign) in &signs {
        let places = match fingerpost::places(&read.board, sign) {
            Ok(places) => places,
            Err(error) => {
                let error = ErrorAnswer::new(ErrorKind::Request, error.to_string());
                return Err(refuse_with(streams, &error, false));
            }
        };
        all &= places.verdicts().iter().any(|it| is_open(&it.verdict));
        text.push('\n');
        text.push_str(&told(&read.book(), &places, in_hand.is_some(), width));
        rests_on = read.book().places_rest_on(&places);
    }
    text.push('\n');
    text.push_str(&wrapped(&rests_on, width, "", "  "));
    streams.stdout.write_all(text.as_bytes())?;
    Ok(outcome(all))
}

fn outcome(all_may_go: bool) -> Outcome {
    if all_may_go {
        Outcome::Clean
    } else {
        Outcome::Found
    }
}

fn is_open(verdict: &Verdict) -> bool {
    matches!(verdict, Verdict::Legal { .. } | Verdict::Idle)
}

fn is_open_name(verdict: VerdictName) -> bool {
    matches!(verdict, VerdictName::Legal | VerdictName::Idle)
}

/// The places of one sign, group by group.
fn told(book: &Phrasebook, places: &Places<'_>, in_hand: bool, width: usize) -> String {
    let hand = if in_hand { ", in the hand" } else { "" };
    let mut text = format!("{}{hand}\n", sign_words(places.sign()));
    let groups = book.places(places);
    for group in groups.iter().take(MOST_GROUPS) {
        let mut at = group.at.clone();
        if at.chars().count() > LONGEST_LIST {
            let number = group.places.len() as u64;
            at = at.chars().take(LONGEST_LIST).collect();
            let cut = at.rfind("; ").unwrap_or(at.len());
            at.truncate(cut);
            at.push_str(&format!(
                "; … {} in all",
                counted(number, "place", "places")
            ));
        }
        let line = format!("{at}: {}", group.says);
        text.push_str(&wrapped(&line, width, "  ", "    "));
    }
    let more = groups.len().saturating_sub(MOST_GROUPS);
    if more > 0 {
        let more = counted(more as u64, "verdict", "verdicts");
        text.push_str(&format!("  … {more} more; --json gives them all.\n"));
    }
    text
}
