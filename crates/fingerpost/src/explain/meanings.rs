//! What a sign means, in a sentence or two: for who asks about a sign and not about a board.
//!
//! The sentences stand in tables of their own, one a language. To add one, write its file beside `signs_english.rs` and enter it in
//! [`TABLES`].

use std::borrow::Cow;

use super::{Phrasebook, Register, signs_english};

/// Every table; the first is the one used for a language that has none.
const TABLES: &[&Meanings] = &[&signs_english::ENGLISH];

/// What signs mean, in one language.
#[derive(Debug)]
pub(super) struct Meanings {
    pub(super) language: &'static str,
    pub(super) signs: &'static [Meaning],
}

/// What a sign means.
#[derive(Debug)]
pub(super) struct Meaning {
    /// Its name, the same in every language.
    pub(super) name: &'static str,
    pub(super) teacher: &'static str,
    pub(super) learner: &'static str,
}

impl Phrasebook {
    /// What a sign means, by its name: in one sentence to the teacher, in one or two to the learner; `None` for a name that is none of
    /// [`Phrasebook::signs`].
    ///
    /// ```
    /// use fingerpost::Phrasebook;
    /// let means = Phrasebook::default().sign("segno");
    /// assert_eq!(means.as_deref(), Some("A segno is the sign to which a D.S. sends back; by itself it sends nowhere."));
    /// ```
    pub fn sign(&self, name: &str) -> Option<Cow<'static, str>> {
        let mut signs = self.meanings().signs.iter();
        let sign = signs.find(|sign| sign.name == name)?;
        Some(self.worded_as_it_is(match self.register() {
            Register::Teacher => sign.teacher,
            Register::Learner => sign.learner,
        }))
    }

    /// The names of the signs whose meaning is told, in the order of teaching.
    pub fn signs() -> impl Iterator<Item = &'static str> {
        signs_english::ENGLISH.signs.iter().map(|sign| sign.name)
    }

    fn meanings(&self) -> &'static Meanings {
        let mut tables = TABLES.iter();
        let own = tables.find(|table| table.language == self.language());
        own.copied().unwrap_or(&signs_english::ENGLISH)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_table_has_the_same_signs() {
        for table in TABLES {
            let names = table.signs.iter().map(|sign| sign.name);
            assert!(names.eq(Phrasebook::signs()), "{}", table.language);
        }
    }
}
