//! Playing in the terminal, and how long that takes: what a person sees, and what programs get. Boards are invented.

mod support {
    pub(crate) mod answers;
    pub(crate) mod command;
}

use serde_json::{Value, json};

use support::answers::valid;
use support::command::{ran, ran_on};

const BOARD: &str = "|: fermata 1 8vb(L.H., on repeat) | 2 :| 3 | 4 |]";

/// A text without its line breaks, which depend on how wide the names are.
fn flowing(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A place for files of one test.
fn folder(name: &str) -> std::path::PathBuf {
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

#[test]
fn throws_may_be_typed_or_thrown_and_each_sign_is_told() {
    let (status, out, err) = ran_on(
        &["play", "--seed", "7", "--players", "hat,boot", BOARD],
        "3\n9\nferry\n\nstop\n".as_bytes(),
    );
    assert_eq!((status, err.as_str()), (0, ""));
    for told in [
        "A new game. Players: hat, boot. A die with 6 faces. Seed: 7. The music has 6 steps.",
        "hat, throw: hat throws 3 and plays measures 1 2 1.",
        "  The end repeat at the end of measure 2 sends you back to the start repeat at measure 1",
        "  In measure 1 the left hand plays one octave lower.",
        "  hat holds the fermata, and the next turn of hat passes.",
        "boot, throw: Not so: a die with 6 faces shows 1 to 6, not 9",
        "`ferry` is no throw: a number from 1 to 6, Enter alone, or `stop`",
        "boot, throw: boot throws 1 and plays measure 1.",
        "The game is not over, and is not kept; --save FILE keeps it.",
    ] {
        assert!(out.contains(told), "{told}\n{out}");
    }
}

#[test]
fn a_game_that_was_kept_goes_on_as_if_nothing_had_been() {
    let folder = folder("kept-game");
    let file = folder.join("friday.json");
    let file = file.to_str().unwrap();
    let long = "1 | 2 | 3 | 4 | 5 | 6 | 7 | 8 | 9 | 10 | 11 | 12 | 13 | 14 | 15 | 16 |";
    let at_once = ran_on(&["play", "--seed", "3", long], "\n".repeat(40).as_bytes());
    let kept = ran_on(
        &["play", "--seed", "3", "--save", file, long],
        "\n\n\n".as_bytes(),
    );
    assert!(flowing(&kept.1).contains("goes on with it"), "{}", kept.1);
    let again = ran_on(&["play", file], "\n".repeat(40).as_bytes());
    assert_eq!(again.0, 0);
    let throws = |text: &str| -> Vec<String> {
        let lines = text.lines().filter(|line| line.contains(" throws "));
        lines
            .map(|line| line.split(": ").last().unwrap().to_owned())
            .collect()
    };
    let both = [throws(&kept.1), throws(&again.1)].concat();
    assert_eq!(throws(&at_once.1), both);
    assert!(
        again.1.contains("has come to the end of the music first."),
        "{}",
        again.1
    );
    // A game is not written over by another.
    let (status, _, err) = ran(&["play", "--save", file, long]);
    assert_eq!(status, 2);
    assert!(err.contains("is there already"), "{err}");
    // A file that was changed by hand is refused with the throw that is not possible.
    let mut saved: Value = serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap();
    saved["throws"] = json!([6, 6, 6, 6, 6, 6, 6, 6, 6]);
    std::fs::write(file, saved.to_string()).unwrap();
    let (status, _, err) = ran(&["play", file]);
    assert_eq!(status, 2);
    assert!(
        err.contains("throw 6 of the saved game is not possible: the game is over"),
        "{err}"
    );
    saved["dice"] = json!(2);
    std::fs::write(file, saved.to_string()).unwrap();
    let (status, _, err) = ran(&["play", file]);
    assert_eq!(status, 2);
    assert!(err.contains("unknown field `dice`"), "{err}");
}

#[test]
fn the_door_plays_by_giving_the_game_back() {
    let start = json!({
        "verb": "game", "action": "start", "line": BOARD, "players": ["A", "B"], "seed": "18446744073709551615"
    });
    let ask = |request: &Value| -> Value {
        let text = fingerpost_json::answer(&request.to_string());
        let schema = if text.contains("\"error\"") {
            "error"
        } else {
            "game"
        };
        valid(schema, &text)
    };
    let mut answer = ask(&start);
    assert_eq!(answer["turn"], 0);
    assert_eq!(answer["game"]["seed"], "18446744073709551615");
    let throw = json!({ "verb": "game", "action": "throw", "game": answer["game"], "thrown": 3 });
    let after = ask(&throw);
    assert_eq!(after["throw"]["walked"][2]["measure"], 1);
    assert_eq!(after["throw"]["end"], "holds");
    assert_eq!(after["pieces"][0]["measure"], 1);
    let wrong = json!({ "verb": "game", "action": "throw", "game": after["game"], "player": 0 });
    assert_eq!(
        ask(&wrong)["error"]["message"],
        "A holds a fermata and the next turn passes; it is the turn of B"
    );
    let mut rounds = 0;
    while answer["turn"].is_u64() {
        answer = ask(&json!({ "verb": "game", "action": "throw", "game": answer["game"] }));
        rounds += 1;
        assert!(rounds < 50);
    }
    let shown = ask(&json!({ "verb": "game", "action": "show", "game": answer["game"] }));
    assert_eq!(shown["pieces"], answer["pieces"]);
    let over = ask(&json!({ "verb": "game", "action": "throw", "game": answer["game"] }));
    assert_eq!(over["error"]["message"], "the game is over");
    let none = ask(&json!({ "verb": "game", "action": "throw" }));
    assert!(
        none["error"]["message"]
            .as_str()
            .unwrap()
            .contains("no `game`")
    );
}

#[test]
fn how_long_a_game_lasts_is_told_in_words_and_numbers() {
    // Two measures and a coin for two, worked out by hand in the library's tests: 3/4 and 1/4, 7/4 turns.
    let args = [
        "how-long",
        "--faces",
        "2",
        "--seconds",
        "60",
        "--minutes",
        "1",
        "1 | 2 |",
    ];
    let (status, out, _) = ran(&args);
    assert_eq!(status, 0);
    for told in [
        "One piece alone needs 1.5 throws",
        "after 1.8 turns on average: half of the games take up to 1, nine in ten up to 3.",
        "The first piece is home within the lesson in 50.0 games of 100.",
        "the seats win 75.0, 25.0.",
    ] {
        assert!(flowing(&out).contains(told), "{told}\n{out}");
    }
    let (_, json, _) = ran(&[&args[..], &["--json"]].concat());
    let answer = valid("how-long", &json);
    assert_eq!(answer["turns"]["expected"], 1.75);
    assert_eq!(answer["wins"], json!([0.75, 0.25]));
    assert_eq!(answer["time"]["in-time"], 0.5);
}

#[test]
fn lines_that_are_held_against_each_other_are_numbered() {
    let args = [
        "how-long",
        "--minutes",
        "5",
        "1 | 2 | 3 | 4 |]",
        "1 | 2 :| 3 |]",
    ];
    let (status, out, _) = ran(&args);
    assert_eq!(status, 0);
    assert!(out.starts_with("line 1\n"), "{out}");
    assert!(out.contains("\nline 2\n"), "{out}");
    assert!(out.contains("Best for this lesson: line 2;"), "{out}");
    let (_, json, _) = ran(&[&args[..], &["--json"]].concat());
    let answers: Vec<Value> = json.lines().map(|it| valid("how-long", it)).collect();
    let told: Vec<(&str, bool)> = answers
        .iter()
        .map(|it| {
            let name = it["board"].as_str().unwrap_or_default();
            (name, it["best"] == true)
        })
        .collect();
    assert_eq!(told, [("line 1", false), ("line 2", true)]);
    // One board alone needs no name, and one thing is counted as one.
    let (_, json, _) = ran(&["how-long", "--minutes", "5", "--json", "1 |]"]);
    let one = valid("how-long", &json);
    assert!(one.get("board").is_none() && one.get("best").is_none());
    let (_, out, _) = ran(&["how-long", "1 |]"]);
    assert!(out.starts_with("The music has 1 step."), "{out}");
    let (_, out, _) = ran(&["hand", ":|", "--measures", "3"]);
    assert!(
        out.starts_with("`:|`: there are 3 ways to lay it on 3 measures."),
        "{out}"
    );
}

#[test]
fn the_board_that_fits_the_lesson_is_named_and_one_without_a_length_hides_no_other() {
    let long = "{title \"Long\"} |: 1 | 2 | 3 | 4 | 5 | 6 | 7 | 8 :|x5";
    let boards = ["{title \"Short\"} 1 | 2 |", "|: 1 :|(plays open)", long];
    let args = ["how-long", "--minutes", "15"];
    let (status, out, err) = ran(&[&args[..], &boards[..]].concat());
    assert_eq!(status, 2);
    assert!(err.contains("with --plays N"), "{err}");
    assert!(out.contains("Best for this lesson: Long;"), "{out}");
    let (status, _, err) = ran(&["how-long", "--players", "9", "1 | 2 |"]);
    assert_eq!(
        (status, err.contains("a game has 1 to 8 players, not 9")),
        (2, true)
    );
    let (status, _, err) = ran(&["how-long", "--seconds", "0", "1 | 2 |"]);
    assert_eq!(
        (status, err.contains("`seconds` is a number from 0.1")),
        (2, true)
    );
}

#[test]
fn the_door_replays_a_game_and_refuses_what_means_nothing_to_its_action() {
    let ask = |request: &Value| -> Value {
        let text = fingerpost_json::answer(&request.to_string());
        let schema = if text.contains("\"error\"") {
            "error"
        } else {
            "game"
        };
        valid(schema, &text)
    };
    let message = |request: Value| {
        ask(&request)["error"]["message"]
            .as_str()
            .unwrap()
            .to_owned()
    };
    let start = json!({ "verb": "game", "action": "start", "line": BOARD, "players": ["hat", "boot"], "seed": 7 });
    let mut game = ask(&start)["game"].clone();
    let mut throws = Vec::new();
    for _ in 0..3 {
        let answer =
            ask(&json!({ "verb": "game", "action": "throw", "game": game, "line": BOARD }));
        throws.push(answer["throw"].clone());
        game = answer["game"].clone();
    }
    let replay = ask(&json!({ "verb": "game", "action": "replay", "game": game }));
    assert_eq!(replay["throws"], json!(throws));
    assert_eq!(replay["game"], game);
    let told =
        message(json!({ "verb": "game", "action": "throw", "game": game, "line": "1 | 2 | 3 |]" }));
    assert!(
        told.starts_with("this game was begun on another board"),
        "{told}"
    );
    for (key, value, why) in [
        ("players", json!(["A"]), "is only to start"),
        ("rules", json!({ "faces": 4 }), "is only to start"),
        ("seed", json!(1), "is only to start"),
        ("thrown", json!(3), "is only to throw"),
        ("player", json!(0), "is only to throw"),
    ] {
        let mut request = json!({ "verb": "game", "action": "show", "game": game });
        request[key] = value;
        let told = message(request);
        assert!(told.starts_with(&format!("`{key}` {why}")), "{told}");
    }
    let mut again = start.clone();
    again["game"] = game.clone();
    assert!(message(again).starts_with("`game` is not for the start"));
    game["game"] = json!(2);
    game["weather"] = json!("rain");
    let told = message(json!({ "verb": "game", "action": "show", "game": game }));
    assert!(
        told.contains("was saved in version 2 of its form"),
        "{told}"
    );
}

#[test]
fn a_saved_game_keeps_its_rules_and_a_line_without_end_is_no_throw() {
    let folder = folder("kept-rules");
    let file = folder.join("monday.json");
    let file = file.to_str().unwrap();
    // A file of the user's own beside it stays.
    let other = folder.join("monday.new");
    std::fs::write(&other, "notes").unwrap();
    let (status, _, _) = ran_on(
        &["play", "--seed", "3", "--save", file, BOARD],
        "1\n1\n1\n".as_bytes(),
    );
    assert_eq!(status, 0);
    assert_eq!(std::fs::read_to_string(other).unwrap(), "notes");
    let (status, _, err) = ran(&["play", "--faces", "4", "--players", "C", file]);
    assert_eq!(status, 2);
    assert!(
        err.contains("goes on with what it began with: leave out --players, --faces"),
        "{err}"
    );
    let text = std::fs::read_to_string(file).unwrap();
    std::fs::write(file, text.replace("{\"game\":1", "{\"game\":9")).unwrap();
    let (status, _, err) = ran(&["play", file]);
    assert_eq!(status, 2);
    assert!(
        flowing(&err).contains("was saved in version 9 of its form"),
        "{err}"
    );
    let (status, _, err) = ran_on(
        &["play", "--seed", "3", BOARD],
        "1".repeat(5_000).as_bytes(),
    );
    assert_eq!(status, 2);
    assert!(err.contains("a line of the input is no throw"), "{err}");
}

#[test]
fn how_long_until_all_are_home_is_told_for_all() {
    // Worked out by hand in the library's tests: 2, 3 or 4 turns with 1/4, 1/2, 1/4.
    let args = [
        "how-long",
        "--faces",
        "2",
        "--all-home",
        "--seconds",
        "60",
        "--minutes",
        "3",
        "1 | 2 |",
    ];
    let (status, out, _) = ran(&args);
    assert_eq!(status, 0);
    for told in [
        "Until all pieces are home it takes 3.0 turns on average: half of the games take up to 3, nine in ten up to 4.",
        "3.0 minutes on average; half of the games are over within 3.0 minutes, nine in ten within 4.0.",
        "All pieces are home within the lesson in 75.0 games of 100.",
    ] {
        assert!(flowing(&out).contains(told), "{told}\n{out}");
    }
    let (_, json, _) = ran(&[&args[..], &["--json"]].concat());
    let answer = valid("how-long", &json);
    assert_eq!(
        answer["turns-all-home"]["chances"],
        json!([[2, 0.25], [3, 0.5], [4, 0.25]])
    );
    assert_eq!(answer["throws"]["chances"], json!([[1, 0.5], [2, 0.5]]));
    // A very long route: no exact numbers, and an approximation that says what it is. 2 * 30 000 / 7 is 8571.
    let (status, _, err) = ran(&["how-long", "|: 1 | 2 | 3 :|x10000"]);
    assert_eq!(status, 2);
    let err = flowing(&err);
    assert!(
        err.contains("routes of up to 20000 measures; this one has 30000"),
        "{err}"
    );
    assert!(
        err.contains("an approximation without fermatas held, one piece needs about 8572 throws"),
        "{err}"
    );
}

#[test]
fn the_game_on_the_page_is_a_game() {
    let page = include_str!("../spec/playing.md");
    let text = page
        .split("```json\n")
        .nth(1)
        .unwrap()
        .split("```")
        .next()
        .unwrap()
        .trim();
    let saved: fingerpost::SavedGame = serde_json::from_str(text).unwrap();
    let game = fingerpost::Game::restore(&saved).unwrap();
    assert_eq!(serde_json::to_string(&game.save()).unwrap(), text);
    for key in [
        "faces",
        "exact-finish",
        "fermata-holds",
        "start",
        "until",
        "omit-repeats",
        "plays",
    ] {
        assert!(page.contains(&format!("`{key}`")), "{key}");
    }
}
