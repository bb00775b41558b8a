//! The errors that are seen without walking. From the chapter "errors", which gives their names.

use fingerpost::{Al, Arming, Jump, Passes, Sign, Then};

use super::road::{Mark, Road};
use super::sections::{Section, Sections};
use super::{Rules, by_count};

/// The most sections that may lie one within the other.
const DEEPEST: usize = 8;

/// Every error of a road whose sections are these.
pub(super) fn of(road: &Road, sections: &Sections, arming: Arming) -> Rules {
    let mut found = Rules::new();
    if road.cut_outside {
        found.insert("cut-outside-measure");
    }
    if sections.around.iter().any(|around| around.len() > DEEPEST) {
        found.insert("nesting-too-deep");
    }
    for (id, mark) in road.marks.iter().enumerate() {
        landing_errors(road, id, mark, &mut found);
        ending_errors(road, id, mark, &mut found);
        if let Some(jump) = mark.jump() {
            jump_errors(road, sections, mark, jump, &mut found);
            jumps_together(road, sections, id, mark, &mut found);
        }
        to_coda_errors(road, sections, arming, mark, &mut found);
    }
    for section in &sections.list {
        section_errors(road, section, &mut found);
    }
    found
}

/// Two landings with one label. Equal ones at one place are one.
fn landing_errors(road: &Road, id: usize, mark: &Mark, found: &mut Rules) {
    if matches!(mark.sign, Sign::Segno(_) | Sign::Coda(_)) {
        let twin = |other: &Mark| other.sign == mark.sign;
        if road.marks[..id].iter().any(twin) {
            found.insert("label-twice");
        }
    }
}

fn ending_errors(road: &Road, id: usize, mark: &Mark, found: &mut Rules) {
    if mark.passes().is_none() {
        return;
    }
    let overlaps = |other: &Mark| {
        other.passes().is_some() && other.first <= mark.last && mark.first <= other.last
    };
    if road.marks[..id].iter().any(overlaps) {
        found.insert("endings-overlap");
    }
    for other in &road.marks {
        match other.sign {
            Sign::StartRepeat if mark.covers(other.first) => {
                found.insert("start-repeat-in-ending");
            }
            // An end repeat before the ending's last part: the bracket reaches past its section.
            Sign::EndRepeat(_) if mark.covers(other.last) && other.last < mark.last => {
                found.insert("ending-past-section");
            }
            _ => {}
        }
    }
}

/// What a D.C. or a D.S. needs.
fn jump_errors(road: &Road, sections: &Sections, mark: &Mark, jump: &Jump, found: &mut Rules) {
    let label = jump.label.as_deref();
    let goes_to_segno = matches!(mark.sign, Sign::DalSegno(_));
    if (goes_to_segno || jump.al == Some(Al::Segno)) && road.segno(label).is_none() {
        found.insert("segno-missing");
    }
    if goes_to_segno && road.segno(label).is_some_and(|segno| segno > mark.last) {
        found.insert("segno-after-jump");
    }
    let has = |wanted: fn(&Sign) -> bool| road.marks.iter().any(|mark| wanted(mark.sign));
    if jump.al == Some(Al::Fine) && !has(|sign| matches!(sign, Sign::Fine(_))) {
        found.insert("fine-missing");
    }
    let coda = jump.coda.as_deref();
    if jump.al == Some(Al::Coda) {
        // With `coda` the To Codas of that label are meant, else every one.
        let meant = |mark: &Mark| match mark.sign {
            Sign::ToCoda(to) => coda.is_none() || to.label.as_deref() == coda,
            _ => false,
        };
        if !road.marks.iter().any(meant) {
            found.insert("to-coda-missing");
        }
        // Its coda is that of its label; without a label each To Coda brings its own, and some coda there must be.
        let has_coda = match coda {
            Some(_) => road.coda(coda).is_some(),
            None => has(|sign| matches!(sign, Sign::Coda(_))),
        };
        if !has_coda {
            found.insert("coda-missing");
        }
    }
    if jump.then == Some(Then::Coda) {
        let to = road.coda(coda);
        if to.is_none() {
            found.insert("coda-missing");
        }
        let from = road.segno(label).filter(|_| jump.al == Some(Al::Segno));
        if from.zip(to).is_some_and(|(segno, coda)| coda <= segno) {
            found.insert("coda-before-to-coda");
        }
        if jump.al == Some(Al::Fine) {
            let lands = if goes_to_segno {
                road.segno(label)
            } else {
                Some(0)
            };
            let counted_from = lands.map(|part| {
                let outermost = sections.around[part].first();
                outermost.map_or(part, |&section| sections.list[section].first)
            });
            let ends = |mark: &&Mark| match mark.sign {
                Sign::Fine(fine) => fine.arrivals.is_none() && counted_from <= Some(mark.last),
                _ => false,
            };
            let first = road.marks.iter().filter(ends).map(|mark| mark.last).min();
            let first = first.filter(|_| counted_from.is_some());
            if first.zip(to).is_some_and(|(fine, coda)| coda <= fine) {
                found.insert("coda-before-to-coda");
            }
        }
    }
}

/// Two jumps on one barline are kept apart when one of them has arrivals or passes and no list of one kind shares a number with the other's.
fn jumps_together(road: &Road, sections: &Sections, id: usize, mark: &Mark, found: &mut Rules) {
    let outside = sections.around[mark.last].is_empty();
    // Beside arrivals passes are not used, and outside every section they are arrivals.
    let lists = |jump: &'_ Jump| -> (Option<Passes>, Option<Passes>) {
        let passes = jump.passes.clone().filter(|_| jump.arrivals.is_none());
        if outside {
            (jump.arrivals.clone().or(passes), None)
        } else {
            (jump.arrivals.clone(), passes)
        }
    };
    for other in &road.marks[..id] {
        let (Some(a), Some(b)) = (mark.jump(), other.jump()) else {
            continue;
        };
        if other.last != mark.last {
            continue;
        }
        let ((arrivals, passes), (others, their_passes)) = (lists(a), lists(b));
        let meet = |a: &Option<Passes>, b: &Option<Passes>| matches!((a, b), (Some(a), Some(b)) if a.meets(b));
        let plain = [&arrivals, &passes, &others, &their_passes];
        if plain.iter().all(|list| list.is_none())
            || meet(&arrivals, &others)
            || meet(&passes, &their_passes)
        {
            found.insert("jumps-together");
        }
    }
}

fn to_coda_errors(
    road: &Road,
    sections: &Sections,
    arming: Arming,
    mark: &Mark,
    found: &mut Rules,
) {
    let Sign::ToCoda(to) = mark.sign else { return };
    let label = to.label.as_deref();
    if let Some(coda) = road.coda(label) {
        if coda <= mark.last {
            found.insert("coda-before-to-coda");
        }
        return;
    }
    // Without its coda it is an error while something may have it obeyed: its own arrivals, a jump that may mean it, or, on a
    // board with no jump, the section around it. Where it is obeyed by count, that may be every one.
    let may_be_meant = |mark: &Mark| match mark.jump() {
        Some(Jump { al: None, .. }) => arming == Arming::AlOrBare,
        Some(jump) if jump.al == Some(Al::Coda) => {
            jump.coda.is_none() || jump.coda.as_deref() == label
        }
        _ => false,
    };
    let obeyed = to.arrivals.is_some()
        || by_count(arming)
        || road.marks.iter().any(may_be_meant)
        || !road.has_jump() && !sections.around[mark.last].is_empty();
    if obeyed {
        found.insert("coda-missing");
    }
}

fn section_errors(road: &Road, section: &Section, found: &mut Rules) {
    if section.contradicts {
        found.insert("on-return-contradicts");
    }
    // The rest holds for a closing group of two endings or more.
    if section.closing.len() < 2 {
        return;
    }
    let endings = || section.closing.iter().map(|&id| &road.marks[id]);
    let lists: Vec<&Passes> = endings().filter_map(Mark::passes).collect();
    // From 1 on, each time the first pass not reached so far must be in some list.
    let mut covered = 0;
    while covered < section.top {
        let next = covered + 1;
        let upto = |list: &&Passes| {
            let ranges = list.ranges().iter();
            let holding = ranges.filter(|&&(from, to)| from <= next && next <= to);
            holding.map(|&(_, to)| to).max()
        };
        let Some(reach) = lists.iter().filter_map(upto).max() else {
            found.insert("ending-gap");
            break;
        };
        covered = reach;
    }
    for (i, list) in lists.iter().enumerate() {
        if lists[..i].iter().any(|other| other.meets(list)) {
            found.insert("ending-pass-twice");
        }
    }
    // An ending that lists a pass below the last one is closed by an end repeat or a jump.
    for ending in endings() {
        let below = ending.passes().is_some_and(|p| p.lowest() < section.top);
        let closed = road.end_repeat(ending.last).is_some() || road.jump_at(ending.last);
        if below && !closed {
            found.insert("ending-not-closed");
        }
    }
}
