//! Board files are read and written without loss, and their parts are found by JSON Pointer.

mod support;

use fingerpost::{Board, LARGEST_FILE, Position, json_place, json_places};
use proptest::prelude::*;

use support::boards::{any_board, any_short_board};

proptest! {
    #![proptest_config(ProptestConfig { cases: support::cases(2000), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_board_written_and_read_is_the_same_board(board in any_short_board()) {
        let file = board.to_json();
        let read = Board::from_json(&file).unwrap();
        prop_assert_eq!(&read, &board.canonical());
        prop_assert_eq!(read.to_json(), file.clone());
        let again = Board::from_json_bytes(file.as_bytes()).unwrap();
        prop_assert_eq!(again, read);
    }

    #[test]
    fn any_text_and_any_bytes_are_read_or_refused(text in ".{0,60}", bytes in prop::collection::vec(any::<u8>(), 0..60)) {
        for refused in [Board::from_json(&text), Board::from_json_bytes(&bytes)] {
            prop_assert!(refused.is_err_and(|error| !error.complaints().is_empty()));
        }
    }

    #[test]
    fn a_file_cut_off_anywhere_is_refused_at_a_place_in_it(board in any_short_board(), cut in any::<prop::sample::Index>()) {
        let file = board.to_json();
        let mut end = cut.index(file.trim_end().len());
        while !file.is_char_boundary(end) {
            end -= 1;
        }
        let text = &file[..end];
        let error = Board::from_json(text).unwrap_err();
        let [complaint] = error.complaints() else {
            panic!("{error}");
        };
        prop_assert!(complaint.bytes.end <= text.len());
        prop_assert_eq!(complaint.position, Position::of_byte(text, complaint.bytes.start));
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: support::cases(60), failure_persistence: None, ..ProptestConfig::default() })]

    /// Lists of up to a million passes are written out; a board with several of them may be too large for a file.
    #[test]
    fn a_board_with_long_lists_is_the_same_board_unless_its_file_is_too_large(board in any_board()) {
        let file = board.to_json();
        let read = Board::from_json(&file);
        if file.len() <= LARGEST_FILE {
            prop_assert_eq!(read, Ok(board.canonical()));
        } else {
            prop_assert!(read.is_err());
        }
    }
}

#[test]
fn pointers_are_found_by_rfc_6901() {
    let text = "{\"a/b\": [1, {\"~c\": \"x\"}], \"\": 2, \"d\": 3, \"d\": 4}";
    let at = |pointer: &str| json_place(text, pointer).map(|range| &text[range]);
    assert_eq!(at(""), Some(text));
    assert_eq!(at("/a~1b/1/~0c"), Some("\"x\""));
    assert_eq!(at("/"), Some("2"));
    assert_eq!(at("/d"), Some("3"));
    for nowhere in [
        "a", "/a", "/a~1b/01", "/a~1b/2", "/a~1b/-", "/a~1b/+1", "/d/0", "/d/",
    ] {
        assert_eq!(at(nowhere), None, "{nowhere}");
    }
    assert_eq!(json_place("{\"a\": ", "/a"), None);
    assert!(json_places(text).is_empty());
}
