//! The parts of a score: read one by one, then held against each other.

use super::measure::{Part, printed_number};
use super::source::Source;
use super::xml::{Name, Next, Xml};
use crate::error::{NotationError, NotationErrorKind};
use crate::notices::{Notice, Rule};
use crate::passes::shortened;
use crate::written::{Mark, Measure, What, Written};
use std::collections::{HashMap, HashSet};

#[derive(Default)]
pub(super) struct Parts {
    read: Vec<Part>,
    /// Where among them each id is.
    by_id: HashMap<String, usize>,
    so_far: Count,
    /// The id and the name of each part that the list of parts holds.
    names: Vec<(String, String)>,
    /// How many measures a timewise score has had.
    begun: usize,
}

/// The most parts, and of all parts together the most measures and marks, that are read.
const MOST_PARTS: usize = 10_000;
const MOST_MEASURES_IN_ALL: usize = 4_000_000;
const MOST_MARKS_IN_ALL: usize = 400_000;

/// How many measures and marks all parts have together.
#[derive(Default)]
struct Count {
    measures: usize,
    marks: usize,
}

impl Count {
    /// A measure's content, counted.
    fn content<S: Source>(
        &mut self,
        xml: &mut Xml<S>,
        part: &mut Part,
        of: Name,
    ) -> Result<(), NotationError> {
        let before = part.marks.len();
        part.content(xml, of, MOST_MARKS_IN_ALL - self.marks)?;
        self.marks += part.marks.len() - before;
        self.measure(xml)
    }

    fn measure<S: Source>(&mut self, xml: &Xml<S>) -> Result<(), NotationError> {
        self.measures += 1;
        if self.measures > MOST_MEASURES_IN_ALL {
            return Err(too_many(xml, MOST_MEASURES_IN_ALL, "measures in all parts"));
        }
        Ok(())
    }
}

/// The most parts that a message names.
const MOST_NAMED: usize = 20;

impl Parts {
    /// The list of parts, for their names.
    pub(super) fn list<S: Source>(&mut self, xml: &mut Xml<S>) -> Result<(), NotationError> {
        loop {
            match xml.next()? {
                Next::Start(Name::ScorePart) => {
                    let id = xml.attribute("id").unwrap_or_default();
                    if self.names.len() >= MOST_PARTS {
                        return Err(too_many(xml, MOST_PARTS, "parts"));
                    }
                    self.names.push((id, String::new()));
                }
                Next::Start(Name::Called) => {
                    let text = xml.text(Name::Called)?;
                    if let Some((_, name)) = self.names.last_mut() {
                        text.trim().clone_into(name);
                    }
                }
                // Its instruments, its groups.
                Next::Start(Name::Other) => xml.pass_over(Name::PartList)?,
                Next::End(Name::PartList) => return Ok(()),
                Next::Eof => return Err(xml.cut_short(Name::PartList)),
                _ => {}
            }
        }
    }

    /// The one part asked for, by its id or its name.
    fn choose(&mut self, wanted: &str) -> Result<(), NotationError> {
        let same = |name: &str| name.to_lowercase() == wanted.trim().to_lowercase();
        let named = self.names.iter().find(|(_, name)| same(name));
        let by_name = named.map(|(id, _)| id.as_str());
        let is_part = |part: &Part| part.id == wanted.trim();
        let by_id = self.read.iter().position(is_part);
        let by_name = || {
            let id = by_name?;
            self.read.iter().position(|part| part.id == id)
        };
        if let Some(at) = by_id.or_else(by_name) {
            self.read = vec![self.read.swap_remove(at)];
            return Ok(());
        }
        let mut known: Vec<String> = self
            .read
            .iter()
            .take(MOST_NAMED)
            .map(|part| self.named(part))
            .collect();
        if self.read.len() > MOST_NAMED {
            known.push(format!("{} in all", self.read.len()));
        }
        Err(NotationError::new(
            NotationErrorKind::NoSuchPart,
            None,
            format!(
                "there is no part {} in this score; its parts are {}",
                quoted(&shortened(wanted)),
                known.join(", ")
            ),
        ))
    }

    /// A part as a message names it.
    fn named(&self, part: &Part) -> String {
        let name = self.names.iter().find(|(id, _)| *id == part.id);
        match name {
            Some((_, name)) if !name.is_empty() => {
                format!("{} ({})", quoted(&part.id), shortened(name))
            }
            _ => quoted(&part.id),
        }
    }

    /// One part with all its measures.
    pub(super) fn partwise<S: Source>(
        &mut self,
        xml: &mut Xml<S>,
        id: String,
    ) -> Result<(), NotationError> {
        // Mostly all parts have as many measures.
        let room = self.read.last().map_or(0, |part| part.measures.len());
        let mut part = Part::new(id, room);
        loop {
            match xml.next()? {
                Next::Start(Name::Measure) => {
                    let other = self
                        .read
                        .first()
                        .and_then(|other| other.measures.get(part.measures.len()));
                    part.begin(xml, printed_number(xml, other))?;
                    self.so_far.content(xml, &mut part, Name::Measure)?;
                }
                Next::Start(name) => xml.pass_over(name)?,
                Next::End(_) => break,
                Next::Text => {}
                Next::Eof => return Err(xml.cut_short(Name::Part)),
            }
        }
        self.add(xml, part)?;
        Ok(())
    }

    fn add<S: Source>(&mut self, xml: &Xml<S>, part: Part) -> Result<usize, NotationError> {
        let at = self.read.len();
        if at >= MOST_PARTS {
            return Err(too_many(xml, MOST_PARTS, "parts"));
        }
        self.read.push(part);
        Ok(at)
    }

    /// One measure with all its parts.
    pub(super) fn timewise<S: Source>(&mut self, xml: &mut Xml<S>) -> Result<(), NotationError> {
        let heading = printed_number(xml, None);
        let mut reached = self.begun;
        loop {
            match xml.next()? {
                Next::Start(Name::Part) => {
                    let id = xml.attribute("id").unwrap_or_default();
                    let at = if let Some(at) = self.by_id.get(&id) {
                        *at
                    } else {
                        let at = self.add(xml, Part::new(id.clone(), 0))?;
                        self.by_id.insert(id, at);
                        at
                    };
                    if let Some(part) = self.read.get_mut(at) {
                        // The measures that it lacks before this one move nothing.
                        while part.measures.len() < self.begun {
                            self.so_far.measure(xml)?;
                            part.leave_out();
                        }
                        part.begin(xml, heading.clone())?;
                        self.so_far.content(xml, part, Name::Part)?;
                        reached = reached.max(part.measures.len());
                    }
                }
                Next::Start(name) => xml.pass_over(name)?,
                Next::End(_) => break,
                Next::Text => {}
                Next::Eof => return Err(xml.cut_short(Name::Measure)),
            }
        }
        self.begun = reached;
        Ok(())
    }

    /// One list of marks for the score: the barlines of the first part that has any, the words and instructions of all.
    pub(super) fn joined(
        mut self,
        part: Option<&str>,
        line: u32,
    ) -> Result<(Written, Vec<Notice>), NotationError> {
        if let Some(part) = part {
            self.choose(part)?;
        }
        let mut notices = Vec::new();
        let most = self.read.iter().map(|part| part.measures.len()).max();
        if most.unwrap_or(0) == 0 {
            return Err(NotationError::new(
                NotationErrorKind::NoMusic,
                line,
                "there is no measure in this score",
            ));
        }
        let leads = self
            .read
            .iter()
            .position(|part| part.marks.iter().any(|mark| is_section(&mark.what)))
            .unwrap_or(0);
        for part in &self.read {
            notices.extend(part.notices.iter().cloned());
        }
        if let Some(lead) = self.read.get(leads) {
            for other in self.read.iter().skip(leads + 1) {
                notices.extend(disagreement(lead, other));
            }
        }
        let mut marks: Vec<Mark> = Vec::new();
        let mut known = HashSet::new();
        let mut measures: Vec<Measure> = Vec::new();
        for (index, part) in self.read.into_iter().enumerate() {
            let mut others = part.measures;
            if others.len() > measures.len() {
                std::mem::swap(&mut measures, &mut others);
            }
            for (known, other) in measures.iter_mut().zip(others) {
                if known.is_absent {
                    *known = other;
                }
            }
            for mark in part.marks {
                let is_barline = mark.what.is_barline();
                let is_new = !is_barline && known.insert((mark.measure, mark.what.clone()));
                if index == leads || is_new {
                    marks.push(mark);
                }
            }
        }
        marks.sort_by_key(|mark| mark.measure);
        let written = Written {
            measures,
            marks,
            ..Written::default()
        };
        Ok((written, notices))
    }
}

/// More of something than is read.
pub(super) fn too_many<S: Source>(xml: &Xml<S>, most: usize, what: &str) -> NotationError {
    xml.error(
        NotationErrorKind::TooLarge,
        format!("the score has more than {most} {what}; so many are read"),
    )
}

/// Whether a mark shapes the sections; a double barline does only where the reading says so, and parts seldom agree on it.
fn is_section(what: &What) -> bool {
    what.is_barline() && !matches!(what, What::DoubleBar { .. })
}

/// The first place at which another part has other repeats or endings than the part that leads.
fn disagreement(lead: &Part, other: &Part) -> Option<Notice> {
    // A part says nothing of the measures that it leaves out.
    fn sections<'p>(part: &'p Part, beside: &'p Part) -> impl Iterator<Item = &'p Mark> {
        let is_there = |mark: &Mark| {
            let measure = beside.measures.get(mark.measure as usize);
            measure.is_none_or(|measure| !measure.is_absent)
        };
        let marks = part.marks.iter();
        marks.filter(move |mark| is_section(&mark.what) && is_there(mark))
    }
    let same = |a: &Mark, b: &Mark| {
        a.measure == b.measure
            && match (&a.what, &b.what) {
                // How a bracket is closed is appearance only.
                (What::EndingStop { .. }, What::EndingStop { .. }) => true,
                (a, b) => a == b,
            }
    };
    let (mut wanted, mut found) = (sections(lead, other), sections(other, lead));
    // As far as they agree and no further: a score may have very many parts.
    let mark = loop {
        match (wanted.next(), found.next()) {
            (Some(a), Some(b)) if same(a, b) => {}
            (Some(a), Some(b)) if b.measure <= a.measure => break b,
            (Some(a), _) => break a,
            (None, Some(b)) => break b,
            (None, None) => return None,
        }
    };
    Some(Notice::new(
        Rule::PartsDisagree,
        mark.line,
        Some(mark.measure),
        format!(
            "part {} has other repeats or endings than part {}",
            quoted(&other.id),
            quoted(&lead.id)
        ),
        format!(
            "part {} was read; give all parts the same repeats and endings",
            quoted(&lead.id)
        ),
    ))
}

fn quoted(id: &str) -> String {
    format!("`{id}`")
}
