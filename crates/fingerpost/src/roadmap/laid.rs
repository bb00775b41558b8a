//! The signs laid on the row of parts: what stands at each barline, equal signs at one place taken once.

use std::collections::{HashMap, HashSet};

use super::row::{PartIndex, Row};
use crate::board::{Al, Board, Jump, Marking, Passes, Plays, Repeats, Sign, Then};

/// A label, as a number; 0 is the absent label.
pub(crate) type Label = u32;

/// Everything on the board that can change a route, by kind, each list in order of parts.
#[derive(Clone, Debug, Default)]
pub(crate) struct Laid {
    pub(crate) starts: Vec<StartAt>,
    pub(crate) ends: Vec<EndAt>,
    pub(crate) endings: Vec<EndingAt>,
    pub(crate) segnos: Vec<LandingAt>,
    pub(crate) codas: Vec<LandingAt>,
    pub(crate) double_bars: Vec<PartIndex>,
    pub(crate) fines: Vec<FineAt>,
    pub(crate) to_codas: Vec<ToCodaAt>,
    pub(crate) jumps: Vec<JumpAt>,
    /// For each label the first segno and the first coda that has it, as indices, in order of labels.
    segno_of: Vec<(Label, usize)>,
    coda_of: Vec<(Label, usize)>,
    labels: HashMap<String, Label>,
}

/// A start repeat at the start of a part.
#[derive(Clone, Copy, Debug)]
pub(crate) struct StartAt {
    pub(crate) part: PartIndex,
    pub(crate) marking: u32,
}

/// An end repeat at the end of a part; several at one place are one.
#[derive(Clone, Debug)]
pub(crate) struct EndAt {
    pub(crate) part: PartIndex,
    pub(crate) marking: u32,
    pub(crate) plays: Option<Plays>,
    /// Every answer written there, with its marking.
    pub(crate) on_return: Vec<(Repeats, u32)>,
}

/// An ending over parts, both included.
#[derive(Clone, Debug)]
pub(crate) struct EndingAt {
    pub(crate) first: PartIndex,
    pub(crate) last: PartIndex,
    pub(crate) passes: Passes,
    pub(crate) marking: u32,
}

/// A segno or a coda at the start of a part.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LandingAt {
    pub(crate) part: PartIndex,
    pub(crate) label: Label,
    pub(crate) marking: u32,
}

/// A Fine at the end of a part.
#[derive(Clone, Debug)]
pub(crate) struct FineAt {
    pub(crate) part: PartIndex,
    pub(crate) arrivals: Option<Passes>,
    pub(crate) marking: u32,
}

/// A To Coda at the end of a part.
#[derive(Clone, Debug)]
pub(crate) struct ToCodaAt {
    pub(crate) part: PartIndex,
    pub(crate) label: Label,
    pub(crate) arrivals: Option<Passes>,
    pub(crate) marking: u32,
}

/// A D.C. or D.S. at the end of a part.
#[derive(Clone, Debug)]
pub(crate) struct JumpAt {
    pub(crate) part: PartIndex,
    pub(crate) da_capo: bool,
    pub(crate) al: Option<Al>,
    pub(crate) then: Option<Then>,
    /// The To Coda meant, or with `then coda` the coda.
    pub(crate) coda: Option<Label>,
    /// The segno: where a D.S. goes to, where a D.C. al Segno leaves.
    pub(crate) segno: Label,
    pub(crate) repeats: Option<Repeats>,
    pub(crate) arrivals: Option<Passes>,
    pub(crate) passes: Option<Passes>,
    pub(crate) marking: u32,
}

impl JumpAt {
    /// Whether it names neither arrivals nor passes.
    pub(crate) fn is_plain(&self) -> bool {
        self.arrivals.is_none() && self.passes.is_none()
    }
}

impl Laid {
    pub(crate) fn new(board: &Board, row: &Row) -> Laid {
        let mut laid = Laid::default();
        let mut seen: HashSet<(&Sign, PartIndex, u16, u16)> =
            HashSet::with_capacity(board.markings().len());
        for (index, marking) in board.markings().iter().enumerate() {
            let part = row.part_of(board, marking);
            let place = marking.place();
            if seen.insert((marking.sign(), part, place.first(), place.last())) {
                laid.lay(row, marking, part, index);
            }
        }
        laid.sort_and_join();
        laid
    }

    /// The same with signs added to the board, which cut no measure; they are numbered after those of the board.
    pub(crate) fn with(&self, board: &Board, row: &Row, added: &[Marking]) -> Laid {
        let mut laid = self.clone();
        for (index, marking) in added.iter().enumerate() {
            let part = row.part_of(board, marking);
            let place = (marking.measure(), marking.place().last());
            let is_this = |other: &Marking| {
                other.sign() == marking.sign()
                    && place == (other.measure(), other.place().last())
                    && part == row.part_of(board, other)
            };
            let mut before = board.markings().iter().chain(added.iter().take(index));
            if !before.any(is_this) {
                laid.lay(row, marking, part, board.markings().len() + index);
            }
        }
        laid.sort_and_join();
        laid
    }

    fn lay(&mut self, row: &Row, marking: &Marking, part: PartIndex, index: usize) {
        let marking_index = u32::try_from(index).unwrap_or(u32::MAX);
        match marking.sign() {
            Sign::StartRepeat => self.starts.push(StartAt {
                part,
                marking: marking_index,
            }),
            Sign::EndRepeat(end) => self.ends.push(EndAt {
                part,
                marking: marking_index,
                plays: end.plays,
                on_return: end
                    .on_return
                    .map(|answer| (answer, marking_index))
                    .into_iter()
                    .collect(),
            }),
            Sign::Ending(ending) => {
                let (first, last) = span_of(row, marking);
                self.endings.push(EndingAt {
                    first,
                    last,
                    passes: ending.passes.clone(),
                    marking: marking_index,
                });
            }
            Sign::Segno(landing) => {
                let label = self.label_of(landing.label.as_ref());
                self.segnos.push(LandingAt {
                    part,
                    label,
                    marking: marking_index,
                });
            }
            Sign::Coda(landing) => {
                let label = self.label_of(landing.label.as_ref());
                self.codas.push(LandingAt {
                    part,
                    label,
                    marking: marking_index,
                });
            }
            Sign::ToCoda(to_coda) => {
                let label = self.label_of(to_coda.label.as_ref());
                let arrivals = to_coda.arrivals.clone();
                self.to_codas.push(ToCodaAt {
                    part,
                    label,
                    arrivals,
                    marking: marking_index,
                });
            }
            Sign::Fine(fine) => {
                self.fines.push(FineAt {
                    part,
                    arrivals: fine.arrivals.clone(),
                    marking: marking_index,
                });
            }
            Sign::DaCapo(jump) | Sign::DalSegno(jump) => {
                let da_capo = matches!(marking.sign(), Sign::DaCapo(_));
                let jump = self.jump_at(jump, part, da_capo, marking_index);
                self.jumps.push(jump);
            }
            Sign::DoubleBar(_) => self.double_bars.push(part),
            Sign::Octave(_) | Sign::Fermata(_) | Sign::Only(_) => {}
        }
    }

    /// The number of a label.
    fn label_of(&mut self, text: Option<&String>) -> Label {
        let Some(text) = text else { return 0 };
        if let Some(&label) = self.labels.get(text) {
            return label;
        }
        let next = u32::try_from(self.labels.len() + 1).unwrap_or(u32::MAX);
        self.labels.insert(text.clone(), next);
        next
    }

    fn jump_at(&mut self, jump: &Jump, part: PartIndex, da_capo: bool, marking: u32) -> JumpAt {
        JumpAt {
            part,
            da_capo,
            al: jump.al,
            then: jump.then,
            coda: jump
                .coda
                .is_some()
                .then(|| self.label_of(jump.coda.as_ref())),
            segno: self.label_of(jump.label.as_ref()),
            repeats: jump.repeats,
            arrivals: jump.arrivals.clone(),
            passes: jump.passes.clone(),
            marking,
        }
    }

    fn sort_and_join(&mut self) {
        self.starts.sort_by_key(|start| start.part);
        self.starts.dedup_by_key(|start| start.part);
        self.ends.sort_by_key(|end| end.part);
        self.ends.dedup_by(|later, kept| {
            let joins = later.part == kept.part;
            if joins {
                kept.plays = more_plays(kept.plays, later.plays);
                kept.on_return.append(&mut later.on_return);
            }
            joins
        });
        self.endings
            .sort_by_key(|ending| (ending.first, ending.last));
        self.segnos.sort_by_key(|segno| segno.part);
        self.codas.sort_by_key(|coda| coda.part);
        self.fines.sort_by_key(|fine| fine.part);
        self.to_codas.sort_by_key(|to_coda| to_coda.part);
        self.jumps.sort_by_key(|jump| jump.part);
        self.double_bars.sort_unstable();
        self.double_bars.dedup();
        self.segno_of = first_of_each(&self.segnos);
        self.coda_of = first_of_each(&self.codas);
    }

    /// One of the endings of a section, by its place in the section's list.
    pub(crate) fn ending(&self, endings: &[u32], at: usize) -> Option<&EndingAt> {
        endings
            .get(at)
            .and_then(|&number| self.endings.get(number as usize))
    }

    /// The groups of a section's endings: those that follow each other with no part between them, as ranges of the section's list.
    pub(crate) fn groups(&self, endings: &[u32]) -> Vec<std::ops::Range<usize>> {
        let follows = |group: &std::ops::Range<usize>, at: usize| {
            let before = self.ending(endings, group.end - 1);
            let this = self.ending(endings, at);
            before
                .zip(this)
                .is_some_and(|(before, this)| before.last.saturating_add(1) >= this.first)
        };
        let mut groups: Vec<std::ops::Range<usize>> = Vec::new();
        for at in 0..endings.len() {
            match groups.last_mut() {
                Some(group) if follows(group, at) => group.end = at + 1,
                _ => groups.push(at..at + 1),
            }
        }
        groups
    }

    /// The end repeat at the end of a part: its index.
    pub(crate) fn end_at(&self, part: PartIndex) -> Option<usize> {
        self.ends.binary_search_by_key(&part, |end| end.part).ok()
    }

    /// The jumps at the end of a part.
    pub(crate) fn jumps_at(&self, part: PartIndex) -> &[JumpAt] {
        let range = equal_range(&self.jumps, part, |jump| jump.part);
        self.jumps.get(range).unwrap_or_default()
    }

    /// The segno of a label.
    pub(crate) fn segno(&self, label: Label) -> Option<&LandingAt> {
        self.segnos.get(first_of(&self.segno_of, label)?)
    }

    /// The coda of a label.
    pub(crate) fn coda(&self, label: Label) -> Option<&LandingAt> {
        self.codas.get(first_of(&self.coda_of, label)?)
    }
}

/// The indices of a sorted list whose key is `key`.
pub(crate) fn equal_range<T>(
    list: &[T],
    key: PartIndex,
    of: impl Fn(&T) -> PartIndex,
) -> std::ops::Range<usize> {
    list.partition_point(|item| of(item) < key)..list.partition_point(|item| of(item) <= key)
}

fn span_of(row: &Row, marking: &Marking) -> (PartIndex, PartIndex) {
    let place = marking.place();
    (
        row.parts_of(place.first()).start,
        row.parts_of(place.last()).end.saturating_sub(1),
    )
}

fn more_plays(a: Option<Plays>, b: Option<Plays>) -> Option<Plays> {
    match (a, b) {
        (Some(Plays::Open), _) | (_, Some(Plays::Open)) => Some(Plays::Open),
        (Some(Plays::Times(a)), Some(Plays::Times(b))) => Some(Plays::Times(a.max(b))),
        // Two signs, one of them plain: plain means twice.
        (Some(Plays::Times(a)), None) | (None, Some(Plays::Times(a))) => {
            Some(Plays::Times(a.max(2)))
        }
        (None, None) => None,
    }
}

fn first_of_each(landings: &[LandingAt]) -> Vec<(Label, usize)> {
    let labels = landings.iter().map(|landing| landing.label);
    let mut first: Vec<(Label, usize)> = labels.zip(0..).collect();
    first.sort_unstable();
    first.dedup_by_key(|(label, _)| *label);
    first
}

fn first_of(first: &[(Label, usize)], label: Label) -> Option<usize> {
    let found = first.binary_search_by_key(&label, |(label, _)| *label);
    first.get(found.ok()?).map(|&(_, at)| at)
}

#[cfg(test)]
mod tests {
    use super::Laid;
    use crate::board::{Board, Fine, Marking, Place, Sign};
    use crate::roadmap::row::Row;

    #[test]
    fn a_jump_is_plain_that_names_neither_arrivals_nor_passes() {
        let board: Board = "|: 1 D.C. | 2 D.C.(arrivals 2) | 3 D.C.(passes 2) | 4 :|"
            .parse()
            .unwrap();
        let laid = Laid::new(&board, &Row::new(&board));
        let plain: Vec<bool> = laid.jumps.iter().map(super::JumpAt::is_plain).collect();
        assert_eq!(plain, [true, false, false]);
    }

    /// An equal sign at the same place is one with that of the board; one at another part of the measure is not.
    #[test]
    fn a_sign_added_where_it_stands_already_is_one() {
        let fine = |place| Marking::new(Sign::Fine(Fine::default()), place);
        let board: Board = "{meter 4/4} 1 Fine@3 | 2 Fine | 3".parse().unwrap();
        let row = Row::new(&board);
        let laid = Laid::new(&board, &row);
        let half = "1/2".parse().unwrap();
        for (place, fines) in [
            (Place::cutting(1, half), 2),
            (Place::at(1), 3),
            (Place::at(2), 2),
            (Place::at(3), 3),
        ] {
            let with = laid.with(&board, &row, &[fine(place), fine(place)]);
            assert_eq!(with.fines.len(), fines, "{place:?}");
        }
    }
}
