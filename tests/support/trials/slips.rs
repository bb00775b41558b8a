//! A slip in an answer: a measure left out, said twice, mistaken for its neighbour, or two said in the wrong order.

use super::chance::Dice;

/// One step of an answer: the measure, and the octave shifts of the right and of the left hand.
pub(crate) type Said = (u16, i8, i8);

/// The answer with one slip in it, at a place and of a kind by chance. It differs from the answer.
pub(crate) fn slip(dice: &mut Dice, answer: &[Said], measures: u16) -> Vec<Said> {
    loop {
        let mut slipped = answer.to_vec();
        let at = dice.below(answer.len());
        match dice.below(4) {
            0 => drop(slipped.remove(at)),
            1 => slipped.insert(at, answer[at]),
            2 => {
                let measure = &mut slipped[at].0;
                *measure = if dice.once_in(2) {
                    *measure + 1
                } else {
                    *measure - 1
                };
                if !(1..=measures).contains(measure) {
                    continue;
                }
            }
            _ if at + 1 < answer.len() => slipped.swap(at, at + 1),
            _ => continue,
        }
        if slipped != answer && !slipped.is_empty() {
            return slipped;
        }
    }
}
