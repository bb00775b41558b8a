//! Safe fixes: what they would change, as a unified diff, and writing them into a board's file.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use fingerpost_json::{BoardRead, Form};
use similar::TextDiff;

use crate::input;
use crate::report::shown_name;

/// The longest difference that is printed, in bytes. A file in one long line would be printed twice.
const LONGEST: usize = 20_000;

/// The most safe fixes whose difference is printed.
const MOST_FIXES: usize = 200;

/// What the safe fixes of a board would make of its text: of a file the difference, of a board line the new one. Nothing when there are none.
pub(crate) fn would_change(name: &str, read: &BoardRead<'_>) -> String {
    let Some(mended) = read.mended() else {
        return String::new();
    };
    if mended.titles.is_empty() {
        return String::new();
    }
    if read.form == Form::Line {
        return format!("With the safe fixes (--fix makes them):\n{}\n", mended.text);
    }
    let name = shown_name(name);
    let too_much =
        format!("{name}: --fix makes the safe fixes; they change more than can be shown here\n");
    // Finding the differences of texts takes longer the more there are.
    let shrunk = read.text().len().abs_diff(mended.text.len());
    if mended.titles.len() > MOST_FIXES || shrunk > LONGEST {
        return too_much;
    }
    let diff = TextDiff::from_lines(read.text(), &mended.text);
    let diff = diff
        .unified_diff()
        .header(&name, &format!("{name}, with the safe fixes"))
        .to_string();
    if diff.len() > LONGEST {
        return too_much;
    }
    // A file may hold characters that would steer the terminal.
    let shown = |c: char| match c {
        '\n' | '\t' => c,
        c if c.is_control() => '\u{fffd}',
        c => c,
    };
    let lines = diff.replace("\r\n", "\n");
    let lines: String = lines.chars().map(shown).collect();
    format!("With the safe fixes (--fix makes them):\n{lines}")
}

/// Why the safe fixes cannot be written into a file that holds a board line.
const SEVERAL_LINES: &str = "its board line runs over several lines, which fixes would join; write it in one, or let `--fix -` print it";

/// The text of a file with its board mended: of a board line everything around it stays, the mark of the byte order and the line end.
pub(crate) fn text_of_file(read: &BoardRead<'_>, mended: String) -> Result<String, String> {
    if read.form == Form::Json {
        return Ok(mended);
    }
    let blank = |c: char| c.is_whitespace() || c == '\u{feff}';
    let text = read.text();
    let line = text.trim_matches(blank);
    if line.contains(['\n', '\r']) {
        return Err(SEVERAL_LINES.to_owned());
    }
    let before = text.len() - text.trim_start_matches(blank).len();
    let (before, line_and_after) = text.split_at(before);
    let after = line_and_after.get(line.len()..).unwrap_or_default();
    Ok(format!("{before}{mended}{after}"))
}

/// Why a file could not be written, and what to do.
pub(crate) fn reason(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
            "it may not be written; allow it, or let `--fix -` print the text".to_owned()
        }
        _ => input::reason(error),
    }
}

/// Writes a text into a file that is there: whoever reads the file finds the old text or the new one, and never a part of it.
pub(crate) fn write(path: &Path, text: &str) -> io::Result<()> {
    // A link stays a link: the file it leads to is written.
    let path = path.canonicalize()?;
    let permissions = fs::metadata(&path)?.permissions();
    if permissions.readonly() {
        return Err(io::Error::from(io::ErrorKind::PermissionDenied));
    }
    let (beside, mut file) = beside(&path)?;
    let written = file
        .write_all(text.as_bytes())
        .and_then(|()| file.sync_all())
        .and_then(|()| fs::set_permissions(&beside, permissions))
        .and_then(|()| fs::rename(&beside, &path));
    if written.is_err() {
        // What could not be put in its place is not left lying about; the first fault is the one to tell.
        let _ = fs::remove_file(&beside);
    }
    written
}

/// A new file in the folder of another.
fn beside(path: &Path) -> io::Result<(PathBuf, File)> {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    for number in 0..100 {
        let beside = path.with_file_name(format!(".{name}.{}-{number}", std::process::id()));
        match OpenOptions::new()
            .write(true)
            .create_new(true)
            .open(&beside)
        {
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
            opened => return Ok((beside, opened?)),
        }
    }
    Err(io::Error::from(io::ErrorKind::AlreadyExists))
}
