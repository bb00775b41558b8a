//! Findings in words: for the teacher the rule's own message and what to do about it, for the learner a sentence or two of a table.
//!
//! The learner's sentences stand in tables of their own, one a language. To add one, write its file beside `warnings_english.rs` and enter
//! it in [`TABLES`].

use super::places::finding_place;
use super::{Phrasebook, Register, capitalised, warnings_english};
use crate::board::Board;
use crate::legality::{Finding, rules};
use crate::reading::{Backing, Reading};

/// Every table; the first is the one used for a language that has none.
const TABLES: &[&RuleWords] = &[&warnings_english::ENGLISH];

/// What a learner is told of each rule's findings, in one language. A test demands a sentence for every rule.
#[derive(Debug)]
pub(super) struct RuleWords {
    pub(super) language: &'static str,
    /// By the rule's name: what is the matter with the sign or the measures whose place is told before.
    pub(super) rules: &'static [(&'static str, &'static str)],
    /// What takes the place of the sentence of `not-settled` where standards of files alone have published another answer, or nobody has.
    pub(super) not_settled_in_files: &'static str,
    pub(super) not_settled_for_nobody: &'static str,
}

/// A finding in words.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub struct FindingWords {
    /// Where it is: `At the end of measure 4`; `None` when it is about the whole board.
    pub at: Option<String>,
    /// What it says, in whole sentences.
    pub says: String,
    /// The clause of the rulebook on which its rule stands.
    pub clause: &'static str,
}

impl Phrasebook {
    /// A finding in the words of the register: to the teacher what is found and what to do about it, to the learner a sentence or two.
    ///
    /// ```
    /// use fingerpost::{Board, Phrasebook, Register, check};
    /// let board: Board = "1 | 2 D.S. | 3 |".parse()?;
    /// let finding = &check(&board)[0];
    /// let words = Phrasebook::of("en", Register::Learner).ok_or("a book")?.told(&board, finding);
    /// assert_eq!(words.at.as_deref(), Some("At the end of measure 2"));
    /// assert_eq!(words.says, "This sends you to a segno, but there is none. Put a segno where you want to land.");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn told(&self, board: &Board, finding: &Finding) -> FindingWords {
        let at = finding_place(self.desk(), board, finding);
        let of_learner = match self.register() {
            Register::Teacher => None,
            Register::Learner => self
                .of_question(board, finding)
                .or_else(|| self.rule(finding.rule)),
        };
        let says = of_learner.unwrap_or_else(|| {
            let (message, help) = (&finding.message, &finding.help);
            format!("{}. {}.", capitalised(message), capitalised(help)).replace("..", ".")
        });
        let rule = rules().find(|rule| rule.name == finding.rule);
        FindingWords {
            at: at.map(|at| self.worded(capitalised(&at))),
            says: self.worded(says),
            clause: rule.map_or("", |rule| rule.clause),
        }
    }

    /// What a learner is told of a question that the board leaves open, where no book has another answer.
    fn of_question(&self, board: &Board, finding: &Finding) -> Option<String> {
        let question = finding.question?;
        let own = board.reading().over(Reading::default()).answer(question);
        let others = question.answers().into_iter().filter(|&it| it != own);
        let backing = others.filter_map(|it| question.backing(it)).min()?;
        let table = self.rule_words()?;
        let sentence = match backing {
            Backing::Published => return None,
            Backing::Files => table.not_settled_in_files,
            Backing::Nobody => table.not_settled_for_nobody,
        };
        Some(self.worded(sentence.to_owned()))
    }

    fn rule_words(&self) -> Option<&'static RuleWords> {
        let mut tables = TABLES.iter();
        let own = tables.find(|table| table.language == self.language());
        own.or(TABLES.first()).copied()
    }

    /// What a learner is told when a rule finds something; `None` for a name that is no rule's.
    pub fn rule(&self, name: &str) -> Option<String> {
        let table = self.rule_words()?;
        let (_, sentence) = table.rules.iter().find(|(rule, _)| *rule == name)?;
        Some(self.worded((*sentence).to_owned()))
    }

    /// A finding's message, or its help, with the word for a measure that was chosen.
    pub fn message(&self, text: &str) -> String {
        self.worded(text.to_owned())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_table_has_one_sentence_for_each_rule_and_no_other() {
        for table in TABLES {
            let mut told: Vec<&str> = table.rules.iter().map(|(rule, _)| *rule).collect();
            let mut known: Vec<&str> = rules().map(|rule| rule.name).collect();
            told.sort_unstable();
            known.sort_unstable();
            assert_eq!(told, known, "{}", table.language);
        }
    }

    #[test]
    fn a_learner_hears_that_both_ways_are_right_only_where_books_have_both() {
        let book = Phrasebook::of("en", Register::Learner).unwrap();
        for (line, question, both) in [
            ("|: 1 | 2 :| 3 D.C. |", "repeats-on-return", true),
            (
                "|: 1 | 2 To Coda :| 3 D.C. al Coda senza rep. | coda 4 |]",
                "arming",
                false,
            ),
            (
                "{repeats-on-return play} |: 1 Fine | 2 :| 3 D.C. al Fine |",
                "armed-in-repeat",
                false,
            ),
        ] {
            let board: Board = line.parse().unwrap();
            let findings = crate::check(&board);
            let of = |it: &&Finding| it.question.is_some_and(|it| it.name() == question);
            let finding = findings.iter().find(of).unwrap();
            let says = book.told(&board, finding).says;
            assert_eq!(says.contains("both are right"), both, "{line}: {says}");
            assert!(says.contains("Write down which one you mean."), "{says}");
        }
    }
}
