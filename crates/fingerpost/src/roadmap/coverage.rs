//! What of a board its route plays, and on which passes and legs: worked out from the pieces, without writing the route out.
//!
//! Every level (a section, or the row) is a list of *slots*: its single parts and the sections directly inside it, in written order. A
//! stretch of the route is a range of slots, so that what it says of them is noted at its two ends and summed up once. Whole visits to an
//! inner section differ only in their manner and in whether they are on a return: six kinds, each followed once.

use std::collections::{HashMap, HashSet};

use super::paths::{Manner, ROW, inner_at};
use super::pieces::{Piece, What};
use super::row::PartIndex;
use super::sections::{SectionIndex, Sections};
use super::{Ground, Walked};
use crate::route::Cause;

/// What is known of the times at which a part is played: what is noted of its slot, as bits.
#[derive(Clone, Copy, Default, PartialEq, Eq, Debug)]
pub(crate) struct Times(u16);

impl Times {
    fn has(self, what: usize) -> bool {
        self.0 & (1 << what) != 0
    }

    pub(crate) fn played(self) -> bool {
        [false, true]
            .into_iter()
            .any(|back| self.on_first(back) || self.on_repeat(back))
    }

    /// On pass 1 of its innermost section, or in no section; in leg 1, or in a later one.
    pub(crate) fn on_first(self, back: bool) -> bool {
        self.has(on_first(back))
    }

    /// On a pass from the second on; in leg 1, or in a later one.
    pub(crate) fn on_repeat(self, back: bool) -> bool {
        self.has(on_repeat(back))
    }

    /// The road has gone on to it from the part before, or past an ending.
    pub(crate) fn gone_into(self) -> bool {
        self.has(GONE_INTO)
    }
}

/// What of a board its route plays.
#[derive(Clone, Debug)]
pub(crate) struct Coverage {
    /// By part.
    times: Vec<Times>,
    /// By section the highest pass on which something of it is played, in leg 1 and in later legs; a pass of which nothing but a section
    /// inside it is played may be left out.
    highest: Vec<[u32; 2]>,
    /// The end repeats that send the road back, as markings.
    repeats_made: HashSet<u32>,
    /// The parts on which a D.S. lands, each with the first that does.
    segno_landings: HashMap<PartIndex, u32>,
    /// The parts on which the road lands as on a coda, each with the markings that send it there, in the order in which they do.
    coda_landings: HashMap<PartIndex, Vec<u32>>,
}

// What is noted of a slot or a path: the six kinds of visit, on which pass in which leg, and how it is come to.
const GONE_INTO: usize = 10;
/// Of a path only: an end repeat sends the road back after it.
const GOES_BACK: usize = 11;
const NOTES: usize = 12;

/// A kind of visit, as a place in what is noted.
fn visit(manner: Manner, back: bool) -> usize {
    manner as usize * 2 + usize::from(back)
}

fn on_first(back: bool) -> usize {
    6 + usize::from(back)
}

fn on_repeat(back: bool) -> usize {
    8 + usize::from(back)
}

/// How often each thing is noted; kept as the difference to what comes before.
type Noted = [i32; NOTES];

const VISITS: [(Manner, bool); 6] = [
    (Manner::First, false),
    (Manner::First, true),
    (Manner::Skipping, false),
    (Manner::Skipping, true),
    (Manner::Playing, false),
    (Manner::Playing, true),
];

impl Coverage {
    pub(crate) fn new(ground: &Ground, walked: &Walked) -> Coverage {
        let mut survey = Survey::new(ground, walked);
        for piece in &walked.compiled.pieces {
            survey.piece(piece);
        }
        let ends = ground.laid.ends.iter().map(|end| end.marking);
        let made = ends.filter(|end| walked.obeyed.contains(end));
        survey.coverage.repeats_made.extend(made);
        survey.level(ROW);
        for number in 0..ground.sections.list.len() {
            let number = SectionIndex::try_from(number).unwrap_or(ROW);
            survey.section(number);
        }
        survey.coverage
    }

    pub(crate) fn times(&self, part: PartIndex) -> Times {
        self.times.get(part as usize).copied().unwrap_or_default()
    }

    /// The highest pass of a section on which something of it is played in leg 1, or in a later one; 0 when nothing is. A pass of which
    /// nothing but a section inside it is played may be left out.
    pub(crate) fn highest_pass(&self, section: SectionIndex, back: bool) -> u32 {
        let highest = self.highest.get(section as usize);
        let highest = highest.and_then(|by_leg| by_leg.get(usize::from(back)));
        highest.copied().unwrap_or(0)
    }

    /// Whether an end repeat ever sends the road back.
    pub(crate) fn repeat_made(&self, marking: u32) -> bool {
        self.repeats_made.contains(&marking)
    }

    /// The first D.S. that lands on a part.
    pub(crate) fn segno_landing(&self, part: PartIndex) -> Option<u32> {
        self.segno_landings.get(&part).copied()
    }

    /// The first marking that sends the road to a part as to a coda.
    pub(crate) fn coda_landing(&self, part: PartIndex) -> Option<u32> {
        self.led_to_coda(part).first().copied()
    }

    /// The markings that send the road to a part as to a coda.
    pub(crate) fn led_to_coda(&self, part: PartIndex) -> &[u32] {
        self.coda_landings.get(&part).map_or(&[], Vec::as_slice)
    }
}

/// The noting of one route.
struct Survey<'a> {
    ground: &'a Ground,
    walked: &'a Walked,
    /// The slot of each part in its innermost level, and of each section in the level around it.
    part_slots: Vec<u32>,
    section_slots: Vec<u32>,
    slots: Vec<Noted>,
    /// For each section where its paths begin in `paths`.
    first_paths: Vec<usize>,
    paths: Vec<Noted>,
    coverage: Coverage,
}

impl<'a> Survey<'a> {
    fn new(ground: &'a Ground, walked: &'a Walked) -> Survey<'a> {
        let sections = &ground.sections;
        let parts = ground.row.length() as usize;
        let mut survey = Survey {
            ground,
            walked,
            part_slots: vec![0; parts],
            section_slots: vec![0; sections.list.len()],
            slots: vec![[0; NOTES]; parts + 2 * sections.list.len() + 1],
            first_paths: Vec::with_capacity(sections.list.len()),
            paths: Vec::new(),
            coverage: Coverage {
                times: vec![Times::default(); parts],
                highest: vec![[0; 2]; sections.list.len()],
                repeats_made: HashSet::new(),
                segno_landings: HashMap::new(),
                coda_landings: HashMap::new(),
            },
        };
        let mut next = 0;
        survey.number_slots(ROW, &mut next);
        let mut paths = 0;
        for number in 0..sections.list.len() {
            let number = SectionIndex::try_from(number).unwrap_or(ROW);
            survey.number_slots(number, &mut next);
            survey.first_paths.push(paths);
            // One entry more, where what is noted of the last path ends.
            paths += walked.paths.paths(number).len() + 1;
        }
        survey.paths = vec![[0; NOTES]; paths];
        survey
    }

    fn number_slots(&mut self, level: SectionIndex, next: &mut u32) {
        for item in items(self.ground, level) {
            match item {
                Item::Part(part) => {
                    if let Some(slot) = self.part_slots.get_mut(part as usize) {
                        *slot = *next;
                    }
                }
                Item::Section(section) => {
                    if let Some(slot) = self.section_slots.get_mut(section as usize) {
                        *slot = *next;
                    }
                }
            }
            *next += 1;
        }
        // One slot more, where what is noted of the last one ends.
        *next += 1;
    }

    /// The slot of a level that holds a part.
    fn slot(&self, level: SectionIndex, part: PartIndex) -> usize {
        let slot = match inner_at(&self.ground.sections, level, part) {
            Some(inner) => self.section_slots.get(inner as usize),
            None => self.part_slots.get(part as usize),
        };
        slot.map_or(0, |&slot| slot as usize)
    }

    fn piece(&mut self, piece: &Piece) {
        let back = piece.leg > 1;
        let gone_into = matches!(piece.cause, Cause::On | Cause::PastEnding);
        let coverage = &mut self.coverage;
        if let Some(marking) = piece.marking {
            if let What::Stretch { from, .. } = piece.what {
                match piece.cause {
                    Cause::DalSegno => {
                        coverage.segno_landings.entry(from).or_insert(marking);
                    }
                    Cause::ToCoda => {
                        let led = coverage.coda_landings.entry(from).or_default();
                        if !led.contains(&marking) {
                            led.push(marking);
                        }
                    }
                    _ => {}
                }
            }
            if piece.cause == Cause::Repeat {
                coverage.repeats_made.insert(marking);
            }
        }
        match piece.what {
            What::Stretch {
                level,
                from,
                to,
                manner,
            } => {
                let context = piece
                    .context
                    .and_then(|at| self.walked.compiled.contexts.get(at as usize));
                let pass = context
                    .filter(|_| level != ROW)
                    .map_or(1, |context| context.pass);
                let on_pass = if pass == 1 {
                    on_first(back)
                } else {
                    on_repeat(back)
                };
                self.reach(level, pass, back);
                self.stretch(level, from, to, gone_into, &[visit(manner, back), on_pass]);
            }
            What::Passes {
                section,
                first,
                last,
            } => self.passes(section, first, last, (Manner::First, back), gone_into),
        }
    }

    fn reach(&mut self, section: SectionIndex, pass: u32, back: bool) {
        let highest = self.coverage.highest.get_mut(section as usize);
        if let Some(highest) = highest.and_then(|by_leg| by_leg.get_mut(usize::from(back))) {
            *highest = pass.max(*highest);
        }
    }

    /// Notes something of the slots of a stretch.
    fn stretch(
        &mut self,
        level: SectionIndex,
        from: PartIndex,
        to: PartIndex,
        gone_into: bool,
        noted: &[usize],
    ) {
        let (first, last) = (self.slot(level, from), self.slot(level, to));
        for &what in noted {
            note(&mut self.slots, first, last, what);
        }
        let first = if gone_into { first } else { first + 1 };
        note(&mut self.slots, first, last, GONE_INTO);
    }

    /// Notes a row of whole passes of a section, the inner sections come to in a manner on the first of them and anew on the others.
    fn passes(
        &mut self,
        section: SectionIndex,
        first: u32,
        last: u32,
        (manner, back): (Manner, bool),
        gone_into: bool,
    ) {
        let paths = self.walked.paths.paths(section);
        self.reach(section, last, back);
        let base = self
            .first_paths
            .get(section as usize)
            .copied()
            .unwrap_or_default();
        let path_of = |pass: u32| base + paths.partition_point(|path| path.last_pass < pass);
        let noted = &mut self.paths;
        let entry = path_of(first);
        note(noted, entry, entry, visit(manner, back));
        if gone_into {
            note(noted, entry, entry, GONE_INTO);
        }
        if first == 1 {
            note(noted, entry, entry, on_first(back));
        }
        if last > first {
            note(
                noted,
                path_of(first + 1),
                path_of(last),
                visit(Manner::First, back),
            );
            note(noted, entry, path_of(last - 1), GOES_BACK);
        }
        if last > 1 {
            note(noted, path_of(first.max(2)), path_of(last), on_repeat(back));
        }
    }

    /// Everything that is known of a section, once what is around it is known.
    fn section(&mut self, number: SectionIndex) {
        let slot = self.section_slots.get(number as usize);
        let noted = slot
            .and_then(|&slot| self.slots.get(slot as usize))
            .copied()
            .unwrap_or_default();
        let walked = self.walked;
        for (manner, back) in VISITS {
            let here = noted.get(visit(manner, back)).copied().unwrap_or(0);
            if here > 0 {
                let (entry, leaving) = walked.paths.visit(number, manner);
                let gone_into = noted.get(GONE_INTO).is_some_and(|&times| times > 0);
                self.passes(number, entry, leaving, (manner, back), gone_into);
            }
        }
        let base = self
            .first_paths
            .get(number as usize)
            .copied()
            .unwrap_or_default();
        let mut sum = Noted::default();
        for (at, path) in walked.paths.paths(number).iter().enumerate() {
            add(&mut sum, self.paths.get(base + at));
            let has = |what: usize| sum.get(what).is_some_and(|&times| times > 0);
            let noted: Vec<usize> = (0..GONE_INTO).filter(|&what| has(what)).collect();
            if noted.is_empty() {
                continue;
            }
            if has(GOES_BACK) {
                self.coverage.repeats_made.extend(path.goes_back);
            }
            for (index, stretch) in path.stretches.iter().enumerate() {
                let gone_into = index > 0 || has(GONE_INTO);
                self.stretch(number, stretch.from, stretch.to, gone_into, &noted);
            }
        }
        self.level(number);
    }

    /// Sums up what is noted of a level's slots.
    fn level(&mut self, level: SectionIndex) {
        let mut sum = Noted::default();
        for item in items(self.ground, level) {
            let slot = match item {
                Item::Part(part) => self.part_slots.get(part as usize),
                Item::Section(section) => self.section_slots.get(section as usize),
            };
            let Some(slot) = slot.and_then(|&slot| self.slots.get_mut(slot as usize)) else {
                continue;
            };
            add(&mut sum, Some(slot));
            *slot = sum;
            if let Item::Part(part) = item {
                let bits = sum.iter().enumerate().filter(|&(_, &times)| times > 0);
                if let Some(times) = self.coverage.times.get_mut(part as usize) {
                    *times = Times(bits.fold(0, |bits, (what, _)| bits | 1 << what));
                }
            }
        }
    }
}

/// Notes something from one place to another, both included.
fn note(places: &mut [Noted], first: usize, last: usize, what: usize) {
    if first > last {
        return;
    }
    for (at, step) in [(first, 1), (last + 1, -1)] {
        if let Some(times) = places.get_mut(at).and_then(|noted| noted.get_mut(what)) {
            *times += step;
        }
    }
}

fn add(sum: &mut Noted, noted: Option<&Noted>) {
    for (sum, times) in sum.iter_mut().zip(noted.into_iter().flatten()) {
        *sum += times;
    }
}

/// What a level consists of.
#[derive(Clone, Copy)]
enum Item {
    Part(PartIndex),
    Section(SectionIndex),
}

/// The items of a level in written order.
fn items(ground: &Ground, level: SectionIndex) -> impl Iterator<Item = Item> + use<'_> {
    let sections: &Sections = &ground.sections;
    let (start, end) = sections
        .get(level)
        .map_or((0, ground.row.length()), |own| (own.start, own.end + 1));
    let mut part = start;
    std::iter::from_fn(move || {
        if part >= end {
            return None;
        }
        let inner = inner_at(sections, level, part);
        if let Some((inner, section)) = inner.and_then(|inner| Some((inner, sections.get(inner)?)))
        {
            part = section.end + 1;
            Some(Item::Section(inner))
        } else {
            part += 1;
            Some(Item::Part(part - 1))
        }
    })
}

#[cfg(test)]
mod tests;
