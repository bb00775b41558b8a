//! Writes one sign as the line writes it.

use super::scan::worded;
use crate::board::{
    Al, Fraction, Hands, Jump, Meter, Passes, Plays, Repeats, Shift, Sign, Then, When,
};

/// A sign with what stands beside it: its own keys, the keys of its place, its beat and its id.
pub(super) fn written(
    sign: &Sign,
    place: &[String],
    beat: Option<u32>,
    id: Option<&str>,
) -> String {
    let mut keys: Vec<String> = Vec::new();
    let mut phrases = String::new();
    let word = match sign {
        Sign::StartRepeat => "|:".to_owned(),
        Sign::EndRepeat(end) => {
            keys.extend(
                end.on_return
                    .map(|repeats| format!("on-return {}", repeats.name())),
            );
            match end.plays {
                None => ":|".to_owned(),
                Some(Plays::Times(times)) => format!(":|x{times}"),
                Some(Plays::Open) => {
                    keys.insert(0, "plays open".to_owned());
                    ":|".to_owned()
                }
            }
        }
        Sign::Ending(ending) => {
            keys.extend(ending.open.then(|| "open".to_owned()));
            format!("[{}.", ending.passes)
        }
        Sign::Segno(landing) => labelled("segno", landing.label.as_ref()),
        Sign::Coda(landing) => labelled("coda", landing.label.as_ref()),
        Sign::ToCoda(to_coda) => {
            keys.extend(
                to_coda
                    .arrivals
                    .as_ref()
                    .map(|list| counted("arrivals", list)),
            );
            labelled("To Coda", to_coda.label.as_ref())
        }
        Sign::Fine(fine) => {
            keys.extend(fine.arrivals.as_ref().map(|list| counted("arrivals", list)));
            "Fine".to_owned()
        }
        Sign::DaCapo(jump) => {
            phrases = jump_phrases(jump, &mut keys);
            "D.C.".to_owned()
        }
        Sign::DalSegno(jump) => {
            phrases = jump_phrases(jump, &mut keys);
            labelled("D.S.", jump.label.as_ref())
        }
        Sign::DoubleBar(bar) => if bar.is_final { "|]" } else { "||" }.to_owned(),
        Sign::Octave(octave) => {
            held(octave.hands, &octave.when, &mut keys);
            match octave.shift {
                Shift::Up1 => "8va",
                Shift::Up2 => "15ma",
                Shift::Down1 => "8vb",
                Shift::Down2 => "15mb",
            }
            .to_owned()
        }
        Sign::Fermata(fermata) => {
            held(fermata.hands, &fermata.when, &mut keys);
            "fermata".to_owned()
        }
        Sign::Only(only) => {
            held(only.hands, &only.when, &mut keys);
            "only".to_owned()
        }
    };
    keys.extend_from_slice(place);
    keys.extend(id.map(|id| format!("id {}", worded(id))));
    let beat = beat.map_or_else(String::new, |beat| format!("@{beat}"));
    let keys = if keys.is_empty() {
        String::new()
    } else {
        format!("({})", keys.join(", "))
    };
    format!("{word}{beat}{keys}{phrases}")
}

/// The beat after an `@` that names this cut; `None` when no beat does, or when a barline has no place for one.
pub(super) fn cut_beat(sign: &Sign, cut: Fraction, meter: Meter) -> Option<u32> {
    if matches!(sign, Sign::StartRepeat | Sign::EndRepeat(_)) {
        return None;
    }
    let units = cut.numerator() * u32::from(meter.unit());
    if units % cut.denominator() != 0 {
        return None;
    }
    let beats = units / cut.denominator();
    // The reader takes no more beats than a fraction can hold.
    let beat = match sign {
        Sign::Segno(_) | Sign::Coda(_) => beats + 1,
        _ => beats,
    };
    (beat >= 1 && beats <= 65_535).then_some(beat)
}

fn labelled(word: &str, label: Option<&String>) -> String {
    match label {
        Some(label) => format!("{word}:{}", worded(label)),
        None => word.to_owned(),
    }
}

fn counted(key: &str, list: &Passes) -> String {
    format!("{key} {}", list.to_string().replace(',', " "))
}

/// The words after a jump; what has no words becomes a key.
fn jump_phrases(jump: &Jump, keys: &mut Vec<String>) -> String {
    keys.extend(jump.arrivals.as_ref().map(|list| counted("arrivals", list)));
    keys.extend(jump.passes.as_ref().map(|list| counted("passes", list)));
    let mut phrases = String::new();
    match jump.al {
        Some(Al::Fine) => phrases.push_str(" al Fine"),
        Some(Al::Coda) => phrases.push_str(&labelled(" al Coda", jump.coda.as_ref())),
        Some(Al::Segno) => phrases.push_str(&labelled(" al Segno", jump.label.as_ref())),
        Some(Al::End) => phrases.push_str(" al End"),
        None => {}
    }
    match jump.then {
        Some(Then::Coda) => phrases.push_str(&labelled(" then Coda", jump.coda.as_ref())),
        Some(Then::End) => phrases.push_str(" then End"),
        None => {}
    }
    match jump.repeats {
        Some(Repeats::Play) => phrases.push_str(" con rep."),
        Some(Repeats::Skip) => phrases.push_str(" senza rep."),
        None => {}
    }
    phrases
}

fn held(hands: Hands, when: &When, keys: &mut Vec<String>) {
    match hands {
        Hands::Right => keys.push("R.H.".to_owned()),
        Hands::Left => keys.push("L.H.".to_owned()),
        Hands::Both => {}
    }
    match when {
        When::EveryPass => {}
        When::OnRepeat => keys.push("on repeat".to_owned()),
        When::LastPass => keys.push("last pass".to_owned()),
        When::OnReturn => keys.push("on return".to_owned()),
        When::Passes(list) => {
            let key = if list.lowest() == list.highest() {
                "pass"
            } else {
                "passes"
            };
            keys.push(counted(key, list));
        }
    }
}
