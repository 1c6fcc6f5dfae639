//! Rows: runs of a fabric, written rows, and rows repeated.

use super::super::fabric::{self, FabricCount};
use super::super::ledger::{Because, Halt, Ledger, Need, Run, Trouble, Why};
use super::super::needle::{Needle, reversed};
use super::super::row::{RowDone, work_row};
use super::{MOST_ROWS, Place, State, Walk};
use crate::measure::round::{Multiple, Toward, to_multiple};
use crate::measure::{Exact, Length, Linear};
use crate::source::Span;
use crate::syntax::tree::{
    Extent, FabricKind, FabricName, From, Item, RowLabel, RowRange, Setting, Side, Step,
};

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
            Extent::Once => return Ok(Some(block)),
            Extent::Rows(counts) => {
                return Ok(Some(self.ledger.rows(
                    counts,
                    Run { block: 1, already: 0, ..run },
                    step,
                )?));
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
        let multiple = match (&step.ending, state.at.side) {
            (Some(side), Some(next)) if flat => Multiple::new(2, u32::from(side.value == next)),
            _ if block > 1 => Multiple::new(block, 0),
            _ => Multiple::ANY,
        };
        let rows = to_multiple(exact, multiple, Toward::Nearest);
        // No fewer than none, and still on the side that is asked for.
        let rows = if rows < 0 { i64::from(multiple.plus()) } else { rows };
        Ok(Some(u32::try_from(rows).unwrap_or(MOST_ROWS)))
    }

    pub(super) fn work(
        &mut self,
        state: &mut State<'d>,
        step: &'d Step,
        fabric: Option<&'d FabricName>,
        extent: &Extent,
    ) -> Result<(), Halt> {
        self.something(state, step)?;
        let n = state.needle.in_work();
        let rows = self.rows_for(state, step, extent, 1, 0)?;
        match (fabric, state.established) {
            (Some(fabric), _) => {
                self.fabric(state, step, fabric, fabric.span, &n, rows)?;
                state.established = Some(fabric);
            }
            // What is shaped at an edge leaves the repeats in line; an even change does not.
            (None, Some(fabric)) if state.recounted => {
                self.fabric(state, step, fabric, step.span, &n, rows)?;
            }
            (None, _) => {}
        }
        state.recounted = false;
        let rows = rows.unwrap_or(0).min(MOST_ROWS);
        state.stitches = n.times(i64::from(rows));
        if rows % 2 == 1 && state.setting == Setting::Flat {
            state.needle.ahead = reversed(std::mem::take(&mut state.needle.ahead));
        }
        state.recent.extend(std::iter::repeat_n(None, rows.min(64) as usize));
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
        let need = |ledger: &mut L, name: String, multiple: Multiple| {
            let because = Because::Fabric { name, multiple, has: n.clone() };
            ledger.need(Need::Multiple(n.clone(), multiple), &Why { place, because })
        };
        match &fabric.kind {
            FabricKind::Rib(a, b) => {
                let of = a.saturating_add(*b).max(1);
                let multiple = match state.setting {
                    Setting::Round => Multiple::new(of, 0),
                    // Flat, a rib may end as it began (plus a) or not (plus 0): the author's count tells.
                    Setting::Flat => {
                        self.ledger.choose(n, &[Multiple::new(of, *a), Multiple::new(of, 0)], step)
                    }
                };
                need(self.ledger, format!("k{a} p{b} rib"), multiple)
            }
            FabricKind::Named(name) => {
                let Some(def) = self.model.fabric_named(name) else { return Ok(()) };
                match fabric::counts(self.model, def) {
                    FabricCount::Every { multiple, least, .. } => {
                        need(self.ledger, name.clone(), multiple)?;
                        let short = n - &Linear::number(least);
                        let because =
                            Because::Takes { takes: Linear::number(least), has: n.clone() };
                        self.ledger.need(Need::NotNegative(short), &Why { place, because })?;
                    }
                    FabricCount::Only(count) => {
                        let because =
                            Because::Stated { said: Linear::number(count), has: n.clone() };
                        let off = n - &Linear::number(count);
                        self.ledger.need(Need::Zero(off), &Why { place, because })?;
                    }
                    // Found wrong where it is defined.
                    FabricCount::Never { .. } => return Err(Halt::Lost),
                }
                let changes = fabric::row_counts(self.model, def).windows(2).any(|w| w[0] != w[1]);
                if let (true, Some(rows)) = (changes, rows) {
                    // The count differs from row to row: work the rows after the last whole repeat.
                    let whole = u32::try_from(def.rows.len()).unwrap_or(1).max(1);
                    let mut needle = state.needle.clone();
                    for row in def.rows.iter().take((rows % whole) as usize) {
                        work_row(
                            self.model,
                            self.ledger,
                            step,
                            row.items,
                            &mut needle,
                            Setting::Round,
                        )?;
                    }
                    state.needle = needle;
                }
                Ok(())
            }
            FabricKind::Stockinette
            | FabricKind::ReverseStockinette
            | FabricKind::Garter
            | FabricKind::Seed => Ok(()),
        }
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
        let mut times = 1;
        if let Some(label) = label {
            times = label.next.max(1);
            let mut first = None;
            let mut numbers = 0;
            for range in &label.numbers {
                if let RowRange::Numbered { first: a, last: b } = *range {
                    let b = b.min(a.saturating_add(10_000));
                    for number in a..=b {
                        state.named.insert(number, items);
                    }
                    first.get_or_insert(a);
                    numbers += b - a + 1;
                }
            }
            if let Some(first) = first {
                if label.and_all.is_some() {
                    state.and_all = Some((first, items));
                }
                if first <= state.last_number {
                    // A new set of rows under the old numbers.
                    state.last_number = first - 1;
                    state.and_all = label.and_all.map(|_| (first, items));
                }
                self.fill_in(state, step, first)?;
                let contiguous = label.numbers.len() == 1;
                times = if contiguous { numbers } else { 1 };
                state.last_number = if contiguous { first + numbers - 1 } else { first };
            }
            self.side(state, label);
        }
        for _ in 0..times.min(MOST_ROWS) {
            self.row(state, step, items)?;
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
                .filter(|(first, _)| number > *first && (number - first).is_multiple_of(2));
            let items = match (all, state.named.get(&number)) {
                (Some((_, items)), _) => items,
                (None, Some(items)) => items,
                (None, None) => return Ok(()),
            };
            state.named.insert(number, items);
            state.last_number = number;
            self.row(state, step, items)?;
        }
        Ok(())
    }

    fn side(&mut self, state: &mut State<'_>, label: &RowLabel) {
        let Some(said) = &label.side else { return };
        if state.setting == Setting::Round {
            return;
        }
        if state.at.rows > 0 && state.at.side.is_some_and(|side| side != said.value) {
            let said_right = said.value == Side::Right;
            let _ = self.ledger.wrong(said.span, Trouble::WrongSide { said_right });
        }
        state.at.side = Some(said.value);
    }

    fn row(
        &mut self,
        state: &mut State<'d>,
        step: &'d Step,
        items: &'d [Item],
    ) -> Result<(), Halt> {
        let RowDone { turns, held, worked } =
            work_row(self.model, self.ledger, step, items, &mut state.needle, state.setting)?;
        state.stitches = &state.stitches + &worked;
        if state.setting == Setting::Round {
            // A gap opens the round: what lies on both sides of its start is one group now.
            state.needle.open_at_gap();
        }
        for (name, count) in held {
            self.put_aside(&name, Needle::of(count), state.copies);
        }
        // A turn at the very end is the end of the row; turns within it begin rows of their own.
        let ends_in_turn = matches!(
            items.last().map(|i| &i.kind),
            Some(crate::syntax::tree::ItemKind::Turn | crate::syntax::tree::ItemKind::WrapTurn)
        );
        let rows = turns + u32::from(!ends_in_turn);
        if state.setting == Setting::Flat && rows % 2 == 1 {
            state.at.side = state.at.side.map(Place::flipped);
        }
        // Short rows lengthen only a part of the piece; its edge stays as long as it was.
        let side = state.at.side;
        self.advance(state, u32::from(turns == 0));
        state.at.side = side;
        state.recent.push(Some(items));
        Ok(())
    }

    pub(super) fn repeat(
        &mut self,
        state: &mut State<'d>,
        step: &'d Step,
        rows: RowRange,
        extent: &Extent,
    ) -> Result<Option<Linear>, Halt> {
        self.something(state, step)?;
        let list: Vec<Option<&'d [Item]>> = match rows {
            RowRange::Numbered { first, last } => {
                let mut list = Vec::new();
                if let Some((from, items)) = state.and_all
                    && last > state.last_number
                    && (last - from) % 2 == 0
                    && last == state.last_number + 1
                {
                    state.named.insert(last, items);
                    state.last_number = last;
                    self.row(state, step, items)?;
                }
                for number in first..=last.min(first.saturating_add(10_000)) {
                    match state.named.get(&number) {
                        Some(items) => list.push(Some(*items)),
                        None => {
                            return Err(self.ledger.wrong(step.span, Trouble::NoSuchRow(number)));
                        }
                    }
                }
                list
            }
            RowRange::Last(n) => {
                let n = n as usize;
                match state.recent.len().checked_sub(n) {
                    Some(start) => state.recent.get(start..).unwrap_or(&[]).to_vec(),
                    None => return Err(self.ledger.wrong(step.span, Trouble::NoSuchRow(0))),
                }
            }
        };
        let block = u32::try_from(list.len()).unwrap_or(MOST_ROWS).max(1);
        let just_worked = state.recent.ends_with(&list);
        let already = if just_worked { block } else { 0 };
        // Work the block once on a copy to see what it does to the count.
        let before = state.needle.clone();
        let mut trial = before.clone();
        let counts_rows = list.iter().flatten().all(|items| !has_turn(items));
        for items in &list {
            match items {
                Some(items) => {
                    work_row(self.model, self.ledger, step, items, &mut trial, state.setting)?;
                }
                None if state.setting == Setting::Flat => {
                    trial.ahead = reversed(std::mem::take(&mut trial.ahead));
                }
                None => {}
            }
        }
        let change = (&trial.in_work() - &before.in_work()).known();
        if change == Some(0) && counts_rows {
            let rows =
                self.rows_for(state, step, extent, block, already)?.unwrap_or(0).min(MOST_ROWS);
            let n = state.needle.in_work();
            state.stitches = n.times(i64::from(rows));
            // The rows after the last whole block leave the needle as they do.
            for items in list.iter().take((rows % block) as usize) {
                if let Some(items) = items {
                    work_row(
                        self.model,
                        self.ledger,
                        step,
                        items,
                        &mut state.needle,
                        state.setting,
                    )?;
                } else if state.setting == Setting::Flat {
                    state.needle.ahead = reversed(std::mem::take(&mut state.needle.ahead));
                }
            }
            if rows >= block {
                state.recent.clear();
                state.recent.extend(list.iter().copied());
            }
            self.advance(state, rows);
            self.ending(state, step);
            return Ok(None);
        }
        let times = match extent {
            Extent::Times { count, .. } => {
                let run = Run { gauge: state.gauge, block, already, keep_parity: false };
                self.ledger.shaping_repeats(count, change, run, step)?
            }
            Extent::Once => Linear::number(1),
            _ => {
                let rows = self.rows_for(state, step, extent, block, already)?.unwrap_or(0);
                Linear::number(i64::from(rows / block))
            }
        };
        match times.known() {
            Some(n) => {
                for _ in 0..n.clamp(0, i64::from(MOST_ROWS / block)) {
                    for items in &list {
                        match items {
                            Some(items) => self.row(state, step, items)?,
                            None => self.pass_row(state),
                        }
                    }
                }
            }
            None => {
                // Not chosen yet: each repeat changes each stretch by the same number. Short rows
                // leave some of them on the other needle.
                let per_block = trial.ahead.iter().zip(&before.ahead);
                let per_block = per_block.chain(trial.behind.iter().zip(&before.behind));
                let changes: Vec<Option<i64>> =
                    per_block.map(|(t, b)| (&t.stitches - &b.stitches).known()).collect();
                let stretches = state.needle.ahead.iter_mut().chain(&mut state.needle.behind);
                for (stretch, change) in stretches.zip(changes) {
                    let change = change.ok_or(Halt::Lost)?;
                    stretch.stitches = &stretch.stitches + &times.times(change);
                    let why = Why {
                        place: step.span,
                        because: Because::ShapeTooMuch { left: stretch.stitches.clone() },
                    };
                    self.ledger.need(Need::NotNegative(stretch.stitches.clone()), &why)?;
                }
                let whole = list.iter().flatten().filter(|items| !has_turn(items)).count();
                let whole = i64::try_from(whole).unwrap_or(0);
                let rows = self.ledger.guess(&times).saturating_mul(whole).max(0);
                let rows = u32::try_from(rows).unwrap_or(MOST_ROWS).min(MOST_ROWS);
                self.advance(state, rows);
            }
        }
        self.ending(state, step);
        Ok(Some(times))
    }
}

fn has_turn(items: &[Item]) -> bool {
    use crate::syntax::tree::ItemKind;
    items.iter().any(|i| matches!(i.kind, ItemKind::Turn | ItemKind::WrapTurn))
}
