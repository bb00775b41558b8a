//! The German phrases about a route, for the teacher and for the learner.
//!
//! Terms: Takt, Schlag, Wiederholungszeichen, Klammer (of an ending, with its number), Durchgang, Fermate, Oktave are those of German
//! theory books and lessons, from memory. Segno, Coda, Fine, To Coda, D.C. and D.S. are written as they stand in the score.

use super::Register;
use super::phrases::{
    Again, Causes, Ends, Heading, Heed, Lengths, Phrases, Places, Play, Returns, Sounding,
};

/// For the teacher: short, with the trade's words.
pub(super) const TEACHER: Phrases = Phrases {
    language: "de",
    register: Register::Teacher,
    // German has one word only.
    bar_words: &[],
    nth,
    places: Places {
        at_end: "am Ende von Takt {measure}",
        after_beat: "nach Schlag {beat} in Takt {measure}",
        after_point: "in Takt {measure} (Stelle: {point})",
        at_start: "am Anfang von Takt {measure}",
        at_beat: "bei Schlag {beat} in Takt {measure}",
        at_point: "in Takt {measure} (Stelle: {point})",
        beginning: "an den Anfang",
        start_repeat: "zum Wiederholungszeichen {place}",
        segno: "zum Segno{label} {place}",
        coda: "zur Coda{label} {place}",
        measure: "zu Takt {measure}",
        beat: "zu Schlag {beat} in Takt {measure}",
        point: "zu Takt {measure} (Stelle: {point})",
    },
    lengths: Lengths {
        one: "1 ganze Note",
        many: "{number} ganze Noten",
        part: "{part} einer ganzen Note",
    },
    heading: Heading {
        one_measure: "1 Takt",
        measures: "{number} Takte",
        meter: "Taktart {meter}",
        pickup: "Auftakt von {length}",
    },
    play: Play {
        one: "Spiele Takt {from}.",
        two: "Spiele die Takte {from} und {to}.",
        many: "Spiele die Takte {from} bis {to}.",
        from_beat: "{measure} (ab Schlag {beat})",
        from_point: "{measure} (ab Stelle {point})",
        to_beat: "{measure} (bis Schlag {beat})",
        to_point: "{measure} (bis Stelle {point})",
        beats: "{measure} (Schlag {from} bis {to})",
        beat: "{measure} (Schlag {from})",
        points: "{measure} (Stelle {from} bis {to})",
    },
    causes: Causes {
        start: "Der Weg beginnt in Takt {measure}.",
        on: "Weiter {target}.",
        past_ending: "Klammer {list} wird übersprungen: Sie gilt nicht für Durchgang {pass}.",
        repeat: "Das Wiederholungszeichen {place} schickt dich zurück {target}: Durchgang {pass} von {passes}.",
        repeat_last: "Das Wiederholungszeichen {place} schickt dich zurück {target}: Durchgang {pass} von {passes}.",
        repeat_anew: "Das Wiederholungszeichen {place} schickt dich zurück {target}: Durchgang {pass} von {passes}.",
        repeat_anew_last: "Das Wiederholungszeichen {place} schickt dich zurück {target}: Durchgang {pass} von {passes}.",
        da_capo: "Das {sign} {place} schickt dich zurück {target}.",
        dal_segno: "Das {sign} {place} schickt dich zurück {target}.",
        to_coda: "Das {sign} {place} schickt dich weiter {target}.",
        then_coda: "Vom {Sign} {place} geht es weiter {target}, wie das {jump} es verlangt.",
        heed: Heed {
            fine: "",
            coda: "",
            segno: "",
            fine_then_coda: "",
            segno_then_coda: "",
        },
    },
    again: Again {
        one: "Dasselbe noch {times} Mal.",
        many: "Die letzten {moves} Schritte noch {times} Mal.",
    },
    unsettled: "Das wird auch in anderer Reihenfolge gelesen; `fingerpost compare` zeigt, in welcher.",
    ends: Ends {
        fine: "Das Fine {place} beendet das Stück.",
        segno: "Das {jump} endet beim Segno {place}: Davor ist Schluss.",
        last_measure: "Der Weg endet mit Takt {measure}.",
        past_endings: "Keine der folgenden Klammern gilt für Durchgang {pass}: Hier endet der Weg.",
        nothing: "Kein Takt wird gespielt: Keine Klammer gilt für Durchgang 1.",
    },
    returns: Returns {
        omitted: "Die Wiederholungen werden weggelassen, wie gewünscht.",
        by_custom: "Nach heutigem Brauch lässt ein {sign} die schon gespielten Wiederholungen weg.",
        by_board: "Hier ist festgelegt: Ein {sign} lässt die schon gespielten Wiederholungen weg.",
        by_jump: "Die Worte bei diesem {sign} lassen die Wiederholungen weg.",
        by_end_repeat: "Das Wiederholungszeichen {place} gilt auf dem Rückweg nicht.",
        made_again: "Die Worte bei diesem {sign} verlangen die Wiederholungen noch einmal.",
    },
    sounding: Sounding {
        as_written: "{measures} wird wieder gespielt wie notiert.",
        in_one: "In Takt {from}",
        in_two: "In den Takten {from} und {to}",
        in_many: "In den Takten {from} bis {to}",
        one_hand: "{measures} spielt die {hand} Hand {shift}.",
        both_hands: "{measures} spielen beide Hände {shift}.",
        only: "{measures} spielt nur die {hand} Hand.",
        silent: "{measures} spielt keine Hand.",
        hold: "{measures} wird die Fermate gehalten.",
        hold_hand: "{measures} hält die {hand} Hand die Fermate.",
        right: "rechte",
        left: "linke",
        up_one: "eine Oktave höher",
        up_two: "zwei Oktaven höher",
        down_one: "eine Oktave tiefer",
        down_two: "zwei Oktaven tiefer",
        up: "{octaves} Oktaven höher",
        down: "{octaves} Oktaven tiefer",
    },
};

/// For the learner, who may be nine years old.
pub(super) const LEARNER: Phrases = Phrases {
    register: Register::Learner,
    places: Places {
        start_repeat: "zu den Punkten {place}",
        ..TEACHER.places
    },
    causes: Causes {
        start: "Fang in Takt {measure} an.",
        on: "Geh weiter {target}.",
        past_ending: "Klammer {list} ist diesmal nicht dran. Geh an ihr vorbei.",
        repeat: "Du bist bei den Punkten {place}. Sie schicken dich zurück {target}. Das ist dein {nth} Mal.",
        repeat_last: "Du bist bei den Punkten {place}. Sie schicken dich zurück {target}. Das ist dein {nth} und letztes Mal.",
        repeat_anew: "Du bist bei den Punkten {place}. Sie schicken dich zurück {target}. Hier zählst du wieder von vorn: Das ist dein {nth} Mal.",
        repeat_anew_last: "Du bist bei den Punkten {place}. Sie schicken dich zurück {target}. Hier zählst du wieder von vorn: Das ist dein {nth} und letztes Mal.",
        da_capo: "Du siehst {place} das {sign}: Geh zurück {target}.{heed}",
        dal_segno: "Du siehst {place} das {sign}: Geh zurück {target}.{heed}",
        to_coda: "Du siehst {place} das {sign}. Spring jetzt {target}.",
        then_coda: "Du bist {place} beim {Sign}. Geh jetzt weiter {target}.",
        heed: Heed {
            fine: "Achte ab jetzt auf das Wort Fine.",
            coda: "Achte ab jetzt auf das To Coda.",
            segno: "Spiel dann, bis du zum Segno kommst.",
            fine_then_coda: "Wenn du zum Wort Fine kommst, geh weiter zur Coda.",
            segno_then_coda: "Wenn du zum Segno kommst, geh weiter zur Coda.",
        },
    },
    again: Again {
        one: "Mach dasselbe noch {times} Mal.",
        many: "Mach die letzten {moves} Schritte noch {times} Mal.",
    },
    unsettled: "Das kann man auch in einer anderen Reihenfolge spielen. Frag, welcher Weg hier gilt.",
    ends: Ends {
        fine: "Du bist {place} beim Fine. Das ist der Schluss.",
        segno: "Du bist beim Segno {place}. Das {jump} sagt: Davor ist Schluss.",
        last_measure: "Takt {measure} ist der letzte. Das ist der Schluss.",
        past_endings: "Keine Klammer, die jetzt noch kommt, ist diesmal dran. Das ist der Schluss.",
        nothing: "Es gibt nichts zu spielen: Keine Klammer ist für das erste Mal.",
    },
    returns: Returns {
        omitted: "Du spielst ohne Wiederholungen: Geh an den Punkten vorbei.",
        by_custom: "Nach einem {sign} wiederholst du nicht noch einmal: Geh an den Punkten vorbei.",
        by_board: "Hier wiederholst du nach einem {sign} nicht noch einmal: Geh an den Punkten vorbei.",
        by_jump: "Die Wörter bei diesem {sign} heißen: keine Wiederholungen mehr. Geh an den Punkten vorbei.",
        by_end_repeat: "Auf dem Rückweg zählen die Punkte {place} nicht: Geh an ihnen vorbei.",
        made_again: "Die Wörter bei diesem {sign} heißen: Mach die Wiederholungen noch einmal.",
    },
    sounding: Sounding {
        one_hand: "{measures} spielt deine {hand} Hand {shift}.",
        only: "{measures} spielt nur deine {hand} Hand.",
        silent: "{measures} haben beide Hände Pause.",
        hold: "{measures} wartest du bei der Fermate.",
        hold_hand: "{measures} wartet deine {hand} Hand bei der Fermate.",
        ..TEACHER.sounding
    },
    ..TEACHER
};

/// The number as it stands before `Mal`: neuter, after `dein`.
fn nth(number: u32) -> String {
    const WORDS: [&str; 10] = [
        "erstes", "zweites", "drittes", "viertes", "fünftes", "sechstes", "siebtes", "achtes",
        "neuntes", "zehntes",
    ];
    let word = number
        .checked_sub(1)
        .and_then(|before| WORDS.get(usize::try_from(before).ok()?));
    word.map_or_else(|| format!("{number}."), |word| (*word).to_owned())
}

#[cfg(test)]
mod tests {
    use super::nth;

    #[test]
    fn numbers_count_as_they_are_spoken() {
        assert_eq!(
            [1, 7, 10, 11].map(nth),
            ["erstes", "siebtes", "zehntes", "11."]
        );
    }
}
