//! `segno-never-met`: a D.C. al Segno whose return never comes to the segno.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Road};
use super::{How, Rule};
use crate::board::{Al, Edit, Place};
use crate::roadmap::laid::equal_range;

pub(super) const RULE: Rule = Rule {
    name: "segno-never-met",
    severity: Severity::Warning,
    category: Category::Jumps,
    since: "0.1",
    summary: "A D.C. al Segno comes to its segno.",
    clause: "4.7",
    how: How::Walked(tell),
    cure: Some(cure),
};

fn tell(road: &Road<'_>, report: &mut Report<'_>) {
    let laid = road.sheet.laid;
    for jump in &laid.jumps {
        if jump.al != Some(Al::Segno) || !road.obeyed(jump.marking) {
            continue;
        }
        let Some(segno) = laid.segno(jump.segno) else {
            continue;
        };
        let here = equal_range(&laid.segnos, segno.part, |segno| segno.part);
        let mut here = laid.segnos.get(here).unwrap_or_default().iter();
        if !here.any(|segno| road.obeyed(segno.marking)) {
            let message = "this D.C. al Segno never comes to its segno".to_owned();
            let help =
                "put the segno after the first measure, where the return comes along".to_owned();
            report.at(jump.marking, &[segno.marking], message, help);
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    let (Some((index, marking)), Some((segno, landing))) = (cures.marking(), cures.other()) else {
        return;
    };
    let begins = cures.begins_after(landing.measure()).into_iter();
    let begins = begins.filter(|&begin| begin <= marking.measure());
    let begins: Vec<u16> = begins.chain([2]).take(3).collect();
    cures.move_to(segno, begins.into_iter().map(Place::at));
    let plain = cures.jump_with(index, |jump| {
        (jump.al, jump.label, jump.then, jump.coda) = (None, None, None, None);
    });
    cures.propose(plain.into_iter().chain([Edit::Remove(segno)]));
}
