use super::*;
use crate::board::Board;
use crate::roadmap::Terms;

fn judged(line: &str, answer: &str) -> Judgement {
    let board: Board = line.parse().unwrap();
    let judge = Judge::new(&board, &Terms::default()).unwrap();
    judge.judge(&Answer::read(&board, answer).unwrap())
}

const ENDINGS: &str = "1 | 2 |: 3 | 4 | [1. 5 :| [2. 6 ] | 7 |";
const TO_FINE: &str = "1 | 2 | segno 3 | 4 Fine | 5 D.S. al Fine |";
const TO_CODA: &str = "1 | 2 | segno 3 To Coda | 4 | 5 D.S. al Coda | coda 6 | 7 |";

/// Worked out by hand from the pages of the misunderstandings: board, wrong answer, and what explains it. Common practice, no source.
const WORKED: &[(&str, &str, &[&str])] = &[
    (ENDINGS, "1-7", &["repeat-ignored"]),
    (ENDINGS, "1-5 3-5 3 4 6 7", &["repeat-once-too-often"]),
    (ENDINGS, "1-5 1-4 6 7", &["back-to-the-beginning"]),
    (ENDINGS, "1 2 1-5 3 4 6 7", &["start-repeat-goes-back"]),
    (ENDINGS, "1-5 3-5 7", &["first-ending-again"]),
    (ENDINGS, "1-4 6 7", &["second-ending-at-once"]),
    (ENDINGS, "1-5 3-7", &["endings-in-a-row"]),
    (TO_FINE, "1-5", &["jump-ignored", "stops-at-jump"]),
    (TO_FINE, "1-5 1-4", &["dal-segno-as-da-capo"]),
    (TO_FINE, "1-4", &["fine-on-the-first-leg"]),
    (TO_FINE, "1-5 3-5", &["fine-ignored"]),
    (TO_FINE, "1-5 4", &["landing-one-off"]),
    (
        "1 | 2 | segno 3 | 4 Fine | 5 D.C. al Fine | 6 D.S. |",
        "1-5 3 4",
        &["da-capo-as-dal-segno"],
    ),
    (TO_CODA, "1-5", &["stops-at-jump"]),
    (TO_CODA, "1-3 6 7", &["to-coda-on-the-first-leg"]),
    (TO_CODA, "1-5 3-7", &["to-coda-ignored"]),
    (TO_CODA, "1-7", &["jump-ignored", "straight-to-coda"]),
    (
        "|: 1 :| 2 | 3 D.C. senza rep. |",
        "1 1 2 3 1 1 2 3",
        &["repeats-after-jump"],
    ),
    (
        "|: 1 :| 2 | 3 D.C. con rep. |",
        "1 1 2 3 1 2 3",
        &["repeats-left-out"],
    ),
    ("1 | 2 D.C. |", "1 2 1 2 1 2 1", &["jump-for-ever"]),
    // The repeat is made, and then the sign at its barline is obeyed too soon.
    (
        "|: 1 | 2 | 3 | 4 Fine :| 5 | 6 | 7 | 8 D.C. al Fine |",
        "1-4 1-4",
        &["fine-on-the-first-leg"],
    ),
    (
        "|: 1 :: 2 Fine :| 3 D.C. al Fine |",
        "1 1 2 2",
        &["fine-on-the-first-leg"],
    ),
    (
        "|: 1 | 2 To Coda :|x3 3 D.C. al Coda | coda 4 |",
        "1 2 1 2 1 2 4",
        &["to-coda-on-the-first-leg"],
    ),
];

#[test]
fn worked_answers_are_explained() {
    for &(line, answer, ideas) in WORKED {
        let judgement = judged(line, answer);
        let mut wanted: Vec<Vec<Misunderstanding>> = ideas
            .iter()
            .map(|idea| vec![idea.parse().unwrap()])
            .collect();
        wanted.sort();
        let found: Vec<Vec<Misunderstanding>> = judgement
            .explanations
            .iter()
            .map(|explanation| explanation.ideas.clone())
            .collect();
        let mut sorted = found.clone();
        sorted.sort();
        assert_eq!(sorted, wanted, "{line} {answer} {judgement:?}");
        assert_eq!(judgement.verdict, AnswerVerdict::Wrong);
        assert!(judgement.explanations.iter().all(|it| it.fit == Fit::Whole));
    }
}

#[test]
fn octaves_are_judged_where_they_are_told() {
    let line = "|: 1 8va(on repeat) L.H. | 2 :| 3 |";
    let line = if line.parse::<Board>().is_ok() {
        line
    } else {
        "|: 8va(on repeat, L.H.) 1 | 2 :| 3 |"
    };
    let right = "1 2 1(8va L.H.) 2 3";
    assert_eq!(judged(line, right).verdict, AnswerVerdict::Right);
    for (answer, idea) in [
        (
            "1(8va L.H.) 2 1 2 3",
            Misunderstanding::OctaveAtTheWrongTime,
        ),
        ("1 2 1-3(8va L.H.)", Misunderstanding::OctaveNeverUndone),
        (
            "1 2 1(8va R.H.) 2 3",
            Misunderstanding::OctaveInTheWrongHand,
        ),
    ] {
        let judgement = judged(line, answer);
        assert_eq!(judgement.explanations[0].ideas, [idea], "{judgement:?}");
        let kind = judgement.difference.unwrap().kind;
        assert_eq!(kind, DifferenceKind::OtherOctave);
    }
    // An answer that says nothing of octaves is judged by its order.
    assert_eq!(judged(line, "1 2 1 2 3").verdict, AnswerVerdict::Right);
}

#[test]
fn an_octave_sign_played_every_time_is_played_at_the_wrong_time() {
    let line = "1 8vb(L.H., on repeat) | 2 :|";
    let judgement = judged(line, "1(8vb L.H.) 2 1(8vb L.H.) 2");
    let [only] = &judgement.explanations[..] else {
        panic!("{judgement:?}");
    };
    assert_eq!(only.ideas, [Misunderstanding::OctaveAtTheWrongTime]);
    assert_eq!(only.fit, Fit::Whole);
}

#[test]
fn a_road_that_ends_before_the_answer_does_explains_no_part_of_it() {
    // Who passes every end repeat by has ended after measure 2; this pupil went on.
    let line = "1 8vb(L.H., on repeat) | 2 :|";
    let judgement = judged(line, "1(8vb L.H.) 2 2(8va) 2(8va)");
    let [only] = &judgement.explanations[..] else {
        panic!("{judgement:?}");
    };
    assert_eq!(only.ideas, [Misunderstanding::OctaveAtTheWrongTime]);
    assert_eq!(only.fit, Fit::UpTo(2));
    // Where it explains more than all others it is better than nothing: this pupil left for the coda, and came back.
    let judgement = judged(
        "1 | 2 To Coda | 3 | 4 D.C. al Coda | coda 5 | 6 |",
        "1 2 5 6 3 4 1 2",
    );
    let ideas = &judgement.explanations[0].ideas;
    assert_eq!(*ideas, [Misunderstanding::ToCodaOnTheFirstLeg]);
}

#[test]
fn one_slip_is_plainer_than_a_partial_fit() {
    // Measure 3 is left out the first time; who takes the second ending at once goes along for two steps more.
    let line = "1 | 2 | [1. 3 :| [2. 4 | 5 |";
    let judgement = judged(line, "1 2 1 2 4 5");
    assert_eq!(judgement.slips, Some(1));
    assert_eq!(judgement.explanations, [], "{judgement:?}");
}

#[test]
fn right_under_another_reading_is_never_wrong() {
    let judgement = judged("|: 1 :| 2 | 3 D.C. |", "1 1 2 3 1 1 2 3");
    assert_eq!(judgement.verdict, AnswerVerdict::RightUnder(1));
    assert!(judgement.explanations.is_empty());
}

#[test]
fn a_slip_on_top_is_seen_through() {
    let judgement = judged("1 | 2 |: 3 | 4 | [1. 5 | 6 :| [2. 7 ] | 8 | 9 |", "1-5 3-9");
    assert_eq!(judgement.explanations.len(), 1, "{judgement:?}");
    let explanation = &judgement.explanations[0];
    assert_eq!(explanation.ideas, [Misunderstanding::EndingsInARow]);
    assert_eq!(explanation.fit, Fit::ButForSlips(1));
}

#[test]
fn what_is_right_is_credited() {
    let short = judged("1 | 2 | 3 | 4 |", "1 2");
    let difference = short.difference.unwrap();
    assert_eq!(difference.kind, DifferenceKind::TooShort);
    assert_eq!((difference.index, difference.given), (2, None));
    assert!((short.share() - 0.5).abs() < 1e-9);
    let long = judged("1 | 2 |", "1 2 1");
    assert_eq!(long.difference.unwrap().kind, DifferenceKind::TooLong);
    let off = judged("1 | 2 |", "1 3");
    assert_eq!(off.difference.unwrap().kind, DifferenceKind::OffTheBoard);
    let none = judged("1 | 2 |", "");
    assert_eq!(none.difference.unwrap().kind, DifferenceKind::Empty);
    assert!(none.explanations.is_empty());
}

#[test]
fn an_answer_that_cannot_be_read_says_where() {
    let board: Board = "1 | 2 |".parse().unwrap();
    for (text, column, message) in [
        ("1 two", 3, "`two` is no measure"),
        ("1 4-2", 3, "the range `4-2` runs backwards"),
        ("1(8vc)", 2, "`8vc` is no octave"),
        ("1(8va X.H.)", 2, "`x.h.` is no hand"),
        ("1-", 3, "a measure is expected here"),
        ("1-200000", 1, "an answer has at most 100000 steps"),
    ] {
        let error = Answer::read(&board, text).unwrap_err();
        assert_eq!(
            (error.position.column, error.message.as_str()),
            (column, message)
        );
    }
}

#[test]
fn an_answer_that_is_like_nothing_is_not_explained() {
    let line = "1 | 2 |: 3 | 4 | 5 | 6 :| 7 | 8 |";
    for answer in [
        "1-3 1-2 4 5 1-2 4",
        "8 7 6 5 4 3 2 1",
        "1-3 1-3 5 1-3",
        "4",
        "4 4 4",
    ] {
        let judgement = judged(line, answer);
        assert_eq!(judgement.verdict, AnswerVerdict::Wrong);
        assert_eq!(judgement.explanations, [], "{answer}");
    }
}

#[test]
fn one_slip_alone_is_no_pair_of_misunderstandings() {
    let judgement = judged(
        "1 |: 2 | 3 | 4 | 5 :| 6 | 7 | 8 Fine | 9 D.C. al Fine |",
        "1-5 2-9 1 2 4-8",
    );
    assert_eq!(judgement.slips, Some(1));
    assert_eq!(judgement.explanations, [], "{judgement:?}");
}

#[test]
fn the_parts_of_a_cut_measure_are_one_step_or_several() {
    // A Fine on beat 2 cuts measure 2; the way out plays both its parts, the return the first alone.
    let line = "{meter 4/4} 1 | 2 Fine@2 | 3 D.C. al Fine |";
    for right in ["1 2 2 3 1 2", "1-3 1-2"] {
        assert_eq!(judged(line, right).verdict, AnswerVerdict::Right, "{right}");
    }
    for past in ["1 2 2 3 1 2 2 3", "1-3 1-3"] {
        let judgement = judged(line, past);
        let ideas = &judgement.explanations[0].ideas;
        assert_eq!(*ideas, [Misunderstanding::FineIgnored], "{past}");
    }
    let difference = judged(line, "1-3").difference.unwrap();
    assert_eq!(difference.index, 3);
    assert_eq!(difference.expected.map(|step| step.measure), Some(1));
    assert_eq!(difference.before.map(|step| step.measure), Some(3));
}

#[test]
fn a_to_coda_obeyed_too_soon_may_be_passed_by_later() {
    let line = "1 | 2 To Coda | 3 | 4 D.C. al Coda | coda 5 | 6 D.S. al Coda |";
    let line = line.replace("1 |", "segno 1 |");
    let judgement = judged(&line, "1 2 5 6 1-4 1-6");
    let pair = [
        Misunderstanding::ToCodaOnTheFirstLeg,
        Misunderstanding::ToCodaIgnored,
    ];
    let mut ideas = judgement.explanations.iter().map(|it| &it.ideas[..]);
    assert!(ideas.any(|ideas| ideas == pair), "{judgement:?}");
}

#[test]
fn a_cut_measure_may_be_one_step_here_and_several_there() {
    let line = "{meter 4/4} |: 1 | 2 Fine@2 :| 3 D.C. al Fine |";
    for right in [
        "1 2 2 1 2 2 3 1 2",
        "1 2 1 2 3 1 2",
        "1 2 1 2 2 3 1 2",
        "1 2 2 1 2 3 1 2",
    ] {
        assert_eq!(judged(line, right).verdict, AnswerVerdict::Right, "{right}");
    }
    let judgement = judged(line, "1 2 1 2 2 3 1 2 3");
    let ideas = &judgement.explanations[0].ideas;
    assert_eq!(*ideas, [Misunderstanding::FineIgnored], "{judgement:?}");
    assert_eq!(judgement.explanations[0].fit, Fit::Whole);
    // Where the same measure comes at once again, a name more may belong to either time.
    let line = "{meter 4/4} 1 |: 2 Fine@2 :| 3 D.C. al Fine |";
    for right in ["1 2 2 2 2 3 1 2", "1 2 2 3 1 2", "1 2 2 2 3 1 2"] {
        assert_eq!(judged(line, right).verdict, AnswerVerdict::Right, "{right}");
    }
    let wrong = judged(line, "1 2 3 1 2");
    assert_eq!(wrong.verdict, AnswerVerdict::Wrong);
}

#[test]
fn what_stops_at_a_jump_comes_before_what_overlooks_it() {
    let judgement = judged("1 | 2 Fine | 3 D.C. al Fine |", "1-3");
    let first = &judgement.explanations[0].ideas;
    assert_eq!(*first, [Misunderstanding::StopsAtJump]);
}

#[test]
fn an_answer_may_be_typed_in_many_ways() {
    let board: Board = "1 | 2 | 3 |".parse().unwrap();
    for text in [
        "1-3",
        "1 - 3",
        "1 \u{2013} 3",
        "1\u{2014}3",
        "1\u{2011}3",
        "1, 2, 3.",
        "1-2. 3",
        "1;2;3",
    ] {
        let answer = Answer::read(&board, text).unwrap();
        let measures: Vec<u32> = answer.steps().iter().map(|it| it.measure).collect();
        assert_eq!(measures, [1, 2, 3], "{text}");
    }
}
