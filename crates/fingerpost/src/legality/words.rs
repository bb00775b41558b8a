//! How findings name a sign.

use crate::board::{Al, Hands, Jump, Sign, Then, When};

/// A sign as a musician names it: `D.S. al Coda`, `first ending`, `To Coda B`.
pub fn sign_words(sign: &Sign) -> String {
    let labelled = |name: &str, label: &Option<String>| match label {
        Some(label) => format!("{name} {label}"),
        None => name.to_owned(),
    };
    match sign {
        Sign::StartRepeat => "start repeat".to_owned(),
        Sign::EndRepeat(_) => "end repeat".to_owned(),
        Sign::Ending(ending) => format!("ending {}", ending.passes),
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
        When::Passes(passes) => format!("pass {passes}"),
    }
}
