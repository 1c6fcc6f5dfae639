//! Reads a worked pattern as a good technical editor would.
//!
//! Every row adds up before anything here is asked; what remains is what a
//! careful reader notices: a number that will not follow a rewrite, a size out
//! of step, two halves that differ, an opening that no head goes through. One
//! file a finding (or family), each a pure function from the pattern and what
//! the walk saw. Nothing here works a row, changes a number or reads a file.

use crate::diag::Finding;
use crate::model::Model;
use crate::source::Source;
use crate::work::Trace;

/// Everything that a careful reader would ask about, in no order.
#[must_use]
pub fn review(_: &Source, _: &Model<'_>, _: &[Trace]) -> Vec<Finding> {
    Vec::new()
}
