//! `plays-once`: an end repeat that says once.

use super::super::cures::{Cures, repeat_signs};
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{Edit, EndRepeat, Sign};

pub(super) const RULE: Rule = Rule {
    name: "plays-once",
    severity: Severity::Advice,
    category: Category::Order,
    since: "0.1",
    summary: "An end repeat is played at least twice.",
    clause: "2.9",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for section in sheet
        .sections
        .list
        .iter()
        .filter(|section| section.passes == 1)
    {
        for end in sheet.ends(section).filter(|_| section.closing.is_empty()) {
            let message = "this end repeat says once, so that nothing is repeated".to_owned();
            let help = "say how often it is played, or take both repeat signs away".to_owned();
            report.at(end.marking, &[], message, help);
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some((index, marking)) = cures.marking() else {
        return;
    };
    let Sign::EndRepeat(end) = marking.sign() else {
        return;
    };
    let section = cures.section(index);
    if let Some(signs) = section.and_then(|section| repeat_signs(cures, section)) {
        cures.propose(signs.into_iter().map(Edit::Remove));
    }
    cures.take_away(index);
    let (plays, on_return) = (None, end.on_return);
    cures.rewrite(index, Sign::EndRepeat(EndRepeat { plays, on_return }));
}
