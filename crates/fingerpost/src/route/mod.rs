//! The route: the steps that a board asks for, one measure (or part of one) at a time.

mod runs;
mod step;
mod steps;
pub(crate) mod walk;

pub use runs::{Run, Runs};
pub use step::{Cause, Enclosing, Held, Octaves, Part, Step};
pub use steps::Steps;
