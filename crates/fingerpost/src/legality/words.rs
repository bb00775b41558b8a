//! How findings name a sign.

use std::fmt::Write;

use crate::board::{Al, Hands, Jump, Passes, Sign, Then, When};

/// The longest label that stands without quotes, and the longest that is written out, in characters.
const PLAIN_LABEL: usize = 1;
const WHOLE_LABEL: usize = 10;
/// The most characters that ranges of passes take before the others are only counted.
const LIST_OF_PASSES: usize = 18;

/// A sign as a musician names it: `D.S. al Coda`, `ending 1`, `To Coda B`. A long label, or one of other characters than letters and digits, stands
/// in quotes, cut after its tenth character; of a long list of passes the first are named and the others counted.
pub fn sign_words(sign: &Sign) -> String {
    let labelled = |name: &str, label: &Option<String>| match label {
        Some(label) => format!("{name} {}", label_words(label)),
        None => name.to_owned(),
    };
    match sign {
        Sign::StartRepeat => "start repeat".to_owned(),
        Sign::EndRepeat(_) => "end repeat".to_owned(),
        Sign::Ending(ending) => format!("ending {}", listed(&ending.passes, ",", "-")),
        Sign::Segno(landing) => labelled("segno", &landing.label),
        Sign::Coda(landing) => labelled("coda", &landing.label),
        Sign::ToCoda(to_coda) => labelled("To Coda", &to_coda.label),
        Sign::Fine(_) => "Fine".to_owned(),
        Sign::DaCapo(jump) => jump_words("D.C.", jump),
        Sign::DalSegno(jump) => jump_words(&labelled("D.S.", &jump.label), jump),
        Sign::DoubleBar(_) => "double bar".to_owned(),
        Sign::Octave(octave) => match octave.shift.octaves() {
            1 => "8va",
            2 => "15ma",
            -1 => "8vb",
            _ => "15mb",
        }
        .to_owned(),
        Sign::Fermata(_) => "fermata".to_owned(),
        Sign::Only(_) => "hands at some times only".to_owned(),
    }
}

fn jump_words(name: &str, jump: &Jump) -> String {
    let al = match jump.al {
        None => "",
        Some(Al::Fine) => " al Fine",
        Some(Al::Coda) => " al Coda",
        Some(Al::Segno) => " al Segno",
        Some(Al::End) => " al End",
    };
    let then = if jump.then == Some(Then::Coda) {
        " poi la Coda"
    } else {
        ""
    };
    format!("{name}{al}{then}")
}

/// The hands that a mark names: `the right hand`, `both hands`.
pub(super) fn hands_words(hands: Hands) -> &'static str {
    match hands {
        Hands::Right => "the right hand",
        Hands::Left => "the left hand",
        Hands::Both => "both hands",
    }
}

/// The time at which a mark holds: `the repeat`, `pass 2`.
pub(super) fn when_words(when: &When) -> String {
    match when {
        When::EveryPass => "every pass".to_owned(),
        When::OnRepeat => "the repeat".to_owned(),
        When::LastPass => "the last pass".to_owned(),
        When::OnReturn => "the return".to_owned(),
        When::Passes(passes) => {
            let noun = if is_one(passes) { "pass" } else { "passes" };
            format!("{noun} {}", listed(passes, ", ", " to "))
        }
    }
}

/// That the time at which a mark holds never comes: `passes 3 to 5 never come`.
pub(super) fn never_comes(when: &When) -> String {
    let verb = match when {
        When::Passes(passes) if !is_one(passes) => "come",
        _ => "comes",
    };
    format!("{} never {verb}", when_words(when))
}

fn is_one(passes: &Passes) -> bool {
    passes.lowest() == passes.highest()
}

/// A label as a sentence holds it.
pub(super) fn label_words(label: &str) -> String {
    let plain = label.chars().all(char::is_alphanumeric) && !label.is_empty();
    let mut chars = label.chars();
    let short: String = chars.by_ref().take(WHOLE_LABEL).collect();
    let cut = if chars.next().is_some() { "…" } else { "" };
    if plain && short.chars().count() <= PLAIN_LABEL {
        return short;
    }
    // A quote in it would end the quotes, and what steers the line would turn the sentence about.
    let steers = |c: char| c.is_control() || ('\u{2028}'..='\u{202e}').contains(&c);
    let short = short.replace('"', "'").replace(steers, "\u{fffd}");
    format!("\"{short}{cut}\"")
}

/// Passes in a row: `1-3,7`, `1 to 3, 7 and 17 others`.
fn listed(passes: &Passes, comma: &str, dash: &str) -> String {
    // Two passes in a row are two, not a range.
    let items = passes.ranges().iter().flat_map(|&(from, to)| {
        let second = (to == from + 1).then(|| to.to_string());
        let first = match to - from {
            0 | 1 => (from.to_string(), 1),
            _ => (format!("{from}{dash}{to}"), u64::from(to - from) + 1),
        };
        [Some(first), second.map(|second| (second, 1))]
    });
    let mut left: u64 = passes
        .ranges()
        .iter()
        .map(|&(from, to)| u64::from(to - from) + 1)
        .sum();
    let mut text = String::new();
    for (item, count) in items.flatten() {
        if !text.is_empty() && text.len() + comma.len() + item.len() > LIST_OF_PASSES {
            let noun = if left == 1 { "other" } else { "others" };
            // cannot fail: writing to memory does not fail.
            let _ = write!(text, " and {left} {noun}");
            return text;
        }
        left -= count;
        if !text.is_empty() {
            let last = left == 0 && comma == ", ";
            text.push_str(if last { " and " } else { comma });
        }
        text.push_str(&item);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_list_of_passes_is_counted_at_its_end() {
        let words = |ranges: &[(u32, u32)]| {
            let passes = Passes::of_ranges(ranges.iter().copied()).unwrap();
            when_words(&When::Passes(passes))
        };
        assert_eq!(words(&[(2, 2)]), "pass 2");
        assert_eq!(words(&[(2, 3)]), "passes 2 and 3");
        assert_eq!(words(&[(1, 40), (42, 42)]), "passes 1 to 40 and 42");
        let odd: Vec<(u32, u32)> = (50..70).step_by(2).map(|n| (n, n)).collect();
        let long = [&[(1, 40), (42, 42)], odd.as_slice()].concat();
        assert_eq!(words(&long), "passes 1 to 40, 42, 50 and 9 others");
    }

    #[test]
    fn a_label_is_quoted_when_it_could_be_taken_for_words() {
        assert_eq!(label_words("B"), "B");
        assert_eq!(label_words("hut"), "\"hut\"");
        assert_eq!(label_words("a b"), "\"a b\"");
        assert_eq!(label_words("second-sign"), "\"second-sig…\"");
        assert_eq!(label_words("a\"\u{202e}"), "\"a'\u{fffd}\"");
        assert_eq!(label_words(""), "\"\"");
    }
}
