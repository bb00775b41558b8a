//! The commands `deal` and `hand`, and the verbs behind them.

mod support {
    pub(crate) mod answers;
    pub(crate) mod command;
}

use std::path::PathBuf;

use fingerpost::{Board, Levels, Misunderstanding, Severity, check};
use fingerpost_json::answer;
use serde_json::{Value, json};

use support::answers::valid;
use support::command::{Ran, ran_with};

fn ran(args: &[&str]) -> Ran {
    ran_with(args, &mut std::io::empty(), None)
}

/// An empty folder for one test.
fn folder(name: &str) -> PathBuf {
    let folder =
        std::env::temp_dir().join(format!("fingerpost-deal-{name}-{}", std::process::id()));
    let _ = std::fs::remove_dir_all(&folder);
    folder
}

/// Asks for one board and its key.
const WITH_KEY: [&str; 8] = [
    "deal",
    "--level",
    "4",
    "--measures",
    "12",
    "--seed",
    "3",
    "--key",
];

#[test]
fn a_board_is_told_with_its_key() {
    let ran = ran(&WITH_KEY);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    insta::assert_snapshot!("deal-with-key", ran.out);
}

#[test]
fn a_set_is_written_into_a_folder_and_never_over_what_is_there() {
    let into = folder("set");
    let path = into.to_str().expect("a path");
    let args = [
        "deal", "--level", "2", "--count", "5", "--seed", "4", "--into", path,
    ];
    let first = ran(&args);
    assert_eq!((first.status, first.err.as_str()), (0, ""));
    let read = |name: &str| std::fs::read_to_string(into.join(name)).expect("it is written");
    let keys = read("keys.txt");
    for number in 1..=5 {
        let name = format!("board-{number:02}.json");
        assert!(keys.contains(&name));
        let board = Board::from_json(&read(&name)).expect("a board file");
        assert!(
            check(&board)
                .iter()
                .all(|it| it.severity == Severity::Advice)
        );
        assert!(keys.contains("Key: "));
    }
    let before = read("board-01.json");
    let other = [
        "deal", "--level", "2", "--count", "5", "--seed", "5", "--into", path,
    ];
    let again = ran(&other);
    assert_eq!(again.status, 2);
    assert!(again.err.contains("is there already"), "{}", again.err);
    assert_eq!(read("board-01.json"), before);
    let over = ran(&[&other[..], &["--overwrite"]].concat());
    assert_eq!((over.status, over.err.as_str()), (0, ""));
    std::fs::remove_dir_all(&into).expect("it is there");
}

#[test]
fn without_a_seed_one_is_taken_from_the_clock_and_deals_the_board_again() {
    let first = ran(&["deal", "--concept", "first-and-second-ending"]);
    assert_eq!((first.status, first.err.as_str()), (0, ""));
    let (_, again) = first
        .out
        .split_once("The same again: ")
        .expect("it is said");
    assert!(first.out.contains("was taken from the clock"));
    let words: Vec<&str> = again.split_whitespace().skip(1).collect();
    let second = ran(&words);
    let line = |ran: &Ran| {
        ran.out
            .lines()
            .find(|line| line.starts_with("Line: "))
            .map(str::to_owned)
    };
    assert_eq!(line(&first), line(&second));
}

#[test]
fn levels_of_ones_own_are_read() {
    let file = std::env::temp_dir().join(format!("fingerpost-levels-{}.json", std::process::id()));
    let own = r#"{"levels":1,"list":[{"level":7,"name":"The coda first","teaches":["da-capo-al-coda"],"new":[1,1],"known":[0,0]}]}"#;
    std::fs::write(&file, own).expect("it is written");
    let path = file.to_str().expect("a path");
    let dealt = ran(&[
        "deal", "--levels", path, "--level", "7", "--seed", "1", "--json",
    ]);
    assert_eq!((dealt.status, dealt.err.as_str()), (0, ""));
    let dealt = valid("deal", dealt.out.trim_end());
    assert_eq!(
        dealt["boards"][0]["difficulty"]["concepts"],
        json!([{ "concept": "da-capo-al-coda", "level": 7 }])
    );
    std::fs::write(&file, r#"{"levels":1,"list":[{"level":7}]}"#).expect("it is written");
    let refused = ran(&["deal", "--levels", path, "--level", "7"]);
    assert_eq!(refused.status, 2);
    assert!(refused.err.contains("missing field"), "{}", refused.err);
    std::fs::remove_file(&file).expect("it is there");
}

#[test]
fn a_board_can_be_dealt_against_every_misunderstanding() {
    for aim in Misunderstanding::ALL {
        let dealt = ran(&["deal", "--aim", aim.name(), "--seed", "1", "--json"]);
        assert_eq!((dealt.status, dealt.err.as_str()), (0, ""), "{aim}");
        let dealt = valid("deal", dealt.out.trim_end());
        let told = &dealt["boards"][0]["difficulty"]["told-apart"];
        let told = told.as_array().expect("a list");
        assert!(told.contains(&json!(aim.name())), "{aim}: {told:?}");
    }
}

#[test]
fn concepts_are_given_with_commas_or_one_by_one() {
    let commas = ran(&["deal", "--concept", "fermata, da-capo", "--seed", "1"]);
    let alone = ran(&[
        "deal",
        "--concept",
        "fermata",
        "--concept",
        "da-capo",
        "--seed",
        "1",
    ]);
    assert_eq!((commas.status, commas.err.as_str()), (0, ""));
    assert_eq!(commas.out, alone.out);
}

#[test]
fn what_cannot_be_dealt_is_refused_with_the_reason() {
    for (args, said) in [
        (&["deal"][..], "say what the board is to teach"),
        (&["deal", "--level", "8"], "there is no level 8"),
        (
            &["deal", "--level", "1", "--aim", "fine-ignored"],
            "from level 3 on one can",
        ),
        (&["deal", "--aim", "fine-forgotten"], "fine-forgotten"),
        (&["deal", "--concept", "repeats"], "is not a concept"),
        (
            &["deal", "--level", "3", "--count", "2"],
            "at least 4 are needed",
        ),
        (
            &["deal", "--level", "3", "--measures", "0"],
            "0 measures are too few",
        ),
        (&["hand", "segno, Fin"], "`Fin` is no sign for a hand"),
        (
            &["deal", "--level", "1", "--count", "1"],
            "1 board is too few to show all that is asked for: at least 2 are needed",
        ),
        (
            &["deal", "--level", "1", "--count", "5", "--measures", "1"],
            "1 measure is too few for start and end repeat: at least 2 are needed",
        ),
        (
            &["deal", "--level", "abc"],
            "--level: `abc` is no whole number",
        ),
        (
            &["deal", "--level", "300"],
            "--level: `300` is no number from 0 to 255",
        ),
        (
            &["how-long", "--seconds", "long", "1 | 2 |"],
            "--seconds: `long` is no number",
        ),
        (&["hand", ","], "the hand is empty"),
        (
            &["hand", "Fine, D.C.", "--show", "99"],
            "99 boards are too many to show: at most 12 are",
        ),
        (
            &["hand", "Fine", "--measures", "0"],
            "0 is not a number of measures",
        ),
    ] {
        let refused = ran(args);
        assert_eq!(refused.status, 2, "{args:?}");
        assert!(refused.err.contains(said), "{args:?}: {}", refused.err);
    }
}

#[test]
fn a_hand_is_told_in_plain_words() {
    for (name, status, signs, measures) in [
        ("ways", 0, "segno, D.S. al Fine, Fine", "8"),
        ("missing", 1, "To Coda, D.C. al Coda", "8"),
        ("pair", 1, "segno, To Coda", "8"),
        ("small", 1, "|:, :|, |:, :|, |:, :|", "2"),
    ] {
        let ran = ran(&["hand", signs, "--measures", measures]);
        assert_eq!((ran.status, ran.err.as_str()), (status, ""), "{name}");
        insta::assert_snapshot!(format!("hand-{name}"), ran.out);
    }
}

#[test]
fn a_missing_sign_is_named_with_the_measures_that_it_needs() {
    let on_one = ran(&["hand", "To Coda, D.C. al Coda", "--measures", "1"]);
    assert_eq!((on_one.status, on_one.err.as_str()), (1, ""));
    assert!(
        on_one
            .out
            .contains("Missing: `coda` (on at least 2 measures)."),
        "{}",
        on_one.out
    );
    let on_bars = ran(&["hand", "To Coda, D.C. al Coda", "--measures", "1", "--bars"]);
    assert!(on_bars.out.contains("on 1 bar."), "{}", on_bars.out);
    assert!(on_bars.out.contains("2 bars"), "{}", on_bars.out);
}

#[test]
fn a_board_of_a_hand_tells_its_warnings() {
    let told = ran(&[
        "hand",
        "segno, coda, To Coda, D.S.",
        "--measures",
        "4",
        "--show",
        "12",
    ]);
    let marked = told.out.matches("Warning: ").count();
    let mut warnings = 0;
    for line in told.out.lines().filter_map(|it| it.strip_prefix("Line: ")) {
        let board = Board::from_line(line).expect("a board line");
        let found = check(&board);
        warnings += found
            .iter()
            .filter(|it| it.severity == Severity::Warning)
            .count();
    }
    assert!(warnings > 0);
    assert_eq!(marked, warnings, "{}", told.out);
}

#[test]
fn signs_of_a_hand_may_be_named_in_words() {
    let in_words = ran(&[
        "hand",
        "start repeat, end repeat, ending 1",
        "--measures",
        "8",
    ]);
    let in_signs = ran(&["hand", "|:, :|, [1.", "--measures", "8"]);
    assert_eq!((in_words.status, in_words.err.as_str()), (0, ""));
    assert_eq!(in_words.out, in_signs.out);
    let where_it_goes = ran(&["where", "1 | 2 | 3 |]", "end repeat"]);
    assert_eq!((where_it_goes.status, where_it_goes.err.as_str()), (0, ""));
}

#[test]
fn a_board_and_its_key_may_speak_of_bars() {
    let bars = ran(&[&WITH_KEY[..], &["--bars"]].concat());
    assert_eq!((bars.status, bars.err.as_str()), (0, ""));
    assert!(bars.out.starts_with("12 bars"), "{}", bars.out);
    let again = bars.out.lines().last().unwrap_or_default();
    assert!(again.contains(" --bars "), "{again}");
    let rest = bars.out.replace("--measures", "");
    assert!(!rest.contains("measure"), "{rest}");
    let refused = ran(&["deal", "--level", "3", "--measures", "0", "--bars"]);
    assert!(
        refused.err.contains("0 bars are too few"),
        "{}",
        refused.err
    );
}

#[test]
fn the_verbs_give_what_their_schemas_say() {
    let ask = |request: Value| answer(&request.to_string());
    let dealt = ask(json!({ "verb": "deal", "measures": 16, "level": 3, "seed": 7 }));
    let dealt = valid("deal", &dealt);
    assert_eq!(dealt["boards"].as_array().map(Vec::len), Some(1));
    let set = ask(json!({
        "verb": "deal", "measures": 16, "concepts": ["fermata", "da-capo-al-fine", "dal-segno-al-coda"], "count": 4, "seed": 7
    }));
    let set = valid("deal", &set);
    let boards = set["boards"].as_array().expect("boards");
    assert_eq!(boards.len(), 4);
    // Each board of a set can be dealt again alone.
    for board in boards {
        let again = ask(json!({
            "verb": "deal", "measures": 16, "concepts": board["wished"], "seed": board["seed"]
        }));
        assert_eq!(valid("deal", &again)["boards"][0]["line"], board["line"]);
    }
    let hand = ask(
        json!({ "verb": "hand", "signs": ["segno", "Fine", "D.S. al Fine"], "measures": 8, "show": 3 }),
    );
    let hand = valid("hand", &hand);
    assert_eq!(hand["shown"].as_array().map(Vec::len), Some(3));
    let impossible = ask(json!({ "verb": "deal", "measures": 1, "level": 4, "seed": 7 }));
    assert_eq!(valid("error", &impossible)["error"]["kind"], "impossible");
    let levels =
        serde_json::from_str::<Value>(include_str!("../spec/levels.json")).expect("it is JSON");
    let schema = fingerpost_json::schema("levels").expect("it is there");
    assert!(jsonschema::draft202012::is_valid(&schema, &levels));
    assert!(Levels::from_json(&levels.to_string()).is_ok());
}
