//! Outlines of the pieces as drawings, to scale, with their measurements.
//!
//! Widths have capital letters and heights small ones; what they stand for is
//! told beside the drawing, for all sizes. The sizes are nested, with the
//! middle of the first row in one place.

use super::front::both_units;
use super::sheet::{Part, Words};
use super::svg::{Pen, Svg};
use crate::Checked;
use crate::measure::{Exact, Length, Unit};
use crate::plan::outline::{Level, Outline, Slab, outline};
use crate::source::Span;
use crate::work::Trace;

/// The largest drawing, and the room around it.
const MOST_WIDTH: f64 = 440.0;
const MOST_HEIGHT: f64 = 460.0;
const ROOM: f64 = 24.0;
/// Room for the heights at the right.
const SIDE: f64 = 56.0;
/// Labels are at least so far apart.
const APART: f64 = 16.0;

/// A drawing of a piece and what its letters stand for.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Schematic {
    /// What it shows.
    pub(super) label: String,
    pub(super) svg: Svg,
    pub(super) width: f64,
    pub(super) height: f64,
    /// Letters and lengths.
    pub(super) legend: Vec<(String, Words)>,
}

/// The outline of a piece in all sizes; `None` where it cannot be drawn.
pub(super) fn schematic(checked: &Checked<'_>, piece: usize) -> Option<Schematic> {
    let model = &checked.model;
    let outlines: Vec<(usize, Outline)> = checked
        .traces
        .iter()
        .enumerate()
        .filter_map(|(size, trace)| Some((size, outline(model, trace, piece)?)))
        .collect();
    let frame = Frame::around(outlines.iter().map(|(_, outline)| outline))?;
    let largest = &outlines.iter().max_by(|(_, a), (_, b)| area(a).total_cmp(&area(b)))?.1;
    let several = outlines.len() > 1;
    let mut svg = Svg::default();
    let mut fill = Svg::default();
    frame.fill(largest, &mut fill);
    svg.group(if several { "m" } else { "only" }, &fill);
    for (size, outline) in &outlines {
        let mut one = Svg::default();
        let pen = if std::ptr::eq(outline, largest) { 1.8 } else { 1.0 };
        frame.draw(outline, Pen::of(pen), &mut one);
        svg.group(&format!("z z{size}"), &one);
    }
    // Letters stand by the largest size, and by each size where it is shown alone.
    let letters = Letters::of(largest, &frame);
    let mut marks = Svg::default();
    letters.draw(largest, &frame, &mut marks);
    svg.group(if several { "m" } else { "only" }, &marks);
    if several {
        for (size, outline) in &outlines {
            let mut own = Svg::default();
            frame.fill(outline, &mut own);
            letters.draw(outline, &frame, &mut own);
            svg.group(&format!("own z z{size}"), &own);
        }
    }
    let name = &model.pieces.get(piece)?.name.value;
    let around = largest.levels.iter().filter(|level| level.around).count();
    let how = match around {
        0 => "the right side facing",
        all if all == largest.levels.len() => "lying flat, half as wide as it is round",
        _ => "lying flat, what is in the round half as wide as it is round",
    };
    Some(Schematic {
        label: format!("{name} from the first row up, {how}"),
        svg,
        width: frame.width,
        height: frame.height,
        legend: letters.legend(checked, &outlines),
    })
}

/// A piece as it was (dashed) and as it is, of one size each.
pub(super) fn overlay(
    old: (&Checked<'_>, &Trace, usize),
    new: (&Checked<'_>, &Trace, usize),
) -> Option<Schematic> {
    let before = outline(&old.0.model, old.1, old.2)?;
    let after = outline(&new.0.model, new.1, new.2)?;
    let frame = Frame::around([&before, &after])?;
    let mut svg = Svg::default();
    frame.fill(&after, &mut svg);
    frame.draw(&before, Pen { width: 1.2, dashes: Some(4.0) }, &mut svg);
    frame.draw(&after, Pen::of(1.8), &mut svg);
    let letters = Letters::of(&after, &frame);
    letters.draw(&after, &frame, &mut svg);
    let name = &new.0.model.pieces.get(new.2)?.name.value;
    Some(Schematic {
        label: format!("{name}: dashed as it was, whole as it is"),
        svg,
        width: frame.width,
        height: frame.height,
        legend: letters.legend(new.0, &[(new.1.size.0, after)]),
    })
}

impl Schematic {
    /// The drawing as a file of its own, with what its letters stand for.
    pub(super) fn file(&self) -> String {
        let mut svg = self.svg.clone();
        let line = 17.0;
        let text = |words: &Words| -> String {
            words
                .iter()
                .map(|part| match part {
                    Part::Plain(text) | Part::Markdown(text) => text.as_str(),
                    Part::Number(number) => number.text.as_str(),
                })
                .collect()
        };
        let mut lines = vec![self.label.clone()];
        lines
            .extend(self.legend.iter().map(|(letter, words)| format!("{letter}: {}", text(words))));
        let mut y = self.height;
        let mut width = self.width;
        for line_text in &lines {
            y += line;
            svg.text((12.0, y), 12.0, "start", line_text);
            // Letters are at most so wide.
            width = width
                .max(24.0 + 6.6 * f64::from(u32::try_from(line_text.chars().count()).unwrap_or(0)));
        }
        svg.finish(width, y + line, &self.label, true)
    }
}

// ---- Where things go -------------------------------------------------------------

fn mm(length: Length) -> f64 {
    let exact: Exact = length.amount(Unit::Mm);
    // Lengths of garments are far from the limits of either.
    *exact.numer() as f64 / *exact.denom() as f64
}

fn area(outline: &Outline) -> f64 {
    let slab = |slab: &Slab| {
        let width = |(left, right): (Length, Length)| mm(right - left);
        (width(slab.below) + width(slab.above)) / 2.0 * mm(slab.top - slab.bottom)
    };
    outline.slabs.iter().map(slab).sum()
}

/// The scale of a drawing and where its pieces stand.
struct Frame {
    scale: f64,
    middle: f64,
    floor: f64,
    /// Where the heights are told.
    side: f64,
    width: f64,
    height: f64,
}

impl Frame {
    fn around<'o>(outlines: impl IntoIterator<Item = &'o Outline>) -> Option<Self> {
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
            side: ROOM + 2.0 * spare + width + 18.0,
            width: 2.0 * ROOM + 2.0 * spare + width + SIDE,
            height: 2.0 * ROOM + height,
        })
    }

    fn x(&self, length: Length) -> f64 {
        self.middle + mm(length) * self.scale
    }

    fn y(&self, height: Length) -> f64 {
        self.floor - mm(height) * self.scale
    }

    fn at(&self, (x, y): (Length, Length)) -> (f64, f64) {
        (self.x(x), self.y(y))
    }

    fn fill(&self, outline: &Outline, svg: &mut Svg) {
        for slab in &outline.slabs {
            let corners = [
                (slab.below.0, slab.bottom),
                (slab.below.1, slab.bottom),
                (slab.above.1, slab.top),
                (slab.above.0, slab.top),
            ];
            svg.area(&corners.map(|corner| self.at(corner)), 0.07);
        }
    }

    fn draw(&self, outline: &Outline, pen: Pen, svg: &mut Svg) {
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

// ---- Edges -----------------------------------------------------------------------

type Point = (Length, Length);

/// The edges of an outline as lines from point to point, as long as they run on.
fn edges(outline: &Outline) -> Vec<Vec<Point>> {
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

type Interval = (Length, Length);

/// What is knitted right above a height and right below it.
fn intervals(outline: &Outline, height: Length) -> (Vec<Interval>, Vec<Interval>) {
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
fn seams(outline: &Outline) -> Vec<(Length, Length, Length)> {
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

// ---- Letters ---------------------------------------------------------------------

/// Which levels have letters, by their steps.
struct Letters {
    widths: Vec<(String, Span)>,
    /// From one level to the next.
    heights: Vec<(String, Span, Span)>,
}

impl Letters {
    /// The levels of an outline that are far enough apart to be told.
    fn of(outline: &Outline, frame: &Frame) -> Self {
        let mut capitals = ('A'..='Z').map(String::from);
        let mut small = ('a'..='z').map(String::from);
        let mut widths: Vec<(String, Span)> = Vec::new();
        let mut last: Option<&Level> = None;
        for level in &outline.levels {
            let new = last.is_none_or(|last| {
                last.width != level.width && frame.y(last.height) - frame.y(level.height) >= APART
            });
            let wide = mm(level.width) * frame.scale >= 14.0 && !level.parted;
            if new
                && wide
                && let Some(letter) = capitals.next()
            {
                widths.push((letter, level.step));
                last = Some(level);
            }
        }
        let mut ticks: Vec<&Level> = Vec::new();
        for level in &outline.levels {
            let far = ticks
                .last()
                .is_none_or(|last| frame.y(last.height) - frame.y(level.height) >= APART);
            if far {
                ticks.push(level);
            }
        }
        // The top is always told, in the place of what is too near to it.
        if let (Some(top), Some(last)) = (outline.levels.last(), ticks.last_mut())
            && last.step != top.step
        {
            *last = top;
        }
        let heights = ticks
            .windows(2)
            .filter_map(|pair| match pair {
                [from, to] => Some((small.next()?, from.step, to.step)),
                _ => None,
            })
            .collect();
        Self { widths, heights }
    }

    fn draw(&self, outline: &Outline, frame: &Frame, svg: &mut Svg) {
        let pen = Pen::of(0.8);
        for (letter, step) in &self.widths {
            let Some(level) = level(outline, *step) else { continue };
            let Some((left, right)) = across(outline, level.height) else { continue };
            let y = frame.y(level.height) - 4.0;
            let (from, to) = (frame.x(left) + 2.0, frame.x(right) - 2.0);
            svg.lines(
                &[
                    vec![(from, y), (to, y)],
                    vec![(from, y - 3.0), (from, y + 3.0)],
                    vec![(to, y - 3.0), (to, y + 3.0)],
                ],
                pen,
            );
            svg.text(((from + to) / 2.0, y - 4.0), 13.0, "middle", letter);
        }
        for (letter, from, to) in &self.heights {
            let (Some(from), Some(to)) = (level(outline, *from), level(outline, *to)) else {
                continue;
            };
            let (low, high) = (frame.y(from.height), frame.y(to.height));
            let x = frame.side;
            svg.lines(
                &[
                    vec![(x, low), (x, high)],
                    vec![(x - 3.0, low), (x + 3.0, low)],
                    vec![(x - 3.0, high), (x + 3.0, high)],
                ],
                pen,
            );
            svg.text((x + 8.0, (low + high) / 2.0 + 4.0), 13.0, "start", letter);
        }
    }

    fn legend(&self, checked: &Checked<'_>, outlines: &[(usize, Outline)]) -> Vec<(String, Words)> {
        let sizes = checked.model.sizes.len();
        let each = |of: &dyn Fn(&Outline) -> Option<Length>| -> Vec<Option<Length>> {
            let one = |size| outlines.iter().find(|(own, _)| *own == size).and_then(|(_, o)| of(o));
            if outlines.len() == 1 {
                outlines.iter().map(|(_, outline)| of(outline)).collect()
            } else {
                (0..sizes).map(one).collect()
            }
        };
        let mut legend = Vec::new();
        for (letter, step) in &self.widths {
            let lengths = each(&|outline| level(outline, *step).map(|level| level.width));
            let mut words = both_units(checked, &lengths);
            let around = outlines
                .iter()
                .any(|(_, outline)| level(outline, *step).is_some_and(|level| level.around));
            words.extend(around.then(|| Part::Plain(" around".to_owned())));
            legend.push((letter.clone(), words));
        }
        for (letter, from, to) in &self.heights {
            let lengths =
                each(&|outline| Some(level(outline, *to)?.height - level(outline, *from)?.height));
            legend.push((letter.clone(), both_units(checked, &lengths)));
        }
        legend
    }
}

fn level(outline: &Outline, step: Span) -> Option<&Level> {
    outline.levels.iter().find(|level| level.step == step)
}

/// From the leftmost to the rightmost stitch right above a height; at the top,
/// right below it.
fn across(outline: &Outline, height: Length) -> Option<Interval> {
    let (above, below) = intervals(outline, height);
    let all = if above.is_empty() { below } else { above };
    Some((all.iter().map(|i| i.0).min()?, all.iter().map(|i| i.1).max()?))
}

/// The drawing within a page, with what its letters stand for.
pub(super) fn figure(schematic: &Schematic, words: impl Fn(&Words) -> String) -> String {
    let svg = schematic.svg.finish(schematic.width, schematic.height, &schematic.label, false);
    let legend: String = schematic
        .legend
        .iter()
        .map(|(letter, lengths)| {
            format!("<div><dt>{letter}</dt><dd>{}</dd></div>\n", words(lengths))
        })
        .collect();
    let label = super::html::escape(&schematic.label);
    format!(
        "<figure class=\"draw\">\n{svg}<figcaption>{label}.\n<dl class=\"letters\">\n{legend}</dl>\n</figcaption>\n</figure>\n"
    )
}
