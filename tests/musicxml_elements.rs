//! The elements of MusicXML 4.0 that bear on the order of measures, one test for each point.
//!
//! Above each test stands the page of the reference that it rests on (MusicXML 4.0, Community Group Final Report, June 2021), or the practice
//! it follows. All scores are invented.

#[path = "support/scores.rs"]
mod scores;
mod support;

use fingerpost::Board;
use fingerpost_notation::read;
use scores::{
    BACKWARD, FORWARD, TIME, becomes, direction, measure, names, order, read_one, score, words,
};
use support::hostile::{container, deflated, packed};

const REST: &str = "<note><rest/><duration>4</duration></note>";
const HALF: &str = "<note><rest/><duration>2</duration></note>";

/// Holds a board against a board line.
#[track_caller]
fn is(board: &Board, line: &str) {
    let wanted: Board = line
        .parse()
        .unwrap_or_else(|error| panic!("{line}: {error}"));
    assert_eq!(board.canonical().to_line(), wanted.canonical().to_line());
}

/// Two measures of two parts each: what stands in them.
const TWO_PARTS: [[&str; 2]; 2] = [[FORWARD, FORWARD], [BACKWARD, BACKWARD]];

fn timewise(measures: &[&[(&str, &str)]]) -> String {
    let part = |(id, content): &(&str, &str)| format!("<part id=\"{id}\">{content}{REST}</part>");
    let measures = measures.iter().enumerate().map(|(index, parts)| {
        let parts: String = parts.iter().map(part).collect();
        format!("<measure number=\"{}\">{parts}</measure>\n", index + 1)
    });
    let list = "<part-list><score-part id=\"P1\"><part-name>Path</part-name></score-part><score-part id=\"P2\"><part-name>Brook</part-name></score-part></part-list>";
    let measures: String = measures.collect();
    format!("<score-timewise version=\"4.0\">{list}\n{measures}</score-timewise>")
}

/// Elements `score-partwise` and `score-timewise`: the same music, parts in measures or measures in parts.
#[test]
fn partwise_and_timewise_say_the_same() {
    let [one, two] = TWO_PARTS;
    let partwise = |at: usize| measure(1, one[at], "") + &measure(2, "", two[at]);
    let partwise = format!(
        "<score-partwise version=\"4.0\"><part-list/><part id=\"P1\">{}</part><part id=\"P2\">{}</part></score-partwise>",
        partwise(0),
        partwise(1)
    );
    let timewise = timewise(&[
        &[("P1", one[0]), ("P2", one[1])],
        &[("P1", two[0]), ("P2", two[1])],
    ]);
    let (partwise, timewise) = (read_one(&partwise), read_one(&timewise));
    assert_eq!(partwise.board, timewise.board);
    assert_eq!(order(&timewise.board), [1, 2, 1, 2]);
    assert_eq!(names(&timewise), [""; 0]);
}

/// Element `measure` (timewise) holds one part or more: the schema lets a part be left out of a measure. Its later measures stay where they
/// are.
#[test]
fn a_part_may_be_left_out_of_a_measure() {
    let fine = words("Fine", "<sound fine=\"yes\"/>");
    let back = words("D.C. al Fine", "<sound dacapo=\"yes\"/>");
    let read = read_one(&timewise(&[
        &[("P1", TIME), ("P2", TIME)],
        &[("P1", "")],
        &[("P1", ""), ("P2", &fine)],
        &[("P2", &back)],
    ]));
    is(&read.board, "{meter 4/4} 1 | 2 | 3 Fine | 4 D.C. al Fine");
    assert_eq!(order(&read.board), [1, 2, 3, 4, 1, 2, 3]);
    // The same where the first part is the one that is left out, and where the missing measure has a repeat in the other.
    let read = read_one(&timewise(&[
        &[("P2", TIME)],
        &[("P1", FORWARD), ("P2", FORWARD)],
        &[("P2", BACKWARD)],
        &[("P1", ""), ("P2", "")],
    ]));
    assert_eq!(names(&read), ["parts-disagree"; 0]);
    is(&read.board, "{meter 4/4} 1 |: 2 | 3 :| 4");
}

/// "Compressed .MXL files": META-INF/container.xml names the score; other files may stand beside it.
#[test]
fn a_compressed_score_is_found_by_its_container() {
    let text = score(&[("", BACKWARD), ("", "")]);
    let other = score(&[("", ""), ("", "")]);
    for wide in [false, true] {
        let bytes = if wide {
            text.encode_utf16()
                .flat_map(u16::to_le_bytes)
                .collect::<Vec<u8>>()
        } else {
            text.clone().into_bytes()
        };
        let container = container("score/path.musicxml");
        let mut files: Vec<(&str, &[u8])> = vec![
            ("META-INF/container.xml", &container),
            ("other.musicxml", other.as_bytes()),
        ];
        let lacking = packed(&files, deflated());
        assert!(read(&lacking).is_err(), "the named score is not there");
        files.push(("score/path.musicxml", &bytes));
        let scores = read(&packed(&files, deflated())).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(order(&scores[0].board), [1, 1, 2]);
    }
}

/// Element `repeat`, attribute `times`.
#[test]
fn times_of_a_repeat() {
    let repeat =
        "<barline location=\"right\"><repeat direction=\"backward\" times=\"4\"/></barline>";
    let read = becomes(&[("", repeat), ("", "")], "1 :|x4 2 |");
    assert_eq!(order(&read.board), [1, 1, 1, 1, 2]);
}

/// Element `repeat`, attribute `after-jump`: "the repeat is played after a jump due to a da capo or dal segno".
#[test]
fn after_jump_of_a_repeat() {
    let dc = words("D.C.", "<sound dacapo=\"yes\"/>");
    for (value, wanted) in [("yes", &[1, 1, 2, 1, 1, 2][..]), ("no", &[1, 1, 2, 1, 2])] {
        let repeat = format!(
            "<barline location=\"right\"><repeat direction=\"backward\" after-jump=\"{value}\"/></barline>"
        );
        let read = read_one(&score(&[("", &repeat), ("", &dc)]));
        assert_eq!(order(&read.board), wanted, "{value}");
    }
}

fn ending(kind: &str, number: &str, printed: &str, more: &str) -> String {
    let location = if kind == "start" { "left" } else { "right" };
    format!(
        "<barline location=\"{location}\"><ending number=\"{number}\" type=\"{kind}\">{printed}</ending>{more}</barline>"
    )
}

const AGAIN: &str = "<repeat direction=\"backward\"/>";

/// Type `ending-number`: numbers in a list, with or without blanks.
#[test]
fn endings_for_several_passes() {
    for list in ["1,2", "1, 2"] {
        let read = becomes(
            &[
                (FORWARD, ""),
                (
                    &ending("start", list, "", ""),
                    &ending("stop", list, "", AGAIN),
                ),
                (&ending("start", "3", "", ""), &ending("stop", "3", "", "")),
            ],
            "|: 1 | [1,2. 2 :| [3. 3 ]",
        );
        assert_eq!(order(&read.board), [1, 2, 1, 2, 1, 3]);
    }
}

/// Element `ending`: its text is what is printed "if different from what appears in the number attribute"; the number is what holds.
#[test]
fn endings_whose_text_is_not_their_number() {
    let read = becomes(
        &[
            (FORWARD, ""),
            (
                &ending("start", "1", "prima volta", ""),
                &ending("stop", "1", "", AGAIN),
            ),
            (
                &ending("start", "2", "4.", ""),
                &ending("discontinue", "2", "", ""),
            ),
            ("", ""),
        ],
        "|: 1 | [1. 2 :| [2.(open) 3 ] | 4 |",
    );
    assert_eq!(names(&read), [""; 0]);
    // Without a number the text is looked at; common practice, no source.
    becomes(
        &[
            (FORWARD, ""),
            (
                &ending("start", "", "1.", ""),
                &ending("stop", "", "", AGAIN),
            ),
            (&ending("start", "", "2.", ""), &ending("stop", "", "", "")),
        ],
        "|: 1 | [1. 2 :| [2. 3 ]",
    );
}

/// Elements `segno` and `coda` in a direction and in a barline; a `barline` may carry the attributes of both.
#[test]
fn drawn_segnos_and_codas() {
    let ds = words("D.S. al Coda", "<sound dalsegno=\"s\"/>");
    let to = words("To Coda", "<sound tocoda=\"c\"/>");
    let wanted = "1 | segno 2 To Coda | 3 D.S. al Coda | coda 4 |";
    let in_directions = (
        direction("<segno/>", "<sound segno=\"s\"/>"),
        direction("<coda/>", "<sound coda=\"c\"/>"),
    );
    let in_barlines = (
        "<barline location=\"left\" segno=\"s\"><segno/></barline>".to_owned(),
        "<barline location=\"left\" coda=\"c\"><coda/></barline>".to_owned(),
    );
    // A barline at the right of the measure before stands at the same place.
    for (segno, coda) in [in_directions, in_barlines] {
        let read = becomes(&[("", ""), (&segno, &to), ("", &ds), (&coda, "")], wanted);
        assert_eq!(names(&read), [""; 0]);
    }
    let segno = "<barline location=\"right\" segno=\"s\"><segno/></barline>";
    let coda = format!("{ds}<barline location=\"right\" coda=\"c\"><coda/></barline>");
    becomes(&[("", segno), ("", &to), ("", &coda), ("", "")], wanted);
}

/// Element `sound`: every attribute of the road, with `time-only`.
#[test]
fn every_instruction_with_the_passes_it_is_for() {
    let last = "<barline><repeat direction=\"backward\" times=\"3\"/></barline>";
    let on = |attribute: &str, passes: &str| format!("<sound {attribute} time-only=\"{passes}\"/>");
    let segno = direction("<segno/>", "<sound segno=\"s\"/>");
    let coda = direction("<coda/>", "<sound coda=\"c\"/>");
    for (attribute, passes, wanted) in [
        (
            "dacapo=\"yes\"",
            "2",
            "|: segno 1 | 2 D.C.(passes 2) | 3 :|x3 | coda 4 |",
        ),
        (
            "dalsegno=\"s\"",
            "1, 2",
            "|: segno 1 | 2 D.S.(passes 1-2) | 3 :|x3 | coda 4 |",
        ),
        (
            "fine=\"yes\"",
            "3",
            "|: segno 1 | 2 Fine(arrivals 3) | 3 :|x3 | coda 4 |",
        ),
        (
            "tocoda=\"c\"",
            "2",
            "|: segno 1 | 2 To Coda(arrivals 2) | 3 :|x3 | coda 4 |",
        ),
    ] {
        becomes(
            &[
                (&format!("{FORWARD}{segno}"), ""),
                ("", &on(attribute, passes)),
                ("", last),
                (&coda, ""),
            ],
            wanted,
        );
    }
}

/// Element `offset`: a place in divisions from here, whole or decimal; that of a `sound` is its own, that of a direction is for what is drawn
/// unless its `sound` is yes.
#[test]
fn offsets_of_instructions() {
    let whole = |text: &str, inside: bool| {
        let text = score(&[("", ""), ("", "@"), ("", "")]).replace(&format!("{REST}@"), text);
        let read = read_one(&text);
        is(&read.board, "{meter 4/4} 1 | 2 D.C. | 3");
        let wanted: &[&str] = if inside { &["inside-measure"] } else { &[] };
        assert_eq!(names(&read), wanted, "{text}");
    };
    let sound = |offset: &str| format!("<sound dacapo=\"yes\">{offset}</sound>");
    whole(&format!("{HALF}{}{HALF}", sound("")), true);
    for offset in ["2", "2.0", "2.5"] {
        let offset = format!("<offset>{offset}</offset>");
        whole(&format!("{HALF}{}{HALF}", sound(&offset)), false);
        let drawn = words("D.C.", &format!("{offset}{}", sound("")));
        whole(&format!("{HALF}{drawn}{HALF}"), true);
        let heard = drawn.replace("<offset>", "<offset sound=\"yes\">");
        whole(&format!("{HALF}{heard}{HALF}"), false);
    }
    for offset in ["-2", "-1.5"] {
        let offset = format!("<offset>{offset}</offset>");
        whole(&format!("{REST}{}", sound(&offset)), true);
    }
}

/// Element `sound`, attribute `forward-repeat`: a start repeat that is not displayed, where the music begins anew.
#[test]
fn a_forward_repeat_that_is_not_displayed() {
    let double = "<barline><bar-style>light-light</bar-style></barline>";
    let sound = "<sound forward-repeat=\"yes\"/>";
    let read = becomes(
        &[("", ""), ("", double), (sound, ""), ("", BACKWARD)],
        "1 | 2 || |: 3 | 4 :|",
    );
    assert_eq!(order(&read.board), [1, 2, 3, 4, 3, 4]);
    assert_eq!(names(&read), ["not-printed"]);
}

/// Element `measure`, attribute `implicit`: measures that are not counted, such as the two parts of one that is split by a repeat.
#[test]
fn split_measures() {
    let text = score(&[("", ""), ("", BACKWARD), (FORWARD, ""), ("", BACKWARD)])
        .replace(
            &format!("number=\"2\">{REST}"),
            &format!("number=\"2\">{HALF}"),
        )
        .replace("number=\"3\"", "number=\"X1\" implicit=\"yes\"")
        .replace(&format!("{FORWARD}{REST}"), &format!("{FORWARD}{HALF}"))
        .replace("number=\"4\"", "number=\"3\"");
    let read = read_one(&text);
    is(&read.board, "{meter 4/4} 1 | 2 :| |: \"X1\" | 3 :|");
    assert_eq!(order(&read.board), [1, 2, 1, 2, 3, 4, 3, 4]);
    assert_eq!(names(&read), [""; 0]);
}

/// Element `measure`: a pickup is implicit, and its number is often 0.
#[test]
fn a_pickup() {
    let text = score(&[("", ""), ("", "")])
        .replacen("number=\"1\"", "number=\"0\" implicit=\"yes\"", 1)
        .replacen("number=\"2\"", "number=\"1\"", 1)
        .replacen("<duration>4</duration>", "<duration>3</duration>", 1);
    is(&read_one(&text).board, "{meter 4/4; pickup 3/4} 0 | 1");
}

/// Element `measure`, attribute `text`: what is printed where that is not the `number`; the numbers of measures need not be whole.
#[test]
fn printed_measure_numbers() {
    let text = score(&[("", ""), ("", ""), ("", "")])
        .replace("number=\"2\"", "number=\"2\" text=\"1a\"")
        .replace("number=\"3\"", "number=\"2b\"");
    is(&read_one(&text).board, "{meter 4/4} 1 | \"1a\" | \"2b\"");
    let text = timewise(&[&[("P1", "")], &[("P1", "")]])
        .replace("number=\"2\"", "number=\"2\" text=\"1a\"");
    is(&read_one(&text).board, "1 | \"1a\"");
}

/// Element `fermata`, at a note of one of two staves and at a barline.
#[test]
fn fermatas() {
    let staves = "<attributes><staves>2</staves></attributes>";
    let note = "<note><rest/><duration>4</duration><staff>1</staff><notations><fermata type=\"upright\"/></notations></note>";
    let text = score(&[(staves, ""), ("", "@")]).replace(&format!("{REST}@"), note);
    is(&read_one(&text).board, "{meter 4/4} 1 | 2 fermata(R.H.)");
    let barline = "<barline location=\"right\"><fermata/></barline>";
    becomes(&[("", barline), ("", "")], "1 fermata | 2 |");
}

/// Element `octave-shift`: its type is the way in which the notes are written off from how they sound; sizes 8 and 15; several at once are
/// told apart by number.
#[test]
fn octave_shifts() {
    let shift = |kind: &str, size: u8, number: u8, staff: u8| {
        format!(
            "<direction><direction-type><octave-shift type=\"{kind}\" size=\"{size}\" number=\"{number}\"/></direction-type><staff>{staff}</staff></direction>"
        )
    };
    let staves = "<attributes><staves>2</staves></attributes>";
    for (kind, size, staff, wanted) in [
        ("down", 8, 1, "8va(R.H.)"),
        ("down", 15, 1, "15ma(R.H.)"),
        ("up", 8, 2, "8vb(L.H.)"),
        ("up", 15, 2, "15mb(L.H.)"),
    ] {
        becomes(
            &[
                (&format!("{staves}{}", shift(kind, size, 1, staff)), ""),
                ("", &shift("stop", size, 1, staff)),
                ("", ""),
            ],
            &format!("{wanted}( 1 | 2 ) | 3 |"),
        );
    }
    let read = read_one(&score(&[
        (&format!("{staves}{}", shift("down", 8, 1, 1)), ""),
        (&shift("up", 8, 2, 2), &shift("stop", 8, 1, 1)),
        ("", &shift("stop", 8, 2, 2)),
    ]));
    let spans: Vec<_> = read
        .board
        .markings()
        .iter()
        .map(fingerpost::Marking::place)
        .collect();
    let ends = |first, last| fingerpost::Place::over(first, last);
    assert_eq!(spans, [ends(1, 2), ends(2, 3)]);
}

/// Element `measure-repeat`: a sign for "as the measure before" in place of notes; it stands for music, and the order is that of the measures.
#[test]
fn measure_repeats_change_no_order() {
    let style = |kind: &str| {
        format!(
            "<attributes><measure-style><measure-repeat type=\"{kind}\">1</measure-repeat></measure-style></attributes>"
        )
    };
    let read = becomes(
        &[
            (FORWARD, ""),
            (&style("start"), ""),
            (&style("stop"), BACKWARD),
        ],
        "|: 1 | 2 | 3 :|",
    );
    assert_eq!(order(&read.board), [1, 2, 3, 1, 2, 3]);
    assert_eq!(names(&read), [""; 0]);
}

/// Two returns of a kind in one measure, each with its own words (element `direction`: words and `sound` in it are one sign).
#[test]
fn two_returns_in_one_measure_keep_their_own_words() {
    let segno = |name: &str| direction("<segno/>", &format!("<sound segno=\"{name}\"/>"));
    let first = words("D.S. al Fine", "<sound dalsegno=\"a\" time-only=\"2\"/>");
    let second = words("D.S. senza rep.", "<sound dalsegno=\"b\" time-only=\"1\"/>");
    let fine = words("Fine", "<sound fine=\"yes\"/>");
    let wanted =
        "|: segno:a 1 Fine | segno:b 2 D.S.:a al Fine(passes 2) D.S.:b senza rep.(passes 1) | 3 :|";
    // On lines of their own, and all on one.
    for between in ["\n", ""] {
        let both = format!("{first}{between}{second}");
        let read = becomes(
            &[
                (&format!("{FORWARD}{}", segno("a")), &fine),
                (&segno("b"), &both),
                ("", BACKWARD),
            ],
            wanted,
        );
        assert_eq!(names(&read), [""; 0]);
    }
    // Words that say a thing twice in one measure, as two parts do, are one return.
    let twice = format!(
        "{}\n{}",
        words("D.C.", "<sound dacapo=\"yes\"/>"),
        words("Da capo al Fine", "")
    );
    becomes(&[("", &fine), ("", &twice)], "1 Fine | 2 D.C. al Fine |");
}

/// From memory, no source: no title and no sign is as long; what is left out of them is told.
#[test]
fn what_is_cut_of_long_texts_is_told() {
    let long = "stile ".repeat(2_000);
    let text = score(&[("", &words(&format!("{long} D.C."), ""))]);
    let read = read_one(&text);
    assert_eq!(names(&read), ["left-out"]);
    assert_eq!(read.notices[0].measure, Some(1));
    is(&read.board, "{meter 4/4} 1");
    let title = format!("<movement-title>{long}</movement-title><part-list>");
    let read = read_one(&score(&[("", "")]).replace("<part-list>", &title));
    assert_eq!(names(&read), ["left-out"]);
    assert!(
        read.board
            .title()
            .is_some_and(|title| title.starts_with("stile stile"))
    );
    // Long and not too long.
    let text = score(&[("", &words(&"stile ".repeat(60), ""))]);
    assert_eq!(names(&read_one(&text)), [""; 0]);
}
