//! A whole suite, read from the rulebook or from the exported files.

use std::path::{Path, PathBuf};

use crate::carried::CHAPTERS;
use crate::case::{Case, Chapter};
use crate::json::chapter_from_json;
use crate::markdown::chapter_from_markdown;

/// Why a suite could not be read, with file and line.
#[derive(Debug, thiserror::Error)]
#[error("{place}: {message}")]
pub struct LoadError {
    place: String,
    message: String,
}

impl LoadError {
    pub(crate) fn new(place: impl Into<String>, message: impl Into<String>) -> LoadError {
        LoadError {
            place: place.into(),
            message: message.into(),
        }
    }

    pub(crate) fn at(file: &str, line: usize, message: impl Into<String>) -> LoadError {
        LoadError::new(format!("{file}:{line}"), message)
    }

    /// File and line: `2-sections.md:14`; the file alone where no line is known.
    pub fn place(&self) -> &str {
        &self.place
    }
}

/// All chapters with their cases.
#[derive(Clone, PartialEq, Debug)]
pub struct Suite {
    /// The chapters, by their numbers.
    pub chapters: Vec<Chapter>,
}

impl Suite {
    /// Reads the chapters of the rulebook: every file of a folder whose name begins with a number and ends in `.md`.
    ///
    /// # Errors
    /// A file that cannot be read; the first line of a chapter that cannot be understood.
    pub fn read_markdown(folder: &Path) -> Result<Suite, LoadError> {
        read(folder, "md", chapter_from_markdown)
    }

    /// Reads exported chapters: every file of a folder whose name begins with a number and ends in `.json`.
    ///
    /// # Errors
    /// A file that cannot be read, or is no exported chapter.
    pub fn read_json(folder: &Path) -> Result<Suite, LoadError> {
        read(folder, "json", chapter_from_json)
    }

    /// The cases that this crate carries: those of the rulebook of this version.
    ///
    /// # Errors
    /// None is known: the files are proved to be those of the rulebook.
    pub fn carried() -> Result<Suite, LoadError> {
        let chapters = CHAPTERS
            .iter()
            .map(|(file, text)| chapter_from_json(file, text))
            .collect::<Result<_, _>>()?;
        Ok(Suite { chapters })
    }

    /// Every case, chapter by chapter.
    pub fn cases(&self) -> impl Iterator<Item = &Case> {
        self.chapters.iter().flat_map(|chapter| &chapter.cases)
    }
}

fn read(
    folder: &Path,
    ending: &str,
    chapter: fn(&str, &str) -> Result<Chapter, LoadError>,
) -> Result<Suite, LoadError> {
    let mut chapters = Vec::new();
    for (_, path) in numbered(folder, ending)? {
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let text = std::fs::read_to_string(&path)
            .map_err(|error| LoadError::new(path.display().to_string(), error.to_string()))?;
        chapters.push(chapter(&name, &text)?);
    }
    if chapters.is_empty() {
        let message = format!("no file here is named like `2-sections.{ending}`");
        return Err(LoadError::new(folder.display().to_string(), message));
    }
    // Chapter 0 tells how to read the others and has no clauses.
    chapters.retain(|chapter| !chapter.clauses.is_empty());
    Ok(Suite { chapters })
}

/// The files `2-name.ending` of a folder, by their numbers.
fn numbered(folder: &Path, ending: &str) -> Result<Vec<(u32, PathBuf)>, LoadError> {
    let failed =
        |error: std::io::Error| LoadError::new(folder.display().to_string(), error.to_string());
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(failed)? {
        let path = entry.map_err(failed)?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let number = name.split_once('-').and_then(|(n, _)| n.parse().ok());
        if let (Some(number), true) = (number, path.extension().is_some_and(|e| e == ending)) {
            files.push((number, path));
        }
    }
    files.sort();
    Ok(files)
}
