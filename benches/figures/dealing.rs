//! How long it takes to deal a board, proof and all, and to count the ways to lay a hand.

use std::hint::black_box;

use criterion::Criterion;
use fingerpost::{Sign, Wish, deal, place_hand};

/// Hands of eight signs, with the number of ways to lay them on 16 measures.
pub(crate) const HANDS: [(&[&str], u64); 18] = [
    (
        &[
            "|:",
            ":|",
            "[1.",
            "[2.",
            "segno",
            "To Coda",
            "D.S. al Coda",
            "coda",
        ],
        543_590_112,
    ),
    (
        &[
            "|:",
            ":|",
            "|:",
            ":|",
            "segno",
            "To Coda",
            "D.S. al Coda",
            "coda",
        ],
        33_630_504,
    ),
    (
        &[
            "|:",
            ":|",
            "segno",
            "D.S. al Fine",
            "Fine",
            "D.C.",
            "To Coda",
            "coda",
        ],
        27_150_112,
    ),
    (
        &["[1.", "[2.", ":|", "[1.", "[2.", ":|", "|:", "D.C."],
        866_398_234,
    ),
    (
        &[
            "[1.",
            "[2.",
            "[3.",
            ":|",
            ":|",
            "|:",
            "Fine",
            "D.C. al Fine",
        ],
        844_031_786,
    ),
    (
        &["[1.", "[2.", "[3.", "[4.", "[5.", "[6.", "D.C.", ":|"],
        5_152_963_704,
    ),
    (
        &["[1.", "[2.", "[3.", "[4.", "[5.", "[6.", ":|", ":|"],
        1_185_528_864,
    ),
    (
        &[
            "|:",
            ":|",
            ":|",
            "[1.",
            "[2.",
            "Fine",
            "D.C. al Fine then Coda",
            "coda",
        ],
        1_213_179_246,
    ),
    (
        &["[1.", "[2.", "[3.", "[4.", "[5.", "[6.", "[7.", ":|"],
        2_701_416_960,
    ),
    (
        &[
            "[1.",
            "[2.",
            "[3.",
            "[4.",
            "[5.",
            ":|",
            "D.C.(arrivals 2)",
            "D.C.",
        ],
        2_834_078_636,
    ),
    (
        &[
            "|:",
            ":|",
            "[1.",
            "[2.",
            "segno",
            "D.C. al Segno",
            "D.S.(passes 1 2)",
            "Fine(arrivals 3)",
        ],
        93_892_408,
    ),
    (
        &[
            "[3.",
            "[1.",
            "D.C.(arrivals 2)",
            "D.C.(passes 1)",
            "D.C.(arrivals 1 2)",
            "[2.",
            "[4.",
            "D.C.(arrivals 1-3)",
        ],
        952_501_160,
    ),
    (
        &[
            "[3.",
            "[1.",
            "[4.",
            "[2.",
            "D.C.",
            "D.C.(passes 1 2)",
            ":|(on-return play)",
            "D.C. con rep.",
        ],
        14_496_669_434,
    ),
    (
        &[
            "[1.",
            "[5.",
            "[2,3.",
            "D.C.",
            "D.C.(arrivals 1-3)",
            ":|x3",
            ":|(on-return play)",
            "D.C.(arrivals 1 2)",
        ],
        11_800_018_048,
    ),
    (
        &[
            "[1,2.",
            "[2.",
            "D.C. con rep.",
            "D.C.(arrivals 1)",
            "D.C.(arrivals 1 2)",
            "D.C.(arrivals 1-3)",
            "D.C.(arrivals 2)",
            "D.C.",
        ],
        26_286_982_904,
    ),
    (
        &[
            "[1.",
            "[3.",
            "[2.",
            ":|(on-return play)",
            "D.C.(arrivals 1-4)",
            "D.C.(arrivals 1-3)",
            "D.C.(passes 1 2)",
            "D.C.",
        ],
        24_649_753_336,
    ),
    (
        &["[1,2.", "[1-3.", "[1.", "[2,3.", "[2.", "[3.", ":|", ":|x3"],
        4_235_944_488,
    ),
    (
        &[
            "[1-3.",
            "[1.",
            "[2,3.",
            ":|",
            "D.C. con rep.",
            "D.C. al Segno then Coda",
            "segno",
            "coda",
        ],
        7_345_480_168,
    ),
];

/// How many boards are dealt in one go: what one takes hangs on its seed.
pub(crate) const BOARDS: u32 = 200;

pub(crate) fn dealing(criterion: &mut Criterion) {
    let wish = Wish::level(16, 3);
    let steps = || {
        let lengths = (0..u64::from(BOARDS)).map(|seed| {
            let dealt = deal(black_box(&wish), seed).expect("a board");
            assert_eq!(dealt.board.measures(), 16);
            dealt.roadmap.length()
        });
        lengths.sum::<u64>()
    };
    let all = steps();
    let mut group = criterion.benchmark_group("deal");
    group.bench_function("level 3", |bencher| {
        bencher.iter(|| assert_eq!(steps(), all));
    });
    group.finish();
    let mut group = criterion.benchmark_group("hand");
    group.sample_size(10);
    for (number, (hand, ways)) in HANDS.iter().enumerate() {
        let signs: Vec<Sign> = hand
            .iter()
            .map(|it| Sign::from_line(it).expect("a sign"))
            .collect();
        group.bench_function(number.to_string(), |bencher| {
            bencher.iter(|| {
                let placed = place_hand(black_box(&signs), 16, 1, 1).expect("a hand");
                assert_eq!(placed.arrangements, *ways);
            });
        });
    }
    group.finish();
}
