//! `label-twice`: two segnos, or two codas, with one label.

use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
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
                    let measure = sheet.measure(other.part);
                    let message =
                        format!("there is another {name} like this one, at measure {measure}");
                    let help = format!("give each {name} a label of its own, or take one away");
                    report.at(landing.marking, &[other.marking], message, help);
                }
            }
        }
    }
}
