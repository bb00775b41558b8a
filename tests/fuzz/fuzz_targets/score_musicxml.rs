#![no_main]

#[path = "../targets/mod.rs"]
mod targets;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| targets::score_musicxml(bytes));
