//! The outline of each piece, from what the walk saw: widths through the
//! gauges, by height, as the right side faces you.
//!
//! Knitted fabric is not drawn stitch by stitch. Between two steps an edge is
//! a straight line; a piece in the round lies flat, half as wide as it is
//! round; stitches that wait are left where they are. Short rows, which
//! lengthen a part of a row only, have no height here: no drawing that lies flat
//! shows them, and [`Outline::short_rows`] tells of them. Those that slope the end of
//! a piece are steps, as if they were bound off.
//!
//! Where a shaping happens on one edge only, the edge follows from the side of
//! the row (a right-side row begins at the right edge), and a neck edge is the
//! one towards the gap that parts the work.

mod drawing;
mod group;
mod parts;

use self::drawing::Drawing;
use crate::measure::Length;
use crate::model::{GaugeId, Model};
use crate::source::Span;
use crate::syntax::tree::{Mark, Step};
use crate::work::{Trace, Visit};

/// A piece, drawn.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Outline {
    /// Its parts, from the bottom up, in the order of the work.
    pub slabs: Vec<Slab>,
    /// Heights and widths worth telling, from the bottom up.
    pub levels: Vec<Level>,
    /// Whether there are short rows, which make the fabric longer in one part of its width than
    /// in the others: they are not drawn.
    pub short_rows: bool,
}

/// A part between two heights with straight edges.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Slab {
    /// Where it begins, from the first row of the piece.
    pub bottom: Length,
    /// Where it ends.
    pub top: Length,
    /// Its edges at the bottom, left and right, from the middle of the piece.
    pub below: (Length, Length),
    /// Its edges at the top.
    pub above: (Length, Length),
    /// The gauge it is worked in.
    pub gauge: Option<GaugeId>,
}

impl Slab {
    /// As in a mirror; `axis` is twice the place of its line.
    fn mirrored(self, axis: Length) -> Self {
        let turned = |(left, right): (Length, Length)| (axis - right, axis - left);
        Self { below: turned(self.below), above: turned(self.above), ..self }
    }
}

/// A height at which something begins or ends, and the width there.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Level {
    /// The step that ends there, or the place where one begins; the same in all sizes.
    pub step: Span,
    /// From the first row of the piece.
    pub height: Length,
    /// Of the fabric: all the way round, where it is in the round.
    pub width: Length,
    /// Whether it is in the round.
    pub around: bool,
    /// Whether the work is in parts there, of which this is the width of one.
    pub parted: bool,
}

/// Stands for a step where none ends at the top of a piece.
pub const TOP: Span = Span { start: usize::MAX, end: usize::MAX };

/// The outline of a piece in the size of a trace; `None` where there is no
/// row gauge to tell its height, or nothing to draw.
#[must_use]
pub fn outline(model: &Model<'_>, trace: &Trace, piece: usize) -> Option<Outline> {
    let def = model.pieces.get(piece)?;
    let visits: Vec<&Visit> = trace.visits.iter().filter(|visit| visit.piece == piece).collect();
    let mut drawing = Drawing {
        model,
        trace,
        visits,
        next: 0,
        groups: Vec::new(),
        setting: def.setting,
        gauge: None,
        armhole: None,
        parts: Vec::new(),
        step: def.span,
        begins: false,
        depth: 0,
        copied: 0,
        mirrored: false,
        out: Outline::default(),
    };
    for step in &def.steps {
        drawing.step(step);
    }
    drawing.finish()
}

/// The steps of a piece up to the one that begins `to`.
pub(super) fn steps_to<'d>(model: &Model<'d>, piece: &str, to: Option<&str>) -> Vec<&'d Step> {
    let Some(piece) = model.pieces.iter().find(|p| p.name.value.eq_ignore_ascii_case(piece)) else {
        return Vec::new();
    };
    let begins = |step: &Step| {
        step.marks.iter().any(|mark| match (&mark.value, to) {
            (Mark::Starts(name), Some(to)) => name.eq_ignore_ascii_case(to),
            _ => false,
        })
    };
    piece.steps.iter().copied().take_while(|step| !begins(step)).collect()
}
