//! What a walk saw, step by step.

use crate::measure::{Length, Linear, SizeId};
use crate::model::GaugeId;
use crate::source::Span;
use crate::syntax::tree::{Setting, Side};

/// One step as it was worked in one size.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Visit {
    /// The piece, by its place.
    pub piece: usize,
    /// The step's place in the text.
    pub step: Span,
    /// Stitches in work before.
    pub before: Linear,
    /// Stitches in work after.
    pub after: Linear,
    /// Rows of the piece before.
    pub rows_before: u32,
    /// Rows of the piece after.
    pub rows_after: u32,
    /// Length of the piece before.
    pub height_before: Length,
    /// Length of the piece after.
    pub height_after: Length,
    /// Shaping rows, where the step is a shaping.
    pub shapings: Option<Linear>,
    /// The gauge in work after.
    pub gauge: Option<GaugeId>,
    /// Flat or in the round after.
    pub setting: Setting,
    /// The side of the next row, where it is known.
    pub next_side: Option<Side>,
    /// Stitches worked in it: every stitch of every row.
    pub stitches: Linear,
    /// The same by the colors of [`crate::model::Model::colors`]; empty where the pattern
    /// names none or none was worked.
    pub by_color: Vec<i64>,
}

impl Visit {
    /// The side of the first row of a step, where it is known and worked flat.
    #[must_use]
    pub fn side_before(&self) -> Option<Side> {
        let after = self.next_side.filter(|_| self.setting == Setting::Flat)?;
        let odd = (self.rows_after - self.rows_before) % 2 == 1;
        Some(if odd { after.other() } else { after })
    }
}

/// Everything a walk over one size saw, in the order of the work.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Trace {
    /// The size.
    pub size: SizeId,
    /// The steps; one that is worked twice (a reversed part) is here twice.
    pub visits: Vec<Visit>,
    /// Rows worked in all pieces, copies counted once.
    pub rows: u64,
}
