//! What returns say in words: instructions for playing have no "al Fine" and no "con rep.". Where the instructions beside them say the same it is
//! well; where they do not it is told.
//!
//! Source: MusicXML 4.0, element `sound`; element `repeat`, attribute `after-jump`.

use fingerpost::{Al, Board, EndRepeat, Jump, Marking, Repeats, Sign};

use super::Page;

/// Whether every return of a board makes the repeats: then each end repeat can say it.
pub(super) fn play_repeats(board: &Board) -> bool {
    let mut returns = board.markings().iter().filter_map(of).peekable();
    returns.peek().is_some() && returns.all(|jump| jump.repeats == Some(Repeats::Play))
}

fn of(marking: &Marking) -> Option<&Jump> {
    match marking.sign() {
        Sign::DaCapo(jump) | Sign::DalSegno(jump) => Some(jump),
        _ => None,
    }
}

impl Page<'_> {
    /// Tells what the words of the returns say and no instruction does.
    pub(super) fn tell_of_returns(&mut self) {
        let markings = self.board.markings();
        let measures = |is: fn(&Sign) -> bool| {
            let signs = markings.iter().filter(move |marking| is(marking.sign()));
            signs.map(Marking::measure)
        };
        let first_fine = measures(|sign| matches!(sign, Sign::Fine(_))).min();
        let first_to_coda = measures(|sign| matches!(sign, Sign::ToCoda(_))).min();
        let last_fine = measures(|sign| matches!(sign, Sign::Fine(_))).max();
        let last_to_coda = measures(|sign| matches!(sign, Sign::ToCoda(_))).max();
        let on_return = |wanted: Option<Repeats>| {
            markings.iter().any(|marking| {
                matches!(marking.sign(), Sign::EndRepeat(EndRepeat { on_return, .. }) if *on_return == wanted)
            })
        };
        let (own_play, own_none) = (on_return(Some(Repeats::Play)), on_return(None));
        for marking in markings {
            let Some(jump) = of(marking) else { continue };
            let measure = Some(marking.measure());
            // A program obeys every Fine and every To Coda that it meets.
            let is_met = |first: Option<u16>, last: Option<u16>| {
                first.zip(last).is_some_and(|(first, last)| first <= last)
            };
            let passes_by = match jump.al {
                Some(Al::Segno) => true,
                Some(Al::Coda) => is_met(first_fine, last_to_coda),
                Some(Al::Fine) => is_met(first_to_coda, last_fine),
                Some(Al::End) | None => false,
            };
            if passes_by {
                self.cannot_say(measure, "how far this return goes is written in words only");
            }
            if jump.then.is_some() {
                self.cannot_say(
                    measure,
                    "the coda after this return is written in words only",
                );
            }
            let is_lost = match jump.repeats {
                Some(Repeats::Play) => own_none && !self.play_repeats,
                Some(Repeats::Skip) => own_play,
                None => false,
            };
            if is_lost {
                self.cannot_say(
                    measure,
                    "the repeats of this return are written in words only",
                );
            }
        }
        if self.play_repeats && own_play {
            self.cannot_say(
                None,
                "a repeat's own word for returns is read back as con rep.",
            );
        }
    }
}
