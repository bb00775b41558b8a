//! Reads the road signs of a score (repeat barlines, endings, D.C., D.S., Fine, To Coda, coda, segno, octave signs, fermatas) and says in
//! which order its measures are played, and why.
//!
//! A [`Board`] says what stands on the page, right or wrong. [`check`] says what is wrong with it. A [`Roadmap`] is a checked board
//! made ready to walk: it cannot be wrong, and its [steps](Roadmap::steps) are the order, each with the [cause](Cause) that led there.
//! What the signs leave open is a [`Reading`]: six questions with their published answers; [`compare`] shows whether they matter.
//!
//! ```
//! use fingerpost::{Board, Roadmap, Terms};
//! let board: Board = "segno 1 | 2 Fine | 3 D.S. al Fine |".parse()?;
//! let roadmap = Roadmap::new(&board, &Terms::default())?;
//! assert_eq!(roadmap.steps().map(|step| step.measure).collect::<Vec<_>>(), [1, 2, 3, 1, 2]);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! The rules are those of the rulebook in `spec/rulebook` of the repository; clause numbers in this documentation are its.
//!
//! # Features
//!
//! - `schema`: `board_schema`, the JSON Schema of a board file, derived from the types. Off by default.
#![forbid(unsafe_code)]
#![deny(missing_docs)]

mod answer;
mod board;
mod chance;
mod compare;
mod deal;
mod explain;
mod game;
mod legality;
mod reading;
mod roadmap;
mod route;

pub use answer::*;
pub use board::*;
pub use compare::*;
pub use deal::*;
pub use explain::*;
pub use game::*;
pub use legality::*;
pub use reading::*;
pub use roadmap::*;
pub use route::*;

/// The example of the README, run as a test.
#[cfg(doctest)]
#[doc = include_str!("../../../README.md")]
struct Readme;
