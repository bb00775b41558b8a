//! Writes the seeds of the fuzz targets into `corpus`: the boards of the examples and of the cases, as files and as lines, and a few rows of
//! numbers for boards made by chance; the same boards as scores; and the scores under `seeds`. Run by `./run`.

use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};

use fingerpost::Board;
use serde_json::Value;

fn main() -> Result<(), Box<dyn Error>> {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let root = here.join("../..");
    let mut files = Vec::new();
    for path in json_files(&root.join("examples/boards"))? {
        files.push(fs::read_to_string(path)?);
    }
    for path in json_files(&root.join("spec/conformance"))? {
        boards_in(
            &serde_json::from_str(&fs::read_to_string(path)?)?,
            &mut files,
        );
    }
    files.sort_unstable();
    files.dedup();
    for (number, file) in files.iter().enumerate() {
        write(here, "board_json", number, file.as_bytes())?;
        if let Ok(board) = Board::from_json(file) {
            let line = board.to_line();
            write(here, "board_line", number, line.as_bytes())?;
            write(here, "check_then_unroll", number, line.as_bytes())?;
            write(here, "score_written", number, line.as_bytes())?;
            let score = fingerpost_notation::write_musicxml(&board).text;
            write(here, "score_musicxml", number, score.as_bytes())?;
            // Which name and which packing: the two bytes before the text.
            let name = u8::try_from(number % 8)?;
            let packed = [&[name, 1 + 2 * name], score.as_bytes()].concat();
            write(here, "score_mxl", number, &packed)?;
        }
    }
    for number in 0..40_u8 {
        let kind: &[u8] = if number % 2 == 0 { b"#" } else { b"#w" };
        let numbers =
            (0..80_u8).map(|k| k.wrapping_mul(31).wrapping_add(number.wrapping_mul(97)) ^ (k >> 2));
        let bytes: Vec<u8> = kind.iter().copied().chain(numbers).collect();
        for target in ["check_then_unroll", "score_written"] {
            write(here, target, files.len() + usize::from(number), &bytes)?;
        }
    }
    for target in fs::read_dir(here.join("seeds"))? {
        let target = target?;
        let name = target.file_name();
        for (number, seed) in fs::read_dir(target.path())?.enumerate() {
            let bytes = fs::read(seed?.path())?;
            let number = files.len() + 1000 + number;
            write(here, &name.to_string_lossy(), number, &bytes)?;
        }
    }
    println!("seeds from {} boards", files.len());
    Ok(())
}

fn json_files(folder: &Path) -> Result<Vec<PathBuf>, Box<dyn Error>> {
    let mut paths = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path
            .extension()
            .is_some_and(|extension| extension == "json")
        {
            paths.push(path);
        }
    }
    paths.sort_unstable();
    Ok(paths)
}

/// Everything below a value that is a board.
fn boards_in(value: &Value, boards: &mut Vec<String>) {
    match value {
        Value::Object(map) if map.contains_key("systems") => boards.push(value.to_string()),
        Value::Object(map) => map.values().for_each(|value| boards_in(value, boards)),
        Value::Array(list) => list.iter().for_each(|value| boards_in(value, boards)),
        _ => {}
    }
}

fn write(here: &Path, target: &str, number: usize, bytes: &[u8]) -> Result<(), Box<dyn Error>> {
    let folder = here.join("corpus").join(target);
    fs::create_dir_all(&folder)?;
    fs::write(folder.join(format!("seed-{number:04}")), bytes)?;
    Ok(())
}
