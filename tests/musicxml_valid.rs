//! Scores that this project writes are valid by the schema of MusicXML 4.0 (W3C Community Group Final Report, June 2021).
//!
//! A validator of XML schemas is not among what `cargo test` needs. So each score is made anew here, and its digest must be among those of the
//! scores that a validator has found valid: `tests/oracles/data/valid.tsv`, which `tests/oracles/valid_written.py` writes and nothing else.
//! A score that comes out otherwise than it did fails until it has been validated; FOLDER gets them all by
//! `WRITTEN=FOLDER cargo test --test musicxml_valid`.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use fingerpost::{Board, Terms};
use fingerpost_notation::{Unrolling, unrolled, write_musicxml};

#[path = "support/rulebook.rs"]
mod rulebook;

/// The boards of the rulebook as scores, and those scores and the example's in playing order, up to 200 measures.
fn written() -> BTreeMap<String, String> {
    let mut scores = BTreeMap::new();
    let unrolling = Unrolling {
        terms: Terms {
            open_plays: Some(2),
            ..Terms::default()
        },
        most_measures: 200,
        ..Unrolling::default()
    };
    for (id, board) in rulebook::rulebook() {
        let score = write_musicxml(&board).text;
        if let Ok(unrolled) = unrolled(score.as_bytes(), &unrolling) {
            scores.insert(format!("{id} in playing order"), unrolled.text);
        }
        scores.insert(id, score);
    }
    // What the rulebook does not have: names and titles with signs of XML in them, meters that change, a pickup.
    for (id, line) in [
        (
            "title",
            "{title \"Stile & <Hut>\"; composer \"\\\"Path\\\"\"} 1 | 2 :|",
        ),
        (
            "meters",
            "{meter 3/4; pickup 1/4; meters 3 6/8} 0 | 1 | |: 2 | 3 :|",
        ),
    ] {
        let board: Board = line
            .parse()
            .unwrap_or_else(|error| panic!("{line}: {error}"));
        scores.insert(id.to_owned(), write_musicxml(&board).text);
    }
    let example = std::fs::read(root().join("examples/scores/over-the-hill.musicxml")).unwrap();
    let example = unrolled(&example, &Unrolling::default()).unwrap();
    scores.insert("over-the-hill in playing order".to_owned(), example.text);
    scores
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// FNV-1a, 64 bits: short, and the same in every language (IETF draft-eastlake-fnv, section 2).
fn digest(text: &str) -> String {
    let digest = text.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    });
    format!("{digest:016x}")
}

#[test]
fn the_digest_is_the_published_one() {
    // The test vectors of the draft, appendix C.
    assert_eq!(digest(""), "cbf29ce484222325");
    assert_eq!(digest("a"), "af63dc4c8601ec8c");
    assert_eq!(digest("foobar"), "85944171f73967e8");
}

#[test]
fn every_written_score_has_been_found_valid() {
    let scores = written();
    assert!(scores.len() > 500, "{} scores", scores.len());
    if let Some(folder) = std::env::var_os("WRITTEN") {
        for text in scores.values() {
            let target = Path::new(&folder).join(format!("{}.musicxml", digest(text)));
            std::fs::write(target, text).unwrap();
        }
        return;
    }
    let valid = std::fs::read_to_string(root().join("tests/oracles/data/valid.tsv")).unwrap();
    let valid: BTreeSet<&str> = valid.lines().skip(1).collect();
    let unknown: Vec<&String> = scores
        .iter()
        .filter(|(_, text)| !valid.contains(digest(text).as_str()))
        .map(|(id, _)| id)
        .collect();
    assert!(
        unknown.is_empty(),
        "{} of {} scores have not been validated; `WRITTEN=FOLDER cargo test --test musicxml_valid`, then \
         `tests/oracles/valid_written.py SCHEMA FOLDER`: {unknown:?}",
        unknown.len(),
        scores.len()
    );
}
