//! `pass-never-reached`: a list that names a pass beyond the last one.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::notes::{NoteAt, notes, passes_at, passes_of};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{EndRepeat, Fermata, Octave, Only, Passes, Plays, Sign, When};

pub(super) const RULE: Rule = Rule {
    name: "pass-never-reached",
    severity: Severity::Advice,
    category: Category::Order,
    since: "0.1",
    summary: "A list of passes names passes that come.",
    clause: "2.8",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for section in &sheet.sections.list {
        for ending in sheet.endings(section) {
            tell(ending.marking, &ending.passes, section.passes, report);
        }
    }
    for jump in &sheet.laid.jumps {
        // Outside every section the passes of a jump are arrivals.
        let section = sheet.around(jump.part).next();
        if let (Some(passes), Some(section)) = (&jump.passes, section) {
            if passes.lowest() <= section.passes {
                tell(jump.marking, passes, section.passes, report);
            }
        }
    }
    let mut looks = 0;
    for note in notes(sheet) {
        let Some(passes) = passes_of(note.sign) else {
            continue;
        };
        // Where none of its passes comes, other rules say what that means.
        let most = most_passes(sheet, &note, passes.highest(), &mut looks);
        if passes.lowest() <= most {
            tell(note.marking, passes, most, report);
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some((index, marking)) = cures.marking() else {
        return;
    };
    let sheet = cures.sheet;
    let parts = match marking.sign() {
        Sign::DaCapo(_) | Sign::DalSegno(_) => {
            let part = sheet.row.part_of(sheet.board, marking);
            part..part + 1
        }
        _ => {
            let place = marking.place();
            sheet.row.parts_of(place.first()).start..sheet.row.parts_of(place.last()).end
        }
    };
    let most = match marking.sign() {
        Sign::Ending(_) => cures.section(index).map(|section| section.passes),
        _ => parts
            .take(MOST_PARTS)
            .map(|part| passes_at(&sheet, part))
            .max(),
    };
    let mut sign = marking.sign().clone();
    let list = match &mut sign {
        Sign::Ending(ending) => Some(&mut ending.passes),
        Sign::DaCapo(jump) | Sign::DalSegno(jump) => jump.passes.as_mut(),
        Sign::Octave(Octave { when, .. })
        | Sign::Fermata(Fermata { when, .. })
        | Sign::Only(Only { when, .. }) => match when {
            When::Passes(passes) => Some(passes),
            _ => None,
        },
        _ => None,
    };
    if let (Some(list), Some(most)) = (list, most) {
        let ranges = list.ranges().iter().filter(|&&(from, _)| from <= most);
        let come = Passes::of_ranges(ranges.map(|&(from, to)| (from, to.min(most))));
        if let Ok(come) = come {
            let highest = list.highest();
            *list = come;
            cures.rewrite(index, sign);
            play_more(cures, marking.measure(), highest);
        } else {
            cures.take_away(index);
        }
    }
}

/// Lets the repeat around a measure be played so often.
fn play_more(cures: &mut Cures<'_>, measure: u16, times: u32) {
    let sheet = cures.sheet;
    let section = sheet.around(sheet.row.parts_of(measure).start).next();
    let end = section.and_then(|section| sheet.ends(section).last());
    let Some((index, end)) = end.and_then(|end| cures.numbered(end.marking as usize)) else {
        return;
    };
    if let Sign::EndRepeat(end) = end.sign() {
        let (plays, on_return) = (Some(Plays::Times(times)), end.on_return);
        cures.rewrite(index, Sign::EndRepeat(EndRepeat { plays, on_return }));
    }
}

/// The most parts under a sign that are looked at for a cure.
const MOST_PARTS: usize = 10_000;

fn tell(marking: u32, passes: &Passes, most: u32, report: &mut Report<'_>) {
    if let Some(pass) = passes.next_from(most.saturating_add(1)) {
        let message = match most {
            1 => format!("pass {pass} never comes: this is played once"),
            _ => format!("pass {pass} never comes: this repeat is played {most} times"),
        };
        let help = format!("name passes up to {most}, or let the repeat be played more often");
        report.at(marking, &[], message, help);
    }
}

/// The most parts that are looked at, all signs together; beyond it the passes named are taken to come.
const MOST_LOOKS: usize = 2_000_000;

/// The largest number of passes in the measures under a sign, as far as `enough`.
fn most_passes(sheet: &Sheet<'_>, note: &NoteAt<'_>, enough: u32, looks: &mut usize) -> u32 {
    let mut most = 1;
    for part in note.first..=note.last {
        *looks += 1;
        if *looks > MOST_LOOKS {
            return enough;
        }
        most = most.max(passes_at(sheet, part));
        if most >= enough {
            break;
        }
    }
    most
}
