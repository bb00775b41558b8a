//! `fingerpost compare`: the routes that the readings of a board give, side by side.

use std::collections::BTreeSet;

use clap::{ArgMatches, Args, Command};
use fingerpost::{
    Alternative, Comparison, NamedReading, Question, Reading, Roadmap, Settling, Terms,
};
use fingerpost_json::{BoardRead, FormatName, SignsFrom};

use super::unroll::{no_route, no_route_json};
use super::{Entry, MeasuresArgs, ScoreArgs, TermsArgs, opened, parsed, read_board};
use crate::Streams;
use crate::draw::{self, drawn_by};
use crate::outcome::{Failure, Outcome};
use crate::report;
use crate::text::{counted, listed, wrapped};

pub(super) const ENTRY: Entry = Entry {
    name: "compare",
    about: "Show the routes that the readings of a board give, and what to write to settle it",
    after: "\
Examples:
  fingerpost compare '1 | 2 :| 3 D.C. |]'
  fingerpost compare examples/boards/two-huts.json
  fingerpost compare --json '1 Fine | 2 D.C. |]'

A board is settled when every reading gives the same route. `fingerpost explain QUESTION` says more of a question.",
    args: <CompareArgs as Args>::augment_args as fn(Command) -> Command,
    run,
};

#[derive(Args, Debug)]
struct CompareArgs {
    /// A board file, a score, a board line, or - for standard input
    #[arg(value_name = "FILE|LINE|-")]
    board: String,
    #[command(flatten)]
    terms: TermsArgs,
    #[command(flatten)]
    score: ScoreArgs,
    #[command(flatten)]
    measures: MeasuresArgs,
    /// Print one JSON object instead of text
    #[arg(long)]
    json: bool,
    /// The most steps of each route to write out [default: 10000 with --json, 200 without]
    #[arg(long, value_name = "N")]
    limit: Option<u64>,
}

const MOST_STEPS: u64 = 200;
/// The most combinations of answers that are told of a route.
const MOST_WAYS: usize = 6;
/// The most measures of a board whose line is printed.
const MOST_IN_LINE: u16 = 40;

/// What stands before the routes of a MusicXML score.
const OF_THE_PRINT: &str = "All readings below are of the signs as printed. With --reading musicxml \
    the score's instructions for playing are taken at their word.";

fn run(matches: &ArgMatches, streams: &mut Streams<'_>) -> Result<Outcome, Failure> {
    let args: CompareArgs = parsed(matches)?;
    let input = opened(&args.board, streams, args.json)?;
    let asked = args.score.asked().for_reading(args.terms.reading);
    let read = read_board(&input, &asked, streams, args.json)?;
    let read = read.spoken(args.measures.voice());
    if args.json {
        return match fingerpost_json::compare(&read, &args.terms.terms(), args.limit) {
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
    let page = Page {
        read: &read,
        terms: &terms,
        compared: &compared,
        limit: args.limit.unwrap_or(MOST_STEPS),
        width: draw::width(streams),
        is_of_the_print: read.score().is_some_and(|score| {
            let musicxml = [FormatName::Musicxml, FormatName::CompressedMusicxml];
            musicxml.contains(&score.format) && asked.signs_from != SignsFrom::Sound
        }),
    };
    let mut text = drawn_by(&read.book(), &read.board, page.width);
    text.push('\n');
    text.push_str(&report::how_named_and_read(&read, page.width));
    text.push_str(&page.written());
    streams.stdout.write_all(text.as_bytes())?;
    Ok(Outcome::Clean)
}

struct Page<'a> {
    read: &'a BoardRead<'a>,
    terms: &'a Terms,
    compared: &'a Comparison,
    limit: u64,
    width: usize,
    /// Whether it is the board of a MusicXML score as it is printed.
    is_of_the_print: bool,
}

impl Page<'_> {
    fn written(&self) -> String {
        let mut text = String::new();
        if self.is_of_the_print {
            text.push_str(&wrapped(OF_THE_PRINT, self.width, "", "  "));
            text.push('\n');
        }
        if self.compared.settled() {
            text.push_str("Settled: every reading gives this route.\n\n");
        } else {
            let routes = counted(self.compared.routes.len() as u64, "route", "routes");
            text.push_str(&format!("Not settled: the readings give {routes}.\n\n"));
        }
        for (number, route) in self.compared.routes.iter().enumerate() {
            text.push_str(&self.route(number, route));
        }
        if !self.compared.questions.is_empty() {
            text.push_str("\nThe questions that change the route\n");
            for &question in &self.compared.questions {
                text.push_str(&self.question(question));
            }
        }
        text.push_str(&self.left_out());
        let book = self.read.book();
        let settling = book.settling(&self.read.board, self.terms, self.compared);
        text.push_str(&self.settle(&settling));
        text
    }

    /// One route: its length, its order, where it parts from the first, and the readings that give it.
    fn route(&self, number: usize, route: &Alternative) -> String {
        let length = counted(route.roadmap.length(), "measure", "measures");
        let length = self.read.book().message(&length);
        let mut text = format!("Route {}, {length}\n", number + 1);
        let names: Vec<String> = route
            .roadmap
            .steps()
            .take(usize::try_from(self.limit).unwrap_or(usize::MAX))
            .map(|step| self.read.board.measure_typed(step.measure))
            .collect();
        text.push_str(&wrapped(&names.join(" "), self.width, "  ", "  "));
        let left = route.roadmap.length().saturating_sub(self.limit);
        if left > 0 {
            let left = counted(left, "step", "steps");
            text.push_str(&format!("  … {left} more; --limit N lists more of them.\n"));
        }
        if let Some(parting) = self.parting(route) {
            text.push_str(&wrapped(&parting, self.width, "  ", "  "));
        }
        text.push_str(&self.readings(route));
        text
    }

    fn parting(&self, route: &Alternative) -> Option<String> {
        let index = route.parts_at?;
        let first = self.compared.routes.first()?;
        let name = |roadmap: &Roadmap| match roadmap.step(index) {
            Some(step) => {
                let name = self.read.board.measure_words(step.measure);
                format!("{} {name}", self.read.book().message("plays measure"))
            }
            None => "has ended".to_owned(),
        };
        let (here, there) = (name(&route.roadmap), name(&first.roadmap));
        let step = index + 1;
        if here == there {
            return Some(format!(
                "Step {step} sounds otherwise than in route 1: octaves, hands or holds differ."
            ));
        }
        Some(format!("At step {step} it {here}, where route 1 {there}."))
    }

    /// The readings that give a route: their answers to the questions that change it, and their names.
    fn readings(&self, route: &Alternative) -> String {
        let questions = &self.compared.questions;
        if questions.is_empty() {
            return "  Every reading gives it.\n".to_owned();
        }
        let ways = ways(questions, &route.readings);
        let own = self.read.board.reading();
        let named = NamedReading::ALL.into_iter().filter(|named| {
            let reading = own.over(named.reading());
            let mut ways = ways.iter();
            !named.omits_repeats() && ways.any(|way| way.holds(questions, reading))
        });
        let named: Vec<String> = named.map(|named| named.name().to_owned()).collect();
        let mut text = String::new();
        for (index, way) in ways.iter().take(MOST_WAYS).enumerate() {
            let when = if index == 0 { "When" } else { "Or when" };
            let line = format!("{when} {}.", way.words(questions));
            text.push_str(&wrapped(&line, self.width, "  ", "    "));
        }
        if ways.len() > MOST_WAYS {
            let more = ways.len() - MOST_WAYS;
            text.push_str(&format!("  Or in {more} ways more.\n"));
        }
        if !named.is_empty() {
            let readings = if named.len() == 1 {
                "Reading"
            } else {
                "Readings"
            };
            let line = format!("{readings}: {}.", listed(&named));
            text.push_str(&wrapped(&line, self.width, "  ", "    "));
        }
        text
    }

    fn question(&self, question: Question) -> String {
        let book = self.read.book();
        let asks = format!("{}: {}", question.name(), book.question(question));
        let mut text = wrapped(&asks, self.width, "  ", "    ");
        for answer in question.answers() {
            let routes: Vec<String> = self
                .compared
                .routes
                .iter()
                .enumerate()
                .filter(|(_, route)| {
                    let mut readings = route.readings.iter();
                    readings.any(|reading| reading.answer(question) == answer)
                })
                .map(|(number, _)| (number + 1).to_string())
                .collect();
            let gives = match routes.len() {
                0 => "no route".to_owned(),
                count if count == self.compared.routes.len() => "every route".to_owned(),
                1 => format!("route {}", routes.join("")),
                _ => format!("routes {}", listed(&routes)),
            };
            let means = book.answer(question, answer).unwrap_or_default();
            let line = format!("{answer}: {gives}. {means}");
            text.push_str(&wrapped(&line, self.width, "    ", "      "));
        }
        text
    }

    fn left_out(&self) -> String {
        let mut rules: Vec<&str> = Vec::new();
        for left_out in &self.compared.left_out {
            for error in &left_out.errors {
                if !rules.contains(&error.rule) {
                    rules.push(error.rule);
                }
            }
        }
        if rules.is_empty() {
            return String::new();
        }
        let count = counted(self.compared.left_out.len() as u64, "reading", "readings");
        let text = format!(
            "{count} left out: the board would have errors there ({}).",
            rules.join(", ")
        );
        format!("\n{}", wrapped(&text, self.width, "", "  "))
    }

    fn settle(&self, settling: &[Settling]) -> String {
        let Some(last) = settling.last() else {
            return String::new();
        };
        let mut text = String::from("\nTo settle the board on route 1\n");
        for it in settling {
            text.push_str(&wrapped(&it.write, self.width, "  - ", "    "));
        }
        if last.board.measures() <= MOST_IN_LINE {
            text.push_str(&format!("The board is then:\n  {}\n", last.board.to_line()));
        }
        text
    }
}

/// Some readings, as the answers that each question may have.
#[derive(Clone, PartialEq, Eq, Debug)]
struct Way {
    /// One set for each question that changes the route.
    answers: Vec<BTreeSet<&'static str>>,
}

impl Way {
    /// The two as one, when they differ in one question alone.
    fn joined(&self, other: &Way) -> Option<Way> {
        let differ = |(a, b): &(&BTreeSet<&str>, &BTreeSet<&str>)| a != b;
        let pairs = || self.answers.iter().zip(&other.answers);
        (pairs().filter(differ).count() == 1).then(|| Way {
            answers: pairs().map(|(a, b)| a | b).collect(),
        })
    }

    fn holds(&self, questions: &[Question], reading: Reading) -> bool {
        let mut pairs = questions.iter().zip(&self.answers);
        pairs.all(|(&question, answers)| answers.contains(reading.answer(question)))
    }

    fn words(&self, questions: &[Question]) -> String {
        let pairs = questions.iter().zip(&self.answers);
        let told = pairs.filter(|(question, answers)| answers.len() < question.answers().len());
        let words: Vec<String> = told
            .map(|(question, answers)| {
                let answers: Vec<&str> = answers.iter().copied().collect();
                format!("{} is {}", question.name(), answers.join(" or "))
            })
            .collect();
        listed(&words)
    }
}

/// What readings have in common: as few ways as joining them two by two gives.
fn ways(questions: &[Question], readings: &[Reading]) -> Vec<Way> {
    let mut ways: Vec<Way> = Vec::new();
    for reading in readings {
        let answers = questions
            .iter()
            .map(|&question| BTreeSet::from([reading.answer(question)]))
            .collect();
        let way = Way { answers };
        if !ways.contains(&way) {
            ways.push(way);
        }
    }
    loop {
        let pair = (0..ways.len()).find_map(|first| {
            let second = (first + 1..ways.len())
                .find_map(|second| Some((second, ways.get(first)?.joined(ways.get(second)?)?)));
            second.map(|(second, joined)| (first, second, joined))
        });
        let Some((first, second, joined)) = pair else {
            return ways;
        };
        ways.remove(second);
        if let Some(way) = ways.get_mut(first) {
            *way = joined;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_that_differ_in_one_question_are_told_as_one_way() {
        let questions = [Question::RepeatsOnReturn, Question::Arming];
        let all = Reading::default().varied(&questions);
        let whole = ways(&questions, &all);
        assert_eq!(whole.len(), 1);
        let skipping: Vec<Reading> = all
            .into_iter()
            .filter(|reading| reading.answer(Question::RepeatsOnReturn) == "skip")
            .collect();
        let some = ways(&questions, &skipping);
        let words: Vec<String> = some.iter().map(|way| way.words(&questions)).collect();
        assert_eq!(words, ["repeats-on-return is skip"]);
    }
}
