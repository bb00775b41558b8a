//! What pupils misunderstand: answers written by hand, and answers that the second walker gives with one rule changed.

#[path = "support/erring.rs"]
mod erring;
#[path = "support/mod.rs"]
mod support;
#[path = "support/trials/mod.rs"]
mod trials;
#[path = "support/walker/mod.rs"]
mod walker;
#[path = "support/wrong_answers.rs"]
mod wrong_answers;

use std::fmt::Write;
use std::sync::Mutex;
use std::sync::atomic::{AtomicU32, Ordering};
use std::thread;

use erring::{LIMIT, Roads, Said, Wrong, order};
use fingerpost::{AnswerVerdict, Board, Judge, Terms};
use support::{cases, is_quick};
use trials::chance::{self, Dice};
use trials::{portrait, pupils};
use walker::mistaken::Mistake;
use walker::{Outcome, PlainStep, Walker};
use wrong_answers::{WRONG_ANSWERS, WrongAnswer};

#[test]
fn the_second_walker_errs_as_the_answers_written_by_hand() {
    let mut wrong = Vec::new();
    for answer in WRONG_ANSWERS {
        let board = Board::from_line(answer.board).expect("a board line");
        let walker = Walker::new(&board, LIMIT);
        let Some(mut steps) = walker.walk_mistaken(&Terms::default(), answer.mistakes) else {
            wrong.push(format!("{}: {:?}", answer.board, walker.errors()));
            continue;
        };
        let expected = measures(answer.order);
        // An answer to a road with no end is its beginning, longer than the right road.
        if answer.mistakes.contains(&Mistake::JumpForEver) {
            steps.truncate(expected.len());
        }
        let found: Vec<u16> = steps.iter().map(|step| step.measure).collect();
        if found != expected || !octaves_are(answer, &steps) {
            wrong.push(format!(
                "{:?} on {}: {found:?}",
                answer.mistakes, answer.board
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_answers_written_by_hand_are_explained_by_what_led_to_them() {
    for answer in WRONG_ANSWERS {
        let board = Board::from_line(answer.board).expect("a board line");
        let judge = Judge::new(&board, &Terms::default()).expect("a board with a road");
        let octaves = !answer.right.is_empty();
        let shift = |hand: &[i8], at: usize| hand.get(at).copied().unwrap_or(0);
        let said: Vec<Said> = measures(answer.order)
            .into_iter()
            .enumerate()
            .map(|(at, measure)| (measure, shift(answer.right, at), shift(answer.left, at)))
            .collect();
        let mut names: Vec<&str> = answer.mistakes.iter().map(|it| it.name()).collect();
        let explained = explained(&judge, &said, octaves).expect("a wrong answer");
        // Two at once have no order.
        let either = [names.join(" and "), {
            names.reverse();
            names.join(" and ")
        }];
        assert!(
            explained.iter().any(|one| either.contains(one)),
            "{}: {} for {names:?}: {explained:?}",
            answer.board,
            answer.order
        );
    }
}

#[test]
fn every_misunderstanding_has_an_answer_written_by_hand_and_its_source() {
    assert!(WRONG_ANSWERS.len() >= 40);
    for mistake in Mistake::ALL {
        assert!(
            WRONG_ANSWERS
                .iter()
                .any(|answer| answer.mistakes == [mistake]),
            "{mistake:?}"
        );
    }
    let sources = std::fs::read_to_string("spec/sources.md").expect("the sources are there");
    for answer in WRONG_ANSWERS {
        let key = answer.source.split(", ").next().unwrap_or_default();
        let known = ["common practice", "from memory"].contains(&key);
        let listed = sources.contains(&format!("- `{key}`: "));
        assert!(known || listed, "{}", answer.source);
    }
}

#[test]
fn a_learner_who_errs_about_octaves_alone_walks_the_right_road() {
    let mut roads = 0;
    for seed in 0..u64::from(cases(2000)) {
        let mut dice = Dice::new(seed);
        let board = if seed % 2 == 0 {
            pupils::board(&mut dice)
        } else {
            chance::from_pieces(&mut dice)
        };
        let terms = Terms {
            open_plays: Some(2),
            ..Terms::from(dice.reading())
        };
        let walker = Walker::new(&board, LIMIT);
        let Outcome::Steps(right) = walker.walk(&terms) else {
            continue;
        };
        roads += 1;
        let same = walker.walk_mistaken(&terms, &[]);
        assert_eq!(same.as_ref(), Some(&right), "{}", portrait(&board));
        // All that the walk of a learner does otherwise is done here, and must change nothing.
        let errs = walker.walk_mistaken(&terms, &[Mistake::OctaveInTheWrongHand]);
        let order = |steps: &[PlainStep]| {
            steps
                .iter()
                .map(|s| (s.measure, s.part))
                .collect::<Vec<_>>()
        };
        let errs = errs.expect("a board with a road");
        assert_eq!(order(&errs), order(&right), "{}", portrait(&board));
    }
    assert!(roads > cases(1000), "{roads}");
}

/// `1-4 1 2` as a list of measures.
fn measures(order: &str) -> Vec<u16> {
    let number = |text: &str| text.parse::<u16>().expect("a measure");
    let runs = order.split(' ').map(|run| match run.split_once('-') {
        Some((from, to)) => number(from)..=number(to),
        None => number(run)..=number(run),
    });
    runs.flatten().collect()
}

fn octaves_are(answer: &WrongAnswer, steps: &[PlainStep]) -> bool {
    answer.right.is_empty()
        || steps
            .iter()
            .map(|s| s.octave_right)
            .eq(answer.right.iter().copied())
            && steps
                .iter()
                .map(|s| s.octave_left)
                .eq(answer.left.iter().copied())
}

/// How often a misunderstanding is named first, of those boards on which no other one gives the same road.
const NAMED_FIRST: f64 = 95.0;
/// The same when the answer has a slip besides.
const NAMED_WITH_A_SLIP: f64 = 85.0;
/// The boards of each misunderstanding, in units that are worked through side by side.
const UNITS: u32 = 20;
const BOARDS_A_UNIT: u32 = 100;

#[test]
fn misunderstandings_are_found_as_often_as_the_readme_says() {
    let units = cases(UNITS);
    let tallies = in_parallel(units, measure);
    let table = table(&tallies);
    println!("{table}");
    let mut faults = Vec::new();
    for (mistake, tally) in Mistake::ALL.iter().zip(&tallies) {
        faults.extend(tally.faults(units * BOARDS_A_UNIT).map(|fault| {
            let missed = tally.missed.iter().take(3);
            let missed: Vec<&str> = missed.map(String::as_str).collect();
            format!("{mistake:?}: {fault}\n  {}", missed.join("\n  "))
        }));
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    if !is_quick() {
        readme_shows(&table);
    }
}

/// What was counted for one misunderstanding.
#[derive(Clone, Default)]
struct Tally {
    boards: u32,
    /// Another single misunderstanding gives the same answer.
    twins: u32,
    /// Of these, it and all that give the same answer are named first, and nothing else is.
    twins_named: u32,
    /// No other gives the same answer, and it alone is named first.
    named: u32,
    /// The same with a slip in the answer.
    slip_named: u32,
    /// With a slip it is named first, alone or beside others that explain as much.
    slip_tied: u32,
    /// The answer is called right, and is not right under any reading.
    wrongly_right: u32,
    /// Some answers for which another one was named.
    missed: Vec<String>,
}

/// Boards by chance, until each misunderstanding has made a difference on enough of them.
fn measure(unit: u32) -> Vec<Tally> {
    let mut tallies = vec![Tally::default(); Mistake::ALL.len()];
    let mut dice = Dice::new(u64::from(unit) << 32);
    while tallies.iter().any(|tally| tally.boards < BOARDS_A_UNIT) {
        let Some(roads) = Roads::new(&mut dice) else {
            continue;
        };
        let judge = Judge::new(&roads.board, &Terms::default()).expect("a board with a road");
        for (mistake, tally) in Mistake::ALL.into_iter().zip(&mut tallies) {
            if tally.boards == BOARDS_A_UNIT {
                continue;
            }
            if let Some(wrong) = roads.answer(&mut dice, mistake) {
                tally.add(&judge, &roads, &wrong, &mut dice);
            }
        }
    }
    tallies
}

impl Tally {
    /// What falls short, with so many boards asked for.
    fn faults(&self, boards: u32) -> impl Iterator<Item = &'static str> {
        let rest = self.boards - self.twins;
        let faults = [
            (self.boards != boards, "boards are missing"),
            (self.wrongly_right > 0, "a wrong answer is called right"),
            (
                share(self.twins_named, self.twins.max(1)) < NAMED_FIRST && self.twins > 0,
                "not all that give the same answer are named",
            ),
            (
                share(self.named, rest) < NAMED_FIRST,
                "named first too seldom",
            ),
            (
                share(self.slip_named, rest) < NAMED_WITH_A_SLIP,
                "with a slip named first too seldom",
            ),
        ];
        faults
            .into_iter()
            .filter_map(|(is, what)| is.then_some(what))
    }

    fn add(&mut self, judge: &Judge, roads: &Roads, wrong: &Wrong, dice: &mut Dice) {
        let octaves = wrong.mistake.is_of_octaves();
        let Some(first) = explained(judge, &wrong.answer, octaves) else {
            // What some published reading plays is no mistake, and this board does not count.
            if !roads.right_under_some_reading(&wrong.answer) {
                self.wrongly_right += 1;
                self.miss(roads, "called right", &wrong.answer);
            }
            return;
        };
        self.boards += 1;
        let name = wrong.mistake.name();
        if !wrong.twins.is_empty() {
            self.twins += 1;
            let mut all: Vec<&str> = wrong.twins.iter().map(|twin| twin.name()).collect();
            all.push(name);
            let named = |one: &&str| first.iter().any(|other| other == one);
            all.sort_unstable();
            all.dedup();
            if all.len() == first.len() && all.iter().all(named) {
                self.twins_named += 1;
            } else {
                self.miss(roads, &format!("{first:?} for {all:?}"), &wrong.answer);
            }
            return;
        }
        if first == [name] {
            self.named += 1;
        } else {
            self.miss(roads, &first.join(", "), &wrong.answer);
        }
        let slipped = roads.slipped(dice, wrong);
        let first = explained(judge, &slipped, octaves).unwrap_or_default();
        self.slip_named += u32::from(first == [name]);
        self.slip_tied += u32::from(first.iter().any(|one| one == name));
    }

    fn miss(&mut self, roads: &Roads, instead: &str, answer: &[Said]) {
        if self.missed.len() < 3 {
            self.missed.push(format!(
                "{}: {:?}: {instead}",
                roads.board.to_line(),
                order(answer)
            ));
        }
    }
}

/// What explains an answer best, each explanation with its names; none where the answer is right.
fn explained(judge: &Judge, answer: &[Said], octaves: bool) -> Option<Vec<String>> {
    let judgement = judge.judge(&erring::answer(answer, octaves));
    if judgement.verdict != AnswerVerdict::Wrong {
        return None;
    }
    let all = judgement.explanations.iter();
    let mut names: Vec<String> = all
        .map(|one| {
            let names: Vec<&str> = one.ideas.iter().map(|idea| idea.name()).collect();
            names.join(" and ")
        })
        .collect();
    if judgement.more_explanations > 0 {
        names.push("more".to_owned());
    }
    Some(names)
}

/// The table of the README.
fn table(tallies: &[Tally]) -> String {
    let mut text = String::from(
        "| misunderstanding | boards | another gives the same answer | of the rest it alone named first | with one slip, alone | with one slip, perhaps beside others |\n|---|---|---|---|---|---|\n",
    );
    for (mistake, tally) in Mistake::ALL.iter().zip(tallies) {
        let variant = match mistake {
            Mistake::OnlyTwice => ", twice",
            Mistake::OnceTooFew => ", once less",
            Mistake::FineAtOnce | Mistake::ToCodaAtOnce => ", at once",
            Mistake::FineAfterRepeat | Mistake::ToCodaAfterRepeat => ", after the repeat",
            Mistake::OctaveAtOtherTimes => ", other times",
            Mistake::OctaveEveryTime => ", every time",
            Mistake::LandingLate => ", late",
            Mistake::LandingEarly => ", early",
            _ => "",
        };
        let rest = tally.boards - tally.twins;
        let _ = writeln!(
            text,
            "| `{}`{variant} | {} | {} | {:.1} % | {:.1} % | {:.1} % |",
            mistake.name(),
            tally.boards,
            tally.twins,
            share(tally.named, rest),
            share(tally.slip_named, rest),
            share(tally.slip_tied, rest),
        );
    }
    text
}

fn share(part: u32, whole: u32) -> f64 {
    100.0 * f64::from(part) / f64::from(whole.max(1))
}

/// The README holds the table as it was printed; with `UPDATE` set it is written anew.
fn readme_shows(table: &str) {
    let readme = std::fs::read_to_string("README.md").expect("the README is there");
    let head = table.lines().next().unwrap_or_default();
    let before = readme.find(head).expect("the README has the table");
    let rest = &readme[before..];
    let length = rest.find("\n\n").map_or(rest.len(), |end| end + 1);
    if std::env::var_os("UPDATE").is_some() {
        let fresh = [&readme[..before], table, &rest[length..]].concat();
        std::fs::write("README.md", fresh).expect("the README can be written");
    } else {
        assert_eq!(
            &rest[..length],
            table,
            "`UPDATE=1 cargo test --test misunderstandings` writes it anew"
        );
    }
}

/// What the units count, added up, worked out on all cores.
fn in_parallel(units: u32, work: fn(u32) -> Vec<Tally>) -> Vec<Tally> {
    let next = AtomicU32::new(0);
    let done = Mutex::new(vec![Vec::new(); units as usize]);
    let cores = thread::available_parallelism().map_or(2, usize::from);
    thread::scope(|scope| {
        for _ in 0..cores {
            scope.spawn(|| {
                loop {
                    let unit = next.fetch_add(1, Ordering::Relaxed);
                    if unit >= units {
                        break;
                    }
                    let tallies = work(unit);
                    done.lock().expect("no thread fails here")[unit as usize] = tallies;
                }
            });
        }
    });
    let mut total = vec![Tally::default(); Mistake::ALL.len()];
    for tallies in done.into_inner().expect("no thread fails here") {
        for (sum, tally) in total.iter_mut().zip(tallies) {
            sum.boards += tally.boards;
            sum.twins += tally.twins;
            sum.twins_named += tally.twins_named;
            sum.named += tally.named;
            sum.slip_named += tally.slip_named;
            sum.slip_tied += tally.slip_tied;
            sum.wrongly_right += tally.wrongly_right;
            sum.missed.extend(tally.missed);
        }
    }
    total
}
