//! `no-fixed-length`: a repeat that goes on until a signal.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{EndRepeat, Plays, Sign};

pub(super) const RULE: Rule = Rule {
    name: "no-fixed-length",
    severity: Severity::Advice,
    category: Category::Order,
    since: "0.1",
    summary: "A repeat until a signal has no fixed length.",
    clause: "6.10",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for marking in sheet
        .sections
        .list
        .iter()
        .filter_map(|section| section.open)
    {
        let message =
            "this repeat goes on until a signal: the music has no fixed length".to_owned();
        let help = "say how often it is played where a fixed length is needed".to_owned();
        report.at(marking, &[], message, help);
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some((index, marking)) = cures.marking() else {
        return;
    };
    let Sign::EndRepeat(end) = marking.sign() else {
        return;
    };
    for plays in [None, Some(Plays::Times(4))] {
        let on_return = end.on_return;
        cures.rewrite(index, Sign::EndRepeat(EndRepeat { plays, on_return }));
    }
}
