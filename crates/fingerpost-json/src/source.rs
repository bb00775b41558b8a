//! Reading the board of a request, from whichever form it is given in.

use std::borrow::Cow;
use std::ops::Range;
use std::sync::{Arc, OnceLock};

use fingerpost::{Board, Complaint, Phrasebook, ReadError, json_places, line_places};

use crate::content::{Content, told_apart};
use crate::error::{ComplaintAnswer, ErrorAnswer, ErrorKind};
use crate::positions::Positions;
use crate::score::{self, ScoreAsked, ScoreRead};
use crate::told::Voice;

/// The form of a board's text.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Form {
    /// A board file.
    Json,
    /// A board line.
    Line,
    /// A score: MusicXML, MNX or ABC.
    Score,
}

/// The text of a board, not read yet.
#[derive(Clone, Debug)]
pub struct Source<'a> {
    text: Text<'a>,
    /// The bytes of the file, where they are not those of the text.
    bytes: Option<&'a [u8]>,
    form: Option<Form>,
    /// The byte at which each line of the text begins, once somebody has asked; all tunes of a book share them.
    lines: Arc<OnceLock<Vec<usize>>>,
    /// The request in which it stands, and where in it.
    within: Option<(&'a str, usize)>,
}

/// A text that all tunes of a book share.
#[derive(Clone, Debug)]
enum Text<'a> {
    Borrowed(&'a str),
    Shared(Arc<str>),
}

/// A board that has been read, with its text.
#[derive(Clone, Debug)]
pub struct BoardRead<'a> {
    /// The board.
    pub board: Board,
    /// The form of its text.
    pub form: Form,
    pub(crate) score: Option<ScoreRead>,
    pub(crate) voice: Voice,
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
            text: match text.into() {
                Cow::Borrowed(text) => Text::Borrowed(text),
                Cow::Owned(text) => Text::Shared(text.into()),
            },
            bytes: None,
            form: None,
            lines: Arc::default(),
            within: None,
        }
    }

    /// The bytes of a score's file, in any encoding or compressed, and its text: what `fingerpost_notation::text_of` gives, or nothing.
    pub fn score_file(bytes: &'a [u8], text: &'a str) -> Source<'a> {
        Source {
            bytes: Some(bytes),
            ..Source::score(text)
        }
    }

    /// The text of a score.
    pub fn score(text: impl Into<Cow<'a, str>>) -> Source<'a> {
        Source {
            form: Some(Form::Score),
            ..Source::text(text)
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
        match &self.text {
            Text::Borrowed(text) => text,
            Text::Shared(text) => text,
        }
    }

    /// Reads the board.
    ///
    /// # Errors
    /// Everything that is wrong with the text; or that its format is not read; a book of several tunes.
    pub fn read(self) -> Result<BoardRead<'a>, Box<NoBoard>> {
        self.read_as(&ScoreAsked::default())
    }

    /// Reads the board of the tune or part that is asked for.
    ///
    /// # Errors
    /// As [`Source::read`]; no such tune or part, or no choice of them.
    pub fn read_as(self, asked: &ScoreAsked) -> Result<BoardRead<'a>, Box<NoBoard>> {
        let tune = |read: &BoardRead<'_>| read.tune().cloned();
        score::only(self.read_all(asked)?, tune, asked)
    }

    /// Reads every board there is: of a book that of each tune, or of the one that is asked for.
    ///
    /// # Errors
    /// As [`Source::read_as`], but for a book of several tunes.
    pub fn read_all(self, asked: &ScoreAsked) -> Result<Vec<BoardRead<'a>>, Box<NoBoard>> {
        let text = self.as_str();
        let form = match self.form {
            Some(form) => form,
            None => {
                form_of(text).map_err(|(kind, message)| Box::new(self.no_form(kind, message)))?
            }
        };
        let read = match form {
            Form::Score => {
                let bytes = self.bytes.unwrap_or(text.as_bytes());
                let read = score::read(bytes, asked)?.into_iter();
                let boards = read.map(|(board, score)| BoardRead {
                    board,
                    form,
                    score: Some(score),
                    voice: Voice::default(),
                    source: self.clone(),
                });
                return Ok(boards.collect());
            }
            Form::Json => Board::from_json(text),
            Form::Line => Board::from_line(text),
        };
        let board = read.map_err(|error| Box::new(self.no_board(&error)))?;
        if let Some(refusal) = score::no_choice(asked) {
            return Err(refusal.into());
        }
        Ok(vec![BoardRead {
            board,
            form,
            score: None,
            voice: Voice::default(),
            source: self,
        }])
    }

    /// A text of which not even the form is known: told at its first character.
    fn no_form(&self, kind: ErrorKind, message: String) -> NoBoard {
        let text = self.as_str();
        let start = text.find(|c: char| !c.is_whitespace() && c != '\u{feff}');
        let start = start.unwrap_or(0);
        let length = text.get(start..).and_then(|rest| rest.chars().next());
        let complaint = Complaint {
            message,
            accepted: Some(FORMS.to_owned()),
            pointer: None,
            position: fingerpost::Position::of_byte(text, start),
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

impl<'a> BoardRead<'a> {
    /// The same, spoken of in another voice in everything that is said of it.
    #[must_use]
    pub fn spoken(self, voice: Voice) -> BoardRead<'a> {
        BoardRead { voice, ..self }
    }
}

impl BoardRead<'_> {
    /// The phrases in which it is spoken of.
    pub fn book(&self) -> Phrasebook {
        self.voice.book()
    }

    /// The bytes of the file, of the text where that is the file.
    pub(crate) fn given(&self) -> &[u8] {
        let text = self.source.as_str();
        self.source.bytes.unwrap_or(text.as_bytes())
    }

    /// The board's own text.
    pub fn text(&self) -> &str {
        self.source.as_str()
    }

    /// A line of the board's own text, counted from 1, without the line break.
    pub fn line_of_text(&self, line: u32) -> Option<&str> {
        let starts = self.source.lines.get_or_init(|| {
            let breaks = self.text().match_indices('\n');
            std::iter::once(0)
                .chain(breaks.map(|(at, _)| at + 1))
                .collect()
        });
        let index = usize::try_from(line).ok()?.checked_sub(1)?;
        let rest = self.text().get(*starts.get(index)?..)?;
        rest.lines().next()
    }

    /// The bytes of each marking in the board's own text, by index; none of a score, of whose marks only the lines are known.
    pub fn places(&self) -> Vec<Range<usize>> {
        match self.form {
            Form::Json => json_places(self.text()),
            Form::Line => line_places(self.text()),
            Form::Score => Vec::new(),
        }
    }

    /// The line of the score on which a marking stands; none of a board file and a board line.
    pub(crate) fn line(&self, marking: Option<usize>) -> Option<u32> {
        self.score.as_ref()?.line(marking?)
    }

    /// The text whose lines are counted, and the place of the board's own text in it.
    pub(crate) fn within(&self) -> (&str, usize) {
        self.source.within.unwrap_or((self.text(), 0))
    }
}

/// What a text may be.
const FORMS: &str = "a board file, which is a JSON object and begins with `{`, a board line, which has a barline `|`, or a score in MusicXML, MNX or ABC";

/// What a text is; else what is wrong with it.
fn form_of(text: &str) -> Result<Form, (ErrorKind, String)> {
    match told_apart(text) {
        Content::Json => Ok(Form::Json),
        Content::Line => Ok(Form::Line),
        Content::Score => Ok(Form::Score),
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
