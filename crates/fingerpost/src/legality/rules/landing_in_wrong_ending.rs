//! `landing-in-wrong-ending`: a jump that lands in an ending which is not played on that pass.

use super::super::finding::{Category, Severity};
use super::super::sheet::Report;
use super::{How, Rule};
use crate::board::Board;
use crate::roadmap::compile::WalkFault;
use crate::roadmap::row::Row;

pub(super) const RULE: Rule = Rule {
    name: "landing-in-wrong-ending",
    severity: Severity::Error,
    category: Category::Jumps,
    since: "0.1",
    summary: "A jump does not land in an ending that is not played on the pass it lands on.",
    clause: "10.14",
    how: How::Walking(tell),
};

fn tell(_: &Board, row: &Row, fault: &WalkFault, report: &mut Report<'_>) {
    let WalkFault::LandingInEnding {
        landing,
        ending,
        by,
        pass,
    } = *fault
    else {
        return;
    };
    let measure = row.part(landing).0;
    let message = format!(
        "this jump lands at measure {measure}, in an ending that is not played on pass {pass}"
    );
    let help = "put the sign it goes to before the ending, or in the ending that is played then"
        .to_owned();
    report.at(by, &[ending], message, help);
}
