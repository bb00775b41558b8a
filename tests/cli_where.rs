//! The commands `where` and `missing`, and the verbs behind them.

mod support {
    pub(crate) mod answers;
    pub(crate) mod command;
}

use fingerpost_json::answer;
use serde_json::{Value, json};

use support::answers::valid;
use support::command::{Ran, ran_with};

fn ran(args: &[&str]) -> Ran {
    ran_with(args, &mut std::io::empty(), None)
}

const IN_THE_MAKING: &str = "|: 1 | 2 | [1. 3 :| [2. 4 | 5 D.C. al Fine |]";

#[test]
fn places_are_told_in_plain_words() {
    let strain = "1 | 2 |: 3 | 4 :| 5 | 6 |]";
    let asked = [
        ("fine", IN_THE_MAKING, "Fine"),
        ("segno", "1 | 2 D.S. | 3 | segno:B 4 |]", "segno"),
        ("start-repeat", strain, "|:"),
        ("ending", strain, "[1."),
        ("dal-segno-al-coda", strain, "D.S. al Coda"),
        ("octave", strain, "8va(on repeat)"),
    ];
    for (name, line, sign) in asked {
        let ran = ran(&["where", line, sign]);
        assert_eq!(ran.err, "", "{name}");
        insta::assert_snapshot!(format!("where-{name}"), ran.out);
    }
}

#[test]
fn without_a_sign_the_hand_is_asked() {
    let line = "{unplaced Fine, |:, Fine} 1 | 2 | 3 :| 4 D.C. al Fine |]";
    let ran = ran(&["where", line]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    assert!(ran.out.contains("Fine, in the hand\n"), "{}", ran.out);
    assert!(ran.out.contains("start repeat, in the hand\n"));
    assert_eq!(ran.out.matches(", in the hand\n").count(), 2);
}

#[test]
fn the_exit_status_says_whether_the_sign_may_go_somewhere_now() {
    assert_eq!(ran(&["where", IN_THE_MAKING, "Fine"]).status, 0);
    // A D.S. needs its segno wherever it stands.
    assert_eq!(ran(&["where", "1 | 2 |]", "D.S."]).status, 1);
    assert_eq!(ran(&["where", "--json", "1 | 2 |]", "D.S."]).status, 1);
    for (sign, said) in [
        ("Fin", "did you mean `Fine`?"),
        ("Fine D.C.", "more than one sign"),
        ("", "no sign"),
        ("D.S. al Segno", "al Segno"),
    ] {
        let refused = ran(&["where", "1 | 2 |]", sign]);
        assert_eq!(refused.status, 2, "{sign}");
        assert!(refused.err.contains(said), "{sign}: {}", refused.err);
        let refused = ran(&["where", "--json", "1 | 2 |]", sign]);
        assert_eq!(refused.status, 2);
        assert_eq!(valid("error", &refused.err)["error"]["kind"], "request");
    }
    let empty = ran(&["where", "1 | 2 |]"]);
    assert_eq!(empty.status, 2);
    assert!(empty.err.contains("none in its hand"), "{}", empty.err);
}

#[test]
fn every_sign_that_the_refusal_names_is_accepted() {
    for wrong in ["xyz", "to", "-", "3", "al"] {
        let refused = ran(&["where", "1 | 2 |]", wrong]);
        assert_eq!(refused.status, 2, "{wrong}");
        let (_, accepted) = refused.err.split_once("accepted: ").expect("a list");
        let accepted = accepted.trim().trim_start_matches("a sign: ");
        assert!(accepted.split(", ").count() > 3, "{accepted}");
        for sign in accepted.split(", ") {
            let sign = sign.trim_matches('`');
            let asked = ran(&["where", "1 | 2 |]", sign]);
            assert_ne!(asked.status, 2, "{wrong}: {sign}: {}", asked.err);
        }
    }
}

/// Common practice: a To Coda stands before its coda (rulebook, chapter 4), so that a coda at measure 1 is never come to.
#[test]
fn a_sign_of_which_nothing_can_come_is_not_legal() {
    let ran = ran(&["where", "1 | 2 | 3 D.C. al Coda | 4 |]", "coda"]);
    assert_eq!(ran.status, 0);
    let said = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    let not_legal = "at measure 1: not legal, for it leaves no place for what is needed: \
                     A D.C. al Coda or D.S. al Coda needs a To Coda. [to-coda-missing]";
    assert!(said.contains(not_legal), "{said}");
    assert!(
        said.contains("at measure 3: legal; still missing: a To Coda (after measures 1 and 2)"),
        "{said}"
    );
    let request =
        json!({ "verb": "where", "line": "1 | 2 | 3 D.C. al Coda | 4 |]", "sign": "coda" });
    let answer = valid("where", &ask(&request));
    let place = &answer["signs"][0]["places"][0];
    assert_eq!(place["verdict"], "not-legal");
    assert_eq!(place["findings"][0]["rule"], "to-coda-missing");
}

#[test]
fn what_is_still_missing_beside_the_sign_is_named() {
    let line = "1 | 2 | 3 | 4 D.S. al Coda | 5 |]";
    let ran = ran(&["where", line, "segno"]);
    let said = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    let still = "legal; still missing: a To Coda (after measures 1 to 4) and \
                 a coda (at measures 2 to 5)";
    assert!(said.contains(still), "{said}");
    let request = json!({ "verb": "where", "line": line, "sign": "segno" });
    let answer = valid("where", &ask(&request));
    let place = &answer["signs"][0]["places"][1];
    assert_eq!(place["verdict"], "legal");
    assert_eq!(
        place["still-missing"][0],
        json!([
            { "sign": "To Coda", "places": [[1, 1], [2, 2], [3, 3], [4, 4]] },
            { "sign": "coda", "places": [[2, 2], [3, 3], [4, 4], [5, 5]] },
        ])
    );
    assert!(place.get("road").is_none());
}

#[test]
fn what_is_missing_is_told_in_plain_words() {
    let asked = [
        ("dal-segno-al-coda", "1 | 2 | 3 | 4 D.S. al Coda |]"),
        ("hand", "{unplaced :|x3, Fine} 1 |: 2 | 3 | 4 |]"),
        ("in-the-way", "1 D.S. | segno 2 |]"),
    ];
    for (name, line) in asked {
        let ran = ran(&["missing", line]);
        assert_eq!((ran.status, ran.err.as_str()), (1, ""), "{name}");
        insta::assert_snapshot!(format!("missing-{name}"), ran.out);
    }
    let whole = ran(&["missing", "|: 1 | 2 :|"]);
    assert_eq!(whole.status, 0);
    assert!(whole.out.contains("Nothing is missing"), "{}", whole.out);
}

fn ask(request: &Value) -> String {
    answer(&request.to_string())
}

#[test]
fn the_verb_where_gives_each_place_its_verdict() {
    let request =
        json!({ "verb": "where", "line": "1 | segno 2 | 3 D.S. al Fine |]", "sign": "Fine" });
    let answer = valid("where", &ask(&request));
    let sign = &answer["signs"][0];
    assert_eq!(sign["sign"], "Fine");
    let places = sign["places"].as_array().unwrap();
    let verdicts: Vec<&str> = places
        .iter()
        .map(|place| place["verdict"].as_str().unwrap())
        .collect();
    // After measure 1 the return never comes by: nothing changes, once the Fine that is missing is there.
    assert_eq!(verdicts, ["legal", "legal", "legal"]);
    assert_eq!(places[1]["road"]["order"], json!([1, 2, 3, 2]));
    assert_eq!(places[1]["road"]["settled"], true);

    let request = json!({ "verb": "where", "line": "1 | 2 | 3 |]", "sign": "D.S. al Fine" });
    let answer = valid("where", &ask(&request));
    let place = &answer["signs"][0]["places"][1];
    assert_eq!(place["verdict"], "needs-partner");
    assert_eq!(
        place["partners"],
        json!([[
            { "sign": "segno", "places": [[1, 1], [2, 2]] },
            { "sign": "Fine", "places": [[1, 1], [2, 2], [3, 3]] }
        ]])
    );
    let request = json!({ "verb": "where", "line": "1 D.S. | 2 | 3 |]", "sign": "segno" });
    let answer = valid("where", &ask(&request));
    let place = &answer["signs"][0]["places"][1];
    assert_eq!(place["verdict"], "not-legal");
    assert_eq!(place["findings"][0]["rule"], "segno-after-jump");

    let request = json!({ "verb": "where", "line": "{unplaced [1.} 1 | 2 | 3 |]" });
    let answer = valid("where", &ask(&request));
    let sign = &answer["signs"][0];
    assert_eq!(
        (&sign["sign"], &sign["in-hand"]),
        (&json!("[1."), &json!(0))
    );
    assert_eq!(sign["places"].as_array().unwrap().len(), 6);
}

#[test]
fn a_road_that_hangs_on_the_reading_says_so() {
    let request = json!({ "verb": "where", "line": "|: 1 | 2 | 3 D.C. |]", "sign": ":|" });
    let answer = valid("where", &ask(&request));
    let road = &answer["signs"][0]["places"][1]["road"];
    assert_eq!(road["settled"], false);
    assert_eq!(road["questions"], json!(["repeats-on-return"]));
    let ran = ran(&["where", "|: 1 | 2 | 3 D.C. |]", ":|"]);
    let words: Vec<&str> = ran.out.split_whitespace().collect();
    let said = "(other readings play it otherwise: repeats-on-return)";
    assert!(words.join(" ").contains(said), "{}", ran.out);
}

#[test]
fn the_verb_missing_gives_sets_arrangements_and_a_proposal() {
    let request = json!({ "verb": "missing", "line": "{unplaced Fine} 1 | 2 | 3 D.C. al Fine |]" });
    let answer = valid("missing", &ask(&request));
    assert_eq!(answer["complete"], true);
    assert_eq!(answer["lacking"][0]["rule"], "fine-missing");
    let set = &answer["sets"][0];
    assert_eq!(set["signs"][0]["in-hand"], 0);
    assert_eq!(set["arrangements"], 3);
    assert_eq!(answer["least"], 1);
    let proposed: fingerpost::Board = set["line"].as_str().unwrap().parse().unwrap();
    assert!(proposed.unplaced().is_empty());
    assert!(set["road"]["length"].as_u64().unwrap() > 3);
    let whole = valid(
        "missing",
        &ask(&json!({ "verb": "missing", "line": "|: 1 :| 2 |]" })),
    );
    assert_eq!(
        (&whole["lacking"], &whole["sets"]),
        (&json!([]), &json!([]))
    );
    assert!(whole.get("least").is_none());
}

/// One D.C. leaves no error, and does not have both the Fine and the To Coda obeyed; three signs are needed for that.
#[test]
fn the_verb_missing_says_with_how_few_signs_a_board_can_be_legal() {
    let request = json!({ "verb": "missing", "line": "1 | 2 Fine | 3 To Coda | coda 4 |" });
    let answer = valid("missing", &ask(&request));
    let sizes = answer["sets"].as_array().unwrap().iter();
    let sizes: Vec<usize> = sizes
        .map(|it| it["signs"].as_array().unwrap().len())
        .collect();
    assert!(sizes.iter().all(|&size| size == 3), "{sizes:?}");
    assert!(!sizes.is_empty());
    assert_eq!(answer["least"], 1);
}

#[test]
fn a_board_that_is_too_large_is_refused() {
    for verb in ["where", "missing"] {
        let board = json!({ "board": 1, "systems": [65535] });
        let mut request = json!({ "verb": verb, "board": board });
        if verb == "where" {
            request["sign"] = json!("Fine");
        }
        let refused = valid("error", &ask(&request));
        let message = refused["error"]["message"].as_str().unwrap();
        assert!(message.contains("at most 1000 measures"), "{message}");
    }
}
