//! Ending brackets: where each begins and ends, and for which passes it is.

use fingerpost::{Ending, Passes, Place, Sign};

use super::{Laying, number};
use crate::notices::Rule;
use crate::written::{At, Mark, What};

/// A bracket whose end is not known yet.
struct Open<'a> {
    mark: &'a Mark,
    first: u16,
    passes: Passes,
}

impl Laying<'_> {
    pub(super) fn endings(&mut self) {
        let written = self.written;
        let mut open: Option<Open<'_>> = None;
        // The last measure of the ending before, and its place in its group.
        let mut before: Option<(u16, u32)> = None;
        let stops = stops_next(&written.marks);
        for (index, mark) in written.marks.iter().enumerate() {
            match &mark.what {
                What::EndingStart(passes) => {
                    let first = match mark.at {
                        At::End => number(mark).saturating_add(1),
                        _ => number(mark),
                    };
                    if first > self.last {
                        self.left_out(mark, "an ending after the last measure");
                        continue;
                    }
                    if let Some(left) = open.take() {
                        if left.first == first {
                            // Drawn twice at one place.
                            open = Some(left);
                            continue;
                        }
                        self.close_unended(&left, first - 1);
                        before = before.map(|(_, place)| (first - 1, place));
                    }
                    let place = match before {
                        Some((last, place)) if last.saturating_add(1) == first => place + 1,
                        _ => 1,
                    };
                    before = Some((first, place));
                    let passes = passes.clone().or_else(|| Passes::of([place]).ok());
                    // cannot fail: a place in a group is at least 1 and, as measures are, far below the highest pass.
                    if let Some(passes) = passes {
                        open = Some(Open {
                            mark,
                            first,
                            passes,
                        });
                    }
                }
                What::EndingStop { open: without_hook } => {
                    let Some(ending) = open.take() else { continue };
                    let last = match mark.at {
                        At::Start => number(mark).saturating_sub(1),
                        _ => number(mark),
                    };
                    let last = last.max(ending.first);
                    before = before.map(|(_, place)| (last, place));
                    self.bracket(&ending, last, *without_hook);
                }
                What::EndRepeat(_) => {
                    // A bracket whose end is not written ends at its end repeat.
                    let at = super::leaving(mark);
                    let ends = stops.get(index).copied().unwrap_or(false);
                    if let (Some(ending), Some(last), false) = (&open, at, ends) {
                        if last >= ending.first {
                            self.close_unended(ending, last);
                            before = before.map(|(_, place)| (last, place));
                            open = None;
                        }
                    }
                }
                _ => {}
            }
        }
        if let Some(ending) = open {
            let last = ending.first;
            self.close_unended(&ending, last);
        }
    }

    fn close_unended(&mut self, ending: &Open<'_>, last: u16) {
        self.notice(
            Rule::EndingWithoutEnd,
            ending.mark,
            "the end of this ending is not written",
            format!("it was read up to measure {last}; write where its bracket ends"),
        );
        self.bracket(ending, last, false);
    }

    fn bracket(&mut self, ending: &Open<'_>, last: u16, open: bool) {
        // A last ending over the beginning of the next section: on the last pass the road leads there without it.
        let begins = self.starts.contains(&ending.first);
        let closes = self.ends.contains(&(ending.first - 1));
        if ending.passes.lowest() > 1 && begins && closes {
            self.left_out(
                ending.mark,
                "the bracket of a last ending in which the next section begins",
            );
            return;
        }
        let sign = Sign::Ending(Ending {
            passes: ending.passes.clone(),
            open,
        });
        self.put(sign, Place::over(ending.first, last), ending.mark);
    }
}

/// For each mark, whether the next mark of an ending at or after it, or at the same barline before it, is where one stops.
fn stops_next(marks: &[Mark]) -> Vec<bool> {
    let mut stops = vec![false; marks.len()];
    let mut next = false;
    for (mark, stops) in marks.iter().zip(&mut stops).rev() {
        match mark.what {
            What::EndingStop { .. } => next = true,
            What::EndingStart(_) => next = false,
            _ => {}
        }
        *stops = next;
    }
    stops
}
