//! How often a part is played, without walking.

use super::paths::{Manner, Path, Paths, inner_at};
use super::row::PartIndex;
use super::sections::{SectionIndex, Sections};

/// How often a part is played on the passes from `from` to `to` of a section, its inner sections come to anew on each.
pub(crate) fn occurrences_anew(
    sections: &Sections,
    paths: &Paths,
    section: SectionIndex,
    from: u32,
    to: u32,
    part: PartIndex,
) -> u64 {
    let once = occurrences_in_item(sections, paths, section, Manner::First, part);
    let held = paths
        .between(section, from, to)
        .filter(|(path, _)| holds(path, part));
    held.fold(0, |sum: u64, (_, times)| {
        sum.saturating_add(once.saturating_mul(u64::from(times)))
    })
}

/// How often a part is played in a whole visit to a section come to in a manner.
pub(crate) fn occurrences_in_visit(
    sections: &Sections,
    paths: &Paths,
    section: SectionIndex,
    manner: Manner,
    part: PartIndex,
) -> u64 {
    let Some(own) = sections.get(section) else {
        return 0;
    };
    if part < own.start || own.end < part {
        return 0;
    }
    let (entry, leaving) = paths.visit(section, manner);
    occurrences_on_pass(sections, paths, section, entry, manner, part).saturating_add(
        occurrences_anew(
            sections,
            paths,
            section,
            entry.saturating_add(1),
            leaving,
            part,
        ),
    )
}

/// How often a part is played on one pass of a section, its inner sections come to in a manner.
pub(crate) fn occurrences_on_pass(
    sections: &Sections,
    paths: &Paths,
    section: SectionIndex,
    pass: u32,
    manner: Manner,
    part: PartIndex,
) -> u64 {
    if holds(paths.path(section, pass), part) {
        occurrences_in_item(sections, paths, section, manner, part)
    } else {
        0
    }
}

/// How often a part is played each time its level comes to it.
pub(crate) fn occurrences_in_item(
    sections: &Sections,
    paths: &Paths,
    level: SectionIndex,
    manner: Manner,
    part: PartIndex,
) -> u64 {
    match inner_at(sections, level, part) {
        Some(inner) => occurrences_in_visit(sections, paths, inner, manner, part),
        None => 1,
    }
}

fn holds(path: &Path, part: PartIndex) -> bool {
    let at = path.stretches.partition_point(|stretch| stretch.to < part);
    path.stretches
        .get(at)
        .is_some_and(|stretch| stretch.from <= part)
}
