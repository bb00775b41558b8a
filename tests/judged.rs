//! What is said of an answer, held against the second walker: right or wrong, where it first differs, how much of it is right.

#[path = "support/erring.rs"]
mod erring;
#[path = "support/mod.rs"]
mod support;
#[path = "support/trials/mod.rs"]
mod trials;
#[path = "support/walker/mod.rs"]
mod walker;

use std::collections::BTreeSet;

use erring::{LIMIT, Roads, Said, alike, answer, order, said, stop_some_time};
use fingerpost::{
    Answer, AnswerVerdict, Board, DifferenceKind, Explanation, Fit, Judge, Judgement,
    Misunderstanding, Reading, Terms,
};
use support::{cases, more_cases};
use trials::chance::{self, Dice};
use trials::slips::slip;
use trials::{portrait, pupils};
use walker::mistaken::Mistake;
use walker::{Outcome, PlainStep, Walker};

/// Longer roads are left to other tests.
const LONGEST: usize = 200;
/// What is looked for between an answer and the right order.
const MOST_SLIPS: usize = 8;

#[test]
fn an_answer_is_wrong_when_no_reading_gives_it_and_never_else() {
    let (mut right_under, mut wrong) = (0, 0);
    for_boards(cases(2000), |board, right, dice| {
        let walker = Walker::new(board, LIMIT);
        let mut orders: BTreeSet<Vec<u16>> = BTreeSet::new();
        let mut roads: Vec<Vec<PlainStep>> = Vec::new();
        let all: BTreeSet<Vec<Said>> = Reading::all()
            .filter_map(|reading| match walker.walk(&with(reading)) {
                // One that goes beyond is not walked to its end.
                Outcome::Steps(steps) if steps.len() <= LONGEST => {
                    orders.extend([order(&said(&steps)), joined(&steps)]);
                    let told = said(&steps);
                    roads.push(steps);
                    Some(told)
                }
                _ => None,
            })
            .collect();
        let judge = Judge::new(board, &Terms::default()).expect("a board with a road");
        for road in &all {
            // As an order, and with the octaves.
            for (octaves, is_right) in [(false, order(road) == order(right)), (true, road == right)]
            {
                let verdict = judge.judge(&answer(road, octaves)).verdict;
                let expected = if is_right {
                    verdict == AnswerVerdict::Right
                } else {
                    right_under += 1;
                    matches!(verdict, AnswerVerdict::RightUnder(_))
                };
                assert!(expected, "{verdict:?}: {road:?}\n{}", portrait(board));
            }
            let slipped = slip(dice, road, board.measures());
            let order = order(&slipped);
            let tells = |steps: &Vec<PlainStep>| is_mixed(steps, &order);
            if !orders.contains(&order) && !roads.iter().any(tells) {
                wrong += 1;
                let verdict = judge.judge(&answer(&slipped, false)).verdict;
                assert_eq!(verdict, AnswerVerdict::Wrong, "{}", portrait(board));
            }
        }
    });
    assert!(right_under > cases(1000) && wrong > cases(1000));
}

/// A cut measure is named once for each part played, or once where its parts are played one after the other: both are right.
#[test]
fn an_order_with_cut_measures_as_one_step_or_several_is_never_wrong() {
    let (mut right, mut right_under) = (0, 0);
    for_boards(more_cases(4000), |board, _, dice| {
        let walker = Walker::new(board, LIMIT);
        let steps = |reading| match walker.walk(&with(reading)) {
            Outcome::Steps(steps) if steps.len() <= LONGEST => Some(steps),
            _ => None,
        };
        let joined_of = |steps: &[PlainStep]| {
            let order = joined(steps);
            (order.len() < steps.len()).then_some(order)
        };
        let usual = steps(Reading::default()).expect("a board with a road");
        let usual_joined = joined_of(&usual);
        if usual_joined.is_some() {
            let order = mixed(&usual, dice);
            let text: Vec<String> = order.iter().map(u16::to_string).collect();
            let given = Answer::read(board, &text.join(" ")).expect("an order");
            let judge = Judge::new(board, &Terms::default()).expect("a board with a road");
            let verdict = judge.judge(&given).verdict;
            assert_eq!(
                verdict,
                AnswerVerdict::Right,
                "{order:?}\n{}",
                portrait(board)
            );
        }
        let all = Reading::all().filter_map(steps);
        let all: BTreeSet<Vec<u16>> = all.filter_map(|steps| joined_of(&steps)).collect();
        if all.is_empty() {
            return;
        }
        let judge = Judge::new(board, &Terms::default()).expect("a board with a road");
        for order in all {
            let text: Vec<String> = order.iter().map(u16::to_string).collect();
            let given = Answer::read(board, &text.join(" ")).expect("an order");
            let verdict = judge.judge(&given).verdict;
            let fits = if Some(&order) == usual_joined.as_ref() {
                right += 1;
                verdict == AnswerVerdict::Right
            } else {
                right_under += 1;
                verdict != AnswerVerdict::Wrong
            };
            assert!(fits, "{verdict:?}: {order:?}\n{}", portrait(board));
        }
    });
    assert!(right >= cases(80), "{right}");
    assert!(right_under >= cases(200), "{right_under}");
}

#[test]
fn the_first_difference_and_what_is_right_are_told() {
    for_boards(cases(2000), |board, right, dice| {
        let judge = Judge::new(board, &Terms::default()).expect("a board with a road");
        let mut given = right.to_vec();
        for _ in 0..dice.below(6) {
            given = slip(dice, &given, board.measures());
        }
        if dice.once_in(4) {
            given.truncate(dice.below(given.len()));
        }
        let told = judge.judge(&answer(&given, false));
        let (given, right) = (order(&given), order(right));
        let mut fault = fault_in(&told, &given, &right);
        if fault.is_some() {
            // Of a cut measure as many names may be meant as stand in a row.
            let walker = Walker::new(board, LIMIT);
            if let Outcome::Steps(steps) = walker.walk(&Terms::default()) {
                fault = fault_in(&told, &given, &as_answered(&steps, &given));
            }
        }
        assert_eq!(fault, None, "{given:?}: {told:?}\n{}", portrait(board));
    });
}

/// What is told wrongly of an answer.
fn fault_in(told: &Judgement, given: &[u16], right: &[u16]) -> Option<&'static str> {
    let common = given.iter().zip(right).take_while(|(a, b)| a == b).count();
    let kind = match (given.get(common), right.get(common)) {
        (None, None) => None,
        (None, _) if given.is_empty() => Some(DifferenceKind::Empty),
        (None, _) => Some(DifferenceKind::TooShort),
        (_, None) => Some(DifferenceKind::TooLong),
        _ => Some(DifferenceKind::OtherMeasure),
    };
    let found = told.difference.as_ref();
    let expected = found.and_then(|it| it.expected.map(|step| step.measure));
    let slips = distance(given, right);
    let few = (slips <= MOST_SLIPS && told.verdict == AnswerVerdict::Wrong).then_some(slips);
    [
        (found.map(|it| it.kind) == kind, "kind of difference"),
        (
            found.is_none_or(|it| it.index == common),
            "place of difference",
        ),
        (
            kind.is_none() || expected == right.get(common).copied(),
            "what was expected",
        ),
        (
            told.right_from_the_beginning == common,
            "right from the beginning",
        ),
        (
            told.right_in_order == in_common(given, right),
            "right in order",
        ),
        (told.slips == few, "slips"),
        (told.given == given.len(), "steps given"),
        (told.length == right.len() as u64, "length"),
    ]
    .into_iter()
    .find_map(|(holds, what)| (!holds).then_some(what))
}

#[test]
fn every_misunderstanding_is_known_by_its_name() {
    let names: BTreeSet<&str> = Mistake::ALL.iter().map(|it| it.name()).collect();
    let known: BTreeSet<&str> = Misunderstanding::ALL.iter().map(|it| it.name()).collect();
    assert_eq!(names, known);
}

#[test]
fn misunderstandings_are_seen_on_boards_of_every_kind_under_every_reading() {
    let mut seen = 0;
    let mut missed = Vec::new();
    for seed in 0..u64::from(cases(6000)) {
        let mut dice = Dice::new(seed ^ 0x5eed);
        let board = if seed % 4 == 0 {
            chance::wild(&mut dice)
        } else {
            chance::from_pieces(&mut dice)
        };
        let terms = with(dice.reading());
        let walker = Walker::new(&board, LIMIT);
        let Some(right) = walker.walk_mistaken(&terms, &[]).map(|it| said(&it)) else {
            continue;
        };
        let Ok(judge) = Judge::new(&board, &terms) else {
            continue;
        };
        for mistake in Mistake::ALL {
            let road = walker.walk_mistaken(&terms, &[mistake]);
            let mut road = said(&road.expect("a board with a road"));
            if mistake == Mistake::JumpForEver {
                stop_some_time(&mut road, &right, &mut dice);
            }
            if road.len() > LONGEST || alike(mistake, &road, &right) {
                continue;
            }
            let told = judge.judge(&answer(&road, mistake.is_of_octaves()));
            if told.verdict != AnswerVerdict::Wrong {
                continue;
            }
            seen += 1;
            let is_it = |idea: &[Misunderstanding], fit| {
                fit == Fit::Whole && idea.len() == 1 && idea[0].name() == mistake.name()
            };
            let all = &told.explanations;
            if !all.iter().any(|it| is_it(&it.ideas, it.fit)) && told.more_explanations == 0 {
                missed.push(format!(
                    "{mistake:?} under {:?}: {:?}: {all:?}\n{}",
                    terms.reading,
                    order(&road),
                    portrait(&board)
                ));
            }
        }
    }
    assert!(
        missed.is_empty(),
        "{} of {seen}:\n{}",
        missed.len(),
        missed[..missed.len().min(8)].join("\n\n")
    );
    assert!(seen > cases(5000), "{seen}");
}

/// Boards by chance with their right order.
fn for_boards(count: u32, mut with: impl FnMut(&Board, &[Said], &mut Dice)) {
    for seed in 0..u64::from(count) {
        let mut dice = Dice::new(seed);
        let board = if seed % 2 == 0 {
            pupils::board(&mut dice)
        } else {
            chance::from_pieces(&mut dice)
        };
        let walker = Walker::new(&board, LIMIT);
        if let Outcome::Steps(steps) = walker.walk(&Terms::default()) {
            if steps.len() <= LONGEST {
                with(&board, &said(&steps), &mut dice);
            }
        }
    }
}

/// An order in which the parts of a cut measure that are played one after the other are said as one.
fn joined(steps: &[PlainStep]) -> Vec<u16> {
    let begun = (0..steps.len()).filter(|&at| !goes_on(steps, at));
    begun.map(|at| steps[at].measure).collect()
}

/// Whether a step plays the next part of the measure that the step before it plays.
fn goes_on(steps: &[PlainStep], at: usize) -> bool {
    let (Some(before), Some((from, _))) = (at.checked_sub(1), steps[at].part) else {
        return false;
    };
    let before = &steps[before];
    before.measure == steps[at].measure && before.part.is_some_and(|(_, to)| to == from)
}

/// The runs of parts of one measure that are played one after the other, as the measure and how many there are.
fn runs(steps: &[PlainStep]) -> Vec<(u16, usize)> {
    let mut runs: Vec<(u16, usize)> = Vec::new();
    for (at, step) in steps.iter().enumerate() {
        match runs.last_mut() {
            Some((_, parts)) if goes_on(steps, at) => *parts += 1,
            _ => runs.push((step.measure, 1)),
        }
    }
    runs
}

/// Whether an order names each run of parts once, or once for each part.
fn is_mixed(steps: &[PlainStep], order: &[u16]) -> bool {
    let mut reached = BTreeSet::from([0]);
    for (measure, parts) in runs(steps) {
        let named = |at: usize, times: usize| {
            let names = order.get(at..at + times);
            names.is_some_and(|names| names.iter().all(|&name| name == measure))
        };
        let ways = [1, parts];
        let behind = reached.iter().flat_map(|&at| {
            let fitting = ways.into_iter().filter(move |&times| named(at, times));
            fitting.map(move |times| at + times).collect::<Vec<_>>()
        });
        reached = behind.collect();
    }
    reached.contains(&order.len())
}

/// The right order with each run of parts named as often as the answer goes on with that name, place by place.
fn as_answered(steps: &[PlainStep], given: &[u16]) -> Vec<u16> {
    let mut order = Vec::new();
    for (measure, parts) in runs(steps) {
        order.push(measure);
        for _ in 1..parts {
            if given.get(order.len()) == Some(&measure) {
                order.push(measure);
            }
        }
    }
    order
}

/// An order in which cut measures are said as one or part by part, now so and now so.
fn mixed(steps: &[PlainStep], dice: &mut Dice) -> Vec<u16> {
    let mut as_one = false;
    let mut order = Vec::new();
    for (at, step) in steps.iter().enumerate() {
        let goes_on = goes_on(steps, at);
        if !goes_on {
            as_one = dice.once_in(2);
        }
        if !(goes_on && as_one) {
            order.push(step.measure);
        }
    }
    order
}

fn with(reading: Reading) -> Terms {
    Terms {
        reading,
        ..Terms::default()
    }
}

/// The slips between two orders, by the whole table: the restricted distance of Damerau (Communications of the ACM 7, 1964).
fn distance(one: &[u16], other: &[u16]) -> usize {
    let mut table = vec![vec![0; other.len() + 1]; one.len() + 1];
    for i in 0..=one.len() {
        for j in 0..=other.len() {
            table[i][j] = if i == 0 || j == 0 {
                i + j
            } else {
                let replaced = table[i - 1][j - 1] + usize::from(one[i - 1] != other[j - 1]);
                let crossed =
                    i > 1 && j > 1 && one[i - 1] == other[j - 2] && one[i - 2] == other[j - 1];
                let exchanged = if crossed {
                    table[i - 2][j - 2] + 1
                } else {
                    replaced
                };
                let left_out = table[i - 1][j].min(table[i][j - 1]) + 1;
                replaced.min(exchanged).min(left_out)
            };
        }
    }
    table[one.len()][other.len()]
}

/// The length of the longest row of steps that both orders have.
fn in_common(one: &[u16], other: &[u16]) -> usize {
    let mut table = vec![vec![0; other.len() + 1]; one.len() + 1];
    for i in 1..=one.len() {
        for j in 1..=other.len() {
            table[i][j] = if one[i - 1] == other[j - 1] {
                table[i - 1][j - 1] + 1
            } else {
                table[i - 1][j].max(table[i][j - 1])
            };
        }
    }
    table[one.len()][other.len()]
}

/// The mistakes that go by the name of a misunderstanding.
fn of(idea: Misunderstanding) -> impl Iterator<Item = Mistake> {
    let mistakes = Mistake::ALL.into_iter();
    mistakes.filter(move |mistake| mistake.name() == idea.name())
}

/// Whether nobody makes both mistakes: nobody passes an end repeat by and obeys it so many times, or stops at a D.C. that is never seen.
fn contradict(one: Mistake, other: Mistake) -> bool {
    use Mistake::{
        EndingsInARow, FineAfterRepeat, FineAtOnce, FineIgnored, FirstEndingAgain, JumpForEver,
        JumpIgnored, OnceTooFew, OnlyTwice, RepeatIgnored, RepeatOnceTooOften, SecondEndingAtOnce,
        StopsAtJump,
    };
    let of_one_sign: [&[&[Mistake]]; 4] = [
        &[
            &[RepeatIgnored],
            &[RepeatOnceTooOften, OnlyTwice, OnceTooFew],
        ],
        &[&[FirstEndingAgain], &[SecondEndingAtOnce], &[EndingsInARow]],
        &[&[JumpIgnored], &[StopsAtJump], &[JumpForEver]],
        &[&[FineAtOnce, FineAfterRepeat], &[FineIgnored]],
    ];
    of_one_sign.iter().any(|ways| {
        let way = |it: Mistake| ways.iter().position(|way| way.contains(&it));
        matches!((way(one), way(other)), (Some(one), Some(other)) if one != other)
    })
}

/// Whether the second walker, under the reading of an explanation and with its one mistake, walks a road.
fn walks_under(
    walker: &Walker,
    told: &Explanation,
    road: &[Said],
    alike: impl Fn(&[Said], &[Said]) -> bool,
) -> bool {
    let (Some(under), [idea]) = (told.under, &told.ideas[..]) else {
        return false;
    };
    let mut mistakes = of(*idea);
    told.fit == Fit::Whole
        && mistakes.any(|mistake| {
            let other = walker.walk_mistaken(&with(under), &[mistake]);
            let other = said(&other.expect("a board with a road"));
            // A road with no end is told by its beginning.
            let is_endless = mistake == Mistake::JumpForEver;
            let begins = other.get(..road.len()).filter(|_| is_endless);
            alike(begins.unwrap_or(&other), road)
        })
}

#[test]
fn two_misunderstandings_at_once_are_both_named() {
    let (mut pairs, mut under_others, mut missed) = (0, 0, Vec::new());
    for seed in 0..u64::from(cases(1200)) {
        let mut dice = Dice::new(seed);
        let Some(roads) = Roads::new(&mut dice) else {
            continue;
        };
        let terms = Terms::default();
        let walker = Walker::new(&roads.board, LIMIT);
        let judge = Judge::new(&roads.board, &terms).expect("a board with a road");
        for _ in 0..8 {
            let [one, other] = [0, 0].map(|_| dice.pick(&Mistake::ALL));
            let octaves = one.is_of_octaves() || other.is_of_octaves();
            let alike = |a: &[Said], b: &[Said]| {
                if octaves {
                    a == b
                } else {
                    order(a) == order(b)
                }
            };
            let late_and_early = one.name() == other.name();
            if contradict(one, other) {
                continue;
            }
            let for_ever = [one, other].contains(&Mistake::JumpForEver);
            if late_and_early || for_ever {
                continue;
            }
            let road = walker.walk_mistaken(&terms, &[one, other]);
            let road = said(&road.expect("a board with a road"));
            // What one of them does alone, or does not show, is no pair.
            let single = roads
                .wrong
                .iter()
                .chain([&roads.right])
                .any(|it| alike(it, &road));
            if single {
                continue;
            }
            let told = judge.judge(&answer(&road, octaves));
            // Of two an answer that is right as far as it goes shows one at most.
            if told.right_from_the_beginning == told.given {
                let is_one = told.explanations.iter().all(|it| it.ideas.len() == 1);
                assert!(is_one, "{told:?}");
                continue;
            }
            // One misunderstanding under another published reading is plainer than two; then the second walker has to find it there.
            if told.explanations.iter().any(|it| it.under.is_some()) {
                let all = &told.explanations;
                let is_so = all.iter().all(|it| walks_under(&walker, it, &road, alike));
                assert!(is_so, "{told:?}");
                under_others += 1;
                continue;
            }
            let contradict = |it: &Explanation| match it.ideas[..] {
                [one, other] => of(one).any(|one| of(other).any(|other| contradict(one, other))),
                _ => false,
            };
            assert!(!told.explanations.iter().any(contradict), "{told:?}");
            // One slip is likelier than two misunderstandings, from the right order or from that of another published reading.
            let mut near = told.near.iter();
            let one_slip = told.slips == Some(1) || near.any(|it| it.fit == Fit::ButForSlips(1));
            if told.verdict != AnswerVerdict::Wrong || one_slip {
                continue;
            }
            pairs += 1;
            let named = |ideas: &[Misunderstanding]| {
                let has = |it: Mistake| ideas.iter().any(|idea| idea.name() == it.name());
                ideas.len() == 2 && has(one) && has(other)
            };
            let found = told
                .explanations
                .iter()
                .any(|it| it.fit == Fit::Whole && named(&it.ideas));
            if !found && told.more_explanations == 0 {
                let ideas: Vec<_> = told
                    .explanations
                    .iter()
                    .map(|it| (&it.ideas, it.fit))
                    .collect();
                missed.push(format!(
                    "{one:?} and {other:?}: {:?}: {ideas:?}\n  {}",
                    order(&road),
                    roads.board.to_line()
                ));
            }
        }
    }
    println!("{} of {pairs}, {under_others} under others", missed.len());
    assert!(under_others > cases(20), "{under_others}");
    assert!(pairs > cases(1200), "{pairs}");
    assert!(
        missed.is_empty(),
        "{} of {pairs}:\n{}",
        missed.len(),
        missed[..missed.len().min(25)].join("\n")
    );
}
