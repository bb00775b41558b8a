//! The boards that ship with the project: each is read, has nothing wrong with it, and is played in the order worked out here by hand.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use fingerpost::{Board, Severity, Terms, check, compare};
use serde_json::Value;

/// A board and its order in runs of measures, with the reason for each move.
struct Expected {
    file: &'static str,
    /// The first and the last measure of each run.
    runs: &'static [(u16, u16)],
    settled: bool,
    /// How often an open section is played.
    plays: Option<u32>,
    /// The advice that is right for it; nothing is wrong with any of them.
    advice: &'static [&'static str],
}

const fn expected(file: &'static str, runs: &'static [(u16, u16)]) -> Expected {
    Expected {
        file,
        runs,
        settled: true,
        plays: None,
        advice: &[],
    }
}

const EXPECTED: &[Expected] = &[
    // An end repeat alone goes back to the beginning.
    expected("round-the-hut", &[(1, 4), (1, 4)]),
    // The repeat goes back to the start repeat at measure 3, not to the beginning.
    expected("over-the-stile", &[(1, 6), (3, 8)]),
    // The second time the first ending is passed over.
    expected("two-gates", &[(1, 4), (1, 3), (5, 8)]),
    // Measures 2 and 3 are played three times in all.
    expected("the-ferry-bell", &[(1, 3), (2, 3), (2, 4)]),
    // Ending 1,2 sends back twice; the third time ending 3 is played.
    expected("wayside-posts", &[(1, 4), (2, 4), (2, 3), (5, 6)]),
    // Octaves, hands and fermatas change no order: a plain repeat.
    expected("the-echo-wall", &[(1, 4), (1, 4)]),
    // Fine is passed by at first; after the D.C. it ends the piece.
    expected("down-to-the-ferry", &[(1, 8), (1, 4)]),
    // The same, from the segno at measure 3 in place of the beginning.
    expected("back-to-the-post", &[(1, 8), (3, 6)]),
    // After the D.C. the To Coda at measure 4 leads to the coda at measure 9.
    expected("the-long-way-round", &[(1, 8), (1, 4), (9, 10)]),
    // From the beginning up to the segno, which is measure 3, and from there to the coda.
    expected("to-the-signpost", &[(1, 4), (1, 2), (5, 6)]),
    // Endings on the way out; on the return, senza rep., the section sounds once with its last ending; then the coda.
    expected(
        "the-high-hut",
        &[(1, 7), (5, 6), (8, 12), (3, 6), (8, 10), (13, 16)],
    ),
    // The pickup is measure 1 and is not repeated: the start repeat stands after it.
    expected("an-early-start", &[(1, 5), (2, 9)]),
    // Printed numbers change nothing: the segno is at the second measure, Fine at the fourth.
    expected("from-post-seventeen", &[(1, 8), (2, 4)]),
    // Fine cuts measure 4: both its parts sound at first, the first part alone on the return.
    expected("the-broken-step", &[(1, 4), (4, 8), (1, 4)]),
    // Played three times, as asked for here.
    Expected {
        plays: Some(3),
        advice: &["no-fixed-length"],
        ..expected("waiting-for-the-ferry", &[(1, 4), (3, 4), (3, 6)])
    },
    // Every section twice on the way out and, by today's custom, once on the return.
    Expected {
        settled: false,
        advice: &["not-settled"],
        ..expected(
            "two-huts",
            &[(1, 4), (1, 8), (5, 12), (9, 16), (13, 16), (1, 8)],
        )
    },
    // The same with senza rep. at the D.C., which says so itself.
    expected(
        "two-huts-settled",
        &[(1, 4), (1, 8), (5, 12), (9, 16), (13, 16), (1, 8)],
    ),
    // The first D.C. is for To Coda A, the second, in coda A, for To Coda B.
    expected("two-ferries", &[(1, 6), (1, 2), (7, 8), (1, 4), (9, 10)]),
];

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/boards")
}

fn text(file: &str) -> String {
    fs::read_to_string(folder().join(format!("{file}.json"))).unwrap()
}

#[test]
fn every_board_of_the_folder_has_its_expectation() {
    let files: BTreeSet<String> = fs::read_dir(folder())
        .unwrap()
        .map(|entry| {
            let path = entry.unwrap().path();
            path.file_stem().unwrap().to_str().unwrap().to_owned()
        })
        .collect();
    let expected: BTreeSet<String> = EXPECTED.iter().map(|it| it.file.to_owned()).collect();
    assert_eq!(files, expected);
    assert!(files.len() >= 14);
}

#[test]
fn every_board_opens_with_its_title_and_names_its_schema() {
    for Expected { file, .. } in EXPECTED {
        let text = text(file);
        let keys: Vec<&str> = text
            .lines()
            .skip(1)
            .filter_map(|line| line.trim().strip_prefix('"')?.split('"').next())
            .take(4)
            .collect();
        assert_eq!(keys, ["$schema", "board", "title", "source"], "{file}");
        let value: Value = serde_json::from_str(&text).unwrap();
        let schema = value["$schema"].as_str().unwrap();
        assert_eq!(schema, "../../spec/board.schema.json", "{file}");
        assert_eq!(value["source"], "Invented for this project.", "{file}");
    }
}

#[test]
fn every_board_validates() {
    let schema = jsonschema::validator_for(&fingerpost::board_schema()).unwrap();
    for Expected { file, .. } in EXPECTED {
        let value: Value = serde_json::from_str(&text(file)).unwrap();
        let faults: Vec<String> = schema
            .iter_errors(&value)
            .map(|error| error.to_string())
            .collect();
        assert!(faults.is_empty(), "{file}: {faults:?}");
    }
}

#[test]
fn every_board_has_nothing_wrong_and_is_played_as_worked_out_by_hand() {
    for it in EXPECTED {
        let file = it.file;
        let board = Board::from_json(&text(file)).unwrap();
        let findings = check(&board);
        let rules: Vec<&str> = findings.iter().map(|finding| finding.rule).collect();
        assert_eq!(rules, it.advice, "{file}");
        assert!(
            findings
                .iter()
                .all(|finding| finding.severity == Severity::Advice)
        );
        let terms = Terms {
            open_plays: it.plays,
            ..Terms::default()
        };
        let compared = compare(&board, &terms).unwrap();
        let order: Vec<u16> = compared.routes[0]
            .roadmap
            .steps()
            .map(|step| step.measure)
            .collect();
        let worked: Vec<u16> = it
            .runs
            .iter()
            .flat_map(|&(first, last)| first..=last)
            .collect();
        assert_eq!(order, worked, "{file}");
        assert_eq!(compared.settled(), it.settled, "{file}");
    }
}

#[test]
fn the_cut_measure_sounds_whole_at_first_and_up_to_its_second_beat_at_last() {
    let board = Board::from_json(&text("the-broken-step")).unwrap();
    let roadmap = fingerpost::Roadmap::new(&board, &Terms::default()).unwrap();
    let parts: Vec<String> = roadmap
        .steps()
        .filter_map(|step| step.part)
        .map(|part| format!("{}-{}", part.from, part.to))
        .collect();
    assert_eq!(parts, ["0/1-1/2", "1/2-1/1", "0/1-1/2"]);
}

#[test]
fn the_echo_wall_sounds_otherwise_on_its_repeat() {
    let board = Board::from_json(&text("the-echo-wall")).unwrap();
    let roadmap = fingerpost::Roadmap::new(&board, &Terms::default()).unwrap();
    let told: Vec<String> = roadmap
        .steps()
        .map(|step| format!("{:?} {} {:?}", step.hands, step.octave.right, step.hold))
        .collect();
    let (first, second) = told.split_at(4);
    // The left hand is silent in measures 1 and 2 at first.
    assert_eq!(
        first,
        ["Right 0 None", "Right 0 None", "Both 0 None", "Both 0 None"]
    );
    // On the repeat it plays, measures 3 and 4 sound an octave higher, and the last is held.
    assert_eq!(
        second,
        ["Both 0 None", "Both 0 None", "Both 1 None", "Both 1 Both"]
    );
}
