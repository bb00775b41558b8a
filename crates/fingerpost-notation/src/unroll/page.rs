//! Where the measures of a score stand in its text, whatever the order of parts and measures.

use std::collections::HashMap;
use std::ops::Range;

use super::tree::{Scan, Tag, attributes};

/// The text of a score, cut up.
pub(super) struct Page {
    /// Everything before the first part or measure.
    pub(super) head: Range<usize>,
    /// What of the head is not taken over, each with what stands there in its place.
    pub(super) head_cuts: Vec<(Range<usize>, &'static str)>,
    pub(super) parts: Vec<PartText>,
    /// From the end of the last part or measure.
    pub(super) tail: Range<usize>,
    pub(super) timewise: bool,
    /// In a timewise score, the start tag of each measure.
    pub(super) measures: Vec<Range<usize>>,
}

/// One part of the score.
#[derive(Default)]
pub(super) struct PartText {
    /// In a partwise score, the start tag of the part.
    pub(super) open: Range<usize>,
    pub(super) measures: Vec<Body>,
}

/// One measure of one part: the start tag of the inner of the two elements, and what stands in it.
#[derive(Clone, Default)]
pub(super) struct Body {
    pub(super) open: Range<usize>,
    pub(super) inner: Range<usize>,
}

/// Cuts up the text of a score that has been read before.
pub(super) fn page(text: &str) -> Page {
    let mut cutting = Cutting {
        text,
        page: Page {
            head: 0..text.len(),
            head_cuts: Vec::new(),
            parts: Vec::new(),
            tail: text.len()..text.len(),
            timewise: false,
            measures: Vec::new(),
        },
        ids: HashMap::new(),
        part: 0,
        begun: false,
    };
    declare(text, &mut cutting.page);
    let mut scan = Scan::new(text, 0..text.len());
    let mut depth = 0_u32;
    while let Some(tag) = scan.next() {
        match tag {
            Tag::Open(tag, range) => {
                cutting.open(depth, tag.local_name().as_ref(), range);
                depth += 1;
            }
            Tag::Whole(tag, range) => cutting.open(depth, tag.local_name().as_ref(), range),
            Tag::Close(range) => {
                depth = depth.saturating_sub(1);
                cutting.close(depth, range);
            }
        }
    }
    cutting.page
}

struct Cutting<'t> {
    text: &'t str,
    page: Page,
    /// The parts by their names, in a timewise score.
    ids: HashMap<String, usize>,
    /// The present part.
    part: usize,
    begun: bool,
}

impl Cutting<'_> {
    /// The elements in which the music stands: the outer and the inner one.
    fn names(&self) -> (&'static str, &'static str) {
        if self.page.timewise {
            ("measure", "part")
        } else {
            ("part", "measure")
        }
    }

    fn open(&mut self, depth: u32, name: &[u8], range: Range<usize>) {
        let (outer, inner) = self.names();
        match depth {
            0 => self.page.timewise = name == b"score-timewise",
            1 if name == outer.as_bytes() => {
                if !self.begun {
                    self.page.head.end = range.start;
                    self.begun = true;
                }
                self.page.tail.start = range.end;
                if self.page.timewise {
                    self.page.measures.push(range);
                } else {
                    self.part = self.page.parts.len();
                    self.page.parts.push(PartText {
                        open: range,
                        measures: Vec::new(),
                    });
                }
            }
            2 if self.begun && name == inner.as_bytes() => self.body(range),
            // Where systems and pages break is not said of the new order.
            _ if !self.begun && name == b"supports" => {
                let tag = self.text.get(range.clone()).unwrap_or_default();
                let mut said = attributes(self.text, range.clone()).into_iter();
                let of_print = said.any(|it| it.name == "element" && it.value == "print");
                if of_print && tag.ends_with("/>") {
                    self.page.head_cuts.push((range, ""));
                }
            }
            _ => {}
        }
    }

    /// A measure of a part begins.
    fn body(&mut self, open: Range<usize>) {
        let mut missing = 0;
        if self.page.timewise {
            let mut said = attributes(self.text, open.clone()).into_iter();
            let id = said.find(|attribute| attribute.name == "id");
            let id = id.map(|id| id.value.into_owned()).unwrap_or_default();
            let next = self.page.parts.len();
            self.part = *self.ids.entry(id).or_insert(next);
            if self.part == next {
                self.page.parts.push(PartText::default());
            }
            missing = self.page.measures.len().saturating_sub(1);
        }
        if let Some(part) = self.page.parts.get_mut(self.part) {
            // A part may be missing from some measures.
            if part.measures.len() < missing {
                part.measures.resize_with(missing, Body::default);
            }
            part.measures.push(Body {
                inner: open.end..open.end,
                open,
            });
        }
    }

    fn close(&mut self, depth: u32, range: Range<usize>) {
        let (_, inner) = self.names();
        let tag = self.text.get(range.clone()).unwrap_or_default();
        if depth == 1 && self.begun {
            self.page.tail.start = range.end;
        } else if depth == 2 && self.begun && is_end_of(tag, inner) {
            let part = self.page.parts.get_mut(self.part);
            if let Some(body) = part.and_then(|part| part.measures.last_mut()) {
                body.inner.end = range.start;
            }
        }
    }
}

/// Whether a tag ends an element of this name, with or without a prefix.
fn is_end_of(tag: &str, name: &str) -> bool {
    let found = tag
        .trim_start_matches("</")
        .trim_end_matches('>')
        .trim_end();
    found.rsplit(':').next() == Some(name)
}

/// The text is written in UTF-8, whatever it was in before.
fn declare(text: &str, page: &mut Page) {
    let Some(end) = text.strip_prefix("<?xml").and_then(|_| text.find("?>")) else {
        return;
    };
    let declaration = text.get(..end).unwrap_or_default();
    let Some(start) = declaration.find("encoding") else {
        return;
    };
    let rest = declaration.get(start..).unwrap_or_default();
    let Some(open) = rest.find(['"', '\'']) else {
        return;
    };
    let quote = rest.get(open..=open).unwrap_or_default();
    let close = rest.get(open + 1..).and_then(|value| value.find(quote));
    if let Some(close) = close {
        let from = start + open;
        page.head_cuts.push((from..from + close + 2, "\"UTF-8\""));
    }
}
