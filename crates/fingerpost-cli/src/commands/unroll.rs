//! `fingerpost unroll`: the order in which a board is played.

use clap::{ArgMatches, Args, Command};
use fingerpost::{Comparison, Refusal, Roadmap, Terms};
use fingerpost_json::{
    BoardRead, ErrorAnswer, ErrorKind, ReadingAnswer, RegisterName, Window, route_told,
};

use super::{Entry, ScoreArgs, TermsArgs, VoiceArgs, opened, parsed, read_board};
use crate::Streams;
use crate::draw::{self, drawn_by};
use crate::input::Input;
use crate::outcome::{Failure, Outcome, refuse_with};
use crate::report;
use crate::text::{counted, grouped, wrapped};
use crate::told;

pub(super) const ENTRY: Entry = Entry {
    name: "unroll",
    about: "Say in which order the measures of a board are played, and why",
    after: "\
Examples:
  fingerpost unroll examples/boards/over-the-stile.json
  fingerpost unroll '|: 1 | 2 | [1. 3 :| [2. 4 Fine ] | 5 D.C. al Fine |]'
  fingerpost unroll --reading all-repeats '1 | 2 :| 3 D.C. |]'
  fingerpost unroll --plays 4 '|: 1 | 2 :|(plays open) 3 |]'
  fingerpost unroll --from 9 --count 4 examples/boards/over-the-stile.json
  fingerpost unroll --json - < board.json

A board with errors has no route: its findings are printed instead, and the exit status is 1.",
    args: <UnrollArgs as Args>::augment_args as fn(Command) -> Command,
    run,
};

#[derive(Args, Debug)]
struct UnrollArgs {
    /// A board file, a score, a board line, or - for standard input
    #[arg(value_name = "FILE|LINE|-")]
    board: String,
    #[command(flatten)]
    terms: TermsArgs,
    #[command(flatten)]
    score: ScoreArgs,
    #[command(flatten)]
    voice: VoiceArgs,
    /// Print one JSON object instead of text
    #[arg(long, conflicts_with = "learner")]
    json: bool,
    /// The first step to write out, counted from 1
    #[arg(long, value_name = "STEP")]
    from: Option<u64>,
    /// How many steps to write out
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..))]
    count: Option<u64>,
    /// The most steps to write out with --json [default: 1000000]
    #[arg(long, value_name = "N")]
    limit: Option<u64>,
}

/// The most steps that are listed when nothing else is asked for.
const MOST_STEPS: u64 = 500;

const MORE: &str = "`--from` and `--count` list any steps.";

pub(super) const CLAUSES: &str =
    "The numbers in brackets are clauses of the rulebook; `fingerpost explain 3.2` shows one.";

fn run(matches: &ArgMatches, streams: &mut Streams<'_>) -> Result<Outcome, Failure> {
    let args: UnrollArgs = parsed(matches)?;
    let input = opened(&args.board, streams, args.json)?;
    let asked = args.score.asked().for_reading(args.terms.reading);
    let voice = args.voice.voice();
    let read = read_board(&input, &asked, streams, args.json)?.spoken(voice);
    let window = Window {
        limit: args.limit,
        from: args.from,
        count: args.count,
    };
    if args.json {
        return match fingerpost_json::unroll(&read, &args.terms.terms(), &window) {
            Ok(answer) => {
                report::answer(streams, &answer)?;
                Ok(Outcome::Clean)
            }
            Err(error) => no_route_json(streams, &error),
        };
    }
    let terms = Terms::from(args.terms.terms());
    let compared = match fingerpost::compare(&read.board, &terms) {
        Ok(compared) => compared,
        Err(refusal) => return no_route(streams, &input, &read, &refusal),
    };
    // cannot fail: a comparison holds at least the route asked for.
    let Some(first) = compared.routes.first() else {
        return Err(Failure::Refused);
    };
    let order = match Order::of(&first.roadmap, window) {
        Ok(order) => order,
        Err(message) => {
            let error = ErrorAnswer::new(ErrorKind::Request, message);
            return Err(refuse_with(streams, &error, false));
        }
    };
    let width = draw::width(streams);
    let mut text = drawn_by(&read.book(), &read.board, width);
    text.push('\n');
    text.push_str(&report::how_named_and_read(&read, width));
    let clauses = voice.register() == RegisterName::Teacher;
    let steps = order.asked.then_some(order.from..order.from + order.count);
    let told = route_told(&read, &compared, &terms, &voice, told::MOST_TOLD, steps);
    if let Some(route) = told {
        text.push_str(&order.heading());
        text.push_str(&if order.asked {
            told::part_of_route(&route, clauses, width)
        } else {
            told::route(&route, clauses, MORE, width)
        });
    }
    text.push('\n');
    text.push_str(&order.written(&read, &first.roadmap, width));
    text.push_str(&summary(&read, &first.roadmap, &terms, width));
    if clauses {
        text.push_str(&settled(&read, &compared, width));
        text.push_str(&wrapped(CLAUSES, width, "", "  "));
    } else if !compared.settled() {
        text.push_str(&wrapped(&voice.book().unsettled(), width, "", "  "));
    }
    streams.stdout.write_all(text.as_bytes())?;
    Ok(Outcome::Clean)
}

/// A board without a route: with errors, its findings are the result; else the request lacks something.
pub(super) fn no_route(
    streams: &mut Streams<'_>,
    input: &Input,
    read: &BoardRead,
    refusal: &Refusal,
) -> Result<Outcome, Failure> {
    let answer = ErrorAnswer::refused(read, refusal);
    if answer.error.kind == ErrorKind::BoardErrors {
        let text = report::findings(&input.name, read, &answer.error.findings);
        streams.stdout.write_all(text.as_bytes())?;
        let name = report::shown_name(&input.name);
        let more = report::more(&answer.error.findings);
        write!(streams.stdout, "{name}: {}\n{more}", answer.error.message)?;
        let how = report::how_read(read, draw::width(streams));
        streams.stdout.write_all(how.as_bytes())?;
        return Ok(Outcome::Found);
    }
    let mut answer = answer;
    if answer.error.kind == ErrorKind::OpenSection {
        answer.error.message.push_str(" with --plays N");
    }
    Err(refuse_with(streams, &answer, false))
}

/// The same as JSON.
pub(super) fn no_route_json(
    streams: &mut Streams<'_>,
    answer: &ErrorAnswer,
) -> Result<Outcome, Failure> {
    if answer.error.kind == ErrorKind::BoardErrors {
        report::answer(streams, answer)?;
        return Ok(Outcome::Found);
    }
    Err(refuse_with(streams, answer, true))
}

/// Which steps are listed: the first, counted from 0, and how many.
struct Order {
    from: u64,
    count: u64,
    asked: bool,
}

impl Order {
    fn of(roadmap: &Roadmap, window: Window) -> Result<Order, String> {
        let length = roadmap.length();
        let asked = window.from.is_some() || window.count.is_some();
        let from = window.from.unwrap_or(1);
        if from == 0 || from > length.max(1) {
            return Err(format!(
                "there is no step {from}: the steps are 1 to {length}"
            ));
        }
        let most = window.limit.unwrap_or(MOST_STEPS);
        let most = window.count.unwrap_or(most);
        Ok(Order {
            from: from - 1,
            count: most.min(length - (from - 1)),
            asked,
        })
    }

    /// What stands before the route in words.
    fn heading(&self) -> String {
        if self.asked {
            let (first, last) = (self.from + 1, self.from + self.count);
            format!("How steps {first} to {last} are played, each move told whole\n")
        } else {
            "How it is played\n".to_owned()
        }
    }

    fn written(&self, read: &BoardRead, roadmap: &Roadmap, width: usize) -> String {
        let steps = (self.from..self.from + self.count).map_while(|index| roadmap.step(index));
        let names: Vec<String> = steps
            .map(|step| read.board.measure_typed(step.measure))
            .collect();
        if names.is_empty() {
            return String::new();
        }
        let last = self.from + self.count;
        let title = if self.asked {
            format!("Order, steps {} to {last}: ", self.from + 1)
        } else {
            "Order: ".to_owned()
        };
        let mut text = wrapped(&names.join(" "), width, &title, "  ");
        let left = roadmap.length() - last;
        if left > 0 {
            let left = counted(left, "step", "steps");
            text.push_str(&format!(
                "  … {left} more; --from {} --count N lists them.\n",
                last + 1
            ));
        }
        text
    }
}

fn summary(read: &BoardRead, roadmap: &Roadmap, terms: &Terms, width: usize) -> String {
    let reading = ReadingAnswer::new(roadmap.reading(), terms.omit_repeats);
    let is_cut = read
        .board
        .markings()
        .iter()
        .any(|it| it.place().cut().is_some());
    let length = if is_cut {
        let steps = counted(roadmap.length(), "step", "steps");
        read.book()
            .message(&format!("{steps} (each part of a cut measure is one)"))
    } else {
        let measures = counted(roadmap.length(), "measure", "measures");
        format!("{} played", read.book().message(&measures))
    };
    let mut text = format!("Length: {length}, in the reading {reading}");
    if terms.omit_repeats && matches!(reading, ReadingAnswer::Answers(_)) {
        text.push_str(", with the repeats left out");
    }
    if let Some(plays) = terms.open_plays {
        let plays = grouped(u64::from(plays));
        text.push_str(&format!(", open sections played {plays} times"));
    }
    text.push('.');
    wrapped(&text, width, "", "  ")
}

/// Whether every reading gives this route, for the teacher.
fn settled(read: &BoardRead, compared: &Comparison, width: usize) -> String {
    if compared.settled() {
        return "Settled: every reading gives this route.\n".to_owned();
    }
    let book = read.book();
    let mut text = String::from("Not settled: this depends on the reading.\n");
    for &question in &compared.questions {
        let asks = format!("{}: {}", question.name(), book.question(question));
        text.push_str(&wrapped(&asks, width, "  ", "    "));
    }
    let more =
        "`fingerpost compare` shows the routes side by side, and what to write to settle it.";
    text.push_str(&wrapped(more, width, "  ", "  "));
    text
}
