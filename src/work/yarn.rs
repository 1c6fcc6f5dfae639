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
    let colors = widths_by_color(model, trace)?;
    Some(colors.into_iter().fold(Length::zero(), |sum, one| sum + one))
}

/// The same for each color of [`Model::colors`]; one sum where there are none.
#[must_use]
pub fn widths_by_color(model: &Model<'_>, trace: &Trace) -> Option<Vec<Length>> {
    // Stitches of each gauge first, since whole numbers are quickly added.
    let mut worked = vec![vec![0_i128; model.gauges.len()]; model.colors.len().max(1)];
    for visit in &trace.visits {
        let stitches = visit.stitches.known()?;
        if stitches == 0 {
            continue;
        }
        let copies = model.pieces.get(visit.piece).map_or(1, |piece| piece.copies);
        let whole = [stitches];
        let each: &[i64] = if visit.by_color.is_empty() { &whole } else { &visit.by_color };
        for (worked, stitches) in worked.iter_mut().zip(each) {
            *worked.get_mut(visit.gauge?.0)? += i128::from(*stitches) * i128::from(copies);
        }
    }
    let width = |worked: Vec<i128>| {
        let mut counted = model.gauges.iter().zip(worked).filter(|(_, stitches)| *stitches != 0);
        counted.try_fold(Length::zero(), |sum, (gauge, stitches)| {
            Some(sum + gauge.gauge?.stitches.length(Exact::from_integer(stitches)))
        })
    };
    worked.into_iter().map(width).collect()
}

/// The yarn a pattern takes of each color by the constants of plain fabric alone:
/// for patterns that do not say what they used. Seams are not in it.
#[must_use]
pub fn by_constants(
    model: &Model<'_>,
    trace: &Trace,
    constants: &LoopConstants,
) -> Option<Vec<Length>> {
    // stitches x (kw / W) = kw x sum of stitch widths.
    let widths = widths_by_color(model, trace)?;
    Some(widths.into_iter().map(|width| width * constants.kw).collect())
}
