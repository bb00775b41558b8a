//! Whatever is wrong with a board file is said, with its place and with what would be accepted.

use std::time::{Duration, Instant};

use fingerpost::{Board, Complaint, LARGEST_FILE, Position, json_places};

/// Everything said of a text, each complaint as `line:column pointer message | accepted`.
fn said_of(text: &str) -> Vec<String> {
    let error = Board::from_json(text).unwrap_err();
    let lines = error.complaints().iter().map(|complaint| {
        let Complaint {
            message,
            accepted,
            pointer,
            position,
            bytes,
        } = complaint;
        assert_eq!(*position, Position::of_byte(text, bytes.start), "{message}");
        let pointer = pointer.as_deref().unwrap_or("no pointer");
        let accepted = accepted.as_deref().unwrap_or("-");
        let Position { line, column } = position;
        format!("{line}:{column} {pointer} {message} | {accepted}")
    });
    lines.collect()
}

/// A text is refused with these complaints, in order. In the text, `▶` stands before the place of each complaint and is taken out
/// before the text is read; each complaint is written as `pointer message | accepted`.
#[track_caller]
fn says(marked: &str, expected: &[&str]) {
    let (mut line, mut column) = (1, 1);
    let mut places = Vec::new();
    for character in marked.chars() {
        match character {
            '▶' => places.push(format!("{line}:{column}")),
            '\n' => (line, column) = (line + 1, 1),
            '\u{feff}' => {}
            _ => column += 1,
        }
    }
    assert_eq!(places.len(), expected.len(), "one ▶ for each complaint");
    let expected: Vec<String> = places
        .iter()
        .zip(expected)
        .map(|(place, said)| format!("{place} {said}"))
        .collect();
    let text = marked.replace('▶', "");
    assert_eq!(said_of(&text), expected, "{text}");
}

const ANY_VALUE: &str =
    "a text in double quotes, a number, a list, an object, `true`, `false` or `null`";

#[test]
fn what_is_no_json_is_refused_where_it_stops_being_json() {
    let no_value = format!("no pointer not JSON: no JSON value at `|` | {ANY_VALUE}");
    says("▶|: 1 | 2 :|", &[&no_value]);
    let no_value = format!("no pointer not JSON: no JSON value at `é` | {ANY_VALUE}");
    says("{\"board\": 1,\n \"systems\": [4, ▶é]}", &[&no_value]);
    says(
        "{\"board\": 1\n ▶\"systems\": [4]}",
        &["no pointer not JSON: no comma and no end of the object at `\"` | `,` or `}`"],
    );
    says(
        "{\"board\": 1, \"systems\": [4 ▶4]}",
        &["no pointer not JSON: no comma and no end of the list at `4` | `,` or `]`"],
    );
    says(
        "{\"board\" ▶1}",
        &["no pointer not JSON: no colon after a key at `1` | `:`"],
    );
    says(
        "{▶board: 1}",
        &["no pointer not JSON: no key in double quotes at `b` | a key in double quotes"],
    );
    says(
        "{\"board\": 1,▶}",
        &[
            "no pointer not JSON: a comma with nothing after it at `}` | something after the comma, or no comma",
        ],
    );
    says(
        "{\"board\": 1, \"systems\": [4,▶]}",
        &[
            "no pointer not JSON: a comma with nothing after it at `]` | something after the comma, or no comma",
        ],
    );
    says(
        "{\"board\": 0▶1}",
        &["no pointer not JSON: no JSON number at `1` | a number such as `12`"],
    );
    says(
        "{\"board\": 1, \"systems\": [4]}\n▶}",
        &["no pointer not JSON: something after the end of the board at `}` | nothing more"],
    );
    says(
        "{\"board\": 1, \"title\": \"a▶\nb\", \"systems\": [4]}",
        &[
            "no pointer not JSON: a control character or a line break inside a text | an escape such as `\\n`, or a closing quote before it",
        ],
    );
    says(
        "{\"board\": 1, \"title\": \"\\▶q\", \"systems\": [4]}",
        &[
            "no pointer not JSON: no escape that JSON has at `q` | `\\\"`, `\\\\`, `\\/`, `\\b`, `\\f`, `\\n`, `\\r`, `\\t` or `\\u` and four digits",
        ],
    );
}

#[test]
fn a_file_that_is_cut_off_or_empty_is_refused_at_its_end() {
    let rest = "the rest of the file: has it been cut off?";
    let case = |text: &str, place: &str, inside: &str| {
        let said = format!("{place} no pointer the file ends too early{inside} | {rest}");
        assert_eq!(said_of(text), [said]);
    };
    case("{\"board\": 1,\n \"systems\": [4, ", "2:16", "");
    case("{\"board\": 1,\n \"systems\": [4", "2:15", " inside a list");
    case("{\"board\": 1,\n \"syst", "2:7", " inside a text");
    case("{\"board\": 1\n\n", "1:12", " inside an object");
    let smallest = "a board, such as `{\"board\": 1, \"systems\": [4, 4]}`";
    let empty = format!("no pointer the file is empty | {smallest}");
    says("▶", &[&empty]);
    says("\u{feff}▶ \n", &[&empty]);
}

#[test]
fn what_is_json_but_no_object_is_refused() {
    let smallest = "a board, such as `{\"board\": 1, \"systems\": [4, 4]}`";
    for (text, quoted) in [
        ("[1, 2]", "`[1, 2]`"),
        ("null", "`null`"),
        ("\"|: 1 :|\"", "`\"|: 1 :|\"`"),
    ] {
        says(
            &format!("▶{text}"),
            &[&format!(" {quoted} is not a board | {smallest}")],
        );
    }
}

#[test]
fn deep_nesting_is_refused_at_the_bracket_that_goes_too_deep() {
    let accepted = "a board file, which is nested 4 deep at most";
    let text = format!(
        "{{\"board\": 1, \"x\":\n{}▶{}{}}}",
        "[".repeat(63),
        "[".repeat(137),
        "]".repeat(200)
    );
    let said = format!("no pointer objects and lists are nested more than 64 deep | {accepted}");
    says(&text, &[&said]);
    let deepest = format!("{{\"x\":{}{}}}", "[".repeat(63), "]".repeat(63));
    assert_eq!(
        said_of(&deepest).len(),
        3,
        "an unknown key and two missing ones"
    );
    // Brackets in texts are no nesting.
    let title = "[".repeat(200);
    let text = format!("{{\"board\": 1, \"systems\": [4], \"title\": \"\\\"{title}\"}}");
    assert!(Board::from_json(&text).is_ok());
}

#[test]
fn a_file_of_16_mib_is_read_and_one_byte_more_is_refused() {
    let mut text = "{\"board\": 1, \"systems\": [4]}".to_owned();
    text.push_str(&" ".repeat(LARGEST_FILE - text.len()));
    assert!(Board::from_json(&text).is_ok());
    text.push(' ');
    let expected = " the file has more than 16 MiB | a board file of at most 16 MiB";
    says(&format!("▶{text}"), &[expected]);
    let error = Board::from_json_bytes(text.as_bytes()).unwrap_err();
    assert_eq!(error, Board::from_json(&text).unwrap_err());
    // Too many bytes are too many whether they are UTF-8 or not.
    let error = Board::from_json_bytes(&vec![0xff; LARGEST_FILE + 1]).unwrap_err();
    assert!(
        error.complaints()[0]
            .message
            .contains("the file has more than 16 MiB")
    );
}

#[test]
fn bytes_that_are_no_utf_8_are_refused_at_the_first() {
    let case =
        |bytes: &[u8], position: (u32, u32), range: std::ops::Range<usize>, message: &str| {
            let error = Board::from_json_bytes(bytes).unwrap_err();
            let [complaint] = error.complaints() else {
                panic!("{error}");
            };
            let Position { line, column } = complaint.position;
            assert_eq!((line, column), position);
            assert_eq!(complaint.bytes, range);
            assert_eq!(complaint.message, message);
            assert_eq!(complaint.accepted.as_deref(), Some("a text in UTF-8"));
        };
    case(
        b"{\"board\": 1,\n \"t\xff",
        (2, 4),
        16..17,
        "the byte 0xFF is not UTF-8",
    );
    case(
        "{\"é\": \""
            .as_bytes()
            .iter()
            .chain(b"\xe2\x82")
            .copied()
            .collect::<Vec<u8>>()
            .as_slice(),
        (1, 8),
        8..10,
        "the byte 0xE2 is not UTF-8",
    );
    case(
        b"\xff\xfe{\0}\0",
        (1, 1),
        0..1,
        "the file is written in UTF-16, not in UTF-8",
    );
}

#[test]
fn a_byte_order_mark_is_passed_over_and_takes_no_column() {
    let text = "\u{feff}{\"board\": 1, \"systems\": [4], \"markings\": [{\"mark\": \"fine\", \"measure\": 4}]}";
    let board = Board::from_json(text).unwrap();
    assert_eq!(board.measures(), 4);
    assert_eq!(
        &text[json_places(text)[0].clone()],
        "{\"mark\": \"fine\", \"measure\": 4}"
    );
    let text = text.replace("[4]", "[3]").replace("4}", "▶4}");
    says(
        &text,
        &[
            "/markings/0/measure measure 4 is off the board: its measures are 1 to 3 | a measure from 1 to 3",
        ],
    );
}

/// A file with these lines as its markings, the first of them on line 2 from column 1.
fn with_markings(markings: &str) -> String {
    format!("{{\"board\": 1, \"systems\": [4, 4], \"markings\": [\n{markings}\n]}}")
}

#[test]
fn keys_that_stand_twice_are_refused_at_the_second() {
    says(
        "{\"board\": 1, \"systems\": [4],\n ▶\"board\": 1,\n ▶\"s\\u0079stems\": [3]}",
        &[
            "/board the key `board` stands twice | each key once",
            "/systems the key `systems` stands twice | each key once",
        ],
    );
    says(
        &with_markings("{\"mark\": \"fine\", \"measure\": 1, ▶\"measure\": 1}"),
        &["/markings/0/measure the key `measure` stands twice | each key once"],
    );
    says(
        "{\"board\": 1, \"systems\": [4],\n\"reading\": {\"nested\": \"flat\", ▶\"nested\": \"flat\"}}",
        &["/reading/nested the key `nested` stands twice | each key once"],
    );
}

#[test]
fn numbers_beyond_their_range_are_refused() {
    let wanted = "a whole number from 1 to 1000000, or `\"open\"`";
    let range = "is not a number of plays: 1 to 1000000, or open";
    for (number, said) in [
        ("1e400", "is not a value for `plays`"),
        ("99999999999999999999", "is not a value for `plays`"),
        ("1.5", "is not a value for `plays`"),
        ("-1", "is not a value for `plays`"),
        ("0", range),
        ("1000001", range),
    ] {
        says(
            &with_markings(&format!(
                "{{\"mark\": \"end-repeat\", \"measure\": 1, \"plays\": ▶{number}}}"
            )),
            &[&format!("/markings/0/plays `{number}` {said} | {wanted}")],
        );
        let at = "{\"mark\": \"end-repeat\", \"measure\": ";
        let said = match number {
            "0" => "measure 0 is off the board: its measures are 1 to 8 | a measure from 1 to 8"
                .to_owned(),
            _ => format!(
                "`{number}` is not a value for `measure` | a measure of the board, counted from 1"
            ),
        };
        says(
            &with_markings(&format!("{at}▶{number}}}")),
            &[&format!("/markings/0/measure {said}")],
        );
    }
    // A whole number may be written in any way that JSON has.
    for number in ["2.0", "2e0", "0.2e1", "20e-1"] {
        let marking =
            format!("{{\"mark\": \"end-repeat\", \"measure\": {number}, \"plays\": {number}}}");
        let plain = marking.replace(number, "2");
        assert_eq!(
            Board::from_json(&with_markings(&marking)),
            Board::from_json(&with_markings(&plain))
        );
    }
}

#[test]
fn marks_that_are_not_known_are_refused_with_the_nearest() {
    let marks = "`\"start-repeat\"`, `\"end-repeat\"`, `\"ending\"`, `\"segno\"`, `\"coda\"`, `\"to-coda\"`, `\"fine\"`, `\"da-capo\"`, \
        `\"dal-segno\"`, `\"double-bar\"`, `\"octave\"`, `\"fermata\"` or `\"only\"`";
    says(
        &with_markings(
            "{\"mark\": ▶\"fin\", \"measure\": 1},\n{\"mark\": ▶\"stile\", \"measure\": 9}, {\"mark\": ▶7}, ▶{\"measure\": 3}",
        ),
        &[
            &format!(
                "/markings/0/mark `\"fin\"` is not a value for `mark` | {marks}; did you mean `\"fine\"`?"
            ),
            &format!("/markings/1/mark `\"stile\"` is not a value for `mark` | {marks}"),
            &format!("/markings/2/mark `7` is not a value for `mark` | {marks}"),
            &format!("/markings/3 the key `mark` is missing | `mark` with {marks}"),
        ],
    );
}

#[test]
fn keys_that_are_not_known_are_refused_with_the_nearest() {
    says(
        &with_markings(
            "{\"mark\": \"fine\", ▶\"mesure\": 1},\n{\"mark\": \"ending\", ▶\"measure\": 1, \"passes\": [1]}, ▶{\"mark\": \"start-repeat\", ▶\"plays\": 2}",
        ),
        &[
            "/markings/0/mesure `mesure` is not a key of `fine` | `mark`, `measure`, `cut`, `arrivals` or `id`; did you mean `measure`?",
            "/markings/1/measure `measure` is not a key of `ending` | `mark`, `measures`, `passes`, `open` or `id`; did you mean `measures`?",
            "/markings/2 the key `measure` is missing | `measure` with a measure of the board, counted from 1",
            "/markings/2/plays `plays` is not a key of `start-repeat` | `mark`, `measure`, `cut` or `id`",
        ],
    );
    let board = "`$schema`, `board`, `title`, `composer`, `source`, `levels`, `meter`, `meters`, `pickup`, `systems`, `measure-numbers`, `markings`, `unplaced` or `reading`";
    says(
        "{\"board\": 1, \"systems\": [4],\n▶\"marking\": [],\n▶\"a/b~c\": 1}",
        &[
            &format!(
                "/marking `marking` is not a key of a board | {board}; did you mean `markings`?"
            ),
            &format!("/a~1b~0c `a/b~c` is not a key of a board | {board}"),
        ],
    );
    says(
        "{\"board\": 1, \"systems\": [4], \"reading\": {▶\"neste\": 1}}",
        &[
            "/reading/neste `neste` is not a key of a reading | `repeats-on-return`, `jump-in-repeat`, `armed-in-repeat`, `arming`, \
            `lone-end-repeat` or `nested`; did you mean `nested`?",
        ],
    );
}

#[test]
fn measures_off_the_board_are_refused_each_at_its_place() {
    says(
        &with_markings(
            "{\"mark\": \"fine\", \"measure\": ▶9},\n{\"mark\": \"ending\", \"measures\": [▶0, ▶9], \"passes\": [1]},\n{\"mark\": \"only\", \"measures\": ▶[3, 2]}",
        ),
        &[
            "/markings/0/measure measure 9 is off the board: its measures are 1 to 8 | a measure from 1 to 8",
            "/markings/1/measures/0 measure 0 is off the board: its measures are 1 to 8 | a measure from 1 to 8",
            "/markings/1/measures/1 measure 9 is off the board: its measures are 1 to 8 | a measure from 1 to 8",
            "/markings/2/measures the row of measures runs backwards, from 3 to 2 | the first measure, then the last: `[2, 3]`",
        ],
    );
}

#[test]
fn lists_of_passes_are_refused_number_by_number() {
    let wanted = "a list of whole numbers from 1 to 1000000, each once, such as `[1, 2]`";
    says(
        &with_markings(
            "{\"mark\": \"ending\", \"measures\": [1, 2], \"passes\": [▶0, 2, 1, ▶2, ▶1000001]},\n{\"mark\": \"fine\", \"measure\": 1, \"arrivals\": ▶[]},\n{\"mark\": \"fine\", \"measure\": 1, \"arrivals\": ▶1}",
        ),
        &[
            "/markings/0/passes/0 `0` is not a pass or an arrival: they are counted from 1 to 1000000 | a whole number from 1 to 1000000",
            &format!("/markings/0/passes/3 `2` stands twice in the list | {wanted}"),
            "/markings/0/passes/4 `1000001` is not a value for `passes` | a whole number from 1 to 1000000",
            &format!("/markings/1/arrivals a list of passes needs at least one number | {wanted}"),
            &format!("/markings/2/arrivals `1` is not a value for `arrivals` | {wanted}"),
        ],
    );
}

#[test]
fn systems_are_refused_one_by_one() {
    says(
        "{\"board\": 1, \"systems\": ▶[]}",
        &[
            "/systems a board needs at least one system | the number of measures of each system, such as `[4, 4]`",
        ],
    );
    says(
        "{\"board\": 1, \"systems\": [4, ▶0, ▶70000]}",
        &[
            "/systems/1 system 2 is empty: a system has at least one measure | a whole number of measures from 1 to 65535",
            "/systems/2 `70000` is not a value for `systems` | a whole number of measures from 1 to 65535",
        ],
    );
    says(
        "{\"board\": 1, \"systems\": ▶[65535, 1]}",
        &[
            "/systems the board has 65536 measures; the most is 65535 | systems with at most 65535 measures in all",
        ],
    );
    says(
        "▶▶{}",
        &[
            " the key `board` is missing | `board` with `1`, the version of the format",
            " the key `systems` is missing | `systems` with the number of measures of each system, such as `[4, 4]`",
        ],
    );
}

#[test]
fn other_versions_are_refused_and_nothing_else_is_said_of_them() {
    says(
        "{\"bord\": 0, \"board\": ▶2, \"lanes\": [4]}",
        &["/board version `2` of the format is not known here | `1`, the version of the format"],
    );
    says(
        "{\"board\": ▶\"1\", \"systems\": [4]}",
        &["/board `\"1\"` is not a value for `board` | `1`, the version of the format"],
    );
}

#[test]
fn keys_that_do_not_go_together_are_refused() {
    says(
        &with_markings(
            "{\"mark\": \"dal-segno\", \"measure\": 1, \"al\": ▶\"segno\"},\n\
             {\"mark\": \"da-capo\", \"measure\": 1, \"then\": ▶\"coda\", \"label\": ▶\"A\"},\n\
             {\"mark\": \"da-capo\", \"measure\": 1, \"al\": \"fine\", \"coda\": ▶\"B\"},\n\
             {\"mark\": \"fine\", \"measure\": 1, \"cut\": ▶\"1/0\"},\n\
             {\"mark\": \"fermata\", \"measure\": 1, \"when\": ▶{}}",
        ),
        &[
            "/markings/0/al al Segno goes with D.C. only: a D.S. has left from the segno already | `\"fine\"`, `\"coda\"`, `\"end\"`, or no `al`",
            "/markings/1/then `then` goes with al Fine or al Segno only | `al` with `\"fine\"` or `\"segno\"`, or no `then`",
            "/markings/1/label a D.C. goes to the beginning and has no label, unless it is a D.C. al Segno | `al` with `\"segno\"`, or no `label`",
            "/markings/2/coda `coda` names the coda of an al Coda, or of a `then coda`; this jump has neither | `al` with `\"coda\"`, `then` with `\"coda\"`, or no `coda`",
            "/markings/3/cut `\"1/0\"` is not a value for `cut` | a fraction of a whole note, such as `\"3/8\"`, both numbers at most 65535",
            "/markings/4/when the key `passes` is missing | `passes` with a list of whole numbers from 1 to 1000000, each once, such as `[1, 2]`",
        ],
    );
}

#[test]
fn everything_wrong_with_a_board_as_a_whole_is_said() {
    let text = format!(
        "{{\"board\": 1, \"systems\": [2],\n\
         \"title\": ▶\"{}\", \"composer\": ▶\"a\\nb\", \"source\": ▶null,\n\
         \"levels\": [1, 2, ▶1],\n\
         \"meters\": ▶[{{\"measure\": 2, \"meter\": \"4/4\"}}, {{\"measure\": ▶1, \"meter\": \"4/4\"}}, {{\"measure\": ▶3, \"meter\": \"4/4\"}}],\n\
         \"pickup\": ▶\"0/4\", \"measure-numbers\": ▶[\"1\", ▶\"1\\t\", ▶\"2{}\"],\n\
         \"markings\": [{{\"mark\": \"fine\", \"measure\": ▶3}}], \"unplaced\": [{{\"mark\": \"segno\", \"label\": ▶\"\\u0007\"}}]}}",
        "x".repeat(501),
        "y".repeat(60)
    );
    says(
        &text,
        &[
            "/title `title` has 501 characters; the most is 500 | a text of at most 500 characters",
            "/composer `composer` has a control character or a line break in it | a text on one line",
            "/source `null` is not a value for `source` | a text of at most 500 characters, without line breaks",
            "/levels/2 `1` is not a level: levels are numbers from 1 to 99, each once | whole numbers from 1 to 99, each once",
            "/meters a board with changes of meter needs a meter at its beginning | the key `meter` as well, or no `meters`",
            "/meters/1/measure changes of meter stand in order of their measures, one at a measure | changes of meter whose measures rise",
            "/meters/2/measure measure 3 is off the board: its measures are 1 to 2 | a measure from 1 to 2",
            "/pickup a pickup has a length above 0 | a fraction of a whole note above 0, such as `\"1/4\"`",
            "/measure-numbers the board has 2 measures and 3 printed measure numbers | a list of 2 texts, one for each measure",
            "/measure-numbers/1 `measure-numbers` has a control character or a line break in it | a text on one line",
            "/measure-numbers/2 `measure-numbers` has 61 characters; the most is 60 | a text of at most 60 characters",
            "/markings/0/measure measure 3 is off the board: its measures are 1 to 2 | a measure from 1 to 2",
            "/unplaced/0/label `label` has a control character or a line break in it | a text on one line",
        ],
    );
}

#[test]
fn the_most_markings_are_read_and_one_more_is_refused() {
    let sign = "{\"mark\":\"fine\",\"measure\":1}";
    let many = |count: usize| format!("[{}]", vec![sign; count].join(","));
    let file = |markings: &str, unplaced: &str| {
        format!(
            "{{\"board\": 1, \"systems\": [1], \"markings\": ▶{markings}, \"unplaced\": {unplaced}}}"
        )
    };
    assert!(Board::from_json(&file(&many(100_000), "[]").replace('▶', "")).is_ok());
    let accepted = "at most 100000 signs, those in the hand included";
    let said = format!("/markings the board has 100001 markings; the most is 100000 | {accepted}");
    says(&file(&many(100_001), "[]"), &[&said]);
    says(&file(&many(100_000), "[{\"mark\": \"fine\"}]"), &[&said]);
}

#[test]
fn after_a_thousand_complaints_one_more_says_that_there_may_be_others() {
    let said = said_of(&with_markings(&vec!["7"; 1500].join(",")));
    assert_eq!(said.len(), 1001);
    assert!(said[999].contains("/markings/999 `7` is not a value for `markings`"));
    assert!(said[1000].contains("only the first 1000 complaints are listed"));
    assert_eq!(
        said_of(&with_markings(&vec!["7"; 999].join(","))).len(),
        999
    );
}

/// Files of up to 16 MiB with as many mistakes as fit. The limit is far above what they take and far below what a walk over the file
/// for each mistake would take.
#[test]
fn files_full_of_mistakes_are_refused_as_soon_as_any_other() {
    let full_of = |start: &str, mistake: &str, most: usize, end: &str| {
        let room = (LARGEST_FILE - start.len() - end.len()) / (mistake.len() + 1);
        format!("{start}{}{end}", vec![mistake; room.min(most)].join(","))
    };
    let ending = "{\"board\": 1, \"systems\": [4], \"markings\": [{\"mark\": \"ending\", \"measures\": [1, 1], \"passes\": [";
    let names = "{\"board\": 1, \"systems\": [65535], \"measure-numbers\": [";
    let meters = "{\"board\": 1, \"systems\": [9], \"meters\": [";
    let signs = "{\"board\": 1, \"systems\": [9], \"markings\": [";
    let jump = "{\"mark\": \"da-capo\", \"measure\": 10, \"label\": \"A\", \"then\": \"coda\"}";
    for file in [
        full_of(ending, "0", usize::MAX, "]}]}"),
        full_of(ending, "\"\"", usize::MAX, "]}]}"),
        full_of("{\"board\": 1,", "\"a\": 0", usize::MAX, "}"),
        full_of(names, "\"\\n\"", 65_535, "]}"),
        full_of(
            meters,
            "{\"measure\": 10, \"meter\": \"4/4\"}",
            65_535,
            "]}",
        ),
        full_of(signs, jump, 100_000, "]}"),
        full_of(signs, "{\"mark\": \"fin\", \"mesure\": 1}", 100_000, "]}"),
    ] {
        let start = Instant::now();
        let error = Board::from_json(&file).unwrap_err();
        assert_eq!(error.complaints().len(), 1001);
        let taken = start.elapsed();
        assert!(
            taken < Duration::from_secs(10),
            "{taken:?} for {}",
            &file[..80]
        );
    }
}
