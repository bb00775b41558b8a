//! `to-coda-unused`: a To Coda that nothing can have obeyed.

use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::coda_missing::may_be_obeyed;
use super::{How, Rule};

pub(super) const RULE: Rule = Rule {
    name: "to-coda-unused",
    severity: Severity::Warning,
    category: Category::Pairing,
    since: "0.1",
    summary: "A To Coda needs a D.C. or D.S. that sends the music to it.",
    clause: "4.3",
    how: How::Looking(look),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for to_coda in &sheet.laid.to_codas {
        if may_be_obeyed(sheet, to_coda) {
            continue;
        }
        let words = sheet.words(to_coda.marking);
        let message = format!("this {words} cannot work alone: it needs a D.C. or D.S. al Coda");
        let help =
            "put a D.C. al Coda or D.S. al Coda after it, or take the To Coda away".to_owned();
        report.at(to_coda.marking, &[], message, help);
    }
}
