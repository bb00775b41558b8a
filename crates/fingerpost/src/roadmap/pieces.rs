//! The pieces of a compiled route, and the writer that joins them.

use super::compile::WalkFault;
use super::paths::{LONGEST, MOST_STRETCHES, Manner, Paths, inner_at};
use super::row::PartIndex;
use super::sections::{SectionIndex, Sections};
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

/// Writes the pieces of a route one after the other, and keeps how the next step is come to.
pub(crate) struct Writer<'a> {
    sections: &'a Sections,
    paths: &'a Paths,
    pieces: Vec<Piece>,
    contexts: Vec<Context>,
    length: u128,
    /// The sections around the road with their passes, outermost first.
    frames: Vec<Frame>,
    leg: u32,
    /// How the next step is come to.
    cause: Cause,
    marking: Option<u32>,
    /// The part to which a jump, a To Coda or an end repeat has just led the road.
    landed: Option<PartIndex>,
}

struct Frame {
    section: SectionIndex,
    pass: u32,
    context: Option<u32>,
}

impl<'a> Writer<'a> {
    pub(crate) fn new(sections: &'a Sections, paths: &'a Paths) -> Writer<'a> {
        Writer {
            sections,
            paths,
            pieces: Vec::new(),
            contexts: Vec::new(),
            length: 0,
            frames: Vec::new(),
            leg: 1,
            cause: Cause::Start,
            marking: None,
            landed: None,
        }
    }

    /// The route, when everything is written.
    pub(crate) fn finish(self) -> Result<Compiled, WalkFault> {
        let length = u64::try_from(self.length).map_err(|_| WalkFault::TooLong)?;
        Ok(Compiled {
            pieces: self.pieces,
            contexts: self.contexts,
            length,
        })
    }

    /// The sections around the road with their passes, outermost first.
    pub(crate) fn around(&self) -> Vec<(SectionIndex, u32)> {
        self.frames
            .iter()
            .map(|frame| (frame.section, frame.pass))
            .collect()
    }

    /// The road enters a section on a pass.
    pub(crate) fn enter(&mut self, section: SectionIndex, pass: u32) {
        self.frames.push(Frame {
            section,
            pass,
            context: None,
        });
    }

    /// The road leaves the innermost section.
    pub(crate) fn leave(&mut self) {
        self.frames.pop();
    }

    /// A D.C. or D.S. begins a new leg at a part.
    pub(crate) fn begin_leg(&mut self, cause: Cause, marking: u32, part: PartIndex) {
        self.leg = self.leg.saturating_add(1);
        self.frames.clear();
        (self.cause, self.marking, self.landed) = (cause, Some(marking), Some(part));
    }

    /// An end repeat or a To Coda leads the road to a part.
    pub(crate) fn come(&mut self, cause: Cause, marking: Option<u32>, part: PartIndex) {
        (self.cause, self.marking, self.landed) = (cause, marking, Some(part));
    }

    /// An ending is passed over, unless the road has only now come here by a jump or a repeat.
    pub(crate) fn pass_over(&mut self, ending: Option<u32>) {
        if self.cause == Cause::On && ending.is_some() {
            self.cause = Cause::PastEnding;
            self.marking = ending;
        }
    }

    /// Whether a jump, a To Coda or an end repeat has led the road to this part, and nothing has been played since (rulebook 4.7).
    pub(crate) fn has_landed_on(&self, part: PartIndex) -> bool {
        self.landed == Some(part)
    }

    /// The marking that sent the road where it is.
    pub(crate) fn sent_by(&self) -> Option<u32> {
        self.marking
    }

    fn context(&mut self) -> Option<u32> {
        let mut around = None;
        for frame in &mut self.frames {
            let index = *frame.context.get_or_insert_with(|| {
                let index = u32::try_from(self.contexts.len()).unwrap_or(u32::MAX);
                self.contexts.push(Context {
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

    pub(crate) fn emit_stretch(
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
            // Nothing but sections that are passed over whole: no piece will tell of them.
            let passed = inner_at(self.sections, level, from).and_then(|inner| {
                let (pass, _) = self.paths.visit(inner, manner);
                self.paths.path(inner, pass).trailing
            });
            self.pass_over(passed);
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
            }) = self.pieces.last().copied()
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
        match (joined, self.pieces.last_mut()) {
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

    pub(crate) fn emit_passes(
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
        if self.pieces.len() >= MOST_STRETCHES {
            return Err(WalkFault::TooLong);
        }
        let before = u64::try_from(self.length).map_err(|_| WalkFault::TooLong)?;
        self.pieces.push(Piece {
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
