//! The command, through `run`: every command, the exit statuses, the JSON, bad input, and the texts as people read them.

mod support {
    pub(crate) mod answers;
    pub(crate) mod command;
}

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use fingerpost_cli::{Streams, run};
use serde_json::{Value, json};

use support::answers::valid;
use support::command::{Ran, ran_with};

fn ran(args: &[&str]) -> Ran {
    ran_with(args, &mut io::empty(), None)
}

fn example(name: &str) -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let path = root.join(format!("examples/boards/{name}.json"));
    path.to_str().unwrap().to_owned()
}

/// An empty folder of its own for a test.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

const MINUET: &str = "|: 1 | 2 | [1. 3 :| [2. 4 Fine ] | 5 D.C. al Fine |";
const NO_FINE: &str = "|: 1 | 2 :| 3 D.C. al Fine |";
const GOOD: &str =
    r#"{ "board": 1, "systems": [2], "markings": [{ "mark": "end-repeat", "measure": 2 }] }"#;

// What people read.

#[test]
fn a_route_is_told_move_by_move() {
    for name in ["over-the-stile", "the-high-hut", "the-broken-step"] {
        let ran = ran(&["unroll", &example(name)]);
        assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{name}");
        insta::assert_snapshot!(format!("unroll-{name}"), ran.out);
    }
}

#[test]
fn readings_are_compared() {
    let two_huts = ran(&["compare", &example("two-huts")]);
    assert_eq!((two_huts.status, two_huts.err.as_str()), (0, ""));
    insta::assert_snapshot!("compare-two-huts", two_huts.out);
    let nested = ran(&["compare", "|: 1 |: 2 | 3 D.C. :| 4 :|"]);
    insta::assert_snapshot!("compare-nested", nested.out);
    let settled = ran(&["compare", &example("two-gates")]);
    assert!(
        settled
            .out
            .contains("Settled: every reading gives this route.")
    );
}

#[test]
fn findings_have_their_place_and_what_to_do() {
    let line = ran(&["unroll", NO_FINE]);
    assert_eq!((line.status, line.err.as_str()), (1, ""));
    insta::assert_snapshot!("findings-line", line.out);
    let file = ran_with(
        &["check", "-"],
        &mut "{\n  \"board\": 1,\n  \"systems\": [4],\n  \"markings\": [\n    { \"mark\": \"to-coda\", \"measure\": 2 },\n    { \"mark\": \"dal-segno\", \"measure\": 4, \"al\": \"coda\" }\n  ]\n}\n".as_bytes(),
        None,
    );
    assert_eq!((file.status, file.err.as_str()), (1, ""));
    insta::assert_snapshot!("findings-file", file.out);
}

#[test]
fn a_text_that_is_no_board_is_complained_of_with_its_place() {
    let line = ran(&["unroll", "|: 1 | 2 fin | al |"]);
    assert_eq!((line.status, line.out.as_str()), (2, ""));
    insta::assert_snapshot!("complaints-line", line.err);
    let file = ran_with(
        &["unroll", "-"],
        &mut "{ \"board\": 1, \"systems\": [4],\n  \"markings\": [{ \"mark\": \"fine\", \"mesure\": 4 }] }".as_bytes(),
        None,
    );
    assert_eq!((file.status, file.out.as_str()), (2, ""));
    insta::assert_snapshot!("complaints-file", file.err);
}

#[test]
fn names_are_explained() {
    for name in ["fine-missing", "3.2", "repeats-on-return", "musicxml"] {
        let ran = ran(&["explain", name]);
        assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{name}");
        insta::assert_snapshot!(format!("explain-{name}"), ran.out);
    }
    let names = ran(&["explain", "names"]);
    assert!(names.out.lines().any(|name| name == "segno-missing"));
}

#[test]
fn a_narrow_terminal_breaks_systems_and_sentences() {
    let ran = ran_with(
        &[
            "unroll",
            "{title \"The Long System\"} |: 1 segno | 2 | 3 | [1. 4 | 5 | 6 | 7 | 8 :| [2. 9 ] | 10 8va(R.H.)( | 11 | 12 | 13 | 14 ) D.S. |",
        ],
        &mut io::empty(),
        Some(50),
    );
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let long: Vec<&str> = ran
        .out
        .lines()
        .filter(|line| line.chars().count() > 50)
        .collect();
    assert!(long.is_empty(), "{long:#?}");
    insta::assert_snapshot!("unroll-narrow", ran.out);
}

#[test]
fn signs_stand_where_they_act() {
    let board = "{title \"Every Sign\"; meter 4/4; pickup 1/4} \"up\" || segno:A 1 | // |: 2 8va(R.H., on repeat)( | 3 ) :|(plays 3) // 4 To Coda(arrivals 2) fermata(L.H.) | Fine@2 5 |: 6 :|(plays open, on-return skip) // only(L.H., pass 2)( 7 | 8 ) |] coda:B segno@3 9 | D.S.:A al Coda:B con rep. 10 15mb(L.H.) |";
    let ran = ran(&["board", board]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    insta::assert_snapshot!("board-every-sign", ran.out);
}

#[test]
fn the_help_names_every_command_and_shows_examples() {
    let help = ran(&["--help"]);
    assert_eq!((help.status, help.err.as_str()), (0, ""));
    insta::assert_snapshot!("help", help.out);
    let commands = [
        "unroll",
        "check",
        "compare",
        "explain",
        "board",
        "schema",
        "completions",
        "manual",
    ];
    for command in commands {
        assert!(help.out.contains(&format!("  {command}")), "{command}");
        let own = ran(&[command, "--help"]);
        assert_eq!(own.status, 0, "{command}");
        assert!(own.out.contains("Examples:"), "{command}");
    }
}

// The examples of the help are not only text.

#[test]
fn the_examples_of_the_help_that_need_no_file_of_ones_own_work() {
    let examples: &[&[&str]] = &[
        &["unroll", "--reading", "all-repeats", "1 | 2 :| 3 D.C. |]"],
        &["unroll", "--plays", "4", "|: 1 | 2 :|(plays open) 3 |]"],
        &["compare", "1 | 2 :| 3 D.C. |]"],
        &["compare", "--json", "1 Fine | 2 D.C. |]"],
        &["board", "--form", "file", "|: 1 | 2 :| 3 |]"],
        &["schema", "unroll"],
        &["completions", "bash"],
        &["completions", "fish"],
        &["manual"],
        &["manual", "unroll"],
    ];
    for example in examples {
        let ran = ran(example);
        assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{example:?}");
        assert!(!ran.out.is_empty(), "{example:?}");
    }
}

// What programs read.

#[test]
fn json_is_what_the_schemas_say() {
    let unroll = ran(&["unroll", "--json", MINUET]);
    assert_eq!((unroll.status, unroll.err.as_str()), (0, ""));
    let answer = valid("unroll", &unroll.out);
    assert_eq!(answer["order"], json!([1, 2, 3, 1, 2, 4, 5, 1, 2, 4]));
    assert_eq!(unroll.out.lines().count(), 1);

    let check = ran(&["check", "--json", MINUET, NO_FINE]);
    assert_eq!((check.status, check.err.as_str()), (1, ""));
    let answer = valid("check", &check.out);
    let findings = answer["boards"][1]["findings"].as_array().unwrap();
    let mut errors = findings.iter().filter(|it| it["severity"] == "error");
    assert_eq!(errors.next().unwrap()["rule"], "fine-missing");
    assert_eq!(answer["errors"], 1);

    let compare = ran(&["compare", "--json", MINUET]);
    assert_eq!(valid("compare", &compare.out)["settled"], false);

    let explain = ran(&["explain", "--json", "3.2"]);
    assert_eq!(valid("explain", &explain.out)["clause"], "3.2");

    let board = ran(&["board", "--json", MINUET]);
    assert_eq!(
        valid("board-answer", &board.out)["board"]["systems"],
        json!([5])
    );

    let schema = ran(&["schema", "--json", "check"]);
    assert_eq!(valid("schema-answer", &schema.out)["name"], "check");
}

#[test]
fn the_json_of_a_board_with_errors_holds_no_route() {
    let ran = ran(&["unroll", "--json", NO_FINE]);
    assert_eq!((ran.status, ran.err.as_str()), (1, ""));
    let answer = valid("error", &ran.out);
    assert_eq!(answer["error"]["findings"][0]["rule"], "fine-missing");
    assert_eq!(answer.get("order"), None);
}

#[test]
fn the_json_of_a_request_that_cannot_be_carried_out_is_a_complaint() {
    for args in [
        ["unroll", "--json", "1 | fin |"],
        ["check", "--json", "1 | fin |"],
        ["compare", "--json", "1 | fin |"],
        ["board", "--json", "1 | fin |"],
        ["unroll", "--json", "no-such-file.json"],
        ["unroll", "--json", "1 :|(plays open)"],
        ["explain", "--json", "no-such-name"],
    ] {
        let ran = ran(&args);
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{args:?}");
        valid("error", &ran.err);
    }
}

#[test]
fn terms_are_flags() {
    let length = |args: &[&str]| {
        let args = [&["unroll", "--json", MINUET], args].concat();
        let ran = ran(&args);
        assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{args:?}");
        valid("unroll", &ran.out)["length"].as_u64().unwrap()
    };
    assert_eq!(length(&[]), 10);
    assert_eq!(length(&["--reading", "all-repeats"]), 13);
    assert_eq!(
        length(&["--reading", "repeats-on-return=play,arming=al-only"]),
        13
    );
    assert_eq!(length(&["--reading", "examination"]), 7);
    assert_eq!(length(&["--omit-repeats"]), 7);
}

#[test]
fn a_board_is_written_in_each_form_and_read_again() {
    let file = ran(&["board", "--form", "file", MINUET]);
    let line = ran_with(
        &["board", "--form", "line", "-"],
        &mut file.out.as_bytes(),
        None,
    );
    let again = ran_with(
        &["board", "--form", "file", "-"],
        &mut line.out.as_bytes(),
        None,
    );
    assert_eq!(again.out, file.out);
}

#[test]
fn the_window_lists_steps_of_a_long_route() {
    let long = "|: 1 | |: 2 :|x1000000 3 :|x1000000";
    let text = ran(&["unroll", long]);
    assert_eq!(text.status, 0);
    assert!(
        text.out.contains("1 000 002 000 000 measures"),
        "{}",
        text.out
    );
    assert!(text.out.contains("more"), "{}", text.out);
    let window = ran(&["unroll", "--from", "1000001999998", "--count", "3", long]);
    assert!(
        window
            .out
            .contains("Order, steps 1000001999998 to 1000002000000: 2 2 3"),
        "{}",
        window.out
    );
    let json = ran(&["unroll", "--json", long]);
    assert_eq!(valid("unroll", &json.out)["truncated"]["count"], 0);
    for bad in [["--from", "0"], ["--from", "1000002000001"]] {
        let ran = ran(&[&["unroll", long], bad.as_slice()].concat());
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{bad:?}");
    }
}

#[test]
fn a_board_of_the_greatest_size_is_drawn_in_part_and_says_so() {
    let board = "{ \"board\": 1, \"systems\": [4, 65000], \"markings\": [{ \"mark\": \"end-repeat\", \"measure\": 4 }] }";
    let ran = ran_with(&["unroll", "-"], &mut board.as_bytes(), None);
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(ran.out.contains("measures 5 to 65004: no signs"));
    assert!(ran.out.len() < 10_000);
}

// Exit statuses and bad input.

#[test]
fn bad_arguments_are_refused() {
    for args in [
        &[][..],
        &["sing"],
        &["unroll"],
        &["unroll", MINUET, "--reading", "handbok"],
        &["unroll", MINUET, "--reading", "arming=never"],
        &["unroll", MINUET, "--plays", "0"],
        &["unroll", MINUET, "--no-such-flag"],
        &["check"],
        &["check", "--level", "none", MINUET],
        &["schema", "bord"],
        &["explain", "fine-mising"],
        &["completions", "no-such-shell"],
    ] {
        let ran = ran(args);
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{args:?}");
        assert!(!ran.err.is_empty(), "{args:?}");
    }
    assert!(
        ran(&["explain", "fine-mising"])
            .err
            .contains("did you mean `fine-missing`")
    );
    assert!(
        ran(&["unroll", MINUET, "--reading", "handbok"])
            .err
            .contains("handbook")
    );
}

#[test]
fn an_open_section_asks_for_the_number_of_plays() {
    let open = example("waiting-for-the-ferry");
    let refused = ran(&["unroll", &open]);
    assert_eq!((refused.status, refused.out.as_str()), (2, ""));
    assert!(refused.err.contains("--plays N"), "{}", refused.err);
    assert_eq!(ran(&["unroll", "--plays", "3", &open]).status, 0);
    assert_eq!(ran(&["check", &open]).status, 0);
}

/// Every bad input has a complaint with a word that tells what is wrong, exit status 2, and no result.
#[test]
fn bad_input_is_complained_of_and_leaves_no_result() {
    let deep = format!("{{ \"board\": {}1{} }}", "[".repeat(200), "]".repeat(200));
    let huge = format!(
        "{{ \"board\": 1, \"title\": \"{}\" }}",
        "a".repeat(16 << 20)
    );
    let cases: Vec<(&str, Vec<u8>, &str)> = vec![
        ("not JSON", b"{ \"board\": one }".to_vec(), "-:1:12"),
        ("no board", b"Hut and ferry".to_vec(), "no board"),
        ("an array", b"[\"|\"]".to_vec(), "no board"),
        ("empty", Vec::new(), "empty"),
        ("truncated", b"{ \"board\": 1, \"systems\": [4".to_vec(), "-:1:"),
        ("200 levels deep", deep.into_bytes(), "-:1:"),
        ("16 MiB and more", huge.into_bytes(), "16 MiB"),
        ("invalid UTF-8", b"{ \"board\": 1, \"title\": \"\xff\" }".to_vec(), "-:1:25"),
        ("invalid UTF-8 in a line", b"1 | \xff |".to_vec(), "UTF-8"),
        ("a duplicate key", b"{ \"board\": 1, \"board\": 1, \"systems\": [4] }".to_vec(), "`board`"),
        ("a number too large", b"{ \"board\": 1, \"systems\": [4], \"markings\": [{ \"mark\": \"fine\", \"measure\": 99999999999999999999 }] }".to_vec(), "-:1:"),
        ("an unknown mark", b"{ \"board\": 1, \"systems\": [4], \"markings\": [{ \"mark\": \"fin\", \"measure\": 1 }] }".to_vec(), "did you mean `\"fine\"`"),
        ("an unknown key", b"{ \"board\": 1, \"systems\": [4], \"titel\": \"Hut\" }".to_vec(), "`title`"),
        ("a measure off the board", b"{ \"board\": 1, \"systems\": [4], \"markings\": [{ \"mark\": \"fine\", \"measure\": 5 }] }".to_vec(), "off the board"),
        ("pass 0", b"{ \"board\": 1, \"systems\": [4], \"markings\": [{ \"mark\": \"ending\", \"measures\": [1, 2], \"passes\": [0] }] }".to_vec(), "0"),
        ("an empty system", b"{ \"board\": 1, \"systems\": [4, 0] }".to_vec(), "-:1:"),
        ("no system", b"{ \"board\": 1, \"systems\": [] }".to_vec(), "system"),
        ("other XML", b"<?xml version=\"1.0\"?><hut/>".to_vec(), "no MusicXML score"),
        ("a score cut short", b"<score-partwise><part id=\"P1\"><measure".to_vec(), "-:1: "),
        ("an archive", b"PK\x03\x04\xff\xfe".to_vec(), "cannot be opened"),
    ];
    for (what, bytes, words) in cases {
        for command in ["unroll", "compare", "check", "board"] {
            let ran = ran_with(&[command, "-"], &mut bytes.as_slice(), None);
            assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{command}: {what}");
            assert!(ran.err.contains(words), "{command}: {what}: {}", ran.err);
            assert!(ran.err.len() < 10_000, "{command}: {what}");
            let ran = ran_with(&[command, "--json", "-"], &mut bytes.as_slice(), None);
            assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{command}: {what}");
            valid("error", &ran.err);
        }
    }
}

#[test]
fn check_goes_on_after_a_bad_file_and_says_so_at_the_end() {
    let folder = folder("check-many");
    fs::create_dir(folder.join("below")).unwrap();
    for number in 0..40 {
        fs::write(folder.join(format!("good-{number:02}.json")), GOOD).unwrap();
    }
    fs::write(
        folder.join("below/no-fine.json"),
        GOOD.replace("end-repeat\"", "da-capo\", \"al\": \"fine\""),
    )
    .unwrap();
    fs::write(folder.join("good-05-broken.json"), "{").unwrap();
    fs::write(folder.join("notes.txt"), "no board, and not asked for").unwrap();
    let name = folder.to_str().unwrap();

    let text = ran(&["check", name]);
    assert_eq!(text.status, 2);
    assert!(
        text.out.contains("no-fine.json:1:44: error[fine-missing]"),
        "{}",
        text.out
    );
    assert!(
        text.out
            .ends_with("41 boards checked: 1 error; 1 board not read\n"),
        "{}",
        text.out
    );
    assert!(text.err.contains("good-05-broken.json:1:"), "{}", text.err);
    assert!(
        text.err
            .ends_with("fingerpost: 1 board could not be read\n"),
        "{}",
        text.err
    );

    let json = ran(&["check", "--json", name]);
    assert_eq!(json.status, 2);
    let answer = valid("check", &json.out);
    assert_eq!(
        (&answer["errors"], &answer["unread"]),
        (&json!(1), &json!(1))
    );
    let files: Vec<&str> = answer["boards"]
        .as_array()
        .unwrap()
        .iter()
        .map(|board| board["file"].as_str().unwrap())
        .collect();
    assert_eq!(files.len(), 42);
    assert!(files.is_sorted(), "{files:?}");
    assert!(files[0].ends_with("no-fine.json"));
    // The same each time, however the work falls on the cores.
    for _ in 0..5 {
        assert_eq!(ran(&["check", "--json", name]).out, json.out);
    }

    fs::remove_file(folder.join("good-05-broken.json")).unwrap();
    let one = ran(&["check", name]);
    assert_eq!((one.status, one.err.as_str()), (1, ""));
    fs::remove_file(folder.join("below/no-fine.json")).unwrap();
    let none = ran(&["check", name]);
    assert_eq!(
        (none.status, none.out.as_str()),
        (0, "40 boards checked: nothing wrong\n")
    );
}

#[test]
fn a_missing_file_and_an_empty_folder_do_not_stop_a_check() {
    let empty = folder("check-empty");
    let ran = ran(&[
        "check",
        "no-such.json",
        empty.to_str().unwrap(),
        &example("two-gates"),
    ]);
    assert_eq!(ran.status, 2);
    assert_eq!(
        ran.out,
        "1 board checked: nothing wrong; 2 boards not read\n"
    );
    assert!(
        ran.err.contains("no-such.json: the file cannot be opened"),
        "{}",
        ran.err
    );
    assert!(ran.err.contains("no board file"), "{}", ran.err);
}

#[test]
fn the_level_decides_the_exit_status() {
    for level in ["error", "warning", "advice"] {
        assert_eq!(
            ran(&["check", "--level", level, NO_FINE]).status,
            1,
            "{level}"
        );
        assert_eq!(
            ran(&["check", "--level", level, &example("two-gates")]).status,
            0,
            "{level}"
        );
    }
}

/// A stream whose reader has gone away after some bytes.
struct Closed {
    left: usize,
}

impl Write for Closed {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if self.left == 0 {
            return Err(io::ErrorKind::BrokenPipe.into());
        }
        let taken = bytes.len().min(self.left);
        self.left -= taken;
        Ok(taken)
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_closed_pipe_is_no_error() {
    let all = [
        vec!["unroll".to_owned(), MINUET.to_owned()],
        vec!["unroll".to_owned(), "--json".to_owned(), MINUET.to_owned()],
        vec!["check".to_owned(), NO_FINE.to_owned(), NO_FINE.to_owned()],
        vec!["schema".to_owned()],
        vec!["--help".to_owned()],
    ];
    for args in all {
        let (mut out, mut err) = (Closed { left: 10 }, Vec::new());
        let status = run(
            std::iter::once("fingerpost".to_owned()).chain(args.clone()),
            Streams {
                stdin: &mut io::empty(),
                stdout: &mut out,
                stderr: &mut err,
                width: None,
                progress: false,
            },
        );
        assert_eq!((status, err.as_slice()), (0, &b""[..]), "{args:?}");
    }
}

#[test]
fn generated_texts_hold_every_command() {
    let manual = ran(&["manual"]).out;
    assert!(manual.contains(".TH"));
    for command in ["unroll", "check", "compare", "explain", "board", "schema"] {
        assert!(manual.contains(command), "{command}");
        assert!(
            ran(&["manual", command]).out.contains("Examples"),
            "{command}"
        );
    }
    for shell in ["bash", "zsh", "fish"] {
        let completions = ran(&["completions", shell]).out;
        assert!(
            completions.contains("unroll") && completions.contains("omit-repeats"),
            "{shell}"
        );
    }
}

#[test]
fn a_schema_is_printed_as_it_is_committed() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let committed = fs::read_to_string(root.join("spec/unroll.schema.json")).unwrap();
    assert_eq!(ran(&["schema", "unroll"]).out, committed);
    let board: Value = serde_json::from_str(&ran(&["schema"]).out).unwrap();
    assert_eq!(board, fingerpost::board_schema());
}
