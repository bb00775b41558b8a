//! A route in words, as text: for every command that tells one.

use fingerpost_json::RouteTold;

use crate::text::{counted, wrapped};

/// The most things that are told of a route.
pub(crate) const MOST_TOLD: usize = 60;

/// A route move by move, each with its number and, for the teacher, its clause; moves that come again have no number of their own.
/// `more` says how to see the steps that are not told; it may be empty.
pub(crate) fn route(route: &RouteTold, clauses: bool, more: &str, width: usize) -> String {
    let mut text = moves(route, clauses, width, &|number, _| format!("{number:>3}. "));
    if let Some(ending) = &route.ending {
        text.push_str(&wrapped(ending, width, "     ", "     "));
    } else {
        let left = counted(route.left, "step", "steps");
        let line = format!("     … and so on: {left} more. {more}");
        text.push_str(&format!("{}\n", line.trim_end()));
    }
    text
}

/// A part of a route, each move with the step at which it begins.
pub(crate) fn part_of_route(route: &RouteTold, clauses: bool, width: usize) -> String {
    let mut text = moves(route, clauses, width, &|_, step| format!("  Step {step}: "));
    if let Some(ending) = &route.ending {
        text.push_str(&wrapped(ending, width, "     ", "     "));
    }
    if route.told.is_empty() {
        text.push_str(&wrapped(TOO_FAR, width, "  ", "  "));
    } else if route.left > 0 {
        let left = counted(route.left, "step", "steps");
        text.push_str(&format!("     … and so on: {left} more.\n"));
    }
    text
}

/// What is said of steps that are not told.
const TOO_FAR: &str = "These steps are too far into the route to be told in words.";

/// The moves that are told; `begins` writes what stands before one, from its number and its first step.
fn moves(
    route: &RouteTold,
    clauses: bool,
    width: usize,
    begins: &dyn Fn(u64, u64) -> String,
) -> String {
    let mut text = String::new();
    let mut number = 0;
    for told in &route.told {
        let mut sentence = told.says.clone();
        if let Some(clause) = told.clause.as_ref().filter(|_| clauses) {
            sentence.push_str(&format!(" [{clause}]"));
        }
        let first = if let Some(again) = &told.again {
            number += u64::from(again.moves) * again.times;
            "     ".to_owned()
        } else {
            number += 1;
            begins(number, told.step.unwrap_or_default())
        };
        text.push_str(&wrapped(&sentence, width, &first, "     "));
    }
    text
}
