//! The pages of the rules, `spec/rules/NAME.md`, read apart.
#![allow(dead_code, unreachable_pub)] // Each test takes what it needs.

use std::fs;
use std::path::{Path, PathBuf};

/// The headings of a page, in their order.
pub const HEADINGS: [&str; 6] = [
    "What",
    "Why",
    "Wrong",
    "Right",
    "What to tell a beginner",
    "Sources",
];

/// The page of a rule.
#[derive(Clone, Debug)]
pub struct Page {
    /// What stands in the list at its head: name, severity, category, since, clause.
    pub head: Vec<(String, String)>,
    /// The text under each heading.
    sections: Vec<(String, String)>,
}

impl Page {
    /// Reads a page.
    pub fn read(text: &str) -> Page {
        let mut parts = text.split("\n## ");
        let head = parts.next().unwrap_or_default();
        let head = head
            .lines()
            .filter_map(|line| line.strip_prefix("- ")?.split_once(": "));
        let sections = parts.map(|part| {
            let (heading, body) = part.split_once('\n').unwrap_or((part, ""));
            (heading.to_owned(), body.trim().to_owned())
        });
        Page {
            head: head
                .map(|(key, value)| (key.to_owned(), value.to_owned()))
                .collect(),
            sections: sections.collect(),
        }
    }

    pub fn headings(&self) -> Vec<&str> {
        self.sections
            .iter()
            .map(|(heading, _)| heading.as_str())
            .collect()
    }

    /// The text under a heading.
    pub fn under(&self, heading: &str) -> &str {
        let mut sections = self.sections.iter();
        sections
            .find(|(other, _)| other == heading)
            .map_or("", |(_, text)| text)
    }

    /// The board lines under a heading.
    pub fn boards(&self, heading: &str) -> Vec<&str> {
        let fences = self.under(heading).split("```board\n").skip(1);
        fences
            .map(|rest| rest.split_once("\n```").map_or(rest, |(board, _)| board))
            .collect()
    }

    /// The sources, one a line.
    pub fn sources(&self) -> Vec<&str> {
        let lines = self.under("Sources").lines();
        lines
            .map(|line| line.strip_prefix("- ").unwrap_or(line))
            .collect()
    }
}

/// The folder of the pages.
pub fn folder() -> PathBuf {
    // The project's folder is that of the package, or lies around it.
    let package = Path::new(env!("CARGO_MANIFEST_DIR"));
    let project = package
        .ancestors()
        .find(|folder| folder.join("spec").is_dir());
    project.unwrap_or(package).join("spec/rules")
}

/// The page of a rule, as text.
pub fn text_of(rule: &str) -> String {
    let path = folder().join(format!("{rule}.md"));
    fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// The page of a rule.
pub fn page_of(rule: &str) -> Page {
    Page::read(&text_of(rule))
}
