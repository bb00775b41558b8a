//! Scores written out in playing order. All scores are invented; each check names where MusicXML 4.0 (Community Group Final Report, June
//! 2021) says what it rests on, or the practice it follows.

use std::fmt::Write as _;

use fingerpost::{Board, Roadmap, Terms};
use fingerpost_notation::{NotationErrorKind, Unrolled, Unrolling, read, unrolled, write_musicxml};
use proptest::prelude::*;

#[path = "support/sheets.rs"]
mod sheets;
mod support;
#[path = "support/walker/mod.rs"]
mod walker;

use sheets::{
    BACKWARD, FORWARD, START, measures, names, no_signs, note, note_with, score, score_of, tune,
    unroll, words,
};
use support::boards::any_board;
use walker::Outcome;

/// Elements `repeat`, `ending`: the first ending on the first pass, the second on the second.
#[test]
fn repeats_and_endings_are_written_out() {
    let ending = |number: u8, kind: &str, repeat: &str| {
        let location = if kind == "start" { "left" } else { "right" };
        format!(
            "<barline location=\"{location}\"><ending number=\"{number}\" type=\"{kind}\"/>{repeat}</barline>"
        )
    };
    let text = score(&[
        (FORWARD, ""),
        (
            &ending(1, "start", ""),
            &ending(1, "stop", "<repeat direction=\"backward\"/>"),
        ),
        (&ending(2, "start", ""), &ending(2, "discontinue", "")),
        ("", ""),
    ]);
    let unrolled = unroll(&text);
    assert_eq!(tune(&unrolled.text), "C D C E F");
    assert_eq!(names(&unrolled), [""; 0]);
    no_signs(&unrolled.text);
    // Numbered anew, and closed by a final barline (common practice, no source).
    assert!(
        unrolled.text.contains("<measure number=\"5\">"),
        "{}",
        unrolled.text
    );
    assert_eq!(unrolled.text.matches("light-heavy").count(), 1);
}

/// Element `sound`: jumps by their instructions; words of the road go, other words and the tempo of a `sound` stay.
#[test]
fn jumps_go_and_other_words_stay() {
    let text = score(&[
        (&words("Briskly", "<sound tempo=\"96\" segno=\"a\"/>"), ""),
        ("", &words("To Coda", "<sound tocoda=\"a\"/>")),
        ("", &words("D.S. al Coda", "<sound dalsegno=\"a\"/>")),
        (&words("Coda", "<sound coda=\"a\"/>"), &words("dolce", "")),
    ]);
    let unrolled = unroll(&text);
    assert_eq!(tune(&unrolled.text), "C D E C D F");
    no_signs(&unrolled.text);
    assert_eq!(unrolled.text.matches("Briskly").count(), 2);
    assert_eq!(unrolled.text.matches("<sound tempo=\"96\"/>").count(), 2);
    assert_eq!(unrolled.text.matches("dolce").count(), 1);
    assert!(!unrolled.text.contains("Coda"), "{}", unrolled.text);
}

/// Words of the road beside other words in one direction: only they go.
#[test]
fn only_the_words_of_the_road_go() {
    let two = "<direction><direction-type><words>Calmly</words><words>D.C. al</words><words>Fine</words></direction-type></direction>";
    let text = score(&[("", &words("Fine", "")), ("", two)]);
    let unrolled = unroll(&text);
    assert_eq!(tune(&unrolled.text), "C D C");
    no_signs(&unrolled.text);
    assert!(
        unrolled
            .text
            .contains("<words>Calmly</words></direction-type>"),
        "{}",
        unrolled.text
    );
}

/// The word "To" in a direction of its own goes with its sign in the next; elsewhere it is a word.
#[test]
fn a_word_goes_with_its_sign() {
    let to = words("To", "");
    let coda = "<direction><direction-type><coda/></direction-type></direction>";
    let text = score(&[
        ("", &format!("{to}{coda}")),
        ("", &words("D.C. al Coda", "")),
        (&words("Coda", ""), &to),
    ]);
    let unrolled = unroll(&text);
    assert_eq!(tune(&unrolled.text), "C D C E");
    no_signs(&unrolled.text);
    assert_eq!(unrolled.text.matches("<words>").count(), 1);
}

/// What holds at the beginning is written again where a jump comes from another key, meter, clef, transposition or division; not where
/// nothing changes. Element `attributes`.
#[test]
fn attributes_are_written_where_a_jump_changes_them() {
    let change = "<attributes><divisions>4</divisions><key><fifths>2</fifths></key><clef><sign>F</sign><line>4</line></clef></attributes>";
    let plain = score(&[("", ""), (FORWARD, ""), ("", BACKWARD)]);
    assert_eq!(unroll(&plain).text.matches("<attributes>").count(), 1);
    let text = score(&[("", ""), (FORWARD, ""), (change, BACKWARD)]);
    let unrolled = unroll(&text);
    assert_eq!(tune(&unrolled.text), "C D E D E");
    let inner = measures(&unrolled.text);
    assert_eq!(
        inner[3],
        format!(
            "<attributes><divisions>2</divisions><key><fifths>0</fifths></key><clef><sign>G</sign><line>2</line></clef></attributes>{}",
            note(1)
        )
    );
    // Byte for byte.
    assert_eq!(
        inner[4].replace(
            "<barline location=\"right\"><bar-style>light-heavy</bar-style></barline>",
            ""
        ),
        format!("{change}{}", note(2))
    );
    // Where the target sets everything itself, nothing is put in.
    let da_capo = score(&[
        ("", ""),
        (change, &words("D.C.", "<sound dacapo=\"yes\"/>")),
    ]);
    let inner = unroll(&da_capo);
    assert_eq!(measures(&inner.text)[2], format!("{START}{}", note(0)));
    // A transposition that the beginning does not have is taken back.
    let transposed = "<attributes><transpose><chromatic>-2</chromatic></transpose></attributes>";
    let text = score(&[("", ""), (FORWARD, ""), (transposed, BACKWARD)]);
    let inner = unroll(&text);
    assert!(
        measures(&inner.text)[3].starts_with(
            "<attributes><transpose><chromatic>0</chromatic></transpose></attributes>"
        ),
        "{}",
        inner.text
    );
}

/// A tie out of the last measure before the endings goes on in both where both take it up; where the second does not, it is left out
/// there and said.
#[test]
fn ties_go_on_into_endings_that_take_them_up() {
    let tied = |start: bool, stop: bool, step: usize| {
        let ties = [(stop, "stop"), (start, "start")];
        let ties: Vec<&str> = ties
            .iter()
            .filter(|(is, _)| *is)
            .map(|(_, kind)| *kind)
            .collect();
        let of = |name: &str| {
            let each = ties.iter().map(|kind| format!("<{name} type=\"{kind}\"/>"));
            each.collect::<Vec<_>>().concat()
        };
        let (heard, drawn) = (of("tie"), of("tied"));
        note_with(
            step,
            &format!("{heard}<voice>1</voice><notations>{drawn}</notations>"),
        )
    };
    let with = |second: String| {
        score_of(&[
            format!("{FORWARD}{}", tied(true, false, 0)),
            format!(
                "<barline location=\"left\"><ending number=\"1\" type=\"start\"/></barline>{}<barline location=\"right\"><ending number=\"1\" type=\"stop\"/><repeat direction=\"backward\"/></barline>",
                tied(false, true, 0)
            ),
            format!(
                "<barline location=\"left\"><ending number=\"2\" type=\"start\"/></barline>{second}<barline location=\"right\"><ending number=\"2\" type=\"stop\"/></barline>"
            ),
        ])
    };
    let both = unroll(&with(tied(false, true, 0)));
    assert_eq!(tune(&both.text), "C C C C");
    assert_eq!(both.text.matches("<tie type=\"start\"/>").count(), 2);
    assert_eq!(both.text.matches("<tied type=\"stop\"/>").count(), 2);
    assert_eq!(names(&both), [""; 0]);
    let one = unroll(&with(note(3)));
    assert_eq!(tune(&one.text), "C C C F");
    let inner = measures(&one.text);
    assert!(
        inner[0].contains("<tie type=\"start\"/>") && inner[1].contains("<tied type=\"stop\"/>")
    );
    assert!(
        !inner[2].contains("<tie") && !inner[3].contains("<tie"),
        "{}",
        one.text
    );
    assert_eq!(names(&one), ["line-cut"]);
    let notice = &one.notices[0];
    assert_eq!((notice.measure, notice.line), (Some(1), Some(3)));
    assert_eq!(notice.message, "a tie cannot go on where the road jumps");
    // Another pitch is no other end.
    let other = unroll(&with(tied(false, true, 4)));
    assert!(!measures(&other.text)[3].contains("<tie"), "{}", other.text);
}

/// A slur that a jump cuts is left out; lines over the staff are ended where the road leaves them and begun again where it comes back
/// into them.
#[test]
fn lines_are_ended_and_begun_again() {
    let shift = |kind: &str| {
        format!(
            "<direction><direction-type><octave-shift type=\"{kind}\" size=\"8\"/></direction-type><staff>1</staff></direction>"
        )
    };
    let text = score(&[
        (&shift("down"), ""),
        (FORWARD, ""),
        ("", &format!("{}{BACKWARD}", shift("stop"))),
    ]);
    let unrolled = unroll(&text);
    assert_eq!(tune(&unrolled.text), "C D E D E");
    let inner = measures(&unrolled.text);
    assert!(inner[3].starts_with(&shift("down")), "{}", inner[3]);
    assert_eq!(
        unrolled.text.matches("octave-shift type=\"stop\"").count(),
        2
    );
    // Left in the middle.
    let text = score(&[
        ("", ""),
        (&shift("down"), &words("Fine", "<sound fine=\"yes\"/>")),
        (
            "",
            &format!(
                "{}{}",
                shift("stop"),
                words("D.C.", "<sound dacapo=\"yes\"/>")
            ),
        ),
    ]);
    let unrolled = unroll(&text);
    assert_eq!(tune(&unrolled.text), "C D E C D");
    let inner = measures(&unrolled.text);
    assert!(
        inner[4].contains(&format!("{}{}", note(1), shift("stop"))),
        "{}",
        inner[4]
    );
    assert_eq!(names(&unrolled), ["line-cut"]);
    // A slur.
    let slur = |kind: &str, step: usize| {
        note_with(
            step,
            &format!("<voice>1</voice><notations><slur type=\"{kind}\" number=\"1\"/></notations>"),
        )
    };
    let text = score_of(&[
        note(0),
        format!(
            "{}{}",
            slur("start", 1),
            words("Fine", "<sound fine=\"yes\"/>")
        ),
        format!(
            "{}{}",
            slur("stop", 2),
            words("D.C.", "<sound dacapo=\"yes\"/>")
        ),
    ]);
    let unrolled = unroll(&text);
    let inner = measures(&unrolled.text);
    assert!(
        inner[1].contains("<slur") && inner[2].contains("<slur") && !inner[4].contains("<slur"),
        "{}",
        unrolled.text
    );
    assert_eq!(names(&unrolled), ["line-cut"]);
}

/// A line that begins and ends at one note is whole; what the file itself leaves open, or ends without a beginning, stays as it is.
#[test]
fn lines_of_one_measure_and_lines_left_open_stay() {
    let trill = "<voice>1</voice><notations><ornaments><trill-mark/><wavy-line type=\"start\"/><wavy-line type=\"stop\"/></ornaments></notations>";
    // A tie out of the note is written before the one that comes to it.
    let tied = |inside: &str| note_with(0, &format!("{inside}<voice>1</voice>"));
    let text = score_of(&[
        note_with(4, trill),
        tied("<tie type=\"start\"/>"),
        tied("<tie type=\"start\"/><tie type=\"stop\"/>"),
        tied("<tie type=\"stop\"/>"),
        tied("<tie type=\"stop\"/>"),
        format!(
            "{}{BACKWARD}",
            note_with(
                4,
                "<voice>1</voice><notations><slur type=\"start\"/></notations>"
            )
        ),
    ]);
    let unrolled = unroll(&text);
    assert_eq!(tune(&unrolled.text), "G C C C C G G C C C C G");
    assert_eq!(names(&unrolled), [""; 0]);
    let inner = measures(&unrolled.text);
    let written = measures(&text);
    assert_eq!(inner[6..11], inner[..5]);
    assert_eq!(inner[1..5], written[1..5]);
    assert_eq!(unrolled.text.matches("<slur").count(), 2);
}

/// Measure repeats reach back to the measure before, and a rest over several measures on to those after it: neither outlives a jump.
/// Elements `measure-repeat`, `multiple-rest`.
#[test]
fn short_ways_of_writing_end_at_a_jump() {
    let style =
        |inside: &str| format!("<attributes><measure-style>{inside}</measure-style></attributes>");
    let text = score(&[
        ("", ""),
        (
            &style("<measure-repeat type=\"start\">1</measure-repeat>"),
            &words("Fine", "<sound fine=\"yes\"/>"),
        ),
        ("", ""),
        (
            &style("<measure-repeat type=\"stop\"/>"),
            &words("D.S.", "<sound dalsegno=\"a\"/>"),
        ),
    ]);
    let text = text.replace(
        "<measure number=\"2\">",
        "<measure number=\"2\"><sound segno=\"a\"/>",
    );
    let unrolled = unroll(&text);
    assert_eq!(tune(&unrolled.text), "C D E F D");
    assert_eq!(
        unrolled
            .text
            .matches("measure-repeat type=\"start\"")
            .count(),
        2
    );
    let text = score(&[
        (&style("<multiple-rest>2</multiple-rest>"), BACKWARD),
        ("", ""),
        ("", ""),
    ]);
    let unrolled = unroll(&text);
    assert_eq!(tune(&unrolled.text), "C C D E");
    let inner = measures(&unrolled.text);
    assert!(
        !inner[0].contains("multiple-rest") && inner[1].contains("multiple-rest"),
        "{}",
        unrolled.text
    );
    assert_eq!(names(&unrolled), ["line-cut"]);
}

/// Type `time-only`: a note, a lyric or a sound for some passes stands on those only; time goes on where a note is silent, and the next
/// note of a chord is the first of it there.
#[test]
fn what_is_for_other_passes_is_left_out() {
    let lyric = |verse: u8| {
        format!("<lyric number=\"{verse}\" time-only=\"{verse}\"><text>verse{verse}</text></lyric>")
    };
    let first = format!(
        "<note time-only=\"1\"><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration>{}</note>",
        lyric(1)
    );
    let chord = "<note><chord/><pitch><step>E</step><octave>4</octave></pitch><duration>4</duration></note>";
    let only = "<note time-only=\"2\"><pitch><step>G</step><octave>4</octave></pitch><duration>4</duration></note>";
    let sound = "<sound tempo=\"60\" time-only=\"2\"/>";
    let text = score_of(&[format!("{sound}{first}{chord}{only}{BACKWARD}")]);
    let unrolled = unroll(&text);
    assert_eq!(tune(&unrolled.text), "CE EG");
    let inner = measures(&unrolled.text);
    assert!(
        !inner[0].contains("tempo") && inner[1].contains("<sound tempo=\"60\"/>"),
        "{}",
        unrolled.text
    );
    assert!(
        inner[0].contains("<chord/>") && !inner[1].contains("<chord/>"),
        "{}",
        unrolled.text
    );
    assert!(
        inner[0].ends_with("</note><forward><duration>4</duration></forward>"),
        "{}",
        inner[0]
    );
    assert!(inner[0].contains("verse1"));
    no_signs(&unrolled.text);
    // Verses that nothing tells apart all stay, and it is said.
    let verse = |verse: u8| format!("<lyric number=\"{verse}\"><text>verse{verse}</text></lyric>");
    let text = score_of(&[format!(
        "{}{BACKWARD}",
        note_with(0, &format!("{}{}", verse(1), verse(2)))
    )]);
    let unrolled = unroll(&text);
    assert_eq!(unrolled.text.matches("verse2").count(), 2);
    assert_eq!(names(&unrolled), ["verses-kept"]);
}

/// An `id` stands in a file once (XML 1.0, section 3.3.1, validity constraint ID); one that names something else stays.
#[test]
fn ids_stand_once() {
    let inside = "<instrument id=\"I1\"/><voice>1</voice>";
    let noted = note_with(0, inside).replace("<note>", "<note id=\"n1\">");
    let text = score_of(&[format!("{noted}{BACKWARD}")]);
    let unrolled = unroll(&text);
    assert_eq!(unrolled.text.matches("id=\"n1\"").count(), 1);
    assert_eq!(unrolled.text.matches("<instrument id=\"I1\"/>").count(), 2);
}

/// Both orders of parts and measures, and files in UTF-16.
#[test]
fn timewise_and_partwise_alike() {
    let part = |id: &str, inside: String| format!("<part id=\"{id}\">{inside}</part>");
    let one = |step| format!("{START}{}", note(step));
    let timewise = format!(
        "<score-timewise version=\"4.0\"><part-list/><measure number=\"1\">{}{}</measure><measure number=\"2\">{}{}</measure></score-timewise>",
        part("P1", one(0)),
        part("P2", one(1)),
        part("P1", format!("{}{BACKWARD}", note(2))),
        part("P2", format!("{}{BACKWARD}", note(3))),
    );
    let unrolled = unroll(&timewise);
    assert_eq!(tune(&unrolled.text), "CD EF CD EF");
    no_signs(&unrolled.text);
    let partwise = format!(
        "<score-partwise version=\"4.0\"><part-list/><part id=\"P1\"><measure number=\"1\">{}</measure><measure number=\"2\">{}{BACKWARD}</measure></part><part id=\"P2\"><measure number=\"1\">{}</measure><measure number=\"2\">{}{BACKWARD}</measure></part></score-partwise>",
        one(0),
        note(2),
        one(1),
        note(3)
    );
    let partwise = format!("<?xml version=\"1.0\" encoding=\"UTF-16\"?>\n{partwise}");
    let wide: Vec<u8> = std::iter::once(0xfeff)
        .chain(partwise.encode_utf16())
        .flat_map(u16::to_le_bytes)
        .collect();
    let unrolled = unrolled_bytes(&wide);
    assert_eq!(tune(&unrolled.text), "C E C E D F D F");
    assert!(
        unrolled
            .text
            .starts_with("<?xml version=\"1.0\" encoding=\"UTF-8\"?>"),
        "{}",
        unrolled.text
    );
}

fn unrolled_bytes(bytes: &[u8]) -> Unrolled {
    unrolled(bytes, &Unrolling::default()).unwrap()
}

/// A repeat barline inside a measure cuts it: each part of it is written as a measure.
#[test]
fn a_cut_measure_is_split() {
    let quarter = |step: &str| {
        format!(
            "<note><pitch><step>{step}</step><octave>4</octave></pitch><duration>2</duration><voice>1</voice></note>"
        )
    };
    let middle = "<barline location=\"middle\"><bar-style>light-heavy</bar-style><repeat direction=\"backward\"/></barline>";
    let text = score_of(&[
        note(0),
        format!(
            "{}{}{middle}{}{}",
            quarter("D"),
            quarter("E"),
            quarter("F"),
            quarter("G")
        ),
        note(5),
    ]);
    let unrolled = unroll(&text);
    assert_eq!(tune(&unrolled.text), "C DE C DE FG A");
    assert_eq!(names(&unrolled), ["measure-cut"]);
    no_signs(&unrolled.text);
}

/// The limits of the caller, other formats, signs that give no order.
#[test]
fn what_cannot_be_written_out_is_said() {
    let text = score(&[("", &BACKWARD.replace("/>", " times=\"5000\"/>"))]);
    let fails =
        |text: &str, unrolling: Unrolling| unrolled(text.as_bytes(), &unrolling).unwrap_err();
    let short = Unrolling {
        most_measures: 4_999,
        ..Unrolling::default()
    };
    let error = fails(&text, short);
    assert_eq!(error.kind(), NotationErrorKind::TooLarge);
    assert_eq!(
        error.to_string(),
        "written out, the score has 5000 measures; at most 4999 were asked for"
    );
    let error = fails(
        &text,
        Unrolling {
            most_bytes: 10_000,
            ..Unrolling::default()
        },
    );
    assert_eq!(error.kind(), NotationErrorKind::TooLarge);
    let error = fails("X:1\nK:C\nC|\n", Unrolling::default());
    assert_eq!(error.kind(), NotationErrorKind::UnknownFormat);
    let error = fails(
        &score(&[("", ""), ("", &words("D.S.", ""))]),
        Unrolling::default(),
    );
    assert_eq!(
        (error.kind(), error.line()),
        (NotationErrorKind::NoOrder, Some(4))
    );
}

proptest! {
    #![proptest_config(ProptestConfig { cases: support::cases(1000), failure_persistence: None, ..ProptestConfig::default() })]

    /// Any board that can be walked, written as a score and unrolled: no sign is left, and its measures are those of the second walker, which
    /// is written from the rulebook's text alone; on the board as it was too, where writing it lost nothing.
    #[test]
    fn an_unrolled_board_is_its_route(board in any_board()) {
        let written = write_musicxml(&board);
        let marked = name_measures(&written.text);
        let read = read(marked.as_bytes()).unwrap();
        let unrolling = Unrolling { terms: Terms { open_plays: Some(2), ..Terms::default() }, most_measures: 2_000, ..Unrolling::default() };
        let Ok(roadmap) = Roadmap::new(&read[0].board, &unrolling.terms) else { return Ok(()) };
        if roadmap.length() > 2_000 {
            return Ok(());
        }
        if roadmap.length() == 0 {
            // A part without a measure is no MusicXML.
            prop_assert_eq!(unrolled(marked.as_bytes(), &unrolling).unwrap_err().kind(), NotationErrorKind::NoOrder);
            return Ok(());
        }
        let result = unrolled(marked.as_bytes(), &unrolling).unwrap();
        let cut = roadmap.steps().any(|step| step.part.is_some());
        no_signs(&result.text);
        if !cut {
            let found: Vec<u16> = result.text.split("<words>way ").skip(1).map(|rest| rest.split('<').next().unwrap().parse().unwrap()).collect();
            let order = walked(&read[0].board, &unrolling.terms);
            prop_assert_eq!(Some(&found), order.as_ref());
            if written.notices.is_empty() {
                let order = walked(&board, &unrolling.terms);
                prop_assert_eq!(Some(found), order);
            }
        }
    }
}

/// The measures that the second walker plays, up to 2000 of them.
fn walked(board: &Board, terms: &Terms) -> Option<Vec<u16>> {
    match walker::walk(board, terms, 2_001) {
        Outcome::Steps(steps) => Some(steps.iter().map(|step| step.measure).collect()),
        _ => None,
    }
}

/// A word in each measure by which it can be told.
fn name_measures(text: &str) -> String {
    let mut parts = text.split("</measure>");
    let mut named = String::new();
    for (index, measure) in (&mut parts).enumerate() {
        if index > 0 {
            named.push_str("</measure>");
        }
        if measure.contains("<measure ") {
            let at = measure.find("<measure ").unwrap();
            let at = at + measure[at..].find('>').unwrap() + 1;
            named.push_str(&measure[..at]);
            let _ = write!(named, "{}", words(&format!("way {}", index + 1), ""));
            named.push_str(&measure[at..]);
        } else {
            named.push_str(measure);
        }
    }
    named
}
