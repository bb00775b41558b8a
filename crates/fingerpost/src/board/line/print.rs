//! Writes a board as a board line: the same board, the same line.

use std::cmp::Reverse;
use std::collections::VecDeque;

use super::scan::in_quotes;
use super::written::{cut_beat, written};
use crate::board::{Board, Marking, Side, Sign};
use crate::reading::Question;

/// The line of a board whose markings are in canonical order.
pub(super) fn line(board: &Board) -> String {
    let mut printer = Printer::new(board);
    printer.braces();
    printer.measures();
    printer.line
}

struct Printer<'b> {
    board: &'b Board,
    line: String,
    /// For each measure, counted from 1, what stands at it or begins at it.
    at: Vec<Measure<'b>>,
    /// For an ending that opens at a measure, the measure after which it ends when nothing else is written.
    ends_after: Vec<u16>,
    /// The last measures of the open `(`, innermost last.
    open: Vec<u16>,
    /// The last measure of the ending that a `]` has to close.
    ending: Option<u16>,
}

/// The markings of one measure, by where the line writes them.
#[derive(Clone, Default)]
struct Measure<'b> {
    starts: Vec<&'b Marking>,
    endings: Vec<&'b Marking>,
    signs: Vec<&'b Marking>,
    /// End repeats and double bars.
    barlines: Vec<&'b Marking>,
}

impl<'b> Printer<'b> {
    fn new(board: &'b Board) -> Printer<'b> {
        let measures = usize::from(board.measures());
        // One more, so that every measure has one after it.
        let mut at = vec![Measure::default(); measures + 2];
        for marking in board.markings() {
            let Some(measure) = at.get_mut(usize::from(marking.measure())) else {
                continue;
            };
            let place = match marking.sign() {
                Sign::StartRepeat => &mut measure.starts,
                Sign::EndRepeat(_) | Sign::DoubleBar(_) => &mut measure.barlines,
                Sign::Ending(_) => &mut measure.endings,
                _ => &mut measure.signs,
            };
            place.push(marking);
        }
        let mut ends_after = vec![board.measures(); measures + 2];
        let mut end = board.measures();
        for (number, pair) in at.windows(2).enumerate().rev() {
            let [this, next] = pair else { continue };
            let closes =
                !this.barlines.is_empty() || !next.starts.is_empty() || !next.endings.is_empty();
            if closes {
                // cannot fail: `number` is a measure or 0.
                end = u16::try_from(number).unwrap_or(u16::MAX);
            }
            if let Some(place) = ends_after.get_mut(number) {
                *place = end;
            }
        }
        Printer {
            board,
            line: String::new(),
            at,
            ends_after,
            open: Vec::new(),
            ending: None,
        }
    }

    fn braces(&mut self) {
        let board = self.board;
        let mut keys: Vec<String> = Vec::new();
        for (key, text) in [
            ("title", board.title()),
            ("composer", board.composer()),
            ("source", board.source()),
        ] {
            keys.extend(text.map(|text| format!("{key} {}", in_quotes(text))));
        }
        if !board.levels().is_empty() {
            let levels = board.levels().iter().map(|level| format!(" {level}"));
            keys.push(format!("levels{}", levels.collect::<String>()));
        }
        keys.extend(board.meter().map(|meter| format!("meter {meter}")));
        if !board.meters().is_empty() {
            let changes = board.meters().iter();
            let changes = changes.map(|change| format!("{} {}", change.measure, change.meter));
            keys.push(format!("meters {}", changes.collect::<Vec<_>>().join(", ")));
        }
        keys.extend(board.pickup().map(|pickup| format!("pickup {pickup}")));
        for question in Question::ALL {
            let answer = board.reading().answer(question);
            keys.extend(answer.map(|answer| format!("{} {answer}", question.name())));
        }
        if !board.unplaced().is_empty() {
            let hand = board.unplaced().iter();
            let hand = hand.map(|card| written(&card.sign, &[], None, card.id.as_deref()));
            keys.push(format!("unplaced {}", hand.collect::<Vec<_>>().join(", ")));
        }
        if !keys.is_empty() {
            self.line.push('{');
            self.line.push_str(&keys.join("; "));
            self.line.push('}');
        }
    }

    fn measures(&mut self) {
        let all = std::mem::take(&mut self.at);
        let mut systems = VecDeque::new();
        let mut last = 0;
        for &measures in self.board.systems() {
            last += measures;
            systems.push_back(last);
        }
        if let Some(first) = all.get(1) {
            self.signs(&first.starts);
        }
        for (measure, pair) in (1..=self.board.measures()).zip(all.windows(2).skip(1)) {
            let [this, next] = pair else { continue };
            self.measure(measure, this);
            let ends_system = systems.front() == Some(&measure);
            if ends_system {
                systems.pop_front();
            }
            if measure == self.board.measures() {
                self.end(this);
                return;
            }
            if this.barlines.is_empty() && next.starts.is_empty() {
                self.word("|");
            }
            self.signs(&this.barlines);
            if ends_system {
                if this.barlines.is_empty() && !next.starts.is_empty() {
                    // A system end after a measure and before a start repeat reads better with a barline of its own.
                    self.word("|");
                }
                self.word("//");
            }
            self.signs(&next.starts);
        }
    }

    /// The barline at the end of the line: a final one, unless other signs stand there.
    fn end(&mut self, last: &Measure<'_>) {
        self.signs(&last.barlines);
        let written_final = last.barlines.last().is_some_and(|marking| {
            matches!(marking.sign(), Sign::DoubleBar(bar) if bar.is_final) && marking.id().is_none()
        });
        // The last `|]` of a line is no sign: a final bar that is one needs another after it.
        if last.barlines.is_empty() || written_final {
            self.word("|]");
        }
    }

    fn measure(&mut self, measure: u16, this: &Measure<'_>) {
        let natural = self.ends_after.get(usize::from(measure)).copied();
        // Of several endings that open here, only the last one written is still open afterwards: the shortest fits best.
        let mut endings = this.endings.clone();
        endings.sort_by_key(|ending| Reverse(ending.place().last()));
        let mut endings = endings.into_iter().peekable();
        while let Some(ending) = endings.next() {
            let last = ending.place().last();
            let fits = endings.peek().is_none() && natural.is_some_and(|natural| last <= natural);
            self.marking(ending, (!fits).then_some(last));
            if fits && natural != Some(last) {
                self.ending = Some(last);
            }
        }
        let mut rows: Vec<&Marking> = Vec::new();
        let mut landings: Vec<&Marking> = Vec::new();
        let mut others: Vec<&Marking> = Vec::new();
        for marking in &this.signs {
            let place = marking.place();
            if place.first() != place.last() {
                rows.push(marking);
            } else if marking.sign().side() == Side::Landing {
                landings.push(marking);
            } else {
                others.push(marking);
            }
        }
        rows.sort_by_key(|marking| Reverse(marking.place().last()));
        for marking in rows {
            let last = marking.place().last();
            let holds = self.open.last().is_none_or(|&outer| last <= outer);
            self.marking(marking, (!holds).then_some(last));
            if holds {
                self.line.push('(');
                self.open.push(last);
            }
        }
        self.signs(&landings);
        self.name(measure);
        self.signs(&others);
        while self.open.last() == Some(&measure) {
            self.open.pop();
            self.word(")");
        }
        if self.ending == Some(measure) {
            self.ending = None;
            self.word("]");
        }
    }

    fn name(&mut self, measure: u16) {
        let name = self.board.measure_name(measure);
        if !name.is_empty() && name.bytes().all(|b| b.is_ascii_digit()) {
            self.word(&name);
        } else {
            self.word(&in_quotes(&name));
        }
    }

    fn signs(&mut self, markings: &[&Marking]) {
        for marking in markings {
            self.marking(marking, None);
        }
    }

    fn marking(&mut self, marking: &Marking, last: Option<u16>) {
        let mut keys = Vec::new();
        let mut beat = None;
        if let Some(cut) = marking.place().cut() {
            let meter = self.board.meter_at(marking.measure());
            beat = meter.and_then(|meter| cut_beat(marking.sign(), cut, meter));
            if beat.is_none() {
                keys.push(format!("cut {cut}"));
            }
        }
        keys.extend(last.map(|last| format!("last {last}")));
        self.word(&written(marking.sign(), &keys, beat, marking.id()));
    }

    fn word(&mut self, word: &str) {
        if !self.line.is_empty() {
            self.line.push(' ');
        }
        self.line.push_str(word);
    }
}
