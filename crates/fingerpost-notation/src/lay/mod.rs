//! From what a score writes to a board: one way for all formats.
//!
//! A mark by which the road is left acts at the end of its measure, wherever in it the words stand; a mark where it lands acts at the
//! start. Words are set where there is room, so that their place in the measure says little; the rulebook's chapter 1 has the two edges.

mod codas;
mod endings;
mod jumps;
mod lines;
mod pieces;

use std::collections::{BTreeSet, HashSet};

use fingerpost::{
    Board, DoubleBar, EndRepeat, LONGEST_LABEL, LONGEST_TITLE, Marking, MeterChange, Place, Plays,
    Repeats, Sign,
};

use crate::error::{NotationError, NotationErrorKind};
use crate::notices::{Notice, Rule};
use crate::written::{At, Mark, Measure, What, Written};

/// A board made of a score.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub struct Score {
    /// The board.
    pub board: Board,
    /// Its number in its book: the `X:` of a tune in ABC; no other format has one.
    pub number: Option<u32>,
    /// For each marking of the board, the line of the file that it was read from.
    pub lines: Vec<Option<u32>>,
    /// What was noticed in reading, in the order of the measures.
    pub notices: Vec<Notice>,
}

/// A marking with its line.
type Laid = (Marking, u32);

pub(crate) fn lay(written: &Written, notices: Vec<Notice>) -> Result<Score, NotationError> {
    let mut laying = Laying {
        written,
        last: u16::try_from(written.measures.len()).unwrap_or(u16::MAX),
        laid: Vec::new(),
        starts: BTreeSet::new(),
        ends: BTreeSet::new(),
        double_bars: BTreeSet::new(),
        notices,
    };
    laying.lay_barlines();
    laying.endings();
    laying.jumps();
    laying.say_repeats_once();
    laying.lines();
    laying.finish()
}

struct Laying<'a> {
    written: &'a Written,
    /// The last measure, from 1.
    last: u16,
    laid: Vec<Laid>,
    /// The measures at which start repeats, end repeats and double bars stand.
    starts: BTreeSet<u16>,
    ends: BTreeSet<u16>,
    double_bars: BTreeSet<u16>,
    notices: Vec<Notice>,
}

impl Laying<'_> {
    /// Repeats and double bars.
    fn lay_barlines(&mut self) {
        for mark in &self.written.marks {
            match &mark.what {
                What::StartRepeat => {
                    if let Some(place) = self.landing_exactly(mark) {
                        self.starts.insert(place.first());
                        self.put(Sign::StartRepeat, place, mark);
                    } else {
                        self.left_out(mark, "a start repeat after the last measure");
                    }
                }
                What::EndRepeat(repeat) => {
                    let sign = Sign::EndRepeat(EndRepeat {
                        plays: repeat.times.map(Plays::Times),
                        on_return: repeat
                            .after_jump
                            .map(|plays| if plays { Repeats::Play } else { Repeats::Skip }),
                    });
                    match self.leaving_exactly(mark) {
                        Some(place) => {
                            self.ends.insert(place.first());
                            self.put(sign, place, mark);
                        }
                        None => self.left_out(mark, "an end repeat before the first measure"),
                    }
                }
                What::DoubleBar { is_final } => {
                    let measure = leaving(mark);
                    if let Some(measure) = measure.filter(|measure| *measure < self.last) {
                        let sign = Sign::DoubleBar(DoubleBar {
                            is_final: *is_final,
                        });
                        self.double_bars.insert(measure);
                        self.put(sign, Place::at(measure), mark);
                    }
                }
                _ => {}
            }
        }
    }

    /// Where every return says "con rep.", an end repeat need not say it too: a score for programs that do not read words has both.
    fn say_repeats_once(&mut self) {
        let said = |laid: &Laid| match laid.0.sign() {
            Sign::DaCapo(jump) | Sign::DalSegno(jump) => Some(jump.repeats),
            _ => None,
        };
        let mut returns = self.laid.iter().filter_map(said).peekable();
        let in_words = returns.peek().is_some() && returns.all(|said| said == Some(Repeats::Play));
        if !in_words {
            return;
        }
        for (marking, _) in &mut self.laid {
            if let Sign::EndRepeat(repeat) = marking.sign() {
                if repeat.on_return == Some(Repeats::Play) {
                    let plain = EndRepeat {
                        on_return: None,
                        ..repeat.clone()
                    };
                    *marking = Marking::new(Sign::EndRepeat(plain), marking.place());
                }
            }
        }
    }

    /// Where a barline by which the road is left stands: at the end of a measure, or cutting it.
    fn leaving_exactly(&self, mark: &Mark) -> Option<Place> {
        match mark.at {
            At::Inside(cut) if self.has_meter() => Some(Place::cutting(number(mark), cut)),
            At::Start => leaving(mark).map(Place::at),
            _ => Some(Place::at(number(mark))),
        }
    }

    fn landing_exactly(&self, mark: &Mark) -> Option<Place> {
        match mark.at {
            At::Inside(cut) if self.has_meter() => Some(Place::cutting(number(mark), cut)),
            At::End => Some(number(mark).saturating_add(1))
                .filter(|measure| *measure <= self.last)
                .map(Place::at),
            _ => Some(Place::at(number(mark))),
        }
    }

    fn has_meter(&self) -> bool {
        self.written
            .measures
            .first()
            .is_some_and(|measure| measure.meter.is_some())
    }

    fn put(&mut self, sign: Sign, place: Place, mark: &Mark) {
        self.laid.push((Marking::new(sign, place), mark.line));
    }

    fn notice(
        &mut self,
        rule: Rule,
        mark: &Mark,
        message: impl Into<String>,
        help: impl Into<String>,
    ) {
        self.notices.push(Notice::new(
            rule,
            mark.line,
            Some(mark.measure),
            message,
            help,
        ));
    }

    fn left_out(&mut self, mark: &Mark, what: &str) {
        self.notice(
            Rule::LeftOut,
            mark,
            format!("{what} was left out"),
            "it has no place on a board",
        );
    }

    /// A title or a name, as long as a board may have it; none where the score has none.
    fn heading(&mut self, what: &str, text: Option<&str>) -> Option<String> {
        let whole = clean(text?, usize::MAX);
        let kept = clean(&whole, LONGEST_TITLE);
        if kept.len() < whole.len() {
            self.notices.push(Notice::new(
                Rule::LeftOut,
                0,
                None,
                format!("the {what} is long; what follows {LONGEST_TITLE} characters was left out"),
                "a board has no room for more of it; the signs are not touched by that",
            ));
        }
        Some(kept).filter(|kept| !kept.is_empty())
    }

    fn finish(mut self) -> Result<Score, NotationError> {
        self.laid.sort_by_key(|(marking, _)| marking.measure());
        let mut lines = Vec::with_capacity(self.laid.len());
        let mut markings: Vec<Marking> = Vec::with_capacity(self.laid.len());
        let mut known = HashSet::new();
        for (marking, line) in std::mem::take(&mut self.laid) {
            // The words of several parts, or a sign drawn at both edges of a barline, are one sign.
            if known.insert(marking.clone()) {
                markings.push(marking);
                lines.push((line > 0).then_some(line));
            }
        }
        let written = self.written;
        let measures = &written.measures;
        let mut builder = Board::builder(systems(measures)).markings(markings);
        if let Some(title) = self.heading("title", written.title.as_deref()) {
            builder = builder.title(title);
        }
        if let Some(composer) = self.heading("composer", written.composer.as_deref()) {
            builder = builder.composer(composer);
        }
        if let Some(meter) = measures.first().and_then(|measure| measure.meter) {
            builder = builder.meter(meter).meters(meter_changes(measures));
            let pickup = measures.first().and_then(|measure| measure.length);
            let is_short = |length: fingerpost::Fraction| {
                length.numerator() > 0 && shorter(length, meter.length())
            };
            if let Some(pickup) = pickup.filter(|length| is_short(*length)) {
                builder = builder.pickup(pickup);
            }
        }
        if let Some(names) = names(measures) {
            builder = builder.measure_numbers(names);
        }
        self.notices
            .sort_by_key(|notice| (notice.measure, notice.line));
        match builder.build() {
            Ok(board) => Ok(Score {
                board,
                number: self.written.number,
                lines,
                notices: self.notices,
            }),
            Err(error) => {
                let line = error
                    .marking()
                    .and_then(|at| lines.get(at).copied())
                    .flatten();
                Err(NotationError::new(
                    NotationErrorKind::TooLarge,
                    line,
                    format!("the score does not fit on a board: {error}"),
                ))
            }
        }
    }
}

/// The measure of a mark, from 1.
fn number(mark: &Mark) -> u16 {
    u16::try_from(mark.measure)
        .unwrap_or(u16::MAX)
        .saturating_add(1)
}

/// The measure at whose end a barline stands; `None` before the first.
fn leaving(mark: &Mark) -> Option<u16> {
    match mark.at {
        At::Start => number(mark).checked_sub(1).filter(|measure| *measure > 0),
        _ => Some(number(mark)),
    }
}

fn shorter(a: fingerpost::Fraction, b: fingerpost::Fraction) -> bool {
    u64::from(a.numerator()) * u64::from(b.denominator())
        < u64::from(b.numerator()) * u64::from(a.denominator())
}

fn systems(measures: &[Measure]) -> Vec<u16> {
    let mut systems: Vec<u16> = Vec::new();
    for (index, measure) in measures.iter().enumerate() {
        match systems.last_mut() {
            Some(system) if !(measure.new_system && index > 0) => {
                *system = system.saturating_add(1);
            }
            _ => systems.push(1),
        }
    }
    systems
}

fn meter_changes(measures: &[Measure]) -> Vec<MeterChange> {
    let mut present = None;
    let mut changes = Vec::new();
    for (index, measure) in measures.iter().enumerate() {
        let Some(meter) = measure.meter else { continue };
        if let (Some(before), Ok(at)) = (present, u16::try_from(index + 1)) {
            if before != meter {
                changes.push(MeterChange { measure: at, meter });
            }
        }
        present = Some(meter);
    }
    changes
}

/// The printed numbers, unless they are 1 to N.
fn names(measures: &[Measure]) -> Option<Vec<String>> {
    let plain = measures
        .iter()
        .enumerate()
        .all(|(index, measure)| match measure.name.as_deref() {
            None | Some("") => true,
            Some(name) => name == (index + 1).to_string(),
        });
    if plain {
        return None;
    }
    let names = measures.iter().enumerate().map(|(index, measure)| {
        let name = clean(measure.name.as_deref().unwrap_or_default(), LONGEST_LABEL);
        if name.is_empty() {
            (index + 1).to_string()
        } else {
            name
        }
    });
    Some(names.collect())
}

/// A text without control characters and outer blanks, at most so many characters long; line breaks become blanks.
fn clean(text: &str, most: usize) -> String {
    // Mostly there is nothing to clean, as in "12".
    if text.len() <= most && text.bytes().all(|byte| byte.is_ascii_graphic()) {
        return text.to_owned();
    }
    let words: Vec<&str> = text
        .split(|c: char| c.is_whitespace() || c.is_control())
        .filter(|word| !word.is_empty())
        .collect();
    words.join(" ").chars().take(most).collect()
}
