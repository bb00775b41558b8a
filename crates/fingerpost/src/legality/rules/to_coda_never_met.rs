//! `to-coda-never-met`: a To Coda that the return never comes to.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Road};
use super::coda_missing::means;
use super::{How, Rule};
use crate::board::{Edit, Place, Sign};
use crate::reading::Arming;

pub(super) const RULE: Rule = Rule {
    name: "to-coda-never-met",
    severity: Severity::Warning,
    category: Category::Jumps,
    since: "0.1",
    summary: "The return meets the To Coda from which it is to go on.",
    clause: "3.4",
    how: How::Walked(tell),
    cure: Some(cure),
};

fn tell(road: &Road<'_>, report: &mut Report<'_>) {
    let sheet = &road.sheet;
    let jumps = &sheet.laid.jumps;
    for to_coda in &sheet.laid.to_codas {
        if road.obeyed(to_coda.marking) || !road.played(to_coda.part) {
            continue;
        }
        let armed = |jump| means(jump, to_coda, sheet.reading) && road.obeyed(jump.marking);
        let jumpless = jumps.is_empty() && sheet.sections.at(to_coda.part).is_some();
        let by_count = sheet.reading.arming == Arming::SecondArrival;
        let (message, help) = match to_coda.arrivals {
            Some(_) => (
                "this To Coda never leads to the coda: the arrivals it names never come",
                "name arrivals that come, or take the To Coda away",
            ),
            None if by_count || jumpless || jumps.iter().any(armed) => (
                "this To Coda never leads to the coda",
                "no return that heeds it comes by: put it on the way of the return, or take it away",
            ),
            None => continue,
        };
        report.at(to_coda.marking, &[], message.to_owned(), help.to_owned());
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some((index, marking)) = cures.marking() else {
        return;
    };
    cures.hold_every_time(index);
    if let Sign::ToCoda(to_coda) = marking.sign() {
        let codas = cures.signs(|sign| match sign {
            Sign::Coda(coda) => coda.label == to_coda.label,
            _ => false,
        });
        let codas: Vec<Edit> = codas
            .map(|(index, _)| Edit::Remove(index))
            .take(2)
            .collect();
        cures.propose(codas.into_iter().chain([Edit::Remove(index)]));
    }
    cures.take_away(index);
    let measure = marking.measure();
    let ends = cures.ends_from(measure).into_iter().take(4);
    let ends: Vec<u16> = ends
        .chain(cures.ends_before(measure).into_iter().take(2))
        .collect();
    cures.move_to(index, ends.into_iter().map(Place::at));
}
