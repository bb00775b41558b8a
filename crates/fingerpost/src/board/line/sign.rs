//! Reads one sign up to its keys: its words, its label and its beat.

use std::ops::Range;

use super::draft::{Draft, Kind, Slot};
use super::reader::{Reader, number, shown};
use super::scan::{Barline, Lexeme, Token};
use crate::board::complaint::nearest;
use crate::board::{Fraction, HIGHEST_PASS, Plays, Shift};

/// Where a sign is being read, as far as its beat is concerned.
#[derive(Clone, Copy)]
pub(super) enum Spot {
    /// In a measure whose beats are this part of a whole note.
    Measure { unit: u8 },
    /// In a measure of a board without a meter.
    NoMeter,
    /// In a measure of a board whose meter could not be read.
    UnreadMeter,
    /// Among the signs in the hand.
    Hand,
}

const WORD_ACCEPTED: &str = "a measure's number, a name in quotes, `-`, or a sign: segno, coda, To Coda, Fine, D.C., \
     D.S., fermata, 8va, 8vb, 15ma, 15mb, only";
/// The same for a sign by itself.
const SIGN_ACCEPTED: &str = "a sign: segno, coda, To Coda, Fine, D.C., D.S., fermata, 8va, 8vb, 15ma, 15mb, only, `|:`, `:|`, `||`, \
     `|]`, `[1.`";

impl Reader<'_> {
    /// Reads the sign whose first word is ahead. `None`, with a complaint, when the word begins no sign.
    pub(super) fn sign(&mut self, spot: Spot) -> Option<Draft> {
        let word = self.take();
        let kind = match self.plain(word).as_str() {
            "segno" => Some(Kind::Segno),
            "coda" => Some(Kind::Coda),
            "to" => self.followed_by("coda", Kind::ToCoda),
            "fine" => Some(Kind::Fine),
            "dc" => Some(Kind::DaCapo),
            "da" => self.followed_by("capo", Kind::DaCapo),
            "ds" => Some(Kind::DalSegno),
            "dal" => self.followed_by("segno", Kind::DalSegno),
            "fermata" => Some(Kind::Fermata),
            "only" => Some(Kind::Only),
            "8va" => {
                let bassa = self.followed_by("bassa", Kind::Octave(Shift::Down1));
                bassa.or(Some(Kind::Octave(Shift::Up1)))
            }
            "15ma" => {
                let bassa = self.followed_by("bassa", Kind::Octave(Shift::Down2));
                bassa.or(Some(Kind::Octave(Shift::Up2)))
            }
            "8vb" | "8ba" => Some(Kind::Octave(Shift::Down1)),
            "15mb" | "15vb" | "15ba" => Some(Kind::Octave(Shift::Down2)),
            _ => None,
        };
        let bytes = word.start..word.end;
        if let Some(draft) = self.parted(word, spot) {
            return Some(draft);
        }
        let Some(kind) = kind else {
            let accepted = match spot {
                Spot::Hand => SIGN_ACCEPTED,
                _ => WORD_ACCEPTED,
            };
            self.no_sign(self.raw(word), &self.plain(word), bytes, accepted);
            return None;
        };
        let mut draft = Draft::new(kind, bytes, !matches!(spot, Spot::Hand));
        self.label(&mut draft, Slot::Label);
        self.beat(&mut draft, spot);
        self.keys_and_phrases(&mut draft);
        draft.bytes.end = self.end;
        Some(draft)
    }

    /// Reads an ending's opening with its keys.
    pub(super) fn ending(&mut self, placed: bool) -> Draft {
        let token = self.take();
        let mut draft = Draft::new(Kind::Ending, token.start..token.end, placed);
        draft.numbers = self.ending_numbers(token);
        draft.broken = draft.numbers.is_none();
        self.keys_and_phrases(&mut draft);
        draft.bytes.end = self.end;
        draft
    }

    /// Reads a barline that is a sign, with its keys; of an end repeat and start repeat in one, the end repeat. `None` for a plain barline.
    pub(super) fn barline_sign(&mut self, barline: Barline, placed: bool) -> Option<Draft> {
        let kind = match barline {
            Barline::Plain => return None,
            Barline::Double => Kind::DoubleBar,
            Barline::Final => Kind::FinalBar,
            Barline::Start => Kind::StartRepeat,
            Barline::End | Barline::EndStart => Kind::EndRepeat,
        };
        let token = self.take();
        let mut draft = Draft::new(kind, token.start..token.end, placed);
        if kind == Kind::EndRepeat {
            self.times(&mut draft);
        }
        self.keys_and_phrases(&mut draft);
        draft.bytes.end = self.end;
        Some(draft)
    }

    /// Complains of a D.C. or D.S. with a blank in it, and reads on as if it were none.
    fn parted(&mut self, word: Lexeme, spot: Spot) -> Option<Draft> {
        let kind = match (self.plain(word).as_str(), self.plain_ahead().as_str()) {
            ("d", "c") => Kind::DaCapo,
            ("d", "s") => Kind::DalSegno,
            _ => return None,
        };
        let bytes = word.start..self.take().end;
        let (written, meant) = (self.of(&bytes), kind.written());
        self.complain(
            bytes.clone(),
            format!("`{written}` is no sign; did you mean `{meant}`?"),
            "`D.C.` and `D.S.` without a blank in them",
        );
        let mut draft = Draft::new(kind, bytes, !matches!(spot, Spot::Hand));
        draft.broken = true;
        self.label(&mut draft, Slot::Label);
        self.beat(&mut draft, spot);
        self.keys_and_phrases(&mut draft);
        draft.bytes.end = self.end;
        Some(draft)
    }

    fn followed_by(&mut self, second: &str, kind: Kind) -> Option<Kind> {
        if self.plain_ahead() == second {
            self.take();
            Some(kind)
        } else {
            None
        }
    }

    /// Complains of a word that begins no sign, with what is accepted in its place.
    fn no_sign(&mut self, raw: &str, plain: &str, bytes: Range<usize>, signs: &'static str) {
        let word = shown(raw);
        let (message, accepted) = match plain {
            "al" | "alla" | "then" | "poi" | "con" | "senza" | "rep" => (
                format!("`{word}` stands after `D.C.` or `D.S.` only"),
                "`D.C. al Fine`, `D.S. al Coda`, `D.C. al Fine then Coda`, `D.S. senza rep.`",
            ),
            // The pictures of the signs: what is typed is their words.
            _ if raw.starts_with('\u{1d10b}') => (
                "`\u{1d10b}` has a word in a line: write `segno`, or `D.S.`".to_owned(),
                signs,
            ),
            _ if raw.starts_with('\u{1d10c}') => (
                "`\u{1d10c}` has a word in a line: write `coda`, or `To Coda`".to_owned(),
                signs,
            ),
            "to" => (
                "`To` alone is no sign; did you mean `To Coda`?".to_owned(),
                signs,
            ),
            _ => match nearest(raw, Kind::WORDS) {
                Some(name) => (
                    format!("`{word}` is no sign; did you mean `{name}`?"),
                    signs,
                ),
                None => (format!("`{word}` is no sign"), signs),
            },
        };
        self.complain(bytes, message, accepted);
    }

    /// Reads `:B` after a word.
    pub(super) fn label(&mut self, draft: &mut Draft, slot: Slot) {
        if self.ahead.token != Token::Colon || !self.touches() {
            return;
        }
        let colon = self.take();
        let named = matches!(
            self.ahead.token,
            Token::Word | Token::Quoted | Token::Unclosed
        );
        if !named || !self.touches() {
            draft.broken = true;
            self.complain(
                colon.start..colon.end,
                "the colon has no label right after it",
                "a label right after the colon, such as `segno:B` or `segno:\"second sign\"`",
            );
            if named {
                // It was meant to be the label.
                self.take();
            }
            return;
        }
        let bytes = colon.start..self.ahead.end;
        let text = self.text_value(":", "");
        if !draft.takes(slot) {
            draft.broken = true;
            let name = draft.kind.written();
            self.complain(bytes, format!("`{name}` has no label"), "");
        } else if self.claim(draft, slot, bytes) {
            let Some((text, _)) = text else {
                draft.broken = true;
                return;
            };
            if slot == Slot::Coda {
                draft.coda = Some(text);
            } else {
                draft.label = Some(text);
            }
        }
    }

    /// Reads `@3` after a sign's name.
    fn beat(&mut self, draft: &mut Draft, spot: Spot) {
        if self.ahead.token != Token::At || !self.touches() {
            return;
        }
        let at = self.take();
        let name = draft.kind.written();
        let touching = self.touches() && self.ahead.token == Token::Word;
        let beat = number(self.raw(self.ahead)).filter(|&beat| touching && beat >= 1);
        let Some(beat) = beat else {
            let end = if touching { self.take().end } else { at.end };
            draft.broken = true;
            let message = format!("the `@` of `{name}` has no beat after it");
            self.complain(
                at.start..end,
                message,
                "a beat counted from 1, such as `Fine@3`",
            );
            return;
        };
        let bytes = at.start..self.take().end;
        if !draft.kind.slots().contains(&Slot::Cut) {
            draft.broken = true;
            let message = format!("`{name}` cannot cut a measure");
            return self.complain(
                bytes,
                message,
                "a beat after Fine, To Coda, D.C., D.S., segno or coda",
            );
        }
        if !self.claim(draft, Slot::Cut, bytes.clone()) {
            return;
        }
        let unit = match spot {
            Spot::Measure { unit } => u32::from(unit),
            Spot::UnreadMeter => {
                draft.broken = true;
                return;
            }
            Spot::NoMeter => {
                draft.broken = true;
                let message = format!("`{name}@{beat}` counts beats, and the board has no meter");
                return self.complain(
                    bytes,
                    message,
                    "a meter at the start of the line, such as `{meter 4/4}`, or `(cut 3/8)`",
                );
            }
            Spot::Hand => {
                draft.broken = true;
                return self.complain(bytes, "a sign in the hand stands on no beat", "");
            }
        };
        // The beat named is the last to sound before a sign that leaves, and the first after one that lands.
        let beats = if draft.kind.lands() { beat - 1 } else { beat };
        let cut = u32::try_from(beats)
            .ok()
            .and_then(|beats| Fraction::new(beats, unit));
        if cut.is_none() {
            draft.broken = true;
            self.complain(
                bytes,
                format!("`{beat}` is no beat of a measure"),
                "a beat up to 65535",
            );
        }
        draft.cut = cut;
    }

    /// Reads `x3` right after an end repeat.
    fn times(&mut self, draft: &mut Draft) {
        let raw = self.raw(self.ahead);
        if self.ahead.token != Token::Word || !self.touches() || !raw.starts_with(['x', 'X']) {
            return;
        }
        let bytes = self.bytes_ahead();
        self.take();
        draft.bytes.end = self.end;
        draft.give(Slot::Plays);
        let digits = raw.get(1..).unwrap_or_default();
        draft.plays = plays(digits).filter(|&plays| plays != Plays::Open);
        if draft.plays.is_none() {
            draft.broken = true;
            let message = format!("`{}` is not a number of plays", shown(raw));
            self.complain(
                bytes,
                message,
                "`:|x3` for three times in all, from 1 to 1000000",
            );
        }
    }
}

/// How often a section is played: a number or `open`.
pub(super) fn plays(text: &str) -> Option<Plays> {
    if text.eq_ignore_ascii_case("open") {
        return Some(Plays::Open);
    }
    let times = number(text).and_then(|n| u32::try_from(n).ok())?;
    (1..=HIGHEST_PASS)
        .contains(&times)
        .then_some(Plays::Times(times))
}
