//! Writing the measures of a score in the order in which they are played.

use std::io::Write;
use std::ops::Range;

use super::lines::{Event, Followed, Kind, Lines, Played};
use super::order::Order;
use super::page::{Body, Page};
use super::part::{Cut, Part, Piece, Unit, When};
use super::state::{State, without_id};
use super::too_long;
use super::tree::attributes;
use crate::error::{NotationError, NotationErrorKind};

type Done = Result<(), NotationError>;

/// Where the text goes, and how much of it may come.
pub(super) struct Out<W> {
    to: W,
    most: u64,
    left: u64,
}

impl<W: Write> Out<W> {
    pub(super) fn new(out: W, most: u64) -> Out<W> {
        Out {
            to: out,
            most,
            left: most,
        }
    }

    /// Whether so many bytes may still come.
    pub(super) fn has_room(&self, bytes: u64) -> Done {
        if bytes > self.left {
            let most = self.most;
            return Err(too_long(format!(
                "written out, the score has more than {most} bytes, the most that were asked for"
            )));
        }
        Ok(())
    }

    fn put(&mut self, text: &str) -> Done {
        let bytes = text.len() as u64;
        self.has_room(bytes)?;
        self.left -= bytes;
        self.to.write_all(text.as_bytes()).map_err(|error| {
            NotationError::new(
                NotationErrorKind::NotWritten,
                None,
                format!("the text cannot be written: {error}"),
            )
        })
    }
}

/// A score that is being written.
pub(super) struct Writing<'p> {
    text: &'p str,
    page: &'p Page,
    order: &'p Order,
    voices: Vec<Voice<'p>>,
    /// The number of the first measure.
    first: u32,
}

/// A part that is being written.
pub(super) struct Voice<'p> {
    part: &'p Part<'p>,
    pub(super) followed: Followed,
    /// Of each list of what became of its lines, how much has been written.
    broken: usize,
    closed: usize,
    opened: usize,
    /// The state after the last unit.
    state: Option<usize>,
    before: Option<u32>,
    /// What held before a jump, and the file does not say what holds after it: unit and element.
    pub(super) unknown: Vec<(u32, &'static str)>,
}

impl<'p> Writing<'p> {
    pub(super) fn new(
        text: &'p str,
        page: &'p Page,
        parts: &'p [Part<'p>],
        order: &'p Order,
    ) -> Writing<'p> {
        let voices = parts.iter().map(|part| {
            let lines = Lines::new(&part.events, order.measures.len());
            let is_played = |list: u32, pass: u32| {
                part.passes
                    .get(list as usize)
                    .is_some_and(|passes| passes.contains(pass))
            };
            Voice {
                part,
                followed: lines.follow(&order.played, is_played),
                broken: 0,
                closed: 0,
                opened: 0,
                state: None,
                before: None,
                unknown: Vec::new(),
            }
        });
        let mut writing = Writing {
            text,
            page,
            order,
            voices: voices.collect(),
            first: 1,
        };
        // A pickup is not counted.
        let opens = page.measures.first().or(page
            .parts
            .first()
            .and_then(|part| Some(&part.measures.first()?.open)));
        if opens.is_some_and(|open| is_implicit(text, open)) {
            writing.first = 0;
        }
        writing
    }

    pub(super) fn voices(&self) -> &[Voice<'p>] {
        &self.voices
    }

    /// The bytes of the music, but for what is put in.
    pub(super) fn length(&self) -> u64 {
        let parts = self.voices.iter().map(|voice| {
            let units = self.order.played.iter();
            let lengths = units.filter_map(|played| voice.part.units.get(played.unit as usize));
            lengths.fold(0_u64, |sum, unit| sum.saturating_add(unit.length))
        });
        parts.fold(0, u64::saturating_add)
    }

    pub(super) fn score<W: Write>(&mut self, out: &mut Out<W>) -> Done {
        let page = self.page;
        let mut at = page.head.start;
        for (range, instead) in &page.head_cuts {
            out.put(slice(self.text, at..range.start))?;
            out.put(instead)?;
            at = range.end;
        }
        out.put(slice(self.text, at..page.head.end))?;
        if page.timewise {
            for (step, played) in (0_u32..).zip(&self.order.played) {
                self.measure_tag(
                    step,
                    *played,
                    measure_of(&page.measures, self.order, *played),
                    out,
                )?;
                for index in 0..self.voices.len() {
                    out.put("\n")?;
                    let body = self.body(index, *played).cloned().unwrap_or_default();
                    let open = slice(self.text, body.open.clone()).trim_end_matches(['/', '>']);
                    if !open.is_empty() {
                        out.put(open)?;
                        out.put(">")?;
                        self.unit(index, step, *played, out)?;
                        out.put("</part>")?;
                    }
                }
                out.put("\n</measure>\n")?;
            }
        } else {
            for (index, part) in page.parts.iter().enumerate() {
                out.put(slice(self.text, part.open.clone()).trim_end_matches(['/', '>']))?;
                out.put(">\n")?;
                for (step, played) in (0_u32..).zip(&self.order.played) {
                    let open = self.body(index, *played).map(|body| body.open.clone());
                    self.measure_tag(step, *played, open, out)?;
                    self.unit(index, step, *played, out)?;
                    out.put("</measure>\n")?;
                }
                out.put("</part>\n")?;
            }
        }
        let tail = slice(self.text, page.tail.clone());
        out.put(tail.trim_start_matches(['\n', '\r']))
    }

    fn body(&self, part: usize, played: Played) -> Option<&'p Body> {
        let measure = self.order.measures.get(played.unit as usize)?;
        let part = self.page.parts.get(part)?;
        part.measures.get(usize::from(*measure).checked_sub(1)?)
    }

    /// The start tag of a measure: numbered anew, its widths and its printed text left out.
    fn measure_tag<W: Write>(
        &self,
        step: u32,
        played: Played,
        open: Option<Range<usize>>,
        out: &mut Out<W>,
    ) -> Done {
        let number = step.saturating_add(self.first);
        out.put(&format!("<measure number=\"{number}\""))?;
        if number == 0 {
            out.put(" implicit=\"yes\"")?;
        }
        for attribute in attributes(self.text, open.unwrap_or(0..0)) {
            let goes = match attribute.name {
                "number" | "implicit" | "text" | "width" => true,
                "id" => played.again,
                _ => false,
            };
            if !goes {
                out.put(slice(self.text, attribute.range))?;
            }
        }
        out.put(">")
    }

    /// What stands in a measure of a part.
    fn unit<W: Write>(
        &mut self,
        index: usize,
        step: u32,
        played: Played,
        out: &mut Out<W>,
    ) -> Done {
        let is_last = step as usize + 1 == self.order.played.len();
        let text = self.text;
        let Some(voice) = self.voices.get_mut(index) else {
            return Ok(());
        };
        let part = voice.part;
        let broken = taken(&voice.followed.broken, &mut voice.broken, step);
        let opened = taken(&voice.followed.opened, &mut voice.opened, step);
        // What was ended with the step before is written by now, but for ways of writing short: they end here.
        let closing = voice.closed;
        let closed = taken(&voice.followed.closed, &mut voice.closed, step);
        let Some(unit) = part.units.get(played.unit as usize) else {
            return Ok(());
        };
        let moment = Moment {
            step,
            played,
            is_last,
            part,
            broken: &broken,
        };
        let mut puts = Puts {
            text,
            gap: gap(text, unit),
            out,
        };
        let mut cuts = 0;
        puts.pieces(&unit.head, unit, &mut cuts, &moment)?;
        let mut needed = voice.needed(unit, played);
        let earlier = voice
            .followed
            .closed
            .get(..closing)
            .unwrap_or_default()
            .iter()
            .rev();
        for (_, event) in earlier.take_while(|(at, _)| at.checked_add(1) == Some(step)) {
            let event = part.events.get(*event as usize);
            needed.push_str(&event.map_or_else(String::new, |event| style_end(text, event)));
        }
        if !needed.is_empty() {
            puts.put(&format!("<attributes>{needed}</attributes>"))?;
        }
        for event in opened
            .iter()
            .filter_map(|event| part.events.get(*event as usize))
        {
            puts.put(&direction(
                text,
                event,
                &without_id(slice(text, event.range.clone())),
            ))?;
        }
        puts.pieces(&unit.middle, unit, &mut cuts, &moment)?;
        for event in closed
            .iter()
            .filter_map(|event| part.events.get(*event as usize))
        {
            if event.kind.is_over_staff() {
                puts.put(&direction(text, event, &line_end(text, event)))?;
            }
        }
        if is_last && !unit.is_barred {
            puts.put("<barline location=\"right\"><bar-style>light-heavy</bar-style></barline>")?;
        }
        puts.pieces(&unit.tail, unit, &mut cuts, &moment)
    }
}

impl Voice<'_> {
    /// The attributes that have to be written before a unit, since the one before it in the order is not the one before it on paper.
    fn needed(&mut self, unit: &Unit, played: Played) -> String {
        let follows = match self.before {
            Some(before) => before.checked_add(1) == Some(played.unit),
            None => played.unit == 0,
        };
        let present = self.state;
        (self.before, self.state) = (Some(played.unit), Some(unit.after));
        if follows {
            return String::new();
        }
        let states = &self.part.states;
        let empty = State::default();
        let present = present
            .and_then(|state| states.get(state))
            .unwrap_or(&empty);
        let wanted = states.get(unit.before).unwrap_or(&empty);
        let (needed, unknown) = wanted.after(present, &unit.own);
        self.unknown
            .extend(unknown.into_iter().map(|name| (played.unit, name)));
        needed
    }
}

/// One playing of a unit.
struct Moment<'m> {
    step: u32,
    played: Played,
    is_last: bool,
    part: &'m Part<'m>,
    broken: &'m [u32],
}

impl Moment<'_> {
    fn is_cut(&self, cut: &Cut) -> bool {
        match &cut.when {
            When::Always => true,
            When::Again => self.played.again,
            When::NotFirst => self.step > 0,
            When::NotLast => !self.is_last,
            When::OnNone(lists) => !lists.iter().any(|list| {
                let passes = self.part.passes.get(*list as usize);
                passes.is_some_and(|passes| passes.contains(self.played.pass))
            }),
            When::Broken(events) => events
                .iter()
                .all(|event| self.broken.binary_search(event).is_ok()),
        }
    }
}

struct Puts<'o, W> {
    text: &'o str,
    gap: &'o str,
    out: &'o mut Out<W>,
}

impl<W: Write> Puts<'_, W> {
    /// Something that the file does not have here.
    fn put(&mut self, text: &str) -> Done {
        self.out.put(self.gap)?;
        self.out.put(text)
    }

    fn pieces(
        &mut self,
        pieces: &[Piece],
        unit: &Unit,
        next: &mut usize,
        moment: &Moment<'_>,
    ) -> Done {
        for piece in pieces {
            let range = match piece {
                Piece::Copy(range) => range,
                Piece::Put(text) => {
                    self.put(text)?;
                    continue;
                }
            };
            let mut at = range.start;
            while let Some(cut) = unit.cuts.get(*next) {
                let is_here = cut.range.start < range.end
                    || (cut.range.start == range.end && cut.range.is_empty());
                if !is_here {
                    break;
                }
                *next += 1;
                if cut.range.start >= at && moment.is_cut(cut) {
                    self.out.put(slice(self.text, at..cut.range.start))?;
                    if let Some(put) = &cut.put {
                        self.put(put)?;
                    }
                    at = cut.range.end;
                }
            }
            self.out.put(slice(self.text, at..range.end.max(at)))?;
        }
        Ok(())
    }
}

/// The entries of a step, which come next in their list.
fn taken(list: &[(u32, u32)], next: &mut usize, step: u32) -> Vec<u32> {
    let rest = list.get(*next..).unwrap_or_default().iter();
    let here: Vec<u32> = rest
        .take_while(|(at, _)| *at <= step)
        .map(|(_, event)| *event)
        .collect();
    *next += here.len();
    here
}

/// The blank that stands before the elements of a unit.
fn gap<'t>(text: &'t str, unit: &Unit) -> &'t str {
    let mut pieces = unit.head.iter().chain(&unit.middle);
    let first = pieces.find_map(|piece| match piece {
        Piece::Copy(range) if !range.is_empty() => Some(slice(text, range.clone())),
        _ => None,
    });
    let first = first.unwrap_or_default();
    first
        .get(..first.len() - first.trim_start().len())
        .unwrap_or_default()
}

fn measure_of(measures: &[Range<usize>], order: &Order, played: Played) -> Option<Range<usize>> {
    let measure = order.measures.get(played.unit as usize)?;
    measures.get(usize::from(*measure).checked_sub(1)?).cloned()
}

fn is_implicit(text: &str, open: &Range<usize>) -> bool {
    let found = attributes(text, open.clone());
    found
        .iter()
        .any(|it| it.name == "implicit" && it.value == "yes")
}

/// A direction with one line in it, for the staff that the file says.
fn direction(text: &str, event: &Event, element: &str) -> String {
    let staff = slice(text, event.staff.clone());
    format!("<direction><direction-type>{element}</direction-type>{staff}</direction>")
}

/// The end of a line over the staff.
fn line_end(text: &str, event: &Event) -> String {
    let name = event.kind.element();
    let mut end = format!("<{name} type=\"stop\"");
    for attribute in attributes(text, open_tag(text, event)) {
        if matches!(attribute.name, "number" | "size" | "line" | "sign") {
            end.push_str(slice(text, attribute.range));
        }
    }
    if event.kind == Kind::Bracket {
        end.push_str(" line-end=\"none\"");
    }
    end.push_str("/>");
    end
}

/// The end of a way of writing measures short.
fn style_end(text: &str, event: &Event) -> String {
    if !event.kind.is_style() {
        return String::new();
    }
    let name = event.kind.element();
    let staff = slice(text, event.staff.clone());
    format!("<measure-style{staff}><{name} type=\"stop\"/></measure-style>")
}

fn open_tag(text: &str, event: &Event) -> Range<usize> {
    let end = slice(text, event.range.clone())
        .find('>')
        .map_or(0, |end| end + 1);
    event.range.start..event.range.start + end
}

fn slice(text: &str, range: Range<usize>) -> &str {
    text.get(range).unwrap_or_default()
}
