//! What is worked out from the pieces of a route, held against a walk over every step of it, on boards by chance: few measures with many
//! signs, so that sections nest, and endings, jumps and landings meet in them.

use std::collections::{HashMap, HashSet};

use super::{Coverage, Times};
use crate::board::{
    Al, Board, BoardBuilder, EndRepeat, Ending, Fine, Jump, Landing, Marking, Passes, Place, Plays,
    Sign, Then, ToCoda,
};
use crate::chance::Chance;
use crate::legality::errors_under;
use crate::reading::Reading;
use crate::roadmap::{Ground, Roadmap, Terms};
use crate::route::{Cause, Step};

/// Routes longer than this are not walked here.
const LONGEST: u64 = 2_000;
const BOARDS: u64 = 6_000;

/// A board by chance. Most have few errors, since each sign mostly stands where it makes sense; those with errors are left out.
fn board(chance: &mut Chance) -> Board {
    let measures = 3 + chance.index(5);
    let number = |at: usize| u16::try_from(at).unwrap();
    let mut board = Board::builder([number(measures)]);
    let mut open = 0;
    let mut at = 1;
    while at <= measures {
        if chance.happens(1, 3) {
            board = board.mark(Sign::StartRepeat, number(at));
            open += 1;
        }
        if chance.happens(2, 5) {
            let plays = chance.one(&[None, None, None, Some(1), Some(3)]).unwrap();
            if chance.happens(1, 3) && at < measures {
                (board, at) = endings(board, chance, at, measures);
            } else {
                board = board.mark(end(plays), number(at));
                if open > 1 && at < measures && chance.happens(1, 2) {
                    at += 1;
                    board = board.mark(end(None), number(at));
                    open -= 1;
                }
            }
            open = open.max(1) - 1;
        }
        at += 1;
    }
    if chance.happens(3, 4) {
        board = journey(board, chance, measures);
    }
    board.build().unwrap()
}

fn end(plays: Option<u32>) -> Sign {
    Sign::EndRepeat(EndRepeat {
        plays: plays.map(Plays::Times),
        on_return: None,
    })
}

/// Two endings from a measure on, of one or two measures each. Behind them the last measure used.
fn endings(
    mut board: BoardBuilder,
    chance: &mut Chance,
    from: usize,
    measures: usize,
) -> (BoardBuilder, usize) {
    let number = |at: usize| u16::try_from(at).unwrap();
    let lists: [[&[u32]; 2]; 5] = [
        [&[1], &[2]],
        [&[1], &[2]],
        [&[1, 2], &[3]],
        [&[1, 3], &[2, 4]],
        [&[2], &[1, 3]],
    ];
    let lists = chance.one(&lists).unwrap();
    let middle = (from + chance.index(2)).min(measures - 1);
    let last = (middle + 1 + chance.index(2)).min(measures);
    for (list, first, last) in [(lists[0], from, middle), (lists[1], middle + 1, last)] {
        let passes = Passes::of(list.iter().copied()).unwrap();
        let ending = Sign::Ending(Ending {
            passes,
            open: false,
        });
        board = board.marking(Marking::new(
            ending,
            Place::over(number(first), number(last)),
        ));
    }
    board = board.mark(end(None), number(middle));
    if lists[1].len() > 1 {
        board = board.mark(end(None), number(last));
    }
    (board, last)
}

/// A return, or two, with what they call.
fn journey(mut board: BoardBuilder, chance: &mut Chance, measures: usize) -> BoardBuilder {
    let number = |at: usize| u16::try_from(at).unwrap();
    for _ in 0..=chance.index(2) {
        let al = chance.one(&[None, Some(Al::Fine), Some(Al::Coda), Some(Al::Segno)]);
        let mut al = al.unwrap();
        let jump_at = 1 + chance.index(measures);
        let da_capo = al == Some(Al::Segno) || chance.happens(1, 2);
        if !da_capo && al == Some(Al::Segno) {
            al = None;
        }
        let then = (matches!(al, Some(Al::Fine | Al::Segno)) && chance.happens(1, 2))
            .then_some(Then::Coda);
        let passes = chance.happens(1, 6).then(|| Passes::of([1]).unwrap());
        let jump = Jump {
            al,
            then,
            passes,
            ..Jump::default()
        };
        if !da_capo || al == Some(Al::Segno) {
            let segno = Sign::Segno(Landing::default());
            board = board.mark(segno, number(1 + chance.index(jump_at)));
        }
        if al == Some(Al::Fine) {
            let fine = Sign::Fine(Fine::default());
            board = board.mark(fine, number(1 + chance.index(measures)));
        }
        if al == Some(Al::Coda) {
            let to_coda = Sign::ToCoda(ToCoda::default());
            board = board.mark(to_coda, number(1 + chance.index(jump_at)));
        }
        if al == Some(Al::Coda) || then.is_some() {
            let coda = Sign::Coda(Landing::default());
            board = board.mark(coda, number(1 + chance.index(measures)));
        }
        let jump = if da_capo {
            Sign::DaCapo(jump)
        } else {
            Sign::DalSegno(jump)
        };
        board = board.mark(jump, number(jump_at));
    }
    board
}

/// What a walk over every step says of the board.
#[derive(Default)]
struct Walk {
    /// By part, as it is noted.
    first: HashSet<(u32, bool)>,
    repeat: HashSet<(u32, bool)>,
    gone_into: HashSet<u32>,
    /// By section and leg the highest pass on which one of its own parts is played, and on which anything in it is.
    highest_of_own: HashMap<(u32, bool), u32>,
    highest: HashMap<(u32, bool), u32>,
    repeats: HashSet<u32>,
    segnos: HashMap<u32, u32>,
    codas: HashMap<u32, u32>,
}

impl Walk {
    fn take(&mut self, ground: &Ground, step: &Step) {
        // No sign cuts a measure here, so that each measure is a part.
        let (part, back) = (u32::from(step.measure) - 1, step.leg > 1);
        if step.pass == 1 {
            self.first.insert((part, back));
        } else {
            self.repeat.insert((part, back));
        }
        if matches!(step.cause, Cause::On | Cause::PastEnding) {
            self.gone_into.insert(part);
        }
        let mut section = ground.sections.at(part);
        if let Some(number) = section {
            let highest = self.highest_of_own.entry((number, back)).or_default();
            *highest = step.pass.max(*highest);
        }
        let outer = step.enclosing.as_slice().iter().rev();
        for &pass in std::iter::once(&step.pass).chain(outer) {
            let Some(number) = section else {
                break;
            };
            let highest = self.highest.entry((number, back)).or_default();
            *highest = pass.max(*highest);
            section = ground.sections.get(number).and_then(|it| it.parent);
        }
        let Some(marking) = step.marking else {
            return;
        };
        match step.cause {
            Cause::Repeat => {
                self.repeats.insert(marking);
            }
            Cause::DalSegno => {
                self.segnos.entry(part).or_insert(marking);
            }
            Cause::ToCoda => {
                self.codas.entry(part).or_insert(marking);
            }
            _ => {}
        }
    }
}

#[test]
fn what_the_pieces_say_is_what_a_walk_over_every_step_says() {
    let mut walked_over = 0;
    let readings: Vec<Reading> = Reading::all().collect();
    for seed in 0..BOARDS {
        let mut chance = Chance::new(seed, 0);
        let board = board(&mut chance);
        let terms = Terms {
            reading: chance
                .one(&[Reading::default(), chance_of(&readings, seed)])
                .unwrap(),
            omit_repeats: chance.happens(1, 12),
            open_plays: None,
        };
        let ground = Ground::new(&board, &terms);
        if !errors_under(&board, &ground).is_empty() {
            continue;
        }
        let (Ok(walked), Ok(roadmap)) = (ground.walk(&terms), Roadmap::under(&board, &terms))
        else {
            continue;
        };
        if roadmap.length() > LONGEST {
            continue;
        }
        walked_over += 1;
        let coverage = Coverage::new(&ground, &walked);
        let mut walk = Walk::default();
        for step in roadmap.steps() {
            walk.take(&ground, &step);
        }
        let line = format!("{} under {:?}", board.to_line(), terms);
        for part in 0..u32::from(board.measures()) {
            let times: Times = coverage.times(part);
            for back in [false, true] {
                assert_eq!(
                    times.on_first(back),
                    walk.first.contains(&(part, back)),
                    "first {part} {back} {line}"
                );
                assert_eq!(
                    times.on_repeat(back),
                    walk.repeat.contains(&(part, back)),
                    "repeat {part} {back} {line}"
                );
            }
            let played = [false, true].iter().any(|&back| {
                walk.first.contains(&(part, back)) || walk.repeat.contains(&(part, back))
            });
            assert_eq!(times.played(), played, "{part} {line}");
            assert_eq!(
                times.gone_into(),
                walk.gone_into.contains(&part),
                "gone into {part} {line}"
            );
            assert_eq!(
                coverage.segno_landing(part),
                walk.segnos.get(&part).copied(),
                "{part} {line}"
            );
            assert_eq!(
                coverage.coda_landing(part),
                walk.codas.get(&part).copied(),
                "{part} {line}"
            );
        }
        for number in 0..ground.sections.list.len() {
            let number = u32::try_from(number).unwrap();
            for back in [false, true] {
                // A pass of which only a section inside it is played may be left out.
                let of = |highest: &HashMap<(u32, bool), u32>| {
                    highest.get(&(number, back)).copied().unwrap_or(0)
                };
                let (least, most) = (of(&walk.highest_of_own), of(&walk.highest));
                let said = coverage.highest_pass(number, back);
                assert!(
                    (least..=most).contains(&said),
                    "{number} {back}: {said}, not {least} to {most}, {line}"
                );
            }
        }
        for end in &ground.laid.ends {
            let made = walk.repeats.contains(&end.marking) || walked.obeyed.contains(&end.marking);
            assert_eq!(
                coverage.repeat_made(end.marking),
                made,
                "made {} {line}",
                end.marking
            );
        }
    }
    assert!(walked_over > BOARDS / 5, "{walked_over}");
}

fn chance_of(readings: &[Reading], seed: u64) -> Reading {
    readings[usize::try_from(seed).unwrap() % readings.len()]
}
