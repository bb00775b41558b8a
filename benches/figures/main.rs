//! The figures of the README: reading, checking, compiling, walking and counting, each asserting the answer it times, and a table of their
//! ratios from this one run.
//!
//! `cargo bench --bench figures`

mod dealing;
mod judging;
mod parse;
mod placing;
mod playing;
mod scores;

use std::hint::black_box;
use std::time::Duration;

use criterion::{BenchmarkId, Criterion};
use fingerpost::{
    Al, Board, EndRepeat, Ending, Fermata, Finding, Fine, Jump, NamedReading, Passes, Plays,
    Roadmap, Severity, Sign, Step, Terms, check,
};

/// A board of 16 measures as a teacher would lay it.
const SMALL: &str = "{title \"Over the Stile\"; meter 4/4} |: 1 | 2 | 3 | [1. 4 :| [2. 5 ] | segno 6 | 7 | 8 To Coda | 9 | 10 || 11 | 12 | 13 D.S. al Coda | coda 14 | 15 | 16 |";

/// `measures` measures with `signs` signs: strains of repeats with endings and fermatas, a Fine in the middle, a D.C. al Fine at the end.
fn long_board(measures: u16, signs: u32) -> Board {
    let strains = signs / 5;
    let width = u32::from(measures) / strains;
    let mut builder = Board::builder([measures]).title("The Long Hill Path");
    for strain in 0..strains {
        let at =
            |offset: u32| u16::try_from(strain * width + offset + 1).expect("within the board");
        let ending = |pass| {
            Sign::Ending(Ending {
                passes: Passes::of([pass]).expect("a pass"),
                open: pass == 2,
            })
        };
        builder = builder
            .mark(Sign::StartRepeat, at(0))
            .over(ending(1), at(width - 2), at(width - 2))
            .mark(Sign::EndRepeat(EndRepeat::default()), at(width - 2))
            .over(ending(2), at(width - 1), at(width - 1));
        builder = if strain == strains / 2 {
            builder.mark(Sign::Fine(Fine::default()), at(width - 1))
        } else {
            builder.mark(Sign::Fermata(Fermata::default()), at(0))
        };
    }
    let last = Jump {
        al: Some(Al::Fine),
        ..Jump::default()
    };
    builder
        .mark(Sign::DaCapo(last), measures)
        .build()
        .expect("a board")
}

/// A board without its fermatas: nothing is left that changes what sounds.
fn without_fermatas(board: &Board) -> Board {
    let others = board
        .markings()
        .iter()
        .filter(|marking| !matches!(marking.sign(), Sign::Fermata(_)));
    board
        .to_builder()
        .without_markings()
        .markings(others.cloned())
        .build()
        .expect("a board")
}

/// A D.C. at the end of every measure: one leg more than measures, and a route of 2 * 10^9 steps.
fn jumps_everywhere(measures: u16) -> Board {
    let builder = Board::builder([measures]);
    (1..=measures)
        .fold(builder, |builder, measure| {
            builder.mark(Sign::DaCapo(Jump::default()), measure)
        })
        .build()
        .expect("a board")
}

/// Every measure a repeat of its own, all of them inside one that is played three times, with a D.C. in it.
fn repeats_in_a_repeat(measures: u16) -> Board {
    let mut builder = Board::builder([measures]).mark(Sign::StartRepeat, 1);
    for measure in 2..measures {
        builder = builder
            .mark(Sign::StartRepeat, measure)
            .mark(Sign::EndRepeat(EndRepeat::default()), measure);
    }
    let three = EndRepeat {
        plays: Some(Plays::Times(3)),
        on_return: None,
    };
    builder
        .mark(Sign::DaCapo(Jump::default()), measures - 1)
        .mark(Sign::EndRepeat(three), measures)
        .build()
        .expect("a board")
}

/// Three repeats in one another, a route of about 10^15 steps, and a D.C.
fn far_route() -> Board {
    let line = "|: 1 | 2 |: 3 |: 4 | 5 :|x1000000 6 :|x1000000 7 | 8 :|x500 9 D.C. |";
    line.parse().expect("a board")
}

/// The plain loop that the walk is held against: the same steps pushed into a list.
fn push_all(steps: &[Step]) -> Vec<Step> {
    let mut out = Vec::with_capacity(steps.len());
    for step in steps {
        out.push(*step);
    }
    out
}

fn walk_all(roadmap: &Roadmap) -> Vec<Step> {
    let mut out = Vec::with_capacity(usize::try_from(roadmap.length()).expect("a route that fits"));
    roadmap.steps().for_each(|step| out.push(step));
    out
}

fn boards() -> Vec<(&'static str, Board)> {
    vec![
        ("small", SMALL.parse().expect("a board")),
        ("2000 signs", long_board(65_535, 2_000)),
        ("20000 signs", long_board(65_535, 20_000)),
        ("D.C. everywhere", jumps_everywhere(65_535)),
        ("repeats in a repeat", repeats_in_a_repeat(20_000)),
    ]
}

fn checking(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("check");
    for (name, board) in boards() {
        group.bench_with_input(
            BenchmarkId::from_parameter(name),
            &board,
            |bencher, board| {
                // They are in order: advice and warnings there may be, errors none.
                let is_error = |finding: &Finding| finding.severity == Severity::Error;
                bencher.iter(|| assert!(!check(black_box(board)).iter().any(is_error)));
            },
        );
    }
    group.finish();
}

fn compiling(criterion: &mut Criterion) {
    let terms = Terms::default();
    let mut group = criterion.benchmark_group("compile");
    for (name, board) in boards() {
        let length = Roadmap::new(&board, &terms).expect("in order").length();
        group.bench_with_input(
            BenchmarkId::from_parameter(name),
            &board,
            |bencher, board| {
                bencher.iter(|| {
                    let roadmap = Roadmap::new(black_box(board), &terms).expect("in order");
                    assert_eq!(roadmap.length(), length);
                    roadmap
                });
            },
        );
    }
    group.finish();
}

fn walking(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("walk");
    let long = long_board(65_535, 20_000);
    let plain = without_fermatas(&long);
    for (name, board) in [
        ("small", SMALL.parse().expect("a board")),
        ("20000 signs", long),
        ("no fermatas", plain),
    ] {
        let roadmap =
            Roadmap::new(&board, &Terms::from(NamedReading::AllRepeats)).expect("in order");
        let steps: Vec<Step> = roadmap.steps().collect();
        assert_eq!(push_all(&steps), walk_all(&roadmap));
        for (label, walk) in [("walk", true), ("plain loop", false)] {
            group.bench_function(BenchmarkId::new(label, name), |bencher| {
                bencher.iter(|| {
                    let out = if walk {
                        walk_all(black_box(&roadmap))
                    } else {
                        push_all(black_box(&steps))
                    };
                    assert_eq!(out.last(), steps.last());
                    out
                });
            });
        }
    }
    group.finish();
}

fn counting(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("count");
    let roadmap = Roadmap::new(&far_route(), &Terms::default()).expect("in order");
    // 500 passes of: measures 1 and 2, a million passes of (3, a million passes of (4 and 5), 6), 7 and 8; then 9, and the return once through.
    let middle = (1 + 2 * 1_000_000 + 1) * 1_000_000;
    let length = (2 + middle + 2) * 500 + 1 + 9;
    assert_eq!(roadmap.length(), length);
    group.bench_function("length", |bencher| {
        bencher.iter(|| assert_eq!(black_box(&roadmap).length(), length));
    });
    let index = length / 2 + 12_345;
    let step = roadmap.step(index);
    assert!(step.is_some());
    group.bench_function("one step", |bencher| {
        bencher.iter(|| assert_eq!(black_box(&roadmap).step(index), step));
    });
    let visits = 500 * 1_000_000 * 1_000_000 + 1;
    group.bench_function("visits", |bencher| {
        bencher.iter(|| assert_eq!(black_box(&roadmap).visits(4), visits));
    });
    group.finish();
}

/// The median of a benchmark of this run, in nanoseconds.
fn median(benchmark: &str) -> f64 {
    let target = std::env::var("CARGO_TARGET_DIR").unwrap_or_else(|_| "target".to_owned());
    let path = format!("{target}/criterion/{benchmark}/new/estimates.json");
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path}: {error}"));
    let estimates: serde_json::Value =
        serde_json::from_str(&text).expect("the JSON of the harness");
    estimates["median"]["point_estimate"]
        .as_f64()
        .expect("a number")
}

fn time(nanoseconds: f64) -> String {
    match nanoseconds {
        n if n < 1e3 => format!("{n:.1} ns"),
        n if n < 1e6 => format!("{:.1} µs", n / 1e3),
        n => format!("{:.1} ms", n / 1e6),
    }
}

fn print_table() {
    println!("\n| what | median | against | ratio | wanted |\n|---|---|---|---|---|");
    let alone = |what: &str, benchmark: &str, wanted: &str| {
        println!("| {what} | {} | | | {wanted} |", time(median(benchmark)));
    };
    let pair = |what: &str, benchmark: &str, against: &str, other: &str, wanted: &str| {
        let (this, that) = (median(benchmark), median(other));
        println!(
            "| {what} | {} | {against}: {} | {:.2} | {wanted} |",
            time(this),
            time(that),
            this / that
        );
    };
    let sizes = [
        ("16 measures", "small"),
        ("65 535 measures, 20 000 signs", "long"),
    ];
    for (what, name) in sizes {
        let (board, plain) = (
            format!("parse/board/{name}"),
            format!("parse/plain structs/{name}"),
        );
        pair(
            &format!("read a board file, {what}"),
            &board,
            "plain structs",
            &plain,
            "at most 2",
        );
    }
    for group in ["check", "compile"] {
        alone(
            &format!("{group}, 16 measures"),
            &format!("{group}/small"),
            "",
        );
        let (many, few) = (
            format!("{group}/20000 signs"),
            format!("{group}/2000 signs"),
        );
        pair(
            &format!("{group}, 65 535 measures, 20 000 signs"),
            &many,
            "2 000 signs",
            &few,
            "at most 12",
        );
        alone(
            &format!("{group}, a D.C. at each of 65 535 measures"),
            &format!("{group}/D.C. everywhere"),
            "",
        );
        alone(
            &format!("{group}, 20 000 repeats in a repeat"),
            &format!("{group}/repeats in a repeat"),
            "",
        );
    }
    // The limit is for long routes; on a short one the making of the walk is most of it.
    for (what, name, wanted) in [
        ("16 measures", "small", ""),
        ("20 000 signs", "20000 signs", "at most 3"),
        ("the same without fermatas", "no fermatas", "at most 3"),
    ] {
        let (walk, plain) = (
            format!("walk/walk/{name}"),
            format!("walk/plain loop/{name}"),
        );
        pair(
            &format!("walk, {what}"),
            &walk,
            "plain loop",
            &plain,
            wanted,
        );
    }
    alone(
        "length of a route of 10^15 steps",
        "count/length",
        "under 1 µs",
    );
    alone(
        "one step of a route of 10^15 steps",
        "count/one step",
        "under 1 µs",
    );
    alone(
        "how often one of its measures is played",
        "count/visits",
        "",
    );
    print_placing();
    alone(
        "how long a game lasts, exactly: 500 steps, 6 faces, 4 players",
        "game/chances",
        "under 10 ms",
    );
    print_judging(alone);
    print_dealing();
    print_scores(pair);
}

/// The rows of the judging of answers.
fn print_judging(alone: impl Fn(&str, &str, &str)) {
    for (what, name, wanted) in [
        (
            "that two misunderstandings explain",
            "two at once",
            "under 2 ms",
        ),
        (
            "that nothing explains, right up to its last two",
            "unexplained",
            "under 2 ms",
        ),
    ] {
        alone(
            &format!("judge an answer of 200 steps on 64 measures, {what}"),
            &format!("answer/{name}"),
            wanted,
        );
    }
}

/// The rows of the reading of scores.
#[expect(clippy::cast_precision_loss, reason = "sizes are far below 2^52")]
fn print_scores(pair: impl Fn(&str, &str, &str, &str, &str)) {
    let per_second = |benchmark: &str, amount: f64| amount / median(benchmark) * 1e9;
    for (size, bytes, parts) in scores::SIZES {
        let (this, other) = (
            format!("score/musicxml/{size}"),
            format!("score/events/{size}"),
        );
        let length = scores::musicxml(bytes, parts).0.len();
        let speed = per_second(&this, length as f64 / 1e6);
        pair(
            &format!("MusicXML of {size} to its order, {speed:.0} MB/s"),
            &this,
            "bare XML events",
            &other,
            "at most 2",
        );
    }
    let speed = per_second("score/mnx", scores::mnx(2_000).len() as f64 / 1e6);
    pair(
        &format!("MNX of 2 000 measures to its order, {speed:.0} MB/s"),
        "score/mnx",
        "JSON passed over",
        "score/json",
        "",
    );
    let book = per_second("score/abc", scores::TUNES as f64);
    println!(
        "| a book of {} tunes in ABC to their orders, {book:.0} tunes/s | {} | | | |",
        scores::TUNES,
        time(median("score/abc"))
    );
}

/// The rows of the places of signs.
fn print_placing() {
    for board in ["whole", "in the making"] {
        let (sign, slowest) = slowest_place(board);
        println!(
            "| where a sign may go, 64 measures, 20 signs, {board}; the slowest of {} signs, {sign} | {} | | | under 5 ms |",
            placing::SIGNS.len(),
            time(slowest)
        );
    }
    println!(
        "| what is missing, 64 measures, 20 signs | {} | | | |",
        time(median("missing/in the making"))
    );
}

/// The rows of the dealing of boards.
fn print_dealing() {
    let one = median("deal/level 3") / f64::from(dealing::BOARDS);
    println!(
        "| deal a board of 16 measures at level 3, proof and all, {:.0} a second | {} | | | at least 20 000 a second |",
        1e9 / one,
        time(one)
    );
    let hands = dealing::HANDS.iter().enumerate();
    let timed =
        hands.map(|(number, (hand, _))| (hand.join(", "), median(&format!("hand/{number}"))));
    let slowest = timed.max_by(|one, other| one.1.total_cmp(&other.1));
    let (hand, slowest) = slowest.expect("there are hands");
    println!(
        "| the ways to lay a hand of 8 signs on 16 measures, on {} cores; the slowest of {} hands, {} | {} | | | under 1 s |",
        std::thread::available_parallelism().map_or(1, std::num::NonZero::get),
        dealing::HANDS.len(),
        hand.replace('|', "\\|"),
        time(slowest)
    );
}

/// Of the benchmarks of the places of signs the slowest.
fn slowest_place(board: &str) -> (&'static str, f64) {
    let timed = placing::SIGNS
        .into_iter()
        .map(|sign| (sign, median(&placing::benchmark(board, sign))));
    timed
        .max_by(|one, other| one.1.total_cmp(&other.1))
        .expect("there are signs")
}

fn main() {
    let mut criterion = Criterion::default()
        .warm_up_time(Duration::from_millis(300))
        .measurement_time(Duration::from_secs(1))
        .sample_size(20)
        .configure_from_args();
    parse::parsing(&mut criterion);
    checking(&mut criterion);
    compiling(&mut criterion);
    walking(&mut criterion);
    counting(&mut criterion);
    placing::placing(&mut criterion);
    playing::playing(&mut criterion);
    judging::judging(&mut criterion);
    dealing::dealing(&mut criterion);
    scores::reading(&mut criterion);
    criterion.final_summary();
    // The table needs every benchmark: not with a filter, and not in a trial run.
    if std::env::args().skip(1).all(|arg| arg == "--bench") {
        print_table();
    }
}
