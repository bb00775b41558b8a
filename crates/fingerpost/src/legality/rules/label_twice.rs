//! `label-twice`: two segnos, or two codas, with one label.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{Edit, Landing, Sign, ToCoda};
use std::collections::HashMap;

use crate::roadmap::laid::{Label, LandingAt};

pub(super) const RULE: Rule = Rule {
    name: "label-twice",
    severity: Severity::Error,
    category: Category::Pairing,
    since: "0.1",
    summary: "Two segnos, or two codas, with one label: nobody can tell which is meant.",
    clause: "10.5",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for (name, landings) in [("segno", &sheet.laid.segnos), ("coda", &sheet.laid.codas)] {
        let mut first: HashMap<Label, &LandingAt> = HashMap::new();
        for landing in landings {
            match first.get(&landing.label) {
                None => {
                    first.insert(landing.label, landing);
                }
                Some(other) => {
                    let measure = sheet.name(other.part);
                    let message =
                        format!("there is another {name} like this one, at measure {measure}");
                    let help = format!("give each {name} a label of its own, or take one away");
                    report.at(landing.marking, &[other.marking], message, help);
                }
            }
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    let (Some((index, marking)), Some((other, _))) = (cures.marking(), cures.other()) else {
        return;
    };
    if let Some(label) = cures.free_label() {
        let own = Some(label);
        let (landing, callers): (Sign, Vec<Edit>) = match marking.sign() {
            Sign::Segno(landing) => {
                let calls = cures.jumps().filter(|(_, jump, called)| {
                    matches!(jump.sign(), Sign::DalSegno(_)) && called.label == landing.label
                });
                let callers = calls.filter(|(_, jump, _)| marking.measure() <= jump.measure());
                let callers: Vec<usize> = callers.map(|(index, ..)| index).collect();
                let last = callers.last().filter(|_| callers.len() > 1);
                let edit = last
                    .and_then(|&last| cures.jump_with(last, |jump| jump.label.clone_from(&own)));
                let label = own.clone();
                (Sign::Segno(Landing { label }), edit.into_iter().collect())
            }
            Sign::Coda(landing) => {
                let calls = cures.signs(|sign| match sign {
                    Sign::ToCoda(to_coda) => to_coda.label == landing.label,
                    _ => false,
                });
                let callers: Vec<usize> = calls.map(|(index, _)| index).collect();
                let last = callers.last().filter(|_| callers.len() > 1);
                let edit = last.and_then(|&last| {
                    let Sign::ToCoda(to_coda) = cures.numbered(last)?.1.sign() else {
                        return None;
                    };
                    let label = own.clone();
                    let renamed = ToCoda {
                        label,
                        ..to_coda.clone()
                    };
                    cures.rewritten(last, Sign::ToCoda(renamed))
                });
                let label = own.clone();
                (Sign::Coda(Landing { label }), edit.into_iter().collect())
            }
            _ => return,
        };
        let renamed = cures.rewritten(index, landing);
        if !callers.is_empty() {
            cures.propose(renamed.clone().into_iter().chain(callers));
        }
        cures.take_away(index);
        cures.take_away(other);
        cures.propose(renamed);
    } else {
        cures.take_away(index);
        cures.take_away(other);
    }
}
