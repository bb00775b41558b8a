//! `coda-before-to-coda`: a coda that does not stand after the place from which the route goes to it.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{Al, Place, Sign, Then};
use crate::roadmap::laid::{FineAt, JumpAt};

pub(super) const RULE: Rule = Rule {
    name: "coda-before-to-coda",
    severity: Severity::Error,
    category: Category::Jumps,
    since: "0.1",
    summary: "A coda stands after the To Coda, the Fine or the segno from which the music goes on to it.",
    clause: "10.13",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for to_coda in &sheet.laid.to_codas {
        if let Some(coda) = sheet
            .laid
            .coda(to_coda.label)
            .filter(|coda| coda.part <= to_coda.part)
        {
            let message = format!(
                "the coda of this To Coda stands before it, at measure {}",
                sheet.name(coda.part)
            );
            let help = "a To Coda goes on: put the coda after it".to_owned();
            report.at(to_coda.marking, &[coda.marking], message, help);
        }
    }
    let onwards = sheet.laid.jumps.iter();
    for jump in onwards.filter(|jump| jump.then == Some(Then::Coda)) {
        let left = match jump.al {
            Some(Al::Segno) => {
                let segno = sheet.laid.segno(jump.segno);
                segno.map(|segno| (segno.part, segno.marking, "segno"))
            }
            Some(Al::Fine) => first_fine(sheet, jump).map(|fine| (fine.part, fine.marking, "Fine")),
            _ => None,
        };
        let coda = sheet.laid.coda(jump.coda.unwrap_or(0));
        if let (Some((part, sign, name)), Some(coda)) = (left, coda) {
            if coda.part <= part {
                let called = if jump.da_capo { "D.C." } else { "D.S." };
                let message = format!(
                    "the coda stands before the {name} from which this {called} goes on to it"
                );
                let help = format!("put the coda after the {name}");
                report.at(jump.marking, &[sign, coda.marking], message, help);
            }
        }
    }
}

/// The first Fine that the return can come to. A repeat into which a D.S. leads may go back to its start first.
fn first_fine<'s>(sheet: &Sheet<'s>, jump: &JumpAt) -> Option<&'s FineAt> {
    let lands = if jump.da_capo {
        0
    } else {
        sheet.laid.segno(jump.segno)?.part
    };
    let from = sheet.around(lands).last().map_or(lands, |it| it.start);
    // With arrivals it ends the music (rulebook 4.8).
    let plain = |fine: &&FineAt| fine.arrivals.is_none() && fine.part >= from;
    sheet.laid.fines.iter().find(plain)
}

fn cure(cures: &mut Cures<'_>) {
    let (Some((index, marking)), Some(&coda)) = (cures.marking(), cures.finding.related.last())
    else {
        return;
    };
    let Some((_, landing)) = cures.numbered(coda) else {
        return;
    };
    let last = cures.jumps().map(|(_, jump, _)| jump.measure()).max();
    let last = last.unwrap_or(0).max(marking.measure());
    let behind = cures.begins_after(last).into_iter().take(2);
    let after = cures.begins_after(marking.measure()).into_iter().take(1);
    cures.move_to(coda, behind.chain(after).map(Place::at));
    let ends_before = cures.ends_before(landing.measure()).into_iter();
    let ends_before = ends_before.take(2).map(Place::at);
    if let Sign::ToCoda(_) = marking.sign() {
        cures.move_to(index, ends_before);
    } else {
        let edit = cures.jump_with(index, |jump| (jump.then, jump.coda) = (None, None));
        cures.propose(edit);
        match cures.other() {
            Some((fine, it)) if matches!(it.sign(), Sign::Fine(_)) => {
                cures.move_to(fine, ends_before);
            }
            Some((segno, _)) => {
                let before = cures.begins_up_to(landing.measure()).into_iter();
                cures.move_to(segno, before.skip(1).take(1).map(Place::at));
            }
            None => {}
        }
    }
    cures.take_away(index);
}
