//! The words of a score's road signs, as engravers and composers write them, in English, Italian, German, French and Spanish.
//!
//! Words are folded first (case, accents, full stops, line breaks), then read from left to right by the tables of [`lexicon`].
//! Sources: the glossaries of the handbooks named in `spec/sources.md`; the German, French and Spanish forms are common practice.

mod lexicon;
mod tokens;

use fingerpost::{Al, Passes, Repeats};

use lexicon::{ARTICLES, DA_CAPO, DAL_SEGNO, NO, ON_TO, PIECES, REPEATS, THEN, WITH, WITHOUT};
use tokens::{Token, tokens};

use crate::passes::shortened;

/// One thing that words say.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum Phrase {
    /// D.C. or D.S.
    Jump(Jump),
    /// What belongs to a D.C. or D.S. whose other words stand elsewhere: "al Fine" below "D.C.", "senza rep.".
    More(Return),
    /// With the number of the coda, where it is one of several: "To Coda 2".
    ToCoda(Option<u16>, Option<Passes>),
    /// The word Coda where the coda begins, with its number.
    Coda(Option<u16>),
    Fine(Option<Passes>),
    /// The sign 𝄌 alone, written as a character.
    CodaSign,
    /// The sign 𝄋 alone, written as a character, or its name.
    SegnoSign,
    /// The name of a middle piece that a return leaves out: Trio.
    Trio,
    /// The name of a piece that a return may name: Menuetto.
    Piece,
}

/// A D.C. or D.S. in words.
#[derive(Clone, Default, PartialEq, Eq, Debug)]
pub(crate) struct Jump {
    pub(crate) da_capo: bool,
    pub(crate) back: Return,
    /// The times at which it holds: "D.C. 2nd time only".
    pub(crate) times: Option<Passes>,
    /// Whether the words name the piece that is played again ("Menuetto da capo"): it ends where that piece ends.
    pub(crate) names_piece: bool,
}

impl Jump {
    /// Takes from other words of the same return what these do not say.
    pub(crate) fn fill_from(&mut self, more: &Jump) {
        self.back.fill_from(&more.back);
        self.names_piece |= more.names_piece;
        self.times = self.times.take().or_else(|| more.times.clone());
    }
}

/// How a return goes on.
#[derive(Clone, Default, PartialEq, Eq, Debug)]
pub(crate) struct Return {
    pub(crate) al: Option<Al>,
    /// "poi la Coda": the coda follows the place named by `al`.
    pub(crate) then_coda: bool,
    /// The number of that coda, or of the one that `al` names: "al Coda 2".
    pub(crate) coda: Option<u16>,
    pub(crate) repeats: Option<Repeats>,
}

impl Return {
    /// Takes from other words what these do not say.
    pub(crate) fn fill_from(&mut self, more: &Return) {
        self.al = self.al.or(more.al);
        self.then_coda |= more.then_coda;
        self.coda = self.coda.or(more.coda);
        self.repeats = self.repeats.or(more.repeats);
    }

    pub(crate) fn is_empty(&self) -> bool {
        *self == Return::default()
    }
}

/// The drawn signs as characters.
pub(crate) const SEGNO: char = '\u{1d10b}';
pub(crate) const CODA: char = '\u{1d10c}';

/// So many characters are looked at: longer texts are no signs, and reading them takes time that grows with the square of their length.
pub(crate) const LONGEST: usize = 500;

/// What words say about the order, in the order of the words. Words that say nothing about it (tempo, dynamics, names) give nothing.
pub(crate) fn phrases(text: &str) -> Vec<Phrase> {
    let tokens = tokens(beginning(text));
    if let [only] = tokens.as_slice() {
        match (only.word.as_str(), only.is_sign) {
            ("coda", true) => return vec![Phrase::CodaSign],
            ("segno", true) => return vec![Phrase::SegnoSign],
            _ => {}
        }
    }
    let mut reader = Reader {
        rest: &tokens,
        ..Reader::default()
    };
    while !reader.rest.is_empty() {
        reader.next();
    }
    reader.finish()
}

/// Whether words speak of the road and are not read, or not wholly: "Da Coda", "D.C. al 2nd ending", "play 4 times". Long texts that mention a
/// sign are none.
pub(crate) fn are_left(text: &str) -> bool {
    const MOST_WORDS: usize = 8;
    let tokens = tokens(beginning(text));
    if tokens.len() > MOST_WORDS {
        return false;
    }
    let counts = |pair: &[Token]| match pair {
        [number, times] => is_number(&number.word) && lexicon::TIMES.contains(&times.word.as_str()),
        _ => false,
    };
    let lone = match tokens.as_slice() {
        [only] => only.word.strip_suffix('x').is_some_and(is_number),
        _ => false,
    };
    if lone || tokens.windows(2).any(counts) {
        return true;
    }
    let mut reader = Reader {
        rest: &tokens,
        ..Reader::default()
    };
    while !reader.rest.is_empty() {
        reader.next();
    }
    if reader.jump.is_some() {
        return reader.others || reader.bare_times;
    }
    let leads_on = matches!(reader.more.al, Some(Al::Coda | Al::Segno));
    reader.others && (reader.coda || reader.segno || leads_on)
}

/// Whether words are the beginning of a "To Coda" whose sign stands by itself: "To" before 𝄌.
pub(crate) fn lead_to_coda(text: &str) -> bool {
    const LONGEST: usize = 20;
    text.len() <= LONGEST
        && phrases(text).is_empty()
        && matches!(
            phrases(&format!("{text} {CODA}")).as_slice(),
            [Phrase::ToCoda(..)]
        )
}

/// What is said of words that are left.
pub(crate) fn of_left(words: &str) -> (String, &'static str) {
    // On one line, whatever the file has between the words.
    let words: Vec<&str> = words.split_whitespace().collect();
    (
        format!(
            "not wholly read: \"{}\"; it may be a sign of the road",
            shortened(&words.join(" "))
        ),
        "see what stands there, and lay the sign on the board by hand",
    )
}

fn is_number(word: &str) -> bool {
    !word.is_empty() && word.chars().all(|c| c.is_ascii_digit())
}

/// As much of a text as is looked at.
fn beginning(text: &str) -> &str {
    text.char_indices().nth(LONGEST).map_or(text, |(end, _)| {
        // cannot fail: a character begins there.
        text.get(..end).unwrap_or(text)
    })
}

#[derive(Default)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a word that has been met"
)]
struct Reader<'a> {
    rest: &'a [Token],
    jump: Option<Jump>,
    more: Return,
    times: Option<Passes>,
    /// Whether the times are a bare "2x", which may mean the second time or twice.
    bare_times: bool,
    /// Places that the words name without a way to them.
    coda: bool,
    fine: bool,
    segno: bool,
    trio: bool,
    piece: bool,
    /// The number of the coda that is named.
    number: Option<u16>,
    negated: bool,
    /// Words that are none of ours.
    others: bool,
}

impl Reader<'_> {
    fn next(&mut self) {
        if let Some(passes) = self.times_words() {
            self.times = Some(passes);
        } else if self.take_any(DA_CAPO) {
            self.jump(true);
        } else if self.take_any(DAL_SEGNO) {
            self.jump(false);
        } else if self.repeats_words() || self.then_words() || self.on_to_words() {
        } else {
            self.word();
        }
    }

    fn jump(&mut self, da_capo: bool) {
        if self.negated {
            self.others = true;
        } else if self.jump.is_none() {
            self.jump = Some(Jump {
                da_capo,
                names_piece: da_capo && self.piece,
                ..Jump::default()
            });
        }
    }

    /// "senza rep.", "with repeats".
    fn repeats_words(&mut self) -> bool {
        let [how, what, ..] = self.rest else {
            return false;
        };
        let skips = WITHOUT.contains(&how.word.as_str());
        let plays = WITH.contains(&how.word.as_str());
        let repeats = REPEATS.iter().any(|stem| what.word.starts_with(stem));
        if !(skips || plays) || !repeats {
            return false;
        }
        self.more.repeats = Some(if skips { Repeats::Skip } else { Repeats::Play });
        self.take(2);
        true
    }

    /// "e poi la Coda", "then coda".
    fn then_words(&mut self) -> bool {
        let Some(first) = self.rest.first() else {
            return false;
        };
        if !THEN.contains(&first.word.as_str()) {
            return false;
        }
        let skipped = self
            .rest
            .iter()
            .take_while(|token| {
                let word = token.word.as_str();
                THEN.contains(&word) || ARTICLES.contains(&word) || ON_TO.contains(&word)
            })
            .count();
        if self
            .rest
            .get(skipped)
            .is_some_and(|token| token.word == "coda")
        {
            self.more.then_coda = true;
            self.take(skipped + 1);
            self.more.coda = self.coda_number();
        } else {
            self.take(1);
        }
        true
    }

    /// "al Fine", "to the coda", "bis zum Zeichen".
    fn on_to_words(&mut self) -> bool {
        let ways = self
            .rest
            .iter()
            .take_while(|token| ON_TO.contains(&token.word.as_str()))
            .count();
        if ways == 0 {
            return false;
        }
        let articles = self
            .rest
            .iter()
            .skip(ways)
            .take_while(|token| ARTICLES.contains(&token.word.as_str()))
            .count();
        let target = self.rest.get(ways + articles).and_then(place);
        let Some(al) = target else {
            return false;
        };
        if self.more.al.is_none() {
            self.more.al = Some(al);
        } else if al == Al::Coda {
            // "al Segno, al Coda": first the one, then the other.
            self.more.then_coda = true;
        }
        self.take(ways + articles + 1);
        if al == Al::Coda {
            self.more.coda = self.coda_number().or(self.more.coda);
        }
        true
    }

    /// The number behind the word Coda, where it counts codas and not times.
    fn coda_number(&mut self) -> Option<u16> {
        let (first, rest) = self.rest.split_first()?;
        let counts = |token: &Token| {
            let word = token.word.as_str();
            lexicon::TIME.contains(&word) || lexicon::TIMES.contains(&word)
        };
        if !is_number(&first.word) || rest.first().is_some_and(counts) {
            return None;
        }
        let number = first.word.parse().ok()?;
        self.take(1);
        Some(number)
    }

    fn word(&mut self) {
        let Some(token) = self.rest.first() else {
            return;
        };
        let word = token.word.as_str();
        self.negated = NO.contains(&word);
        match place(token) {
            Some(Al::Fine) => self.fine = true,
            Some(Al::Coda) => self.coda = true,
            Some(Al::Segno) if word == "segno" => self.segno = true,
            _ if word == "trio" => self.trio = true,
            _ if is_piece(word, self.rest.get(1)) => {
                self.piece = true;
            }
            _ if ARTICLES.contains(&word) => {}
            _ => self.others = true,
        }
        let is_coda = word == "coda" && !token.is_sign;
        self.take(1);
        if is_coda {
            self.number = self.coda_number();
        }
    }

    /// "2nd time only", "2x", "la 2a volta", "2. Mal".
    fn times_words(&mut self) -> Option<Passes> {
        let first = self.rest.first()?;
        let next = self.rest.get(1).map_or("", |token| token.word.as_str());
        let bare = first.word.strip_suffix('x');
        let (number, taken) = if let Some(digits) = bare {
            (digits.parse().ok()?, 1)
        } else if lexicon::TIME.contains(&next) {
            (lexicon::ordinal(&first.word)?, 2)
        } else {
            return None;
        };
        let is_bare = bare.is_some();
        let passes = Passes::of([number]).ok()?;
        self.take(taken);
        let next = self.rest.first();
        self.bare_times |=
            is_bare && !next.is_some_and(|token| lexicon::ONLY.contains(&token.word.as_str()));
        while self
            .rest
            .first()
            .is_some_and(|token| lexicon::ONLY.contains(&token.word.as_str()))
        {
            self.take(1);
        }
        Some(passes)
    }

    fn take_any(&mut self, forms: &[&[&str]]) -> bool {
        let form = forms.iter().find(|form| {
            form.len() <= self.rest.len()
                && form
                    .iter()
                    .zip(self.rest)
                    .all(|(word, token)| token.word == *word)
        });
        match form {
            Some(form) => {
                self.take(form.len());
                true
            }
            None => false,
        }
    }

    fn take(&mut self, count: usize) {
        self.rest = self.rest.get(count..).unwrap_or_default();
    }

    fn finish(self) -> Vec<Phrase> {
        let mut phrases = Vec::new();
        if let Some(mut jump) = self.jump {
            jump.back = self.more;
            // "D.C. 2x": the second time, or twice? It is not guessed.
            jump.times = self.times.filter(|_| !self.bare_times);
            // "D.C., Coda": the coda is named, and nothing else could be meant by it.
            jump.back.then_coda |= self.coda;
            jump.back.coda = jump.back.coda.or(self.number);
            if self.fine && jump.back.al.is_none() {
                jump.back.al = Some(Al::Fine);
            }
            phrases.push(Phrase::Jump(jump));
        } else if self.others {
            // A sentence that only mentions a sign.
        } else if self.more.al == Some(Al::Coda) {
            phrases.push(Phrase::ToCoda(self.more.coda, self.times));
        } else if !self.more.is_empty() {
            phrases.push(Phrase::More(self.more));
        } else if self.coda {
            phrases.push(Phrase::Coda(self.number));
        } else if self.fine {
            phrases.push(Phrase::Fine(self.times));
        } else if self.segno {
            phrases.push(Phrase::SegnoSign);
        }
        if self.trio {
            phrases.push(Phrase::Trio);
        }
        if self.piece && phrases.is_empty() {
            phrases.push(Phrase::Piece);
        }
        phrases
    }
}

/// Whether a word names a piece; its short forms do before a D.C. only.
fn is_piece(word: &str, next: Option<&Token>) -> bool {
    let is_short = word == "m" || word == "men";
    PIECES.iter().any(|piece| word.starts_with(piece))
        || (is_short && next.is_some_and(|next| next.word == "dc"))
}

/// The place that a word names.
fn place(token: &Token) -> Option<Al> {
    let word = token.word.as_str();
    if lexicon::FINE.contains(&word) {
        Some(Al::Fine)
    } else if word == "coda" {
        Some(Al::Coda)
    } else if lexicon::SEGNO.contains(&word) {
        Some(Al::Segno)
    } else {
        None
    }
}

#[cfg(test)]
mod tests;
