//! Reads the keys of the whole board, in braces at the start of the line.

use std::ops::Range;

use super::draft::Draft;
use super::reader::{Reader, number, shown};
use super::scan::{Barline, Lexeme, Token};
use super::sign::Spot;
use crate::board::complaint::nearest;
use crate::board::{
    BoardBuilder, BoardFault, Fraction, MOST_MARKINGS, Meter, MeterChange, Repeats,
};
use crate::reading::{
    Answers, ArmedInRepeat, Arming, JumpInRepeat, LoneEndRepeat, NamedReading, Nested, Question,
};

const KEYS: [&str; 15] = [
    "meter",
    "meters",
    "pickup",
    "title",
    "composer",
    "source",
    "levels",
    "reading",
    "unplaced",
    "repeats-on-return",
    "jump-in-repeat",
    "armed-in-repeat",
    "arming",
    "lone-end-repeat",
    "nested",
];

/// What the braces say.
#[derive(Default)]
pub(super) struct Header {
    title: Option<String>,
    composer: Option<String>,
    source: Option<String>,
    levels: Vec<u8>,
    meter: Option<Meter>,
    meters: Vec<MeterChange>,
    pickup: Option<Fraction>,
    answers: Answers,
    /// The signs in the hand.
    pub(super) unplaced: Vec<Draft>,
    /// How many signs stand in the hand, those beyond the limit included.
    pub(super) unplaced_in_all: usize,
    /// The bytes of the first sign beyond the limit.
    pub(super) too_many: Option<Range<usize>>,
    /// The keys given and their bytes.
    given: Vec<(&'static str, Range<usize>)>,
    /// Whether something in the braces has drawn a complaint.
    pub(super) broken: bool,
}

impl Header {
    /// The braces ahead, or an empty header when there are none.
    pub(super) fn read(reader: &mut Reader<'_>) -> Header {
        let mut header = Header::default();
        if reader.ahead.token == Token::BraceOpen {
            header.braces(reader);
        }
        header
    }

    /// The spot of a sign in this measure.
    pub(super) fn spot(&self, measure: u32) -> Spot {
        if self.broken {
            return Spot::UnreadMeter;
        }
        let changes = self
            .meters
            .partition_point(|change| u32::from(change.measure) <= measure);
        let change = changes.checked_sub(1).and_then(|at| self.meters.get(at));
        match change.map(|change| change.meter).or(self.meter) {
            Some(meter) => Spot::Measure { unit: meter.unit() },
            None => Spot::NoMeter,
        }
    }

    /// Lays everything but the signs in the hand on a board.
    pub(super) fn lay(&self, mut board: BoardBuilder) -> BoardBuilder {
        if let Some(title) = &self.title {
            board = board.title(title);
        }
        if let Some(composer) = &self.composer {
            board = board.composer(composer);
        }
        if let Some(source) = &self.source {
            board = board.source(source);
        }
        if let Some(meter) = self.meter {
            board = board.meter(meter);
        }
        if let Some(pickup) = self.pickup {
            board = board.pickup(pickup);
        }
        board
            .levels(self.levels.iter().copied())
            .meters(self.meters.iter().copied())
            .reading(self.answers)
    }

    /// The bytes of the key that a fault of the whole board is about.
    pub(super) fn bytes_of(&self, fault: &BoardFault) -> Option<Range<usize>> {
        let key = match fault {
            BoardFault::TooLong { what, .. } | BoardFault::ControlCharacter(what) => what,
            BoardFault::MetersOutOfOrder
            | BoardFault::MetersWithoutMeter
            | BoardFault::OffTheBoard { .. } => "meters",
            BoardFault::EmptyPickup => "pickup",
            BoardFault::Level(_) => "levels",
            _ => return None,
        };
        let found = self.given.iter().find(|(given, _)| *given == key);
        found.map(|(_, bytes)| bytes.clone())
    }

    fn braces(&mut self, reader: &mut Reader<'_>) {
        let open = reader.take();
        loop {
            match reader.ahead.token {
                Token::BraceClose => {
                    reader.take();
                    return;
                }
                Token::Semicolon => {
                    reader.take();
                }
                token if token == Token::End || is_barline(token) => {
                    self.broken = true;
                    let bytes = open.start..open.end;
                    return reader.complain(
                        bytes,
                        "the braces are not closed",
                        "`}` after the board's keys",
                    );
                }
                _ => self.key(reader),
            }
        }
    }

    fn key(&mut self, reader: &mut Reader<'_>) {
        let word = reader.take();
        let raw = reader.raw(word);
        let key = KEYS.into_iter().find(|key| raw.eq_ignore_ascii_case(key));
        let read = key.is_some_and(|key| self.named_key(reader, word, key));
        if key.is_none() {
            let mut message = format!("`{}` is no key of a board", shown(raw));
            if let Some(near) = nearest(raw, KEYS) {
                message = format!("{message}; did you mean `{near}`?");
            }
            reader.complain(word.start..word.end, message, &KEYS.join(", "));
        }
        let token = reader.ahead.token;
        if read && !ends_key(token) && !is_barline(token) {
            let message = format!(
                "`{}` is one word too many for a key",
                reader.shown(reader.ahead)
            );
            reader.complain(
                reader.bytes_ahead(),
                message,
                "`;` and the next key, or `}`",
            );
        } else if read {
            return;
        }
        self.broken = true;
        reader.skip_until(ends_key);
    }

    /// Reads the value of a key; `false` when it has drawn a complaint.
    fn named_key(&mut self, reader: &mut Reader<'_>, word: Lexeme, key: &'static str) -> bool {
        if self.given.iter().any(|(given, _)| *given == key) {
            let message = format!("`{key}` is given twice");
            reader.complain(word.start..word.end, message, "each key once");
            return false;
        }
        let read = match key {
            "title" => quoted(reader, key).map(|it| self.title = Some(it)),
            "composer" => quoted(reader, key).map(|it| self.composer = Some(it)),
            "source" => quoted(reader, key).map(|it| self.source = Some(it)),
            "meter" => meter(reader, key).map(|it| self.meter = Some(it)),
            "meters" => self.meters(reader),
            "pickup" => reader.fraction(key).map(|it| self.pickup = Some(it)),
            "levels" => self.levels(reader),
            "reading" => self.named_reading(reader, word),
            "unplaced" => self.unplaced(reader),
            _ => self.question(reader, word, key),
        };
        self.given.push((key, word.start..reader.end));
        read.is_some()
    }

    fn meters(&mut self, reader: &mut Reader<'_>) -> Option<()> {
        loop {
            let bytes = reader.bytes_ahead();
            let measure = reader.measure_number("meters")?;
            let meter = meter(reader, "meters")?;
            if self
                .meters
                .last()
                .is_some_and(|last| last.measure >= measure)
            {
                reader.complain(
                    bytes,
                    BoardFault::MetersOutOfOrder.to_string(),
                    "a later measure",
                );
                return None;
            }
            self.meters.push(MeterChange { measure, meter });
            if reader.ahead.token != Token::Comma {
                return Some(());
            }
            reader.take();
        }
    }

    fn levels(&mut self, reader: &mut Reader<'_>) -> Option<()> {
        loop {
            let (value, bytes) =
                reader.text_value("levels", "levels from 1 to 99, such as `levels 1 2`")?;
            let level = number(&value).and_then(|n| u8::try_from(n).ok());
            let level = level.filter(|&n| (1..=99).contains(&n) && !self.levels.contains(&n));
            let Some(level) = level else {
                let message = format!("`{}` is not a level", shown(&value));
                reader.complain(bytes, message, "levels from 1 to 99, each once");
                return None;
            };
            self.levels.push(level);
            if reader.ahead.token != Token::Word {
                return Some(());
            }
        }
    }

    fn named_reading(&mut self, reader: &mut Reader<'_>, word: Lexeme) -> Option<()> {
        const ACCEPTED: &str = "handbook, musicxml, mnx, abc, all-repeats, or single questions such as `repeats-on-return play`";
        let (value, bytes) = reader.text_value("reading", ACCEPTED)?;
        let Ok(named) = value.to_lowercase().parse::<NamedReading>() else {
            let names = NamedReading::ALL.map(NamedReading::name);
            let shown = shown(&value);
            let message = match nearest(&value, names) {
                Some(near) => format!("`{shown}` is not a reading; did you mean `{near}`?"),
                // The names are in what is accepted.
                None => format!("`{shown}` is not a reading"),
            };
            reader.complain(bytes, message, ACCEPTED);
            return None;
        };
        if named.omits_repeats() {
            let message = format!(
                "`{named}` leaves the repeats out, which answers no question; a player may ask for it, a board cannot"
            );
            reader.complain(bytes, message, ACCEPTED);
            return None;
        }
        if !self.answers.is_empty() {
            let message = "`reading` answers all six questions, and one has been answered before";
            reader.complain(
                word.start..word.end,
                message,
                "either `reading` or single questions",
            );
            return None;
        }
        self.answers = named.reading().into();
        Some(())
    }

    fn question(&mut self, reader: &mut Reader<'_>, word: Lexeme, key: &str) -> Option<()> {
        let question = Question::ALL
            .into_iter()
            .find(|question| question.name() == key)?;
        if self.answers.answers(question) {
            let message = format!("`{key}` has been answered by `reading`");
            reader.complain(
                word.start..word.end,
                message,
                "either `reading` or single questions",
            );
            return None;
        }
        let accepted = question.answers().join(", ");
        let (value, bytes) = reader.text_value(key, &accepted)?;
        let value = value.to_lowercase();
        let answers = &mut self.answers;
        let known = match question {
            Question::RepeatsOnReturn => set(
                &mut answers.repeats_on_return,
                Repeats::ALL,
                Repeats::name,
                &value,
            ),
            Question::JumpInRepeat => set(
                &mut answers.jump_in_repeat,
                JumpInRepeat::ALL,
                JumpInRepeat::name,
                &value,
            ),
            Question::ArmedInRepeat => set(
                &mut answers.armed_in_repeat,
                ArmedInRepeat::ALL,
                ArmedInRepeat::name,
                &value,
            ),
            Question::Arming => set(&mut answers.arming, Arming::ALL, Arming::name, &value),
            Question::LoneEndRepeat => set(
                &mut answers.lone_end_repeat,
                LoneEndRepeat::ALL,
                LoneEndRepeat::name,
                &value,
            ),
            Question::Nested => set(&mut answers.nested, Nested::ALL, Nested::name, &value),
        };
        if known.is_none() {
            let message = match nearest(&value, question.answers()) {
                Some(near) => format!(
                    "`{}` is no answer to `{key}`; did you mean `{near}`?",
                    shown(&value)
                ),
                None => format!("`{}` is no answer to `{key}`", shown(&value)),
            };
            reader.complain(bytes, message, &accepted);
        }
        known
    }

    fn unplaced(&mut self, reader: &mut Reader<'_>) -> Option<()> {
        loop {
            let draft = match reader.ahead.token {
                Token::Word => reader.sign(Spot::Hand)?,
                Token::EndingOpen => reader.ending(false),
                Token::Barline(
                    barline @ (Barline::Start | Barline::End | Barline::Double | Barline::Final),
                ) => reader.barline_sign(barline, false)?,
                _ => {
                    let message = "a sign in the hand is missing here";
                    reader.complain(
                        reader.bytes_ahead(),
                        message,
                        "signs separated by commas, such as `unplaced Fine, D.C. al Fine, [1., :|`",
                    );
                    return None;
                }
            };
            if draft.broken {
                self.broken = true;
            }
            self.unplaced_in_all += 1;
            if self.unplaced.len() < MOST_MARKINGS {
                self.unplaced.push(draft);
            } else if self.too_many.is_none() {
                self.too_many = Some(draft.bytes);
            }
            if reader.ahead.token != Token::Comma {
                return Some(());
            }
            reader.take();
        }
    }
}

fn is_barline(token: Token) -> bool {
    matches!(
        token,
        Token::Barline(_) | Token::NoBarline | Token::SystemEnd
    )
}

fn ends_key(token: Token) -> bool {
    matches!(token, Token::Semicolon | Token::BraceClose | Token::End)
}

/// A text of the board: always in quotes, so that its end is plain.
fn quoted(reader: &mut Reader<'_>, key: &str) -> Option<String> {
    let accepted = format!("a text in quotes, such as `{key} \"Over the Stile\"`");
    if reader.ahead.token == Token::Word {
        let message = format!("the {key} stands in quotes");
        reader.complain(reader.bytes_ahead(), message, &accepted);
        return None;
    }
    reader.text_value(key, &accepted).map(|(text, _)| text)
}

fn meter(reader: &mut Reader<'_>, key: &str) -> Option<Meter> {
    const ACCEPTED: &str = "a meter such as `4/4` or `6/8`";
    let (value, bytes) = reader.text_value(key, ACCEPTED)?;
    let meter = value.parse().ok();
    if meter.is_none() {
        reader.complain(
            bytes,
            format!("`{}` is not a meter", shown(&value)),
            ACCEPTED,
        );
    }
    meter
}

fn set<A: Copy>(
    place: &mut Option<A>,
    all: &[A],
    name: fn(A) -> &'static str,
    value: &str,
) -> Option<()> {
    *place = all.iter().copied().find(|&answer| name(answer) == value);
    place.map(|_| ())
}
