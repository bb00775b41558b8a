//! A second walker: the playing order of a board, worked out slowly and literally from the rules' text.
//!
//! It shares no code with the library beyond the types of a board, a reading and the names of a step's fields, and it keeps its
//! data differently: for each part of the road a list of what stands there, and every decision is made anew by
//! looking through these lists. Tests compare the library's walker with it.

// Each test that includes these files uses a part of them.
#![allow(dead_code)]

mod arming;
pub(crate) mod mistaken;
mod mistakes;
mod playing;
mod road;
mod sections;
mod sounding;

use std::cell::OnceCell;
use std::collections::BTreeSet;

use fingerpost::{
    Arming, Board, Cause, Fraction, Held, LoneEndRepeat, Nested, Reading, Step, Terms,
};

use mistaken::Mistake;
use playing::Playing;
use road::Road;
use sections::Sections;

/// The names of rules.
pub(crate) type Rules = BTreeSet<&'static str>;

/// What becomes of a board on the terms asked for.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum Outcome {
    /// The board has errors under its default reading.
    Errors(Rules),
    /// Its default reading has no errors, the reading asked for has.
    LeftOut(Rules),
    /// A section is played until a signal, and the terms give no number of plays.
    OpenPlays,
    /// The steps, at most as many as were asked for.
    Steps(Vec<PlainStep>),
}

/// One step, in full.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct PlainStep {
    pub(crate) measure: u16,
    pub(crate) part: Option<(Fraction, Fraction)>,
    pub(crate) pass: u32,
    /// The passes of the sections around the innermost one, outermost first.
    pub(crate) enclosing: Vec<u32>,
    pub(crate) leg: u32,
    pub(crate) visit: u64,
    pub(crate) octave_right: i8,
    pub(crate) octave_left: i8,
    pub(crate) hold: Held,
    pub(crate) hands: Held,
    pub(crate) cause: Cause,
    pub(crate) marking: Option<u32>,
}

impl PlainStep {
    /// Whether a step of the library says the same in every field.
    pub(crate) fn is(&self, step: &Step) -> bool {
        self.measure == step.measure
            && self.part == step.part.map(|part| (part.from, part.to))
            && self.pass == step.pass
            && self.enclosing == step.enclosing.as_slice()
            && self.leg == step.leg
            && self.visit == step.visit
            && self.octave_right == step.octave.right
            && self.octave_left == step.octave.left
            && self.hold == step.hold
            && self.hands == step.hands
            && self.cause == step.cause
            && self.marking == step.marking
    }
}

/// The outcome of a board, with at most `limit` steps.
pub(crate) fn walk(board: &Board, terms: &Terms, limit: u64) -> Outcome {
    Walker::new(board, limit).walk(terms)
}

/// A board laid out for walking on many terms.
pub(crate) struct Walker<'b> {
    board: &'b Board,
    road: Road<'b>,
    limit: u64,
    /// The sections depend on two of the six questions only: one place for each pair of answers.
    sections: [OnceCell<Sections>; 6],
    errors: OnceCell<Rules>,
}

impl<'b> Walker<'b> {
    pub(crate) fn new(board: &'b Board, limit: u64) -> Walker<'b> {
        Walker {
            board,
            road: Road::new(board),
            limit,
            sections: Default::default(),
            errors: OnceCell::new(),
        }
    }

    /// The errors of the board: those of its default reading, in which the board's own answers count.
    pub(crate) fn errors(&self) -> &Rules {
        self.errors.get_or_init(|| self.errors_for(None))
    }

    /// The errors when an open section is played so many times. Without a number it counts as an end repeat with nothing written, so
    /// two.
    fn errors_for(&self, open_plays: Option<u32>) -> Rules {
        let reading = self.board.reading().over(Reading::default());
        let found = self.standing_errors(reading);
        if !found.is_empty() {
            return found;
        }
        let terms = Terms {
            reading,
            omit_repeats: false,
            open_plays,
        };
        match self.playing(&terms).play(self.limit) {
            Ok(_) => Rules::new(),
            Err(rule) => Rules::from([rule]),
        }
    }

    /// The outcome on these terms. What the board answers for itself outranks the reading asked for.
    pub(crate) fn walk(&self, terms: &Terms) -> Outcome {
        if !self.errors().is_empty() && terms.open_plays.is_none() {
            return Outcome::Errors(self.errors().clone());
        }
        // The number that the caller gives stands at the open end repeats, also where errors are judged.
        if terms.open_plays.is_some() {
            let errors = self.errors_for(terms.open_plays);
            if !errors.is_empty() {
                return Outcome::Errors(errors);
            }
        }
        let terms = self.own_terms(terms);
        let found = self.standing_errors(terms.reading);
        if !found.is_empty() {
            return Outcome::LeftOut(found);
        }
        let steps = match self.playing(&terms).play(self.limit) {
            Ok(steps) => steps,
            Err(rule) => return Outcome::LeftOut(Rules::from([rule])),
        };
        // Where repeats are left out no number is needed.
        let counted = terms.omit_repeats || terms.open_plays.is_some();
        if !counted && self.sections(terms.reading).some_open() {
            return Outcome::OpenPlays;
        }
        Outcome::Steps(steps)
    }

    /// The To Codas and jumps that are obeyed on these terms, as markings; none for a board that has no road.
    pub(crate) fn obeyed(&self, terms: &Terms) -> Vec<u32> {
        let terms = self.own_terms(terms);
        let played = self.playing(&terms).play_noting(self.limit);
        played.map_or_else(|_| Vec::new(), |(_, obeyed)| obeyed)
    }

    /// The steps of a learner for whom these rules are changed, at most as many as were asked for. None for a board that has no road on these
    /// terms.
    pub(crate) fn walk_mistaken(
        &self,
        terms: &Terms,
        mistakes: &[Mistake],
    ) -> Option<Vec<PlainStep>> {
        if !matches!(self.walk(terms), Outcome::Steps(_)) {
            return None;
        }
        let terms = self.own_terms(terms);
        let playing = self.playing(&terms).believing(mistakes);
        Some(
            playing
                .play(self.limit)
                .expect("a learner is never refused"),
        )
    }

    /// Terms on which the board's own answers outrank those asked for.
    fn own_terms(&self, terms: &Terms) -> Terms {
        Terms {
            reading: self.board.reading().over(terms.reading),
            ..*terms
        }
    }

    /// Whether a start repeat opens no section under the default reading: nothing closes it. The marking must be a start repeat.
    pub(crate) fn opens_nothing(&self, marking: usize) -> bool {
        let is_it = |mark: &&road::Mark| mark.index as usize == marking;
        // Of two start repeats at one place the second is not on the road, and idle for that alone.
        let Some(mark) = self.road.marks.iter().find(is_it) else {
            return true;
        };
        let sections = self.sections(Reading::default());
        sections
            .list
            .iter()
            .all(|section| section.first != mark.first)
    }

    /// The errors that are seen without walking.
    fn standing_errors(&self, reading: Reading) -> Rules {
        mistakes::of(&self.road, self.sections(reading), reading.arming)
    }

    fn playing(&self, terms: &Terms) -> Playing<'_, 'b> {
        Playing::new(&self.road, self.sections(terms.reading), terms)
    }

    fn sections(&self, reading: Reading) -> &Sections {
        let lone = match reading.lone_end_repeat {
            LoneEndRepeat::AfterPreviousSection => 0,
            LoneEndRepeat::Beginning => 1,
            LoneEndRepeat::AfterDoubleBar => 2,
        };
        let nested = match reading.nested {
            Nested::Restart => 0,
            Nested::Flat => 3,
        };
        self.sections[lone + nested]
            .get_or_init(|| sections::scan(&self.road, reading.lone_end_repeat, reading.nested))
    }
}

/// Whether a To Coda is obeyed by its count of arrivals and by nothing else.
fn by_count(arming: Arming) -> bool {
    arming == Arming::SecondArrival
}
