//! `end-repeat-never-made`: an end repeat at which the music never goes back.

use super::super::cures::{Cures, repeat_signs};
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Road};
use super::end_repeat_in_last_ending::is_in_last;
use super::{How, Rule};
use crate::board::{Edit, Fine, Marking, Passes, Side, Sign, ToCoda};

pub(super) const RULE: Rule = Rule {
    name: "end-repeat-never-made",
    severity: Severity::Warning,
    category: Category::Order,
    since: "0.1",
    summary: "An end repeat sends the music back at some time.",
    clause: "3.2",
    how: How::Walked(tell),
    cure: Some(cure),
};

fn tell(road: &Road<'_>, report: &mut Report<'_>) {
    let sheet = &road.sheet;
    for section in sheet
        .sections
        .list
        .iter()
        .filter(|section| section.passes > 1)
    {
        for end in sheet.ends(section) {
            let made = road.coverage.repeat_made(end.marking);
            if made || !road.played(end.part) || is_in_last(sheet, section, end) {
                continue;
            }
            let message = "this end repeat never sends the music back".to_owned();
            let help = "another sign always leads away first: keep one of the two".to_owned();
            report.at(end.marking, &[], message, help);
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some((index, marking)) = cures.marking() else {
        return;
    };
    let section = cures.section(index);
    let leads_away = |&(other, there): &(usize, &Marking)| {
        other != index && there.sign().side() == Side::Leaving && there.place() == marking.place()
    };
    let others: Vec<(usize, Sign)> = cures
        .signs(|_| true)
        .filter(leads_away)
        .map(|(other, there)| (other, there.sign().clone()))
        .take(2)
        .collect();
    for (other, mut sign) in others {
        let last = section.and_then(|section| Passes::of([section.passes]).ok());
        match &mut sign {
            Sign::Fine(Fine { arrivals }) | Sign::ToCoda(ToCoda { arrivals, .. }) => {
                *arrivals = last;
            }
            Sign::DaCapo(jump) | Sign::DalSegno(jump) => jump.arrivals = last,
            _ => continue,
        }
        cures.rewrite(other, sign);
        cures.take_away(other);
    }
    if let Some(signs) = section.and_then(|section| repeat_signs(cures, section)) {
        cures.propose(signs.into_iter().map(Edit::Remove));
    }
    cures.take_away(index);
}
