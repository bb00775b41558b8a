//! What explains an answer, and what does not: which misunderstandings are named, and which first.

mod support {
    pub(crate) mod answers;
    pub(crate) mod judging;
}

use serde_json::json;

use support::judging::{ask, explained, to_the_learner};

/// From memory: what a pupil has right at a sign speaks against a misunderstanding of that sign.
#[test]
fn an_idea_that_acts_where_the_answer_is_right_is_not_named() {
    for (line, order, not) in [
        (
            "1 | segno 2 | 3 D.C. al Segno |",
            "1 2 3 1 2 3",
            "da-capo-as-dal-segno",
        ),
        ("1 |: 2 |: 3 :| 4 :| 5 |", "1 2 3 3 4 5", "repeat-ignored"),
    ] {
        let answer = ask(&json!({ "verb": "judge", "line": line, "answer": order }));
        let explained = answer["answers"][0]["explanations"].to_string();
        assert!(!explained.contains(not), "{line} {order}: {explained}");
    }
}

#[test]
fn of_two_ideas_the_one_that_shows_itself_first_is_named_first() {
    let line = "1 | 2 |: 3 | 4 :| 5 |";
    let answer = ask(&json!({ "verb": "judge", "line": line, "answer": "1 2 1 2 3 4 1 2 3 4 5" }));
    let judged = &answer["answers"][0];
    let ideas = &judged["explanations"][0]["misunderstandings"];
    assert_eq!(ideas.as_array().map(Vec::len), Some(2), "{judged}");
    // The answer is wrong from the start repeat on.
    let first = ideas[0].as_str().unwrap_or_default();
    assert!(first.contains("start-repeat"), "{judged}");
}

#[test]
fn where_the_octave_is_wrong_the_octave_sign_is_to_be_looked_at() {
    let line = "|: 8va(R.H., on repeat)( 1 | 2 ) :| 3 |";
    let answer = ask(&json!({ "verb": "judge", "line": line, "answer": "1 2 1(8va) 2(8va) 3" }));
    let learner = answer["answers"][0]["learner"].to_string();
    assert!(
        learner.contains("Look at the octave sign again"),
        "{learner}"
    );
}

/// ABC 2.1, section 4.8, has the one answer, and no standard has both.
#[test]
fn answers_that_no_standard_has_together_are_nobodys() {
    let line = "1 |: 2 |: 3 :| 4 :| 5 |";
    let answer = ask(&json!({ "verb": "judge", "line": line, "answer": "1 2 3 3 4 1 2 3 3 4 5" }));
    assert_eq!(answer["answers"][0]["backing"], "nobody");
}

/// From memory: whoever goes on past a segno has not missed a landing, nor has who walks on where a sign sends away.
#[test]
fn a_landing_is_missed_only_by_a_leap() {
    let line = "1 | segno 2 | 3 | coda 4 | 5 D.C. al Segno then Coda |";
    assert_eq!(explained(line, "1-5 1-5").0, [] as [&str; 0]);
    let line = "|: 1 | 2 To Coda(arrivals 2) :|x3 3 | coda 4 |";
    let told = explained(line, "1 2 1 2 3 4").0;
    assert_eq!(
        told,
        ["to-coda-ignored and too-few-times", "landing-one-off"]
    );
    // A leap that no sign sends to.
    let line = "1 | 2 | segno 3 | 4 | 5 Fine | 6 D.S. al Fine |";
    assert_eq!(explained(line, "1-6 4-5").0, ["landing-one-off"]);
    assert_eq!(explained(line, "1 3-6 4-5").0, ["landing-one-off"]);
}

/// From memory: the sign at which the answer goes wrong is the one misread.
#[test]
fn of_ideas_that_come_as_near_the_one_that_shows_itself_there_is_first() {
    let line = "1 | 2 Fine | 3 D.C. al Fine then Coda | coda 4 |";
    let (ideas, _) = explained(line, "1 2 4");
    assert_eq!(ideas[0], "fine-on-the-first-leg");
    assert!(ideas.contains(&"stops-at-jump".to_owned()), "{ideas:?}");
    let answer = ask(&json!({ "verb": "judge", "line": line, "answer": "1 2 4" }));
    let explained = &answer["answers"][0]["explanations"];
    assert_eq!(explained[0]["shows-later"], json!(null));
    assert_eq!(explained[1]["shows-later"], json!(true));
}

/// Common practice, no source: nobody passes an end repeat by and obeys it too often.
#[test]
fn two_that_contradict_each_other_are_not_named_together() {
    let line = "|: 1 | 2 D.C.(passes 1) | 3 :| 4 |";
    let (ideas, _) = explained(line, "1-4");
    assert_eq!(ideas, ["jump-ignored and repeat-ignored"]);
}

/// From memory: whoever has walked past the D.S. the second time does not go back for ever.
#[test]
fn who_jumps_once_does_not_jump_for_ever() {
    let line = "1 | segno 2 | 3 D.S. | 4 | 5 | 6 |";
    assert_eq!(explained(line, "1-3 2-3 6").0, [] as [&str; 0]);
    assert_eq!(explained(line, "1-3 2-3 2-3 2").0, ["jump-for-ever"]);
}

/// Rulebook, 2.14: a section that a D.S. closes has no end repeat that could be passed by.
#[test]
fn an_end_repeat_that_is_not_there_is_not_passed_by() {
    let line = "segno 1 | [1. 2 D.S. ] | [2. 3 ] | 4 |";
    assert_eq!(explained(line, "1 2 1-4").0, ["endings-in-a-row"]);
}

/// From memory: the To Coda stands where the answer goes wrong, and the end repeat does not.
#[test]
fn the_idea_of_the_sign_that_stands_there_is_first() {
    let line = "1 |: 2 | 3 To Coda | 4 :| 5 | coda 6 |";
    let ideas = explained(line, "1-3 6").0;
    assert_eq!(ideas, ["to-coda-on-the-first-leg", "repeat-ignored"]);
}

/// Common practice, no source: an answer that ends at a Fine has hardly broken off by chance.
#[test]
fn an_answer_that_ends_at_a_fine_is_told_so() {
    let line = "|: 1 | 2 Fine | 3 :| 4 D.C. al Fine |";
    let ends = |order: &str| explained(line, order).1;
    assert!(ends("1-3 1 2").contains("It ends at the Fine at the end of measure 2: ask whether"));
    assert!(ends("1-3 1").contains("then it breaks off"));
    // Another sign moves the road there; the Fine is named all the same.
    let line = "1 | 2 Fine D.C.(al End, arrivals 1 2) | 3 D.C. al Fine |";
    let told = explained(line, "1 2 1 2").1;
    assert!(
        told.contains("It ends at the Fine at the end of measure 2: ask whether"),
        "{told}"
    );
}

/// From memory: whoever goes back each time has not overlooked the end repeat; the D.C. that never counts is the one misread.
#[test]
fn who_goes_back_each_time_has_passed_no_end_repeat_by() {
    let line = "|: 1 | 2 D.C.(passes 1) :| 3 |";
    let (ideas, teacher) = explained(line, "1 2 1 2 1 2");
    assert_eq!(ideas, ["jump-for-ever"]);
    for said in [
        "The end repeat at the end of measure 2 sends back no more, for the repeat has been played 2 times",
        "The D.C. at the end of measure 2 is never obeyed, for the end repeat at its barline comes first: the road goes on to measure 3 (clause 3.8)",
    ] {
        assert!(teacher.contains(said), "{teacher}");
    }
    let learner = to_the_learner(line, "1 2 1 2 1 2");
    assert!(learner.contains("walk past it every time"), "{learner}");
    // Where the end repeat sends to another place it is seen which of the two is obeyed.
    let line = "1 |: 2 | 3 D.C.(passes 1) :| 4 |";
    assert_eq!(
        explained(line, "1-3 1-3 1-3").0,
        ["repeat-ignored and jump-for-ever"]
    );
}

/// Common practice, no source: a way back is spoken of where there is one, and a first time at the first.
#[test]
fn a_sign_that_waits_for_no_return_is_told_of_without_one() {
    for (line, order, said) in [
        (
            "|: 1 | 2 To Coda(arrivals 2) :|x3 3 | coda 4 |",
            "1 2 1 2 1-4",
            "plays past the To Coda where it counts",
        ),
        (
            "|: 1 | 2 Fine(arrivals 2) :|x3 3 | 4 |",
            "1 2 1 2 1-4",
            "plays past the Fine where it counts",
        ),
        (
            "1 | 2 Fine(arrivals 2) | 3 D.C. | 4 |",
            "1-3 1-4",
            "plays past the Fine where it counts",
        ),
        (
            "1 | 2 Fine | 3 D.C. al Fine |",
            "1-3 1-3",
            "plays past the Fine on the way back",
        ),
        (
            "1 | 2 To Coda | 3 D.C. al Coda | coda 4 |",
            "1-3 1-4",
            "plays past the To Coda on the way back",
        ),
        (
            "1 | 2 To Coda | 3 D.C. al Coda | coda 4 |",
            "1 2 4",
            "leaves for the coda the first time already",
        ),
        (
            "|: 1 | 2 To Coda :|x3 3 D.C. al Coda | coda 4 |",
            "1 2 1 2 1 2 4",
            "leaves for the coda before the To Coda counts",
        ),
    ] {
        let teacher = explained(line, order).1;
        assert!(teacher.contains(said), "{line} {order}: {teacher}");
    }
    let line = "|: 1 | 2 To Coda :|x3 3 D.C. al Coda | coda 4 |";
    let learner = to_the_learner(line, "1 2 1 2 1 2 4");
    assert!(learner.contains("stays locked until a D.C."), "{learner}");
    let learner = to_the_learner("1 | 2 To Coda | 3 D.C. al Coda | coda 4 |", "1 2 4");
    assert!(learner.contains("locked the first time"), "{learner}");
}

#[test]
fn what_shows_itself_only_further_on_is_told_so() {
    let line = "1 | 2 Fine | 3 D.C. al Fine then Coda | coda 4 |";
    let teacher = explained(line, "1 2 4").1;
    let said = "As well it may be a pupil who, further on, stops at the D.C. or D.S.";
    assert!(teacher.contains(said), "{teacher}");
    assert!(!teacher.contains("says nothing of this step"), "{teacher}");
    let line = "1 | 2 | 3 | 4 Fine | 5 D.C. al Fine |";
    let (ideas, teacher) = explained(line, "1 3-5 1-5");
    assert_eq!(ideas, ["fine-ignored"]);
    let said = "(fine-ignored). This misunderstanding shows itself only further on: it says nothing of this step.";
    assert!(teacher.contains(said), "{teacher}");
}

/// From memory: whoever leaves at another arrival than the one that is named has miscounted the arrivals, and not the repeat.
#[test]
fn who_leaves_before_the_named_arrival_has_made_no_repeat_too_few_times() {
    let line = "|: 1 | 2 To Coda(arrivals 3) :|x4 3 | coda 4 |";
    assert_eq!(explained(line, "1 2 1 2 4").0, ["to-coda-on-the-first-leg"]);
    // Right as far as it goes, and it ends at the Fine.
    let line = "|: 1 | 2 Fine(arrivals 3) :|x4 3 |";
    let (ideas, teacher) = explained(line, "1 2 1 2");
    assert_eq!(ideas, [] as [&str; 0]);
    let said = "It ends at the Fine at the end of measure 2: ask whether";
    assert!(teacher.contains(said), "{teacher}");
    let learner = to_the_learner(line, "1 2 1 2");
    assert!(
        learner.contains("Count how often you come here"),
        "{learner}"
    );
}

/// Rulebook, 3.2 and 3.5: an answer that ends where the board ends has hardly broken off by chance, nor has one that ends at a sign.
#[test]
fn an_answer_that_ends_at_a_sign_which_sends_on_is_told_so() {
    for (line, order, said) in [
        (
            "|: 1 | 2 :| 3 |: 4 | 5 :|",
            "1 2 1-5",
            "It ends where the board ends, though the end repeat there sends on: ask whether",
        ),
        (
            "|: 1 | 2 D.C. :| 3 | 4 D.C. |",
            "1 2 1 2 1-4",
            "It ends where the board ends, though the D.C. there sends on: ask whether",
        ),
        (
            "1 |: 2 | 3 :| 4 |: 5 | 6 :| 7 |",
            "1-3 2-6",
            "It ends at the end repeat at the end of measure 6: ask whether",
        ),
        (
            "1 | 2 | 3 To Coda | 4 D.C. al Coda | coda 5 | 6 |",
            "1-4 1-3",
            "It ends at the To Coda at the end of measure 3: ask whether",
        ),
        ("1 |: 2 | 3 :| 4 |", "1 2", "then it breaks off"),
    ] {
        let (ideas, teacher) = explained(line, order);
        assert_eq!(ideas, [] as [&str; 0], "{line}");
        assert!(teacher.contains(said), "{line} {order}: {teacher}");
    }
}

/// From memory: who goes back at the D.C., though to another place, has not played on past it; and who goes on there has not stopped at it.
#[test]
fn who_goes_back_or_on_at_a_jump_has_not_stayed_there() {
    let line = "|: 1 | 2 | [1. 3 :| [2. 4 Fine ] |: 5 | 6 :| 7 D.C. al Fine |";
    assert_eq!(explained(line, "1-3 1 2 4-6 5-7 4").0, [] as [&str; 0]);
    let line = "1 | segno 2 | 3 To Coda | 4 |: 5 | 6 :| 7 D.S. al Coda | coda 8 | 9 |";
    assert_eq!(
        explained(line, "1-6 5-7 8").0,
        ["jump-ignored", "straight-to-coda", "stops-at-jump"]
    );
}
