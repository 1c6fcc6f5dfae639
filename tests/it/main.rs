//! The integration tests, one module a promise.
mod anthropometry;
mod bad_input;
mod catalogue;
mod cli;
mod diff;
mod docs;
mod every_rewrite_checks;
#[cfg(unix)]
mod faults;
mod grammar;
mod handbook_1918;
mod html_pages;
mod invariants;
mod laws;
mod multiples;
mod new_sizes;
mod outside_arithmetic;
mod outside_standards;
mod own_gauge_same_bytes;
mod pages;
mod patterns;
mod quick_answers;
mod run;
mod samples;
mod seeded_faults;
mod spaced_rows_are_worked;
mod worked_by_hand;
