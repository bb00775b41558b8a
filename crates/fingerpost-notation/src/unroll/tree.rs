//! A small piece of a score's text as a tree of elements, each with the bytes where it stands.

use std::borrow::Cow;
use std::ops::Range;

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

/// An element: where it stands in the text, and what stands in it.
#[derive(Clone, Debug)]
pub(super) struct Node {
    /// The start tag.
    pub(super) open: Range<usize>,
    pub(super) whole: Range<usize>,
    name: Range<usize>,
    pub(super) children: Vec<Node>,
}

/// An attribute: the blank before it, its name and its value.
pub(super) struct Attribute<'t> {
    pub(super) range: Range<usize>,
    pub(super) name: &'t str,
    pub(super) value: Cow<'t, str>,
}

impl Node {
    pub(super) fn name<'t>(&self, text: &'t str) -> &'t str {
        text.get(self.name.clone()).unwrap_or_default()
    }

    pub(super) fn attributes<'t>(&self, text: &'t str) -> Vec<Attribute<'t>> {
        attributes(text, self.open.clone())
    }

    pub(super) fn attribute<'t>(&self, text: &'t str, name: &str) -> Option<Cow<'t, str>> {
        let found = self
            .attributes(text)
            .into_iter()
            .find(|attribute| attribute.name == name);
        found.map(|attribute| attribute.value)
    }

    pub(super) fn child(&self, text: &str, name: &str) -> Option<&Node> {
        self.children.iter().find(|child| child.name(text) == name)
    }

    /// The text in an element that holds no other.
    pub(super) fn text(&self, text: &str) -> String {
        let whole = text.get(self.open.end..self.whole.end).unwrap_or_default();
        let inner = whole.rsplit_once("</").map_or("", |(inner, _)| inner);
        if let Some((before, data)) = inner.split_once("<![CDATA[") {
            let data = data.split_once("]]>").map_or(data, |(data, _)| data);
            return format!("{before}{data}");
        }
        match quick_xml::escape::unescape(inner) {
            Ok(plain) => plain.into_owned(),
            Err(_) => inner.to_owned(),
        }
    }

    /// The number in a child element; 0 when there is none.
    pub(super) fn number_in(&self, text: &str, name: &str) -> u64 {
        self.child(text, name).map_or(0, |child| {
            let digits = child.text(text);
            let digits = digits.trim();
            let whole = digits.split_once('.').map_or(digits, |(whole, _)| whole);
            whole.parse().unwrap_or(0)
        })
    }
}

/// The attributes of the start tag that stands at these bytes.
pub(super) fn attributes(text: &str, open: Range<usize>) -> Vec<Attribute<'_>> {
    let Some(tag) = text.get(open.clone()) else {
        return Vec::new();
    };
    let name = tag
        .find(|c: char| c.is_whitespace() || c == '>' || c == '/')
        .unwrap_or(tag.len());
    let mut found = Vec::new();
    let mut at = name;
    // A well-formed tag: blank, name, `=`, a value in quotes.
    while let Some((before, rest)) = tag.get(at..).and_then(|rest| rest.split_once('=')) {
        let value = rest.trim_start();
        let Some(quote @ ('"' | '\'')) = value.chars().next() else {
            break;
        };
        let opens = at + before.len() + 1 + (rest.len() - value.len()) + 1;
        let Some(length) = tag.get(opens..).and_then(|value| value.find(quote)) else {
            break;
        };
        let value = tag.get(opens..opens + length).unwrap_or_default();
        found.push(Attribute {
            range: open.start + at..open.start + opens + length + 1,
            name: before.trim(),
            value: quick_xml::escape::unescape(value).unwrap_or(Cow::Borrowed(value)),
        });
        at = opens + length + 1;
    }
    found
}

/// Reads a text from front to back, each tag with the bytes where it stands.
pub(super) struct Scan<'t> {
    reader: Reader<&'t [u8]>,
    offset: usize,
}

/// What comes next.
pub(super) enum Tag<'t> {
    Open(BytesStart<'t>, Range<usize>),
    /// Opened and closed in one tag.
    Whole(BytesStart<'t>, Range<usize>),
    Close(Range<usize>),
}

impl<'t> Scan<'t> {
    pub(super) fn new(text: &'t str, range: Range<usize>) -> Scan<'t> {
        let mut reader = Reader::from_str(text.get(range.clone()).unwrap_or_default());
        // A stretch of a text need not close what stands around it; the whole has been read before.
        reader.config_mut().check_end_names = false;
        reader.config_mut().allow_unmatched_ends = true;
        Scan {
            reader,
            offset: range.start,
        }
    }

    fn place(&self) -> usize {
        self.offset + usize::try_from(self.reader.buffer_position()).unwrap_or(usize::MAX)
    }

    /// The next tag; `None` at the end. The text has been read as a score before: it is well formed.
    pub(super) fn next(&mut self) -> Option<Tag<'t>> {
        loop {
            let start = self.place();
            let event = self.reader.read_event().ok()?;
            let range = start..self.place();
            match event {
                Event::Start(tag) => return Some(Tag::Open(tag, range)),
                Event::Empty(tag) => return Some(Tag::Whole(tag, range)),
                Event::End(_) => return Some(Tag::Close(range)),
                Event::Eof => return None,
                _ => {}
            }
        }
    }
}

/// The bytes of a tag's name, without a prefix.
fn name_of(tag: &BytesStart<'_>, open: &Range<usize>) -> Range<usize> {
    let (whole, local) = (tag.name(), tag.local_name());
    let end = open.start + 1 + whole.as_ref().len();
    end - local.as_ref().len()..end
}

/// The elements that stand in a stretch of the text, one after the other.
pub(super) fn nodes(text: &str, range: Range<usize>) -> Vec<Node> {
    let mut scan = Scan::new(text, range.clone());
    let mut done: Vec<Node> = Vec::new();
    let mut open: Vec<Node> = Vec::new();
    while let Some(tag) = scan.next() {
        let finished = match tag {
            Tag::Open(tag, range) => {
                open.push(Node {
                    name: name_of(&tag, &range),
                    whole: range.clone(),
                    open: range,
                    children: Vec::new(),
                });
                None
            }
            Tag::Whole(tag, range) => Some(Node {
                name: name_of(&tag, &range),
                whole: range.clone(),
                open: range,
                children: Vec::new(),
            }),
            Tag::Close(range) => open.pop().map(|mut node| {
                node.whole.end = range.end;
                node
            }),
        };
        if let Some(node) = finished {
            match open.last_mut() {
                Some(parent) => parent.children.push(node),
                None => done.push(node),
            }
        }
    }
    done
}
