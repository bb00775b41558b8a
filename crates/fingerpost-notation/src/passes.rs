//! Lists of passes as files and printed music write them.

use fingerpost::Passes;

/// A list of passes as the `number` of an ending has it, and as people print it: "1, 2", "1.", "1. 2.", "1-3".
pub(crate) fn passes(text: &str) -> Option<Passes> {
    let mut ranges = Vec::new();
    for item in text.split([',', ' ', '.', ';', '\n', '\t']) {
        if item.is_empty() {
            continue;
        }
        let (from, to) = item.split_once(['-', '–']).unwrap_or((item, item));
        ranges.push((from.parse().ok()?, to.parse().ok()?));
    }
    Passes::of_ranges(ranges).ok()
}

/// A text of the file's as a message shows it.
pub(crate) fn shortened(text: &str) -> String {
    const MOST: usize = 40;
    let mut short: String = text
        .chars()
        .filter(|c| !c.is_control())
        .take(MOST)
        .collect();
    if text.chars().count() > MOST {
        short.push('…');
    }
    short
}
