//! How much yarn the worked stitches take.
//!
//! A loop is as long as its fabric is loose: in one fabric its length goes
//! with 1 / stitches per length (`W = kw / l`, Munden 1959; see
//! [`crate::standards::LoopConstants`]). So the yarn of a pattern is the sum
//! over its steps of stitches worked x loop length, copies counted, cast-on
//! and bind-off edges included as a row each.

use super::trace::Trace;
use crate::measure::{Exact, Length};
use crate::model::Model;
use crate::standards::LoopConstants;

/// The sum of the widths of all stitches worked: in proportion to the yarn
/// they take, in any one kind of fabric. `None` where a step's count or gauge
/// is not known.
#[must_use]
pub fn stitches_by_width(model: &Model<'_>, trace: &Trace) -> Option<Length> {
    let mut sum = Length::zero();
    for visit in &trace.visits {
        let stitches = visit.stitches.known()?;
        if stitches == 0 {
            continue;
        }
        let gauge = model.gauges.get(visit.gauge?.0)?.gauge?;
        let copies = model.pieces.get(visit.piece).map_or(1, |piece| piece.copies);
        let worked = Exact::from_integer(i128::from(stitches) * i128::from(copies));
        sum = sum + gauge.stitches.length(worked);
    }
    Some(sum)
}

/// The yarn a pattern takes by the constants of plain fabric alone: for
/// patterns that do not say what they used. Seams are not in it.
#[must_use]
pub fn by_constants(model: &Model<'_>, trace: &Trace, constants: &LoopConstants) -> Option<Length> {
    // stitches x (kw / W) = kw x sum of stitch widths.
    stitches_by_width(model, trace).map(|widths| widths * constants.kw)
}
