//! How long it takes to judge a sign at every place of a board.

use std::hint::black_box;

use criterion::{BenchmarkId, Criterion};
use fingerpost::{Board, Sign, Verdict, missing, places};

/// Every kind of sign, as a board line writes it.
pub(crate) const SIGNS: [&str; 17] = [
    "|:",
    ":|",
    "[1.",
    "[2.",
    "segno:B",
    "coda:B",
    "To Coda:B",
    "Fine",
    "D.C.",
    "D.C. al Fine",
    "D.C. al Coda:B",
    "D.S.:B al Coda:B",
    "D.S. al Fine",
    "||",
    "8va",
    "fermata",
    "only(R.H., pass 1)",
];

/// 64 measures and 20 signs: strains with endings, a segno and a coda; with its jumps, or in the making without them.
pub(crate) fn board(whole: bool) -> Board {
    let measures = (1..=64).map(|measure| {
        let (before, after) = match measure {
            1 => ("|:", ""),
            15 => ("| [1.", ""),
            17 => (":| [2.", ""),
            18 => ("|| segno fermata", ""),
            25 => ("|: 8va(", ""),
            30 => ("|", ")"),
            31 => ("| [1,2.", ""),
            33 => (":|x3 [3.", ""),
            34 => ("||", ""),
            40 => ("|", "To Coda"),
            49 => ("|:", "8vb(L.H.)"),
            53 => (":|", "fermata"),
            57 if whole => ("|", "D.S. al Coda"),
            57 => ("|", "fermata"),
            58 => ("| coda", ""),
            _ => ("|", ""),
        };
        format!("{before} {measure} {after} ")
    });
    let line: String = measures.collect();
    line.parse().expect("a board")
}

/// Places by verdict: legal, lacking a partner, not legal, idle.
pub(crate) fn tally(board: &Board, sign: &Sign) -> [usize; 4] {
    let places = places(board, sign).expect("a small board");
    let mut tally = [0; 4];
    for it in places.verdicts() {
        let slot = match it.verdict {
            Verdict::Legal { .. } => 0,
            Verdict::NeedsPartner(_) => 1,
            Verdict::NotLegal { .. } => 2,
            _ => 3,
        };
        tally[slot] += 1;
    }
    tally
}

/// A sign's name in the name of a benchmark, which is the name of a folder.
fn plain(written: &str) -> String {
    let number = SIGNS.iter().position(|sign| *sign == written);
    format!("{}", number.expect("one of the signs"))
}

/// The benchmark of a sign on a board.
pub(crate) fn benchmark(board: &str, written: &str) -> String {
    format!("where/{board}/{}", plain(written))
}

pub(crate) fn placing(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("where");
    for (name, whole) in [("whole", true), ("in the making", false)] {
        let board = board(whole);
        assert_eq!((board.measures(), board.markings().len()), (64, 20));
        for written in SIGNS {
            let sign = Sign::from_line(written).expect("a sign");
            let answer = tally(&board, &sign);
            assert_eq!(
                answer.iter().sum::<usize>(),
                if sign.spans() { 2_080 } else { 64 }
            );
            group.bench_function(BenchmarkId::new(name, plain(written)), |bencher| {
                bencher.iter(|| assert_eq!(tally(black_box(&board), &sign), answer));
            });
        }
    }
    group.finish();
    let mut group = criterion.benchmark_group("missing");
    let board = board(false);
    let sets = missing(&board).expect("a small board").sets.len();
    assert!(sets > 0);
    group.bench_function("in the making", |bencher| {
        bencher.iter(|| assert_eq!(missing(black_box(&board)).expect("small").sets.len(), sets));
    });
    group.finish();
}
