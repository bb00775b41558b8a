//! A whole suite put to a subject, and what came of it.

use std::fmt::{self, Write as _};

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::levels::Level;
use crate::load::Suite;
use crate::reply::titled;
use crate::run::{Disagreement, run};
use crate::subject::{Form, Subject};

/// What came of a suite.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Report {
    /// The version of the format of cases and report; 1.
    pub conformance: u32,
    /// The highest level that was asked.
    pub level: Level,
    /// All cases that ask something at these levels.
    pub totals: Totals,
    /// The same for each level. A case that asks something at several levels counts at each.
    pub levels: Vec<LevelTotals>,
    /// The same for each clause that has a case at these levels.
    pub clauses: Vec<ClauseTotals>,
    /// The cases that failed, in their order.
    pub failed: Vec<CaseReport>,
    /// The cases that did not fail and of which something was passed by, in their order.
    pub skipped: Vec<CaseReport>,
}

/// How many cases passed, failed, and were passed by.
#[derive(Clone, Copy, Default, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Totals {
    /// Cases of which everything was answered as the case says.
    pub passed: usize,
    /// Cases of which something was answered otherwise, or could not be answered.
    pub failed: usize,
    /// Cases that did not fail and of which the subject passed something by.
    pub skipped: usize,
}

/// The totals of a level.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct LevelTotals {
    /// The level.
    pub level: Level,
    /// Whether it and every level before it is reached: nothing failed, nothing passed by.
    pub reached: bool,
    /// The totals.
    pub totals: Totals,
}

/// The totals of a clause.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct ClauseTotals {
    /// The clause's number.
    pub clause: String,
    /// Its title.
    pub title: String,
    /// The totals.
    pub totals: Totals,
}

/// A case that did not pass.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct CaseReport {
    /// The case's id.
    pub case: String,
    /// Its clause.
    pub clause: String,
    /// Its title.
    pub title: String,
    /// What was found, each with the level that asked it.
    pub found: Vec<Found>,
}

/// One difference between a case and a subject.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct Found {
    /// The level at which it was asked.
    pub level: Level,
    /// Where they differ.
    #[serde(flatten)]
    pub disagreement: Disagreement,
}

/// Puts every case of a suite to a subject, level by level up to the one given.
pub fn examine(suite: &Suite, subject: &mut dyn Subject, level: Level) -> Report {
    let asked = || Level::ALL.into_iter().filter(|&l| l <= level);
    let mut report = Report {
        conformance: crate::json::FORMAT,
        level,
        totals: Totals::default(),
        levels: asked()
            .map(|level| LevelTotals {
                level,
                reached: true,
                totals: Totals::default(),
            })
            .collect(),
        clauses: Vec::new(),
        failed: Vec::new(),
        skipped: Vec::new(),
    };
    for chapter in &suite.chapters {
        for clause in &chapter.clauses {
            let mut of_clause = Totals::default();
            for case in chapter.cases.iter().filter(|c| c.clause == clause.number) {
                let mut found: Vec<Found> = Vec::new();
                let mut any = false;
                for of_level in &mut report.levels {
                    let level = of_level.level;
                    let Some(part) = case.at(level) else { continue };
                    any = true;
                    let differing = run(&part, subject, Form::Json);
                    of_level.totals.count(differing.iter());
                    found.extend(differing.into_iter().map(|disagreement| Found {
                        level,
                        disagreement,
                    }));
                }
                if !any {
                    continue;
                }
                of_clause.count(found.iter().map(|found| &found.disagreement));
                if found.is_empty() {
                    continue;
                }
                let failed = found.iter().any(|found| !found.disagreement.skipped);
                let list = if failed {
                    &mut report.failed
                } else {
                    &mut report.skipped
                };
                list.push(CaseReport {
                    case: case.id.clone(),
                    clause: case.clause.clone(),
                    title: case.title.clone(),
                    found,
                });
            }
            if of_clause == Totals::default() {
                continue;
            }
            report.totals.add(of_clause);
            report.clauses.push(ClauseTotals {
                clause: clause.number.clone(),
                title: clause.title.clone(),
                totals: of_clause,
            });
        }
    }
    let mut reached = true;
    for of_level in &mut report.levels {
        reached &= of_level.totals.failed == 0 && of_level.totals.skipped == 0;
        of_level.reached = reached;
    }
    report
}

/// The JSON Schema (2020-12) of a report.
pub fn report_schema() -> serde_json::Value {
    titled::<Report>("What came of the conformance cases")
}

impl Totals {
    /// All of them together.
    pub fn cases(&self) -> usize {
        self.passed + self.failed + self.skipped
    }

    /// Counts one case, by what was found of it.
    fn count<'a>(&mut self, mut found: impl Iterator<Item = &'a Disagreement> + Clone) {
        if found.clone().any(|found| !found.skipped) {
            self.failed += 1;
        } else if found.next().is_some() {
            self.skipped += 1;
        } else {
            self.passed += 1;
        }
    }

    fn add(&mut self, other: Totals) {
        self.passed += other.passed;
        self.failed += other.failed;
        self.skipped += other.skipped;
    }
}

impl fmt::Display for Report {
    /// The report as text: what did not pass, then the totals by clause, by level, and of all.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut text = String::new();
        for (word, list) in [("failed", &self.failed), ("passed by", &self.skipped)] {
            for case in list {
                writeln!(text, "{word}: {} {}", case.case, case.title)?;
                for found in &case.found {
                    writeln!(text, "    {}", found.disagreement)?;
                }
            }
        }
        if !text.is_empty() {
            text.push('\n');
        }
        let width = self.clauses.iter().map(|c| c.title.chars().count()).max();
        let width = width.unwrap_or(0).max("clause".len());
        let heading = "clause";
        writeln!(text, "{heading:<6}{:width$}  passed  failed  passed by", "")?;
        for of in &self.clauses {
            let Totals {
                passed,
                failed,
                skipped,
            } = of.totals;
            writeln!(
                text,
                "{:<6}{:<width$}  {passed:>6}  {failed:>6}  {skipped:>9}",
                of.clause, of.title
            )?;
        }
        text.push('\n');
        for of in &self.levels {
            let reached = if of.reached { "reached" } else { "not reached" };
            writeln!(
                text,
                "level {}, {}: {reached}, {} of {} cases passed",
                of.level.number(),
                of.level.title(),
                of.totals.passed,
                of.totals.cases()
            )?;
        }
        writeln!(
            text,
            "{} cases: {} passed, {} failed, {} passed by",
            self.totals.cases(),
            self.totals.passed,
            self.totals.failed,
            self.totals.skipped
        )?;
        f.write_str(&text)
    }
}
