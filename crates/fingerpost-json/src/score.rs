//! Boards read from scores: which tune or part of a file, and what was noticed in reading it.

use fingerpost::NamedReading;
use fingerpost_notation::{
    Format, NotationError, NotationErrorKind, Notice, ReadOptions, Score, SignsFrom,
};
use serde::{Deserialize, Serialize};

use crate::error::{ComplaintAnswer, ErrorAnswer, ErrorKind, shown};
use crate::findings::{FindingAnswer, PlaceAnswer};
use crate::source::{BoardRead, NoBoard};
use crate::terms::ReadingAsked;

/// The most tunes of a book that a complaint names.
const MOST_NAMED: usize = 30;

/// Which tune of a book, and which part of a score, is meant.
#[derive(Clone, Default, PartialEq, Eq, Debug)]
pub struct ScoreAsked {
    /// The tune of an ABC book.
    pub tune: Option<TuneAsked>,
    /// The part of a MusicXML score, by its id or its name; when absent all parts are held against each other.
    pub part: Option<String>,
    /// From what the signs of a MusicXML score are read.
    pub signs_from: SignsFrom,
}

impl ScoreAsked {
    /// The same, for a reading: `musicxml` takes the instructions for playing at their word, and passes over words.
    #[must_use]
    pub fn for_reading(mut self, reading: ReadingAsked) -> ScoreAsked {
        if reading == ReadingAsked::Named(NamedReading::MusicXml) {
            self.signs_from = SignsFrom::Sound;
        }
        self
    }
}

/// A tune of a book, by its number or its title.
#[derive(Clone, PartialEq, Eq, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(untagged)]
pub enum TuneAsked {
    /// Its number: the field `X:`.
    Number(u32),
    /// Its title: the field `T:`.
    Title(String),
}

/// A tune of a book.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct TuneAnswer {
    /// Its number: the field `X:`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub number: Option<u32>,
    /// Its title: the first field `T:`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub title: Option<String>,
}

/// The score that a board was read from.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ScoreAnswer {
    /// Its format.
    pub format: FormatName,
    /// For ABC: the tune.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tune: Option<TuneAnswer>,
    /// The one part that was read, as it was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// What was noticed in reading it, in the order of the measures.
    pub notices: Vec<FindingAnswer>,
}

/// The formats of scores.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum FormatName {
    /// MusicXML 4.0, plain.
    Musicxml,
    /// MusicXML 4.0, compressed (.mxl).
    CompressedMusicxml,
    /// MNX, a draft.
    Mnx,
    /// ABC 2.1.
    Abc,
}

/// What is known of the score that a board was read from.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct ScoreRead {
    format: FormatName,
    pub(crate) tune: Option<TuneAnswer>,
    part: Option<String>,
    /// For each marking the line of the file.
    lines: Vec<Option<u32>>,
    notices: Vec<Notice>,
}

impl TuneAnswer {
    fn of(score: &Score) -> TuneAnswer {
        TuneAnswer {
            number: score.number,
            title: score.board.title().map(str::to_owned),
        }
    }

    /// As a complaint names it: `3 (Over the Stile)`.
    pub fn words(&self) -> String {
        let title = self.title.as_deref().map(shown);
        match (self.number, title) {
            (Some(number), Some(title)) => format!("{number} ({title})"),
            (Some(number), None) => number.to_string(),
            (None, Some(title)) => title,
            (None, None) => "one without number and title".to_owned(),
        }
    }
}

impl TuneAsked {
    fn is(&self, score: &Score) -> bool {
        match self {
            TuneAsked::Number(number) => score.number == Some(*number),
            TuneAsked::Title(title) => score
                .board
                .title()
                .is_some_and(|own| own.to_lowercase() == title.trim().to_lowercase()),
        }
    }

    fn words(&self) -> String {
        match self {
            TuneAsked::Number(number) => number.to_string(),
            TuneAsked::Title(title) => shown(title),
        }
    }
}

impl ScoreRead {
    /// The line of the file on which a marking stands.
    pub(crate) fn line(&self, marking: usize) -> Option<u32> {
        self.lines.get(marking).copied().flatten()
    }
}

impl BoardRead<'_> {
    /// The score that the board was read from; `None` for a board file and a board line.
    pub fn score(&self) -> Option<ScoreAnswer> {
        let score = self.score.as_ref()?;
        Some(ScoreAnswer {
            format: score.format,
            tune: score.tune.clone(),
            part: score.part.clone(),
            notices: self.notices(),
        })
    }

    /// The tune that it was read from, when it was read from a book of tunes.
    pub fn tune(&self) -> Option<&TuneAnswer> {
        self.score.as_ref()?.tune.as_ref()
    }

    /// What was noticed in reading the score, as findings; none for a board file and a board line.
    pub fn notices(&self) -> Vec<FindingAnswer> {
        let notices = self.score.iter().flat_map(|score| &score.notices);
        let notices = notices.map(|notice| FindingAnswer::noticed(self, notice));
        notices.collect()
    }
}

impl FindingAnswer {
    /// What was noticed in reading or writing a score.
    pub(crate) fn noticed(read: &BoardRead, notice: &Notice) -> FindingAnswer {
        let (board, book) = (&read.board, read.book());
        let rule = notice.rule;
        let measure = notice
            .measure
            .and_then(|measure| u16::try_from(measure).ok())
            .filter(|measure| (1..=board.measures()).contains(measure));
        let place = measure.map(|measure| PlaceAnswer {
            words: book.in_measure(board, measure),
            side: fingerpost::FindingSide::Whole,
            from: measure,
            to: measure,
            names: board.measure_numbers().map_or_else(Vec::new, |_| {
                vec![board.measure_name(measure), board.measure_name(measure)]
            }),
            point: None,
            beat: None,
        });
        FindingAnswer {
            rule: rule.name().to_owned(),
            severity: rule.severity(),
            message: book.message(&notice.message),
            help: book.message(&notice.help),
            clause: None,
            page: format!("spec/notation/{}.md", rule.name()),
            place,
            measure,
            marking: None,
            id: None,
            related: Vec::new(),
            line: notice.line,
            column: None,
            fixes: Vec::new(),
        }
    }
}

/// Every score of a file that is asked for, each as its board and what is known of it.
pub(crate) fn read(
    bytes: &[u8],
    asked: &ScoreAsked,
) -> Result<Vec<(fingerpost::Board, ScoreRead)>, Box<NoBoard>> {
    let format = fingerpost_notation::format_of(bytes);
    let mut options = ReadOptions::default();
    options.part.clone_from(&asked.part);
    options.signs_from = asked.signs_from;
    let scores = fingerpost_notation::read_with(bytes, &options);
    let mut scores = scores.map_err(|error| Box::new(unread(&error, format)))?;
    let is_book = format == Some(Format::Abc);
    if let Some(tune) = &asked.tune {
        if !is_book {
            let message = "a tune is chosen from a book of ABC tunes, and this is none";
            return Err(refused(ErrorKind::Request, message, None).into());
        }
        let known: Vec<TuneAnswer> = scores.iter().map(TuneAnswer::of).collect();
        scores.retain(|score| tune.is(score));
        if scores.is_empty() {
            let message = format!("there is no tune `{}` in this book", tune.words());
            return Err(refused(ErrorKind::UnknownName, message, Some(listed(&known))).into());
        }
    }
    let read = scores.into_iter().map(|score| {
        let tune = is_book.then(|| TuneAnswer::of(&score));
        let mut lines = score.lines;
        let mut notices = score.notices;
        if format == Some(Format::CompressedMusicXml) {
            // The lines are those of the score inside, which nobody sees.
            lines.clear();
            for notice in &mut notices {
                notice.line = None;
            }
        }
        let read = ScoreRead {
            format: format_name(format),
            tune,
            part: asked.part.clone(),
            lines,
            notices,
        };
        (score.board, read)
    });
    Ok(read.collect())
}

/// The one score, where one is meant.
pub(crate) fn only<T>(
    mut read: Vec<T>,
    tune_of: impl Fn(&T) -> Option<TuneAnswer>,
    asked: &ScoreAsked,
) -> Result<T, Box<NoBoard>> {
    let count = read.len();
    if count == 1 {
        if let Some(one) = read.pop() {
            return Ok(one);
        }
    }
    let known: Vec<TuneAnswer> = read.iter().filter_map(tune_of).collect();
    let message = match &asked.tune {
        Some(tune) => format!("this book has {count} tunes `{}`", tune.words()),
        None => format!("this book has {count} tunes, and one is wanted"),
    };
    Err(refused(ErrorKind::SeveralTunes, message, Some(listed(&known))).into())
}

/// The refusal of a choice where there is nothing to choose from.
pub(crate) fn no_choice(asked: &ScoreAsked) -> Option<NoBoard> {
    let what = match (&asked.tune, &asked.part) {
        (Some(_), _) => "a tune is chosen from a book of ABC tunes, and this is a board",
        (None, Some(_)) => "a part is chosen from a MusicXML score, and this is a board",
        (None, None) => return None,
    };
    Some(refused(ErrorKind::Request, what, None))
}

fn listed(known: &[TuneAnswer]) -> String {
    let mut words: Vec<String> = known
        .iter()
        .take(MOST_NAMED)
        .map(TuneAnswer::words)
        .collect();
    if known.len() > MOST_NAMED {
        words.push(format!("… {} in all", known.len()));
    }
    format!(
        "the number or the title of one of them: {}",
        words.join(", ")
    )
}

fn refused(kind: ErrorKind, message: impl Into<String>, accepted: Option<String>) -> NoBoard {
    let message = message.into();
    let complaint = ComplaintAnswer {
        message: message.clone(),
        accepted,
        pointer: None,
        line: None,
        column: None,
    };
    NoBoard {
        answer: ErrorAnswer::new(kind, message).with_complaints(vec![complaint]),
        complaints: Vec::new(),
    }
}

fn unread(error: &NotationError, format: Option<Format>) -> NoBoard {
    let kind = match error.kind() {
        NotationErrorKind::UnknownFormat => ErrorKind::FormatNotRead,
        NotationErrorKind::NoSuchPart => ErrorKind::UnknownName,
        _ => ErrorKind::NoBoard,
    };
    let (line, message) = match (error.line(), format) {
        (Some(line), Some(Format::CompressedMusicXml)) => {
            (None, format!("{error} (line {line} of the score inside)"))
        }
        (line, _) => (line, error.to_string()),
    };
    let accepted = (kind == ErrorKind::FormatNotRead).then(|| {
        "a score in MusicXML, plain or compressed, in MNX or in ABC; a board file; a board line"
            .to_owned()
    });
    let complaint = ComplaintAnswer {
        message: message.clone(),
        accepted,
        pointer: None,
        line,
        column: None,
    };
    NoBoard {
        answer: ErrorAnswer::new(kind, message).with_complaints(vec![complaint]),
        complaints: Vec::new(),
    }
}

fn format_name(format: Option<Format>) -> FormatName {
    match format {
        Some(Format::CompressedMusicXml) => FormatName::CompressedMusicxml,
        Some(Format::Mnx) => FormatName::Mnx,
        Some(Format::Abc) => FormatName::Abc,
        _ => FormatName::Musicxml,
    }
}
