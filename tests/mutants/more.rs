//! More tests, for the changed copies that pass the quick part: what is told of findings and places, and the hands that can be laid.
//! They build on what is examined, and take longer. Run by `tests/mutants/run`.

#![cfg(more)]
#![allow(
    clippy::duplicate_mod,
    reason = "each of these tests brings along what it shares with others"
)]

#[path = "../finding_places.rs"]
mod finding_places;
#[path = "../hand.rs"]
mod hand;
#[path = "../wording.rs"]
mod wording;
