//! `not-settled`: a board whose route hangs on how it is read.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Road};
use super::{How, Rule};
use super::{implied_start_in_doubt, jump_in_section};
use crate::compare::{Alternative, compare};
use crate::legality::settling;
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
    cure: Some(cure),
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
    let mut alone = comparison
        .questions
        .iter()
        .filter_map(|&question| {
            let step = parting(&comparison.routes, question, sheet.reading)?;
            Some((question, step))
        })
        .peekable();
    if alone.peek().is_none() {
        // No answer changes the route by itself; together with another one it does.
        if let Some(&question) = comparison.questions.first() {
            let message = format!("two routes: {} is not settled", question.name());
            report.board(message, to_write(question, sheet.reading));
            report.about(question);
        }
    }
    let first = comparison.routes.first().map(|first| &first.roadmap);
    for (question, step) in alone {
        let message = format!(
            "two routes, from step {} on: {} is not settled",
            step + 1,
            question.name()
        );
        let there = first.and_then(|first| first.step(step.min(first.length().checked_sub(1)?)));
        let measure = there.map_or(1, |step| step.measure);
        report.measures(
            (measure, measure),
            Vec::new(),
            message,
            to_write(question, sheet.reading),
        );
        report.about(question);
    }
}

fn cure(cures: &mut Cures<'_>) {
    if let Some(question) = cures.finding.question {
        for way in settling::ways(cures.sheet.board, question) {
            cures.propose(way);
        }
        let reading = cures.sheet.reading;
        for way in settling::other_ways(cures.sheet.board, question, reading) {
            cures.propose_another_road(way);
        }
    }
}

/// The first step at which another answer to a question, by itself, leads elsewhere; the step after the last when it leads further.
fn parting(routes: &[Alternative], question: Question, reading: Reading) -> Option<u64> {
    let answers = reading.each_answer(question);
    let mut others = routes.iter().skip(1);
    others
        .find(|route| route.readings.iter().any(|other| answers.contains(other)))?
        .parts_at
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
    format!("{sign} (read here as {})", reading.answer(question))
}
