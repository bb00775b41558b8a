//! What a step carries. From the chapter of that name.

use fingerpost::{Cause, Held, Sign, When};

use super::PlainStep;
use super::mistaken::Mistake;
use super::playing::Playing;

impl Playing<'_, '_> {
    /// The step that sounds a part.
    pub(super) fn step(&mut self, part: usize, cause: Cause, sender: Option<usize>) -> PlainStep {
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
        let (mut octave_right, mut octave_left): (Option<i8>, Option<i8>) = (None, None);
        let at_other_times = self.believes(Mistake::OctaveAtOtherTimes);
        let every_time = self.believes(Mistake::OctaveEveryTime);
        let wrong_hand = self.believes(Mistake::OctaveInTheWrongHand);
        let octave_holds =
            |when: &When| every_time || holds(when) != (at_other_times && *when != When::EveryPass);
        let (mut held_right, mut held_left) = (false, false);
        let (mut plays_right, mut plays_left) = (true, true);
        for &id in &here.over {
            match self.road.marks[id].sign {
                // The shifts of all octave signs that hold add up, for each hand.
                Sign::Octave(octave) if octave_holds(&octave.when) => {
                    let shift = octave.shift.octaves();
                    let (right, left) = (octave.hands.right(), octave.hands.left());
                    let (right, left) = if wrong_hand {
                        (left, right)
                    } else {
                        (right, left)
                    };
                    if right {
                        octave_right = Some(octave_right.unwrap_or(0) + shift);
                    }
                    if left {
                        octave_left = Some(octave_left.unwrap_or(0) + shift);
                    }
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
        let (octave_right, octave_left) = self.beliefs.shifts(octave_right, octave_left);
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
