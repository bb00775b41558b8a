//! Scores in MusicXML against the boards that they must become. Each check names where MusicXML 4.0 (Community Group Final Report, June
//! 2021) says so, or the practice it follows. All scores are invented.

use fingerpost_notation::{NotationErrorKind, read};

#[path = "support/scores.rs"]
mod scores;

use scores::{
    BACKWARD, FORWARD, TIME, becomes, direction, measure, names, order, read_one, score, words,
};

/// Elements `barline` and `repeat`: forward at the left, backward at the right; `times` is how often the section is played; `after-jump`
/// says whether it is repeated after a jump.
#[test]
fn repeats() {
    let read = becomes(
        &[("", ""), (FORWARD, ""), ("", BACKWARD), ("", "")],
        "1 |: 2 | 3 :| 4 |",
    );
    assert_eq!(order(&read.board), [1, 2, 3, 2, 3, 4]);
    assert!(read.notices.is_empty());
    let times = "<barline><repeat direction=\"backward\" times=\"3\"/></barline>";
    becomes(&[("", ""), ("", times)], "1 | 2 :|x3");
    let again = "<barline><repeat direction=\"backward\" after-jump=\"yes\"/></barline>";
    becomes(&[("", again)], "1 :|(on-return play)");
    let never = "<barline><repeat direction=\"backward\" times=\"0\"/></barline>";
    let read = becomes(&[("", never)], "1 :|");
    assert_eq!(names(&read), ["plays-out-of-range"]);
}

/// Element `barline`: `location` says where it stands, the place in the file does not; a backward repeat at a left barline belongs to the
/// measure before (valid by the schema; common practice, no source).
#[test]
fn barlines_at_the_other_edge() {
    let left = "<barline location=\"left\"><repeat direction=\"backward\"/></barline>";
    becomes(&[("", ""), (left, "")], "1 :| 2 |");
    let right = "<barline location=\"right\"><repeat direction=\"forward\"/></barline>";
    becomes(&[("", right), ("", BACKWARD)], "1 |: 2 :|");
    let read = becomes(&[(left, ""), ("", "")], "1 | 2 |");
    assert_eq!(names(&read), ["left-out"]);
}

/// Element `ending` and its example: numbers are a list of passes; start at a left barline, stop or discontinue at a right one.
#[test]
fn endings() {
    let start = |number: &str| {
        format!("<barline location=\"left\"><ending number=\"{number}\" type=\"start\"/></barline>")
    };
    let first = "<barline location=\"right\"><ending number=\"1, 2\" type=\"stop\"/><repeat direction=\"backward\"/></barline>";
    let last = "<barline location=\"right\"><ending number=\"3\" type=\"discontinue\"/></barline>";
    let read = becomes(
        &[
            ("", ""),
            (&start("1, 2"), first),
            (&start("3"), last),
            ("", ""),
        ],
        "1 | [1,2. 2 :| [3.(open) 3 ] | 4 |",
    );
    assert_eq!(order(&read.board), [1, 2, 1, 2, 1, 3, 4]);
    // Blank: "the ending is known to be there and its number is not" (type `ending-number`). Its place among the endings says it.
    let read = becomes(
        &[
            ("", ""),
            (&start(" "), first),
            (&start(" "), last),
            ("", ""),
        ],
        "1 | [1. 2 :| [2.(open) 3 ] | 4 |",
    );
    assert_eq!(
        names(&read),
        ["ending-without-number", "ending-without-number"]
    );
    assert_eq!(
        read.notices
            .iter()
            .map(|notice| notice.line)
            .collect::<Vec<_>>(),
        [Some(4), Some(5)]
    );
}

/// Element `sound`: each attribute; the words beside it say what no attribute can.
#[test]
fn jumps() {
    let dc = words("D.C. al Fine", "<sound dacapo=\"yes\"/>");
    let fine = words("Fine", "<sound fine=\"yes\"/>");
    let read = becomes(
        &[("", ""), ("", &fine), ("", &dc)],
        "1 | 2 Fine | 3 D.C. al Fine |",
    );
    assert!(read.notices.is_empty());
    assert_eq!(order(&read.board), [1, 2, 3, 1, 2]);
    // No words: a bare D.C. is what the file says.
    becomes(&[("", ""), ("", "<sound dacapo=\"yes\"/>")], "1 | 2 D.C. |");
    let segno = direction("<segno/>", "<sound segno=\"s\"/>");
    let to_coda = words("To Coda", "<sound tocoda=\"c\"/>");
    let ds = words("D.S. al Coda", "<sound dalsegno=\"s\"/>");
    let coda = direction("<coda/>", "<sound coda=\"c\"/>");
    let read = becomes(
        &[
            ("", ""),
            (&segno, ""),
            ("", &to_coda),
            ("", &ds),
            (&coda, ""),
        ],
        "1 | segno 2 | 3 To Coda | 4 D.S. al Coda | coda 5 |",
    );
    assert_eq!(order(&read.board), [1, 2, 3, 4, 2, 3, 5]);
    // "forward-repeat": a start repeat that is meant and not displayed.
    let read = becomes(
        &[
            ("", ""),
            ("<sound forward-repeat=\"yes\"/>", ""),
            ("", BACKWARD),
        ],
        "1 |: 2 | 3 :|",
    );
    assert_eq!(names(&read), ["not-printed"]);
    // "time-only": the times through the section at which it holds.
    let first = "<sound dacapo=\"yes\" time-only=\"1\"/>";
    becomes(
        &[(FORWARD, ""), ("", first), ("", BACKWARD)],
        "|: 1 | 2 D.C.(passes 1) | 3 :|",
    );
}

/// Element `sound`: a value pairs several segnos with their jumps; for one sign it says nothing.
#[test]
fn names_pair_signs() {
    let segno = |name: &str| direction("<segno/>", &format!("<sound segno=\"{name}\"/>"));
    let ds = |name: &str| words("D.S.", &format!("<sound dalsegno=\"{name}\"/>"));
    becomes(
        &[(&segno("a"), ""), (&segno("b"), &ds("b")), ("", &ds("a"))],
        "segno:a 1 | segno:b 2 D.S.:b | 3 D.S.:a |",
    );
    becomes(&[(&segno("a"), ""), ("", &ds("a"))], "segno 1 | 2 D.S. |");
}

/// A sign at a barline: the child is what is drawn, the attribute what is played (element `barline`).
#[test]
fn signs_on_barlines() {
    let segno = "<barline location=\"left\" segno=\"s\"><segno/></barline>";
    let ds = words("D.S.", "<sound dalsegno=\"s\"/>");
    becomes(
        &[("", ""), (segno, ""), ("", &ds)],
        "1 | segno 2 | 3 D.S. |",
    );
    let fermata = "<barline location=\"right\"><fermata/></barline>";
    becomes(&[("", fermata)], "1 fermata |");
}

/// Files with words only: the words are read, and it is said that they were.
#[test]
fn words_alone() {
    let read = becomes(
        &[
            (&words("segno", ""), ""),
            ("", &words("Fine", "")),
            ("", &words("Dal Segno\nal Fine", "")),
        ],
        "segno 1 | 2 Fine | 3 D.S. al Fine |",
    );
    assert_eq!(names(&read), ["words-read", "words-read"]);
    assert_eq!(read.notices[0].line, Some(4));
    // The words of one sign in two directions; common practice, no source.
    let split = format!("{}{}", words("D.C.", ""), words("al Fine", ""));
    becomes(
        &[("", &words("Fine", "")), ("", &split)],
        "1 Fine | 2 D.C. al Fine |",
    );
    // The coda sign as a glyph within the words (element `words` beside `coda`, and SMuFL's `symbol`).
    let to_coda = direction(
        "<words>To</words></direction-type><direction-type><coda/>",
        "",
    );
    let glyph = direction(
        "<symbol>coda</symbol></direction-type><direction-type><words>Coda</words>",
        "",
    );
    becomes(
        &[
            ("", &to_coda),
            ("", &words("D.C. al Coda", "")),
            (&glyph, ""),
        ],
        "1 To Coda | 2 D.C. al Coda | coda 3 |",
    );
    // In a direction of its own behind the word, as a glyph, as a symbol or as a character.
    let glyphs = [
        direction("<coda/>", ""),
        direction("<symbol>coda</symbol>", ""),
        words("\u{1d10c}", ""),
    ];
    for to in ["To", "to", "al"] {
        for glyph in &glyphs {
            let two = format!("{}{glyph}", words(to, ""));
            let read = becomes(
                &[
                    ("", &two),
                    ("", &words("D.C. al Coda", "")),
                    (&words("Coda", ""), ""),
                ],
                "1 To Coda | 2 D.C. al Coda | coda 3 |",
            );
            assert_eq!(names(&read), ["words-read"; 3], "{to} {glyph}");
        }
    }
    // Not neighbours, not the first word of it: a sign alone.
    for before in [
        words("slowly", ""),
        format!("{}{}", words("To", ""), words("slowly", "")),
    ] {
        let read = becomes(
            &[
                ("", &format!("{before}{}", glyphs[0])),
                ("", &words("D.C. al Coda", "")),
                (&glyphs[1], ""),
            ],
            "1 To Coda | 2 D.C. al Coda | coda 3 |",
        );
        assert!(names(&read).contains(&"coda-sign-guessed"), "{before}");
    }
}

/// Several codas that words number (common practice, no source): each To Coda leads to the one of its number, and "al Coda 2" is by way of its
/// own. Without a coda of that number the words are told and not guessed.
#[test]
fn codas_that_words_number() {
    let ways = ["To Coda 1", "To Coda 2", "D.S. al Coda 1", "D.S. al Coda 2"];
    let [one, two, back_one, back_two] = ways.map(|text| words(text, ""));
    let [first, second, plain] = ["Coda 1", "CODA 2", "Coda"].map(|text| words(text, ""));
    let segno = words("segno", "");
    let read = becomes(
        &[
            (&segno, ""),
            ("", &one),
            ("", &two),
            ("", &back_one),
            (&first, &back_two),
            (&second, ""),
        ],
        "segno 1 | 2 To Coda:1 | 3 To Coda:2 | 4 D.S.(al Coda, coda 1) | coda:1 5 D.S.(al Coda, coda 2) | coda:2 6 |",
    );
    assert_eq!(order(&read.board), [1, 2, 3, 4, 1, 2, 5, 1, 2, 3, 6]);
    assert_eq!(names(&read), ["words-read"; 6]);
    // The instruction names the coda, the words number it.
    let sounding = direction("<coda/>", "<sound coda=\"coda2\"/>");
    let other = direction("<coda/>", "<sound coda=\"coda1\"/>");
    becomes(
        &[
            ("", &one),
            ("", &two),
            ("", &words("D.C. al Coda", "")),
            (&other, &words("D.C. al Coda", "")),
            (&sounding, ""),
        ],
        "1 To Coda:coda1 | 2 To Coda:coda2 | 3 D.C. al Coda | coda:coda1 4 D.C. al Coda | coda:coda2 5 |",
    );
    // One coda needs no label, and a number that no coda has is told.
    becomes(
        &[("", &one), ("", &words("D.C. al Coda 1", "")), (&first, "")],
        "1 To Coda | 2 D.C. al Coda | coda 3 |",
    );
    let read = becomes(
        &[("", &two), ("", &words("D.C.", "")), (&plain, "")],
        "1 | 2 D.C. | coda 3 |",
    );
    assert_eq!(names(&read), ["words-not-read", "words-read", "words-read"]);
}

/// Two coda signs without words or sound: the mark appears twice, where the road is left and where it goes on (handbooks).
#[test]
fn coda_signs_alone() {
    let coda = direction("<coda/>", "");
    let read = becomes(
        &[("", &coda), ("", &words("D.C. al Coda", "")), (&coda, "")],
        "1 To Coda | 2 D.C. al Coda | coda 3 |",
    );
    assert_eq!(
        names(&read),
        ["coda-sign-guessed", "words-read", "coda-sign-guessed"]
    );
}

/// Words and sound that disagree: the sound is what every program plays; the finding says so.
#[test]
fn words_against_sound() {
    let segno = direction("<segno/>", "<sound segno=\"s\"/>");
    let mixed = words("D.S.", "<sound dacapo=\"yes\"/>");
    let read = becomes(
        &[("", ""), (&segno, ""), ("", &mixed)],
        "1 | segno 2 | 3 D.C. |",
    );
    assert_eq!(names(&read), ["words-against-sound"]);
}

/// "Menuetto da capo": the piece ends where the trio begins. Common practice, no source.
#[test]
fn the_piece_that_words_name() {
    let read = becomes(
        &[
            (&words("Menuetto", ""), ""),
            ("", ""),
            (&words("Trio", ""), ""),
            ("", &words("Menuetto D.C.", "")),
        ],
        "1 | 2 Fine | 3 | 4 D.C. al Fine |",
    );
    assert_eq!(names(&read), ["words-read", "fine-implied"]);
    assert_eq!(order(&read.board), [1, 2, 3, 4, 1, 2]);
}

/// "Menuetto da capo" with neither a trio nor a final barline: of four repeated strains the first two are the piece that is named. Common
/// practice, no source: minuet and trio have two strains each (as in the quartets of the music21 corpus: tests/oracles).
#[test]
fn the_piece_that_words_name_has_two_strains_of_four() {
    let end = format!("{}{BACKWARD}", words("M.D.C.", ""));
    let read = becomes(
        &[
            ("", BACKWARD),
            (FORWARD, BACKWARD),
            (FORWARD, BACKWARD),
            (FORWARD, &end),
        ],
        "1 :| |: 2 Fine :| |: 3 :| |: 4 D.C. al Fine :|",
    );
    assert_eq!(names(&read), ["words-read", "fine-implied"]);
    assert_eq!(order(&read.board), [1, 1, 2, 2, 3, 3, 4, 4, 1, 2]);
    // The second strain ends with its second ending.
    let first =
        "<barline><ending number=\"1\" type=\"stop\"/><repeat direction=\"backward\"/></barline>";
    let begins = |number| {
        format!("<barline location=\"left\"><ending number=\"{number}\" type=\"start\"/></barline>")
    };
    let second = "<barline><ending number=\"2\" type=\"discontinue\"/></barline>";
    let read = read_one(&score(&[
        ("", BACKWARD),
        (FORWARD, ""),
        (&begins(1), first),
        (&begins(2), second),
        (FORWARD, BACKWARD),
        (FORWARD, &end),
    ]));
    assert_eq!(order(&read.board), [1, 1, 2, 3, 2, 4, 5, 5, 6, 6, 1, 2, 4]);
    // With another number of strains nothing says where the piece ends.
    let read = read_one(&score(&[
        ("", BACKWARD),
        (FORWARD, BACKWARD),
        (FORWARD, &end),
    ]));
    assert_eq!(order(&read.board), [1, 1, 2, 2, 3, 3, 1, 2, 3]);
    assert_eq!(names(&read), ["words-read", "fine-implied"]);
}

/// A coda behind a return that words name, and no To Coda: the road goes on to it where the piece ends. Common practice, no source
/// ("poi segue la Coda" is what composers write who say it).
#[test]
fn the_coda_behind_a_piece_that_words_name() {
    let read = becomes(
        &[
            (&words("Menuetto", ""), ""),
            (&words("Trio", ""), ""),
            ("", &words("Menuetto da capo", "")),
            (&words("Coda", ""), ""),
        ],
        "1 Fine | 2 | 3 D.C.(al Fine, then coda) | coda 4 |",
    );
    assert_eq!(order(&read.board), [1, 2, 3, 1, 4]);
}

/// The word Coda at the end of a measure is for the next one; for its own when a double bar stands before it. Common practice, no source.
#[test]
fn the_word_coda_behind_a_double_bar() {
    let double = "<barline><bar-style>light-light</bar-style></barline>";
    let (to, back) = (words("To Coda", ""), words("D.C. al Coda", ""));
    let back_and_double = format!("{back}{double}");
    becomes(
        &[
            ("", &to),
            ("", &back_and_double),
            ("", &words("Coda", "")),
            ("", ""),
        ],
        "1 To Coda | 2 D.C. al Coda || coda 3 | 4 |",
    );
    becomes(
        &[("", &to), ("", &back), ("", &words("Coda", "")), ("", "")],
        "1 To Coda | 2 D.C. al Coda | 3 | coda 4 |",
    );
}

/// Words that stand before the last measure of the score because they are long, which has an end repeat: they are for its end. Common
/// practice, no source: the words of a return are set so that they end at the barline where it is made.
#[test]
fn words_before_the_end_repeat_of_the_last_measure() {
    let read = becomes(
        &[("", ""), ("", &words("Da capo", "")), ("", BACKWARD)],
        "1 | 2 | 3 D.C. :|",
    );
    assert_eq!(order(&read.board), [1, 2, 3, 1, 2, 3, 1, 2, 3]);
    // An instruction for playing means its own place.
    becomes(
        &[("", ""), ("", "<sound dacapo=\"yes\"/>"), ("", BACKWARD)],
        "1 | 2 D.C. | 3 :|",
    );
}

/// Element `octave-shift`: the line over the staff has the type down. With two staves the upper is the right hand's.
#[test]
fn octave_lines() {
    let staves = "<attributes><staves>2</staves></attributes>";
    let start = "<direction><direction-type><octave-shift type=\"down\" size=\"8\"/></direction-type><staff>1</staff></direction>";
    let stop = "<direction><direction-type><octave-shift type=\"stop\" size=\"8\"/></direction-type><staff>1</staff></direction>";
    becomes(
        &[(&format!("{staves}{start}"), ""), ("", stop), ("", "")],
        "8va(R.H.)( 1 | 2 ) | 3 |",
    );
}

/// A barline in the middle of a measure cuts it there (valid by the schema; its effect is not said).
#[test]
fn repeats_inside_a_measure() {
    let middle = "<barline location=\"middle\"><repeat direction=\"backward\"/></barline>";
    let half = format!(
        "<note><rest/><duration>2</duration></note>{middle}<note><rest/><duration>2</duration></note>"
    );
    let text = score(&[("", "")]).replace("<note><rest/><duration>4</duration></note>", &half);
    let read = read_one(&text);
    assert_eq!(read.board.to_line(), "{meter 4/4} 1 :|(cut 1/2)");
}

/// Element `measure`: a pickup has number 0 and is implicit; printed numbers are kept.
#[test]
fn pickups_and_numbers() {
    let text = score(&[("", ""), ("", "")])
        .replacen("number=\"1\"", "number=\"0\" implicit=\"yes\"", 1)
        .replacen("number=\"2\"", "number=\"1\"", 1)
        .replacen("<duration>4</duration>", "<duration>1</duration>", 1);
    let read = read_one(&text);
    assert_eq!(read.board.to_line(), "{meter 4/4; pickup 1/4} 0 | 1 |]");
}

/// Elements `score-timewise` and `score-partwise` say the same.
#[test]
fn timewise() {
    let text = format!(
        "<score-timewise version=\"4.0\"><part-list/><measure number=\"1\"><part id=\"P1\">{FORWARD}{TIME}</part><part id=\"P2\">{FORWARD}</part></measure><measure number=\"2\"><part id=\"P1\">{BACKWARD}</part><part id=\"P2\">{BACKWARD}</part></measure></score-timewise>"
    );
    let read = read_one(&text);
    assert_eq!(read.board.to_line(), "{meter 4/4} |: 1 | 2 :|");
    assert!(read.notices.is_empty());
}

/// Each part carries its own barlines; nothing requires them to agree.
#[test]
fn parts_that_disagree() {
    let one = measure(1, FORWARD, "") + &measure(2, "", BACKWARD) + &measure(3, "", "");
    let two = measure(1, FORWARD, "") + &measure(2, "", "") + &measure(3, "", BACKWARD);
    let text = format!(
        "<score-partwise><part-list/><part id=\"P1\">\n{one}</part><part id=\"P2\">\n{two}</part></score-partwise>"
    );
    let read = read_one(&text);
    assert_eq!(read.board.to_line(), "|: 1 | 2 :| 3 |]");
    assert_eq!(names(&read), ["parts-disagree"]);
    assert_eq!(read.notices[0].line, Some(3));
}

/// UTF-16 with and without its mark, and UTF-8 with one, are the same score.
#[test]
fn encodings() {
    let text = score(&[("", BACKWARD)]);
    let wanted = read_one(&text).board;
    let little: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let big: Vec<u8> = text.encode_utf16().flat_map(u16::to_be_bytes).collect();
    let marked = |mark: &[u8], bytes: &[u8]| [mark, bytes].concat();
    for bytes in [
        marked(b"\xef\xbb\xbf", text.as_bytes()),
        marked(b"\xff\xfe", &little),
        marked(b"\xfe\xff", &big),
        little,
        big,
    ] {
        let scores = read(&bytes).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(scores[0].board, wanted);
    }
}

/// Texts that are no scores: what, where, and nothing panics.
#[test]
fn faults() {
    let whole = score(&[("", BACKWARD), ("", "")]);
    for at in 0..whole.len() {
        let Some(cut) = whole.get(..at) else { continue };
        let error = read(cut.as_bytes()).map(|_| ()).expect_err(cut);
        if at > 80 {
            assert_eq!(error.kind(), NotationErrorKind::Truncated, "{cut}: {error}");
            assert!(error.line().is_some_and(|line| line <= 5), "{cut}");
        }
    }
    for (text, kind, line) in [
        ("hut and stile", NotationErrorKind::UnknownFormat, Some(1)),
        ("<mei/>", NotationErrorKind::UnknownFormat, Some(1)),
        (
            "<score-partwise></score-partwise>",
            NotationErrorKind::NoMusic,
            Some(1),
        ),
        (
            "<score-partwise>\n<part></measure>",
            NotationErrorKind::Malformed,
            Some(2),
        ),
        ("PK\u{3}\u{4}nothing", NotationErrorKind::Container, None),
        (
            "<?xml version=\"1.0\" encoding=\"stile\"?><a/>",
            NotationErrorKind::Malformed,
            Some(1),
        ),
    ] {
        let error = read(text.as_bytes()).map(|_| ()).expect_err(text);
        assert_eq!(
            (error.kind(), error.line()),
            (kind, line),
            "{text}: {error}"
        );
    }
}

/// Entities of a file's own are not expanded, nothing outside is fetched, depth and numbers of measures are bounded.
#[test]
fn hostile_files() {
    let bomb = format!(
        "<!DOCTYPE s [<!ENTITY a \"stile\"><!ENTITY b \"&a;&a;&a;&a;\"><!ENTITY c SYSTEM \"file:///none\">]>{}",
        score(&[("", &words("&b;", ""))])
            .split_once("?>")
            .map_or("", |(_, after)| after)
    );
    let error = read(bomb.as_bytes()).map(|_| ()).expect_err("an entity");
    assert_eq!(error.kind(), NotationErrorKind::Malformed);
    assert!(error.to_string().contains("`&b;`"), "{error}");
    let deep = format!("<score-partwise>{}", "<a>".repeat(1_000_000));
    let error = read(deep.as_bytes()).map(|_| ()).expect_err("a depth");
    assert_eq!(error.kind(), NotationErrorKind::TooLarge);
    let long = format!(
        "<score-partwise><part id=\"P1\">{}</part></score-partwise>",
        "<measure number=\"1\"/>\n".repeat(65_536)
    );
    let error = read(long.as_bytes()).map(|_| ()).expect_err("a length");
    assert_eq!(
        (error.kind(), error.line()),
        (NotationErrorKind::TooLarge, Some(65_536))
    );
}
