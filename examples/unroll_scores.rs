//! Writes MusicXML scores out in playing order: `cargo run --example unroll_scores -- FOLDER SCORE...` puts each into the folder, and
//! says what could not be kept.
//!
//! Copying a published score may need its owner's permission, an unrolled copy too.

use std::path::Path;
use std::process::ExitCode;

use fingerpost_notation::{Unrolling, unrolled};

fn main() -> ExitCode {
    let mut names = std::env::args().skip(1);
    let Some(folder) = names.next() else {
        eprintln!("name a folder, and the scores that go there unrolled");
        return ExitCode::from(2);
    };
    let mut failed = false;
    for name in names {
        let bytes = match std::fs::read(&name) {
            Ok(bytes) => bytes,
            Err(error) => {
                eprintln!("{name}: {error}");
                failed = true;
                continue;
            }
        };
        match unrolled(&bytes, &Unrolling::default()) {
            Ok(score) => {
                for notice in &score.notices {
                    let line = notice
                        .line
                        .map_or(String::new(), |line| format!("line {line}: "));
                    println!("{name}: {line}{}; {}", notice.message, notice.help);
                }
                let stem = Path::new(&name)
                    .file_stem()
                    .unwrap_or_default()
                    .to_string_lossy();
                let target = Path::new(&folder).join(format!("{stem}-unrolled.musicxml"));
                if let Err(error) = std::fs::write(&target, &score.text) {
                    eprintln!("{}: {error}", target.display());
                    failed = true;
                }
            }
            Err(error) => {
                let line = error
                    .line()
                    .map_or(String::new(), |line| format!("line {line}: "));
                eprintln!("{name}: {line}{error}");
                failed = true;
            }
        }
    }
    ExitCode::from(u8::from(failed))
}
