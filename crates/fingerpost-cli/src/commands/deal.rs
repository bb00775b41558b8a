//! `fingerpost deal`: boards made from a seed, alone or as a practice set.

use std::fs::{self, OpenOptions};
use std::io::Write;
use std::path::{Path, PathBuf};

use clap::{ArgMatches, Args, Command};
use fingerpost::Phrasebook;
use fingerpost_json::{DealAnswer, DealAsked, DealtAnswer, ErrorAnswer, ErrorKind, MeasureName};

use super::{Entry, MeasuresArgs, parsed, seed_of_the_clock};
use crate::Streams;
use crate::draw::{self, drawn_by};
use crate::outcome::{Failure, Outcome, refuse_with};
use crate::report;
use crate::text::wrapped;

pub(super) const ENTRY: Entry = Entry {
    name: "deal",
    about: "Deal a board, or a practice set, for a level, for concepts, or against a misunderstanding",
    after: "\
Examples:
  fingerpost deal --level 3 --measures 16 --seed 7 --key
  fingerpost deal --concept first-and-second-ending --concept fermata --measures 12
  fingerpost deal --level 4 --aim to-coda-on-the-first-leg
  fingerpost deal --level 2 --count 12 --into practice

Every board dealt has no error and no warning, is read in one way only, and has no sign too many.
The same seed deals the same board; without --seed one is taken from the clock, and printed.
The levels and their concepts are in spec/levels.md; --levels takes a file of your own.",
    args: <DealArgs as Args>::augment_args as fn(Command) -> Command,
    run,
};

#[derive(Args, Debug)]
struct DealArgs {
    /// The level: what is new there, and what is known before
    #[arg(long, value_name = "N")]
    level: Option<u8>,
    /// How many measures the board has
    #[arg(long, value_name = "N", default_value_t = 16)]
    measures: u16,
    /// A concept that the board must show; several are separated by commas, or given one by one
    #[arg(long, value_name = "NAME", value_parser = concept, value_delimiter = ',')]
    concept: Vec<fingerpost::Concept>,
    /// The misunderstanding that the board must tell apart from the right reading
    #[arg(long, value_name = "NAME")]
    aim: Option<String>,
    /// The seed; the same gives the same again
    #[arg(long, value_name = "N")]
    seed: Option<u64>,
    /// Deal a practice set of so many boards, the easiest first
    #[arg(long, value_name = "N")]
    count: Option<usize>,
    /// Write the boards into this folder, with their keys in a file of their own
    #[arg(long, value_name = "FOLDER")]
    into: Option<PathBuf>,
    /// Overwrite files that are there
    #[arg(long, requires = "into")]
    overwrite: bool,
    /// Print the key too: the order, and why
    #[arg(long)]
    key: bool,
    /// A levels file in place of the levels that come along
    #[arg(long, value_name = "FILE")]
    levels: Option<PathBuf>,
    #[command(flatten)]
    name: MeasuresArgs,
    /// Print one JSON object instead of text
    #[arg(long, conflicts_with_all = ["into", "key"])]
    json: bool,
}

fn concept(text: &str) -> Result<fingerpost::Concept, String> {
    text.trim()
        .parse()
        .map_err(|error: fingerpost::UnknownConcept| error.to_string())
}

/// The largest levels file that is read, in bytes.
const LARGEST_LEVELS: u64 = fingerpost::LARGEST_LEVELS as u64;

fn run(matches: &ArgMatches, streams: &mut Streams<'_>) -> Result<Outcome, Failure> {
    let args: DealArgs = parsed(matches)?;
    let levels = match &args.levels {
        None => None,
        Some(path) => match read_levels(path) {
            Ok(levels) => Some(levels),
            Err(error) => return Err(refuse_with(streams, &error, args.json)),
        },
    };
    let asked = DealAsked {
        measures: args.measures,
        level: args.level,
        concepts: args.concept.clone(),
        aim: args.aim.clone(),
        count: args.count,
        seed: args.seed.unwrap_or_else(seed_of_the_clock),
        levels,
        measure_name: args.name.measures(),
    };
    let answer = match fingerpost_json::deal(&asked) {
        Ok(answer) => answer,
        Err(error) => return Err(refuse_with(streams, &error, args.json)),
    };
    if args.json {
        report::answer(streams, &answer)?;
        return Ok(Outcome::Clean);
    }
    let again = again(&args, answer.seed);
    if let Some(folder) = &args.into {
        return match written(folder, &answer, &again, args.overwrite) {
            Ok(text) => {
                streams.stdout.write_all(text.as_bytes())?;
                Ok(Outcome::Clean)
            }
            Err(error) => Err(refuse_with(streams, &error, false)),
        };
    }
    let width = draw::width(streams);
    let mut text = String::new();
    for (number, board) in answer.boards.iter().enumerate() {
        if args.count.is_some() {
            text.push_str(&format!("Board {}\n\n", number + 1));
        }
        text.push_str(&told(&args.name.voice().book(), board, width, args.key));
        text.push('\n');
    }
    if args.seed.is_none() {
        text.push_str(&format!(
            "The seed {} was taken from the clock.\n",
            answer.seed
        ));
    }
    text.push_str(&format!("The same again: {again}\n"));
    streams.stdout.write_all(text.as_bytes())?;
    Ok(Outcome::Clean)
}

fn read_levels(path: &Path) -> Result<fingerpost::LevelsFile, ErrorAnswer> {
    let shown = report::shown_name(&path.display().to_string());
    let refuse = |why: String| ErrorAnswer::new(ErrorKind::Request, format!("{shown}: {why}"));
    let size = fs::metadata(path)
        .map_err(|error| refuse(error.to_string()))?
        .len();
    if size > LARGEST_LEVELS {
        return Err(refuse(format!(
            "a levels file has at most {LARGEST_LEVELS} bytes"
        )));
    }
    let text = fs::read_to_string(path).map_err(|error| refuse(error.to_string()))?;
    serde_json::from_str(&text)
        .map_err(|error| refuse(format!("the levels cannot be read: {error}")))
}

/// The command that gives the same again.
fn again(args: &DealArgs, seed: u64) -> String {
    let mut words = vec!["fingerpost deal".to_owned()];
    if let Some(level) = args.level {
        words.push(format!("--level {level}"));
    }
    words.push(format!("--measures {}", args.measures));
    words.extend(
        args.concept
            .iter()
            .map(|concept| format!("--concept {concept}")),
    );
    if let Some(aim) = &args.aim {
        words.push(format!("--aim {aim}"));
    }
    if let Some(count) = args.count {
        words.push(format!("--count {count}"));
    }
    if let Some(levels) = &args.levels {
        words.push(format!(
            "--levels {}",
            report::shown_name(&levels.display().to_string())
        ));
    }
    if args.name.measures() == MeasureName::Bar {
        words.push("--bars".to_owned());
    }
    words.push(format!("--seed {seed}"));
    words.join(" ")
}

/// A board drawn, with its line and what it is good for; the key when it is asked for.
fn told(book: &Phrasebook, dealt: &DealtAnswer, width: usize, key: bool) -> String {
    let mut text = String::new();
    if let Ok(board) = fingerpost::Board::from_line(&dealt.line) {
        text.push_str(drawn_by(book, &board, width).trim_start_matches('\n'));
        text.push('\n');
    }
    text.push_str(&wrapped(&dealt.line, width, "Line: ", "  "));
    text.push_str(&hard(dealt, width));
    if key {
        text.push_str(&keyed(dealt, width));
    }
    text
}

/// How hard a board is.
fn hard(dealt: &DealtAnswer, width: usize) -> String {
    let hard = &dealt.difficulty;
    let concepts: Vec<&str> = hard.concepts.iter().map(|it| it.concept.words()).collect();
    let mut text = wrapped(&concepts.join("; "), width, "It shows: ", "  ");
    let moves = format!(
        "{} (moves {}, longest jump {}, misunderstandings told apart {})",
        hard.score,
        hard.moves,
        hard.longest_jump,
        hard.told_apart.len()
    );
    text.push_str(&wrapped(&moves, width, "Difficulty: ", "  "));
    if !hard.told_apart.is_empty() {
        text.push_str(&wrapped(
            &hard.told_apart.join(", "),
            width,
            "It tells apart: ",
            "  ",
        ));
    }
    if !hard.not_told_apart.is_empty() {
        let names = hard.not_told_apart.join(", ");
        text.push_str(&wrapped(
            &names,
            width,
            "It teaches nothing about (the wrong idea is right here): ",
            "  ",
        ));
    }
    text
}

/// The key of a board: the order in runs, and why.
fn keyed(dealt: &DealtAnswer, width: usize) -> String {
    let mut text = wrapped(&in_runs(&dealt.order), width, "Key: ", "  ");
    for (number, why) in dealt.why.iter().enumerate() {
        let first = if number + 1 < dealt.why.len() {
            format!("{:>3}. ", number + 1)
        } else {
            "     ".to_owned()
        };
        text.push_str(&wrapped(why, width, &first, "     "));
    }
    text
}

/// An order with runs of measures in one: 1-4 1-3 5.
fn in_runs(order: &[u16]) -> String {
    let mut runs: Vec<(u16, u16)> = Vec::new();
    for &measure in order {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == measure => *last = measure,
            _ => runs.push((measure, measure)),
        }
    }
    let words = runs.into_iter().map(|(first, last)| {
        if first == last {
            first.to_string()
        } else {
            format!("{first}-{last}")
        }
    });
    words.collect::<Vec<_>>().join(" ")
}

/// Writes the boards into a folder, and their keys. What was written, in words.
fn written(
    folder: &Path,
    answer: &DealAnswer,
    again: &str,
    overwrite: bool,
) -> Result<String, ErrorAnswer> {
    let shown = |path: &Path| report::shown_name(&path.display().to_string());
    let refuse = |path: &Path, error: &dyn std::fmt::Display| {
        ErrorAnswer::new(ErrorKind::NotWritten, format!("{}: {error}", shown(path)))
    };
    fs::create_dir_all(folder).map_err(|error| refuse(folder, &error))?;
    let mut files: Vec<(PathBuf, String)> = Vec::new();
    let mut keys = format!("Keys. The same boards again: {again}\n");
    for (number, dealt) in answer.boards.iter().enumerate() {
        let name = format!("board-{:02}.json", number + 1);
        let board =
            fingerpost::Board::from_line(&dealt.line).map_err(|error| refuse(folder, &error))?;
        files.push((folder.join(&name), board.to_json()));
        keys.push_str(&format!("\n{name}\n"));
        keys.push_str(&wrapped(&dealt.line, 100, "Line: ", "  "));
        keys.push_str(&hard(dealt, 100));
        keys.push_str(&keyed(dealt, 100));
    }
    files.push((folder.join("keys.txt"), keys));
    let there = files.iter().find(|(path, _)| !overwrite && path.exists());
    if let Some((path, _)) = there {
        let why = "is there already; nothing was written; --overwrite writes over it";
        return Err(refuse(path, &why));
    }
    for (path, text) in &files {
        let mut options = OpenOptions::new();
        if overwrite {
            options.write(true).create(true).truncate(true);
        } else {
            options.write(true).create_new(true);
        }
        let done = options
            .open(path)
            .and_then(|mut file| file.write_all(text.as_bytes()));
        done.map_err(|error| refuse(path, &error))?;
    }
    Ok(format!(
        "{} boards and keys.txt are in {}.\nThe same again: {again}\n",
        answer.boards.len(),
        shown(folder)
    ))
}
