//! Judging the order that a learner walked: right, right under another published reading, or wrong, and by which misunderstanding.

mod distance;
mod given;
mod judge;
pub(crate) mod learner;
mod misunderstanding;
mod pairs;
mod search;
mod spelled;
#[cfg(test)]
mod tests;

pub use given::{Answer, AnswerError, AnswerStep, MOST_STEPS_OF_ANSWER, TooManySteps};
pub use judge::{
    AnswerVerdict, Difference, DifferenceKind, Explanation, Fit, Judge, Judgement, NearRoute,
};
pub use misunderstanding::{Misunderstanding, UnknownMisunderstanding};
pub(crate) use search::few_slips;
