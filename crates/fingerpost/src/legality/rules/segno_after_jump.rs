//! `segno-after-jump`: a segno that stands after its D.S.

use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};

pub(super) const RULE: Rule = Rule {
    name: "segno-after-jump",
    severity: Severity::Error,
    category: Category::Jumps,
    since: "0.1",
    summary: "A D.S. goes back: its segno stands before it.",
    clause: "10.12",
    how: How::Looking(look),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for jump in sheet.laid.jumps.iter().filter(|jump| !jump.da_capo) {
        if let Some(segno) = sheet
            .laid
            .segno(jump.segno)
            .filter(|segno| segno.part > jump.part)
        {
            let message = format!(
                "the segno of this D.S. stands after it, at measure {}",
                sheet.measure(segno.part)
            );
            let help = "a D.S. goes back: put the segno before it".to_owned();
            report.at(jump.marking, &[segno.marking], message, help);
        }
    }
}
