//! Which color the stitches of a step are worked in.
//!
//! A color that is named stays on the needles until another is; stripes go on,
//! row by row, until one is named. A row that is worked again is worked in the
//! color it names itself, and else in what is on the needles.

use super::super::ledger::{Halt, Ledger, Use};
use super::{MOST_ROWS, State, Walk};
use crate::measure::Linear;
use crate::model::ColorId;
use crate::source::Spanned;
use crate::syntax::tree::{FabricKind, Item, Step, Stripe};

/// A row as it may be worked again.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Written<'d> {
    /// Its stitches; a plain row where none are written.
    pub(super) items: Option<&'d [Item]>,
    /// The color that it names itself.
    pub(super) color: Option<ColorId>,
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
        self.recent.extend(std::iter::repeat_n(row, rows.min(64) as usize));
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

    /// The colors that the rows of a run name, from its first row on: those of the author's
    /// fabric that it is worked in, of which so many rows are done.
    pub(super) fn fabric_colors(
        &self,
        fabric: Option<&FabricKind>,
        done: u32,
    ) -> Vec<Option<ColorId>> {
        let Some(FabricKind::Named(name)) = fabric.filter(|_| !self.model.colors.is_empty()) else {
            return Vec::new();
        };
        let rows = self.model.fabric_named(name).map_or(&[][..], |fabric| &fabric.rows);
        let mut colors: Vec<_> = rows.iter().map(|row| self.color(row.color)).collect();
        let done = (done as usize).checked_rem(colors.len()).unwrap_or(0);
        colors.rotate_left(done);
        colors
    }

    /// Counts stitches that are about to be worked in so many rows (none: along an edge).
    ///
    /// The rows name the colors of `cycle`, over and over; one that names none is worked in
    /// what is on the needles. Where the rows have not all as many stitches they are parted
    /// among the colors by rows alone.
    pub(super) fn count(
        &mut self,
        state: &mut State<'d>,
        stitches: &Linear,
        rows: u32,
        cycle: &[Option<ColorId>],
    ) {
        state.stitches = &state.stitches + stitches;
        let colors = self.model.colors.len();
        let Some(stitches) = stitches.known().filter(|_| colors > 0) else { return };
        state.by_color.resize(colors, 0);
        let mut rows_of = vec![0_i64; colors];
        for row in 0..rows.min(MOST_ROWS) {
            let named = (row as usize).checked_rem(cycle.len()).and_then(|at| *cycle.get(at)?);
            state.take_color(named);
            let here = state.at.rows.saturating_add(row);
            if let Some(stripe) = state.stripes.as_ref().and_then(|stripes| stripes.color(here)) {
                state.at.color = stripe;
            }
            rows_of[state.at.color.0] += 1;
        }
        let all: i64 = rows_of.iter().sum();
        let mut left = stitches;
        for (sum, rows) in state.by_color.iter_mut().zip(rows_of) {
            let share = stitches.saturating_mul(rows).checked_div(all).unwrap_or(0);
            *sum += share;
            left -= share;
        }
        // What does not divide, and all of an edge.
        state.by_color[state.at.color.0] += left;
    }
}
