//! Edits in the text of a board file: what does not change keeps its bytes.

use std::ops::Range;

use super::cursor::{elements, members, root};
use super::write::marking_of;
use crate::board::edit::{Fate, added, fates};
use crate::board::{Board, Edit, Marking};

/// The text with the edits made. The text holds the board, and the edits are of this board.
pub(super) fn text_with(text: &str, board: &Board, edits: &[Edit]) -> String {
    let whole = root(text);
    let markings = members(text, &whole).find(|(key, _)| key_is(text, key, "markings"));
    let new: Vec<&Marking> = added(edits).collect();
    let Some((_, list)) = markings else {
        return with_list(text, &whole, &new);
    };
    let places: Vec<Range<usize>> = elements(text, &list).collect();
    let model = places.last().map(|place| Style::of(text, place));
    let style = model.unwrap_or_else(|| Style::beside(text, &whole));
    // cannot fail: the edits are of this board.
    let mut fates = fates(edits, places.len()).unwrap_or_default().into_iter();
    let mut next = fates.next();
    let mut items: Vec<Item> = Vec::with_capacity(places.len() + new.len());
    for (index, place) in places.iter().enumerate() {
        let before = match index.checked_sub(1).and_then(|before| places.get(before)) {
            Some(before) => before.end,
            None => list.start + 1,
        };
        let fate = match next.take() {
            Some((at, fate)) if at == index => {
                next = fates.next();
                Some(fate)
            }
            other => {
                next = other;
                None
            }
        };
        let item = match (fate, board.markings().get(index)) {
            (Some(Fate::Removed), _) => continue,
            (Some(Fate::Replaced(marking)), Some(old)) => {
                replaced(text, place, old, marking, &style)
            }
            _ => slice(text, place.clone()).to_owned(),
        };
        items.push(Item {
            gap: slice(text, before..place.start).to_owned(),
            text: item,
        });
    }
    let first_gap = places.first().map(|first| list.start + 1..first.start);
    let gap_between = match places.as_slice() {
        [.., one, other] => slice(text, one.end..other.start).to_owned(),
        [only] => match slice(text, list.start + 1..only.start) {
            rows if rows.contains('\n') => format!(",{rows}"),
            _ if style.member.is_empty() => ",".to_owned(),
            _ => ", ".to_owned(),
        },
        [] => format!(",{}", style.row),
    };
    for marking in new {
        items.push(Item {
            gap: gap_between.clone(),
            text: style.written(marking),
        });
    }
    let mut edited = slice(text, 0..list.start + 1).to_owned();
    let (opening, closing) = match (first_gap, places.last()) {
        (Some(opening), Some(end)) => (
            slice(text, opening).to_owned(),
            slice(text, end.end..list.end - 1).to_owned(),
        ),
        _ => (style.row.clone(), style.after_row.clone()),
    };
    for (at, item) in items.iter().enumerate() {
        edited.push_str(if at == 0 { &opening } else { &item.gap });
        edited.push_str(&item.text);
    }
    if !items.is_empty() {
        edited.push_str(&closing);
    } else if places.is_empty() {
        // Nothing was there and nothing is.
        edited.push_str(slice(text, list.start + 1..list.end - 1));
    }
    edited.push_str(slice(text, list.end - 1..text.len()));
    edited
}

/// One marking in the list, and what stands between it and the one before.
struct Item {
    gap: String,
    text: String,
}

/// A board file without `markings`, with them behind its systems.
fn with_list(text: &str, whole: &Range<usize>, new: &[&Marking]) -> String {
    if new.is_empty() {
        return text.to_owned();
    }
    let style = Style::beside(text, whole);
    let list: Vec<String> = new.iter().map(|marking| style.written(marking)).collect();
    let list = list.join(&format!(",{}", style.row));
    let (row, after) = (&style.row, &style.after_row);
    let key = format!("\"markings\"{}[{row}{list}{after}]", style.colon);
    let systems = members(text, whole).find(|(key, _)| key_is(text, key, "systems"));
    // cannot fail: a board file has `systems`.
    let at = systems.map_or(whole.start + 1, |(_, value)| value.end);
    let (before, behind) = (slice(text, 0..at), slice(text, at..text.len()));
    let gap = Style::of(text, whole).member;
    format!("{before},{gap}{key}{behind}")
}

/// One marking in place of another: the keys that differ are written anew, the others keep their bytes.
fn replaced(
    text: &str,
    place: &Range<usize>,
    old: &Marking,
    new: &Marking,
    of_list: &Style,
) -> String {
    let style = Style::of(text, place);
    let style = if members(text, place).count() > 1 {
        &style
    } else {
        of_list
    };
    let (was, is) = (keys(old), keys(new));
    let written: Vec<(String, Range<usize>, Range<usize>)> = members(text, place)
        .map(|(key, value)| (decoded(slice(text, key.clone())), key, value))
        .collect();
    let mut parts: Vec<(String, String)> = Vec::new();
    for (name, key, value) in &written {
        let new = is.iter().find(|(key, _)| key == name);
        let same = was.iter().find(|(key, _)| key == name) == new;
        let up_to_value = slice(text, key.start..value.start);
        match new {
            // A key that says what its absence says is not in the list, and stays while it says it.
            _ if same => {
                let all = slice(text, key.start..value.end);
                parts.push((name.clone(), all.to_owned()));
            }
            Some((_, value)) => {
                parts.push((name.clone(), format!("{up_to_value}{}", style.value(value))));
            }
            None => {}
        }
    }
    for (at, (name, value)) in is.iter().enumerate() {
        if parts.iter().any(|(there, _)| there == name) {
            continue;
        }
        let part = format!("\"{name}\"{}{}", style.colon, style.value(value));
        // Behind the nearest key that stands before it in the order of board files.
        let earlier = is.get(..at).unwrap_or_default().iter().rev();
        let behind =
            earlier.filter_map(|(earlier, _)| parts.iter().position(|(there, _)| there == earlier));
        let slot = behind.map(|at| at + 1).next().unwrap_or(0);
        parts.insert(slot, (name.clone(), part));
    }
    let first = written
        .first()
        .map_or(place.end - 1, |(_, key, _)| key.start);
    let last = written.last().map_or(first, |(.., value)| value.end);
    let mut edited = slice(text, place.start..first).to_owned();
    let gaps = written.iter().zip(written.iter().skip(1));
    let gaps: Vec<(&str, &str)> = gaps
        .map(|((.., before), (name, key, _))| (name.as_str(), slice(text, before.end..key.start)))
        .collect();
    for (at, (name, part)) in parts.iter().enumerate() {
        if at > 0 {
            // A key that stays keeps the blank before it.
            let own = gaps.iter().find(|(key, _)| key == name);
            if let Some((_, gap)) = own {
                edited.push_str(gap);
            } else {
                edited.push(',');
                edited.push_str(&style.member);
            }
        }
        edited.push_str(part);
    }
    edited.push_str(slice(text, last..place.end));
    edited
}

/// How the objects of a list are laid out.
struct Style {
    /// Between `{` and the first key, between the last value and `}`.
    open: String,
    close: String,
    /// Behind the comma between two keys.
    member: String,
    /// Between a key and its value.
    colon: String,
    /// Before each object of a list and before the bracket that closes it, where none stands there to go by.
    row: String,
    after_row: String,
}

impl Style {
    /// The style of an object that stands there.
    fn of(text: &str, place: &Range<usize>) -> Style {
        let mut parts = members(text, place);
        let (first, second) = (parts.next(), parts.next());
        let last = parts
            .last()
            .or_else(|| second.clone())
            .or_else(|| first.clone());
        let mut style = Style {
            open: " ".to_owned(),
            close: " ".to_owned(),
            member: " ".to_owned(),
            colon: ": ".to_owned(),
            row: String::new(),
            after_row: String::new(),
        };
        if let (Some((key, value)), Some((_, last))) = (&first, last) {
            slice(text, place.start + 1..key.start).clone_into(&mut style.open);
            slice(text, last.end..place.end - 1).clone_into(&mut style.close);
            slice(text, key.end..value.start).clone_into(&mut style.colon);
        }
        if let (Some((_, value)), Some((key, _))) = (first, second) {
            let gap = slice(text, value.end..key.start);
            // Blanks that bring keys of other markings into columns are no part of the style.
            match gap.split_once(',').map_or(" ", |(_, blank)| blank) {
                columns if columns.len() > 1 && columns.bytes().all(|b| b == b' ') => " ",
                blank => blank,
            }
            .clone_into(&mut style.member);
        }
        style
    }

    /// The style of a list that is the first of its file: one object a line where the keys of the board stand on lines of their own.
    fn beside(text: &str, whole: &Range<usize>) -> Style {
        let board = Style::of(text, whole);
        let line = board.member.rfind('\n').map(|at| at + 1);
        let indented = match line.map(|at| board.member.split_at(at)) {
            Some((_, indent)) if !indent.is_empty() => format!("{}{indent}", board.member),
            Some(_) => format!("{}  ", board.member),
            None => String::new(),
        };
        let compact = board.member.is_empty();
        let blank = if compact { "" } else { " " };
        Style {
            open: blank.to_owned(),
            close: blank.to_owned(),
            member: if line.is_some() {
                " ".to_owned()
            } else {
                board.member.clone()
            },
            after_row: if line.is_some() {
                board.member.clone()
            } else {
                String::new()
            },
            colon: board.colon,
            row: indented,
        }
    }

    /// A marking in this style.
    fn written(&self, marking: &Marking) -> String {
        let keys = keys(marking);
        let keys = keys.iter().map(|(name, value)| {
            let value = self.value(value);
            format!("\"{name}\"{}{value}", self.colon)
        });
        let keys: Vec<String> = keys.collect();
        let keys = keys.join(&format!(",{}", self.member));
        format!("{{{}{keys}{}}}", self.open, self.close)
    }

    /// A value, written as board files write it, in this style: without blanks where there are none between the keys.
    fn value(&self, value: &str) -> String {
        if !self.member.is_empty() || !value.starts_with(['[', '{']) {
            return value.to_owned();
        }
        serde_json::from_str::<serde_json::Value>(value)
            .map_or_else(|_| value.to_owned(), |value| value.to_string())
    }
}

/// The keys of a marking as board files write them, in their order, each with the text of its value.
fn keys(marking: &Marking) -> Vec<(String, String)> {
    let text = marking_of(marking);
    let whole = root(&text);
    members(&text, &whole)
        .map(|(key, value)| {
            let value = slice(&text, value).to_owned();
            (decoded(slice(&text, key)), value)
        })
        .collect()
}

fn key_is(text: &str, key: &Range<usize>, name: &str) -> bool {
    decoded(slice(text, key.clone())) == name
}

/// What a key says: it may be written with escapes.
fn decoded(key: &str) -> String {
    serde_json::from_str(key).unwrap_or_default()
}

fn slice(text: &str, range: Range<usize>) -> &str {
    text.get(range).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::board::{Ending, Fine, Passes, Place, Sign, edit_json};

    fn start(measure: u16) -> Edit {
        Edit::Add(Marking::new(Sign::StartRepeat, Place::at(measure)))
    }

    #[test]
    fn what_is_taken_away_takes_its_comma_and_its_blank() {
        let file = r#"{ "board": 1, "systems": [4], "markings": [
  { "mark": "fine", "measure": 1 },
  { "mark": "fine", "measure": 2 },
  { "mark": "fine", "measure": 3 }
] }"#;
        let without = |indices: &[usize]| {
            let edits: Vec<Edit> = indices.iter().copied().map(Edit::Remove).collect();
            edit_json(file, &edits).unwrap()
        };
        let line = |measure| format!("{{ \"mark\": \"fine\", \"measure\": {measure} }}");
        let (head, tail) = ("{ \"board\": 1, \"systems\": [4], \"markings\": [", "] }");
        let of = |lines: &[u16]| {
            let lines: Vec<String> = lines.iter().map(|&measure| line(measure)).collect();
            format!("{head}\n  {}\n{tail}", lines.join(",\n  "))
        };
        assert_eq!(without(&[0]), of(&[2, 3]));
        assert_eq!(without(&[1]), of(&[1, 3]));
        assert_eq!(without(&[2]), of(&[1, 2]));
        assert_eq!(without(&[2, 0]), of(&[2]));
        assert_eq!(without(&[0, 1, 2]), format!("{head}{tail}"));
        assert_eq!(without(&[]), file);
    }

    #[test]
    fn what_is_added_looks_like_what_stands_there() {
        let edited = |file: &str| edit_json(file, &[start(2)]).unwrap();
        assert_eq!(
            edited(r#"{"board":1,"systems":[4],"markings":[{"mark":"fine","measure":1}]}"#),
            r#"{"board":1,"systems":[4],"markings":[{"mark":"fine","measure":1},{"mark":"start-repeat","measure":2}]}"#
        );
        assert_eq!(
            edited("{\"board\": 1,\r\n\t\"systems\": [4]\r\n}"),
            "{\"board\": 1,\r\n\t\"systems\": [4],\r\n\t\"markings\": [\r\n\t\t{ \"mark\": \"start-repeat\", \"measure\": 2 }\r\n\t]\r\n}"
        );
        assert_eq!(
            edited(r#"{"board":1,"systems":[4]}"#),
            r#"{"board":1,"systems":[4],"markings":[{"mark":"start-repeat","measure":2}]}"#
        );
        assert_eq!(
            edited("{ \"board\": 1, \"systems\": [4], \"markings\": [ ] }"),
            "{ \"board\": 1, \"systems\": [4], \"markings\": [{ \"mark\": \"start-repeat\", \"measure\": 2 }] }"
        );
        let tall = "{\n\"board\": 1,\n\"systems\": [4],\n\"markings\": [{\n  \"mark\": \"fine\",\n  \"measure\": 1\n}]\n}";
        assert_eq!(
            edited(tall),
            tall.replace(
                "}]",
                "}, {\n  \"mark\": \"start-repeat\",\n  \"measure\": 2\n}]"
            )
        );
    }

    #[test]
    fn of_what_is_changed_only_the_keys_that_change_are_written_anew() {
        let file = r#"{ "board": 1, "systems": [4], "markings": [
  { "measures":[2,  2], "mark" : "ending",   "passes": [ 2, 1 ], "id": "a" },
  { "mark": "f\u0069ne", "measure": 3, "arrivals": [2] }
] }"#;
        let ending = |first, last, passes: &[u32]| {
            let passes = Passes::of(passes.iter().copied()).unwrap();
            let open = true;
            let place = Place::over(first, last);
            Marking::new(Sign::Ending(Ending { passes, open }), place).with_id("a")
        };
        let edits = [
            Edit::Replace(0, ending(2, 3, &[1, 2])),
            Edit::Replace(1, Marking::new(Sign::Fine(Fine::default()), Place::at(4))),
        ];
        let edited = r#"{ "board": 1, "systems": [4], "markings": [
  { "measures":[2, 3], "mark" : "ending",   "passes": [ 2, 1 ], "open":true, "id": "a" },
  { "mark": "f\u0069ne", "measure": 4 }
] }"#;
        assert_eq!(edit_json(file, &edits).unwrap(), edited);
    }
}
