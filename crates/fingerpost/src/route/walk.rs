//! Walking a compiled route: one run of consecutive parts after the other, or from any step on.

use crate::roadmap::count::{occurrences_anew, occurrences_in_item, occurrences_on_pass};
use crate::roadmap::paths::{Manner, Path, ROW, inner_at};
use crate::roadmap::pieces::{Piece, What};
use crate::roadmap::row::PartIndex;
use crate::roadmap::sections::{DEEPEST, SectionIndex};
use crate::roadmap::{Plan, Roadmap};
use crate::route::{Cause, Enclosing};

/// A run of consecutive parts of one level.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PartRun {
    pub(crate) from: PartIndex,
    pub(crate) to: PartIndex,
    pub(crate) leg: u32,
    /// How its first part is come to; the others follow on.
    pub(crate) cause: Cause,
    pub(crate) marking: Option<u32>,
    pub(crate) pass: u32,
    /// The number of passes of the innermost section; 1 in no section.
    pub(crate) passes: u32,
    pub(crate) enclosing: Enclosing,
}

/// A place on a compiled route.
#[derive(Clone, Debug)]
pub(crate) struct Walk<'a> {
    roadmap: &'a Roadmap,
    next_piece: usize,
    leg: u32,
    cause: Cause,
    marking: Option<u32>,
    levels: Vec<Level<'a>>,
}

/// A level being walked.
#[derive(Clone, Copy, Debug)]
struct Level<'a> {
    section: SectionIndex,
    pass: u32,
    /// How many passes the section has; 1 outside all sections.
    passes: u32,
    /// The passes of the sections around it, outermost first.
    enclosing: Enclosing,
    /// The pass after which the level is left.
    last: u32,
    manner: Manner,
    /// The path of the pass; `None` for a single stretch.
    path: Option<&'a Path>,
    next_stretch: usize,
    at: PartIndex,
    /// The part before which the stretch ends.
    until: PartIndex,
}

impl<'a> Walk<'a> {
    /// At the beginning.
    pub(crate) fn new(roadmap: &'a Roadmap) -> Walk<'a> {
        Walk {
            roadmap,
            next_piece: 0,
            leg: 1,
            cause: Cause::On,
            marking: None,
            levels: Vec::with_capacity(9),
        }
    }

    /// The next run.
    pub(crate) fn next_run(&mut self) -> Option<PartRun> {
        let plan = &self.roadmap.plan;
        loop {
            let Some(level) = self.levels.last_mut() else {
                self.load()?;
                continue;
            };
            if level.at >= level.until {
                self.advance();
                continue;
            }
            if plan.sections.at(level.at).unwrap_or(ROW) != level.section {
                let inner = inner_at(&plan.sections, level.section, level.at)?;
                let manner = level.manner;
                self.enter(inner, manner);
                continue;
            }
            let from = level.at;
            let to = plan.level_until(from).min(level.until - 1);
            level.at = to + 1;
            return Some(PartRun {
                from,
                to,
                leg: self.leg,
                cause: std::mem::replace(&mut self.cause, Cause::On),
                marking: self.marking.take(),
                pass: level.pass,
                passes: level.passes,
                enclosing: level.enclosing,
            });
        }
    }

    fn load(&mut self) -> Option<()> {
        let piece = *self.roadmap.compiled.pieces.get(self.next_piece)?;
        self.next_piece += 1;
        self.leg = piece.leg;
        // What has moved the road since the last step stands, unless a sign moves it anew: a piece that only goes on does not.
        let goes_on = matches!(piece.cause, Cause::On | Cause::PastEnding);
        if self.cause == Cause::On || !goes_on {
            (self.cause, self.marking) = (piece.cause, piece.marking);
        }
        self.levels.push(self.first_level(&piece));
        Some(())
    }

    fn first_level(&self, piece: &Piece) -> Level<'a> {
        let plan = &self.roadmap.plan;
        let (pass, enclosing) = self.around(piece);
        match piece.what {
            What::Stretch {
                level,
                from,
                to,
                manner,
            } => Level {
                section: level,
                pass,
                passes: plan.sections.get(level).map_or(1, |own| own.passes),
                enclosing,
                last: pass,
                manner,
                path: None,
                next_stretch: 0,
                at: from,
                until: to + 1,
            },
            What::Passes {
                section,
                first,
                last,
            } => {
                let mut enclosing = enclosing;
                if piece.context.is_some() {
                    enclosing.push(pass);
                }
                let passes = plan.sections.get(section).map_or(1, |own| own.passes);
                let path = Some(plan.paths.path(section, first));
                let (manner, next_stretch, at, until) = (Manner::First, 0, 0, 0);
                Level {
                    section,
                    pass: first,
                    passes,
                    enclosing,
                    last,
                    manner,
                    path,
                    next_stretch,
                    at,
                    until,
                }
            }
        }
    }

    /// The pass of the innermost section around a piece, and those of the sections around that one.
    fn around(&self, piece: &Piece) -> (u32, Enclosing) {
        let contexts = &self.roadmap.compiled.contexts;
        let mut passes = [0; DEEPEST];
        let mut next = piece.context.and_then(|index| contexts.get(index as usize));
        let mut deep = DEEPEST;
        while let (Some(context), Some(slot)) =
            (next, deep.checked_sub(1).and_then(|at| passes.get_mut(at)))
        {
            *slot = context.pass;
            deep -= 1;
            next = context
                .around
                .and_then(|index| contexts.get(index as usize));
        }
        let mut enclosing = Enclosing::default();
        let (innermost, around) = passes
            .split_last()
            .map_or((1, [].as_slice()), |(last, around)| (*last, around));
        around
            .iter()
            .filter(|&&pass| pass > 0)
            .for_each(|&pass| enclosing.push(pass));
        (innermost.max(1), enclosing)
    }

    fn enter(&mut self, section: SectionIndex, manner: Manner) {
        let plan = &self.roadmap.plan;
        let Some(own) = plan.sections.get(section) else {
            return;
        };
        let mut enclosing = Enclosing::default();
        if let Some(outer) = self.levels.last().filter(|outer| outer.section != ROW) {
            enclosing = outer.enclosing;
            enclosing.push(outer.pass);
        }
        let (pass, last) = plan.paths.visit(section, manner);
        self.levels.push(Level {
            section,
            pass,
            passes: own.passes,
            enclosing,
            last,
            manner,
            path: Some(plan.paths.path(section, pass)),
            next_stretch: 0,
            at: 0,
            until: 0,
        });
    }

    /// At the end of a stretch: on to the next stretch, to the next pass, or out of the level.
    fn advance(&mut self) {
        let plan = &self.roadmap.plan;
        let Some(level) = self.levels.last_mut() else {
            return;
        };
        let mut passed = None;
        if let Some(path) = level.path {
            if let Some(stretch) = path.stretches.get(level.next_stretch) {
                level.next_stretch += 1;
                (level.at, level.until) = (stretch.from, stretch.to + 1);
                passed = stretch.passed;
            } else if level.pass < level.last {
                level.pass += 1;
                if path.last_pass < level.pass {
                    level.path = Some(plan.paths.path(level.section, level.pass));
                }
                level.manner = Manner::First;
                level.next_stretch = 0;
                (self.cause, self.marking) = (Cause::Repeat, path.goes_back);
                return;
            } else {
                let section = level.section;
                passed = path.trailing;
                self.leave(section);
            }
        } else {
            let section = level.section;
            self.leave(section);
        }
        if self.cause == Cause::On && passed.is_some() {
            (self.cause, self.marking) = (Cause::PastEnding, passed);
        }
    }

    fn leave(&mut self, section: SectionIndex) {
        self.levels.pop();
        if let Some(outer) = self.levels.last_mut() {
            outer.at = self
                .roadmap
                .plan
                .sections
                .get(section)
                .map_or(outer.until, |own| own.end + 1);
        }
    }

    /// The place of the step at `index`: after this, the next run begins with that step (its cause is not known here).
    pub(crate) fn seek(roadmap: &'a Roadmap, index: u64) -> Option<Walk<'a>> {
        let compiled = &roadmap.compiled;
        if index >= compiled.length {
            return None;
        }
        let piece_at = compiled
            .pieces
            .partition_point(|piece| piece.before <= index)
            .checked_sub(1)?;
        let piece = *compiled.pieces.get(piece_at)?;
        let mut walk = Walk::new(roadmap);
        walk.next_piece = piece_at + 1;
        walk.leg = piece.leg;
        let mut level = walk.first_level(&piece);
        let mut offset = u128::from(index - piece.before);
        let plan = &roadmap.plan;
        loop {
            if level.path.is_some() {
                offset = seek_pass(plan, &mut level, offset)?;
            }
            let at = part_at(plan, &level, offset);
            let item = inner_at(&plan.sections, level.section, at);
            let start = item
                .and_then(|inner| plan.sections.get(inner))
                .map_or(at, |section| section.start);
            offset = offset.saturating_sub(plan.before(&level, start));
            level.at = start;
            let manner = level.manner;
            walk.levels.push(level);
            let Some(inner) = item else { return Some(walk) };
            walk.enter(inner, manner);
            level = walk.levels.pop()?;
        }
    }

    /// Whether the part that comes next follows on from the part before it on the same stretch. The walk has just been placed by
    /// [`Walk::seek`].
    pub(crate) fn follows_on(&self) -> bool {
        let Some(level) = self.levels.last() else {
            return false;
        };
        let piece = self
            .roadmap
            .compiled
            .pieces
            .get(self.next_piece.saturating_sub(1));
        let from = match (level.path, piece.map(|piece| piece.what)) {
            (Some(path), _) => {
                let stretch = level.next_stretch.checked_sub(1);
                stretch
                    .and_then(|at| path.stretches.get(at))
                    .map(|stretch| stretch.from)
            }
            (None, Some(What::Stretch { from, .. })) => Some(from),
            _ => None,
        };
        let sections = &self.roadmap.plan.sections;
        from.is_some_and(|from| from < level.at)
            && sections.at(level.at - 1) == sections.at(level.at)
    }

    /// How often the part that comes next has been played before. The walk has just been placed by [`Walk::seek`].
    pub(crate) fn visits_before(&self) -> u64 {
        let Some(part) = self.levels.last().map(|level| level.at) else {
            return 0;
        };
        let (sections, paths) = (&self.roadmap.plan.sections, &self.roadmap.plan.paths);
        let whole = self
            .roadmap
            .compiled
            .pieces
            .get(..self.next_piece.saturating_sub(1))
            .unwrap_or_default();
        let mut sum: u64 = whole
            .iter()
            .map(|piece| occurrences_in_piece(self.roadmap, piece, part))
            .fold(0, u64::saturating_add);
        // The pass on which a level was entered, and in which manner.
        let mut entered = self
            .roadmap
            .compiled
            .pieces
            .get(self.next_piece.saturating_sub(1))
            .map(|piece| self.first_level(piece))
            .map(|level| (level.pass, level.manner));
        for level in &self.levels {
            if level.path.is_some() {
                let Some((pass, manner)) = entered else { break };
                if pass < level.pass {
                    let first =
                        occurrences_on_pass(sections, paths, level.section, pass, manner, part);
                    let others = occurrences_anew(
                        sections,
                        paths,
                        level.section,
                        pass + 1,
                        level.pass - 1,
                        part,
                    );
                    sum = sum.saturating_add(first).saturating_add(others);
                }
            }
            entered = inner_at(sections, level.section, level.at)
                .map(|inner| (paths.visit(inner, level.manner).0, level.manner));
        }
        sum
    }
}

/// How often a part is played in a piece.
pub(crate) fn occurrences_in_piece(roadmap: &Roadmap, piece: &Piece, part: PartIndex) -> u64 {
    let (sections, paths) = (&roadmap.plan.sections, &roadmap.plan.paths);
    match piece.what {
        What::Stretch {
            level,
            from,
            to,
            manner,
        } => {
            if from <= part && part <= to {
                occurrences_in_item(sections, paths, level, manner, part)
            } else {
                0
            }
        }
        What::Passes {
            section,
            first,
            last,
        } => {
            let holds = sections
                .get(section)
                .is_some_and(|own| own.start <= part && part <= own.end);
            if holds {
                occurrences_anew(sections, paths, section, first, last, part)
            } else {
                0
            }
        }
    }
}

/// Brings a level to the pass and the stretch that hold an offset, and returns what is left of the offset.
fn seek_pass<'a>(plan: &'a Plan, level: &mut Level<'a>, mut offset: u128) -> Option<u128> {
    let first = plan
        .paths
        .passes_length(level.section, level.pass, level.pass, level.manner);
    if offset >= first {
        offset -= first;
        level.manner = Manner::First;
        let list = plan.paths.paths(level.section);
        let mut pass = level.pass + 1;
        let from = list.partition_point(|path| path.last_pass < pass);
        for path in list.get(from..).unwrap_or_default() {
            let once = plan
                .paths
                .passes_length(level.section, pass, pass, Manner::First);
            let times = u128::from(path.last_pass.min(level.last).saturating_sub(pass) + 1);
            if offset < once.saturating_mul(times) {
                pass += u32::try_from(offset / once).ok()?;
                offset %= once;
                break;
            }
            offset -= once * times;
            pass = path.last_pass + 1;
        }
        level.pass = pass;
        level.path = Some(plan.paths.path(level.section, pass));
    }
    let stretches = &level.path?.stretches;
    for (index, stretch) in stretches.iter().enumerate() {
        let length = plan.paths.stretch_length(
            &plan.sections,
            level.section,
            stretch.from,
            stretch.to,
            level.manner,
        );
        if offset < length {
            level.next_stretch = index + 1;
            (level.at, level.until) = (stretch.from, stretch.to + 1);
            return Some(offset);
        }
        offset -= length;
    }
    None
}

/// The part of a level's stretch that is, or whose inner section is, at an offset from where the level stands.
fn part_at(plan: &Plan, level: &Level<'_>, offset: u128) -> PartIndex {
    let (mut low, mut high) = (level.at, level.until - 1);
    while low < high {
        let middle = low + (high - low).div_ceil(2);
        if plan.before(level, middle) <= offset {
            low = middle;
        } else {
            high = middle - 1;
        }
    }
    low
}

impl Plan {
    /// How much of a level comes before a part, counted from where the level stands.
    fn before(&self, level: &Level<'_>, part: PartIndex) -> u128 {
        let before = |part| {
            self.paths
                .before(&self.sections, level.section, part, level.manner)
        };
        before(part).saturating_sub(before(level.at))
    }
}
