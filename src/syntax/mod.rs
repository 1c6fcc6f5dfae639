//! Text to tree: reads a pattern file, every node with its place in the text.
//!
//! The tree says what was written, not what it means: names are not resolved,
//! counts not compared. Only this module names the parsing library, and only
//! its `yaml` module names the YAML libraries.
//!
//! `document` cuts the file into front matter, headings, prose and
//! instructions; `yaml`, `keys`, `front` and `targets` read keys and values.

mod abbreviation;
mod color;
mod document;
mod error;
pub mod front;
mod heading;
mod how_far;
mod keys;
mod label;
mod markdown;
pub mod measure;
pub mod outline;
pub mod print;
pub mod row;
pub mod step;
mod targets;
mod terminals;
mod text;
pub mod tree;
mod unworked;
pub mod visit;
mod yaml;

pub use document::MAX_BYTES;
pub use markdown::options as markdown_options;
pub use text::Vocabulary;

use crate::diag::{Finding, sort};
use crate::source::Source;
use front::Targets;
use tree::Document;

/// What was read of a pattern.
#[derive(Clone, Debug)]
pub struct Parsed {
    /// The tree, without the instructions that could not be read; `None` where
    /// nothing could be.
    pub document: Option<Document>,
    /// What was found, in the order of the text; reading stops after 200.
    pub findings: Vec<Finding>,
}

/// Reads a pattern: never fails, and says everything that is wrong at once.
#[must_use]
pub fn parse(source: &Source) -> Parsed {
    document::read(source)
}

/// Reads a targets file; `None` where nothing could be read.
///
/// Where the targets name sizes, lists are checked against them; lists for the
/// pattern's sizes are for whoever knows both files to check.
#[must_use]
pub fn parse_targets(source: &Source) -> (Option<Targets>, Vec<Finding>) {
    let (targets, findings) = match document::whole_enough(&source.text) {
        Err(finding) if finding.code == crate::diag::Code::TooLarge => (None, vec![finding]),
        _ => {
            let top = document::mark_length(&source.text);
            targets::read(source.text.get(top..).unwrap_or(""), top)
        }
    };
    let mut findings: Vec<Finding> = findings.into_iter().map(Finding::in_targets).collect();
    sort(&mut findings);
    (targets, findings)
}
