//! Reads what is written beside a sign: its keys in parentheses, and the phrases after a jump.

use std::ops::Range;

use super::draft::{Draft, Slot};
use super::reader::{Reader, number, shown};
use super::scan::{Token, is_blank};
use super::sign::plays;
use crate::board::complaint::nearest;
use crate::board::{Al, Fraction, Hands, Repeats, Then, When};

impl Reader<'_> {
    /// Reads keys in parentheses, and after a jump its phrases, in any order.
    pub(super) fn keys_and_phrases(&mut self, draft: &mut Draft) {
        let mut keys_read = false;
        loop {
            match self.ahead.token {
                Token::Open
                    if draft.kind.holds_measures() && self.opens_measures(draft, keys_read) =>
                {
                    return;
                }
                Token::Open => {
                    self.keys(draft);
                    keys_read = true;
                }
                Token::Word if draft.takes(Slot::Al) && self.is_phrase() => self.key(draft),
                _ => return,
            }
        }
    }

    /// Whether the parenthesis ahead holds measures and not keys: a blank follows it, or what no key begins with, or keys have been read.
    fn opens_measures(&self, draft: &Draft, keys_read: bool) -> bool {
        let second = self.second();
        let measure = match second.token {
            Token::Word => {
                let raw = self.raw(second);
                raw == "-" || number(raw).is_some()
            }
            Token::Quoted | Token::Barline(_) => true,
            _ => false,
        };
        draft.placed && (keys_read || measure || self.after_ahead().is_none_or(is_blank))
    }

    fn is_phrase(&self) -> bool {
        let word = self.plain_ahead();
        matches!(
            word.as_str(),
            "al" | "alla" | "then" | "e" | "poi" | "con" | "senza"
        )
    }

    /// Reads a parenthesis of keys.
    fn keys(&mut self, draft: &mut Draft) {
        let open = self.take();
        loop {
            self.key(draft);
            if !matches!(self.ahead.token, Token::Comma | Token::Close) {
                // After a complaint about the key the rest of it is not worth another one.
                if !draft.broken && !ends_keys(self.ahead.token) {
                    let message = format!(
                        "`{}` is one word too many for a key",
                        self.shown(self.ahead)
                    );
                    self.complain(self.bytes_ahead(), message, "`,` and the next key, or `)`");
                }
                draft.broken = true;
                self.skip_until(|token| matches!(token, Token::Comma) || ends_keys(token));
            }
            match self.ahead.token {
                Token::Comma => {
                    self.take();
                }
                Token::Close => {
                    self.take();
                    return;
                }
                _ => {
                    draft.broken = true;
                    let name = draft.kind.written();
                    let message = format!("the keys of `{name}` are not closed");
                    return self.complain(open.start..open.end, message, "`)` after the keys");
                }
            }
        }
    }

    /// Reads one key with its value.
    fn key(&mut self, draft: &mut Draft) {
        let bytes = self.bytes_ahead();
        let Some(slot) = self.slot_ahead(draft) else {
            return self.no_key(draft);
        };
        let word = self.plain_ahead();
        let name = self.shown(self.ahead);
        if slot != Slot::Hands && slot != Slot::When {
            self.take();
        }
        let first = self.claim(draft, slot, bytes);
        if !self.value(draft, slot, &word, &name) && first {
            draft.broken = true;
        }
    }

    /// What the word ahead fills, when it is a key of this sign.
    fn slot_ahead(&self, draft: &Draft) -> Option<Slot> {
        let slot = match self.plain_ahead().as_str() {
            "plays" => Slot::Plays,
            "on-return" if draft.takes(Slot::OnReturn) => Slot::OnReturn,
            "pass" | "passes" if draft.takes(Slot::Passes) => Slot::Passes,
            "last" if draft.takes(Slot::When) && self.plain(self.second()) == "pass" => Slot::When,
            "on" | "on-return" | "on-repeat" | "last-pass" | "every" | "every-pass" | "pass"
            | "passes" => Slot::When,
            "last" => Slot::Last,
            "open" => Slot::Open,
            "label" => Slot::Label,
            "al" | "alla" => Slot::Al,
            "then" | "e" | "poi" => Slot::Then,
            "coda" => Slot::Coda,
            "repeats" | "con" | "senza" => Slot::Repeats,
            "arrival" | "arrivals" => Slot::Arrivals,
            "rh" | "lh" | "both" => Slot::Hands,
            "cut" => Slot::Cut,
            "id" => Slot::Id,
            _ => return None,
        };
        draft.takes(slot).then_some(slot)
    }

    fn no_key(&mut self, draft: &mut Draft) {
        draft.broken = true;
        let sign = draft.kind.written();
        let accepted = draft.keys().collect::<Vec<_>>().join(", ");
        let bytes = self.bytes_ahead();
        if matches!(self.ahead.token, Token::Comma | Token::Close) {
            return self.complain(
                bytes,
                format!("a key of `{sign}` is missing here"),
                &accepted,
            );
        }
        if ends_keys(self.ahead.token) {
            return;
        }
        let raw = self.raw(self.ahead);
        let mut message = format!("`{}` is no key of `{sign}`", shown(raw));
        if let Some(name) = nearest(raw, draft.keys()) {
            message = format!("{message}; did you mean `{name}`?");
        }
        let accepted = if draft.kind.holds_measures() && draft.placed {
            format!("{accepted}; or `( ` with a blank after it, to open a row of measures")
        } else {
            accepted
        };
        self.take();
        self.complain(bytes, message, &accepted);
    }

    /// Notes that a sign is given something; complains when it had been given it before.
    pub(super) fn claim(&mut self, draft: &mut Draft, slot: Slot, bytes: Range<usize>) -> bool {
        let first = draft.give(slot);
        if !first {
            draft.broken = true;
            let key = slot.keys().first().copied().unwrap_or_default();
            let what = match slot {
                Slot::Hands => "the hand".to_owned(),
                Slot::When => "the time at which it holds".to_owned(),
                _ => format!("`{key}`"),
            };
            let sign = draft.kind.written();
            self.complain(
                bytes,
                format!("`{sign}` is given {what} twice"),
                "each key once",
            );
        }
        first
    }

    /// Reads the value of a key whose word has been taken (for hands and times: is ahead).
    fn value(&mut self, draft: &mut Draft, slot: Slot, word: &str, name: &str) -> bool {
        match slot {
            Slot::Plays => self.plays(draft, name),
            Slot::OnReturn => self.repeats(name).map(|it| draft.on_return = Some(it)),
            Slot::Open => {
                draft.open = true;
                Some(())
            }
            Slot::Label => self
                .text_value(name, "a label")
                .map(|it| draft.label = Some(it.0)),
            Slot::Coda => self
                .text_value(name, "a label")
                .map(|it| draft.coda = Some(it.0)),
            Slot::Id => self
                .text_value(name, "a name")
                .map(|it| draft.id = Some(it.0)),
            Slot::Al => self.al(draft, name),
            Slot::Then => self.then(draft, word, name),
            Slot::Repeats if word == "repeats" => {
                self.repeats(name).map(|it| draft.repeats = Some(it))
            }
            Slot::Repeats => self.con_rep(draft, word, name),
            Slot::Arrivals => self.numbers(name).map(|it| draft.arrivals = Some(it)),
            Slot::Passes => self.numbers(name).map(|it| draft.passes = Some(it)),
            Slot::Hands => {
                self.take();
                draft.hands = match word {
                    "rh" => Hands::Right,
                    "lh" => Hands::Left,
                    _ => Hands::Both,
                };
                Some(())
            }
            Slot::When => self.when(word, name).map(|it| draft.when = it),
            Slot::Cut => self.fraction(name).map(|it| draft.cut = Some(it)),
            Slot::Last => self.measure_number(name).map(|it| draft.last = Some(it)),
        }
        .is_some()
    }

    fn plays(&mut self, draft: &mut Draft, name: &str) -> Option<()> {
        const ACCEPTED: &str = "a number from 1 to 1000000, or open";
        let (value, bytes) = self.text_value(name, ACCEPTED)?;
        draft.plays = plays(&value);
        if draft.plays.is_none() {
            let message = format!("`{}` is not a number of plays", shown(&value));
            self.complain(bytes, message, ACCEPTED);
        }
        draft.plays.map(|_| ())
    }

    fn repeats(&mut self, name: &str) -> Option<Repeats> {
        let (value, bytes) = self.text_value(name, "play, skip")?;
        let found = Repeats::ALL
            .iter()
            .find(|it| it.name() == value.to_lowercase());
        if found.is_none() {
            let message = format!("`{}` is no value of `{name}`", shown(&value));
            self.complain(bytes, message, "play, skip");
        }
        found.copied()
    }

    fn al(&mut self, draft: &mut Draft, name: &str) -> Option<()> {
        const ACCEPTED: &str = "Fine, Coda, Segno, End";
        let target = self.plain_ahead();
        let bytes = self.bytes_ahead();
        let (value, _) = self.text_value(name, ACCEPTED)?;
        draft.al = Some(match target.as_str() {
            "fine" => Al::Fine,
            "coda" => Al::Coda,
            "segno" => Al::Segno,
            "end" => Al::End,
            _ => {
                let message = match nearest(&value, ["Fine", "Coda", "Segno", "End"]) {
                    Some(near) => format!(
                        "`{}` cannot stand after `{name}`; did you mean `{near}`?",
                        shown(&value)
                    ),
                    None => format!("`{}` cannot stand after `{name}`", shown(&value)),
                };
                self.complain(bytes, message, ACCEPTED);
                return None;
            }
        });
        match draft.al {
            Some(Al::Coda) => self.label(draft, Slot::Coda),
            Some(Al::Segno) => self.label(draft, Slot::Label),
            _ => {}
        }
        Some(())
    }

    fn then(&mut self, draft: &mut Draft, word: &str, name: &str) -> Option<()> {
        const ACCEPTED: &str = "`then Coda`, `then End`";
        if word == "e" && self.plain_ahead() == "poi" {
            self.take();
        }
        if word != "then" && self.plain_ahead() == "la" {
            self.take();
        }
        let target = self.plain_ahead();
        let bytes = self.bytes_ahead();
        let (value, _) = self.text_value(name, ACCEPTED)?;
        draft.then = match target.as_str() {
            "coda" => Some(Then::Coda),
            "end" => Some(Then::End),
            _ => None,
        };
        match draft.then {
            Some(Then::Coda) => self.label(draft, Slot::Coda),
            Some(Then::End) => {}
            None => {
                let message = format!("`{}` cannot stand after `{name}`", shown(&value));
                self.complain(bytes, message, ACCEPTED);
            }
        }
        draft.then.map(|_| ())
    }

    fn con_rep(&mut self, draft: &mut Draft, word: &str, name: &str) -> Option<()> {
        let rep = self.plain_ahead();
        if matches!(rep.as_str(), "rep" | "repetizione" | "ripetizione") {
            self.take();
            draft.repeats = Some(if word == "con" {
                Repeats::Play
            } else {
                Repeats::Skip
            });
            return Some(());
        }
        let bytes = self.bytes_ahead();
        let accepted = "`con rep.`, `senza rep.`";
        if rep.starts_with("rep") {
            // A word for a repeat, of which there are many: `replica`, `repliche`, `repeat`.
            let written = self.shown(self.ahead);
            self.take();
            let message =
                format!("`{written}` cannot stand after `{name}`; did you mean `{word} rep.`?");
            self.complain(bytes, message, accepted);
        } else {
            let message = format!("`rep.` is missing after `{name}`");
            self.complain(bytes, message, accepted);
        }
        None
    }

    fn when(&mut self, word: &str, name: &str) -> Option<When> {
        self.take();
        let mut pair = |second: &str, when: When| {
            if self.plain_ahead() == second {
                self.take();
                Some(when)
            } else {
                None
            }
        };
        let when = match word {
            "on-repeat" => Some(When::OnRepeat),
            "on-return" => Some(When::OnReturn),
            "last-pass" => Some(When::LastPass),
            "every-pass" => Some(When::EveryPass),
            "on" => pair("repeat", When::OnRepeat).or_else(|| pair("return", When::OnReturn)),
            "last" => pair("pass", When::LastPass),
            "every" => pair("pass", When::EveryPass),
            _ => return self.numbers(name).map(When::Passes),
        };
        if when.is_none() {
            let message = format!("`{name}` lacks its second word");
            self.complain(
                self.bytes_ahead(),
                message,
                "on repeat, on return, last pass, every pass, pass 2",
            );
        }
        when
    }

    /// Reads a fraction of a whole note.
    pub(super) fn fraction(&mut self, name: &str) -> Option<Fraction> {
        const ACCEPTED: &str = "a fraction of a whole note such as `3/8`";
        let (value, bytes) = self.text_value(name, ACCEPTED)?;
        let fraction = value.parse().ok();
        if fraction.is_none() {
            let message = format!("`{}` is not a fraction of a whole note", shown(&value));
            self.complain(bytes, message, ACCEPTED);
        }
        fraction
    }

    /// Reads the number of a measure.
    pub(super) fn measure_number(&mut self, name: &str) -> Option<u16> {
        const ACCEPTED: &str = "a measure counted from 1";
        let (value, bytes) = self.text_value(name, ACCEPTED)?;
        let measure = number(&value).and_then(|n| u16::try_from(n).ok());
        if measure.is_none() {
            let message = format!("`{}` is not a measure of the board", shown(&value));
            self.complain(bytes, message, ACCEPTED);
        }
        measure
    }
}

fn ends_keys(token: Token) -> bool {
    // Keys hold no barlines and no measures: one of these means that the parenthesis has been forgotten.
    matches!(
        token,
        Token::Close
            | Token::Barline(_)
            | Token::NoBarline
            | Token::SystemEnd
            | Token::BraceClose
            | Token::Semicolon
            | Token::End
    )
}
