//! The two ways of reading a file accept the same files and read the same boards.

use super::description::{BoardFile, Kind, Mark};
use super::marking::Keys;
use super::quick::{Cards, Markings};
use super::values::{Word, names_of};
use super::{careful, cursor, quick};
use crate::board::{Place, Sign};

const WHOLE: &str = r#"{
  "$schema": "board.schema.json", "board": 1, "title": "Over the Stile", "composer": "C", "source": "S", "levels": [1, 2],
  "meter": "4/4", "meters": [{ "measure": 5, "meter": "3/4" }], "pickup": "1/4", "systems": [4, 4], "measure-numbers": ["0", "1", "2", "3", "4", "5", "6", "7"],
  "markings": [
    { "mark": "start-repeat", "measure": 3, "id": "s" }, { "mark": "end-repeat", "measure": 6, "plays": 2, "on-return": "skip" },
    { "mark": "ending", "measures": [5, 6], "passes": [1] }, { "mark": "ending", "measures": [7, 7], "passes": [2, 3], "open": true },
    { "mark": "segno", "measure": 2, "label": "A" }, { "mark": "coda", "measure": 8, "cut": "1/8" }, { "mark": "to-coda", "measure": 8, "arrivals": [2] },
    { "mark": "dal-segno", "measure": 7, "al": "coda", "coda": "B", "label": "A", "repeats": "play", "arrivals": [1], "passes": [2] },
    { "mark": "da-capo", "measure": 7, "al": "segno", "then": "coda", "label": "A" }, { "mark": "fine", "measure": 4, "cut": "1/2" },
    { "mark": "double-bar", "measure": 8, "style": "final" }, { "mark": "octave", "measures": [3, 6], "hands": "left", "shift": -1, "when": "on-repeat" },
    { "mark": "fermata", "measure": 8, "hands": "both", "when": { "passes": [2] } }, { "mark": "only", "measures": [3, 4] }
  ],
  "unplaced": [{ "mark": "fine" }, { "mark": "octave", "shift": 2, "id": "o" }],
  "reading": { "repeats-on-return": "skip", "nested": "flat" }
}"#;

/// Pieces of text that may stand in for another: values near a border, keys, and what is no JSON.
const PIECES: &[&str] = &[
    "null",
    "true",
    "false",
    "0",
    "1",
    "2",
    "-1",
    "-2",
    "3.0",
    "2e0",
    "1.5",
    "1e400",
    "-0",
    "99",
    "100",
    "65535",
    "65536",
    "1000000",
    "1000001",
    "18446744073709551616",
    "\"\"",
    "\"fine\"",
    "\"f\\u0069ne\"",
    "\"open\"",
    "\"coda\"",
    "\"segno\"",
    "\"end\"",
    "\"1/2\"",
    "\"4/4\"",
    "\"0/4\"",
    "\"4/0\"",
    "\"\\ud800\"",
    "\"\\n\"",
    "\"skip\"",
    "\"left\"",
    "\"final\"",
    "\"last-pass\"",
    "[]",
    "[1]",
    "[1,1]",
    "[1,2]",
    "{}",
    "{\"passes\":[1]}",
    "{\"passes\":[1],\"passes\":[1]}",
    "{\"fine\":null}",
    "{\"skip\":null}",
    "[\"fine\",1]",
    "{\"mark\":\"fine\",\"measure\":1}",
    "[1,\"4/4\"]",
    "\"mark\"",
    "\"measure\"",
    "\"measures\"",
    "\"me\\u0061sure\"",
    "\"cut\"",
    "\"plays\"",
    "\"passes\"",
    "\"label\"",
    "\"al\"",
    "\"then\"",
    "\"when\"",
    "\"id\"",
    "\"title\"",
    "\"systems\"",
    "\"x\"",
    ",",
    ":",
    "]",
    "}",
    "[",
    "{",
    " ",
    "",
];

/// Steps of a counter, well mixed (SplitMix64): the same boards on every run.
struct Draws(u64);

impl Draws {
    fn below(&mut self, limit: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        usize::try_from((mixed ^ (mixed >> 31)) % limit as u64).unwrap()
    }
}

/// 1, or more where `QUICK` is set: changed copies of the library, of which there are thousands, are tried on one in so many texts.
fn one_in() -> usize {
    if std::env::var_os("QUICK").is_some() {
        37
    } else {
        1
    }
}

fn pieces_of(text: &str) -> Vec<String> {
    let mut pieces: Vec<String> = Vec::new();
    let mut in_text = false;
    let mut open = false;
    for character in text.chars() {
        let punctuation = !in_text && "{}[]:, \n".contains(character);
        match pieces.last_mut() {
            Some(last) if open && !punctuation => last.push(character),
            _ => pieces.push(character.to_string()),
        }
        if character == '"' {
            in_text = !in_text;
        }
        open = !punctuation;
    }
    pieces
}

fn ways_agree(text: &str) -> bool {
    let quick = quick::read(&text[cursor::byte_order_mark(text)..]);
    let careful = careful::read(text);
    assert_eq!(quick, careful.as_ref().ok().cloned(), "{text}\n{careful:?}");
    quick.is_some()
}

#[test]
fn both_ways_agree_on_files_with_a_few_pieces_changed() {
    assert!(ways_agree(WHOLE));
    let pieces = pieces_of(WHOLE);
    assert_eq!(pieces.concat(), WHOLE);
    let mut draws = Draws(1);
    let mut accepted = 0;
    let rounds = 30_000 / one_in();
    for _ in 0..rounds {
        let mut changed = pieces.clone();
        for _ in 0..=draws.below(2) {
            let at = draws.below(changed.len());
            let piece = match draws.below(3) {
                0 => pieces[draws.below(pieces.len())].clone(),
                _ => PIECES[draws.below(PIECES.len())].to_owned(),
            };
            match draws.below(4) {
                0 => drop(changed.remove(at)),
                1 => changed.insert(at, piece),
                _ => changed[at] = piece,
            }
        }
        accepted += usize::from(ways_agree(&changed.concat()));
    }
    assert!(
        accepted > rounds / 50 && accepted < rounds / 2,
        "{accepted}"
    );
}

#[test]
fn both_ways_agree_on_every_value_replaced_by_every_piece() {
    let pieces = pieces_of(WHOLE);
    let (mut accepted, mut number) = (0, 0);
    for at in 0..pieces.len() {
        if "{}[]:, \n".contains(&pieces[at]) {
            continue;
        }
        for piece in PIECES {
            number += 1;
            if number % one_in() > 0 {
                continue;
            }
            let mut changed = pieces.clone();
            (*piece).clone_into(&mut changed[at]);
            accepted += usize::from(ways_agree(&changed.concat()));
        }
    }
    assert!(accepted > 500 / one_in(), "{accepted}");
}

#[test]
fn each_mark_has_the_keys_that_its_sign_takes() {
    let all = names_of::<Keys>();
    let kinds = names_of::<Kind>();
    assert_eq!(kinds.len(), 13);
    for name in kinds {
        let Word(kind) = serde_json::from_str::<Word<Kind>>(&format!("\"{name}\"")).unwrap();
        assert_eq!(kind.name(), *name);
        for key in kind.keys() {
            assert!(all.contains(&key.name), "{name} {}", key.name);
        }
    }
    let mark = Mark::new(&Sign::StartRepeat, Place::at(3), None);
    assert_eq!(
        serde_json::to_string(&mark).unwrap(),
        r#"{"mark":"start-repeat","measure":3}"#
    );
}

#[test]
fn no_key_of_a_board_is_forgotten_by_the_careful_way() {
    for key in names_of::<BoardFile<Markings, Cards>>() {
        let text = format!("{{\"{key}\": {{}}}}");
        let said = careful::read(&text).unwrap_err().to_string();
        assert!(!said.contains("is not a key"), "{key}: {said}");
    }
    for key in names_of::<super::description::ReadingFile>() {
        let text = format!("{{\"reading\": {{\"{key}\": {{}}}}}}");
        let said = careful::read(&text).unwrap_err().to_string();
        assert!(!said.contains("is not a key"), "{key}: {said}");
    }
}
