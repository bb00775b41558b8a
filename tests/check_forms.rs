//! `check --as FORM`: every form is what its standard or its service's documentation says, on any board and with any name.

#[path = "support/command.rs"]
mod command;
#[path = "support/forms.rs"]
mod forms;
mod support;

use std::fs;
use std::path::Path;

use fingerpost::{Board, Severity, check, rules};
use fingerpost_notation::Rule;
use proptest::prelude::*;
use serde_json::{Value, json};

use forms::{
    FORMS, Mark, NO_FINE, NO_FINE_FILE, SARIF, checked, folder, logging_command, quality, reported,
    sarif, workflow_command,
};
use support::boards::{any_laid_board, any_short_board};

/// A name with everything in it that some form has to write in another way.
const HOSTILE: &str = "a %0A%25,b:c::d;e]f##vso[g|h\n::error::\ttwo\\three é𝄋.json";

// SARIF.

#[test]
fn the_schema_of_sarif_refuses_what_is_no_log() {
    let (_, out, _) = checked("sarif", &[NO_FINE], b"");
    let log = sarif(&out);
    for (pointer, value) in [
        ("/version", json!("2.0.0")),
        ("/runs/0/results/0/level", json!("advice")),
        ("/runs/0/columnKind", json!("bytes")),
        ("/runs/0/results/0/message", json!({})),
        ("/runs/0/tool/driver/rules/0/other", json!(1)),
        ("/runs/0/tool/driver/informationUri", json!("no uri")),
    ] {
        let mut log = log.clone();
        if let Some(there) = log.pointer_mut(pointer) {
            *there = value;
        } else {
            let (parent, key) = pointer.rsplit_once('/').unwrap();
            log.pointer_mut(parent).unwrap()[key] = value;
        }
        assert!(!SARIF.is_valid(&log), "{pointer}");
    }
}

#[test]
fn a_log_has_every_rule_with_its_page() {
    let (status, out, err) = checked("sarif", &["1 | 2 |"], b"");
    assert_eq!((status, err.as_str()), (0, ""));
    let log = sarif(&out);
    let driver = &log["runs"][0]["tool"]["driver"];
    let descriptors = driver["rules"].as_array().unwrap();
    assert_eq!(descriptors.len(), rules().count() + Rule::ALL.len());
    let notices = descriptors.iter().skip(rules().count());
    for (rule, descriptor) in Rule::ALL.iter().zip(notices) {
        assert_eq!(descriptor["id"], rule.name());
        let help = descriptor["help"]["text"].as_str().unwrap();
        assert!(help.contains("What to do"), "{help}");
    }
    for (rule, descriptor) in rules().zip(descriptors) {
        assert_eq!(descriptor["id"], rule.name);
        assert_eq!(descriptor["shortDescription"]["text"], rule.summary);
        let level = match rule.severity {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Advice => "note",
        };
        assert_eq!(descriptor["defaultConfiguration"]["level"], level);
        let help = &descriptor["help"];
        for text in [&help["text"], &help["markdown"]] {
            let text = text.as_str().unwrap();
            assert!(text.contains("What to tell a beginner"), "{text}");
        }
        assert_eq!(descriptor["properties"]["category"], rule.category.name());
    }
    assert_eq!(log["runs"][0]["results"], json!([]));
    assert_eq!(
        log["runs"][0]["invocations"][0]["executionSuccessful"],
        true
    );
}

#[test]
fn a_result_names_its_rule_and_its_place() {
    let path = folder("sarif-one").join("no fine.json");
    fs::write(&path, NO_FINE_FILE).unwrap();
    let (status, out, err) = checked("sarif", &[path.to_str().unwrap()], b"");
    assert_eq!((status, err.as_str()), (1, ""));
    let log = sarif(&out);
    let result = &log["runs"][0]["results"][0];
    assert_eq!(result["ruleId"], "fine-missing");
    let index = usize::try_from(result["ruleIndex"].as_u64().unwrap()).unwrap();
    let rules = &log["runs"][0]["tool"]["driver"]["rules"];
    assert_eq!(rules[index]["id"], "fine-missing");
    assert_eq!(
        result["message"]["text"],
        "this D.C. al Fine cannot work alone: it needs a Fine. \
        What to do: put a Fine at the measure with which the piece ends on the return."
    );
    let uri = reported(&path).replace(' ', "%20");
    assert_eq!(
        result["locations"],
        json!([{
            "physicalLocation": {
                "artifactLocation": { "uri": uri, "uriBaseId": "%SRCROOT%" },
                "region": { "startLine": 5, "startColumn": 5, "endLine": 5, "endColumn": 54 },
            },
            "logicalLocations": [{
                "name": "measure 3", "fullyQualifiedName": "at the end of measure 3", "kind": "measure",
            }],
        }])
    );
    assert_eq!(log["runs"][0]["columnKind"], "unicodeCodePoints");
}

#[test]
fn a_fingerprint_stays_when_a_file_is_laid_out_anew() {
    let fingerprints = |text: &str| -> Vec<Value> {
        let path = folder("sarif-fingerprint").join("board.json");
        fs::write(&path, text).unwrap();
        let (_, out, _) = checked("sarif", &[path.to_str().unwrap()], b"");
        let log = sarif(&out);
        let results = log["runs"][0]["results"].as_array().unwrap();
        let prints = results.iter().map(|it| it["partialFingerprints"].clone());
        prints.collect()
    };
    let one = fingerprints(NO_FINE_FILE);
    assert_eq!(one, fingerprints(&format!("\n\n{NO_FINE_FILE}")));
    assert_ne!(
        one,
        fingerprints(&NO_FINE_FILE.replace("\"measure\": 3", "\"measure\": 1"))
    );
}

// Boards that cannot be read.

#[test]
fn a_board_that_cannot_be_read_is_in_every_form() {
    let folder = folder("forms-unread");
    let (good, broken) = (folder.join("good.json"), folder.join("broken.json"));
    fs::write(&good, NO_FINE_FILE).unwrap();
    fs::write(&broken, "{ \"board\": 1,\n  \"sistems\": [4] }").unwrap();
    for form in FORMS {
        let (status, out, err) = checked(form, &[folder.to_str().unwrap()], b"");
        assert_eq!(status, 2, "{form}");
        assert!(err.contains("1 board could not be read"), "{form}: {err}");
        match form {
            "sarif" => {
                let log = sarif(&out);
                let invocation = &log["runs"][0]["invocations"][0];
                assert_eq!(invocation["executionSuccessful"], false);
                let said = &invocation["toolExecutionNotifications"];
                assert_eq!(said[0]["descriptor"]["id"], "no-board");
                let place = &said[0]["locations"][0]["physicalLocation"];
                assert_eq!(place["artifactLocation"]["uri"], reported(&broken));
                assert_eq!(place["region"]["startLine"], 2);
                assert_eq!(log["runs"][0]["results"].as_array().unwrap().len(), 1);
            }
            "github" => {
                let marks: Vec<Mark> = out.lines().map(workflow_command).collect();
                assert_eq!(marks[0].properties["title"], "no-board");
                assert_eq!(marks[0].properties["file"], reported(&broken));
                assert_eq!(marks[0].properties["line"], "2");
                assert!(marks[0].data.contains("did you mean `systems`"), "{out}");
            }
            "azure" => {
                let marks: Vec<Mark> = out.lines().map(logging_command).collect();
                assert_eq!(marks[0].properties["code"], "no-board");
                assert_eq!(marks[0].properties["type"], "error");
            }
            "gitlab" => {
                let report = quality(&out);
                assert_eq!(report[0]["severity"], "blocker");
                assert_eq!(report[0]["location"]["path"], reported(&broken));
            }
            "json" => {
                let error: Value = serde_json::from_str(&err).unwrap();
                assert_eq!(error["error"]["kind"], "no-board");
            }
            _ => {}
        }
    }
}

#[test]
fn the_exit_status_is_the_same_in_every_form() {
    for (boards, status) in [
        (&["1 | 2 |"][..], 0),
        (&[NO_FINE], 1),
        (&["1 | 2 |", NO_FINE], 1),
        (&["1 | fin |"], 2),
        (&["nowhere.json", NO_FINE], 2),
        (&["-"], 2),
    ] {
        for form in FORMS {
            let (found, out, err) = checked(form, boards, b"hello");
            assert_eq!(found, status, "{form} {boards:?}: {err}");
            match form {
                "sarif" => drop(sarif(&out)),
                "gitlab" => drop(quality(&out)),
                "github" => out.lines().map(workflow_command).for_each(drop),
                "azure" => out.lines().map(logging_command).for_each(drop),
                _ => {}
            }
        }
    }
}

#[test]
fn a_board_that_is_no_file_is_named_in_words() {
    let boards = ["1 D.S. | 2 |", "1 | 2 D.S. |"];
    let (_, out, _) = checked("github", &boards, b"");
    let marks: Vec<Mark> = out.lines().map(workflow_command).collect();
    let said = "line 1: at the end of measure 1: this D.S.";
    assert!(marks[0].data.starts_with(said), "{out}");
    let second = marks.iter().find(|mark| mark.data.starts_with("line 2: "));
    assert_eq!(second.unwrap().properties.get("file"), None);
    let (_, out, _) = checked("sarif", &boards, b"");
    let place = &sarif(&out)["runs"][0]["results"][0]["locations"][0];
    assert_eq!(place.get("physicalLocation"), None);
    assert_eq!(
        place["logicalLocations"][0]["fullyQualifiedName"],
        "line 1: at the end of measure 1"
    );
}

// Names of files.

#[test]
fn a_file_with_a_hostile_name_is_opened_and_named_in_every_form() {
    let path = folder("forms-hostile").join(HOSTILE);
    fs::write(&path, NO_FINE_FILE).unwrap();
    let (path, named) = (path.to_str().unwrap(), reported(&path));
    for form in FORMS {
        let (status, out, err) = checked(form, &[path], b"");
        assert_eq!((status, err.as_str()), (1, ""), "{form}");
        let found = match form {
            "sarif" => {
                let log = sarif(&out);
                let place = &log["runs"][0]["results"][0]["locations"][0]["physicalLocation"];
                let uri = place["artifactLocation"]["uri"].as_str().unwrap();
                assert!(uri.is_ascii() && !uri.contains([':', ' ', '\n']), "{uri}");
                percent_decoded(uri)
            }
            "github" => workflow_command(out.lines().next().unwrap()).properties["file"].clone(),
            "azure" => {
                logging_command(out.lines().next().unwrap()).properties["sourcepath"].clone()
            }
            "gitlab" => quality(&out)[0]["location"]["path"]
                .as_str()
                .unwrap()
                .to_owned(),
            _ => continue,
        };
        assert_eq!(found, named, "{form}");
    }
}

fn percent_decoded(uri: &str) -> String {
    let mut bytes = Vec::new();
    let mut rest = uri.bytes();
    while let Some(byte) = rest.next() {
        if byte == b'%' {
            let digits = [rest.next().unwrap(), rest.next().unwrap()];
            let digits = std::str::from_utf8(&digits).unwrap().to_owned();
            bytes.push(u8::from_str_radix(&digits, 16).unwrap());
        } else {
            bytes.push(byte);
        }
    }
    String::from_utf8(bytes).unwrap()
}

// The code quality report.

#[test]
fn a_report_holds_an_issue_once() {
    let path = folder("quality-twice").join("board.json");
    fs::write(&path, NO_FINE_FILE).unwrap();
    let path = path.to_str().unwrap();
    let (_, out, _) = checked("gitlab", &[path, path], b"");
    let issues = quality(&out);
    let findings = check(&Board::from_json(NO_FINE_FILE).unwrap());
    assert_eq!(issues.len(), findings.len());
    assert_eq!(issues[0]["check_name"], "fine-missing");
    assert_eq!(issues[0]["severity"], "major");
    assert_eq!(issues[0]["location"]["lines"]["begin"], 5);
}

// Any board.

fn on_any_board(board: &Board) -> Result<(), TestCaseError> {
    // A file has its markings in canonical order.
    let findings = check(&board.canonical());
    let text = board.to_json();
    let (_, out, err) = checked("sarif", &["-"], text.as_bytes());
    prop_assert_eq!(err.as_str(), "");
    let log = sarif(&out);
    let results = log["runs"][0]["results"].as_array().unwrap();
    prop_assert_eq!(results.len(), findings.len());
    for (result, finding) in results.iter().zip(&findings) {
        prop_assert_eq!(&result["ruleId"], finding.rule);
        let index = usize::try_from(result["ruleIndex"].as_u64().unwrap()).unwrap();
        let rule = &log["runs"][0]["tool"]["driver"]["rules"][index];
        prop_assert_eq!(&rule["id"], finding.rule);
        prop_assert_eq!(&rule["defaultConfiguration"]["level"], &result["level"]);
    }
    let (_, out, _) = checked("gitlab", &["-"], text.as_bytes());
    prop_assert_eq!(quality(&out).len(), findings.len());
    let (_, out, _) = checked("github", &["-"], text.as_bytes());
    prop_assert_eq!(out.lines().count(), findings.len());
    for (line, finding) in out.lines().zip(&findings) {
        let mark = workflow_command(line);
        prop_assert_eq!(&mark.properties["title"], finding.rule);
        prop_assert!(mark.data.contains(&finding.message));
    }
    let (_, out, _) = checked("azure", &["-"], text.as_bytes());
    prop_assert_eq!(out.lines().count(), findings.len());
    for (line, finding) in out.lines().zip(&findings) {
        prop_assert_eq!(&logging_command(line).properties["code"], finding.rule);
    }
    Ok(())
}

/// The markings of a board, cut out of its file by the regions of a log.
fn on_any_file(board: &Board, path: &Path) -> Result<(), TestCaseError> {
    // One key a line, so that regions go over several lines.
    let value: Value = serde_json::from_str(&board.to_json()).unwrap();
    let text = serde_json::to_string_pretty(&value).unwrap();
    fs::write(path, &text).unwrap();
    let (_, out, _) = checked("sarif", &[path.to_str().unwrap()], b"");
    let log = sarif(&out);
    let results = log["runs"][0]["results"].as_array().unwrap();
    let cut = |place: &Value| -> Value {
        let region = &place["physicalLocation"]["region"];
        let number = |key: &str| usize::try_from(region[key].as_u64().unwrap()).unwrap();
        let lines: Vec<&str> = text.split('\n').collect();
        let byte = |line: usize, column: usize| {
            let before: usize = lines[..line - 1].iter().map(|line| line.len() + 1).sum();
            let within: usize = lines[line - 1]
                .chars()
                .take(column - 1)
                .map(char::len_utf8)
                .sum();
            before + within
        };
        let from = byte(number("startLine"), number("startColumn"));
        let to = byte(number("endLine"), number("endColumn"));
        serde_json::from_str(&text[from..to]).unwrap()
    };
    for (result, finding) in results.iter().zip(check(&board.canonical())) {
        if let Some(index) = finding.marking {
            prop_assert_eq!(&cut(&result["locations"][0]), &value["markings"][index]);
        }
        let related = result["relatedLocations"].as_array();
        let related: Vec<Value> = related.into_iter().flatten().map(cut).collect();
        let expected = finding
            .related
            .iter()
            .map(|&index| value["markings"][index].clone());
        prop_assert_eq!(related, expected.collect::<Vec<_>>());
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 500, max_global_rejects: 1_000_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_form_tells_of_every_finding(short in any_short_board(), laid in any_laid_board()) {
        on_any_board(&short)?;
        on_any_board(&laid)?;
    }

    #[test]
    fn a_region_is_the_marking_itself(short in any_short_board(), laid in any_laid_board()) {
        let path = folder("region").join("board.json");
        on_any_file(&short, &path)?;
        on_any_file(&laid, &path)?;
    }
}
