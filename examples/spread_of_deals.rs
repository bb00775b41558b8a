//! How much alike the boards are that are dealt: of 2 000 boards of 16 measures for each level, how many structures they have, and which comes
//! most often.
//!
//! `cargo run --release --example spread_of_deals`

use std::collections::BTreeMap;
use std::error::Error;
use std::fmt::Write;

use fingerpost::{Levels, Wish, deal, structure};

const SEEDS: u32 = 2_000;

fn main() -> Result<(), Box<dyn Error>> {
    print!("{}", table()?);
    Ok(())
}

/// The table that the README shows.
pub(crate) fn table() -> Result<String, Box<dyn Error>> {
    let mut table = String::new();
    writeln!(
        table,
        "| level | structures | the commonest | its share |\n|---|---|---|---|"
    )?;
    for level in Levels::built_in().list() {
        let wish = Wish::level(16, level.level);
        let mut counts: BTreeMap<String, u32> = BTreeMap::new();
        for seed in 0..SEEDS {
            let dealt = deal(&wish, seed.into())?;
            *counts.entry(structure(&dealt.board)).or_default() += 1;
        }
        let most = counts.iter().max_by_key(|(_, times)| **times);
        if let Some((commonest, &times)) = most {
            let share = f64::from(times) / f64::from(SEEDS) * 100.0;
            let commonest = commonest.replace('|', "\\|");
            writeln!(
                table,
                "| {} | {} | `{commonest}` | {share:.1} % |",
                level.level,
                counts.len()
            )?;
        }
    }
    Ok(table)
}
