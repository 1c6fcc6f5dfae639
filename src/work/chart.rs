//! A fabric as a chart: every stitch of every row with its repeats written
//! out, as it looks from the right side, and where the repeat stands.
//!
//! Says what goes into which cell; how a cell is drawn is for pages.

use super::fabric::{self, tally};
use super::trace::Trace;
use super::turned::written_for;
use crate::measure::SizeId;
use crate::model::{ColorId, FabricDef, Model};
use crate::stitch;
use crate::syntax::tree::{
    Action, Counts, FabricKind, Item, ItemKind, RowEnd, Setting, Side, StarEnd, Step,
};

/// The most columns and rows of a chart that can be read.
const MOST_COLUMNS: usize = 60;
const MOST_ROWS: usize = 80;

/// A chart, seen from the right side.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Chart {
    /// How many cells wide it is.
    pub columns: usize,
    /// Its rows, the first to be worked first.
    pub rows: Vec<ChartRow>,
    /// The cells of the repeat, from the right: the first and one past the last.
    pub repeat: Option<(usize, usize)>,
    /// Whether all rows are worked on the right side, round after round.
    pub round: bool,
}

/// A row of a chart.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ChartRow {
    /// Its number, from 1.
    pub number: usize,
    /// The side it is worked on.
    pub side: Side,
    /// Its cells from right to left.
    pub cells: Vec<Cell>,
}

/// What stands in one cell, or in several side by side.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Cell {
    /// How many cells it takes up.
    pub width: usize,
    /// What is drawn.
    pub symbol: Symbol,
    /// What the knitter works; empty where there is no stitch.
    pub stitch: String,
    /// In which color, where the fabric says it.
    pub color: Option<ColorId>,
}

/// What is drawn in a cell.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Symbol {
    /// A symbol of the table of stitches, by its name.
    Known(&'static str),
    /// Letters, for what has no symbol.
    Letters(String),
    /// No stitch: the count differs from row to row.
    None,
}

/// The chart of a fabric over one repeat and its edges; `None` where it is
/// not told stitch by stitch, or is too large to read.
#[must_use]
pub fn chart(model: &Model<'_>, traces: &[Trace], fabric: &FabricDef<'_>) -> Option<Chart> {
    if fabric.rows.is_empty() || fabric.rows.len() > MOST_ROWS {
        return None;
    }
    let round = worked_in(model, traces, fabric, Setting::Round);
    let counts = fabric::row_counts(model, fabric);
    // The sides the rows are worked on, and those they are written for.
    let sides = sides(fabric, round);
    let written = match written_for(fabric) {
        Some(setting) => self::sides(fabric, setting == Setting::Round),
        None => sides.clone(),
    };
    let mut rows = Vec::new();
    // A color that a row names stays on the needles.
    let mut color = None;
    let told = written.iter().zip(&sides).zip(&counts);
    for (index, (row, ((written, side), n))) in fabric.rows.iter().zip(told).enumerate() {
        let worked = stitches(model, row.items, *n)?;
        let mut cells = cells(model, &worked, *written)?;
        color = row.color.and_then(|color| model.color_named(&color.value)).or(color);
        cells.iter_mut().for_each(|cell| cell.color = cell.color.or(color));
        if *written == Side::Wrong {
            cells.reverse();
        }
        if written != side {
            cells.iter_mut().for_each(turn);
        }
        rows.push(ChartRow { number: index + 1, side: *side, cells });
    }
    let width = |row: &ChartRow| row.cells.iter().map(|cell| cell.width).sum::<usize>();
    let columns = rows.iter().map(width).max().filter(|n| *n > 0 && *n <= MOST_COLUMNS)?;
    for row in &mut rows {
        let missing = columns - width(row);
        let middle = row.cells.len() / 2;
        let none = Cell { width: 1, symbol: Symbol::None, stitch: String::new(), color: None };
        row.cells.splice(middle..middle, std::iter::repeat_n(none, missing));
    }
    let repeat = repeat(model, fabric, &written, columns);
    Some(Chart { columns, rows, repeat, round })
}

/// Names what is worked from the other side to look the same.
fn turn(cell: &mut Cell) {
    if let Some(found) = stitch::find(&cell.stitch) {
        cell.stitch = found.wrong_side.into_owned();
    }
}

/// Whether a step works the fabric flat, or in the round.
pub(super) fn worked_in(
    model: &Model<'_>,
    traces: &[Trace],
    fabric: &FabricDef<'_>,
    setting: Setting,
) -> bool {
    fn uses(step: &Step, name: &str, found: &mut Vec<crate::source::Span>) {
        if let Action::Work { fabric: Some(used), .. } = &step.action
            && matches!(&used.kind, FabricKind::Named(own) if own.eq_ignore_ascii_case(name))
        {
            found.push(step.span);
        }
        step.steps.iter().for_each(|inner| uses(inner, name, found));
    }
    let mut steps = Vec::new();
    for step in model.pieces.iter().flat_map(|piece| &piece.steps) {
        uses(step, &fabric.name.value, &mut steps);
    }
    let mut visits = traces.iter().flat_map(|trace| &trace.visits);
    visits.any(|visit| steps.contains(&visit.step) && visit.setting == setting)
}

/// The side of each row: as it is labelled, or in turn.
pub(super) fn sides(fabric: &FabricDef<'_>, round: bool) -> Vec<Side> {
    let said = |index: usize| Some(fabric.rows.get(index)?.label?.side.as_ref()?.value);
    let first = (0..fabric.rows.len()).find_map(|index| Some((index, said(index)?)));
    let (at, side) = first.unwrap_or((0, Side::Right));
    let turned = |side: Side| if side == Side::Right { Side::Wrong } else { Side::Right };
    (0..fabric.rows.len())
        .map(|index| match said(index) {
            _ if round => Side::Right,
            Some(side) => side,
            None if index.abs_diff(at) % 2 == 0 => side,
            None => turned(side),
        })
        .collect()
}

/// The cells of a row in the order it is worked.
fn cells(model: &Model<'_>, worked: &[Worked], side: Side) -> Option<Vec<Cell>> {
    // With the stitches that each takes.
    let mut cells: Vec<(Cell, i64)> = Vec::new();
    for stitch in worked {
        if stitch.makes < 0 {
            // Stitches are passed over the one made just before: together they are a decrease.
            let gone = usize::try_from(1 - stitch.makes).ok()?;
            let left = cells.len().checked_sub(gone)?;
            let color = cells.get(left).and_then(|(cell, _)| cell.color);
            let takes = cells.iter().skip(left).map(|(_, takes)| takes).sum();
            let names: Vec<String> = cells.drain(left..).map(|(cell, _)| cell.stitch).collect();
            let symbol = match (gone, takes) {
                (2, ..=2) => "decrease-left",
                (2, _) => "double-decrease-left",
                _ => "double-decrease-center",
            };
            let stitch = format!("{}, {}", names.join(", "), stitch.name);
            cells.push((Cell { width: 1, symbol: Symbol::Known(symbol), stitch, color }, takes));
            continue;
        }
        let width = usize::try_from(stitch.makes).ok()?;
        if width > 0 {
            let symbol = symbol(model, stitch, side);
            let color = stitch.color;
            let cell = Cell { width, symbol, stitch: stitch.name.clone(), color };
            cells.push((cell, stitch.takes));
        }
    }
    Some(cells.into_iter().map(|(cell, _)| cell).collect())
}

/// What a stitch looks like from the right side.
fn symbol(model: &Model<'_>, worked: &Worked, side: Side) -> Symbol {
    let letters = || Symbol::Letters(worked.name.clone());
    let own = &model.document.front.abbreviations;
    if worked.in_one || own.iter().any(|own| own.name.value == worked.name) {
        return letters();
    }
    let Some(found) = stitch::find(&worked.name) else { return letters() };
    let seen = match side {
        Side::Right => Some(found),
        Side::Wrong => stitch::find(&found.wrong_side),
    };
    seen.map_or_else(letters, |stitch| Symbol::Known(stitch.symbol))
}

/// Where the repeat stands, from the right: told by the longest row with a
/// repeat of stitches.
fn repeat(
    model: &Model<'_>,
    fabric: &FabricDef<'_>,
    sides: &[Side],
    columns: usize,
) -> Option<(usize, usize)> {
    let told = fabric.rows.iter().zip(sides).filter_map(|(row, side)| {
        let at = row.items.iter().position(|item| matches!(item.kind, ItemKind::Star { .. }))?;
        let ItemKind::Star { items, .. } = &row.items.get(at)?.kind else { return None };
        let (_, unit) = tally(model, items)?;
        let (_, before) = tally(model, row.items.get(..at)?)?;
        let (unit, before) = (usize::try_from(unit).ok()?, usize::try_from(before).ok()?);
        Some((unit, before, *side))
    });
    let (unit, before, side) = told.max_by_key(|(unit, ..)| *unit)?;
    let from = match side {
        Side::Right => before,
        Side::Wrong => columns.checked_sub(before + unit)?,
    };
    (unit > 0 && from + unit <= columns).then_some((from, from + unit))
}

/// The most stitches a row may have.
const MOST: usize = 10_000;

/// One stitch, or several made in one.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Worked {
    /// As it is written: `k`, `k2tog`, `2/2 RC`; several with a comma.
    pub name: String,
    /// Stitches it takes from the left needle.
    pub takes: i64,
    /// Stitches more on the right needle; less than nothing for `psso`.
    pub makes: i64,
    /// Whether it is several stitches worked into one.
    pub in_one: bool,
    /// The color it names.
    pub color: Option<ColorId>,
}

/// The stitches of a row over `n` stitches, in the order they are worked;
/// `None` where the row does not come out, or is not told stitch by stitch
/// (work in pattern, bind off, turn).
#[must_use]
pub fn stitches(model: &Model<'_>, items: &[Item], n: i64) -> Option<Vec<Worked>> {
    let mut row = Row { model, left: n, color: None, all: Vec::new() };
    row.items(items)?;
    (row.left == 0).then_some(row.all)
}

struct Row<'a, 'd> {
    model: &'a Model<'d>,
    /// Stitches still on the left needle.
    left: i64,
    /// The color that the items in work name.
    color: Option<ColorId>,
    all: Vec<Worked>,
}

impl Row<'_, '_> {
    fn items(&mut self, items: &[Item]) -> Option<()> {
        items.iter().try_for_each(|item| self.item(item))
    }

    fn item(&mut self, item: &Item) -> Option<()> {
        let outer = self.color;
        let named = item.color.as_ref().and_then(|color| self.model.color_named(&color.value));
        self.color = named.or(outer);
        self.kind(&item.kind)?;
        self.color = outer;
        Some(())
    }

    fn kind(&mut self, kind: &ItemKind) -> Option<()> {
        match kind {
            ItemKind::Stitch { name, count } => {
                let times = count.as_ref().map_or(Some(1), value)?;
                (0..times).try_for_each(|_| self.stitch(&name.value))
            }
            ItemKind::Run { name, until } => {
                let keep = match until {
                    RowEnd::End => 0,
                    RowEnd::Last(counts) => value(counts)?,
                    RowEnd::Marker { .. } | RowEnd::Gap { .. } => return None,
                };
                self.until(keep, |row| row.stitch(&name.value))
            }
            ItemKind::Group { items, times, more } => {
                let times = value(times)? + i64::from(*more);
                (0..times).try_for_each(|_| self.items(items))
            }
            ItemKind::Star { items, until } => match until {
                StarEnd::End => self.until(0, |row| row.items(items)),
                StarEnd::Last(counts) => {
                    let keep = value(counts)?;
                    self.until(keep, |row| row.items(items))
                }
                StarEnd::Times { count, more } => {
                    let times = value(count)? + i64::from(*more);
                    (0..times).try_for_each(|_| self.items(items))
                }
                StarEnd::Marker { .. } => None,
            },
            ItemKind::InOne { items } => {
                let mut inner =
                    Row { model: self.model, left: i64::MAX, color: self.color, all: Vec::new() };
                inner.items(items)?;
                let names: Vec<&str> = inner.all.iter().map(|w| w.name.as_str()).collect();
                let makes = inner.all.iter().map(|w| w.makes).sum();
                let color = inner.all.first().and_then(|worked| worked.color);
                self.put(Worked { name: names.join(", "), takes: 1, makes, in_one: true, color })
            }
            ItemKind::Marker { .. } | ItemKind::JoinYarn => Some(()),
            ItemKind::Pattern(_)
            | ItemKind::BindOff(_)
            | ItemKind::CastOn(_)
            | ItemKind::Hold { .. }
            | ItemKind::HoldRest { .. }
            | ItemKind::Turn
            | ItemKind::WrapTurn => None,
        }
    }

    /// Works something again and again until so many stitches are left.
    fn until(&mut self, keep: i64, mut work: impl FnMut(&mut Self) -> Option<()>) -> Option<()> {
        while self.left > keep {
            let before = self.left;
            work(self)?;
            if self.left >= before {
                return None;
            }
        }
        (self.left == keep).then_some(())
    }

    fn stitch(&mut self, name: &str) -> Option<()> {
        let (takes, makes) = self.model.stitch(name)?;
        let color = self.color;
        self.put(Worked { name: name.to_owned(), takes, makes, in_one: false, color })
    }

    fn put(&mut self, worked: Worked) -> Option<()> {
        self.left -= worked.takes;
        self.all.push(worked);
        (self.left >= 0 && self.all.len() <= MOST).then_some(())
    }
}

fn value(counts: &Counts) -> Option<i64> {
    counts.given.get(SizeId(0)).map(|n| i64::from(*n))
}
