//! What could be written on a board so that a question of the reading no longer changes its route. Nothing of it is tried here.

use std::collections::{HashMap, HashSet};

use crate::board::{Al, Board, Edit, Jump, Marking, Passes, Place, Repeats, Sign};
use crate::reading::{Question, Reading};
use crate::roadmap::laid::Laid;
use crate::roadmap::{Roadmap, Terms};
use crate::route::Cause;

/// The most signs that one way changes.
pub(crate) const MOST_SIGNS: usize = 4;
/// The most moves that are looked through for jumps.
const MOST_MOVES: usize = 1_000_000;

/// The ways to settle a question by signs so that the default route stays, the musician's first.
pub(super) fn ways(board: &Board, question: Question) -> Vec<Vec<Edit>> {
    let terms = Terms {
        open_plays: Some(2),
        ..Terms::default()
    };
    let Ok(roadmap) = Roadmap::under(board, &terms) else {
        return Vec::new();
    };
    let obeyed = obeyed_at(&roadmap);
    let page = Page {
        board,
        roadmap: &roadmap,
        obeyed: &obeyed,
    };
    page.ways(question)
}

/// The ways to settle a question by signs that lead otherwise than the board is read now: a writer may have meant either.
pub(super) fn other_ways(board: &Board, question: Question, reading: Reading) -> Vec<Vec<Edit>> {
    if question != Question::RepeatsOnReturn {
        return Vec::new();
    }
    let other = match reading.repeats_on_return {
        Repeats::Play => Repeats::Skip,
        Repeats::Skip => Repeats::Play,
    };
    let way = repeats_said(board, other);
    let fits = !way.is_empty() && way.len() <= MOST_SIGNS;
    fits.then_some(way).into_iter().collect()
}

/// For each marking that moves the road, at which of its arrivals it does; of a very long route those of its beginning.
pub(crate) fn obeyed_at(roadmap: &Roadmap) -> HashMap<u32, Vec<u32>> {
    let mut obeyed: HashMap<u32, Vec<u32>> = HashMap::new();
    for run in roadmap.runs().take(MOST_MOVES) {
        if !matches!(run.cause, Cause::DaCapo | Cause::DalSegno | Cause::ToCoda) {
            continue;
        }
        let before = run.index.checked_sub(1).and_then(|at| roadmap.step(at));
        let visit = before.and_then(|step| u32::try_from(step.visit).ok());
        if let (Some(marking), Some(visit)) = (run.marking, visit) {
            obeyed.entry(marking).or_default().push(visit);
        }
    }
    obeyed
}

/// A board and the route that it shall keep.
pub(crate) struct Page<'a> {
    pub(crate) board: &'a Board,
    pub(crate) roadmap: &'a Roadmap,
    pub(crate) obeyed: &'a HashMap<u32, Vec<u32>>,
}

impl Page<'_> {
    /// The ways to settle a question by signs, the musician's first; none of them changes more than [`MOST_SIGNS`] signs.
    pub(crate) fn ways(&self, question: Question) -> Vec<Vec<Edit>> {
        let ways = match question {
            Question::RepeatsOnReturn => vec![self.repeats()],
            Question::JumpInRepeat => vec![self.jump_arrivals()],
            Question::ArmedInRepeat => vec![self.armed_arrivals(true)],
            Question::Arming => {
                let als = [Al::Fine, Al::Coda, Al::End].map(|al| self.al(al));
                let to_codas = self.armed_arrivals(false);
                let both = als
                    .iter()
                    .map(|al| [al.as_slice(), to_codas.as_slice()].concat());
                let both: Vec<_> = both.collect();
                als.into_iter().chain([to_codas]).chain(both).collect()
            }
            Question::LoneEndRepeat => self.start_repeats(),
            Question::Nested => Vec::new(),
        };
        let fits = |way: &Vec<Edit>| !way.is_empty() && way.len() <= MOST_SIGNS;
        ways.into_iter().filter(fits).collect()
    }

    fn changed(&self, change: impl Fn(usize, &Marking) -> Option<Sign>) -> Vec<Edit> {
        changed(self.board, change)
    }

    /// `con rep.` or `senza rep.` at every jump that says neither, as the route has it.
    fn repeats(&self) -> Vec<Edit> {
        let repeats: Repeats = self.roadmap.reading().repeats_on_return;
        repeats_said(self.board, repeats)
    }

    /// `al` at every bare jump.
    fn al(&self, al: Al) -> Vec<Edit> {
        self.changed(|_, marking| {
            with_jump(marking.sign(), |jump| {
                let bare = jump.al.is_none();
                jump.al = Some(al);
                bare
            })
        })
    }

    /// The arrivals at which each jump inside a section is obeyed on this route.
    fn jump_arrivals(&self) -> Vec<Edit> {
        self.changed(|index, marking| {
            if !self.in_section(marking) {
                return None;
            }
            let arrivals = self.arrivals(index)?;
            with_jump(marking.sign(), |jump| {
                let plain = jump.arrivals.is_none() && jump.passes.is_none();
                jump.arrivals = Some(arrivals);
                plain
            })
        })
    }

    /// The arrivals at which each To Coda, and each Fine when asked for, is obeyed on this route.
    fn armed_arrivals(&self, fines: bool) -> Vec<Edit> {
        self.changed(|index, marking| {
            let mut changed = marking.sign().clone();
            let slot = match &mut changed {
                Sign::ToCoda(to_coda) => &mut to_coda.arrivals,
                Sign::Fine(fine) if fines => &mut fine.arrivals,
                _ => return None,
            };
            if slot.is_some() {
                return None;
            }
            *slot = Some(self.arrivals(index)?);
            Some(changed)
        })
    }

    fn in_section(&self, marking: &Marking) -> bool {
        let plan = &self.roadmap.plan;
        let part = plan.row.part_of(self.board, marking);
        plan.sections.at(part).is_some()
    }

    /// At which of its arrivals a marking moves or ends the road.
    fn arrivals(&self, index: usize) -> Option<Passes> {
        let marking = self.board.markings().get(index)?;
        if matches!(marking.sign(), Sign::Fine(_)) {
            let last = self.roadmap.step(self.roadmap.length().checked_sub(1)?)?;
            let (measure, part) = {
                let row = &self.roadmap.plan.row;
                row.part(row.part_of(self.board, marking))
            };
            let stops = (last.measure, last.part) == (measure, part);
            let visit = u32::try_from(last.visit).ok()?;
            return Passes::of(stops.then_some(visit)).ok();
        }
        let number = u32::try_from(index).ok()?;
        Passes::of(self.obeyed.get(&number)?.iter().copied()).ok()
    }

    /// A written start repeat for a section that has none: for one alone, then for all.
    fn start_repeats(&self) -> Vec<Vec<Edit>> {
        let plan = &self.roadmap.plan;
        let laid = Laid::new(self.board, &plan.row);
        let written: HashSet<_> = laid.starts.iter().map(|it| it.part).collect();
        let sections = plan.sections.list.iter();
        let implied = sections.filter(|it| !written.contains(&it.start));
        let starts = implied.map(|it| {
            let (measure, part) = plan.row.part(it.start);
            let place = match part {
                Some(part) => Place::cutting(measure, part.from),
                None => Place::at(measure),
            };
            Edit::Add(Marking::new(Sign::StartRepeat, place))
        });
        let starts: Vec<Edit> = starts.collect();
        if starts.len() > MOST_SIGNS {
            return Vec::new();
        }
        let alone = starts.iter().map(|start| vec![start.clone()]);
        alone.chain([starts.clone()]).collect()
    }
}

/// A jump changed; `None` for another sign, and where the change does not apply.
fn with_jump(sign: &Sign, change: impl FnOnce(&mut Jump) -> bool) -> Option<Sign> {
    let mut sign = sign.clone();
    let (Sign::DaCapo(jump) | Sign::DalSegno(jump)) = &mut sign else {
        return None;
    };
    change(jump).then_some(sign)
}

/// Another sign at the place of each marking for which there is one.
fn changed(board: &Board, change: impl Fn(usize, &Marking) -> Option<Sign>) -> Vec<Edit> {
    let markings = board.markings().iter().enumerate();
    let changed = markings.filter_map(|(index, marking)| {
        let replaced = Marking::new(change(index, marking)?, marking.place());
        let replaced = match marking.id() {
            Some(id) => replaced.with_id(id),
            None => replaced,
        };
        Some(Edit::Replace(index, replaced))
    });
    changed.collect()
}

/// `con rep.` or `senza rep.` at every jump that says neither.
fn repeats_said(board: &Board, repeats: Repeats) -> Vec<Edit> {
    changed(board, |_, marking| {
        with_jump(marking.sign(), |jump| {
            let says_neither = jump.repeats.is_none();
            jump.repeats = Some(repeats);
            says_neither
        })
    })
}
