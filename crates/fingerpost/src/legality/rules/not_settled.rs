//! `not-settled`: a board whose route hangs on how it is read.

use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Road};
use super::{How, Rule};
use super::{implied_start_in_doubt, jump_in_section};
use crate::compare::{Alternative, compare};
use crate::reading::{Question, Reading};
use crate::roadmap::Terms;

pub(super) const RULE: Rule = Rule {
    name: "not-settled",
    severity: Severity::Advice,
    category: Category::Clarity,
    since: "0.1",
    summary: "A board gives one route under every reading.",
    clause: "6.9",
    how: How::Walked(tell),
};

fn tell(road: &Road<'_>, report: &mut Report<'_>) {
    let (sheet, options) = (&road.sheet, road.options);
    let few = sheet.board.markings().len() <= options.most_compared;
    if !few || road.walked.compiled.length > options.longest_route {
        return;
    }
    // Of what hangs on one sign, that sign's own finding tells; here it counts as answered.
    let mut answers = *sheet.board.reading();
    if !implied_start_in_doubt::doubts(sheet).is_empty() {
        answers.lone_end_repeat = Some(sheet.reading.lone_end_repeat);
    }
    if jump_in_section::in_doubt(sheet).next().is_some() {
        answers.jump_in_repeat = Some(sheet.reading.jump_in_repeat);
    }
    if sheet.sections.list.iter().any(|section| section.depth > 0) {
        answers.nested = Some(sheet.reading.nested);
    }
    let terms = Terms {
        open_plays: Some(2),
        ..Terms::default()
    };
    let Ok(board) = sheet.board.to_builder().reading(answers).build() else {
        return;
    };
    let Ok(comparison) = compare(&board, &terms) else {
        return;
    };
    for &question in &comparison.questions {
        let step = parting(&comparison.routes, question, sheet.reading);
        let (from, measure) =
            match step.and_then(|step| comparison.routes.first()?.roadmap.step(step)) {
                Some(step_there) => (
                    format!(", from step {} on", step.unwrap_or(0) + 1),
                    Some(step_there.measure),
                ),
                None => (String::new(), None),
            };
        let message = format!("two routes: {} is not settled{from}", question.name());
        let help = to_write(question, sheet.reading);
        match measure {
            Some(measure) => report.measure(measure, Vec::new(), message, help),
            None => report.board(message, help),
        }
    }
}

/// The first step at which another answer to a question leads elsewhere; beyond the shorter route its last step counts.
fn parting(routes: &[Alternative], question: Question, reading: Reading) -> Option<u64> {
    let answers = reading.each_answer(question);
    let other = routes
        .iter()
        .skip(1)
        .find(|route| route.readings.iter().any(|other| answers.contains(other)))?;
    let last = routes.first()?.roadmap.length().checked_sub(1)?;
    Some(other.parts_at?.min(last))
}

/// What to write so that a question no longer arises.
fn to_write(question: Question, reading: Reading) -> String {
    let sign = match question {
        Question::RepeatsOnReturn => "write con rep. or senza rep. at the D.C. or D.S.",
        Question::JumpInRepeat => "name the arrivals at which the D.C. or D.S. is obeyed",
        Question::ArmedInRepeat => "name the arrivals at which the Fine or To Coda is obeyed",
        Question::Arming => {
            "write al Fine, al Coda or al End at the jump, or arrivals at the To Coda"
        }
        Question::LoneEndRepeat => "write the start repeat where the repeat begins",
        Question::Nested => "write the repeats so that none stands inside another",
    };
    format!(
        "{sign}; it is read here as {} {}",
        question.name(),
        reading.answer(question)
    )
}
