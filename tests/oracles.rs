//! What others say about the order of measures, recorded under `tests/oracles` (its README says how), against the orders given here.

use std::fs;
use std::path::{Path, PathBuf};

use fingerpost::{Board, Roadmap, Terms};
use serde_json::Value;

fn data(file: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/oracles/data")
        .join(file)
}

/// The rows of a recorded file.
fn rows(file: &str) -> Vec<Value> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/oracles/data")
        .join(file);
    let text =
        fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    text.lines()
        .map(|line| {
            serde_json::from_str(line).unwrap_or_else(|error| panic!("{file}: {error}: {line}"))
        })
        .collect()
}

/// The order that the handbook reading gives, as it is recorded: `1-8 1-16`.
fn order(board: &Value) -> Result<String, String> {
    order_of(&Board::from_json(&board.to_string()).map_err(|error| error.to_string())?)
}

fn order_of(board: &Board) -> Result<String, String> {
    let roadmap = Roadmap::new(board, &Terms::default()).map_err(|refusal| refusal.to_string())?;
    let mut runs: Vec<(u16, u16)> = Vec::new();
    let mut before = None;
    for step in roadmap.steps() {
        // A cut measure that is played through is one measure.
        let goes_on_inside = step
            .part
            .is_some_and(|part| before == Some((step.measure, part.from)));
        before = step.part.map(|part| (step.measure, part.to));
        match runs.last_mut() {
            _ if goes_on_inside => {}
            Some((_, last)) if *last + 1 == step.measure => *last = step.measure,
            _ => runs.push((step.measure, step.measure)),
        }
    }
    let written: Vec<String> = runs
        .into_iter()
        .map(|(first, last)| {
            if first == last {
                first.to_string()
            } else {
                format!("{first}-{last}")
            }
        })
        .collect();
    Ok(written.join(" "))
}

/// Order lists that the encoders of kern files declare (Humdrum: `*>[A,A,B]`), read with the signs of the same files.
#[test]
fn declared_orders() {
    let rows = rows("declared.jsonl");
    let mut replayed = 0;
    for row in rows.iter().filter(|row| row.get("out").is_none()) {
        let declared = row["order"].as_str().expect("a declared order");
        assert_eq!(
            order(&row["board"]).as_deref(),
            Ok(declared),
            "{}: {}",
            row["path"],
            row["declared"]
        );
        replayed += 1;
    }
    assert_eq!(
        (rows.len(), replayed),
        (29, 24),
        "5 files of the one package, 24 of the other; 5 cannot be replayed"
    );
}

/// The score sheet: invented tunes of which practice or a text says the order, read from `MusicXML` and from the tune book.
#[test]
fn score_sheet() {
    let cases = rows("sheet.jsonl");
    assert!(cases.len() >= 120, "{} cases", cases.len());
    let mut read = 0;
    for row in rows("sheet-musicxml.jsonl") {
        let case = usize::try_from(row["case"].as_u64().expect("a number")).expect("a case");
        let score = row["score"].as_str().expect("a score");
        let scores = fingerpost_notation::read(score.as_bytes()).expect("a readable score");
        plays(&scores[0].board, &cases[case - 1]);
        read += 1;
    }
    let book = fs::read_to_string(data("sheet.abc")).expect("the tune book");
    let numbers = book
        .lines()
        .filter_map(|line| line.strip_prefix("X:")?.parse::<usize>().ok());
    let tunes = fingerpost_notation::read(book.as_bytes()).expect("a readable book");
    assert_eq!(tunes.len(), numbers.clone().count());
    for (tune, case) in tunes.iter().zip(numbers) {
        plays(&tune.board, &cases[case - 1]);
        read += 1;
    }
    assert!(read >= 200, "{read} scores were read");
}

#[track_caller]
fn plays(board: &Board, case: &Value) {
    let order = order_of(board);
    assert_eq!(
        order.as_deref().ok(),
        case["order"].as_str(),
        "{}: {order:?}",
        case["tune"]
    );
}

/// Wherever the road of the score sheet does not go on to the next measure, a sign is named that made it do so, with its line.
#[test]
fn every_move_has_its_sign() {
    for row in rows("sheet.jsonl") {
        let board = Board::from_json(&row["board"].to_string()).expect("a board");
        let roadmap = Roadmap::new(&board, &Terms::default()).expect("a sound board");
        let mut moves = Vec::new();
        let mut before = 0;
        for step in roadmap.steps() {
            if step.measure != before + 1 {
                let marking = usize::try_from(step.marking.expect("a sign")).expect("an index");
                let kind = board.markings()[marking].sign().kind();
                moves.push(format!(
                    "{before}>{} {}: {kind}",
                    step.measure,
                    step.cause.name()
                ));
            }
            before = step.measure;
        }
        let recorded: Vec<&str> = row["moves"]
            .as_array()
            .expect("the moves")
            .iter()
            .filter_map(Value::as_str)
            .collect();
        for one in &moves {
            let named = recorded.iter().any(|recorded| {
                recorded
                    .strip_prefix(one.as_str())
                    .is_some_and(|line| line.starts_with(", line ") && !line.ends_with("None"))
            });
            assert!(named, "{}: {one} is not among {recorded:?}", row["tune"]);
        }
    }
}
