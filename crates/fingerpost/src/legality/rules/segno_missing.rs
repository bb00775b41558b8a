//! `segno-missing`: a D.S., or a D.C. al Segno, whose segno is not on the board.

use super::super::cures::{Cures, landing};
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::super::words::label_words;
use super::{How, Rule};
use crate::board::{Al, Jump, Sign};

pub(super) const RULE: Rule = Rule {
    name: "segno-missing",
    severity: Severity::Error,
    category: Category::Pairing,
    since: "0.1",
    summary: "A D.S. needs its segno, and so does a D.C. al Segno.",
    clause: "10.1",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for jump in &sheet.laid.jumps {
        let needs = !jump.da_capo || jump.al == Some(Al::Segno);
        if !needs || sheet.laid.segno(jump.segno).is_some() {
            continue;
        }
        let label = match sheet
            .board
            .markings()
            .get(jump.marking as usize)
            .map(crate::board::Marking::sign)
        {
            Some(Sign::DaCapo(jump) | Sign::DalSegno(jump)) => jump.label.as_deref(),
            _ => None,
        };
        let name = if jump.da_capo {
            "D.C. al Segno"
        } else {
            "D.S."
        };
        let which = label.map_or("segno".to_owned(), |label| {
            format!("segno {}", label_words(label))
        });
        let others: Vec<u32> = sheet
            .laid
            .segnos
            .iter()
            .map(|segno| segno.marking)
            .collect();
        let message = format!("this {name} cannot work alone: it needs a {which}");
        let help = if others.is_empty() {
            format!("put a {which} at the measure to which the {name} goes")
        } else {
            format!(
                "put a {which} on the board, or give the {name} the label of a segno that is there"
            )
        };
        report.at(jump.marking, &others, message, help);
    }
}

fn cure(cures: &mut Cures<'_>) {
    let (Some((index, marking)), Some((_, jump))) = (cures.marking(), cures.jump()) else {
        return;
    };
    let segnos: Vec<_> = cures.signs(|sign| matches!(sign, Sign::Segno(_))).collect();
    let call =
        |sign: &Sign, jump: &Jump| matches!(sign, Sign::DalSegno(_)) || jump.al == Some(Al::Segno);
    let calls = cures
        .jumps()
        .filter(|(_, marking, jump)| call(marking.sign(), jump))
        .count();
    for (_, segno) in segnos.iter().take(2) {
        let Sign::Segno(landing) = segno.sign() else {
            continue;
        };
        let edit = cures.jump_with(index, |jump| jump.label.clone_from(&landing.label));
        // One segno and one jump that goes to a segno: neither can mean anything but the other.
        if calls == 1 && segnos.len() == 1 {
            cures.restore(edit);
        } else {
            cures.propose(edit);
        }
    }
    let segno = Sign::Segno(landing(jump.label.as_deref()));
    let mut places = cures.begins_up_to(marking.measure());
    // A D.S. to the beginning is a D.C., and one that plays a measure or two again is seldom meant.
    places.sort_by_key(|&begin| match marking.measure() - begin {
        _ if begin == 1 => 2,
        0 => 2,
        1 => 1,
        _ => 0,
    });
    cures.put(&segno, places.into_iter().take(2));
    if let Sign::DalSegno(jump) = marking.sign() {
        let label = None;
        cures.rewrite(
            index,
            Sign::DaCapo(Jump {
                label,
                ..jump.clone()
            }),
        );
    } else {
        let edit = cures.jump_with(index, |jump| {
            (jump.al, jump.label, jump.then, jump.coda) = (None, None, None, None);
        });
        cures.propose(edit);
    }
    cures.take_away(index);
}
