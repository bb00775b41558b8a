//! `landing-in-wrong-ending`: a jump that lands in an ending which is not played on that pass.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::Report;
use super::{How, Rule};
use crate::board::{Board, Edit, Place, Sign};
use crate::roadmap::compile::WalkFault;
use crate::roadmap::row::Row;

pub(super) const RULE: Rule = Rule {
    name: "landing-in-wrong-ending",
    severity: Severity::Error,
    category: Category::Jumps,
    since: "0.1",
    summary: "A jump does not land in an ending that is not played on the pass it lands on.",
    clause: "10.14",
    how: How::Walking(tell),
    cure: Some(cure),
};

fn tell(board: &Board, row: &Row, fault: &WalkFault, report: &mut Report<'_>) {
    let WalkFault::LandingInEnding {
        landing,
        ending,
        by,
        pass,
    } = *fault
    else {
        return;
    };
    let measure = board.measure_words(row.part(landing).0);
    let message =
        format!("this jump lands at measure {measure}, in an ending not played on pass {pass}");
    let help = "put the sign it goes to before the ending, or in the ending that is played then"
        .to_owned();
    report.at(by, &[ending], message, help);
}

fn cure(cures: &mut Cures<'_>) {
    let (Some((index, marking)), Some((ending_index, ending, _))) =
        (cures.marking(), cures.other_ending())
    else {
        return;
    };
    let laid = cures.sheet.laid;
    let is_it = |part: u32| {
        let measure = cures.sheet.measure(part);
        (ending.first()..=ending.last()).contains(&measure)
    };
    let landings: Vec<usize> = match marking.sign() {
        Sign::DalSegno(_) => laid.segnos.iter(),
        _ => laid.codas.iter(),
    }
    .filter(|landing| is_it(landing.part))
    .map(|landing| landing.marking as usize)
    .take(2)
    .collect();
    let section = cures.section(ending_index);
    let begin = section.map(|section| cures.sheet.measure(section.start));
    let behind = section.map(|section| cures.sheet.measure(section.end).saturating_add(1));
    let behind = behind.filter(|&behind| behind <= cures.measures());
    for landing in landings {
        cures.move_to(landing, behind.into_iter().chain(begin).map(Place::at));
        cures.propose([Edit::Remove(index), Edit::Remove(landing)]);
    }
    cures.take_away(index);
    cures.take_away(ending_index);
}
