//! `ending-without-repeat`: an ending whose section nothing repeats.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{Edit, EndRepeat, Sign};
use crate::roadmap::sections::Section;

pub(super) const RULE: Rule = Rule {
    name: "ending-without-repeat",
    severity: Severity::Warning,
    category: Category::Endings,
    since: "0.1",
    summary: "An ending needs an end repeat.",
    clause: "2.5",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for section in &sheet.sections.list {
        if !is_unrepeated(sheet, section) {
            continue;
        }
        let markings: Vec<u32> = sheet
            .endings(section)
            .map(|ending| ending.marking)
            .collect();
        if let Some((first, others)) = markings.split_first() {
            let message = "this ending cannot work alone: it needs an end repeat".to_owned();
            let help = "put an end repeat at the end of the first ending, or take the bracket away"
                .to_owned();
            report.at(*first, others, message, help);
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some((index, place, ending)) = cures.ending() else {
        return;
    };
    // An ending of later passes stands behind its end repeat, the first one before it.
    let before = place.first().checked_sub(1);
    let before = before.filter(|&end| end > 0 && !ending.passes.contains(1));
    let ends = before.into_iter().chain([place.last()]);
    cures.put(&Sign::EndRepeat(EndRepeat::default()), ends);
    if cures.finding.related.len() < 4 {
        let brackets = std::iter::once(index).chain(cures.finding.related.iter().copied());
        let brackets: Vec<Edit> = brackets.map(Edit::Remove).collect();
        let start = cures.section(index).and_then(|section| section.opened_by);
        let start = start.map(|start| Edit::Remove(start as usize));
        cures.propose(brackets.iter().cloned().chain(start));
        cures.propose(brackets);
    }
    cures.take_away(index);
}

/// Whether a section has endings and nothing that ever plays it on another pass.
pub(super) fn is_unrepeated(sheet: &Sheet<'_>, section: &Section) -> bool {
    // Of two endings side by side that nothing closes, `ending-not-closed` tells.
    let alone = section.ends.is_empty() && !section.jump_closed && section.closing.len() < 2;
    // On a return the passes go on, end repeat or not.
    let comes_back = || {
        sheet.laid.jumps.iter().any(|jump| {
            let to = match sheet.laid.segno(jump.segno) {
                Some(segno) if !jump.da_capo => segno.part,
                _ => 0,
            };
            section.start <= jump.part && to <= section.end
        })
    };
    alone && !comes_back()
}
