//! Octave lines and fermatas: they change no route.

use std::collections::BTreeMap;

use fingerpost::{Fermata, Hands, Marking, Octave, Place, Shift, Sign, When};

use super::{Laying, number};
use crate::notices::Rule;
use crate::written::{At, Mark, OctaveStart, What};

impl Laying<'_> {
    pub(super) fn lines(&mut self) {
        let written = self.written;
        // The lines that have begun, by their numbers; each with its place in the score.
        let mut open: BTreeMap<u8, Vec<(usize, &Mark, &OctaveStart)>> = BTreeMap::new();
        let mut fermata = None;
        for (place, mark) in written.marks.iter().enumerate() {
            match &mark.what {
                What::OctaveStart(start) => {
                    let same = open.entry(start.number).or_default();
                    same.push((place, mark, start));
                }
                What::OctaveStop { number: of } => {
                    let Some((_, from, start)) = open.get_mut(of).and_then(Vec::pop) else {
                        continue;
                    };
                    let last = match mark.at {
                        At::Start => number(mark).saturating_sub(1),
                        _ => number(mark),
                    };
                    self.octave(from, start, last.max(number(from)));
                }
                What::Fermata(hands) => self.fermata(mark, *hands, &mut fermata),
                _ => {}
            }
        }
        let mut open: Vec<_> = open.into_values().flatten().collect();
        open.sort_by_key(|(place, ..)| *place);
        for (_, from, start) in open {
            self.notice(
                Rule::LineWithoutEnd,
                from,
                "the end of this octave line is not written",
                "it was read over its first measure; write where it ends",
            );
            self.octave(from, start, number(from));
        }
    }

    fn octave(&mut self, from: &Mark, start: &OctaveStart, last: u16) {
        if let Some(shift) = Shift::of_octaves(i64::from(start.shift)) {
            let sign = Sign::Octave(Octave {
                hands: start.hands,
                shift,
                when: When::EveryPass,
            });
            self.put(sign, Place::over(number(from), last), from);
        }
    }

    /// One fermata a measure: for both hands when both have one. `known`: where the last one was laid.
    fn fermata(&mut self, mark: &Mark, hands: Hands, known: &mut Option<usize>) {
        let place = Place::at(number(mark));
        if let Some((marking, _)) = known.and_then(|at| self.laid.get_mut(at)) {
            if marking.place() == place {
                let both = Fermata::default();
                let same = matches!(marking.sign(), Sign::Fermata(held) if held.hands == hands);
                if !same {
                    *marking = Marking::new(Sign::Fermata(both), place);
                }
                return;
            }
        }
        *known = Some(self.laid.len());
        let sign = Sign::Fermata(Fermata {
            hands,
            when: When::EveryPass,
        });
        self.put(sign, place, mark);
    }
}
