//! What a command is given: a file, a board line, or standard input; told apart by content.

use std::borrow::Cow;
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

use fingerpost::Complaint;
use fingerpost_json::{
    BoardRead, ComplaintAnswer, ErrorAnswer, ErrorKind, NoBoard, ScoreAsked, Source,
};
use fingerpost_notation::{format_of, text_of};

use crate::Streams;

/// One byte more than the largest board: enough to know that a text is too long.
const MOST: u64 = fingerpost::LARGEST_FILE as u64 + 1;

/// The most bytes of a score, packed or not: many times those of a symphony.
const LARGEST_SCORE: u64 = 256 << 20;

/// The text of an input, with the name by which reports call it.
#[derive(Debug)]
pub(crate) struct Input {
    pub(crate) name: String,
    /// The path of its file; none of a board line and of standard input.
    pub(crate) path: Option<PathBuf>,
    pub(crate) text: String,
    /// The bytes of a score whose text is another, being in another encoding, or that has none, being compressed.
    pub(crate) bytes: Option<Vec<u8>>,
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
                bytes: None,
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
        let mut read = stream.take(MOST).read_to_end(&mut bytes);
        let is_score = format_of(&bytes).is_some();
        if is_score && read.is_ok() && bytes.len() as u64 == MOST {
            let rest = LARGEST_SCORE - MOST + 1;
            read = stream.take(rest).read_to_end(&mut bytes);
        }
        if let Err(error) = read {
            let message = format!("it cannot be read: {}", reason(&error));
            return Err(Unread::new(name, message));
        }
        if is_score {
            if bytes.len() as u64 > LARGEST_SCORE {
                let most = LARGEST_SCORE >> 20;
                let message = format!("the score is larger than {most} MiB, the most that is read");
                return Err(Unread::new(name, message));
            }
            let text = match text_of(&bytes) {
                None => Some(String::new()),
                Some(Cow::Owned(text)) => Some(text),
                Some(Cow::Borrowed(_)) => None,
            };
            if let Some(text) = text {
                return Ok(Input {
                    name: name.to_owned(),
                    path: None,
                    text,
                    bytes: Some(bytes),
                });
            }
        }
        match String::from_utf8(bytes) {
            Ok(text) => Ok(Input {
                name: name.to_owned(),
                path: None,
                text,
                bytes: None,
            }),
            Err(error) => Err(Box::new(not_text(name, error.as_bytes()))),
        }
    }

    /// Whether it is standard input.
    pub(crate) fn is_standard(&self) -> bool {
        self.path.is_none() && self.name == "-"
    }

    /// What was given, byte by byte.
    pub(crate) fn given(&self) -> &[u8] {
        self.bytes.as_deref().unwrap_or(self.text.as_bytes())
    }

    /// Reads the one board that is asked for.
    pub(crate) fn read(&self, asked: &ScoreAsked) -> Result<BoardRead<'_>, Box<Unread>> {
        let read = self.source().read_as(asked);
        read.map_err(|none| self.unread(*none))
    }

    /// Reads every board in it: of a book of tunes each tune.
    pub(crate) fn read_all(&self, asked: &ScoreAsked) -> Result<Vec<BoardRead<'_>>, Box<Unread>> {
        let read = self.source().read_all(asked);
        read.map_err(|none| self.unread(*none))
    }

    fn source(&self) -> Source<'_> {
        match &self.bytes {
            Some(bytes) => Source::score_file(bytes, &self.text),
            None => Source::text(self.text.as_str()),
        }
    }

    fn unread(&self, none: NoBoard) -> Box<Unread> {
        let NoBoard { answer, complaints } = none;
        Box::new(Unread {
            name: self.name.clone(),
            path: self.path.clone(),
            // It is there for the complaints to be drawn into it.
            text: if complaints.is_empty() {
                String::new()
            } else {
                self.text.clone()
            },
            answer,
            complaints,
        })
    }
}

impl Unread {
    /// An input of which nothing can be read.
    pub(crate) fn new(name: &str, message: String) -> Box<Unread> {
        Box::new(Unread {
            name: if name.is_empty() {
                "an empty name".to_owned()
            } else {
                name.to_owned()
            },
            path: None,
            text: String::new(),
            answer: ErrorAnswer::new(ErrorKind::NoBoard, message),
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
