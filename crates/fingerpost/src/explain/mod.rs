//! A route in words: what to play, how the road comes there, and why it ends; and the questions of the reading in words.
//!
//! All sentences come from tables. What is said of a route stands in [`Phrases`], one value a language and register: every language there is has
//! both. What is said beside it (findings, fixes, places for signs, readings, answers, games) stands in tables of their own, one a language,
//! each complete or absent; a language that lacks one of these is answered in English there. To add a table, write its file beside the
//! English one and enter it in the list of its kind; nothing else changes.

mod desk_english;
mod english;
mod german;
mod judging;
mod judging_english;
mod judging_explained;
mod judging_learner;
mod judging_not_now;
mod judging_octaves;
mod judging_why;
mod meanings;
mod moves;
mod phrases;
mod places;
mod placing;
mod playing;
mod settle;
mod signs_english;
mod sounding;
mod spanish;
mod telling;
mod titles;
mod warnings;
mod warnings_english;

use std::borrow::Cow;
use std::fmt;

use crate::board::{Board, Fraction, Marking};
use crate::legality::{Finding, Fix, sign_words};
use crate::reading::Question;
use crate::roadmap::Roadmap;

pub use judging::JudgementWords;
pub use moves::{Move, Moves};
use phrases::{Desk, Phrases, QuestionPhrases};
pub use placing::PlacesWords;
pub use settle::Settling;
pub use telling::{RouteWords, Told};
pub use titles::LONGEST_TITLE_OF_FIX;
pub use warnings::FindingWords;

/// Every table of what is said of a route, both registers of a language together; the first is the one used when none is asked for.
const TABLES: &[&Phrases] = &[
    &english::TEACHER,
    &english::LEARNER,
    &german::TEACHER,
    &german::LEARNER,
    &spanish::TEACHER,
    &spanish::LEARNER,
];

/// Every table of what is said beside it; the first is the one used for a language that has none.
const DESKS: &[&Desk] = &[&desk_english::ENGLISH];

/// Whom the sentences are for.
#[derive(Clone, Copy, Default, PartialEq, Eq, Hash, Debug)]
#[non_exhaustive]
pub enum Register {
    /// The teacher: short, with the trade's words.
    #[default]
    Teacher,
    /// The learner, who may be nine years old: short sentences, and the signs as they look on the page.
    Learner,
}

/// What a measure is called.
#[derive(Clone, Copy, Default, PartialEq, Eq, Hash, Debug)]
#[non_exhaustive]
pub enum MeasureWord {
    /// As the language says; in English measure, as in America.
    #[default]
    Measure,
    /// Bar, as in Britain. A language that has one word only keeps it.
    Bar,
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
    measures: MeasureWord,
}

impl Default for Phrasebook {
    fn default() -> Phrasebook {
        Phrasebook {
            phrases: &english::TEACHER,
            measures: MeasureWord::Measure,
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
        Some(Phrasebook {
            phrases,
            measures: MeasureWord::Measure,
        })
    }

    /// The same with another word for a measure, in everything that is said.
    ///
    /// ```
    /// use fingerpost::{Board, MeasureWord, Phrasebook, check};
    /// let book = Phrasebook::default().with_measures(MeasureWord::Bar);
    /// let board: Board = "1 | 2 D.S. | 3 |".parse()?;
    /// assert_eq!(book.finding(&board, &check(&board)[0]).as_deref(), Some("at the end of bar 2"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn with_measures(self, measures: MeasureWord) -> Phrasebook {
        Phrasebook { measures, ..self }
    }

    /// The tags of the languages there are, each once.
    pub fn languages() -> impl Iterator<Item = &'static str> {
        let teachers = TABLES
            .iter()
            .filter(|table| table.register == Register::Teacher);
        teachers.map(|table| table.language)
    }

    /// The language's tag.
    pub fn language(&self) -> &'static str {
        self.phrases.language
    }

    /// Whom the sentences are for.
    pub fn register(&self) -> Register {
        self.phrases.register
    }

    /// What a measure is called.
    pub fn measures(&self) -> MeasureWord {
        self.measures
    }

    /// Whether what is said beside a route, of findings above all, is said in this language; where it is not, it is said in English.
    pub fn speaks_of_findings(&self) -> bool {
        self.desk().words.language == self.language()
    }

    /// A route in words, move by move. `board` is the one the roadmap was made from.
    pub fn moves<'a>(&self, board: &'a Board, roadmap: &'a Roadmap) -> Moves<'a> {
        Moves::new(*self, board, roadmap)
    }

    /// Why a route ends where it ends.
    pub fn ending(&self, board: &Board, roadmap: &Roadmap) -> String {
        self.worded(moves::ending(self.phrases, board, roadmap))
    }

    /// That other readings play another route than the one told.
    ///
    /// ```
    /// use fingerpost::{Phrasebook, Register};
    /// let book = Phrasebook::of("en", Register::Learner).unwrap_or_default();
    /// assert_eq!(book.unsettled(), "One can read it in another order, too. Ask which way you play here.");
    /// ```
    pub fn unsettled(&self) -> Cow<'static, str> {
        self.worded_as_it_is(self.phrases.unsettled)
    }

    /// Where a marking stands, in words: `at the end of measure 4`.
    pub fn place(&self, board: &Board, marking: &Marking) -> String {
        self.worded(places::place_of(self.phrases, board, marking))
    }

    /// Where on its board a finding is, in words: `at the end of measure 4`, `inside measure 2, at beat 3`. Measures are named as
    /// [`Board::measure_words`] names them; one that is counted alone has what is printed over it beside its number: `over measure
    /// #3 (printed "the hut by the ferry")`. `None` for a finding about the whole board.
    ///
    /// ```
    /// use fingerpost::{Board, Phrasebook, check};
    /// let board: Board = "1 | 2 D.S. | 3 |".parse()?;
    /// let words = Phrasebook::default().finding(&board, &check(&board)[0]);
    /// assert_eq!(words.as_deref(), Some("at the end of measure 2"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn finding(&self, board: &Board, finding: &Finding) -> Option<String> {
        places::finding_place(self.desk(), board, finding).map(|place| self.worded(place))
    }

    /// In a measure, in words: `in measure 4`, `in measure 3 (#4)`.
    ///
    /// ```
    /// use fingerpost::{Board, Phrasebook};
    /// let board: Board = "1 | 2 |".parse()?;
    /// assert_eq!(Phrasebook::default().in_measure(&board, 2), "in measure 2");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn in_measure(&self, board: &Board, measure: u16) -> String {
        self.worded(places::in_measure(self.desk(), board, measure))
    }

    /// That measures are counted on this board, and how they look then; `None` where each has a printed number or name of its own that
    /// sentences can say. Said once, beside sentences that name measures.
    ///
    /// ```
    /// use fingerpost::{Board, Phrasebook};
    /// let board: Board = "1 | 2 | 2 |".parse()?;
    /// assert!(Phrasebook::default().counting(&board).is_some_and(|says| says.ends_with("as in 2 (#2).")));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn counting(&self, board: &Board) -> Option<String> {
        places::counting(self.desk(), board).map(|says| self.worded(says))
    }

    /// A length in words: `3/8 of a whole note`, `1 whole note`, `2 whole notes`.
    pub fn length(&self, length: Fraction) -> String {
        self.worded(places::length(self.phrases, length))
    }

    /// How long a board is, with its meter and its pickup: `9 measures, meter 3/4, pickup of 1/4 of a whole note`.
    pub fn heading(&self, board: &Board) -> String {
        self.worded(places::heading(self.phrases, board))
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
        self.worded(titles::title(self.desk(), board, fix))
    }

    /// What a question of the reading asks.
    pub fn question(&self, question: Question) -> Cow<'static, str> {
        let asks = self.question_phrases(question).map_or("", |it| it.asks);
        self.worded_as_it_is(asks)
    }

    /// What an answer to a question means and who answers so, by the answer's name; `None` for a name that is no answer to it.
    pub fn answer(&self, question: Question, answer: &str) -> Option<Cow<'static, str>> {
        let answers = self.question_phrases(question)?.answers;
        answers
            .iter()
            .find(|(name, _)| *name == answer)
            .map(|(_, words)| self.worded_as_it_is(words))
    }

    /// What an author can write so that a question does not arise.
    pub fn settle(&self, question: Question) -> Cow<'static, str> {
        let settle = self.question_phrases(question).map_or("", |it| it.settle);
        self.worded_as_it_is(settle)
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
        let mut written = settle::settling(self.desk(), board, terms, comparison);
        for it in &mut written {
            it.write = self.worded(std::mem::take(&mut it.write));
        }
        written
    }

    /// What is said beside the route: in this language where there is a table, else in English.
    fn desk(&self) -> &'static Desk {
        let language = self.phrases.language;
        let mut desks = DESKS.iter();
        // The first is the English one.
        let desk = desks.find(|desk| desk.words.language == language);
        desk.copied().unwrap_or(&desk_english::ENGLISH)
    }

    /// The phrases of a route in the language of what is said beside it: for sentences that have something of both.
    fn spoken(&self) -> &'static Phrases {
        let desk = self.desk();
        if desk.words.language == self.phrases.language {
            self.phrases
        } else {
            desk.words
        }
    }

    /// A text with the word for a measure that was chosen.
    fn worded(&self, text: String) -> String {
        match self.measures {
            MeasureWord::Measure => text,
            MeasureWord::Bar => with_words(&text, self.spoken().bar_words),
        }
    }

    fn worded_as_it_is(&self, text: &'static str) -> Cow<'static, str> {
        match self.measures {
            MeasureWord::Measure => Cow::Borrowed(text),
            MeasureWord::Bar => Cow::Owned(self.worded(text.to_owned())),
        }
    }

    fn question_phrases(self, question: Question) -> Option<&'static QuestionPhrases> {
        self.desk()
            .questions
            .iter()
            .find(|it| it.name == question.name())
    }
}

/// A text with some whole words changed, but for what stands in quotes or backticks: that is the board's own.
fn with_words(text: &str, changed: &[(&str, &str)]) -> String {
    let mut said = String::with_capacity(text.len());
    let mut quote = None;
    for piece in text.split_inclusive(|c: char| !c.is_alphanumeric()) {
        let word = piece.trim_end_matches(|c: char| !c.is_alphanumeric());
        let after = piece.get(word.len()..).unwrap_or_default();
        let other = changed.iter().find(|(from, _)| *from == word);
        match other.filter(|_| quote.is_none()) {
            Some((_, to)) => said.push_str(to),
            None => said.push_str(word),
        }
        said.push_str(after);
        if after == "\"" || after == "`" {
            quote = match quote {
                None => Some(after),
                Some(open) if open == after => None,
                open => open,
            };
        }
    }
    said
}

/// A text that begins with a capital.
fn capitalised(text: &str) -> String {
    let mut chars = text.chars();
    match chars.next() {
        Some(first) => first.to_uppercase().chain(chars).collect(),
        None => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_table_answers_every_question() {
        for language in Phrasebook::languages() {
            let book = Phrasebook::of(language, Register::Teacher).unwrap();
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
    fn every_language_speaks_to_teachers_and_to_learners() {
        for language in Phrasebook::languages() {
            for register in [Register::Teacher, Register::Learner] {
                let tables = TABLES
                    .iter()
                    .filter(|it| (it.language, it.register) == (language, register));
                assert_eq!(tables.count(), 1, "{language} {register:?}");
            }
        }
        assert_eq!(TABLES.len(), 2 * Phrasebook::languages().count());
    }

    /// What is the same in every language: the words that stand in the score, and templates without words.
    #[test]
    fn no_phrase_of_another_language_is_left_in_english() {
        let texts = |table: &Phrases| -> Vec<String> {
            let shown = format!("{table:#?}");
            let lines = shown.lines().map(str::trim);
            lines
                .filter(|line| line.contains(": \"") && !line.starts_with("language:"))
                .map(str::to_owned)
                .collect()
        };
        for table in TABLES.iter().filter(|table| table.language != "en") {
            let english = Phrasebook::of("en", table.register).unwrap();
            let pairs = texts(table).into_iter().zip(texts(english.phrases));
            assert_eq!(texts(table).len(), texts(english.phrases).len());
            for (own, english) in pairs {
                // A teacher is told nothing of what to look out for.
                let empty = table.register == Register::Teacher && own.ends_with(": \"\",");
                assert!(empty || own != english, "{}: {own}", table.language);
            }
        }
    }

    #[test]
    fn a_measure_is_a_bar_where_one_says_so_and_quotes_stay() {
        let said = with_words(
            "Measures 1 and \"measure 2\": `measures` of a measure's double bar, measure",
            english::TEACHER.bar_words,
        );
        assert_eq!(
            said,
            "Bars 1 and \"measure 2\": `measures` of a bar's double bar, bar"
        );
    }

    #[test]
    fn a_template_is_filled_by_name_and_stays_whole_when_a_brace_is_open() {
        let filled = phrases::fill("{b} then {a}{", &[("a", "1"), ("b", "2")]);
        assert_eq!(filled, "2 then 1{");
    }
}
