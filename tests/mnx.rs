//! MNX documents read into boards: the signs of the published examples with their published orders, and what is refused.
//!
//! Source: MNX specification (draft), example documents; what each of them has stands beside it. The notes are ours.

use std::fmt::Write;

use fingerpost::{Marking, NamedReading, Sign};
use fingerpost_notation::{Format, NotationErrorKind, Rule, Score, format_of, read};

#[path = "support/scores.rs"]
mod scores;

use scores::order_under;

/// A document of so many measures in 4/4; `signs` says what stands in a measure, from 1.
fn document<T: AsRef<str>>(measures: usize, signs: &[(usize, T)]) -> String {
    let mut text = String::from("{\n\"mnx\": {\"version\": 1},\n\"global\": {\"measures\": [\n");
    for measure in 1..=measures {
        let mut keys: Vec<&str> = signs
            .iter()
            .filter(|(at, _)| *at == measure)
            .map(|(_, keys)| keys.as_ref())
            .collect();
        if measure == 1 {
            keys.insert(0, r#""time": {"count": 4, "unit": 4}"#);
        }
        let comma = if measure < measures { "," } else { "" };
        writeln!(text, "{{{}}}{comma}", keys.join(", ")).expect("a text takes text");
    }
    text + "]},\n\"parts\": []}\n"
}

fn only(text: &str) -> Score {
    assert_eq!(format_of(text.as_bytes()), Some(Format::Mnx));
    let mut scores = read(text.as_bytes()).unwrap_or_else(|error| panic!("{error}\n{text}"));
    assert_eq!(scores.len(), 1);
    scores.remove(0)
}

/// The order that is published with an example; MNX's own reading gives it, and the handbooks' too.
#[track_caller]
fn plays<T: AsRef<str>>(measures: usize, signs: &[(usize, T)], wanted: &[u16]) {
    let score = only(&document(measures, signs));
    for reading in [NamedReading::Handbook, NamedReading::Mnx] {
        assert_eq!(
            order_under(&score.board, reading),
            wanted,
            "{}",
            score.board.to_line()
        );
    }
}

// Repeats (the order is ours: the text says that the section is played twice).
#[test]
fn a_section_between_two_signs_is_played_twice() {
    plays(
        2,
        &[(1, r#""repeatStart": {}, "repeatEnd": {}"#)],
        &[1, 1, 2],
    );
}

// Repeats (with implied start repeat): the sign may be left out where the music begins.
#[test]
fn a_start_repeat_may_be_left_out_at_the_beginning() {
    plays(2, &[(1, r#""repeatEnd": {}"#)], &[1, 1, 2]);
}

// Repeats (more than once repeated): "performed four times".
#[test]
fn times_says_how_often_a_section_is_played() {
    plays(1, &[(1, r#""repeatEnd": {"times": 4}"#)], &[1, 1, 1, 1]);
}

// Repeats (with alternate endings, simple); the order follows from the numbers.
#[test]
fn each_ending_is_played_on_its_number() {
    let signs = [
        (1, r#""repeatStart": {}"#),
        (
            2,
            r#""ending": {"duration": 1, "numbers": [1]}, "repeatEnd": {}"#,
        ),
        (
            3,
            r#""ending": {"duration": 1, "numbers": [2]}, "repeatEnd": {}"#,
        ),
        (
            4,
            r#""ending": {"duration": 1, "numbers": [3], "open": true}"#,
        ),
    ];
    plays(4, &signs, &[1, 2, 1, 3, 1, 4]);
}

// Repeats (with alternate endings, advanced); the order follows from the numbers.
#[test]
fn an_ending_may_have_several_numbers_and_several_measures() {
    let signs = [
        (1, r#""repeatStart": {}"#),
        (2, r#""ending": {"duration": 2, "numbers": [1, 2]}"#),
        (3, r#""repeatEnd": {}"#),
        (
            4,
            r#""ending": {"duration": 2, "numbers": [3], "open": true}"#,
        ),
    ];
    plays(6, &signs, &[1, 2, 3, 1, 2, 3, 1, 4, 5, 6]);
}

const AT_START: &str = r#""location": {"fraction": [0, 1]}"#;
const AT_END: &str = r#""location": {"fraction": [1, 1]}"#;

fn sign(name: &str, location: &str) -> String {
    format!(r#""{name}": {{{location}}}"#)
}

fn jump(kind: &str) -> String {
    format!(r#""jump": {{"type": "{kind}", {AT_END}}}"#)
}

// Jumps (Dal Segno): published order 1 2 3 4 5 2 3 4 5.
#[test]
fn a_plain_dal_segno_is_obeyed_once() {
    let signs = [(2, sign("segno", AT_START)), (5, jump("segno"))];
    plays(5, &signs, &[1, 2, 3, 4, 5, 2, 3, 4, 5]);
}

// Jumps (D.S. al Fine): published order 1 2 3 4 5 2 3.
#[test]
fn dal_segno_al_fine_ends_at_fine() {
    let signs = [
        (2, sign("segno", AT_START)),
        (3, sign("fine", AT_END)),
        (5, jump("dsalfine")),
    ];
    plays(5, &signs, &[1, 2, 3, 4, 5, 2, 3]);
}

// Jumps (D.S. al Coda), later draft: published order 1 2 3 4 5 2 3 6.
#[test]
fn dal_segno_al_coda_leaves_at_to_coda() {
    let signs = [
        (2, sign("segno", AT_START)),
        (3, jump("tocoda")),
        (5, jump("dsalcoda")),
        (6, sign("coda", AT_START)),
    ];
    plays(6, &signs, &[1, 2, 3, 4, 5, 2, 3, 6]);
}

// Jumps (D.C. al Fine), later draft: published order 1 2 3 4 1 2.
#[test]
fn da_capo_al_fine_ends_at_fine() {
    let signs = [(2, sign("fine", AT_END)), (4, jump("dcalfine"))];
    plays(4, &signs, &[1, 2, 3, 4, 1, 2]);
}

// The earlier draft for audio (2018 to 2021), its example: published order 1 2 3 4 5 6 3 4 5 7; the signs in today's names.
#[test]
fn a_repeat_with_two_endings_goes_back_to_its_sign() {
    let signs = [
        (3, r#""repeatStart": {}"#),
        (
            6,
            r#""ending": {"duration": 1, "numbers": [1]}, "repeatEnd": {}"#,
        ),
        (7, r#""ending": {"duration": 1, "numbers": [2]}"#),
    ];
    plays(7, &signs, &[1, 2, 3, 4, 5, 6, 3, 4, 5, 7]);
}

// The text of the later draft: Fine is ignored until a dcalfine or dsalfine has been taken, so that a plain dc never stops there. The
// handbooks' answer is the other one.
#[test]
fn a_plain_da_capo_stops_at_fine_in_the_handbooks_reading_only() {
    let signs = [(2, sign("fine", AT_END)), (3, jump("dc"))];
    let score = only(&document(3, &signs));
    assert_eq!(
        order_under(&score.board, NamedReading::Handbook),
        [1, 2, 3, 1, 2]
    );
    assert_eq!(
        order_under(&score.board, NamedReading::Mnx),
        [1, 2, 3, 1, 2, 3]
    );
}

#[test]
fn nothing_is_noticed_in_a_document_that_says_everything() {
    let signs = [
        (2, sign("segno", AT_START)),
        (3, jump("tocoda")),
        (5, jump("dsalcoda")),
        (6, sign("coda", AT_START)),
    ];
    let score = only(&document(6, &signs));
    assert_eq!(score.notices, []);
    assert_eq!(
        score.board.to_line(),
        "{meter 4/4} 1 | segno 2 | 3 To Coda | 4 | 5 D.S. al Coda | coda 6 |]"
    );
    assert_eq!(score.lines, [Some(5), Some(6), Some(8), Some(9)]);
}

#[test]
fn printed_numbers_go_on_from_the_last_that_is_given() {
    let signs = [(1, r#""number": 0"#), (3, r#""number": 10"#)];
    let score = only(&document(4, &signs));
    assert_eq!(score.board.to_line(), "{meter 4/4} 0 | 1 | 10 | 11 |]");
}

#[test]
fn double_bars_and_fermatas_of_the_whole_score_are_read() {
    let signs = [
        (1, r#""barline": {"type": "double"}"#),
        (2, r#""barline": {"type": "final"}, "fermata": {}"#),
    ];
    let score = only(&document(3, &signs));
    assert_eq!(score.board.to_line(), "{meter 4/4} 1 || 2 fermata |] 3 |]");
}

#[test]
fn octave_lines_and_fermatas_of_the_parts_are_read_by_hand() {
    let text = r#"{"mnx": {"version": 1},
"global": {"measures": [{"time": {"count": 4, "unit": 4}}, {}, {"id": "hut"}]},
"parts": [{"staves": 2, "measures": [
  {"ottavas": [{"value": 1, "position": {"fraction": [0, 1]}, "end": {"measure": 2, "position": {"fraction": [3, 4]}}, "staff": 1}],
   "sequences": []},
  {"ottavas": [{"value": -1, "position": {"fraction": [0, 1]}, "end": {"measure": "hut", "position": {"fraction": [0, 1]}}, "staff": 2}],
   "sequences": [{"staff": 2, "content": [
     {"duration": {"base": "whole"}, "notes": [], "fermata": {}}]}]},
  {"sequences": [{"content": [{"type": "tuplet", "content": [{"duration": {"base": "half"}, "fermata": {}, "staff": 2}]}]}]}
]}]}"#;
    let score = only(text);
    let held: Vec<String> = score.board.markings().iter().map(shown).collect();
    assert_eq!(
        held,
        [
            "1-2 Right +1",
            "2 fermata Left",
            "2-3 Left -1",
            "3 fermata Left"
        ]
    );
}

fn shown(marking: &Marking) -> String {
    let place = marking.place();
    match marking.sign() {
        Sign::Octave(octave) => format!(
            "{}-{} {:?} {:+}",
            place.first(),
            place.last(),
            octave.hands,
            octave.shift.octaves()
        ),
        Sign::Fermata(fermata) => format!("{} fermata {:?}", place.first(), fermata.hands),
        other => format!("{other:?}"),
    }
}

#[test]
fn what_cannot_be_meant_is_told_with_its_line() {
    let signs = [
        (1, r#""repeatEnd": {"times": 0}"#),
        (2, r#""ending": {"duration": 9}, "repeatEnd": {}"#),
        (
            3,
            r#""jump": {"type": "dsalferry", "location": {"fraction": [1, 1]}}"#,
        ),
    ];
    let score = only(&document(3, &signs));
    let told: Vec<(Rule, Option<u32>)> = score
        .notices
        .iter()
        .map(|notice| (notice.rule, notice.line))
        .collect();
    assert_eq!(
        told,
        [
            (Rule::PlaysOutOfRange, Some(4)),
            (Rule::EndingWithoutNumber, Some(5)),
            (Rule::EndingWithoutEnd, Some(5)),
            (Rule::LeftOut, Some(6)),
        ]
    );
}

#[test]
fn faults_are_refused_with_their_line() {
    let whole = document(3, &[(2, r#""repeatEnd": {"times": 2}"#)]);
    let broken = [
        (
            whole.replace("\"times\": 2", "\"times\": \"2\""),
            NotationErrorKind::Malformed,
            5,
        ),
        (
            whole.replace("\"times\": 2", "\"times\" 2"),
            NotationErrorKind::Malformed,
            5,
        ),
        (
            whole.replace("{\"measures\"", "{\"bars\""),
            NotationErrorKind::NoMusic,
            1,
        ),
        (
            whole.replace("\"parts\": []", "\"parts\": [7]"),
            NotationErrorKind::Malformed,
            8,
        ),
    ];
    for (text, kind, line) in broken {
        assert_ne!(text, whole);
        let error = read(text.as_bytes()).expect_err(&text);
        assert_eq!((error.kind(), error.line()), (kind, Some(line)), "{error}");
    }
    for cut in 0..whole.len() - 2 {
        let Some(text) = whole.get(..cut) else {
            continue;
        };
        let error = read(text.as_bytes()).expect_err("a text cut short");
        if format_of(text.as_bytes()) == Some(Format::Mnx) {
            assert_eq!(
                error.kind(),
                NotationErrorKind::Truncated,
                "{text}: {error}"
            );
        }
    }
}

#[test]
fn a_document_beyond_all_bounds_is_refused() {
    let error = read(document::<&str>(70_000, &[]).as_bytes()).expect_err("too many measures");
    assert_eq!(error.kind(), NotationErrorKind::TooLarge);
    assert_eq!(error.line(), Some(4 + 65_535));
    let deep = format!(r#"{{"mnx": {}"#, "[".repeat(1_000_000));
    assert!(read(deep.as_bytes()).is_err());
}

#[test]
fn a_board_file_is_no_document() {
    let board = r#"{"board": 1, "systems": [2], "reading": {"arming": "al-only"}, "title": "\"mnx\": a hill path"}"#;
    assert_eq!(format_of(board.as_bytes()), None);
}
