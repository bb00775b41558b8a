//! A board in words: the route and the findings as a learner and a teacher are told them, the words that a learner is told them in, and the
//! door's answer.

#[path = "support/answers.rs"]
mod answers;
#[path = "support/command.rs"]
mod command;
mod support;

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use answers::valid;
use command::ran;
use fingerpost::{
    Board, Cause, MeasureWord, Move, Phrasebook, Register, Roadmap, Terms, Told, check, rules,
};
use proptest::prelude::*;
use serde_json::{Value, json};

use support::boards::{any_laid_board, any_short_board};
use support::words::{kind, vocabulary, words, words_of_learners};

/// The most words of a sentence for learners: of one about a rule, and of one about a route, in which signs and places have names.
const MOST_WORDS_OF_A_RULE: usize = 16;
const MOST_WORDS_OF_A_ROUTE: usize = 20;

// As it is read. Each of these was read aloud before it was taken in.

#[test]
fn every_example_board_is_told_to_learners_and_to_teachers() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/boards");
    let mut boards: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    boards.sort();
    assert!(boards.len() >= 18, "{}", boards.len());
    for (register, flags) in [("learner", &["--learner"][..]), ("teacher", &[])] {
        let mut text = String::new();
        for board in &boards {
            let path = board.to_str().unwrap();
            // Two of the times until the signal.
            let args = [&["explain", "--plays", "2", path], flags].concat();
            let (status, out, err) = ran(&args);
            assert_eq!((status, err.as_str()), (0, ""), "{path}");
            text.push_str(&out);
            text.push_str("\n----\n");
        }
        insta::assert_snapshot!(format!("route-{register}"), text);
    }
}

/// One board with nearly every sign, in each other language.
#[test]
fn a_board_is_told_in_other_languages() {
    let board = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/boards/the-high-hut.json");
    let line = "|: 1 | 2 :|(plays 3) 3 Fine | 4 fermata D.C. al Fine |";
    for language in Phrasebook::languages().filter(|language| *language != "en") {
        let mut text = String::new();
        for board in [board.to_str().unwrap(), line] {
            for flags in [&["--learner"][..], &[]] {
                let args = [&["explain", "--language", language, board], flags].concat();
                let (status, out, err) = ran(&args);
                assert_eq!((status, err.as_str()), (0, ""), "{language}");
                text.push_str(&out);
                text.push_str("\n----\n");
            }
        }
        insta::assert_snapshot!(format!("route-{language}"), text);
    }
}

#[test]
fn a_learner_is_told_no_command_where_there_is_more() {
    let many = vec!["1 To Coda |"; 50].join(" ");
    let nested = "|: 1 | [1-9. 2 :| [10. 3 ] | 4 ".repeat(40);
    for line in [many, nested + "|"] {
        let (_, teacher, _) = ran(&["explain", &line]);
        assert!(
            teacher.contains("; `fingerpost check`") || teacher.contains("`fingerpost unroll`")
        );
        let (_, out, _) = ran(&["explain", "--learner", &line]);
        assert!(out.contains(" more.\n"), "{out}");
        assert!(!out.contains("`fingerpost"), "{out}");
        assert!(out.lines().all(|line| line == line.trim_end()), "{out}");
    }
}

#[test]
fn a_board_with_errors_is_told_what_is_found() {
    let line = "|: 1 | 2 :| 3 D.C. al Fine | 4 D.S. |";
    for (register, flags) in [
        ("learner", &["--learner", "--bars"][..]),
        ("teacher", &["--bars"]),
    ] {
        let (status, out, _) = ran(&[&["explain", line], flags].concat());
        assert_eq!(status, 1);
        insta::assert_snapshot!(format!("findings-{register}"), out);
    }
}

#[test]
fn moves_that_come_again_and_again_are_told_once() {
    let long = "|: 1 |: 2 :| 3 :|(plays 100) 4 |]";
    let (status, out, _) = ran(&["explain", "--learner", long]);
    assert_eq!(status, 0);
    assert!(!out.contains('`'), "a learner types no command: {out}");
    insta::assert_snapshot!("again", out);
    // Whatever the number, there is an answer at once.
    let (status, out, _) = ran(&["unroll", "|: 1 | 2 :|(plays 1000000) 3 |]"]);
    assert_eq!(status, 0);
    assert!(out.contains("and so on"), "{out}");
}

fn moves(line: &str, language: &str, register: Register) -> Vec<Move> {
    let board: Board = line.parse().unwrap();
    let roadmap = Roadmap::new(&board, &Terms::default()).unwrap();
    let book = Phrasebook::of(language, register).unwrap();
    book.moves(&board, &roadmap).collect()
}

#[test]
fn who_comes_to_a_repeat_anew_is_told_to_count_anew() {
    let anew = "Here you count from one again: this is your second time.";
    for (line, told) in [
        ("|: 1 |: 2 :| 3 :| 4 |]", &[false, false, true][..]),
        ("|: 1 | 2 :| 3 D.C. con rep. |]", &[false, true]),
        // Nobody has been there before.
        ("1 | 2 D.C. |: 3 :| 4 |]", &[false]),
        ("|: 1 :|: 2 :| 3 |]", &[false, false]),
    ] {
        let moves = moves(line, "en", Register::Learner);
        let back = moves.iter().filter(|it| it.run.cause == Cause::Repeat);
        let back: Vec<bool> = back
            .map(|it| {
                assert!(it.why.ends_with("his is your second time."), "{}", it.why);
                it.why.ends_with(anew)
            })
            .collect();
        assert_eq!(back, told, "{line}");
    }
    let thrice = moves("|: 1 |: 2 :|x3 3 :| 4 |]", "en", Register::Learner);
    let last = "Here you count from one again: this is your third time, and the last.";
    assert!(thrice[5].why.ends_with(last), "{}", thrice[5].why);
}

#[test]
fn words_that_ask_for_the_repeats_on_a_return_are_told() {
    let told = |line: &str, language, register| -> Vec<String> {
        let moves = moves(line, language, register).into_iter();
        moves.flat_map(|it| it.notes).collect()
    };
    let con = "|: 1 | 2 :| 3 |: 4 :| 5 D.C. con rep. |]";
    for (register, says) in [
        (
            Register::Teacher,
            "The words con ripetizione at this D.C. have the repeats made again.",
        ),
        (
            Register::Learner,
            "The words at this D.C. mean: make the repeats again.",
        ),
    ] {
        assert_eq!(told(con, "en", register), [says], "once for a return");
        for language in Phrasebook::languages() {
            assert_eq!(told(con, language, register).len(), 1, "{language}");
        }
        let ds = "|: 1 | segno 2 :| 3 D.S. con rep. |]";
        let says = says.replace("D.C.", "D.S.");
        assert_eq!(told(ds, "en", register), [says]);
        let none = told("1 | 2 D.C. con rep. |: 3 :| 4 |]", "en", register);
        assert_eq!(none, [""; 0], "there is none to make again");
    }
    // Who asks for no repeats has them left out by that, and by no words.
    let omitting = &["explain", "--omit-repeats", "1 D.C. con rep. |: 2 :| 3 |"];
    let (_, out, _) = ran(omitting);
    let out = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(out.contains("Repeats are left out, as asked for."), "{out}");
    assert!(!out.contains("The words "), "{out}");
    for args in [&["explain", con][..], &["unroll", con]] {
        let (status, out, _) = ran(args);
        assert_eq!(status, 0);
        assert!(out.contains("con ripetizione"), "{out}");
    }
}

// The words.

#[test]
fn a_learner_is_told_of_every_rule_in_short_plain_sentences() {
    let book = Phrasebook::of("en", Register::Learner).unwrap();
    for rule in rules() {
        let told = book.rule(rule.name).expect(rule.name);
        plain(rule.name, &told, MOST_WORDS_OF_A_RULE);
        assert!(told.starts_with(char::is_uppercase), "{}", rule.name);
        assert!(told.ends_with(['.', '?']), "{}: {told}", rule.name);
    }
    assert_eq!(book.rule("no-such-rule"), None);
}

#[test]
fn a_learner_is_told_of_every_sign_in_short_plain_sentences() {
    let book = Phrasebook::of("en", Register::Learner).unwrap();
    for sign in Phrasebook::signs() {
        let told = book.sign(sign).expect(sign);
        plain(sign, &told, MOST_WORDS_OF_A_RULE);
    }
    assert_eq!(book.sign("no-such-sign"), None);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: support::cases(2000), max_local_rejects: 10_000_000, max_global_rejects: 1_000_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_learner_is_told_of_any_board_in_short_plain_sentences(short in any_short_board(), laid in any_laid_board()) {
        for board in [short, laid] {
            // Printed names are the board's own words, and may hold quotes.
            if board.measure_numbers().is_none() {
                told_plainly(&board);
            }
        }
    }

    /// What is told, with what comes again counted, is the whole route.
    #[test]
    fn what_is_told_is_the_whole_route(board in any_short_board()) {
        let terms = Terms { open_plays: Some(9), ..Terms::default() };
        let Ok(roadmap) = Roadmap::new(&board, &terms) else { return Ok(()) };
        let book = Phrasebook::of("en", Register::Learner).unwrap();
        let route = book.route(&board, &roadmap, usize::MAX);
        let mut steps: Vec<u64> = Vec::new();
        for told in &route.told {
            match told {
                Told::Move(it) => {
                    prop_assert_eq!(it.run.index, steps.iter().sum::<u64>());
                    steps.push(it.run.steps);
                }
                Told::Again { moves, times, .. } => {
                    let row = steps[steps.len() - *moves as usize..].to_vec();
                    (0..*times).for_each(|_| steps.extend(&row));
                }
            }
        }
        // Of a very long one the end is only counted.
        prop_assert_eq!(route.ending.is_some(), route.left == 0);
        prop_assert_eq!(steps.iter().sum::<u64>() + route.left, roadmap.length());
    }

    /// Where measures are bars, no measure is left; and nothing else is changed.
    #[test]
    fn a_measure_is_a_bar_everywhere_or_nowhere(board in any_laid_board()) {
        if board.measure_numbers().is_some() {
            return Ok(());
        }
        for register in [Register::Teacher, Register::Learner] {
            let book = Phrasebook::of("en", register).unwrap();
            let bars = book.with_measures(MeasureWord::Bar);
            for (measures, bars) in sentences(&board, book).into_iter().zip(sentences(&board, bars)) {
                let swapped = measures.replace("Measure", "Bar").replace("measure", "bar");
                prop_assert_eq!(swapped, bars);
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: support::cases(500), max_local_rejects: 10_000_000, max_global_rejects: 1_000_000, failure_persistence: None, ..ProptestConfig::default() })]

    /// Every phrase of every language is filled in, and begins and ends as a sentence does.
    #[test]
    fn every_language_tells_any_board_in_whole_sentences(board in any_laid_board()) {
        let terms = Terms { open_plays: Some(2), ..Terms::default() };
        let Ok(roadmap) = Roadmap::new(&board, &terms) else { return Ok(()) };
        if board.measure_numbers().is_some() {
            return Ok(());
        }
        for language in Phrasebook::languages() {
            for register in [Register::Teacher, Register::Learner] {
                let book = Phrasebook::of(language, register).unwrap();
                let route = book.route(&board, &roadmap, 40);
                let told = route.told.iter().map(|told| match told {
                    Told::Move(it) => it.says(),
                    Told::Again { says, .. } => says.clone(),
                });
                for text in told.chain(route.ending) {
                    prop_assert!(text.starts_with(char::is_uppercase), "{}", text);
                    prop_assert!(text.ends_with('.'), "{}", text);
                    prop_assert!(!text.contains(['{', '}']) && !text.contains("  "), "{}", text);
                }
            }
        }
    }
}

fn told_plainly(board: &Board) {
    let book = Phrasebook::of("en", Register::Learner).unwrap();
    for sentence in sentences(board, book) {
        plain("told", &sentence, MOST_WORDS_OF_A_ROUTE);
    }
}

/// All that is said of a board.
fn sentences(board: &Board, book: Phrasebook) -> Vec<String> {
    let mut said = Vec::new();
    for finding in check(board) {
        let words = book.told(board, &finding);
        assert!(!words.clause.is_empty());
        said.extend(words.at);
        said.push(words.says);
    }
    let terms = Terms {
        open_plays: Some(2),
        ..Terms::default()
    };
    if let Ok(roadmap) = Roadmap::new(board, &terms) {
        let route = book.route(board, &roadmap, 40);
        for told in route.told {
            match told {
                Told::Move(it) => {
                    said.push(it.why);
                    said.push(it.play);
                    said.extend(it.notes);
                }
                Told::Again { says, .. } => said.push(says),
            }
        }
        said.extend(route.ending);
    }
    said
}

/// Short sentences, in words for learners, with no blame.
fn plain(what: &str, text: &str, most: usize) {
    kind(what, text);
    assert!(!text.contains('!'), "{what}: {text}");
    for sentence in sentences_of(text) {
        let count = sentence.split_whitespace().count();
        assert!(count <= most, "{what}: {count} words: {sentence}");
    }
    let known: BTreeSet<String> = vocabulary().union(&words_of_learners()).cloned().collect();
    // The full stop that ends a sentence is none of its last word's.
    let spoken = text.replace(". ", " ").replace(['?', ':'], " ");
    let spoken = spoken.trim_end_matches('.');
    let said = words(spoken);
    let unknown: Vec<&String> = said
        .iter()
        .filter(|word| !known.contains(*word) && !known.contains(&format!("{word}.")))
        .filter(|word| !word.starts_with(|first: char| first.is_ascii_digit()))
        .collect();
    assert!(unknown.is_empty(), "{what}: {unknown:?} in `{text}`");
}

/// The sentences of a text. The full stop of `D.C.` ends none.
fn sentences_of(text: &str) -> Vec<String> {
    let text = text.replace("D.C.", "DC").replace("D.S.", "DS");
    text.split_inclusive(['.', '?'])
        .map(str::to_owned)
        .collect()
}

// The door.

fn ask(request: &Value) -> Value {
    valid("explain", &fingerpost_json::answer(&request.to_string()))
}

#[test]
fn the_door_explains_a_board_as_the_command_does() {
    let line = "|: 1 | 2 :|(plays 9) 3 D.C. al Fine |";
    let answer = ask(&json!({
        "verb": "explain", "line": "|: 1 | 2 :|(plays 9) 3 Fine | 4 D.C. al Fine |",
        "register": "learner", "measures": "bar",
    }));
    assert_eq!(answer["kind"], "board");
    let told = &answer["route"]["told"];
    assert_eq!(told[0]["says"], "Start at bar 1. Play bars 1 and 2.");
    assert_eq!(told[0]["measures"], json!([1, 2]));
    assert_eq!(told[2]["again"], json!({ "moves": 1, "times": 6 }));
    assert_eq!(answer["route"]["left"], 0);
    let faulty = ask(&json!({ "verb": "explain", "line": line }));
    assert_eq!(faulty.get("route"), None);
    assert!(
        faulty["findings"]
            .as_array()
            .unwrap()
            .iter()
            .any(|it| it["rule"] == "fine-missing")
    );
    let (_, out, _) = ran(&["explain", "--json", line]);
    assert_eq!(serde_json::from_str::<Value>(&out).unwrap(), faulty);
}

#[test]
fn what_cannot_be_explained_is_refused_with_what_could() {
    let refused = |request: Value| {
        let answer = valid("error", &fingerpost_json::answer(&request.to_string()));
        answer["error"]["message"].as_str().unwrap().to_owned()
    };
    let message = refused(json!({ "verb": "explain" }));
    assert!(message.contains("give `name`, or the board"), "{message}");
    let message = refused(json!({ "verb": "explain", "name": "3.2", "line": "1 |" }));
    assert!(message.contains("give either"), "{message}");
    let message = refused(json!({ "verb": "explain", "line": "1 |", "language": "xx" }));
    assert!(message.contains("there are: en"), "{message}");
    let message = refused(json!({ "verb": "explain", "line": "|: 1 :|(plays open) 2 |" }));
    assert!(message.contains("say how many times"), "{message}");
    // A name that is none stays one: nothing is taken for a board that is no file and no line.
    let (status, _, err) = ran(&["explain", "label"]);
    assert_eq!(status, 2);
    assert!(err.contains("no page is called `label`"), "{err}");
}
