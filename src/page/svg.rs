//! A small writer of SVG.
//!
//! Everything is drawn in the color of the text around it, with attributes
//! alone, so that a drawing can stand in a page under its policy and in a file
//! of its own.

use super::html::escape;
use std::fmt::Write as _;

/// A drawing that grows.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Svg {
    out: String,
}

/// How a line looks.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Pen {
    /// Its width.
    pub(super) width: f64,
    /// How long its dashes are; none for a whole line.
    pub(super) dashes: Option<f64>,
}

impl Pen {
    /// A whole line.
    pub(super) const fn of(width: f64) -> Self {
        Self { width, dashes: None }
    }

    fn attributes(self) -> String {
        let dashes = self.dashes.map_or(String::new(), |d| {
            format!(" stroke-dasharray=\"{} {}\"", short(d), short(d * 0.8))
        });
        format!(
            "fill=\"none\" stroke=\"currentColor\" stroke-width=\"{}\" stroke-linejoin=\"round\" \
             stroke-linecap=\"round\"{dashes}",
            short(self.width)
        )
    }
}

/// A short line by itself, for a legend.
pub(super) fn legend_line(pen: Pen, label: &str) -> String {
    let mut svg = Svg::default();
    svg.line((2.0, 6.0), (46.0, 6.0), pen);
    svg.finish(48.0, 12.0, label, false)
}

/// A number in as few digits as a drawing needs.
pub(super) fn short(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

impl Svg {
    /// A group of marks with classes for the style sheet of a page.
    pub(super) fn group(&mut self, class: &str, inner: &Self) {
        // Writing to a string cannot fail.
        let _ = writeln!(self.out, "<g class=\"{class}\">\n{}</g>", inner.out);
    }

    /// Lines from point to point.
    pub(super) fn lines(&mut self, lines: &[Vec<(f64, f64)>], pen: Pen) {
        let mut d = String::new();
        for line in lines {
            for (index, (x, y)) in line.iter().enumerate() {
                let letter = if index == 0 { "M" } else { "L" };
                let _ = write!(d, "{letter}{} {}", short(*x), short(*y));
            }
        }
        if !d.is_empty() {
            let _ = writeln!(self.out, "<path d=\"{d}\" {}/>", pen.attributes());
        }
    }

    /// An area without an edge.
    pub(super) fn area(&mut self, points: &[(f64, f64)], opacity: f64) {
        let points: Vec<String> =
            points.iter().map(|(x, y)| format!("{},{}", short(*x), short(*y))).collect();
        let _ = writeln!(
            self.out,
            "<polygon points=\"{}\" fill=\"currentColor\" fill-opacity=\"{}\"/>",
            points.join(" "),
            short(opacity)
        );
    }

    /// All the marks of another drawing on top.
    pub(super) fn add(&mut self, other: &Self) {
        self.out.push_str(&other.out);
    }

    /// A letter on a spot of the ground's color, so that no line runs through it.
    pub(super) fn letter(&mut self, (x, y): (f64, f64), letter: &str) {
        let _ = writeln!(
            self.out,
            "<circle class=\"ground\" cx=\"{}\" cy=\"{}\" r=\"8.5\" fill=\"#fff\"/>",
            short(x),
            short(y)
        );
        self.text((x, y + 4.5), 13.0, "middle", letter);
    }

    /// A line.
    pub(super) fn line(&mut self, from: (f64, f64), to: (f64, f64), pen: Pen) {
        self.lines(&[vec![from, to]], pen);
    }

    /// A circle, filled or not.
    pub(super) fn circle(&mut self, middle: (f64, f64), r: f64, filled: bool) {
        let look =
            if filled { "fill=\"currentColor\"".to_owned() } else { Pen::of(1.3).attributes() };
        let (x, y) = middle;
        let _ = writeln!(
            self.out,
            "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" {look}/>",
            short(x),
            short(y),
            short(r)
        );
    }

    /// Text about a point, or from it.
    pub(super) fn text(&mut self, (x, y): (f64, f64), size: f64, anchor: &str, text: &str) {
        let _ = writeln!(
            self.out,
            "<text x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"{anchor}\" fill=\"currentColor\">{}</text>",
            short(x),
            short(y),
            short(size),
            escape(text)
        );
    }

    /// The whole drawing: as part of a page, or (`alone`) as a file.
    pub(super) fn finish(&self, width: f64, height: f64, label: &str, alone: bool) -> String {
        let space = if alone { " xmlns=\"http://www.w3.org/2000/svg\"" } else { "" };
        let size = format!("width=\"{}\" height=\"{}\"", short(width), short(height));
        format!(
            "<svg{space} viewBox=\"0 0 {w} {h}\" {size} role=\"img\" aria-label=\"{}\" \
             font-family=\"system-ui, sans-serif\">\n{}</svg>\n",
            escape(label),
            self.out,
            w = short(width),
            h = short(height),
        )
    }
}
