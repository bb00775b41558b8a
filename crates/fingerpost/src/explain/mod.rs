//! A route in words: what to play, how the road comes there, and why it ends; and the questions of the reading in words.
//!
//! All sentences come from a phrase table, one value a language and register. To add one, write its file beside `english.rs` and enter it
//! in [`TABLES`]; nothing else changes.

mod english;
mod judging;
mod judging_english;
mod moves;
mod phrases;
mod places;
mod placing;
mod playing;
mod settle;
mod sounding;
mod titles;

use std::fmt;

use crate::board::{Board, Fraction, Marking};
use crate::legality::{Finding, Fix, sign_words};
use crate::reading::Question;
use crate::roadmap::Roadmap;

pub use judging::JudgementWords;
pub use moves::{Move, Moves};
use phrases::{Phrases, QuestionPhrases};
pub use placing::PlacesWords;
pub use settle::Settling;
pub use titles::LONGEST_TITLE_OF_FIX;

/// Every phrase table; the first is the one used when none is asked for.
const TABLES: &[&Phrases] = &[&english::TEACHER];

/// Whom the sentences are for.
#[derive(Clone, Copy, Default, PartialEq, Eq, Hash, Debug)]
#[non_exhaustive]
pub enum Register {
    /// The teacher: short, with the trade's words.
    #[default]
    Teacher,
}

/// The phrases of one language in one register.
///
/// ```
/// use fingerpost::{Board, Phrasebook, Roadmap, Terms};
/// let board: Board = "|: 1 | 2 :| 3 |]".parse()?;
/// let roadmap = Roadmap::new(&board, &Terms::default())?;
/// let book = Phrasebook::default();
/// let back = book.moves(&board, &roadmap).nth(1).ok_or("a second move")?;
/// assert_eq!(
///     back.why,
///     "The end repeat at the end of measure 2 sends you back to the start repeat at measure 1, for pass 2 of 2."
/// );
/// assert_eq!(back.play, "Play measures 1 to 3.");
/// assert_eq!(book.ending(&board, &roadmap), "The road ends with measure 3.");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Copy)]
pub struct Phrasebook {
    phrases: &'static Phrases,
}

impl Default for Phrasebook {
    fn default() -> Phrasebook {
        Phrasebook {
            phrases: &english::TEACHER,
        }
    }
}

impl fmt::Debug for Phrasebook {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Phrasebook")
            .field("language", &self.language())
            .field("register", &self.register())
            .finish()
    }
}

impl Phrasebook {
    /// The phrases of a language, by its tag (`en`), in a register; `None` when there are none.
    pub fn of(language: &str, register: Register) -> Option<Phrasebook> {
        let phrases = TABLES
            .iter()
            .find(|table| table.language == language && table.register == register)?;
        Some(Phrasebook { phrases })
    }

    /// The tags of the languages there are.
    pub fn languages() -> impl Iterator<Item = &'static str> {
        TABLES.iter().map(|table| table.language)
    }

    /// The language's tag.
    pub fn language(&self) -> &'static str {
        self.phrases.language
    }

    /// Whom the sentences are for.
    pub fn register(&self) -> Register {
        self.phrases.register
    }

    /// A route in words, move by move. `board` is the one the roadmap was made from.
    pub fn moves<'a>(&self, board: &'a Board, roadmap: &'a Roadmap) -> Moves<'a> {
        Moves::new(self.phrases, board, roadmap)
    }

    /// Why a route ends where it ends.
    pub fn ending(&self, board: &Board, roadmap: &Roadmap) -> String {
        moves::ending(self.phrases, board, roadmap)
    }

    /// Where a marking stands, in words: `at the end of measure 4`.
    pub fn place(&self, board: &Board, marking: &Marking) -> String {
        places::place_of(self.phrases, board, marking)
    }

    /// Where on its board a finding is, in words: `at the end of measure 4`, `inside measure 2, at beat 3`. A measure whose printed name is
    /// not its number has both: `over measures 3 (printed "12") to 4 (printed "13")`. `None` for a finding about the whole board.
    ///
    /// ```
    /// use fingerpost::{Board, Phrasebook, check};
    /// let board: Board = "1 | 2 D.S. | 3 |".parse()?;
    /// let words = Phrasebook::default().finding(&board, &check(&board)[0]);
    /// assert_eq!(words.as_deref(), Some("at the end of measure 2"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn finding(&self, board: &Board, finding: &Finding) -> Option<String> {
        places::finding_place(self.phrases, board, finding)
    }

    /// In a measure, in words: `in measure 4`, `in measure 4 (printed "12")`.
    ///
    /// ```
    /// use fingerpost::{Board, Phrasebook};
    /// let board: Board = "1 | 2 |".parse()?;
    /// assert_eq!(Phrasebook::default().in_measure(&board, 2), "in measure 2");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn in_measure(&self, board: &Board, measure: u16) -> String {
        places::in_measure(self.phrases, board, measure)
    }

    /// A length in words: `3/8 of a whole note`, `1 whole note`, `2 whole notes`.
    pub fn length(&self, length: Fraction) -> String {
        places::length(self.phrases, length)
    }

    /// A marking with its place: `D.S. al Coda at the end of measure 12`.
    pub fn marking(&self, board: &Board, marking: &Marking) -> String {
        format!(
            "{} {}",
            sign_words(marking.sign()),
            self.place(board, marking)
        )
    }

    /// What a fix does, in at most [`LONGEST_TITLE_OF_FIX`] characters. `board` is the one it was made for.
    ///
    /// ```
    /// use fingerpost::{Board, Phrasebook, check, fixes};
    /// let board: Board = "1 |: 2 | [1. 3 | [2. 4 |".parse()?;
    /// let finding = &check(&board)[0];
    /// let fixes = fixes(&board, finding);
    /// assert_eq!(Phrasebook::default().title(&board, &fixes[0]), "Add an end repeat after measure 3");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn title(&self, board: &Board, fix: &Fix) -> String {
        titles::title(self.phrases, board, fix)
    }

    /// What a question of the reading asks.
    pub fn question(&self, question: Question) -> &'static str {
        self.question_phrases(question).map_or("", |it| it.asks)
    }

    /// What an answer to a question means and who answers so, by the answer's name; `None` for a name that is no answer to it.
    pub fn answer(&self, question: Question, answer: &str) -> Option<&'static str> {
        let answers = self.question_phrases(question)?.answers;
        answers
            .iter()
            .find(|(name, _)| *name == answer)
            .map(|(_, words)| *words)
    }

    /// What an author can write so that a question does not arise.
    pub fn settle(&self, question: Question) -> &'static str {
        self.question_phrases(question).map_or("", |it| it.settle)
    }

    /// What to write on this board so that it is settled and keeps the first route of the comparison: for each question that changes
    /// the route one thing to write, in the order in which they are written. Every proposal is tried: the board of the last one
    /// is settled and has that route. Empty for a board that is settled.
    pub fn settling(
        &self,
        board: &Board,
        terms: &crate::roadmap::Terms,
        comparison: &crate::compare::Comparison,
    ) -> Vec<Settling> {
        settle::settling(self.phrases, board, terms, comparison)
    }

    fn question_phrases(self, question: Question) -> Option<&'static QuestionPhrases> {
        self.phrases
            .questions
            .iter()
            .find(|it| it.name == question.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_table_answers_every_question() {
        for table in TABLES {
            let book = Phrasebook { phrases: table };
            for question in Question::ALL {
                assert!(!book.question(question).is_empty(), "{question:?}");
                assert!(!book.settle(question).is_empty(), "{question:?}");
                for answer in question.answers() {
                    let words = book.answer(question, answer);
                    assert!(words.is_some(), "{question:?} {answer}");
                }
            }
        }
    }

    #[test]
    fn a_template_is_filled_by_name_and_stays_whole_when_a_brace_is_open() {
        let filled = phrases::fill("{b} then {a}{", &[("a", "1"), ("b", "2")]);
        assert_eq!(filled, "2 then 1{");
    }
}
