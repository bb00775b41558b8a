//! `cut-outside-measure`: a point that is not inside its measure.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::Place;
use crate::explain::Phrasebook;
use crate::roadmap::row::{CutFault, cut_point};

pub(super) const RULE: Rule = Rule {
    name: "cut-outside-measure",
    severity: Severity::Error,
    category: Category::Place,
    since: "0.1",
    summary: "The point at which a sign cuts a measure lies inside that measure.",
    clause: "10.17",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for (index, marking) in sheet.board.markings().iter().enumerate() {
        let Err(fault) = cut_point(sheet.board, marking) else {
            continue;
        };
        let (message, help) = match fault {
            CutFault::NoMeter => (
                "this sign stands inside its measure, and the board has no meter".to_owned(),
                "give the board its meter, so that the measure has a length".to_owned(),
            ),
            CutFault::NothingBefore => (
                "this sign would leave the measure before anything in it is played".to_owned(),
                "put the sign at the end of the measure before".to_owned(),
            ),
            CutFault::NothingAfter => (
                "this sign would land at the very end of the measure".to_owned(),
                "put the sign at the start of the next measure".to_owned(),
            ),
            CutFault::Beyond(length) => (
                format!(
                    "this sign stands beyond the end of its measure, {} long",
                    Phrasebook::default().length(length)
                ),
                "put the sign at a place before the end of the measure".to_owned(),
            ),
        };
        report.at(u32::try_from(index).unwrap_or(u32::MAX), &[], message, help);
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some((index, marking)) = cures.marking() else {
        return;
    };
    let Err(fault) = cut_point(cures.sheet.board, marking) else {
        return;
    };
    let measure = marking.measure();
    // Before the first note of a measure is after the last of the one before it: the same moment, so that nothing else can be meant.
    let same_moment = match fault {
        CutFault::NothingBefore => measure.checked_sub(1).filter(|&before| before > 0),
        CutFault::NothingAfter => Some(measure.saturating_add(1)),
        CutFault::NoMeter | CutFault::Beyond(_) => None,
    };
    let edit = same_moment.and_then(|measure| cures.moved(index, Place::at(measure)));
    cures.restore(edit);
    cures.move_to(index, [Place::at(measure)]);
    cures.take_away(index);
}
