//! Text for people: wrapped lines and numbers that can be read.

use std::fmt::Write;

/// A text broken into lines of at most `width` characters where it can be, the first begun with `first` and the others with `rest`.
pub(crate) fn wrapped(text: &str, width: usize, first: &str, rest: &str) -> String {
    let mut lines = String::from(first);
    let mut column = first.chars().count();
    let mut at_start = true;
    for word in text.split_whitespace() {
        let length = word.chars().count();
        if !at_start && column + 1 + length > width {
            lines.push('\n');
            lines.push_str(rest);
            column = rest.chars().count();
            at_start = true;
        }
        if !at_start {
            lines.push(' ');
            column += 1;
        }
        lines.push_str(word);
        column += length;
        at_start = false;
    }
    lines.push('\n');
    lines
}

/// A number with its digits in groups of three: `1 000 000`.
pub(crate) fn grouped(number: u64) -> String {
    let digits = number.to_string();
    let mut grouped = String::new();
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index) % 3 == 0 {
            grouped.push(' ');
        }
        grouped.push(digit);
    }
    grouped
}

/// A number and its noun: `1 error`, `2 errors`.
pub(crate) fn counted(number: u64, one: &str, many: &str) -> String {
    let noun = if number == 1 { one } else { many };
    format!("{} {noun}", grouped(number))
}

/// Things in a row: `a`, `a and b`, `a, b and c`.
pub(crate) fn listed(things: &[String]) -> String {
    let mut text = String::new();
    for (index, thing) in things.iter().enumerate() {
        let separator = match index {
            0 => "",
            _ if index + 1 == things.len() => " and ",
            _ => ", ",
        };
        // cannot fail: writing to memory does not fail.
        let _ = write!(text, "{separator}{thing}");
    }
    text
}

/// Markdown prose as it is read aloud: paragraphs and lists keep their lines, tables become lines of cells.
pub(crate) fn prose(text: &str, width: usize) -> String {
    let mut out = String::new();
    for line in text.lines() {
        let line = line.trim();
        if line.is_empty() {
            out.push('\n');
        } else if let Some(row) = line.strip_prefix('|') {
            let cells: Vec<&str> = row
                .trim_end_matches('|')
                .split('|')
                .map(str::trim)
                .collect();
            let rule = cells
                .iter()
                .all(|cell| cell.chars().all(|c| c == '-' || c == ':'));
            if !rule {
                out.push_str(&wrapped(&cells.join(": "), width, "  ", "    "));
            }
        } else if line.starts_with("- ") {
            out.push_str(&wrapped(line, width, "  ", "    "));
        } else {
            out.push_str(&wrapped(line, width, "", ""));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_is_wrapped_between_words_and_a_long_word_stands_alone() {
        assert_eq!(
            wrapped("one two three", 8, "- ", "  "),
            "- one\n  two\n  three\n"
        );
        assert_eq!(wrapped("overlong", 3, "", ""), "overlong\n");
    }

    #[test]
    fn numbers_are_grouped_and_counted() {
        assert_eq!(grouped(1_234_567), "1 234 567");
        assert_eq!(grouped(12), "12");
        assert_eq!(counted(1, "error", "errors"), "1 error");
        assert_eq!(counted(2, "error", "errors"), "2 errors");
    }

    #[test]
    fn a_table_becomes_lines() {
        let table = "| answer | meaning |\n|---|---|\n| skip | once |";
        assert_eq!(prose(table, 80), "  answer: meaning\n  skip: once\n");
    }
}
