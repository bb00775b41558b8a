//! What several tests share.
#![allow(dead_code, unreachable_pub)] // Each test takes what it needs.

pub mod approved;
pub mod boards;
pub mod hostile;
pub mod laying;
pub mod pages;
pub mod words;

/// How many boards a property is tried on: so many, or one for forty of them where `QUICK` is set. Changed copies of the library, of which
/// there are thousands, are tried quickly.
pub fn cases(all: u32) -> u32 {
    if is_quick() { all.div_ceil(40) } else { all }
}

/// The same for a property that looks for seldom things: one for six where `QUICK` is set.
pub fn more_cases(all: u32) -> u32 {
    if is_quick() { all.div_ceil(6) } else { all }
}

/// Whether the quick part of the tests is asked for.
pub fn is_quick() -> bool {
    let is_set = |name| std::env::var_os(name).is_some();
    is_quick_with(is_set("QUICK"), is_set("UPDATE"))
}

/// The same for a run on which files are written anew or not.
///
/// # Panics
/// Where both are asked for: a file written from a part of the boards would lose the others without a word.
pub fn is_quick_with(quick: bool, update: bool) -> bool {
    assert!(
        !(quick && update),
        "UPDATE writes what the whole of a test gives, and QUICK leaves a part of it out: unset one of them"
    );
    quick
}

/// Whether a board takes seconds where nothing is optimised, since its route goes on to the limit; the quick part leaves it out.
pub fn takes_long(line: &str) -> bool {
    line.contains("arrivals 1-1000000")
}
