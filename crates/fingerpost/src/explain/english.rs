//! The English phrases. This file alone holds the sentences about a route that people read.

use super::Register;
use super::phrases::{
    Causes, Ends, FindingPlaces, FixPhrases, Lengths, Phrases, Places, Play, QuestionPhrases,
    Returns, Settling, Sounding,
};

/// For the teacher: short, with the trade's words.
pub(super) const TEACHER: Phrases = Phrases {
    language: "en",
    register: Register::Teacher,
    places: Places {
        at_end: "at the end of measure {measure}",
        after_beat: "after beat {beat} of measure {measure}",
        after_point: "at {point} in measure {measure}",
        at_start: "at measure {measure}",
        at_beat: "at beat {beat} of measure {measure}",
        at_point: "at {point} in measure {measure}",
        beginning: "the beginning",
        start_repeat: "the start repeat {place}",
        sign: "the {sign} {place}",
        measure: "measure {measure}",
    },
    lengths: Lengths {
        one: "1 whole note",
        many: "{number} whole notes",
        part: "{part} of a whole note",
    },
    findings: FindingPlaces {
        at_start: "at the start of measure {from}",
        at_end: "at the end of measure {from}",
        after_beat: "inside measure {from}, after beat {at}",
        at_beat: "inside measure {from}, at beat {at}",
        at_point: "inside measure {from}, at {at}",
        over_one: "over measure {from}",
        over_many: "over measures {from} to {to}",
        in_one: "in measure {from}",
        in_many: "in measures {from} to {to}",
        printed: "{measure} (printed \"{name}\")",
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
        past_ending: "Go past {sign}, which is not for pass {pass}.",
        repeat: "The end repeat {place} sends you back to {target}, for pass {pass} of {passes}.",
        da_capo: "The {sign} {place} sends you back to {target}.",
        dal_segno: "The {sign} {place} sends you back to {target}.",
        to_coda: "The {sign} {place} sends you on to {target}.",
        then_coda: "From the {sign} {place} go on to {target}, as the {jump} says.",
    },
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
        by_jump: "The words senza repetizione at this {sign} leave the repeats out.",
        by_end_repeat: "The end repeat {place} is marked as not made again on a return.",
    },
    sounding: Sounding {
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
    settling: Settling {
        senza: "Write `senza rep.` after the {sign} {place}: its return leaves the repeats out.",
        con: "Write `con rep.` after the {sign} {place}: its return makes the repeats again.",
        al: "Write `{instead}` in place of the {sign} {place}.",
        arrivals: "Give the {sign} {place} the key `arrivals {arrivals}`: the times it is reached, counted from the beginning, at which it is obeyed.",
        start_repeat: "Put a start repeat {place}.",
        answer: "Let the board answer the question itself: `{question}` is `{answer}`.",
    },
    fixes: FixPhrases {
        article: |sign| {
            if sign.starts_with(['e', '8']) {
                "an"
            } else {
                "a"
            }
        },
        a_sign: "{article} {sign} {place}",
        add: "add {signs}",
        remove: "take {signs} away",
        moved: "move {sign} to {to}",
        write: "write {new} for {old}",
        number: "number the endings over {measures} as {lists}",
        change: "change {sign}",
        plays: "let {sign} say {plays} times",
        no_plays: "take the number at {sign} away",
        made_on_return: "let {sign} be obeyed on a return",
        left_out_on_return: "let {sign} not be obeyed on a return",
        nothing_on_return: "let {sign} say nothing of a return",
        arrivals: "name arrivals {list} at {sign}",
        no_arrivals: "name no arrivals at {sign}",
        passes: "name passes {list} at {sign}",
        no_passes: "name no passes at {sign}",
        con: "write con rep. at {sign}",
        senza: "write senza rep. at {sign}",
        coda: "let {sign} go to the coda {label}",
        no_coda: "let {sign} name no coda",
        hold: "let {sign} hold {when}",
        every_time: "every time",
        on_repeat: "on the repeat",
        on_last_pass: "on the last pass",
        on_return: "on the return",
        on_passes: "on pass {list}",
        for_hands: "let {sign} be for {hands}",
        right_hand: "the right hand",
        left_hand: "the left hand",
        both_hands: "both hands",
        play: "let {hands} play {when} only, {place}",
        play_always: "let {hands} play every time, {place}",
        the_sign: "the {sign} {place}",
        lone_sign: "the {sign}",
        the_ending: "{sign} {place}",
        lone_ending: "{sign}",
        after: "after measure {measure}",
        at: "at measure {measure}",
        over: "over {measures}",
        end_of: "the end of measure {measure}",
        measure: "measure {from}",
        measures: "measures {from} to {to}",
        and: "{before} and {last}",
        one_more: "{first}, and one change more",
        more: "{first}, and {count} changes more",
        counted: "change {count} signs",
    },
    questions: [
        QuestionPhrases {
            name: "repeats-on-return",
            asks: "Are repeats made again after a D.C. or D.S.?",
            answers: &[
                (
                    "skip",
                    "No: a section already repeated is played once, as on its last pass. Today's custom, in most handbooks and lessons.",
                ),
                (
                    "play",
                    "Yes: its passes are counted from 1 again. Many writers of the 18th and 19th century, and many players of minuets.",
                ),
            ],
            settle: "Write `con rep.` or `senza rep.` after the D.C. or D.S., or give the end repeat the key `on-return`.",
        },
        QuestionPhrases {
            name: "jump-in-repeat",
            asks: "When is a D.C. or D.S. inside a repeated section obeyed?",
            answers: &[
                ("last-pass", "On the section's last pass. Practice."),
                (
                    "first-arrival",
                    "The first time it is reached and no end repeat goes first. MusicXML taken literally.",
                ),
            ],
            settle: "Give the D.C. or D.S. the key `passes` or `arrivals`, or put it after the section.",
        },
        QuestionPhrases {
            name: "armed-in-repeat",
            asks: "On a return, when is a Fine or To Coda inside a repeated section obeyed?",
            answers: &[
                (
                    "last-pass",
                    "On the section's last pass, after the repeats. A ruling of this rulebook.",
                ),
                (
                    "first-arrival",
                    "As soon as it is met, before the repeats. No published answer; what a player does who does not count passes.",
                ),
            ],
            settle: "Give the Fine or To Coda the key `arrivals`.",
        },
        QuestionPhrases {
            name: "arming",
            asks: "Does a D.C. or D.S. without `al` send you to Fine and To Coda, and when is a To Coda obeyed?",
            answers: &[
                (
                    "al-or-bare",
                    "A D.C. or D.S. without `al` obeys Fine and To Coda, whichever comes first. Practice.",
                ),
                (
                    "al-only",
                    "Only `al Fine` and `al Coda` do; without them the road goes to the written end. The MNX draft.",
                ),
                (
                    "second-arrival",
                    "A To Coda is obeyed the second time it is reached, whatever has happened. MusicXML taken literally.",
                ),
            ],
            settle: "Write `al Fine`, `al Coda` or `al End` after the D.C. or D.S., or give the To Coda the key `arrivals`.",
        },
        QuestionPhrases {
            name: "lone-end-repeat",
            asks: "Where does an end repeat without a start repeat send you back to?",
            answers: &[
                (
                    "after-previous-section",
                    "To the measure after the section before it, else to the beginning. ABC and common practice.",
                ),
                ("beginning", "To the beginning. Old prints."),
                (
                    "after-double-bar",
                    "To the measure after the latest double bar or section. ABC.",
                ),
            ],
            settle: "Put a start repeat at the measure that is meant.",
        },
        QuestionPhrases {
            name: "nested",
            asks: "What does a start repeat inside an open section mean?",
            answers: &[
                (
                    "restart",
                    "A section within a section, repeated anew on each pass of the outer one. A ruling of this rulebook.",
                ),
                (
                    "flat",
                    "It takes the place of the earlier start repeat. ABC.",
                ),
            ],
            settle: "Write one of the sections out, or let the board answer the question with its own key `nested`.",
        },
    ],
};
