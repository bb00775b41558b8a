//! What holds for every input: one function a fuzz target. `tests/regressions.rs` of the project puts committed inputs to the same functions.

// A target uses one of the functions.
#![allow(dead_code)]

#[path = "../../support/trials/chance.rs"]
mod chance;
mod reading;
mod unrolling;

pub(crate) use reading::{board_json, board_line};
pub(crate) use unrolling::{board_of, check_then_unroll};

/// Every target by its name.
pub(crate) const ALL: [(&str, fn(&[u8])); 3] = [
    ("board_json", board_json),
    ("board_line", board_line),
    ("check_then_unroll", check_then_unroll),
];
