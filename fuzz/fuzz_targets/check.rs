//! Any pattern that can be read can be worked.
#![no_main]

#[path = "../../tests/it/found_by_fuzzing/laws.rs"]
#[allow(dead_code)]
mod laws;

libfuzzer_sys::fuzz_target!(|text: &str| laws::checking(text));
