//! Fixes: each one offered cures its finding and adds no error, a safe one changes nothing that is played, and every title is short and
//! plain.

mod support;
#[path = "support/trials/mod.rs"]
mod trials;
#[path = "support/walker/mod.rs"]
mod walker;

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

use fingerpost::{
    Board, CheckOptions, Edit, Finding, Fix, FixKind, Held, LONGEST_TITLE_OF_FIX, MOST_OFFERED,
    Marking, Phrasebook, Reading, Severity, Terms, check, fixes, fixes_of_all, rules, safe_fix,
    safe_fixes,
};
use proptest::collection::vec;
use proptest::prelude::*;
use support::approved::approved;
use support::boards::{any_laid_board, any_short_board};
use support::pages::page_of;
use support::words::{vocabulary, words, words_of_fixes};
use trials::{portrait, small};
use walker::{Outcome, PlainStep, Walker};

/// The rules that propose nothing.
const WITHOUT_CURE: [&str; 1] = ["ending-over-system-break"];
/// Routes are compared so far.
const LIMIT: u64 = 2_000;

fn board(line: &str) -> Board {
    line.parse()
        .unwrap_or_else(|error| panic!("{line}: {error}"))
}

/// The same board with a name of its own for every marking, so that a finding is known again after an edit.
fn named(board: &Board) -> Board {
    let markings = board.markings().iter().enumerate();
    let named = markings.map(|(index, marking)| {
        Marking::new(marking.sign().clone(), marking.place()).with_id(format!("m{index}"))
    });
    let named: Vec<Marking> = named.collect();
    let builder = board.to_builder().without_markings().markings(named);
    builder.build().expect("the same signs at the same places")
}

/// What a finding is about, whatever the indices are.
fn about(board: &Board, finding: &Finding) -> (&'static str, String) {
    let spot = match finding.marking {
        Some(index) => board.markings()[index].id().unwrap_or("new").to_owned(),
        None => format!("{:?} {:?}", finding.measure, finding.question),
    };
    (finding.rule, spot)
}

fn counted(board: &Board, findings: &[Finding]) -> BTreeMap<(&'static str, String), usize> {
    let mut counts = BTreeMap::new();
    for finding in findings {
        *counts.entry(about(board, finding)).or_insert(0) += 1;
    }
    counts
}

/// Holds a fix to its promise: its finding is gone, and there is no error that was not there before.
fn cures(before: &Board, findings: &[Finding], finding: &Finding, fix: &Fix) {
    let edited = fix.apply(before).expect("a fix of this board");
    let left = check(&edited);
    let what = || {
        let title = Phrasebook::default().title(before, fix);
        let (before, edited) = (portrait(before), portrait(&edited));
        format!("{}: {title}\n{before}\n{edited}", finding.rule)
    };
    let of_rule = |list: &[Finding]| list.iter().filter(|it| it.rule == finding.rule).count();
    assert!(of_rule(&left) < of_rule(findings), "{}", what());
    let (was, is) = (counted(before, findings), counted(&edited, &left));
    let key = about(before, finding);
    let stands = finding.marking.is_none_or(|index| {
        edited
            .markings()
            .iter()
            .any(|it| it.id() == before.markings()[index].id())
    });
    if stands {
        assert!(is.get(&key).copied().unwrap_or(0) < was[&key], "{}", what());
    }
    for error in left.iter().filter(|it| it.severity == Severity::Error) {
        let key = about(&edited, error);
        let known = was.get(&key).copied().unwrap_or(0);
        assert!(is[&key] <= known, "{key:?} is new\n{}", what());
    }
}

/// What is heard at a step.
fn heard(step: &PlainStep) -> impl PartialEq + std::fmt::Debug + use<> {
    let right = matches!(step.hands, Held::Both | Held::Right);
    let left = matches!(step.hands, Held::Both | Held::Left);
    (
        (step.measure, step.part, step.pass),
        if right { step.octave_right } else { 0 },
        if left { step.octave_left } else { 0 },
        (step.hold, step.hands),
    )
}

/// Holds a safe fix to its promise, by the second walker: on all terms on which the board had a route it has the same route now.
fn keeps(before: &Board, fix: &Fix, readings: &[Reading]) {
    let edited = fix.apply(before).unwrap();
    let (old, new) = (Walker::new(before, LIMIT), Walker::new(&edited, LIMIT));
    for &reading in readings {
        for (open_plays, omit_repeats) in [(Some(2), false), (Some(3), false), (Some(2), true)] {
            let terms = Terms {
                reading,
                omit_repeats,
                open_plays,
            };
            let Outcome::Steps(was) = old.walk(&terms) else {
                continue;
            };
            let what = || {
                let title = Phrasebook::default().title(before, fix);
                format!(
                    "{title}\n{terms:?}\n{}\n{}",
                    portrait(before),
                    portrait(&edited)
                )
            };
            let Outcome::Steps(is) = new.walk(&terms) else {
                panic!("no route any more: {}", what());
            };
            let (was, is): (Vec<_>, Vec<_>) = (
                was.iter().map(heard).collect(),
                is.iter().map(heard).collect(),
            );
            assert!(was == is, "{}", what());
        }
    }
}

fn try_all(board: &Board) {
    let board = named(board);
    let findings = check(&board);
    let all: Vec<Reading> = Reading::all().collect();
    for finding in &findings {
        let offered = fixes(&board, finding);
        assert!(offered.len() <= MOST_OFFERED);
        assert!(offered.is_sorted_by_key(|fix| fix.kind));
        for fix in &offered {
            cures(&board, &findings, finding, fix);
            if fix.kind == FixKind::Safe {
                keeps(&board, fix, &all);
            }
        }
    }
}

fn any_small_board() -> impl Strategy<Value = Board> {
    let letters = small::alphabet(small::MOST_MEASURES);
    let most = letters.len();
    vec(0..most, 1..=6).prop_map(move |chosen| {
        let chosen = chosen.into_iter().map(|at| &letters[at]);
        small::board(small::MOST_MEASURES, chosen)
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: support::cases(1_500), ..ProptestConfig::default() })]

    #[test]
    fn every_fix_of_a_small_board_holds(board in any_small_board()) {
        try_all(&board);
    }

    #[test]
    fn every_fix_of_a_laid_board_holds(board in any_laid_board()) {
        try_all(&board);
    }

    #[test]
    fn every_fix_of_any_board_holds(board in any_short_board()) {
        try_all(&board);
    }

    #[test]
    fn a_title_is_short(board in any_short_board()) {
        for finding in check(&board) {
            for fix in fixes(&board, &finding) {
                let title = Phrasebook::default().title(&board, &fix);
                prop_assert!(title.chars().count() <= LONGEST_TITLE_OF_FIX, "{}", title);
                prop_assert!(!title.chars().any(|c| c < ' '), "{}", title);
            }
        }
    }

    #[test]
    fn all_findings_together_have_the_fixes_that_each_has_alone(board in any_laid_board()) {
        let findings = check(&board);
        let all = fixes_of_all(&board, &findings, &CheckOptions::default());
        let each: Vec<Vec<Fix>> = findings.iter().map(|it| fixes(&board, it)).collect();
        prop_assert_eq!(&all, &each);
        let safe = all.iter().filter_map(|fixes| fixes.first());
        let safe = safe.filter(|fix| fix.kind == FixKind::Safe);
        prop_assert_eq!(safe_fix(&board, &findings), safe.into_iter().next().cloned());
    }

    /// Each safe fix leaves fewer findings, so that they come to an end.
    #[test]
    fn safe_fixes_come_to_an_end(board in any_small_board()) {
        let mut board = board;
        let mut left = usize::MAX;
        while let Some(fix) = safe_fix(&board, &check(&board)) {
            board = fix.apply(&board).unwrap();
            let now = unsettled(&board).len();
            prop_assert!(now < left);
            left = now;
        }
    }

    #[test]
    fn safe_fixes_of_a_small_board_are_safe_together(board in any_small_board()) {
        made_together(&board);
    }

    #[test]
    fn safe_fixes_of_a_laid_board_are_safe_together(board in any_laid_board()) {
        made_together(&board);
    }

    #[test]
    fn safe_fixes_of_any_board_are_safe_together(board in any_short_board()) {
        made_together(&board);
    }
}

/// The findings of a board, without those about what is settled.
fn unsettled(board: &Board) -> Vec<Finding> {
    let findings = check(board).into_iter();
    findings.filter(|it| it.rule != "not-settled").collect()
}

/// Makes all safe fixes of a board: each round cures as many findings as it makes fixes, changes nothing that is played, and takes no sign
/// away that may wait for its partner; in the end none is left.
fn made_together(board: &Board) {
    let all: Vec<Reading> = Reading::all().collect();
    let mut board = named(board);
    loop {
        let findings = unsettled(&board);
        let safe = safe_fixes(&board);
        assert!(!safe.broken_off);
        if safe.fixes.is_empty() {
            let one = safe_fix(&board, &check(&board));
            assert_eq!(one, None, "{}", portrait(&board));
            return;
        }
        let edits: Vec<Edit> = safe.fixes.iter().flat_map(|it| it.edits.clone()).collect();
        let mut fix = safe.fixes[0].clone();
        fix.edits = edits;
        keeps(&board, &fix, &all);
        let edited = fix.apply(&board).unwrap();
        let left = unsettled(&edited);
        assert!(left.len() + safe.fixes.len() <= findings.len());
        let errors = |list: &[Finding]| {
            let errors = list.iter().filter(|it| it.severity == Severity::Error);
            errors.count()
        };
        assert!(errors(&left) <= errors(&findings), "{}", portrait(&board));
        board = edited;
    }
}

// The rules.

#[test]
fn every_rule_cures_the_boards_of_its_page() {
    let mut without = BTreeSet::new();
    for rule in rules() {
        for line in page_of(rule.name).boards("Wrong") {
            if support::is_quick() && support::takes_long(line) {
                continue;
            }
            let board = board(line);
            let finding = check(&board).swap_remove(0);
            if fixes(&board, &finding).is_empty() {
                without.insert(rule.name);
            }
            try_all(&board);
        }
    }
    assert_eq!(without, BTreeSet::from(WITHOUT_CURE));
}

#[test]
fn the_fixes_of_the_pages_are_these() {
    let mut text = String::new();
    for rule in rules() {
        let _ = writeln!(text, "{}", rule.name);
        for line in page_of(rule.name).boards("Wrong") {
            if support::is_quick() && support::takes_long(line) {
                continue;
            }
            let board = board(line);
            let _ = writeln!(text, "  {line}");
            for fix in check(&board).iter().flat_map(|it| fixes(&board, it)) {
                let title = Phrasebook::default().title(&board, &fix);
                let edited = fix.apply(&board).unwrap().to_line();
                let kind = match fix.kind {
                    FixKind::Safe => "safe",
                    FixKind::Choice => "    ",
                };
                let _ = writeln!(text, "    {kind} {title}\n           {edited}");
            }
        }
    }
    // What is said of a board that was left out stands under its line, further in.
    let mut left_out = false;
    approved("fixes.txt", &text, |line| {
        if !line.starts_with("    ") {
            left_out = support::is_quick() && support::takes_long(line);
        }
        !left_out
    });
}

/// Whether a sign names a time that a board cannot have yet: the return without a D.C. or D.S., a repeat or a pass without an end repeat.
fn names_a_time_to_come(line: &str) -> bool {
    let returns = line.contains("D.C.") || line.contains("D.S.");
    line.contains("on return") && !returns
        || ["on repeat", "pass"].iter().any(|it| line.contains(it)) && !line.contains(":|")
}

/// Rules of the category `idle` promise that their sign can be taken away: that is their first fix, and it is safe, unless the sign waits for
/// a time to come, or may stay as custom goes.
#[test]
fn what_is_idle_is_taken_away_safely() {
    for rule in rules().filter(|rule| rule.category == fingerpost::Category::Idle) {
        for line in page_of(rule.name).boards("Wrong") {
            let board = board(line);
            let finding = check(&board).swap_remove(0);
            let fixes = fixes(&board, &finding);
            let may_stay = rule.name == "start-repeat-not-needed";
            let taken = if may_stay || names_a_time_to_come(line) {
                assert!(fixes.iter().all(|it| it.kind == FixKind::Choice), "{line}");
                fixes.last().unwrap()
            } else {
                assert_eq!(fixes[0].kind, FixKind::Safe, "{line}");
                &fixes[0]
            };
            let edited = taken.apply(&board).unwrap();
            assert_eq!(
                edited.markings().len(),
                board.markings().len() - 1,
                "{line}"
            );
        }
    }
}

/// What has no fixed length is compared as it sounds when it is played twice.
#[test]
fn a_fix_can_be_safe_where_a_section_is_played_until_a_signal() {
    let board = board("1 |: 2 :|(plays open) 8va(on repeat) 3 |");
    let findings = check(&board);
    let finding = findings.iter().find(|it| it.rule == "octave-never-sounds");
    let fixes = fixes(&board, finding.unwrap());
    assert_eq!(fixes[0].kind, FixKind::Safe);
    assert_eq!(
        fixes[0].apply(&board).unwrap(),
        self::board("1 |: 2 :|(plays open) 3 |")
    );
}

/// Where lone end repeats go back to the beginning, each holds all before it, and a start repeat changes what is played. Of eight of them that
/// route is beyond reckoning, which is no reason to think that it stays; forty of them stand in each other too deep, so that there is none.
#[test]
fn a_route_beyond_reckoning_is_not_kept() {
    for (repeats, plays, kind) in [
        (2, 1000, FixKind::Choice),
        (8, 1000, FixKind::Choice),
        (40, 2, FixKind::Safe),
    ] {
        let line = (1..=repeats).map(|it| format!("{it} :|x{plays}"));
        let line: Vec<String> = line.collect();
        let board = board(&line.join(" "));
        let findings = check(&board);
        let doubt = findings
            .iter()
            .find(|it| it.rule == "implied-start-in-doubt");
        assert_eq!(fixes(&board, doubt.unwrap())[0].kind, kind, "{repeats}");
        let safe = if kind == FixKind::Safe {
            repeats - 1
        } else {
            0
        };
        assert_eq!(safe_fixes(&board).fixes.len(), safe, "{repeats}");
    }
}

/// On a board with errors a fix is safe only where the signs can mean nothing else.
#[test]
fn the_only_meaning_is_restored() {
    let safe = |line: &str| {
        let board = board(line);
        let fixes: Vec<Fix> = check(&board)
            .iter()
            .flat_map(|it| fixes(&board, it))
            .collect();
        let safe = fixes.iter().filter(|fix| fix.kind == FixKind::Safe);
        safe.map(|fix| fix.apply(&board).unwrap().to_line())
            .collect::<Vec<_>>()
    };
    let restored = [
        // One segno and one D.S., whose labels do not meet.
        ("1 | segno:A 2 | 3 D.S. |", "1 | segno:A 2 | 3 D.S.:A |]"),
        ("1 | segno 2 | 3 D.S.:A |", "1 | segno 2 | 3 D.S. |]"),
        // One To Coda and one coda.
        (
            "1 To Coda:A | 2 D.C. al Coda | coda 3 |",
            "1 To Coda | 2 D.C. al Coda | coda 3 |]",
        ),
        // An ending that is not the last can only go back.
        ("1 |: 2 | [1. 3 | [2. 4 |", "1 |: 2 | [1. 3 :| [2. 4 |]"),
        // The same moment.
        (
            "{meter 4/4} 1 | 2 | 3 Fine(cut 0/1) | 4 D.C. al Fine |",
            "{meter 4/4} 1 | 2 Fine | 3 | 4 D.C. al Fine |]",
        ),
        (
            "{meter 4/4} 1 | segno(cut 1/1) 2 | 3 | 4 D.S. |",
            "{meter 4/4} 1 | 2 | segno 3 | 4 D.S. |]",
        ),
    ];
    for (line, right) in restored {
        assert_eq!(safe(line), [right], "{line}");
    }
    let in_doubt = [
        // Two segnos: either may be meant.
        "1 | segno:A 2 | segno:B 3 | 4 D.S. |",
        // The segno stands behind.
        "1 | 2 D.S. | segno:A 3 |",
        // The last ending may go on.
        "1 |: 2 | [2. 3 :| [1. 4 |",
        "1 | 2 D.S. |",
        "1 |: 2 | [1. 3 :| [3. 4 |",
    ];
    for line in in_doubt {
        assert_eq!(safe(line), [""; 0], "{line}");
    }
}

/// A teacher lays the signs one after the other: one that waits for its partner is never taken away unasked, and where the partner can be
/// added, that is offered first. (Common practice, no source.)
#[test]
fn a_sign_that_waits_for_its_partner_is_left_alone() {
    for line in [
        "1 | segno 2 | 3 |",
        "1 | 2 | coda 3 |",
        "1 | 2 To Coda | 3 | coda 4 |",
        "1 | 2 Fine | 3 |",
        "1 |: 2 | 3 |",
        "1 | [1. 2 ] | 3 |",
        "1 |: 2 | [1. 3 ] | 4 |",
        "1 | 2 Fine(arrivals 2) | 3 D.C. |",
        "1 |: 2 | [1. 3 D.C. :| [2. 4 |",
        "1 To Coda | 2 D.C. al Coda | coda 3 | coda:B 4 |",
        // The time at which it holds comes with a D.C., or with a repeat.
        "1 | 2 fermata(on return) | 3 |",
        "1 |: 2 8va(on return) :| 3 |",
        "1 | 2 8vb(on repeat) | 3 |",
        "1 | 2 fermata(pass 2) | 3 D.C. |",
        "1 | 2 only(R.H., pass 1) | 3 |",
        "1 | 2 only(L.H., last pass) | 3 |",
    ] {
        let board = board(line);
        assert_eq!(safe_fixes(&board).fixes, [], "{line}");
        for finding in check(&board) {
            let fixes = fixes(&board, &finding);
            assert!(
                fixes.iter().all(|fix| fix.kind == FixKind::Choice),
                "{line}"
            );
            let takes_away = |fix: &Fix| {
                let mut edits = fix.edits.iter();
                edits.all(|edit| matches!(edit, Edit::Remove(_)))
            };
            assert!(fixes.is_sorted_by_key(takes_away), "{line}");
        }
    }
}

/// Equal signs at one place are one sign: all but one can go, however they wait.
#[test]
fn of_equal_signs_one_stays() {
    let safe = safe_fixes(&board("1 | 2 Fine Fine Fine | segno segno 3 |"));
    assert_eq!(safe.fixes.len(), 3);
    let held = "fermata(on return)";
    let safe = safe_fixes(&board(&format!("1 | 2 {held} {held} | 3 |")));
    let edits: Vec<Edit> = safe.fixes.into_iter().flat_map(|it| it.edits).collect();
    assert_eq!(edits, [Edit::Remove(1)]);
}

#[test]
fn a_fix_of_another_board_is_refused() {
    let there = board("1 | segno segno 2 | 3 |");
    let fix = fixes(&there, &check(&there)[0]).swap_remove(0);
    assert!(fix.apply(&board("1 | 2 |")).is_err());
}

/// A writer may have meant either: the words that keep the route as it is read now come first.
#[test]
fn repeats_after_a_return_can_be_settled_both_ways() {
    let titles = |line: &str| -> Vec<String> {
        let board = board(line);
        let findings = check(&board);
        let finding = findings.iter().find(|it| it.rule == "not-settled");
        let fixes = fixes(&board, finding.unwrap());
        assert!(fixes.iter().all(|fix| fix.kind == FixKind::Choice));
        let title = |fix| Phrasebook::default().title(&board, fix);
        fixes.iter().map(title).collect()
    };
    let (senza, con) = ("Write senza rep. at", "Write con rep. at");
    let sign = "the D.C. after measure 3";
    assert_eq!(
        titles("1 |: 2 :| 3 D.C. |"),
        [format!("{senza} {sign}"), format!("{con} {sign}")]
    );
    // The 8va sounds with the repeats alone, so that `con rep.` leaves one finding less; it stands behind all the same.
    let sign = "the D.C. after measure 5";
    assert_eq!(
        titles("1 |: 2 | [1. 3 8va(on return) :| [2. 4 ] | 5 D.C. |"),
        [format!("{senza} {sign}"), format!("{con} {sign}")]
    );
}

// Titles.

#[test]
fn titles_are_plain() {
    let (known, own) = (vocabulary(), words_of_fixes());
    let mut used = BTreeSet::new();
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let laid = any_laid_board();
    let generated = (0..1_500).map(|_| {
        use proptest::strategy::ValueTree;
        laid.new_tree(&mut runner).unwrap().current()
    });
    let lines: Vec<Board> = rules()
        .flat_map(|rule| {
            let page = page_of(rule.name);
            page.boards("Wrong")
                .into_iter()
                .map(board)
                .collect::<Vec<_>>()
        })
        .collect();
    for board in lines.into_iter().chain(generated) {
        for fix in check(&board).iter().flat_map(|it| fixes(&board, it)) {
            let title = Phrasebook::default().title(&board, &fix);
            assert!(title.starts_with(char::is_uppercase), "{title}");
            assert!(
                !title.ends_with('.')
                    || ["D.C.", "D.S.", "rep."]
                        .iter()
                        .any(|it| title.ends_with(it)),
                "{title}"
            );
            assert!(!title.contains("  "), "{title}");
            for word in words(&title) {
                let plain = known.contains(&word) || own.contains(&word);
                assert!(plain, "`{word}` in `{title}`");
                used.insert(word);
            }
        }
    }
    let idle: Vec<&String> = own.difference(&used).collect();
    assert_eq!(idle, [""; 0], "words that no title uses");
}
