//! One tune: its fields, and its music line by line.

use std::collections::{HashMap, HashSet};

use fingerpost::{MOST_MARKINGS, MOST_MEASURES, Meter};

use super::order::{self, Part};
use crate::error::{NotationError, NotationErrorKind};
use crate::notices::{Notice, Rule};
use crate::words::{self, Phrase};
use crate::written::{At, Mark, Measure, What, Written};

/// The most marks of a tune: several may make one sign.
const MOST_MARKS: usize = 4 * MOST_MARKINGS;

/// What older books quote for the segno. No chord has this name.
pub(super) const LETTER_S: &str = "S";

/// A tune as far as it has been read.
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a state of its own of the reading"
)]
pub(super) struct Tune {
    /// The line of its `X:`.
    first_line: u32,
    /// Its number in the book.
    number: Option<u32>,
    title: Option<String>,
    composer: Option<String>,
    /// The order of the parts, with the line of the field.
    order: Option<(String, u32)>,
    in_body: bool,
    meter: Option<Meter>,
    /// The voice that is read: the first one that has music.
    voice: Option<String>,
    present_voice: Option<String>,
    pub(super) measures: Vec<Measure>,
    pub(super) marks: Vec<Mark>,
    /// The parts of the music, each with the measure at which it begins.
    parts: Vec<Part>,
    pub(super) notices: Vec<Notice>,
    /// Whether a measure has begun and not been closed.
    pub(super) in_measure: bool,
    pub(super) in_ending: bool,
    /// Decorations and annotations that wait for a note or a barline.
    pub(super) waiting: Vec<(What, u32)>,
    /// Where the next measure begins a system, and the change of meter that it brings.
    new_system: bool,
    new_meter: bool,
}

impl Tune {
    /// A tune that begins with this line, its `X:`.
    pub(super) fn new(line: &str, first_line: u32) -> Tune {
        let number = line.strip_prefix("X:").map(without_comment);
        Tune {
            first_line,
            number: number.and_then(|number| number.trim().parse().ok()),
            title: None,
            composer: None,
            order: None,
            in_body: false,
            meter: None,
            voice: None,
            present_voice: None,
            measures: Vec::new(),
            marks: Vec::new(),
            parts: Vec::new(),
            notices: Vec::new(),
            in_measure: false,
            in_ending: false,
            waiting: Vec::new(),
            new_system: false,
            new_meter: false,
        }
    }

    /// Reads one line of the tune.
    ///
    /// # Errors
    /// More measures than a board has, or far more signs.
    pub(super) fn line(&mut self, line: &str, number: u32) -> Result<(), NotationError> {
        if line.starts_with('%') {
            return Ok(());
        }
        let line = without_comment(line);
        if let Some((field, value)) = field(line) {
            self.field(field, value, number);
            return Ok(());
        }
        if !self.in_body {
            return Ok(());
        }
        self.new_system = true;
        self.music(line, number)
    }

    /// Whether the tune has no more signs than could ever be laid.
    pub(super) fn is_in_bounds(&self, line: u32) -> Result<(), NotationError> {
        if self.marks.len() + self.waiting.len() > MOST_MARKS {
            return Err(NotationError::new(
                NotationErrorKind::TooLarge,
                line,
                format!(
                    "the tune has more than {MOST_MARKS} signs; a board has at most {MOST_MARKINGS}"
                ),
            ));
        }
        Ok(())
    }

    /// A field, on a line of its own or in brackets.
    pub(super) fn field(&mut self, field: char, value: &str, line: u32) {
        let value = value.trim();
        match field {
            'T' if self.title.is_none() => self.title = Some(value.to_owned()),
            'C' if self.composer.is_none() => self.composer = Some(value.to_owned()),
            'K' => self.in_body = true,
            'M' => {
                self.meter = meter(value);
                self.new_meter = true;
            }
            'P' if !self.in_body => self.order = Some((value.to_owned(), line)),
            'P' => self.begin_part(value),
            'V' if self.in_body => {
                let voice = value.split_whitespace().next().unwrap_or_default();
                self.present_voice = Some(voice.to_owned());
            }
            _ => {}
        }
    }

    /// Whether the music that follows is of the voice that is read.
    pub(super) fn is_heard(&self) -> bool {
        self.voice.is_none() || self.voice == self.present_voice
    }

    /// A note or a rest: the measure has begun.
    pub(super) fn sounds(&mut self, line: u32) -> Result<(), NotationError> {
        if self.voice.is_none() {
            self.voice.clone_from(&self.present_voice);
        }
        let is_first = !self.in_measure;
        if is_first {
            self.begin_measure(line)?;
        }
        for (what, line) in std::mem::take(&mut self.waiting) {
            let at = if lands(&what, is_first) {
                At::Start
            } else {
                At::End
            };
            self.mark(at, line, what);
        }
        Ok(())
    }

    pub(super) fn begin_measure(&mut self, line: u32) -> Result<(), NotationError> {
        if self.measures.len() >= MOST_MEASURES as usize {
            return Err(NotationError::new(
                NotationErrorKind::TooLarge,
                line,
                format!("the tune has more than {MOST_MEASURES} measures; so many are read"),
            ));
        }
        self.measures.push(Measure {
            name: None,
            new_system: std::mem::take(&mut self.new_system),
            meter: if self.new_meter { self.meter } else { None },
            length: None,
            is_absent: false,
        });
        self.new_meter = false;
        self.in_measure = true;
        Ok(())
    }

    /// A mark in the present measure, or in the one before when none has begun.
    pub(super) fn mark(&mut self, at: At, line: u32, what: What) {
        let count = u32::try_from(self.measures.len()).unwrap_or(u32::MAX);
        self.marks.push(Mark {
            measure: count.saturating_sub(1),
            at,
            line,
            what,
        });
    }

    /// A mark at the start of the measure that comes next.
    pub(super) fn mark_next(&mut self, line: u32, what: What) {
        let measure = u32::try_from(self.measures.len()).unwrap_or(u32::MAX);
        self.marks.push(Mark {
            measure,
            at: At::Start,
            line,
            what,
        });
    }

    fn begin_part(&mut self, name: &str) {
        let Some(name) = name.chars().next() else {
            return;
        };
        self.parts.push(Part {
            name,
            first: self.measures.len(),
        });
    }

    /// Moves the coda signs on barlines that have no later one to go to: the coda begins behind them.
    fn place_coda_signs(&mut self) {
        let is_coda = |mark: &Mark| match &mark.what {
            What::CodaSign => true,
            What::Words(text) => {
                let mut phrases = words::phrases(text).into_iter();
                phrases.any(|phrase| matches!(phrase, Phrase::Coda(_) | Phrase::CodaSign))
            }
            _ => false,
        };
        let codas = self.marks.iter().filter(|mark| is_coda(mark));
        let lands_at = |mark: &Mark| mark.measure + u32::from(mark.at == At::End);
        let last = codas.map(lands_at).max().unwrap_or_default();
        for mark in &mut self.marks {
            if mark.what == What::CodaSign && mark.at == At::End && lands_at(mark) >= last {
                mark.measure += 1;
                mark.at = At::Start;
            }
        }
    }

    /// Reads a quoted S as the segno where the tune has a D.S., and nothing else that it could go to.
    fn read_letters(&mut self) {
        let says = |mark: &Mark, wanted: fn(&Phrase) -> bool| matches!(&mark.what, What::Words(text) if words::phrases(text).iter().any(wanted));
        let is_jump = |phrase: &Phrase| matches!(phrase, Phrase::Jump(jump) if !jump.da_capo);
        let jumps = |mark: &Mark| {
            let heard = matches!(&mark.what, What::Sound(sound) if sound.dal_segno.is_some());
            heard || says(mark, is_jump)
        };
        let is_segno = |mark: &Mark| {
            mark.what == What::SegnoSign || says(mark, |phrase| matches!(phrase, Phrase::SegnoSign))
        };
        let returns: HashSet<u32> = {
            let returns = self.marks.iter().filter(|mark| jumps(mark));
            returns.map(|mark| mark.measure).collect()
        };
        // One that is drawn at the D.S. itself is not where it goes to.
        let has_segno = |mark: &Mark| is_segno(mark) && !returns.contains(&mark.measure);
        if returns.is_empty() || self.marks.iter().any(has_segno) {
            return;
        }
        for mark in &mut self.marks {
            if matches!(&mark.what, What::Words(text) if text == LETTER_S) {
                mark.what = What::SegnoSign;
                self.notices.push(Notice::new(
                    Rule::WordsRead,
                    mark.line,
                    Some(mark.measure),
                    "the letter S stands here for the segno",
                    "it was read as the sign that the D.S. goes to; write !segno! to make it sure",
                ));
            }
        }
    }

    /// The tune's signs; none when it has no measure.
    pub(super) fn finish(mut self) -> Result<Option<(Written, Vec<Notice>)>, NotationError> {
        if self.measures.is_empty() {
            return Ok(None);
        }
        for (what, line) in std::mem::take(&mut self.waiting) {
            self.mark(At::End, line, what);
        }
        if self.in_ending {
            self.mark(At::End, self.first_line, What::EndingStop { open: true });
        }
        self.place_coda_signs();
        let count = self.measures.len();
        let (kept, beyond): (Vec<Mark>, Vec<Mark>) = self
            .marks
            .into_iter()
            .partition(|mark| (mark.measure as usize) < count);
        self.marks = kept;
        for mark in beyond {
            self.notices.push(Notice::new(
                Rule::LeftOut,
                mark.line,
                None,
                "a sign after the last measure was left out",
                "it has no place on a board",
            ));
        }
        self.read_letters();
        self.marks.sort_by_key(|mark| mark.measure);
        let mut written = Written {
            title: self.title,
            composer: self.composer,
            number: self.number,
            measures: self.measures,
            marks: self.marks,
        };
        if let Some((order, line)) = self.order {
            written = ordered(written, &order, line, &self.parts, &mut self.notices)?;
        }
        Ok(Some((written, self.notices)))
    }
}

/// The music in the order of its `P:` field, each part as often as it is named there.
fn ordered(
    written: Written,
    order: &str,
    line: u32,
    parts: &[Part],
    notices: &mut Vec<Notice>,
) -> Result<Written, NotationError> {
    let mut firsts = HashMap::new();
    for part in parts {
        firsts.entry(part.name).or_insert(part.first);
    }
    let named = order::parse(order);
    let Some(named) = named.filter(|named| named.iter().all(|part| firsts.contains_key(part)))
    else {
        notices.push(Notice::new(
            Rule::PartsOrder,
            line,
            None,
            "the order of the parts names parts that the music does not mark",
            "the music was read as it is written; mark each part with P: and its letter",
        ));
        return Ok(written);
    };
    notices.push(Notice::new(
        Rule::PartsOrder,
        line,
        None,
        "the tune gives the order of its parts",
        "the board has the parts in that order, each with the repeats it has of its own",
    ));
    order::laid_out(&written, &named, parts).ok_or_else(|| {
        NotationError::new(
            NotationErrorKind::TooLarge,
            line,
            format!(
                "the parts in their order make more than {MOST_MEASURES} measures or {MOST_MARKINGS} signs; so many are read"
            ),
        )
    })
}

/// Whether a sign before a note stands where the road lands; words do before the first note of their measure.
fn lands(what: &What, is_first: bool) -> bool {
    match what {
        What::SegnoSign | What::CodaSign | What::Fermata(_) => true,
        What::Words(text) => is_first || text == LETTER_S,
        _ => false,
    }
}

/// A field: a letter, a colon, a value.
fn field(line: &str) -> Option<(char, &str)> {
    let mut characters = line.chars();
    let letter = characters
        .next()
        .filter(|c| c.is_ascii_alphabetic() || *c == '+')?;
    let value = characters.as_str().strip_prefix(':')?;
    // `|:` and `A:|` are music: a field's value does not begin with a barline.
    (!value.starts_with(['|', ':'])).then_some((letter, value))
}

/// A line without its comment; `\%` is no comment.
fn without_comment(line: &str) -> &str {
    let mut before = ' ';
    for (at, character) in line.char_indices() {
        if character == '%' && before != '\\' {
            return line.get(..at).unwrap_or(line);
        }
        before = character;
    }
    line
}

/// "6/8", "C", "C|", "2+3/8"; none for free meter.
fn meter(value: &str) -> Option<Meter> {
    match value {
        "C" => Meter::new(4, 4),
        "C|" => Meter::new(2, 2),
        _ => {
            let (beats, unit) = value.split_once('/')?;
            let beats = beats.trim_matches(['(', ')', ' ']);
            let beats = beats.split('+').try_fold(0_u8, |sum, beats| {
                sum.checked_add(beats.trim().parse().ok()?)
            })?;
            Meter::new(beats, unit.trim().parse().ok()?)
        }
    }
}
