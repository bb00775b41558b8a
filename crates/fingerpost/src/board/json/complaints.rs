//! What is wrong with a file, gathered while it is read with care.

use std::ops::Range;

use super::cursor;
use super::values::{Value, one_of};
use crate::board::complaint::nearest;
use crate::board::{BoardError, Complaint, Position, ReadError};

/// The most complaints that are listed for one file; one more then says so. Reading stops there, so that a hostile
/// file is refused as soon as any other.
const MOST_COMPLAINTS: usize = 1000;
/// The longest piece of a file that a message quotes, in characters.
const LONGEST_QUOTE: usize = 40;

/// A value in the text and the way to it.
#[derive(Clone)]
pub(super) struct Spot<'a> {
    /// The whole text.
    pub(super) text: &'a str,
    /// The bytes of the value.
    pub(super) range: Range<usize>,
    parent: Option<&'a Spot<'a>>,
    step: Step<'a>,
}

#[derive(Clone)]
enum Step<'a> {
    Root,
    Key(&'a str),
    Index(usize),
}

impl<'a> Spot<'a> {
    /// The whole value of a text.
    pub(super) fn root(text: &'a str) -> Spot<'a> {
        Spot {
            text,
            range: cursor::root(text),
            parent: None,
            step: Step::Root,
        }
    }

    /// The value of a key of this object.
    pub(super) fn member<'b>(&'b self, key: &'b str, range: Range<usize>) -> Spot<'b> {
        self.below(Step::Key(key), range)
    }

    /// An element of this array, counted from 0.
    pub(super) fn element(&self, index: usize, range: Range<usize>) -> Spot<'_> {
        self.below(Step::Index(index), range)
    }

    fn below<'b>(&'b self, step: Step<'b>, range: Range<usize>) -> Spot<'b> {
        Spot {
            text: self.text,
            range,
            parent: Some(self),
            step,
        }
    }

    /// The key that holds this value, or the list it stands in.
    pub(super) fn name(&self) -> &str {
        match (&self.step, self.parent) {
            (Step::Key(key), _) => key,
            (Step::Index(_), Some(parent)) => parent.name(),
            _ => "the file",
        }
    }

    /// Its index in its list.
    pub(super) fn index(&self) -> Option<usize> {
        match self.step {
            Step::Index(index) => Some(index),
            _ => None,
        }
    }

    /// The value as it stands in the text, cut short when it is long.
    fn quoted(&self) -> String {
        quote(self.text.get(self.range.clone()).unwrap_or_default())
    }

    /// "… is not a value for …".
    pub(super) fn is_no_value(&self) -> String {
        match self.step {
            Step::Root => format!("{} is not a board", self.quoted()),
            _ => format!(
                "{} is not a value for {}",
                self.quoted(),
                quote(self.name())
            ),
        }
    }

    /// The value, or a complaint about it.
    pub(super) fn read<T: Value>(&self, complaints: &mut Complaints) -> Option<T> {
        let slice = self.text.get(self.range.clone()).unwrap_or_default();
        let value = serde_json::from_str(slice).ok();
        if value.is_none() {
            T::explain(self, complaints);
        }
        value
    }

    /// The JSON Pointer of this value.
    fn pointer(&self) -> String {
        let mut pointer = self.parent.map(Spot::pointer).unwrap_or_default();
        match self.step {
            Step::Root => {}
            Step::Key(key) => {
                pointer.push('/');
                pointer.push_str(&key.replace('~', "~0").replace('/', "~1"));
            }
            Step::Index(index) => {
                pointer.push('/');
                pointer.push_str(&index.to_string());
            }
        }
        pointer
    }
}

/// A piece of a file in backticks, on one line, cut short when it is long.
pub(super) fn quote(piece: &str) -> String {
    let mut quoted = String::from("`");
    for (count, character) in piece.chars().enumerate() {
        if count == LONGEST_QUOTE {
            quoted.push('…');
            break;
        }
        quoted.push(if character.is_control() {
            ' '
        } else {
            character
        });
    }
    quoted.push('`');
    quoted
}

/// The complaints about one text.
#[derive(Default)]
pub(super) struct Complaints {
    found: Vec<Complaint>,
    unlisted: usize,
}

impl Complaints {
    /// How many there are.
    pub(super) fn count(&self) -> usize {
        self.found.len() + self.unlisted
    }

    /// Whether no more are listed. Whoever walks over many values then stops.
    pub(super) fn is_full(&self) -> bool {
        self.found.len() == MOST_COMPLAINTS
    }

    /// A complaint about the value at a spot.
    pub(super) fn add(&mut self, spot: &Spot<'_>, message: String, accepted: Option<String>) {
        self.add_at(spot, spot.range.clone(), message, accepted);
    }

    /// A complaint about some bytes at a spot: its opening brace, its key.
    pub(super) fn add_at(
        &mut self,
        spot: &Spot<'_>,
        bytes: Range<usize>,
        message: String,
        accepted: Option<String>,
    ) {
        if self.is_full() {
            self.unlisted += 1;
        } else {
            self.found
                .push(complaint(message, accepted, Some(spot.pointer()), bytes));
        }
    }

    /// A value that its key does not accept.
    pub(super) fn no_value(&mut self, spot: &Spot<'_>, wanted: String) {
        self.add(spot, spot.is_no_value(), Some(wanted));
    }

    /// A word that is none of the words known.
    pub(super) fn no_word(&mut self, spot: &Spot<'_>, known: &[&str], wanted: &str) {
        let slice = spot.text.get(spot.range.clone()).unwrap_or_default();
        let found = serde_json::from_str::<String>(slice).ok();
        let meant = found.and_then(|word| near(&word, known));
        let accepted = match meant {
            Some(meant) => format!("{wanted}; did you mean `\"{meant}\"`?"),
            None => wanted.to_owned(),
        };
        self.add(spot, spot.is_no_value(), Some(accepted));
    }

    /// A key that its object does not have. Answers with the key that may be meant.
    pub(super) fn no_key<'k>(
        &mut self,
        spot: &Spot<'_>,
        key: Range<usize>,
        object: &str,
        known: &[&'k str],
    ) -> Option<&'k str> {
        let name = spot.name();
        let meant = near(name, known);
        let keys = one_of(known).replace("`\"", "`").replace("\"`", "`");
        let accepted = match meant {
            Some(meant) => format!("{keys}; did you mean `{meant}`?"),
            None => keys,
        };
        let message = format!("{} is not a key of {object}", quote(name));
        self.add_at(spot, key, message, Some(accepted));
        meant
    }

    /// A key that its object needs and does not have.
    pub(super) fn missing(&mut self, object: &Spot<'_>, key: &str, wanted: &str) {
        let brace = object.range.start..object.range.start + 1;
        let message = format!("the key `{key}` is missing");
        self.add_at(
            object,
            brace,
            message,
            Some(format!("`{key}` with {wanted}")),
        );
    }

    /// What the file is refused with; nothing when there is no complaint.
    pub(super) fn into_error(self, text: &str, faults: Vec<BoardError>) -> Option<ReadError> {
        let is_full = self.is_full();
        let mut found = self.found;
        found.sort_by_key(|complaint| complaint.bytes.start);
        if is_full {
            let last = found.last()?.clone();
            found.push(Complaint {
                message: format!("only the first {MOST_COMPLAINTS} complaints are listed"),
                accepted: None,
                ..last
            });
        }
        find_positions(text, &mut found);
        let mut found = found.into_iter();
        Some(ReadError::new(found.next()?, found).with_board_errors(faults))
    }
}

/// A complaint whose line and column are not known yet.
pub(super) fn complaint(
    message: String,
    accepted: Option<String>,
    pointer: Option<String>,
    bytes: Range<usize>,
) -> Complaint {
    Complaint {
        message,
        accepted,
        pointer,
        position: Position { line: 1, column: 1 },
        bytes,
    }
}

/// Sets line and column of complaints that stand in the order of the text, in one walk over it.
pub(super) fn find_positions(text: &str, complaints: &mut [Complaint]) {
    let mut at = cursor::byte_order_mark(text);
    let mut position = Position { line: 1, column: 1 };
    for complaint in complaints {
        for character in text
            .get(at..complaint.bytes.start)
            .unwrap_or_default()
            .chars()
        {
            if character == '\n' {
                position.line = position.line.saturating_add(1);
                position.column = 1;
            } else {
                position.column = position.column.saturating_add(1);
            }
        }
        at = at.max(complaint.bytes.start);
        complaint.position = position;
    }
}

/// The known name that a name may be meant as; names far longer than any that is known are not compared.
fn near<'k>(found: &str, known: &[&'k str]) -> Option<&'k str> {
    let short = found.chars().take(LONGEST_QUOTE + 1).count() <= LONGEST_QUOTE;
    short.then(|| nearest(found, known.iter().copied()))?
}
