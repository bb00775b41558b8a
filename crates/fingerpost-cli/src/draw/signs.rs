//! The signs of a board as words, each with its place in the picture.

use fingerpost::{
    Board, Ending, Fraction, Hands, Marking, Passes, Place, Plays, Repeats, Side, Sign, When,
    sign_words,
};

/// A board with its signs laid out for drawing.
pub(super) struct Picture<'a> {
    board: &'a Board,
    /// What stands at each measure, by its number less one.
    cells: Vec<Cell>,
    /// What stands over rows of measures, in the order of their first measures.
    spans: Vec<Span>,
}

/// The barline at the end of a measure, repeats apart.
#[derive(Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Bar {
    #[default]
    Single,
    Double,
    Final,
}

/// What stands at one measure.
#[derive(Clone, Default, Debug)]
pub(super) struct Cell {
    pub(super) start_repeat: bool,
    pub(super) end_repeat: bool,
    pub(super) bar: Bar,
    /// Words at the left edge.
    pub(super) left: Vec<String>,
    /// Words over the measure.
    pub(super) over: Vec<String>,
    /// Words at the right edge.
    pub(super) right: Vec<String>,
}

impl Cell {
    fn is_plain(&self) -> bool {
        let barlines = self.start_repeat || self.end_repeat || self.bar != Bar::Single;
        !barlines && self.left.is_empty() && self.over.is_empty() && self.right.is_empty()
    }
}

/// What stands over a row of measures.
#[derive(Clone, Debug)]
pub(super) struct Span {
    pub(super) first: u16,
    pub(super) last: u16,
    pub(super) words: String,
    /// What its line is made of.
    pub(super) stroke: char,
    /// Whether its end is drawn with a hook.
    pub(super) hooked: bool,
    /// The height at which it stands: endings lowest.
    pub(super) level: u8,
}

impl<'a> Picture<'a> {
    pub(super) fn of(board: &'a Board) -> Picture<'a> {
        let mut picture = Picture {
            board,
            cells: vec![Cell::default(); usize::from(board.measures())],
            spans: Vec::new(),
        };
        for marking in board.canonical().markings() {
            picture.lay(marking);
        }
        for change in board.meters() {
            picture.at(change.measure, |cell| {
                cell.left.push(change.meter.to_string());
            });
        }
        picture
    }

    pub(super) fn board(&self) -> &'a Board {
        self.board
    }

    pub(super) fn cell(&self, measure: u16) -> Option<&Cell> {
        self.cells.get(usize::from(measure).checked_sub(1)?)
    }

    /// What stands over measures among those from `first` to `last`.
    pub(super) fn spans(&self, first: u16, last: u16) -> impl Iterator<Item = &Span> {
        // The spans that begin after the row are not looked at.
        let end = self.spans.partition_point(|span| span.first <= last);
        let begun = self.spans.get(..end).unwrap_or_default();
        begun.iter().filter(move |span| span.last >= first)
    }

    /// Whether there is any sign among the measures from `first` to `last`.
    pub(super) fn has_signs(&self, first: u16, last: u16) -> bool {
        let cells = usize::from(first)
            .checked_sub(1)
            .and_then(|from| self.cells.get(from..usize::from(last)));
        cells
            .unwrap_or_default()
            .iter()
            .any(|cell| !cell.is_plain())
            || self.spans(first, last).next().is_some()
    }

    fn at(&mut self, measure: u16, lay: impl FnOnce(&mut Cell)) {
        let cell = usize::from(measure)
            .checked_sub(1)
            .and_then(|at| self.cells.get_mut(at));
        if let Some(cell) = cell {
            lay(cell);
        }
    }

    fn lay(&mut self, marking: &Marking) {
        let (sign, place) = (marking.sign(), marking.place());
        let inside = self.inside(marking);
        match sign {
            Sign::StartRepeat if inside.is_none() => {
                return self.at(place.first(), |cell| cell.start_repeat = true);
            }
            Sign::DoubleBar(bar) => {
                return self.at(place.first(), |cell| {
                    let bar = if bar.is_final {
                        Bar::Final
                    } else {
                        Bar::Double
                    };
                    cell.bar = cell.bar.max(bar);
                });
            }
            Sign::Ending(ending) => {
                return self.span(place, &ending_words(ending), '_', !ending.open, 0);
            }
            Sign::Octave(octave) => {
                let words = beside(
                    &sign_words(sign),
                    &hands_and_when(octave.hands, &octave.when),
                );
                return self.span(place, &words, '.', true, 1);
            }
            Sign::Only(only) => {
                let words = beside(
                    match only.hands {
                        Hands::Right => "R.H. plays",
                        Hands::Left => "L.H. plays",
                        Hands::Both => "both hands play",
                    },
                    &when_words(&only.when),
                );
                return self.span(place, &words, '.', true, 2);
            }
            Sign::Fermata(fermata) => {
                let words = beside("fermata", &hands_and_when(fermata.hands, &fermata.when));
                return self.at(place.first(), |cell| cell.over.push(words));
            }
            _ => {}
        }
        let mut keys = keys_of(sign);
        if let Some(inside) = &inside {
            keys.insert(0, inside.clone());
        }
        if matches!(sign, Sign::EndRepeat(_)) && inside.is_none() {
            self.at(place.first(), |cell| cell.end_repeat = true);
            if keys.is_empty() {
                return;
            }
            let words = keys.join(", ");
            return self.at(place.first(), |cell| cell.right.push(words));
        }
        let words = beside(&sign_words(sign), &keys);
        self.at(place.first(), |cell| match sign.side() {
            Side::Landing => cell.left.push(words),
            Side::Leaving => cell.right.push(words),
            Side::Over => cell.over.push(words),
        });
    }

    fn span(&mut self, place: Place, words: &str, stroke: char, hooked: bool, level: u8) {
        self.spans.push(Span {
            first: place.first(),
            last: place.last(),
            words: words.to_owned(),
            stroke,
            hooked,
            level,
        });
    }

    /// Where inside its measure a sign stands, in words; nothing at the measure's own edge.
    fn inside(&self, marking: &Marking) -> Option<String> {
        let cut = marking.place().cut()?;
        let measure = marking.measure();
        let landing = marking.sign().side() == Side::Landing;
        let edge = if landing {
            Some(Fraction::ZERO)
        } else {
            self.board.measure_length(measure)
        };
        if edge == Some(cut) {
            return None;
        }
        let unit = self
            .board
            .meter_at(measure)
            .map(|meter| u32::from(meter.unit()));
        let beats = unit.map(|unit| cut.numerator() * unit);
        let whole = beats.filter(|beats| beats % cut.denominator() == 0);
        Some(match whole.map(|beats| beats / cut.denominator()) {
            Some(beats) if landing => format!("from beat {}", beats + 1),
            Some(beats) => format!("after beat {beats}"),
            None => format!("at {cut}"),
        })
    }
}

/// A sign's words and, in parentheses, what is written beside it.
fn beside(words: &str, keys: &[String]) -> String {
    if keys.is_empty() {
        words.to_owned()
    } else {
        format!("{words} ({})", keys.join(", "))
    }
}

fn ending_words(ending: &Ending) -> String {
    format!("{}.", ending.passes)
}

/// What a list of numbers counts: one of them, and several.
const ARRIVALS: [&str; 2] = ["arrival", "arrivals"];
const PASSES: [&str; 2] = ["pass", "passes"];

fn numbered([one, several]: [&str; 2], numbers: &Passes) -> String {
    let is_one = numbers.lowest() == numbers.highest();
    format!("{} {numbers}", if is_one { one } else { several })
}

fn keys_of(sign: &Sign) -> Vec<String> {
    let mut keys = Vec::new();
    let mut numbers = |words: [&str; 2], passes: &Option<Passes>| {
        if let Some(passes) = passes {
            keys.push(numbered(words, passes));
        }
    };
    match sign {
        Sign::EndRepeat(end) => {
            match end.plays {
                Some(Plays::Open) => keys.push("until the signal".to_owned()),
                Some(Plays::Times(1)) => keys.push("once".to_owned()),
                Some(Plays::Times(times)) => keys.push(format!("{times} times")),
                None => {}
            }
            match end.on_return {
                Some(Repeats::Play) => keys.push("also on a return".to_owned()),
                Some(Repeats::Skip) => keys.push("not on a return".to_owned()),
                None => {}
            }
        }
        Sign::Fine(fine) => numbers(ARRIVALS, &fine.arrivals),
        Sign::ToCoda(to_coda) => numbers(ARRIVALS, &to_coda.arrivals),
        Sign::DaCapo(jump) | Sign::DalSegno(jump) => {
            numbers(ARRIVALS, &jump.arrivals);
            numbers(PASSES, &jump.passes);
            if let Some(coda) = &jump.coda {
                keys.push(format!("coda {coda}"));
            }
            match jump.repeats {
                Some(Repeats::Play) => keys.push("con rep.".to_owned()),
                Some(Repeats::Skip) => keys.push("senza rep.".to_owned()),
                None => {}
            }
        }
        _ => {}
    }
    keys
}

fn hands_and_when(hands: Hands, when: &When) -> Vec<String> {
    let hand = match hands {
        Hands::Right => Some("R.H.".to_owned()),
        Hands::Left => Some("L.H.".to_owned()),
        Hands::Both => None,
    };
    hand.into_iter().chain(when_words(when)).collect()
}

fn when_words(when: &When) -> Vec<String> {
    let words = match when {
        When::EveryPass => return Vec::new(),
        When::OnRepeat => "on the repeat".to_owned(),
        When::LastPass => "last pass".to_owned(),
        When::OnReturn => "on a return".to_owned(),
        When::Passes(passes) => numbered(PASSES, passes),
    };
    vec![words]
}
