//! Any pattern can be rewritten for any targets, or is not. The input is the
//! targets, a zero byte, and the pattern.
#![no_main]

#[path = "../../tests/it/found_by_fuzzing/laws.rs"]
#[allow(dead_code)]
mod laws;

libfuzzer_sys::fuzz_target!(|text: &str| {
    if let Some((targets, pattern)) = text.split_once('\0') {
        laws::rewriting(pattern, targets);
    }
});
