//! The moves of a route in words.

mod returns;

use std::collections::{HashMap, HashSet};

use super::phrases::{Phrases, fill};
use super::places::{place_of, play, start_place, target_place};
use super::sounding::sounding;
use super::{Phrasebook, capitalised};
use crate::board::{Al, Board, Marking, Sign, Then};
use crate::legality::sign_words;
use crate::reading::Arming;
use crate::roadmap::Roadmap;
use crate::roadmap::laid::Laid;
use crate::roadmap::row::PartIndex;
use crate::roadmap::sections::{Section, SectionIndex};
use crate::route::{Cause, Held, Octaves, Part, Run, Runs, Step};

/// A run of measures in words: how the road comes there, and what to play.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Move {
    /// The run.
    pub run: Run,
    /// How the road comes to its first measure.
    pub why: String,
    /// What to play.
    pub play: String,
    /// What else is to be known: repeats that are left out here, octaves, fermatas, hands.
    pub notes: Vec<String>,
    /// The clause of the rulebook by which the road comes here.
    pub clause: &'static str,
}

/// Fills a template with the sign and the place of a marking, and with what is given besides.
type Words<'a> = dyn Fn(&'static str, &[(&str, &str)]) -> String + 'a;

/// The moves of a route, first to last. Made by [`Phrasebook::moves`](super::Phrasebook::moves).
#[derive(Debug)]
pub struct Moves<'a> {
    book: Phrasebook,
    phrases: &'static Phrases,
    board: &'a Board,
    roadmap: &'a Roadmap,
    laid: Laid,
    runs: Runs<'a>,
    /// Whether any sign says how measures sound.
    sounds: bool,
    /// The section that each end repeat sends back in.
    section_of: HashMap<u32, SectionIndex>,
    leg: u32,
    /// The jump that began this leg.
    jump: Option<u32>,
    /// The sections entered in this leg.
    entered: HashSet<SectionIndex>,
    /// Whether repeats are left out from the beginning, as asked for; it is said once.
    omitted: bool,
    /// What has been said of repeats in this leg.
    said: HashSet<String>,
}

impl<'a> Moves<'a> {
    pub(super) fn new(book: Phrasebook, board: &'a Board, roadmap: &'a Roadmap) -> Moves<'a> {
        let phrases = book.phrases;
        let plan = &roadmap.plan;
        let laid = Laid::new(board, &plan.row);
        let mut section_of = HashMap::new();
        for (section, number) in plan.sections.list.iter().zip(0..) {
            for &end in &section.ends {
                if let Some(end) = laid.ends.get(end as usize) {
                    section_of.insert(end.marking, number);
                }
            }
        }
        Moves {
            book,
            phrases,
            board,
            roadmap,
            laid,
            runs: roadmap.runs(),
            sounds: board.markings().iter().any(|marking| {
                matches!(
                    marking.sign(),
                    Sign::Octave(_) | Sign::Fermata(_) | Sign::Only(_)
                )
            }),
            section_of,
            leg: 1,
            jump: None,
            entered: HashSet::new(),
            omitted: false,
            said: HashSet::new(),
        }
    }

    /// Passes over moves that are like those before them.
    pub(super) fn pass_over(&mut self, moves: usize) {
        for _ in 0..moves {
            if self.runs.next().is_none() {
                return;
            }
        }
    }

    fn marking(&self, index: Option<u32>) -> Option<&'a Marking> {
        self.board.markings().get(index? as usize)
    }

    fn why(&self, run: &Run) -> String {
        let causes = &self.phrases.causes;
        let marking = self.marking(run.marking);
        let sign = marking.map_or_else(String::new, |marking| sign_words(marking.sign()));
        let large = capitalised(&sign);
        let place = marking.map_or_else(String::new, |marking| {
            place_of(self.phrases, self.board, marking)
        });
        let words = |template, more: &[(&str, &str)]| {
            let mut words = vec![
                ("sign", sign.as_str()),
                ("Sign", &large),
                ("place", place.as_str()),
            ];
            words.extend_from_slice(more);
            fill(template, &words)
        };
        match run.cause {
            Cause::Start => words(
                causes.start,
                &[
                    ("target", &self.start_of(run)),
                    ("measure", &self.board.measure_words(run.from)),
                ],
            ),
            Cause::On => words(causes.on, &[("target", &self.start_of(run))]),
            Cause::PastEnding => {
                let measure = marking.map_or_else(String::new, |marking| {
                    self.board.measure_words(marking.measure())
                });
                let pass = self.pass_at_ending(run, marking).to_string();
                let list = sign.strip_prefix("ending ").unwrap_or(&sign);
                // Of a long list the others are counted in English words.
                let long = list.split_once(" and ");
                let list = long.map_or_else(|| list.to_owned(), |(first, _)| format!("{first},…"));
                words(
                    causes.past_ending,
                    &[("list", &list), ("pass", &pass), ("measure", &measure)],
                )
            }
            Cause::Repeat => {
                let (pass, passes) = self.pass_of_repeat(run);
                let last = pass == passes && passes > 2;
                let template = match (last, self.counts_anew(run)) {
                    (false, false) => causes.repeat,
                    (true, false) => causes.repeat_last,
                    (false, true) => causes.repeat_anew,
                    (true, true) => causes.repeat_anew_last,
                };
                words(
                    template,
                    &[
                        ("target", &self.target_of_repeat(run)),
                        ("nth", &(self.phrases.nth)(pass)),
                        ("pass", &pass.to_string()),
                        ("passes", &passes.to_string()),
                    ],
                )
            }
            Cause::DaCapo => {
                let beginning = run.from == 1 && part_start(run.from_part);
                let target = if beginning {
                    self.phrases.places.beginning.to_owned()
                } else {
                    self.start_of(run)
                };
                words(
                    causes.da_capo,
                    &[("target", &target), ("heed", &self.heed(marking))],
                )
            }
            Cause::DalSegno => {
                let jump = marking.and_then(|marking| match marking.sign() {
                    Sign::DalSegno(jump) => Some(jump.label.as_deref()),
                    _ => None,
                });
                let segno = self.board.markings().iter().find(|other| {
                    matches!(other.sign(), Sign::Segno(landing) if Some(landing.label.as_deref()) == jump)
                });
                words(
                    causes.dal_segno,
                    &[
                        ("target", &self.landing(segno, run)),
                        ("heed", &self.heed(marking)),
                    ],
                )
            }
            Cause::ToCoda => self.why_coda(run, marking, &words),
        }
    }

    /// What to look out for after a jump that says so; with a blank before it.
    fn heed(&self, jump: Option<&Marking>) -> String {
        let heed = &self.phrases.causes.heed;
        let Some(Sign::DaCapo(jump) | Sign::DalSegno(jump)) = jump.map(Marking::sign) else {
            return String::new();
        };
        // Where a To Coda is obeyed at its second arrival, no jump says anything of it.
        let counted = self.roadmap.reading().arming == Arming::SecondArrival;
        let sentence = match (jump.al, jump.then) {
            (Some(Al::Fine), Some(Then::Coda)) => heed.fine_then_coda,
            (Some(Al::Segno), Some(Then::Coda)) => heed.segno_then_coda,
            (Some(Al::Fine), _) => heed.fine,
            (Some(Al::Segno), _) => heed.segno,
            (Some(Al::Coda), _) if !counted => heed.coda,
            _ => "",
        };
        if sentence.is_empty() {
            return String::new();
        }
        format!(" {sentence}")
    }

    fn why_coda(&self, run: &Run, marking: Option<&Marking>, words: &Words<'_>) -> String {
        let causes = &self.phrases.causes;
        let part = self.part_of(run.from, run.from_part);
        let coda = self.laid.codas.iter();
        let coda = coda
            .filter(|coda| coda.part == part)
            .find_map(|coda| self.marking(Some(coda.marking)));
        let target = self.landing(coda, run);
        if matches!(marking.map(Marking::sign), Some(Sign::ToCoda(_))) {
            return words(causes.to_coda, &[("target", &target)]);
        }
        let jump = self
            .marking(self.jump)
            .map_or_else(String::new, |jump| sign_words(jump.sign()));
        words(causes.then_coda, &[("target", &target), ("jump", &jump)])
    }

    /// The landing sign to which a run begins, with its place; the measure alone when there is none.
    fn landing(&self, landing: Option<&Marking>, run: &Run) -> String {
        let Some(landing) = landing else {
            return self.start_of(run);
        };
        let place = place_of(self.phrases, self.board, landing);
        let places = &self.phrases.places;
        let (template, name) = match landing.sign() {
            Sign::Coda(_) => (places.coda, "coda"),
            _ => (places.segno, "segno"),
        };
        let sign = sign_words(landing.sign());
        let label = sign.strip_prefix(name).unwrap_or_default();
        fill(template, &[("label", label), ("place", &place)])
    }

    fn start_of(&self, run: &Run) -> String {
        if run.from_part.is_some_and(|part| !part_start(Some(part))) {
            let point = run.from_part.map(|part| part.from);
            return target_place(self.phrases, self.board, run.from, point);
        }
        target_place(self.phrases, self.board, run.from, None)
    }

    fn target_of_repeat(&self, run: &Run) -> String {
        let section = run
            .marking
            .and_then(|marking| self.section_of.get(&marking))
            .and_then(|&number| self.roadmap.plan.sections.get(number));
        let Some(section) = section else {
            return self.start_of(run);
        };
        let (measure, part) = self.roadmap.plan.row.part(section.start);
        if self.laid.starts.iter().any(|it| it.part == section.start) {
            let point = part.map(|part| part.from);
            let place = start_place(self.phrases, self.board, measure, point);
            return fill(self.phrases.places.start_repeat, &[("place", &place)]);
        }
        if section.start == 0 {
            return self.phrases.places.beginning.to_owned();
        }
        self.start_of(run)
    }

    /// The pass that an end repeat begins, and how many there are.
    fn pass_of_repeat(&self, run: &Run) -> (u32, u32) {
        let number = run
            .marking
            .and_then(|marking| self.section_of.get(&marking).copied());
        let sections = &self.roadmap.plan.sections;
        let section = number.and_then(|number| sections.get(number));
        let pass_at = |index| {
            let step = self.roadmap.step(index)?;
            self.pass_in(number?, self.part_of(step.measure, step.part), &step)
        };
        // Where all that follows the start is an ending for another pass, the road goes on behind the section.
        let before = || pass_at(run.index.checked_sub(1)?)?.checked_add(1);
        let pass = pass_at(run.index).or_else(before);
        (
            pass.unwrap_or(run.pass),
            section.map_or(1, |section| section.passes),
        )
    }

    /// Whether the section that an end repeat sends back in has been played before, and its passes are counted anew.
    fn counts_anew(&self, run: &Run) -> bool {
        let section = run
            .marking
            .and_then(|marking| self.section_of.get(&marking))
            .and_then(|&number| self.roadmap.plan.sections.get(number));
        let Some(section) = section.filter(|section| !section.jump_closed) else {
            return false;
        };
        let inside_another = || {
            let step = self.roadmap.step(run.index)?;
            let around = step.enclosing.as_slice();
            let around = around.get(..usize::from(section.depth)).unwrap_or(around);
            Some(around.iter().any(|&pass| pass > 1))
        };
        self.comes_before_jump(section) || inside_another().unwrap_or(false)
    }

    /// Whether a section begins before the jump that began this leg, so that it has been played before.
    fn comes_before_jump(&self, section: &Section) -> bool {
        self.marking(self.jump).is_some_and(|jump| {
            let jump = self.roadmap.plan.row.parts_of(jump.measure());
            section.start < jump.end
        })
    }

    /// The pass of a section at a step that plays a part in it.
    fn pass_in(&self, number: SectionIndex, part: PartIndex, step: &Step) -> Option<u32> {
        let sections = &self.roadmap.plan.sections;
        let section = sections.get(number)?;
        (section.start <= part && part <= section.end).then_some(())?;
        let passes = step.enclosing.as_slice().iter().copied();
        passes.chain([step.pass]).nth(usize::from(section.depth))
    }

    /// The pass on which an ending is passed over: that of its section at the step before.
    fn pass_at_ending(&self, run: &Run, marking: Option<&Marking>) -> u32 {
        let before = || {
            let marking = marking?;
            let row = &self.roadmap.plan.row;
            let part = row.parts_of(marking.measure()).start;
            let step = self.roadmap.step(run.index.checked_sub(1)?)?;
            let here = self.part_of(step.measure, step.part);
            let sections = &self.roadmap.plan.sections;
            let mut number = sections.at(part);
            // The ending belongs to one of the sections around it, which also holds the step before.
            while let Some(section) = number.and_then(|number| sections.get(number)) {
                let holds = section.endings.iter().any(|&index| {
                    let ending = self.laid.endings.get(index as usize);
                    ending.map(|ending| ending.marking) == run.marking
                });
                if holds {
                    return self.pass_in(number?, here, &step);
                }
                number = section.parent;
            }
            None
        };
        before().unwrap_or(run.pass)
    }

    fn part_of(&self, measure: u16, part: Option<Part>) -> PartIndex {
        let row = &self.roadmap.plan.row;
        let parts = row.parts_of(measure);
        let first = parts.start;
        parts
            .into_iter()
            .find(|&index| row.part(index).1 == part)
            .unwrap_or(first)
    }
}

/// How the road comes to one step, and what is to be known of how it sounds: what a player says who comes there. Nothing where the road
/// simply goes on and the measure sounds like the one before.
pub(super) fn said_at(
    phrases: &'static Phrases,
    board: &Board,
    roadmap: &Roadmap,
    index: u64,
) -> Vec<String> {
    let Some(step) = roadmap.step(index) else {
        return Vec::new();
    };
    let before = index.checked_sub(1).and_then(|before| roadmap.step(before));
    let run = Run {
        index,
        from: step.measure,
        from_part: step.part,
        to: step.measure,
        to_part: step.part,
        steps: 1,
        pass: step.pass,
        leg: step.leg,
        cause: step.cause,
        marking: step.marking,
    };
    let mut said = Vec::new();
    if !matches!(step.cause, Cause::On | Cause::Start) {
        let book = Phrasebook {
            phrases,
            ..Phrasebook::default()
        };
        let mut moves = Moves::new(book, board, roadmap);
        moves.jump = jump_of_leg(roadmap, &step, index);
        said.push(moves.why(&run));
    }
    let sounds = |step: &Step| (step.octave, step.hands);
    let plain = (Octaves::default(), Held::Both);
    let changes = before.as_ref().map_or(plain, sounds) != sounds(&step);
    if changes && sounds(&step) == plain {
        said.push(fill(
            phrases.sounding.as_written,
            &[(
                "measures",
                &super::sounding::one(phrases, board, step.measure),
            )],
        ));
    } else if changes || step.hold != Held::None {
        said.extend(sounding(phrases, board, roadmap, &run));
    }
    said
}

/// The jump that began the leg of a step: the leg begins with the first step that has its number.
pub(super) fn jump_of_leg(roadmap: &Roadmap, step: &Step, index: u64) -> Option<u32> {
    let (mut before, mut from) = (0, index);
    while before < from {
        let middle = before + (from - before) / 2;
        if roadmap
            .step(middle)
            .is_some_and(|other| other.leg < step.leg)
        {
            before = middle + 1;
        } else {
            from = middle;
        }
    }
    roadmap
        .step(from)
        .and_then(|first| first.marking)
        .filter(|_| step.leg > 1)
}

impl Iterator for Moves<'_> {
    type Item = Move;

    fn next(&mut self) -> Option<Move> {
        let run = self.runs.next()?;
        if run.leg != self.leg {
            self.leg = run.leg;
            self.jump = run.marking;
            self.entered.clear();
            self.said.clear();
        }
        let why = self.why(&run);
        let mut notes = if self.omitted {
            Vec::new()
        } else {
            self.of_repeats(&run)
        };
        if self.sounds {
            notes.extend(sounding(self.phrases, self.board, self.roadmap, &run));
        }
        let worded = |text| self.book.worded(text);
        let by = self.marking(run.marking).map(Marking::sign);
        Some(Move {
            clause: run.cause.clause(by),
            run,
            why: worded(why),
            play: worded(play(self.phrases, self.board, &run)),
            notes: notes.into_iter().map(worded).collect(),
        })
    }
}

/// What ends a route.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum End {
    /// There is no step.
    Nothing,
    /// A segno up to which the last jump goes; both as markings.
    Segno { segno: u32, jump: u32 },
    /// A Fine, as a marking.
    Fine(u32),
    /// The end of the last measure.
    LastMeasure(u16),
    /// The road has passed over the last endings, on this pass.
    PastEndings(u32),
}

/// What ends the route of a board.
pub(super) fn end_of(board: &Board, roadmap: &Roadmap) -> End {
    let Some(step) = roadmap
        .length()
        .checked_sub(1)
        .and_then(|last| roadmap.step(last))
    else {
        return End::Nothing;
    };
    let plan = &roadmap.plan;
    let laid = Laid::new(board, &plan.row);
    let parts = plan.row.parts_of(step.measure);
    let first = parts.start;
    let part = parts
        .into_iter()
        .find(|&index| plan.row.part(index).1 == step.part)
        .unwrap_or(first);
    let sign = |index: u32| board.markings().get(index as usize).map(Marking::sign);
    let jump = last_jump(roadmap);
    let stops_at_segno = jump.and_then(sign).and_then(|sign| match sign {
        Sign::DaCapo(jump) if jump.al == Some(Al::Segno) && jump.then != Some(Then::Coda) => {
            Some(jump.label.as_deref())
        }
        _ => None,
    });
    let segno = stops_at_segno.and_then(|label| {
        let mut segnos = laid.segnos.iter().filter(|segno| segno.part == part + 1);
        let found = segnos.find_map(|segno| Some((segno.marking, sign(segno.marking)?)));
        found.filter(|(_, sign)| matches!(sign, Sign::Segno(at) if at.label.as_deref() == label))
    });
    if let (Some((segno, _)), Some(jump)) = (segno, jump) {
        return End::Segno { segno, jump };
    }
    let last = part + 1 == plan.row.length();
    let fine = laid.fines.iter().find(|fine| fine.part == part);
    // On the last measure a Fine that nothing has armed ends no more than the measure does.
    let fine = fine.filter(|fine| !last || step.leg > 1 || fine.arrivals.is_some());
    match fine {
        Some(fine) => End::Fine(fine.marking),
        None if last => End::LastMeasure(step.measure),
        None => End::PastEndings(step.pass),
    }
}

/// Why a route ends.
pub(super) fn ending(phrases: &Phrases, board: &Board, roadmap: &Roadmap) -> String {
    let ends = &phrases.ends;
    let marking = |index: u32| board.markings().get(index as usize);
    let words = |index: u32| marking(index).map_or_else(String::new, |it| sign_words(it.sign()));
    let place =
        |index: u32| marking(index).map_or_else(String::new, |it| place_of(phrases, board, it));
    match end_of(board, roadmap) {
        End::Nothing => ends.nothing.to_owned(),
        End::Segno { segno, jump } => fill(
            ends.segno,
            &[("jump", &words(jump)), ("place", &place(segno))],
        ),
        End::Fine(fine) => fill(ends.fine, &[("place", &place(fine))]),
        End::LastMeasure(measure) => fill(
            ends.last_measure,
            &[("measure", &board.measure_words(measure))],
        ),
        End::PastEndings(pass) => fill(ends.past_endings, &[("pass", &pass.to_string())]),
    }
}

/// The jump that began the last leg.
fn last_jump(roadmap: &Roadmap) -> Option<u32> {
    let pieces = roadmap.compiled.pieces.iter().rev();
    pieces
        .filter(|piece| matches!(piece.cause, Cause::DaCapo | Cause::DalSegno))
        .find_map(|piece| piece.marking)
}

fn part_start(part: Option<Part>) -> bool {
    part.is_none_or(|part| part.from == crate::board::Fraction::ZERO)
}
