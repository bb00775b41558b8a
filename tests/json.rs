//! Board files are read and written without loss, and their parts are found by JSON Pointer.

mod support {
    pub(crate) mod file_boards;
}

use fingerpost::{Board, Position, json_place, json_places};
use proptest::prelude::*;

use support::file_boards::file_board;

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_board_written_and_read_is_the_same_board(board in file_board()) {
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
    fn a_file_cut_off_anywhere_is_refused_at_a_place_in_it(board in file_board(), cut in any::<prop::sample::Index>()) {
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
