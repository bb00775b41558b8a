//! The search through all orders of the signs of a hand.

use super::judged::judged;
use super::numbered::{Numbered, comebacks};
use super::often::{are_long, comes_too_late, led_back, with_fewer_passes};
use super::order::{Make, Order, choices};
use super::quietly::OnPasses;
use super::road::Roads;
use super::shape::{Shape, Shapes, shapes};
use super::vain::Outermost;
use super::work::Work;
use crate::board::{Board, Fine, Sign, Then};
use crate::chance::Chance;
use crate::legality::judge::Judge;

/// The most orders of a hand that are looked at, those of some of its signs included; but for what every thread goes through (`work.rs`).
pub(super) const MOST_ORDERS: u64 = 30_000_000;

/// What is amiss with signs wherever they stand: a sign that lacks its partner, or one too many.
const OF_PARTNERS: [&str; 8] = [
    "segno-missing",
    "fine-missing",
    "to-coda-missing",
    "coda-missing",
    "label-twice",
    "segno-unused",
    "coda-unused",
    "fine-unused",
];

/// What is amiss with a coda before the sign from which the road goes on to it.
const OF_CODAS: &str = "coda-before-to-coda";

/// How a search has ended.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Ended {
    /// Every order was looked at.
    All,
    /// Who was told of an order wanted no more.
    Enough,
    /// There are too many.
    TooMany,
}

/// The signs in the order in which they are laid: those first that forbid most to the others.
pub(super) fn sorted(signs: &[Sign]) -> Vec<Sign> {
    let mut sorted = signs.to_vec();
    sorted.sort_by_key(|sign| (rank(sign), format!("{sign:?}")));
    sorted
}

pub(super) fn rank(sign: &Sign) -> u8 {
    match sign {
        Sign::EndRepeat(_) => 0,
        Sign::StartRepeat => 1,
        Sign::Ending(_) => 2,
        Sign::DaCapo(_) | Sign::DalSegno(_) => 3,
        Sign::Segno(_) => 4,
        Sign::Fine(_) => 5,
        Sign::ToCoda(_) => 6,
        _ => 7,
    }
}

/// Empty boards of 1 measure, 2 measures …: enough for every order of the signs.
pub(super) fn empty_boards(signs: &[Sign], measures: u16) -> Vec<Board> {
    let edges: usize = signs.iter().map(|sign| 1 + usize::from(sign.spans())).sum();
    let most = u16::try_from(edges + 1)
        .unwrap_or(u16::MAX)
        .min(measures.max(1));
    // cannot fail: a board of one measure or more can be built.
    (1..=most)
        .filter_map(|measures| Board::builder([measures]).build().ok())
        .collect()
}

/// Looks through all legal orders of the signs on a board of so many measures, and tells of each with the number of ways it stands for.
/// `work`: how many orders, those of some of the signs included, may still be looked at, and which of them by this thread.
pub(super) fn search(
    signs: &[Sign],
    boards: &[Board],
    measures: u16,
    work: &Work<'_>,
    found: &mut dyn FnMut(Make<'_>, u64) -> bool,
) -> Ended {
    if lacks_partners(signs) {
        return Ended::All;
    }
    let fewer = with_fewer_passes(signs);
    if are_long(&fewer) {
        return judged(signs, boards, measures, work, true, found);
    }
    let ways: Vec<u64> = (0..=boards.len() as u64)
        .map(|inside| choices(u64::from(measures.max(1)) - 1, inside))
        .collect();
    let mut found = |make: Make<'_>, measures: u8| {
        let inside = usize::from(measures) - 1;
        found(make, ways.get(inside).copied().unwrap_or(0))
    };
    roads(&fewer, boards, work, &mut found)
}

/// Lays repeats and endings in every way, and the other signs as the road needs them.
fn roads(
    signs: &[Sign],
    boards: &[Board],
    work: &Work<'_>,
    found: &mut dyn FnMut(Make<'_>, u8) -> bool,
) -> Ended {
    let shaping = signs.iter().take_while(|sign| shapes(sign)).count();
    let hand = Numbered::new(signs, shaping);
    let judges: Vec<Judge<'_>> = boards.iter().map(Judge::new).collect();
    // Which Fine or segno goes on to the coda is said by a rule, whatever the road comes to.
    let goes_on = signs.iter().any(|sign| match sign {
        Sign::DaCapo(jump) | Sign::DalSegno(jump) => jump.then == Some(Then::Coda),
        _ => false,
    });
    let mut found = |make: Make<'_>, measures: u8| {
        let judge = judges.get(usize::from(measures) - 1);
        let spoils = |judge: &Judge<'_>| judge.breaks_any(&make().markings(signs), &[OF_CODAS]);
        goes_on && judge.is_some_and(spoils) || found(make, measures)
    };
    let is_return = |sign: &Sign| matches!(sign, Sign::DaCapo(_) | Sign::DalSegno(_));
    let returns = signs.iter().enumerate().filter(|(_, sign)| is_return(sign));
    let lands = signs
        .iter()
        .any(|sign| matches!(sign, Sign::Segno(_) | Sign::Coda(_)));
    let mut follow = |order: &Order, shape: &Shape| {
        let mut roads = Roads {
            hand: &hand,
            shape,
            outermost: Outermost::of(shape),
            on_passes: OnPasses::of(shape),
            order,
            lands,
            most: u8::try_from(judges.len()).unwrap_or(u8::MAX),
            rest: None,
            is_trial: false,
            came: None,
            work,
            found: &mut found,
        };
        roads.follow_all()
    };
    let mut shapes = Shapes {
        signs,
        hand: &hand,
        shaping,
        returns: returns.map(|(number, _)| number).collect(),
        lands,
        judges: &judges,
        work,
        then: &mut follow,
    };
    shapes.lay(&Order::empty())
}

/// Whether signs can be laid nowhere, for some lack their partner wherever they stand, or only one of two can be obeyed, or one is never come to
/// as often as it says.
fn lacks_partners(signs: &[Sign]) -> bool {
    let count = |of: fn(&Sign) -> bool| signs.iter().filter(|&sign| of(sign)).count();
    let fines = count(|sign| matches!(sign, Sign::Fine(_)));
    let endings = count(|sign| matches!(sign, Sign::Ending(_)));
    let closing = count(|sign| {
        matches!(
            sign,
            Sign::EndRepeat(_) | Sign::DaCapo(_) | Sign::DalSegno(_)
        )
    });
    // Each Fine ends the music, or one without arrivals sends to the coda for a return that goes on to it; and an ending needs something to come back by.
    let goes_on = signs.iter().filter(|sign| sign.goes_on_from_fine());
    let goes_on = goes_on.map(comebacks).fold(0, usize::saturating_add);
    let counted = count(|sign| matches!(sign, Sign::Fine(Fine { arrivals: Some(_) })));
    if fines > goes_on.saturating_add(1) || counted > 1 || endings > 0 && closing == 0 {
        return true;
    }
    // Each start repeat needs an end repeat of its own, or an ending.
    let starts = count(|sign| matches!(sign, Sign::StartRepeat));
    let ends = count(|sign| matches!(sign, Sign::EndRepeat(_)));
    if starts > ends + endings {
        return true;
    }
    // A To Coda leads nowhere without its coda.
    let is_lost = |sign: &Sign| match sign {
        Sign::ToCoda(to_coda) => !signs
            .iter()
            .any(|it| matches!(it, Sign::Coda(coda) if coda.label == to_coda.label)),
        _ => false,
    };
    if signs.iter().any(is_lost) {
        return true;
    }
    // Without end repeats a section goes on to its next pass only when a return has led back.
    let returns = count(|sign| matches!(sign, Sign::DaCapo(_) | Sign::DalSegno(_)));
    let led_back = led_back(signs);
    let beyond = |sign: &Sign| match sign {
        Sign::Ending(ending) => ending.passes.lowest() as usize > led_back.saturating_add(1),
        _ => false,
    };
    if closing == returns && signs.iter().any(beyond) {
        return true;
    }
    if signs.iter().any(|sign| comes_too_late(sign, signs)) {
        return true;
    }
    let apart = apart(signs);
    let board = Board::builder([apart.measures]).build();
    board.is_ok_and(|board| Judge::new(&board).breaks_any(&apart.markings(signs), &OF_PARTNERS))
}

/// The signs one behind the other, each in a measure of its own.
fn apart(signs: &[Sign]) -> Order {
    let number = |at: usize| u16::try_from(at).unwrap_or(u16::MAX);
    Order {
        measures: number(signs.len() + 1),
        spots: (0..signs.len())
            .map(|at| {
                if signs.get(at).is_some_and(Sign::spans) {
                    (number(at), number(at + 1))
                } else {
                    (number(at + 1), number(at + 1))
                }
            })
            .collect(),
    }
}

/// The barlines inside a board of so many measures, so many of them, by chance: those at the ends of phrases rather than others.
pub(super) fn barlines(inside: u16, measures: u16, chance: &mut Chance) -> Vec<u16> {
    let mut all: Vec<(u8, u64, u16)> = (1..measures)
        .map(|at| {
            let fine = match at {
                _ if at % 4 == 0 => 0,
                _ if at % 2 == 0 => 1,
                _ => 2,
            };
            // Mostly the ends of phrases, at times another barline.
            let fine = if chance.happens(1, 8) { 0 } else { fine };
            (fine, chance.below(u64::MAX), at)
        })
        .collect();
    all.sort_unstable();
    let mut chosen: Vec<u16> = all
        .iter()
        .take(usize::from(inside))
        .map(|it| it.2)
        .collect();
    chosen.sort_unstable();
    chosen
}

#[cfg(test)]
mod tests {
    use super::super::work::Common;
    use super::*;

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

    #[test]
    fn roads_of_any_hand_are_those_that_the_rules_allow() {
        let mut chance = Chance::new(99, 0);
        let mut found = 0;
        for _ in 0..800 {
            let size = 3 + usize::try_from(chance.below(3)).unwrap();
            let hand: Vec<&str> = (0..size).map(|_| chance.one(&ALPHABET).unwrap()).collect();
            found += hold(&hand, if size > 4 { 5 } else { 6 });
        }
        assert!(found > 100, "{found}");
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
        let mut chance = Chance::new(7, 0);
        let mut found = 0;
        for _ in 0..400 {
            let size = 4 + usize::try_from(chance.below(3)).unwrap();
            let mut hand = vec!["[1.", "D.C.(arrivals 1 2)"];
            hand.extend((2..size).map(|_| chance.one(&IN_VAIN).unwrap()));
            found += hold(&hand, if size > 5 { 4 } else { 5 });
        }
        assert!(found > 100, "{found}");
    }
}
