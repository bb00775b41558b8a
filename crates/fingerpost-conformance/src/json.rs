//! The exported chapters: written, read, and described by a schema.

use crate::case::Chapter;
use crate::load::LoadError;

/// The version of the format.
pub const FORMAT: u32 = 1;

/// The text of a chapter's exported file: one case a line, so that a change of one case is a change of one line.
///
/// # Errors
/// None is known: every chapter can be written.
pub fn chapter_file(chapter: &Chapter) -> Result<String, serde_json::Error> {
    let members = [
        ("$schema", serde_json::to_string(&chapter.schema)?),
        ("conformance", chapter.conformance.to_string()),
        ("chapter", serde_json::to_string(&chapter.chapter)?),
        ("title", serde_json::to_string(&chapter.title)?),
        ("clauses", list(&chapter.clauses)?),
        ("cases", list(&chapter.cases)?),
    ];
    let lines = members.map(|(key, value)| format!("  \"{key}\": {value}"));
    Ok(format!("{{\n{}\n}}\n", lines.join(",\n")))
}

fn list<T: serde::Serialize>(items: &[T]) -> Result<String, serde_json::Error> {
    let lines: Vec<String> = items
        .iter()
        .map(|item| serde_json::to_string(item).map(|line| format!("    {line}")))
        .collect::<Result<_, _>>()?;
    Ok(format!("[\n{}\n  ]", lines.join(",\n")))
}

/// Reads an exported chapter.
pub(crate) fn chapter_from_json(file: &str, text: &str) -> Result<Chapter, LoadError> {
    let mut chapter: Chapter = serde_json::from_str(text)
        .map_err(|error| LoadError::at(file, error.line(), error.to_string()))?;
    if chapter.conformance != FORMAT {
        let message = format!(
            "version {} of the format is not known here; version {FORMAT} is",
            chapter.conformance
        );
        return Err(LoadError::new(file, message));
    }
    // One case a line: the line is found by the id.
    for case in &mut chapter.cases {
        let begins = format!("{{\"id\":\"{}\"", case.id);
        let line = text
            .lines()
            .position(|line| line.trim_start().starts_with(&begins));
        case.at = line.map_or(0, |line| line + 1);
        if let Some(route) = case.routes.iter().find(|r| r.expect.outcome().is_none()) {
            let message = format!(
                "case {} expects nothing, or two things at once: {:?}",
                case.id, route.expect
            );
            return Err(LoadError::at(file, case.at, message));
        }
    }
    Ok(chapter)
}

/// The JSON Schema (2020-12) of an exported chapter.
pub fn schema() -> serde_json::Value {
    let mut schema = schemars::schema_for!(Chapter).to_value();
    if let Some(object) = schema.as_object_mut() {
        object.insert("title".to_owned(), "A chapter of conformance cases".into());
    }
    schema
}
