//! Building a board from Rust, and the one place where a board's invariant is proved.

use super::{
    Al, Board, Fraction, LONGEST_LABEL, LONGEST_TITLE, MOST_MARKINGS, MOST_MEASURES, Marking,
    Meter, MeterChange, Place, Plays, Sign, Then, Unplaced, passes::HIGHEST_PASS,
};
use crate::reading::Answers;

/// Builds a [`Board`]. Everything but the systems is optional.
#[derive(Clone, Debug)]
pub struct BoardBuilder {
    pub(super) board: Board,
}

/// A board that cannot be: what was given contradicts itself or reaches beyond the board.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("{fault}")]
pub struct BoardError {
    marking: Option<usize>,
    unplaced: Option<usize>,
    fault: BoardFault,
}

impl BoardError {
    /// The index of the marking at fault.
    pub fn marking(&self) -> Option<usize> {
        self.marking
    }

    /// The index among the unplaced signs of the one at fault.
    pub fn unplaced(&self) -> Option<usize> {
        self.unplaced
    }

    /// What is wrong.
    pub fn fault(&self) -> &BoardFault {
        &self.fault
    }
}

/// What can be wrong with a board that cannot be.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum BoardFault {
    /// No system at all.
    #[error("a board needs at least one system")]
    NoSystems,
    /// A system of no measures.
    #[error("system {0} is empty: a system has at least one measure")]
    EmptySystem(usize),
    /// More than 65 535 measures.
    #[error("the board has {0} measures; the most is 65535")]
    TooManyMeasures(u64),
    /// More than 100 000 markings.
    #[error("the board has {0} markings; the most is 100000")]
    TooManyMarkings(usize),
    /// A measure that is not on the board.
    #[error("measure {measure} is off the board: its measures are 1 to {measures}")]
    OffTheBoard {
        /// The measure asked for.
        measure: u16,
        /// The number of measures of the board.
        measures: u16,
    },
    /// A row of measures that runs backwards.
    #[error("the row of measures runs backwards, from {0} to {1}")]
    Backwards(u16, u16),
    /// A row of measures for a sign that stands at one.
    #[error("`{0}` stands at one measure, not over a row of them")]
    NoRow(&'static str),
    /// A cut for a sign that cannot cut a measure.
    #[error("`{0}` cannot cut a measure")]
    NoCut(&'static str),
    /// `plays` outside 1 to 1 000 000.
    #[error("`{0}` is not a number of plays: 1 to 1000000, or open")]
    PlaysOutOfRange(u32),
    /// `al segno` at a D.S.
    #[error("al Segno goes with D.C. only: a D.S. has left from the segno already")]
    AlSegnoAtDalSegno,
    /// `then` without `al: fine` or `al: segno`.
    #[error("`then` goes with al Fine or al Segno only")]
    ThenWithoutPlace,
    /// `coda` without `al: coda` or `then: coda`.
    #[error("`coda` names the coda of an al Coda, or of a `then coda`; this jump has neither")]
    CodaWithoutCoda,
    /// A label at a D.C. that is no D.C. al Segno.
    #[error("a D.C. goes to the beginning and has no label, unless it is a D.C. al Segno")]
    LabelAtDaCapo,
    /// A text that is too long.
    #[error("`{what}` has {length} characters; the most is {most}")]
    TooLong {
        /// Which text.
        what: &'static str,
        /// Its length in characters.
        length: usize,
        /// The most it may have.
        most: usize,
    },
    /// A text with a control character in it.
    #[error("`{0}` has a control character or a line break in it")]
    ControlCharacter(&'static str),
    /// A number of printed measure names that is not the number of measures.
    #[error("the board has {measures} measures and {names} printed measure numbers")]
    MeasureNumbers {
        /// How many names were given.
        names: usize,
        /// The number of measures of the board.
        measures: u16,
    },
    /// Changes of meter that do not rise.
    #[error("changes of meter stand in order of their measures, one at a measure")]
    MetersOutOfOrder,
    /// A change of meter on a board with no meter at its beginning.
    #[error("a board with changes of meter needs a meter at its beginning")]
    MetersWithoutMeter,
    /// A pickup of no length.
    #[error("a pickup has a length above 0")]
    EmptyPickup,
    /// A level outside 1 to 99, or given twice.
    #[error("`{0}` is not a level: levels are numbers from 1 to 99, each once")]
    Level(u8),
}

impl BoardBuilder {
    pub(super) fn new(systems: impl IntoIterator<Item = u16>) -> BoardBuilder {
        BoardBuilder {
            board: Board {
                title: None,
                composer: None,
                source: None,
                levels: Vec::new(),
                meter: None,
                meters: Vec::new(),
                pickup: None,
                systems: systems.into_iter().collect(),
                measure_numbers: None,
                printed_alike: Vec::new(),
                markings: Vec::new(),
                unplaced: Vec::new(),
                reading: Answers::default(),
            },
        }
    }

    pub(super) fn from_board(board: Board) -> BoardBuilder {
        BoardBuilder { board }
    }

    /// Sets the title, at most 500 characters.
    #[must_use]
    pub fn title(mut self, title: impl Into<String>) -> Self {
        self.board.title = Some(title.into());
        self
    }

    /// Sets the composer, at most 500 characters.
    #[must_use]
    pub fn composer(mut self, composer: impl Into<String>) -> Self {
        self.board.composer = Some(composer.into());
        self
    }

    /// Sets where the board comes from, at most 500 characters.
    #[must_use]
    pub fn source(mut self, source: impl Into<String>) -> Self {
        self.board.source = Some(source.into());
        self
    }

    /// Sets the teaching levels, each from 1 to 99.
    #[must_use]
    pub fn levels(mut self, levels: impl IntoIterator<Item = u8>) -> Self {
        self.board.levels = levels.into_iter().collect();
        self
    }

    /// Sets the meter at the beginning.
    #[must_use]
    pub fn meter(mut self, meter: Meter) -> Self {
        self.board.meter = Some(meter);
        self
    }

    /// Sets the changes of meter, by rising measure.
    #[must_use]
    pub fn meters(mut self, meters: impl IntoIterator<Item = MeterChange>) -> Self {
        self.board.meters = meters.into_iter().collect();
        self
    }

    /// Sets the length of an incomplete first measure, in whole notes.
    #[must_use]
    pub fn pickup(mut self, pickup: Fraction) -> Self {
        self.board.pickup = Some(pickup);
        self
    }

    /// Sets the printed numbers or names of the measures, one for each.
    #[must_use]
    pub fn measure_numbers(mut self, names: impl IntoIterator<Item = String>) -> Self {
        self.board.measure_numbers = Some(names.into_iter().collect());
        self
    }

    /// Sets the board's own answers to the questions of the reading.
    #[must_use]
    pub fn reading(mut self, reading: Answers) -> Self {
        self.board.reading = reading;
        self
    }

    /// Lays a sign at a measure, counted from 1.
    #[must_use]
    pub fn mark(self, sign: Sign, measure: u16) -> Self {
        self.marking(Marking::new(sign, Place::at(measure)))
    }

    /// Lays a sign over the measures from `first` to `last`, both included.
    #[must_use]
    pub fn over(self, sign: Sign, first: u16, last: u16) -> Self {
        self.marking(Marking::new(sign, Place::over(first, last)))
    }

    /// Adds a marking.
    #[must_use]
    pub fn marking(mut self, marking: Marking) -> Self {
        self.board.markings.push(marking);
        self
    }

    /// Adds many markings.
    #[must_use]
    pub fn markings(mut self, markings: impl IntoIterator<Item = Marking>) -> Self {
        self.board.markings.extend(markings);
        self
    }

    /// Takes all markings away.
    #[must_use]
    pub fn without_markings(mut self) -> Self {
        self.board.markings.clear();
        self
    }

    /// Adds a sign in the hand.
    #[must_use]
    pub fn unplaced(mut self, unplaced: Unplaced) -> Self {
        self.board.unplaced.push(unplaced);
        self
    }

    /// Sets the signs in the hand, in place of those there are.
    #[must_use]
    pub fn hand(mut self, unplaced: impl IntoIterator<Item = Unplaced>) -> Self {
        self.board.unplaced = unplaced.into_iter().collect();
        self
    }

    /// The board, when it can be one.
    ///
    /// # Errors
    /// The first [`BoardFault`] found: an empty system, a sign off the board, keys that contradict each other.
    pub fn build(self) -> Result<Board, BoardError> {
        self.build_all().map_err(|mut errors| {
            // cannot fail: `build_all` fails with at least one error.
            errors.swap_remove(0)
        })
    }

    /// The board, or every fault it has, in order: those of the board itself, then by marking, then by unplaced sign.
    ///
    /// # Errors
    /// All faults; the list is never empty.
    pub fn build_all(mut self) -> Result<Board, Vec<BoardError>> {
        let mut errors: Vec<BoardError> = Vec::new();
        let mut whole = |fault| {
            errors.push(BoardError {
                marking: None,
                unplaced: None,
                fault,
            });
        };
        board_faults(&self.board, &mut whole);
        // Without a number of measures nothing can be said of places; signs are looked at whatever else is wrong.
        if self.board.has_sound_systems() {
            let measures = self.board.measures();
            for (index, marking) in self.board.markings.iter().enumerate() {
                marking_faults(marking, measures, &mut |fault| {
                    errors.push(BoardError {
                        marking: Some(index),
                        unplaced: None,
                        fault,
                    });
                });
            }
            for (index, card) in self.board.unplaced.iter().enumerate() {
                let mut report = |fault| {
                    errors.push(BoardError {
                        marking: None,
                        unplaced: Some(index),
                        fault,
                    });
                };
                sign_faults(&card.sign, &mut report);
                text_fault("id", card.id.as_deref(), LONGEST_LABEL, &mut report);
            }
        }
        if !errors.is_empty() {
            return Err(errors);
        }
        let plain = |names: &Vec<String>| {
            names
                .iter()
                .enumerate()
                .all(|(i, name)| *name == (i + 1).to_string())
        };
        if self.board.measure_numbers.as_ref().is_some_and(plain) {
            self.board.measure_numbers = None;
        }
        self.board.printed_alike = printed_alike(self.board.measure_numbers());
        Ok(self.board)
    }
}

/// The measures over which the same is printed as over another, rising.
fn printed_alike(names: Option<&[String]>) -> Vec<u16> {
    let mut sorted: Vec<(&String, u16)> = names.unwrap_or_default().iter().zip(1..).collect();
    sorted.sort_unstable();
    let groups = sorted.chunk_by(|one, other| one.0 == other.0);
    let alike = groups.filter(|group| group.len() > 1).flatten();
    let mut alike: Vec<u16> = alike.map(|&(_, measure)| measure).collect();
    alike.sort_unstable();
    alike
}

impl Board {
    /// Whether the systems give a number of measures.
    fn has_sound_systems(&self) -> bool {
        let measures: u64 = self.systems.iter().map(|&n| u64::from(n)).sum();
        !self.systems.is_empty()
            && !self.systems.contains(&0)
            && measures <= u64::from(MOST_MEASURES)
    }
}

fn board_faults(board: &Board, report: &mut dyn FnMut(BoardFault)) {
    if board.systems.is_empty() {
        report(BoardFault::NoSystems);
    }
    for (index, &measures) in board.systems.iter().enumerate() {
        if measures == 0 {
            report(BoardFault::EmptySystem(index + 1));
        }
    }
    let measures: u64 = board.systems.iter().map(|&n| u64::from(n)).sum();
    if measures > u64::from(MOST_MEASURES) {
        report(BoardFault::TooManyMeasures(measures));
    }
    let counted = board.has_sound_systems();
    let measures = board.measures();
    let markings = board.markings.len() + board.unplaced.len();
    if markings > MOST_MARKINGS {
        report(BoardFault::TooManyMarkings(markings));
    }
    for (what, text) in [
        ("title", &board.title),
        ("composer", &board.composer),
        ("source", &board.source),
    ] {
        text_fault(what, text.as_deref(), LONGEST_TITLE, report);
    }
    if let Some(names) = &board.measure_numbers {
        if counted && names.len() != usize::from(measures) {
            report(BoardFault::MeasureNumbers {
                names: names.len(),
                measures,
            });
        }
        for name in names {
            text_fault("measure-numbers", Some(name), LONGEST_LABEL, report);
        }
    }
    if !board.meters.is_empty() && board.meter.is_none() {
        report(BoardFault::MetersWithoutMeter);
    }
    if !board.meters.is_sorted_by(|a, b| a.measure < b.measure) {
        report(BoardFault::MetersOutOfOrder);
    }
    for change in &board.meters {
        if counted && (change.measure == 0 || change.measure > measures) {
            report(BoardFault::OffTheBoard {
                measure: change.measure,
                measures,
            });
        }
    }
    if board.pickup == Some(Fraction::ZERO) {
        report(BoardFault::EmptyPickup);
    }
    let mut seen = [false; 100];
    for &level in &board.levels {
        match seen.get_mut(usize::from(level)) {
            Some(seen) if level > 0 && !*seen => *seen = true,
            _ => report(BoardFault::Level(level)),
        }
    }
}

fn text_fault(
    what: &'static str,
    text: Option<&str>,
    most: usize,
    report: &mut dyn FnMut(BoardFault),
) {
    let Some(text) = text else { return };
    if text.len() > most {
        let length = text.chars().count();
        if length > most {
            report(BoardFault::TooLong { what, length, most });
        }
    }
    if text.bytes().any(|b| b < 0x20 || b == 0x7f) {
        report(BoardFault::ControlCharacter(what));
    }
}

fn marking_faults(marking: &Marking, measures: u16, report: &mut dyn FnMut(BoardFault)) {
    let place = marking.place;
    for measure in [place.first, place.last] {
        if measure == 0 || measure > measures {
            report(BoardFault::OffTheBoard { measure, measures });
            if place.first == place.last {
                break;
            }
        }
    }
    if place.last < place.first {
        report(BoardFault::Backwards(place.first, place.last));
    }
    if place.first != place.last && !marking.sign.spans() {
        report(BoardFault::NoRow(marking.sign.kind()));
    }
    if place.cut.is_some() && !marking.sign.may_cut() {
        report(BoardFault::NoCut(marking.sign.kind()));
    }
    sign_faults(&marking.sign, report);
    text_fault("id", marking.id.as_deref(), LONGEST_LABEL, report);
}

fn sign_faults(sign: &Sign, report: &mut dyn FnMut(BoardFault)) {
    let mut label = |what: &'static str, text: &Option<String>| {
        text_fault(what, text.as_deref(), LONGEST_LABEL, &mut *report);
    };
    match sign {
        Sign::EndRepeat(end) => {
            if let Some(Plays::Times(times)) = end.plays {
                if times == 0 || times > HIGHEST_PASS {
                    report(BoardFault::PlaysOutOfRange(times));
                }
            }
        }
        Sign::Segno(landing) | Sign::Coda(landing) => label("label", &landing.label),
        Sign::ToCoda(to_coda) => label("label", &to_coda.label),
        Sign::DaCapo(jump) | Sign::DalSegno(jump) => {
            label("label", &jump.label);
            label("coda", &jump.coda);
            let da_capo = matches!(sign, Sign::DaCapo(_));
            if jump.al == Some(Al::Segno) && !da_capo {
                report(BoardFault::AlSegnoAtDalSegno);
            }
            if jump.label.is_some() && da_capo && jump.al != Some(Al::Segno) {
                report(BoardFault::LabelAtDaCapo);
            }
            if jump.then.is_some() && !matches!(jump.al, Some(Al::Fine | Al::Segno)) {
                report(BoardFault::ThenWithoutPlace);
            }
            if jump.coda.is_some() && jump.al != Some(Al::Coda) && jump.then != Some(Then::Coda) {
                report(BoardFault::CodaWithoutCoda);
            }
        }
        _ => {}
    }
}

/// The place of a marking in canonical order.
pub(super) fn canonical_key(marking: &Marking) -> (u16, Option<Fraction>, u8, u16, String) {
    let kind = match marking.sign {
        Sign::StartRepeat => 0,
        Sign::EndRepeat(_) => 1,
        Sign::Ending(_) => 2,
        Sign::Segno(_) => 3,
        Sign::Coda(_) => 4,
        Sign::ToCoda(_) => 5,
        Sign::Fine(_) => 6,
        Sign::DaCapo(_) => 7,
        Sign::DalSegno(_) => 8,
        Sign::DoubleBar(_) => 9,
        Sign::Octave(_) => 10,
        Sign::Fermata(_) => 11,
        Sign::Only(_) => 12,
    };
    // The debug form breaks the ties between signs of one kind at one place, so that equal boards sort equally.
    (
        marking.place.first,
        marking.place.cut,
        kind,
        marking.place.last,
        format!("{:?}{:?}", marking.sign, marking.id),
    )
}
