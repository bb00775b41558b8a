//! Answers judged through the JSON door and by the command, and answers of any kind on boards of any kind.

mod support {
    pub(crate) mod answers;
    pub(crate) mod command;
}
#[path = "support/trials/mod.rs"]
mod trials;

use std::fs;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use fingerpost::{
    Answer, AnswerStep, AnswerVerdict, Backing, Board, Judge, MOST_STEPS_OF_ANSWER, Octaves,
    Phrasebook, Terms,
};
use serde_json::{Value, json};

use support::answers::valid;
use support::command::ran;
use trials::chance::{self, Dice};

/// Invented: two repeats and a D.C. al Fine.
const BOARD: &str = "1 |: 2 | [1. 3 :| [2. 4 ] | 5 Fine | 6 D.C. al Fine |";

fn ask(request: &Value) -> Value {
    let answer = fingerpost_json::answer(&request.to_string());
    valid("judge", &answer)
}

fn refused(request: &Value) -> String {
    let answer = fingerpost_json::answer(&request.to_string());
    let answer = valid("error", &answer);
    answer["error"]["message"].as_str().unwrap().to_owned()
}

#[test]
fn an_answer_in_any_form_is_the_same_answer() {
    let mut all = Vec::new();
    for form in [
        json!("1-6"),
        json!("1, 2, 3, 4, 5, 6"),
        json!([1, 2, 3, 4, 5, 6]),
        json!(["1-3", 4, "5", { "measure": 6 }]),
    ] {
        let answer = ask(&json!({ "verb": "judge", "line": BOARD, "answer": form }));
        let judged = &answer["answers"][0];
        assert_eq!(judged["verdict"], "wrong");
        assert_eq!(judged["difference"]["step"], 4);
        assert_eq!(judged["difference"]["kind"], "other-measure");
        assert_eq!(judged["difference"]["given"]["measure"], 4);
        assert_eq!(judged["difference"]["expected"]["measure"], 2);
        assert_eq!(judged["difference"]["expected"]["cause"], "repeat");
        assert_eq!(judged["difference"]["expected"]["clause"], "3.2");
        all.push(answer);
    }
    assert!(all.iter().all(|answer| *answer == all[0]));
}

#[test]
fn a_printed_name_is_a_measure() {
    let line = r#"|: "7" | "8" :| "9" |"#;
    let answer = ask(&json!({ "verb": "judge", "line": line, "answer": "7 8 7-9" }));
    assert_eq!(answer["answers"][0]["verdict"], "right");
    let answer = ask(&json!({ "verb": "judge", "line": line, "answer": [1, 2, 1, 2, 3] }));
    assert_eq!(answer["answers"][0]["verdict"], "right");
}

#[test]
fn octaves_are_told_by_hand() {
    let line = "|: 8va(R.H., on repeat) 1 | 2 :| 3 |";
    let step = json!({ "measure": 1, "octave": { "right": 1 } });
    let right = json!([1, 2, step, 2, 3]);
    let answer = ask(&json!({ "verb": "judge", "line": line, "answer": right }));
    assert_eq!(answer["answers"][0]["verdict"], "right");
    let early = json!([step, 2, 1, 2, 3]);
    let answer = ask(&json!({ "verb": "judge", "line": line, "answer": early }));
    let judged = &answer["answers"][0];
    assert_eq!(judged["difference"]["kind"], "other-octave");
    let ideas = &judged["explanations"][0]["misunderstandings"];
    assert_eq!(*ideas, json!(["octave-at-the-wrong-time"]));
}

#[test]
fn another_published_reading_is_never_wrong() {
    let line = "|: 1 | 2 :| 3 D.C. |";
    let answer = ask(&json!({ "verb": "judge", "line": line, "answer": "1-2 1-3 1-2 1-3" }));
    let judged = &answer["answers"][0];
    assert_eq!(judged["verdict"], "right-under");
    assert_eq!(judged["readings"], json!(["all-repeats"]));
    assert_eq!(judged.get("explanations"), None);
    assert_eq!(answer["settled"], false);
    // What a performer chooses is part of the terms, and no other reading.
    let request =
        json!({ "verb": "judge", "line": line, "answer": "1-3 1-3", "omit-repeats": true });
    assert_eq!(ask(&request)["answers"][0]["verdict"], "right");
}

/// The sources are those of the rulebook, 6.1 to 6.6.
#[test]
fn an_answer_that_no_book_gives_is_neither_wrong_nor_called_published() {
    for (line, order, backing, ideas) in [
        (
            "|: 1 | 2 :| 3 D.C. |",
            "1-2 1-3 1-2 1-3",
            "published",
            json!(null),
        ),
        (
            "|: 1 :: 2 Fine :| 3 D.C. al Fine |]",
            "1 1 2 2 3 1 1 2",
            "nobody",
            json!(null),
        ),
        (
            "|: 1 | 2 To Coda :| 3 D.C. al Coda | coda 4 |]",
            "1-2 1-2 4",
            "files",
            json!([{ "fit": "whole", "misunderstandings": ["to-coda-on-the-first-leg"] }]),
        ),
    ] {
        let request = json!({ "verb": "judge", "line": line, "answer": order });
        let answer = ask(&request);
        let judged = &answer["answers"][0];
        assert_eq!(judged["verdict"], "right-under", "{line}");
        assert_eq!(judged["backing"], backing, "{line}");
        assert_eq!(judged["explanations"], ideas, "{line}");
        let published = backing == "published";
        let teacher = judged["teacher"][0].as_str().unwrap_or_default();
        let learner = judged["learner"][0].as_str().unwrap_or_default();
        assert_eq!(
            teacher.starts_with("Right under another published reading."),
            published
        );
        assert_eq!(learner.contains("teachers and books read it so"), published);
        let summary = &answer["summary"];
        assert_eq!(summary["right-under"], 1);
        assert_eq!(summary["wrong"], 0);
        assert_eq!(summary["misunderstandings"], json!([]));
        let nobody = (backing == "nobody").then_some(1);
        assert_eq!(summary["published-by-nobody"], json!(nobody));
    }
}

#[test]
fn what_stands_where_the_road_goes_on_is_named() {
    for (line, order, said) in [
        (
            "1 Fine | 2 | 3 D.C. al Fine |]",
            "1",
            "The Fine at the end of measure 1 does not count yet: it waits for the return.",
        ),
        (
            "1 :|x4 2 |]",
            "1 1 1 1 1 2",
            "The end repeat at the end of measure 1 sends back no more, for the repeat has been played 4 times:",
        ),
        (
            "1 | segno 2 | 3 To Coda | 4 | 5 D.S. al Coda | coda 6 | 7 |]",
            "1-3 6-7",
            "The To Coda at the end of measure 3 does not count yet: it waits for the return.",
        ),
        (
            "|: 1 | 2 Fine :| 3 D.C. al Fine |]",
            "1-2 1-2",
            "The Fine at the end of measure 2 does not count yet: it waits for the return.",
        ),
        (
            "|: 1 | 2 :| 3 D.C. senza rep. |]",
            "1-2 1-3 1-2 1-3",
            "The end repeat at the end of measure 2 does not send back on this return, for its repeat is not made again after a D.C. or D.S.:",
        ),
        (
            "1 | 2 D.C. | 3 |]",
            "1-2 1-2 1-2",
            "The D.C. at the end of measure 2 has done its work and counts no more:",
        ),
        (
            "|: 1 | [1,2. 2 :| [3. 3 ] | 4 |",
            "1 3 4",
            "There ending 1,2 at measure 2 is for this pass: the road goes on to measure 2 (clause 3.6).",
        ),
        (
            "|: 1 To Coda | [1. 2 :| [2. 3 ] | 4 D.C. al Coda | coda 5 |",
            "1 3",
            "There ending 1 at measure 2 is for this pass:",
        ),
        (
            "|: 1 To Coda | [1. 2 :| [2. 3 ] | 4 D.C. al Coda | coda 5 |",
            "1 5",
            "The To Coda at the end of measure 1 does not count yet: it waits for the return.",
        ),
        ("1 | 2 | 3 |]", "1 3", "Nothing moves the road there:"),
    ] {
        let answer = ask(&json!({ "verb": "judge", "line": line, "answer": order }));
        let teacher = answer["answers"][0]["teacher"][1].as_str();
        let teacher = teacher.unwrap_or_default();
        assert!(teacher.starts_with(said), "{line}: {teacher}");
    }
}

#[test]
fn an_answer_that_breaks_off_is_told_so_and_not_by_slips() {
    let line = "1 | 2 | 3 | 4 | 5 | 6 | 7 | 8 |]";
    for (order, said) in [
        (
            "1-5",
            "It looks like no misunderstanding: so far the answer is right, and then it breaks off.",
        ),
        (
            "1 3 4",
            "It may be no misunderstanding: but for one slip the answer is right so far; then it breaks off, after 3 of 8 steps.",
        ),
        (
            "1 2 4-8",
            "It may be no misunderstanding: one slip away from the right order.",
        ),
    ] {
        let answer = ask(&json!({ "verb": "judge", "line": line, "answer": order }));
        let teacher = answer["answers"][0]["teacher"].to_string();
        assert!(teacher.contains(said), "{order}: {teacher}");
    }
    // An answer that ends where the music does has left something out, and is not broken off; many slips say nothing.
    let line = "1 | 2 :| 3 | 4 |: 5 | 6 | 7 | 8 :| 9 | 10 | 11 | 12 |]";
    let answer = ask(&json!({ "verb": "judge", "line": line, "answer": "1 2 1-12" }));
    let teacher = answer["answers"][0]["teacher"].to_string();
    assert!(
        teacher.contains("No misunderstanding of the catalogue"),
        "{teacher}"
    );
    // Who has made the repeat has not overlooked it, though a slip would lead there from the order of one who has.
    let answer = ask(&json!({ "verb": "judge", "line": "1 | 2 :| 3 |", "answer": "1 2 1" }));
    let teacher = answer["answers"][0]["teacher"].to_string();
    assert!(teacher.contains("so far the answer is right"), "{teacher}");
    assert!(!teacher.contains("repeat-ignored"), "{teacher}");
}

#[test]
fn a_vamp_needs_its_number_of_plays() {
    let line = "|: 1 | 2 :|(plays open) 3 |";
    let request = json!({ "verb": "judge", "line": line, "answer": "1-2 1-2 1-3" });
    assert!(
        refused(&request).contains("say how many times"),
        "{}",
        refused(&request)
    );
    let request = json!({ "verb": "judge", "line": line, "answer": "1-2 1-2 1-3", "plays": 3 });
    assert_eq!(ask(&request)["answers"][0]["verdict"], "right");
}

#[test]
fn a_class_is_counted() {
    let answers = json!([
        { "pupil": "A1", "answer": "1-3 2 4-6 1-2 4-5" },
        { "pupil": "B2", "answer": "1-3 2 4 5" },
        { "pupil": "C3", "answer": "1-3 2 4 5" },
        { "pupil": "D4", "answer": "one" },
        { "answer": [] },
    ]);
    let answer = ask(&json!({ "verb": "judge", "line": BOARD, "answers": answers }));
    let summary = &answer["summary"];
    assert_eq!(
        (&summary["right"], &summary["wrong"]),
        (&json!(1), &json!(3))
    );
    assert_eq!(summary["not-readable"], 1);
    let idea = &summary["misunderstandings"][0];
    assert_eq!(idea["misunderstanding"], "fine-on-the-first-leg");
    assert_eq!(idea["answers"], 2);
    assert_eq!(idea["pupils"], json!(["B2", "C3"]));
    assert_eq!(summary["teach-next"][0], "da-capo-al-fine");
    // What helps with each of them is told with it.
    let ideas = summary["misunderstandings"].as_array().unwrap();
    for idea in ideas {
        let name = idea["misunderstanding"].as_str().unwrap();
        let page = json!({ "verb": "explain", "name": name }).to_string();
        let page = &valid("explain", &fingerpost_json::answer(&page))["misunderstanding"];
        assert!(!ideas.is_empty() && idea["deal"] == page["deal"], "{name}");
        for key in ["say", "practise"] {
            let lines = page[key].as_str().unwrap().replace('\n', " ");
            assert_eq!(idea[key].as_str().unwrap(), lines, "{name}");
        }
    }
    let unread = &answer["answers"][3];
    assert_eq!(unread["verdict"], "not-readable");
    assert_eq!(unread["complaint"]["message"], "`one` is no measure");
    assert_eq!(answer["answers"][4]["difference"]["kind"], "empty");
}

#[test]
fn what_cannot_be_judged_says_why() {
    for (request, told) in [
        (json!({ "verb": "judge", "line": BOARD }), "no answer"),
        (json!({ "verb": "judge", "answer": "1" }), "no board"),
        (
            json!({ "verb": "judge", "line": BOARD, "answer": "1", "answers": [] }),
            "give either",
        ),
        (
            json!({ "verb": "judge", "line": BOARD, "answer": "1 4-2" }),
            "runs backwards",
        ),
        (
            json!({ "verb": "judge", "line": BOARD, "answer": 7 }),
            "invalid type",
        ),
        (
            json!({ "verb": "judge", "line": BOARD, "answer": [true] }),
            "invalid type",
        ),
        (
            json!({ "verb": "judge", "line": BOARD, "answer": [-1] }),
            "invalid type",
        ),
        (
            json!({ "verb": "judge", "line": "1 | 2 D.S. |", "answer": "1" }),
            "1 error and no route",
        ),
        (
            json!({ "verb": "judge", "line": BOARD, "answer": "1-100001" }),
            "100000 steps",
        ),
        (
            json!({ "verb": "judge", "line": BOARD, "answers": vec![json!({ "answer": "1" }); 10_001] }),
            "10000 answers",
        ),
        (
            json!({ "verb": "judge", "line": BOARD, "answers": vec![json!({ "answer": "1-99999" }); 11] }),
            "1000000 steps",
        ),
    ] {
        let message = refused(&request);
        assert!(message.contains(told), "{told}: {message}");
    }
}

fn written(name: &str, text: &str) -> PathBuf {
    let folder = std::env::temp_dir().join(format!("fingerpost-judge-verb-{}", std::process::id()));
    fs::create_dir_all(&folder).unwrap();
    let path = folder.join(name);
    fs::write(&path, text).unwrap();
    path
}

#[test]
fn the_command_tells_teacher_and_pupil_and_ends_with_what_it_found() {
    let (status, out, err) = ran(&["judge", BOARD, "1-3", "2", "4-6", "1-2", "4-5"]);
    assert_eq!((status, err.as_str()), (0, ""));
    assert!(
        out.contains("Right, from the first step to the last: 11 steps."),
        "{out}"
    );
    let (status, out, err) = ran(&["judge", BOARD, "1-3 2 4 5"]);
    assert_eq!((status, err.as_str()), (1, ""));
    assert!(out.contains("(fine-on-the-first-leg)"), "{out}");
    assert!(out.contains("To the pupil:"), "{out}");
    for args in [
        &["judge", BOARD, "1 zwei"][..],
        &["judge", "1 | 2 D.S. |", "1 2"],
        &["judge", BOARD],
        &["judge", BOARD, "nowhere.json"],
        &["judge", BOARD, "--class", "nowhere.csv"],
    ] {
        let (status, out, err) = ran(args);
        assert_eq!((status, out.as_str()), (2, ""), "{args:?}");
        assert!(!err.is_empty(), "{args:?}");
    }
}

#[test]
fn the_command_reads_answers_from_files() {
    let right = written("right.json", "[1, 2, 3, 2, 4, 5, 6, 1, 2, 4, 5]");
    let (status, _, err) = ran(&["judge", BOARD, right.to_str().unwrap()]);
    assert_eq!((status, err.as_str()), (0, ""));
    let many = written(
        "many.json",
        r#"{ "answers": [{ "pupil": "A1", "answer": "1-3 2 4-6 1 2 4 5" }] }"#,
    );
    let (status, out, _) = ran(&["judge", "--json", BOARD, many.to_str().unwrap()]);
    assert_eq!(status, 0);
    assert_eq!(valid("judge", &out)["answers"][0]["pupil"], "A1");
    let class = written(
        "class.csv",
        "pupil;answer\nA1;1-3 2 4-6 1-2 4-5\nB2;1-6\nC3;2. Mrz\n",
    );
    let (status, out, _) = ran(&["judge", BOARD, "--class", class.to_str().unwrap()]);
    assert_eq!(status, 1);
    for told in [
        "A1: right",
        "B2: repeat-ignored",
        "C3: not readable",
        "3 answers: 1 right, 1 not yet right, 1 not readable.",
        "1-4 for a date",
        "Teach next: start-and-end-repeat",
    ] {
        assert!(out.contains(told), "{told}\n{out}");
    }
}

#[test]
fn the_help_says_what_becomes_of_childrens_data() {
    let (status, out, _) = ran(&["judge", "--help"]);
    assert_eq!(status, 0);
    let out = out.split_whitespace().collect::<Vec<_>>().join(" ");
    for told in [
        "nothing is sent, and nothing is stored",
        "initials or numbers",
        "come first",
    ] {
        assert!(out.contains(told), "{told}");
    }
}

/// Boards by chance, and on each answers by chance: none panics, each is bounded, and what is told of it holds.
#[test]
fn answers_of_any_kind_are_judged() {
    let mut judged = 0;
    for seed in 0..1_500 {
        let mut dice = Dice::new(seed);
        let board = if seed % 2 == 0 {
            chance::from_pieces(&mut dice)
        } else {
            chance::wild(&mut dice)
        };
        let terms = Terms {
            reading: dice.reading(),
            omit_repeats: dice.once_in(8),
            open_plays: Some(2),
        };
        let Ok(judge) = Judge::new(&board, &terms) else {
            continue;
        };
        for _ in 0..4 {
            let answer = any_answer(&mut dice, &judge, &board);
            let begun = Instant::now();
            let judgement = judge.judge(&answer);
            assert!(begun.elapsed() < Duration::from_secs(5), "{seed}");
            let right = judge.roadmap().steps().map(|step| u32::from(step.measure));
            let given = answer.steps().iter().map(|step| step.measure);
            let same = judge.roadmap().length() == answer.steps().len() as u64 && right.eq(given);
            let is_right = judgement.verdict == AnswerVerdict::Right;
            // A cut measure may be named once or part by part (held exactly in `judged.rs`).
            let is_cut = board.markings().iter().any(|it| it.place().cut().is_some());
            let squeezed = |measures: &mut dyn Iterator<Item = u32>| {
                let mut all: Vec<u32> = measures.collect();
                all.dedup();
                all
            };
            let told_so = is_cut && {
                let given = squeezed(&mut answer.steps().iter().map(|step| step.measure));
                let most = 2 * answer.steps().len() * usize::from(board.measures()) + 1_000;
                let right = judge.roadmap().steps().take(most);
                given == squeezed(&mut right.map(|step| u32::from(step.measure)))
            };
            assert!(!is_right || same || told_so, "{seed}");
            assert!(is_right || !same || answer.gives_octaves(), "{seed}");
            assert!((0.0..=1.0).contains(&judgement.share()), "{seed}");
            assert_eq!(judgement.difference.is_none(), is_right, "{seed}");
            let may_explain = match judgement.verdict {
                AnswerVerdict::Right => false,
                AnswerVerdict::RightUnder(route) => judge.backing(route) != Backing::Published,
                AnswerVerdict::Wrong => true,
            };
            assert!(judgement.explanations.is_empty() || may_explain, "{seed}");
            let words = Phrasebook::default().judgement(&board, &judge, &judgement);
            let all = words.teacher.iter().chain(&words.learner);
            assert!(all.clone().count() >= 2, "{seed}");
            for text in all {
                assert!(!text.contains(['{', '}']), "{seed}: {text}");
            }
            judged += 1;
        }
    }
    assert!(judged > 1_500, "{judged}");
}

/// The right order with some changes, or anything.
fn any_answer(dice: &mut Dice, judge: &Judge, board: &Board) -> Answer {
    let wild = dice.once_in(3);
    let octaves = dice.once_in(3);
    let measures = usize::from(board.measures());
    let mut steps: Vec<AnswerStep> = if wild {
        let steps = dice.below(80);
        (0..steps)
            .map(|_| AnswerStep {
                measure: u32::try_from(dice.below(measures + 3)).unwrap(),
                octave: None,
            })
            .collect()
    } else {
        let right = judge.roadmap().steps().take(400);
        let right = right.map(|step| AnswerStep {
            measure: u32::from(step.measure),
            octave: octaves.then_some(step.octave),
        });
        right.collect()
    };
    for _ in 0..dice.below(4) {
        let at = dice.below(steps.len().max(1));
        match dice.below(4) {
            0 if at < steps.len() => drop(steps.remove(at)),
            1 if at + 1 < steps.len() => steps.swap(at, at + 1),
            2 => steps.truncate(at),
            _ => steps.insert(
                at.min(steps.len()),
                AnswerStep {
                    measure: u32::try_from(dice.below(measures + 2)).unwrap(),
                    octave: octaves.then_some(Octaves {
                        right: 1,
                        left: -128,
                    }),
                },
            ),
        }
    }
    Answer::of_steps(steps).unwrap()
}

/// The longest answers there may be, on boards with many signs, are judged in bounded time.
#[test]
fn the_longest_answers_are_judged_in_bounded_time() {
    let busy =
        "|: 1 To Coda | segno 2 | [1. 3 :| [2. 4 Fine ] | 5 D.S. al Coda | coda 6 | 7 D.C. |";
    let endless: Vec<u32> = [1, 2, 3, 1, 2, 4, 5, 2, 4, 5].to_vec();
    let long = Board::builder([40_000]).build().unwrap();
    for (board, cycle) in [
        (busy.parse::<Board>().unwrap(), endless),
        ("1 | 2 D.C. |".parse().unwrap(), vec![1, 2]),
        (long, (1..=40_000).collect()),
    ] {
        let judge = Judge::new(&board, &Terms::default()).unwrap();
        let steps = cycle.iter().copied().cycle().take(MOST_STEPS_OF_ANSWER);
        let answer = Answer::of(steps).unwrap();
        let begun = Instant::now();
        let judgement = judge.judge(&answer);
        let took = begun.elapsed();
        println!("{took:?} {:?}", judgement.explanations.first());
        assert_eq!(judgement.verdict, AnswerVerdict::Wrong);
        assert!(took < Duration::from_secs(60), "{took:?}");
    }
}

#[test]
fn a_class_with_a_fault_is_told_where() {
    for (name, text, told) in [
        (
            "open.csv",
            "pupil,answer\nA1,\"1-6\nB2,1-6\n",
            "line 2: the quote is not closed",
        ),
        ("empty.csv", "pupil,answer\n", "there is no answer in it"),
        (
            "wide.csv",
            "pupil,answer\n\nA1,1, 2\n",
            "line 3 has more columns",
        ),
    ] {
        let path = written(name, text);
        let (status, out, err) = ran(&["judge", BOARD, "--class", path.to_str().unwrap()]);
        assert_eq!((status, out.as_str()), (2, ""), "{name}");
        assert!(err.contains(told), "{err}");
    }
    let twice = written("twice.csv", "pupil,answer\nA1,1-6\nB2,1-6\nA1,1-6\n");
    let (status, out, _) = ran(&["judge", BOARD, "--class", twice.to_str().unwrap()]);
    assert_eq!(status, 1);
    assert!(out.contains("More than one answer each: A1."), "{out}");
}

#[test]
fn a_json_file_may_be_a_list_of_pupils() {
    let text = r#"[{ "pupil": "A1", "answer": "1-6" }, { "pupil": "B2", "answer": [1, 2] }]"#;
    let path = written("list.json", text);
    let (status, out, _) = ran(&["judge", BOARD, path.to_str().unwrap()]);
    assert_eq!(status, 1);
    assert!(out.contains("A1: repeat-ignored"), "{out}");
    let path = written("other.json", r#"[{ "name": "A1" }]"#);
    let (status, _, err) = ran(&["judge", BOARD, path.to_str().unwrap()]);
    assert_eq!(status, 2);
    assert!(
        err.contains(r#"[{"pupil": "A1", "answer": "1-4 1 2 5"}]"#),
        "{err}"
    );
}

#[test]
fn an_order_on_a_cut_board_is_right_in_both_spellings() {
    let line = "{meter 4/4} 1 | 2 Fine@2 | 3 D.C. al Fine |]";
    for answer in ["1-3 1-2", "1 2 2 3 1 2"] {
        let (status, out, _) = ran(&["judge", line, answer]);
        assert_eq!(status, 0, "{out}");
    }
}
