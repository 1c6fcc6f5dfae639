//! The integration tests, one module a promise.
mod anthropometry;
mod bad_input;
mod cli;
#[cfg(unix)]
mod faults;
mod invariants;
mod outside_standards;
mod run;
