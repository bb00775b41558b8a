//! `check --as github`, `--as azure`: lines that mark a place of a file, whatever is said of whatever file.

mod support {
    pub(crate) mod command;
    pub(crate) mod forms;
}

use fingerpost::Severity;
use fingerpost_json::{CheckedBoard, FindingAnswer, PlaceAnswer, azure_lines, github_lines};
use proptest::prelude::*;
use serde_json::Value;

use support::forms::{Mark, NO_FINE, checked, logging_command, quality, workflow_command};

/// After the message the place would read as the last words of its sentence: "… is not settled, in measure 5".
#[test]
fn a_line_says_the_place_before_what_is_found_there() {
    for (board, said) in [
        (
            "1 |: 2 :| 3 D.C. |",
            "measure 3: two routes, from step 7 on",
        ),
        (
            NO_FINE,
            "at the end of measure 3: this D.C. al Fine cannot work alone",
        ),
        ("1 | 2 8va( | 3 8vb( | 4 ) | 5 ) |", "over measures "),
    ] {
        let (_, github, _) = checked("github", &[board], b"");
        let (_, azure, _) = checked("azure", &[board], b"");
        let (_, gitlab, _) = checked("gitlab", &[board], b"");
        // The report of GitLab names the board apart from what it says of it.
        let said = |text: &str| {
            text.strip_prefix("line: ")
                .unwrap_or(text)
                .starts_with(said)
        };
        assert!(
            github
                .lines()
                .any(|line| said(&workflow_command(line).data)),
            "{github}"
        );
        assert!(
            azure.lines().any(|line| said(&logging_command(line).data)),
            "{azure}"
        );
        let issue = |issue: &Value| issue["description"].as_str().is_some_and(said);
        assert!(quality(&gitlab).iter().any(issue), "{gitlab}");
    }
}

fn finding(rule: &str, message: &str, severity: Severity) -> CheckedBoard {
    CheckedBoard {
        file: Some("a name that the path outranks".to_owned()),
        findings: vec![FindingAnswer {
            rule: rule.to_owned(),
            severity,
            message: message.to_owned(),
            help: "help".to_owned(),
            clause: None,
            page: String::new(),
            place: None::<PlaceAnswer>,
            measure: None,
            marking: None,
            id: None,
            related: Vec::new(),
            line: Some(3),
            column: Some(4),
            fixes: Vec::new(),
        }],
        error: None,
        tune: None,
        made: Vec::new(),
        text: None,
        unfinished: false,
    }
}

/// Texts of characters that some grammar gives a meaning to, and of any others.
fn hostile() -> impl Strategy<Value = String> {
    let odd = prop::sample::select(vec![
        "%",
        "%25",
        "%0A",
        "%AZP25",
        "%3A",
        "%2C",
        "%5D",
        ":",
        "::",
        ",",
        ";",
        "]",
        "[",
        "##vso[",
        "\n",
        "\r",
        "\r\n",
        "\t",
        "\u{1b}",
        "=",
        " ",
        "::error::",
        "a",
        "é",
        "𝄋",
        "\u{2028}",
        "0D",
        "5",
    ]);
    let any = any::<char>().prop_map(String::from);
    let piece = prop_oneof![4 => odd.prop_map(str::to_owned), 1 => any];
    prop::collection::vec(piece, 0..12).prop_map(|pieces| pieces.concat())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn whatever_is_said_of_whatever_file_is_read_as_it_was(path in hostile(), message in hostile(), rule in hostile()) {
        for (severity, workflow, logging) in [
            (Severity::Error, "error", "error"),
            (Severity::Warning, "warning", "warning"),
            (Severity::Advice, "notice", "warning"),
        ] {
            let board = finding(&rule, &message, severity);
            let data = format!("{message}\nhelp: help");
            let lines = github_lines(Some(&path), &board);
            prop_assert_eq!(lines.matches(['\n', '\r']).count(), 1);
            let line = lines.strip_suffix('\n').unwrap();
            let properties = [("file", path.as_str()), ("line", "3"), ("col", "4"), ("title", &rule)];
            let owned = |(key, value): (&str, &str)| (key.to_owned(), value.to_owned());
            prop_assert_eq!(workflow_command(line), Mark {
                name: workflow.to_owned(),
                properties: properties.into_iter().map(owned).collect(),
                data: data.clone(),
            });
            let lines = azure_lines(Some(&path), &board);
            prop_assert_eq!(lines.matches(['\n', '\r']).count(), 1);
            let line = lines.strip_suffix('\n').unwrap();
            let properties = [
                ("type", logging), ("sourcepath", &path), ("linenumber", "3"), ("columnnumber", "4"), ("code", &rule),
            ];
            prop_assert_eq!(logging_command(line), Mark {
                name: "task.logissue".to_owned(),
                properties: properties.into_iter().map(owned).collect(),
                data,
            });
        }
    }
}
