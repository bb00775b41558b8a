//! `coda-unused`: a coda that nothing calls.

use std::collections::HashSet;

use super::super::cures::{Cures, put, to_coda};
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{Al, Jump, Sign, Then};
use crate::roadmap::laid::Label;

pub(super) const RULE: Rule = Rule {
    name: "coda-unused",
    severity: Severity::Warning,
    category: Category::Pairing,
    since: "0.1",
    summary: "A coda needs a To Coda, or a jump that goes on to it.",
    clause: "4.6",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    let laid = sheet.laid;
    let mut called: HashSet<Label> = laid.to_codas.iter().map(|to_coda| to_coda.label).collect();
    // An al Coda whose To Coda is missing calls its coda all the same: what is missing is told as an error.
    let mut any_called = false;
    for jump in &laid.jumps {
        if jump.then == Some(Then::Coda) {
            called.insert(jump.coda.unwrap_or(0));
        } else if jump.al == Some(Al::Coda) {
            called.extend(jump.coda);
            any_called |= jump.coda.is_none() && laid.to_codas.is_empty();
        }
    }
    for coda in laid.codas.iter().filter(|_| !any_called) {
        if called.contains(&coda.label) {
            continue;
        }
        let words = sheet.words(coda.marking);
        let message = format!("this {words} cannot work alone: it needs a To Coda that goes to it");
        let help = "put a To Coda to it before it, or take it away".to_owned();
        report.at(coda.marking, &[], message, help);
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some((index, marking)) = cures.marking() else {
        return;
    };
    let Sign::Coda(coda) = marking.sign() else {
        return;
    };
    cures.take_away(index);
    let label = coda.label.as_deref();
    let begin = marking.measure();
    let jump = cures.jumps().find(|(_, jump, _)| jump.measure() < begin);
    if let Some((jump_index, jump, _)) = jump {
        let al_coda = cures.jump_with(jump_index, |jump| {
            (jump.al, jump.then) = (Some(Al::Coda), None);
        });
        for end in cures.ends_before(jump.measure()).into_iter().take(2) {
            cures.propose([put(to_coda(label), end)]);
            cures.propose(
                [put(to_coda(label), end)]
                    .into_iter()
                    .chain(al_coda.clone()),
            );
        }
    } else if let Some(back) = begin.checked_sub(1) {
        let al = Some(Al::Coda);
        let back_from = put(
            Sign::DaCapo(Jump {
                al,
                ..Jump::default()
            }),
            back,
        );
        for end in cures.ends_before(back).into_iter().take(2) {
            cures.propose([put(to_coda(label), end), back_from.clone()]);
        }
    }
}
