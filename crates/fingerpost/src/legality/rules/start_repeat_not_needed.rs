//! `start-repeat-not-needed`: a start repeat at the first measure.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::reading::Question;
use crate::roadmap::laid::Laid;
use crate::roadmap::sections::Sections;

pub(super) const RULE: Rule = Rule {
    name: "start-repeat-not-needed",
    severity: Severity::Advice,
    category: Category::Idle,
    since: "0.1",
    summary: "At the first measure no start repeat is needed.",
    clause: "2.2",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    let Some(start) = sheet.laid.starts.first().filter(|start| start.part == 0) else {
        return;
    };
    if sheet.sections.unclosed.contains(&start.marking) {
        return;
    }
    // Under every reading that the board leaves open, the repeats are the same without it.
    let own = sheet.board.reading();
    let open = [Question::LoneEndRepeat, Question::Nested];
    let open: Vec<Question> = open
        .into_iter()
        .filter(|&question| !own.answers(question))
        .collect();
    let mut without = sheet.laid.clone();
    without.starts.retain(|start| start.part > 0);
    let found = |laid: &Laid, reading| Sections::new(laid, sheet.row.length(), reading, 2);
    let needed = sheet
        .reading
        .varied(&open)
        .into_iter()
        .any(|reading| !found(&without, reading).same_as(&found(sheet.laid, reading)));
    if !needed {
        let message =
            "this start repeat can be left out: the repeat begins with the piece".to_owned();
        let help = "take it away, or leave it for those who like to see it".to_owned();
        report.at(start.marking, &[], message, help);
    }
}

fn cure(cures: &mut Cures<'_>) {
    if let Some(index) = cures.finding.marking {
        cures.take_away_if_liked(index);
    }
}
