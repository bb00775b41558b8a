//! What holds for every input: one function a fuzz target. `tests/regressions.rs` of the project puts committed inputs to the same functions.

// A target uses one of the functions.
#![allow(dead_code)]

#[path = "../../support/trials/chance.rs"]
mod chance;
mod reading;
mod scores;
pub(crate) mod unrolling;

pub(crate) use reading::{board_json, board_line};
pub(crate) use scores::{score_abc, score_mnx, score_musicxml, score_mxl, score_written};
pub(crate) use unrolling::check_then_unroll;

/// Takes an input; panics where a promise is broken.
pub(crate) type Target = fn(&[u8]);

/// Every target by its name.
pub(crate) const ALL: [(&str, Target); 8] = [
    ("board_json", board_json),
    ("board_line", board_line),
    ("check_then_unroll", check_then_unroll),
    ("score_musicxml", score_musicxml),
    ("score_mxl", score_mxl),
    ("score_abc", score_abc),
    ("score_mnx", score_mnx),
    ("score_written", score_written),
];
