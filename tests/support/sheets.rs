//! Scores of a few measures in MusicXML, and what they are when they are written out. All are invented.

use std::fmt::Write as _;

use fingerpost::Sign;
use fingerpost_notation::{Unrolled, Unrolling, read, unrolled};

/// What stands at the start of the first measure.
pub(crate) const START: &str = "<attributes><divisions>2</divisions><key><fifths>0</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line></clef></attributes>";
/// A start repeat.
pub(crate) const FORWARD: &str = "<barline location=\"left\"><bar-style>heavy-light</bar-style><repeat direction=\"forward\"/></barline>";
/// An end repeat.
pub(crate) const BACKWARD: &str = "<barline location=\"right\"><bar-style>light-heavy</bar-style><repeat direction=\"backward\"/></barline>";

/// A whole note of so many steps above C4, with something in it.
pub(crate) fn note_with(step: usize, inside: &str) -> String {
    let (name, octave) = (["C", "D", "E", "F", "G", "A", "B"][step % 7], 4 + step / 7);
    format!(
        "<note><pitch><step>{name}</step><octave>{octave}</octave></pitch><duration>8</duration>{inside}</note>"
    )
}

/// A whole note of so many steps above C4.
pub(crate) fn note(step: usize) -> String {
    note_with(step, "<voice>1</voice><type>whole</type>")
}

/// A score of one part with these measures.
pub(crate) fn score_of(measures: &[String]) -> String {
    let mut text = String::new();
    for (index, measure) in measures.iter().enumerate() {
        let start = if index == 0 { START } else { "" };
        let number = index + 1;
        let _ = writeln!(
            text,
            "<measure number=\"{number}\">{start}{measure}</measure>"
        );
    }
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<score-partwise version=\"4.0\"><part-list><score-part id=\"P1\"><part-name>Path</part-name></score-part></part-list><part id=\"P1\">\n{text}</part>\n</score-partwise>\n"
    )
}

/// A score of whole notes, each a step above the one before; for each measure what stands before and after its note.
pub(crate) fn score(measures: &[(&str, &str)]) -> String {
    let measures = measures.iter().enumerate();
    score_of(
        &measures
            .map(|(index, (before, after))| format!("{before}{}{after}", note(index)))
            .collect::<Vec<_>>(),
    )
}

/// A score written out.
#[track_caller]
pub(crate) fn unroll(text: &str) -> Unrolled {
    unrolled(text.as_bytes(), &Unrolling::default())
        .unwrap_or_else(|error| panic!("{error}: {text}"))
}

/// The measures of each part: what stands between their tags.
pub(crate) fn measures(text: &str) -> Vec<&str> {
    let parts = text.split("<measure ").skip(1);
    parts
        .map(|rest| {
            let (_, inner) = rest.split_once('>').unwrap();
            inner.split("</measure>").next().unwrap()
        })
        .collect()
}

/// The steps of the notes, one word a measure.
pub(crate) fn tune(text: &str) -> String {
    let steps: Vec<String> = measures(text)
        .iter()
        .map(|measure| {
            measure
                .split("<step>")
                .skip(1)
                .map(|rest| &rest[..1])
                .collect()
        })
        .collect();
    steps.join(" ")
}

/// No sign of the road is left, in the text and as it is read.
#[track_caller]
pub(crate) fn no_signs(text: &str) {
    for sign in [
        "<repeat",
        "<ending",
        "<segno",
        "<coda",
        "dacapo",
        "dalsegno",
        "tocoda",
        "fine=",
        "time-only",
        "D.C.",
        "D.S.",
        "Fine",
        "To Coda",
    ] {
        // Titles may have any words.
        let music = &text[text.find("<part ").unwrap()..];
        assert!(!music.contains(sign), "{sign}: {text}");
    }
    let read = read(text.as_bytes()).unwrap_or_else(|error| panic!("{error}: {text}"));
    let signs: Vec<&Sign> = read[0]
        .board
        .markings()
        .iter()
        .map(fingerpost::Marking::sign)
        .filter(|sign| {
            !matches!(
                sign,
                Sign::DoubleBar(_) | Sign::Fermata(_) | Sign::Octave(_)
            )
        })
        .collect();
    assert!(signs.is_empty(), "{signs:?}: {text}");
}

/// What was noticed in writing it out.
pub(crate) fn names(unrolled: &Unrolled) -> Vec<&'static str> {
    unrolled
        .notices
        .iter()
        .map(|notice| notice.rule.name())
        .collect()
}

/// Words over a measure, with what they say for playing.
pub(crate) fn words(text: &str, sound: &str) -> String {
    format!("<direction><direction-type><words>{text}</words></direction-type>{sound}</direction>")
}
