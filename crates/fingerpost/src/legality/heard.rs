//! What is heard on a board's routes: by that it is known whether a fix leaves the music as it is.

use std::cell::Cell;
use std::rc::Rc;

use super::finding::Finding;
use super::rules::ROUTE_TOO_LONG;
use crate::board::Board;
use crate::roadmap::paths::MOST_STRETCHES;
use crate::roadmap::{Refusal, Roadmap, Terms};
use crate::route::{Held, Part, Step};

/// The longest route, in steps, that is compared when it is asked whether a fix is safe. A fix of a board with a longer route is a choice.
pub const LONGEST_COMPARED: u64 = 20_000;

/// A board's route on some terms.
#[derive(Clone)]
pub(super) enum Route {
    Heard(Rc<Vec<Heard>>),
    /// It has one, longer than what is compared, or than what can be reckoned.
    Long,
    /// It has none.
    None,
}

/// What is heard on a board's route.
pub(super) fn heard(board: &Board, terms: &Terms, work: &Cell<usize>) -> Route {
    let is_long = |errors: &[Finding]| errors.iter().any(|it| it.rule == ROUTE_TOO_LONG);
    let (route, stretches) = match Roadmap::under(board, terms) {
        Ok(roadmap) if roadmap.length() > LONGEST_COMPARED => {
            (Route::Long, roadmap.compiled.pieces.len())
        }
        Ok(roadmap) => {
            let steps = roadmap.steps().map(|step| Heard::of(&step));
            (
                Route::Heard(Rc::new(steps.collect())),
                roadmap.compiled.pieces.len(),
            )
        }
        Err(Refusal::Errors(errors)) if is_long(&errors) => (Route::Long, MOST_STRETCHES),
        Err(_) => (Route::None, 0),
    };
    let size = usize::from(board.measures()) + board.markings().len();
    work.set(work.get().saturating_add(size + stretches));
    route
}

/// What is heard at a step: octaves only of hands that play.
#[derive(PartialEq, Eq, Debug)]
pub(super) struct Heard {
    measure: u16,
    part: Option<Part>,
    pass: u32,
    octave: (i8, i8),
    hold: Held,
    hands: Held,
}

impl Heard {
    fn of(step: &Step) -> Heard {
        let right = matches!(step.hands, Held::Both | Held::Right);
        let left = matches!(step.hands, Held::Both | Held::Left);
        Heard {
            measure: step.measure,
            part: step.part,
            pass: step.pass,
            octave: (
                if right { step.octave.right } else { 0 },
                if left { step.octave.left } else { 0 },
            ),
            hold: step.hold,
            hands: step.hands,
        }
    }
}
