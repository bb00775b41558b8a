//! A thin layer over the XML parser: known names, the attributes that matter, lines, limits.

use std::borrow::Cow;

use memchr::memchr;
use quick_xml::events::Event;
use quick_xml::events::attributes::Attributes;

use super::inside::Inside;
use super::source::{Source, Tag, is_oversized};
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
            fn bytes(self) -> &'static [u8] {
                match self { $(Name::$name => $text,)* Name::Other => b"element" }
            }

            pub(super) fn text(self) -> &'static str {
                // cannot fail: all names are plain letters.
                std::str::from_utf8(self.bytes()).unwrap_or("element")
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
    Encoding = b"encoding",
    Defaults = b"defaults",
    Credit = b"credit",
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
    last: Last,
    /// The last text.
    text: String,
    wants_text: bool,
}

/// What is known of the last tag.
#[derive(Default)]
struct Last {
    /// The attributes of the last start tag.
    attributes: Vec<u8>,
    /// Whether the name in the last start tag has a prefix, `m:note`.
    is_prefixed: bool,
    depth: u32,
    /// The end of an element that has only one tag, `<chord/>`.
    ends: Option<Name>,
}

impl Last {
    /// Takes in a start tag; `None` when elements are nested too deep.
    fn start(&mut self, name: Name, attributes: &[u8], is_empty: bool) -> Option<Next> {
        if name.has_attributes() {
            self.attributes.clear();
            self.attributes.extend_from_slice(attributes);
        }
        if is_empty {
            self.ends = Some(name);
        } else {
            self.depth += 1;
        }
        (self.depth <= DEEPEST).then_some(Next::Start(name))
    }

    fn end(&mut self, name: &[u8]) -> Next {
        self.depth = self.depth.saturating_sub(1);
        Next::End(Name::of(name))
    }
}

impl<S: Source> Xml<S> {
    pub(super) fn new(source: S) -> Xml<S> {
        Xml {
            source,
            last: Last::default(),
            text: String::new(),
            wants_text: false,
        }
    }

    /// The line that has been read up to, from 1.
    pub(super) fn line(&self) -> u32 {
        self.source.line()
    }

    pub(super) fn next(&mut self) -> Result<Next, NotationError> {
        if let Some(name) = self.last.ends.take() {
            return Ok(Next::End(name));
        }
        loop {
            if let Some(tag) = self.source.tag(self.wants_text) {
                let next = match tag {
                    Tag::Start(tag) => {
                        self.last.is_prefixed = false;
                        let name = Name::of(tag.name);
                        self.last.start(name, tag.attributes, tag.is_empty)
                    }
                    Tag::End(name) => Some(self.last.end(name)),
                };
                return next.ok_or_else(|| self.too_deep());
            }
            let event = match self.source.event() {
                Ok(event) => event,
                Err(error) => return Err(fault(&error, self.line())),
            };
            match event {
                Event::Start(tag) => {
                    let local = tag.local_name();
                    let name = Name::of(local.as_ref());
                    self.last.is_prefixed = local.as_ref().len() != tag.name().as_ref().len();
                    let next = self.last.start(name, tag.attributes_raw(), false);
                    return next.ok_or_else(|| self.too_deep());
                }
                Event::Empty(tag) => {
                    let name = Name::of(tag.local_name().as_ref());
                    let next = self.last.start(name, tag.attributes_raw(), true);
                    return next.ok_or_else(|| self.too_deep());
                }
                Event::End(tag) => return Ok(self.last.end(tag.local_name().as_ref())),
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
        if let (None, Some(text)) = (self.last.ends, self.source.text()) {
            push(&mut self.text, text);
            self.pass_over(of)?;
            return Ok(&self.text);
        }
        self.wants_text = true;
        let result = self.pass_over(of);
        self.wants_text = false;
        result?;
        Ok(&self.text)
    }

    /// Passes over the inside of the element that has begun, so that its end comes next; `None` when it has to be read event by event.
    pub(super) fn inside(&mut self) -> Option<Inside<'_>> {
        if self.last.ends.is_some() || self.wants_text {
            return None;
        }
        self.source.inside()
    }

    /// Goes on into the next element of this name, when it follows the one whose end comes next; whether it has.
    pub(super) fn next_alike(&mut self, name: Name) -> bool {
        !self.last.is_prefixed && self.source.next_alike(name.bytes())
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
        self.value(key).map(Cow::into_owned)
    }

    /// The same, to look at only.
    pub(super) fn value(&self, key: &str) -> Option<Cow<'_, str>> {
        match plain_attribute(&self.last.attributes, key.as_bytes()) {
            Ok(value) => value.map(String::from_utf8_lossy),
            Err(Odd) => self.any_attribute(key).map(Cow::Owned),
        }
    }

    /// The same, however it is written.
    fn any_attribute(&self, key: &str) -> Option<String> {
        let attributes = String::from_utf8_lossy(&self.last.attributes);
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
        self.value(key).as_deref() == Some("yes")
    }

    fn too_deep(&self) -> NotationError {
        self.error(
            NotationErrorKind::TooLarge,
            format!("elements are nested more than {DEEPEST} deep; no score needs that"),
        )
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

/// Attributes at which the parser has to look.
struct Odd;

/// An attribute, where all up to it are plainly written: `key="value"`, and one space before each.
fn plain_attribute<'a>(attributes: &'a [u8], key: &[u8]) -> Result<Option<&'a [u8]>, Odd> {
    let mut rest = attributes;
    loop {
        let begin = match rest {
            [] | [b' '] => return Ok(None),
            [b' ', begin @ ..] => begin,
            _ => return Err(Odd),
        };
        let is_end = |byte: &u8| !matches!(byte, b'a'..=b'z' | b'-');
        let (name, after) = begin.split_at(begin.iter().position(is_end).ok_or(Odd)?);
        let [b'=', b'"', value @ ..] = after else {
            return Err(Odd);
        };
        let (value, after) = value.split_at(memchr(b'"', value).ok_or(Odd)?);
        if name == key {
            let is_plain = !value.contains(&b'&');
            return is_plain.then_some(Some(value)).ok_or(Odd);
        }
        rest = after.get(1..).unwrap_or_default();
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
