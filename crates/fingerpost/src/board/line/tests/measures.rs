//! Measures, barlines, endings and rows of measures.

use super::super::super::*;
use super::*;

#[test]
fn the_first_example_of_the_format() {
    let line = "|: 1 | 2 | [1. 3 :| [2. 4 Fine ] | 5 D.C. al Fine |]";
    assert_eq!(
        places(line),
        [
            "start-repeat 1",
            "ending 3",
            "end-repeat 3",
            "ending 4",
            "fine 4",
            "da-capo 5"
        ]
    );
    let board = board(line);
    assert_eq!(board.measures(), 5);
    assert_eq!(board.systems(), [5]);
    assert_eq!(board.measure_numbers(), None);
    assert_eq!(places(line.strip_suffix(']').unwrap()), places(line));
}

#[test]
fn barlines_each_add_their_sign() {
    assert_eq!(
        places("1|2||3|:4:|5::6:|:7:|"),
        [
            "double-bar 2",
            "start-repeat 4",
            "end-repeat 4",
            "end-repeat 5",
            "start-repeat 6",
            "end-repeat 6",
            "start-repeat 7",
            "end-repeat 7",
        ]
    );
    assert_eq!(
        places("1 :| || 2 || |: 3 :| |: 4"),
        [
            "end-repeat 1",
            "double-bar 1",
            "double-bar 2",
            "start-repeat 3",
            "end-repeat 3",
            "start-repeat 4",
        ]
    );
    assert_eq!(
        places("|: 1 :| |: 2 :||: 3 :|"),
        places("|: 1 :: 2 :: 3 :|")
    );
    assert_eq!(places("| 1 | 2 | "), Vec::<String>::new());
    assert_eq!(board("1").measures(), 1);
    assert_eq!(board("-|-|-|").measures(), 3);
}

#[test]
fn a_final_bar_is_a_sign_everywhere_but_at_the_end_of_the_line() {
    assert_eq!(places("1 |] 2 |]"), ["double-bar 1"]);
    assert_eq!(
        sign("1 |] 2"),
        Sign::DoubleBar(DoubleBar { is_final: true })
    );
    assert_eq!(places("1 |] |]"), ["double-bar 1"]);
    assert_eq!(places("1 |](id a)"), ["double-bar 1"]);
    assert_eq!(places("1 :| |]"), ["end-repeat 1"]);
}

#[test]
fn an_empty_measure_is_written_as_a_dash() {
    for line in ["1 | | 2", "|: | 2 :|", "|: :| 2", "1 :: || 2"] {
        assert!(
            only_complaint(line).contains("no measure between"),
            "{line}"
        );
    }
    assert!(only_complaint("1 | 2 |: ").contains("no measure follows"));
    assert!(only_complaint(":| 1").contains("no measure stands before"));
    assert_eq!(only_complaint(""), ": the line has no measure");
    assert_eq!(only_complaint("  |  "), ": the line has no measure");
}

#[test]
fn end_repeats_say_how_often() {
    let plays = |line| match sign(line) {
        Sign::EndRepeat(end) => (end.plays, end.on_return),
        other => panic!("{other:?}"),
    };
    let times = |n| Some(Plays::Times(n));
    assert_eq!(plays("1 :|"), (None, None));
    assert_eq!(plays("1 :|x3"), (times(3), None));
    assert_eq!(plays("1 :|x3 2"), (times(3), None));
    assert_eq!(plays("1 :|(plays open)"), (Some(Plays::Open), None));
    assert_eq!(
        plays("1 :|(plays 3, on-return skip)"),
        (times(3), Some(Repeats::Skip))
    );
    assert_eq!(
        plays("1 :|x4(on-return play)"),
        (times(4), Some(Repeats::Play))
    );
    assert_eq!(board("1 ::x3 2").markings()[0].sign(), &sign("1 :|x3"));
    assert!(only_complaint("1 :|x3(plays 4)").contains("twice"));
    assert!(only_complaint("1 :|x").contains("not a number of plays"));
    assert!(only_complaint("1 :|(plays 0)").starts_with("0: `0` is not a number of plays"));
    assert!(only_complaint("1 :|(plays 1000001)").contains("not a number of plays"));
}

#[test]
fn double_slashes_end_systems() {
    assert_eq!(board("1 | 2 | // 3 | 4 | 5 |]").systems(), [2, 3]);
    assert_eq!(board("| 1 | // | 2 |").systems(), [1, 1]);
    assert_eq!(board("1 // :| 2 :| // |: 3 | //").systems(), [1, 1, 1]);
    assert_eq!(places("1 // :| 2"), ["end-repeat 1"]);
    assert!(only_complaint("1 // 2").contains("beside a barline"));
    assert!(only_complaint("// | 1").contains("has no measure"));
    assert!(only_complaint("1 | // // | 2").contains("has no measure"));
}

#[test]
fn endings_end_where_something_closes_them() {
    let endings = |line: &str| {
        let mut all = places(line);
        all.retain(|place| place.starts_with("ending"));
        all.join(", ")
    };
    assert_eq!(
        endings("|: 1 | [1. 2 | 3 :| [2. 4 | 5"),
        "ending 2-3, ending 4-5"
    );
    assert_eq!(endings("|: 1 | [1. 2 | 3 || 4"), "ending 2-3");
    assert_eq!(endings("|: 1 | [1. 2 | 3 |] 4 | 5"), "ending 2-3");
    assert_eq!(endings("|: 1 | [1. 2 | 3 |: 4 | 5"), "ending 2-3");
    assert_eq!(endings("|: 1 | [1. 2 | 3 :: 4 | 5"), "ending 2-3");
    assert_eq!(
        endings("|: 1 | [1. 2 | 3 | [2. 4 | 5 |]"),
        "ending 2-3, ending 4-5"
    );
    assert_eq!(endings("|: 1 | [1. 2 | 3 ] | 4 | 5 |]"), "ending 2-3");
    assert_eq!(endings("[1. 2 | 3 ]"), "ending 1-2");
    assert_eq!(endings("|: 1 | [1.(last 4) 2 :| 3 || 4 | 5"), "ending 2-4");
    assert_eq!(
        endings("|: 1 | [1.(last 3) [2. 2 | 3 | 4 :|"),
        "ending 2-3, ending 2-4"
    );
    assert!(only_complaint("|: 1 [1. 2 :|").contains("opens at the start of its measure"));
    assert!(only_complaint("1 | [1. [2. 2").contains("no measure before the next one"));
    assert!(only_complaint("1 | [1. | 2").contains("holds no measure here"));
    assert!(only_complaint("1 | 2 ]").contains("no ending is open"));
    assert!(only_complaint("1 | [1.(last 2) 2 ]").contains("no ending is open"));
    assert!(only_complaint("[1. 1 | ] 2").contains("after what the measure holds"));
    assert!(only_complaint("1 | [1.(last 1) 2 | 3").contains("runs backwards"));
    assert!(only_complaint("1 | [1.(last 9) 2 | 3").contains("off the board"));
}

#[test]
fn endings_list_their_passes() {
    let passes = |line: &str| match sign(line) {
        Sign::Ending(ending) => (ending.passes.to_string(), ending.open),
        other => panic!("{other:?}"),
    };
    assert_eq!(passes("[1. 1"), ("1".into(), false));
    assert_eq!(passes("[1,2. 1"), ("1,2".into(), false));
    assert_eq!(passes("[1-3. 1"), ("1-3".into(), false));
    assert_eq!(passes("[ 7, 1-3 . 1"), ("1-3,7".into(), false));
    assert_eq!(passes("[2.(open) 4"), ("2".into(), true));
    assert_eq!(board("[2.(open, id a) 4").markings()[0].id(), Some("a"));
    assert_eq!(
        only_complaint("[1 1"),
        "[1: this bracket opens no ending; did you mean `[1.`?"
    );
    assert!(only_complaint("[1-2,4 1").contains("did you mean `[1-2,4.`?"));
    assert_eq!(only_complaint("[1- 1"), "[1-: this bracket opens no ending");
    assert_eq!(only_complaint("[x. 1"), "[x.: this bracket opens no ending");
    assert!(only_complaint("[0. 1").contains("`0` is not a pass"));
    assert!(only_complaint("[1,1. 1").contains("twice"));
    assert!(only_complaint("[2-1. 1").contains("backwards"));
    assert!(only_complaint("[1,,2. 1").contains("not a list of numbers"));
    assert!(only_complaint("[99999999999999999999. 1").contains("is not a pass"));
}

#[test]
fn measures_have_numbers_or_names() {
    let names = |line: &str| board(line).measure_numbers().map(<[String]>::to_vec);
    assert_eq!(names("1 | 2 | 3"), None);
    assert_eq!(names("- | 2 | -"), None);
    assert_eq!(
        names("0 | 1 | -"),
        Some(vec!["0".into(), "1".into(), "3".into()])
    );
    assert_eq!(
        names("\"\" | \"hut \\\"A\\\" \\\\\" | segno"),
        Some(vec![String::new(), "hut \"A\" \\".into(), "3".into()])
    );
    assert_eq!(
        names("segno 7 Fine | - segno"),
        Some(vec!["7".into(), "2".into()])
    );
    assert!(only_complaint("1 2 | 3").contains("has a name already"));
    assert!(only_complaint("- 2 | 3").contains("has a name already"));
    assert!(only_complaint("- - | 3").contains("measure of its own"));
    assert!(only_complaint("1 | \"hut").contains("quote is not closed"));
    assert_eq!(complaints("1 | \"hut\n\" | 3 |").len(), 2);
    assert_eq!(
        only_complaint("\"a\\n\""),
        "\\: a backslash in a quoted word stands before a quote or a backslash"
    );
    assert!(only_complaint(&"1".repeat(61)).contains("at most 60 characters"));
    assert!(only_complaint("\"a\u{7}\"").contains("control character"));
}

#[test]
fn no_barlines_are_named() {
    assert_eq!(only_complaint("1 :|| 2"), ":||: `:||` is no barline");
    for line in ["1 ||: 2", "1 ||| 2", "1 :|] 2", "|:|"] {
        assert!(complaints(line)[0].contains("is no barline"), "{line}");
    }
}

#[test]
fn rows_of_measures_are_held_by_parentheses_or_the_key_last() {
    assert_eq!(places("1 | 8va( 2 | 3 ) | 4"), ["octave 2-3"]);
    assert_eq!(places("1 | 8va(2|3)|4"), ["octave 2-3"]);
    assert_eq!(
        places("1 | 8va (R.H., on repeat)( - | - ) | 4"),
        ["octave 2-3"]
    );
    assert_eq!(
        places("1 | 8va(R.H.) ( 2 | 3 ) Fine | 4"),
        ["octave 2-3", "fine 3"]
    );
    assert_eq!(
        places("8va( 1 | only( 2 | 3 ) | 4 )"),
        ["octave 1-4", "only 2-3"]
    );
    assert_eq!(
        places("8va(last 2) 1 | only(last 3) 2 | 3"),
        ["octave 1-2", "only 2-3"]
    );
    assert_eq!(places("8va( 1 )"), ["octave 1"]);
    assert_eq!(
        places("8va( D.C.(al Fine) 1 | 2 )"),
        ["octave 1-2", "da-capo 1"]
    );
    assert!(
        only_complaint("8va( 1 | 2")
            .starts_with("8va: the row of measures opened here is not closed")
    );
    assert!(only_complaint("1 | 2 )").contains("no row of measures is open"));
    assert!(only_complaint("8va( 1 | ) 2").contains("after what the measure holds"));
    assert!(only_complaint("8va(last 2)( 1 | 2 )").contains("both say where"));
    assert_eq!(
        only_complaint("1 (id x) | 2"),
        "(id x): this parenthesis follows no sign"
    );
}
