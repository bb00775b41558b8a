//! `fingerpost play`: a game on a board, in the terminal.

use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};

use clap::{ArgMatches, Args, Command};
use fingerpost::{Game, GameRules, Phrasebook, SavedGame, Start, Terms, Until};
use fingerpost_json::{ErrorAnswer, ErrorKind};

use super::{
    Entry, ScoreArgs, TermsArgs, VoiceArgs, opened, parsed, read_board, seed_of_the_clock,
};
use crate::Streams;
use crate::draw::{self, drawn_by};
use crate::mend;
use crate::outcome::{Failure, Outcome, refuse, refuse_with};
use crate::report;
use crate::text::{counted, wrapped};

pub(super) const ENTRY: Entry = Entry {
    name: "play",
    about: "Play a game on a board: pieces walk its route by the throws of a die",
    after: "\
Examples:
  fingerpost play examples/boards/over-the-stile.json
  fingerpost play --players hat,boot --faces 4 --save friday.json '|: 1 | 2 :| 3 | 4 |]'
  fingerpost play --throws '3 5' '|: 1 | 2 :| 3 | 4 |]'
  fingerpost play --learner friday.json

At each turn type what the die shows, or press Enter and it is thrown for you; `stop` ends for today.
With --save the game is kept in that file after each throw; given as the board, the file goes on with it.",
    args: <PlayArgs as Args>::augment_args as fn(Command) -> Command,
    run,
};

#[derive(Args, Debug)]
struct PlayArgs {
    /// A board file, a score, a board line, or a game that was saved
    #[arg(value_name = "FILE|LINE")]
    board: String,
    #[command(flatten)]
    terms: TermsArgs,
    #[command(flatten)]
    score: ScoreArgs,
    #[command(flatten)]
    voice: VoiceArgs,
    #[command(flatten)]
    rules: RulesArgs,
    /// The players in the order of their turns, with commas between
    #[arg(
        long,
        value_name = "NAMES",
        default_value = "A,B",
        value_delimiter = ','
    )]
    players: Vec<String>,
    /// The seed by which the die is thrown [default: from the clock, and told]
    #[arg(long, value_name = "N")]
    seed: Option<u64>,
    /// Throws to begin with, with blanks between
    #[arg(long, value_name = "NUMBERS")]
    throws: Option<String>,
    /// The file in which the game is kept after each throw; an older one is kept over only when the game goes on from it
    #[arg(long, value_name = "FILE")]
    save: Option<PathBuf>,
}

// What the players agree on: the same flags for every command about games. No doc comment: clap would print it.
#[derive(Args, Debug)]
#[allow(clippy::struct_excessive_bools, reason = "each is a flag of its own")]
pub(super) struct RulesArgs {
    /// The faces of the die, from 2 to 100
    #[arg(long, value_name = "N", default_value_t = 6, value_parser = clap::value_parser!(u8).range(2..=100))]
    faces: u8,
    /// The end must be reached exactly: a throw too high does not move the piece
    #[arg(long)]
    exact: bool,
    /// A fermata does not cost a turn
    #[arg(long)]
    no_holds: bool,
    /// All pieces begin together on the first measure, not beside the board
    #[arg(long)]
    together: bool,
    /// Play until all pieces are home, not only the first
    #[arg(long)]
    all_home: bool,
}

impl RulesArgs {
    pub(super) fn rules(&self) -> GameRules {
        GameRules {
            faces: self.faces,
            exact_finish: self.exact,
            fermata_holds: !self.no_holds,
            start: if self.together {
                Start::OnTheFirstMeasure
            } else {
                Start::BeforeTheFirstMeasure
            },
            until: if self.all_home {
                Until::AllHome
            } else {
                Until::FirstHome
            },
        }
    }
}

/// What a game begins with, and then keeps: the arguments by their names, and as they are written.
const BEGINS_WITH: [(&str, &str); 10] = [
    ("players", "--players"),
    ("seed", "--seed"),
    ("faces", "--faces"),
    ("exact", "--exact"),
    ("no_holds", "--no-holds"),
    ("together", "--together"),
    ("all_home", "--all-home"),
    ("reading", "--reading"),
    ("plays", "--plays"),
    ("omit_repeats", "--omit-repeats"),
];

fn run(matches: &ArgMatches, streams: &mut Streams<'_>) -> Result<Outcome, Failure> {
    let args: PlayArgs = parsed(matches)?;
    let begins_with = BEGINS_WITH
        .iter()
        .filter(|(id, _)| matches.value_source(id) == Some(clap::parser::ValueSource::CommandLine));
    let given: Vec<&str> = begins_with.map(|&(_, flag)| flag).collect();
    if args.board == "-" {
        return Err(refuse(
            streams,
            "standard input is for the throws of the game: give the board as a file or a line",
        ));
    }
    let input = opened(&args.board, streams, false)?;
    let (mut game, goes_on) = match saved_in(&input.text) {
        Some(Ok(_)) if !given.is_empty() => {
            let message = format!(
                "{}: this is a saved game, which goes on with what it began with: leave out {}",
                report::shown_name(&input.name),
                given.join(", ")
            );
            return Err(refuse(streams, &message));
        }
        Some(Ok(saved)) => match fingerpost_json::restored(&saved) {
            Ok(game) => (game, true),
            Err(error) => return Err(refuse_with(streams, &error, false)),
        },
        Some(Err(message)) => {
            let name = report::shown_name(&input.name);
            let message = format!("{name}: this saved game cannot be read: {message}");
            return Err(refuse(streams, &message));
        }
        None => {
            let asked = args.score.asked().for_reading(args.terms.reading);
            let read = read_board(&input, &asked, streams, false)?.spoken(args.voice.voice());
            let seed = args.seed.unwrap_or_else(seed_of_the_clock);
            let new = Game::new(
                &read.board,
                &Terms::from(args.terms.terms()),
                args.players.iter().map(|name| name.trim().to_owned()),
                args.rules.rules(),
                Some(seed),
            );
            match new {
                Ok(game) => (game, false),
                Err(fingerpost::GameError::NoRoute(refusal)) => {
                    return super::unroll::no_route(streams, &input, &read, &refusal);
                }
                Err(error) => {
                    let error = ErrorAnswer::new(ErrorKind::Request, error.to_string());
                    return Err(refuse_with(streams, &error, false));
                }
            }
        }
    };
    let file = args.save.clone().or(input.path.filter(|_| goes_on));
    if let Some(path) = &args.save {
        if path.exists() && !(goes_on && Some(path.as_path()) == file.as_deref()) {
            let message = format!(
                "{} is there already: to go on with it, give it as the board; else choose another name",
                path.display()
            );
            return Err(refuse(streams, &message));
        }
    }
    let width = draw::width(streams);
    let book = args.voice.voice().book();
    let mut text = drawn_by(&book, game.board(), width);
    text.push('\n');
    text.push_str(&opening(&book, &game, goes_on, width));
    streams.stdout.write_all(text.as_bytes())?;
    let mut table = Table {
        file: file.as_deref(),
        book,
        width,
    };
    for word in args
        .throws
        .iter()
        .flat_map(|throws| throws.split_whitespace())
    {
        if table.turn(&mut game, word, streams)? == Turn::Over {
            break;
        }
    }
    table.play(&mut game, streams)?;
    Ok(Outcome::Clean)
}

/// The game in a text that is a saved game, or why it cannot be read; `None` for any other text.
fn saved_in(text: &str) -> Option<Result<SavedGame, String>> {
    let value: serde_json::Value = serde_json::from_str(text).ok()?;
    value.get("game")?;
    Some(serde_json::from_value(value).map_err(|error| error.to_string()))
}

fn opening(book: &Phrasebook, game: &Game, goes_on: bool, width: usize) -> String {
    let mut text = String::new();
    let rules = game.rules();
    let players = game.players().join(", ");
    let seed = game
        .seed()
        .map_or_else(String::new, |seed| format!(" Seed: {seed}."));
    let begins = if goes_on {
        "The game goes on."
    } else {
        "A new game."
    };
    let line = format!(
        "{begins} Players: {players}. A die with {} faces.{seed} The music has {}.",
        rules.faces,
        counted(game.roadmap().length(), "step", "steps")
    );
    text.push_str(&wrapped(&line, width, "", "  "));
    if goes_on {
        for (player, piece) in game.players().iter().zip(game.pieces()) {
            let on = piece
                .walked
                .checked_sub(1)
                .and_then(|on| game.roadmap().step(on));
            let place = on.map_or_else(
                || book.message("stands before the first measure"),
                |step| {
                    let name = game.board().measure_words(step.measure);
                    let on = book.message("stands on measure");
                    format!("{on} {name}, step {}", piece.walked)
                },
            );
            text.push_str(&format!("  {player} {place}.\n"));
        }
    }
    text
}

/// Whether the game goes on after a turn.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Turn {
    Next,
    Over,
}

/// Where a game is played.
struct Table<'a> {
    file: Option<&'a Path>,
    book: Phrasebook,
    width: usize,
}

impl Table<'_> {
    fn play(&mut self, game: &mut Game, streams: &mut Streams<'_>) -> Result<(), Failure> {
        let mut lines = Vec::new();
        // The streams are borrowed for the answers while the throws are read: one line at a time.
        while let Some(turn) = game.turn() {
            let name = game.players().get(turn).cloned().unwrap_or_default();
            write!(streams.stdout, "\n{name}, throw: ")?;
            streams.stdout.flush()?;
            lines.clear();
            let read = read_line(streams.stdin, &mut lines)?;
            if !read {
                writeln!(streams.stdout)?;
                return self.leave(streams);
            }
            if lines.len() as u64 == LONGEST_LINE {
                let message =
                    format!("a line of the input is no throw: it has {LONGEST_LINE} bytes or more");
                return Err(refuse(streams, &message));
            }
            let line = String::from_utf8_lossy(&lines).trim().to_owned();
            if line == "stop" {
                return self.leave(streams);
            }
            self.turn(game, &line, streams)?;
        }
        Ok(())
    }

    /// What is said when the game is left before its end.
    fn leave(&self, streams: &mut Streams<'_>) -> Result<(), Failure> {
        let line = match self.file {
            Some(file) => format!(
                "The game is kept in {}; `fingerpost play` goes on with it.",
                file.display()
            ),
            None => "The game is not over, and is not kept; --save FILE keeps it.".to_owned(),
        };
        streams
            .stdout
            .write_all(wrapped(&line, self.width, "", "  ").as_bytes())?;
        Ok(())
    }

    /// One turn: a number that was thrown, or nothing, and the die is thrown.
    fn turn(
        &mut self,
        game: &mut Game,
        word: &str,
        streams: &mut Streams<'_>,
    ) -> Result<Turn, Failure> {
        let Some(player) = game.turn() else {
            return Ok(Turn::Over);
        };
        let thrown = if word.is_empty() {
            game.throw(player)
        } else if let Ok(number) = word.parse() {
            game.throw_of(player, number)
        } else {
            let faces = game.rules().faces;
            let word = report::shown_name(word);
            let line =
                format!("`{word}` is no throw: a number from 1 to {faces}, Enter alone, or `stop`");
            streams
                .stdout
                .write_all(wrapped(&line, self.width, "", "  ").as_bytes())?;
            return Ok(Turn::Next);
        };
        let throw = match thrown {
            Ok(throw) => throw,
            Err(refused) => {
                let line = format!("Not so: {refused}");
                streams
                    .stdout
                    .write_all(wrapped(&line, self.width, "", "  ").as_bytes())?;
                return Ok(Turn::Next);
            }
        };
        let said = self.book.throw(game, &throw);
        for (at, line) in said.iter().enumerate() {
            let first = if at == 0 { "" } else { "  " };
            streams
                .stdout
                .write_all(wrapped(line, self.width, first, "    ").as_bytes())?;
        }
        self.keep(game, streams)?;
        Ok(if throw.next.is_none() {
            Turn::Over
        } else {
            Turn::Next
        })
    }

    /// Keeps the game: a file that is there is written beside it first, so that a full disk leaves the game before.
    fn keep(&self, game: &Game, streams: &mut Streams<'_>) -> Result<(), Failure> {
        let Some(file) = self.file else {
            return Ok(());
        };
        // cannot fail: a game has only keys that are texts, and writing to memory does not fail.
        let text = serde_json::to_string(&game.save()).unwrap_or_default() + "\n";
        let kept = if file.exists() {
            mend::write(file, &text)
        } else {
            std::fs::write(file, text)
        };
        kept.map_err(|error| {
            let message = format!("{} cannot be written: {error}", file.display());
            refuse(streams, &message)
        })
    }
}

/// The longest line of throws that is read.
const LONGEST_LINE: u64 = 1_000;

/// Reads one line, or as much of it as a throw can be; false at the end of the input.
fn read_line(input: &mut dyn std::io::Read, line: &mut Vec<u8>) -> Result<bool, Failure> {
    // A byte at a time: what is behind the line is left for the next.
    let mut byte = BufReader::with_capacity(1, input).take(LONGEST_LINE);
    let read = byte.read_until(b'\n', line)?;
    Ok(read > 0)
}
