//! What to write on a board that is not settled. Every proposal is tried before it is made.

use std::collections::{HashMap, HashSet};

use super::phrases::{Phrases, fill};
use super::places::{place_of, start_place};
use crate::board::{Al, Board, Jump, Marking, Passes, Place, Repeats, Sign};
use crate::compare::{Comparison, compare, same_route};
use crate::legality::sign_words;
use crate::reading::{Answers, Question, Reading};
use crate::roadmap::laid::Laid;
use crate::roadmap::{Roadmap, Terms};
use crate::route::{Cause, Part};

/// One thing to write so that a question of the reading no longer changes the route.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Settling {
    /// The question that it settles.
    pub question: Question,
    /// What to write, in words.
    pub write: String,
    /// The board with this written on it, and with everything proposed before.
    pub board: Board,
}

/// More signs than this are not named one by one: the board's own answer is proposed instead.
const MOST_SIGNS: usize = 4;
/// The most moves that are looked through for jumps.
const MOST_MOVES: usize = 1_000_000;

pub(super) fn settling(
    phrases: &Phrases,
    board: &Board,
    terms: &Terms,
    comparison: &Comparison,
) -> Vec<Settling> {
    let mut written = Vec::new();
    let Some(wanted) = comparison.routes.first().map(|route| &route.roadmap) else {
        return written;
    };
    let mut board = board.clone();
    let mut open = comparison.questions.clone();
    if open.is_empty() {
        return written;
    }
    let obeyed = obeyed_at(wanted);
    // Where the sections are is settled first: it often leaves nothing else to settle.
    let mut order = Question::ALL;
    order.sort_by_key(|question| match question {
        Question::Nested => 0,
        Question::LoneEndRepeat => 1,
        _ => 2,
    });
    for question in order {
        if !open.contains(&question) {
            continue;
        }
        let page = Page {
            phrases,
            board: &board,
            roadmap: wanted,
            obeyed: &obeyed,
        };
        let tried = page.proposals(question).into_iter().find_map(|proposal| {
            let compared = compare(&proposal.board, terms).ok()?;
            let first = compared.routes.first()?;
            let kept = same_route(wanted, &first.roadmap)
                && !compared.questions.contains(&question)
                && compared.questions.iter().all(|other| open.contains(other));
            kept.then_some((proposal, compared.questions))
        });
        if let Some((proposal, left)) = tried {
            board = proposal.board.clone();
            open = left;
            written.push(proposal);
        }
    }
    written
}

/// For each marking that moves the road, at which of its arrivals it does; of a very long route those of its beginning.
fn obeyed_at(roadmap: &Roadmap) -> HashMap<u32, Vec<u32>> {
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
struct Page<'a> {
    phrases: &'a Phrases,
    board: &'a Board,
    roadmap: &'a Roadmap,
    obeyed: &'a HashMap<u32, Vec<u32>>,
}

/// A sign changed in place, by its index, and the sentence that says so.
type Change = (usize, Sign, String);

impl Page<'_> {
    /// What could settle a question, the musician's ways first; the board's own answer is the last.
    fn proposals(&self, question: Question) -> Vec<Settling> {
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
            Question::LoneEndRepeat | Question::Nested => Vec::new(),
        };
        let mut proposals: Vec<Settling> = ways
            .into_iter()
            .filter(|way| !way.is_empty() && way.len() <= MOST_SIGNS)
            .filter_map(|way| self.changed(question, way))
            .collect();
        if question == Question::LoneEndRepeat {
            proposals.extend(self.start_repeats());
        }
        proposals.extend(self.own_answer(question));
        proposals
    }

    fn changed(&self, question: Question, changes: Vec<Change>) -> Option<Settling> {
        let mut markings = self.board.markings().to_vec();
        let mut sentences = Vec::new();
        for (index, sign, sentence) in changes {
            let marking = markings.get_mut(index)?;
            let replaced = Marking::new(sign, marking.place());
            *marking = match marking.id() {
                Some(id) => replaced.with_id(id),
                None => replaced,
            };
            sentences.push(sentence);
        }
        let builder = self.board.to_builder().without_markings();
        Some(Settling {
            question,
            write: sentences.join(" "),
            board: builder.markings(markings).build().ok()?,
        })
    }

    fn signs(&self) -> impl Iterator<Item = (usize, &Marking, String, String)> {
        let markings = self.board.markings().iter().enumerate();
        markings.map(|(index, marking)| {
            let place = place_of(self.phrases, self.board, marking);
            (index, marking, sign_words(marking.sign()), place)
        })
    }

    /// `con rep.` or `senza rep.` at every jump that says neither, as the route has it.
    fn repeats(&self) -> Vec<Change> {
        let repeats = self.roadmap.reading().repeats_on_return;
        let words = &self.phrases.settling;
        let template = match repeats {
            Repeats::Play => words.con,
            Repeats::Skip => words.senza,
        };
        let change = |(index, marking, sign, place): (usize, &Marking, String, String)| {
            let changed = with_jump(marking.sign(), |jump| {
                let says_neither = jump.repeats.is_none();
                jump.repeats = Some(repeats);
                says_neither
            })?;
            let sentence = fill(template, &[("sign", &sign), ("place", &place)]);
            Some((index, changed, sentence))
        };
        self.signs().filter_map(change).collect()
    }

    /// `al` at every bare jump.
    fn al(&self, al: Al) -> Vec<Change> {
        let words = match al {
            Al::Fine => "al Fine",
            Al::Coda => "al Coda",
            Al::Segno => "al Segno",
            Al::End => "al End",
        };
        let change = |(index, marking, sign, place): (usize, &Marking, String, String)| {
            let changed = with_jump(marking.sign(), |jump| {
                let bare = jump.al.is_none();
                jump.al = Some(al);
                bare
            })?;
            let instead = format!("{sign} {words}");
            let filled = [
                ("sign", sign.as_str()),
                ("place", &place),
                ("instead", &instead),
            ];
            Some((index, changed, fill(self.phrases.settling.al, &filled)))
        };
        self.signs().filter_map(change).collect()
    }

    /// The arrivals at which each jump inside a section is obeyed on this route.
    fn jump_arrivals(&self) -> Vec<Change> {
        let change = |(index, marking, sign, place): (usize, &Marking, String, String)| {
            if !self.in_section(marking) {
                return None;
            }
            let arrivals = self.arrivals(index)?;
            let changed = with_jump(marking.sign(), |jump| {
                let plain = jump.arrivals.is_none() && jump.passes.is_none();
                jump.arrivals = Some(arrivals.clone());
                plain
            })?;
            Some((
                index,
                changed,
                self.arrivals_words(&sign, &place, &arrivals),
            ))
        };
        self.signs().filter_map(change).collect()
    }

    /// The arrivals at which each To Coda, and each Fine when asked for, is obeyed on this route.
    fn armed_arrivals(&self, fines: bool) -> Vec<Change> {
        let change = |(index, marking, sign, place): (usize, &Marking, String, String)| {
            let mut changed = marking.sign().clone();
            let slot = match &mut changed {
                Sign::ToCoda(to_coda) => &mut to_coda.arrivals,
                Sign::Fine(fine) if fines => &mut fine.arrivals,
                _ => return None,
            };
            if slot.is_some() {
                return None;
            }
            let arrivals = self.arrivals(index)?;
            *slot = Some(arrivals.clone());
            Some((
                index,
                changed,
                self.arrivals_words(&sign, &place, &arrivals),
            ))
        };
        self.signs().filter_map(change).collect()
    }

    fn arrivals_words(&self, sign: &str, place: &str, arrivals: &Passes) -> String {
        let arrivals = arrivals.to_string();
        let words = [("sign", sign), ("place", place), ("arrivals", &arrivals)];
        fill(self.phrases.settling.arrivals, &words)
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
    fn start_repeats(&self) -> Vec<Settling> {
        let plan = &self.roadmap.plan;
        let laid = Laid::new(self.board, &plan.row);
        let written: HashSet<_> = laid.starts.iter().map(|it| it.part).collect();
        let sections = plan.sections.list.iter();
        let implied = sections.filter(|it| !written.contains(&it.start));
        let starts: Vec<_> = implied.map(|it| plan.row.part(it.start)).collect();
        if starts.len() > MOST_SIGNS {
            return Vec::new();
        }
        let alone = starts.iter().map(|start| vec![*start]);
        let ways: Vec<_> = alone.chain([starts.clone()]).collect();
        ways.into_iter()
            .filter(|way| !way.is_empty())
            .filter_map(|way| self.with_start_repeats(&way))
            .collect()
    }

    fn with_start_repeats(&self, starts: &[(u16, Option<Part>)]) -> Option<Settling> {
        let mut builder = self.board.to_builder();
        let mut sentences = Vec::new();
        for &(measure, part) in starts {
            let point = part.map(|part| part.from);
            let place = match point {
                Some(cut) => Place::cutting(measure, cut),
                None => Place::at(measure),
            };
            builder = builder.marking(Marking::new(Sign::StartRepeat, place));
            let words = start_place(self.phrases, self.board, measure, point);
            sentences.push(fill(
                self.phrases.settling.start_repeat,
                &[("place", &words)],
            ));
        }
        Some(Settling {
            question: Question::LoneEndRepeat,
            write: sentences.join(" "),
            board: builder.build().ok()?,
        })
    }

    /// The board's own answer.
    fn own_answer(&self, question: Question) -> Option<Settling> {
        let reading = self.roadmap.reading();
        let answers = answered(*self.board.reading(), question, reading);
        let words = [
            ("question", question.name()),
            ("answer", reading.answer(question)),
        ];
        Some(Settling {
            question,
            write: fill(self.phrases.settling.answer, &words),
            board: self.board.to_builder().reading(answers).build().ok()?,
        })
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

/// Answers with that of a reading to one question added.
fn answered(mut answers: Answers, question: Question, reading: Reading) -> Answers {
    match question {
        Question::RepeatsOnReturn => answers.repeats_on_return = Some(reading.repeats_on_return),
        Question::JumpInRepeat => answers.jump_in_repeat = Some(reading.jump_in_repeat),
        Question::ArmedInRepeat => answers.armed_in_repeat = Some(reading.armed_in_repeat),
        Question::Arming => answers.arming = Some(reading.arming),
        Question::LoneEndRepeat => answers.lone_end_repeat = Some(reading.lone_end_repeat),
        Question::Nested => answers.nested = Some(reading.nested),
    }
    answers
}
