//! One measure of one part: time goes on with its notes, marks stand where they are written.
//!
//! Source: MusicXML 4.0, elements `measure`, `note`, `backup`, `forward`, `attributes`, `print`.

use std::rc::Rc;

use fingerpost::{Fraction, Hands, MOST_MEASURES, Meter};

use super::source::Source;
use super::xml::{Name, Next, Xml};
use crate::error::{NotationError, NotationErrorKind};
use crate::notices::Notice;
use crate::written::{At, Mark, Measure, What, hands_of};

/// A part as far as it has been read.
#[derive(Debug)]
pub(super) struct Part {
    pub(super) id: String,
    pub(super) measures: Vec<Measure>,
    pub(super) marks: Vec<Mark>,
    pub(super) notices: Vec<Notice>,
    /// How many parts a quarter note has here.
    divisions: u64,
    staves: u8,
    /// How far the present measure has come, and how far it has ever been, in divisions.
    now: u64,
    longest: u64,
    /// How long a measure was last, in divisions, how many of these a quarter note had, and that length in whole notes.
    known: (u64, u64, Option<Fraction>),
    /// The marks of the present measure, not yet placed.
    waiting: Vec<Waiting>,
    /// The words of the direction just before, where they lack no more than a coda sign.
    pub(super) leads_to_coda: Option<String>,
}

/// A mark that is placed when its measure's length is known.
#[derive(Debug)]
struct Waiting {
    edge: Edge,
    line: u32,
    what: What,
}

/// Where a mark is written.
#[derive(Clone, Copy, Debug)]
pub(super) enum Edge {
    Left,
    Right,
    /// So many divisions into the measure.
    After(u64),
}

impl Part {
    /// A part, with room for so many measures.
    pub(super) fn new(id: String, room: usize) -> Part {
        Part {
            id,
            measures: Vec::with_capacity(room),
            marks: Vec::new(),
            notices: Vec::new(),
            divisions: 1,
            staves: 1,
            now: 0,
            longest: 0,
            known: (0, 0, None),
            waiting: Vec::new(),
            leads_to_coda: None,
        }
    }

    /// Begins a measure of this name.
    pub(super) fn begin<S: Source>(
        &mut self,
        xml: &Xml<S>,
        name: Option<Rc<str>>,
    ) -> Result<(), NotationError> {
        if self.measures.len() >= MOST_MEASURES as usize {
            return Err(xml.error(
                NotationErrorKind::TooLarge,
                format!("the score has more than {MOST_MEASURES} measures; so many are read"),
            ));
        }
        self.measures.push(Measure {
            name,
            ..Measure::default()
        });
        self.now = 0;
        self.longest = 0;
        Ok(())
    }

    /// Passes over a measure that the part does not have.
    pub(super) fn leave_out(&mut self) {
        self.measures.push(Measure {
            is_absent: true,
            ..Measure::default()
        });
    }

    /// The present measure, from 0.
    pub(super) fn measure(&self) -> u32 {
        u32::try_from(self.measures.len())
            .unwrap_or(u32::MAX)
            .saturating_sub(1)
    }

    /// Reads what stands in a measure, up to the end of the element `of`; at most so many marks.
    pub(super) fn content<S: Source>(
        &mut self,
        xml: &mut Xml<S>,
        of: Name,
        most: usize,
    ) -> Result<(), NotationError> {
        loop {
            if self.waiting.len() > most {
                return Err(xml.error(
                    NotationErrorKind::TooLarge,
                    "the score has more signs than are read: 100000 on a board, 400000 in all parts"
                        .to_owned(),
                ));
            }
            match xml.next()? {
                Next::Start(name) => match name {
                    Name::Note => self.note(xml)?,
                    Name::Backup => {
                        let back = duration(xml, name)?;
                        self.now = self.now.saturating_sub(back);
                    }
                    Name::Forward => {
                        let forward = duration(xml, name)?;
                        self.go_on(forward);
                    }
                    Name::Direction => {
                        self.direction(xml)?;
                        continue;
                    }
                    Name::Sound => self.sound_alone(xml)?,
                    Name::Barline => self.barline(xml)?,
                    Name::Attributes => self.attributes(xml)?,
                    Name::Print => {
                        let breaks = xml.is_yes("new-system") || xml.is_yes("new-page");
                        if let (true, Some(measure)) = (breaks, self.measures.last_mut()) {
                            measure.new_system = true;
                        }
                        xml.pass_over(name)?;
                    }
                    other => xml.pass_over(other)?,
                },
                Next::End(_) => break,
                Next::Text => continue,
                Next::Eof => return Err(xml.cut_short(of)),
            }
            self.leads_to_coda = None;
        }
        self.leads_to_coda = None;
        self.place_marks();
        Ok(())
    }

    /// The present place in the measure.
    pub(super) fn here(&self) -> Edge {
        Edge::After(self.now)
    }

    /// So many divisions from here, which may be backwards.
    pub(super) fn moved(&self, offset: i64) -> Edge {
        Edge::After(self.now.saturating_add_signed(offset))
    }

    pub(super) fn mark(&mut self, edge: Edge, line: u32, what: What) {
        self.waiting.push(Waiting { edge, line, what });
    }

    /// The hands that a staff of this part is for.
    pub(super) fn hands(&self, staff: Option<u8>) -> Hands {
        hands_of(self.staves, staff)
    }

    fn go_on(&mut self, by: u64) {
        self.now = self.now.saturating_add(by);
        self.longest = self.longest.max(self.now);
    }

    fn note<S: Source>(&mut self, xml: &mut Xml<S>) -> Result<(), NotationError> {
        // Notes that stand one after the other are passed over in one go as far as they are plainly written.
        while let Some(found) = xml.inside() {
            let length = found.duration.map_or(0, whole);
            let text = found.staff.map(String::from_utf8_lossy);
            let staff = text.and_then(|text| text.trim().parse().ok());
            let (in_chord, fermata) = (found.chord, found.fermata);
            // After a fermata the end itself is read, for the line that it stands in.
            let goes_on = !fermata && xml.next_alike(Name::Note);
            if !goes_on {
                xml.pass_over(Name::Note)?;
            }
            self.sounded(xml, length, in_chord, fermata.then(|| self.hands(staff)));
            if !goes_on {
                return Ok(());
            }
        }
        self.note_by_events(xml)
    }

    fn note_by_events<S: Source>(&mut self, xml: &mut Xml<S>) -> Result<(), NotationError> {
        let mut length = 0;
        let mut in_chord = false;
        let mut staff = None;
        let mut fermata = false;
        let mut inside = 1_u32;
        while inside > 0 {
            match xml.next()? {
                Next::Start(Name::Duration) => length = whole(xml.text(Name::Duration)?.as_bytes()),
                Next::Start(Name::Staff) => staff = xml.text(Name::Staff)?.trim().parse().ok(),
                Next::Start(name) => {
                    in_chord |= name == Name::Chord;
                    fermata |= name == Name::Fermata;
                    inside += 1;
                }
                Next::End(_) => inside -= 1,
                Next::Text => {}
                Next::Eof => return Err(xml.cut_short(Name::Note)),
            }
        }
        self.sounded(xml, length, in_chord, fermata.then(|| self.hands(staff)));
        Ok(())
    }

    /// A note has been read: time goes on by it, unless it sounds with the one before.
    fn sounded<S: Source>(
        &mut self,
        xml: &Xml<S>,
        length: u64,
        in_chord: bool,
        fermata: Option<Hands>,
    ) {
        if let Some(hands) = fermata {
            self.mark(self.here(), xml.line(), What::Fermata(hands));
        }
        if !in_chord {
            self.go_on(length);
        }
    }

    fn attributes<S: Source>(&mut self, xml: &mut Xml<S>) -> Result<(), NotationError> {
        let mut beats = None;
        let mut unit = None;
        let mut inside = 1_u32;
        while inside > 0 {
            match xml.next()? {
                Next::Start(Name::Divisions) => {
                    self.divisions = whole(xml.text(Name::Divisions)?.as_bytes()).max(1);
                }
                Next::Start(Name::Staves) => {
                    self.staves = xml.text(Name::Staves)?.trim().parse().unwrap_or(1);
                }
                Next::Start(Name::Beats) => beats = beats_of(xml.text(Name::Beats)?),
                Next::Start(Name::BeatType) => unit = xml.text(Name::BeatType)?.trim().parse().ok(),
                Next::Start(_) => inside += 1,
                Next::End(_) => inside -= 1,
                Next::Text => {}
                Next::Eof => return Err(xml.cut_short(Name::Attributes)),
            }
        }
        let meter = beats
            .zip(unit)
            .and_then(|(beats, unit)| Meter::new(beats, unit));
        if let (Some(meter), 0, Some(measure)) = (meter, self.now, self.measures.last_mut()) {
            measure.meter = Some(meter);
        }
        Ok(())
    }

    /// The measure has ended: its length is known, and so is where its marks stand.
    fn place_marks(&mut self) {
        let index = self.measure();
        let length = match self.known {
            // Mostly it is as long as the one before.
            (longest, divisions, known)
                if (longest, divisions) == (self.longest, self.divisions) =>
            {
                known
            }
            _ => self.whole_notes(self.longest),
        };
        self.known = (self.longest, self.divisions, length);
        if let Some(measure) = self.measures.last_mut() {
            measure.length = length;
        }
        let mut waiting = std::mem::take(&mut self.waiting);
        for Waiting { edge, line, what } in waiting.drain(..) {
            let at = match edge {
                Edge::Left | Edge::After(0) => At::Start,
                Edge::Right => At::End,
                Edge::After(after) if after >= self.longest => At::End,
                Edge::After(after) => self.whole_notes(after).map_or(At::Start, At::Inside),
            };
            self.marks.push(Mark {
                measure: index,
                at,
                line,
                what,
            });
        }
        // Its room is used again.
        self.waiting = waiting;
    }

    /// A length in divisions as a fraction of a whole note.
    fn whole_notes(&self, length: u64) -> Option<Fraction> {
        let whole = self.divisions.saturating_mul(4);
        let shared = shared_factor(length, whole);
        let numerator = u32::try_from(length / shared).ok()?;
        let denominator = u32::try_from(whole / shared).ok()?;
        Fraction::new(numerator, denominator)
    }
}

/// The number that is printed at the measure whose start tag was read last: its `text`, where that differs from its `number`. Mostly it is the
/// one that another part has.
pub(super) fn printed_number<S: Source>(xml: &Xml<S>, other: Option<&Measure>) -> Option<Rc<str>> {
    let text = xml.value("text").filter(|text| !text.trim().is_empty());
    let name = text.or_else(|| xml.value("number"))?;
    let other = other.and_then(|other| other.name.as_ref());
    match other.filter(|other| ***other == *name) {
        Some(other) => Some(Rc::clone(other)),
        None => Some(name.into()),
    }
}

/// The greatest whole number that both are multiples of; at least 1.
fn shared_factor(a: u64, b: u64) -> u64 {
    let (mut a, mut b) = (a, b);
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a.max(1)
}

/// "3", "3+2", "3+2+3".
fn beats_of(text: &str) -> Option<u8> {
    text.split('+').try_fold(0_u8, |sum, beats| {
        sum.checked_add(beats.trim().parse().ok()?)
    })
}

/// A number of divisions; a broken one counts as nothing, a decimal one is cut.
fn whole(text: &[u8]) -> u64 {
    let more = |sum: u64, digit: &u8| match digit {
        b'0'..=b'9' => sum.checked_mul(10)?.checked_add(u64::from(digit - b'0')),
        _ => None,
    };
    // Mostly there is nothing but digits.
    if let (false, Some(number)) = (text.is_empty(), text.iter().try_fold(0, more)) {
        return number;
    }
    let text = String::from_utf8_lossy(text);
    let digits = text.trim();
    let digits = digits.split_once('.').map_or(digits, |(whole, _)| whole);
    digits.parse().unwrap_or(0)
}

fn duration<S: Source>(xml: &mut Xml<S>, of: Name) -> Result<u64, NotationError> {
    let mut length = 0;
    loop {
        match xml.next()? {
            Next::Start(Name::Duration) => length = whole(xml.text(Name::Duration)?.as_bytes()),
            Next::Start(name) => xml.pass_over(name)?,
            Next::End(_) => return Ok(length),
            Next::Text => {}
            Next::Eof => return Err(xml.cut_short(of)),
        }
    }
}
