//! What each way to lay signs is good for, by the second walker.

use std::collections::BTreeSet;

use fingerpost::{Al, Board, Cause, CheckOptions, Counted, Marking, Sign, Terms, check_with};

use super::support::laying::with;
use super::walker::{Outcome, PlainStep, walk};

/// The rules by which a jump or an end repeat plays no part.
const NEVER: [&str; 3] = [
    "jump-never-obeyed",
    "end-repeat-never-made",
    "end-repeat-in-last-ending",
];

/// What a way to lay signs is good for, by the second walker: whether each of them plays its part, and every measure is played.
pub(crate) fn good_for(board: &Board, added: &[Marking]) -> Counted {
    let terms = Terms {
        open_plays: Some(2),
        ..Terms::default()
    };
    let Outcome::Steps(steps) = walk(&with(board, added), &terms, 20_000) else {
        panic!("the board is in order: {}", with(board, added).to_line());
    };
    let found = check_with(&with(board, added), &CheckOptions::default());
    let all: Vec<&Marking> = board.markings().iter().chain(added).collect();
    // Equal signs at one place are one, and end repeats at one place are one whatever is written beside them (rulebook, 1.10 and 2.13).
    let is_twin = |index: usize| {
        let end = |it: &Marking| matches!(it.sign(), Sign::EndRepeat(_));
        let both = |it: &Marking| end(it) && end(all[index]);
        let same = |it: &Marking| it.sign() == all[index].sign() || both(it);
        let here = |it: &&&Marking| it.place() == all[index].place() && same(it);
        all[..index].iter().any(|it| here(&it))
    };
    // Whether the return on which the road ends arms a Fine: `al Segno` and `al End` do not (rulebook, 4.3).
    let last_return = steps
        .iter()
        .rfind(|step| matches!(step.cause, Cause::DaCapo | Cause::DalSegno))
        .and_then(|step| all.get(step.marking? as usize));
    let sent_back_to_fine = last_return.is_some_and(|it| match it.sign() {
        Sign::DaCapo(jump) | Sign::DalSegno(jump) => {
            jump.then.is_some() || !matches!(jump.al, Some(Al::Segno | Al::End))
        }
        _ => false,
    });
    let works = |number: usize| {
        let marking = all[number];
        let index = u32::try_from(number).expect("few");
        let measure = marking.measure();
        let mut there = steps.iter().filter(|step| step.measure == measure);
        let sent = steps.iter().any(|step| step.marking == Some(index));
        match marking.sign() {
            // Where a D.C. al Segno stops no step tells: the rules do.
            Sign::Segno(segno) => {
                let told = |rule: &str, index: usize| {
                    let told =
                        |it: &&fingerpost::Finding| it.rule == rule && it.marking == Some(index);
                    found.iter().find(told)
                };
                let halts = |(index, it): (usize, &&Marking)| match it.sign() {
                    Sign::DaCapo(jump) => {
                        jump.al == Some(Al::Segno)
                            && jump.label == segno.label
                            && told("jump-never-obeyed", index).is_none()
                            && told("segno-never-met", index).is_none()
                            && steps.iter().any(|step| step.measure == it.measure())
                    }
                    _ => false,
                };
                there.any(|step| step.cause == Cause::DalSegno) || all.iter().enumerate().any(halts)
            }
            Sign::Coda(_) => there.any(|step| step.cause == Cause::ToCoda),
            Sign::Fine(_) => {
                // Of several at one place one is enough: `fine-never-met` says so too.
                let here = (0_u32..).zip(&all);
                let here = here.filter(|(_, it)| it.place() == marking.place());
                let here = here.filter_map(|(index, it)| match it.sign() {
                    Sign::Fine(fine) => Some((index, fine)),
                    _ => None,
                });
                let here: Vec<_> = here.collect();
                // A leg that goes on to the coda from here.
                let sends = |step: &PlainStep| here.iter().any(|&(it, _)| step.marking == Some(it));
                let halts = |step: &PlainStep| {
                    let visit = u32::try_from(step.visit).unwrap_or(0);
                    // A Fine that names arrivals is obeyed at them, armed or not (rulebook, 4.8).
                    let obeyed = here.iter().any(|(_, fine)| match &fine.arrivals {
                        Some(arrivals) => arrivals.contains(visit),
                        None => sent_back_to_fine,
                    });
                    step.measure == measure && obeyed
                };
                // Another sign may stop the road where it stands.
                let never = |it: &fingerpost::Finding| {
                    it.rule == "fine-never-met" && it.marking == Some(number)
                };
                let is_end = steps.last().is_some_and(halts) && !found.iter().any(never);
                !is_twin(number) && (steps.iter().any(sends) || is_end)
            }
            Sign::ToCoda(_) => sent,
            // Where it leads to an ending that is passed over, no step tells of it: the rules do.
            Sign::DaCapo(_) | Sign::DalSegno(_) | Sign::EndRepeat(_) => {
                let never = |it: &fingerpost::Finding| {
                    NEVER.contains(&it.rule) && it.marking == Some(number)
                };
                there.next().is_some() && !is_twin(number) && !found.iter().any(never)
            }
            _ => true,
        }
    };
    let played: BTreeSet<u16> = steps.iter().map(|step| step.measure).collect();
    let (own, first) = (0..board.markings().len(), board.markings().len());
    let directs = |sign: &Sign| {
        use Sign::{DaCapo, DalSegno, Fine, ToCoda};
        matches!(sign, Fine(_) | ToCoda(_) | DaCapo(_) | DalSegno(_))
    };
    let mut own = own.filter(|&it| directs(all[it].sign()) && !is_twin(it));
    if !(first..all.len()).all(works) {
        Counted::Any
    } else if own.all(works) && played.len() == usize::from(board.measures()) {
        Counted::Whole
    } else {
        Counted::Working
    }
}
