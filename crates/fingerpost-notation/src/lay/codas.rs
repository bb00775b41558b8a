//! Codas that words number: "To Coda 2", "D.S. al Coda 2", "Coda 2".

use super::Laying;
use super::jumps::Found;
use crate::notices::Rule;
use crate::words;
use crate::written::{Mark, What};

impl Laying<'_> {
    /// Gives what words lead to a coda by its number the name of that coda; where no coda has the number it is told, and not guessed.
    pub(super) fn numbered_codas(&mut self, found: &mut Found<'_>) {
        let codas: Vec<String> = found
            .codas
            .iter()
            .filter_map(|(_, name)| name.clone())
            .collect();
        let named = |number: u16| {
            codas
                .iter()
                .find(|name| number_of(name) == Some(number))
                .cloned()
        };
        for (mark, name, times) in std::mem::take(&mut found.to_codas) {
            let is_worded = matches!(mark.what, What::Words(_));
            let number = name.as_deref().and_then(number_of).filter(|_| is_worded);
            let Some(number) = number else {
                found.to_codas.push((mark, name, times));
                continue;
            };
            if let Some(name) = named(number) {
                self.words_read(mark, "To Coda");
                found.to_codas.push((mark, Some(name), times));
            } else {
                self.not_read(mark);
            }
        }
        for jump in &mut found.jumps {
            if let Some(number) = jump.back.coda {
                jump.coda = named(number);
                if jump.coda.is_none() {
                    self.not_read(jump.mark);
                }
            }
        }
    }

    /// Says so of words; an instruction for playing says itself what is meant.
    fn not_read(&mut self, mark: &Mark) {
        if let What::Words(text) = &mark.what {
            let (message, help) = words::of_left(text);
            self.notice(Rule::WordsNotRead, mark, message, help);
        }
    }
}

/// The number in the name of a coda: "2", "coda2", "Coda 2".
fn number_of(name: &str) -> Option<u16> {
    let name = name.trim().to_lowercase();
    name.strip_prefix("coda")
        .unwrap_or(&name)
        .trim()
        .parse()
        .ok()
}
