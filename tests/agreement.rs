//! The library and the second walker agree: on every small board under all readings, and on large boards by chance.
//!
//! Both tests together take about four minutes of one core, shared by all there are.

#[path = "support/agreeing.rs"]
mod agreeing;
#[path = "support/trials/mod.rs"]
mod trials;
#[path = "support/walker/mod.rs"]
mod walker;

use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use agreeing::{Counts, InDisorder, try_board, try_large_board};
use fingerpost::Reading;
use trials::chance::{self, Dice};
use trials::small;

/// After so many disagreements a test has seen enough.
const ENOUGH: usize = 8;
/// How many large boards are tried.
const LARGE_BOARDS: u64 = 100_000;

#[test]
fn both_agree_on_every_small_board_under_every_reading() {
    let alphabets: Vec<_> = (1..=small::MOST_MEASURES)
        .map(|measures| (measures, small::alphabet(measures)))
        .collect();
    // A unit of work: all boards with so many signs whose first letter is this one. Boards with few signs come first.
    let mut units = Vec::new();
    for size in 0..=small::MOST_SIGNS {
        for (measures, letters) in &alphabets {
            for first in 0..if size == 0 { 1 } else { letters.len() } {
                units.push((*measures, letters, size, first));
            }
        }
    }
    let all: Vec<Reading> = Reading::all().collect();
    let counts = in_parallel(units.len(), |unit, counts, report| {
        let (measures, letters, size, first) = units[unit];
        each_choice(letters.len(), size, first, &mut |choice| {
            let board = small::board(measures, choice.iter().map(|&i| &letters[i]));
            try_board(&board, &all, InDisorder::Every, counts, report);
        });
    });
    let letters = alphabets.last().map_or(0, |(_, letters)| letters.len());
    println!("alphabet of {letters} placed signs; {counts}");
    assert!((55..=65).contains(&letters));
    // No sign of the alphabet is beyond what is compared: a good part of these boards must be sound.
    assert!(counts.sound > 100_000 && counts.compared >= counts.sound * 100);
}

#[test]
fn both_agree_on_large_boards() {
    let units = usize::try_from(LARGE_BOARDS / 100).unwrap();
    let counts = in_parallel(units, |unit, counts, report| {
        for k in 0..100 {
            let mut dice = Dice::new(unit as u64 * 100 + k);
            let board = if k % 2 == 0 {
                chance::from_pieces(&mut dice)
            } else {
                chance::wild(&mut dice)
            };
            try_large_board(&board, &mut dice, counts, report);
        }
    });
    println!("{counts}");
    assert_eq!(counts.boards, LARGE_BOARDS);
    assert!(counts.sound > LARGE_BOARDS / 3 && counts.idle > 1000 && counts.open > 100);
}

/// Does the units of work on all cores; fails with the first disagreements.
fn in_parallel(
    units: usize,
    work: impl Fn(usize, &mut Counts, &mut dyn FnMut(String)) + Sync,
) -> Counts {
    let next = AtomicUsize::new(0);
    let found = Mutex::new(Vec::new());
    let total = Mutex::new(Counts::default());
    let cores = thread::available_parallelism().map_or(2, usize::from);
    thread::scope(|scope| {
        for _ in 0..cores {
            scope.spawn(|| {
                let mut counts = Counts::default();
                loop {
                    let unit = next.fetch_add(1, Ordering::Relaxed);
                    if unit >= units || found.lock().unwrap().len() >= ENOUGH {
                        break;
                    }
                    work(unit, &mut counts, &mut |text| {
                        let mut found = found.lock().unwrap();
                        if found.len() < ENOUGH {
                            found.push(text);
                        }
                    });
                }
                let mut total = total.lock().unwrap();
                total.boards += counts.boards;
                total.sound += counts.sound;
                total.compared += counts.compared;
                total.routes += counts.routes;
                total.steps += counts.steps;
                total.left_out += counts.left_out;
                total.open += counts.open;
                total.idle += counts.idle;
            });
        }
    });
    let found = found.into_inner().unwrap();
    assert!(
        found.is_empty(),
        "{} disagreements:\n{}",
        found.len(),
        found.join("\n\n")
    );
    total.into_inner().unwrap()
}

/// Each choice of `size` numbers below `n` that begins with `first`.
fn each_choice(n: usize, size: usize, first: usize, visit: &mut dyn FnMut(&[usize])) {
    fn extend(n: usize, size: usize, chosen: &mut Vec<usize>, visit: &mut dyn FnMut(&[usize])) {
        if chosen.len() == size {
            return visit(chosen);
        }
        let from = chosen.last().map_or(0, |&last| last + 1);
        for i in from..n {
            chosen.push(i);
            extend(n, size, chosen, visit);
            chosen.pop();
        }
    }
    let mut chosen = if size == 0 { vec![] } else { vec![first] };
    extend(n, size, &mut chosen, visit);
}
