//! Inputs that a fuzz target once stumbled over, put to the same promises again.

#[path = "fuzz/targets/mod.rs"]
mod targets;

use std::fs;
use std::path::Path;

#[test]
fn inputs_that_were_stumbled_over_are_taken_in_stride() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/regressions");
    let mut replayed = 0;
    for entry in fs::read_dir(&folder).expect("the folder of regressions") {
        let below = entry.expect("a folder").path();
        let target = below.file_name().unwrap_or_default().to_string_lossy();
        let (_, holds) = targets::ALL
            .into_iter()
            .find(|(name, _)| *name == target)
            .unwrap_or_else(|| panic!("`{target}` is no target"));
        for input in fs::read_dir(&below).expect("the inputs of a target") {
            let path = input.expect("a file").path();
            println!("{}", path.display());
            holds(&fs::read(&path).expect("an input"));
            replayed += 1;
        }
    }
    assert!(replayed >= targets::ALL.len());
}
