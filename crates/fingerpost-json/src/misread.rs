//! The pages of the misunderstandings.

use fingerpost::Misunderstanding;
use serde::{Deserialize, Serialize};

/// The pages, generated from spec/misunderstandings and proved fresh by a test.
const PAGES: &str = include_str!("misread.json");

/// The page of a misunderstanding.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct MisreadPage {
    /// Which rule is changed, and how.
    pub what: String,
    /// A board that shows it, as a board line.
    pub board: String,
    /// The right order on that board: `1-3 2-4`.
    pub right: String,
    /// The order of a pupil who has the misunderstanding.
    pub pupil: String,
    /// What the pupil does.
    pub does: String,
    /// What to say to the pupil.
    pub say: String,
    /// How to practise.
    pub practise: String,
    /// What boards to practise with should teach, the nearest first.
    pub deal: Vec<String>,
    /// On whose word the page stands.
    pub sources: Vec<String>,
}

/// A page as the generated file holds it.
#[derive(Clone, Debug, Deserialize)]
struct PageText {
    name: String,
    clause: String,
    #[serde(flatten)]
    page: MisreadPage,
}

/// Every misunderstanding with the clause it breaks and its page.
pub(crate) fn pages() -> impl Iterator<Item = (Misunderstanding, String, MisreadPage)> {
    // cannot fail: a test reads the generated file.
    let mut pages: Vec<PageText> = serde_json::from_str(PAGES).unwrap_or_default();
    Misunderstanding::ALL.into_iter().filter_map(move |idea| {
        let at = pages.iter().position(|page| page.name == idea.name())?;
        let page = pages.swap_remove(at);
        Some((idea, page.clause, page.page))
    })
}

/// The page of one.
pub(crate) fn page(idea: Misunderstanding) -> Option<(String, MisreadPage)> {
    let mut pages = pages();
    pages.find_map(|(other, clause, page)| (other == idea).then_some((clause, page)))
}
