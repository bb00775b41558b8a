//! Reading board files, next to `serde_json` reading the same files into plain derived structs, which is the measure: a board file
//! must be read at least half as fast.

use std::hint::black_box;

use criterion::{BenchmarkId, Criterion, Throughput};
use fingerpost::{
    Al, Board, EndRepeat, Ending, Hands, Jump, Octave, Passes, Plays, Shift, Sign, When,
};
use serde::Deserialize;

/// A board in plain structs: what anybody would derive who wanted the data and no checks.
#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
struct PlainBoard {
    board: u32,
    title: Option<String>,
    systems: Vec<u16>,
    markings: Vec<PlainMarking>,
}

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
#[allow(
    dead_code,
    reason = "the fields are there to be filled, as in any program that reads the file"
)]
struct PlainMarking {
    mark: PlainMark,
    measure: Option<u16>,
    measures: Option<[u16; 2]>,
    cut: Option<String>,
    plays: Option<u32>,
    on_return: Option<String>,
    passes: Option<Vec<u32>>,
    open: Option<bool>,
    label: Option<String>,
    arrivals: Option<Vec<u32>>,
    al: Option<String>,
    then: Option<String>,
    coda: Option<String>,
    repeats: Option<String>,
    style: Option<String>,
    hands: Option<String>,
    shift: Option<i8>,
    when: Option<String>,
    id: Option<String>,
}

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
enum PlainMark {
    StartRepeat,
    EndRepeat,
    Ending,
    Segno,
    Coda,
    ToCoda,
    Fine,
    DaCapo,
    DalSegno,
    DoubleBar,
    Octave,
    Fermata,
    Only,
}

/// A board of 16 measures: a section with two endings, an octave sign on the repeat, D.C. al Fine.
fn small() -> Board {
    Board::builder([4, 4, 4, 4])
        .title("Over the Stile")
        .mark(Sign::StartRepeat, 1)
        .over(ending(1), 7, 7)
        .mark(Sign::EndRepeat(EndRepeat::default()), 7)
        .over(ending(2), 8, 8)
        .over(octave(), 3, 6)
        .mark(Sign::Fine(fingerpost::Fine::default()), 8)
        .mark(da_capo(), 16)
        .build()
        .unwrap()
}

fn ending(pass: u32) -> Sign {
    Sign::Ending(Ending {
        passes: Passes::of([pass]).unwrap(),
        open: false,
    })
}

fn octave() -> Sign {
    Sign::Octave(Octave {
        hands: Hands::Right,
        shift: Shift::Up1,
        when: When::OnRepeat,
    })
}

fn da_capo() -> Sign {
    Sign::DaCapo(Jump {
        al: Some(Al::Fine),
        ..Jump::default()
    })
}

/// A board of 65 535 measures with 20 000 markings: a section with two endings and an octave sign after the other, and a D.C. al Fine.
fn long() -> Board {
    let mut builder = Board::builder([65_535]).title("Along the Ridge");
    for section in 0..3_333_u16 {
        let first = 19 * section + 1;
        builder = builder
            .mark(Sign::StartRepeat, first)
            .over(octave(), first + 1, first + 8)
            .over(ending(1), first + 10, first + 11)
            .mark(
                Sign::EndRepeat(EndRepeat {
                    plays: Some(Plays::Times(2)),
                    on_return: None,
                }),
                first + 11,
            )
            .over(ending(2), first + 12, first + 12)
            .mark(
                Sign::DoubleBar(fingerpost::DoubleBar::default()),
                first + 14,
            );
    }
    builder
        .mark(Sign::Fine(fingerpost::Fine::default()), 65_000)
        .mark(da_capo(), 65_535)
        .build()
        .unwrap()
}

pub(super) fn parsing(criterion: &mut Criterion) {
    for (name, board, markings) in [("small", small(), 7), ("long", long(), 20_000)] {
        let file = board.to_json();
        let canonical = board.canonical();
        let mut group = criterion.benchmark_group("parse");
        group.throughput(Throughput::Bytes(file.len() as u64));

        assert_eq!(Board::from_json(&file).unwrap(), canonical);
        assert_eq!(canonical.markings().len(), markings);
        group.bench_function(BenchmarkId::new("board", name), |bencher| {
            bencher.iter(|| {
                let board = Board::from_json(black_box(&file)).unwrap();
                assert_eq!(board.markings().len(), markings);
                board
            });
        });

        let plain: PlainBoard = serde_json::from_str(&file).unwrap();
        assert_eq!((plain.board, plain.title.as_deref()), (1, board.title()));
        assert_eq!(plain.systems, board.systems());
        group.bench_function(BenchmarkId::new("plain structs", name), |bencher| {
            bencher.iter(|| {
                let plain: PlainBoard = serde_json::from_str(black_box(&file)).unwrap();
                assert_eq!(plain.markings.len(), markings);
                plain
            });
        });

        group.bench_function(BenchmarkId::new("write", name), |bencher| {
            bencher.iter(|| {
                let written = black_box(&board).to_json();
                assert_eq!(written.len(), file.len());
                written
            });
        });
        group.finish();
    }
}
