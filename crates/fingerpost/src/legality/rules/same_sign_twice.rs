//! `same-sign-twice`: a sign that stands twice at one place.

use std::collections::HashMap;

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::super::words::{hands_words, sign_words};
use super::{How, Rule};
use crate::board::{Edit, EndRepeat, Plays, Sign};
use crate::roadmap::row::PartIndex;

pub(super) const RULE: Rule = Rule {
    name: "same-sign-twice",
    severity: Severity::Warning,
    category: Category::Idle,
    since: "0.1",
    summary: "A sign stands once at its place.",
    clause: "1.10",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    let mut first: HashMap<(&Sign, PartIndex, u16), u32> = HashMap::new();
    // Of the end repeats at one place the one that says most.
    let mut ends: HashMap<PartIndex, (u32, &EndRepeat)> = HashMap::new();
    for (index, marking) in sheet.board.markings().iter().enumerate() {
        let index = u32::try_from(index).unwrap_or(u32::MAX);
        let (sign, part) = (marking.sign(), sheet.row.part_of(sheet.board, marking));
        let place = (part, marking.place().last());
        if let Sign::EndRepeat(end) = sign {
            match ends.get_mut(&part) {
                None => {
                    ends.insert(part, (index, end));
                }
                Some((other, larger)) if says_all(larger, end) => tell(index, *other, sign, report),
                Some(other) if says_all(end, other.1) => {
                    tell(other.0, index, sign, report);
                    *other = (index, end);
                }
                Some(_) => {}
            }
            continue;
        }
        match first.get(&(sign, place.0, place.1)) {
            Some(&other) => tell(index, other, sign, report),
            None => {
                first.insert((sign, place.0, place.1), index);
            }
        }
    }
}

fn cure(cures: &mut Cures<'_>) {
    // Equal signs at one place are one sign, whatever else stands on the board.
    let edit = cures.finding.marking.map(Edit::Remove);
    cures.restore(edit);
}

fn tell(marking: u32, other: u32, sign: &Sign, report: &mut Report<'_>) {
    let message = match sign {
        // It has no name, and its passes may be many.
        Sign::Only(only) => {
            let hands = hands_words(only.hands);
            format!("the same stands here twice for {hands}: once is enough")
        }
        _ => format!(
            "this {} stands here twice: once is enough",
            sign_words(sign)
        ),
    };
    let help = "take one of the two away".to_owned();
    report.at(marking, &[other], message, help);
}

/// Whether one end repeat says all that another at its place says.
fn says_all(larger: &EndRepeat, other: &EndRepeat) -> bool {
    let plays = |end: &EndRepeat| match end.plays {
        None => 2,
        Some(Plays::Times(times)) => times,
        Some(Plays::Open) => u32::MAX,
    };
    plays(other) <= plays(larger)
        && (other.on_return.is_none() || other.on_return == larger.on_return)
}
