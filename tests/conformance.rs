//! The exported cases under spec/conformance: fresh, valid by their schema, and the same cases as the rulebook's.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Once;

use fingerpost::Board;
use fingerpost_conformance::{
    Form, Library, Suite, chapter_file, reply_schema, report_schema, request_schema, run, schema,
};

fn spec(below: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("spec")
        .join(below)
}

/// The copies that the published crate carries.
fn carried(below: &str) -> PathBuf {
    let folder = "crates/fingerpost-conformance/cases";
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join(folder)
        .join(below)
}

fn from_markdown() -> Suite {
    Suite::read_markdown(&spec("rulebook")).expect("the rulebook can be read")
}

fn from_json() -> Suite {
    generated();
    Suite::read_json(&spec("conformance")).expect("the exported cases can be read")
}

/// The generated files with what the rulebook gives for each. With `UPDATE=1` they are written anew first, once for all tests.
fn generated() -> Vec<(PathBuf, String)> {
    static UPDATED: Once = Once::new();
    let chapters = from_markdown().chapters;
    let mut files = Vec::new();
    for chapter in &chapters {
        let name = format!("{}.json", chapter.chapter);
        let text = chapter_file(chapter).expect("a chapter can be written");
        files.push((carried(&name), text.clone()));
        files.push((spec("conformance").join(name), text));
    }
    for (name, schema) in [
        ("conformance", schema()),
        ("subject-request", request_schema()),
        ("subject-reply", reply_schema()),
        ("conformance-report", report_schema()),
    ] {
        let text = serde_json::to_string_pretty(&schema).expect("the schema can be written");
        files.push((spec(&format!("{name}.schema.json")), text + "\n"));
    }
    UPDATED.call_once(|| {
        if std::env::var_os("UPDATE").is_some() {
            for (path, text) in &files {
                std::fs::write(path, text).expect("the generated file can be written");
            }
        }
    });
    files
}

#[test]
fn the_generated_files_are_fresh() {
    for (path, text) in generated() {
        let written = std::fs::read_to_string(&path).unwrap_or_default();
        assert!(
            written == text,
            "{} is not what the rulebook gives; `UPDATE=1 cargo test --test conformance` writes it anew",
            path.display()
        );
    }
}

#[test]
fn no_exported_file_is_left_over() {
    let wanted: BTreeSet<PathBuf> = generated().into_iter().map(|(path, _)| path).collect();
    for folder in [spec("conformance"), carried("")] {
        for entry in std::fs::read_dir(folder).expect("the folder is there") {
            let path = entry.expect("the folder can be read").path();
            assert!(
                wanted.contains(&path),
                "no chapter gives {}",
                path.display()
            );
        }
    }
}

#[test]
fn every_exported_file_is_valid_by_the_schema() {
    generated();
    let text = std::fs::read_to_string(spec("conformance.schema.json")).unwrap();
    let schema: serde_json::Value = serde_json::from_str(&text).unwrap();
    let validator = jsonschema::validator_for(&schema).expect("the schema is a schema");
    for chapter in from_markdown().chapters {
        let path = spec("conformance").join(format!("{}.json", chapter.chapter));
        let text = std::fs::read_to_string(&path).unwrap();
        let mut file: serde_json::Value = serde_json::from_str(&text).unwrap();
        let errors: Vec<String> = validator
            .iter_errors(&file)
            .map(|error| format!("{}: {error}", error.instance_path()))
            .collect();
        assert!(errors.is_empty(), "{}: {errors:?}", path.display());
        // The schema refuses what is no case.
        file["cases"][0]["routes"][0]["expect"]["ordr"] = serde_json::json!([1]);
        assert!(!validator.is_valid(&file));
    }
}

#[test]
fn the_exported_cases_are_those_of_the_rulebook() {
    let (markdown, json) = (from_markdown(), from_json());
    let cases = |suite: &Suite| -> Vec<serde_json::Value> {
        suite
            .cases()
            .map(|case| serde_json::to_value(case).unwrap())
            .collect()
    };
    assert_eq!(cases(&markdown), cases(&json));
    let clauses = |suite: &Suite| -> Vec<String> {
        let all = suite.chapters.iter().flat_map(|chapter| &chapter.clauses);
        all.map(|clause| clause.number.clone()).collect()
    };
    assert_eq!(clauses(&markdown), clauses(&json));
}

#[test]
fn the_cases_that_the_crate_carries_are_all_of_them() {
    let carried = Suite::carried().expect("the carried cases can be read");
    assert_eq!(carried, from_json());
}

#[test]
fn line_and_file_of_a_case_are_one_board() {
    for case in from_json().cases() {
        let Some(line) = &case.line else { continue };
        let file = serde_json::to_string(&case.board).unwrap();
        assert_eq!(
            Board::from_line(line).unwrap().canonical(),
            Board::from_json(&file).unwrap().canonical(),
            "{}",
            case.id
        );
    }
}

#[test]
fn the_exported_cases_run() {
    let suite = from_json();
    let mut wrong = Vec::new();
    for case in suite.cases() {
        for disagreement in run(case, &mut Library, Form::Json) {
            wrong.push(format!("{}: {disagreement}", case.id));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(suite.cases().count() >= 260);
}
