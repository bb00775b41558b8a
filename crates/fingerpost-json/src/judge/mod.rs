//! The verb `judge`: `asked.rs` reads what is asked, `answered.rs` makes the answer.

mod answered;
mod asked;

use fingerpost::{Judge, Terms};

use crate::VERSION;
use crate::error::{ErrorAnswer, ErrorKind};
use crate::source::BoardRead;
use crate::terms::{ReadingAnswer, TermsAsked};

pub use answered::{
    BackingName, CountedIdea, Credit, DifferenceAnswer, DifferenceName, ExplanationAnswer, FitName,
    GivenAnswer, JudgeAnswer, JudgedAnswer, MisunderstandingName, NearAnswer, Summary,
    VerdictOfAnswer,
};
pub use asked::{AnswerAsked, FullStep, HandsAsked, NamedAsked, StepAsked};

use answered::{judged_answer, not_readable, summary};
use asked::answer_of;

/// The most answers of one request, and the most steps of all of them together.
const MOST_ANSWERS: usize = 10_000;
const MOST_STEPS: usize = 1_000_000;

/// Judges the one answer of a request.
///
/// # Errors
/// A board with errors, an open section without a number of plays, an answer that cannot be read.
pub fn judge_one(
    read: &BoardRead,
    asked: &TermsAsked,
    answer: AnswerAsked,
) -> Result<JudgeAnswer, ErrorAnswer> {
    let pupil = None;
    let judged = judge(read, asked, vec![NamedAsked { pupil, answer }])?;
    let complaint = judged
        .answers
        .first()
        .and_then(|only| only.complaint.clone());
    match complaint {
        None => Ok(judged),
        Some(complaint) => {
            let message = complaint.message.clone();
            Err(ErrorAnswer::new(ErrorKind::Request, message).with_complaints(vec![complaint]))
        }
    }
}

/// Judges answers on one board. One that cannot be read says so in its place.
///
/// # Errors
/// A board with errors, an open section without a number of plays, more answers or steps than one request may have.
pub fn judge(
    read: &BoardRead,
    asked: &TermsAsked,
    answers: Vec<NamedAsked>,
) -> Result<JudgeAnswer, ErrorAnswer> {
    let terms = Terms::from(*asked);
    if answers.len() > MOST_ANSWERS {
        let message = format!("one request has at most {MOST_ANSWERS} answers");
        return Err(ErrorAnswer::new(ErrorKind::Request, message));
    }
    let judge =
        Judge::new(&read.board, &terms).map_err(|refusal| ErrorAnswer::refused(read, &refusal))?;
    let mut judged = Vec::with_capacity(answers.len());
    let mut steps = 0;
    for asked in answers {
        let given = answer_of(read, asked.answer);
        steps += given.as_ref().map_or(0, |given| given.steps().len());
        if steps > MOST_STEPS {
            let message = format!("the answers of one request have at most {MOST_STEPS} steps");
            return Err(ErrorAnswer::new(ErrorKind::Request, message));
        }
        judged.push(match given {
            Ok(given) => {
                let judgement = judge.judge(&given);
                judged_answer(read, &judge, &terms, asked.pupil, &judgement)
            }
            Err(complaint) => not_readable(asked.pupil, complaint),
        });
    }
    Ok(JudgeAnswer {
        version: VERSION,
        reading: ReadingAnswer::new(judge.roadmap().reading(), terms.omit_repeats),
        settled: judge.comparison().settled(),
        length: judge.roadmap().length(),
        summary: summary(&read.book(), &judged),
        answers: judged,
        score: read.score(),
    })
}
