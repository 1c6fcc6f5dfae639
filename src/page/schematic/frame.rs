//! The scale of a drawing and where its parts stand.

use super::edges::{edges, seams};
use super::mm;
use crate::measure::Length;
use crate::page::svg::{Pen, Svg};
use crate::plan::outline::{Outline, Slab};

/// The largest drawing, and the room around it.
const MOST_WIDTH: f64 = 440.0;
const MOST_HEIGHT: f64 = 460.0;
const ROOM: f64 = 24.0;
/// Room for the heights at the right.
const SIDE: f64 = 56.0;

/// The scale of a drawing and where its pieces stand.
pub(super) struct Frame {
    pub(super) scale: f64,
    middle: f64,
    floor: f64,
    /// Where the heights are told.
    pub(super) side: f64,
    pub(super) width: f64,
    pub(super) height: f64,
}

impl Frame {
    /// Room for all of these outlines at one scale; `None` where there is nothing to see.
    pub(super) fn around<'o>(outlines: impl IntoIterator<Item = &'o Outline>) -> Option<Self> {
        let (mut left, mut right, mut top) = (0.0_f64, 0.0_f64, 0.0_f64);
        for slab in outlines.into_iter().flat_map(|outline| &outline.slabs) {
            left = left.min(mm(slab.below.0)).min(mm(slab.above.0));
            right = right.max(mm(slab.below.1)).max(mm(slab.above.1));
            top = top.max(mm(slab.top));
        }
        if right - left <= 0.0 || top <= 0.0 {
            return None;
        }
        let scale = (MOST_WIDTH / (right - left)).min(MOST_HEIGHT / top);
        let (width, height) = ((right - left) * scale, top * scale);
        // A narrow piece stands in the middle of some room.
        let spare = ((160.0 - width) / 2.0).max(0.0);
        Some(Self {
            scale,
            middle: ROOM + spare - left * scale,
            floor: ROOM + height,
            side: ROOM + 2.0 * spare + width + 22.0,
            width: 2.0 * ROOM + 2.0 * spare + width + SIDE,
            height: 2.0 * ROOM + height,
        })
    }

    pub(super) fn x(&self, length: Length) -> f64 {
        self.middle + mm(length) * self.scale
    }

    pub(super) fn y(&self, height: Length) -> f64 {
        self.floor - mm(height) * self.scale
    }

    fn at(&self, (x, y): (Length, Length)) -> (f64, f64) {
        (self.x(x), self.y(y))
    }

    /// The area of an outline, lightly.
    pub(super) fn fill(&self, outline: &Outline, svg: &mut Svg) {
        for slab in &outline.slabs {
            svg.area(&corners(slab).map(|corner| self.at(corner)), 0.07);
        }
    }

    /// The edges of an outline, and where one gauge meets another.
    pub(super) fn draw(&self, outline: &Outline, pen: Pen, svg: &mut Svg) {
        let lines: Vec<Vec<(f64, f64)>> = edges(outline)
            .into_iter()
            .map(|line| line.into_iter().map(|point| self.at(point)).collect())
            .collect();
        svg.lines(&lines, pen);
        for (left, right, height) in seams(outline) {
            let thin = Pen { width: 0.8, dashes: Some(2.0) };
            svg.line(self.at((left, height)), self.at((right, height)), thin);
        }
    }
}

fn corners(slab: &Slab) -> [(Length, Length); 4] {
    [
        (slab.below.0, slab.bottom),
        (slab.below.1, slab.bottom),
        (slab.above.1, slab.top),
        (slab.above.0, slab.top),
    ]
}
