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
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .trim(csv::Trim::All)
        .delimiter(delimiter(text))
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
        let line = row.position().map_or(0, csv::Position::line);
        if row.len() > heading.len() {
            return Err(format!(
                "line {line} has more columns than the first row: an answer with commas stands in quotes"
            ));
        }
        let cell = |at: usize| row.get(at).unwrap_or_default().to_owned();
        let (pupil, answer) = (cell(pupil), cell(answer));
        if pupil.is_empty() && answer.is_empty() {
            continue;
        }
        answers.push(NamedAsked {
            pupil: Some(pupil),
            answer: AnswerAsked::Text(answer),
        });
    }
    Ok(answers)
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
        let quoted = read("pupil,answer\nA1,\"1, 2, 3\"\n");
        assert_eq!(quoted, Ok(vec![pair("A1", "1, 2, 3")]));
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
            ("pupil,answer\nA,1, 2, 3\n", "line 2 has more columns"),
        ] {
            let error = read(text).unwrap_err();
            assert!(error.starts_with(message), "{error}");
        }
    }
}
