//! The forms of `check`, run and read: SARIF by the schema of the standard, the others by what their services have published.
#![allow(dead_code, unreachable_pub)] // Each test takes what it needs.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use serde_json::{Value, json};

use super::command::ran_on;

/// The forms.
pub const FORMS: [&str; 6] = ["text", "json", "sarif", "github", "azure", "gitlab"];
/// A board that lacks its Fine.
pub const NO_FINE: &str = "|: 1 | 2 :| 3 D.C. al Fine |";
/// The same as a file, with a marking a line.
pub const NO_FINE_FILE: &str = r#"{
  "board": 1, "systems": [3],
  "markings": [
    { "mark": "end-repeat", "measure": 2 },
    { "mark": "da-capo", "measure": 3, "al": "fine" }
  ]
}
"#;

/// A run of `check` in a form: the exit status, standard output and standard error.
pub fn checked(form: &str, boards: &[&str], stdin: &[u8]) -> (u8, String, String) {
    let args = [&["check", "--as", form], boards].concat();
    ran_on(&args, stdin)
}

/// An empty folder of its own for a test, inside this repository wherever its programs are built: reports give paths from there.
pub fn folder(name: &str) -> PathBuf {
    let folder = root().join("target/forms").join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

/// The path of a file below this repository as a report gives it.
pub fn reported(path: &Path) -> String {
    path.strip_prefix(root())
        .unwrap()
        .to_str()
        .unwrap()
        .to_owned()
}

pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// What the standard asks of a log.
pub static SARIF: LazyLock<jsonschema::Validator> = LazyLock::new(|| {
    let schema = include_str!("../data/sarif-schema-2.1.0.json");
    // A pattern for the tags of languages is published with a bracket too many, which no validator that asks for regular expressions
    // of the standard takes.
    let schema = schema.replace("-[a-zA-Z]{2}]?$", "-[a-zA-Z]{2}$");
    let schema: Value = serde_json::from_str(&schema).unwrap();
    let options = jsonschema::draft7::options().should_validate_formats(true);
    options.build(&schema).unwrap()
});

/// A SARIF log, held against the schema of the standard.
pub fn sarif(text: &str) -> Value {
    let log: Value = serde_json::from_str(text).unwrap();
    let faults: Vec<String> = SARIF
        .iter_errors(&log)
        .map(|error| format!("{}: {error}", error.instance_path()))
        .collect();
    assert_eq!(faults, [""; 0], "{text}");
    log
}

/// A line that marks a place, read by the grammar that its service has published.
#[derive(Debug, PartialEq)]
pub struct Mark {
    pub name: String,
    pub properties: BTreeMap<String, String>,
    pub data: String,
}

/// A workflow command of GitHub: `::name key=value,key=value::data`
pub fn workflow_command(line: &str) -> Mark {
    let rest = line.strip_prefix("::").unwrap_or_else(|| panic!("{line}"));
    let (head, data) = rest.split_once("::").unwrap();
    let (name, properties) = head.split_once(' ').unwrap_or((head, ""));
    let property = |property: &str| {
        let (key, value) = property.split_once('=').unwrap();
        let value = value.replace("%3A", ":").replace("%2C", ",");
        (key.to_owned(), unescaped(&value, "%25"))
    };
    assert!(["error", "warning", "notice"].contains(&name), "{line}");
    let properties: BTreeMap<_, _> = properties.split(',').map(property).collect();
    for key in properties.keys() {
        let known = ["title", "file", "line", "col", "endLine", "endColumn"];
        assert!(known.contains(&key.as_str()), "{line}");
    }
    Mark {
        name: name.to_owned(),
        properties,
        data: unescaped(data, "%25"),
    }
}

/// A logging command of Azure Pipelines: `##vso[area.action key=value;key=value;]data`
pub fn logging_command(line: &str) -> Mark {
    let rest = line
        .strip_prefix("##vso[")
        .unwrap_or_else(|| panic!("{line}"));
    let (head, data) = rest.split_once(']').unwrap();
    let (name, properties) = head.split_once(' ').unwrap();
    assert_eq!(name, "task.logissue");
    let property = |property: &str| {
        let (key, value) = property.split_once('=').unwrap();
        let value = value.replace("%5D", "]").replace("%3B", ";");
        (key.to_owned(), unescaped(&value, "%AZP25"))
    };
    let properties = properties.split(';').filter(|it| !it.is_empty());
    let properties: BTreeMap<_, _> = properties.map(property).collect();
    for key in properties.keys() {
        let known = ["type", "sourcepath", "linenumber", "columnnumber", "code"];
        assert!(known.contains(&key.as_str()), "{line}");
    }
    assert!(
        ["error", "warning"].contains(&properties["type"].as_str()),
        "{line}"
    );
    Mark {
        name: name.to_owned(),
        properties,
        data: unescaped(data, "%AZP25"),
    }
}

/// A text as it was before its service's escapes, of which the one for the percent sign is its own; that comes last.
fn unescaped(text: &str, percent: &str) -> String {
    let text = text.replace("%0D", "\r").replace("%0A", "\n");
    text.replace(percent, "%")
}

/// What the documentation of code quality asks of a report.
pub static QUALITY: LazyLock<jsonschema::Validator> = LazyLock::new(|| {
    let text = json!({ "type": "string", "minLength": 1 });
    let line = json!({ "type": "integer", "minimum": 1 });
    let lines = json!({ "type": "object", "required": ["begin"], "properties": { "begin": line } });
    let schema = json!({
        "type": "array",
        "items": {
            "type": "object",
            "required": ["description", "check_name", "fingerprint", "severity", "location"],
            "additionalProperties": false,
            "properties": {
                "description": text, "check_name": text, "fingerprint": text,
                "severity": { "enum": ["info", "minor", "major", "critical", "blocker"] },
                "location": {
                    "type": "object", "required": ["path", "lines"], "additionalProperties": false,
                    "properties": { "path": text, "lines": lines },
                },
            },
        },
    });
    jsonschema::validator_for(&schema).unwrap()
});

/// A code quality report, held against what its documentation asks for.
pub fn quality(text: &str) -> Vec<Value> {
    let report: Value = serde_json::from_str(text).unwrap();
    let faults: Vec<String> = QUALITY
        .iter_errors(&report)
        .map(|error| format!("{}: {error}", error.instance_path()))
        .collect();
    assert_eq!(faults, [""; 0], "{text}");
    let issues = report.as_array().unwrap();
    let names: BTreeSet<&str> = issues
        .iter()
        .filter_map(|it| it["fingerprint"].as_str())
        .collect();
    assert_eq!(
        names.len(),
        issues.len(),
        "a fingerprint comes twice: {text}"
    );
    let relative = |issue: &Value| {
        let path = issue["location"]["path"].as_str().unwrap();
        !path.starts_with("./") && !path.starts_with('/')
    };
    assert!(issues.iter().all(relative), "{text}");
    issues.clone()
}
