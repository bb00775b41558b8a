//! Judging the order that a learner walked: right, right under another published reading, or wrong, and by which misunderstanding.

#[allow(dead_code, reason = "what judges answers and deals boards comes next")]
pub(crate) mod learner;
mod misunderstanding;

pub use misunderstanding::{Misunderstanding, UnknownMisunderstanding};
