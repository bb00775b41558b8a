//! Texts that were read and approved, kept under `tests/snapshots`. `UPDATE=1` writes them anew; read the difference.
#![allow(dead_code, unreachable_pub)] // Each test takes what it needs.

use std::fs;

use super::pages::folder;

/// What is said now against what was approved under that name; `kept` says which lines of it this run speaks of.
#[track_caller]
pub fn approved(name: &str, said: &str, kept: impl FnMut(&&str) -> bool) {
    let path = folder().join("../../tests/snapshots").join(name);
    if std::env::var_os("UPDATE").is_some() {
        // Refuses to write a part of it.
        super::is_quick();
        fs::write(&path, said).expect("the approved text can be written");
    }
    let approved = fs::read_to_string(&path).expect("the approved text");
    let approved: Vec<&str> = approved.lines().filter(kept).collect();
    for (now, before) in said.lines().zip(&approved) {
        assert_eq!(now, *before, "see the difference after `UPDATE=1`");
    }
    assert_eq!(said.lines().count(), approved.len(), "lines of {name}");
}
