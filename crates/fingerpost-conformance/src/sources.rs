//! The list of sources that clauses and cases cite.

use crate::load::LoadError;

/// The key that stands for what musicians do and no text was found for.
pub const NO_SOURCE: &str = "common practice";
/// The key that stands for a decision of the rulebook itself.
pub const RULING: &str = "ruling of this rulebook";

/// The keys of the list of sources.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SourceList {
    keys: Vec<String>,
}

impl SourceList {
    /// Reads the keys out of the list: every line that begins with a key in backticks after a dash.
    ///
    /// # Errors
    /// A key that is listed twice; an entry that does not say what was seen of the source.
    pub fn from_markdown(file: &str, text: &str) -> Result<SourceList, LoadError> {
        let mut keys: Vec<String> = Vec::new();
        for (index, line) in text.lines().enumerate() {
            let Some((key, entry)) = line
                .strip_prefix("- `")
                .and_then(|rest| rest.split_once("`: "))
            else {
                continue;
            };
            if keys.iter().any(|other| other == key) {
                let message = format!("`{key}` is listed twice");
                return Err(LoadError::at(file, index + 1, message));
            }
            if !entry.contains("Seen") && !entry.contains("seen") {
                let message = format!("`{key}` does not say what was seen of it");
                return Err(LoadError::at(file, index + 1, message));
            }
            keys.push(key.to_owned());
        }
        Ok(SourceList { keys })
    }

    /// Whether a key may be cited: it is listed, or one of the two that stand for no source.
    pub fn holds(&self, key: &str) -> bool {
        key == NO_SOURCE || key == RULING || self.keys.iter().any(|other| other == key)
    }

    /// The keys in their order.
    pub fn keys(&self) -> &[String] {
        &self.keys
    }
}
