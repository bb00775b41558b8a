//! `fingerpost how-long`: how long a game on a board lasts.

use clap::{ArgMatches, Args, Command};
use fingerpost::{Lesson, LessonFit, Until, best_fit};
use fingerpost_json::{ErrorAnswer, ErrorKind, HowLongAnswer, HowLongAsked};

use super::play::RulesArgs;
use super::{Entry, MeasuresArgs, ScoreArgs, TermsArgs, opened, parsed, read_board};
use crate::Streams;
use crate::draw;
use crate::input::is_line;
use crate::outcome::{Failure, Outcome, refuse_with};
use crate::report;
use crate::text::{counted, wrapped};

pub(super) const ENTRY: Entry = Entry {
    name: "how-long",
    about: "Say how long a game on a board lasts, and which board fits a lesson",
    after: "\
Examples:
  fingerpost how-long examples/boards/over-the-stile.json
  fingerpost how-long --players 4 --seconds 15 --minutes 20 examples/boards/*.json
  fingerpost how-long --faces 4 --exact --json '|: 1 | 2 :| 3 | 4 |]'

The numbers are exact chances, not games that were played. A turn is a throw with its walk, or the
turn in which a fermata is held.",
    args: <HowLongArgs as Args>::augment_args as fn(Command) -> Command,
    run,
};

#[derive(Args, Debug)]
struct HowLongArgs {
    /// Board files, scores or board lines; several are held against each other
    #[arg(value_name = "FILE|LINE|-", required = true)]
    boards: Vec<String>,
    #[command(flatten)]
    terms: TermsArgs,
    #[command(flatten)]
    score: ScoreArgs,
    #[command(flatten)]
    rules: RulesArgs,
    /// How many players there are, from 1 to 8
    #[arg(long, value_name = "N", default_value_t = 2)]
    players: usize,
    /// The seconds that one turn takes
    #[arg(long, value_name = "S", default_value_t = 20.0)]
    seconds: f64,
    /// The minutes that there are
    #[arg(long, value_name = "M")]
    minutes: Option<f64>,
    #[command(flatten)]
    name: MeasuresArgs,
    /// Print one JSON object for each board instead of text
    #[arg(long)]
    json: bool,
}

fn run(matches: &ArgMatches, streams: &mut Streams<'_>) -> Result<Outcome, Failure> {
    let args: HowLongArgs = parsed(matches)?;
    let asked = HowLongAsked {
        players: args.players,
        rules: args.rules.rules(),
        seconds: args.seconds,
        minutes: args.minutes,
    };
    let width = draw::width(streams);
    let mut fits: Vec<(String, LessonFit)> = Vec::new();
    // Kept until the best of them is known.
    let mut answers: Vec<HowLongAnswer> = Vec::new();
    let mut refused = false;
    let several = args.boards.len() > 1;
    let are_lines = args.boards.iter().filter(|it| is_line(it)).count();
    let mut line = 0;
    for board in &args.boards {
        let mut input = opened(board, streams, args.json)?;
        if is_line(board) && are_lines > 1 {
            // So that it can be told which one is meant.
            line += 1;
            input.name = format!("line {line}");
        }
        let score = args.score.asked().for_reading(args.terms.reading);
        let read = read_board(&input, &score, streams, args.json)?;
        let read = read.spoken(args.name.voice());
        let told = fingerpost_json::how_long(&read, &args.terms.terms(), &asked);
        let (mut answer, chances) = match told {
            Ok(told) => told,
            Err(error) => {
                // One board that cannot be played hides nothing of the others.
                let _: Failure = refuse_with(streams, &named(error, &input.name), args.json);
                refused = true;
                continue;
            }
        };
        let name = read
            .board
            .title()
            .map_or_else(|| report::shown_name(&input.name), str::to_owned);
        if let Some(minutes) = args.minutes {
            let lesson = Lesson {
                seconds_a_turn: args.seconds,
                minutes,
            };
            let fit = lesson.fit(&chances, asked.rules.until);
            fits.push((name.clone(), fit));
        }
        if args.json {
            answer.board = several.then_some(name);
            answers.push(answer);
            continue;
        }
        if several {
            writeln!(streams.stdout, "{name}")?;
        }
        for line in told_in_words(&answer) {
            let line = wrapped(&line, width, "", "  ");
            streams.stdout.write_all(line.as_bytes())?;
        }
        if several {
            writeln!(streams.stdout)?;
        }
    }
    let numbers: Vec<LessonFit> = fits.iter().map(|&(_, fit)| fit).collect();
    let best = best_fit(&numbers).filter(|_| fits.len() > 1);
    if args.json {
        for (at, answer) in answers.iter_mut().enumerate() {
            answer.best = best.map(|best| best == at);
            report::answer(streams, answer)?;
        }
    } else if let Some((name, fit)) = best.and_then(|at| fits.get(at)) {
        let sure = if fit.in_time >= 0.8 {
            "it fills the time best of those that end in it at least four times in five"
        } else {
            "none ends in the time four times in five; this one does most often"
        };
        let line = format!("Best for this lesson: {name}; {sure}.");
        streams
            .stdout
            .write_all(wrapped(&line, width, "", "  ").as_bytes())?;
    }
    if refused {
        return Err(Failure::Refused);
    }
    Ok(Outcome::Clean)
}

/// A fault that names the board it is about.
fn named(mut error: ErrorAnswer, name: &str) -> ErrorAnswer {
    error.error.message = format!("{}: {}", report::shown_name(name), error.error.message);
    if error.error.kind == ErrorKind::OpenSection {
        error.error.message.push_str(" with --plays N");
    }
    error
}

/// The numbers in words.
fn told_in_words(answer: &HowLongAnswer) -> Vec<String> {
    let time = &answer.time;
    let mut lines = vec![format!(
        "The music has {}. One piece alone needs {:.1} throws on average with a die of {} faces.",
        counted(answer.length, "step", "steps"),
        answer.throws_alone,
        answer.rules.faces
    )];
    let turns = &answer.turns;
    let players = match answer.players {
        1 => "1 player".to_owned(),
        players => format!("{players} players"),
    };
    lines.push(format!(
        "With {players} the first piece is home after {:.1} turns on average: half of the games take up to {}, nine in ten up to {}.",
        turns.expected, turns.half, turns.nine_in_ten
    ));
    if answer.rules.until == Until::AllHome {
        let spread = answer
            .turns_all_home
            .as_ref()
            .map_or_else(String::new, |all| {
                let (half, most) = (all.half, all.nine_in_ten);
                format!(": half of the games take up to {half}, nine in ten up to {most}")
            });
        lines.push(format!(
            "Until all pieces are home it takes {:.1} turns on average{spread}.",
            answer.turns_until_all_home
        ));
    }
    let (end, home) = match answer.rules.until {
        Until::AllHome => ("are over", "All pieces are"),
        Until::FirstHome => ("have a winner", "The first piece is"),
    };
    lines.push(format!(
        "At {} seconds a turn: {:.1} minutes on average; half of the games {end} within {:.1} minutes, nine in ten within {:.1}.",
        time.seconds, time.expected_minutes, time.half_within, time.nine_in_ten_within
    ));
    if let Some(in_time) = time.in_time {
        lines.push(format!(
            "{home} home within the lesson in {} games of 100.",
            hundredths(in_time)
        ));
    }
    if answer.players > 1 {
        let wins: Vec<String> = answer.wins.iter().map(|&share| hundredths(share)).collect();
        lines.push(format!(
            "Who throws first comes home first most often: of 100 games the seats win {}.",
            wins.join(", ")
        ));
    }
    lines
}

/// A chance as a number of games in a hundred.
fn hundredths(chance: f64) -> String {
    match chance * 100.0 {
        none if none < 0.05 => "fewer than 1".to_owned(),
        all if all > 99.95 => "more than 99".to_owned(),
        some => format!("{some:.1}"),
    }
}
