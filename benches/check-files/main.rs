//! Makes board files: `many-files FOLDER COUNT`. All of them are different and valid by the schema; about half are without errors, the others
//! are wrong in the ways that a generator by chance hits on.

// Not everything that the tests ask of the dice is needed here.
#[allow(dead_code)]
#[path = "../../tests/support/trials/chance.rs"]
mod chance;

use std::collections::HashSet;
use std::error::Error;
use std::fs;
use std::path::Path;

use chance::Dice;
use fingerpost::{Severity, check};

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [folder, count] = &arguments[..] else {
        return Err("usage: many-files FOLDER COUNT".into());
    };
    let (folder, count) = (Path::new(folder), count.parse::<usize>()?);
    let (mut made, mut wrong, mut bytes) = (HashSet::new(), 0, 0);
    let mut seed = 0;
    while made.len() < count {
        let mut dice = Dice::new(seed);
        let board = if seed % 3 == 0 {
            chance::wild(&mut dice)
        } else {
            chance::from_pieces(&mut dice)
        };
        seed += 1;
        let text = board.to_json();
        if !made.insert(text.clone()) {
            continue;
        }
        let errors = |finding: &fingerpost::Finding| finding.severity == Severity::Error;
        wrong += usize::from(check(&board).iter().any(errors));
        bytes += text.len();
        fs::write(folder.join(format!("board-{:05}.json", made.len())), text)?;
    }
    println!(
        "{count} different board files of {} bytes on average, {wrong} of them with errors",
        bytes / count.max(1)
    );
    Ok(())
}
