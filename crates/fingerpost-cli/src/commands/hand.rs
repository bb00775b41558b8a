//! `fingerpost hand`: in how many ways drawn signs can be laid on a board, some of the ways, or what is missing.

use clap::{ArgMatches, Args, Command};
use fingerpost::Phrasebook;
use fingerpost_json::HandAnswer;

use super::{Entry, MeasuresArgs, parsed};
use crate::Streams;
use crate::draw::{self, drawn_by};
use crate::outcome::{Failure, Outcome, refuse_with};
use crate::report;
use crate::text::{counted, grouped, wrapped};

pub(super) const ENTRY: Entry = Entry {
    name: "hand",
    about: "Lay the signs of a hand on an empty board: how many ways there are, and some of them",
    after: "\
Examples:
  fingerpost hand 'segno, D.S. al Fine, Fine' --measures 8
  fingerpost hand '|:, :|, [1., [2.' --measures 12 --show 3
  fingerpost hand 'To Coda, D.C. al Coda' --measures 8

A way counts when the board has no error, every measure is played, and every sign plays its part.
When there is no way, the sign that is missing is named, or how many measures are needed; the exit
status is then 1.",
    args: <HandArgs as Args>::augment_args as fn(Command) -> Command,
    run,
};

#[derive(Args, Debug)]
struct HandArgs {
    /// The signs with commas between them, as a board line writes them or by their names: '|:, end repeat, [1.'
    #[arg(value_name = "SIGNS")]
    signs: String,
    /// How many measures the board has
    #[arg(long, value_name = "N", default_value_t = 16)]
    measures: u16,
    /// How many of the ways are shown, at most 12
    #[arg(long, value_name = "N", default_value_t = 1)]
    show: usize,
    /// The seed by which ways are chosen
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    #[command(flatten)]
    name: MeasuresArgs,
    /// Print one JSON object instead of text
    #[arg(long)]
    json: bool,
}

fn run(matches: &ArgMatches, streams: &mut Streams<'_>) -> Result<Outcome, Failure> {
    let args: HandArgs = parsed(matches)?;
    let signs = parts(&args.signs);
    let voice = args.name.voice();
    let answer = match fingerpost_json::hand(&signs, args.measures, args.show, args.seed, voice) {
        Ok(answer) => answer,
        Err(error) => return Err(refuse_with(streams, &error, args.json)),
    };
    let outcome = if answer.arrangements > 0 {
        Outcome::Clean
    } else {
        Outcome::Found
    };
    if args.json {
        report::answer(streams, &answer)?;
        return Ok(outcome);
    }
    let text = told(&voice.book(), &answer, draw::width(streams));
    streams.stdout.write_all(text.as_bytes())?;
    Ok(outcome)
}

/// The signs of a hand: the text at its commas, but for those in parentheses and in lists of passes.
fn parts(text: &str) -> Vec<String> {
    let mut parts = vec![String::new()];
    let mut depth = 0_usize;
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        match c {
            '(' => depth += 1,
            ')' => depth = depth.saturating_sub(1),
            _ => {}
        }
        // "[1,2." is one sign: the list of a bracket goes on with a digit right behind its comma, until its full stop.
        let is_bracket = parts.last().is_some_and(|part| {
            let part = part.trim();
            part.starts_with('[') && !part.ends_with('.')
        });
        let in_list = depth > 0 || is_bracket && rest.peek().is_some_and(char::is_ascii_digit);
        if c == ',' && !in_list {
            parts.push(String::new());
        } else if let Some(last) = parts.last_mut() {
            last.push(c);
        }
    }
    parts.retain(|part| !part.trim().is_empty());
    parts
}

/// Signs with their marks around them, since some are nothing but points and lines.
fn in_marks(signs: &[impl std::fmt::Display], between: &str) -> String {
    let signs: Vec<String> = signs.iter().map(|it| format!("`{it}`")).collect();
    signs.join(between)
}

fn told(book: &Phrasebook, answer: &HandAnswer, width: usize) -> String {
    let in_measures = |number: u16| counted(u64::from(number), "measure", "measures");
    let measures = book.message(&in_measures(answer.measures));
    let signs = in_marks(&answer.signs, ", ");
    let them = match answer.signs.as_slice() {
        [_] => "it",
        _ => "all of them",
    };
    let ways = match answer.arrangements {
        0 => format!("{signs}: there is no way to lay {them} on {measures}."),
        1 => format!("{signs}: there is 1 way to lay {them} on {measures}."),
        u64::MAX => {
            format!("{signs}: there are more ways to lay {them} on {measures} than can be counted.")
        }
        ways => format!(
            "{signs}: there are {} ways to lay {them} on {measures}.",
            grouped(ways)
        ),
    };
    let mut text = wrapped(&ways, width, "", "  ");
    if let Some(needed) = answer.needed {
        text.push_str(&book.message(&format!("At least {needed} measures are needed.\n")));
    }
    match answer.missing.as_slice() {
        [] if answer.arrangements == 0 && answer.needed.is_none() => {
            let found = if answer.missing_is_whole {
                "None of the plain signs would be enough, and no two of them. Not tried were signs with arrivals or passes, con rep., and endings above the third."
            } else {
                "No plain sign was found to be enough, and no two of them; not all were tried to the end, for there are too many orders. Not tried at all were signs with arrivals or passes, con rep., and endings above the third."
            };
            text.push_str(&wrapped(found, width, "", "  "));
        }
        [] => {}
        missing => {
            // What would be enough on the board as it is comes first.
            let mut ways: Vec<(u16, &[String])> = missing
                .iter()
                .zip(&answer.missing_measures)
                .map(|(signs, &needed)| (needed.max(answer.measures), signs.as_slice()))
                .collect();
            ways.sort_by_key(|&(needed, _)| needed);
            let named = ways.iter().map(|&(needed, signs)| {
                let together = if signs.len() > 1 { " together" } else { "" };
                let on = if needed > answer.measures {
                    format!(" (on at least {})", in_measures(needed))
                } else {
                    String::new()
                };
                format!("{}{together}{on}", in_marks(signs, " and "))
            });
            let named: Vec<String> = named.collect();
            let any = if named.len() > 1 {
                "Any one of these more would be enough: "
            } else {
                "Missing: "
            };
            let named = book.message(&format!("{}.", named.join(", ")));
            text.push_str(&wrapped(&named, width, any, "  "));
        }
    }
    for shown in &answer.shown {
        if let Ok(board) = fingerpost::Board::from_line(&shown.line) {
            text.push_str(&drawn_by(book, &board, width));
        }
        text.push_str(&wrapped(&shown.line, width, "Line: ", "  "));
        for warning in &shown.warnings {
            let told = format!("{} [{}]", warning.message, warning.rule);
            text.push_str(&wrapped(&told, width, "Warning: ", "  "));
        }
        if shown.road.as_ref().is_some_and(|road| !road.settled) {
            text.push_str("Other readings play this otherwise; `fingerpost compare` shows how.\n");
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::parts;

    #[test]
    fn signs_are_parted_at_their_commas() {
        let hand = "|:, [1,2. , D.S.(al Coda, coda B),8va(R.H., on repeat), ";
        let found: Vec<String> = parts(hand).iter().map(|it| it.trim().to_owned()).collect();
        assert_eq!(
            found,
            [
                "|:",
                "[1,2.",
                "D.S.(al Coda, coda B)",
                "8va(R.H., on repeat)"
            ]
        );
    }
}
