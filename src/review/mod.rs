//! Reads a worked pattern as a good technical editor would.
//!
//! Every row adds up before anything here is asked; what remains is what a
//! careful reader notices: a number that will not follow a rewrite, a size out
//! of step, two halves that differ, an opening that no head goes through. One
//! file a finding (or family), each a pure function from the pattern and what
//! the walk saw. Nothing here works a row, changes a number or reads a file.

mod allow;
mod gauge;
mod kept;
mod live;
mod loose;
mod mirror;
mod monotone;
mod openings;
mod prose;
mod seam;
mod short_rows;
mod steps;
#[cfg(test)]
mod testing;
mod told;
mod uneven;
mod units;
mod unused;
mod widths;

pub use allow::{Allowed, Of, Settled, settle};
pub use kept::kept_as_written;
pub use monotone::not_monotone;

use crate::diag::Finding;
use crate::model::Model;
use crate::source::Source;
use crate::work::Trace;

/// Everything that a careful reader would ask about, in no order.
///
/// `traces` are those of a walk that found no error, one a size.
#[must_use]
pub fn review(source: &Source, model: &Model<'_>, traces: &[Trace]) -> Vec<Finding> {
    [
        loose::loose_numbers(source, model),
        live::live_alone(model),
        units::units_differ(source, model),
        uneven::uneven(model),
        unused::unused_names(source, model, traces),
        seam::seams(model, traces),
        mirror::mirrors(model, traces),
        short_rows::short_rows(model, traces),
        widths::widths_differ(model, traces),
        gauge::unlikely(model, traces),
        openings::openings(model, traces),
    ]
    .concat()
}
