//! `start-repeat-unclosed`: a start repeat that no end repeat closes.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{EndRepeat, Sign};

pub(super) const RULE: Rule = Rule {
    name: "start-repeat-unclosed",
    severity: Severity::Warning,
    category: Category::Pairing,
    since: "0.1",
    summary: "A start repeat needs an end repeat.",
    clause: "2.2",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for &start in &sheet.sections.unclosed {
        let message = "this start repeat cannot work alone: it needs an end repeat".to_owned();
        let help =
            "put an end repeat where the repeat ends, or take the start repeat away".to_owned();
        report.at(start, &[], message, help);
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some((index, start)) = cures.marking() else {
        return;
    };
    cures.take_away(index);
    let ends = cures.ends_from(start.measure()).into_iter();
    cures.put(&Sign::EndRepeat(EndRepeat::default()), ends.take(3));
}
