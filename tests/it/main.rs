//! The integration tests, one module a promise.
mod anthropometry;
mod outside_standards;
