//! The page of a rule as the help of a report: as plain text and as Markdown.

use std::fmt::Write;

use crate::explain::RulePage;
use crate::notices::NoticePage;

/// The page as plain text.
pub(super) fn plain(page: &RulePage) -> String {
    let mut text = format!("{}\n\nWhy\n{}\n", page.what, page.why);
    for (heading, boards) in [("Wrong", &page.wrong), ("Right", &page.right)] {
        // cannot fail: writing to memory does not fail.
        let _ = write!(text, "\n{heading}\n{}\n", boards.join("\n"));
    }
    let (beginner, sources) = (&page.beginner, page.sources.join("; "));
    let _ = write!(
        text,
        "\nWhat to tell a beginner\n{beginner}\n\nSources: {sources}\n"
    );
    text
}

/// The page as Markdown.
pub(super) fn markdown(page: &RulePage) -> String {
    let mut text = format!("{}\n\n## Why\n\n{}\n", page.what, page.why);
    for (heading, boards) in [("Wrong", &page.wrong), ("Right", &page.right)] {
        // cannot fail: writing to memory does not fail.
        let _ = write!(
            text,
            "\n## {heading}\n\n```text\n{}\n```\n",
            boards.join("\n")
        );
    }
    let (beginner, sources) = (&page.beginner, page.sources.join("\n- "));
    let _ = write!(
        text,
        "\n## What to tell a beginner\n\n{beginner}\n\n## Sources\n\n- {sources}\n"
    );
    text
}

/// The page of a notice as plain text.
pub(super) fn plain_notice(page: &NoticePage) -> String {
    let (what, todo, sources) = (&page.what, &page.todo, page.sources.join("; "));
    format!("{what}\n\nWhat to do\n{todo}\n\nSources: {sources}\n")
}

/// The page of a notice as Markdown.
pub(super) fn markdown_notice(page: &NoticePage) -> String {
    let (what, todo, sources) = (&page.what, &page.todo, page.sources.join("\n- "));
    format!("{what}\n\n## What to do\n\n{todo}\n\n## Sources\n\n- {sources}\n")
}
