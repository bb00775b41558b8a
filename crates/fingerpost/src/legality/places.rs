//! Where a sign may go: every place of a board with its verdict.

use std::cell::OnceCell;
use std::collections::HashMap;

use super::classes::{Class, Classes, sounds};
use super::finding::{Category, Finding, Severity};
use super::judge::{Judge, is_curable, is_error, is_lack, terms};
use super::partners::{Partner, Search, places_of};
use super::still::{Halves, Still};
use super::{CheckOptions, check_with, judge, rules};
use crate::board::{Board, Hands, Marking, Octave, Place, Sign, When};
use crate::roadmap::notes::{Sounding, Time};
use crate::roadmap::{Refusal, Roadmap};
use crate::route::Held;

/// The largest board on which places are looked for.
pub const MOST_MEASURES_TO_PLACE: u16 = 1_000;
/// The most signs of a board on which places are looked for.
pub const MOST_SIGNS_TO_PLACE: usize = 200;
/// On a board of more measures than this, signs that stand over a row of measures are tried over at most [`LONGEST_ROW_TO_PLACE`].
pub const ALL_ROWS_UP_TO: u16 = 128;
/// The longest row that is tried on a board of more than [`ALL_ROWS_UP_TO`] measures.
pub const LONGEST_ROW_TO_PLACE: u16 = 16;
/// A route of more steps is not walked to find out whether a sign would change what sounds.
const LONGEST_HEARD: u64 = 10_000;

/// Why places are not looked for.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
#[error(
    "the board has {measures} measures and {signs} signs; places are looked for on boards of at most {MOST_MEASURES_TO_PLACE} measures and {MOST_SIGNS_TO_PLACE} signs"
)]
pub struct TooLargeToPlace {
    /// The measures of the board.
    pub measures: u16,
    /// Its signs, those in the hand left out.
    pub signs: usize,
}

/// What would become of a sign at a place.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum Verdict {
    /// It may stand there, and changes what is played.
    Legal {
        /// Whether the board then has a route: [`Places::roadmap`] gives it. It has none while errors remain that were there before.
        route: bool,
        /// The ways to give the board what it lacks besides, as in [`Verdict::NeedsPartner`]; empty when it lacks nothing, and when no way
        /// is known: more is missing than is looked for, something is wrong that no sign takes away, or the sign changes no order.
        missing: Vec<Vec<Partner>>,
    },
    /// It may stand there once its partners do, or those of a sign whose partner it takes away.
    NeedsPartner(
        /// The ways to give it its partners, none of more signs than another, those with signs from the hand first; of each way all signs are
        /// needed. A lone partner's places are those at which nothing is wrong with the board any more; where several are needed they are
        /// those at which none of them contradicts another sign. Of the places for a repeat or an ending those are left out with which a
        /// measure would never be played that was played before, where there are others.
        Vec<Vec<Partner>>,
    ),
    /// It must not stand there.
    NotLegal {
        /// The rules it would break, in the order of the catalogue, or those that would stay broken, for it leaves no place for what is missing:
        /// a coda at measure 1 none for a To Coda. [`Places::findings`] tells more. For an ending that lacks its repeat, partners are
        /// looked for among end repeats and the endings right beside others, and where repeats cross already among end repeats.
        rules: Vec<&'static str>,
    },
    /// It may stand there, and nothing that is played changes: the order, the octaves and holds, the hands that play.
    Idle,
}

/// A place and its verdict.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub struct PlaceVerdict {
    /// The measure, or the row of measures.
    pub place: Place,
    /// What would become of the sign there.
    pub verdict: Verdict,
}

/// Every place of a board where a sign could stand, each with its verdict.
#[derive(Clone, Debug)]
pub struct Places<'b> {
    board: &'b Board,
    sign: Sign,
    verdicts: Vec<PlaceVerdict>,
    longest_row: Option<u16>,
}

/// Judges a sign at every place of a board: at each measure, and for an ending, an octave sign or an `only` over each row of measures. Places
/// inside a measure (cuts) are not looked at.
///
/// A place is judged by what is new: errors and lacking partners that the board has without the sign count against no place, so that
/// boards in the making can be asked. Errors are those of the default reading, an open section played twice. That a route is too long to be
/// counted is judged once for all places between the same signs.
///
/// ```
/// use fingerpost::{Board, Sign, Verdict, places};
/// let board: Board = "1 | 2 | 3 D.C. al Fine |]".parse()?;
/// let fine = Sign::Fine(Default::default());
/// let places = places(&board, &fine)?;
/// assert!(places.verdicts().iter().all(|it| matches!(it.verdict, Verdict::Legal { route: true, .. })));
/// let roadmap = places.roadmap(places.verdicts()[1].place)?;
/// assert_eq!(roadmap.steps().map(|step| step.measure).collect::<Vec<_>>(), [1, 2, 3, 1, 2]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// A board of more than [`MOST_MEASURES_TO_PLACE`] measures or more than [`MOST_SIGNS_TO_PLACE`] signs.
pub fn places<'b>(board: &'b Board, sign: &Sign) -> Result<Places<'b>, TooLargeToPlace> {
    let (measures, signs) = (board.measures(), board.markings().len());
    if measures > MOST_MEASURES_TO_PLACE || signs > MOST_SIGNS_TO_PLACE {
        return Err(TooLargeToPlace { measures, signs });
    }
    let longest_row = (sign.spans() && measures > ALL_ROWS_UP_TO).then_some(LONGEST_ROW_TO_PLACE);
    let all = places_of(board, sign, longest_row.unwrap_or(measures));
    let judge = Judge::new(board);
    let route = Roadmap::under(board, &terms()).ok();
    let verdicts = if sounds(sign) {
        sounding(&judge, route.as_ref(), sign, &all)
    } else {
        directing(&judge, route.as_ref(), sign, &all)
    };
    Ok(Places {
        board,
        sign: sign.clone(),
        verdicts,
        longest_row,
    })
}

impl<'b> Places<'b> {
    /// The board that was asked about.
    pub fn board(&self) -> &'b Board {
        self.board
    }

    /// The sign that was asked about.
    pub fn sign(&self) -> &Sign {
        &self.sign
    }

    /// Every place in board order, rows by their first measure and then by their last.
    pub fn verdicts(&self) -> &[PlaceVerdict] {
        &self.verdicts
    }

    /// The longest row of measures that was tried, when longer ones were left out.
    pub fn longest_row(&self) -> Option<u16> {
        self.longest_row
    }

    /// The board with the sign at a place, after all its other markings; `None` for a place that is off the board or fits another kind of
    /// sign.
    pub fn board_with(&self, place: Place) -> Option<Board> {
        let marking = Marking::new(self.sign.clone(), place);
        self.board.to_builder().marking(marking).build().ok()
    }

    /// The route that the board would have with the sign at a place, open sections played twice.
    ///
    /// # Errors
    /// The errors the board would have, those included that it has already.
    pub fn roadmap(&self, place: Place) -> Result<Roadmap, Refusal> {
        let Some(board) = self.board_with(place) else {
            return Err(Refusal::Errors(Vec::new()));
        };
        Roadmap::new(&board, &terms())
    }

    /// What speaks against a place, or would have to be mended: the new errors and lacking partners with the sign there. Where it would be
    /// legal, the warnings that are new; where it would be idle, the finding that says so, when there is one. The sign's own index is that
    /// after the markings of the board.
    pub fn findings(&self, place: Place) -> Vec<Finding> {
        let Some(board) = self.board_with(place) else {
            return Vec::new();
        };
        let options = CheckOptions {
            most_compared: 0,
            ..CheckOptions::default()
        };
        let own = self.board.markings().len();
        let before = check_with(self.board, &options);
        let found = check_with(&board, &options);
        let known = self.verdicts.iter().find(|it| it.place == place);
        let fresh = judge::fresh(&before, found.clone());
        if let Some(Verdict::NotLegal { rules }) = known.map(|it| &it.verdict) {
            // Nothing is new where no place is left for what is missing.
            if !fresh.iter().any(|it| rules.contains(&it.rule)) {
                let stays = found.into_iter().filter(|it| rules.contains(&it.rule));
                return stays.collect();
            }
        }
        if known.is_some_and(|it| it.verdict == Verdict::Idle) {
            let told = |it: &Finding| it.marking == Some(own) || it.related.contains(&own);
            let idle = fresh.into_iter().filter(|it| told(it) && is_idle(it.rule));
            return idle.take(1).collect();
        }
        let legal = known.is_some_and(|it| matches!(it.verdict, Verdict::Legal { .. }));
        let counts = |it: &Finding| {
            if legal {
                it.severity == Severity::Warning
            } else {
                is_error(it) || is_lack(it)
            }
        };
        fresh.into_iter().filter(counts).collect()
    }
}

/// Whether a rule says that a sign has no effect.
pub(super) fn is_idle(rule: &str) -> bool {
    let known = rules::ALL.iter().find(|known| known.name == rule);
    known.is_some_and(|rule| rule.category == Category::Idle)
        || matches!(
            rule,
            "fine-never-met"
                | "to-coda-never-met"
                | "segno-never-met"
                | "jump-never-obeyed"
                | "end-repeat-never-made"
                | "end-repeat-in-last-ending"
                | "measure-never-played"
                | "pass-never-reached"
        )
}

/// A verdict of all places that stand in one order to the signs of the board.
#[derive(Clone)]
enum Kind {
    Decided(Verdict),
    Lacking,
    /// Nothing is new, and the board has errors.
    Unfinished,
    /// The order stays as it is, and passes are counted otherwise: marks that sound then hold or not, by where they stand to the sign.
    Listened,
}

/// The verdicts on a sign that has a part in the order of the measures.
fn directing(
    judge: &Judge<'_>,
    route: Option<&Roadmap>,
    sign: &Sign,
    places: &[Place],
) -> Vec<PlaceVerdict> {
    let mut search = Search::new(judge);
    let mut kinds: HashMap<(Class, Class), Kind> = HashMap::new();
    // Nothing but order counts, for what is heard that to the marks that sound too.
    let mut finer: Option<Classes> = None;
    let mut heard: HashMap<(Class, Class), bool> = HashMap::new();
    let twins = judge.twins(sign);
    let halves = OnceCell::new();
    let mut still: Option<Still<'_, '_>> = None;
    let mut verdicts = Vec::with_capacity(places.len());
    for &place in places {
        let marking = Marking::new(sign.clone(), place);
        let group = search.group(&marking);
        // A second sign at the place of an equal one is idle; its neighbours between the same signs are not.
        let kind = if twins.contains(&place) {
            &Kind::Decided(Verdict::Idle)
        } else {
            let kind = kinds.entry(group);
            kind.or_insert_with(|| kind_of(judge, route, &marking))
        };
        let verdict = match kind {
            Kind::Decided(verdict) => verdict.clone(),
            Kind::Lacking => lacking(judge, &mut search, &marking),
            Kind::Unfinished => still
                .get_or_insert_with(|| Still::new(halves.get_or_init(|| Halves::new(judge.board))))
                .verdict(&marking),
            Kind::Listened => {
                let finer = finer.get_or_insert_with(|| Classes::with_sounding(judge));
                let (from, to) = search.site(&marking);
                let changes = heard.entry((finer.at(from), finer.at(to)));
                let changes = changes
                    .or_insert_with(|| route.is_none_or(|it| changes_heard(judge, it, &marking)));
                verdict_heard(*changes)
            }
        };
        verdicts.push(PlaceVerdict { place, verdict });
    }
    verdicts
}

fn kind_of(judge: &Judge<'_>, route: Option<&Roadmap>, marking: &Marking) -> Kind {
    let mut trial = judge.trial(std::slice::from_ref(marking));
    let has_errors = trial.found.iter().any(is_error);
    let fresh = judge.fresh(std::mem::take(&mut trial.found));
    let broken = |it: &&Finding| is_error(it) && !is_curable(it);
    if fresh.iter().any(|it| broken(&it)) {
        return Kind::Decided(not_legal(fresh.iter().filter(broken)));
    }
    if !fresh.is_empty() {
        return Kind::Lacking;
    }
    if has_errors {
        return Kind::Unfinished;
    }
    let walked = match judge.walk(&trial) {
        Ok(walked) => walked,
        Err(fault) => {
            return Kind::Decided(match judge.stopped(&fault) {
                Ok(()) => legal(false),
                Err(finding) => not_legal([&finding].into_iter()),
            });
        }
    };
    let Some(route) = route.filter(|it| it.compiled.length == walked.compiled.length) else {
        return Kind::Decided(verdict_heard(true));
    };
    if route.compiled == walked.compiled && route.plan.sections.same_as(&trial.sections) {
        return Kind::Decided(verdict_heard(false));
    }
    Kind::Listened
}

/// The verdict on a place where nothing is wrong.
fn verdict_heard(changes: bool) -> Verdict {
    if changes { legal(true) } else { Verdict::Idle }
}

fn legal(route: bool) -> Verdict {
    Verdict::Legal {
        route,
        missing: Vec::new(),
    }
}

/// Whether a sign changes what is heard of a route, its length apart.
fn changes_heard(judge: &Judge<'_>, route: &Roadmap, marking: &Marking) -> bool {
    let board = judge.with(std::slice::from_ref(marking));
    let after = board.and_then(|board| Roadmap::under(&board, &terms()).ok());
    let Some(after) = after.filter(|after| after.length() <= LONGEST_HEARD) else {
        return true;
    };
    let heard = |step: crate::route::Step| {
        let (right, left) = hands_of(step.hands);
        let octave = (
            if right { step.octave.right } else { 0 },
            if left { step.octave.left } else { 0 },
        );
        (step.measure, step.part, octave, step.hold, step.hands)
    };
    !route.steps().map(heard).eq(after.steps().map(heard))
}

fn not_legal<'f>(broken: impl Iterator<Item = &'f Finding>) -> Verdict {
    let mut rules: Vec<&'static str> = broken.map(|finding| finding.rule).collect();
    rules.dedup();
    Verdict::NotLegal { rules }
}

/// The verdict on a place at which partners are missing.
fn lacking(judge: &Judge<'_>, search: &mut Search<'_, '_>, marking: &Marking) -> Verdict {
    let trial = judge.trial(std::slice::from_ref(marking));
    let lacks = judge.fresh(trial.found.clone());
    let ways = search.partners(marking, &trial, &lacks);
    if ways.is_empty() {
        not_legal(lacks.iter())
    } else {
        Verdict::NeedsPartner(ways)
    }
}

/// The verdicts on a sign that changes what sounds and no order: it is never wrong, and idle where it is never heard.
fn sounding(
    judge: &Judge<'_>,
    route: Option<&Roadmap>,
    sign: &Sign,
    places: &[Place],
) -> Vec<PlaceVerdict> {
    let heard_at = route
        .filter(|route| route.length() <= LONGEST_HEARD)
        .map(|route| heard_at(judge, route, sign));
    // The number of measures before each at which it is heard.
    let sums = heard_at.map(|heard| {
        let mut sum = 0_u32;
        let mut sums = vec![0];
        for heard in heard {
            sum += u32::from(heard);
            sums.push(sum);
        }
        sums
    });
    let twins = judge.twins(sign);
    let verdict = |&place: &Place| {
        let is_heard = sums.as_ref().is_none_or(|sums| {
            let before = |measure: u16| sums.get(usize::from(measure)).copied();
            before(place.last()) != before(place.first() - 1)
        });
        let verdict = if is_heard && !twins.contains(&place) {
            legal(route.is_some())
        } else {
            Verdict::Idle
        };
        PlaceVerdict { place, verdict }
    };
    places.iter().map(verdict).collect()
}

/// For each measure whether the sign would be heard in it at some time.
fn heard_at(judge: &Judge<'_>, route: &Roadmap, sign: &Sign) -> Vec<bool> {
    let mut heard = vec![false; usize::from(judge.board.measures())];
    let mut walk = route.walk();
    while let Some(run) = walk.next_run() {
        let time = Time {
            pass: run.pass,
            passes: run.passes,
            leg: run.leg,
        };
        for part in run.from..=run.to {
            let (measure, _) = judge.row.part(part);
            let slot = usize::from(measure)
                .checked_sub(1)
                .and_then(|at| heard.get_mut(at));
            let Some(slot) = slot.filter(|slot| !**slot) else {
                continue;
            };
            let notes = &route.plan.notes;
            let now = if notes.next_from(part) == part {
                notes.at(part, time)
            } else {
                Sounding::PLAIN
            };
            *slot = is_heard(sign, time, now);
        }
    }
    heard
}

/// Whether a sign changes what sounds at a time.
fn is_heard(sign: &Sign, time: Time, now: Sounding) -> bool {
    let named = |hands: Hands| (hands.right(), hands.left());
    let meet = |one: (bool, bool), other: (bool, bool)| one.0 && other.0 || one.1 && other.1;
    let holds = |when: &When| time.is(when);
    match sign {
        Sign::Octave(Octave { hands, when, .. }) => {
            holds(when) && meet(named(*hands), hands_of(now.hands))
        }
        Sign::Fermata(fermata) => {
            let (right, left) = hands_of(now.hold);
            holds(&fermata.when) && meet(named(fermata.hands), (!right, !left))
        }
        Sign::Only(only) => !holds(&only.when) && meet(named(only.hands), hands_of(now.hands)),
        _ => false,
    }
}

/// The hands that something concerns: right, left.
fn hands_of(held: Held) -> (bool, bool) {
    match held {
        Held::Both => (true, true),
        Held::Right => (true, false),
        Held::Left => (false, true),
        Held::None => (false, false),
    }
}
