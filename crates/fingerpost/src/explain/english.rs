//! The English phrases about a route, for the teacher and for the learner.

use super::Register;
use super::phrases::{
    Again, Causes, Ends, Heading, Heed, Lengths, Phrases, Places, Play, Returns, Sounding,
};

/// Whole words only: a double bar and a barline keep their names.
const BAR_WORDS: &[(&str, &str)] = &[
    ("measure", "bar"),
    ("measures", "bars"),
    ("Measure", "Bar"),
    ("Measures", "Bars"),
];

/// For the teacher: short, with the trade's words.
pub(super) const TEACHER: Phrases = Phrases {
    language: "en",
    register: Register::Teacher,
    bar_words: BAR_WORDS,
    nth,
    places: Places {
        at_end: "at the end of measure {measure}",
        after_beat: "after beat {beat} of measure {measure}",
        after_point: "at {point} in measure {measure}",
        at_start: "at measure {measure}",
        at_beat: "at beat {beat} of measure {measure}",
        at_point: "at {point} in measure {measure}",
        beginning: "the beginning",
        start_repeat: "the start repeat {place}",
        segno: "the segno{label} {place}",
        coda: "the coda{label} {place}",
        measure: "measure {measure}",
        beat: "beat {beat} of measure {measure}",
        point: "{point} in measure {measure}",
    },
    lengths: Lengths {
        one: "1 whole note",
        many: "{number} whole notes",
        part: "{part} of a whole note",
    },
    heading: Heading {
        one_measure: "1 measure",
        measures: "{number} measures",
        meter: "meter {meter}",
        pickup: "pickup of {length}",
    },
    play: Play {
        one: "Play measure {from}.",
        two: "Play measures {from} and {to}.",
        many: "Play measures {from} to {to}.",
        from_beat: "{measure} (from beat {beat} on)",
        from_point: "{measure} (from {point} on)",
        to_beat: "{measure} (up to beat {beat})",
        to_point: "{measure} (up to {point})",
        beats: "{measure} (beats {from} to {to})",
        beat: "{measure} (beat {from})",
        points: "{measure} (from {from} to {to})",
    },
    causes: Causes {
        start: "The road begins at {target}.",
        on: "Go on to {target}.",
        past_ending: "Go past ending {list}, which is not for pass {pass}.",
        repeat: "The end repeat {place} sends you back to {target}, for pass {pass} of {passes}.",
        repeat_last: "The end repeat {place} sends you back to {target}, for pass {pass} of {passes}.",
        repeat_anew: "The end repeat {place} sends you back to {target}, for pass {pass} of {passes}.",
        repeat_anew_last: "The end repeat {place} sends you back to {target}, for pass {pass} of {passes}.",
        da_capo: "The {sign} {place} sends you back to {target}.",
        dal_segno: "The {sign} {place} sends you back to {target}.",
        to_coda: "The {sign} {place} sends you on to {target}.",
        then_coda: "From the {sign} {place} go on to {target}, as the {jump} says.",
        heed: Heed {
            fine: "",
            coda: "",
            segno: "",
            fine_then_coda: "",
            segno_then_coda: "",
        },
    },
    again: Again {
        one: "The same again, {times} times more.",
        many: "The last {moves} moves again, {times} times more.",
    },
    unsettled: "Other readings play it in another order; `fingerpost compare` shows them.",
    ends: Ends {
        fine: "The Fine {place} ends the piece.",
        segno: "The {jump} ends at the segno {place}: stop before it.",
        last_measure: "The road ends with measure {measure}.",
        past_endings: "No ending that follows is for pass {pass}: the road ends here.",
        nothing: "No measure is played: no ending on the board is for pass 1.",
    },
    returns: Returns {
        omitted: "Repeats are left out, as asked for.",
        by_custom: "By today's custom a {sign} leaves out the repeats already made.",
        by_board: "This board says that a {sign} leaves out the repeats already made.",
        by_jump: "The words senza ripetizione at this {sign} leave the repeats out.",
        by_end_repeat: "The end repeat {place} is marked as not made again on a return.",
        made_again: "The words con ripetizione at this {sign} have the repeats made again.",
    },
    sounding: Sounding {
        as_written: "{measures} play as written again.",
        in_one: "In measure {from}",
        in_two: "In measures {from} and {to}",
        in_many: "In measures {from} to {to}",
        one_hand: "{measures} the {hand} hand plays {shift}.",
        both_hands: "{measures} both hands play {shift}.",
        only: "{measures} the {hand} hand plays alone.",
        silent: "{measures} neither hand plays.",
        hold: "{measures} hold the fermata.",
        hold_hand: "{measures} hold the fermata in the {hand} hand.",
        right: "right",
        left: "left",
        up_one: "one octave higher",
        up_two: "two octaves higher",
        down_one: "one octave lower",
        down_two: "two octaves lower",
        up: "{octaves} octaves higher",
        down: "{octaves} octaves lower",
    },
};

/// For the learner, who may be nine years old: short sentences, and the signs as they look on the page.
pub(super) const LEARNER: Phrases = Phrases {
    register: Register::Learner,
    places: Places {
        start_repeat: "the dots {place}",
        ..TEACHER.places
    },
    causes: Causes {
        start: "Start at {target}.",
        on: "Go on to {target}.",
        past_ending: "Ending {list} is not for this time. Walk past it.",
        repeat: "You have come to the dots {place}. They send you back to {target}. This is your {nth} time.",
        repeat_last: "You have come to the dots {place}. They send you back to {target}. This is your {nth} time, and the last.",
        repeat_anew: "You have come to the dots {place}. They send you back to {target}. Here you count from one again: this is your {nth} time.",
        repeat_anew_last: "You have come to the dots {place}. They send you back to {target}. Here you count from one again: this is your {nth} time, and the last.",
        da_capo: "You have come to the {sign} {place}. Go back to {target}.{heed}",
        dal_segno: "You have come to the {sign} {place}. Go back to {target}.{heed}",
        to_coda: "You have come to the {sign} {place}. Now leap to {target}.",
        then_coda: "You have come to the {sign} {place}. Now go on to {target}.",
        heed: Heed {
            fine: "From now on, look out for the word Fine.",
            coda: "From now on, look out for To Coda.",
            segno: "Then play on until you come to the segno.",
            fine_then_coda: "When you come to the word Fine, go on to the coda.",
            segno_then_coda: "When you come to the segno, go on to the coda.",
        },
    },
    again: Again {
        one: "Do the same again, {times} times more.",
        many: "Do the last {moves} moves again, {times} times more.",
    },
    unsettled: "One can read it in another order, too. Ask which way you play here.",
    ends: Ends {
        fine: "You have come to the Fine {place}. That is the end.",
        segno: "You have come to the segno {place}. The {jump} says: stop before it.",
        last_measure: "Measure {measure} is the last one. That is the end.",
        past_endings: "No ending that follows is for this time. That is the end.",
        nothing: "There is nothing to play: no ending is for the first time.",
    },
    returns: Returns {
        omitted: "You play without repeats: walk past the dots.",
        by_custom: "After a {sign} you do not make the repeats again: walk past the dots.",
        by_board: "On this board, a {sign} means no more repeats: walk past the dots.",
        by_jump: "The words at this {sign} mean no more repeats: walk past the dots.",
        by_end_repeat: "On the way back the dots {place} do not count: walk past them.",
        made_again: "The words at this {sign} mean: make the repeats again.",
    },
    sounding: Sounding {
        one_hand: "{measures} your {hand} hand plays {shift}.",
        both_hands: "{measures} both hands play {shift}.",
        only: "{measures} only your {hand} hand plays.",
        silent: "{measures} both hands rest.",
        hold: "{measures} hold the fermata.",
        hold_hand: "{measures} hold the fermata with your {hand} hand.",
        ..TEACHER.sounding
    },
    ..TEACHER
};

/// The first ten in words, as a child counts.
fn nth(number: u32) -> String {
    const WORDS: [&str; 10] = [
        "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth",
        "tenth",
    ];
    let word = number
        .checked_sub(1)
        .and_then(|before| WORDS.get(usize::try_from(before).ok()?));
    if let Some(word) = word {
        return (*word).to_owned();
    }
    let ending = match (number % 100, number % 10) {
        (11..=13, _) => "th",
        (_, 1) => "st",
        (_, 2) => "nd",
        (_, 3) => "rd",
        _ => "th",
    };
    format!("{number}{ending}")
}

#[cfg(test)]
mod tests {
    use super::nth;

    #[test]
    fn numbers_count_as_they_are_spoken() {
        let words = [1, 10, 11, 12, 13, 21, 22, 23, 24, 101, 111, 112].map(nth);
        let spoken = [
            "first", "tenth", "11th", "12th", "13th", "21st", "22nd", "23rd", "24th", "101st",
            "111th", "112th",
        ];
        assert_eq!(words, spoken);
    }
}
