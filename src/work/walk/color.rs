//! Which color the stitches of a step are worked in.
//!
//! A color that is named stays on the needles until another is; stripes go on,
//! row by row, until one is named. A row that is worked again is worked in the
//! color it names itself, and else in what is on the needles. Stitches that name a color of
//! their own leave what is on the needles as it is.

use super::super::fabric;
use super::super::ledger::{Halt, Ledger, Use};
use super::super::row::RowDone;
use super::{MOST_ROWS, RECENT, State, Walk};
use crate::measure::Linear;
use crate::model::{ColorId, FabricDef};
use crate::source::Spanned;
use crate::syntax::tree::{FabricKind, FabricName, Item, Step, Stripe};

/// A row as it may be worked again.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Written<'d> {
    /// Its stitches; a plain row where none are written.
    pub(super) items: Option<&'d [Item]>,
    /// The color that it names itself.
    pub(super) color: Option<ColorId>,
}

/// The colors of a row that is one of several worked over and over.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct RowColors {
    /// The color that it names.
    pub(super) named: Option<ColorId>,
    /// Stitches that name a color of their own, by color; empty where none does.
    pub(super) colored: Vec<i64>,
    /// The stitches of the row, which they are among.
    pub(super) of: i64,
}

impl RowColors {
    /// A row as it was worked.
    pub(super) fn worked(row: Written<'_>, done: &RowDone) -> Self {
        let of = done.worked.known().unwrap_or(0);
        Self { named: row.color, colored: done.colored.clone(), of }
    }

    /// How many of so many stitches are of each color.
    fn among(&self, stitches: i64) -> impl Iterator<Item = i64> {
        let part = move |n: i64| {
            let of = i128::from(self.of.max(1));
            i64::try_from(i128::from(n) * i128::from(stitches) / of).unwrap_or(0)
        };
        self.colored.iter().map(move |n| part(*n))
    }
}

/// Stripes, and the row they began with.
pub(super) struct Stripes {
    /// Rows and color of each, in order.
    sequence: Vec<(u32, ColorId)>,
    began: u32,
}

impl Stripes {
    /// The color of a row of the piece.
    fn color(&self, row: u32) -> Option<ColorId> {
        let all = self.sequence.iter().fold(0_u32, |sum, (rows, _)| sum.saturating_add(*rows));
        let mut left = row.checked_sub(self.began)?.checked_rem(all)?;
        for &(rows, color) in &self.sequence {
            match left.checked_sub(rows) {
                Some(rest) => left = rest,
                None => return Some(color),
            }
        }
        None
    }
}

impl<'d> State<'d> {
    /// A row of this step, as it may be worked again.
    pub(super) fn written(&self, items: &'d [Item]) -> Written<'d> {
        Written { items: Some(items), color: self.own }
    }

    /// Remembers rows of which no stitches are written.
    pub(super) fn plain_rows(&mut self, rows: u32) {
        let row = Written { items: None, color: self.own };
        self.recent.extend(std::iter::repeat_n(row, rows.min(RECENT) as usize));
    }

    /// Puts a color on the needles; stripes are over.
    pub(super) fn take_color(&mut self, color: Option<ColorId>) {
        if let Some(color) = color {
            self.at.color = color;
            self.stripes = None;
        }
    }
}

impl<'d, L: Ledger> Walk<'_, 'd, L> {
    /// The color that a name stands for; unknown ones are told where names are.
    pub(super) fn color(&self, name: Option<&Spanned<String>>) -> Option<ColorId> {
        self.model.color_named(&name?.value)
    }

    pub(super) fn stripes(
        &mut self,
        state: &mut State<'d>,
        step: &'d Step,
        stripes: &'d [Stripe],
    ) -> Result<(), Halt> {
        let mut sequence = Vec::with_capacity(stripes.len());
        for Stripe { rows, color } in stripes {
            let rows = match self.ledger.number(rows, Use::Structure, step) {
                Err(Halt::Skip) => continue,
                other => other?.known().and_then(|n| u32::try_from(n).ok()).unwrap_or(0),
            };
            if let Some(color) = self.color(Some(color)) {
                sequence.push((rows, color));
            }
        }
        if let Some(&(_, first)) = sequence.first() {
            // What is cast on or picked up before the first row belongs to the first stripe.
            state.at.color = first;
        }
        state.stripes = Some(Stripes { sequence, began: state.at.rows });
        Ok(())
    }

    /// The author's fabric that a run is worked in.
    fn defined(&self, fabric: &FabricName) -> Option<&FabricDef<'_>> {
        let FabricKind::Named(name) = &fabric.kind else { return None };
        self.model.fabric_named(name)
    }

    /// The stitches of each row of a run, from its first on and over and over, where the author's
    /// fabric that it is worked in has more in some rows than in others: the first row, of which
    /// so many are done, has `stitches`. Empty where all rows have as many.
    pub(super) fn fabric_rows(
        &self,
        fabric: Option<&FabricName>,
        done: u32,
        stitches: &Linear,
    ) -> Vec<i64> {
        let def = fabric.and_then(|fabric| self.defined(fabric).zip(Some(fabric.at_edges())));
        let (Some((def, edges)), Some(n)) = (def, stitches.known()) else { return Vec::new() };
        let done = (done as usize).checked_rem(def.rows.len()).unwrap_or(0);
        let mut rows = fabric::lengths(self.model, def, (n.saturating_sub(edges), done));
        if rows.windows(2).all(|two| two[0] == two[1]) {
            return Vec::new();
        }
        rows.iter_mut().for_each(|row| *row = row.saturating_add(edges));
        rows.rotate_left(done);
        rows
    }

    /// The colors of the rows of a run over so many stitches, from its first row on: those of
    /// the author's fabric that it is worked in, of which so many rows are done. Of each row
    /// there are as many stitches as `rows` has, over and over.
    pub(super) fn fabric_colors(
        &self,
        fabric: Option<&FabricName>,
        done: u32,
        (stitches, rows): (&Linear, &[i64]),
    ) -> Vec<RowColors> {
        let Some(fabric) = fabric.filter(|_| !self.model.colors.is_empty()) else {
            return Vec::new();
        };
        let Some(def) = self.defined(fabric) else { return Vec::new() };
        let edges = fabric.at_edges();
        let done = (done as usize).checked_rem(def.rows.len()).unwrap_or(0);
        let own = |row: usize| {
            let row = (row + def.rows.len() - done).checked_rem(rows.len());
            row.and_then(|row| rows.get(row).copied()).or(stitches.known())
        };
        let mut parts = match own(0) {
            Some(n) => fabric::colored(self.model, def, n.saturating_sub(edges)),
            None => Vec::new(),
        }
        .into_iter();
        let colors = def.rows.iter().enumerate().map(|(index, row)| {
            let (colored, of) = match parts.next() {
                Some((colored, of)) => (colored, of.saturating_add(edges)),
                None => (Vec::new(), own(index).unwrap_or(0)),
            };
            RowColors { named: self.color(row.color), colored, of }
        });
        let mut colors: Vec<RowColors> = colors.collect();
        colors.rotate_left(done);
        colors
    }

    /// Counts stitches that are about to be worked in so many rows (none: along an edge).
    ///
    /// The rows have the colors of `cycle`, over and over; one that names none is worked in
    /// what is on the needles, but for the stitches that name their own.
    pub(super) fn count(
        &mut self,
        state: &mut State<'d>,
        stitches: &Linear,
        rows: u32,
        cycle: &[RowColors],
    ) {
        state.stitches = &state.stitches + stitches;
        let colors = self.model.colors.len();
        let Some(stitches) = stitches.known().filter(|_| colors > 0) else { return };
        state.by_color.resize(colors, 0);
        let rows = rows.min(MOST_ROWS);
        let each = stitches.checked_div(i64::from(rows)).unwrap_or(0).max(1);
        let mut parts = vec![0_i64; colors];
        for row in 0..rows {
            let in_cycle = (row as usize).checked_rem(cycle.len()).and_then(|at| cycle.get(at));
            state.take_color(in_cycle.and_then(|row| row.named));
            let here = state.at.rows.saturating_add(row);
            if let Some(stripe) = state.stripes.as_ref().and_then(|stripes| stripes.color(here)) {
                state.at.color = stripe;
            }
            let each = in_cycle.map(|row| row.of).filter(|of| *of > 0).unwrap_or(each);
            let mut on_needles = each;
            for (part, n) in parts.iter_mut().zip(in_cycle.iter().flat_map(|row| row.among(each))) {
                *part = part.saturating_add(n);
                on_needles -= n;
            }
            let part = &mut parts[state.at.color.0];
            *part = part.saturating_add(on_needles);
        }
        let all: i128 = parts.iter().map(|part| i128::from(*part)).sum();
        let mut left = stitches;
        for (sum, part) in state.by_color.iter_mut().zip(parts) {
            let share = i128::from(stitches) * i128::from(part);
            let share = i64::try_from(share.checked_div(all).unwrap_or(0)).unwrap_or(0);
            *sum += share;
            left -= share;
        }
        // What does not divide, and all of an edge.
        state.by_color[state.at.color.0] += left;
    }
}
