//! Findings: what is wrong, where, and what would mend it.
//!
//! A [`Finding`] is data; text, JSON and HTML are views of it. [`Code`] lists
//! every kind of finding once, with its explanation and examples.

mod catalogue;
mod finding;
pub mod render;
pub mod words;

pub use catalogue::{Code, Example};
pub use finding::{File, Finding, Label, Patch, Severity, sort};
