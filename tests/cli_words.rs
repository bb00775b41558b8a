//! The command's words where a user has typed something that it cannot take, or where a name would be misread.

mod support {
    pub(crate) mod command;
}

use support::command::ran;

const BOARD: &str = "|: 1 | 2 :| 3 D.C. |";

/// What a command that finds nothing wrong says, its lines as one.
fn told(args: &[&str]) -> String {
    let (status, out, err) = ran(args);
    assert_eq!((status, err.as_str()), (0, ""), "{args:?}");
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn an_unknown_question_or_answer_is_told_which_there_are() {
    for (reading, words) in [
        (
            "repeats-on-return=zip",
            "`zip` does not answer `repeats-on-return`; its answers are skip, play",
        ),
        (
            "repeats-on-retrun=skip",
            "`repeats-on-retrun` is not a question of the reading; the questions are repeats-on-return, jump-in-repeat, armed-in-repeat, arming, lone-end-repeat, nested",
        ),
        ("nested=flat,nested = flat", "`nested` is answered twice"),
    ] {
        let (status, out, err) = ran(&["unroll", BOARD, "--reading", reading]);
        assert_eq!((status, out.as_str()), (2, ""), "{reading}");
        assert!(err.contains(words), "{err}");
    }
    for question in fingerpost::Question::ALL {
        for answer in question.answers() {
            let reading = format!("{}={answer}", question.name());
            let (status, _, err) = ran(&["unroll", BOARD, "--reading", &reading]);
            assert_eq!((status, err.as_str()), (0, ""), "{reading}");
        }
    }
}

#[test]
fn the_text_of_a_file_in_place_of_its_name_is_told_where_it_goes() {
    let (status, out, err) = ran(&["unroll", r#"{"board":1,"systems":[2],"markings":[]}"#]);
    assert_eq!((status, out.as_str()), (2, ""));
    assert!(
        err.contains("the text of a board file is given to `-`"),
        "{err}"
    );
    let (_, _, err) = ran(&["unroll", "nowhere.json"]);
    assert!(!err.contains("given to `-`"), "{err}");
}

#[test]
fn a_name_cannot_steer_the_terminal() {
    for command in ["unroll", "check"] {
        let (status, out, err) = ran(&[command, "no\u{1b}[31mwhere.json"]);
        assert_eq!(status, 2);
        assert!(err.starts_with("no\u{fffd}[31mwhere.json: "), "{err:?}");
        assert!(!out.contains('\u{1b}'), "{out:?}");
    }
}

#[test]
fn the_order_quotes_the_names_that_would_run_together() {
    let (status, out, _) = ran(&["unroll", r#""hut A" | "stile" :| 2 | "" |"#]);
    assert_eq!(status, 0);
    let order = out.lines().find(|line| line.starts_with("Order"));
    assert_eq!(
        order,
        Some(r#"Order: "hut A" stile "hut A" stile 2 """#),
        "{out}"
    );
}

#[test]
fn an_end_repeat_played_once_is_drawn_as_once() {
    let (_, out, _) = ran(&["board", "1 :|x1 2 :|x3 3 |"]);
    assert!(out.contains("once") && out.contains("3 times"), "{out}");
    assert!(!out.contains("1 times"), "{out}");
}

/// What stands above a board is told in one language.
#[test]
fn the_heading_is_of_one_language() {
    let line = "{meter 3/4; pickup 1/4} 1 | 2 | 3 |]";
    for (more, heading) in [
        (
            &["--language", "de"][..],
            "3 Takte, Taktart 3/4, Auftakt von 1/4 einer ganzen Note",
        ),
        (
            &["--language", "es"],
            "3 compases, compás de 3/4, anacrusa de 1/4 de redonda",
        ),
        (
            &["--bars"],
            "3 bars, meter 3/4, pickup of 1/4 of a whole note",
        ),
    ] {
        let (_, out, _) = ran(&[&["explain", line][..], more].concat());
        assert_eq!(out.lines().next(), Some(heading), "{more:?}");
    }
}

#[test]
fn who_says_bar_reads_of_no_measure() {
    let cut = "{meter 4/4} 1 | segno 2 Fine@2 | 3 D.S. al Fine |]";
    for args in [
        &["unroll", cut][..],
        &["unroll", "1 | 2 :|(plays open)"],
        &["judge", "1 | 2 |]", "x"],
        &["how-long", "1 | 2 :|(plays open)"],
    ] {
        let (_, out, err) = ran(&[args, &["--bars"]].concat());
        let said = [out.as_str(), err.as_str()].concat();
        assert!(said.contains("bar"), "{args:?}: {said}");
        assert!(!said.contains("measure"), "{args:?}: {said}");
    }
}

#[test]
fn the_share_of_an_answer_that_is_too_long_says_of_what() {
    let (_, out, _) = ran(&["judge", "1 | 2 |]", "1 2 1 2"]);
    let credit = "Right from the beginning: 2 of 2 steps. In order: 2 of the 4 given (50 %).";
    assert!(out.contains(credit), "{}", out);
}

/// Nobody who is told of it has laid the measure there.
#[test]
fn a_learner_is_not_blamed_for_a_measure_never_played() {
    let line = "1 To Coda | 2 D.C. al Coda | 3 | coda 4 |]";
    let (_, out, _) = ran(&["explain", "--learner", line]);
    assert!(!out.contains("you missed"), "{}", out);
    assert!(
        out.contains("In measure 3: The way never comes here."),
        "{}",
        out
    );
}

#[test]
fn a_list_of_several_times_is_told_in_the_plural() {
    let line = "|: 1 D.C.(passes 1-2) | 2 D.C.(passes 1) | 3 Fine(arrivals 9) | 4 To Coda(arrivals 1 3) :|x3 coda 5 |";
    let (_, out, _) = ran(&["board", line]);
    for words in ["(passes 1,2)", "(pass 1)", "(arrival 9)", "(arrivals 1,3)"] {
        assert!(out.contains(words), "{words}: {out}");
    }
}

/// That a board can be read in another way is said in the language and the register asked for, and the teacher's talk of readings to nobody else.
#[test]
fn an_open_board_is_told_of_in_every_language_and_register() {
    for (language, teacher, learner) in [
        (
            "en",
            "Other readings play it",
            "One can read it in another order",
        ),
        (
            "de",
            "auch in anderer Reihenfolge gelesen",
            "Frag, welcher Weg",
        ),
        (
            "es",
            "se lee también en otro orden",
            "Pregunta por qué camino",
        ),
    ] {
        let line = "|: 1 | 2 :| 3 D.C. |";
        let settled = "{repeats-on-return skip} |: 1 | 2 :| 3 D.C. |";
        let to = ["explain", "--language", language];
        for (register, words) in [(&[][..], teacher), (&["--learner"], learner)] {
            let explained = |line| told(&[&to, register, &[line]].concat());
            let is_said = language != "en";
            // Where the findings are told in the same language, one of them says it.
            assert_eq!(explained(line).contains(words), is_said, "{language}");
            assert!(!explained(settled).contains(words), "{language}");
        }
    }
    let out = told(&["unroll", "--learner", "|: 1 | 2 :| 3 D.C. |"]);
    assert!(out.contains("One can read it in another order"), "{out}");
    for not in ["ettled", "repeats-on-return", "fingerpost"] {
        assert!(!out.contains(not), "{out}");
    }
    let out = told(&[
        "unroll",
        "--learner",
        "{repeats-on-return skip} |: 1 :| 2 D.C. |",
    ]);
    assert!(
        !out.contains("another order") && !out.contains("ettled"),
        "{out}"
    );
}
