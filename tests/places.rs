//! Where a sign may go, held against trying it: every place, every partner, every arrangement of partners, judged by `check` alone, and the
//! routes by the second walker.

#[path = "support/sign_box.rs"]
mod sign_box;
mod support;
#[path = "support/walker/mod.rs"]
mod walker;

use std::collections::BTreeSet;

use fingerpost::{
    Al, Board, CheckOptions, Finding, Held, Marking, Partner, Place, Places, Severity, Sign, Terms,
    Verdict, check_with, places,
};
use proptest::prelude::*;
use proptest::sample::{Index, select};
use sign_box::{box_of_signs, marks_that_sound};
use support::boards::any_laid_board;
use support::laying::{LACKS, places_of, with};
use walker::{Outcome, PlainStep, walk};

/// Errors that something is missing.
const CURABLE: [&str; 6] = [
    "segno-missing",
    "fine-missing",
    "to-coda-missing",
    "coda-missing",
    "ending-gap",
    "ending-not-closed",
];
/// How many boards and signs are tried.
const CASES: u32 = 1_200;

/// Errors that only walking shows.
const WALKED: [&str; 2] = ["landing-in-wrong-ending", "route-too-long"];

fn terms() -> Terms {
    Terms {
        open_plays: Some(2),
        ..Terms::default()
    }
}

/// The errors and lacking partners of a board.
fn found(board: &Board) -> Vec<Finding> {
    let options = CheckOptions {
        most_compared: 0,
        ..CheckOptions::default()
    };
    let mut found = check_with(board, &options);
    found.retain(|it| it.severity == Severity::Error || LACKS.contains(&it.rule));
    found
}

/// What is new: an error is known again by its marking, a gap between endings by its passes.
fn fresh(before: &[Finding], after: Vec<Finding>) -> Vec<Finding> {
    let key = |it: &Finding| match it.rule {
        "ending-gap" => (it.rule, None, it.message.clone()),
        _ => (it.rule, it.marking, String::new()),
    };
    let mut left: Vec<_> = before.iter().map(key).collect();
    let mut new = after;
    new.retain(|it| match left.iter().position(|known| *known == key(it)) {
        Some(at) => {
            left.remove(at);
            false
        }
        None => true,
    });
    new
}

/// What is heard of a route, by the second walker.
fn heard(board: &Board) -> Option<Vec<(u16, String, Held, Held)>> {
    match walk(board, &terms(), 20_000) {
        Outcome::Steps(steps) => Some(steps.iter().map(heard_step).collect()),
        _ => None,
    }
}

/// The measures that are never played; none where there is no road.
fn never_played(board: &Board) -> Option<BTreeSet<u16>> {
    let Outcome::Steps(steps) = walk(board, &terms(), 20_000) else {
        return None;
    };
    let played: BTreeSet<u16> = steps.iter().map(|step| step.measure).collect();
    let all = 1..=board.measures();
    Some(all.filter(|measure| !played.contains(measure)).collect())
}

fn heard_step(step: &PlainStep) -> (u16, String, Held, Held) {
    let right = matches!(step.hands, Held::Both | Held::Right);
    let left = matches!(step.hands, Held::Both | Held::Left);
    let octave = |plays: bool, octave: i8| if plays { octave } else { 0 };
    let words = format!(
        "{:?} {} {}",
        step.part,
        octave(right, step.octave_right),
        octave(left, step.octave_left)
    );
    (step.measure, words, step.hold, step.hands)
}

/// Boards in the making: laid boards from which some signs have been taken away again.
fn in_the_making() -> impl Strategy<Value = Board> {
    (any_laid_board(), any::<u16>()).prop_map(|(board, taken)| {
        let kept = board.markings().iter().enumerate();
        let kept =
            kept.filter(|(index, _)| *index > 15 || taken & (1 << index) == 0 || taken % 3 == 0);
        let kept: Vec<Marking> = kept.map(|(_, marking)| marking.clone()).collect();
        let builder = board.to_builder().without_markings().markings(kept);
        builder.build().expect("fewer signs")
    })
}

/// The verdict on one place, held against trying.
fn holds(board: &Board, before: &[Finding], sign: &Sign, place: Place, verdict: &Verdict) {
    let marking = Marking::new(sign.clone(), place);
    let board_with = with(board, std::slice::from_ref(&marking));
    let after = found(&board_with);
    let has_errors = after.iter().any(|it| it.severity == Severity::Error);
    let fresh_here = fresh(before, after);
    let what = format!("{:?} {place:?} on {}: {verdict:?}", sign, board.to_line());
    let is_error = |it: &&Finding| it.severity == Severity::Error;
    let broken: BTreeSet<&str> = fresh_here
        .iter()
        .filter(is_error)
        .map(|it| it.rule)
        .filter(|rule| !CURABLE.contains(rule) && !WALKED.contains(rule))
        .collect();
    let walked: BTreeSet<&str> = fresh_here
        .iter()
        .map(|it| it.rule)
        .filter(|rule| WALKED.contains(rule))
        .collect();
    let lacks = fresh_here.iter().filter(|it| !WALKED.contains(&it.rule));
    let lacks: BTreeSet<&str> = lacks.map(|it| it.rule).collect();
    let own = board.markings().len();
    let own = fresh_here.iter().all(|it| it.marking == Some(own));
    match verdict {
        Verdict::NotLegal { rules } => {
            let rules: BTreeSet<&str> = rules.iter().copied().collect();
            if !broken.is_empty() {
                assert_eq!(rules, broken, "{what}");
            } else if !lacks.is_empty() {
                assert_eq!(rules, lacks, "{what}");
                if own {
                    no_partner_helps(board, before, &marking, &lacks, &what);
                }
            } else if !walked.is_empty() {
                assert_eq!(rules, walked, "{what}");
            } else {
                leaves_no_place(&board_with, &rules, &what);
            }
        }
        Verdict::NeedsPartner(ways) => {
            assert!(broken.is_empty() && !lacks.is_empty(), "{what}");
            assert!(!ways.is_empty());
            let size = ways[0].len();
            for way in ways {
                assert_eq!(way.len(), size, "{what}");
                partners_hold(board, before, &marking, way, &what);
            }
            if size > 1 && own {
                no_partner_helps(board, before, &marking, &lacks, &what);
            }
        }
        Verdict::Legal { route, missing } => {
            assert!(fresh_here.is_empty(), "{what}: {fresh_here:?}");
            assert_eq!(*route, !has_errors, "{what}");
            assert!(missing.is_empty() || has_errors, "{what}");
            for way in missing {
                completes(&board_with, way, &what);
            }
            if *route {
                let after = heard(&board_with);
                assert!(after.is_none() || after != heard(board), "{what}");
            }
        }
        Verdict::Idle => {
            assert!(fresh_here.is_empty(), "{what}");
            let twin = board.markings().contains(&marking);
            if !(twin && has_errors) {
                assert_eq!(heard(&board_with), heard(board), "{what}");
            }
        }
        other => panic!("{other:?} is new"),
    }
}

/// Some signs stay without their partner, or the sign that was laid does, whatever one or two signs of the box are added: nothing comes of it.
fn leaves_no_place(board: &Board, rules: &BTreeSet<&str>, what: &str) {
    let stays = |board: &Board| found(board).iter().any(|it| rules.contains(&it.rule));
    assert!(!rules.is_empty() && stays(board), "{what}");
    let directs = |sign: &Sign| {
        use Sign::{Coda, DaCapo, DalSegno, Fine, Segno, ToCoda};
        matches!(
            sign,
            Segno(_) | Coda(_) | ToCoda(_) | Fine(_) | DaCapo(_) | DalSegno(_)
        )
    };
    let mut letters = Vec::new();
    for sign in box_of_signs().into_iter().filter(directs) {
        let places = places_of(board, &sign).into_iter();
        letters.extend(places.map(|place| Marking::new(sign.clone(), place)));
    }
    let own = board.markings().len() - 1;
    let is_whole = |added: &[Marking]| {
        let left = found(&with(board, added));
        !left.iter().any(|it| {
            let counts = it.severity == Severity::Error || it.marking == Some(own);
            counts && !(WALKED.contains(&it.rule) || is_structural(it.rule))
        })
    };
    for (index, one) in letters.iter().enumerate() {
        assert!(
            !is_whole(std::slice::from_ref(one)),
            "{what}: {one:?} helps"
        );
        if letters.len() > 120 {
            continue;
        }
        for other in &letters[index + 1..] {
            let both = [one.clone(), other.clone()];
            assert!(!is_whole(&both), "{what}: {both:?} helps");
        }
    }
}

fn is_structural(rule: &str) -> bool {
    matches!(
        rule,
        "start-repeat-unclosed" | "ending-without-repeat" | "ending-not-closed" | "ending-gap"
    )
}

/// In some arrangement of a way, at the places named, nothing lacks its partner any more. Where repeats and the road lack something both, each is held
/// against trying by itself.
fn completes(board: &Board, way: &[Partner], what: &str) {
    assert!(way.iter().all(|it| !it.places.is_empty()), "{what}");
    let lacks = found(board);
    let of_sections = lacks.iter().filter(|it| is_structural(it.rule)).count();
    let (any, all) = (of_sections > 0, of_sections == lacks.len());
    let mut ways: Vec<Vec<Marking>> = vec![Vec::new()];
    for partner in way {
        let more = |before: &Vec<Marking>| {
            let places = partner.places.iter();
            let laid = |&place| Marking::new(partner.card.sign.clone(), place);
            let laid = places.map(laid);
            laid.map(|it| [&before[..], &[it]].concat())
                .collect::<Vec<_>>()
        };
        ways = ways.iter().flat_map(more).collect();
    }
    let is_in_order = |added: &Vec<Marking>| {
        let left = found(&with(board, added));
        left.iter()
            .all(|it| WALKED.contains(&it.rule) || any && !all && is_structural(it.rule))
    };
    assert!(
        ways.iter().any(is_in_order),
        "{what}: {way:?} helps nothing"
    );
}

/// No single sign of the box takes away what is new: of what hangs on the sections no end repeat and no ending, of the others no sign that
/// directs the road. Where a board lacks both at once, or another sign than the one laid lacks something, it is not asked.
fn no_partner_helps(
    board: &Board,
    before: &[Finding],
    marking: &Marking,
    lacks: &BTreeSet<&str>,
    what: &str,
) {
    let structural = |rule: &&str| is_structural(rule);
    let (all, any) = (lacks.iter().all(structural), lacks.iter().any(structural));
    if any && !all {
        return;
    }
    let helper = |sign: &Sign| match sign {
        Sign::EndRepeat(end) => all && end.plays.is_none(),
        Sign::Ending(_) => all,
        // A bare jump calls Fine and To Coda by its reading alone: it is not proposed for them.
        Sign::DaCapo(jump) | Sign::DalSegno(jump) => {
            let by_reading = lacks.contains("to-coda-unused") || lacks.contains("fine-unused");
            !all && jump.al != Some(Al::End) && (jump.al.is_some() || !by_reading)
        }
        Sign::StartRepeat | Sign::DoubleBar(_) => false,
        _ => !all,
    };
    // An ending helps as a neighbour of others. One that stands apart can only make other measures a section by chance: not looked for.
    // Nor is it where repeats cross already, so that one bracket seems closed by another's end repeat.
    let crossed = before.iter().any(|it| it.rule == "start-repeat-in-ending");
    let is_ending = |it: &&Marking| matches!(it.sign(), Sign::Ending(_));
    let endings = board.markings().iter().chain([marking]).filter(is_ending);
    let endings: Vec<Place> = endings.map(Marking::place).collect();
    let apart = |sign: &Sign, place: Place| {
        let near = |it: &Place| place.first() <= it.last() + 1 && it.first() <= place.last() + 1;
        matches!(sign, Sign::Ending(_)) && (crossed || !endings.iter().any(near))
    };
    for sign in box_of_signs().into_iter().filter(helper) {
        for place in places_of(board, &sign) {
            if apart(&sign, place) {
                continue;
            }
            let partner = Marking::new(sign.clone(), place);
            let both = with(board, &[marking.clone(), partner]);
            let left = fresh(before, found(&both));
            assert!(!left.is_empty(), "{what}: {sign:?} at {place:?} helps");
        }
    }
}

/// The places of the partners of one way are all those that there are.
fn partners_hold(
    board: &Board,
    before: &[Finding],
    marking: &Marking,
    way: &[Partner],
    what: &str,
) {
    let all: Vec<Vec<Place>> = way
        .iter()
        .map(|partner| places_of(board, &partner.card.sign))
        .collect();
    let mut possible: Vec<BTreeSet<(u16, u16)>> = vec![BTreeSet::new(); way.len()];
    let mut is_whole = false;
    let mut at = vec![0; way.len()];
    loop {
        let mut added = vec![marking.clone()];
        for ((partner, places), &at) in way.iter().zip(&all).zip(&at) {
            added.push(Marking::new(partner.card.sign.clone(), places[at]));
        }
        let left = fresh(before, found(&with(board, &added)));
        is_whole |= left.is_empty();
        let counts = if way.len() == 1 {
            left.is_empty()
        } else {
            left.iter().all(|it| WALKED.contains(&it.rule))
        };
        if counts {
            for (possible, marking) in possible.iter_mut().zip(&added[1..]) {
                possible.insert((marking.place().first(), marking.place().last()));
            }
        }
        let mut turned = false;
        for (at, places) in at.iter_mut().zip(&all) {
            *at += 1;
            if *at < places.len() {
                turned = true;
                break;
            }
            *at = 0;
        }
        if !turned {
            break;
        }
    }
    assert!(is_whole, "{what}: no arrangement is in order");
    let lacks = fresh(before, found(&with(board, std::slice::from_ref(marking))));
    if way.len() == 1 && lacks.iter().any(|it| is_structural(it.rule)) {
        // Where a repeat or an ending can be laid so that all is played that was, other places are left out.
        let never_before = never_played(board).unwrap_or_default();
        let leaves_none_out = |&(first, last): &(u16, u16)| {
            let sign = &way[0].card.sign;
            let place = if sign.spans() {
                Place::over(first, last)
            } else {
                Place::at(first)
            };
            let partner = Marking::new(sign.clone(), place);
            let never = never_played(&with(board, &[marking.clone(), partner]));
            never.is_none_or(|never| never.is_subset(&never_before))
        };
        let best: BTreeSet<(u16, u16)> = possible[0]
            .iter()
            .copied()
            .filter(leaves_none_out)
            .collect();
        if !best.is_empty() {
            possible[0] = best;
        }
    }
    for (partner, possible) in way.iter().zip(possible) {
        let listed: BTreeSet<(u16, u16)> = partner
            .places
            .iter()
            .map(|place| (place.first(), place.last()))
            .collect();
        if partner.card.sign.spans() {
            // An ending is looked for beside other endings alone.
            assert!(listed.is_subset(&possible), "{what}");
        } else {
            assert_eq!(listed, possible, "{what}: {:?}", partner.card);
        }
    }
}

fn every_place_holds(board: &Board, sign: &Sign) {
    let places = places(board, sign).expect("a small board");
    let before = found(board);
    let all = places_of(board, sign);
    assert_eq!(
        places
            .verdicts()
            .iter()
            .map(|it| it.place)
            .collect::<Vec<_>>(),
        all
    );
    for it in places.verdicts() {
        holds(board, &before, sign, it.place, &it.verdict);
        told(&places, &before, it.place, &it.verdict);
    }
}

/// What is said of a place goes with its verdict.
fn told(places: &Places<'_>, before: &[Finding], place: Place, verdict: &Verdict) {
    let line = places.board().to_line();
    let (said, what) = (places.findings(place), format!("{place:?} on {line}"));
    let rules: BTreeSet<&str> = said.iter().map(|it| it.rule).collect();
    let own = places.board().markings().len();
    match verdict {
        Verdict::NotLegal { rules: broken } => {
            let broken: BTreeSet<&str> = broken.iter().copied().collect();
            assert!(broken.is_subset(&rules), "{what}: {broken:?}, {rules:?}");
        }
        Verdict::NeedsPartner(_) => {
            let with = places.board_with(place).expect("a place of the board");
            let fresh = fresh(before, found(&with));
            let fresh: BTreeSet<&str> = fresh.iter().map(|it| it.rule).collect();
            assert_eq!(rules, fresh, "{what}");
        }
        Verdict::Legal { .. } => {
            let mild = said.iter().all(|it| it.severity == Severity::Warning);
            assert!(mild, "{what}: {rules:?}");
        }
        Verdict::Idle => {
            let about = |it: &Finding| it.marking == Some(own) || it.related.contains(&own);
            assert!(said.len() < 2 && said.iter().all(about), "{what}: {said:?}");
        }
        other => panic!("{other:?} is new"),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: support::more_cases(CASES), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_verdict_is_what_trying_gives(board in in_the_making(), sign in any::<Index>()) {
        let signs = box_of_signs();
        every_place_holds(&board, sign.get(&signs));
    }

    #[test]
    fn a_mark_that_sounds_is_idle_where_it_is_not_heard(board in any_laid_board(), sign in select(marks_that_sound())) {
        every_place_holds(&board, &sign);
    }
}

/// Boards that chance laid before (common practice, no source): a sign that leaves an older one without its partner is no error for that.
#[test]
fn a_place_is_refused_for_errors_that_stay_and_not_for_older_signs_that_are_in_vain() {
    let verdict = |line: &str, sign: &str, measure: u16| {
        let board: Board = line.parse().expect("a board");
        let sign = Sign::from_line(sign).expect("a sign");
        let places = places(&board, &sign).expect("a small board");
        let at = places.verdicts().iter();
        let mut at = at.filter(|it| it.place == Place::at(measure));
        at.next().expect("the measure").verdict.clone()
    };
    // The D.C. takes the place of the D.S. that the segno would need, and no place from the Fine that is missing.
    let fine = verdict("segno 1 D.C. al Fine | 2 |]", "D.C.", 2);
    assert!(
        matches!(fine, Verdict::Legal { route: false, .. }),
        "{fine:?}"
    );
    let to_coda = verdict("segno 1 | coda 2 D.C. al Coda |]", "D.C.", 1);
    assert!(
        matches!(to_coda, Verdict::Legal { route: false, .. }),
        "{to_coda:?}"
    );
    // A coda at the first measure has no room for a To Coda before it, whatever other coda there is.
    let coda = verdict("1 | 2 D.C. al Coda | 3 | coda 4 |]", "coda:A", 1);
    let rules = vec!["to-coda-missing"];
    assert_eq!(coda, Verdict::NotLegal { rules });
}

/// Every verdict, by trying, on boards whose signs lean on each other and on which chance seldom hits.
#[test]
fn boards_that_chance_seldom_lays() {
    for (line, signs) in [
        (
            "|: 1 | [1. 2 :| 3 | 4 | 5 |]",
            &["[2.", "[3.", ":|", "|:"][..],
        ),
        ("|: 1 | 2 :| [3. 3 ] | 4 |]", &["[1.", "[2.", "[1,2."]),
        ("1 | [2. 2 ] | 3 |]", &[":|", "[1.", "|:", "D.C."]),
        ("|: 1 | 2 |: 3 | 4 |]", &[":|", "[1.", "[2."]),
        (
            "|: 1 | segno 2 | 3 :| 4 D.S. | 5 |]",
            &["[1.", "[2.", "coda", "To Coda"],
        ),
        (
            "|: 1 | [1. 2 :| [2. 3 ] | 4 D.S. | coda 5 |]",
            &["segno", "coda", "To Coda", "D.C. al Coda"],
        ),
        (
            "1 | 2 | 3 D.C.(al Fine, then Coda) | 4 |]",
            &["Fine", "coda", "coda:B"],
        ),
        (
            "1 To Coda | 2 | 3 | 4 |]",
            &["coda", "D.C. al Coda", "D.S. al Coda", ":|"],
        ),
        ("1 To Coda:A | 2 D.C. al Coda | 3 |]", &["coda", "coda:A"]),
        (
            "1 | segno 2 | 3 | coda 4 |]",
            &[
                "D.S. al Coda",
                "D.C. al Segno",
                "To Coda",
                "D.S.(arrivals 1)",
            ],
        ),
        (
            "|: 1 | 2 D.C.(passes 2) | 3 :| 4 |]",
            &["D.C.", "D.C.(passes 1)", "D.S."],
        ),
    ] {
        let board: Board = line
            .parse()
            .unwrap_or_else(|error| panic!("{line}: {error}"));
        for sign in signs
            .iter()
            .map(|sign| Sign::from_line(sign).unwrap())
            .chain(box_of_signs())
        {
            every_place_holds(&board, &sign);
        }
    }
}
