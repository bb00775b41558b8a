//! Fixes: edits of a board that cure a finding. What a rule proposes is tried before it is offered, so that a fix offered is a fix proved.

use std::cell::{Cell, OnceCell, RefCell};
use std::collections::HashMap;
use std::rc::Rc;

use super::cures::{Cure, Cures, Seams};
use super::finding::{Category, Finding, Severity};
use super::rules::{self, NOT_SETTLED, ROUTE_TOO_LONG, SAME_SIGN_TWICE};
use super::sheet::Sheet;
use super::{CheckOptions, checked};
use crate::board::edit::{Fate, fates};
use crate::board::{Board, Edit, EditError, Marking, Side, Sign, When};
use crate::compare::questions_that_can_matter;
use crate::reading::{Question, Reading};
use crate::roadmap::paths::MOST_STRETCHES;
use crate::roadmap::{Ground, Refusal, Roadmap, Terms};
use crate::route::{Held, Step};

/// The most proposals that are tried against one finding.
pub const MOST_TRIED: usize = 24;
/// The most fixes that are offered for one finding.
pub const MOST_OFFERED: usize = 4;
/// The most findings of one board for which fixes are looked for.
pub const MOST_FINDINGS_FIXED: usize = 64;
/// The most measures and markings, taken together, with which [`MOST_FINDINGS_FIXED`] findings get fixes. On a board twice as large half
/// as many do, and so on; the first one always does.
pub const FULLY_FIXED: usize = 1_000;
/// The longest route, in steps, that is compared when it is asked whether a fix is safe. A fix of a board with a longer route is a choice.
pub const LONGEST_COMPARED: u64 = 20_000;
/// The most work that is done for the fixes of one board, in measures, markings and stretches of routes looked at: about a second. When it is
/// done, no more proposals are tried, and nothing more is called safe.
const MOST_WORK: usize = 6_000_000;
/// The most steps that are compared for one fix, under all readings.
const MOST_STEPS_COMPARED: u64 = 2_000_000;

/// Edits that cure one finding of a board.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[non_exhaustive]
pub struct Fix {
    /// The edits, all of them needed. Their indices are those of the board.
    pub edits: Vec<Edit>,
    /// Whether it can be made without asking anybody.
    pub kind: FixKind,
}

/// Whether a fix leaves the music as it is.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, serde::Serialize, serde::Deserialize,
)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum FixKind {
    /// What is played stays the same (the order, the passes, the octaves, the hands, what is held), under every reading under which the
    /// board has a route. On a board with errors: it restores the only meaning that the signs can have. No sign is taken away that could
    /// matter once its partner is there.
    Safe,
    /// It may change what is played, it moves a sign, or it takes one away that may still wait for its partner (a segno, a coda, a Fine, a
    /// start repeat, an ending, a D.C. …) or its time (the return on a board without a D.C. or D.S., a repeat on one without an end repeat):
    /// somebody who knows the piece has to choose it.
    Choice,
}

impl Fix {
    /// The board with this fix made.
    ///
    /// ```
    /// use fingerpost::{Board, FixKind, check, fixes};
    /// let board: Board = "1 |: 2 fermata(pass 3) :| 3 |".parse()?;
    /// let findings = check(&board);
    /// let fixes = fixes(&board, &findings[0]);
    /// assert_eq!(fixes[0].kind, FixKind::Safe);
    /// assert_eq!(fixes[0].apply(&board)?.to_line(), "1 |: 2 :| 3 |]");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// On another board than the one it was made for: as [`Board::edited`]. On its own board it does not fail.
    pub fn apply(&self, board: &Board) -> Result<Board, EditError> {
        board.edited(&self.edits)
    }
}

/// The fixes of one finding of a board, the best first: safe ones before choices, those that only take signs away
/// behind all others of their kind, then those that lead as the board is read now before one that leads otherwise, then those that leave
/// fewer findings.
///
/// Each has been tried: with it the finding is gone, no other of its rule has come in its place, and the board has no error that it did
/// not have before. Every rule has its own proposals, [`MOST_TRIED`] of which are tried at most, and the first [`MOST_OFFERED`] that hold
/// are offered; for a finding that no edit of signs can cure there are none.
pub fn fixes(board: &Board, finding: &Finding) -> Vec<Fix> {
    fixes_with(board, finding, &CheckOptions::default())
}

/// As [`fixes`], for a finding of [`check_with`](crate::check_with) with these options.
pub fn fixes_with(board: &Board, finding: &Finding, options: &CheckOptions) -> Vec<Fix> {
    Ward::new(board, options).fixes(finding)
}

/// The fixes of many findings of one board, in the order of the findings: what is known of the board is worked out once.
///
/// Only the first findings of a large board get fixes, so that the time taken stays in proportion to the board: [`MOST_FINDINGS_FIXED`]
/// of a board of up to [`FULLY_FIXED`] measures and markings, fewer of a larger one, one of a board twice as large as that many times
/// [`FULLY_FIXED`].
pub fn fixes_of_all(board: &Board, findings: &[Finding], options: &CheckOptions) -> Vec<Vec<Fix>> {
    let mut fixes = Vec::with_capacity(findings.len());
    if !findings.is_empty() {
        let ward = Ward::new(board, options);
        let first = findings.iter().take(most_findings(board));
        fixes.extend(first.map(|finding| ward.fixes(finding)));
        fixes.resize_with(findings.len(), Vec::new);
    }
    fixes
}

/// A safe fix for the first finding that has one; the findings are looked through as far as [`fixes_of_all`] goes.
pub fn safe_fix(board: &Board, findings: &[Finding]) -> Option<Fix> {
    let options = CheckOptions::default();
    if findings.is_empty() {
        return None;
    }
    Ward::new(board, &options).safe_fix(findings)
}

/// For how many findings of a board fixes are looked for.
fn most_findings(board: &Board) -> usize {
    let size = usize::from(board.measures()) + board.markings().len();
    (MOST_FINDINGS_FIXED * FULLY_FIXED / size.max(1)).clamp(1, MOST_FINDINGS_FIXED)
}

/// A board whose findings are to be cured, with what is known of it.
pub(super) struct Ward<'a> {
    pub(super) board: &'a Board,
    options: &'a CheckOptions,
    ground: Ground,
    seams: Seams,
    /// Its findings without `not-settled`, which takes long to find.
    quick: OnceCell<Findings>,
    /// Its findings with `not-settled`.
    full: OnceCell<Findings>,
    /// How much work has been done.
    pub(super) work: Cell<usize>,
    /// Its routes on the terms under which it has been walked so far.
    routes: RefCell<HashMap<Terms, Route>>,
}

/// A board's route on some terms.
#[derive(Clone)]
enum Route {
    Heard(Rc<Vec<Heard>>),
    /// It has one, longer than what is compared, or than what can be reckoned.
    Long,
    /// It has none.
    None,
}

/// What a board's check found, counted.
pub(super) struct Findings {
    errors: bool,
    pub(super) count: usize,
    of_rule: HashMap<&'static str, usize>,
    at: HashMap<Spot, usize>,
}

/// By what a finding is known again when markings have moved: its rule, and the marking, else the measure, it is about.
#[derive(Clone, PartialEq, Eq, Hash)]
struct Spot {
    rule: &'static str,
    severity: Severity,
    marking: Option<usize>,
    measure: Option<u16>,
    question: Option<Question>,
}

impl Spot {
    fn of(finding: &Finding) -> Spot {
        Spot {
            rule: finding.rule,
            severity: finding.severity,
            marking: finding.marking,
            measure: finding.measure.filter(|_| finding.marking.is_none()),
            question: finding.question,
        }
    }
}

impl Findings {
    pub(super) fn of(board: &Board, options: &CheckOptions, work: &Cell<usize>) -> Findings {
        let (findings, done) = checked(board, options);
        work.set(work.get().saturating_add(done));
        Findings::counted(&findings)
    }

    fn counted(findings: &[Finding]) -> Findings {
        let mut found = Findings {
            errors: false,
            count: findings.len(),
            of_rule: HashMap::new(),
            at: HashMap::new(),
        };
        for finding in findings {
            found.errors |= finding.severity == Severity::Error;
            *found.of_rule.entry(finding.rule).or_default() += 1;
            *found.at.entry(Spot::of(finding)).or_default() += 1;
        }
        found
    }

    pub(super) fn of_rule(&self, rule: &str) -> usize {
        self.of_rule.get(rule).copied().unwrap_or(0)
    }

    fn at(&self, spot: &Spot) -> usize {
        self.at.get(spot).copied().unwrap_or(0)
    }
}

/// What is heard at a step: octaves only of hands that play.
#[derive(PartialEq, Eq, Debug)]
struct Heard {
    measure: u16,
    part: Option<crate::route::Part>,
    pass: u32,
    octave: (i8, i8),
    hold: Held,
    hands: Held,
}

impl Heard {
    fn of(step: &Step) -> Heard {
        let right = matches!(step.hands, Held::Both | Held::Right);
        let left = matches!(step.hands, Held::Both | Held::Left);
        Heard {
            measure: step.measure,
            part: step.part,
            pass: step.pass,
            octave: (
                if right { step.octave.right } else { 0 },
                if left { step.octave.left } else { 0 },
            ),
            hold: step.hold,
            hands: step.hands,
        }
    }
}

impl<'a> Ward<'a> {
    pub(super) fn new(board: &'a Board, options: &'a CheckOptions) -> Ward<'a> {
        let ground = Ground::new(board, &judged());
        let seams = Seams::new(board, &ground);
        Ward {
            board,
            options,
            ground,
            seams,
            quick: OnceCell::new(),
            full: OnceCell::new(),
            work: Cell::new(0),
            routes: RefCell::default(),
        }
    }

    /// The same, where its findings without `not-settled` are known already.
    pub(super) fn with_findings(
        board: &'a Board,
        options: &'a CheckOptions,
        findings: &[Finding],
    ) -> Ward<'a> {
        Ward {
            quick: OnceCell::from(Findings::counted(findings)),
            ..Ward::new(board, options)
        }
    }

    /// A safe fix for the first finding that has one.
    pub(super) fn safe_fix(&self, findings: &[Finding]) -> Option<Fix> {
        let mut first = findings.iter().take(most_findings(self.board));
        first.find_map(|finding| {
            let cures = self.cures(finding);
            // Without one that may be made unasked, nothing has to be tried.
            let mut unasked = cures.iter().filter(|cure| self.is_unasked(finding, cure));
            unasked.next()?;
            let first = self.proved(finding, cures).into_iter().next();
            first.filter(|fix| fix.kind == FixKind::Safe)
        })
    }

    fn fixes(&self, finding: &Finding) -> Vec<Fix> {
        self.proved(finding, self.cures(finding))
    }

    /// The fixes among the proposals against a finding, the best first.
    fn proved(&self, finding: &Finding, cures: Vec<Cure>) -> Vec<Fix> {
        let mut tried: Vec<Vec<Edit>> = Vec::new();
        let mut proved: Vec<(FixKind, bool, bool, usize, Fix)> = Vec::new();
        for cure in cures {
            if tried.len() == MOST_TRIED || proved.len() == MOST_OFFERED || self.is_tired() {
                break;
            }
            if tried.contains(&cure.edits) {
                continue;
            }
            tried.push(cure.edits.clone());
            if let Some((kind, left)) = self.proof(finding, &cure) {
                let edits = cure.edits;
                let takes_away = edits.iter().all(|edit| matches!(edit, Edit::Remove(_)));
                proved.push((
                    kind,
                    takes_away,
                    cure.another_road,
                    left,
                    Fix { edits, kind },
                ));
            }
        }
        // A stable sort: fixes that are as good as each other keep the order in which the rule proposes them.
        proved.sort_by_key(|&(kind, takes_away, another_road, left, _)| {
            (kind, takes_away, another_road, left)
        });
        proved.into_iter().map(|(.., fix)| fix).collect()
    }

    /// What the rule of a finding proposes against it.
    pub(super) fn cures(&self, finding: &Finding) -> Vec<Cure> {
        let Some(cures) = rules::cures_of(finding.rule) else {
            return Vec::new();
        };
        let sheet = Sheet::new(self.board, &self.ground);
        let mut proposed = Cures::new(sheet, &self.seams, finding);
        cures(&mut proposed);
        let (list, looked_at) = proposed.into_list();
        self.work.set(self.work.get().saturating_add(looked_at));
        list
    }

    /// Tries a cure: its kind and how many findings it leaves, when it cures.
    fn proof(&self, finding: &Finding, cure: &Cure) -> Option<(FixKind, usize)> {
        let edited = self.board.edited(&cure.edits).ok()?;
        let with_comparison = finding.rule == NOT_SETTLED;
        let before = self.findings(with_comparison);
        let after = Findings::of(&edited, &self.options_for(with_comparison), &self.work);
        let moved = Moved::new(self.board, &cure.edits)?;
        let there = moved.spot(&Spot::of(finding));
        let gone = after.of_rule(finding.rule) < before.of_rule(finding.rule)
            && there.is_none_or(|there| after.at(&there) < before.at(&Spot::of(finding)));
        if !gone {
            return None;
        }
        if moved.has_new_error(before, &after) {
            return None;
        }
        // What leaves as many findings as before might be followed by a fix that leads back: it is never made unasked.
        let fewer = after.count < before.count;
        let safe = fewer && self.is_unasked(finding, cure) && self.keeps_the_route(&edited);
        let kind = if safe { FixKind::Safe } else { FixKind::Choice };
        Some((kind, after.count))
    }

    /// Whether a cure may be made without asking anybody, if it turns out to change nothing that is played.
    pub(super) fn is_unasked(&self, finding: &Finding, cure: &Cure) -> bool {
        let sound = || !self.findings(false).errors;
        let idle = || rules::category_of(finding.rule) == Some(Category::Idle);
        let waits = || !idle() && self.takes_a_sign_of_the_road(&cure.edits);
        let waits =
            || waits() || finding.rule != SAME_SIGN_TWICE && self.takes_a_time_to_come(cure);
        cure.only_meaning
            || !self.moves(&cure.edits) && !adds_what_acts(&cure.edits) && !waits() && sound()
    }

    /// Whether a sign is taken away whose times can come once there is a return, or a repeat, on a board that has none yet.
    fn takes_a_time_to_come(&self, cure: &Cure) -> bool {
        let laid = &self.ground.laid;
        cure.edits.iter().any(|edit| {
            let Edit::Remove(index) = edit else {
                return false;
            };
            let when = match self.board.markings().get(*index).map(Marking::sign) {
                Some(Sign::Octave(octave)) => &octave.when,
                Some(Sign::Fermata(fermata)) => &fermata.when,
                Some(Sign::Only(only)) => &only.when,
                _ => return false,
            };
            match when {
                When::EveryPass => false,
                When::OnReturn => laid.jumps.is_empty(),
                When::OnRepeat | When::LastPass | When::Passes(_) => laid.ends.is_empty(),
            }
        })
    }

    /// Whether a sign is taken away that could matter once other signs are there: boards are checked while they are being laid.
    fn takes_a_sign_of_the_road(&self, edits: &[Edit]) -> bool {
        edits.iter().any(|edit| {
            let Edit::Remove(index) = edit else {
                return false;
            };
            let sign = self.board.markings().get(*index).map(Marking::sign);
            !matches!(
                sign,
                Some(Sign::Octave(_) | Sign::Fermata(_) | Sign::Only(_) | Sign::DoubleBar(_))
            )
        })
    }

    /// Whether so much work has been done for this board that nothing more is begun.
    pub(super) fn is_tired(&self) -> bool {
        self.work.get() > MOST_WORK
    }

    /// Whether a sign is put at another place: where it was meant to stand, only the writer knows.
    fn moves(&self, edits: &[Edit]) -> bool {
        edits.iter().any(|edit| match edit {
            Edit::Replace(index, new) => {
                let old = self.board.markings().get(*index);
                old.is_none_or(|old| old.place() != new.place())
            }
            Edit::Add(_) | Edit::Remove(_) => false,
        })
    }

    pub(super) fn findings(&self, with_comparison: bool) -> &Findings {
        let slot = if with_comparison {
            &self.full
        } else {
            &self.quick
        };
        slot.get_or_init(|| {
            Findings::of(self.board, &self.options_for(with_comparison), &self.work)
        })
    }

    pub(super) fn options_for(&self, with_comparison: bool) -> CheckOptions {
        let most_compared = if with_comparison {
            self.options.most_compared
        } else {
            0
        };
        CheckOptions {
            most_compared,
            ..*self.options
        }
    }

    /// Whether the board is played as before on all terms on which it has a route. A board that is in error under its default reading may
    /// have none.
    pub(super) fn keeps_the_route(&self, edited: &Board) -> bool {
        let base = self.board.reading().over(Reading::default());
        let default = Terms {
            reading: base,
            ..judged()
        };
        // Most that changes anything changes this route.
        let Some(mut steps) = self.steps_kept(edited, default) else {
            return false;
        };
        let mut questions = questions_that_can_matter(self.board);
        for question in questions_that_can_matter(edited) {
            if !questions.contains(&question) {
                questions.push(question);
            }
        }
        let has_open = |ground: &Ground| ground.sections.list.iter().any(|it| it.open.is_some());
        let has_open = has_open(&self.ground) || has_open(&Ground::new(edited, &judged()));
        for reading in base.varied(&questions) {
            let plays = if has_open { 2..=3 } else { 2..=2 };
            let as_often = plays.map(|plays| (Some(plays), false));
            for (open_plays, omit_repeats) in as_often.chain([(Some(2), true)]) {
                let terms = Terms {
                    reading,
                    omit_repeats,
                    open_plays,
                };
                match self.steps_kept(edited, terms) {
                    Some(more) => steps += more,
                    None => return false,
                }
                if steps > MOST_STEPS_COMPARED || self.is_tired() {
                    return false;
                }
            }
        }
        true
    }

    /// On some terms: how many steps the route has when it is the same for both boards, 0 when the board has none; `None` when they differ.
    fn steps_kept(&self, edited: &Board, terms: Terms) -> Option<u64> {
        let mut routes = self.routes.borrow_mut();
        let before = routes
            .entry(terms)
            .or_insert_with(|| heard(self.board, &terms, &self.work))
            .clone();
        drop(routes);
        let before = match before {
            Route::Heard(before) => before,
            // Without a route there is nothing to keep, unless it is too long to be looked at.
            Route::Long => return None,
            Route::None => return Some(0),
        };
        match heard(edited, &terms, &self.work) {
            Route::Heard(after) => (before == after).then_some(after.len() as u64),
            Route::Long | Route::None => None,
        }
    }
}

/// Whether a sign is added that does something by itself: it turns the road or ends it, or changes how measures are played.
fn adds_what_acts(edits: &[Edit]) -> bool {
    edits.iter().any(|edit| match edit {
        Edit::Add(marking) => {
            let sign = marking.sign();
            sign.side() != Side::Landing && !matches!(sign, Sign::DoubleBar(_))
        }
        Edit::Remove(_) | Edit::Replace(..) => false,
    })
}

/// What is heard on a board's route.
fn heard(board: &Board, terms: &Terms, work: &Cell<usize>) -> Route {
    let is_long = |errors: &[Finding]| errors.iter().any(|it| it.rule == ROUTE_TOO_LONG);
    let (route, stretches) = match Roadmap::under(board, terms) {
        Ok(roadmap) if roadmap.length() > LONGEST_COMPARED => {
            (Route::Long, roadmap.compiled.pieces.len())
        }
        Ok(roadmap) => {
            let steps = roadmap.steps().map(|step| Heard::of(&step));
            (
                Route::Heard(Rc::new(steps.collect())),
                roadmap.compiled.pieces.len(),
            )
        }
        Err(Refusal::Errors(errors)) if is_long(&errors) => (Route::Long, MOST_STRETCHES),
        Err(_) => (Route::None, 0),
    };
    let size = usize::from(board.measures()) + board.markings().len();
    work.set(work.get().saturating_add(size + stretches));
    route
}

/// The terms on which boards are checked.
fn judged() -> Terms {
    Terms {
        open_plays: Some(2),
        ..Terms::default()
    }
}

/// Where each marking is after edits.
pub(super) struct Moved {
    /// The markings that are taken away, by rising index.
    removed: Vec<usize>,
}

impl Moved {
    pub(super) fn new(board: &Board, edits: &[Edit]) -> Option<Moved> {
        let fates = fates(edits, board.markings().len()).ok()?;
        let removed = fates
            .into_iter()
            .filter(|(_, fate)| matches!(fate, Fate::Removed))
            .map(|(index, _)| index);
        Some(Moved {
            removed: removed.collect(),
        })
    }

    /// Whether the edited board has an error that the board did not have before.
    pub(super) fn has_new_error(&self, before: &Findings, after: &Findings) -> bool {
        let mut errors_before: HashMap<Spot, usize> = HashMap::new();
        for (spot, count) in &before.at {
            if spot.severity == Severity::Error {
                if let Some(spot) = self.spot(spot) {
                    *errors_before.entry(spot).or_default() += count;
                }
            }
        }
        after.at.iter().any(|(spot, &count)| {
            spot.severity == Severity::Error
                && count > errors_before.get(spot).copied().unwrap_or(0)
        })
    }

    /// The same spot on the edited board; `None` when its marking was taken away.
    fn spot(&self, spot: &Spot) -> Option<Spot> {
        let marking = match spot.marking {
            None => None,
            Some(index) => {
                let before = self.removed.partition_point(|&removed| removed < index);
                if self.removed.get(before) == Some(&index) {
                    return None;
                }
                Some(index - before)
            }
        };
        Some(Spot {
            marking,
            ..spot.clone()
        })
    }
}
