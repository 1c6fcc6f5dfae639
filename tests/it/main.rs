//! The integration tests, one module a promise.
