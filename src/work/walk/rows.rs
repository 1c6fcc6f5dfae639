//! Rows: runs of a fabric, written rows, and rows repeated.

use super::super::fabric::{self, FabricCount};
use super::super::ledger::{Because, Halt, Ledger, Need, Run, Trouble, Why};
use super::super::needle::{Needle, reversed};
use super::super::row::{RowDone, work_row};
use super::color::{RowColors, Written};
use super::{MOST_ROWS, State, Walk};
use crate::measure::round::{Multiple, Toward, to_multiple};
use crate::measure::{Exact, Length, Linear};
use crate::source::{Span, Spanned};
use crate::syntax::tree::{
    Action, Ending, Extent, FabricKind, FabricName, From, Item, ItemKind, RowEnd, RowLabel,
    RowRange, Setting, Side, Step, WhichRows,
};

/// The stitches of plain rows.
const PLAIN: [&str; 5] = ["k", "knit", "plain", "p", "purl"];

/// Whether rows are told together that only go on: `knit 12 rounds` is a length, as `work even
/// for 12 rounds` is.
fn are_plain(label: &RowLabel, items: &[Item]) -> bool {
    let alone = label.name.is_none() && label.numbers.is_empty() && label.and_all.is_none();
    let plain = |item: &Item| match &item.kind {
        ItemKind::Run { name, until: RowEnd::End } => {
            PLAIN.iter().any(|one| one.eq_ignore_ascii_case(&name.value))
        }
        _ => false,
    };
    alone && !items.is_empty() && items.iter().all(plain)
}

impl<'d, L: Ledger> Walk<'_, 'd, L> {
    /// How many rows an extent comes to; `None` where no row gauge tells.
    pub(super) fn rows_for(
        &mut self,
        state: &State<'_>,
        step: &Step,
        extent: &Extent,
        block: u32,
        already: u32,
    ) -> Result<Option<u32>, Halt> {
        let flat = state.setting == Setting::Flat;
        let run = Run { gauge: state.gauge, block, already, keep_parity: flat };
        let (length, since) = match extent {
            // A count is led to by rows that change it; see `repeat`.
            Extent::Once | Extent::UntilCount(_) => return Ok(Some(block)),
            Extent::Rows(counts) => {
                return Ok(Some(self.ledger.rows(
                    counts,
                    Run { block: 1, already: 0, ..run },
                    step,
                )?));
            }
            // Two rows each, and so as long as they were.
            Extent::Ridges(counts) => {
                let run = Run { block: 2, already: 0, keep_parity: false, ..run };
                return Ok(Some(self.ledger.rows(counts, run, step)?.saturating_mul(2)));
            }
            Extent::Times { count, .. } => {
                let times = self.ledger.rows(count, run, step)?;
                return Ok(Some(times.saturating_mul(block)));
            }
            Extent::Length(lengths) => (self.ledger.length(lengths, step)?, None),
            Extent::Until { length, from } => {
                let start = match &from.value {
                    From::CastOn => None,
                    From::Named(name) => {
                        Some(self.start_of(state, &name.to_lowercase(), from.span)?)
                    }
                };
                let start = start.map_or(Length::zero(), |place| place.height);
                (self.ledger.length(length, step)?, Some(start))
            }
        };
        let Some(density) = state.gauge.and_then(|g| self.ledger.row_density(g)) else {
            return Ok(None);
        };
        let to_go = match since {
            Some(start) => length - (state.at.height - start),
            None => length - density.length(Exact::from_integer(i128::from(already))),
        };
        let exact = density.count(to_go);
        // Rows already worked count, even where they are more than was asked.
        if exact < Exact::new(-1, 2) && already == 0 {
            return Err(self.ledger.wrong(step.span, Trouble::LengthPassed { by: -to_go }));
        }
        let multiple = match (step.ending.map(|e| e.value), state.at.side) {
            (Some(Ending::Side(side)), Some(next)) if flat => {
                Multiple::new(2, u32::from(side == next))
            }
            (Some(Ending::Row(row)), _) => match self.pattern(state, step, block) {
                // Rows worked before that count do not end with the row that is asked for.
                Some((of, done)) => Multiple::new(of, (row + of - done % of) % of),
                None => Multiple::ANY,
            },
            _ if block > 1 => Multiple::new(block, 0),
            _ => Multiple::ANY,
        };
        let rows = to_multiple(exact, multiple, Toward::Nearest);
        // No fewer than none, and still on the side that is asked for.
        let rows = if rows < 0 { i64::from(multiple.plus()) } else { rows };
        Ok(Some(u32::try_from(rows).unwrap_or(MOST_ROWS)))
    }

    /// Of how many rows the pattern in work is, and how many of them are worked.
    pub(super) fn pattern(&self, state: &State<'_>, step: &Step, block: u32) -> Option<(u32, u32)> {
        let (name, done) = match &step.action {
            Action::Work { fabric: Some(fabric), .. } => (Some(fabric), 0),
            Action::Work { fabric: None, .. } => {
                (state.established, state.at.rows.saturating_sub(state.established_at))
            }
            _ => (None, 0),
        };
        match (name.map(|name| &name.kind), &step.action) {
            (Some(FabricKind::Named(name)), _) => {
                let rows = self.model.fabric_named(name)?.rows.len();
                u32::try_from(rows).ok().filter(|of| *of > 0).map(|of| (of, done))
            }
            // Rows are repeated from their first.
            (None, Action::Repeat { rows: WhichRows::Range(RowRange::Numbered { .. }), .. }) => {
                Some((block.max(1), 0))
            }
            _ => None,
        }
    }

    /// Whether a run ends with the row of the pattern that is said; `worked` rows of it.
    pub(super) fn ending_row(&mut self, step: &Step, pattern: Option<(u32, u32)>, worked: u32) {
        let Some(Spanned { value: Ending::Row(said), span }) = step.ending else { return };
        let trouble = match pattern {
            Some((of, _)) if said > of => Trouble::NoPatternRow(said),
            None => Trouble::NoPatternRow(said),
            Some((of, done)) => {
                let is = (done + worked + of - 1) % of + 1;
                if is == said {
                    return;
                }
                Trouble::WrongRow { said, is, of }
            }
        };
        let _ = self.ledger.wrong(span, trouble);
    }

    pub(super) fn work(
        &mut self,
        state: &mut State<'d>,
        step: &'d Step,
        fabric: Option<&'d FabricName>,
        extent: &Extent,
    ) -> Result<(), Halt> {
        self.something(state, step)?;
        state.needle.close_turns();
        let n = state.needle.in_work();
        let pattern = self.pattern(state, step, 1);
        let rows = match (step.ending.map(|e| e.value), extent, pattern) {
            // `work in lattice, ending with row 4`: as far as that row.
            (Some(Ending::Row(row)), Extent::Once, Some((of, done))) => {
                Some((row + of - done % of) % of)
            }
            // `work in lattice twice`: the whole of it.
            (_, Extent::Once | Extent::Times { .. }, Some((of, _))) if fabric.is_some() => {
                self.rows_for(state, step, extent, of, 0)?
            }
            _ => self.rows_for(state, step, extent, 1, 0)?,
        };
        self.ending_row(step, pattern, rows.unwrap_or(0));
        match (fabric, state.established) {
            (Some(fabric), _) => {
                self.fabric(state, step, fabric, fabric.span, &n, rows)?;
                state.established = Some(fabric);
                state.established_at = state.at.rows;
            }
            // What is shaped at an edge leaves the repeats in line; an even change does not.
            (None, Some(fabric)) if state.recounted => {
                self.fabric(state, step, fabric, step.span, &n, rows)?;
            }
            // The next rows of what was not shaped since its last.
            (None, Some(fabric)) if state.established_count == n => {
                let done = pattern.map_or(0, |(_, done)| done);
                self.uneven_rows(state, step, fabric, (&n, done, rows.unwrap_or(0)))?;
            }
            (None, _) => {}
        }
        state.established_count = state.needle.in_work();
        state.recounted = false;
        let rows = rows.unwrap_or(0).min(MOST_ROWS);
        let in_work = fabric.or(state.established);
        let done = pattern.map_or(0, |(_, done)| done);
        let each = self.fabric_rows(in_work, done, &n);
        let colors = self.fabric_colors(in_work, done, (&n, &each));
        let stitches = match each.len() {
            0 => n.times(i64::from(rows)),
            _ => Linear::number(each.iter().cycle().take(rows as usize).sum()),
        };
        self.count(state, &stitches, rows, &colors);
        if rows % 2 == 1 && state.setting == Setting::Flat {
            state.needle.ahead = reversed(std::mem::take(&mut state.needle.ahead));
        }
        state.plain_rows(rows);
        if rows == 0 {
            state.at.side = None;
        }
        self.advance(state, rows);
        self.ending(state, step);
        Ok(())
    }

    /// What a fabric asks of the count, and what it makes of it.
    fn fabric(
        &mut self,
        state: &mut State<'d>,
        step: &'d Step,
        fabric: &FabricName,
        place: Span,
        n: &Linear,
        rows: Option<u32>,
    ) -> Result<(), Halt> {
        let edges = fabric.at_edges();
        let with_edges = if edges > 0 { " with its edges" } else { "" };
        let multiple_of = |of: u32, plus: u32| {
            Multiple::new(of, plus.saturating_add(u32::try_from(edges).unwrap_or(0)))
        };
        let need = |ledger: &mut L, name: String, multiple: Multiple| {
            let because = Because::Fabric { name, multiple, has: n.clone() };
            ledger.need(Need::Multiple(n.clone(), multiple), &Why { place, because })
        };
        match &fabric.kind {
            FabricKind::Rib(a, b) => {
                let of = a.saturating_add(*b).max(1);
                let multiple = match state.setting {
                    Setting::Round => multiple_of(of, 0),
                    // Flat, a rib may end as it began (plus a) or not (plus 0): the author's count tells.
                    Setting::Flat => {
                        self.ledger.choose(n, &[multiple_of(of, *a), multiple_of(of, 0)], step)
                    }
                };
                need(self.ledger, format!("k{a} p{b} rib{with_edges}"), multiple)
            }
            FabricKind::Named(name) => {
                let Some(def) = self.model.fabric_named(name) else { return Ok(()) };
                match fabric::counts(self.model, def) {
                    FabricCount::Every { multiple, least, .. } => {
                        let multiple = multiple_of(multiple.of(), multiple.plus());
                        need(self.ledger, format!("{name}{with_edges}"), multiple)?;
                        let least = Linear::number(least + edges);
                        let short = n - &least;
                        let because = Because::Takes { takes: least, has: n.clone() };
                        self.ledger.need(Need::NotNegative(short), &Why { place, because })?;
                    }
                    FabricCount::Only(count) => {
                        let count = Linear::number(count + edges);
                        let off = n - &count;
                        let because = Because::Stated { said: count, has: n.clone() };
                        self.ledger.need(Need::Zero(off), &Why { place, because })?;
                    }
                    // Found wrong where it is defined.
                    FabricCount::Never { .. } => return Err(Halt::Lost),
                }
                match rows {
                    Some(rows) => self.uneven_rows(state, step, fabric, (n, 0, rows)),
                    None => Ok(()),
                }
            }
            FabricKind::Stockinette
            | FabricKind::ReverseStockinette
            | FabricKind::Garter
            | FabricKind::Seed => Ok(()),
        }
    }

    /// What rows of the author's fabric leave of `n` stitches, where its count differs from row to
    /// row: from the row `first` on (from 0), so many.
    fn uneven_rows(
        &mut self,
        state: &mut State<'d>,
        step: &'d Step,
        fabric: &FabricName,
        (n, first, rows): (&Linear, u32, u32),
    ) -> Result<(), Halt> {
        let FabricKind::Named(name) = &fabric.kind else { return Ok(()) };
        let Some(def) = self.model.fabric_named(name) else { return Ok(()) };
        if fabric::row_counts(self.model, def).windows(2).all(|w| w[0] == w[1]) {
            return Ok(());
        }
        let whole = u32::try_from(def.rows.len()).unwrap_or(1).max(1);
        let edges = Linear::number(fabric.at_edges());
        let mut needle = match &fabric.edges {
            Some(_) => Needle::of(n - &edges),
            None => state.needle.clone(),
        };
        // A whole repeat leaves what it began with.
        let over = def.rows.iter().cycle().skip((first % whole) as usize);
        for row in over.take((rows % whole) as usize) {
            work_row(self.model, self.ledger, step, row.items, &mut needle, Setting::Round)?;
        }
        if fabric.edges.is_some() {
            state.needle.set_in_work(&needle.total() + &edges);
        } else {
            state.needle = needle;
        }
        Ok(())
    }

    pub(super) fn row_step(
        &mut self,
        state: &mut State<'d>,
        step: &'d Step,
        label: Option<&'d RowLabel>,
        items: &'d [Item],
    ) -> Result<(), Halt> {
        self.something(state, step)?;
        state.established = None;
        if let Some(facing) = &step.facing {
            if matches!(items.first().map(|item| &item.kind), Some(ItemKind::JoinYarn)) {
                // Yarn that is joined may begin at either end.
                state.at.side = None;
            }
            self.said_side(state, facing);
        }
        let written = state.written(items);
        let mut times = 1;
        if let Some(label) = label {
            times = if are_plain(label, items) {
                let keep_parity = state.setting == Setting::Flat;
                let run = Run { gauge: state.gauge, block: 1, already: 0, keep_parity };
                self.ledger.rows(&label.next, run, step)?
            } else {
                self.known(&label.next, step)?
            };
            if let Some(name) = &label.name {
                let side = label.side.as_ref().map(|side| side.value);
                state.by_name.insert(name.value.as_str(), (written, side));
            }
            if let (true, Some(side)) = (label.numbers.is_empty(), label.and_all) {
                return self.all_rows(state, step, written, side);
            }
            let mut first = None;
            let mut numbers = 0;
            for range in &label.numbers {
                if let RowRange::Numbered { first: a, last: b } = *range {
                    let b = b.min(a.saturating_add(10_000));
                    for number in a..=b {
                        state.named.insert(number, written);
                    }
                    first.get_or_insert(a);
                    numbers += b - a + 1;
                }
            }
            if let Some(first) = first {
                if label.and_all.is_some() {
                    state.and_all = Some((first, written));
                }
                if first <= state.last_number {
                    // A new set of rows under the old numbers.
                    state.last_number = first - 1;
                    state.and_all = label.and_all.map(|_| (first, written));
                }
                self.fill_in(state, step, first)?;
                let contiguous = label.numbers.len() == 1;
                times = if contiguous { numbers } else { 1 };
                state.last_number = if contiguous { first + numbers - 1 } else { first };
            }
            self.side(state, label);
        }
        for _ in 0..times.min(MOST_ROWS) {
            self.row(state, step, written)?;
        }
        self.ending(state, step);
        Ok(())
    }

    /// `all WS rows`: what fills the gaps between numbered rows, and the next row where it is
    /// that side's turn.
    fn all_rows(
        &mut self,
        state: &mut State<'d>,
        step: &'d Step,
        row: Written<'d>,
        side: Side,
    ) -> Result<(), Halt> {
        let first = if side == Side::Right { 1 } else { 2 };
        state.and_all = Some((first, row));
        let its_turn = match state.setting {
            Setting::Flat => state.at.side.is_none_or(|next| next == side),
            Setting::Round => (state.last_number + 1) % 2 == first % 2 || side == Side::Right,
        };
        if its_turn {
            let follows = state.last_number % 2 != first % 2 && side == Side::Wrong;
            let number = if follows { state.last_number + 1 } else { first };
            state.named.insert(number, row);
            state.last_number = number;
            if state.setting == Setting::Flat {
                state.at.side = Some(side);
            }
            self.row(state, step, row)?;
            self.ending(state, step);
        }
        Ok(())
    }

    /// `rows 5-8: as rows 1-4`
    pub(super) fn same_rows(
        &mut self,
        state: &mut State<'d>,
        step: &'d Step,
        label: &'d RowLabel,
        rows: RowRange,
    ) -> Result<(), Halt> {
        self.something(state, step)?;
        state.established = None;
        let RowRange::Numbered { first, last } = rows else { return Ok(()) };
        let like = first..=last.min(first.saturating_add(10_000));
        let mut list = Vec::new();
        for number in like {
            match state.named.get(&number) {
                Some(row) => list.push(*row),
                None => return Err(self.ledger.wrong(step.span, Trouble::NoSuchRow(number))),
            }
        }
        self.side(state, label);
        let mut numbers = label.each_number();
        let named = numbers.clone().count();
        let least = list.len().max(named).max(1);
        for (index, row) in list.iter().cycle().take(least).enumerate() {
            if let Some(number) = numbers.next() {
                if index == 0 {
                    if number <= state.last_number {
                        state.last_number = number - 1;
                    }
                    self.fill_in(state, step, number)?;
                }
                state.named.insert(number, *row);
                state.last_number = number;
            }
            self.row(state, step, *row)?;
        }
        self.ending(state, step);
        Ok(())
    }

    /// Works rows that were defined before their turn (`rows 1 and 3`, `and all WS rows`).
    fn fill_in(&mut self, state: &mut State<'d>, step: &'d Step, next: u32) -> Result<(), Halt> {
        while state.last_number + 1 < next {
            let number = state.last_number + 1;
            let all = state
                .and_all
                .filter(|(first, _)| number >= *first && (number - first).is_multiple_of(2));
            let row = match (all, state.named.get(&number)) {
                (Some((_, row)), _) => row,
                (None, Some(row)) => *row,
                (None, None) => return Ok(()),
            };
            state.named.insert(number, row);
            state.last_number = number;
            self.row(state, step, row)?;
        }
        Ok(())
    }

    fn side(&mut self, state: &mut State<'_>, label: &RowLabel) {
        if let Some(said) = &label.side {
            self.said_side(state, said);
        }
    }

    /// The side that the author says the next row is worked on.
    fn said_side(&mut self, state: &mut State<'_>, said: &Spanned<Side>) {
        if state.setting == Setting::Round {
            return;
        }
        if state.at.rows > 0 && state.at.side.is_some_and(|side| side != said.value) {
            let said_right = said.value == Side::Right;
            let _ = self.ledger.wrong(said.span, Trouble::WrongSide { said_right });
        }
        state.at.side = Some(said.value);
    }

    /// Works a row; a plain one where no stitches are written.
    pub(super) fn row(
        &mut self,
        state: &mut State<'d>,
        step: &'d Step,
        row: Written<'d>,
    ) -> Result<(), Halt> {
        let Some(items) = row.items else {
            state.take_color(row.color);
            self.pass_row(state);
            return Ok(());
        };
        let done =
            work_row(self.model, self.ledger, step, items, &mut state.needle, state.setting)?;
        self.count(state, &done.worked, 1, &[RowColors::worked(row, &done)]);
        let RowDone { turns, held, .. } = done;
        if state.setting == Setting::Round {
            // A gap opens the round: what lies on both sides of its start is one group now.
            state.needle.open_at_gap();
        }
        for (name, count) in held {
            self.put_aside(&name, Needle::of(count), state.copies);
        }
        // A turn at the very end is the end of the row; turns within it begin rows of their own.
        let ends_in_turn =
            matches!(items.last().map(|i| &i.kind), Some(ItemKind::Turn | ItemKind::WrapTurn));
        let rows = turns + u32::from(!ends_in_turn);
        if state.setting == Setting::Flat && rows % 2 == 1 {
            state.at.side = state.at.side.map(Side::other);
        }
        // Short rows lengthen only a part of the piece; its edge stays as long as it was.
        let side = state.at.side;
        self.advance(state, u32::from(turns == 0));
        state.at.side = side;
        state.recent.push(row);
        Ok(())
    }
}
