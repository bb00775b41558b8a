//! A thin layer over the XML parser: known names, the attributes that matter, lines, limits.

use memchr::memmem;
use quick_xml::events::Event;
use quick_xml::events::attributes::Attributes;

use super::inside::Inside;
use super::source::{Source, is_oversized};
use crate::error::{NotationError, NotationErrorKind};
use crate::passes::shortened;

/// Elements are nested at most so deep in a score (a real one needs about a dozen levels).
const DEEPEST: u32 = 200;

/// So many bytes of an element's text are kept: more than is looked at of a title or of words, of which it is told when they are longer.
const LONGEST_TEXT: usize = 10_000;

/// Declares the names that are known: a tag is told by one comparison of its length and bytes.
macro_rules! names {
    ($($name:ident = $text:literal),* $(,)?) => {
        /// The elements that are read; all others are `Other` and passed over.
        #[derive(Clone, Copy, PartialEq, Eq, Debug)]
        pub(super) enum Name { $($name,)* Other }

        impl Name {
            fn of(bytes: &[u8]) -> Name {
                match bytes { $($text => Name::$name,)* _ => Name::Other }
            }

            /// As it is written in a tag.
            pub(super) fn text(self) -> &'static str {
                let bytes: &[u8] = match self { $(Name::$name => $text,)* Name::Other => b"element" };
                // cannot fail: all names are plain letters.
                std::str::from_utf8(bytes).unwrap_or("element")
            }
        }
    };
}

names! {
    Note = b"note",
    Duration = b"duration",
    Chord = b"chord",
    Grace = b"grace",
    Staff = b"staff",
    Fermata = b"fermata",
    Measure = b"measure",
    Part = b"part",
    Backup = b"backup",
    Forward = b"forward",
    Direction = b"direction",
    Words = b"words",
    Rehearsal = b"rehearsal",
    Symbol = b"symbol",
    Segno = b"segno",
    Coda = b"coda",
    OctaveShift = b"octave-shift",
    Offset = b"offset",
    Sound = b"sound",
    Barline = b"barline",
    BarStyle = b"bar-style",
    Ending = b"ending",
    Repeat = b"repeat",
    Attributes = b"attributes",
    Divisions = b"divisions",
    Time = b"time",
    Beats = b"beats",
    BeatType = b"beat-type",
    Staves = b"staves",
    Print = b"print",
    WorkTitle = b"work-title",
    MovementTitle = b"movement-title",
    Creator = b"creator",
    PartList = b"part-list",
    ScorePart = b"score-part",
    Called = b"part-name",
    Partwise = b"score-partwise",
    Timewise = b"score-timewise",
    RootFile = b"rootfile",
}

impl Name {
    /// Whether any of its attributes is asked for: those of notes, of which scores are full, are not.
    fn has_attributes(self) -> bool {
        !matches!(
            self,
            Name::Other | Name::Note | Name::Duration | Name::Chord | Name::Grace | Name::Staff
        )
    }
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
pub(super) struct Xml<S> {
    source: S,
    /// The attributes of the last start tag.
    attributes: Vec<u8>,
    /// The last text.
    text: String,
    depth: u32,
    /// Whether the name in the last start tag has a prefix, `m:note`.
    is_prefixed: bool,
    wants_text: bool,
    /// The end of an element that has only one tag, `<chord/>`.
    ends: Option<Name>,
}

impl<S: Source> Xml<S> {
    pub(super) fn new(source: S) -> Xml<S> {
        Xml {
            source,
            attributes: Vec::new(),
            text: String::new(),
            depth: 0,
            is_prefixed: false,
            wants_text: false,
            ends: None,
        }
    }

    /// The line that has been read up to, from 1.
    pub(super) fn line(&self) -> u32 {
        self.source.line()
    }

    pub(super) fn next(&mut self) -> Result<Next, NotationError> {
        if let Some(name) = self.ends.take() {
            return Ok(Next::End(name));
        }
        loop {
            let event = match self.source.event() {
                Ok(event) => event,
                Err(error) => return Err(fault(&error, self.line())),
            };
            match event {
                Event::Start(tag) => {
                    let local = tag.local_name();
                    let name = Name::of(local.as_ref());
                    self.is_prefixed = local.as_ref().len() != tag.name().as_ref().len();
                    if name.has_attributes() {
                        self.attributes.clear();
                        self.attributes.extend_from_slice(tag.attributes_raw());
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
                Event::Empty(tag) => {
                    let name = Name::of(tag.local_name().as_ref());
                    if name.has_attributes() {
                        self.attributes.clear();
                        self.attributes.extend_from_slice(tag.attributes_raw());
                    }
                    self.ends = Some(name);
                    return Ok(Next::Start(name));
                }
                Event::End(tag) => {
                    self.depth = self.depth.saturating_sub(1);
                    return Ok(Next::End(Name::of(tag.local_name().as_ref())));
                }
                Event::Text(text) if self.wants_text => {
                    push(&mut self.text, &text);
                    return Ok(Next::Text);
                }
                Event::CData(text) if self.wants_text => {
                    push(&mut self.text, &text);
                    return Ok(Next::Text);
                }
                Event::GeneralRef(reference) if self.wants_text => {
                    let known = match reference.resolve_char_ref() {
                        Ok(Some(character)) => Some(character),
                        Ok(None) => named(&reference),
                        Err(_) => None,
                    };
                    let Some(character) = known else {
                        let name = shortened(&String::from_utf8_lossy(&reference));
                        return Err(self.error(
                            NotationErrorKind::Malformed,
                            format!(
                                "`&{name};` is not resolved: entities of a file's own are never read; \
                                 write the character itself"
                            ),
                        ));
                    };
                    push(
                        &mut self.text,
                        character.encode_utf8(&mut [0; 4]).as_bytes(),
                    );
                    return Ok(Next::Text);
                }
                Event::Eof => return Ok(Next::Eof),
                _ => {}
            }
        }
    }

    /// The text up to the end of the element that has begun.
    pub(super) fn text(&mut self, of: Name) -> Result<&str, NotationError> {
        self.text.clear();
        self.wants_text = true;
        let result = self.pass_over(of);
        self.wants_text = false;
        result?;
        Ok(&self.text)
    }

    /// Passes over the inside of the element that has begun, so that its end comes next; `None` when it has to be read event by event.
    pub(super) fn inside(&mut self) -> Option<Inside<'_>> {
        if self.ends.is_some() || self.wants_text {
            return None;
        }
        self.source.inside()
    }

    /// Goes on into the next element of this name, when it follows the one whose end comes next; whether it has.
    pub(super) fn next_alike(&mut self, name: Name) -> bool {
        !self.is_prefixed && self.source.next_alike(name.text().as_bytes())
    }

    /// Passes over the rest of the element that has begun.
    pub(super) fn pass_over(&mut self, of: Name) -> Result<(), NotationError> {
        // Whether it could be passed over in one go or not, its end is still to come.
        let _ = self.inside();
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
        // Mostly it is not there, which is sooner seen than read.
        memmem::find(&self.attributes, key.as_bytes())?;
        let attributes = String::from_utf8_lossy(&self.attributes);
        let mut all = Attributes::new(&attributes, 0);
        let mut all = all.with_checks(false).flatten();
        let found = all.find(|attribute| attribute.key.as_ref() == key.as_bytes())?;
        let value = String::from_utf8_lossy(&found.value);
        match quick_xml::escape::unescape(&value) {
            Ok(value) => Some(value.into_owned()),
            // An entity of the file's own stays as it is written.
            Err(_) => Some(value.into_owned()),
        }
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

/// Adds to a text what there is room for.
fn push(text: &mut String, more: &[u8]) {
    let room = LONGEST_TEXT.saturating_sub(text.len());
    let more = more.get(..room).unwrap_or(more);
    match std::str::from_utf8(more) {
        Ok(more) => text.push_str(more),
        Err(_) => text.push_str(&String::from_utf8_lossy(more)),
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
            format!(
                "`</{}>` stands where `</{}>` should close its element",
                shortened(found),
                shortened(expected)
            ),
        ),
        quick_xml::Error::IllFormed(IllFormedError::MissingEndTag(name)) => (
            NotationErrorKind::Truncated,
            format!(
                "the file ends inside `<{}>`: it is cut short",
                shortened(name)
            ),
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
        quick_xml::Error::Io(error) if is_oversized(error) => {
            (NotationErrorKind::TooLarge, error.to_string())
        }
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
