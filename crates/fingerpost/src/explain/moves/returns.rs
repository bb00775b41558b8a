//! What is said of repeats after a D.C. or D.S.

use super::super::phrases::fill;
use super::super::places::place_of;
use super::Moves;
use crate::board::{Repeats, Sign};
use crate::route::Run;

impl Moves<'_> {
    /// What is to be said of repeats that are left out in this run, and of those that words have made again.
    pub(super) fn of_repeats(&mut self, run: &Run) -> Vec<String> {
        let sections = &self.roadmap.plan.sections;
        let from = self.part_of(run.from, run.from_part);
        let to = self.part_of(run.to, run.to_part);
        let mut notes = Vec::new();
        let mut part = from;
        while part <= to {
            let next = self.roadmap.plan.level_until(part).saturating_add(1);
            let mut number = sections.at(part);
            let mut step = None;
            while let Some((inner, section)) =
                number.and_then(|number| Some((number, sections.get(number)?)))
            {
                number = section.parent;
                if !self.entered.insert(inner) || section.passes < 2 || section.jump_closed {
                    continue;
                }
                let index = run.index + u64::from(part - from);
                if step.is_none() {
                    step = self.roadmap.step(index);
                }
                let pass = step.and_then(|step| self.pass_in(inner, part, &step));
                let note = if pass.is_some_and(|pass| pass > 1) {
                    let end_repeat = section.ends.first().copied();
                    let note = self.why_left_out(section.on_return, end_repeat);
                    self.omitted |= self.jump.is_none();
                    Some(note)
                } else if self.comes_before_jump(section) {
                    self.why_made_again()
                } else {
                    None
                };
                if let Some(note) = note.filter(|note| !self.said.contains(note)) {
                    self.said.insert(note.clone());
                    notes.push(note);
                }
            }
            part = next;
        }
        notes
    }

    fn why_left_out(&self, on_return: Option<Repeats>, end_repeat: Option<u32>) -> String {
        let returns = &self.phrases.returns;
        let Some((sign, own)) = self.words_of_jump() else {
            return returns.omitted.to_owned();
        };
        if on_return == Some(Repeats::Skip) {
            let end = end_repeat.and_then(|index| self.laid.ends.get(index as usize));
            let place = end
                .and_then(|end| self.marking(Some(end.marking)))
                .map_or_else(String::new, |marking| {
                    place_of(self.phrases, self.board, marking)
                });
            return fill(returns.by_end_repeat, &[("place", &place)]);
        }
        let template = match own {
            Some(Repeats::Skip) => returns.by_jump,
            // Nothing else leaves out what the words ask for.
            Some(Repeats::Play) => returns.omitted,
            None if self.board.reading().repeats_on_return.is_some() => returns.by_board,
            None => returns.by_custom,
        };
        fill(template, &[("sign", sign)])
    }

    /// Why repeats are made again, where words at the jump say so.
    fn why_made_again(&self) -> Option<String> {
        let (sign, own) = self.words_of_jump()?;
        let template = self.phrases.returns.made_again;
        (own == Some(Repeats::Play)).then(|| fill(template, &[("sign", sign)]))
    }

    /// The letters of the jump that began this leg, and what its words say of repeats.
    fn words_of_jump(&self) -> Option<(&'static str, Option<Repeats>)> {
        match self.marking(self.jump)?.sign() {
            Sign::DaCapo(jump) => Some(("D.C.", jump.repeats)),
            Sign::DalSegno(jump) => Some(("D.S.", jump.repeats)),
            _ => None,
        }
    }
}
