//! `plays-against-endings`: a number of plays that the endings contradict.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{EndRepeat, Passes, Plays, Sign};

pub(super) const RULE: Rule = Rule {
    name: "plays-against-endings",
    severity: Severity::Warning,
    category: Category::Endings,
    since: "0.1",
    summary: "The number of plays at an end repeat and the endings say the same.",
    clause: "2.14",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for section in &sheet.sections.list {
        let endings: Vec<u32> = sheet
            .endings(section)
            .map(|ending| ending.marking)
            .collect();
        for end in sheet.ends(section) {
            let message = match end.plays {
                Some(Plays::Times(plays)) if !endings.is_empty() && plays != section.passes => {
                    format!(
                        "this end repeat says {plays} times, and the endings say {}",
                        section.passes
                    )
                }
                Some(Plays::Open) if !section.closing.is_empty() => format!(
                    "this end repeat goes on until a signal, and the endings say {} times",
                    section.passes
                ),
                _ => continue,
            };
            let help =
                "let the endings say it, and take the number at the end repeat away".to_owned();
            report.at(end.marking, &endings, message, help);
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some((index, marking)) = cures.marking() else {
        return;
    };
    let (Sign::EndRepeat(end), Some(section)) = (marking.sign(), cures.section(index)) else {
        return;
    };
    let saying = |plays| {
        let on_return = end.on_return;
        Sign::EndRepeat(EndRepeat { plays, on_return })
    };
    cures.rewrite(index, saying(None));
    if section.passes > 2 {
        cures.rewrite(index, saying(Some(Plays::Times(section.passes))));
    }
    if let (Some(Plays::Times(plays)), [first, last]) =
        (end.plays, cures.sheet.closing_endings(section).as_slice())
    {
        let before = plays
            .checked_sub(1)
            .and_then(|before| Passes::of_ranges([(1, before)]).ok());
        if let (Some(before), Ok(after)) = (before, Passes::of([plays])) {
            let first = cures.ending_with(first.marking as usize, before);
            let last = cures.ending_with(last.marking as usize, after);
            cures.propose(first.into_iter().chain(last));
        }
    }
}
