//! `lone-ending-misnumbered`: a single ending that leaves out a pass, on which nothing goes back.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::Passes;
use crate::roadmap::laid::EndingAt;
use crate::roadmap::sections::Section;

pub(super) const RULE: Rule = Rule {
    name: "lone-ending-misnumbered",
    severity: Severity::Warning,
    category: Category::Endings,
    since: "0.1",
    summary: "A single ending before an end repeat is numbered from 1 on.",
    clause: "2.8",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for section in &sheet.sections.list {
        if let Some((ending, pass)) = gap(sheet, section) {
            let message = format!(
                "on pass {pass} nothing goes back: the only ending here is for pass {}",
                ending.passes
            );
            let help = format!("number the ending from 1 on, or add an ending for pass {pass}");
            report.at(ending.marking, &[], message, help);
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some((index, _, ending)) = cures.ending() else {
        return;
    };
    let count = ending.passes.ranges().iter();
    let count = count.fold(0_u32, |sum, (from, to)| sum.saturating_add(to - from + 1));
    for last in [count, ending.passes.highest()] {
        if let Ok(passes) = Passes::of_ranges([(1, last)]) {
            let edit = cures.ending_with(index, passes);
            cures.propose(edit);
        }
    }
    cures.take_away(index);
}

/// The single closing ending of a section, and the first pass that it leaves out.
pub(super) fn gap<'a>(sheet: &Sheet<'a>, section: &'a Section) -> Option<(&'a EndingAt, u32)> {
    let group = sheet.closing_endings(section);
    let &[ending] = group.as_slice() else {
        return None;
    };
    let closed = !section.ends.is_empty() || !sheet.laid.jumps_at(ending.last).is_empty();
    let &(first, last) = ending.passes.ranges().first()?;
    let pass = if first > 1 { 1 } else { last + 1 };
    (closed && pass < ending.passes.highest()).then_some((ending, pass))
}
