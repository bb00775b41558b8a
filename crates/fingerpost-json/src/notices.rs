//! The pages of what is noticed in reading and writing scores.

use fingerpost_notation::Rule;
use serde::Deserialize;

/// The pages, generated from spec/notation and proved fresh by a test.
const PAGES: &str = include_str!("notices.json");

/// The page of a notice.
#[derive(Clone, Debug, Deserialize)]
pub(crate) struct NoticePage {
    pub(crate) name: String,
    /// What it is about, in one sentence.
    pub(crate) title: String,
    pub(crate) what: String,
    pub(crate) todo: String,
    /// A score, or a board that is written as one, that gives it.
    pub(crate) example: String,
    pub(crate) sources: Vec<String>,
}

/// Every notice with its page.
pub(crate) fn pages() -> impl Iterator<Item = (Rule, NoticePage)> {
    // cannot fail: a test reads the generated file.
    let mut pages: Vec<NoticePage> = serde_json::from_str(PAGES).unwrap_or_default();
    Rule::ALL.into_iter().filter_map(move |rule| {
        let at = pages.iter().position(|page| page.name == rule.name())?;
        Some((rule, pages.swap_remove(at)))
    })
}
