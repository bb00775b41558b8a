//! What a phrase table has to hold. A language is one value of [`Phrases`] for each register, in a file of its own, entered in
//! [`super::TABLES`]; what is said beside the route is one value of [`Desk`].
//!
//! A phrase is a template: a name in braces stands for a word that is filled in. The names a phrase may use are given beside it; it need
//! not use all of them.

use super::Register;

/// What is said of a route, in one language and one register.
#[derive(Debug)]
pub(crate) struct Phrases {
    /// The language's tag: `en`.
    pub(crate) language: &'static str,
    pub(crate) register: Register,
    /// For each word of a measure in these phrases the word where one says bar: whole words, as they stand in a sentence.
    pub(crate) bar_words: &'static [(&'static str, &'static str)],
    /// A number as the word that counts: `second`.
    pub(crate) nth: fn(u32) -> String,
    pub(crate) places: Places,
    pub(crate) lengths: Lengths,
    pub(crate) heading: Heading,
    pub(crate) play: Play,
    pub(crate) causes: Causes,
    pub(crate) again: Again,
    pub(crate) ends: Ends,
    pub(crate) returns: Returns,
    pub(crate) sounding: Sounding,
    /// That there are readings that play another route.
    pub(crate) unsettled: &'static str,
}

/// What is said beside the route, in one language: of findings and fixes, of places for signs, of readings, in a game.
#[derive(Debug)]
pub(crate) struct Desk {
    /// The route's phrases of the same language, in whose words places are told.
    pub(crate) words: &'static Phrases,
    pub(crate) findings: FindingPlaces,
    pub(crate) playing: Playing,
    pub(crate) settling: Settling,
    pub(crate) fixes: FixPhrases,
    pub(crate) placing: Placing,
    /// One entry for each of the six questions.
    pub(crate) questions: [QuestionPhrases; 6],
}

/// Where a sign stands. `{measure}`, and in those of a cut measure `{beat}` or `{point}`.
#[derive(Debug)]
pub(crate) struct Places {
    pub(crate) at_end: &'static str,
    pub(crate) after_beat: &'static str,
    pub(crate) after_point: &'static str,
    pub(crate) at_start: &'static str,
    pub(crate) at_beat: &'static str,
    pub(crate) at_point: &'static str,
    pub(crate) beginning: &'static str,
    /// `{place}`: one of the places above that land.
    pub(crate) start_repeat: &'static str,
    /// `{label}`: nothing, or a blank and the label; `{place}`.
    pub(crate) segno: &'static str,
    pub(crate) coda: &'static str,
    /// A measure that no sign marks, or a point inside it, as the road is sent there. `{measure}`, `{beat}`, `{point}`.
    pub(crate) measure: &'static str,
    pub(crate) beat: &'static str,
    pub(crate) point: &'static str,
}

/// What stands above a board.
#[derive(Debug)]
pub(crate) struct Heading {
    pub(crate) one_measure: &'static str,
    /// `{number}`.
    pub(crate) measures: &'static str,
    /// `{meter}`: as it stands in the score.
    pub(crate) meter: &'static str,
    /// `{length}`.
    pub(crate) pickup: &'static str,
}

/// A length in whole notes.
#[derive(Debug)]
pub(crate) struct Lengths {
    pub(crate) one: &'static str,
    /// `{number}`.
    pub(crate) many: &'static str,
    /// `{part}`: a fraction.
    pub(crate) part: &'static str,
}

/// Where a finding is. `{from}`, `{to}`: measures by number.
#[derive(Debug)]
pub(crate) struct FindingPlaces {
    pub(crate) at_start: &'static str,
    pub(crate) at_end: &'static str,
    /// A sign that cuts its measure. `{at}`: a beat, or a point in whole notes.
    pub(crate) after_beat: &'static str,
    pub(crate) at_beat: &'static str,
    pub(crate) at_point: &'static str,
    /// A sign that stands over measures.
    pub(crate) over_one: &'static str,
    pub(crate) over_many: &'static str,
    /// The measures themselves.
    pub(crate) in_one: &'static str,
    pub(crate) in_many: &'static str,
    /// A measure that is counted, since its printed name is long. `{measure}`, `{name}`.
    pub(crate) printed: &'static str,
    /// That measures are counted where their printed names do not tell them apart. `{measure}`: the first of them.
    pub(crate) counting: &'static str,
}

/// What to play.
#[derive(Debug)]
pub(crate) struct Play {
    /// `{from}`.
    pub(crate) one: &'static str,
    /// `{from}`, `{to}`: two measures that follow each other.
    pub(crate) two: &'static str,
    /// `{from}`, `{to}`.
    pub(crate) many: &'static str,
    /// A measure from a beat on. `{measure}`, `{beat}`.
    pub(crate) from_beat: &'static str,
    pub(crate) from_point: &'static str,
    /// A measure up to a beat, that beat included.
    pub(crate) to_beat: &'static str,
    pub(crate) to_point: &'static str,
    /// Beats inside a measure. `{measure}`, `{from}`, `{to}`.
    pub(crate) beats: &'static str,
    /// One beat inside a measure. `{measure}`, `{from}`.
    pub(crate) beat: &'static str,
    pub(crate) points: &'static str,
}

/// How the road comes to a measure, one for each cause.
#[derive(Debug)]
pub(crate) struct Causes {
    /// `{target}`, `{measure}`.
    pub(crate) start: &'static str,
    /// `{target}`.
    pub(crate) on: &'static str,
    /// `{list}`: the passes of the ending; `{pass}`, `{measure}`.
    pub(crate) past_ending: &'static str,
    /// `{place}`, `{target}`, `{pass}`, `{passes}`, `{nth}`: the pass as the word that counts.
    pub(crate) repeat: &'static str,
    /// The last pass of three or more.
    pub(crate) repeat_last: &'static str,
    /// The same where the section has been played before, and its passes are counted anew: inside another repeat, or after a jump.
    pub(crate) repeat_anew: &'static str,
    pub(crate) repeat_anew_last: &'static str,
    /// `{sign}`, `{place}`, `{target}`, `{heed}`: nothing, or a blank and one of `heed`.
    pub(crate) da_capo: &'static str,
    pub(crate) dal_segno: &'static str,
    pub(crate) to_coda: &'static str,
    /// The road goes on to the coda from a Fine or a segno, as the jump says. `{sign}`, `{Sign}`: with a capital, `{place}`, `{target}`, `{jump}`.
    pub(crate) then_coda: &'static str,
    pub(crate) heed: Heed,
}

/// What to look out for after a D.C. or D.S. that says so; empty where nothing is said of it.
#[derive(Debug)]
pub(crate) struct Heed {
    /// After al Fine.
    pub(crate) fine: &'static str,
    /// After al Coda.
    pub(crate) coda: &'static str,
    /// After al Segno.
    pub(crate) segno: &'static str,
    /// After al Fine, and then the coda.
    pub(crate) fine_then_coda: &'static str,
    /// After al Segno, and then the coda.
    pub(crate) segno_then_coda: &'static str,
}

/// Moves that come again and again.
#[derive(Debug)]
pub(crate) struct Again {
    /// The last move. `{times}`: three or more.
    pub(crate) one: &'static str,
    /// The last moves. `{moves}`, `{times}`.
    pub(crate) many: &'static str,
}

/// Why the road ends.
#[derive(Debug)]
pub(crate) struct Ends {
    /// `{place}`.
    pub(crate) fine: &'static str,
    /// `{jump}`, `{place}`.
    pub(crate) segno: &'static str,
    /// `{measure}`.
    pub(crate) last_measure: &'static str,
    /// `{pass}`.
    pub(crate) past_endings: &'static str,
    pub(crate) nothing: &'static str,
}

/// Why repeats are left out, or made again. `{sign}`: the jump that began the return; `{place}`.
#[derive(Debug)]
pub(crate) struct Returns {
    pub(crate) omitted: &'static str,
    pub(crate) by_custom: &'static str,
    pub(crate) by_board: &'static str,
    pub(crate) by_jump: &'static str,
    pub(crate) by_end_repeat: &'static str,
    /// The words at the jump ask for them.
    pub(crate) made_again: &'static str,
}

/// What is said in a game.
#[derive(Debug)]
pub(crate) struct Playing {
    /// `{player}`, `{thrown}`, `{order}`.
    pub(crate) walks_one: &'static str,
    pub(crate) walks_many: &'static str,
    /// `{player}`, `{thrown}`, `{most}`.
    pub(crate) stays: &'static str,
    /// `{player}`.
    pub(crate) holds: &'static str,
    pub(crate) passes: &'static str,
    pub(crate) first_home: &'static str,
    /// `{player}`, `{place}`.
    pub(crate) home: &'static str,
}

/// How measures sound. `{measures}` is one of the first three.
#[derive(Debug)]
pub(crate) struct Sounding {
    /// `{measures}`: after an octave sign or a hand alone has ended.
    pub(crate) as_written: &'static str,
    /// `{from}`, `{to}`.
    pub(crate) in_one: &'static str,
    pub(crate) in_two: &'static str,
    pub(crate) in_many: &'static str,
    /// `{measures}`, `{hand}`, `{shift}`.
    pub(crate) one_hand: &'static str,
    pub(crate) both_hands: &'static str,
    /// `{measures}`, `{hand}`.
    pub(crate) only: &'static str,
    pub(crate) silent: &'static str,
    pub(crate) hold: &'static str,
    pub(crate) hold_hand: &'static str,
    pub(crate) right: &'static str,
    pub(crate) left: &'static str,
    pub(crate) up_one: &'static str,
    pub(crate) up_two: &'static str,
    pub(crate) down_one: &'static str,
    pub(crate) down_two: &'static str,
    /// `{octaves}`.
    pub(crate) up: &'static str,
    pub(crate) down: &'static str,
}

/// What to write on a board that is not settled.
#[derive(Debug)]
pub(crate) struct Settling {
    /// `{sign}`, `{place}`: the repeats are left out, or made again.
    pub(crate) senza: &'static str,
    pub(crate) con: &'static str,
    /// `{sign}`, `{place}`, `{instead}`.
    pub(crate) al: &'static str,
    /// `{sign}`, `{place}`, `{arrivals}`.
    pub(crate) arrivals: &'static str,
    /// `{place}`.
    pub(crate) start_repeat: &'static str,
    /// `{question}`, `{answer}`.
    pub(crate) answer: &'static str,
}

/// What a fix does, in a title of at most 80 characters. A title begins with a capital, whatever its template begins with.
#[derive(Debug)]
pub(crate) struct FixPhrases {
    /// The article of a sign's words.
    pub(crate) article: fn(&str) -> &'static str,
    /// A sign that is added. `{article}`, `{sign}`, `{place}`.
    pub(crate) a_sign: &'static str,
    /// `{signs}`: one or more of `a_sign`.
    pub(crate) add: &'static str,
    /// `{signs}`: one or more of `the_sign`.
    pub(crate) remove: &'static str,
    /// `{sign}`: `the_sign` or `lone_sign`; `{to}`: a measure, measures, or `end_of`.
    pub(crate) moved: &'static str,
    /// `{new}`: the words of a sign; `{old}`: `the_sign` or `lone_sign`.
    pub(crate) write: &'static str,
    /// Several endings. `{measures}`; `{lists}`: their passes.
    pub(crate) number: &'static str,
    /// From here on `{sign}` is `the_sign`. What cannot be told in a title.
    pub(crate) change: &'static str,
    /// `{plays}`.
    pub(crate) plays: &'static str,
    pub(crate) no_plays: &'static str,
    pub(crate) made_on_return: &'static str,
    pub(crate) left_out_on_return: &'static str,
    pub(crate) nothing_on_return: &'static str,
    /// `{list}`.
    pub(crate) arrivals: &'static str,
    pub(crate) no_arrivals: &'static str,
    pub(crate) passes: &'static str,
    pub(crate) no_passes: &'static str,
    pub(crate) con: &'static str,
    pub(crate) senza: &'static str,
    /// `{label}`.
    pub(crate) coda: &'static str,
    pub(crate) no_coda: &'static str,
    /// `{when}`: one of the five that follow.
    pub(crate) hold: &'static str,
    pub(crate) every_time: &'static str,
    pub(crate) on_repeat: &'static str,
    pub(crate) on_last_pass: &'static str,
    pub(crate) on_return: &'static str,
    /// `{list}`.
    pub(crate) on_passes: &'static str,
    /// `{hands}`: one of the three that follow.
    pub(crate) for_hands: &'static str,
    pub(crate) right_hand: &'static str,
    pub(crate) left_hand: &'static str,
    pub(crate) both_hands: &'static str,
    /// Hands that play at some times only. `{hands}`, `{when}`, `{place}`.
    pub(crate) play: &'static str,
    pub(crate) play_always: &'static str,
    /// Hands of which the same is said twice. `{place}`.
    pub(crate) one_of_two: &'static str,
    /// A sign of the board. `{sign}`, `{place}`.
    pub(crate) the_sign: &'static str,
    /// A sign that is the only one of its words. `{sign}`.
    pub(crate) lone_sign: &'static str,
    pub(crate) the_ending: &'static str,
    pub(crate) lone_ending: &'static str,
    /// Where a sign leaves, lands and covers. `{measure}`; for the last `{measures}`.
    pub(crate) after: &'static str,
    pub(crate) at: &'static str,
    pub(crate) over: &'static str,
    /// `{measure}`.
    pub(crate) end_of: &'static str,
    /// `{from}`, `{to}`.
    pub(crate) measure: &'static str,
    pub(crate) measures: &'static str,
    /// Several things. `{before}`, `{last}`.
    pub(crate) and: &'static str,
    /// Something and one change more, or more of them. `{first}`, `{count}`.
    pub(crate) one_more: &'static str,
    pub(crate) more: &'static str,
    /// `{count}`.
    pub(crate) counted: &'static str,
}

/// Where a sign may go, and what is missing.
#[derive(Debug)]
pub(crate) struct Placing {
    /// `{measures}`: signs that leave at the end of a measure.
    pub(crate) after_one: &'static str,
    pub(crate) after_many: &'static str,
    /// `{measures}`: signs that land at its beginning.
    pub(crate) at_one: &'static str,
    pub(crate) at_many: &'static str,
    /// `{measures}`: signs that stand over it.
    pub(crate) over_one: &'static str,
    pub(crate) over_many: &'static str,
    /// A row of measures. `{from}`, `{to}`.
    pub(crate) over_row: &'static str,
    /// Rows that begin together. `{from}`, `{to}`: the measures at which they may end.
    pub(crate) over_rows: &'static str,
    /// The same where some of these follow each other.
    pub(crate) over_any: &'static str,
    /// `{from}`, `{to}`.
    pub(crate) range: &'static str,
    pub(crate) and: &'static str,
    pub(crate) or: &'static str,
    /// Between two ways to give a sign its partners.
    pub(crate) or_else: &'static str,
    /// `{road}`.
    pub(crate) legal: &'static str,
    /// `{legal}`, `{messages}`: what is unusual about it.
    pub(crate) legal_but: &'static str,
    pub(crate) legal_heard: &'static str,
    pub(crate) legal_no_road: &'static str,
    /// `{ways}`.
    pub(crate) still_missing: &'static str,
    /// `{ways}`.
    pub(crate) needs: &'static str,
    /// `{sign}`, `{places}`.
    pub(crate) partner: &'static str,
    /// `{sign}`.
    pub(crate) from_hand: &'static str,
    pub(crate) from_box: &'static str,
    /// The same before a vowel.
    pub(crate) from_box_vowel: &'static str,
    /// `{rules}`.
    pub(crate) not_legal: &'static str,
    /// `{rules}`: what it needs, or what the board lacks besides, can stand nowhere.
    pub(crate) no_place_left: &'static str,
    pub(crate) idle: &'static str,
    /// `{message}`.
    pub(crate) idle_why: &'static str,
    /// `{from}`, `{to}`: measures played one after the other.
    pub(crate) stretch: &'static str,
    pub(crate) and_on: &'static str,
    /// `{road}`, `{questions}`.
    pub(crate) unsettled: &'static str,
    pub(crate) rests_on: &'static str,
    /// `{longest}`.
    pub(crate) rows_left_out: &'static str,
    pub(crate) nothing_missing: &'static str,
    pub(crate) nothing_missing_one_in_hand: &'static str,
    /// `{number}`.
    pub(crate) nothing_missing_some_in_hand: &'static str,
    pub(crate) missing_one: &'static str,
    pub(crate) missing_several: &'static str,
    /// `{most}`.
    pub(crate) no_sign_helps: &'static str,
    pub(crate) not_found_in_time: &'static str,
    pub(crate) not_all_tried: &'static str,
    /// `{sign}`, `{number}`: a sign that is needed more than once.
    pub(crate) at_places: &'static str,
    /// `{signs}`, `{ways}`: one sign, or several.
    pub(crate) set_of_one: &'static str,
    pub(crate) set_of_several: &'static str,
    /// `{signs}`: in one way.
    pub(crate) set_of_one_one_way: &'static str,
    pub(crate) set_of_several_one_way: &'static str,
    /// `{sign}`, `{places}`.
    pub(crate) set_places: &'static str,
    /// `{signs}`.
    pub(crate) proposal: &'static str,
    /// `{messages}`: what remains to be said of the proposal; the same where every way leaves something.
    pub(crate) proposal_warned: &'static str,
    pub(crate) proposal_always_warned: &'static str,
    /// Which ways are counted.
    pub(crate) counted_whole: &'static str,
    pub(crate) counted_working: &'static str,
    pub(crate) counted_any: &'static str,
}

/// One question of the reading.
#[derive(Debug)]
pub(crate) struct QuestionPhrases {
    pub(crate) name: &'static str,
    pub(crate) asks: &'static str,
    /// The answers by name, each with what it means and who answers so.
    pub(crate) answers: &'static [(&'static str, &'static str)],
    /// What an author can write so that the question does not arise.
    pub(crate) settle: &'static str,
}

/// A template with its names filled in.
pub(crate) fn fill(template: &str, words: &[(&str, &str)]) -> String {
    let mut text = String::with_capacity(template.len() + 16);
    let mut rest = template;
    while let Some((before, after)) = rest.split_once('{') {
        text.push_str(before);
        let Some((name, after)) = after.split_once('}') else {
            // A brace that is not closed stands for itself.
            text.push('{');
            rest = after;
            continue;
        };
        let word = words.iter().find(|(known, _)| *known == name);
        debug_assert!(word.is_some(), "`{name}` is not filled in by this phrase");
        text.push_str(word.map_or("", |(_, word)| word));
        rest = after;
    }
    text.push_str(rest);
    text
}
