//! What is wrong with a board: findings, and the rules that make them. One file a rule, one registry.

mod arranged;
mod beside;
mod classes;
mod cures;
mod finding;
mod fixes;
mod heard;
mod hunt;
pub(crate) mod judge;
mod missing;
mod notes;
mod partners;
mod places;
mod rules;
pub(crate) mod settling;
mod sheet;
mod spots;
mod still;
mod tally;
mod together;
mod wanted;
mod ward;
mod words;

use crate::board::Board;
use crate::roadmap::compile::WalkFault;
use crate::roadmap::coverage::Coverage;
use crate::roadmap::paths::MOST_STRETCHES;
use crate::roadmap::row::Row;
use crate::roadmap::{Ground, Terms, Walked};

pub use arranged::Counted;
pub(crate) use arranged::counted;
pub use finding::{Category, Finding, FindingPlace, FindingSide, Severity};
pub use fixes::{
    FULLY_FIXED, Fix, FixKind, MOST_FINDINGS_FIXED, MOST_OFFERED, MOST_TRIED, fixes, fixes_of_all,
    fixes_with, safe_fix,
};
pub use heard::LONGEST_COMPARED;
pub use missing::{MOST_MISSING, Missing, MissingSet, missing};
pub use partners::Partner;
pub use places::{
    ALL_ROWS_UP_TO, LONGEST_ROW_TO_PLACE, MOST_MEASURES_TO_PLACE, MOST_SIGNS_TO_PLACE,
    PlaceVerdict, Places, TooLargeToPlace, Verdict, places,
};
use rules::{How, Rule};
pub use rules::{RuleInfo, rules};
use sheet::{Report, Road, Sheet};
pub use together::{SafeFixes, safe_fixes};
pub use wanted::Card;
pub use words::sign_words;

/// What a caller may ask of a check.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct CheckOptions {
    /// The most steps a route may have before it is reported as over the limit (rule `route-over-limit`).
    pub longest_route: u64,
    /// The most signs a board may have for the routes of its readings to be compared (rule `not-settled`). Comparing walks a board
    /// once for each combination of answers that may matter, up to 144 times; larger boards are not asked whether they are settled.
    /// The same holds for boards with a route over the limit.
    pub most_compared: usize,
}

impl Default for CheckOptions {
    /// 10 000 steps; 1 000 signs.
    fn default() -> CheckOptions {
        CheckOptions {
            longest_route: 10_000,
            most_compared: 1_000,
        }
    }
}

/// Every finding on a board, judged under its default reading, in board order, the same each time. As [`check_with`] with the default
/// options.
///
/// ```
/// use fingerpost::{Board, Sign};
/// let board = Board::builder([4]).mark(Sign::DalSegno(Default::default()), 4).build()?;
/// let findings = fingerpost::check(&board);
/// assert_eq!(findings[0].rule, "segno-missing");
/// # Ok::<(), fingerpost::BoardError>(())
/// ```
pub fn check(board: &Board) -> Vec<Finding> {
    check_with(board, &CheckOptions::default())
}

/// Every finding on a board, judged under its default reading, in board order, the same each time.
///
/// A board with errors gets all its errors, and every warning and piece of advice that can be given without a route; a board without
/// errors gets them all. An open section counts as played twice. The time taken grows with the number of signs and measures, and no
/// further: what would take longer on a very large board (the comparison of readings, the search through overlapping octave signs) is
/// cut short there.
///
/// ```
/// use fingerpost::{Board, CheckOptions, check_with};
/// let board: Board = "1 |: 2 | 3 :|x20 4 |".parse()?;
/// assert!(check_with(&board, &CheckOptions::default()).is_empty());
/// let options = CheckOptions { longest_route: 40, ..CheckOptions::default() };
/// assert_eq!(check_with(&board, &options)[0].rule, "route-over-limit");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn check_with(board: &Board, options: &CheckOptions) -> Vec<Finding> {
    checked(board, options).0
}

/// The findings on a board, and how much work it was to find them: its measures, its signs, and the stretches of its route.
fn checked(board: &Board, options: &CheckOptions) -> (Vec<Finding>, usize) {
    let mut work = usize::from(board.measures()) + board.markings().len();
    // An open section counts as played twice, as it does wherever no number of plays is given.
    let terms = Terms::default();
    let ground = Ground::new(board, &terms);
    let sheet = Sheet::new(board, &ground);
    let mut findings = look(&sheet, |rule| rule.severity == Severity::Error);
    let walked = if findings.is_empty() {
        let walked = ground.walk(&terms);
        walked
            .map_err(|fault| {
                work += if fault == WalkFault::TooLong {
                    MOST_STRETCHES
                } else {
                    0
                };
                findings.push(walk_fault(board, &ground.row, &fault));
            })
            .ok()
    } else {
        None
    };
    findings.extend(look(&sheet, |rule| rule.severity != Severity::Error));
    if let Some(walked) = &walked {
        work += walked.compiled.pieces.len();
        let coverage = Coverage::new(&ground, walked);
        let road = Road {
            sheet,
            walked,
            coverage: &coverage,
            options,
        };
        for rule in rules::ALL {
            if let How::Walked(tell) = rule.how {
                tell(&road, &mut Report::new(rule, board, &mut findings));
            }
        }
    }
    (in_board_order(findings), work)
}

/// The errors that can be seen without walking, in board order.
pub(crate) fn errors_under(board: &Board, ground: &Ground) -> Vec<Finding> {
    let sheet = Sheet::new(board, ground);
    in_board_order(look(&sheet, |rule| rule.severity == Severity::Error))
}

/// The route of a board that has neither an error nor a warning; else the name of a rule that it breaks. Advice is not asked for.
pub(crate) fn sound(board: &Board, ground: &Ground, terms: &Terms) -> Result<Walked, &'static str> {
    let refused = |findings: &[Finding]| findings.first().map_or(Ok(()), |found| Err(found.rule));
    let sheet = Sheet::new(board, ground);
    refused(&look(&sheet, |rule| rule.severity != Severity::Advice))?;
    let walked = ground.walk(terms).map_err(|_| rules::ROUTE_TOO_LONG)?;
    let coverage = Coverage::new(ground, &walked);
    let options = CheckOptions::default();
    let road = Road {
        sheet,
        walked: &walked,
        coverage: &coverage,
        options: &options,
    };
    let mut findings = Vec::new();
    for rule in rules::ALL {
        if rule.severity == Severity::Advice {
            continue;
        }
        if let How::Walked(tell) = rule.how {
            tell(&road, &mut Report::new(rule, board, &mut findings));
        }
    }
    refused(&findings)?;
    Ok(walked)
}

/// What some of the rules find by looking.
fn look(sheet: &Sheet<'_>, asked: impl Fn(&Rule) -> bool) -> Vec<Finding> {
    let mut findings = Vec::new();
    for rule in rules::ALL.iter().filter(|rule| asked(rule)) {
        if let How::Looking(look) = rule.how {
            look(sheet, &mut Report::new(rule, sheet.board, &mut findings));
        }
    }
    findings
}

/// A stable sort: findings at one place keep the order in which they were made.
fn in_board_order(mut findings: Vec<Finding>) -> Vec<Finding> {
    findings.sort_by_key(|finding| (finding.measure, finding.marking));
    findings
}

/// The finding for what only walking can show.
pub(crate) fn walk_fault(board: &Board, row: &Row, fault: &WalkFault) -> Finding {
    let mut findings = Vec::new();
    for rule in rules::ALL {
        if let How::Walking(tell) = rule.how {
            tell(
                board,
                row,
                fault,
                &mut Report::new(rule, board, &mut findings),
            );
        }
    }
    findings.pop().unwrap_or_else(|| Finding {
        rule: rules::ROUTE_TOO_LONG,
        severity: Severity::Error,
        message: "the route of this board cannot be followed to its end".to_owned(),
        help: "take signs away until it can".to_owned(),
        measure: None,
        last: None,
        marking: None,
        related: Vec::new(),
        question: None,
    })
}
