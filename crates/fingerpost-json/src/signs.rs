//! Signs as they are named in a request: as a board line writes them, or by the words that answers have for them.

use fingerpost::{ReadError, Sign};

use crate::about;

/// A sign from its notation in the board line, or from its name: `end repeat`, `ending 2`, `da capo al Fine`.
///
/// # Errors
/// What is wrong with a text that is neither.
pub(crate) fn read_sign(text: &str) -> Result<Sign, ReadError> {
    Sign::from_line(text).or_else(|error| {
        let named = notation(text.trim()).and_then(|notation| Sign::from_line(&notation).ok());
        named.ok_or(error)
    })
}

/// How a board line writes the sign that has this name.
fn notation(name: &str) -> Option<String> {
    let name = name.to_lowercase();
    if let Some(passes) = name.strip_prefix("ending ") {
        return Some(format!("[{}.", passes.trim_end_matches('.')));
    }
    let plain = match name.as_str() {
        "first ending" => "[1.",
        "second ending" => "[2.",
        "double bar" => "||",
        _ => match about::sign(&name)? {
            "start repeat" => "|:",
            "end repeat" => ":|",
            other => other,
        },
    };
    Some(plain.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sign_may_be_named_as_answers_name_it() {
        for (name, line) in [
            ("end repeat", ":|"),
            ("Start repeat", "|:"),
            ("ending 1", "[1."),
            ("ending 1-3", "[1-3."),
            ("second ending", "[2."),
            ("double bar", "||"),
            ("da capo al fine", "D.C. al Fine"),
            ("dal segno", "D.S."),
        ] {
            let read = read_sign(name).unwrap();
            assert_eq!(read, Sign::from_line(line).unwrap(), "{name}");
        }
        for unknown in ["ending", "ending x", "octave sign", "senza rep.", "stop"] {
            assert!(read_sign(unknown).is_err(), "{unknown}");
        }
    }
}
