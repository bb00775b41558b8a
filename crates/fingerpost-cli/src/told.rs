//! A route in words, as text: for every command that tells one.

use fingerpost_json::RouteTold;

use crate::text::{counted, wrapped};

/// The most things that are told of a route.
pub(crate) const MOST_TOLD: usize = 60;

/// A route move by move, each with its number and, for the teacher, its clause; moves that come again have no number of their own.
/// `more` says how to see the steps that are not told.
pub(crate) fn route(route: &RouteTold, clauses: bool, more: &str, width: usize) -> String {
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
            format!("{number:>3}. ")
        };
        text.push_str(&wrapped(&sentence, width, &first, "     "));
    }
    if let Some(ending) = &route.ending {
        text.push_str(&wrapped(ending, width, "     ", "     "));
    } else {
        let left = counted(route.left, "measure", "measures");
        text.push_str(&format!("     … and so on: {left} more. {more}\n"));
    }
    text
}
