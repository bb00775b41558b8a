//! The route in runs of consecutive measures.

use super::walk::{PartRun, Walk};
use super::{Cause, Part};
use crate::roadmap::Roadmap;

/// Consecutive measures played one after the other.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Run {
    /// The index of its first step in the route, counted from 0.
    pub index: u64,
    /// Its first measure.
    pub from: u16,
    /// The part of the first measure with which it begins, when that measure is cut.
    pub from_part: Option<Part>,
    /// Its last measure.
    pub to: u16,
    /// The part of the last measure with which it ends, when that measure is cut.
    pub to_part: Option<Part>,
    /// How many steps it has.
    pub steps: u64,
    /// The pass of the innermost section at its first step.
    pub pass: u32,
    /// Its leg.
    pub leg: u32,
    /// How its first step is come to.
    pub cause: Cause,
    /// The marking that sent the route there: its index in the board.
    pub marking: Option<u32>,
}

/// The runs of a route, first to last.
#[derive(Clone, Debug)]
pub struct Runs<'a> {
    roadmap: &'a Roadmap,
    walk: Walk<'a>,
    ahead: Option<PartRun>,
    index: u64,
}

impl<'a> Runs<'a> {
    pub(crate) fn new(roadmap: &'a Roadmap) -> Runs<'a> {
        let mut walk = roadmap.walk();
        let ahead = walk.next_run();
        Runs {
            roadmap,
            walk,
            ahead,
            index: 0,
        }
    }
}

impl Iterator for Runs<'_> {
    type Item = Run;

    fn next(&mut self) -> Option<Run> {
        let first = self.ahead.take()?;
        let mut to = first.to;
        let mut steps = u64::from(first.to - first.from) + 1;
        self.ahead = self.walk.next_run();
        while let Some(next) = self
            .ahead
            .filter(|next| next.cause == Cause::On && next.from == to + 1 && next.leg == first.leg)
        {
            to = next.to;
            steps += u64::from(next.to - next.from) + 1;
            self.ahead = self.walk.next_run();
        }
        let row = &self.roadmap.plan.row;
        let ((from, from_part), (to, to_part)) = (row.part(first.from), row.part(to));
        let index = self.index;
        self.index += steps;
        Some(Run {
            index,
            from,
            from_part,
            to,
            to_part,
            steps,
            pass: first.pass,
            leg: first.leg,
            cause: first.cause,
            marking: first.marking,
        })
    }
}
