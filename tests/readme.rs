//! What the README shows is what the command prints, and the example of the spread of deals. `UPDATE=1 cargo test --test readme` writes it anew; read it before you keep it.

#[allow(dead_code, reason = "the example is a program of its own too")]
#[path = "../examples/spread_of_deals.rs"]
mod spread;

use fingerpost_cli::{Streams, run};

const README: &str = "README.md";

/// What the command prints for one line of a shell, without its exit status.
fn printed(line: &str) -> String {
    let mut out = Vec::new();
    let mut err = Vec::new();
    let streams = Streams {
        stdin: &mut std::io::empty(),
        stdout: &mut out,
        stderr: &mut err,
        width: None,
        progress: false,
    };
    run(words(line), streams);
    out.extend(err);
    String::from_utf8(out).expect("the command prints text")
}

/// The words of a shell line with single quotes.
fn words(line: &str) -> Vec<String> {
    let pieces = line.split('\'').enumerate();
    pieces
        .flat_map(|(index, piece)| {
            if index % 2 == 1 {
                vec![piece.to_owned()]
            } else {
                piece.split_whitespace().map(str::to_owned).collect()
            }
        })
        .collect()
}

#[test]
fn the_readme_shows_what_the_command_prints() {
    let readme = std::fs::read_to_string(README).expect("the README is there");
    let mut fresh = String::new();
    let mut shown = 0;
    let mut lines = readme.lines();
    let spread = spread::table().expect("boards can be dealt");
    let (spread_head, _) = spread.split_once('\n').expect("a table");
    let mut spreads = 0;
    while let Some(line) = lines.next() {
        if line == spread_head {
            spreads += 1;
            fresh.push_str(&spread);
            fresh.push('\n');
            // The blank line that ends the table is taken with it.
            lines.by_ref().take_while(|line| !line.is_empty()).count();
            continue;
        }
        fresh.push_str(line);
        fresh.push('\n');
        if line != "```console" {
            continue;
        }
        for inside in lines.by_ref() {
            if inside == "```" {
                break;
            }
            if let Some(command) = inside.strip_prefix("$ ") {
                shown += 1;
                let output: Vec<String> = printed(command)
                    .lines()
                    .map(|line| line.trim_end().to_owned())
                    .collect();
                for line in ["$ ", command, "\n", output.join("\n").trim_end(), "\n"] {
                    fresh.push_str(line);
                }
            }
        }
        fresh.push_str("```\n");
    }
    assert!(shown >= 4, "the README shows too little of the command");
    assert_eq!(spreads, 1, "the README shows the spread of deals");
    if std::env::var_os("UPDATE").is_some() {
        std::fs::write(README, &fresh).expect("the README can be written");
    }
    assert!(
        readme == fresh,
        "the README shows something else than the command prints; `UPDATE=1 cargo test --test readme` writes it anew"
    );
}
