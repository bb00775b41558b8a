//! A thin layer over the XML parser: known names, the attributes that matter, lines, limits.

use std::io::BufRead;

use quick_xml::Reader;
use quick_xml::events::Event;
use quick_xml::events::attributes::Attributes;

use crate::error::{NotationError, NotationErrorKind};

/// Elements are nested at most so deep in a score (a real one needs about a dozen levels).
const DEEPEST: u32 = 200;

/// Declares the names that are known, so that a tag is told by one comparison of its length and bytes.
macro_rules! names {
    ($($name:ident = $text:literal),* $(,)?) => {
        /// The elements that are read; all others are `Other` and passed over.
        #[derive(Clone, Copy, PartialEq, Eq, Debug)]
        pub(super) enum Name { $($name,)* Other }

        impl Name {
            fn of(bytes: &[u8]) -> Name {
                $(if bytes == $text.as_bytes() { return Name::$name; })*
                Name::Other
            }

            /// As it is written in a tag.
            pub(super) fn text(self) -> &'static str {
                match self { $(Name::$name => $text,)* Name::Other => "element" }
            }
        }
    };
}

names! {
    Note = "note",
    Duration = "duration",
    Chord = "chord",
    Grace = "grace",
    Staff = "staff",
    Fermata = "fermata",
    Measure = "measure",
    Part = "part",
    Backup = "backup",
    Forward = "forward",
    Direction = "direction",
    Words = "words",
    Rehearsal = "rehearsal",
    Symbol = "symbol",
    Segno = "segno",
    Coda = "coda",
    OctaveShift = "octave-shift",
    Offset = "offset",
    Sound = "sound",
    Barline = "barline",
    BarStyle = "bar-style",
    Ending = "ending",
    Repeat = "repeat",
    Attributes = "attributes",
    Divisions = "divisions",
    Time = "time",
    Beats = "beats",
    BeatType = "beat-type",
    Staves = "staves",
    Print = "print",
    WorkTitle = "work-title",
    MovementTitle = "movement-title",
    Creator = "creator",
    PartList = "part-list",
    ScorePart = "score-part",
    Called = "part-name",
    Partwise = "score-partwise",
    Timewise = "score-timewise",
    RootFile = "rootfile",
}

/// What comes next in the file.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Next {
    Start(Name),
    End(Name),
    Text,
    Eof,
}

/// Reads a file from front to back; holds no more of it than one tag or one stretch of text.
pub(super) struct Xml<R> {
    reader: Reader<Lines<R>>,
    buffer: Vec<u8>,
    /// The attributes of the last start tag.
    attributes: String,
    /// The last text.
    text: String,
    depth: u32,
    wants_text: bool,
}

impl<R: BufRead> Xml<R> {
    pub(super) fn new(source: R) -> Xml<R> {
        let mut reader = Reader::from_reader(Lines { source, line: 1 });
        reader.config_mut().expand_empty_elements = true;
        Xml {
            reader,
            buffer: Vec::new(),
            attributes: String::new(),
            text: String::new(),
            depth: 0,
            wants_text: false,
        }
    }

    /// The line that has been read up to, from 1.
    pub(super) fn line(&self) -> u32 {
        self.reader.get_ref().line
    }

    pub(super) fn next(&mut self) -> Result<Next, NotationError> {
        loop {
            self.buffer.clear();
            let event = match self.reader.read_event_into(&mut self.buffer) {
                Ok(event) => event,
                Err(error) => return Err(fault(&error, self.reader.get_ref().line)),
            };
            match event {
                Event::Start(tag) => {
                    let name = Name::of(tag.local_name().as_ref());
                    self.attributes.clear();
                    if !matches!(name, Name::Note | Name::Other | Name::Duration) {
                        self.attributes
                            .push_str(&String::from_utf8_lossy(tag.attributes_raw()));
                    }
                    self.depth += 1;
                    if self.depth > DEEPEST {
                        return Err(self.error(
                            NotationErrorKind::TooLarge,
                            format!(
                                "elements are nested more than {DEEPEST} deep; no score needs that"
                            ),
                        ));
                    }
                    return Ok(Next::Start(name));
                }
                Event::End(tag) => {
                    self.depth = self.depth.saturating_sub(1);
                    return Ok(Next::End(Name::of(tag.local_name().as_ref())));
                }
                Event::Text(text) if self.wants_text => {
                    self.text.push_str(&String::from_utf8_lossy(&text));
                    return Ok(Next::Text);
                }
                Event::CData(text) if self.wants_text => {
                    self.text.push_str(&String::from_utf8_lossy(&text));
                    return Ok(Next::Text);
                }
                Event::GeneralRef(reference) if self.wants_text => {
                    let known = match reference.resolve_char_ref() {
                        Ok(Some(character)) => Some(character),
                        Ok(None) => named(&reference),
                        Err(_) => None,
                    };
                    let Some(character) = known else {
                        let name = String::from_utf8_lossy(&reference).into_owned();
                        return Err(self.error(
                            NotationErrorKind::Malformed,
                            format!(
                                "`&{name};` is not resolved: entities of a file's own are never read; \
                                 write the character itself"
                            ),
                        ));
                    };
                    self.text.push(character);
                    return Ok(Next::Text);
                }
                Event::Eof => return Ok(Next::Eof),
                _ => {}
            }
        }
    }

    /// The text up to the end of the element that has begun.
    pub(super) fn text(&mut self, of: Name) -> Result<String, NotationError> {
        self.text.clear();
        self.wants_text = true;
        let result = self.pass_over(of);
        self.wants_text = false;
        result?;
        Ok(std::mem::take(&mut self.text))
    }

    /// Passes over the rest of the element that has begun.
    pub(super) fn pass_over(&mut self, of: Name) -> Result<(), NotationError> {
        let mut inside = 1_u32;
        loop {
            match self.next()? {
                Next::Start(_) => inside += 1,
                Next::End(_) => inside -= 1,
                Next::Text => {}
                Next::Eof => return Err(self.cut_short(of)),
            }
            if inside == 0 {
                return Ok(());
            }
        }
    }

    /// An attribute of the last start tag whose name is known.
    pub(super) fn attribute(&self, key: &str) -> Option<String> {
        Attributes::new(&self.attributes, 0)
            .with_checks(false)
            .flatten()
            .find(|attribute| attribute.key.as_ref() == key.as_bytes())
            .map(|attribute| {
                let value = String::from_utf8_lossy(&attribute.value);
                match quick_xml::escape::unescape(&value) {
                    Ok(value) => value.into_owned(),
                    // An entity of the file's own stays as it is written.
                    Err(_) => value.into_owned(),
                }
            })
    }

    /// Whether an attribute has the value `yes`.
    pub(super) fn is_yes(&self, key: &str) -> bool {
        self.attribute(key).as_deref() == Some("yes")
    }

    pub(super) fn cut_short(&self, of: Name) -> NotationError {
        self.error(
            NotationErrorKind::Truncated,
            format!("the file ends inside `<{}>`: it is cut short", of.text()),
        )
    }

    pub(super) fn error(&self, kind: NotationErrorKind, message: String) -> NotationError {
        NotationError::new(kind, self.line(), message)
    }
}

/// The five entities that XML itself names.
fn named(name: &[u8]) -> Option<char> {
    Some(match name {
        b"amp" => '&',
        b"lt" => '<',
        b"gt" => '>',
        b"quot" => '"',
        b"apos" => '\'',
        _ => return None,
    })
}

/// What the parser complains about, with the line.
fn fault(error: &quick_xml::Error, line: u32) -> NotationError {
    use quick_xml::errors::{IllFormedError, SyntaxError};
    let (kind, message) = match error {
        quick_xml::Error::IllFormed(IllFormedError::MismatchedEndTag { expected, found }) => (
            NotationErrorKind::Malformed,
            format!("`</{found}>` stands where `</{expected}>` should close its element"),
        ),
        quick_xml::Error::IllFormed(IllFormedError::MissingEndTag(name)) => (
            NotationErrorKind::Truncated,
            format!("the file ends inside `<{name}>`: it is cut short"),
        ),
        quick_xml::Error::Syntax(
            SyntaxError::UnclosedTag
            | SyntaxError::UnclosedComment
            | SyntaxError::UnclosedCData
            | SyntaxError::UnclosedPI
            | SyntaxError::UnclosedDoctype
            | SyntaxError::UnclosedXmlDecl
            | SyntaxError::UnclosedSingleQuotedAttributeValue
            | SyntaxError::UnclosedDoubleQuotedAttributeValue,
        ) => (
            NotationErrorKind::Truncated,
            "the file ends inside a tag: it is cut short".to_owned(),
        ),
        quick_xml::Error::Io(error) => (
            NotationErrorKind::Container,
            format!("the file cannot be read on: {error}"),
        ),
        other => (
            NotationErrorKind::Malformed,
            format!("this is no well-formed XML: {other}"),
        ),
    };
    NotationError::new(kind, line, message)
}

/// Counts the lines that have been consumed.
struct Lines<R> {
    source: R,
    line: u32,
}

impl<R: BufRead> std::io::Read for Lines<R> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        let read = self.source.read(buffer)?;
        self.count(buffer.get(..read).unwrap_or_default());
        Ok(read)
    }
}

impl<R> Lines<R> {
    fn count(&mut self, bytes: &[u8]) {
        let lines = memchr::memchr_iter(b'\n', bytes).count();
        self.line = self
            .line
            .saturating_add(u32::try_from(lines).unwrap_or(u32::MAX));
    }
}

impl<R: BufRead> BufRead for Lines<R> {
    fn fill_buf(&mut self) -> std::io::Result<&[u8]> {
        self.source.fill_buf()
    }

    fn consume(&mut self, amount: usize) {
        // What is consumed stands in the buffer still, so that filling it again reads nothing.
        if let Ok(bytes) = self.source.fill_buf() {
            let lines = memchr::memchr_iter(b'\n', bytes.get(..amount).unwrap_or_default()).count();
            self.line = self
                .line
                .saturating_add(u32::try_from(lines).unwrap_or(u32::MAX));
        }
        self.source.consume(amount);
    }
}
