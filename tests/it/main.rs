//! The integration tests, one module a promise.
mod anthropometry;
mod bad_input;
mod catalogue;
mod cli;
#[cfg(unix)]
mod faults;
mod handbook_1918;
mod invariants;
mod outside_standards;
mod run;
mod samples;
