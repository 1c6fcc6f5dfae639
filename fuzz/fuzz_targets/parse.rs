//! Any text can be read, as a pattern and as targets.
#![no_main]

#[path = "../../tests/it/found_by_fuzzing/laws.rs"]
#[allow(dead_code)]
mod laws;

libfuzzer_sys::fuzz_target!(|text: &str| laws::reading(text));
