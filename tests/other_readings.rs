//! What is said of an answer that another published reading comes near to, or under which a misunderstanding gives it; and where several do.

mod support {
    pub(crate) mod answers;
    pub(crate) mod judging;
}

use serde_json::json;

use support::judging::{ask, explained, to_the_learner};

/// Common practice: repeats are made again on the return, or not (see `repeats-on-return`).
#[test]
fn an_answer_near_another_published_reading_is_not_explained_away() {
    let line = "|: 1 | 2 | [1. 3 :| [2. 4 Fine ] | 5 D.C. al Fine |";
    for order in ["1 2 3 1 2 4 4 5 1 2 3 1 2 4", "1 2 3 1 2 4 5 1 2 3 1 2 5"] {
        let answer = ask(&json!({ "verb": "judge", "line": line, "answer": order }));
        let judged = &answer["answers"][0];
        assert_eq!(judged["verdict"], "wrong", "{order}");
        assert_eq!(judged["near"]["slips"], 1, "{order}");
        assert_eq!(judged["explanations"], json!(null), "{order}");
        let teacher = judged["teacher"].to_string();
        let said = "But for one slip it is right under another published reading.";
        assert!(teacher.contains(said), "{teacher}");
        let learner = judged["learner"].to_string();
        assert!(learner.contains("Nearly right"), "{learner}");
    }
    // Nearer to the right order.
    let answer = ask(&json!({ "verb": "judge", "line": line, "answer": "1 2 3 1 2 4 5 5 1 2 4" }));
    assert_eq!(answer["answers"][0]["near"], json!(null));
}

/// Common practice: repeats are made again on the return, or not (see `repeats-on-return`). Whoever makes them again and runs past the Fine has
/// made one mistake.
#[test]
fn a_misunderstanding_under_another_published_reading_is_named() {
    let line = "|: 1 | 2 :| 3 Fine | 4 D.C. al Fine |";
    let answer = ask(&json!({ "verb": "judge", "line": line, "answer": "1 2 1-4 1 2 1-4" }));
    let judged = &answer["answers"][0];
    assert_eq!(judged["verdict"], "wrong");
    assert_eq!(judged["near"], json!(null));
    let [only] = &judged["explanations"].as_array().expect("explained")[..] else {
        panic!("{judged}");
    };
    assert_eq!(only["misunderstandings"], json!(["fine-ignored"]));
    assert_eq!(only["fit"], "whole");
    assert_eq!(only["reading"], "all-repeats");
    assert_eq!(only["shows-later"], true);
    let teacher = judged["teacher"].to_string();
    let said = "Under another published reading this is the order of a pupil who plays past the Fine on the way back (fine-ignored). Are repeats made again";
    assert!(teacher.contains(said), "{teacher}");
    // The end repeat at which the answer parts from the order asked for is not misread.
    let learner = judged["learner"].to_string();
    assert!(learner.contains("in another way, as you do"), "{learner}");
    assert!(learner.contains("Fine is your goal"), "{learner}");
    assert!(!learner.contains("look at what stands"), "{learner}");
    // Under the reading asked for nothing is said of others.
    let asked = json!({ "verb": "judge", "line": line, "answer": "1 2 1-4 1 2 1-4", "reading": "all-repeats" });
    let told = &ask(&asked)["answers"][0]["explanations"][0];
    assert_eq!(told["misunderstandings"], json!(["fine-ignored"]));
    assert_eq!(told["reading"], json!(null));
    let endings = "|: 1 | 2 | [1. 3 :| [2. 4 Fine ] | 5 D.C. al Fine |";
    let (ideas, teacher) = explained(endings, "1 2 3 1 2 4 5 1 2 3 1 2 4 5");
    assert_eq!(ideas, ["fine-ignored"]);
    assert!(
        teacher.contains("(repeats-on-return is play.)"),
        "{teacher}"
    );
    // One that explains the answer under the reading asked for is plainer.
    assert_eq!(explained(line, "1 2 1-4 1-4").0, ["fine-ignored"]);
}

/// Common practice: to make the repeats again is no mistake where the board leaves that open.
#[test]
fn an_answer_that_goes_along_with_another_published_reading_is_told_so() {
    let line = "|: 1 | 2 :|x4 3 D.C. | 4 |";
    let order = "1 2 1 2 1 2 1 2 3 1 2 1 2 3 4";
    let answer = ask(&json!({ "verb": "judge", "line": line, "answer": order }));
    let judged = &answer["answers"][0];
    assert_eq!(judged["explanations"], json!(null), "{judged}");
    assert_eq!(judged["near"]["steps"], 13, "{judged}");
    assert_eq!(judged["near"]["slips"], json!(null), "{judged}");
    let teacher = judged["teacher"].to_string();
    let said = "For 13 steps it is right under another published reading. Are repeats made again";
    assert!(teacher.contains(said), "{teacher}");
    // The words of the D.C. settle it: there it is a mistake.
    let line = "|: 1 | 2 :|x4 3 D.C. senza rep. | 4 |";
    assert_eq!(explained(line, order).0, ["repeats-after-jump"]);
}

/// Common practice: what is right so far under another published reading, and then breaks off, has nothing wrong in it.
#[test]
fn an_answer_that_breaks_off_under_another_published_reading_is_told_so() {
    let line = "|: 1 | 2 | 3 | 4 | 5 :| 6 Fine | 7 D.C. al Fine |";
    let order = "1-5 1-7 1-5 1-3";
    let (ideas, teacher) = explained(line, order);
    assert_eq!(ideas, [] as [&str; 0]);
    let said = "It breaks off; so far it is right under another published reading. Are repeats";
    assert!(teacher.contains(said), "{teacher}");
    let learner = to_the_learner(line, order);
    assert!(learner.contains("in another way, as you do"), "{learner}");
    assert!(learner.contains("there is more to play"), "{learner}");
}

/// Common practice: an end repeat by itself sends back to the measure behind the last repeat, or to the beginning; and repeats are made again on
/// the return, or not. An answer may be as near to several such orders.
#[test]
fn readings_that_are_equally_near_are_all_told() {
    let line = "1 | 2 :| 3 :|(on-return skip) 4 D.C. |";
    // One step is too many beside the one order, and another is missing beside the other.
    let order = "1 2 1-3 1 2 1-4 1 2 2-4";
    let answer = ask(&json!({ "verb": "judge", "line": line, "answer": order }));
    let judged = &answer["answers"][0];
    assert_eq!(judged["near"]["slips"], 1, "{judged}");
    let [too] = &judged["near-too"].as_array().expect("a tie")[..] else {
        panic!("{judged}");
    };
    assert_eq!(too["slips"], 1, "{judged}");
    assert_eq!(judged["near"]["readings"][0]["repeats-on-return"], "skip");
    assert_eq!(too["readings"][0]["repeats-on-return"], "play");
    let teacher = judged["teacher"].to_string();
    let first = "But for one slip it is right under another published reading. Where does";
    let second = "Another published reading is as near; this board cannot tell. Are repeats";
    assert!(teacher.contains(first), "{teacher}");
    assert!(teacher.contains(second), "{teacher}");
    let learner = judged["learner"].to_string();
    assert_eq!(learner.matches("some teachers and books").count(), 1);
    // What the answer does not come to makes no tie.
    let line = "1 | 2 :| 3 | 4 :| 5 Fine | 6 D.C. al Fine |";
    let order = "1 2 1-4 1 2 1-4 3-5";
    let answer = ask(&json!({ "verb": "judge", "line": line, "answer": order }));
    let judged = &answer["answers"][0];
    assert_eq!(judged["near"]["steps"], 12, "{judged}");
    assert_eq!(judged["near-too"], json!(null), "{judged}");
}

/// Rulebook, 6.1: on the right road no repeat comes after the D.S., so the board is settled; on the pupil's one does.
#[test]
fn a_misunderstanding_may_lead_to_what_another_published_reading_reads_otherwise() {
    let line = "1 | segno 2 | 3 To Coda | 4 |: 5 | 6 :| 7 D.S. al Coda | coda 8 | 9 |";
    let order = "1-6 5-7 2-6 5-9";
    let answer = ask(&json!({ "verb": "judge", "line": line, "answer": order }));
    assert_eq!(answer["settled"], true);
    let told = &answer["answers"][0]["explanations"];
    assert_eq!(told[0]["misunderstandings"], json!(["to-coda-ignored"]));
    assert_eq!(told[0]["reading"], "all-repeats", "{told}");
    // To leave them out is as asked, and needs no other reading.
    assert_eq!(explained(line, "1-6 5-7 2-7 8 9").0, ["to-coda-ignored"]);
}

/// Rulebook, 6.1, 6.2 and 6.4: readings that differ from the one asked for in as few answers, and of which each may be meant.
#[test]
fn readings_that_explain_or_give_an_answer_equally_well_are_all_told() {
    let line = "segno 1 Fine D.S. al Fine | 2 :| 3 |";
    let answer =
        ask(&json!({ "verb": "judge", "line": line, "answer": "1 2 2 3", "reading": "musicxml" }));
    let judged = &answer["answers"][0];
    let all = judged["explanations"].as_array().expect("explained");
    let readings: Vec<&str> = all
        .iter()
        .map(|it| {
            assert_eq!(it["misunderstandings"], json!(["landing-one-off"]));
            it["reading"]["jump-in-repeat"].as_str().unwrap_or_default()
        })
        .collect();
    assert_eq!(readings, ["last-pass", "first-arrival"], "{judged}");
    let teacher = judged["teacher"].to_string();
    let said = "As well it may be, under another published reading, a pupil who lands one measure beside the place (landing-one-off); this board cannot tell. Are repeats";
    assert!(teacher.contains(said), "{teacher}");
    // The MNX draft does not obey the To Coda, nor does MusicXML at its first arrival.
    let line = "1 | 2 D.C. | 3 To Coda | 4 | coda 5 |";
    let answer = ask(&json!({ "verb": "judge", "line": line, "answer": "1 2 1-5" }));
    let judged = &answer["answers"][0];
    assert_eq!(judged["verdict"], "right-under", "{judged}");
    let teacher = judged["teacher"].to_string();
    for said in [
        "(arming is al-only.)",
        "Another such reading gives the same order.",
        "(arming is second-arrival.)",
    ] {
        assert!(teacher.contains(said), "{teacher}");
    }
}

/// Whoever plays as another reading has it is told where the answer leaves that, for there it is to be looked at.
#[test]
fn the_place_is_told_at_which_an_answer_leaves_a_reading_that_is_near() {
    let line = "|: 1 | 2 :| 3 |: 4 | 5 :| 6 Fine | 7 D.C. al Fine |";
    let order = "1 2 1-5 4-7 1 2 1-5 5 4-6";
    let answer = ask(&json!({ "verb": "judge", "line": line, "answer": order }));
    let near = &answer["answers"][0]["near"];
    assert_eq!(near["slips"], 1, "{answer}");
    assert_eq!(near["difference"]["step"], 19, "{answer}");
    assert_eq!(near["difference"]["given"]["measure"], 5, "{answer}");
    assert_eq!(near["difference"]["expected"]["measure"], 4, "{answer}");
    assert_eq!(near["length"], 21, "{answer}");
    let (_, teacher) = explained(line, order);
    for said in [
        "Step 14 is measure 1; measure 3 is expected.",
        "Read so, it is right for 18 steps. Step 19 is measure 5; measure 4 is expected. The end repeat at the end of measure 5 sends back",
    ] {
        assert!(teacher.contains(said), "{teacher}");
    }
    let learner = to_the_learner(line, order);
    assert!(learner.contains("Nearly right"), "{learner}");
    assert!(
        learner.contains("stands at the end of measure 5"),
        "{learner}"
    );
    // Where it leaves both at once that is told once.
    let line = "|: 1 | 2 | [1. 3 :| [2. 4 Fine ] | 5 D.C. al Fine |";
    let (_, teacher) = explained(line, "1 2 3 1 2 4 4 5 1 2 3 1 2 4");
    assert_eq!(teacher.matches("is expected").count(), 1, "{teacher}");
    // One that breaks off is as long as that order, not as the right one.
    let line = "|: 1 | 2 | 3 | 4 | 5 :| 6 Fine | 7 D.C. al Fine |";
    let (_, teacher) = explained(line, "1-5 1-7 1-5 1-3");
    let said = "The answer ends after 20 steps; the music has 23 steps.";
    assert!(teacher.contains(said), "{teacher}");
    // An answer that goes along with it for a while leaves it at a place, too.
    let line = "|: 1 | 2 :|x4 3 D.C. | 4 |";
    let learner = to_the_learner(line, "1 2 1 2 1 2 1 2 3 1 2 1 2 3 4");
    assert!(
        learner.contains("stands at the end of measure 2"),
        "{learner}"
    );
}

/// Rulebook, 6.8: who makes the repeats that are to be left out has read the signs.
#[test]
fn an_answer_that_is_right_but_for_the_repeats_to_be_left_out_is_told_so() {
    let judged = |line: &str, order: &str| {
        let asked =
            json!({ "verb": "judge", "line": line, "answer": order, "reading": "examination" });
        ask(&asked)["answers"][0].clone()
    };
    let said = "As the signs stand the answer is right, with every repeat: here the repeats are to be left out (clause 6.8).";
    for (line, order, reading) in [
        ("|: 1 | 2 :| 3 |: 4 | 5 :| 6 |", "1 2 1-5 4-6", "handbook"),
        ("|: 1 | [1. 2 :| [2. 3 ] | 4 |", "1 2 1 3 4", "handbook"),
        (
            "|: 1 | 2 :| 3 Fine | 4 D.C. al Fine |",
            "1 2 1-4 1-3",
            "handbook",
        ),
        (
            "|: 1 | 2 :| 3 Fine | 4 D.C. al Fine |",
            "1 2 1-4 1 2 1-3",
            "all-repeats",
        ),
    ] {
        let judged = judged(line, order);
        assert_eq!(judged["verdict"], "wrong", "{judged}");
        assert_eq!(judged["with-repeats"], reading, "{judged}");
        assert_eq!(judged["explanations"], json!(null), "{judged}");
        let teacher = judged["teacher"].to_string();
        assert!(teacher.contains(said), "{teacher}");
        let asks = teacher.contains("Are repeats made again");
        assert_eq!(asks, reading == "all-repeats", "{teacher}");
        let learner = judged["learner"].to_string();
        assert!(learner.contains("with every repeat"), "{learner}");
        assert!(learner.contains("leave the repeats out"), "{learner}");
    }
    // One repeat of two is neither the one nor the other.
    let judged = judged("|: 1 | 2 :| 3 |: 4 | 5 :| 6 |", "1 2 1-6");
    assert_eq!(judged["with-repeats"], json!(null), "{judged}");
}
