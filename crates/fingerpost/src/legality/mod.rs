//! What is wrong with a board: findings, and the rules that make them. One file a rule, one registry.

mod finding;
mod rules;
mod sheet;
mod words;

use crate::board::Board;
use crate::reading::Reading;
use crate::roadmap::compile::WalkFault;
use crate::roadmap::laid::Laid;
use crate::roadmap::row::Row;
use crate::roadmap::sections::Sections;
use crate::roadmap::{Refusal, Roadmap, Terms};

pub use finding::{Finding, Severity};
pub use rules::{RuleInfo, rules};
use sheet::{Report, Sheet};
pub use words::sign_words;

/// Every finding on a board, judged under its default reading, in board order, the same each time.
///
/// ```
/// use fingerpost::{Board, Sign};
/// let board = Board::builder([4]).mark(Sign::DalSegno(Default::default()), 4).build()?;
/// let findings = fingerpost::check(&board);
/// assert_eq!(findings[0].rule, "segno-missing");
/// # Ok::<(), fingerpost::BoardError>(())
/// ```
pub fn check(board: &Board) -> Vec<Finding> {
    // An open section can be judged with any number of plays.
    let terms = Terms {
        open_plays: Some(2),
        ..Terms::default()
    };
    match Roadmap::under(board, &terms) {
        Err(Refusal::Errors(errors)) => errors,
        _ => Vec::new(),
    }
}

/// The errors that can be seen without walking, in board order.
pub(crate) fn errors_under(
    board: &Board,
    row: &Row,
    laid: &Laid,
    sections: &Sections,
    reading: Reading,
) -> Vec<Finding> {
    let sheet = Sheet {
        board,
        row,
        laid,
        sections,
        reading,
    };
    let mut findings = Vec::new();
    for rule in rules::ALL {
        if let rules::How::Looking(look) = rule.how {
            look(&sheet, &mut Report::new(rule, board, &mut findings));
        }
    }
    // A stable sort: findings at one place keep the order of the registry.
    findings.sort_by_key(|finding| (finding.measure, finding.marking));
    findings
}

/// The finding for what only walking can show.
pub(crate) fn walk_fault(board: &Board, row: &Row, fault: &WalkFault) -> Finding {
    let mut findings = Vec::new();
    for rule in rules::ALL {
        if let rules::How::Walking(tell) = rule.how {
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
        marking: None,
        related: Vec::new(),
    })
}
