//! Reads the measures and barlines of a line and builds the board.

use std::ops::Range;

use super::build::refused;
use super::draft::{Draft, Kind};
use super::header::Header;
use super::reader::{ENDINGS, Reader, ending_meant, number, shown};
use super::scan::{Barline, Lexeme, Token};
use crate::board::{
    Board, LARGEST_FILE, LONGEST_LABEL, MOST_MARKINGS, MOST_MEASURES, Marking, Place, ReadError,
};

/// A board with the bytes of each of its markings; or everything that is wrong with the line.
pub(super) fn parse(text: &str) -> Result<(Board, Vec<Range<usize>>), ReadError> {
    let mut reader = Reader::new(text);
    if text.len() > LARGEST_FILE {
        let message = format!(
            "the line has {} bytes; the most is {LARGEST_FILE}",
            text.len()
        );
        reader.complain(0..0, message, "");
        return Err(refused(reader));
    }
    let mut header = Header::read(&mut reader);
    let too_many = header.too_many.take();
    let mut line = Line {
        reader,
        header,
        text_end: text.len(),
        measure: 0,
        systems: Vec::new(),
        system_start: 0,
        names: Vec::new(),
        marks: Vec::new(),
        marks_in_all: 0,
        starts: Vec::new(),
        ending: None,
        open: Vec::new(),
        repeated: false,
        numbered: false,
        too_many,
    };
    line.read();
    line.build()
}

/// A sign on the board and its bytes in the text; its last measure is settled when it closes.
pub(super) struct Mark {
    pub(super) marking: Option<Marking>,
    pub(super) bytes: Range<usize>,
}

/// Something that stands over a row of measures and is still open.
struct Opening {
    /// Its index among the marks; `None` when the board holds more marks than it may.
    mark: Option<usize>,
    bytes: Range<usize>,
}

pub(super) struct Line<'t> {
    pub(super) reader: Reader<'t>,
    pub(super) header: Header,
    text_end: usize,
    /// The measure being read, or the last one read; 0 before the first.
    pub(super) measure: u32,
    pub(super) systems: Vec<u16>,
    /// The last measure of the systems ended so far.
    system_start: u32,
    /// The measures whose names are not their numbers.
    pub(super) names: Vec<(u32, String)>,
    pub(super) marks: Vec<Mark>,
    pub(super) marks_in_all: usize,
    /// Start repeats whose measure has not begun.
    starts: Vec<Draft>,
    /// The ending that the next closing barline closes.
    ending: Option<Opening>,
    /// The open `(` of measures, innermost last.
    open: Vec<Opening>,
    /// Whether the measure ahead comes after a `:|`.
    repeated: bool,
    /// Whether a measure has been given its number or its name.
    numbered: bool,
    /// The bytes of what goes beyond the limits, and the fault to name once the whole is counted.
    pub(super) too_many: Option<Range<usize>>,
}

impl Line<'_> {
    fn read(&mut self) {
        self.barline();
        while self.reader.ahead.token != Token::End {
            self.measure();
            self.barline();
        }
        if let Some(start) = self.starts.pop() {
            let message = "no measure follows this start repeat";
            self.reader.complain(start.bytes, message, EMPTY_MEASURE);
        }
        self.close_ending();
        while let Some(opening) = self.open.pop() {
            let message = "the row of measures opened here is not closed";
            self.reader
                .complain(opening.bytes, message, "`)` in the last measure of the row");
        }
        if self.measure == 0 && self.reader.is_clean() {
            let message = "the line has no measure";
            self.reader.complain(
                self.text_end..self.text_end,
                message,
                "measures between barlines, such as `|: 1 | 2 :|`",
            );
        }
        if self.measure > self.system_start {
            self.end_system();
        }
    }

    /// Reads the barline ahead: tokens with nothing but blanks between them, each of which adds its sign.
    fn barline(&mut self) {
        let mut cluster = Cluster::default();
        loop {
            let token = self.reader.ahead;
            match token.token {
                Token::Barline(barline) => {
                    cluster.barlines += 1;
                    if cluster.leaves_a_gap(barline) {
                        let message =
                            "there is no measure between this barline and the one before it";
                        self.reader
                            .complain(token.start..token.end, message, EMPTY_MEASURE);
                        self.reader.take();
                    } else {
                        self.barline_sign(barline, token);
                    }
                    cluster.note(barline);
                }
                Token::NoBarline => {
                    cluster.barlines += 1;
                    self.no_barline(token);
                }
                Token::SystemEnd => {
                    cluster.plain = false;
                    self.reader.take();
                    if self.measure == self.system_start {
                        let message = "the system that ends here has no measure";
                        self.reader.complain(
                            token.start..token.end,
                            message,
                            "`//` after the last measure of a system",
                        );
                    } else {
                        self.end_system();
                    }
                    cluster.last = Some(token);
                }
                _ => break,
            }
        }
        if let (0, Some(token)) = (cluster.barlines, cluster.last) {
            let message = "`//` stands beside a barline";
            self.reader
                .complain(token.start..token.end, message, "`| //`");
        }
    }

    fn barline_sign(&mut self, barline: Barline, token: Lexeme) {
        self.repeated = barline == Barline::End;
        let bytes = token.start..token.end;
        if barline == Barline::Plain {
            self.reader.take();
            return;
        }
        if barline != Barline::Start && self.measure == 0 {
            let message = format!("no measure stands before this `{}`", self.reader.raw(token));
            self.reader
                .complain(bytes, message, "`|` or `|:` at the start of the line");
            self.reader.take();
            return;
        }
        let ends_line = barline == Barline::Final && self.reader.second().token == Token::End;
        self.close_ending();
        if ends_line {
            self.reader.take();
            return;
        }
        let Some(draft) = self.reader.barline_sign(barline, true) else {
            return;
        };
        if draft.kind == Kind::StartRepeat {
            return self.start(draft);
        }
        self.mark(&draft, self.measure);
        if barline == Barline::EndStart {
            self.start(Draft::new(Kind::StartRepeat, bytes, true));
        }
    }

    /// Keeps a start repeat until its measure begins.
    fn start(&mut self, draft: Draft) {
        if self.starts.len() < MOST_MARKINGS {
            self.starts.push(draft);
        } else {
            self.marks_in_all += 1;
            self.too_many.get_or_insert(draft.bytes);
        }
    }

    fn no_barline(&mut self, token: Lexeme) {
        let raw = self.reader.raw(token);
        let message = format!("`{}` is no barline", shown(raw));
        let accepted = match raw {
            ":||" => "`:|`, or `:| ||` for a double bar too",
            "||:" => "`|:`, or `|| |:` for a double bar too",
            ":|]" => "`:|`, or `:| |]` for a final bar too",
            _ => "`|`, `||`, `|]`, `|:`, `:|`, `::` or `:|:`",
        };
        self.reader
            .complain(token.start..token.end, message, accepted);
        self.reader.take();
    }

    fn end_system(&mut self) {
        let measures = self.measure - self.system_start;
        // A system too large for a board belongs to a board too large, which is refused as such.
        self.systems
            .push(u16::try_from(measures).unwrap_or(u16::MAX));
        self.system_start = self.measure;
    }

    /// Reads the measure ahead up to its barline.
    fn measure(&mut self) {
        self.measure = self.measure.saturating_add(1);
        let start = self.reader.ahead;
        if self.measure > MOST_MEASURES && self.too_many.is_none() {
            self.too_many = Some(start.start..start.end);
        }
        for draft in std::mem::take(&mut self.starts) {
            self.mark(&draft, self.measure);
        }
        let mut content = Content::default();
        loop {
            let token = self.reader.ahead;
            let bytes = token.start..token.end;
            match token.token {
                Token::Barline(_) | Token::NoBarline | Token::SystemEnd | Token::End => break,
                Token::EndingOpen => self.ending(&mut content),
                Token::Word => self.word(token, &mut content),
                Token::Quoted => {
                    self.reader.take();
                    if let Some(name) = self.reader.unquoted(token) {
                        self.name(name, bytes, &mut content);
                    }
                }
                Token::EndingClose | Token::Close => self.closing(token, content.any),
                _ => self.misplaced(token, &mut content),
            }
            content.any |= !matches!(token.token, Token::EndingOpen);
        }
        let unnumbered = !content.named && !content.dashed && self.numbered;
        if let Some(bytes) = content.jump.filter(|_| unnumbered && self.repeated) {
            self.jump_after_repeat(bytes);
        }
        if !content.any {
            let bytes = start.start..self.reader.end;
            self.reader
                .complain(bytes, "the ending holds no measure here", EMPTY_MEASURE);
        }
    }

    /// Asks about a jump that is typed after the `:|` at which it is meant: read as it stands it would add a measure to the piece.
    fn jump_after_repeat(&mut self, bytes: Range<usize>) {
        let text = self.reader.of(&bytes);
        let message = format!("`{text}` stands in a measure that has no number, after `:|`");
        let accepted = format!(
            "`{text}` before the `:|`; or a number, a name or `-` beside it, for a measure of its own"
        );
        self.reader.complain(bytes, message, &accepted);
    }

    fn ending(&mut self, content: &mut Content) {
        let bytes = self.reader.bytes_ahead();
        if content.any {
            let message = "an ending opens at the start of its measure";
            self.reader
                .complain(bytes, message, "a barline before the ending");
            // What follows is the measure that the ending was meant to open.
            *content = Content::default();
        }
        let open = self.ending.take();
        if let Some(opening) = open {
            // The measure that the ending would close in is the one before this one.
            if !self.close_at(&opening, self.measure - 1) {
                let message = "the ending holds no measure before the next one opens";
                self.reader.complain(
                    opening.bytes,
                    message,
                    "the key `last` with its last measure, such as `[1.(last 4)`",
                );
            }
        }
        let draft = self.reader.ending(true);
        let explicit = draft.last.is_some();
        let opening = self.mark(&draft, self.measure);
        if !explicit {
            self.ending = Some(opening);
        }
    }

    fn word(&mut self, token: Lexeme, content: &mut Content) {
        let raw = self.reader.raw(token);
        let bytes = token.start..token.end;
        if raw == "-" {
            self.reader.take();
            if content.named || content.dashed {
                self.reader
                    .complain(bytes, "`-` is a measure of its own", "a barline before it");
            }
            content.dashed = true;
            return;
        }
        if number(raw).is_some() {
            self.reader.take();
            return self.name(raw.to_owned(), bytes, content);
        }
        let spot = self.header.spot(self.measure);
        let Some(draft) = self.reader.sign(spot) else {
            return;
        };
        if matches!(draft.kind, Kind::DaCapo | Kind::DalSegno) && !content.any {
            content.jump = Some(draft.bytes.clone());
        }
        let opening = self.mark(&draft, self.measure);
        if draft.kind.holds_measures() && self.reader.ahead.token == Token::Open {
            let open = self.reader.take();
            if draft.last.is_some() {
                let message = "`last` and the parenthesis both say where the row ends";
                self.reader
                    .complain(open.start..open.end, message, "one of the two");
            }
            self.open.push(opening);
        }
    }

    fn name(&mut self, name: String, bytes: Range<usize>, content: &mut Content) {
        if content.named || content.dashed {
            let message = "the measure has a name already";
            return self
                .reader
                .complain(bytes, message, "a barline before the next measure");
        }
        content.named = true;
        self.numbered = true;
        let length = name.chars().count();
        if length > LONGEST_LABEL {
            let message = format!(
                "the name of a measure has at most {LONGEST_LABEL} characters; this one has {length}"
            );
            return self.reader.complain(bytes, message, "");
        }
        if name.bytes().any(|b| b < 0x20 || b == 0x7f) {
            let message = "the name of a measure has a control character in it";
            return self.reader.complain(bytes, message, "");
        }
        if self.measure <= MOST_MEASURES && name != self.measure.to_string() {
            self.names.push((self.measure, name));
        }
    }

    /// Reads the `]` of an ending or the `)` of a row of measures.
    fn closing(&mut self, token: Lexeme, in_measure: bool) {
        let bytes = token.start..token.end;
        self.reader.take();
        let (opening, nothing, accepted) = if token.token == Token::EndingClose {
            (
                self.ending.take(),
                "no ending is open that this `]` could close",
                "an ending opened by `[1.` and without the key `last`",
            )
        } else {
            (
                self.open.pop(),
                "no row of measures is open that this `)` could close",
                "a row opened by a sign such as `8va( `",
            )
        };
        match opening {
            None => self.reader.complain(bytes, nothing, accepted),
            Some(opening) if in_measure => self.close(&opening),
            Some(_) => {
                let raw = self.reader.raw(token);
                let message = format!(
                    "`{raw}` stands in the last measure of its row, after what the measure holds"
                );
                self.reader.complain(bytes, message, EMPTY_MEASURE);
            }
        }
    }

    fn misplaced(&mut self, token: Lexeme, content: &mut Content) {
        let mut bytes = token.start..token.end;
        self.reader.take();
        let until =
            |close: Token| move |token| token == close || matches!(token, Token::Barline(_));
        let (message, accepted) = match token.token {
            Token::Unclosed => {
                content.named = true;
                return self.reader.unclosed_quote(bytes);
            }
            Token::NoEnding => {
                self.take_touching(&mut bytes);
                if let Some(meant) = ending_meant(&self.reader.of(&bytes)) {
                    let message = format!("this bracket opens no ending; did you mean `{meant}`?");
                    return self.reader.complain(bytes, message, ENDINGS);
                }
                ("this bracket opens no ending", ENDINGS)
            }
            Token::Open => {
                self.reader.skip_until(until(Token::Close));
                self.take_closing(Token::Close, &mut bytes);
                (
                    "this parenthesis follows no sign",
                    "keys right after a sign, such as `D.S.(al Coda)`",
                )
            }
            Token::BraceOpen => {
                self.reader.skip_until(until(Token::BraceClose));
                self.take_closing(Token::BraceClose, &mut bytes);
                (
                    "the board's keys stand in one pair of braces at the start of the line",
                    "",
                )
            }
            Token::BraceClose => ("no brace is open that this `}` could close", ""),
            Token::Colon => {
                self.take_touching(&mut bytes);
                (
                    "this colon follows no word",
                    "a label right after its word, such as `segno:B`",
                )
            }
            Token::At => {
                self.take_touching(&mut bytes);
                (
                    "this `@` follows no sign",
                    "a beat right after its sign, such as `Fine@3`",
                )
            }
            _ => ("commas and semicolons stand between keys only", ""),
        };
        self.reader.complain(bytes, message, accepted);
    }

    /// Takes the word that belongs to a misplaced character, so that one mistake draws one complaint.
    fn take_touching(&mut self, bytes: &mut Range<usize>) {
        if self.reader.touches() && self.reader.ahead.token == Token::Word {
            bytes.end = self.reader.take().end;
        }
    }

    fn take_closing(&mut self, wanted: Token, bytes: &mut Range<usize>) {
        if self.reader.ahead.token == wanted {
            bytes.end = self.reader.take().end;
        }
    }

    /// Lays a sign at a measure, or over the measures up to its key `last`.
    fn mark(&mut self, draft: &Draft, measure: u32) -> Opening {
        self.marks_in_all += 1;
        let bytes = draft.bytes.clone();
        let room = MOST_MARKINGS.saturating_sub(self.header.unplaced_in_all);
        if self.marks.len() >= room {
            self.too_many.get_or_insert_with(|| bytes.clone());
            return Opening { mark: None, bytes };
        }
        let marking = draft
            .sign()
            .zip(u16::try_from(measure).ok())
            .map(|(sign, first)| Marking {
                sign,
                place: Place {
                    first,
                    last: draft.last.unwrap_or(first),
                    cut: draft.cut,
                },
                id: draft.id.clone(),
            });
        self.marks.push(Mark {
            marking,
            bytes: bytes.clone(),
        });
        Opening {
            mark: Some(self.marks.len() - 1),
            bytes,
        }
    }

    fn close_ending(&mut self) {
        if let Some(opening) = self.ending.take() {
            self.close(&opening);
        }
    }

    fn close(&mut self, opening: &Opening) {
        self.close_at(opening, self.measure);
    }

    /// Settles the last measure of a row; `false` when it would come before the first.
    fn close_at(&mut self, opening: &Opening, measure: u32) -> bool {
        let mark = opening.mark.and_then(|at| self.marks.get_mut(at));
        let Some(marking) = mark.and_then(|mark| mark.marking.as_mut()) else {
            return true;
        };
        // Beyond the last measure that a board may have, the board is refused for that.
        let last = u16::try_from(measure).unwrap_or(u16::MAX);
        if last < marking.place.first {
            return false;
        }
        marking.place.last = last;
        true
    }
}

const EMPTY_MEASURE: &str = "an empty measure is written `-`";

/// What stands in a measure so far.
#[derive(Default)]
struct Content {
    any: bool,
    named: bool,
    dashed: bool,
    /// A D.C. or D.S. with which it begins.
    jump: Option<Range<usize>>,
}

/// What has been read of one barline.
#[derive(Default)]
struct Cluster {
    /// A plain barline since the last system end.
    plain: bool,
    /// A start repeat.
    starts: bool,
    barlines: usize,
    /// The last system end.
    last: Option<Lexeme>,
}

impl Cluster {
    /// Whether this token cannot belong to the same barline, so that a measure must have been forgotten: nothing but
    /// another start repeat follows a start repeat, and of two plain barlines one is too many.
    fn leaves_a_gap(&self, barline: Barline) -> bool {
        match barline {
            Barline::Start => false,
            Barline::Plain => self.starts || self.plain,
            _ => self.starts,
        }
    }

    fn note(&mut self, barline: Barline) {
        self.plain |= barline == Barline::Plain;
        self.starts |= matches!(barline, Barline::Start | Barline::EndStart);
    }
}
