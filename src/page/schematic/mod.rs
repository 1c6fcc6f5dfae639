//! Outlines of the pieces as drawings, to scale, with their measurements.
//!
//! Widths have capital letters and heights small ones; what they stand for is
//! told beside the drawing, for all sizes. The sizes are nested, with the
//! middle of the first row in one place.

mod edges;
mod frame;
mod letters;
pub(crate) mod overlay;

use self::frame::Frame;
use self::letters::{Letters, Measured, same};
use super::html::escape;
use super::measurements::both_units;
use super::sheet::{Part, Words};
use super::svg::{Pen, Svg};
use crate::Checked;
use crate::measure::{Exact, Length, Unit};
use crate::plan::outline::{Outline, Slab, outline};
use crate::work::Trace;

/// A drawing of a piece and what its letters stand for.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Schematic {
    /// What it shows.
    pub(super) label: String,
    /// The sizes nested, or the one there is.
    nested: Svg,
    /// Each size by itself, for a page to show instead; none where there is one only.
    each: Svg,
    width: f64,
    height: f64,
    /// Letters and lengths.
    legend: Vec<(String, Words)>,
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
    let (mut nested, mut each, mut fill) = (Svg::default(), Svg::default(), Svg::default());
    frame.fill(largest, &mut fill);
    nested.group(if several { "m" } else { "only" }, &fill);
    for (size, outline) in &outlines {
        let mut one = Svg::default();
        let pen = if std::ptr::eq(outline, largest) { 1.8 } else { 1.0 };
        frame.draw(outline, Pen::of(pen), &mut one);
        nested.group(&format!("z z{size}"), &one);
    }
    // Letters stand by the largest size, and by each size where it is shown alone.
    let letters = Letters::of(largest, &outlines.iter().map(|(_, outline)| outline), &frame);
    let mut marks = Svg::default();
    letters.draw(largest, &same, &frame, &mut marks);
    nested.group(if several { "m" } else { "only" }, &marks);
    for (size, outline) in outlines.iter().filter(|_| several) {
        let mut own = Svg::default();
        frame.fill(outline, &mut own);
        letters.draw(outline, &same, &frame, &mut own);
        each.group(&format!("own z z{size}"), &own);
    }
    let name = &model.pieces.get(piece)?.name.value;
    Some(Schematic {
        label: label(name, largest, several),
        nested,
        each,
        width: frame.width,
        height: frame.height,
        legend: legend_of(&letters, checked, &outlines),
    })
}

/// Said of a drawing of several sizes.
const NESTED: &str = "; the sizes one in the other";

/// What a drawing shows, and how.
fn label(name: &str, largest: &Outline, several: bool) -> String {
    let around = largest.levels.iter().filter(|level| level.around).count();
    let how = match around {
        0 => "the right side facing",
        all if all == largest.levels.len() => "lying flat, half as wide as it is round",
        _ => "lying flat, what is in the round half as wide as it is round",
    };
    let nested = if several { NESTED } else { "" };
    let short = if largest.short_rows {
        "; short rows, which lengthen only a part of it, are not drawn"
    } else {
        ""
    };
    format!("{name} from the first row up, {how}{nested}{short}")
}

/// A piece as it was (dashed) and as it is, of one size each.
pub(super) fn over(
    old: (&Checked<'_>, &Trace, usize),
    new: (&Checked<'_>, &Trace, usize),
) -> Option<Schematic> {
    let before = outline(&old.0.model, old.1, old.2)?;
    let after = outline(&new.0.model, new.1, new.2)?;
    let (nested, frame, letters) = overlay::alone(&before, &after)?;
    let name = &new.0.model.pieces.get(new.2)?.name.value;
    Some(Schematic {
        label: format!("{name}: dashed as it was, whole as it is"),
        nested,
        each: Svg::default(),
        width: frame.width,
        height: frame.height,
        legend: legend_of(&letters, new.0, &[(new.1.size.0, after)]),
    })
}

/// What each letter stands for, in all sizes and both units.
fn legend_of(
    letters: &Letters,
    checked: &Checked<'_>,
    outlines: &[(usize, Outline)],
) -> Vec<(String, Words)> {
    let of = |outline: &Outline| letters.measured(outline, &same);
    let known: Vec<(usize, Vec<Option<Measured>>)> =
        outlines.iter().map(|(size, outline)| (*size, of(outline))).collect();
    let sizes = checked.model.sizes.len();
    let each = |index: usize| -> Vec<Option<Measured>> {
        let measured = |known: &Vec<Option<Measured>>| known.get(index).copied().flatten();
        match known.as_slice() {
            [(_, only)] => vec![measured(only)],
            _ => (0..sizes)
                .map(|size| known.iter().find(|(own, _)| *own == size).and_then(|o| measured(&o.1)))
                .collect(),
        }
    };
    let line = |(index, letter): (usize, &str)| {
        let each = each(index);
        let lengths: Vec<Option<Length>> =
            each.iter().map(|measured| measured.map(|m| m.length)).collect();
        let mut words = both_units(checked, &lengths);
        let around = each.iter().flatten().any(|measured| measured.around);
        words.extend(around.then(|| Part::Plain(" around".to_owned())));
        (letter.to_owned(), words)
    };
    letters.names().enumerate().map(line).collect()
}

impl Schematic {
    /// The drawing as a file of its own, with what its letters stand for.
    pub(super) fn file(&self) -> String {
        let mut svg = self.nested.clone();
        let line = 17.0;
        let text = |words: &Words| -> String {
            words
                .iter()
                .map(|part| match part {
                    Part::Plain(text) | Part::Markdown(text) => text.as_str(),
                    Part::Number(number) => number.text.as_str(),
                    Part::For(_) | Part::ForAll | Part::Alone(..) => "",
                })
                .collect()
        };
        let mut lines: Vec<String> = self.label.split("; ").map(str::to_owned).collect();
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

    /// The drawing within a page, with what its letters stand for.
    pub(super) fn figure(&self, words: impl Fn(&Words) -> String) -> String {
        let mut svg = self.nested.clone();
        svg.add(&self.each);
        let svg = svg.finish(self.width, self.height, &self.label, false);
        let legend: String = self
            .legend
            .iter()
            .map(|(letter, lengths)| {
                format!("<div><dt>{letter}</dt><dd>{}</dd></div>\n", words(lengths))
            })
            .collect();
        let nested = format!("<span class=\"m\">{NESTED}</span>");
        let label = escape(&self.label).replace(NESTED, &nested);
        format!(
            "<figure class=\"draw\">\n{svg}<figcaption>{label}.\n<dl class=\"letters\">\n{legend}</dl>\n</figcaption>\n</figure>\n"
        )
    }
}

/// A length as a number of millimeters, to draw.
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
