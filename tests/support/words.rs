//! The words that findings and complaints may use, and those that nobody should have to read.
#![allow(dead_code)] // Each test takes what it needs.

use std::collections::BTreeSet;
use std::fs;

/// Words that blame, belittle or shout.
const UNKIND: &[&str] = &[
    "bad",
    "illegal",
    "invalid",
    "wrong",
    "mistake",
    "fail",
    "failed",
    "forbidden",
    "forgot",
    "you must",
    "stupid",
    "obviously",
    "of course",
    "simply",
    "just",
    "easy",
    "easily",
];

/// A text blames nobody and does not shout.
pub(crate) fn kind(what: &str, text: &str) {
    let lower = text.to_lowercase();
    let words: Vec<&str> = lower
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .collect();
    let spoken = format!(" {} ", words.join(" "));
    for unkind in UNKIND {
        assert!(
            !spoken.contains(&format!(" {unkind} ")),
            "{what}: `{unkind}` in `{text}`"
        );
    }
}

/// The words that findings may use: the trade's, each explained, and plain ones.
pub(crate) fn vocabulary() -> BTreeSet<String> {
    let text = page();
    let (trade, plain) = text.split_once("\n## Plain words\n").expect("two lists");
    let trade = trade
        .lines()
        .filter_map(|line| line.strip_prefix("- `")?.split_once("`: "));
    let trade: Vec<&str> = trade.map(|(word, _)| word).collect();
    assert!(trade.is_sorted(), "{trade:?}");
    let plain = in_order(plain);
    let trade = trade.into_iter().flat_map(|words| words.split(' '));
    trade.chain(plain).map(str::to_lowercase).collect()
}

/// The words that titles of fixes may use beside those of findings.
pub(crate) fn words_of_fixes() -> BTreeSet<String> {
    under("Words of the fixes")
}

/// The words that sentences for learners may use beside those of findings.
pub(crate) fn words_of_learners() -> BTreeSet<String> {
    under("Words for learners")
}

/// The words that complaints of a reader may use beside those of findings.
pub(crate) fn words_of_readers() -> BTreeSet<String> {
    under("Words of the readers")
}

fn under(heading: &str) -> BTreeSet<String> {
    let text = page();
    let heading = format!("\n## {heading}\n");
    let (_, list) = text.split_once(&heading).expect("a list");
    in_order(list).map(str::to_lowercase).collect()
}

/// The words of a list, up to the next heading: every paragraph that holds nothing but words.
fn in_order(list: &str) -> impl Iterator<Item = &str> {
    let list = list.split("\n## ").next().unwrap_or_default();
    let sentence = |paragraph: &&str| !paragraph.trim_end().ends_with('.');
    let paragraphs = list.split("\n\n").filter(sentence);
    let words: Vec<&str> = paragraphs.flat_map(str::split_whitespace).collect();
    assert!(words.is_sorted(), "words in order");
    words.into_iter()
}

fn page() -> String {
    let path = super::pages::folder().join("words.md");
    fs::read_to_string(path).expect("the list of words")
}

/// The words of a text, without numbers and without what stands in quotes or backticks.
pub(crate) fn words(text: &str) -> BTreeSet<String> {
    let unquoted = |text: &str, quote| text.split(quote).step_by(2).collect::<Vec<_>>().join(" ");
    let text = unquoted(&unquoted(text, '`'), '"').to_lowercase();
    let words = text.split(|c: char| !(c.is_alphanumeric() || c == '.' || c == '-'));
    let words = words.map(|word| word.trim_end_matches(',').trim_matches('-'));
    // A point belongs to `D.C.` and `rep.`; findings have no full stops. A word of one letter may be a label.
    let words = words.filter(|word| word.chars().any(char::is_alphabetic));
    let words = words.filter(|word| word.chars().nth(1).is_some() || *word == "a");
    words.map(str::to_owned).collect()
}
