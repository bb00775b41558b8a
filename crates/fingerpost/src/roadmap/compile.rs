//! Works out the route of a board as a list of pieces, each however long, by following the rules of chapters 3 to 5 from one mark that
//! may act to the next.

use std::collections::HashSet;

use super::laid::Laid;
use super::paths::{Manner, Path, Paths, ROW, inner_at, path_from};
use super::pieces::{Compiled, Writer};
use super::progress::Progress;
use super::row::PartIndex;
use super::sections::{SectionIndex, Sections};
use super::watch::{Act, Watch};
use crate::board::Repeats;
use crate::reading::Reading;
use crate::route::Cause;

/// What only walking can find wrong with a board.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum WalkFault {
    /// A jump lands in an ending that is not played on the pass it lands on.
    LandingInEnding {
        landing: PartIndex,
        ending: u32,
        by: u32,
        pass: u32,
    },
    /// The route is longer, or in more stretches, than can be counted.
    TooLong,
}

/// How the road comes to a part.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Coming {
    /// By going on or back.
    Walking,
    /// To a segno or coda.
    Landing,
}

enum Exit {
    Past,
    Back(u32),
    Act(Act),
}

struct Compiler<'a> {
    laid: &'a Laid,
    sections: &'a Sections,
    paths: &'a Paths,
    reading: Reading,
    watch: Watch<'a>,
    progress: Progress<'a>,
    writer: Writer<'a>,
    /// Whether repeats are made in this leg, as far as its jump and the reading say; absent in the first leg.
    return_repeats: Option<Repeats>,
    /// The marks that have been obeyed, as markings.
    obeyed: HashSet<u32>,
    /// How much work has been done, in looks at single things.
    work: usize,
    most_work: usize,
}

/// How much work a board may make before it is taken to be beyond reckoning. Boards of any sense stay far below it.
const MOST_WORK: usize = 4_000_000;

/// Compiles a route. Beside it: the Fines, To Codas, jumps and (for al Segno) segnos obeyed on it, as markings.
pub(crate) fn compile(
    laid: &Laid,
    sections: &Sections,
    paths: &Paths,
    reading: Reading,
) -> Result<(Compiled, HashSet<u32>), WalkFault> {
    compile_within(laid, sections, paths, reading, MOST_WORK)
}

/// The same, but no further than so much work.
fn compile_within(
    laid: &Laid,
    sections: &Sections,
    paths: &Paths,
    reading: Reading,
    most_work: usize,
) -> Result<(Compiled, HashSet<u32>), WalkFault> {
    let mut compiler = Compiler {
        laid,
        sections,
        paths,
        reading,
        watch: Watch::new(laid, sections, reading),
        progress: Progress::new(sections, paths),
        writer: Writer::new(sections, paths),
        return_repeats: None,
        obeyed: HashSet::new(),
        work: 0,
        most_work,
    };
    compiler.run()?;
    Ok((compiler.writer.finish()?, compiler.obeyed))
}

impl Compiler<'_> {
    fn run(&mut self) -> Result<(), WalkFault> {
        let (mut at, mut coming) = (0, Coming::Walking);
        while let Exit::Act(Act::Jump(index)) = self.level(ROW, 1, at, coming)? {
            let laid = self.laid;
            let Some(jump) = laid.jumps.get(index) else {
                break;
            };
            self.return_repeats = Some(jump.repeats.unwrap_or(self.reading.repeats_on_return));
            self.watch.arm(jump);
            let cause = if jump.da_capo {
                (at, coming) = (0, Coming::Walking);
                Cause::DaCapo
            } else {
                let segno = laid.segno(jump.segno).map_or(0, |segno| segno.part);
                (at, coming) = (segno, Coming::Landing);
                Cause::DalSegno
            };
            self.writer.begin_leg(cause, jump.marking, at);
        }
        Ok(())
    }

    /// Follows the path of a level on a pass from a part on.
    fn level(
        &mut self,
        level: SectionIndex,
        pass: u32,
        mut at: PartIndex,
        mut coming: Coming,
    ) -> Result<Exit, WalkFault> {
        let paths = self.paths;
        let mut own;
        let mut path = paths.path(level, pass);
        'placed: loop {
            let mut next = path.stretches.partition_point(|stretch| stretch.to < at);
            if coming == Coming::Landing {
                self.land(level, pass, at)?;
                let beyond = path.goes_back.is_some() && next == path.stretches.len();
                if let Some(section) = self.sections.get(level).filter(|_| beyond) {
                    // The landing lies behind the end repeat at which this pass would have gone back.
                    own = path_from(section, self.laid, pass, at);
                    path = &own;
                    next = 0;
                }
            }
            while let Some(stretch) = path.stretches.get(next).copied() {
                at = at.max(stretch.from);
                self.writer.pass_over(stretch.passed);
                let exit = self.stretch(level, path, next, at, coming)?;
                coming = Coming::Walking;
                match exit {
                    None => next += 1,
                    Some(Exit::Act(Act::Coda { to, marking })) => {
                        self.writer.come(Cause::ToCoda, Some(marking), to);
                        let within = self
                            .sections
                            .get(level)
                            .is_none_or(|s| s.start <= to && to <= s.end);
                        if !within {
                            return Ok(Exit::Act(Act::Coda { to, marking }));
                        }
                        (at, coming) = (to, Coming::Landing);
                        path = paths.path(level, pass);
                        continue 'placed;
                    }
                    Some(exit) => return Ok(exit),
                }
            }
            self.writer.pass_over(path.trailing);
            return Ok(path.goes_back.map_or(Exit::Past, Exit::Back));
        }
    }

    /// Follows one stretch of a path from a part on; `None` when it comes through to its end.
    fn stretch(
        &mut self,
        level: SectionIndex,
        path: &Path,
        index: usize,
        mut at: PartIndex,
        mut coming: Coming,
    ) -> Result<Option<Exit>, WalkFault> {
        let Some(stretch) = path.stretches.get(index).copied() else {
            return Ok(None);
        };
        let goes_back = path.goes_back.is_some() && index + 1 == path.stretches.len();
        while at <= stretch.to {
            let landing = std::mem::replace(&mut coming, Coming::Walking) == Coming::Landing;
            if let Some(inner) = inner_at(self.sections, level, at).filter(|_| landing) {
                let exit = self.section(inner, at, Coming::Landing)?;
                let Exit::Past = exit else {
                    return Ok(Some(exit));
                };
                at = self.end_of(inner) + 1;
                continue;
            }
            if self.leaves_at_segno(level, at) {
                let act = self.watch.at_segno();
                return Ok(Some(self.obey(act)));
            }
            self.spend(1)?;
            let Some(stop) = self.next_stop(level, at, stretch.to) else {
                self.writer
                    .emit_stretch(level, at, stretch.to, self.return_manner())?;
                return Ok(None);
            };
            if at < stop {
                self.writer
                    .emit_stretch(level, at, stop - 1, self.return_manner())?;
                at = stop;
            } else if let Some(inner) = inner_at(self.sections, level, at) {
                if let Some(exit) = self.inner(level, inner, at)? {
                    return Ok(Some(exit));
                }
                at = self.end_of(inner) + 1;
            } else {
                self.writer
                    .emit_stretch(level, at, at, self.return_manner())?;
                if let Some(act) = self.act_at_end(at, goes_back && at == stretch.to) {
                    return Ok(Some(self.obey(act)));
                }
                at += 1;
            }
        }
        Ok(None)
    }

    /// Whether the road goes on into the part of an al Segno's segno: not when a jump or an end repeat has led it there, and not when the
    /// segno lies in an ending with which a section begins and which is passed over.
    fn leaves_at_segno(&self, level: SectionIndex, at: PartIndex) -> bool {
        if self.watch.segno() != Some(at) || self.writer.has_landed_on(at) {
            return false;
        }
        let mut level = level;
        while let Some(inner) = inner_at(self.sections, level, at) {
            let path = self.paths.path(inner, self.entry(inner));
            if path.stretches.first().is_none_or(|first| first.from != at) {
                return false;
            }
            level = inner;
        }
        true
    }

    /// The next item of a level, from `at` to `to`, that needs a look: one with a mark that may act, an inner section that is not finished, or
    /// the segno at which the road is to be left.
    fn next_stop(&self, level: SectionIndex, at: PartIndex, to: PartIndex) -> Option<PartIndex> {
        let start_of = |number: SectionIndex| self.sections.get(number).map(|own| own.start);
        let item = |part: PartIndex| {
            let inner = inner_at(self.sections, level, part);
            inner.and_then(start_of).unwrap_or(part)
        };
        let mark = self.watch.next_from(at).filter(|&part| part <= to);
        let segno = self.watch.segno();
        let segno = segno.filter(|&part| at < part && part <= to);
        let from_here = self.sections.list.partition_point(|own| own.start < at);
        let from_here = SectionIndex::try_from(from_here).unwrap_or(ROW);
        let unfinished = self.progress.next_unfinished(from_here);
        let unfinished = unfinished.and_then(start_of).filter(|&start| start <= to);
        [mark.map(item), segno.map(item), unfinished]
            .into_iter()
            .flatten()
            .min()
    }

    /// An inner section that needs a look, come to at its start; `None` when the road comes through it.
    fn inner(
        &mut self,
        level: SectionIndex,
        inner: SectionIndex,
        at: PartIndex,
    ) -> Result<Option<Exit>, WalkFault> {
        let end = self.end_of(inner);
        if self.progress.is_fresh(inner) && !self.watch.any_in(at, end) {
            self.writer.emit_stretch(level, at, end, Manner::First)?;
            self.progress.finish_anew(inner);
            return Ok(None);
        }
        match self.section(inner, at, Coming::Walking)? {
            Exit::Past => Ok(None),
            exit => Ok(Some(exit)),
        }
    }

    fn spend(&mut self, work: usize) -> Result<(), WalkFault> {
        self.work = self.work.saturating_add(work);
        if self.work.saturating_add(self.watch.looked()) > self.most_work {
            return Err(WalkFault::TooLong);
        }
        Ok(())
    }

    fn act_at_end(&mut self, part: PartIndex, goes_back: bool) -> Option<Act> {
        if self.watch.next_from(part) != Some(part) {
            return None;
        }
        let around = self.writer.around();
        self.watch.at_end(part, goes_back, &around)
    }

    fn obey(&mut self, act: Act) -> Exit {
        let marking = match act {
            Act::Stop { marking } | Act::Coda { marking, .. } => Some(marking),
            Act::Jump(at) => self.laid.jumps.get(at).map(|jump| jump.marking),
        };
        self.obeyed.extend(marking);
        Exit::Act(act)
    }

    /// Enters a section at a part of it and follows its passes.
    fn section(
        &mut self,
        number: SectionIndex,
        mut at: PartIndex,
        mut coming: Coming,
    ) -> Result<Exit, WalkFault> {
        let Some(section) = self.sections.get(number) else {
            return Ok(Exit::Past);
        };
        let has_inner = section.after_inner > number + 1;
        let mut pass = self.entry(number);
        let mut first = true;
        self.progress.begin(number);
        self.writer.enter(number, pass);
        loop {
            if at == section.start && coming == Coming::Walking && !(first && has_inner) {
                let leaving = self.paths.leaving_pass(number, pass);
                let (paths, sections) = (self.paths, self.sections);
                let occurrences = |part: PartIndex, from: u32, to: u32| {
                    super::count::occurrences_anew(sections, paths, number, from, to, part)
                };
                let acts = self
                    .watch
                    .first_pass_to_act(number, pass, leaving, &occurrences)
                    .filter(|&acts| acts <= leaving);
                let quiet = acts.map_or(leaving, |acts| acts.saturating_sub(1));
                if quiet >= pass {
                    for part in self.watch.counted_in(section.start, section.end) {
                        let arrivals = occurrences(part, pass, quiet);
                        self.watch.count(part, arrivals);
                    }
                    self.writer.leave();
                    self.writer.emit_passes(number, pass, quiet)?;
                    self.progress.reach(number, quiet);
                    let path = paths.path(number, quiet);
                    if acts.is_none() {
                        self.writer.pass_over(path.trailing);
                        self.progress.finish_inner_anew(number);
                        self.progress.finish_if_whole(number);
                        return Ok(Exit::Past);
                    }
                    pass = quiet + 1;
                    self.obeyed.extend(path.goes_back);
                    self.writer.enter(number, pass);
                    self.writer
                        .come(Cause::Repeat, path.goes_back, section.start);
                    self.spend((section.after_inner - number) as usize)?;
                    self.progress.reset_inner(number);
                }
            }
            self.progress.reach(number, pass);
            match self.level(number, pass, at, coming)? {
                Exit::Back(marking) => {
                    // It is made also where nothing more is played after it.
                    self.obeyed.insert(marking);
                    pass += 1;
                    self.writer.leave();
                    self.writer.enter(number, pass);
                    self.writer
                        .come(Cause::Repeat, Some(marking), section.start);
                    self.spend((section.after_inner - number) as usize)?;
                    self.progress.reset_inner(number);
                    (at, coming, first) = (section.start, Coming::Walking, false);
                }
                Exit::Past => {
                    self.writer.leave();
                    self.progress.finish_if_whole(number);
                    return Ok(Exit::Past);
                }
                exit @ Exit::Act(_) => {
                    self.writer.leave();
                    return Ok(exit);
                }
            }
        }
    }

    /// The pass on which a section is entered now. Rulebook, chapter 5.
    fn entry(&self, number: SectionIndex) -> u32 {
        let Some(section) = self.sections.get(number) else {
            return 1;
        };
        let on = self
            .progress
            .reached_pass(number)
            .saturating_add(1)
            .min(section.passes);
        let (anew, _) = self.paths.visit(number, Manner::First);
        if anew != 1 {
            // Repeats are omitted: a section is played on its last pass.
            return anew;
        }
        match self
            .return_repeats
            .map(|repeats| section.on_return.unwrap_or(repeats))
        {
            Some(Repeats::Play) if !section.jump_closed => 1,
            _ => on,
        }
    }

    fn return_manner(&self) -> Manner {
        match self.return_repeats {
            None => Manner::First,
            Some(Repeats::Skip) => Manner::Skipping,
            Some(Repeats::Play) => Manner::Playing,
        }
    }

    /// Refuses a landing in an ending that is not played on this pass.
    fn land(&self, level: SectionIndex, pass: u32, at: PartIndex) -> Result<(), WalkFault> {
        let Some(section) = self.sections.get(level) else {
            return Ok(());
        };
        let Some(index) = section.ending_at(self.laid, at) else {
            return Ok(());
        };
        let Some(ending) = self.laid.endings.get(index as usize) else {
            return Ok(());
        };
        if ending.passes.contains(pass) {
            return Ok(());
        }
        Err(WalkFault::LandingInEnding {
            landing: at,
            ending: ending.marking,
            by: self.writer.sent_by().unwrap_or(0),
            pass,
        })
    }

    fn end_of(&self, number: SectionIndex) -> PartIndex {
        self.sections.get(number).map_or(0, |section| section.end)
    }
}

#[cfg(test)]
mod tests;
