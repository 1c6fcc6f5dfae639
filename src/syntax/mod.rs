//! Text to tree: reads a pattern file, every node with its place in the text.
//!
//! The tree says what was written, not what it means: names are not resolved,
//! counts not compared. Only this module names the parsing library, and only
//! its `yaml` module names the YAML libraries.

mod error;
pub mod front;
mod label;
pub mod measure;
pub mod print;
pub mod row;
pub mod step;
mod terminals;
pub mod tree;
pub mod visit;

pub use terminals::Vocabulary;
