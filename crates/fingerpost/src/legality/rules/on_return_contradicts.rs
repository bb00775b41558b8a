//! `on-return-contradicts`: end repeats of one section that answer differently.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{EndRepeat, Sign};

pub(super) const RULE: Rule = Rule {
    name: "on-return-contradicts",
    severity: Severity::Error,
    category: Category::Order,
    since: "0.1",
    summary: "The end repeats of one section agree on whether it is repeated on a return.",
    clause: "10.16",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for section in &sheet.sections.list {
        let mut first = None;
        for &(answer, marking) in sheet.ends(section).flat_map(|end| &end.on_return) {
            let (wanted, other) = *first.get_or_insert((answer, marking));
            if wanted != answer {
                let message = "two end repeats of this section disagree on whether it is repeated on a return".to_owned();
                let help = "let them say the same, or let one of them say it".to_owned();
                report.at(marking, &[other], message, help);
            }
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    let (Some((index, marking)), Some((other_index, other))) = (cures.marking(), cures.other())
    else {
        return;
    };
    let (Sign::EndRepeat(end), Sign::EndRepeat(other)) = (marking.sign(), other.sign()) else {
        return;
    };
    let saying = |end: &EndRepeat, on_return| {
        let plays = end.plays;
        Sign::EndRepeat(EndRepeat { plays, on_return })
    };
    cures.rewrite(index, saying(end, None));
    cures.rewrite(other_index, saying(other, None));
    cures.rewrite(index, saying(end, other.on_return));
    cures.rewrite(other_index, saying(other, end.on_return));
}
