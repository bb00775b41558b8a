//! `jumps-together`: two jumps at one barline that nothing keeps apart.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::Passes;
use crate::roadmap::laid::JumpAt;

pub(super) const RULE: Rule = Rule {
    name: "jumps-together",
    severity: Severity::Error,
    category: Category::Jumps,
    since: "0.1",
    summary: "Two jumps at one barline need arrivals or passes that keep them apart.",
    clause: "10.15",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look<'a>(sheet: &Sheet<'a>, report: &mut Report<'_>) {
    for together in sheet.laid.jumps.chunk_by(|a, b| a.part == b.part) {
        // Arrivals go before passes, and both before a plain jump: only jumps of one kind can meet.
        let plain: Vec<&JumpAt> = together
            .iter()
            .filter(|jump| jump.arrivals.is_none() && jump.passes.is_none())
            .collect();
        let mut clashes: Vec<(u32, u32)> = plain
            .iter()
            .zip(plain.iter().skip(1))
            .map(|(first, second)| (second.marking, first.marking))
            .collect();
        // Outside every section, passes are arrivals.
        let outside = together
            .first()
            .is_some_and(|jump| sheet.sections.at(jump.part).is_none());
        let arrivals = |jump: &'_ JumpAt| jump.arrivals.is_some() || outside;
        let list = |jump: &'a JumpAt| {
            Some((
                jump.arrivals.as_ref().or(jump.passes.as_ref())?,
                jump.marking,
            ))
        };
        clashes.extend(shared(
            together
                .iter()
                .filter(|jump| arrivals(jump))
                .filter_map(list),
        ));
        clashes.extend(shared(
            together
                .iter()
                .filter(|jump| !arrivals(jump))
                .filter_map(list),
        ));
        clashes.sort_unstable();
        clashes.dedup_by_key(|&mut (marking, _)| marking);
        for (marking, other) in clashes {
            let message =
                "two jumps stand at this barline, and nothing says which one is meant when"
                    .to_owned();
            let help = "take one away, or say at which arrivals each of them is obeyed".to_owned();
            report.at(marking, &[other], message, help);
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    let (Some((index, _)), Some((other, _))) = (cures.marking(), cures.other()) else {
        return;
    };
    for [first, second] in [[other, index], [index, other]] {
        let named = |index, arrival| {
            cures.jump_with(index, |jump| {
                (jump.arrivals, jump.passes) = (Passes::of([arrival]).ok(), None);
            })
        };
        let edits: Vec<_> = named(first, 1)
            .into_iter()
            .chain(named(second, 2))
            .collect();
        cures.propose(edits);
        cures.take_away(second);
    }
}

/// The markings whose list has a number that another's has, each with that other.
fn shared<'a>(lists: impl Iterator<Item = (&'a Passes, u32)>) -> Vec<(u32, u32)> {
    let mut ranges: Vec<(u32, u32, u32)> = lists
        .flat_map(|(list, marking)| {
            list.ranges()
                .iter()
                .map(move |&(from, to)| (from, to, marking))
        })
        .collect();
    ranges.sort_unstable();
    let mut furthest: Option<(u32, u32)> = None;
    let mut found = Vec::new();
    for (from, to, marking) in ranges {
        if let Some((_, other)) = furthest.filter(|&(end, _)| from <= end) {
            found.push((marking, other));
        }
        if furthest.is_none_or(|(end, _)| end < to) {
            furthest = Some((to, marking));
        }
    }
    found
}
