//! Fixes.

mod support;

use fingerpost::{Board, FixKind, Phrasebook, check, fixes, rules};
use support::pages::page_of;

#[test]
#[ignore]
fn show() {
    for rule in rules() {
        let page = page_of(rule.name);
        println!("== {}", rule.name);
        for line in page.boards("Wrong") {
            let board: Board = line.parse().unwrap();
            println!("   {line}");
            for finding in check(&board) {
                for fix in fixes(&board, &finding) {
                    let edited = fix.apply(&board).unwrap();
                    let left: Vec<_> = check(&edited).iter().map(|f| f.rule).collect();
                    let safe = if fix.kind == FixKind::Safe {
                        "SAFE"
                    } else {
                        "    "
                    };
                    println!(
                        "     {safe} {:55} {}   {left:?}",
                        Phrasebook::default().title(&board, &fix),
                        edited.to_line()
                    );
                }
            }
        }
    }
}
