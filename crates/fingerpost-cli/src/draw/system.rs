//! One system of the picture, in as many rows as the width asks for.

use super::signs::{Bar, Cell, Picture, Span};

/// How far a row that goes on from the one above is moved in.
const INDENT: &str = "    ";
/// The room of a measure that needs none.
const MOST_FREE_ROOM: usize = 7;
/// The gap between what stands at the left and at the right edge of a measure.
const GAP: usize = 2;

/// A measure with the room it takes.
struct Measure<'a> {
    number: u16,
    cell: &'a Cell,
    name: String,
    /// The room between its barlines.
    width: usize,
}

/// Draws the measures from `first` to `last`.
pub(super) fn drawn(picture: &Picture<'_>, first: u16, last: u16, width: usize) -> String {
    let common = least_room(picture, width);
    let measures: Vec<Measure> = (first..=last)
        .filter_map(|number| {
            let cell = picture.cell(number)?;
            let name = picture.board().measure_name(number);
            let mut measure = Measure {
                number,
                cell,
                name,
                width: 0,
            };
            measure.width = room(picture, &measure).max(common);
            Some(measure)
        })
        .collect();
    let mut text = String::new();
    let mut rest = measures.as_slice();
    let mut indent = "";
    while !rest.is_empty() {
        let count = fitting(picture, rest, width.saturating_sub(indent.len()));
        let (row, after) = rest.split_at_checked(count).unwrap_or((rest, &[]));
        if !text.is_empty() {
            text.push('\n');
        }
        text.push_str(&drawn_row(picture, row, indent));
        rest = after;
        indent = INDENT;
    }
    text
}

/// How many of the measures go into one row: as many as fit, and none with which a row of measures begins whose words would stand out
/// over the edge.
fn fitting(picture: &Picture<'_>, measures: &[Measure], width: usize) -> usize {
    let mut count = fitting_barlines(picture, measures, width);
    while let Some((row, rest)) = measures.split_at_checked(count) {
        let Some(last) = row.last().filter(|_| !rest.is_empty()) else {
            break;
        };
        let stands_out = |from: usize| {
            let first = row.get(from)?.number;
            let words = picture
                .spans(first, first)
                .filter(|span| span.first == first && span.last > last.number)
                .map(|span| span.words.chars().count())
                .max()?;
            let room: usize = row.iter().skip(from).map(|measure| measure.width + 1).sum();
            (words > room).then_some(from)
        };
        match (1..count).find_map(stands_out) {
            Some(from) => count = from,
            None => break,
        }
    }
    count
}

/// How many of the measures fit into one row; at least one.
fn fitting_barlines(picture: &Picture<'_>, measures: &[Measure], width: usize) -> usize {
    let mut used = 0;
    for (index, measure) in measures.iter().enumerate() {
        let before = if index == 0 {
            left_edge(measure.cell).len()
        } else {
            0
        };
        let after = right_barline(picture, measure, measures.get(index + 1)).len();
        used += before + measure.width + after;
        if used > width && index > 0 {
            return index;
        }
    }
    measures.len()
}

/// The room that every measure gets, so that measures of one board look alike: less where the longest system would not fit.
fn least_room(picture: &Picture<'_>, width: usize) -> usize {
    let longest = picture.board().systems().iter().copied().max();
    let longest = usize::from(longest.unwrap_or(1));
    (width / longest.max(1))
        .saturating_sub(3)
        .min(MOST_FREE_ROOM)
}

/// The room a measure needs between its barlines.
fn room(picture: &Picture<'_>, measure: &Measure) -> usize {
    let length = |text: &String| text.chars().count();
    let cell = measure.cell;
    let mut room = length(&measure.name) + 2;
    let rows = cell.left.len().max(cell.right.len());
    for row in 0..rows {
        let left = cell.left.get(row).map_or(0, length);
        let right = cell.right.get(row).map_or(0, length);
        let gap = if left > 0 && right > 0 { GAP } else { 0 };
        room = room.max(left + gap + right);
    }
    for over in &cell.over {
        room = room.max(length(over));
    }
    // The words over a row of measures stand at its first measure; a short row must hold them.
    for span in picture.spans(measure.number, measure.number) {
        if span.first == measure.number {
            let measures = usize::from(span.last - span.first) + 1;
            room = room.max((span.words.chars().count() + 2).div_ceil(measures));
        }
    }
    room
}

fn left_edge(cell: &Cell) -> &'static str {
    if cell.start_repeat { "|:" } else { "|" }
}

/// The barline after a measure, with what the next measure in the row begins with.
fn right_barline(picture: &Picture<'_>, measure: &Measure, next: Option<&Measure>) -> &'static str {
    let cell = measure.cell;
    let starts = next.is_some_and(|next| next.cell.start_repeat);
    let ends_board = measure.number == picture.board().measures();
    let bar = if ends_board { Bar::Final } else { cell.bar };
    match (cell.end_repeat, bar, starts) {
        (true, Bar::Double, true) => ":||:",
        (true, Bar::Double, false) => ":||",
        (true, _, true) => ":|:",
        (true, _, false) => ":|",
        (false, Bar::Final, true) => "|]|:",
        (false, Bar::Final, false) => "|]",
        (false, Bar::Double, true) => "||:",
        (false, Bar::Double, false) => "||",
        (false, Bar::Single, true) => "|:",
        (false, Bar::Single, false) => "|",
    }
}

/// Text laid at columns.
#[derive(Default)]
struct Line(Vec<char>);

impl Line {
    fn lay(&mut self, column: usize, text: &str) {
        for (at, c) in (column..).zip(text.chars()) {
            if self.0.len() <= at {
                self.0.resize(at + 1, ' ');
            }
            if let Some(slot) = self.0.get_mut(at) {
                *slot = c;
            }
        }
    }

    fn text(&self, indent: &str) -> String {
        let line: String = self.0.iter().collect();
        format!("{indent}{}", line.trim_end())
    }
}

/// Where a measure stands in a row.
struct Column {
    /// The first column of the measure itself.
    start: usize,
    /// The column after its last.
    end: usize,
}

fn drawn_row(picture: &Picture<'_>, row: &[Measure], indent: &str) -> String {
    let mut staff = Line::default();
    let mut columns = Vec::with_capacity(row.len());
    let mut at = 0;
    for (index, measure) in row.iter().enumerate() {
        if index == 0 {
            let edge = left_edge(measure.cell);
            staff.lay(0, edge);
            at = edge.len();
        }
        let column = Column {
            start: at,
            end: at + measure.width,
        };
        staff.lay(column.start + 1, &measure.name);
        let barline = right_barline(picture, measure, row.get(index + 1));
        staff.lay(column.end, barline);
        at = column.end + barline.len();
        columns.push(column);
    }
    let mut lines = spans(picture, row, &columns);
    lines.extend(words(row, &columns));
    lines.push(staff);
    let mut text = String::new();
    for line in lines {
        text.push_str(&line.text(indent));
        text.push('\n');
    }
    text
}

/// The words at the edges of measures and over them, highest line first.
fn words(row: &[Measure], columns: &[Column]) -> Vec<Line> {
    let edges = row
        .iter()
        .map(|measure| measure.cell.left.len().max(measure.cell.right.len()))
        .max()
        .unwrap_or(0);
    let over = row.iter().map(|measure| measure.cell.over.len()).max();
    let mut lines = Vec::new();
    for height in (0..over.unwrap_or(0)).rev() {
        let mut line = Line::default();
        for (measure, column) in row.iter().zip(columns) {
            if let Some(words) = measure.cell.over.get(height) {
                let room = column.end - column.start;
                let before = room.saturating_sub(words.chars().count()) / 2;
                line.lay(column.start + before, words);
            }
        }
        lines.push(line);
    }
    for height in (0..edges).rev() {
        let mut line = Line::default();
        for (measure, column) in row.iter().zip(columns) {
            if let Some(words) = measure.cell.left.get(height) {
                line.lay(column.start, words);
            }
            if let Some(words) = measure.cell.right.get(height) {
                line.lay(column.end.saturating_sub(words.chars().count()), words);
            }
        }
        lines.push(line);
    }
    lines
}

/// The lines over rows of measures, highest first: each in the lowest line where it meets no other.
fn spans(picture: &Picture<'_>, row: &[Measure], columns: &[Column]) -> Vec<Line> {
    let (Some(first), Some(last)) = (row.first(), row.last()) else {
        return Vec::new();
    };
    let mut over: Vec<&Span> = picture.spans(first.number, last.number).collect();
    over.sort_by_key(|span| (span.level, span.first, span.last));
    // For each line its level and the last measure that is taken.
    let mut lines: Vec<(u8, u16, Line)> = Vec::new();
    for span in over {
        let from = span.first.max(first.number);
        let to = span.last.min(last.number);
        let free = lines
            .iter_mut()
            .find(|(level, taken, _)| *level == span.level && *taken < from);
        let column = |number: u16| columns.get(usize::from(number - first.number));
        let (Some(start), Some(end)) = (column(from), column(to)) else {
            continue;
        };
        let mut drawn = if span.first == from {
            span.words.clone()
        } else {
            String::new()
        };
        if span.stroke == '.' && !drawn.is_empty() {
            drawn.push(' ');
        }
        let room = end.end - start.start;
        while drawn.chars().count() < room {
            drawn.push(span.stroke);
        }
        if span.last == to && span.hooked {
            drawn.push('|');
        }
        if let Some((_, taken, line)) = free {
            line.lay(start.start, &drawn);
            *taken = to;
        } else {
            let mut line = Line::default();
            line.lay(start.start, &drawn);
            lines.push((span.level, to, line));
        }
    }
    lines.into_iter().rev().map(|(_, _, line)| line).collect()
}
