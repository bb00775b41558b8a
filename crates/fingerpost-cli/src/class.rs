//! The answers of a class, from a table as a spreadsheet saves it.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use fingerpost_json::{AnswerAsked, ErrorAnswer, ErrorKind, NamedAsked};

/// The most bytes of a file of answers.
const LARGEST: u64 = 16 << 20;

/// The text of a file of answers.
pub(crate) fn text_of(path: &Path) -> Result<String, ErrorAnswer> {
    let fault = |message: String| {
        let message = format!("{}: {message}", path.display());
        ErrorAnswer::new(ErrorKind::Request, message)
    };
    let file =
        File::open(path).map_err(|error| fault(format!("the file cannot be opened: {error}")))?;
    let mut bytes = Vec::new();
    file.take(LARGEST + 1)
        .read_to_end(&mut bytes)
        .map_err(|error| fault(format!("the file cannot be read: {error}")))?;
    if bytes.len() as u64 > LARGEST {
        let most = LARGEST >> 20;
        return Err(fault(format!(
            "the file is larger than {most} MiB, the most that is read"
        )));
    }
    let text = String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        fault(format!(
            "the file is not UTF-8 text (byte {at}): save it as CSV in UTF-8"
        ))
    })?;
    Ok(text.trim_start_matches('\u{feff}').to_owned())
}

/// The answers of a class: a row each.
pub(crate) fn read(path: &Path) -> Result<Vec<NamedAsked>, ErrorAnswer> {
    let text = text_of(path)?;
    rows(&text).map_err(|message| {
        let message = format!("{}: {message}", path.display());
        ErrorAnswer::new(ErrorKind::Request, message)
    })
}

fn rows(text: &str) -> Result<Vec<NamedAsked>, String> {
    let delimiter = delimiter(text);
    match quote_left_open(text, delimiter) {
        Some(LeftOpen::Everywhere(line)) => {
            return Err(format!("line {line}: the quote is not closed"));
        }
        Some(LeftOpen::OnItsLine(line)) => {
            return Err(format!(
                "line {line}: the quote is not closed before the line ends"
            ));
        }
        None => {}
    }
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .trim(csv::Trim::All)
        .delimiter(delimiter)
        .from_reader(text.as_bytes());
    let heading = reader.headers().map_err(|error| error.to_string())?.clone();
    let column = |name: &str| {
        let mut columns = heading.iter();
        columns.position(|it| it.eq_ignore_ascii_case(name)).ok_or_else(|| {
            let there: Vec<&str> = heading.iter().take(8).collect();
            format!(
                "there is no column `{name}` in its first row ({}); the columns are `pupil` and `answer`",
                there.join(", ")
            )
        })
    };
    let (pupil, answer) = (column("pupil")?, column("answer")?);
    let mut answers = Vec::new();
    for row in reader.records() {
        let row = row.map_err(|error| error.to_string())?;
        let line = row.position().map_or(0, |at| line_at(text, at.byte()));
        if row.iter().skip(heading.len()).any(|cell| !cell.is_empty()) {
            return Err(format!(
                "line {line} has more columns than the first row: an answer with commas stands in quotes"
            ));
        }
        // A line break inside a cell is a blank.
        let cell = |at: usize| row.get(at).unwrap_or_default().replace("\r\n", " ");
        let cell = |at: usize| cell(at).replace(['\n', '\r'], " ");
        let (pupil, answer) = (cell(pupil), cell(answer));
        if pupil.is_empty() && answer.is_empty() {
            continue;
        }
        answers.push(NamedAsked {
            pupil: Some(pupil).filter(|pupil| !pupil.is_empty()),
            answer: AnswerAsked::Text(answer),
        });
    }
    if answers.is_empty() {
        return Err("there is no answer in it: a row each below the first".to_owned());
    }
    Ok(answers)
}

/// The line on which the row begins that is read from a byte on: empty lines before it are passed over.
fn line_at(text: &str, byte: u64) -> usize {
    let byte = usize::try_from(byte).unwrap_or(usize::MAX);
    let rest = text.get(byte..).unwrap_or_default();
    let empty = rest.len() - rest.trim_start_matches(['\n', '\r']).len();
    let before = text.get(..byte + empty).unwrap_or(text);
    before.matches('\n').count() + 1
}

/// A quote that begins a cell and is left open, with its line.
enum LeftOpen {
    /// It is closed nowhere.
    Everywhere(usize),
    /// The next quote stands on a later line, and does not end a cell: it is the beginning of another.
    OnItsLine(usize),
}

/// The first quote that is left open.
fn quote_left_open(text: &str, delimiter: u8) -> Option<LeftOpen> {
    let (mut line, mut opened, mut begins) = (1, None, true);
    let mut bytes = text.bytes().peekable();
    while let Some(byte) = bytes.next() {
        match (byte, opened) {
            (b'"', None) if begins => opened = Some(line),
            (b'"', Some(_)) if bytes.peek() == Some(&b'"') => {
                bytes.next();
            }
            (b'"', Some(at)) => {
                let ends = |&next: &u8| next == delimiter || next.is_ascii_whitespace();
                if at != line && !bytes.peek().is_none_or(ends) {
                    return Some(LeftOpen::OnItsLine(at));
                }
                opened = None;
            }
            _ => {}
        }
        begins = opened.is_none() && (byte == delimiter || byte == b'\n');
        line += usize::from(byte == b'\n');
    }
    opened.map(LeftOpen::Everywhere)
}

/// What stands between the columns: a comma, a semicolon or a tab, by the first row.
fn delimiter(text: &str) -> u8 {
    let first = text.lines().next().unwrap_or_default();
    let all = [b',', b';', b'\t'];
    let count = |&it: &u8| first.bytes().filter(|&byte| byte == it).count();
    // Of equals the last is taken: the comma, where there is none of them.
    all.into_iter().rev().max_by_key(count).unwrap_or(b',')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<Vec<(String, String)>, String> {
        let answers = rows(text)?;
        let pairs = answers.into_iter().map(|it| match it.answer {
            AnswerAsked::Text(text) => (it.pupil.unwrap_or_default(), text),
            AnswerAsked::Steps(_) => unreachable!("a table holds text"),
        });
        Ok(pairs.collect())
    }

    fn pair(pupil: &str, answer: &str) -> (String, String) {
        (pupil.to_owned(), answer.to_owned())
    }

    #[test]
    fn tables_as_spreadsheets_save_them() {
        let wanted = vec![pair("A1", "1-4 1 2"), pair("B2", "")];
        for text in [
            "pupil,answer\nA1,1-4 1 2\nB2,\n",
            "Pupil;Answer\r\nA1;1-4 1 2\r\nB2;\r\n;\r\n",
            "pupil\tanswer\nA1\t1-4 1 2\nB2\n",
            "answer, pupil ,remark\n\"1-4 1 2\",A1,\n,B2,late\n",
        ] {
            assert_eq!(read(text), Ok(wanted.clone()), "{text}");
        }
        let trailing = read("pupil,answer\nA1,1-2,,\n\n\nB2,3,\n");
        assert_eq!(trailing, Ok(vec![pair("A1", "1-2"), pair("B2", "3")]));
        let quoted = read("pupil,answer\nA1,\"1, 2, 3\"\n");
        assert_eq!(quoted, Ok(vec![pair("A1", "1, 2, 3")]));
        let broken = read("pupil,answer\n\"A\r\n1\",\"1-4\r\n1 2\"\nB2,\"1\n2\"\n");
        let whole = vec![pair("A 1", "1-4 1 2"), pair("B2", "1 2")];
        assert_eq!(broken, Ok(whole), "a line break inside a cell is a blank");
    }

    #[test]
    fn what_is_no_such_table_says_why() {
        for (text, message) in [
            ("", "there is no column `pupil`"),
            (
                "name,answer\nA,1\n",
                "there is no column `pupil` in its first row (name, answer)",
            ),
            ("pupil\nA\n", "there is no column `answer`"),
            ("pupil,answer\n\n\nA,1, 2, 3\n", "line 4 has more columns"),
            (
                "pupil,answer\nA,\"1-6\nB,1-6\n",
                "line 2: the quote is not closed",
            ),
            (
                "pupil,answer\nA,\"1-6\nB,\"1-6\nC,1\n",
                "line 2: the quote is not closed",
            ),
            (
                "pupil,answer\nA,\"1-\"\"6\n\"1\nB,1\n",
                "line 2: the quote is not closed before",
            ),
            ("pupil,answer\n\n", "there is no answer"),
        ] {
            let error = read(text).unwrap_err();
            assert!(error.starts_with(message), "{error}");
        }
    }
}
