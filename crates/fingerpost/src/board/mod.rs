//! A board: measures in written order and the signs laid on them, right or wrong.
//!
//! A [`Board`] says what stands on the page. It can hold every mistake that a pupil or an engraver can make with signs (a
//! D.S. without a segno, overlapping brackets), but none that is no board at all (a sign beside the board, a
//! pass 0): those are refused by the readers and by the builder. Whether its signs make sense is for
//! [`check`](crate::check) to say.

mod builder;
pub(crate) mod complaint;
pub(crate) mod edit;
mod json;
mod line;
mod meter;
mod passes;
mod sign;

use crate::reading::Answers;

pub use builder::{BoardBuilder, BoardError, BoardFault};
pub use complaint::{Complaint, Position, ReadError};
pub use edit::{Edit, EditError};
#[cfg(feature = "schema")]
pub use json::board_schema;
pub use json::{EditTextError, LARGEST_FILE, edit_json, json_place, json_places};
pub use line::line_places;
pub use meter::{Fraction, FractionError, Meter};
pub use passes::{HIGHEST_PASS, Passes, PassesError};
pub use sign::{
    Al, DoubleBar, EndRepeat, Ending, Fermata, Fine, Hands, Jump, Landing, Octave, Only, Place,
    Plays, Repeats, Shift, Side, Sign, Then, ToCoda, When,
};

/// The most measures a board may have.
pub const MOST_MEASURES: u32 = 65_535;
/// The most markings a board may have, those not yet placed included.
pub const MOST_MARKINGS: usize = 100_000;
/// The longest title, composer or source, in characters.
pub const LONGEST_TITLE: usize = 500;
/// The longest label, id or measure name, in characters.
pub const LONGEST_LABEL: usize = 60;
/// The longest name of a measure, with its quotes and its count, that sentences say; a measure with a longer one is counted there.
pub const LONGEST_NAME_SAID: usize = 12;

/// A sign and its place on the board.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Marking {
    sign: Sign,
    place: Place,
    id: Option<String>,
}

impl Marking {
    /// A sign at a place. Whether it fits a board is asked when the board is built.
    pub fn new(sign: Sign, place: Place) -> Marking {
        Marking {
            sign,
            place,
            id: None,
        }
    }

    /// The same with a stable name that findings and steps carry.
    #[must_use]
    pub fn with_id(mut self, id: impl Into<String>) -> Marking {
        self.id = Some(id.into());
        self
    }

    /// What it is.
    pub fn sign(&self) -> &Sign {
        &self.sign
    }

    /// Where it stands.
    pub fn place(&self) -> Place {
        self.place
    }

    /// Its measure, or the first of its row, counted from 1.
    pub fn measure(&self) -> u16 {
        self.place.first
    }

    /// Its stable name.
    pub fn id(&self) -> Option<&str> {
        self.id.as_deref()
    }
}

/// A sign in the hand, not yet on the board.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Unplaced {
    /// What it is.
    pub sign: Sign,
    /// Its stable name.
    pub id: Option<String>,
}

/// A change of meter at the start of a measure.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct MeterChange {
    /// The measure from which it holds, counted from 1.
    pub measure: u16,
    /// The meter.
    pub meter: Meter,
}

/// A board of measures with its markings.
///
/// ```
/// use fingerpost::{Board, Sign};
/// let board = Board::builder([4, 4])
///     .title("Over the Stile")
///     .mark(Sign::StartRepeat, 3)
///     .mark(Sign::EndRepeat(Default::default()), 6)
///     .build()?;
/// assert_eq!(board.measures(), 8);
/// # Ok::<(), fingerpost::BoardError>(())
/// ```
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Board {
    // INVARIANT: at least one system, none empty, at most MOST_MEASURES measures in all; every marking stands on the board,
    // spans run forwards, and a sign has no key that contradicts its other keys (see `BoardFault`).
    title: Option<String>,
    composer: Option<String>,
    source: Option<String>,
    levels: Vec<u8>,
    meter: Option<Meter>,
    meters: Vec<MeterChange>,
    pickup: Option<Fraction>,
    systems: Vec<u16>,
    measure_numbers: Option<Vec<String>>,
    /// The measures whose printed number or name stands over another measure too, rising: known from `measure_numbers`.
    printed_alike: Vec<u16>,
    markings: Vec<Marking>,
    unplaced: Vec<Unplaced>,
    reading: Answers,
}

impl Board {
    /// Begins a board whose systems (rows) have so many measures each.
    pub fn builder(systems: impl IntoIterator<Item = u16>) -> BoardBuilder {
        BoardBuilder::new(systems)
    }

    /// A builder that holds everything this board holds, to make a changed one.
    pub fn to_builder(&self) -> BoardBuilder {
        BoardBuilder::from_board(self.clone())
    }

    /// The number of measures, from 1 to 65 535.
    pub fn measures(&self) -> u16 {
        // cannot fail: the invariant keeps the sum within u16.
        self.systems
            .iter()
            .fold(0, |sum: u16, &n| sum.saturating_add(n))
    }

    /// The measures in each system (row), top to bottom.
    pub fn systems(&self) -> &[u16] {
        &self.systems
    }

    /// The markings in the order in which they were given; their indices are those of the file.
    pub fn markings(&self) -> &[Marking] {
        &self.markings
    }

    /// Signs in the hand.
    pub fn unplaced(&self) -> &[Unplaced] {
        &self.unplaced
    }

    /// The title.
    pub fn title(&self) -> Option<&str> {
        self.title.as_deref()
    }

    /// The composer.
    pub fn composer(&self) -> Option<&str> {
        self.composer.as_deref()
    }

    /// Where the board comes from.
    pub fn source(&self) -> Option<&str> {
        self.source.as_deref()
    }

    /// The teaching levels the board is meant for.
    pub fn levels(&self) -> &[u8] {
        &self.levels
    }

    /// The meter at the beginning.
    pub fn meter(&self) -> Option<Meter> {
        self.meter
    }

    /// Changes of meter, by measure.
    pub fn meters(&self) -> &[MeterChange] {
        &self.meters
    }

    /// The length of an incomplete first measure.
    pub fn pickup(&self) -> Option<Fraction> {
        self.pickup
    }

    /// The printed numbers or names of the measures, when they are not 1 to N.
    pub fn measure_numbers(&self) -> Option<&[String]> {
        self.measure_numbers.as_deref()
    }

    /// The printed number or name of a measure.
    pub fn measure_name(&self, measure: u16) -> String {
        let printed = self
            .measure_numbers
            .as_ref()
            .and_then(|names| names.get(usize::from(measure).checked_sub(1)?));
        printed.cloned().unwrap_or_else(|| measure.to_string())
    }

    /// A measure as sentences name it: its printed number (`12`, `12a`) as it stands, a printed name in quotes. Where the same is printed
    /// over another measure, the count from the beginning stands beside it: `12 (#13)`. Where that would be longer than
    /// [`LONGEST_NAME_SAID`], the count stands alone: `#13`.
    ///
    /// ```
    /// use fingerpost::Board;
    /// let board: Board = "11 | \"the hut\" | 12 | 12 |".parse()?;
    /// let said = [1, 2, 3, 4].map(|measure| board.measure_words(measure));
    /// assert_eq!(said, ["11", "\"the hut\"", "12 (#3)", "12 (#4)"]);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn measure_words(&self, measure: u16) -> String {
        let Some(name) = self.printed(measure) else {
            return measure.to_string();
        };
        let is_number = name.starts_with(|first: char| first.is_ascii_digit());
        let mut words = if is_number && name.chars().all(char::is_alphanumeric) {
            name.to_owned()
        } else {
            format!("\"{name}\"")
        };
        if !self.tells_apart(measure) {
            words = format!("{words} (#{measure})");
        }
        if words.chars().count() > LONGEST_NAME_SAID {
            return format!("#{measure}");
        }
        words
    }

    /// A measure as it is typed in an order of measures ([`Answer::read`](crate::Answer::read)): its printed number, a printed name, in quotes
    /// where blanks or other signs in it would hide where it ends, or `#13`, counted from the beginning, where neither tells it apart.
    ///
    /// ```
    /// use fingerpost::Board;
    /// let board: Board = "11 | \"the hut\" | 12 | 12 |".parse()?;
    /// let typed = [1, 2, 3, 4].map(|measure| board.measure_typed(measure));
    /// assert_eq!(typed, ["11", "\"the hut\"", "#3", "#4"]);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn measure_typed(&self, measure: u16) -> String {
        let Some(name) = self.printed(measure) else {
            return measure.to_string();
        };
        if !self.tells_apart(measure) || name.contains('"') {
            format!("#{measure}")
        } else if !name.is_empty() && name.chars().all(char::is_alphanumeric) {
            name.to_owned()
        } else {
            format!("\"{name}\"")
        }
    }

    /// What is printed over a measure, where that is not its number everywhere.
    fn printed(&self, measure: u16) -> Option<&str> {
        let index = usize::from(measure).checked_sub(1)?;
        self.measure_numbers
            .as_ref()?
            .get(index)
            .map(String::as_str)
    }

    /// Whether what is printed over a measure stands over no other.
    fn tells_apart(&self, measure: u16) -> bool {
        self.printed_alike.binary_search(&measure).is_err()
    }

    /// The board's own answers to the questions of the reading.
    pub fn reading(&self) -> &Answers {
        &self.reading
    }

    /// The meter in force at a measure.
    pub fn meter_at(&self, measure: u16) -> Option<Meter> {
        let changes = self
            .meters
            .partition_point(|change| change.measure <= measure);
        changes
            .checked_sub(1)
            .and_then(|at| self.meters.get(at))
            .map(|change| change.meter)
            .or(self.meter)
    }

    /// The length of a measure in whole notes, when the board has a meter: measure 1 has the length of the pickup if there is one.
    pub fn measure_length(&self, measure: u16) -> Option<Fraction> {
        match self.pickup {
            Some(pickup) if measure == 1 => Some(pickup),
            _ => self.meter_at(measure).map(Meter::length),
        }
    }

    /// A point of a measure as a number of whole beats before it, when it is one.
    pub(crate) fn beats_before(&self, measure: u16, point: Fraction) -> Option<u32> {
        let unit = u32::from(self.meter_at(measure)?.unit());
        let beats = point.numerator() * unit;
        (beats % point.denominator() == 0).then(|| beats / point.denominator())
    }

    /// The same board with its markings in canonical order: by measure, then by kind as the board file lists them. Two boards that mean
    /// the same are equal in this form.
    #[must_use]
    pub fn canonical(&self) -> Board {
        let mut board = self.clone();
        board.markings.sort_by_cached_key(builder::canonical_key);
        board
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_pickup_is_the_length_of_the_first_measure_alone() {
        let meter = |beats| Meter::new(beats, 4).unwrap();
        let later = MeterChange {
            measure: 3,
            meter: meter(3),
        };
        let pickup = Fraction::new(1, 4).unwrap();
        let board = Board::builder([3])
            .meter(meter(4))
            .meters([later])
            .pickup(pickup)
            .build()
            .unwrap();
        let lengths = [1, 2, 3].map(|measure| board.measure_length(measure));
        assert_eq!(
            lengths,
            [pickup, meter(4).length(), meter(3).length()].map(Some)
        );
    }
}
