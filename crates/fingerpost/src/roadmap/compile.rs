//! Works out the route of a board as a list of pieces, each however long, by following the rules of chapters 3 to 5 from one mark that
//! may act to the next.

use std::collections::BTreeSet;

use super::laid::Laid;
use super::paths::{LONGEST, MOST_STRETCHES, Manner, Path, Paths, ROW, inner_at, path_from};
use super::row::PartIndex;
use super::sections::{SectionIndex, Sections};
use super::watch::{Act, Watch};
use crate::board::Repeats;
use crate::reading::Reading;
use crate::route::Cause;

/// A piece of the route: something that can be taken at once.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Piece {
    /// How many steps of the route come before it.
    pub(crate) before: u64,
    pub(crate) what: What,
    /// The sections around it with their passes, as a place in [`Compiled::contexts`].
    pub(crate) context: Option<u32>,
    pub(crate) leg: u32,
    /// How its first step is come to.
    pub(crate) cause: Cause,
    pub(crate) marking: Option<u32>,
}

/// What a piece is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum What {
    /// A stretch of a level's path, both ends included; the context holds the level itself.
    Stretch {
        level: SectionIndex,
        from: PartIndex,
        to: PartIndex,
        manner: Manner,
    },
    /// Whole passes of a section, both included, its inner sections come to anew on each; the context is what is around the section.
    Passes {
        section: SectionIndex,
        first: u32,
        last: u32,
    },
}

/// A section on a pass, and what is around it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Context {
    pub(crate) around: Option<u32>,
    pub(crate) section: SectionIndex,
    pub(crate) pass: u32,
}

/// A compiled route.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Compiled {
    pub(crate) pieces: Vec<Piece>,
    pub(crate) contexts: Vec<Context>,
    pub(crate) length: u64,
}

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

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Status {
    Fresh,
    Finished,
    /// Entered, and not finished or not wholly so.
    Begun,
}

struct Frame {
    section: SectionIndex,
    pass: u32,
    context: Option<u32>,
}

struct Compiler<'a> {
    laid: &'a Laid,
    sections: &'a Sections,
    paths: &'a Paths,
    reading: Reading,
    watch: Watch<'a>,
    status: Vec<Status>,
    reached: Vec<u32>,
    /// The sections that are not finished.
    unfinished: BTreeSet<SectionIndex>,
    frames: Vec<Frame>,
    leg: u32,
    /// What the jump of this leg says of repeats.
    return_repeats: Option<Repeats>,
    /// How the next step is come to.
    cause: Cause,
    marking: Option<u32>,
    /// The part on which a D.C. or a landing has just put the road.
    landed: Option<PartIndex>,
    length: u128,
    stops: usize,
    out: Compiled,
}

/// How many marks may be passed without acting before the board is taken to be beyond reckoning.
const MOST_STOPS: usize = 20_000_000;

/// Compiles a route.
pub(crate) fn compile(
    laid: &Laid,
    sections: &Sections,
    paths: &Paths,
    reading: Reading,
) -> Result<Compiled, WalkFault> {
    let count = sections.list.len();
    let mut compiler = Compiler {
        laid,
        sections,
        paths,
        reading,
        watch: Watch::new(laid, sections, reading),
        status: vec![Status::Fresh; count],
        reached: vec![0; count],
        unfinished: (0..SectionIndex::try_from(count).unwrap_or(ROW)).collect(),
        frames: Vec::new(),
        leg: 1,
        return_repeats: None,
        cause: Cause::Start,
        marking: None,
        landed: None,
        length: 0,
        stops: 0,
        out: Compiled {
            pieces: Vec::new(),
            contexts: Vec::new(),
            length: 0,
        },
    };
    compiler.run()?;
    let mut out = compiler.out;
    out.length = u64::try_from(compiler.length).map_err(|_| WalkFault::TooLong)?;
    Ok(out)
}

impl Compiler<'_> {
    fn run(&mut self) -> Result<(), WalkFault> {
        let (mut at, mut coming) = (0, Coming::Walking);
        while let Exit::Act(Act::Jump(index)) = self.level(ROW, 1, at, coming)? {
            let laid = self.laid;
            let Some(jump) = laid.jumps.get(index) else {
                break;
            };
            self.leg = self.leg.saturating_add(1);
            self.return_repeats = Some(jump.repeats.unwrap_or(self.reading.repeats_on_return));
            self.watch.arm(jump);
            let segno = laid.segno(jump.segno).map_or(0, |segno| segno.part);
            (at, coming, self.cause) = if jump.da_capo {
                (0, Coming::Walking, Cause::DaCapo)
            } else {
                (segno, Coming::Landing, Cause::DalSegno)
            };
            self.marking = Some(jump.marking);
            self.landed = Some(at);
            self.frames.clear();
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
                if at < stretch.from {
                    at = stretch.from;
                    self.pass_over(stretch.passed);
                }
                let exit = self.stretch(level, path, next, at, coming)?;
                coming = Coming::Walking;
                match exit {
                    None => next += 1,
                    Some(Exit::Act(Act::Coda { to, marking })) => {
                        self.cause = Cause::ToCoda;
                        self.marking = Some(marking);
                        self.landed = None;
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
            self.pass_over(path.trailing);
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
            if self.watch.segno() == Some(at) && self.landed != Some(at) {
                let act = self.watch.at_segno();
                return Ok(Some(Exit::Act(act)));
            }
            self.stops += 1;
            if self.stops > MOST_STOPS {
                return Err(WalkFault::TooLong);
            }
            let Some(stop) = self.next_stop(level, at, stretch.to) else {
                self.emit_stretch(level, at, stretch.to, self.return_manner())?;
                return Ok(None);
            };
            if at < stop {
                self.emit_stretch(level, at, stop - 1, self.return_manner())?;
                at = stop;
            } else if let Some(inner) = inner_at(self.sections, level, at) {
                if let Some(exit) = self.inner(level, inner, at)? {
                    return Ok(Some(exit));
                }
                at = self.end_of(inner) + 1;
            } else {
                self.emit_stretch(level, at, at, self.return_manner())?;
                if let Some(act) = self.act_at_end(at, goes_back && at == stretch.to) {
                    return Ok(Some(Exit::Act(act)));
                }
                at += 1;
            }
        }
        Ok(None)
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
        let unfinished = self.unfinished.range(from_here..).next().copied();
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
        let fresh = self.status.get(inner as usize) == Some(&Status::Fresh);
        if fresh && !self.watch.any_in(at, end) {
            self.emit_stretch(level, at, end, Manner::First)?;
            self.finish_anew(inner);
            return Ok(None);
        }
        match self.section(inner, at, Coming::Walking)? {
            Exit::Past => Ok(None),
            exit => Ok(Some(exit)),
        }
    }

    fn act_at_end(&mut self, part: PartIndex, goes_back: bool) -> Option<Act> {
        if self.watch.next_from(part) != Some(part) {
            return None;
        }
        let frames = self.frames.iter();
        let around: Vec<(SectionIndex, u32)> =
            frames.map(|frame| (frame.section, frame.pass)).collect();
        self.watch.at_end(part, goes_back, &around)
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
        self.begin(number);
        self.frames.push(Frame {
            section: number,
            pass,
            context: None,
        });
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
                    for (part, mark) in self.watch.counted_in(section.start, section.end) {
                        let arrivals = occurrences(part, pass, quiet);
                        self.watch.count(part, mark, arrivals);
                    }
                    self.frames.pop();
                    self.emit_passes(number, pass, quiet)?;
                    self.reach(number, quiet);
                    let path = paths.path(number, quiet);
                    if acts.is_none() {
                        self.pass_over(path.trailing);
                        self.finish_inner_anew(number);
                        self.finish_if_whole(number);
                        return Ok(Exit::Past);
                    }
                    pass = quiet + 1;
                    self.frames.push(Frame {
                        section: number,
                        pass,
                        context: None,
                    });
                    self.go_back(path.goes_back);
                    self.reset_inner(number);
                }
            }
            self.reach(number, pass);
            match self.level(number, pass, at, coming)? {
                Exit::Back(marking) => {
                    pass += 1;
                    if let Some(frame) = self.frames.last_mut() {
                        *frame = Frame {
                            section: number,
                            pass,
                            context: None,
                        };
                    }
                    self.go_back(Some(marking));
                    self.reset_inner(number);
                    (at, coming, first) = (section.start, Coming::Walking, false);
                }
                Exit::Past => {
                    self.frames.pop();
                    self.finish_if_whole(number);
                    return Ok(Exit::Past);
                }
                exit @ Exit::Act(_) => {
                    self.frames.pop();
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
            .reached_pass(number)
            .saturating_add(1)
            .min(section.passes);
        let anew = self.paths.entry(section, Manner::First);
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
            by: self.marking.unwrap_or(0),
            pass,
        })
    }

    /// An ending is passed over, unless the road has only now come here by a jump or a repeat.
    fn pass_over(&mut self, ending: Option<u32>) {
        if self.cause == Cause::On && ending.is_some() {
            self.cause = Cause::PastEnding;
            self.marking = ending;
        }
    }

    fn go_back(&mut self, end_repeat: Option<u32>) {
        self.cause = Cause::Repeat;
        self.marking = end_repeat;
        self.landed = None;
    }

    fn end_of(&self, number: SectionIndex) -> PartIndex {
        self.sections.get(number).map_or(0, |section| section.end)
    }

    fn reached_pass(&self, number: SectionIndex) -> u32 {
        match self.status.get(number as usize) {
            Some(Status::Finished) => self
                .sections
                .get(number)
                .map_or(1, |section| section.passes),
            Some(Status::Begun) => self.reached.get(number as usize).copied().unwrap_or(0),
            _ => 0,
        }
    }

    fn reach(&mut self, number: SectionIndex, pass: u32) {
        if let Some(reached) = self.reached.get_mut(number as usize) {
            *reached = pass.max(*reached);
        }
    }

    fn set(&mut self, number: SectionIndex, status: Status) {
        if let Some(slot) = self.status.get_mut(number as usize) {
            *slot = status;
        }
        if status == Status::Finished {
            self.unfinished.remove(&number);
        } else {
            self.unfinished.insert(number);
        }
    }

    fn begin(&mut self, number: SectionIndex) {
        let reached = self.reached_pass(number);
        if let Some(slot) = self.reached.get_mut(number as usize) {
            *slot = reached;
        }
        self.set(number, Status::Begun);
    }

    /// A section is finished when its last pass is reached and everything in it is finished; one that does not always go back is taken pass by pass.
    fn finish_if_whole(&mut self, number: SectionIndex) {
        let Some(section) = self.sections.get(number) else {
            return;
        };
        let whole = self
            .unfinished
            .range(number + 1..section.after_inner)
            .next()
            .is_none();
        if whole && self.paths.is_regular(number) && self.reached_pass(number) == section.passes {
            self.set(number, Status::Finished);
        }
    }

    /// A section has been played anew, from its first pass until it was left.
    fn finish_anew(&mut self, number: SectionIndex) {
        let Some(section) = self.sections.get(number) else {
            return;
        };
        let after = section.after_inner;
        for inner in (number..after).rev() {
            let Some(section) = self.sections.get(inner) else {
                continue;
            };
            let leaving = self
                .paths
                .leaving_pass(inner, self.paths.entry(section, Manner::First));
            if self.paths.is_regular(inner) {
                self.set(inner, Status::Finished);
            } else {
                self.set(inner, Status::Begun);
                if let Some(slot) = self.reached.get_mut(inner as usize) {
                    *slot = leaving;
                }
            }
        }
    }

    fn finish_inner_anew(&mut self, number: SectionIndex) {
        let Some(section) = self.sections.get(number) else {
            return;
        };
        let mut inner = number + 1;
        while inner < section.after_inner {
            self.finish_anew(inner);
            inner = self
                .sections
                .get(inner)
                .map_or(inner + 1, |section| section.after_inner);
        }
    }

    /// A section goes back: the counts of those inside it start over.
    fn reset_inner(&mut self, number: SectionIndex) {
        let Some(section) = self.sections.get(number) else {
            return;
        };
        for inner in number + 1..section.after_inner {
            self.set(inner, Status::Fresh);
        }
    }

    fn context(&mut self) -> Option<u32> {
        let mut around = None;
        for frame in &mut self.frames {
            let index = *frame.context.get_or_insert_with(|| {
                let index = u32::try_from(self.out.contexts.len()).unwrap_or(u32::MAX);
                self.out.contexts.push(Context {
                    around,
                    section: frame.section,
                    pass: frame.pass,
                });
                index
            });
            around = Some(index);
        }
        around
    }

    fn emit_stretch(
        &mut self,
        level: SectionIndex,
        from: PartIndex,
        to: PartIndex,
        manner: Manner,
    ) -> Result<(), WalkFault> {
        let length = self
            .paths
            .stretch_length(self.sections, level, from, to, manner);
        if length == 0 {
            return Ok(());
        }
        let context = self.context();
        let has_inner = |from: PartIndex, to: PartIndex| {
            let first = self
                .sections
                .list
                .partition_point(|section| section.start < from);
            self.sections
                .list
                .get(first)
                .is_some_and(|section| section.start <= to)
        };
        let mut joined = None;
        if self.cause == Cause::On {
            if let Some(Piece {
                what:
                    What::Stretch {
                        level: before,
                        from: start,
                        to: end,
                        manner: other,
                    },
                context: around,
                leg,
                ..
            }) = self.out.pieces.last().copied()
            {
                // Where there is no inner section, the manner makes no difference.
                let manner = if manner == other || !has_inner(from, to) {
                    Some(other)
                } else if has_inner(start, end) {
                    None
                } else {
                    Some(manner)
                };
                if before == level && end + 1 == from && around == context && leg == self.leg {
                    joined = manner.map(|manner| What::Stretch {
                        level,
                        from: start,
                        to,
                        manner,
                    });
                }
            }
        }
        match (joined, self.out.pieces.last_mut()) {
            (Some(what), Some(last)) => {
                last.what = what;
                self.lengthen(length)
            }
            _ => self.emit(
                What::Stretch {
                    level,
                    from,
                    to,
                    manner,
                },
                context,
                length,
            ),
        }
    }

    fn emit_passes(
        &mut self,
        section: SectionIndex,
        first: u32,
        last: u32,
    ) -> Result<(), WalkFault> {
        let length = self.paths.anew_length(section, first, last);
        if length == 0 {
            return Ok(());
        }
        let context = self.context();
        self.emit(
            What::Passes {
                section,
                first,
                last,
            },
            context,
            length,
        )
    }

    fn emit(&mut self, what: What, context: Option<u32>, length: u128) -> Result<(), WalkFault> {
        if self.out.pieces.len() >= MOST_STRETCHES {
            return Err(WalkFault::TooLong);
        }
        let before = u64::try_from(self.length).map_err(|_| WalkFault::TooLong)?;
        self.out.pieces.push(Piece {
            before,
            what,
            context,
            leg: self.leg,
            cause: self.cause,
            marking: self.marking,
        });
        self.cause = Cause::On;
        self.marking = None;
        self.lengthen(length)
    }

    fn lengthen(&mut self, length: u128) -> Result<(), WalkFault> {
        self.landed = None;
        self.length = self.length.saturating_add(length);
        if self.length > LONGEST {
            Err(WalkFault::TooLong)
        } else {
            Ok(())
        }
    }
}
