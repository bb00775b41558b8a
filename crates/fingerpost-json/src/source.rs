//! Reading the board of a request, from whichever form it is given in.

use std::borrow::Cow;
use std::ops::Range;

use fingerpost::{Board, Complaint, ReadError, json_places, line_places};

use crate::content::{Content, told_apart};
use crate::error::{ComplaintAnswer, ErrorAnswer, ErrorKind};
use crate::positions::Positions;

/// The form of a board's text.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Form {
    /// A board file.
    Json,
    /// A board line.
    Line,
}

/// The text of a board, not read yet.
#[derive(Clone, Debug)]
pub struct Source<'a> {
    text: Cow<'a, str>,
    form: Option<Form>,
    /// The request in which it stands, and where in it.
    within: Option<(&'a str, usize)>,
}

/// A board that has been read, with its text.
#[derive(Clone, Debug)]
pub struct BoardRead<'a> {
    /// The board.
    pub board: Board,
    /// The form of its text.
    pub form: Form,
    source: Source<'a>,
}

/// A text that is no board.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct NoBoard {
    /// What the answer says of it.
    pub answer: ErrorAnswer,
    /// The complaints of the reader, with their bytes in the board's own text.
    pub complaints: Vec<Complaint>,
}

impl<'a> Source<'a> {
    /// A text that is told apart by content.
    pub fn text(text: impl Into<Cow<'a, str>>) -> Source<'a> {
        Source {
            text: text.into(),
            form: None,
            within: None,
        }
    }

    /// A board line.
    pub fn line(text: impl Into<Cow<'a, str>>) -> Source<'a> {
        Source {
            form: Some(Form::Line),
            ..Source::text(text)
        }
    }

    /// A board file that stands inside a request.
    pub(crate) fn inside(request: &'a str, board: &'a str) -> Source<'a> {
        // Both are parts of one text, so that the distance of their first bytes is a place in it.
        let base = board.as_ptr().addr().wrapping_sub(request.as_ptr().addr());
        Source {
            form: Some(Form::Json),
            within: (request.get(base..).is_some()).then_some((request, base)),
            ..Source::text(board)
        }
    }

    /// The board's own text.
    pub fn as_str(&self) -> &str {
        &self.text
    }

    /// Reads the board.
    ///
    /// # Errors
    /// Everything that is wrong with the text; or that its format is not read yet.
    pub fn read(self) -> Result<BoardRead<'a>, Box<NoBoard>> {
        let form = match self.form {
            Some(form) => form,
            None => form_of(&self.text)
                .map_err(|(kind, message)| Box::new(self.no_form(kind, message)))?,
        };
        let read = match form {
            Form::Json => Board::from_json(&self.text),
            Form::Line => Board::from_line(&self.text),
        };
        match read {
            Ok(board) => Ok(BoardRead {
                board,
                form,
                source: self,
            }),
            Err(error) => Err(Box::new(self.no_board(&error))),
        }
    }

    /// A text of which not even the form is known: told at its first character.
    fn no_form(&self, kind: ErrorKind, message: String) -> NoBoard {
        let start = self
            .text
            .find(|c: char| !c.is_whitespace() && c != '\u{feff}');
        let start = start.unwrap_or(0);
        let length = self.text.get(start..).and_then(|rest| rest.chars().next());
        let complaint = Complaint {
            message,
            accepted: Some(FORMS.to_owned()),
            pointer: None,
            position: fingerpost::Position::of_byte(&self.text, start),
            bytes: start..start + length.map_or(0, char::len_utf8),
        };
        self.complained(kind, &[complaint])
    }

    fn no_board(&self, error: &ReadError) -> NoBoard {
        self.complained(ErrorKind::NoBoard, error.complaints())
    }

    fn complained(&self, kind: ErrorKind, complaints: &[Complaint]) -> NoBoard {
        let positions = self
            .within
            .map(|(whole, base)| (Positions::new(whole), base));
        let answers: Vec<ComplaintAnswer> = complaints
            .iter()
            .map(|complaint| {
                let position = match &positions {
                    Some((positions, base)) => positions.of(base + complaint.bytes.start),
                    None => complaint.position,
                };
                let pointer = complaint.pointer.as_ref();
                ComplaintAnswer {
                    message: complaint.message.clone(),
                    accepted: complaint.accepted.clone(),
                    pointer: pointer.map(|pointer| match self.within {
                        Some(_) => format!("/board{pointer}"),
                        None => pointer.clone(),
                    }),
                    line: Some(position.line),
                    column: Some(position.column),
                }
            })
            .collect();
        let message = answers.first().map_or_else(
            || "the text is no board".to_owned(),
            |first| first.message.clone(),
        );
        NoBoard {
            answer: ErrorAnswer::new(kind, message).with_complaints(answers),
            complaints: complaints.to_vec(),
        }
    }
}

impl BoardRead<'_> {
    /// The board's own text.
    pub fn text(&self) -> &str {
        self.source.as_str()
    }

    /// The bytes of each marking in the board's own text, by index.
    pub fn places(&self) -> Vec<Range<usize>> {
        match self.form {
            Form::Json => json_places(self.text()),
            Form::Line => line_places(self.text()),
        }
    }

    /// The text whose lines are counted, and the place of the board's own text in it.
    pub(crate) fn within(&self) -> (&str, usize) {
        self.source.within.unwrap_or((self.text(), 0))
    }
}

/// What a text may be.
const FORMS: &str = "a board file, which is a JSON object and begins with `{`, or a board line, which has a barline `|`";

/// Whether a text is a board file or a board line; else what is wrong with it.
fn form_of(text: &str) -> Result<Form, (ErrorKind, String)> {
    let not_read = |what: &str| {
        let message = format!("this looks like {what}, a format that is not read yet");
        (ErrorKind::FormatNotRead, message)
    };
    match told_apart(text) {
        Content::Json => Ok(Form::Json),
        Content::Line => Ok(Form::Line),
        Content::Xml => Err(not_read("XML")),
        Content::Abc => Err(not_read("an ABC tune")),
        Content::Archive => Err(not_read("a compressed file")),
        Content::Other => {
            let message = if text.trim().is_empty() {
                "the text is empty"
            } else {
                "this is no board"
            };
            Err((ErrorKind::NoBoard, message.to_owned()))
        }
    }
}
