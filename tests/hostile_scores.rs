//! Files that mean harm, or that came to it: each is read, or refused with what is wrong and what would be accepted, in little time.
//!
//! Sources: Extensible Markup Language (XML) 1.0, 4.1 to 4.4 (entities), 4.3.3 and appendix F (encodings); MusicXML 4.0, "Compressed .MXL
//! files"; PKWARE's APPNOTE 6.3, 4.3 and 4.4 (headers, flags, methods); The abc music standard 2.1, 2.2 and 3.1.9. The bounds of time are
//! ours, and generous: they tell a second from an hour.

mod support;

use std::fmt::Write as _;
use std::io::{Cursor, Write as _};

use fingerpost_notation::{NotationErrorKind as Kind, read};
use support::hostile::{MEASURE, container, deflated, line_of, packed, refused, score, timed};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

/// XML 4.4: a reader that does not validate need not include entities. None is, so that nothing grows.
#[test]
fn entities_do_not_grow() {
    let mut bomb = String::from("<!DOCTYPE score-partwise [<!ENTITY e0 \"stile\">\n");
    for level in 1..=10 {
        let inner = format!("&e{};", level - 1).repeat(10);
        writeln!(bomb, "<!ENTITY e{level} \"{inner}\">").expect("a text takes text");
    }
    bomb += "]>\n";
    let error = refused(
        (bomb.clone() + &score("&e10;", MEASURE)).as_bytes(),
        Kind::Malformed,
        "write the character itself",
    );
    assert_eq!(error.line(), Some(13));
    // Where no text is read, what stands there does not matter.
    let elsewhere = score("Stile", &MEASURE.replace("<rest/>", "<rest>&e10;</rest>"));
    assert!(line_of((bomb.clone() + &elsewhere).as_bytes()).contains("Stile"));
    // In an attribute it stays as it is written.
    let attribute = score("Stile", &MEASURE.replace("\"1\"", "\"&e10;\""));
    assert!(line_of((bomb + &attribute).as_bytes()).contains("&e10;"));
}

/// XML 4.2.2: an external entity is a file somewhere. None is opened: what this one says is nowhere in the answer.
#[test]
fn nothing_outside_the_file_is_opened() {
    let secret = std::env::temp_dir().join(format!("a-secret-of-{}", std::process::id()));
    std::fs::write(&secret, "hidden-under-the-hut").expect("a file");
    let url = format!("file://{}", secret.display());
    for (declared, title) in [
        (format!("[<!ENTITY x SYSTEM \"{url}\">]"), "&x;"),
        (format!("[<!ENTITY % x SYSTEM \"{url}\"> %x;]"), "&x;"),
        (format!("SYSTEM \"{url}\""), "Stile"),
        (
            format!("[<!ENTITY x PUBLIC \"-//stile\" \"{url}\">]"),
            "&x;",
        ),
    ] {
        let text = format!(
            "<!DOCTYPE score-partwise {declared}>\n{}",
            score(title, MEASURE)
        );
        let told = match timed(text.as_bytes()) {
            Ok(scores) => scores[0].board.to_line(),
            Err(error) => error.to_string(),
        };
        assert!(!told.contains("hidden"), "{told}");
        assert!(
            told.contains(if title == "&x;" { "`&x;`" } else { "Stile" }),
            "{told}"
        );
    }
    std::fs::remove_file(&secret).expect("the file");
}

/// What quotes and brackets a DOCTYPE may hold (XML 2.8) does not end it early.
#[test]
fn a_doctype_is_passed_over_whole() {
    for doctype in [
        "<!DOCTYPE score-partwise [<!ENTITY a \"]>\">]>",
        "<!DOCTYPE score-partwise [<!-- ]> --><!ELEMENT a (b)>]>",
        "<!DOCTYPE score-partwise PUBLIC \"-//a//b>\" \"c\">",
    ] {
        let text = format!("{doctype}\n{}", score("Stile", MEASURE));
        // Read, or refused; never the rest of the DOCTYPE as a score.
        match timed(text.as_bytes()) {
            Ok(scores) => assert_eq!(scores[0].board.title(), Some("Stile"), "{doctype}"),
            Err(error) => assert_eq!(error.kind(), Kind::Malformed, "{doctype}: {error}"),
        }
    }
}

#[test]
fn depth_and_length_are_bounded() {
    let deep = format!("<score-partwise><part><measure>{}", "<a>".repeat(1_000_000));
    refused(deep.as_bytes(), Kind::TooLarge, "no score needs that");
    let longer = "<measure/>\n".repeat(1_000_000);
    let error = refused(
        score("Long", &longer).as_bytes(),
        Kind::TooLarge,
        "65535 measures",
    );
    assert_eq!(error.line(), Some(65_536));
    // Two parts are no longer than one; ten thousand are none.
    let part = format!("<part id=\"P\">{MEASURE}</part>\n");
    let many = format!("<score-partwise>{}</score-partwise>", part.repeat(20_000));
    let error = refused(many.as_bytes(), Kind::TooLarge, "10000 parts");
    assert_eq!(error.line(), Some(10_001));
    let attribute = score(
        "Stile",
        &MEASURE.replace("\"1\"", &format!("\"{}\"", "7".repeat(8 << 20))),
    );
    assert!(line_of(attribute.as_bytes()).len() < 1_000);
    let text = score(&"hut ".repeat(2 << 20), MEASURE);
    assert!(line_of(text.as_bytes()).len() < 3_000);
}

/// A million repeats: in their measures, in one measure, in many parts, and as instructions of one direction.
#[test]
fn signs_are_bounded() {
    let repeat = "<barline><repeat direction=\"backward\"/></barline>";
    let pair = "<barline location=\"left\"><repeat direction=\"forward\"/></barline><barline><repeat direction=\"backward\"/></barline>";
    let spread = format!("<measure>{}</measure>\n", pair.repeat(16)).repeat(62_500);
    refused(
        score("Many", &spread).as_bytes(),
        Kind::TooLarge,
        "more signs",
    );
    let once = score(
        "Many",
        &format!("<measure>{}</measure>", repeat.repeat(300_000)),
    );
    assert!(line_of(once.as_bytes()).contains(":|"));
    let again = score(
        "Many",
        &format!("<measure>{}</measure>", repeat.repeat(1_000_000)),
    );
    refused(again.as_bytes(), Kind::TooLarge, "more signs");
    let mut different = String::new();
    for times in 0..120_000 {
        let times = times % 900_000 + 1;
        write!(
            different,
            "<barline><repeat direction=\"backward\" times=\"{times}\"/></barline>"
        )
        .expect("a text takes text");
    }
    let different = score("Many", &format!("<measure>{different}</measure>"));
    refused(
        different.as_bytes(),
        Kind::TooLarge,
        "does not fit on a board",
    );
    let sounds = "<sound segno=\"a\"/>".repeat(1_000_000);
    let crowded = score(
        "Many",
        &format!("<measure><direction>{sounds}</direction></measure>"),
    );
    refused(crowded.as_bytes(), Kind::TooLarge, "direction");
    let crowded = score(
        "Many",
        &format!(
            "<measure><barline>{}</barline></measure>",
            "<segno/>".repeat(1_000_000)
        ),
    );
    refused(crowded.as_bytes(), Kind::TooLarge, "barline");
}

/// Where a careless reader compares everything with everything: these take seconds, not hours.
#[test]
fn time_grows_with_the_file() {
    // Octave lines that never end, and ends of others.
    let start = "<direction><direction-type><octave-shift type=\"down\" number=\"1\"/></direction-type></direction>";
    let stop = "<direction><direction-type><octave-shift type=\"stop\" number=\"2\"/></direction-type></direction>";
    let lines = format!(
        "<measure>{}{}</measure>",
        start.repeat(60_000),
        stop.repeat(60_000)
    );
    timed(score("Lines", &lines).as_bytes()).expect("one octave line");
    // A segno and a D.S. in every measure.
    let both = "<measure><direction><direction-type><segno/></direction-type></direction></measure><measure><sound dalsegno=\"a\"/></measure>";
    timed(score("Signs", &both.repeat(32_000)).as_bytes()).expect("a board");
    // A bracket in every measure, opened and closed as often as can be.
    let ending = "<barline location=\"left\"><ending number=\"2\" type=\"start\"/></barline><barline><ending number=\"2\" type=\"stop\"/></barline>";
    let endings = format!("<measure>{}</measure>", ending.repeat(100_000));
    timed(score("Endings", &endings).as_bytes()).expect("one ending");
    // A lead with many repeats, and parts that have none.
    let lead = format!(
        "<part id=\"P\">{}</part>",
        format!("<measure>{MIDDLE}</measure>").repeat(30_000)
    );
    let others = "<part id=\"Q\"><measure/></part>".repeat(9_000);
    timed(format!("<score-partwise>{lead}{others}</score-partwise>").as_bytes()).expect("a board");
    // By measures, with many parts.
    let mut parts = String::new();
    for id in 0..9_000 {
        write!(parts, "<part id=\"P{id}\"/>").expect("a text takes text");
    }
    let measures = format!("<measure>{parts}</measure>").repeat(20);
    timed(format!("<score-timewise>{measures}</score-timewise>").as_bytes()).expect("a board");
    // Words without end.
    for word in ["al ", "then ", "D.C. ", "1st "] {
        let words = format!(
            "<measure><direction><direction-type><words>{}</words></direction-type></direction></measure>",
            word.repeat(200_000)
        );
        timed(score("Words", &words).as_bytes()).expect("a board");
    }
}

const MIDDLE: &str = "<barline><repeat direction=\"backward\"/></barline>";

#[test]
fn tune_books_take_no_more_time_than_their_length() {
    let tune = |music: &str| format!("X:1\nK:C\n{music}\n").into_bytes();
    for music in [
        "[A:".repeat(1_000_000),
        "[\"1".repeat(1_000_000),
        "!".repeat(1_000_000),
        "\"".repeat(1_000_001),
        ":".repeat(1_000_000),
        "{".repeat(1_000_000),
        "|:A".repeat(60_000),
        "[V:2]".repeat(200_000),
    ] {
        let music = format!("A|{music}");
        let _ = timed(&tune(&music));
    }
    refused(
        &tune(&"A|".repeat(1_000_000)),
        Kind::TooLarge,
        "65535 measures",
    );
    refused(&tune("Z999999999|"), Kind::TooLarge, "65535 measures");
    refused(
        &tune(&format!("A{}|", "!fine!".repeat(1_000_000))),
        Kind::TooLarge,
        "signs",
    );
    refused(
        &tune(&"X:1\nK:C\nA|\n".repeat(110_000)),
        Kind::TooLarge,
        "100000 tunes",
    );
}

/// 3.1.9: numbers in the order of the parts multiply.
#[test]
fn orders_of_parts_do_not_multiply_without_bounds() {
    let book = |order: &str, music: &str| format!("X:1\nP:{order}\nK:C\n{music}\n").into_bytes();
    let part = "P:A\nA|";
    assert!(line_of(&book(&"(A60000)".repeat(100_000), part)).contains('1'));
    assert!(line_of(&book("((((A99)99)99)99)", part)).contains('1'));
    let heavy = format!("P:A\n{}", "A:|".repeat(200));
    refused(&book("A60000", &heavy), Kind::TooLarge, "65535 measures");
    let signs = format!("P:A\n{}A|", "!fine!".repeat(50_000));
    refused(&book("A60000", &signs), Kind::TooLarge, "signs");
    let nothing = format!("{}P:Z\nA|", "[P:A][P:B]".repeat(50_000));
    let _ = timed(&book(&"AB".repeat(30_000), &format!("{nothing}\nA|")));
}

#[test]
fn mnx_documents_take_no_more_time_than_their_length() {
    let measures = vec!["{}"; 60_000].join(",");
    let ottava = "{\"value\":1,\"position\":{\"fraction\":[0,1]},\"end\":{\"measure\":60000,\"position\":{\"fraction\":[0,1]}}}";
    let ottavas = vec![ottava; 60_000].join(",");
    let text = format!(
        "{{\"mnx\":{{}},\"global\":{{\"measures\":[{measures}]}},\"parts\":[{{\"measures\":[{{\"ottavas\":[{ottavas}]}}]}}]}}"
    );
    timed(text.as_bytes()).expect("one octave line");
    let deep = format!("{{\"mnx\":{}", "[".repeat(1_000_000));
    refused(deep.as_bytes(), Kind::Truncated, "in the middle");
    let deep = format!(
        "{{\"mnx\":{{}},\"global\":{{\"measures\":[{{}}]}},\"parts\":[{{\"measures\":[{{\"sequences\":[{}{}]}}]}}]}}",
        "{\"content\":[".repeat(100_000),
        "]}".repeat(100_000)
    );
    refused(deep.as_bytes(), Kind::Malformed, "MNX");
    let long = vec!["{}"; 1_000_000].join(",\n");
    let text = format!("{{\"mnx\":{{}},\"global\":{{\"measures\":[{long}]}}}}");
    let error = refused(text.as_bytes(), Kind::TooLarge, "65535 measures");
    assert_eq!(error.line(), Some(65_536));
}

/// XML 4.3.3 and appendix F: what a file says of its encoding, and what it is in.
#[test]
fn encodings_that_are_not_what_they_say() {
    let declared = |name: &str| {
        format!(
            "<?xml version=\"1.0\" encoding=\"{name}\"?>{}",
            score("Hütte", MEASURE)
        )
    };
    let utf_16 =
        |text: &str| -> Vec<u8> { text.encode_utf16().flat_map(u16::to_le_bytes).collect() };
    let utf_32 = |text: &str, big: bool| -> Vec<u8> {
        let bytes = |c: char| {
            if big {
                u32::from(c).to_be_bytes()
            } else {
                u32::from(c).to_le_bytes()
            }
        };
        text.chars().flat_map(bytes).collect()
    };
    let latin_1 = |text: &str| -> Vec<u8> {
        text.chars()
            .map(|c| u8::try_from(u32::from(c)).expect("Latin 1"))
            .collect()
    };
    // They are told apart by their first bytes, whatever they say.
    for name in ["UTF-8", "UTF-16", "utf-16le", "ISO-8859-1"] {
        assert!(
            line_of(&utf_16(&declared(name))).contains("Hütte"),
            "{name}"
        );
    }
    assert!(line_of(declared("UTF-16").as_bytes()).contains("Hütte"));
    assert!(line_of(&latin_1(&declared("ISO-8859-1"))).contains("Hütte"));
    // One letter is lost, and the signs are read.
    assert!(line_of(&latin_1(&declared("UTF-8"))).contains("H\u{fffd}tte"));
    for mark in ["", "\u{feff}"] {
        for big in [true, false] {
            let text = format!("{mark}{}", declared("UTF-32"));
            let error = refused(&utf_32(&text, big), Kind::Malformed, "UTF-8 and UTF-16 are");
            assert_eq!(error.line(), Some(1));
        }
    }
    refused(
        declared("UTF-32").as_bytes(),
        Kind::Malformed,
        "UTF-8 and UTF-16 are",
    );
    refused(
        declared(&"stile".repeat(40)).as_bytes(),
        Kind::Malformed,
        "UTF-8 and UTF-16 are",
    );
    // Half a character at the end.
    let mut odd = utf_16(&declared("UTF-16"));
    odd.pop();
    refused(&odd, Kind::Truncated, "cut short");
}

/// MusicXML, "Compressed .MXL files": META-INF/container.xml names the score. It is looked for in the file and nowhere else.
#[test]
fn paths_lead_nowhere_outside_a_compressed_file() {
    let text = score("Stile", MEASURE);
    let outside = std::env::temp_dir().join(format!("outside-{}.musicxml", std::process::id()));
    std::fs::write(&outside, score("Outside", MEASURE)).expect("a file");
    let outside_path = outside.display().to_string();
    for path in [
        "../../x.musicxml",
        &outside_path,
        "..\\x.musicxml",
        "file:///x",
        "",
        "missing.musicxml",
    ] {
        let file = packed(
            &[
                ("META-INF/container.xml", &container(path)),
                ("score.musicxml", text.as_bytes()),
            ],
            deflated(),
        );
        refused(&file, Kind::Container, "no such file");
    }
    std::fs::remove_file(&outside).expect("the file");
    // Where the file has an entry of that very name it is that entry, and no path.
    for name in ["../../x.musicxml", "/x.musicxml", "parts\\x.musicxml"] {
        let file = packed(
            &[
                ("META-INF/container.xml", &container(name)),
                (name, text.as_bytes()),
            ],
            deflated(),
        );
        assert!(line_of(&file).contains("Stile"), "{name}");
    }
}

/// A table of contents that names what is no score, or none at all.
#[test]
fn tables_of_contents_that_name_no_score() {
    let text = score("Stile", MEASURE);
    let itself = packed(
        &[(
            "META-INF/container.xml",
            &container("META-INF/container.xml"),
        )],
        deflated(),
    );
    refused(&itself, Kind::UnknownFormat, "score-partwise");
    let picture = packed(
        &[
            ("META-INF/container.xml", &container("picture.png")),
            ("picture.png", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR"),
        ],
        deflated(),
    );
    let error = read(&picture).map(|_| ()).expect_err("a picture");
    assert!(
        matches!(
            error.kind(),
            Kind::NoMusic | Kind::Malformed | Kind::UnknownFormat
        ),
        "{error}"
    );
    let nested = packed(
        &[(
            "score.musicxml",
            &packed(&[("score.musicxml", text.as_bytes())], deflated()),
        )],
        deflated(),
    );
    let error = read(&nested)
        .map(|_| ())
        .expect_err("a compressed file in a compressed file");
    assert!(
        matches!(
            error.kind(),
            Kind::NoMusic | Kind::Malformed | Kind::UnknownFormat
        ),
        "{error}"
    );
    // Without a table of contents the only score is meant; of two, none.
    assert!(
        line_of(&packed(
            &[("a.xml", text.as_bytes()), ("b.png", b"")],
            deflated()
        ))
        .contains("Stile")
    );
    refused(
        &packed(
            &[("a.xml", text.as_bytes()), ("b.musicxml", text.as_bytes())],
            deflated(),
        ),
        Kind::Container,
        "says which is meant",
    );
    refused(
        &packed(&[("a.png", b"")], deflated()),
        Kind::Container,
        "one .musicxml file",
    );
    refused(
        &packed(&[], deflated()),
        Kind::Container,
        "one .musicxml file",
    );
    let broken = packed(
        &[
            ("META-INF/container.xml", b"<container><rootfiles></wrong>"),
            ("a.xml", text.as_bytes()),
        ],
        deflated(),
    );
    refused(&broken, Kind::Malformed, "`</wrong>`");
}

/// Sets a field of two or four bytes in every header of one kind (APPNOTE 4.3.7 and 4.3.12: local headers, central headers).
fn patched(mut file: Vec<u8>, signature: [u8; 4], offset: usize, value: &[u8]) -> Vec<u8> {
    let starts: Vec<usize> = (0..file.len() - 4)
        .filter(|at| file[*at..].starts_with(&signature))
        .collect();
    assert!(!starts.is_empty());
    for start in starts {
        file[start + offset..start + offset + value.len()].copy_from_slice(value);
    }
    file
}

const LOCAL: [u8; 4] = *b"PK\x03\x04";
const CENTRAL: [u8; 4] = *b"PK\x01\x02";

/// APPNOTE 4.4.4 (flag 0: encrypted), 4.4.5 (methods), 4.4.9 (sizes), 4.4.7 (checksum).
#[test]
fn headers_that_lie_or_ask_too_much() {
    let text = score("Stile", MEASURE);
    let file = || packed(&[("score.musicxml", text.as_bytes())], deflated());
    let locked = patched(patched(file(), LOCAL, 6, &[1, 0]), CENTRAL, 8, &[1, 0]);
    refused(&locked, Kind::Container, "without a password");
    let other = patched(patched(file(), LOCAL, 8, &[14, 0]), CENTRAL, 10, &[14, 0]);
    refused(&other, Kind::Container, "deflate");
    let huge = patched(
        patched(file(), LOCAL, 22, &[0, 0, 0, 0xf0]),
        CENTRAL,
        24,
        &[0, 0, 0, 0xf0],
    );
    refused(&huge, Kind::TooLarge, "512 MiB");
    // Said to be smaller than it is: what is unpacked is counted, not believed.
    let small = patched(
        patched(file(), LOCAL, 22, &[1, 0, 0, 0]),
        CENTRAL,
        24,
        &[1, 0, 0, 0],
    );
    match timed(&small) {
        Ok(scores) => assert_eq!(scores[0].board.title(), Some("Stile")),
        Err(error) => assert!(
            matches!(error.kind(), Kind::Container | Kind::Truncated),
            "{error}"
        ),
    }
    let wrong = patched(
        patched(file(), LOCAL, 14, &[1, 2, 3, 4]),
        CENTRAL,
        16,
        &[1, 2, 3, 4],
    );
    match timed(&wrong) {
        Ok(scores) => assert_eq!(scores[0].board.title(), Some("Stile")),
        Err(error) => assert_eq!(error.kind(), Kind::Container, "{error}"),
    }
    // Fifty thousand files beside the score.
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for number in 0..50_000 {
        zip.start_file(
            format!("{number}"),
            SimpleFileOptions::default().compression_method(CompressionMethod::Stored),
        )
        .expect("a file in memory");
    }
    zip.start_file("score.musicxml", deflated())
        .expect("a file in memory");
    zip.write_all(text.as_bytes()).expect("a file in memory");
    let many = zip.finish().expect("a file in memory").into_inner();
    assert!(line_of(&many).contains("Stile"));
}

/// Each format cut off at every byte: read as far as it goes, or refused for what it is.
#[test]
fn files_cut_off_anywhere() {
    let mxl = packed(
        &[
            ("META-INF/container.xml", &container("a.xml")),
            ("a.xml", score("Stile", MEASURE).as_bytes()),
        ],
        deflated(),
    );
    for at in 0..mxl.len() {
        let error = read(&mxl[..at]).map(|_| ()).expect_err("a file cut off");
        let kind = if at < 4 {
            Kind::UnknownFormat
        } else {
            Kind::Container
        };
        assert_eq!(error.kind(), kind, "{at}: {error}");
    }
    let abc = "X:1\nT:Over the Stile\nM:6/8\nP:A2\nK:G\nP:A\n|: \"^segno\"GAB !fermata!c3 |1 Z2 :|2 \"D.C. al Fine\" A3 :: [M:3/4] {g}A3 |]\n";
    for at in 0..abc.len() {
        match read(&abc.as_bytes()[..at]) {
            Ok(scores) => assert_eq!(scores.len(), 1),
            Err(error) => assert!(
                matches!(error.kind(), Kind::UnknownFormat | Kind::NoMusic),
                "{at}: {error}"
            ),
        }
    }
    let mnx = "{\"mnx\": {\"version\": 1}, \"global\": {\"measures\": [{\"repeatEnd\": {\"times\": 3}},\n{}]}, \"parts\": [{\"measures\": [{\"sequences\": []}]}]}";
    assert!(line_of(mnx.as_bytes()).contains(":|x3"));
    for at in 0..mnx.len() {
        let error = read(&mnx.as_bytes()[..at])
            .map(|_| ())
            .expect_err("a document cut off");
        let kind = if at < 7 {
            Kind::UnknownFormat
        } else {
            Kind::Truncated
        };
        assert_eq!(error.kind(), kind, "{at}: {error}");
        assert!(error.line().is_some_and(|line| line <= 2));
    }
    let wide: Vec<u8> = score("Stile", MEASURE)
        .encode_utf16()
        .flat_map(u16::to_be_bytes)
        .collect();
    for at in 0..wide.len() {
        let error = read(&wide[..at]).map(|_| ()).expect_err("a text cut off");
        let kinds = [
            Kind::UnknownFormat,
            Kind::Truncated,
            Kind::NoMusic,
            Kind::Malformed,
        ];
        assert!(kinds.contains(&error.kind()), "{at}: {error}");
    }
}
