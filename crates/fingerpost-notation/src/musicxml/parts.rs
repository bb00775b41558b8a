//! The parts of a score: read one by one, then held against each other.

use std::collections::HashSet;
use std::io::BufRead;

use super::measure::Part;
use super::xml::{Name, Next, Xml};
use crate::error::{NotationError, NotationErrorKind};
use crate::notices::{Notice, Rule};
use crate::written::{Mark, What, Written};

#[derive(Default)]
pub(super) struct Parts {
    parts: Vec<Part>,
}

impl Parts {
    /// One part with all its measures.
    pub(super) fn partwise<R: BufRead>(
        &mut self,
        xml: &mut Xml<R>,
        id: String,
    ) -> Result<(), NotationError> {
        let mut part = Part::new(id);
        loop {
            match xml.next()? {
                Next::Start(Name::Measure) => {
                    part.begin(xml)?;
                    part.content(xml, Name::Measure)?;
                }
                Next::Start(name) => xml.pass_over(name)?,
                Next::End(_) => break,
                Next::Text => {}
                Next::Eof => return Err(xml.cut_short(Name::Part)),
            }
        }
        self.parts.push(part);
        Ok(())
    }

    /// One measure with all its parts.
    pub(super) fn timewise<R: BufRead>(&mut self, xml: &mut Xml<R>) -> Result<(), NotationError> {
        let heading = xml.attribute("number").unwrap_or_default();
        loop {
            match xml.next()? {
                Next::Start(Name::Part) => {
                    let id = xml.attribute("id").unwrap_or_default();
                    let at = self.parts.iter().position(|part| part.id == id);
                    let at = at.unwrap_or_else(|| {
                        self.parts.push(Part::new(id));
                        self.parts.len() - 1
                    });
                    if let Some(part) = self.parts.get_mut(at) {
                        part.begin_named(xml, heading.clone())?;
                        part.content(xml, Name::Part)?;
                    }
                }
                Next::Start(name) => xml.pass_over(name)?,
                Next::End(_) => return Ok(()),
                Next::Text => {}
                Next::Eof => return Err(xml.cut_short(Name::Measure)),
            }
        }
    }

    /// One list of marks for the score: the barlines of the first part that has any, the words and instructions of all.
    pub(super) fn joined(self, line: u32) -> Result<(Written, Vec<Notice>), NotationError> {
        let mut notices = Vec::new();
        let most = self.parts.iter().map(|part| part.measures.len()).max();
        if most.unwrap_or(0) == 0 {
            return Err(NotationError::new(
                NotationErrorKind::NoMusic,
                line,
                "there is no measure in this score",
            ));
        }
        let leads = self
            .parts
            .iter()
            .position(|part| part.marks.iter().any(|mark| is_section(&mark.what)))
            .unwrap_or(0);
        for part in &self.parts {
            notices.extend(part.notices.iter().cloned());
        }
        if let Some(lead) = self.parts.get(leads) {
            for other in self.parts.iter().skip(leads + 1) {
                notices.extend(disagreement(lead, other));
            }
        }
        let mut marks: Vec<Mark> = Vec::new();
        let mut known = HashSet::new();
        let mut measures = Vec::new();
        for (index, part) in self.parts.into_iter().enumerate() {
            if part.measures.len() > measures.len() {
                measures = part.measures;
            }
            for mark in part.marks {
                let is_new = known.insert((mark.measure, mark.what.clone()));
                if index == leads || (is_new && !mark.what.is_barline()) {
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

/// Whether a mark shapes the sections; a double barline does only where the reading says so, and parts seldom agree on it.
fn is_section(what: &What) -> bool {
    what.is_barline() && !matches!(what, What::DoubleBar { .. })
}

/// The first place at which another part has other repeats or endings than the part that leads.
fn disagreement(lead: &Part, other: &Part) -> Option<Notice> {
    let sections = |part: &'_ Part| -> Vec<Mark> {
        part.marks
            .iter()
            .filter(|mark| is_section(&mark.what))
            .cloned()
            .collect()
    };
    let (wanted, found) = (sections(lead), sections(other));
    if found.is_empty() && !other.measures.is_empty() && wanted.is_empty() {
        return None;
    }
    let same = |a: &Mark, b: &Mark| {
        a.measure == b.measure
            && match (&a.what, &b.what) {
                // How a bracket is closed is appearance only.
                (What::EndingStop { .. }, What::EndingStop { .. }) => true,
                (a, b) => a == b,
            }
    };
    let at = wanted.iter().zip(&found).position(|(a, b)| !same(a, b));
    let at = at.or_else(|| (wanted.len() != found.len()).then(|| wanted.len().min(found.len())))?;
    let mark = match (wanted.get(at), found.get(at)) {
        (Some(a), Some(b)) if b.measure <= a.measure => b,
        (Some(a), _) => a,
        (None, b) => b?,
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
