//! What becomes of a board when signs are added to it: the errors that are new, and the signs that lack their partner. It is asked many
//! times of one board, so that what the board itself says is worked out once.

use super::finding::{Finding, Severity};
use super::rules::{ALL, How, Rule};
use super::sheet::{Report, Sheet};
use super::walk_fault;
use crate::board::{Board, Marking, Place, Sign, Then};
use crate::reading::Reading;
use crate::roadmap::compile::WalkFault;
use crate::roadmap::coverage::Coverage;
use crate::roadmap::laid::Laid;
use crate::roadmap::row::{PartIndex, Row};
use crate::roadmap::sections::Sections;
use crate::roadmap::{Ground, Terms, Walked, walk_over};

/// The errors that a further sign may cure: something is missing. No sign that is added takes any other error away that can be seen
/// by looking, save by chance.
const CURABLE: [&str; 6] = [
    "segno-missing",
    "fine-missing",
    "to-coda-missing",
    "coda-missing",
    "ending-gap",
    "ending-not-closed",
];

/// The warnings about a sign that lacks its partner.
const LACKS: [&str; 6] = [
    "start-repeat-unclosed",
    "segno-unused",
    "coda-unused",
    "to-coda-unused",
    "fine-unused",
    "ending-without-repeat",
];

/// The terms on which a board in the making is judged: the default reading, an open section played twice.
pub(super) fn terms() -> Terms {
    Terms {
        open_plays: Some(2),
        ..Terms::default()
    }
}

/// Whether a finding is an error that a further sign may cure.
pub(super) fn is_curable(finding: &Finding) -> bool {
    CURABLE.contains(&finding.rule)
}

/// Whether a finding says that a sign lacks its partner: a warning, or an error that a further sign may cure.
pub(crate) fn is_lack(finding: &Finding) -> bool {
    is_curable(finding) || LACKS.contains(&finding.rule)
}

pub(crate) fn is_error(finding: &Finding) -> bool {
    finding.severity == Severity::Error
}

/// A board to which signs are added.
pub(crate) struct Judge<'b> {
    pub(super) board: &'b Board,
    pub(super) row: Row,
    pub(super) laid: Laid,
    pub(super) sections: Sections,
    pub(super) reading: Reading,
    /// The rules that find errors and lacking partners by looking.
    rules: Vec<&'static Rule>,
    /// What they find on the board as it is.
    before: Vec<Finding>,
    /// The markings, counted from the first, whose own lack of a partner counts as known.
    settled_for: usize,
    /// What stops the board as it is from being walked, beside what can be seen.
    fault_before: Option<Finding>,
    /// Whether a segno or coda of the board stands in an ending.
    lands_in_ending: bool,
}

/// The board with some signs added.
pub(crate) struct Trial {
    pub(crate) laid: Laid,
    pub(super) sections: Sections,
    /// Its errors and lacking partners, as far as they can be seen by looking.
    pub(crate) found: Vec<Finding>,
}

impl<'b> Judge<'b> {
    pub(crate) fn new(board: &'b Board) -> Judge<'b> {
        let ground = Ground::new(board, &terms());
        let looks = |rule: &&&Rule| matches!(rule.how, How::Looking(_));
        let asked = |rule: &&&Rule| rule.severity == Severity::Error || LACKS.contains(&rule.name);
        let rules = ALL.iter().filter(looks).filter(asked).copied().collect();
        let Ground {
            row,
            laid,
            sections,
            reading,
        } = ground;
        let mut judge = Judge {
            board,
            row,
            laid,
            sections,
            reading,
            rules,
            before: Vec::new(),
            settled_for: 0,
            fault_before: None,
            lands_in_ending: false,
        };
        judge.before = judge.look(&judge.laid, &judge.sections);
        if !judge.before.iter().any(is_error) {
            let length = judge.row.length();
            let walked = walk_over(&judge.laid, &judge.sections, length, reading, &terms());
            let fault = walked.err();
            judge.fault_before = fault.map(|fault| walk_fault(board, &judge.row, &fault));
        }
        let mut landings = judge.laid.segnos.iter().chain(&judge.laid.codas);
        judge.lands_in_ending = landings.any(|landing| judge.in_ending(landing.part));
        judge
    }

    /// A board of which some of what is found counts as known, and the rest as new whatever is added.
    pub(super) fn overlooking(board: &'b Board, known: impl Fn(&Finding) -> bool) -> Judge<'b> {
        let mut judge = Judge::new(board);
        judge.before.retain(known);
        judge
    }

    /// The same where signs of the board that nothing calls, and that call nothing, count as known whatever is added.
    pub(super) fn overlooking_the_unused(
        board: &'b Board,
        known: impl Fn(&Finding) -> bool,
    ) -> Judge<'b> {
        Judge {
            settled_for: board.markings().len(),
            ..Judge::overlooking(board, known)
        }
    }

    /// The board with signs added. They cut no measure.
    pub(crate) fn trial(&self, added: &[Marking]) -> Trial {
        let (laid, sections) = self.laid_with(added);
        let found = self.look(&laid, &sections);
        Trial {
            laid,
            sections,
            found,
        }
    }

    /// The same for a trial that has neither an error nor a lacking partner that can be seen by looking; `None` as soon as one is found.
    pub(crate) fn clean_trial(&self, added: &[Marking]) -> Option<Trial> {
        let (laid, sections) = self.laid_with(added);
        let clean = !self.breaks(&laid, &sections, |_| true);
        clean.then(|| Trial {
            laid,
            sections,
            found: Vec::new(),
        })
    }

    /// What signs that are added make of the measures, unless one of these rules is broken.
    pub(crate) fn sections_with(
        &self,
        added: &[Marking],
        rules: &[&str],
    ) -> Option<(Laid, Sections)> {
        let (laid, sections) = self.laid_with(added);
        let broken = self.breaks(&laid, &sections, |rule| rules.contains(&rule));
        (!broken).then_some((laid, sections))
    }

    /// Whether one of these rules is broken with signs added.
    pub(crate) fn breaks_any(&self, added: &[Marking], rules: &[&str]) -> bool {
        self.sections_with(added, rules).is_none()
    }

    fn laid_with(&self, added: &[Marking]) -> (Laid, Sections) {
        let laid = self.laid.with(self.board, &self.row, added);
        let sections = if added.iter().any(|marking| shapes_sections(marking.sign())) {
            Sections::new(&laid, self.row.length(), self.reading, 2)
        } else {
            self.sections.clone()
        };
        (laid, sections)
    }

    /// What the rules look at.
    fn sheet<'s>(&'s self, laid: &'s Laid, sections: &'s Sections) -> Sheet<'s> {
        Sheet {
            board: self.board,
            row: &self.row,
            laid,
            sections,
            reading: self.reading,
        }
    }

    /// Whether one of the rules asked for is broken; no more is looked at than is needed to know.
    fn breaks(&self, laid: &Laid, sections: &Sections, asked: impl Fn(&str) -> bool) -> bool {
        let sheet = self.sheet(laid, sections);
        let mut found = Vec::new();
        self.rules
            .iter()
            .filter(|rule| asked(rule.name))
            .any(|rule| {
                if let How::Looking(look) = rule.how {
                    look(&sheet, &mut Report::new(rule, self.board, &mut found));
                }
                !found.is_empty()
            })
    }

    fn look(&self, laid: &Laid, sections: &Sections) -> Vec<Finding> {
        let sheet = self.sheet(laid, sections);
        let mut found = Vec::new();
        for rule in &self.rules {
            if let How::Looking(look) = rule.how {
                look(&sheet, &mut Report::new(rule, self.board, &mut found));
            }
        }
        found
    }

    /// What a trial has found that is not found on the board as it is.
    pub(super) fn fresh(&self, found: Vec<Finding>) -> Vec<Finding> {
        let counts =
            |it: &Finding| is_error(it) || it.marking.is_none_or(|it| it >= self.settled_for);
        let found = found.into_iter().filter(counts).collect();
        fresh(&self.before, found)
    }

    /// The route of a trial that has no errors.
    ///
    /// # Errors
    /// What stops it from being walked.
    pub(crate) fn walk(&self, trial: &Trial) -> Result<Walked, WalkFault> {
        let (laid, sections) = (&trial.laid, &trial.sections);
        walk_over(laid, sections, self.row.length(), self.reading, &terms())
    }

    /// What a trial is made of.
    pub(super) fn ground_of(&self, trial: Trial) -> Ground {
        Ground {
            row: self.row.clone(),
            laid: trial.laid,
            sections: trial.sections,
            reading: self.reading,
        }
    }

    /// For each measure whether it is never played with signs added; empty where the board has no route then.
    pub(super) fn never_played(&self, added: &[Marking]) -> Vec<bool> {
        let trial = self.trial(added);
        if trial.found.iter().any(is_error) {
            return Vec::new();
        }
        let Ok(walked) = self.walk(&trial) else {
            return Vec::new();
        };
        let coverage = Coverage::new(&self.ground_of(trial), &walked);
        let measures = 1..=self.board.measures();
        let is_played = |measure| {
            let mut parts = self.row.parts_of(measure);
            parts.any(|part| coverage.times(part).played())
        };
        measures.map(|measure| !is_played(measure)).collect()
    }

    /// Whether a trial can be walked, or is stopped by what stops the board as it is. A trial with errors is not asked: what walking shows
    /// is known when they are gone.
    pub(super) fn walks(&self, trial: &Trial) -> Result<(), Finding> {
        if trial.found.iter().any(is_error) {
            return Ok(());
        }
        match self.walk(trial) {
            Ok(_) => Ok(()),
            Err(fault) => self.stopped(&fault),
        }
    }

    /// The finding for what stops a trial, unless it stops the board as it is.
    pub(super) fn stopped(&self, fault: &WalkFault) -> Result<(), Finding> {
        let finding = walk_fault(self.board, &self.row, fault);
        let before = self.fault_before.as_ref();
        if before.is_some_and(|before| same(before, &finding)) {
            Ok(())
        } else {
            Err(finding)
        }
    }

    /// Whether walking may show an error of the board with these signs: only what lands in an ending can go wrong there.
    pub(super) fn may_land_wrongly(&self, added: &[Marking]) -> bool {
        self.lands_in_ending
            || added.iter().any(|marking| {
                let part = self.row.part_of(self.board, marking);
                match marking.sign() {
                    Sign::Segno(_) | Sign::Coda(_) => {
                        self.in_ending(part) && self.is_called(marking.sign(), added)
                    }
                    Sign::Ending(_) => {
                        let first = self.row.parts_of(marking.place().first()).start;
                        let last = self.row.parts_of(marking.place().last()).end;
                        let mut landings = self.laid.segnos.iter().chain(&self.laid.codas);
                        landings.any(|landing| first <= landing.part && landing.part < last)
                    }
                    _ => false,
                }
            })
    }

    /// Whether a sign of the board, or one that is added, sends the road to a segno or a coda.
    fn is_called(&self, landing: &Sign, added: &[Marking]) -> bool {
        let mut all = self.board.markings().iter().chain(added);
        all.any(|marking| match (landing, marking.sign()) {
            (Sign::Segno(segno), Sign::DalSegno(jump)) => segno.label == jump.label,
            (Sign::Coda(coda), Sign::ToCoda(to_coda)) => coda.label == to_coda.label,
            (Sign::Coda(coda), Sign::DaCapo(jump) | Sign::DalSegno(jump)) => {
                jump.then == Some(Then::Coda) && coda.label == jump.coda
            }
            _ => false,
        })
    }

    fn in_ending(&self, part: PartIndex) -> bool {
        let mut endings = self.laid.endings.iter();
        endings.any(|ending| ending.first <= part && part <= ending.last)
    }

    /// The places at which the board has this sign already.
    pub(super) fn twins(&self, sign: &Sign) -> Vec<Place> {
        let equal = self.board.markings().iter();
        let equal = equal.filter(|other| other.sign() == sign);
        equal.map(Marking::place).collect()
    }

    /// The board with signs added.
    pub(super) fn with(&self, added: &[Marking]) -> Option<Board> {
        let builder = self.board.to_builder();
        builder.markings(added.iter().cloned()).build().ok()
    }
}

/// What is found beyond what was found before.
pub(super) fn fresh(before: &[Finding], found: Vec<Finding>) -> Vec<Finding> {
    let mut left: Vec<&Finding> = before.iter().collect();
    let is_new = |finding: &Finding| {
        let known = left.iter().position(|other| same(other, finding));
        if let Some(at) = known {
            left.swap_remove(at);
        }
        known.is_none()
    };
    let mut is_new = is_new;
    found.into_iter().filter(|it| is_new(it)).collect()
}

/// Whether two findings, on a board and on the same with signs added, are one. A gap between endings is told at the last of them, which
/// a further ending changes; it is known by its passes.
fn same(one: &Finding, other: &Finding) -> bool {
    one.rule == other.rule
        && if one.rule == "ending-gap" {
            one.message == other.message
        } else {
            one.marking == other.marking
        }
}

/// Whether a sign has a part in where the sections are, or how often they are played.
fn shapes_sections(sign: &Sign) -> bool {
    !matches!(
        sign,
        Sign::Segno(_)
            | Sign::Coda(_)
            | Sign::ToCoda(_)
            | Sign::Fine(_)
            | Sign::Octave(_)
            | Sign::Fermata(_)
            | Sign::Only(_)
    )
}
