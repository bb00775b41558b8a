//! The route: the steps that a board asks for, one measure (or part of one) at a time.

mod step;

pub use step::{Cause, Enclosing, Held, Octaves, Part, Step};
