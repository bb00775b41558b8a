//! Prints the board that an input of `check_then_unroll` makes, and what is said of it.
#[path = "../targets/mod.rs"]
mod targets;

fn main() {
    for path in std::env::args().skip(1) {
        let bytes = std::fs::read(&path).expect("a file");
        let Some(board) = targets::unrolling::board_of(&bytes) else {
            println!("{path}: no board");
            continue;
        };
        println!("{path}\n  {}", board.to_line());
        println!("{}", board.to_json());
        for finding in fingerpost::check(&board) {
            println!(
                "  {} {:?} {}",
                finding.rule, finding.measure, finding.message
            );
        }
        let terms = fingerpost::Terms {
            open_plays: Some(2),
            ..Default::default()
        };
        if let Ok(comparison) = fingerpost::compare(&board, &terms) {
            for route in &comparison.routes {
                let order: Vec<u16> = route.roadmap.steps().take(100).map(|s| s.measure).collect();
                println!("  {order:?}");
                for reading in &route.readings {
                    println!("     {reading:?}");
                }
            }
            println!("  questions {:?}", comparison.questions);
            for left in &comparison.left_out {
                println!(
                    "  left out {:?} {:?}",
                    left.reading,
                    left.errors.iter().map(|e| e.rule).collect::<Vec<_>>()
                );
            }
        }
    }
}
