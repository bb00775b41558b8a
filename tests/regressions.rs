//! The promises of the fuzz targets: put to inputs that one of them once stumbled over, to every board of the rulebook and its cases, and to
//! some inputs by chance.

mod support;
#[path = "fuzz/targets/mod.rs"]
mod targets;

use std::fs;

use fingerpost::Board;
use proptest::collection::vec;
use proptest::prelude::*;
use support::pages::folder;

#[test]
fn inputs_that_were_stumbled_over_are_taken_in_stride() {
    assert!(replayed("regressions") > 0);
}

#[test]
fn the_seeds_of_the_targets_keep_their_promises() {
    assert!(replayed("seeds") > 0);
}

/// Puts every input of a folder to its target, and counts them.
fn replayed(inputs: &str) -> usize {
    let inputs = folder().join("../../tests/fuzz").join(inputs);
    let mut replayed = 0;
    for entry in fs::read_dir(&inputs).expect("a folder of inputs") {
        let below = entry.expect("a folder").path();
        let target = below.file_name().unwrap_or_default().to_string_lossy();
        let (_, holds) = targets::ALL
            .into_iter()
            .find(|(name, _)| *name == target)
            .unwrap_or_else(|| panic!("`{target}` is no target"));
        for input in fs::read_dir(&below).expect("the inputs of a target") {
            let path = input.expect("a file").path();
            println!("{}", path.display());
            holds(&fs::read(&path).expect("an input"));
            replayed += 1;
        }
    }
    replayed
}

#[test]
fn what_is_promised_of_every_input_holds_of_the_boards_of_the_rulebook() {
    let mut boards = 0;
    for chapter in fs::read_dir(folder().join("../rulebook")).expect("the rulebook") {
        let text = fs::read_to_string(chapter.expect("a chapter").path()).expect("a text");
        for line in text.lines().filter_map(|line| line.strip_prefix("board: ")) {
            boards += 1;
            // Routes near the limit take seconds where nothing is optimised, and all boards together take some.
            if support::cases(40) == 1 && (line.contains("000000") || boards % 4 > 0) {
                continue;
            }
            targets::board_line(line.as_bytes());
            targets::check_then_unroll(line.as_bytes());
            targets::score_written(line.as_bytes());
            if let Ok(board) = Board::from_line(line) {
                targets::board_json(board.to_json().as_bytes());
                let score = fingerpost_notation::write_musicxml(&board).text;
                targets::score_musicxml(score.as_bytes());
            }
        }
    }
    assert!(boards > 260, "{boards}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: support::cases(4_000), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_promised_of_every_input_holds_of_boards_by_chance(numbers in vec(any::<u8>(), 0..80), wild in any::<bool>()) {
        let mut input = if wild { b"#w".to_vec() } else { b"#".to_vec() };
        input.extend(numbers);
        targets::check_then_unroll(&input);
        targets::score_written(&input);
    }
}
