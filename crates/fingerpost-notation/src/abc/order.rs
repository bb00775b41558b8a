//! The order of parts: `P:A2(BC)2A`. Source: ABC 2.1, 3.1.9.

use std::collections::HashMap;

use fingerpost::{MOST_MARKINGS, MOST_MEASURES};

use crate::written::{At, EndRepeat, Mark, Measure, What, Written};

/// A part of the music: its letter and the measure at which it begins, from 0.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Part {
    pub(super) name: char,
    pub(super) first: usize,
}

/// Deeper parentheses than these are no order of parts.
const DEEPEST: usize = 16;

/// The letters in the order in which the parts are played. `None` for a text that is no order, or one beyond all measure.
pub(super) fn parse(text: &str) -> Option<Vec<char>> {
    let mut stack: Vec<Vec<char>> = vec![Vec::new()];
    // What a number after it repeats: the last part, or the last parenthesis.
    let mut last: Vec<char> = Vec::new();
    let mut characters = text.chars().peekable();
    while let Some(character) = characters.next() {
        match character {
            'A'..='Z' => {
                last = vec![character];
                stack.last_mut()?.push(character);
            }
            '(' => {
                if stack.len() > DEEPEST {
                    return None;
                }
                stack.push(Vec::new());
            }
            ')' => {
                last = stack.pop()?;
                let present = stack.last_mut()?;
                if present.len() + last.len() > MOST_MEASURES as usize {
                    return None;
                }
                present.extend_from_slice(&last);
            }
            '0'..='9' => {
                let mut number = character.to_digit(10)?;
                while let Some(digit) = characters.peek().and_then(|c| c.to_digit(10)) {
                    number = number.checked_mul(10)?.checked_add(digit)?;
                    characters.next();
                }
                let present = stack.last_mut()?;
                let whole = present.len() + last.len() * number as usize;
                if number == 0 || last.is_empty() || whole > MOST_MEASURES as usize {
                    return None;
                }
                // It stands there once already.
                for _ in 1..number {
                    present.extend_from_slice(&last);
                }
                last = Vec::new();
            }
            '.' | ' ' => {}
            _ => return None,
        }
    }
    let order = stack.pop()?;
    (stack.is_empty() && !order.is_empty()).then_some(order)
}

/// The music with its parts in an order: each with its own repeats, and its measures named as they are written. A part with endings that
/// is played several times on end is one section, so that its endings come at their times (4.10). `None`: more than a board holds.
pub(super) fn laid_out(written: &Written, order: &[char], parts: &[Part]) -> Option<Written> {
    let mut laid = Written {
        title: written.title.clone(),
        composer: written.composer.clone(),
        number: written.number,
        ..Written::default()
    };
    let mut places = HashMap::new();
    for (at, part) in parts.iter().enumerate() {
        places.entry(part.name).or_insert(at);
    }
    for same in order.chunk_by(|a, b| a == b) {
        let &at = places.get(same.first()?)?;
        let first = parts.get(at)?.first;
        let end = parts
            .get(at + 1)
            .map_or(written.measures.len(), |part| part.first);
        // The marks are in the order of their measures.
        let before = |measure: usize| {
            let earlier = |mark: &Mark| (mark.measure as usize) < measure;
            written.marks.partition_point(earlier)
        };
        let marks = || written.marks.iter().take(before(end)).skip(before(first));
        let has_repeat = marks().any(|mark| matches!(mark.what, What::EndRepeat(_)));
        let has_ending = marks().any(|mark| matches!(mark.what, What::EndingStart(_)));
        // An end repeat alone goes back to where its part begins, not into the part that is played before it.
        let first_repeat =
            marks().find(|mark| matches!(mark.what, What::StartRepeat | What::EndRepeat(_)));
        let goes_back_to_start =
            first_repeat.is_some_and(|mark| matches!(mark.what, What::EndRepeat(_)));
        let as_section = same.len() > 1 && has_ending && !has_repeat && end > first;
        let times = if as_section { 1 } else { same.len() };
        for _ in 0..times {
            let begins = laid.measures.len();
            if begins + (end - first) > MOST_MEASURES as usize {
                return None;
            }
            let measures = written.measures.get(first..end)?.iter().enumerate();
            laid.measures
                .extend(measures.map(|(offset, measure)| Measure {
                    name: Some((first + offset + 1).to_string().into()),
                    ..measure.clone()
                }));
            let shifted = |measure: u32| u32::try_from(measure as usize - first + begins).ok();
            if as_section || (goes_back_to_start && begins > 0) {
                laid.marks.push(Mark {
                    measure: u32::try_from(begins).ok()?,
                    at: At::Start,
                    line: 0,
                    what: What::StartRepeat,
                });
            }
            let times = u32::try_from(same.len()).ok()?;
            if laid.marks.len() > MOST_MARKINGS {
                return None;
            }
            // Whether the road goes back from the end of the ending that has begun.
            let mut goes_back = false;
            for mark in marks() {
                let mark = Mark {
                    measure: shifted(mark.measure)?,
                    ..mark.clone()
                };
                if let What::EndingStart(passes) = &mark.what {
                    goes_back = passes
                        .as_ref()
                        .is_some_and(|passes| passes.lowest() < times);
                }
                let back = (as_section
                    && goes_back
                    && matches!(mark.what, What::EndingStop { .. }))
                .then(|| Mark {
                    what: What::EndRepeat(EndRepeat::default()),
                    ..mark.clone()
                });
                laid.marks.push(mark);
                laid.marks.extend(back);
            }
        }
    }
    Some(laid)
}

#[cfg(test)]
mod tests {
    use super::parse;

    /// The orders of ABC 2.1, 3.1.9 and of the sample tune in 13.1.
    #[test]
    fn orders_of_the_standard() {
        for (text, order) in [
            ("ABABCDCD", "ABABCDCD"),
            ("A3", "AAA"),
            ("(AB)3", "ABABAB"),
            ("(AB3)2", "ABBBABBB"),
            ("A2(AB)2.C", "AAABABC"),
            ("(AB)2(AC)2A", "ABABACACA"),
        ] {
            let parsed: Option<String> = parse(text).map(String::from_iter);
            assert_eq!(parsed.as_deref(), Some(order), "{text}");
        }
        for text in [
            "",
            "A)",
            "(A",
            "a",
            "A0",
            "3",
            "(A99999)99999",
            "((((((((((((((((((A",
            // Each parenthesis alone is short enough.
            &"(A60000)".repeat(1_000),
        ] {
            assert_eq!(parse(text), None, "{text}");
        }
    }
}
