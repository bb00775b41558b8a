//! Boards on which a misunderstanding makes a difference, with the answers that it gives.
#![allow(dead_code)] // Each test takes what it needs.

use fingerpost::{Answer, AnswerStep, Board, Octaves, Reading, Terms};

use crate::trials::chance::Dice;
use crate::trials::pupils;
pub(crate) use crate::trials::slips::Said;
use crate::trials::slips::slip;
use crate::walker::mistaken::Mistake;
use crate::walker::{Outcome, PlainStep, Walker};

/// Who jumps for ever is stopped after so many steps; no other road of these boards is as long.
pub(crate) const LIMIT: u64 = 1000;

/// A board and what everybody says to it who errs in one way.
pub(crate) struct Roads {
    pub(crate) board: Board,
    pub(crate) right: Vec<Said>,
    /// In the order of `Mistake::ALL`.
    pub(crate) wrong: Vec<Vec<Said>>,
}

/// What somebody says who errs.
pub(crate) struct Wrong {
    pub(crate) mistake: Mistake,
    pub(crate) answer: Vec<Said>,
    /// The other single misunderstandings that give the same answer.
    pub(crate) twins: Vec<Mistake>,
}

impl Roads {
    /// A board by chance; none when it has no road.
    pub(crate) fn new(dice: &mut Dice) -> Option<Roads> {
        let board = pupils::board(dice);
        let walker = Walker::new(&board, LIMIT);
        let terms = Terms::default();
        let right = said(&walker.walk_mistaken(&terms, &[])?);
        let walk = |&mistake: &Mistake| walker.walk_mistaken(&terms, &[mistake]);
        let wrong: Option<Vec<_>> = Mistake::ALL.iter().map(walk).collect();
        let wrong = wrong?.iter().map(|steps| said(steps)).collect();
        Some(Roads {
            board,
            right,
            wrong,
        })
    }

    /// The answer of a misunderstanding, where it makes a difference.
    pub(crate) fn answer(&self, dice: &mut Dice, mistake: Mistake) -> Option<Wrong> {
        let mut answer = self.of(mistake).to_vec();
        if alike(mistake, &answer, &self.right) {
            return None;
        }
        if mistake == Mistake::JumpForEver {
            stop_some_time(&mut answer, &self.right, dice);
        }
        let twins = Mistake::ALL
            .into_iter()
            .filter(|other| other.name() != mistake.name())
            .filter(|other| other.is_of_octaves() == mistake.is_of_octaves())
            .filter(|&other| self.gives(other, &answer))
            .collect();
        Some(Wrong {
            mistake,
            answer,
            twins,
        })
    }

    /// Whether a misunderstanding gives this answer, or, where its road has no end, one that goes on after it.
    fn gives(&self, mistake: Mistake, answer: &[Said]) -> bool {
        let road = self.of(mistake);
        if mistake == Mistake::JumpForEver && road.len() as u64 == LIMIT {
            let begun = &road[..answer.len().min(road.len())];
            return alike(mistake, begun, answer)
                && !alike(
                    mistake,
                    begun,
                    &self.right[..begun.len().min(self.right.len())],
                );
        }
        alike(mistake, road, answer)
    }

    fn of(&self, mistake: Mistake) -> &[Said] {
        let place = Mistake::ALL.iter().position(|&other| other == mistake);
        &self.wrong[place.expect("all are there")]
    }

    /// The answer with one slip. One that makes it right is made again.
    pub(crate) fn slipped(&self, dice: &mut Dice, wrong: &Wrong) -> Vec<Said> {
        loop {
            let answer = slip(dice, &wrong.answer, self.board.measures());
            if !alike(wrong.mistake, &answer, &self.right) {
                return answer;
            }
        }
    }

    /// Whether an answer is right under some published reading.
    pub(crate) fn right_under_some_reading(&self, answer: &[Said]) -> bool {
        let walker = Walker::new(&self.board, LIMIT);
        Reading::all().any(|reading| {
            let terms = Terms {
                reading,
                ..Terms::default()
            };
            match walker.walk(&terms) {
                Outcome::Steps(steps) => order(&said(&steps)) == order(answer),
                _ => false,
            }
        })
    }
}

/// Who would go on for ever is stopped some steps after the right road has been left.
pub(crate) fn stop_some_time(road: &mut Vec<Said>, right: &[Said], dice: &mut Dice) {
    let pairs = road.iter().zip(right);
    let common = pairs.take_while(|(a, b)| a.0 == b.0).count();
    road.truncate(common + 1 + dice.below(8));
}

/// Whether two answers are the same as far as the misunderstanding goes: in their order, or in their octaves too.
pub(crate) fn alike(mistake: Mistake, one: &[Said], other: &[Said]) -> bool {
    if mistake.is_of_octaves() {
        one == other
    } else {
        order(one) == order(other)
    }
}

pub(crate) fn order(answer: &[Said]) -> Vec<u16> {
    answer.iter().map(|said| said.0).collect()
}

pub(crate) fn said(steps: &[PlainStep]) -> Vec<Said> {
    let said = |s: &PlainStep| (s.measure, s.octave_right, s.octave_left);
    steps.iter().map(said).collect()
}

/// What was said as the library takes it, with the octaves or as an order alone.
pub(crate) fn answer(said: &[Said], octaves: bool) -> Answer {
    let steps = said.iter().map(|&(measure, right, left)| AnswerStep {
        measure: measure.into(),
        octave: octaves.then_some(Octaves { right, left }),
    });
    Answer::of_steps(steps).expect("a short answer")
}
