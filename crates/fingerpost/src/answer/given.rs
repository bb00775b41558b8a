//! The order that a learner gives.

use crate::board::{Board, Position};
use crate::route::Octaves;

/// The most steps that an answer may have.
pub const MOST_STEPS_OF_ANSWER: usize = 100_000;

/// The order in which a learner walked the measures of a board, as it was said: right or wrong, on the board or off it.
///
/// ```
/// use fingerpost::{Answer, Board};
/// let board: Board = "|: 1 | 2 :| 3 |]".parse()?;
/// let answer = Answer::read(&board, "1-2, 1-3")?;
/// let measures: Vec<u32> = answer.steps().iter().map(|step| step.measure).collect();
/// assert_eq!(measures, [1, 2, 1, 2, 3]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Default, PartialEq, Eq, Debug)]
pub struct Answer {
    steps: Vec<AnswerStep>,
}

/// One step of an answer.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct AnswerStep {
    /// The measure, counted from 1 in written order; it may lie off the board. A cut measure is named once for each part played, or once.
    pub measure: u32,
    /// The octave of each hand, where the answer says it.
    pub octave: Option<Octaves>,
}

/// What is wrong with the text of an answer.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("{message} (character {})", position.column)]
pub struct AnswerError {
    /// What is wrong, lower case, no full stop.
    pub message: String,
    /// What would be accepted there.
    pub accepted: String,
    /// Where it stands in the text.
    pub position: Position,
    /// The bytes of the text it is about.
    pub bytes: std::ops::Range<usize>,
}

impl Answer {
    /// An answer of measures alone.
    ///
    /// # Errors
    /// More than [`MOST_STEPS_OF_ANSWER`] steps.
    pub fn of(measures: impl IntoIterator<Item = u32>) -> Result<Answer, TooManySteps> {
        Answer::of_steps(measures.into_iter().map(|measure| AnswerStep {
            measure,
            octave: None,
        }))
    }

    /// An answer of steps.
    ///
    /// # Errors
    /// More than [`MOST_STEPS_OF_ANSWER`] steps.
    pub fn of_steps(steps: impl IntoIterator<Item = AnswerStep>) -> Result<Answer, TooManySteps> {
        let steps: Vec<AnswerStep> = steps.into_iter().take(MOST_STEPS_OF_ANSWER + 1).collect();
        if steps.len() > MOST_STEPS_OF_ANSWER {
            return Err(TooManySteps);
        }
        Ok(Answer { steps })
    }

    /// Reads an answer as it is typed: measures one after the other with blanks or commas between, and `1-4` for measures 1 to 4.
    /// Where the board has printed numbers these are meant, and `#3` is the third measure whatever is printed above it.
    /// Behind a measure or a range the octave may be told: `3(8va)`, `3(8vb L.H.)`, `1-4(15ma R.H., 8vb L.H.)`.
    ///
    /// # Errors
    /// The first word that is none of these, with its place.
    pub fn read(board: &Board, text: &str) -> Result<Answer, AnswerError> {
        let mut reader = Reader {
            board,
            text,
            at: 0,
            steps: Vec::new(),
        };
        reader.read()?;
        Ok(Answer {
            steps: reader.steps,
        })
    }

    /// The steps, first to last.
    pub fn steps(&self) -> &[AnswerStep] {
        &self.steps
    }

    /// Whether it says anything about octaves. Where it does, a step without one means as written.
    pub fn gives_octaves(&self) -> bool {
        self.steps.iter().any(|step| step.octave.is_some())
    }
}

/// More than [`MOST_STEPS_OF_ANSWER`] steps.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
#[error("an answer has at most {MOST_STEPS_OF_ANSWER} steps")]
pub struct TooManySteps;

struct Reader<'a> {
    board: &'a Board,
    text: &'a str,
    at: usize,
    steps: Vec<AnswerStep>,
}

/// What is written between the first and the last measure of a range: hyphens of several kinds, dashes and a minus.
const HYPHENS: [char; 7] = [
    '-', '\u{2010}', '\u{2011}', '\u{2012}', '\u{2013}', '\u{2014}', '\u{2212}',
];

const ACCEPTED: &str = "numbers of measures with blanks between, and ranges like `1-4`";

impl Reader<'_> {
    fn read(&mut self) -> Result<(), AnswerError> {
        loop {
            self.skip(|c| c.is_whitespace() || matches!(c, ',' | ';' | '\u{feff}'));
            if self.rest().is_empty() {
                return Ok(());
            }
            let from = self.at;
            let first = self.measure()?;
            let behind = self.at;
            self.skip(char::is_whitespace);
            let last = if HYPHENS.into_iter().any(|hyphen| self.takes(hyphen)) {
                self.skip(char::is_whitespace);
                self.measure()?
            } else {
                self.at = behind;
                first
            };
            let octave = self.octave()?;
            let added = first.abs_diff(last) as usize + 1;
            if self.steps.len() + added > MOST_STEPS_OF_ANSWER {
                return Err(self.error(from, TooManySteps.to_string(), "a shorter answer"));
            }
            let step = |measure| AnswerStep { measure, octave };
            if first <= last {
                self.steps.extend((first..=last).map(step));
            } else {
                let message = format!("the range `{first}-{last}` runs backwards");
                return Err(self.error(from, message, "the lower number first"));
            }
        }
    }

    fn rest(&self) -> &str {
        self.text.get(self.at..).unwrap_or_default()
    }

    fn skip(&mut self, of: impl Fn(char) -> bool) {
        let rest = self.rest();
        self.at += rest.len() - rest.trim_start_matches(of).len();
    }

    fn takes(&mut self, wanted: char) -> bool {
        let taken = self.rest().starts_with(wanted);
        if taken {
            self.at += wanted.len_utf8();
        }
        taken
    }

    /// A measure: `#3`, a printed name in quotes or without, or a number.
    fn measure(&mut self) -> Result<u32, AnswerError> {
        let from = self.at;
        let counted = self.takes('#');
        let quoted = !counted && self.takes('"');
        let rest = self.rest();
        let end = if quoted {
            rest.find('"')
        } else {
            let end = rest.find(|c: char| {
                c.is_whitespace()
                    || HYPHENS.contains(&c)
                    || matches!(c, ',' | ';' | '(' | ')' | '"')
            });
            Some(end.unwrap_or(rest.len()))
        };
        let Some(end) = end else {
            return Err(self.error(from, "this quote is not closed", "a second quote"));
        };
        let word = rest.get(..end).unwrap_or_default().to_owned();
        self.at += end + usize::from(quoted);
        // A full stop behind a number ends a sentence.
        let plain = word.trim_end_matches('.');
        let names = self.board.measure_numbers().unwrap_or_default();
        let word = if quoted || plain.is_empty() || names.contains(&word) {
            word
        } else {
            plain.to_owned()
        };
        if !counted {
            if let Some(names) = self.board.measure_numbers() {
                return self.named(from, names, &word);
            }
        }
        match word.parse::<u32>() {
            Ok(number) if !quoted && word.len() <= 9 => Ok(number),
            _ if word.is_empty() => Err(self.error(from, "a measure is expected here", ACCEPTED)),
            _ => {
                let message = format!("`{}` is no measure", shown(&word));
                Err(self.error(from, message, ACCEPTED))
            }
        }
    }

    fn named(&self, from: usize, names: &[String], word: &str) -> Result<u32, AnswerError> {
        let mut found = names.iter().zip(1_u32..).filter(|(name, _)| *name == word);
        match (found.next(), found.next()) {
            (Some((_, number)), None) => Ok(number),
            (Some((_, first)), Some((_, second))) => {
                let message = format!("`{}` is printed above more than one measure", shown(word));
                let accepted = format!("`#{first}`, `#{second}`: counted from the beginning");
                Err(self.error(from, message, accepted))
            }
            (None, _) => {
                let message = format!("no measure has `{}` printed above it", shown(word));
                let accepted = "a printed number, or `#3` for the third measure";
                Err(self.error(from, message, accepted))
            }
        }
    }

    /// The octaves in parentheses, when there are any.
    fn octave(&mut self) -> Result<Option<Octaves>, AnswerError> {
        let from = self.at;
        if !self.takes('(') {
            return Ok(None);
        }
        let accepted = "`8va`, `8vb`, `15ma` or `15mb`, with R.H. or L.H. for one hand";
        let Some(end) = self.rest().find(')') else {
            return Err(self.error(from, "this parenthesis is not closed", "a `)`"));
        };
        let inside = self.rest().get(..end).unwrap_or_default().to_owned();
        self.at += end + 1;
        let mut octaves = Octaves::default();
        for told in inside.split(',') {
            let mut words = told.split_whitespace();
            let shift = match words.next().map(str::to_lowercase).as_deref() {
                Some("8va") => 1,
                Some("15ma") => 2,
                Some("8vb") => -1,
                Some("15mb") => -2,
                Some("loco") => 0,
                _ => {
                    let message = format!("`{}` is no octave", shown(told.trim()));
                    return Err(self.error(from, message, accepted));
                }
            };
            let (right, left) = match words.next().map(str::to_lowercase).as_deref() {
                None => (true, true),
                Some("r.h." | "rh") => (true, false),
                Some("l.h." | "lh") => (false, true),
                Some(other) => {
                    let message = format!("`{}` is no hand", shown(other));
                    return Err(self.error(from, message, "R.H. or L.H."));
                }
            };
            if let Some(more) = words.next() {
                let message = format!("`{}` is one word too many", shown(more));
                return Err(self.error(from, message, accepted));
            }
            octaves.right = if right { shift } else { octaves.right };
            octaves.left = if left { shift } else { octaves.left };
        }
        Ok(Some(octaves))
    }

    fn error(
        &self,
        from: usize,
        message: impl Into<String>,
        accepted: impl Into<String>,
    ) -> AnswerError {
        AnswerError {
            message: message.into(),
            accepted: accepted.into(),
            position: Position::of_byte(self.text, from),
            bytes: from..self.at.max(from),
        }
    }
}

/// A word as a message shows it: its beginning, when it is long.
fn shown(word: &str) -> String {
    const MOST: usize = 40;
    if word.chars().count() <= MOST {
        return word.to_owned();
    }
    let start: String = word.chars().take(MOST).collect();
    format!("{start}…")
}
