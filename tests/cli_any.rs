//! The command on any board: it prints, its exit status is that of the findings, and what it prints keeps to its width.

mod support;

use fingerpost::{Board, Finding, Severity, check};
use fingerpost_cli::{Streams, run};
use proptest::prelude::*;
use serde_json::Value;

use support::boards::any_short_board;

fn ran(args: &[&str], board: &Board) -> (u8, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let status = run(
        std::iter::once("fingerpost").chain(args.iter().copied()),
        Streams {
            stdin: &mut board.to_json().as_bytes(),
            stdout: &mut out,
            stderr: &mut err,
            width: Some(WIDTH),
            progress: false,
        },
    );
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (status, text(out), text(err))
}

const WIDTH: usize = 80;

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, max_global_rejects: 1_000_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_board_is_drawn_with_all_its_measures(board in any_short_board()) {
        let (status, out, err) = ran(&["board", "-"], &board);
        prop_assert_eq!((status, err.as_str()), (0, ""));
        // A row that is too wide holds a single measure, which cannot be broken.
        let staves = out.lines().filter(|line| line.trim_start().starts_with('|'));
        // A name with a barline in it would be taken for two measures here.
        let plain = (1..=board.measures()).all(|it| !board.measure_name(it).contains('|'));
        for staff in staves.filter(|_| plain).filter(|line| line.chars().count() > WIDTH) {
            let inside = staff.trim().trim_matches(['|', ':', ']']);
            prop_assert!(!inside.contains(" | "), "{}", staff);
        }
        for measure in 1..=board.measures() {
            prop_assert!(out.contains(&board.measure_name(measure)), "{}\n{}", measure, out);
        }
    }

    #[test]
    fn the_exit_status_is_that_of_the_findings(board in any_short_board()) {
        let errors = |finding: &Finding| finding.severity == Severity::Error;
        let wrong = check(&board).iter().any(errors);
        let (status, out, err) = ran(&["check", "-"], &board);
        prop_assert_eq!((status, err.as_str()), (u8::from(wrong), ""));
        prop_assert_eq!(out.contains(": error["), wrong);
        for command in ["unroll", "compare"] {
            let (status, out, err) = ran(&[command, "--plays", "2", "-"], &board);
            prop_assert_eq!((status, err.as_str()), (u8::from(wrong), ""), "{}", command);
            prop_assert_eq!(out.contains(": error["), wrong, "{}: {}", command, out);
            let (status, out, _) = ran(&[command, "--json", "--limit", "1000", "--plays", "2", "-"], &board);
            prop_assert_eq!(status, u8::from(wrong), "{}", command);
            let answer: Value = serde_json::from_str(&out).unwrap();
            prop_assert_eq!(answer["error"].is_object(), wrong, "{}", command);
        }
    }
}
