//! What a step carries. From the chapter of that name.

use fingerpost::{Cause, Held, Sign, When};

use super::PlainStep;
use super::playing::Playing;

impl Playing<'_, '_> {
    /// The step that sounds a part.
    pub(super) fn step(&self, part: usize, cause: Cause, sender: Option<usize>) -> PlainStep {
        let here = &self.road.parts[part];
        let around = &self.sections.around[part];
        let pass = self.innermost_pass(part);
        // Its last pass; a part in no section has one pass.
        let last = around.last().map_or(1, |&section| self.tops[section]);
        let holds = |when: &When| match when {
            When::EveryPass => true,
            When::OnRepeat => pass >= 2,
            When::LastPass => pass == last,
            When::OnReturn => self.leg >= 2,
            When::Passes(passes) => passes.contains(pass),
        };
        let (mut octave_right, mut octave_left) = (0, 0);
        let (mut held_right, mut held_left) = (false, false);
        let (mut plays_right, mut plays_left) = (true, true);
        for &id in &here.over {
            match self.road.marks[id].sign {
                // The shifts of all octave signs that hold add up, for each hand.
                Sign::Octave(octave) if holds(&octave.when) => {
                    let shift = octave.shift.octaves();
                    octave_right += if octave.hands.right() { shift } else { 0 };
                    octave_left += if octave.hands.left() { shift } else { 0 };
                }
                Sign::Fermata(fermata) if holds(&fermata.when) => {
                    held_right |= fermata.hands.right();
                    held_left |= fermata.hands.left();
                }
                // A hand that plays at some times only is silent at the others; two such marks must both allow it.
                Sign::Only(only) if !holds(&only.when) => {
                    plays_right &= !only.hands.right();
                    plays_left &= !only.hands.left();
                }
                _ => {}
            }
        }
        let outer = &around[..around.len().saturating_sub(1)];
        PlainStep {
            measure: here.measure,
            part: here.cut,
            pass,
            enclosing: outer.iter().filter_map(|&s| self.pass[s]).collect(),
            leg: self.leg,
            visit: self.sounded[part],
            octave_right,
            octave_left,
            hold: Held::from_hands(held_right, held_left),
            hands: Held::from_hands(plays_right, plays_left),
            cause,
            marking: sender.map(|id| self.road.marks[id].index),
        }
    }
}
