//! What requests hold.

use serde::Deserialize;
use serde_json::value::RawValue;

use crate::error::{ComplaintAnswer, ErrorAnswer, ErrorKind, shown};
use crate::judge::{AnswerAsked, NamedAsked};
use crate::score::{ScoreAsked, TuneAsked};
use crate::source::Source;
use crate::terms::ReadingAsked;
use crate::told::MeasureName;
use crate::unroll::Window;

/// The board of a request, in one of four forms, with the tune or part of a score.
#[derive(Debug)]
pub(crate) struct Forms<'a> {
    pub(crate) board: Option<&'a RawValue>,
    pub(crate) line: Option<String>,
    pub(crate) text: Option<String>,
    pub(crate) score: Option<String>,
    pub(crate) asked: ScoreAsked,
}

/// A request about one board: the keys that say which board it is, those that say how it is read where it is told what `reading` means to
/// it, and its own.
macro_rules! request {
    ($(#[$about:meta])+ $name:ident = $verb:literal, reading $reading:literal { $($own:tt)* }) => {
        $crate::request::request! {
            $(#[$about])+
            $name = $verb {
                #[doc = $reading]
                #[serde(default)]
                pub(crate) reading: $crate::terms::ReadingAsked,
                /// How many times a section that is open ("until the signal") is played.
                #[serde(default)]
                #[cfg_attr(feature = "schema", schemars(range(min = 1, max = 1_000_000)))]
                pub(crate) plays: Option<u32>,
                /// Whether repeats are left out: every section once, on its last pass.
                #[serde(default)]
                pub(crate) omit_repeats: bool,
                $($own)*
            }
        }

        impl $name<'_> {
            /// The terms on which the board is read.
            pub(crate) fn terms(&self) -> $crate::terms::TermsAsked {
                $crate::terms::TermsAsked {
                    reading: self.reading,
                    plays: self.plays,
                    omit_repeats: self.omit_repeats,
                }
            }
        }
    };
    ($(#[$about:meta])+ $name:ident = $verb:literal { $($own:tt)* }) => {
        #[derive(Debug, serde::Deserialize)]
        #[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
        $(#[$about])+
        #[serde(rename_all = "kebab-case", deny_unknown_fields)]
        pub(crate) struct $name<'a> {
            #[serde(rename = "verb")]
            #[cfg_attr(feature = "schema", schemars(extend("const" = $verb)))]
            _verb: String,
            /// The JSON of a board file.
            #[serde(borrow, default)]
            #[cfg_attr(
                feature = "schema",
                schemars(with = "Option<crate::schema::BoardFile>")
            )]
            pub(crate) board: Option<&'a serde_json::value::RawValue>,
            /// A board line.
            #[serde(default)]
            pub(crate) line: Option<String>,
            /// A board file, a board line or a score, told apart by content.
            #[serde(default)]
            pub(crate) text: Option<String>,
            /// The text of a score: MusicXML, MNX or ABC.
            #[serde(default)]
            pub(crate) score: Option<String>,
            /// The tune of an ABC book, by its number or its title; a book of several needs it.
            #[serde(default)]
            pub(crate) tune: Option<$crate::score::TuneAsked>,
            /// The one part of a MusicXML score that is read, by its id or its name; absent: all parts are held against each other.
            #[serde(default)]
            pub(crate) part: Option<String>,
            /// What a measure is called in English, in everything that is said.
            #[serde(default)]
            pub(crate) measures: $crate::told::MeasureName,
            $($own)*
        }
    };
}
pub(crate) use request;

/// The forms of a request that has them among its fields.
macro_rules! forms {
    ($request:expr) => {
        $crate::request::Forms {
            board: $request.board,
            line: $request.line,
            text: $request.text,
            score: $request.score,
            asked: $crate::score::ScoreAsked {
                tune: $request.tune,
                part: $request.part,
                ..$crate::score::ScoreAsked::default()
            },
        }
    };
}
pub(crate) use forms;

impl<'a> Forms<'a> {
    /// The one form that is given.
    pub(crate) fn source(self, request: &'a str) -> Result<(Source<'a>, ScoreAsked), ErrorAnswer> {
        let board = self.board.map(|board| Source::inside(request, board.get()));
        let given = [
            board,
            self.line.map(Source::line),
            self.text.map(Source::text),
            self.score.map(Source::score),
        ];
        let mut given = given.into_iter().flatten();
        match (given.next(), given.next()) {
            (Some(source), None) => Ok((source, self.asked)),
            (None, _) => Err(ErrorAnswer::new(
                ErrorKind::Request,
                "the request has no board: give it as `board`, `line`, `text` or `score`",
            )),
            (Some(_), Some(_)) => Err(ErrorAnswer::new(
                ErrorKind::Request,
                "the request has more than one board: give one of `board`, `line`, `text` and `score`",
            )),
        }
    }

    /// The same, for a reading.
    pub(crate) fn for_reading(mut self, reading: ReadingAsked) -> Forms<'a> {
        self.asked = self.asked.for_reading(reading);
        self
    }

    /// Whether there is a board at all.
    pub(crate) fn is_empty(&self) -> bool {
        self.board.is_none() && self.line.is_none() && self.text.is_none() && self.score.is_none()
    }
}

/// `check`: the findings on one board or on many.
#[derive(Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub(crate) struct CheckRequest<'a> {
    #[serde(rename = "verb")]
    #[cfg_attr(feature = "schema", schemars(extend("const" = "check")))]
    _verb: String,
    /// The JSON of a board file.
    #[serde(borrow, default)]
    #[cfg_attr(
        feature = "schema",
        schemars(with = "Option<crate::schema::BoardFile>")
    )]
    pub(crate) board: Option<&'a RawValue>,
    /// A board line.
    #[serde(default)]
    pub(crate) line: Option<String>,
    /// A board file, a board line or a score, told apart by content.
    #[serde(default)]
    pub(crate) text: Option<String>,
    /// The text of a score: MusicXML, MNX or ABC. Of a book of tunes each tune is checked.
    #[serde(default)]
    pub(crate) score: Option<String>,
    /// The one tune of an ABC book that is meant, by its number or its title.
    #[serde(default)]
    pub(crate) tune: Option<TuneAsked>,
    /// The one part of a MusicXML score that is read, by its id or its name; absent: all parts are held against each other.
    #[serde(default)]
    pub(crate) part: Option<String>,
    /// What a measure is called in English, in everything that is said.
    #[serde(default)]
    pub(crate) measures: MeasureName,
    /// Many boards, in place of one.
    #[serde(default)]
    pub(crate) boards: Option<Vec<OneOfMany<'a>>>,
}

/// One of many boards.
#[derive(Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub(crate) struct OneOfMany<'a> {
    /// A name that the answer repeats.
    #[serde(default)]
    pub(crate) file: Option<String>,
    /// The JSON of a board file.
    #[serde(borrow, default)]
    #[cfg_attr(
        feature = "schema",
        schemars(with = "Option<crate::schema::BoardFile>")
    )]
    pub(crate) board: Option<&'a RawValue>,
    /// A board line.
    #[serde(default)]
    pub(crate) line: Option<String>,
    /// A board file, a board line or a score, told apart by content.
    #[serde(default)]
    pub(crate) text: Option<String>,
    /// The text of a score: MusicXML, MNX or ABC. Of a book of tunes each tune is checked.
    #[serde(default)]
    pub(crate) score: Option<String>,
    /// The one tune of an ABC book that is meant, by its number or its title.
    #[serde(default)]
    pub(crate) tune: Option<TuneAsked>,
    /// The one part of a MusicXML score that is read, by its id or its name; absent: all parts are held against each other.
    #[serde(default)]
    pub(crate) part: Option<String>,
}

request! {
    /// `write-out`: a MusicXML score written out in playing order.
    WriteOutRequest = "write-out", reading "The reading; the board's own answers outrank it. For a score in MusicXML `musicxml` means its instructions for playing at their word." {
        /// What is to be written; a MusicXML score when absent.
        #[serde(default)]
        pub(crate) form: crate::write_out::WriteOutForm,
        /// The quarter notes a minute of a MIDI file; 96 when absent.
        #[serde(default)]
        pub(crate) tempo: Option<u16>,
        /// The most measures to write; 100 000 when absent.
        #[serde(default)]
        pub(crate) limit: Option<u32>,
    }
}

request! {
    /// `unroll`: the order in which the measures of a board are played.
    UnrollRequest = "unroll", reading "The reading; the board's own answers outrank it. For a score in MusicXML `musicxml` means its instructions for playing at their word." {
        /// The most steps to write out; 1 000 000 when absent.
        #[serde(default)]
        pub(crate) limit: Option<u64>,
        /// The first step to write out, counted from 1.
        #[serde(default)]
        #[cfg_attr(feature = "schema", schemars(range(min = 1)))]
        pub(crate) from: Option<u64>,
        /// How many steps to write out.
        #[serde(default)]
        pub(crate) count: Option<u64>,
    }
}

impl UnrollRequest<'_> {
    pub(crate) fn window(&self) -> Window {
        Window {
            limit: self.limit,
            from: self.from,
            count: self.count,
        }
    }
}

request! {
    /// `compare`: the routes that the readings of a board give, side by side.
    CompareRequest = "compare", reading "The reading whose route comes first; the board's own answers outrank it. For a score in MusicXML `musicxml` means its instructions for playing at their word." {
        /// The most steps of each route to write out; 10 000 when absent.
        #[serde(default)]
        pub(crate) limit: Option<u64>,
    }
}

request! {
    /// `board`: a board in both its forms, and as a score when that is asked for.
    BoardRequest = "board" {
        /// Whether the board is wanted as a score in MusicXML too.
        #[serde(default)]
        pub(crate) musicxml: bool,
    }
}

request! {
    /// `where`: every place of a board where a sign could stand, with its verdict.
    WhereRequest = "where" {
        /// The sign in the notation of the board line: `D.S. al Coda`, `|:`, `[1.`; absent: each sign in the board's hand.
        #[serde(default)]
        pub(crate) sign: Option<String>,
    }
}

request! {
    /// `missing`: the smallest sets of signs that make a board legal.
    MissingRequest = "missing" {}
}

request! {
    /// `judge`: answers of learners on a board.
    JudgeRequest = "judge", reading "The reading whose order is the right one; the board's own answers outrank it. For a score in MusicXML `musicxml` means its instructions for playing at their word." {
        /// The answer.
        #[serde(default)]
        pub(crate) answer: Option<AnswerAsked>,
        /// Many answers, in place of one.
        #[serde(default)]
        pub(crate) answers: Option<Vec<NamedAsked>>,
    }
}

/// `schema`: the JSON Schema of a board file, of requests or of an answer.
#[derive(Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub(crate) struct SchemaRequest {
    #[serde(rename = "verb")]
    #[cfg_attr(feature = "schema", schemars(extend("const" = "schema")))]
    _verb: String,
    /// Its name: `board`, `request`, `check`, `unroll` …; `board` when absent.
    #[serde(default)]
    #[cfg_attr(not(feature = "schema"), allow(dead_code))]
    pub(crate) name: Option<String>,
}

/// Reads a request, or a part of it that is asked for.
pub(crate) fn parse<'a, T: Deserialize<'a>>(request: &'a str) -> Result<T, ErrorAnswer> {
    serde_json::from_str(request).map_err(|error| fault(&error))
}

fn fault(error: &serde_json::Error) -> ErrorAnswer {
    let text = error.to_string();
    // The place is a field of its own in the answer.
    let text = match text.rfind(" at line ") {
        Some(at) if error.line() > 0 => text.get(..at).unwrap_or(&text),
        _ => &text,
    };
    let (message, accepted) = match text.split_once(", expected ") {
        Some((message, accepted)) => (message, Some(shown_list(accepted))),
        None => (text, None),
    };
    let message = if error.is_data() {
        shown_long(message)
    } else {
        format!("the request is not JSON: {}", shown_long(message))
    };
    let number = |n: usize| u32::try_from(n).ok().filter(|&n| n > 0);
    let complaint = ComplaintAnswer {
        message: message.clone(),
        accepted,
        pointer: None,
        line: number(error.line()),
        column: number(error.column()),
    };
    ErrorAnswer::new(ErrorKind::Request, message).with_complaints(vec![complaint])
}

fn shown_list(accepted: &str) -> String {
    accepted
        .strip_prefix("one of ")
        .unwrap_or(accepted)
        .to_owned()
}

/// A message that may quote what was sent, cut when it is very long.
fn shown_long(message: &str) -> String {
    if message.chars().count() > 300 {
        format!("{}…", message.chars().take(300).collect::<String>())
    } else {
        message.to_owned()
    }
}

/// The verb of a request.
#[derive(Deserialize)]
struct Verb {
    verb: String,
}

/// The verb that a request asks for; whether it is one is not asked here.
pub(crate) fn verb_of(request: &str) -> Result<String, ErrorAnswer> {
    // An array could be read as the keys in their order; it is not meant as one.
    let array = request.trim_start().starts_with('[');
    if array && serde_json::from_str::<serde::de::IgnoredAny>(request).is_ok() {
        return Err(ErrorAnswer::new(
            ErrorKind::Request,
            "a request is a JSON object, and this is an array",
        ));
    }
    parse::<Verb>(request).map(|it| it.verb)
}

/// The complaint about a verb that is none.
pub(crate) fn unknown_verb(verb: &str, known: &[&str]) -> ErrorAnswer {
    let near = crate::error::nearest(verb, known.iter().copied());
    let verb = shown(verb);
    let message = match near {
        Some(near) => format!("`{verb}` is not a verb; did you mean `{near}`?"),
        None => format!("`{verb}` is not a verb"),
    };
    let complaint = ComplaintAnswer {
        message: message.clone(),
        accepted: Some(known.join(", ")),
        pointer: Some("/verb".to_owned()),
        line: None,
        column: None,
    };
    ErrorAnswer::new(ErrorKind::Request, message).with_complaints(vec![complaint])
}
