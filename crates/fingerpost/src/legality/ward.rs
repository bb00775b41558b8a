//! A board whose findings are to be cured: what rules propose is tried on it, and what proves right is sorted into safe fixes and choices.

use std::cell::{Cell, OnceCell, RefCell};
use std::collections::HashMap;

use super::CheckOptions;
use super::cures::{Claim, Cure, Cures, Seams};
use super::finding::{Category, Finding};
use super::fixes::{Fix, FixKind, MOST_OFFERED, MOST_TRIED, most_findings};
use super::heard::{Route, heard};
use super::rules::{self, Doubt, NOT_SETTLED, SAME_SIGN_TWICE};
use super::sheet::Sheet;
use super::spots::{Findings, Moved, Spot};
use crate::board::{Board, Edit, Marking, Side, Sign, When};
use crate::compare::questions_that_can_matter;
use crate::reading::Reading;
use crate::roadmap::{Ground, Terms};

/// The most work that is done for the fixes of one board, in measures, markings and stretches of routes looked at: about a second. When it is
/// done, no more proposals are tried, and nothing more is called safe.
const MOST_WORK: usize = 6_000_000;
/// The most steps that are compared for one fix, under all readings.
const MOST_STEPS_COMPARED: u64 = 2_000_000;

/// A board whose findings are to be cured, with what is known of it.
pub(super) struct Ward<'a> {
    pub(super) board: &'a Board,
    options: &'a CheckOptions,
    ground: Ground,
    seams: Seams,
    doubts: OnceCell<Vec<Doubt>>,
    /// Its findings without `not-settled`, which takes long to find.
    quick: OnceCell<Findings>,
    /// Its findings with `not-settled`.
    full: OnceCell<Findings>,
    /// How much work has been done.
    pub(super) work: Cell<usize>,
    /// Its routes on the terms under which it has been walked so far.
    routes: RefCell<HashMap<Terms, Route>>,
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
            doubts: OnceCell::new(),
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

    pub(super) fn fixes(&self, finding: &Finding) -> Vec<Fix> {
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
                    cure.claim == Claim::AnotherRoad,
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
        let mut proposed = Cures::new(sheet, (&self.seams, &self.doubts), finding);
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
        match cure.claim {
            Claim::OnlyMeaning => true,
            Claim::MayStay => false,
            Claim::Cures | Claim::AnotherRoad => {
                !self.moves(&cure.edits) && !adds_what_acts(&cure.edits) && !waits() && sound()
            }
        }
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

/// The terms on which boards are checked.
fn judged() -> Terms {
    Terms {
        open_plays: Some(2),
        ..Terms::default()
    }
}
