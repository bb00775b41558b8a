//! The quick part of the tests, in one program: what changed copies of the library are tried by. Run by `tests/mutants/run`.
//!
//! Nothing is proved here that the other tests do not prove; here it is tried on fewer boards, so that a changed copy is done with in seconds.

#![allow(
    clippy::duplicate_mod,
    reason = "each of these tests brings along what it shares with others"
)]

#[path = "../support/agreeing.rs"]
mod agreeing;
#[path = "../catalogue_walked.rs"]
mod catalogue_walked;
#[path = "../complaints.rs"]
mod complaints;
#[path = "../cured.rs"]
mod cured;
#[path = "../edited_text.rs"]
mod edited_text;
#[path = "../findings.rs"]
mod findings;
#[path = "../fixes.rs"]
mod fixes;
#[path = "../in_hand.rs"]
mod in_hand;
#[path = "../json.rs"]
mod json;
#[path = "../json_complaints.rs"]
mod json_complaints;
#[path = "../line.rs"]
mod line;
#[path = "../missing.rs"]
mod missing;
#[path = "../noticed.rs"]
mod noticed;
#[path = "../places.rs"]
mod places;
#[path = "../reading.rs"]
mod reading;
#[path = "../regressions.rs"]
mod regressions;
#[path = "../settled.rs"]
mod settled;
#[path = "../support/trials/mod.rs"]
mod trials;
#[path = "../support/walker/mod.rs"]
mod walker;

use std::path::{Path, PathBuf};

use agreeing::{Counts, InDisorder, try_board, try_large_board};
use fingerpost::Reading;
use fingerpost_conformance::{Form, Library, Suite, run};
use trials::chance::{self, Dice};
use trials::small;

/// Of the small boards with four signs, one in so many is tried; and so many large boards. Where `QUICK` is not set, more of both:
/// for the few changed copies that pass the quick part.
fn amounts() -> (usize, u64) {
    if std::env::var_os("QUICK").is_some() {
        (149, 1_000)
    } else {
        (49, 3_000)
    }
}

fn spec(below: &str) -> PathBuf {
    let spec = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../spec");
    spec.join(below)
}

#[test]
fn the_cases_of_the_rulebook_pass() {
    let suite = Suite::read_markdown(&spec("rulebook")).expect("the rulebook can be read");
    for case in suite.chapters.iter().flat_map(|chapter| &chapter.cases) {
        let found = run(case, &mut Library, Form::Line);
        assert!(found.is_empty(), "{}: {}", case.id, found[0]);
    }
}

#[test]
fn both_walkers_agree_on_some_small_boards() {
    let all: Vec<Reading> = Reading::all().collect();
    let mut counts = Counts::default();
    let (stride, _) = amounts();
    let mut number: usize = 0;
    for measures in 1..=small::MOST_MEASURES {
        let letters = small::alphabet(measures);
        let mut choice = [0, 1, 2, 3];
        // Choices of four different letters, counted up.
        while choice[3] < letters.len() {
            number += 1;
            if number % stride == 0 {
                let board = small::board(measures, choice.iter().map(|&i| &letters[i]));
                let some = [Reading::default(), all[number % all.len()]];
                try_board(&board, &some, InDisorder::Every, &mut counts, &mut |text| {
                    panic!("{text}")
                });
            }
            let up = (0..3).find(|&i| choice[i] + 1 < choice[i + 1]).unwrap_or(3);
            choice[up] += 1;
            for (i, letter) in choice.iter_mut().enumerate().take(up) {
                *letter = i;
            }
        }
    }
    println!("{counts}");
    assert!(counts.sound > 25);
}

#[test]
fn both_walkers_agree_on_some_large_boards() {
    let mut counts = Counts::default();
    for seed in 0..amounts().1 {
        let mut dice = Dice::new(seed);
        let board = if seed % 2 == 0 {
            chance::from_pieces(&mut dice)
        } else {
            chance::wild(&mut dice)
        };
        try_large_board(&board, &mut dice, &mut counts, &mut |text| panic!("{text}"));
    }
    println!("{counts}");
    assert!(counts.sound > 30);
}
