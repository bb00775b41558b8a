//! Edits in the text of a board file: what comes out holds the edited board, and what is not edited keeps its bytes, however the file is
//! laid out.

mod support;

use fingerpost::{Board, Edit, Marking, edit_json, json_places};
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::select;
use serde_json::Value;
use support::boards::{any_marking, any_short_board};

/// White space by chance.
#[derive(Clone, Debug)]
struct Blanks {
    pieces: Vec<&'static str>,
    next: usize,
    /// Whether the next key is written with an escape, and so on in turn.
    escapes: Vec<bool>,
}

impl Blanks {
    fn blank(&mut self) -> &'static str {
        self.next += 1;
        self.pieces[self.next % self.pieces.len()]
    }

    fn text(&mut self, text: &str) -> String {
        self.next += 1;
        let plain = serde_json::to_string(text).unwrap();
        match text.chars().next() {
            Some(first) if self.escapes[self.next % self.escapes.len()] && first.is_ascii() => {
                let rest = serde_json::to_string(&text[1..]).unwrap();
                format!("\"\\u{:04x}{}", u32::from(first), &rest[1..])
            }
            _ => plain,
        }
    }

    /// A value with white space by chance wherever it may stand.
    fn written(&mut self, value: &Value) -> String {
        match value {
            Value::Object(object) => {
                let mut members = Vec::new();
                for (key, value) in object {
                    let (before, between) = (self.blank(), self.blank());
                    let key = self.text(key);
                    let (behind, value) = (self.blank(), self.written(value));
                    let after = self.blank();
                    members.push(format!("{before}{key}{between}:{behind}{value}{after}"));
                }
                format!("{{{}}}", members.join(","))
            }
            Value::Array(values) => {
                let mut elements = Vec::new();
                for value in values {
                    let (before, value) = (self.blank(), self.written(value));
                    elements.push(format!("{before}{value}{}", self.blank()));
                }
                format!("[{}]", elements.join(","))
            }
            Value::String(text) => self.text(text),
            other => other.to_string(),
        }
    }
}

fn any_blanks() -> impl Strategy<Value = Blanks> {
    let some = vec!["", " ", "  ", "\n", "\n  ", "\r\n\t", "\t"];
    let pieces = prop_oneof![
        1 => Just(vec![""]),
        1 => Just(vec![" "]),
        4 => vec(select(some), 3..17),
    ];
    let escapes = vec(any::<bool>(), 1..5);
    (pieces, escapes).prop_map(|(pieces, escapes)| Blanks {
        pieces,
        next: 0,
        escapes,
    })
}

/// A board, edits of it, and white space for its file.
fn any_edits() -> impl Strategy<Value = (Board, Vec<Edit>, Blanks)> {
    any_short_board().prop_flat_map(|board| {
        let (measures, markings) = (board.measures(), board.markings().len());
        let fates = vec((0..4_u8, any_marking(measures)), markings);
        let added = vec(any_marking(measures), 0..3);
        (Just(board), fates, added, any_blanks()).prop_map(|(board, fates, added, blanks)| {
            let mut edits = Vec::new();
            for (index, (fate, other)) in fates.into_iter().enumerate() {
                let old = &board.markings()[index];
                match fate {
                    0 => edits.push(Edit::Remove(index)),
                    1 => edits.push(Edit::Replace(index, other)),
                    // The same sign elsewhere, or another sign at its place.
                    2 if other.sign().spans() == old.sign().spans()
                        && other.place().cut().is_none() =>
                    {
                        let moved = Marking::new(old.sign().clone(), other.place());
                        edits.push(Edit::Replace(index, moved));
                    }
                    _ => {}
                }
            }
            edits.reverse();
            edits.extend(added.into_iter().map(Edit::Add));
            (board, edits, blanks)
        })
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: support::cases(2_000), ..ProptestConfig::default() })]

    #[test]
    fn the_text_holds_the_edited_board((board, edits, mut blanks) in any_edits(), bom: bool) {
        let mut file: Value = serde_json::from_str(&board.to_json()).unwrap();
        if file["markings"].as_array().is_some_and(Vec::is_empty) && bom {
            file.as_object_mut().unwrap().remove("markings");
        }
        // The markings in the order of the board, not in that of a file it writes itself.
        if let Some(list) = file["markings"].as_array_mut() {
            let markings = board.markings().iter().map(Marking::to_json);
            *list = markings.map(|text| serde_json::from_str(&text).unwrap()).collect();
        } else {
            file.as_object_mut().unwrap().remove("markings");
        }
        let mark = if bom { "\u{feff}" } else { "" };
        let text = format!("{mark}{}", blanks.written(&file));
        prop_assert_eq!(&Board::from_json(&text).unwrap(), &board);
        let edited = edit_json(&text, &edits).unwrap();
        let read = Board::from_json(&edited);
        let right = board.edited(&edits).unwrap();
        prop_assert_eq!(read.as_ref(), Ok(&right), "{}\n{}", text, edited);
        // What stays keeps its bytes.
        let (was, is) = (json_places(&text), json_places(&edited));
        let mut stays = 0;
        for (index, place) in was.iter().enumerate() {
            let edit = edits.iter().find(|edit| match edit {
                Edit::Remove(at) | Edit::Replace(at, _) => *at == index,
                _ => false,
            });
            if edit.is_none() {
                prop_assert_eq!(&text[place.clone()], &edited[is[stays].clone()]);
            }
            stays += usize::from(!matches!(edit, Some(Edit::Remove(_))));
        }
        // And so does what stands before the markings and behind them.
        if let (Some(first), Some(last), false) = (was.first(), was.last(), is.is_empty()) {
            let head = text[..first.start].trim_end();
            prop_assert!(edited.starts_with(head));
            let tail = text[last.end..].trim_start();
            prop_assert!(edited.ends_with(tail));
        }
        // No edit, no change.
        prop_assert_eq!(edit_json(&text, &[]).unwrap(), text);
    }
}

#[test]
fn what_is_no_board_file_is_not_edited() {
    for text in [
        "",
        "{}",
        "[1]",
        r#"{ "board": 2, "systems": [1] }"#,
        "1 | 2 |",
    ] {
        assert!(edit_json(text, &[]).is_err(), "{text}");
    }
    let file = r#"{ "board": 1, "systems": [1] }"#;
    assert!(edit_json(file, &[Edit::Remove(0)]).is_err());
}
