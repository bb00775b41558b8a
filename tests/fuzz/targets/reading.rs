//! Any bytes as a board file, any text as a board line: read and written without loss, or refused at a place in the text.

use fingerpost::{Board, LARGEST_FILE, Position, ReadError, json_place, json_places, line_places};

/// Any bytes as a board file.
pub(crate) fn board_json(bytes: &[u8]) {
    let read = Board::from_json_bytes(bytes);
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => text,
        Err(error) => {
            let refused = read.expect_err("bytes that are no text are no board");
            let [complaint] = refused.complaints() else {
                panic!("one complaint: {refused}");
            };
            assert_eq!(complaint.bytes.start, error.valid_up_to());
            assert!(complaint.bytes.end <= bytes.len());
            return;
        }
    };
    assert_eq!(read, Board::from_json(text));
    match read {
        Ok(board) => {
            let places = json_places(text);
            assert_eq!(places.len(), board.markings().len());
            assert!(places.into_iter().all(|place| text[place].starts_with('{')));
            is_written_without_loss(&board);
        }
        Err(error) => {
            complains_in_its_place(text, &error);
            for complaint in error.complaints() {
                if let Some(pointer) = &complaint.pointer {
                    assert!(pointer.is_empty() || pointer.starts_with('/'), "{pointer}");
                    // A key that is missing has no place; whether there is one or not, nothing stumbles over the pointer.
                    let place = json_place(text, pointer);
                    assert!(place.is_none_or(|place| !text[place].is_empty()));
                }
            }
        }
    }
}

/// Any text as a board line; of other bytes, what is nearest to them.
pub(crate) fn board_line(bytes: &[u8]) {
    let text = &*String::from_utf8_lossy(bytes);
    let places = line_places(text);
    match Board::from_line(text) {
        Ok(board) => {
            assert_eq!(places.len(), board.markings().len());
            assert!(places.into_iter().all(|place| !text[place].is_empty()));
            is_written_without_loss(&board);
        }
        Err(error) => {
            assert_eq!(places, []);
            complains_in_its_place(text, &error);
        }
    }
}

fn is_written_without_loss(board: &Board) {
    let canonical = board.canonical();
    let line = board.to_line();
    assert!(!line.contains('\n'));
    let again = Board::from_line(&line).unwrap_or_else(|error| panic!("{line}\n{error}"));
    assert_eq!(again.canonical(), canonical, "{line}");
    assert_eq!(again.to_line(), line);
    // Every number of a list of passes is written out; a board with several long ones may be too large for a file.
    let file = board.to_json();
    if file.len() <= LARGEST_FILE {
        let again = Board::from_json(&file).unwrap_or_else(|error| panic!("{file}\n{error}"));
        assert_eq!(again, canonical, "{file}");
        assert_eq!(again.to_json(), file);
    }
}

fn complains_in_its_place(text: &str, error: &ReadError) {
    let complaints = error.complaints();
    assert!(!complaints.is_empty() && complaints.len() <= 1001);
    assert!(complaints.is_sorted_by_key(|complaint| complaint.bytes.start));
    for complaint in complaints {
        // Slicing proves that the bytes lie in the text and between characters.
        let _ = &text[complaint.bytes.clone()];
        let position = Position::of_byte(text, complaint.bytes.start);
        assert_eq!(complaint.position, position);
        assert!(!complaint.message.is_empty() && !complaint.message.ends_with('.'));
        let drawn = complaint.drawn(text);
        let (source, under) = drawn.split_once('\n').expect("two lines");
        assert!(!source.contains('\r') && under.trim_start().chars().all(|c| c == '^'));
    }
}
