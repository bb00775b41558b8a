//! The cases put to other programs through real pipes: the command itself, and programs that are wrong on purpose. The latter are this
//! test, started once more with the word `be` and a way of being wrong.

use std::borrow::Cow;
use std::collections::BTreeSet;
use std::io::{BufRead, Write, stdin, stdout};
use std::process::{Command, Output};
use std::time::Duration;

use fingerpost_conformance::{
    Answer, Ask, BoardText, Case, Cause, Level, Library, Program, Report, RouteAnswer, Subject,
    SubjectError, Suite, answer_lines, examine,
};
use libtest_mimic::{Arguments, Trial};
use serde_json::Value;

const COMMAND: &str = env!("CARGO_BIN_EXE_fingerpost-conformance");

fn main() {
    let words: Vec<String> = std::env::args().collect();
    if let [_, be, way] = &words[..] {
        if be == "be" {
            return be_wrong(way);
        }
    }
    let trial = |name: &str, test: fn()| {
        Trial::test(name, move || {
            test();
            Ok(())
        })
    };
    let trials = vec![
        trial("our_own_answers_pass_through_pipes", our_own_answers),
        trial("started_anew_for_each_question", each),
        trial("a_walker_deaf_to_dc_fails_where_dc_counts", deaf_to_da_capo),
        trial(
            "a_walker_without_steps_fails_at_level_4_only",
            without_steps,
        ),
        trial("a_question_passed_by_is_no_failure", passing_by),
        trial("death_hanging_and_nonsense_cost_one_question", bad_manners),
        trial("exit_status_and_output_of_the_command", the_command),
        trial("what_is_asked_and_answered_is_as_published", by_the_schemas),
    ];
    libtest_mimic::run(&Arguments::from_args(), trials).exit();
}

/// A program that is wrong in one way.
fn be_wrong(way: &str) {
    let walk = |subject: &mut dyn Subject| {
        answer_lines(&mut stdin().lock(), &mut stdout().lock(), subject).unwrap();
    };
    if let Some(path) = way.strip_prefix("noting:") {
        return note(path);
    }
    match way {
        "deaf-to-da-capo" => walk(&mut DeafToDaCapo),
        "without-steps" => walk(&mut WithoutSteps),
        "passing-by" => walk(&mut PassingBy),
        _ => {}
    }
    // The others answer by the library, but for the boards of two measures, which they treat badly.
    for line in stdin().lock().lines().map(Result::unwrap) {
        if !line.contains(r#""systems":[2]"#) {
            answer_lines(&mut line.as_bytes(), &mut stdout().lock(), &mut Library).unwrap();
            continue;
        }
        match way {
            "dying" => std::process::exit(3),
            "hanging" => std::thread::sleep(Duration::from_secs(60)),
            "babbling" => println!("turn left at the stile"),
            "flooding" => {
                for _ in 0..1000 {
                    println!(r#"{{"answer":"needs-plays"}}"#);
                }
            }
            _ => panic!("`{way}` is no way of being wrong"),
        }
        stdout().flush().unwrap();
    }
}

struct DeafToDaCapo;

impl Subject for DeafToDaCapo {
    fn answer(&mut self, ask: &Ask<'_>) -> Result<Answer, SubjectError> {
        let mut ask = ask.clone();
        let (Ask::Route { board, .. } | Ask::Length { board, .. } | Ask::Comparison { board }) =
            &mut ask;
        if let BoardText::Json(file) = board {
            let mut without = file.clone().into_owned();
            if let Some(markings) = without.get_mut("markings").and_then(|m| m.as_array_mut()) {
                markings.retain(|marking| marking["mark"] != "da-capo");
            }
            *file = Cow::Owned(without);
        }
        Library.answer(&ask)
    }
}

struct WithoutSteps;

impl Subject for WithoutSteps {
    fn answer(&mut self, ask: &Ask<'_>) -> Result<Answer, SubjectError> {
        Ok(match Library.answer(ask)? {
            Answer::Route(RouteAnswer { length, order, .. }) => Answer::Route(RouteAnswer {
                length,
                order,
                ..RouteAnswer::default()
            }),
            answer => answer,
        })
    }
}

struct PassingBy;

impl Subject for PassingBy {
    fn answer(&mut self, ask: &Ask<'_>) -> Result<Answer, SubjectError> {
        match ask {
            Ask::Comparison { .. } => Err(SubjectError::skip("one reading is enough here")),
            ask => Library.answer(ask),
        }
    }
}

/// Answers by the library, and writes down every request and its reply: a line each, in turn. Of what the library does not say, a program may
/// say that it passes by, or that it has failed: every hundredth request is answered so.
fn note(path: &str) {
    let mut notes = std::fs::File::create(path).unwrap();
    for (index, line) in stdin().lock().lines().map(Result::unwrap).enumerate() {
        let mut reply = Vec::new();
        match index % 100 {
            98 => reply.extend_from_slice(b"{\"skip\":\"not claimed\"}\n"),
            99 => reply.extend_from_slice(b"{\"failed\":\"not known\"}\n"),
            _ => answer_lines(&mut line.as_bytes(), &mut reply, &mut Library).unwrap(),
        }
        writeln!(notes, "{line}").unwrap();
        notes.write_all(&reply).unwrap();
        stdout().write_all(&reply).unwrap();
        stdout().flush().unwrap();
    }
}

/// Requests, replies and the report are what the published schemas say.
fn by_the_schemas() {
    let schema = |name: &str| {
        let spec = concat!(env!("CARGO_MANIFEST_DIR"), "/../../spec");
        let text = std::fs::read_to_string(format!("{spec}/{name}.schema.json")).unwrap();
        let schema: Value = serde_json::from_str(&text).unwrap();
        jsonschema::validator_for(&schema).unwrap()
    };
    let check = |schema: &jsonschema::Validator, text: &str| {
        let value: Value = serde_json::from_str(text).unwrap();
        let faults: Vec<String> = schema
            .iter_errors(&value)
            .map(|it| it.to_string())
            .collect();
        assert!(faults.is_empty(), "{faults:?}: {text}");
        value
    };
    let folder = env!("CARGO_TARGET_TMPDIR");
    let (notes, this) = (format!("{folder}/notes"), std::env::current_exe().unwrap());
    let subject = format!("\"{}\" be \"noting:{notes}\"", this.display());
    let run = Command::new(COMMAND)
        .args(["--json", "--subject", &subject])
        .output()
        .unwrap();
    assert_eq!(run.status.code(), Some(1), "{run:?}");
    let report = String::from_utf8(run.stdout).unwrap();
    let report = check(&schema("conformance-report"), &report);
    assert!(!report["failed"].as_array().unwrap().is_empty());

    let (requests, replies) = (schema("subject-request"), schema("subject-reply"));
    let (mut asks, mut answers) = (BTreeSet::new(), BTreeSet::new());
    let notes = std::fs::read_to_string(&notes).unwrap();
    for (index, line) in notes.lines().enumerate() {
        if index % 2 == 0 {
            let request = check(&requests, line);
            asks.insert(request["ask"].as_str().unwrap().to_owned());
        } else {
            let reply = check(&replies, line);
            let kind = ["skip", "failed"]
                .into_iter()
                .find(|it| reply[it].is_string());
            let answer = || reply["answer"].as_str().unwrap();
            answers.insert(kind.unwrap_or_else(answer).to_owned());
        }
    }
    // Nothing that the page for implementers names is left out.
    let named = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect();
    assert_eq!(asks, named(&["comparison", "length", "route"]));
    assert_eq!(
        answers,
        named(&[
            "comparison",
            "errors",
            "failed",
            "needs-plays",
            "route",
            "skip"
        ])
    );
    // The schemas refuse what is neither.
    for bad in [r#"{"ask":"rout"}"#, r#"{"answer":"route"}"#, "{}", "[]"] {
        let bad: Value = serde_json::from_str(bad).unwrap();
        assert!(!requests.is_valid(&bad) && !replies.is_valid(&bad), "{bad}");
    }
}

fn wrong_program(way: &str, limit: f64) -> Program {
    let this = std::env::current_exe().unwrap();
    let command = [this.to_str().unwrap(), "be", way].map(str::to_owned);
    Program::new(command.to_vec(), Duration::from_secs_f64(limit), false)
}

fn suite() -> Suite {
    Suite::carried().unwrap()
}

fn failed(report: &Report) -> BTreeSet<&str> {
    report.failed.iter().map(|c| c.case.as_str()).collect()
}

fn our_own_answers() {
    let command = vec![COMMAND.to_owned(), "answer".to_owned()];
    let mut program = Program::new(command, Duration::from_secs(60), false);
    let report = examine(&suite(), &mut program, Level::Steps);
    assert_eq!(report.totals.passed, suite().cases().count(), "{report}");
    assert!(report.levels.iter().all(|level| level.reached));
    assert!(report.totals.passed >= 500);
}

fn each() {
    let command = vec![COMMAND.to_owned(), "answer".to_owned()];
    let mut program = Program::new(command, Duration::from_secs(60), true);
    let mut suite = suite();
    suite.chapters.truncate(1);
    let report = examine(&suite, &mut program, Level::Steps);
    assert_eq!(report.totals.passed, suite.cases().count(), "{report}");
}

/// Whether a case goes to the beginning by a D.C. on some terms.
fn da_capo_counts(case: &Case) -> bool {
    case.routes.iter().any(|route| {
        let ask = Ask::Route {
            board: BoardText::Json(Cow::Borrowed(&case.board)),
            terms: Cow::Borrowed(&route.terms),
        };
        // Where the case has an order, the library's answer is that order, as other tests prove.
        let long = route.expect.order.is_none() && route.expect.steps.is_empty();
        !long
            && matches!(Library.answer(&ask), Ok(Answer::Route(answer))
                if answer.steps.causes.iter().flatten().any(|&cause| cause == Cause::DaCapo))
    })
}

fn deaf_to_da_capo() {
    let suite = suite();
    let report = examine(
        &suite,
        &mut wrong_program("deaf-to-da-capo", 60.0),
        Level::Steps,
    );
    let failed = failed(&report);
    for case in suite.cases() {
        let has_one = serde_json::to_string(&case.board)
            .unwrap()
            .contains("\"da-capo\"");
        if failed.contains(case.id.as_str()) {
            assert!(has_one, "{} has no D.C. and failed", case.id);
        } else {
            assert!(!da_capo_counts(case), "{} obeys a D.C. and passed", case.id);
        }
        // A D.C. that is never obeyed can matter in one way more: the board is refused for it.
        if failed.contains(case.id.as_str()) && !da_capo_counts(case) {
            assert!(case.clause.starts_with("10."), "{}", case.id);
        }
    }
    // D.C. al Segno, jumps on one barline, which To Coda is meant: nothing of that is left to a walker that knows no D.C.
    for clause in ["4.7", "4.10", "4.11"] {
        let of = report.clauses.iter().find(|of| of.clause == clause);
        assert_eq!(of.map(|of| of.totals.passed), Some(0), "{clause}");
    }
}

fn without_steps() {
    let report = examine(
        &suite(),
        &mut wrong_program("without-steps", 60.0),
        Level::Steps,
    );
    let reached: Vec<bool> = report.levels.iter().map(|level| level.reached).collect();
    assert_eq!(reached, [true, true, true, false]);
    assert_eq!(report.levels[3].totals.passed, 0, "{report}");
    // A program without steps is not asked for them below level 4.
    let report = examine(
        &suite(),
        &mut wrong_program("without-steps", 60.0),
        Level::Readings,
    );
    assert_eq!(report.totals.failed, 0);
}

fn passing_by() {
    let report = examine(
        &suite(),
        &mut wrong_program("passing-by", 60.0),
        Level::Steps,
    );
    assert_eq!(report.totals.failed, 0, "{report}");
    let asked = suite()
        .cases()
        .filter(|case| case.settled.is_some() || case.questions.is_some())
        .count();
    assert_eq!(report.totals.skipped, asked);
    assert!(report.levels[1].reached);
    assert!(
        !report.levels[2].reached,
        "what is passed by is not reached"
    );
    assert!(!report.levels[3].reached, "a level holds those before it");
    assert_eq!(
        report.skipped[0].found[0].disagreement.answered,
        "one reading is enough here"
    );
}

fn bad_manners() {
    let mut suite = suite();
    suite.chapters.truncate(2);
    let badly_treated: BTreeSet<String> = suite
        .cases()
        .filter(|case| case.board["systems"] == serde_json::json!([2]))
        .map(|case| case.id.clone())
        .collect();
    let badly_treated: BTreeSet<&str> = badly_treated.iter().map(String::as_str).collect();
    assert!((5..suite.cases().count() - 5).contains(&badly_treated.len()));
    for (way, limit, reason) in [
        ("dying", 60.0, "it ended before it answered"),
        ("hanging", 1.0, "it gave no answer within 1 s"),
        (
            "babbling",
            60.0,
            "the line `turn left at the stile` is no answer: expected",
        ),
    ] {
        let report = examine(&suite, &mut wrong_program(way, limit), Level::Routes);
        for case in &report.failed {
            let answered = &case.found[0].disagreement.answered;
            assert!(answered.starts_with(reason), "{way}: {answered}");
        }
        let asked: BTreeSet<&str> = suite
            .cases()
            .filter(|case| case.at(Level::Routes).is_some())
            .map(|case| case.id.as_str())
            .collect();
        assert_eq!(failed(&report), &badly_treated & &asked, "{way}");
    }
    // A flood is an answer too many: whatever comes of it, the cases go on, and the boards that were treated badly fail.
    let report = examine(&suite, &mut wrong_program("flooding", 60.0), Level::Routes);
    assert!(
        report.totals.failed > 0 && report.totals.passed > 0,
        "{report}"
    );
}

fn the_command() {
    let run =
        |arguments: &[&str]| -> Output { Command::new(COMMAND).args(arguments).output().unwrap() };
    let this = std::env::current_exe().unwrap();
    let wrong = format!("\"{}\" be deaf-to-da-capo", this.display());
    let right = format!("\"{COMMAND}\" answer");

    let passed = run(&["--subject", &right]);
    assert_eq!(passed.status.code(), Some(0));
    let text = String::from_utf8(passed.stdout).unwrap();
    assert!(text.ends_with(" passed, 0 failed, 0 passed by\n"), "{text}");

    let failed = run(&["--subject", &wrong, "--json", "--level", "1"]);
    assert_eq!(failed.status.code(), Some(1));
    let report: Report = serde_json::from_slice(&failed.stdout).unwrap();
    assert_eq!(report.levels.len(), 1);
    assert!(report.totals.failed > 0);

    for (arguments, said) in [
        (&["--subject", "/no/such/walker"][..], "cannot be started"),
        (&["--subject", " "], "the command is empty"),
        (
            &["--subject", &right, "--cases", "/no/such/folder"],
            "the cases cannot be read",
        ),
        (
            &["--subject", &right, "--level", "5"],
            "the levels are 1 to 4",
        ),
        (
            &["--subject", &right, "--limit", "0"],
            "a number of seconds above 0",
        ),
        (&[], "--subject"),
    ] {
        let refused = run(arguments);
        assert_eq!(refused.status.code(), Some(2), "{arguments:?}");
        assert!(refused.stdout.is_empty(), "{arguments:?}");
        let text = String::from_utf8(refused.stderr).unwrap();
        assert!(text.contains(said), "{arguments:?}: {text}");
    }
}
