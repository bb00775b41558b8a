//! What the rules of warning and advice find, held against a walk over every step; and what they promise: that they change no route, and
//! that a sign called idle can be taken away.

mod support;

use std::collections::BTreeSet;

use fingerpost::{
    Al, Board, Category, Cause, Fermata, Finding, Held, Marking, Octave, Octaves, Only, Refusal,
    Roadmap, Severity, Sign, Step, Terms, When, check, compare, rules,
};
use proptest::prelude::*;
use support::boards::{any_laid_board, any_short_board};

/// Routes longer than this are not walked here.
const LONGEST: u64 = 3_000;

fn terms() -> Terms {
    Terms {
        open_plays: Some(2),
        ..Terms::default()
    }
}

/// The steps of a board, when it has a route that is not too long.
fn steps(board: &Board) -> Option<Vec<Step>> {
    let roadmap = Roadmap::new(board, &terms()).ok()?;
    (roadmap.length() <= LONGEST).then(|| roadmap.steps().collect())
}

fn without(board: &Board, marking: usize) -> Board {
    let others = board.markings().iter().enumerate();
    let others = others.filter(|&(index, _)| index != marking);
    board
        .to_builder()
        .without_markings()
        .markings(others.map(|(_, marking)| marking.clone()))
        .build()
        .expect("one sign fewer")
}

/// What is heard at a step: octaves only of hands that play.
fn heard(step: &Step) -> (u16, Octaves, Held, Held) {
    let right = matches!(step.hands, Held::Both | Held::Right);
    let left = matches!(step.hands, Held::Both | Held::Left);
    let octave = Octaves {
        right: if right { step.octave.right } else { 0 },
        left: if left { step.octave.left } else { 0 },
    };
    (step.measure, octave, step.hold, step.hands)
}

/// The findings of one rule.
fn of<'a>(findings: &'a [Finding], rule: &'a str) -> impl Iterator<Item = &'a Finding> {
    findings.iter().filter(move |finding| finding.rule == rule)
}

fn marks(findings: &[Finding], named: &[&str]) -> BTreeSet<usize> {
    let asked = findings
        .iter()
        .filter(|finding| named.contains(&finding.rule));
    asked.filter_map(|finding| finding.marking).collect()
}

fn category(finding: &Finding) -> Category {
    let rule = rules().find(|rule| rule.name == finding.rule);
    rule.expect("a rule of the catalogue").category
}

/// The numbers in a message.
fn numbers(message: &str) -> Vec<u16> {
    let words = message.split(|c: char| !c.is_ascii_digit());
    words.filter_map(|word| word.parse().ok()).collect()
}

fn measures_never_played(board: &Board, findings: &[Finding], steps: &[Step]) {
    let played: BTreeSet<u16> = steps.iter().map(|step| step.measure).collect();
    let mut told = BTreeSet::new();
    for finding in of(findings, "measure-never-played") {
        let numbers = numbers(&finding.message);
        let (from, to) = (numbers[0], *numbers.last().unwrap());
        assert_eq!(finding.measure, Some(from));
        told.extend(from..=to);
        for &index in &finding.related {
            let place = board.markings()[index].place();
            assert!(from <= place.first() && place.last() <= to);
        }
    }
    assert!(told.is_disjoint(&played), "{}", board.to_line());
    let why = [
        "ending-without-repeat",
        "lone-ending-misnumbered",
        "pass-never-reached",
    ];
    for finding in findings.iter().filter(|f| why.contains(&f.rule)) {
        for &index in finding.marking.iter().chain(&finding.related) {
            let place = board.markings()[index].place();
            told.extend(place.first()..=place.last());
        }
    }
    let never = (1..=board.measures()).filter(|measure| !played.contains(measure));
    for measure in never {
        assert!(told.contains(&measure), "{measure} of {}", board.to_line());
    }
}

/// A jump, To Coda or end repeat that moves the road is the marking of a step, unless nothing is played after it.
fn marks_that_move(board: &Board, findings: &[Finding], steps: &[Step]) {
    let line = board.to_line();
    let moving: BTreeSet<usize> = steps
        .iter()
        .filter_map(|step| step.marking)
        .map(|marking| marking as usize)
        .collect();
    let last = steps.last().expect("a route").measure;
    let never = marks(
        findings,
        &[
            "jump-never-obeyed",
            "to-coda-never-met",
            "end-repeat-never-made",
        ],
    );
    assert!(never.is_disjoint(&moving), "{line}");
    let idle = [
        "same-sign-twice",
        "end-repeat-in-last-ending",
        "plays-once",
        "to-coda-unused",
    ];
    let idle = marks(findings, &idle);
    // Where the jump that would arm it is never obeyed, nothing is said of the To Coda.
    let obeyed = |(index, marking): (usize, &Marking)| match marking.sign() {
        Sign::DaCapo(_) | Sign::DalSegno(_) => moving.contains(&index),
        _ => true,
    };
    let no_return = !board.markings().iter().enumerate().all(obeyed);
    // A D.C. al Segno may leave before anything is played after an end repeat.
    let al_segno = board.markings().iter().any(|marking| match marking.sign() {
        Sign::DaCapo(jump) => jump.al == Some(Al::Segno),
        _ => false,
    });
    let twin = |index: usize| {
        let marking = &board.markings()[index];
        let earlier = board.markings()[..index].iter();
        earlier
            .filter(|other| other.measure() == marking.measure())
            .any(|other| other.sign().kind() == marking.sign().kind())
    };
    for (index, marking) in board.markings().iter().enumerate() {
        let moves = match marking.sign() {
            Sign::DaCapo(_) | Sign::DalSegno(_) | Sign::EndRepeat(_) => true,
            Sign::ToCoda(_) => !no_return,
            _ => false,
        };
        let played = steps.iter().any(|step| step.measure == marking.measure());
        if moves && played && marking.measure() != last && !idle.contains(&index) && !twin(index) {
            let silent = !never.contains(&index) && !moving.contains(&index);
            assert!(!silent || al_segno, "{index} of {line}");
        }
    }
}

/// Signs of which it is said that nothing calls them or comes to them: without them the route is the same, unless something misses them.
fn signs_in_vain(board: &Board, findings: &[Finding], steps: &[Step]) {
    let named = [
        "fine-never-met",
        "fine-unused",
        "to-coda-unused",
        "segno-unused",
        "coda-unused",
        "start-repeat-unclosed",
    ];
    for finding in findings.iter().filter(|f| named.contains(&f.rule)) {
        let without = without(board, finding.marking.expect("a sign"));
        let before: Vec<_> = steps.iter().map(heard).collect();
        if let Ok(roadmap) = Roadmap::new(&without, &terms()) {
            let after: Vec<_> = roadmap.steps().map(|step| heard(&step)).collect();
            assert_eq!(after, before, "{} of {}", finding.rule, board.to_line());
        }
    }
}

fn landings(board: &Board, findings: &[Finding], steps: &[Step]) {
    let line = board.to_line();
    for (index, marking) in board.markings().iter().enumerate() {
        let at = |cause: Cause| {
            let here = steps
                .iter()
                .filter(|step| step.measure == marking.measure());
            here.filter(move |step| step.cause == cause)
        };
        let is_to_coda = |step: &&Step| {
            matches!(
                board.markings()[step.marking.unwrap() as usize].sign(),
                Sign::ToCoda(_)
            )
        };
        if let Sign::Coda(_) = marking.sign() {
            let landed = at(Cause::ToCoda)
                .next()
                .is_some_and(|step| is_to_coda(&step));
            let run_into = at(Cause::On).chain(at(Cause::PastEnding)).next().is_some();
            let told = marks(findings, &["coda-run-into"]).contains(&index);
            let twin = marks(findings, &["same-sign-twice"]).contains(&index);
            // An end repeat that leads past an ending at once may lead into the coda: then it is the cause.
            let repeated = at(Cause::Repeat).next().is_some();
            assert!(twin || !told || landed && (run_into || repeated), "{line}");
            assert!(twin || told || !(landed && run_into), "{line}");
        }
    }
    for index in marks(findings, &["landing-in-ending"]) {
        let measure = board.markings()[index].measure();
        let lands = |step: &&Step| matches!(step.cause, Cause::DalSegno | Cause::ToCoda);
        assert!(
            steps
                .iter()
                .filter(lands)
                .any(|step| step.measure == measure)
        );
    }
}

/// A mark that changes no order is called idle when, and only when, nothing is heard of it.
fn marks_that_sound(board: &Board, findings: &[Finding], steps: &[Step]) {
    let idle = marks(
        findings,
        &[
            "octave-never-sounds",
            "octave-over-silent-hands",
            "fermata-never-held",
            "only-without-effect",
            "same-sign-twice",
        ],
    );
    for (index, marking) in board.markings().iter().enumerate() {
        let place = marking.place();
        let sounding = matches!(
            marking.sign(),
            Sign::Octave(_) | Sign::Fermata(_) | Sign::Only(_)
        );
        let under = |step: &Step| (place.first()..=place.last()).contains(&step.measure);
        if !sounding || !steps.iter().any(under) {
            continue;
        }
        let alone = board
            .markings()
            .iter()
            .filter(|other| sounds(other) && meets(other, marking));
        if alone.count() > 1 {
            // Two marks over one measure can hide each other.
            continue;
        }
        let others: Vec<_> = steps_of(&without(board, index)).iter().map(heard).collect();
        let changes = others != steps.iter().map(heard).collect::<Vec<_>>();
        let never = marks(findings, &["hand-never-plays"]).contains(&index);
        let what = format!("{index} of {}", board.to_line());
        assert!(!changes || !idle.contains(&index), "{what}");
        // Where a pass may end before its section does, it is not known exactly which measures are played on it.
        let (Sign::Octave(Octave { when, .. })
        | Sign::Fermata(Fermata { when, .. })
        | Sign::Only(Only { when, .. })) = marking.sign()
        else {
            continue;
        };
        let by_number = matches!(when, When::LastPass | When::Passes(_));
        assert!(
            changes || idle.contains(&index) || by_number && leaves_early(board),
            "{what}"
        );
        if never {
            let silent = |step: &Step| step.hands != Held::Both;
            assert!(steps.iter().filter(|step| under(step)).all(silent));
        }
    }
}

/// Whether a pass may leave its section before all its measures are played.
fn leaves_early(board: &Board) -> bool {
    let ends = board.markings().iter();
    let ends = ends.filter(|marking| matches!(marking.sign(), Sign::EndRepeat(_)));
    ends.count() > 1
        || board.markings().iter().any(|marking| match marking.sign() {
            Sign::DaCapo(_) | Sign::DalSegno(_) | Sign::ToCoda(_) => true,
            Sign::Fine(fine) => fine.arrivals.is_some(),
            _ => false,
        })
}

fn sounds(marking: &Marking) -> bool {
    matches!(
        marking.sign(),
        Sign::Octave(_) | Sign::Fermata(_) | Sign::Only(_)
    )
}

fn meets(one: &Marking, other: &Marking) -> bool {
    let (one, other) = (one.place(), other.place());
    one.first() <= other.last() && other.first() <= one.last()
}

fn steps_of(board: &Board) -> Vec<Step> {
    steps(board).expect("still in order")
}

fn octaves_together(board: &Board, findings: &[Finding], steps: &[Step]) {
    let line = board.to_line();
    let beyond = |step: &Step| step.octave.right.abs().max(step.octave.left.abs()) > 2;
    let told = of(findings, "octaves-too-far").next().is_some();
    let is_so = steps.iter().any(beyond);
    // As in `marks_that_sound`.
    let by_number = |marking: &Marking| match marking.sign() {
        Sign::Octave(octave) => matches!(octave.when, When::LastPass | When::Passes(_)),
        _ => false,
    };
    let exact = !leaves_early(board) || !board.markings().iter().any(by_number);
    assert!(told || !is_so, "{line}");
    assert!(!told || is_so || !exact, "{line}");
}

fn clarity(board: &Board, findings: &[Finding]) {
    let named = [
        "not-settled",
        "implied-start-in-doubt",
        "jump-in-section",
        "nested-sections",
    ];
    let doubts = findings.iter().any(|finding| named.contains(&finding.rule));
    let comparison = compare(board, &terms()).expect("in order");
    assert!(doubts || comparison.settled(), "{}", board.to_line());
    if of(findings, "not-settled").next().is_some() {
        assert!(!comparison.settled(), "{}", board.to_line());
    }
}

/// Taking away the marking of a finding of the category `idle`, or a start repeat that opens nothing.
fn idle_signs_taken_away(board: &Board, findings: &[Finding], steps: &[Step]) {
    let heard_before: Vec<_> = steps.iter().map(heard).collect();
    let idle = findings.iter().filter(|finding| {
        category(finding) == Category::Idle || finding.rule == "start-repeat-unclosed"
    });
    for finding in idle {
        let marking = finding.marking.expect("an idle sign");
        let after: Vec<_> = steps_of(&without(board, marking))
            .iter()
            .map(heard)
            .collect();
        let what = format!("{} {marking} of {}", finding.rule, board.to_line());
        assert_eq!(after, heard_before, "{what}");
    }
}

/// Whatever is found beside the errors, the route is that of the board.
fn only_errors_refuse(board: &Board, findings: &[Finding]) {
    let errors: Vec<&Finding> = findings
        .iter()
        .filter(|finding| finding.severity == Severity::Error)
        .collect();
    match Roadmap::new(board, &terms()) {
        Err(Refusal::Errors(refused)) => assert_eq!(refused.iter().collect::<Vec<_>>(), errors),
        Ok(_) => assert_eq!(errors, [] as [&Finding; 0]),
        Err(other) => panic!("plays were given: {other}"),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: support::more_cases(20_000), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_found_is_what_a_walk_over_every_step_finds(board in any_laid_board()) {
        let findings = check(&board);
        only_errors_refuse(&board, &findings);
        // A single ending for pass 2 over the whole board leaves nothing to play.
        if let Some(steps) = steps(&board).filter(|steps| !steps.is_empty()) {
            measures_never_played(&board, &findings, &steps);
            marks_that_move(&board, &findings, &steps);
            signs_in_vain(&board, &findings, &steps);
            landings(&board, &findings, &steps);
            marks_that_sound(&board, &findings, &steps);
            octaves_together(&board, &findings, &steps);
            idle_signs_taken_away(&board, &findings, &steps);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: support::cases(2_000), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_board_of_which_nothing_is_said_is_settled(board in any_laid_board()) {
        if steps(&board).is_some() {
            clarity(&board, &check(&board));
        }
    }

    #[test]
    fn any_board_is_checked_to_its_end_and_the_same_each_time(board in any_short_board()) {
        let findings = check(&board);
        assert_eq!(findings, check(&board));
        let places: Vec<_> = findings.iter().map(|f| (f.measure, f.marking)).collect();
        assert!(places.is_sorted());
        only_errors_refuse(&board, &findings);
    }
}
