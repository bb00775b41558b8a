//! Line and column of many places of one text, each found in a moment.

use fingerpost::Position;

/// How many bytes lie between two places that are remembered.
const STRIDE: usize = 4096;

/// A text with some of its positions remembered, so that a place is found by reading at most [`STRIDE`] bytes.
#[derive(Clone, Debug)]
pub(crate) struct Positions<'a> {
    text: &'a str,
    /// The byte of each remembered place, on a character's first byte, and its position.
    marks: Vec<(usize, Position)>,
}

impl<'a> Positions<'a> {
    pub(crate) fn new(text: &'a str) -> Positions<'a> {
        let mut marks = Vec::with_capacity(text.len() / STRIDE + 1);
        let mut at = Position { line: 1, column: 1 };
        for (byte, char) in text.char_indices() {
            let due = marks.last().is_none_or(|&(last, _)| byte - last >= STRIDE);
            if due {
                marks.push((byte, at));
            }
            at = after(at, char);
        }
        Positions { text, marks }
    }

    /// The position of a byte; of the text's end for a byte beyond it.
    pub(crate) fn of(&self, byte: usize) -> Position {
        let later = self.marks.partition_point(|&(mark, _)| mark <= byte);
        let mark = later.checked_sub(1).and_then(|at| self.marks.get(at));
        let Some(&(start, position)) = mark else {
            return Position { line: 1, column: 1 };
        };
        let rest = self.text.get(start..).unwrap_or_default();
        let before = rest.char_indices().take_while(|(at, _)| start + at < byte);
        before.fold(position, |at, (_, char)| after(at, char))
    }
}

fn after(at: Position, char: char) -> Position {
    if char == '\n' {
        Position {
            line: at.line.saturating_add(1),
            column: 1,
        }
    } else {
        Position {
            column: at.column.saturating_add(1),
            ..at
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_place_has_the_position_that_counting_gives() {
        let text = "über die\nBrücke ".repeat(1000);
        let positions = Positions::new(&text);
        for (byte, _) in text.char_indices().step_by(7) {
            assert_eq!(positions.of(byte), Position::of_byte(&text, byte));
        }
        assert_eq!(Positions::new("").of(3), Position { line: 1, column: 1 });
    }
}
