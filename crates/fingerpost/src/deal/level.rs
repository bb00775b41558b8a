//! Levels of teaching: data, so that a teacher can write others.

use super::concept::Concept;

/// The levels that come with the library. A copy of `spec/levels.json`; a test holds the two against each other.
const BUILT_IN: &str = include_str!("levels.json");

/// The most levels of a file.
pub const MOST_LEVELS: usize = 99;
/// The largest levels file, in bytes.
pub const LARGEST_LEVELS: usize = 100_000;

/// A row of levels, each with what it teaches, in the order of teaching.
///
/// ```
/// use fingerpost::{Concept, Levels};
/// let levels = Levels::built_in();
/// assert_eq!(levels.taught_at(Concept::DaCapoAlFine), Some(3));
/// # Ok::<(), fingerpost::LevelsError>(())
/// ```
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Levels {
    // INVARIANT: numbers rise from 1 to 99; at least one level; no concept is taught twice; each range runs upwards.
    list: Vec<Level>,
}

/// One level.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Level {
    /// Its number, from 1 to 99; the numbers of a file rise.
    #[cfg_attr(feature = "schema", schemars(range(min = 1, max = 99)))]
    pub level: u8,
    /// What it is about, in a few words.
    pub name: String,
    /// The concepts that are new at this level.
    #[cfg_attr(feature = "schema", schemars(length(min = 1)))]
    pub teaches: Vec<Concept>,
    /// How many of the new concepts a board shows, from and to; at least 1. A board that is too small for them shows fewer.
    pub new: (u8, u8),
    /// How many concepts of earlier levels it shows besides, from and to.
    pub known: (u8, u8),
}

/// A levels file.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct LevelsFile {
    /// The version of the format: 1.
    #[cfg_attr(feature = "schema", schemars(range(min = 1, max = 1)))]
    pub levels: u32,
    /// The levels, in the order of teaching.
    #[cfg_attr(feature = "schema", schemars(length(min = 1, max = 99)))]
    pub list: Vec<Level>,
}

/// Why a file gives no levels.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("{message}")]
pub struct LevelsError {
    message: String,
}

impl LevelsError {
    fn new(message: impl Into<String>) -> LevelsError {
        LevelsError {
            message: message.into(),
        }
    }
}

impl Levels {
    /// The levels that come with the library: five, after the usual order of teaching.
    pub fn built_in() -> Levels {
        // cannot fail: a test reads the file.
        Levels::from_json(BUILT_IN).unwrap_or_else(|_| Levels { list: Vec::new() })
    }

    /// Reads a levels file. Its format: `spec/levels.schema.json`.
    ///
    /// # Errors
    /// What is wrong with the file, and where.
    pub fn from_json(text: &str) -> Result<Levels, LevelsError> {
        if text.len() > LARGEST_LEVELS {
            let message = format!("the levels file is larger than {LARGEST_LEVELS} bytes");
            return Err(LevelsError::new(message));
        }
        let file: LevelsFile = serde_json::from_str(text)
            .map_err(|error| LevelsError::new(format!("the levels cannot be read: {error}")))?;
        Levels::from_file(file)
    }

    /// The levels of a file that has been read.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn from_file(file: LevelsFile) -> Result<Levels, LevelsError> {
        if file.levels != 1 {
            let message = format!(
                "the levels have version {}; this program reads version 1",
                file.levels
            );
            return Err(LevelsError::new(message));
        }
        if file.list.is_empty() {
            return Err(LevelsError::new(
                "the levels file has no level in its `list`",
            ));
        }
        let mut taught: Vec<Concept> = Vec::new();
        let mut last = 0;
        for level in &file.list {
            let number = level.level;
            if number <= last || number > 99 {
                let message =
                    format!("level {number} stands after level {last}: numbers rise, from 1 to 99");
                return Err(LevelsError::new(message));
            }
            last = number;
            if level.teaches.is_empty() {
                let message =
                    format!("level {number} teaches nothing: name a concept in `teaches`");
                return Err(LevelsError::new(message));
            }
            for &concept in &level.teaches {
                if taught.contains(&concept) {
                    let message =
                        format!("`{concept}` is taught twice, the second time at level {number}");
                    return Err(LevelsError::new(message));
                }
                taught.push(concept);
            }
            let runs = |(from, to): (u8, u8)| from <= to;
            if !runs(level.new) || !runs(level.known) || level.new.0 == 0 {
                let message = format!(
                    "level {number}: `new` and `known` are two numbers, the second at least the first, and `new` begins at 1 or more"
                );
                return Err(LevelsError::new(message));
            }
        }
        Ok(Levels { list: file.list })
    }

    /// The levels, in the order of teaching.
    pub fn list(&self) -> &[Level] {
        &self.list
    }

    /// The level of a number.
    pub fn get(&self, number: u8) -> Option<&Level> {
        self.list.iter().find(|level| level.level == number)
    }

    /// The level at which a concept is new.
    pub fn taught_at(&self, concept: Concept) -> Option<u8> {
        let mut levels = self.list.iter();
        levels
            .find(|level| level.teaches.contains(&concept))
            .map(|level| level.level)
    }

    /// The concepts of the levels before one, in the order of teaching.
    pub fn known_before(&self, number: u8) -> Vec<Concept> {
        let before = self.list.iter().take_while(|level| level.level < number);
        before
            .flat_map(|level| level.teaches.iter().copied())
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_levels_that_come_along_teach_every_concept_once() {
        let levels = Levels::built_in();
        assert_eq!(levels.list().len(), 5);
        for &concept in Concept::ALL {
            assert!(levels.taught_at(concept).is_some(), "{concept}");
        }
    }

    #[test]
    fn what_is_wrong_with_a_file_is_said() {
        let level = |rest: &str| format!(r#"{{"levels":1,"list":[{rest}]}}"#);
        for (text, said) in [
            ("{}".to_owned(), "missing field `levels`"),
            (r#"{"levels":2,"list":[]}"#.to_owned(), "version 2"),
            (level(""), "no level"),
            (
                level(r#"{"level":1,"name":"","teaches":["fermatta"],"new":[1,1],"known":[0,0]}"#),
                "unknown variant `fermatta`",
            ),
            (
                level(r#"{"level":1,"name":"","teaches":["fermata"],"new":[2,1],"known":[0,0]}"#),
                "the second at least the first",
            ),
            (
                level(r#"{"level":0,"name":"","teaches":["fermata"],"new":[1,1],"known":[0,0]}"#),
                "numbers rise",
            ),
            (
                level(
                    r#"{"level":1,"name":"","teaches":["fermata","fermata"],"new":[1,1],"known":[0,0]}"#,
                ),
                "taught twice",
            ),
        ] {
            let error = Levels::from_json(&text).unwrap_err().to_string();
            assert!(error.contains(said), "{error}");
        }
    }
}
