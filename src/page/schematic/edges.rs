//! The edges of an outline: lines between what is knitted and what is not.

use crate::measure::{Length, exact};
use crate::plan::outline::{Level, Outline, Slab};

type Point = (Length, Length);

/// The edges of an outline as lines from point to point, as long as they run on.
pub(super) fn edges(outline: &Outline) -> Vec<Vec<Point>> {
    let mut segments: Vec<(Point, Point)> = Vec::new();
    for slab in &outline.slabs {
        segments.push(((slab.below.0, slab.bottom), (slab.above.0, slab.top)));
        segments.push(((slab.below.1, slab.bottom), (slab.above.1, slab.top)));
    }
    for height in heights(outline) {
        let (above, below) = intervals(outline, height);
        for (left, right) in in_one_only(&above, &below) {
            segments.push(((left, height), (right, height)));
        }
    }
    let mut lines: Vec<Vec<Point>> = Vec::new();
    for (from, to) in segments {
        if from == to {
            continue;
        }
        match lines.iter_mut().find(|line| line.last() == Some(&from)) {
            Some(line) => line.push(to),
            None => lines.push(vec![from, to]),
        }
    }
    lines
}

fn heights(outline: &Outline) -> Vec<Length> {
    let mut all: Vec<Length> =
        outline.slabs.iter().flat_map(|slab| [slab.bottom, slab.top]).collect();
    all.sort_unstable();
    all.dedup();
    all
}

pub(super) type Interval = (Length, Length);

/// What is knitted right above a height and right below it.
pub(super) fn intervals(outline: &Outline, height: Length) -> (Vec<Interval>, Vec<Interval>) {
    let above = outline.slabs.iter().filter(|slab| slab.bottom == height).map(|slab| slab.below);
    let below = outline.slabs.iter().filter(|slab| slab.top == height).map(|slab| slab.above);
    (above.collect(), below.collect())
}

/// The stretches that lie in the one or in the other, but not in both.
fn in_one_only(one: &[Interval], other: &[Interval]) -> Vec<Interval> {
    cut(one, other, |a, b| a != b)
}

fn cut(one: &[Interval], other: &[Interval], wanted: fn(bool, bool) -> bool) -> Vec<Interval> {
    let mut at: Vec<Length> = one.iter().chain(other).flat_map(|i| [i.0, i.1]).collect();
    at.sort_unstable();
    at.dedup();
    let covers = |all: &[Interval], left: Length, right: Length| {
        all.iter().any(|i| i.0 <= left && right <= i.1)
    };
    let mut found: Vec<Interval> = Vec::new();
    for pair in at.windows(2) {
        let [left, right] = *pair else { continue };
        if !wanted(covers(one, left, right), covers(other, left, right)) {
            continue;
        }
        match found.last_mut() {
            Some(last) if last.1 == left => last.1 = right,
            _ => found.push((left, right)),
        }
    }
    found
}

/// Where one gauge meets another within the piece.
pub(super) fn seams(outline: &Outline) -> Vec<(Length, Length, Length)> {
    let mut all = Vec::new();
    for height in heights(outline) {
        let gauge = |slab: Option<&Slab>| slab.and_then(|slab| slab.gauge);
        let above = gauge(outline.slabs.iter().find(|slab| slab.bottom == height));
        let below = gauge(outline.slabs.iter().find(|slab| slab.top == height));
        if above.is_some() && below.is_some() && above != below {
            let (above, below) = intervals(outline, height);
            let both = cut(&above, &below, |a, b| a && b);
            all.extend(both.into_iter().map(|(left, right)| (left, right, height)));
        }
    }
    all
}

/// From the leftmost to the rightmost stitch of a level: right above its height or right below it,
/// wherever the work is as wide as the level says. `None` where it nowhere is: a width that lasts
/// for no row.
pub(super) fn across(outline: &Outline, level: &Level) -> Option<Interval> {
    let (above, below) = intervals(outline, level.height);
    let whole = |all: &[Interval]| -> Option<Interval> {
        Some((all.iter().map(|i| i.0).min()?, all.iter().map(|i| i.1).max()?))
    };
    let drawn = level.width * if level.around { exact(1, 2) } else { exact(1, 1) };
    let both = [whole(&above), whole(&below)];
    both.into_iter().flatten().find(|(left, right)| *right - *left == drawn)
}
