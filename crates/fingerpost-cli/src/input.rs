//! What a command is given: a file, a board line, or standard input; told apart by content.

use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

use fingerpost::Complaint;
use fingerpost_json::{BoardRead, ComplaintAnswer, ErrorAnswer, ErrorKind, NoBoard, Source};

use crate::Streams;

/// One byte more than the largest board: enough to know that a text is too long.
const MOST: u64 = fingerpost::LARGEST_FILE as u64 + 1;

/// The text of an input, with the name by which reports call it.
#[derive(Debug)]
pub(crate) struct Input {
    pub(crate) name: String,
    /// The path of its file; none of a board line and of standard input.
    pub(crate) path: Option<PathBuf>,
    pub(crate) text: String,
}

/// An input that is no board, or cannot be read at all.
#[derive(Debug)]
pub(crate) struct Unread {
    pub(crate) name: String,
    /// The path of its file; none of a board line and of standard input.
    pub(crate) path: Option<PathBuf>,
    pub(crate) text: String,
    pub(crate) answer: ErrorAnswer,
    /// The complaints of the reader, to be drawn into the text.
    pub(crate) complaints: Vec<Complaint>,
}

impl Input {
    /// The text of a file, of a board line in the argument itself, or of standard input for `-`.
    pub(crate) fn open(argument: &str, streams: &mut Streams<'_>) -> Result<Input, Box<Unread>> {
        if argument == "-" {
            return Input::take("-", &mut *streams.stdin);
        }
        if is_line(argument) {
            return Ok(Input {
                name: "line".to_owned(),
                path: None,
                text: argument.to_owned(),
            });
        }
        Input::open_file(Path::new(argument))
    }

    /// The text of a file.
    pub(crate) fn open_file(path: &Path) -> Result<Input, Box<Unread>> {
        match Input::of_file(path) {
            Ok(input) => Ok(Input {
                path: Some(path.to_owned()),
                ..input
            }),
            Err(unread) => Err(Box::new(Unread {
                path: Some(path.to_owned()),
                ..*unread
            })),
        }
    }

    fn of_file(path: &Path) -> Result<Input, Box<Unread>> {
        let name = path.display().to_string();
        match File::open(path) {
            Ok(file) if file.metadata().is_ok_and(|data| data.is_dir()) => Err(Unread::new(
                &name,
                "this is a folder, not a board".to_owned(),
            )),
            Ok(mut file) => Input::take(&name, &mut file),
            Err(error) => {
                let mut message = format!("the file cannot be opened: {}", reason(&error));
                if error.kind() == std::io::ErrorKind::NotFound {
                    message.push_str("; a board line has a barline `|`");
                    if argument_is_text(&name) {
                        message.push_str(", and the text of a board file is given to `-`");
                    }
                }
                Err(Unread::new(&name, message))
            }
        }
    }

    fn take(name: &str, stream: &mut dyn Read) -> Result<Input, Box<Unread>> {
        let mut bytes = Vec::new();
        if let Err(error) = stream.take(MOST).read_to_end(&mut bytes) {
            let message = format!("it cannot be read: {}", reason(&error));
            return Err(Unread::new(name, message));
        }
        if bytes.starts_with(b"PK\x03\x04") {
            return Err(Unread::with(
                name,
                ErrorAnswer::new(
                    ErrorKind::FormatNotRead,
                    "this looks like a compressed file, a format that is not read yet; what is read: a board file (JSON) or a board line",
                ),
            ));
        }
        match String::from_utf8(bytes) {
            Ok(text) => Ok(Input {
                name: name.to_owned(),
                path: None,
                text,
            }),
            Err(error) => Err(Box::new(not_text(name, error.as_bytes()))),
        }
    }

    /// Reads the board.
    pub(crate) fn read(&self) -> Result<BoardRead<'_>, Box<Unread>> {
        Source::text(self.text.as_str()).read().map_err(|no_board| {
            let NoBoard { answer, complaints } = *no_board;
            Box::new(Unread {
                name: self.name.clone(),
                path: self.path.clone(),
                text: self.text.clone(),
                answer,
                complaints,
            })
        })
    }
}

impl Unread {
    /// An input of which nothing can be read.
    pub(crate) fn new(name: &str, message: String) -> Box<Unread> {
        Unread::with(name, ErrorAnswer::new(ErrorKind::NoBoard, message))
    }

    fn with(name: &str, answer: ErrorAnswer) -> Box<Unread> {
        Box::new(Unread {
            name: if name.is_empty() {
                "an empty name".to_owned()
            } else {
                name.to_owned()
            },
            path: None,
            text: String::new(),
            answer,
            complaints: Vec::new(),
        })
    }
}

/// A complaint about bytes that are no text; the reader of board files says where.
fn not_text(name: &str, bytes: &[u8]) -> Unread {
    let complaints = match fingerpost::Board::from_json_bytes(bytes) {
        Err(error) => error.complaints().to_vec(),
        Ok(_) => Vec::new(),
    };
    let message = complaints.first().map_or_else(
        || "the text is not UTF-8".to_owned(),
        |first| first.message.clone(),
    );
    let answers = complaints.iter().map(|complaint| ComplaintAnswer {
        message: complaint.message.clone(),
        accepted: complaint.accepted.clone(),
        pointer: None,
        line: Some(complaint.position.line),
        column: Some(complaint.position.column),
    });
    Unread {
        name: name.to_owned(),
        path: None,
        // What can be shown of it; the place of the fault keeps its bytes only up to there.
        text: String::from_utf8_lossy(bytes).into_owned(),
        answer: ErrorAnswer::new(ErrorKind::NoBoard, message).with_complaints(answers.collect()),
        complaints,
    }
}

/// Whether an argument is a board line: it has a barline in it, and no file has such a name.
pub(crate) fn is_line(argument: &str) -> bool {
    argument.contains('|') && !Path::new(argument).exists()
}

/// Whether what stands where a file's name should is the text of a board file.
fn argument_is_text(argument: &str) -> bool {
    argument.trim_start().starts_with('{')
}

/// Why a stream failed, in words.
pub(crate) fn reason(error: &std::io::Error) -> String {
    match error.kind() {
        std::io::ErrorKind::NotFound => "there is none of this name".to_owned(),
        std::io::ErrorKind::PermissionDenied => "it may not be read".to_owned(),
        _ => error.to_string(),
    }
}
