//! The roads held against orders that are judged one by one.

use std::ops::RangeInclusive;

use super::*;
use crate::deal::hand::work::Common;

/// The boards of the orders that a search finds.
fn lines(
    signs: &[Sign],
    measures: u16,
    search: impl FnOnce(&[Board], &mut dyn FnMut(Make<'_>, u64) -> bool) -> Ended,
) -> Vec<String> {
    let boards = empty_boards(signs, measures);
    let mut found = Vec::new();
    let ended = search(&boards, &mut |make, ways| {
        let order = make();
        let board = Board::builder([order.measures]).markings(order.markings(signs));
        let board = board.build().unwrap().canonical();
        found.push(format!("{} {ways}", board.to_line()));
        true
    });
    assert_eq!(ended, Ended::All);
    found.sort();
    found
}

/// Holds the orders found against those of a search that lays all signs and judges each order by the rules.
fn hold(hand: &[&str], measures: u16) -> usize {
    let signs: Vec<Sign> = hand.iter().map(|it| Sign::from_line(it).unwrap()).collect();
    let signs = sorted(&signs);
    let early = lines(&signs, measures, |boards, found| {
        search(&signs, boards, measures, &Work::alone(MOST_ORDERS), found)
    });
    let all = lines(&signs, measures, |boards, found| {
        judged(
            &signs,
            boards,
            measures,
            &Work::alone(MOST_ORDERS),
            false,
            found,
        )
    });
    let lost = all.iter().find(|line| !early.contains(line));
    assert_eq!(lost, None, "lost of {hand:?}");
    let made_up = early.iter().find(|line| !all.contains(line));
    assert_eq!(made_up, None, "made up of {hand:?}");
    assert_eq!(early.len(), all.len(), "{hand:?}");
    let shared = lines_of_several(&signs, measures);
    assert_eq!(shared, early, "shared of {hand:?}");
    all.len()
}

/// The boards that three find who share the search.
fn lines_of_several(signs: &[Sign], measures: u16) -> Vec<String> {
    let common = Common::new(MOST_ORDERS);
    let finds = || {
        lines(signs, measures, |boards, found| {
            let work = Work::shared(&common, None);
            let ended = search(signs, boards, measures, &work, found);
            work.end();
            ended
        })
    };
    let mut all = std::thread::scope(|scope| {
        let three = [(); 3].map(|()| scope.spawn(finds));
        three
            .into_iter()
            .flat_map(|it| it.join().unwrap())
            .collect::<Vec<_>>()
    });
    assert!(!common.is_overspent());
    all.sort();
    all
}

#[test]
fn a_return_laid_last_is_laid_wherever_it_may_stand() {
    let mut found = 0;
    for (hand, measures) in [
        (&["segno", "D.S.", "D.C. al Segno", "|:", ":|"][..], 7),
        (
            &["segno", "D.S.(passes 1 2)", "D.S.", "[1,2.", "|:", ":|x3"],
            6,
        ),
        (
            &[
                "To Coda(arrivals 2)",
                "coda",
                "D.C.",
                "D.C.(arrivals 1)",
                ":|",
            ],
            7,
        ),
        (
            &["D.C. al Fine then Coda", "Fine", "coda", "D.C.", "|:", ":|"],
            6,
        ),
        (&["|:", "|:", ":|", ":|", "D.C. con rep.", "D.C."], 7),
        (
            &["D.C.(passes 2)", "D.C.(arrivals 1)", "D.S.", "segno", ":|"],
            7,
        ),
    ] {
        found += hold(hand, measures);
    }
    assert!(found > 500, "{found}");
}

#[test]
fn leaving_orders_early_loses_none() {
    let mut found = 0;
    for (hand, measures) in [
        (&["|:", ":|", "[1.", "[2.", "segno", "D.S."][..], 7),
        (&["|:", ":|", "[1.", "[2.", "D.C. al Fine", "Fine"], 7),
        (&[":|", ":|", "[1.", "[2.", "[3.", "D.C."], 7),
        (&["[1.", "[2.", "[3.", "segno", "D.S."], 7),
        (&["[1.", "[2.", ":|", "To Coda", "D.C. al Coda", "coda"], 7),
        (&["|:", ":|", "segno", "To Coda", "D.S. al Coda", "coda"], 7),
        (&["|:", ":|", ":|x3", "Fine", "D.C. al Fine"], 7),
        (&["|:", ":|", "segno", "Fine", "D.S. al Fine con rep."], 7),
        (&["D.C.", "D.S. al Fine", "segno", "Fine", ":|"], 7),
        (&["|:", ":|", "|:", ":|", "[1.", "[2."], 7),
        // An end repeat after which nothing more is played.
        (&["[1.", ":|", "To Coda", "coda"], 5),
        // Parts of hands of eight signs that were slow.
        (
            &["segno", "D.S. al Fine", "Fine", "D.C.", "To Coda", "coda"],
            6,
        ),
        (&[":|", "segno", "D.S.", "D.C.", "To Coda", "coda"], 6),
        (&["[1.", "[2.", "[1.", "[2.", "D.C."], 6),
        (&["[1.", ":|", "[2.", ":|", "|:", "D.C."], 6),
        (&["[1.", "D.C.", "D.C.", "D.S.", "segno"], 6),
        // Signs that say when they are obeyed, and al Segno.
        (&["|:", ":|", ":|", "[1.", "D.C.(arrivals 1)"], 6),
        (&["|:", "[1.", "[2.", "D.C.(passes 1)", "D.C."], 6),
        (&[":|", "[1.", "[2.", "Fine(arrivals 2)"], 7),
        (&["|:", ":|", "segno", "D.C. al Segno"], 7),
        // A To Coda that leads nowhere.
        (&["To Coda", "[1.", ":|"], 6),
        (&["To Coda", "coda:A", "D.C. al Coda", ":|"], 6),
        // Endings for passes that no return reaches.
        (&["[1.", "[2.", "[3.", "D.C."], 7),
        (&["[4.", "D.C.", "D.S.", "segno"], 6),
        (&["[2,3.", "[1.", "D.C.", "Fine"], 6),
        // Numbers given to brackets that stand already.
        (&["[1,2.", "[1.", "[3.", ":|", ":|"], 7),
        (&["[2.", "[2.", "[1.", ":|(plays open)", "|:"], 6),
        (&["[3.", "[1,2.", ":|x4", "D.C."], 6),
        (&["[1.", "[2.", "D.C.", "D.S.", "segno", "Fine"], 6),
        (&["To Coda", "To Coda", "coda", "D.C. al Coda", ":|"], 6),
        // Endings played through, by an end repeat or by returns that are soon spent or begin them anew.
        (&["[1.", "[2.", "[3.", ":|"], 7),
        (&["[1.", "[3.", "[2.", "D.C.(arrivals 1 2)", "D.C."], 6),
        (&["[1.", "[2.", "D.C.(arrivals 2)", "D.C. con rep."], 6),
        (&["[2.", ":|", "D.C.(arrivals 1 2)", "D.C.(passes 1)"], 6),
        (&["[1,2.", ":|(on-return play)", "D.C.(arrivals 2)"], 7),
        // Arrivals and passes that come late, or never.
        (&["D.C.(arrivals 4)", ":|", "D.C."], 6),
        (&["D.C.(arrivals 5)", ":|", "D.C."], 6),
        (&["Fine(arrivals 6)", ":|x3", "D.C."], 6),
        (&["Fine(arrivals 7)", ":|x3", "D.C. con rep."], 6),
        (&["D.C.(passes 3)", "[2.", "D.S.", "segno"], 6),
        (
            &["To Coda(arrivals 8)", "coda", ":|", "|:", ":|", "D.C."],
            6,
        ),
        (&["D.C.(arrivals 9)", "|:", ":|", ":|", "D.C. con rep."], 6),
        // Orders that are judged one by one, and left early where they are of no use.
        (&["Fine(arrivals 33)", ":|x40", "D.C."], 5),
        (&["D.C.(passes 33)", ":|x40", "|:", "[1-3."], 5),
        (&["[30.", ":|", "D.C."], 5),
        (&["[29.", ":|x30", "D.C.(passes 30)"], 5),
        // On to the coda from the Fine.
        (&["D.C. al Fine then Coda", "Fine", "coda", ":|", "|:"], 7),
        (
            &[
                "D.C. al Fine then Coda",
                "Fine",
                "Fine",
                "coda",
                ":|",
                "[1.",
            ],
            6,
        ),
        (
            &["segno", "D.S. al Fine then Coda", "Fine", "coda", "To Coda"],
            7,
        ),
        (
            &[
                "D.C. al Fine then Coda",
                "D.C. al Fine then Coda",
                "Fine",
                "Fine",
                "coda",
            ],
            6,
        ),
        (
            &[
                "D.C. al Fine then Coda",
                "D.C. al Coda",
                "To Coda",
                "Fine",
                "coda",
            ],
            7,
        ),
        // Endings that are never come to, and music behind a D.C. in an ending.
        (&["[1.", "[3.", "[2.", ":|", "D.C."], 7),
        (&["[1.", "[2.", "[2.", ":|", "segno", "D.S."], 6),
        (&["|:", ":|", "|:", ":|", "[1.", "[2.", "D.C."], 6),
        (&["[1.", "[2.", ":|", "D.C. con rep."], 7),
        (&["[1.", "[2.", ":|(on-return play)", "D.C."], 7),
    ] {
        found += hold(hand, measures);
    }
    assert!(found > 1_000, "{found}");
}

const ALPHABET: [&str; 43] = [
    "|:",
    ":|",
    ":|",
    ":|x3",
    ":|x1",
    ":|(plays open)",
    ":|(on-return play)",
    "[1.",
    "[2.",
    "[1,2.",
    "[3.",
    "segno",
    "segno:A",
    "coda",
    "coda:A",
    "To Coda",
    "To Coda:A",
    "Fine",
    "D.C.",
    "D.S.",
    "D.S.:A",
    "D.C. al Fine",
    "D.S. al Coda",
    "D.C. al Coda con rep.",
    "D.C.(al Coda, coda A)",
    "D.C. al End",
    "D.C. al Fine then Coda",
    "D.S.(al Fine, then Coda, coda A)",
    "D.C.(arrivals 1)",
    "D.C.(arrivals 2)",
    "D.C.(arrivals 1 3)",
    "D.C.(passes 1)",
    "D.C.(passes 1 2)",
    "D.S.(arrivals 1 2)",
    "D.S.(passes 2)",
    "D.C.(al Fine, arrivals 2, passes 1)",
    "D.C.(al Coda, passes 2, repeats play)",
    "Fine(arrivals 2)",
    "Fine(arrivals 3)",
    "To Coda(arrivals 2)",
    "To Coda:A(arrivals 1 3)",
    "D.C. al Segno",
    "D.C.(al Segno, then Coda, repeats play)",
];

/// Holds so many hands drawn by chance: these signs and as many others as bring it to a number in this range, on so many measures for each number.
fn hold_drawn(
    seed: u64,
    hands: usize,
    with: &[&'static str],
    others: &[&'static str],
    (sizes, measures): (RangeInclusive<u64>, fn(usize) -> u16),
) -> usize {
    let mut chance = Chance::new(seed, 0);
    let drawn = (0..hands).map(|_| {
        let size = sizes.start() + chance.below(sizes.end() - sizes.start() + 1);
        let size = usize::try_from(size).unwrap();
        let mut hand = with.to_vec();
        hand.extend((with.len()..size).map(|_| chance.one(others).unwrap()));
        hold(&hand, measures(size))
    });
    drawn.sum()
}

#[test]
fn roads_of_any_hand_are_those_that_the_rules_allow() {
    let measures = |size| if size > 4 { 5 } else { 6 };
    let found = hold_drawn(99, 800, &[], &ALPHABET, (3..=5, measures));
    assert!(found > 100, "{found}");
}

/// Signs with which all returns lead to the beginning.
const TO_BEGINNING: [&str; 22] = [
    "[1.",
    "[2.",
    "[3.",
    "[1,2.",
    "[1-3.",
    ":|",
    ":|x3",
    ":|(on-return play)",
    ":|(on-return skip)",
    "|:",
    "D.C.",
    "D.C.",
    "D.C. con rep.",
    "D.C.(arrivals 1 2)",
    "D.C.(arrivals 2)",
    "D.C.(arrivals 1-4)",
    "D.C. con rep.(arrivals 1-3)",
    "D.C.(passes 1)",
    "D.C.(passes 1 2)",
    "D.C. con rep.(passes 2 3)",
    "D.C.(arrivals 1 3)",
    "D.C.(passes 1 3)",
];

#[test]
fn roads_by_legs_that_are_known_are_those_that_the_rules_allow() {
    for (hand, measures) in [
        // Inside a part and at its end are not the same: another return stands there, or an end repeat leads back first.
        (
            &[
                "[2.",
                "D.C.(passes 1 2)",
                "D.C. con rep.",
                ":|",
                "D.C.(arrivals 1 3)",
            ][..],
            4,
        ),
        (
            &[
                "D.C. con rep.(arrivals 1 3)",
                "D.C.(arrivals 2 4)",
                "[1,2.",
                "[1,3.",
            ],
            4,
        ),
        (
            &[
                "D.C.(passes 1 3)",
                ":|",
                "D.C.(passes 1 2)",
                "[3.",
                "D.C. con rep.",
            ],
            4,
        ),
        // Longer legs than are known.
        (&["|:", "|:", ":|x8", ":|x9", "D.C.(passes 8)", "D.C."], 4),
    ] {
        assert!(hold(hand, measures) > 0, "{hand:?}");
    }
    let measures = |size| if size > 5 { 4 } else { 5 };
    let found = hold_drawn(
        5,
        600,
        &["D.C.(arrivals 1 2)"],
        &TO_BEGINNING,
        (4..=6, measures),
    );
    assert!(found > 1_000, "{found}");
}

/// Signs beside returns that go on to a coda from a Fine or a segno.
const GOES_ON: [&str; 13] = [
    "Fine",
    "Fine(arrivals 2)",
    "D.S.(al Fine, then Coda)",
    "D.C. al Segno then Coda",
    "D.C. al Fine then Coda",
    "segno",
    "segno",
    "D.C.",
    "To Coda",
    ":|",
    "|:",
    "[1.",
    "[2.",
];

#[test]
fn a_coda_stands_behind_where_the_road_goes_on_to_it() {
    let measures = |size| if size > 5 { 5 } else { 6 };
    let mut found = 0;
    for (seed, with) in [
        (3, &["D.C. al Fine then Coda", "coda", "Fine"][..]),
        (4, &["D.S.(al Fine, then Coda)", "segno", "coda", "Fine"]),
        (5, &["D.C. al Segno then Coda", "segno", "coda"]),
    ] {
        found += hold_drawn(seed, 120, with, &GOES_ON, (5..=6, measures));
    }
    assert!(found > 1_000, "{found}");
}

/// Signs with which roads are in vain where they begin or lead back: endings, and returns that name their times or have repeats played.
const IN_VAIN: [&str; 15] = [
    "[1.",
    "[2.",
    "[3.",
    "[1,2.",
    ":|",
    "|:",
    ":|(on-return play)",
    "D.C.(arrivals 1 2)",
    "D.C.(passes 1)",
    "D.C. con rep.",
    "D.S.",
    "segno",
    "Fine(arrivals 2)",
    "To Coda(arrivals 2)",
    "coda",
];

#[test]
fn passes_beyond_those_that_matter_change_no_order() {
    for (hand, measures) in [
        (
            &[":|x20", "To Coda(arrivals 1-4)", "coda", "Fine(arrivals 4)"][..],
            3,
        ),
        (
            &[":|x20", "To Coda(arrivals 1-5)", "coda", "D.C.(arrivals 5)"],
            3,
        ),
        (
            &[
                ":|x20",
                "D.C. al Coda",
                "To Coda(arrivals 1-5)",
                "coda",
                "Fine(arrivals 4)",
            ],
            3,
        ),
        (
            &[
                ":|x31(on-return play)",
                "D.C. con rep.",
                "To Coda(arrivals 1-5)",
                "coda",
                "Fine(arrivals 7)",
            ],
            3,
        ),
        (
            &[
                "To Coda",
                "|:",
                "D.C.(al Coda, passes 1 3 5 7)",
                "Fine(arrivals 7)",
                "coda",
                ":|x30",
            ],
            4,
        ),
        (
            &["|:", "|:", "|:", ":|x1000000", ":|x1000000", ":|x1000000"],
            5,
        ),
    ] {
        hold(hand, measures);
    }
    let many = [
        ":|x20",
        ":|x9",
        ":|x31(on-return play)",
        "|:",
        ":|",
        "[1.",
        "[2.",
        "[1-3.",
        "D.C.",
        "D.C.(passes 2)",
        "D.C.(arrivals 2 3)",
        "D.C. con rep.",
        "D.S.",
        "segno",
        "Fine(arrivals 4)",
        "To Coda",
        "To Coda(arrivals 2)",
        "coda",
        "D.C. al Coda",
        "To Coda(arrivals 1-3)",
        "To Coda(arrivals 2 4)",
        "D.C.(al Coda, passes 1 3)",
        "D.S.(al Coda, arrivals 1 2)",
        "Fine(arrivals 6)",
    ];
    let mut chance = Chance::new(21, 0);
    let (mut found, mut fewer) = (0, 0);
    for _ in 0..300 {
        let mut hand = vec![chance.one(&many[..3]).unwrap()];
        let size = 2 + usize::try_from(chance.below(4)).unwrap();
        hand.extend((0..size).map(|_| chance.one(&many).unwrap()));
        let signs: Vec<Sign> = hand.iter().map(|it| Sign::from_line(it).unwrap()).collect();
        fewer += usize::from(with_fewer_passes(&signs) != signs);
        found += hold(&hand, if size > 4 { 4 } else { 5 });
    }
    assert!(found > 1_000 && fewer > 100, "{found} {fewer}");
}

#[test]
fn roads_left_for_being_in_vain_lose_none() {
    let measures = |size| if size > 5 { 4 } else { 5 };
    let with = ["[1.", "D.C.(arrivals 1 2)"];
    let found = hold_drawn(7, 400, &with, &IN_VAIN, (4..=6, measures));
    assert!(found > 100, "{found}");
}
