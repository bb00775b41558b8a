//! What is wrong with a board: findings, and the rules that make them.

mod finding;

pub use finding::{Finding, Severity};
