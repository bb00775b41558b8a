//! `jump-in-section`: a jump inside a repeat, where different people obey it on different passes.

use super::super::cures::Cures;
use super::super::finding::{Category, Severity};
use super::super::sheet::{Report, Sheet};
use super::{How, Rule};
use crate::board::{Edit, Place, Sign};
use crate::legality::settling;
use crate::reading::Question;
use crate::roadmap::laid::JumpAt;

pub(super) const RULE: Rule = Rule {
    name: "jump-in-section",
    severity: Severity::Advice,
    category: Category::Jumps,
    since: "0.1",
    summary: "A D.C. or D.S. inside a repeat says on which pass it is obeyed.",
    clause: "6.2",
    how: How::Looking(look),
    cure: Some(cure),
};

fn look(sheet: &Sheet<'_>, report: &mut Report<'_>) {
    for jump in in_doubt(sheet) {
        let name = match sheet.sign(jump.marking) {
            Some(Sign::DaCapo(_)) => "D.C.",
            _ => "D.S.",
        };
        let message =
            format!("this {name} stands inside a repeat: not all obey it on the same pass");
        let help = format!(
            "name the arrivals at which it is obeyed; it is read here as jump-in-repeat {}",
            sheet.reading.jump_in_repeat.name()
        );
        report.at(jump.marking, &[], message, help);
    }
}

fn cure(cures: &mut Cures<'_>) {
    let Some((index, marking)) = cures.marking() else {
        return;
    };
    let part = cures.sheet.row.part_of(cures.sheet.board, marking);
    let ways = settling::ways(cures.sheet.board, Question::JumpInRepeat);
    let own = ways.into_iter().flatten();
    let own: Vec<Edit> = own
        .filter(|edit| matches!(edit, Edit::Replace(at, _) if *at == index))
        .collect();
    cures.propose(own);
    let outermost = cures.sheet.around(part).last();
    let innermost = cures.sheet.around(part).next();
    for section in innermost.into_iter().chain(outermost) {
        let end = cures.sheet.measure(section.end);
        cures.move_to(index, [Place::at(end)]);
    }
    cures.take_away(index);
}

/// The jumps that are obeyed on the first or on the last pass, as one reads them, unless the board itself says how to read it.
pub(super) fn in_doubt<'a>(sheet: &Sheet<'a>) -> impl Iterator<Item = &'a JumpAt> + use<'a> {
    let sheet = *sheet;
    let in_question = sheet.board.reading().jump_in_repeat.is_none();
    let plain = |jump: &&JumpAt| jump.arrivals.is_none() && jump.passes.is_none();
    let jumps = sheet.laid.jumps.iter().filter(move |_| in_question);
    jumps
        .filter(plain)
        .filter(move |jump| first_is_not_last(&sheet, jump))
}

/// Whether there is a section around a jump in which the first pass that comes to the jump is not its last one.
fn first_is_not_last(sheet: &Sheet<'_>, jump: &JumpAt) -> bool {
    let mut around = sheet.around(jump.part);
    around.any(|section| {
        // At an end repeat the jump has its turn on the last pass alone.
        let waits = sheet.ends(section).any(|end| end.part == jump.part);
        let first = match sheet.ending_at(section, jump.part) {
            Some(ending) => ending.passes.lowest(),
            None => 1,
        };
        let last = section.last_pass_at(sheet.laid, jump.part);
        !waits && last.is_some_and(|last| first < last)
    })
}
