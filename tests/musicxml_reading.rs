//! What MusicXML 4.0 says for playing, case by case, under the handbook's reading and taken at its word (`--reading musicxml`).
//!
//! Every case names the element and attribute of the standard (Community Group Final Report, June 2021, reference pages) and its status:
//! `Said` where the text gives the meaning, `Silent` where it gives none and the rulebook rules. All scores are invented, but for the one
//! that the group's tracker prints.

use fingerpost_json::{answer, explain};
use serde_json::{Value, json};

/// Whether the standard's text gives the order.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Status {
    Said,
    Silent,
}
use Status::{Said, Silent};

/// One case: what stands before and after the note of each measure, and the two orders.
struct Case {
    title: &'static str,
    source: &'static str,
    status: Status,
    measures: &'static [(&'static str, &'static str)],
    handbook: &'static [u16],
    literal: &'static [u16],
}

const FORWARD: &str = "<barline location=\"left\"><repeat direction=\"forward\"/></barline>";
const BACK: &str = "<barline location=\"right\"><repeat direction=\"backward\"/></barline>";
const DC: &str = "<sound dacapo=\"yes\"/>";
const DS: &str = "<sound dalsegno=\"s\"/>";
const SEGNO: &str = "<sound segno=\"s\"/>";
const TO_CODA: &str = "<sound tocoda=\"c\"/>";
const CODA: &str = "<sound coda=\"c\"/>";
const FINE: &str = "<sound fine=\"yes\"/>";
const DC_1: &str = "<sound dacapo=\"yes\" time-only=\"1\"/>";
const DC_2: &str = "<sound dacapo=\"yes\" time-only=\"2\"/>";
const DC_12: &str = "<sound dacapo=\"yes\" time-only=\"1, 2\"/>";
const FIRST: (&str, &str) = (
    "<barline location=\"left\"><ending number=\"1\" type=\"start\"/></barline>",
    "<barline location=\"right\"><ending number=\"1\" type=\"stop\"/><repeat direction=\"backward\"/></barline>",
);
const SECOND: (&str, &str) = (
    "<barline location=\"left\"><ending number=\"2\" type=\"start\"/></barline>",
    "<barline location=\"right\"><ending number=\"2\" type=\"discontinue\"/></barline>",
);

const CASES: &[Case] = &[
    Case {
        title: "dacapo goes to the beginning",
        source: "sound, dacapo",
        status: Said,
        measures: &[("", ""), ("", DC), ("", "")],
        handbook: &[1, 2, 1, 2, 3],
        literal: &[1, 2, 1, 2, 3],
    },
    Case {
        title: "dacapo acts the first time through by default",
        source: "sound, dacapo: by default a da capo occurs the first time through",
        status: Said,
        measures: &[(FORWARD, ""), ("", DC), ("", BACK), ("", "")],
        handbook: &[1, 2, 3, 1, 2, 1, 2, 3, 4],
        // What the repeat does after the jump is silent; the section goes on with its second pass.
        literal: &[1, 2, 1, 2, 3, 4],
    },
    Case {
        title: "dalsegno goes to the segno of its name",
        source: "sound, dalsegno and segno",
        status: Said,
        measures: &[("", ""), (SEGNO, ""), ("", DS), ("", "")],
        handbook: &[1, 2, 3, 2, 3, 4],
        literal: &[1, 2, 3, 2, 3, 4],
    },
    Case {
        title: "dalsegno acts the first time through by default",
        source: "sound, dalsegno: by default a dal segno occurs the first time through",
        status: Said,
        measures: &[("", ""), (FORWARD, ""), (SEGNO, DS), ("", BACK), ("", "")],
        handbook: &[1, 2, 3, 4, 2, 3, 3, 4, 5],
        literal: &[1, 2, 3, 3, 4, 5],
    },
    Case {
        title: "tocoda acts the second time through by default, on a return",
        source: "sound, tocoda: by default a to coda occurs the second time through",
        status: Said,
        measures: &[("", TO_CODA), ("", DC), (CODA, "")],
        handbook: &[1, 2, 1, 3],
        literal: &[1, 2, 1, 3],
    },
    Case {
        title: "tocoda acts the second time through by default, in a repeat",
        source: "sound, tocoda: by default a to coda occurs the second time through",
        status: Said,
        measures: &[(FORWARD, TO_CODA), ("", BACK), ("", DC), (CODA, "")],
        handbook: &[1, 2, 1, 2, 3, 1, 4],
        literal: &[1, 2, 1, 4],
    },
    Case {
        title: "tocoda that is met once is never obeyed",
        source: "sound, tocoda: by default a to coda occurs the second time through",
        status: Said,
        measures: &[("", TO_CODA), ("", ""), (SEGNO, ""), ("", DS), (CODA, "")],
        handbook: &[1, 2, 3, 4, 3, 4, 5],
        literal: &[1, 2, 3, 4, 3, 4, 5],
    },
    Case {
        title: "fine ends the piece once a jump has been obeyed; its pass is not said",
        source: "sound, fine",
        status: Silent,
        measures: &[("", FINE), ("", DC)],
        handbook: &[1, 2, 1],
        literal: &[1, 2, 1],
    },
    Case {
        title: "fine with the length of the last note is a fine",
        source: "sound, fine: a number is the duration of the final note",
        status: Said,
        measures: &[("", "<sound fine=\"96\"/>"), ("", DC)],
        handbook: &[1, 2, 1],
        literal: &[1, 2, 1],
    },
    Case {
        title: "dacapo=\"no\" is accepted by the schema and says nothing",
        source: "sound, dacapo: the value is always yes when it is used",
        status: Silent,
        measures: &[("", ""), ("", "<sound dacapo=\"no\"/>")],
        handbook: &[1, 2],
        literal: &[1, 2],
    },
    Case {
        title: "time-only has a dacapo act the second time through the repeat",
        source: "sound, time-only; type time-only",
        status: Said,
        measures: &[(FORWARD, ""), ("", DC_2), ("", BACK), ("", "")],
        handbook: &[1, 2, 3, 1, 2, 1, 2, 3, 4],
        literal: &[1, 2, 3, 1, 2, 1, 2, 3, 4],
    },
    Case {
        title: "time-only has a dacapo act the first time through the repeat",
        source: "sound, time-only; type time-only",
        status: Said,
        measures: &[(FORWARD, ""), ("", DC_1), ("", BACK), ("", "")],
        handbook: &[1, 2, 1, 2, 3, 4],
        literal: &[1, 2, 1, 2, 3, 4],
    },
    Case {
        title: "time-only where nothing is repeated counts arrivals",
        source: "sound, time-only: times through a repeat",
        status: Silent,
        measures: &[("", ""), ("", DC_12), ("", "")],
        handbook: &[1, 2, 1, 2, 1, 2, 3],
        literal: &[1, 2, 1, 2, 1, 2, 3],
    },
    Case {
        title: "time-only has a tocoda act the first time through",
        source: "sound, tocoda and time-only: it changes the default",
        status: Said,
        measures: &[
            (FORWARD, "<sound tocoda=\"c\" time-only=\"1\"/>"),
            ("", BACK),
            (CODA, ""),
        ],
        handbook: &[1, 3],
        literal: &[1, 3],
    },
    Case {
        title: "time-only has a fine act the third time through",
        source: "sound, fine and time-only",
        status: Said,
        measures: &[
            (FORWARD, "<sound fine=\"yes\" time-only=\"3\"/>"),
            (
                "",
                "<barline location=\"right\"><repeat direction=\"backward\" times=\"3\"/></barline>",
            ),
        ],
        handbook: &[1, 2, 1, 2, 1],
        literal: &[1, 2, 1, 2, 1],
    },
    Case {
        title: "times is how often the section is played",
        source: "repeat, times",
        status: Said,
        measures: &[
            ("", ""),
            (
                "",
                "<barline location=\"right\"><repeat direction=\"backward\" times=\"3\"/></barline>",
            ),
        ],
        handbook: &[1, 2, 1, 2, 1, 2],
        literal: &[1, 2, 1, 2, 1, 2],
    },
    Case {
        title: "times=\"1\" is accepted by the schema: the section is played once",
        source: "repeat, times",
        status: Silent,
        measures: &[
            ("", ""),
            (
                "",
                "<barline location=\"right\"><repeat direction=\"backward\" times=\"1\"/></barline>",
            ),
        ],
        handbook: &[1, 2],
        literal: &[1, 2],
    },
    Case {
        title: "without times a section is played twice",
        source: "repeat, times: no default is stated",
        status: Silent,
        measures: &[("", ""), ("", BACK)],
        handbook: &[1, 2, 1, 2],
        literal: &[1, 2, 1, 2],
    },
    Case {
        title: "without a forward repeat a backward one goes back to the beginning",
        source: "repeat, direction: where it goes back to is not stated",
        status: Silent,
        measures: &[("", ""), ("", BACK), ("", "")],
        handbook: &[1, 2, 1, 2, 3],
        literal: &[1, 2, 1, 2, 3],
    },
    Case {
        title: "after-jump=\"yes\" makes the repeat again after a jump",
        source: "repeat, after-jump",
        status: Said,
        measures: &[
            (
                "",
                "<barline location=\"right\"><repeat direction=\"backward\" after-jump=\"yes\"/></barline>",
            ),
            ("", DC),
        ],
        handbook: &[1, 1, 2, 1, 1, 2],
        literal: &[1, 1, 2, 1, 1, 2],
    },
    Case {
        title: "after-jump=\"no\" leaves the repeat out after a jump",
        source: "repeat, after-jump",
        status: Said,
        measures: &[
            (
                "",
                "<barline location=\"right\"><repeat direction=\"backward\" after-jump=\"no\"/></barline>",
            ),
            ("", DC),
        ],
        handbook: &[1, 1, 2, 1, 2],
        literal: &[1, 1, 2, 1, 2],
    },
    Case {
        title: "without after-jump the player decides: left out, as by today's custom",
        source: "repeat, after-jump: no default is stated (tracker, #390)",
        status: Silent,
        measures: &[("", BACK), ("", DC)],
        handbook: &[1, 1, 2, 1, 2],
        literal: &[1, 1, 2, 1, 2],
    },
    Case {
        title: "the number of an ending is the times it is played",
        source: "ending, number; type ending-number",
        status: Said,
        measures: &[("", ""), FIRST, SECOND, ("", "")],
        handbook: &[1, 2, 1, 3, 4],
        literal: &[1, 2, 1, 3, 4],
    },
    Case {
        title: "stop and discontinue differ in looks alone",
        source: "ending, type",
        status: Said,
        measures: &[
            ("", ""),
            FIRST,
            (
                SECOND.0,
                "<barline location=\"right\"><ending number=\"2\" type=\"stop\"/></barline>",
            ),
            ("", ""),
        ],
        handbook: &[1, 2, 1, 3, 4],
        literal: &[1, 2, 1, 3, 4],
    },
    Case {
        title: "forward-repeat is a start repeat that is not displayed",
        source: "sound, forward-repeat",
        status: Said,
        measures: &[
            ("", ""),
            ("<sound forward-repeat=\"yes\"/>", ""),
            ("", BACK),
        ],
        handbook: &[1, 2, 3, 2, 3],
        literal: &[1, 2, 3, 2, 3],
    },
    Case {
        title: "the names pair each dalsegno with its segno",
        source: "sound, dalsegno: the value names the segno when there are several",
        status: Said,
        measures: &[
            ("<sound segno=\"a\"/>", ""),
            ("<sound segno=\"b\"/>", "<sound dalsegno=\"b\"/>"),
            ("", "<sound dalsegno=\"a\"/>"),
            ("", ""),
        ],
        handbook: &[1, 2, 2, 3, 1, 2, 3, 4],
        literal: &[1, 2, 2, 3, 1, 2, 3, 4],
    },
    Case {
        title: "a barline says where a segno is, as a sound does",
        source: "barline, segno",
        status: Said,
        measures: &[
            ("", ""),
            (
                "<barline location=\"left\" segno=\"s\"><segno/></barline>",
                "",
            ),
            ("", DS),
        ],
        handbook: &[1, 2, 3, 2, 3],
        literal: &[1, 2, 3, 2, 3],
    },
    Case {
        title: "words alone say nothing for playing",
        source: "words; sound",
        status: Said,
        measures: &[
            (
                "",
                "<direction><direction-type><words>Fine</words></direction-type></direction>",
            ),
            (
                "",
                "<direction><direction-type><words>D.C. al Fine</words></direction-type></direction>",
            ),
        ],
        handbook: &[1, 2, 1],
        literal: &[1, 2],
    },
    Case {
        title: "a drawn segno without a sound says nothing for playing",
        source: "segno: a sound element is needed to guide playback reliably",
        status: Said,
        measures: &[
            ("", ""),
            (
                "<direction><direction-type><segno/></direction-type></direction>",
                "",
            ),
            ("", DC),
        ],
        handbook: &[1, 2, 3, 1, 2, 3],
        literal: &[1, 2, 3, 1, 2, 3],
    },
    Case {
        title: "no attribute says al Coda: a dacapo stops at the fine on its way",
        source: "sound, dacapo and fine",
        status: Silent,
        measures: &[
            ("", FINE),
            ("", TO_CODA),
            (
                "",
                "<direction><direction-type><words>D.C. al Coda</words></direction-type><sound dacapo=\"yes\"/></direction>",
            ),
            (CODA, ""),
        ],
        handbook: &[1, 2, 3, 1, 2, 4],
        literal: &[1, 2, 3, 1],
    },
    Case {
        title: "the example of issue 252: a D.C. al Segno as tocoda, coda and dacapo",
        source: "musicxml-tracker, #252: order 1 2 3 4 5 1 4 5, with no time-only",
        status: Said,
        measures: &[("", TO_CODA), ("", ""), ("", ""), (CODA, ""), ("", DC)],
        handbook: &[1, 2, 3, 4, 5, 1, 4, 5],
        literal: &[1, 2, 3, 4, 5, 1, 4, 5],
    },
];

fn score(measures: &[(&str, &str)]) -> String {
    let measures = measures.iter().enumerate().map(|(index, (before, after))| {
        let number = index + 1;
        format!("<measure number=\"{number}\">{before}<note><rest/><duration>4</duration></note>{after}</measure>\n")
    });
    format!(
        "<score-partwise version=\"4.0\"><part-list><score-part id=\"P1\"><part-name>Path</part-name></score-part></part-list><part id=\"P1\">\n{}</part></score-partwise>",
        measures.collect::<String>()
    )
}

fn unrolled(score: &str, reading: &str) -> Value {
    let request = json!({ "verb": "unroll", "score": score, "reading": reading });
    serde_json::from_str(&answer(&request.to_string())).unwrap()
}

#[test]
fn every_case_has_its_two_orders() {
    for case in CASES {
        let score = score(case.measures);
        let about = format!("{} ({:?}: {})", case.title, case.status, case.source);
        let handbook = unrolled(&score, "handbook");
        assert_eq!(
            handbook["order"],
            json!(case.handbook),
            "{about}: {handbook}"
        );
        let literal = unrolled(&score, "musicxml");
        assert_eq!(literal["order"], json!(case.literal), "{about}: {literal}");
        // The handbook's reading is what is taken unless another is asked for.
        let request = json!({ "verb": "unroll", "score": score });
        let default: Value = serde_json::from_str(&answer(&request.to_string())).unwrap();
        assert_eq!(default["order"], handbook["order"], "{about}");
    }
}

#[test]
fn every_attribute_that_says_something_for_playing_has_a_case() {
    for attribute in [
        "dacapo",
        "dalsegno",
        "segno",
        "tocoda",
        "coda",
        "fine",
        "forward-repeat",
        "time-only",
        "times",
        "after-jump",
        "number",
    ] {
        let written = format!("{attribute}=\"");
        let mut cases = CASES.iter();
        let has = cases.any(|case| score(case.measures).contains(&written));
        assert!(has, "{attribute}");
    }
    assert!(CASES.iter().any(|case| case.status == Silent));
}

#[test]
fn what_is_passed_over_is_told() {
    let told = |title: &str, reading: &str| {
        let case = CASES.iter().find(|case| case.title == title).unwrap();
        let notices = unrolled(&score(case.measures), reading)["score"]["notices"].clone();
        let notices = notices.as_array().unwrap().clone();
        let rules: Vec<String> = notices
            .iter()
            .map(|notice| notice["rule"].as_str().unwrap().to_owned())
            .collect();
        rules
    };
    let words = "words alone say nothing for playing";
    assert_eq!(told(words, "musicxml"), ["words-passed-over"; 2]);
    assert_eq!(told(words, "handbook"), ["words-read"; 2]);
    let coda = "no attribute says al Coda: a dacapo stops at the fine on its way";
    assert_eq!(told(coda, "musicxml"), ["words-passed-over"]);
    assert_eq!(told(coda, "handbook"), [""; 0]);
    assert!(explain("words-passed-over").is_ok());
}
