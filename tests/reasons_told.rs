//! Why the right step comes where an answer parts from it: what stands there, and the clause by which it counts or does not.

mod support {
    pub(crate) mod answers;
    pub(crate) mod judging;
}

use serde_json::json;

use support::judging::{ask, explained};

/// Rulebook, 4.8 and 4.9.
#[test]
fn a_sign_that_names_its_times_does_not_count_at_another_by_the_clause_of_lists() {
    for (line, order, clause, idea) in [
        (
            "1 | 2 To Coda(arrivals 2) | 3 D.C. | coda 4 |",
            "1 2 4",
            "4.8",
            "to-coda-on-the-first-leg",
        ),
        (
            "1 | 2 Fine(arrivals 2) | 3 | 4 D.C. |",
            "1 2",
            "4.8",
            "fine-on-the-first-leg",
        ),
        (
            "1 | 2 D.C.(arrivals 1) | 3 |",
            "1 2 1 2 1 2",
            "4.8",
            "jump-for-ever",
        ),
    ] {
        let (ideas, teacher) = explained(line, order);
        assert_eq!(ideas, [idea], "{line}");
        let said = format!(
            "for it names the times at which it does: the road goes on to measure 3 (clause {clause})"
        );
        assert!(teacher.contains(&said), "{teacher}");
    }
}

/// Rulebook, 4.1, 4.8, 4.9, 3.4.
#[test]
fn a_sign_that_has_done_its_work_or_never_does_any_is_told_so() {
    for (line, order, said) in [
        (
            "1 | 2 D.C. | 3 |",
            "1 2 1 2 1",
            "has done its work and counts no more: the road goes on to measure 3 (clause 4.1)",
        ),
        (
            "|: 1 | 2 D.C.(passes 2) | 3 :| 4 |",
            "1-3 1 2 1 2 1 2",
            "has done its work and counts no more: the road goes on to measure 3 (clause 4.9)",
        ),
        // On another pass, or at another arrival, it counts again.
        (
            "|: 1 | 2 D.C.(passes 1 2, repeats play) | 3 :| 4 |",
            "1 2 1 2 1 2 3",
            "does not count this time, for it counts once on each pass that it names: the road goes on to measure 3 (clause 4.9)",
        ),
        (
            "1 | 2 D.C.(passes 1 3) | 3 D.C. | 4 |",
            "1 2 1 2 1 2 3 4",
            "does not count this time, for it names the times at which it does: the road goes on to measure 3 (clause 4.8)",
        ),
        (
            "1 | 2 To Coda | 3 Fine | 4 D.C. al Fine | coda 5 |",
            "1 2 5",
            "is passed by every time on this board: the road goes on to measure 3 (clause 3.4)",
        ),
    ] {
        let (_, teacher) = explained(line, order);
        assert!(teacher.contains(said), "{line}: {teacher}");
    }
}

/// Rulebook, 3.8: at a barline with an end repeat and a D.C. the one is told of that the answer has obeyed, or both.
#[test]
fn of_an_end_repeat_and_a_jump_at_one_barline_what_may_be_meant_is_told() {
    let repeat = "The end repeat at the end of measure 3";
    let jump = "The D.C. at the end of measure 3 has done its work";
    for (line, order, told) in [
        (
            "|: 1 | 2 | 3 D.C. senza rep. :| 4 |",
            "1-3 1-3 1-3 1-3 1-4",
            [true, true],
        ),
        (
            "1 |: 2 | 3 D.C. senza rep. :| 4 |",
            "1-3 2-3 1-3 1-4",
            [false, true],
        ),
        (
            "1 |: 2 | 3 D.C. senza rep. :| 4 |",
            "1-3 2-3 1-3 2-4",
            [true, false],
        ),
    ] {
        let teacher = explained(line, order).1;
        assert_eq!(
            [repeat, jump].map(|it| teacher.contains(it)),
            told,
            "{line} {order}: {teacher}"
        );
    }
    // The right road obeys the D.C. there, so that it is named before the end repeat.
    let ideas = explained("|: 1 | 2 D.C. :| 3 |", "1 2 1-3").0;
    assert_eq!(ideas, ["jump-ignored", "repeat-ignored"]);
}

/// Rulebook, 5.2.
#[test]
fn a_repeat_left_out_on_the_return_has_a_reason_of_its_own() {
    for (line, order, said) in [
        (
            "|: 1 | 2 :| 3 | 4 D.C. | 5 |",
            "1 2 1-4 1 2 1 3-5",
            "does not send back on this return, for its repeat is not made again after a D.C. or D.S.: the road goes on to measure 3 (clause 5.2)",
        ),
        (
            "|: 1 | 2 D.C.(passes 1, repeats skip) | 3 :| 4 |",
            "1 2 1-3 1-3 4",
            "does not send back, for a return counts on and this is pass 2, the last one: the road goes on to measure 4 (clause 5.2)",
        ),
        // First met after the return it is made there.
        (
            "1 | 2 To Coda | 3 D.C. al Coda | coda 4 |: 5 | 6 :| 7 |",
            "1-3 1 2 4 5 6 5 6 5-7",
            "sends back no more, for the repeat has been played 2 times",
        ),
    ] {
        let teacher = explained(line, order).1;
        assert!(teacher.contains(said), "{line} {order}: {teacher}");
    }
}

/// Rulebook, 5.3 and 5.4: on a return the repeats are made again where the end repeat, the D.C. or D.S. or the reading says so.
#[test]
fn a_repeat_made_again_on_the_return_has_that_for_a_reason() {
    let again = "The end repeat at the end of measure 2 sends back to measure 1, for on this return the repeats are made again (clause 5.3).";
    let plain = "The end repeat at the end of measure 2 sends back to measure 1 (clause 3.2).";
    for (line, order, reading, said) in [
        (
            "|: 1 | 2 :| 3 D.C. con rep. | 4 |",
            "1-2 1-3 1-4",
            "handbook",
            again,
        ),
        (
            "|: 1 | 2 :|(on-return play) 3 D.C. | 4 |",
            "1-2 1-3 1-4",
            "handbook",
            again,
        ),
        (
            "|: 1 | 2 :| 3 D.C. | 4 | 5 |",
            "1-2 1-3 1-3 5",
            "all-repeats",
            again,
        ),
        // Not on the first leg, nor where the return goes on with the passes that a jump has left.
        (
            "|: 1 | 2 :| 3 D.C. con rep. | 4 |",
            "1-4",
            "handbook",
            plain,
        ),
        (
            "|: 1 D.C.(passes 2) | 2 :|x4 3 |",
            "1-2 1 1-3",
            "handbook",
            plain,
        ),
    ] {
        let asked = json!({ "verb": "judge", "line": line, "answer": order, "reading": reading });
        let teacher = ask(&asked)["answers"][0]["teacher"].to_string();
        assert!(teacher.contains(said), "{line} {order}: {teacher}");
    }
}

/// Rulebook, 4.8 and 4.9.
#[test]
fn a_sign_that_counts_at_the_time_it_names_has_that_for_a_reason() {
    for (line, order, said) in [
        (
            "|: 1 | 2 D.C.(arrivals 2) | 3 :| 4 |",
            "1-3 1-4",
            "The D.C. at the end of measure 2 counts this time, for it names this arrival: from it the road goes to measure 1 (clause 4.8)",
        ),
        (
            "|: 1 | 2 D.C.(passes 2) | 3 :| 4 |",
            "1-3 1-4",
            "The D.C. at the end of measure 2 counts this time, for it names this pass: from it the road goes to measure 1 (clause 4.9)",
        ),
        (
            "|: 1 | 2 To Coda(arrivals 2) | 3 :|x3 4 | coda 5 |",
            "1-3 1-3 1-5",
            "for it names this arrival: from it the road goes to measure 5 (clause 4.8)",
        ),
        (
            "|: 1 | 2 Fine(arrivals 2) | 3 :| 4 |",
            "1-3 1-4",
            "The Fine at the end of measure 2 counts this time, for it names this arrival: the music ends there (clause 4.8)",
        ),
        (
            "|: 1 | 2 D.C.(arrivals 3) | 3 :|x3 4 |",
            "1-3 1 2",
            "It ends at the D.C. at the end of measure 2: ask whether",
        ),
    ] {
        let (_, teacher) = explained(line, order);
        assert!(teacher.contains(said), "{line} {order}: {teacher}");
    }
}

/// Rulebook, 5.2.
#[test]
fn an_ending_passed_over_on_the_return_has_a_reason_of_its_own() {
    let line = "|: 1 | [1. 2 :| [2. 3 ] | 4 Fine | 5 D.C. al Fine |";
    let said = "There ending 1 at measure 2 is passed over, for the return does not count its passes anew and this is pass 2; the road goes on to measure 3 (clause 5.2).";
    let teacher = explained(line, "1 2 1 3-5 1-4").1;
    assert!(teacher.contains(said), "{teacher}");
    let teacher = explained(line, "1 2 1 2 4").1;
    let said =
        "There ending 1 at measure 2 is passed over; the road goes on to measure 3 (clause 3.6).";
    assert!(teacher.contains(said), "{teacher}");
    // That another section is repeated on the return says nothing of this one.
    let line = "|: 1 :|(on-return play) |: 2 | [1. 3 :| [2. 4 ] | 5 D.C. |";
    let teacher = explained(line, "1 1 2 3 2 4 5 1 1 2 3 5").1;
    let said = "There ending 1 at measure 3 is passed over, for the return does not count its passes anew and this is pass 2; the road goes on to measure 4 (clause 5.2).";
    assert!(teacher.contains(said), "{teacher}");
}

/// Rulebook, 5.5 and 6.8.
#[test]
fn passes_that_go_on_or_are_left_out_as_asked_have_reasons_of_their_own() {
    let teacher = explained("|: 1 | [1. 2 D.C. ] | [2. 3 ] | 4 |", "1 2 1-4").1;
    let said = "does not count its passes anew and this is pass 2; the road goes on to measure 3 (clause 5.5)";
    assert!(teacher.contains(said), "{teacher}");
    let teacher = explained("|: 1 | [1. 2 D.C. ] | [2. 3 :| 4 |", "1 2 1 3 1 3 4").1;
    let said = "does not send back, for a return counts on and this is pass 2, the last one: the road goes on to measure 4 (clause 5.5)";
    assert!(teacher.contains(said), "{teacher}");
    for (line, order, said) in [
        (
            "|: 1 | 2 :| 3 D.C. al End |",
            "1-3 1 2 1-3",
            "does not send back, for the repeats are left out as asked: the road goes on to measure 3 (clause 6.8)",
        ),
        (
            "|: 1 | 2 :| 3 |",
            "1 2 1-3",
            "does not send back, for the repeats are left out as asked: the road goes on to measure 3 (clause 6.8)",
        ),
        (
            "|: 1 | [1. 2 :| [2. 3 ] | 4 |",
            "1-4",
            "is passed over, for the repeats are left out as asked; the road goes on to measure 3 (clause 6.8)",
        ),
    ] {
        let asked =
            json!({ "verb": "judge", "line": line, "answer": order, "reading": "examination" });
        let teacher = ask(&asked)["answers"][0]["teacher"].to_string();
        assert!(teacher.contains(said), "{line}: {teacher}");
    }
}

/// Rulebook, 3.6 and 5.5: of several endings that are passed over the one is told of that the answer has gone into.
#[test]
fn of_the_endings_passed_over_the_one_taken_is_told() {
    let teacher = explained("|: 1 | [1. 2 :| [2. 3 :| [3. 4 ] | 5 |", "1 2 1 3 1 3 5").1;
    let said =
        "There ending 2 at measure 3 is passed over; the road goes on to measure 4 (clause 3.6).";
    assert!(teacher.contains(said), "{teacher}");
    let line = "1 | [1. 2 D.C. ] | [2. 3 D.C. ] | [3. 4 ] | 5 |";
    let teacher = explained(line, "1 2 1 3 1 3 4").1;
    assert!(
        teacher.contains("There ending 2 at measure 3 is passed over, for"),
        "{teacher}"
    );
    assert!(
        teacher.contains("this is pass 3; the road goes on to measure 4 (clause 5.5)"),
        "{teacher}"
    );
    // Where the answer goes into none of them it is the first.
    let teacher = explained("|: 1 | [1. 2 :| [2. 3 :| [3. 4 ] | 5 |", "1 2 1 3 1 5").1;
    assert!(
        teacher.contains("There ending 1 at measure 2 is passed over"),
        "{teacher}"
    );
}

/// Rulebook, 4.2, 3.9 and 4.4: a sign in a repeat waits for its last pass.
#[test]
fn a_sign_that_waits_for_its_last_pass_is_told_so() {
    for (line, order, reading, said) in [
        (
            "|: 1 | 2 D.C. | 3 :|x3 4 |",
            "1 2 1-4",
            "handbook",
            "The D.C. at the end of measure 2 does not count yet, for it waits for its last pass: the road goes on to measure 3 (clause 4.2)",
        ),
        (
            "|: 1 | [1,3. 2 D.C. | 3 :| [2,4. 4 :| 5 |",
            "1 2 1 4 1 2 1 4 5",
            "handbook",
            "The D.C. at the end of measure 2 does not count yet, for it waits for its last pass: the road goes on to measure 3 (clause 4.2)",
        ),
        (
            "|: 1 To Coda | 2 | 3 :|x3 coda 4 |",
            "1 4",
            "handbook",
            "The To Coda at the end of measure 1 does not count yet, for it waits for its last pass: the road goes on to measure 2 (clause 3.9)",
        ),
        (
            "|: 1 Fine | 2 | 3 :| 4 D.C. al Fine |",
            "1-3 1-4 1 3 1",
            "all-repeats",
            "The Fine at the end of measure 1 does not count yet, for it waits for its last pass: the road goes on to measure 2 (clause 3.9)",
        ),
        // On the first leg it waits for the return.
        (
            "|: 1 Fine | 2 | 3 :| 4 D.C. al Fine |",
            "1 3 1 3 4 1",
            "all-repeats",
            "The Fine at the end of measure 1 does not count yet: it waits for the return",
        ),
        // One that has been obeyed waits for nothing.
        (
            "|: 1 | 2 D.C. | 3 :| 4 |",
            "1-3 1 2 1 2 1 2 1-4",
            "handbook",
            "The D.C. at the end of measure 2 has done its work",
        ),
    ] {
        let asked = json!({ "verb": "judge", "line": line, "answer": order, "reading": reading });
        let teacher = ask(&asked)["answers"][0]["teacher"].to_string();
        assert!(teacher.contains(said), "{line} {order}: {teacher}");
    }
}

/// Rulebook, 7.5 and 7.6.
#[test]
fn an_octave_has_a_reason_too() {
    let line = "|: 1 | 8va(R.H., on repeat)( 2 ) | 3 :| 4 | 8va(R.H.)( 5 | 8vb(R.H.)( 6 ) ) |";
    let right = "1-3 1 2(8va R.H.) 3 4 5(8va R.H.) 6";
    for (order, said) in [
        (
            right.replace("1-3 1", "1 2(8va R.H.) 3 1"),
            "The 8va at measure 2 does not hold this time (clause 7.5).",
        ),
        (
            right.replace("2(8va R.H.)", "2(8va L.H.)"),
            "The 8va at measure 2 holds this time (clause 7.5).",
        ),
        (
            right.replace("3 4", "3(8va R.H.) 4"),
            "No octave sign stands over measure 3: it is played as written (clause 7.6).",
        ),
        (
            right.replace("5(8va R.H.)", "5"),
            "The 8va at measure 5 holds this time (clause 7.6).",
        ),
        (
            right.replace("5(8va R.H.) 6", "5-6(8va R.H.)"),
            "Several octave signs stand over measure 6: those that hold this time add up (clause 7.6).",
        ),
    ] {
        let (_, teacher) = explained(line, &order);
        assert!(teacher.contains(said), "{order}: {teacher}");
    }
    // Equal signs over the same measures are one (1.10).
    let (_, teacher) = explained("1 | 2 8va(R.H.) 8va(R.H.) | 3 |", "1 2(8va L.H.) 3");
    let said = "The 8va at measure 2 holds this time (clause 7.6).";
    assert!(teacher.contains(said), "{teacher}");
}

/// Rulebook, 5.6.
#[test]
fn a_repeat_inside_a_repeat_is_made_anew() {
    let line = "|: 1 |: 2 :| 3 :|x3 4 |";
    let (_, teacher) = explained(line, "1 2 2 3 1 2 3 1 2 3 4");
    let said = "sends back to measure 2, for a repeat inside a repeat is made anew each time (clause 5.6).";
    assert!(teacher.contains(said), "{teacher}");
    let (_, teacher) = explained(line, "1 2 3 1 2 3 1 2 3 4");
    assert!(
        teacher.contains("sends back to measure 2 (clause 3.2)"),
        "{teacher}"
    );
}

/// Rulebook, 4.3 and 4.11.
#[test]
fn a_sign_that_is_not_the_goal_of_the_return_is_told_so() {
    let codas = "1 | 2 To Coda:A | 3 To Coda:B | 4 D.C.(al Coda, coda A) | coda:A 5 | 6 D.C.(al Coda, coda B) | coda:B 7 |";
    for (line, order, said) in [
        (
            "1 | 2 To Coda | 3 Fine | 4 D.C. al Coda | coda 5 | 6 D.C. al Fine |",
            "1-4 1 2 5 6 1 2 5",
            "The To Coda at the end of measure 2 does not count on this return, for the D.C. or D.S. names another goal: the road goes on to measure 3 (clause 4.3).",
        ),
        (
            codas,
            "1-4 1 2 5 6 1 2 5 6 7",
            "names another goal: the road goes on to measure 3 (clause 4.11).",
        ),
        (
            "1 | 2 Fine | 3 To Coda | 4 D.C. al Coda | coda 5 | 6 D.C. al Fine |",
            "1-4 1 2",
            "The Fine at the end of measure 2 does not count on this return, for the D.C. or D.S. names another goal: the road goes on to measure 3 (clause 4.3).",
        ),
    ] {
        let (_, teacher) = explained(line, order);
        assert!(teacher.contains(said), "{line} {order}: {teacher}");
    }
}

/// Rulebook, 3.9, 4.3, 4.7, 4.9, 5.2 and 5.5: the reason is the one that holds this time.
#[test]
fn a_sign_has_the_reason_that_holds_this_time() {
    for (line, order, said) in [
        // The coda has been come to: from there on the Fine counts.
        (
            "1 To Coda | 2 D.C. al Coda | coda 3 |: 4 Fine | 5 :| 6 | 7",
            "1 2 1 3 4 6 7",
            "The Fine at the end of measure 4 does not count yet, for it waits for its last pass",
        ),
        (
            "1 | segno 2 | 3 D.C. al Segno then Coda |: coda 4 Fine | 5 :| 6 |",
            "1 2 3 1 4 6",
            "The Fine at the end of measure 4 does not count yet, for it waits for its last pass",
        ),
        // The end repeat has no pass left, so that it does not come first.
        (
            "|: 1 | 2 D.C.(passes 5) :| 3 | 4 |",
            "1 2 1 2 1 2 3 4",
            "The D.C. at the end of measure 2 does not count this time",
        ),
        // The section was left on its second pass of three.
        (
            "|: 1 | 2 D.C.(passes 2) | 3 :|x3 4 |",
            "1 2 3 1 2 1 2 3 1 2 3 4",
            "for a return counts on and this is pass 3, the last one",
        ),
    ] {
        let (_, teacher) = explained(line, order);
        assert!(teacher.contains(said), "{line}: {teacher}");
    }
}

/// Rulebook, 6.10: without its repeats a board is walked that cannot be walked with them.
#[test]
fn an_answer_without_repeats_is_judged_where_there_is_no_order_with_them() {
    for (line, reading, order) in [
        ("|: 1 | 2 :|(plays open) 3 |", "handbook", "1-3"),
        (
            "|: 1 | [1. 2 :| [2. segno 3 | 4 D.S. ] | 5 |",
            "all-repeats",
            "1 3 4 3 4 5",
        ),
    ] {
        let request = json!({
            "verb": "judge", "line": line, "answer": order, "reading": reading, "omit-repeats": true,
        });
        assert_eq!(ask(&request)["answers"][0]["verdict"], "right", "{line}");
    }
}
