//! The integration tests, one module a promise.
mod outside_standards;
