//! What sounds at a part, held against a look at every mark over it, one after the other (rulebook, chapter 7).

use super::{Notes, OctavesRead, Shifted, Sounding, Time, TimesRead};
use crate::board::{
    Board, Fermata, Hands, Marking, Octave, Only, Passes, Place, Shift, Sign, When,
};
use crate::chance::Chance;
use crate::roadmap::row::Row;
use crate::route::{Held, Octaves};

/// A row of marks by chance, some of them twice at one place.
fn board(chance: &mut Chance) -> Board {
    let measures = 1 + chance.index(11);
    let number = |at: usize| u16::try_from(at).unwrap();
    let mut board = Board::builder([number(measures)]);
    let mut before: Option<Marking> = None;
    for _ in 0..chance.index(6) {
        let hands = chance.one(&[Hands::Both, Hands::Left, Hands::Right]);
        let hands = hands.unwrap();
        let when = match chance.index(6) {
            0 => When::OnRepeat,
            1 => When::LastPass,
            2 => When::OnReturn,
            3 => When::Passes(Passes::of([1, 3]).unwrap()),
            _ => When::EveryPass,
        };
        let shift = chance.one(&[Shift::Up1, Shift::Up2, Shift::Down1, Shift::Down2]);
        let shift = shift.unwrap();
        let sign = match chance.index(4) {
            0 => Sign::Fermata(Fermata { hands, when }),
            1 => Sign::Only(Only { hands, when }),
            _ => Sign::Octave(Octave { hands, shift, when }),
        };
        let first = 1 + chance.index(measures);
        let last = match sign {
            Sign::Fermata(_) => first,
            _ => first + chance.index(measures + 1 - first),
        };
        let marking = Marking::new(sign, Place::over(number(first), number(last)));
        if let Some(twice) = before
            .replace(marking.clone())
            .filter(|_| chance.happens(1, 4))
        {
            board = board.marking(twice);
        }
        board = board.marking(marking);
    }
    board.build().unwrap()
}

/// The marks over a measure, equal ones at one place once.
fn over(board: &Board, measure: u16) -> Vec<&Marking> {
    let mut over: Vec<&Marking> = Vec::new();
    for marking in board.markings() {
        let place = marking.place();
        if place.first() <= measure && measure <= place.last() && !over.contains(&marking) {
            over.push(marking);
        }
    }
    over
}

/// Whether something that holds at some times holds now.
fn holds(when: &When, time: Time) -> bool {
    match when {
        When::EveryPass => true,
        When::OnRepeat => time.pass > 1,
        When::LastPass => time.pass == time.passes,
        When::OnReturn => time.leg > 1,
        When::Passes(passes) => passes.contains(time.pass),
    }
}

fn on(hands: Hands) -> [bool; 2] {
    [hands != Hands::Left, hands != Hands::Right]
}

fn sounding(board: &Board, measure: u16, time: Time) -> Sounding {
    let (mut octaves, mut held, mut plays) = ([0; 2], [false; 2], [true; 2]);
    for marking in over(board, measure) {
        for hand in 0..2 {
            match marking.sign() {
                Sign::Octave(it) if on(it.hands)[hand] && holds(&it.when, time) => {
                    octaves[hand] += it.shift.octaves();
                }
                Sign::Fermata(it) if on(it.hands)[hand] => held[hand] |= holds(&it.when, time),
                Sign::Only(it) if on(it.hands)[hand] => plays[hand] &= holds(&it.when, time),
                _ => {}
            }
        }
    }
    Sounding {
        octave: Octaves {
            right: octaves[0],
            left: octaves[1],
        },
        hold: Held::from_hands(held[0], held[1]),
        hands: Held::from_hands(plays[0], plays[1]),
    }
}

/// What octave signs do where they are read otherwise: at the other times or at every time, and by the other hand.
fn shifted(board: &Board, measure: u16, time: Time, read: OctavesRead) -> [Shifted; 2] {
    let mut hands = [Shifted::default(); 2];
    for marking in over(board, measure) {
        let Sign::Octave(octave) = marking.sign() else {
            continue;
        };
        let now = match read.times {
            TimesRead::AsMeant => holds(&octave.when, time),
            TimesRead::OtherTimes => octave.when == When::EveryPass || !holds(&octave.when, time),
            TimesRead::EveryTime => true,
        };
        for hand in 0..2 {
            let played_by = if read.by_other_hand { 1 - hand } else { hand };
            if now && on(octave.hands)[hand] {
                hands[played_by].holds = true;
                hands[played_by].octaves += octave.shift.octaves();
            }
        }
    }
    hands
}

#[test]
fn what_sounds_is_what_the_marks_over_a_measure_say() {
    let reads = [
        TimesRead::AsMeant,
        TimesRead::OtherTimes,
        TimesRead::EveryTime,
    ]
    .map(|times| {
        [false, true].map(|by_other_hand| OctavesRead {
            times,
            by_other_hand,
        })
    });
    for seed in 0..600 {
        let board = board(&mut Chance::new(seed, 0));
        let notes = Notes::new(&board, &Row::new(&board));
        for measure in 1..=board.measures() {
            let part = u32::from(measure) - 1;
            let next = (measure..=board.measures()).find(|&it| !over(&board, it).is_empty());
            let next = next.map_or(u32::MAX, |measure| u32::from(measure) - 1);
            assert_eq!(notes.next_from(part), next, "{}", board.to_line());
            for (pass, passes) in [(1, 1), (1, 3), (2, 3), (3, 3)] {
                for leg in [1, 2] {
                    let time = Time { pass, passes, leg };
                    let what = format!("{measure} of {} at {time:?}", board.to_line());
                    assert_eq!(
                        notes.at(part, time),
                        sounding(&board, measure, time),
                        "{what}"
                    );
                    for read in reads.into_iter().flatten() {
                        let expected = shifted(&board, measure, time, read);
                        assert_eq!(
                            notes.octaves(part, time, read),
                            expected,
                            "{read:?}, {what}"
                        );
                    }
                }
            }
        }
    }
}
