//! Findings in the forms that the services read which check a repository: one file a form.
//!
//! A board is given with the path of its file, relative to the root of the repository and with `/` between its parts; a board that is no
//! file has none.

mod annotations;
mod azure;
mod github;
mod gitlab;
mod pages;
mod sarif;

use std::collections::HashMap;

use crate::check::CheckedBoard;
use crate::findings::FindingAnswer;
use crate::score::TuneAnswer;

pub use azure::azure_lines;
pub use github::github_lines;
pub use gitlab::{
    QualityIssue, QualityLines, QualityPlace, QualitySeverity, quality_issues, quality_report,
};
pub use sarif::*;

/// The name of a board in words, before a message: of one that is no file, and of a tune in a book.
fn name(path: Option<&str>, board: &CheckedBoard) -> String {
    // A board that is no file can only be named in words.
    let file = board.file.as_ref().filter(|_| path.is_none());
    let tune = board.tune.as_ref().map(TuneAnswer::words);
    match (file, tune) {
        (Some(file), Some(tune)) => format!("{file}, tune {tune}: "),
        (Some(file), None) => format!("{file}: "),
        (None, Some(tune)) => format!("tune {tune}: "),
        (None, None) => String::new(),
    }
}

/// A name for each finding of a board that stays the same when lines are added above it: made from the rule, the marking and where on the
/// board it stands, and from how often the same came before.
fn fingerprints(path: Option<&str>, board: &CheckedBoard) -> Vec<String> {
    let tune = board.tune.as_ref().map(TuneAnswer::words);
    let mut seen: HashMap<u128, u32> = HashMap::new();
    let name = |finding: &FindingAnswer| {
        let mut parts = vec![path.unwrap_or_default(), &finding.rule];
        // An id is stable wherever its marking goes.
        match &finding.id {
            Some(id) => parts.push(id),
            None => parts.extend(finding.place.as_ref().map(|place| place.words.as_str())),
        }
        parts.extend(tune.as_deref());
        let hash = parts.iter().fold(OFFSET, |hash, part| {
            fnv_1a(fnv_1a(hash, part.as_bytes()), &[0])
        });
        let before = seen.entry(hash).or_insert(0);
        let number = *before;
        *before += 1;
        format!("{:032x}", fnv_1a(hash, &number.to_le_bytes()))
    };
    board.findings.iter().map(name).collect()
}

/// What the hash of nothing is: the offset basis of FNV-1a with 128 bits.
const OFFSET: u128 = 0x6c62_272e_07bb_0142_62b8_2175_6295_c58d;

/// FNV-1a with 128 bits: the same on every machine and in every version.
fn fnv_1a(hash: u128, bytes: &[u8]) -> u128 {
    const PRIME: u128 = 0x0000_0000_0100_0000_0000_0000_0000_013b;
    bytes.iter().fold(hash, |hash, &byte| {
        (hash ^ u128::from(byte)).wrapping_mul(PRIME)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_hash_is_the_published_one() {
        // The vectors published with the algorithm.
        assert_eq!(fnv_1a(OFFSET, b""), OFFSET);
        assert_eq!(
            fnv_1a(OFFSET, b"a"),
            0xd228_cb69_6f1a_8caf_7891_2b70_4e4a_8964
        );
        assert_eq!(
            fnv_1a(OFFSET, b"foobar"),
            0x343e_1662_793c_64bf_6f0d_3597_ba44_6f18
        );
    }
}
