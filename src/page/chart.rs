//! Stitch charts of the author's fabrics.
//!
//! The symbols are plain shapes: a blank for a knit stitch, a dot for a purl
//! stitch, a ring for a yarn over, strokes that lean as a decrease leans, as
//! the trade has long drawn them; letters for what has no shape of its own. Where
//! there are colors, all but the first are shaded, so that nothing hangs on color;
//! of more than two each cell has the letters of its own besides. A chart is read
//! from the bottom, right-side rows from the right.

use super::html::escape;
use super::svg::{Pen, Svg};
use crate::Checked;
use crate::model::{ColorId, Model};
use crate::stitch;
use crate::syntax::front::Color;
use crate::syntax::tree::Side;
use crate::work::chart::{Chart, ChartRow, Symbol, chart};

/// The side of a cell.
const CELL: f64 = 22.0;
/// Room for the numbers of rows.
const ROOM: f64 = 34.0;

/// A chart with the key to its symbols.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Drawn {
    /// What it shows.
    pub(super) label: String,
    svg: Svg,
    width: f64,
    height: f64,
    key: Vec<Entry>,
}

/// A symbol and what it stands for.
#[derive(Clone, PartialEq, Debug)]
struct Entry {
    symbol: Symbol,
    ink: Option<Ink>,
    width: usize,
    text: String,
}

/// How the color of a cell is drawn.
#[derive(Clone, PartialEq, Debug)]
struct Ink {
    /// Its letters; none where the shade tells it from the others, or its want.
    letters: String,
    shaded: bool,
}

/// The colors of a chart by their places in the pattern.
struct Inks {
    letters: Vec<String>,
    /// The first of those that are worked.
    first: Option<ColorId>,
    /// Cells of the first color stay blank: no cell is without a color.
    first_blank: bool,
    /// Cells of the other stay without letters: there is but one.
    shade_tells: bool,
}

impl Inks {
    fn of(chart: &Chart, colors: &[Color]) -> Self {
        let short = |color: &Color| color.name.value.chars().take(3).collect::<String>();
        let mut letters: Vec<String> = colors.iter().map(short).collect();
        let unique: std::collections::BTreeSet<&String> = letters.iter().collect();
        if unique.len() < letters.len() {
            letters = (1..=colors.len()).map(|n| n.to_string()).collect();
        }
        let mut stitches = chart.rows.iter().flat_map(|row| &row.cells);
        let first_blank = stitches.all(|cell| cell.color.is_some() || cell.symbol == Symbol::None);
        let worked = chart.rows.iter().flat_map(|row| &row.cells).filter_map(|cell| cell.color);
        let worked: std::collections::BTreeSet<ColorId> = worked.collect();
        let shade_tells = first_blank && worked.len() <= 2;
        Self { letters, first: worked.first().copied(), first_blank, shade_tells }
    }

    fn ink(&self, color: Option<ColorId>) -> Option<Ink> {
        let ColorId(at) = color?;
        let shaded = color != self.first;
        let blank = self.shade_tells || !shaded && self.first_blank;
        let letters = if blank { String::new() } else { self.letters.get(at)?.clone() };
        Some(Ink { letters, shaded })
    }
}

/// The chart of a fabric (by its place); `None` where it cannot be charted.
pub(super) fn drawn(checked: &Checked<'_>, fabric: usize) -> Option<Drawn> {
    let def = checked.model.fabrics.get(fabric)?;
    let chart = chart(&checked.model, &checked.traces, def)?;
    let (columns, rows) = (count(chart.columns), count(chart.rows.len()));
    let (width, height) = (columns * CELL + 2.0 * ROOM, rows * CELL + 2.0 * CELL);
    let mut svg = Svg::default();
    let inks = Inks::of(&chart, checked.model.colors);
    for (index, row) in chart.rows.iter().enumerate() {
        let top = (rows - count(index) - 1.0) * CELL + CELL * 0.5;
        draw_row(row, &inks, columns, top, &mut svg);
        let numbers = 12.0;
        let (x, anchor) = match row.side {
            Side::Right => (ROOM + columns * CELL + 7.0, "start"),
            Side::Wrong => (ROOM - 7.0, "end"),
        };
        svg.text((x, top + CELL * 0.68), numbers, anchor, &row.number.to_string());
    }
    if let Some((from, to)) = chart.repeat {
        let x = |cells: usize| ROOM + (columns - count(cells)) * CELL;
        let (top, bottom) = (CELL * 0.5, CELL * 0.5 + rows * CELL);
        let frame =
            [(x(to), top), (x(from), top), (x(from), bottom), (x(to), bottom), (x(to), top)];
        svg.lines(&[frame.to_vec()], Pen::of(2.6));
        let middle = (x(from) + x(to)) / 2.0;
        svg.text((middle, bottom + 16.0), 12.0, "middle", "repeat");
    }
    let label = format!("Chart of {}, the right side facing", def.name.value);
    Some(Drawn { label, svg, width, height, key: key(&chart, &checked.model, &inks) })
}

fn count(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}

fn draw_row(row: &ChartRow, inks: &Inks, columns: f64, top: f64, svg: &mut Svg) {
    let mut right = ROOM + columns * CELL;
    for cell in &row.cells {
        let width = count(cell.width) * CELL;
        draw(&cell.symbol, inks.ink(cell.color).as_ref(), (right - width, top), width, svg);
        right -= width;
    }
}

/// A cell with its edge, its top left corner given.
fn draw(symbol: &Symbol, ink: Option<&Ink>, (x, y): (f64, f64), width: f64, svg: &mut Svg) {
    let edge = [(x, y), (x + width, y), (x + width, y + CELL), (x, y + CELL), (x, y)];
    if let Some(Ink { letters, shaded }) = ink {
        if *shaded {
            svg.area(&edge[..4], 0.2);
        }
        // In the middle of a blank, and below what is drawn else.
        if letters.is_empty() {
        } else if *symbol == Symbol::Known("knit") {
            svg.text((x + width / 2.0, y + CELL * 0.64), 9.0, "middle", letters);
        } else {
            svg.text((x + width - 1.2, y + CELL - 1.0), 5.5, "end", letters);
        }
    }
    match symbol {
        Symbol::None => svg.area(&edge[..4], 0.28),
        Symbol::Letters(name) => letters(name, (x, y), width, svg),
        Symbol::Known(name) => shape(name, (x, y), width, svg),
    }
    svg.lines(&[edge.to_vec()], Pen::of(0.7));
}

fn letters(name: &str, (x, y): (f64, f64), width: f64, svg: &mut Svg) {
    let short: String = name.chars().filter(|c| !c.is_whitespace()).take(4).collect();
    let size = if short.chars().count() > 2 { 8.5 } else { 11.0 };
    svg.text((x + width / 2.0, y + CELL * 0.66), size, "middle", &short);
}

/// The shapes, by the names of the table of stitches.
fn shape(name: &str, corner: (f64, f64), width: f64, svg: &mut Svg) {
    let at = |x: f64, y: f64| (corner.0 + x, corner.1 + y);
    let (middle, pen) = (width / 2.0, Pen::of(1.5));
    let (name, purl) = match name.strip_suffix("-purl") {
        Some(name) => (name, true),
        None => (name, false),
    };
    // The dot that makes a purl stitch of a shape stands where there is room.
    let dot = |x: f64, y: f64, svg: &mut Svg| {
        if purl {
            svg.circle(at(x, y), 1.9, true);
        }
    };
    match name {
        "knit" => {}
        "purl" => svg.circle(at(middle, 11.0), 3.0, true),
        "knit-twisted" | "purl-twisted" => {
            svg.circle(at(middle, 7.0), 3.2, false);
            svg.lines(
                &[
                    vec![at(middle - 5.0, 18.0), at(middle + 2.4, 9.2)],
                    vec![at(middle + 5.0, 18.0), at(middle - 2.4, 9.2)],
                ],
                pen,
            );
            if name == "purl-twisted" {
                svg.circle(at(middle, 17.0), 1.9, true);
            }
        }
        "slip" | "slip-float" => {
            svg.lines(&[vec![at(middle - 6.0, 5.0), at(middle, 15.0), at(middle + 6.0, 5.0)]], pen);
            if name == "slip-float" {
                svg.line(at(middle - 7.0, 18.0), at(middle + 7.0, 18.0), pen);
            }
        }
        "yarn-over" => svg.circle(at(middle, 11.0), 5.5, false),
        "double-yarn-over" => {
            svg.circle(at(CELL * 0.5, 11.0), 5.5, false);
            svg.circle(at(CELL * 1.5, 11.0), 5.5, false);
        }
        "decrease-right" => {
            svg.line(at(5.0, 17.0), at(17.0, 5.0), pen);
            dot(16.0, 16.0, svg);
        }
        "decrease-left" => {
            svg.line(at(5.0, 5.0), at(17.0, 17.0), pen);
            dot(6.0, 16.0, svg);
        }
        "double-decrease-right" | "many-decrease-right" => {
            svg.lines(
                &[vec![at(4.0, 17.0), at(12.0, 5.0)], vec![at(10.0, 17.0), at(18.0, 5.0)]],
                pen,
            );
            dot(18.0, 17.0, svg);
        }
        "double-decrease-left" | "many-decrease-left" => {
            svg.lines(
                &[vec![at(4.0, 5.0), at(12.0, 17.0)], vec![at(10.0, 5.0), at(18.0, 17.0)]],
                pen,
            );
            dot(4.5, 17.0, svg);
        }
        "double-decrease-center" => {
            svg.lines(
                &[
                    vec![at(5.0, 17.0), at(11.0, 5.0), at(17.0, 17.0)],
                    vec![at(11.0, 5.0), at(11.0, 17.0)],
                ],
                pen,
            );
            dot(5.0, 6.0, svg);
        }
        "increase-bar" | "double-increase" => {
            let mut lines = vec![
                vec![at(middle, 18.0), at(middle, 12.0), at(middle - 6.0, 5.0)],
                vec![at(middle, 12.0), at(middle + 6.0, 5.0)],
            ];
            if name == "double-increase" {
                lines.push(vec![at(middle, 12.0), at(middle, 4.0)]);
            }
            svg.lines(&lines, pen);
            dot(middle + 6.0, 16.0, svg);
        }
        "increase" => letters(if purl { "MP" } else { "M" }, corner, width, svg),
        "increase-left" => letters(if purl { "MLP" } else { "ML" }, corner, width, svg),
        "increase-right" => letters(if purl { "MRP" } else { "MR" }, corner, width, svg),
        "lifted-increase-left" => letters("LL", corner, width, svg),
        "lifted-increase-right" => letters("LR", corner, width, svg),
        "loop-increase" => letters("Lp", corner, width, svg),
        "twist-right" | "cable-right" => cross(true, corner, width, purl, svg),
        "twist-left" | "cable-left" => cross(false, corner, width, purl, svg),
        other => letters(other, corner, width, svg),
    }
}

/// Stitches that cross: those in front drawn whole, those behind broken.
fn cross(right: bool, corner: (f64, f64), width: f64, purl: bool, svg: &mut Svg) {
    let x = |share: f64| {
        let share = if right { share } else { 1.0 - share };
        corner.0 + 3.0 + (width - 6.0) * share
    };
    let y = |share: f64| corner.1 + 19.0 - 16.0 * share;
    let pen = Pen::of(1.6);
    svg.line((x(0.0), y(0.0)), (x(1.0), y(1.0)), pen);
    svg.lines(
        &[vec![(x(1.0), y(0.0)), (x(0.66), y(0.34))], vec![(x(0.34), y(0.66)), (x(0.0), y(1.0))]],
        pen,
    );
    if purl {
        svg.circle((x(0.92), y(0.45)), 1.9, true);
    }
}

// ---- The key ---------------------------------------------------------------------

/// Each symbol once in each color, in the order in which it comes up.
fn key(chart: &Chart, model: &Model<'_>, inks: &Inks) -> Vec<Entry> {
    struct Found {
        symbol: Symbol,
        width: usize,
        color: Option<ColorId>,
        right: Vec<String>,
        wrong: Vec<String>,
    }
    let mut found: Vec<Found> = Vec::new();
    for row in &chart.rows {
        for cell in &row.cells {
            let (symbol, width, color) = (&cell.symbol, cell.width, cell.color);
            let place = found
                .iter()
                .position(|f| f.symbol == *symbol && f.width == width && f.color == color);
            let place = place.unwrap_or_else(|| {
                let (right, wrong) = (Vec::new(), Vec::new());
                found.push(Found { symbol: symbol.clone(), width, color, right, wrong });
                found.len() - 1
            });
            let Some(Found { right, wrong, .. }) = found.get_mut(place) else { continue };
            let names = if row.side == Side::Right { right } else { wrong };
            let name = said(&cell.stitch);
            if !names.contains(&name) {
                names.push(name);
            }
        }
    }
    let entry = |Found { symbol, width, color, right, wrong }| {
        let mut text = match (symbol == Symbol::None, right.join(" or "), wrong.join(" or ")) {
            (true, ..) => "no stitch".to_owned(),
            (_, right, _) if chart.round => right,
            (_, right, wrong) if wrong.is_empty() => format!("{right} on right-side rows"),
            (_, right, wrong) if right.is_empty() => format!("{wrong} on wrong-side rows"),
            (_, right, wrong) if right == wrong => right,
            (_, right, wrong) => {
                format!("{right} on right-side rows, {wrong} on wrong-side rows")
            }
        };
        if let Some(color) = color.and_then(|ColorId(at)| model.colors.get(at)) {
            text = format!("{}: {text}", color.name.value);
        }
        Entry { symbol, ink: inks.ink(color), width, text }
    };
    found.into_iter().map(entry).collect()
}

/// A stitch in the key: the plainest in words, the others by the names that
/// the abbreviations explain.
fn said(name: &str) -> String {
    match stitch::find(name) {
        Some(stitch) if matches!(&*stitch.name, "k" | "p") => stitch.means.into_owned(),
        _ => name.to_owned(),
    }
}

// ---- On a page and as a file -------------------------------------------------------

impl Drawn {
    /// As a figure of a page, the key below it.
    pub(super) fn figure(&self) -> String {
        let svg = self.svg.finish(self.width, self.height, &self.label, false);
        let entry = |entry: &Entry| {
            let (mut one, width) = (Svg::default(), count(entry.width) * CELL);
            draw(&entry.symbol, entry.ink.as_ref(), (1.0, 1.0), width, &mut one);
            let icon = one.finish(width + 2.0, CELL + 2.0, &entry.text, false);
            format!("<div><dt>{icon}</dt><dd>{}</dd></div>\n", escape(&entry.text))
        };
        let key: String = self.key.iter().map(entry).collect();
        format!(
            "<figure class=\"draw\">\n<div class=\"wide\" role=\"group\" tabindex=\"0\" aria-label=\"{label}\">\n{svg}</div>\n\
             <figcaption>{label}. Begin at the bottom; read rows with their numbers at the right from right to left.\n\
             <dl class=\"letters key\">\n{key}</dl>\n</figcaption>\n</figure>\n",
            label = escape(&self.label)
        )
    }

    /// As a file of its own.
    pub(super) fn file(&self) -> String {
        let mut svg = self.svg.clone();
        let mut y = self.height + 6.0;
        let mut width = self.width.max(340.0);
        for entry in &self.key {
            let icon = count(entry.width) * CELL;
            draw(&entry.symbol, entry.ink.as_ref(), (12.0, y), icon, &mut svg);
            svg.text((12.0 + icon + 10.0, y + 15.0), 12.0, "start", &entry.text);
            width = width.max(12.0 + icon + 22.0 + 6.6 * count(entry.text.chars().count()));
            y += CELL + 6.0;
        }
        svg.text((12.0, y + 14.0), 12.0, "start", &self.label);
        svg.finish(width, y + 28.0, &self.label, true)
    }
}
