//! How long a game lasts: the exact chances of a route of 500 steps.

use std::hint::black_box;

use criterion::Criterion;
use fingerpost::{Board, Chances, Fermata, GameRules, Roadmap, Sign, Terms};

/// The steps of the route.
const STEPS: u16 = 500;

/// A route of 500 steps with a fermata at every tenth.
fn roadmap() -> Roadmap {
    let mut builder = Board::builder([STEPS]);
    for measure in (10..STEPS).step_by(10) {
        builder = builder.mark(Sign::Fermata(Fermata::default()), measure);
    }
    let board = builder.build().expect("a board");
    Roadmap::new(&board, &Terms::default()).expect("a route")
}

pub(crate) fn playing(criterion: &mut Criterion) {
    let roadmap = roadmap();
    let rules = GameRules::default();
    let work = || Chances::new(black_box(&roadmap), &rules, 4).expect("a game");
    let answer = work();
    // A piece alone needs about 143 throws, and one throw more for each fermata that it stops at, about 14 of 49.
    let turns = answer.turns_alone().expected();
    assert!((150.0..165.0).contains(&turns), "{turns}");
    let mut group = criterion.benchmark_group("game");
    group.bench_function("chances", |bencher| {
        bencher.iter(|| assert_eq!(work(), answer));
    });
    group.finish();
}
