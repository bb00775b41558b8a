//! What rules propose against their findings, and what they build it of. Nothing of it is proved here: `ward.rs` tries every proposal.

use std::cell::{Cell, OnceCell};

use super::finding::Finding;
use super::rules::{Doubt, doubts};
use super::sheet::Sheet;
use crate::board::{
    Board, DoubleBar, Edit, EndRepeat, Ending, Jump, Landing, Marking, Passes, Place, Plays, Side,
    Sign, ToCoda, When,
};
use crate::roadmap::Ground;
use crate::roadmap::laid::EndingAt;
use crate::roadmap::sections::Section;

/// One proposal.
pub(crate) struct Cure {
    pub(crate) edits: Vec<Edit>,
    pub(crate) claim: Claim,
}

/// What a rule says of a proposal.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Claim {
    /// It may cure.
    Cures,
    /// It restores the only meaning that the signs can have, on a board with errors. The rule says why.
    OnlyMeaning,
    /// It leads otherwise than the board is read now, where another proposal does not: it is offered behind that one.
    AnotherRoad,
    /// What it takes away may stay as well, as custom goes: nobody does it unasked.
    MayStay,
}

/// The proposals against one finding, in the order in which a musician would think of them.
pub(crate) struct Cures<'a> {
    pub(crate) sheet: Sheet<'a>,
    pub(crate) finding: &'a Finding,
    seams: &'a Seams,
    doubts: &'a OnceCell<Vec<Doubt>>,
    list: Vec<Cure>,
    /// How many markings and sections have been looked at.
    looked_at: Cell<usize>,
}

/// The barlines at which something begins or ends: where people put signs. A seam is named by the measure after it.
pub(crate) struct Seams {
    /// Those that a sign shows.
    shown: Vec<u16>,
    /// The first measures of the systems.
    systems: Vec<u16>,
    measures: u16,
}

impl<'a> Cures<'a> {
    pub(crate) fn new(
        sheet: Sheet<'a>,
        (seams, doubts): (&'a Seams, &'a OnceCell<Vec<Doubt>>),
        finding: &'a Finding,
    ) -> Cures<'a> {
        Cures {
            sheet,
            finding,
            seams,
            doubts,
            list: Vec::new(),
            looked_at: Cell::new(0),
        }
    }

    /// The proposals, and how many markings and sections were looked at for them.
    pub(crate) fn into_list(self) -> (Vec<Cure>, usize) {
        (self.list, self.looked_at.get())
    }

    /// Counts markings, sections or edits that are gone through for the proposals.
    pub(crate) fn look_at(&self, count: usize) {
        self.looked_at
            .set(self.looked_at.get().saturating_add(count));
    }

    /// The section whose start is in doubt. They are found under all readings, once for all findings of a board.
    pub(crate) fn doubt(&self) -> Option<&'a Doubt> {
        let marking = u32::try_from(self.finding.marking?).ok()?;
        let doubts = self.doubts.get_or_init(|| {
            self.look_at(10 * self.sheet.sections.list.len());
            let mut doubts = doubts(&self.sheet);
            doubts.sort_by_key(|it| it.marking);
            doubts
        });
        let at = doubts
            .binary_search_by_key(&marking, |it| it.marking)
            .ok()?;
        doubts.get(at)
    }

    // The finding.

    /// The marking it is about, with its index.
    pub(crate) fn marking(&self) -> Option<(usize, &'a Marking)> {
        self.numbered(self.finding.marking?)
    }

    /// The first of the other markings that take part.
    pub(crate) fn other(&self) -> Option<(usize, &'a Marking)> {
        self.numbered(*self.finding.related.first()?)
    }

    pub(crate) fn numbered(&self, index: usize) -> Option<(usize, &'a Marking)> {
        Some((index, self.sheet.board.markings().get(index)?))
    }

    /// The marking it is about, when it is an ending.
    pub(crate) fn ending(&self) -> Option<(usize, Place, &'a Ending)> {
        ending_of(self.marking()?)
    }

    /// The other marking, when it is an ending.
    pub(crate) fn other_ending(&self) -> Option<(usize, Place, &'a Ending)> {
        ending_of(self.other()?)
    }

    /// The marking it is about, when it is a D.C. or D.S.
    pub(crate) fn jump(&self) -> Option<(usize, &'a Jump)> {
        let (index, marking) = self.marking()?;
        Some((index, jump_of(marking.sign())?))
    }

    /// The endings, with their section, of the closing group to which the marking it is about belongs.
    pub(crate) fn closing_group(&self) -> Option<(&'a Section, Vec<&'a EndingAt>)> {
        let sheet = self.sheet;
        self.look_at(sheet.sections.list.len());
        let index = u32::try_from(self.finding.marking?).ok()?;
        let mut groups = sheet.sections.list.iter().map(|section| {
            let group = sheet.closing_endings(section);
            self.look_at(group.len());
            (section, group)
        });
        groups.find(|(_, group)| group.iter().any(|ending| ending.marking == index))
    }

    /// The section that has a marking as an ending, an end repeat or its start repeat.
    pub(crate) fn section(&self, marking: usize) -> Option<&'a Section> {
        let sheet = self.sheet;
        self.look_at(sheet.sections.list.len());
        let index = u32::try_from(marking).ok()?;
        sheet.sections.list.iter().find(|section| {
            self.look_at(section.endings.len() + section.ends.len());
            section.opened_by == Some(index)
                || sheet.endings(section).any(|it| it.marking == index)
                || sheet.ends(section).any(|it| it.marking == index)
        })
    }

    /// Every marking whose sign is of some kind, with its index.
    pub(crate) fn signs(
        &self,
        is_it: impl Fn(&Sign) -> bool,
    ) -> impl Iterator<Item = (usize, &'a Marking)> {
        self.look_at(self.sheet.board.markings().len());
        let markings = self.sheet.board.markings().iter().enumerate();
        markings.filter(move |(_, marking)| is_it(marking.sign()))
    }

    /// Every D.C. and D.S.
    pub(crate) fn jumps(&self) -> impl Iterator<Item = (usize, &'a Marking, &'a Jump)> {
        self.signs(|_| true)
            .filter_map(|(index, marking)| Some((index, marking, jump_of(marking.sign())?)))
    }

    /// The number of measures.
    pub(crate) fn measures(&self) -> u16 {
        self.seams.measures
    }

    /// A label that no sign has: the first free letter.
    pub(crate) fn free_label(&self) -> Option<String> {
        self.look_at(self.sheet.board.markings().len());
        let markings = self.sheet.board.markings().iter();
        let used: Vec<&str> = markings
            .flat_map(|marking| match marking.sign() {
                Sign::Segno(landing) | Sign::Coda(landing) => [landing.label.as_deref(), None],
                Sign::ToCoda(to_coda) => [to_coda.label.as_deref(), None],
                Sign::DaCapo(jump) | Sign::DalSegno(jump) => {
                    [jump.label.as_deref(), jump.coda.as_deref()]
                }
                _ => [None, None],
            })
            .flatten()
            .collect();
        let mut letters = ('A'..='Z').map(String::from);
        letters.find(|letter| !used.contains(&letter.as_str()))
    }

    // The proposals.

    /// Edits that may cure it.
    pub(crate) fn propose(&mut self, edits: impl IntoIterator<Item = Edit>) {
        self.add(edits, Claim::Cures);
    }

    /// Edits that lead otherwise than the board is read now, for a writer who meant that.
    pub(crate) fn propose_another_road(&mut self, edits: impl IntoIterator<Item = Edit>) {
        self.add(edits, Claim::AnotherRoad);
    }

    /// Edits that restore the only meaning which the signs can have.
    pub(crate) fn restore(&mut self, edits: impl IntoIterator<Item = Edit>) {
        self.add(edits, Claim::OnlyMeaning);
    }

    /// Takes a marking away that may stay as well.
    pub(crate) fn take_away_if_liked(&mut self, index: usize) {
        self.add([Edit::Remove(index)], Claim::MayStay);
    }

    /// Takes a marking away.
    pub(crate) fn take_away(&mut self, index: usize) {
        self.propose([Edit::Remove(index)]);
    }

    /// Writes another sign where a marking stands.
    pub(crate) fn rewrite(&mut self, index: usize, sign: Sign) {
        let edit = self.rewritten(index, sign);
        self.propose(edit);
    }

    /// Moves a marking, to each of some places in turn.
    pub(crate) fn move_to(&mut self, index: usize, places: impl IntoIterator<Item = Place>) {
        for place in places {
            let edit = self.moved(index, place);
            self.propose(edit);
        }
    }

    /// Puts a sign at each of some measures in turn.
    pub(crate) fn put(&mut self, sign: &Sign, measures: impl IntoIterator<Item = u16>) {
        for measure in measures {
            self.propose([put(sign.clone(), measure)]);
        }
    }

    /// Takes away the arrivals or passes that a marking names, and the time at which one holds.
    pub(crate) fn hold_every_time(&mut self, index: usize) {
        let Some((_, marking)) = self.numbered(index) else {
            return;
        };
        let mut sign = marking.sign().clone();
        match &mut sign {
            Sign::Octave(octave) => octave.when = When::EveryPass,
            Sign::Fermata(fermata) => fermata.when = When::EveryPass,
            Sign::ToCoda(to_coda) => to_coda.arrivals = None,
            Sign::Fine(fine) => fine.arrivals = None,
            Sign::DaCapo(jump) | Sign::DalSegno(jump) => {
                (jump.arrivals, jump.passes) = (None, None);
            }
            _ => return,
        }
        self.rewrite(index, sign);
    }

    fn add(&mut self, edits: impl IntoIterator<Item = Edit>, claim: Claim) {
        let edits: Vec<Edit> = edits.into_iter().collect();
        self.look_at(edits.len());
        if !edits.is_empty() {
            self.list.push(Cure { edits, claim });
        }
    }

    // The edits.

    /// Another sign where a marking stands, with its id.
    pub(crate) fn rewritten(&self, index: usize, sign: Sign) -> Option<Edit> {
        let (_, marking) = self.numbered(index)?;
        let changes = sign != *marking.sign();
        changes.then(|| Edit::Replace(index, like(marking, sign, marking.place())))
    }

    /// A marking at another place.
    pub(crate) fn moved(&self, index: usize, place: Place) -> Option<Edit> {
        let (_, marking) = self.numbered(index)?;
        let moves = place != marking.place();
        moves.then(|| Edit::Replace(index, like(marking, marking.sign().clone(), place)))
    }

    /// A D.C. or D.S. with other keys.
    pub(crate) fn jump_with(&self, index: usize, change: impl FnOnce(&mut Jump)) -> Option<Edit> {
        let (_, marking) = self.numbered(index)?;
        let mut sign = marking.sign().clone();
        let (Sign::DaCapo(jump) | Sign::DalSegno(jump)) = &mut sign else {
            return None;
        };
        change(jump);
        (sign != *marking.sign())
            .then(|| Edit::Replace(index, like(marking, sign, marking.place())))
    }

    /// An ending with other passes.
    pub(crate) fn ending_with(&self, index: usize, passes: Passes) -> Option<Edit> {
        let (_, _, ending) = ending_of(self.numbered(index)?)?;
        let open = ending.open;
        let changes = passes != ending.passes;
        changes
            .then(|| self.rewritten(index, Sign::Ending(Ending { passes, open })))
            .flatten()
    }

    /// The endings of a group numbered 1, 2, 3 … as they stand, each with as many passes as it has.
    pub(crate) fn renumbered(&self, group: &[&EndingAt]) -> Vec<Edit> {
        self.look_at(group.len());
        let mut next = 1_u32;
        let mut edits = Vec::new();
        for ending in group {
            let count = ending.passes.ranges().iter();
            let count = count.fold(0_u32, |sum, (from, to)| sum.saturating_add(to - from + 1));
            let last = next.saturating_add(count).saturating_sub(1);
            let Ok(passes) = Passes::of_ranges([(next, last)]) else {
                return Vec::new();
            };
            edits.extend(self.ending_with(ending.marking as usize, passes));
            next = last.saturating_add(1);
        }
        edits
    }

    // The places.

    /// Measures with which something may begin, up to a measure: the nearest first.
    pub(crate) fn begins_up_to(&self, measure: u16) -> Vec<u16> {
        let seams = self.seams;
        let shown = nearest_before(&seams.shown, measure, 4);
        let systems = nearest_before(&seams.systems, measure, 2);
        let near = [measure, measure.saturating_sub(1), 2, 1];
        let near = near.into_iter().filter(|&near| near <= measure);
        self.on_board(shown.chain(systems).chain(near))
    }

    /// Measures with which something may begin, after a measure: the nearest first.
    pub(crate) fn begins_after(&self, measure: u16) -> Vec<u16> {
        let seams = self.seams;
        let shown = nearest_after(&seams.shown, measure, 4);
        let systems = nearest_after(&seams.systems, measure, 2);
        let near = [measure.saturating_add(1), seams.measures];
        let near = near.into_iter().filter(|&near| near > measure);
        self.on_board(shown.chain(systems).chain(near))
    }

    /// Measures with which something may end, before a measure: the nearest first.
    pub(crate) fn ends_before(&self, measure: u16) -> Vec<u16> {
        let begins = self.begins_up_to(measure);
        self.on_board(begins.into_iter().map(|begin| begin.saturating_sub(1)))
    }

    /// Measures with which something may end, from a measure on: the nearest first.
    pub(crate) fn ends_from(&self, measure: u16) -> Vec<u16> {
        let begins = self.begins_after(measure).into_iter();
        let ends = begins.map(|begin| begin.saturating_sub(1));
        self.on_board(ends.chain([self.seams.measures, measure]))
    }

    fn on_board(&self, measures: impl Iterator<Item = u16>) -> Vec<u16> {
        let mut found: Vec<u16> = Vec::new();
        for measure in measures {
            if (1..=self.seams.measures).contains(&measure) && !found.contains(&measure) {
                found.push(measure);
            }
        }
        found
    }
}

/// A sign put at a measure.
pub(crate) fn put(sign: Sign, measure: u16) -> Edit {
    Edit::Add(Marking::new(sign, Place::at(measure)))
}

/// A segno or coda with a label.
pub(crate) fn landing(label: Option<&str>) -> Landing {
    let label = label.map(str::to_owned);
    Landing { label }
}

/// A To Coda with a label.
pub(crate) fn to_coda(label: Option<&str>) -> Sign {
    let label = label.map(str::to_owned);
    Sign::ToCoda(ToCoda {
        label,
        arrivals: None,
    })
}

/// What is written at a D.C. or D.S.
pub(crate) fn jump_of(sign: &Sign) -> Option<&Jump> {
    match sign {
        Sign::DaCapo(jump) | Sign::DalSegno(jump) => Some(jump),
        _ => None,
    }
}

/// A list without the numbers of another; `None` when nothing is left.
pub(crate) fn without(list: &Passes, other: &Passes) -> Option<Passes> {
    let mut rest: Vec<(u32, u32)> = Vec::new();
    for &(from, to) in list.ranges() {
        let mut next = from;
        for &(out, until) in other.ranges() {
            if out > next {
                rest.push((next, to.min(out - 1)));
            }
            next = next.max(until.saturating_add(1));
            if next > to {
                break;
            }
        }
        if next <= to {
            rest.push((next, to));
        }
    }
    rest.retain(|&(from, to)| from <= to);
    Passes::of_ranges(rest).ok()
}

/// The start repeat and the end repeats of a section, as markings; `None` when endings belong to it, which would lose their repeat.
pub(crate) fn repeat_signs(cures: &Cures<'_>, section: &Section) -> Option<Vec<usize>> {
    if section.ends.len() > MOST_TOGETHER {
        return None;
    }
    let mut signs: Vec<usize> = section.opened_by.iter().map(|&it| it as usize).collect();
    let board = cures.sheet.board;
    for end in cures.sheet.ends(section) {
        // Several end repeats at one place are one.
        let there = board.markings().iter().enumerate().filter(|(_, marking)| {
            let part = cures.sheet.row.part_of(board, marking);
            matches!(marking.sign(), Sign::EndRepeat(_)) && part == end.part
        });
        signs.extend(there.map(|(index, _)| index));
    }
    (section.endings.is_empty() && signs.len() <= MOST_TOGETHER).then_some(signs)
}

/// Lets repeats be played fewer times, those played most often first, and jumps with long lists of arrivals be obeyed once.
pub(crate) fn play_fewer(cures: &mut Cures<'_>) {
    let plays = |sign: &Sign| match sign {
        Sign::EndRepeat(EndRepeat {
            plays: Some(Plays::Times(times)),
            ..
        }) => *times,
        _ => 0,
    };
    let ends = cures.signs(|sign| plays(sign) > 2);
    let mut ends: Vec<(u32, usize)> = ends
        .map(|(index, marking)| (plays(marking.sign()), index))
        .collect();
    ends.sort_unstable_by_key(|&(times, index)| (std::cmp::Reverse(times), index));
    let twice = |cures: &Cures<'_>, index: usize| {
        let Sign::EndRepeat(end) = cures.numbered(index)?.1.sign() else {
            return None;
        };
        let (plays, on_return) = (None, end.on_return);
        cures.rewritten(index, Sign::EndRepeat(EndRepeat { plays, on_return }))
    };
    for &(_, index) in ends.iter().take(4) {
        let edit = twice(cures, index);
        cures.propose(edit);
    }
    let several = ends.iter().take(MOST_TOGETHER);
    let all: Vec<Edit> = several
        .filter_map(|&(_, index)| twice(cures, index))
        .collect();
    cures.propose(all);
    let is_long = |list: &Option<Passes>| list.as_ref().is_some_and(|list| list.highest() > 1_000);
    let jumps = cures.jumps().filter(|(_, _, jump)| is_long(&jump.arrivals));
    let jumps: Vec<usize> = jumps.map(|(index, ..)| index).take(MOST_TOGETHER).collect();
    let once = jumps
        .into_iter()
        .filter_map(|index| cures.jump_with(index, |jump| jump.arrivals = None));
    let once: Vec<Edit> = once.collect();
    cures.propose(once);
}

/// The most signs that one proposal changes.
const MOST_TOGETHER: usize = 8;

fn ending_of((index, marking): (usize, &Marking)) -> Option<(usize, Place, &Ending)> {
    match marking.sign() {
        Sign::Ending(ending) => Some((index, marking.place(), ending)),
        _ => None,
    }
}

/// A marking with the id of another.
fn like(marking: &Marking, sign: Sign, place: Place) -> Marking {
    let new = Marking::new(sign, place);
    match marking.id() {
        Some(id) => new.with_id(id),
        None => new,
    }
}

fn nearest_before(seams: &[u16], measure: u16, most: usize) -> impl Iterator<Item = u16> {
    let after = seams.partition_point(|&seam| seam <= measure);
    let before = seams.get(..after).unwrap_or_default();
    before.iter().rev().take(most).copied()
}

fn nearest_after(seams: &[u16], measure: u16, most: usize) -> impl Iterator<Item = u16> {
    let after = seams.partition_point(|&seam| seam <= measure);
    let after = seams.get(after..).unwrap_or_default();
    after.iter().take(most).copied()
}

impl Seams {
    pub(crate) fn new(board: &Board, ground: &Ground) -> Seams {
        let mut shown: Vec<u16> = Vec::with_capacity(board.markings().len() + 1);
        for marking in board.markings() {
            let place = marking.place();
            if place.cut().is_some() {
                continue;
            }
            let after = place.last().saturating_add(1);
            match (marking.sign().side(), marking.sign()) {
                (Side::Landing, _) => shown.push(place.first()),
                (Side::Leaving, _) | (_, Sign::DoubleBar(DoubleBar { .. })) => shown.push(after),
                (_, Sign::Ending(_)) => shown.extend([place.first(), after]),
                _ => {}
            }
        }
        let starts = ground.sections.list.iter();
        shown.extend(starts.map(|section| ground.row.part(section.start).0));
        shown.sort_unstable();
        shown.dedup();
        let mut systems = vec![1_u16];
        for &measures in board.systems() {
            let last = systems.last().copied().unwrap_or(1);
            systems.push(last.saturating_add(measures));
        }
        Seams {
            shown,
            systems,
            measures: board.measures(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::without;
    use crate::board::Passes;

    #[test]
    fn a_list_without_another_has_the_numbers_that_are_not_in_it() {
        let numbers = |bits: u32| (1..=6).filter(move |number| bits >> (number - 1) & 1 == 1);
        for some in 1..64 {
            for others in 1..64 {
                let list = |bits| Passes::of(numbers(bits)).unwrap();
                let left = Passes::of(numbers(some & !others)).ok();
                assert_eq!(
                    without(&list(some), &list(others)),
                    left,
                    "{some:b} {others:b}"
                );
            }
        }
    }
}
