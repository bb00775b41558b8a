//! What several tests share.
#![allow(dead_code, unreachable_pub)] // Each test takes what it needs.

pub mod boards;
pub mod laying;
pub mod pages;
pub mod words;

/// How many boards a property is tried on: so many, or one for forty of them where `QUICK` is set. Changed copies of the library, of which
/// there are thousands, are tried quickly.
pub fn cases(all: u32) -> u32 {
    if std::env::var_os("QUICK").is_some() {
        all.div_ceil(40)
    } else {
        all
    }
}
