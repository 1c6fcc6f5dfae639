//! Rows that are worked again: for a length, so often, until a count, or by a schedule.

use super::super::ledger::{Because, Halt, Ledger, Need, Run, Trouble, Use, Why};
use super::super::needle::{Needle, reversed};
use super::super::row::{RowDone, work_row};
use super::color::{RowColors, Written};
use super::{MOST_ROWS, RECENT, State, Walk};
use crate::measure::Linear;
use crate::source::Span;
use crate::syntax::tree::{
    Counts, Extent, ItemKind, RowRange, Schedule, Setting, Side, Step, WhichRows,
};

impl<'d, L: Ledger> Walk<'_, 'd, L> {
    pub(super) fn repeat(
        &mut self,
        state: &mut State<'d>,
        step: &'d Step,
        rows: &WhichRows,
        extent: &Extent,
    ) -> Result<Option<Linear>, Halt> {
        self.something(state, step)?;
        let list = self.listed(state, step, rows)?;
        let block = u32::try_from(list.len()).unwrap_or(MOST_ROWS).max(1);
        let just_worked = state.recent.ends_with(&list);
        let already = if just_worked { block } else { 0 };
        let pattern = self.pattern(state, step, block);
        let before = state.needle.clone();
        let Trial { needle: trial, worked, colors } =
            self.trial((&before, state.setting), step, &list)?;
        let counts_rows = list.iter().all(|row| !has_turn(row));
        let change = (&trial.in_work() - &before.in_work()).known();
        if change == Some(0) && counts_rows {
            let rows =
                self.rows_for(state, step, extent, block, already)?.unwrap_or(0).min(MOST_ROWS);
            if let Extent::UntilCount(until) = extent {
                self.times_until(state, step, until, change)?;
            }
            // The rows after the last whole block leave the needle as they do.
            let over = (rows % block) as usize;
            let block_takes: Linear = worked.iter().sum();
            let rest_takes: Linear = worked.iter().take(over).sum();
            let stitches = &block_takes.times(i64::from(rows / block)) + &rest_takes;
            self.count(state, &stitches, rows, &colors);
            let rest = list.get(..over).unwrap_or(&[]);
            state.needle = self.trial((&state.needle, state.setting), step, rest)?.needle;
            let many = rows.min(block.max(RECENT));
            let first = ((rows - many) % block) as usize;
            state.recent.extend(list.iter().copied().cycle().skip(first).take(many as usize));
            self.ending_row(step, pattern, rows);
            self.advance(state, rows);
            self.ending(state, step);
            return Ok(None);
        }
        change.into_iter().for_each(|change| self.ledger.each_repeat(change));
        let times = match extent {
            Extent::UntilCount(until) => self.times_until(state, step, until, change)?.0,
            Extent::Times { count, .. } => {
                let run = Run { gauge: state.gauge, block, already, keep_parity: false };
                if change == Some(0) {
                    let has = before.in_work();
                    self.ledger.short_row_repeats(count, &has, run, step)?
                } else {
                    self.ledger.shaping_repeats(count, change, run, step)?
                }
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
                    self.again(state, step, &list)?;
                }
            }
            None => {
                // Short rows that take no stitch leave the needle as it is, all told: where
                // they turn is known when their number is.
                if change != Some(0) {
                    self.grow(state, (&before, &trial), &times, step.span)?;
                }
                let whole = list.iter().filter(|row| row.items.is_some() && !has_turn(row)).count();
                let whole = i64::try_from(whole).unwrap_or(0);
                let rows = self.ledger.guess(&times).saturating_mul(whole).max(0);
                let rows = u32::try_from(rows).unwrap_or(MOST_ROWS).min(MOST_ROWS);
                self.advance(state, rows);
            }
        }
        self.ending(state, step);
        Ok(Some(times))
    }

    /// The rows that are worked again; plain ones where no stitches are written.
    fn listed(
        &mut self,
        state: &mut State<'d>,
        step: &'d Step,
        rows: &WhichRows,
    ) -> Result<Vec<Written<'d>>, Halt> {
        let rows = match rows {
            WhichRows::Range(range) => *range,
            WhichRows::Named(name) => {
                return match state.by_name.get(name.value.as_str()) {
                    Some((row, _)) => Ok(vec![*row]),
                    None => {
                        let names = state.by_name.keys().map(|n| (*n).to_owned()).collect();
                        let trouble = Trouble::NoRowNamed(name.value.clone(), names);
                        Err(self.ledger.wrong(name.span, trouble))
                    }
                };
            }
        };
        Ok(match rows {
            RowRange::Numbered { first, last } => {
                let mut list = Vec::new();
                if let Some((from, row)) = state.and_all
                    && last > state.last_number
                    && last >= from
                    && (last - from).is_multiple_of(2)
                    && last == state.last_number + 1
                {
                    state.named.insert(last, row);
                    state.last_number = last;
                    self.row(state, step, row)?;
                }
                for number in first..=last.min(first.saturating_add(10_000)) {
                    match state.named.get(&number) {
                        Some(row) => list.push(*row),
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
        })
    }

    /// Works some rows once on a copy of the needle, to see what they do to it.
    fn trial(
        &mut self,
        (needle, setting): (&Needle, Setting),
        step: &'d Step,
        list: &[Written<'d>],
    ) -> Result<Trial, Halt> {
        let mut trial = Trial {
            needle: needle.clone(),
            worked: Vec::new(),
            colors: Vec::with_capacity(list.len()),
        };
        let Trial { needle, worked, colors } = &mut trial;
        for row in list {
            let done = match row.items {
                Some(items) => work_row(self.model, self.ledger, step, items, needle, setting)?,
                None => {
                    if setting == Setting::Flat {
                        needle.ahead = reversed(std::mem::take(&mut needle.ahead));
                    }
                    RowDone { worked: needle.in_work(), ..RowDone::default() }
                }
            };
            colors.push(RowColors::worked(*row, &done));
            worked.push(done.worked);
        }
        Ok(trial)
    }

    /// How often rows that change the count by `change` lead to a count, and that count.
    fn times_until(
        &mut self,
        state: &State<'_>,
        step: &Step,
        until: &Counts,
        change: Option<i64>,
    ) -> Result<(Linear, Linear), Halt> {
        let change = change.ok_or(Halt::Lost)?;
        let has = state.needle.in_work();
        let to = self.ledger.number(until, Use::ShapeTo, step)?;
        let difference = if change >= 0 { &to - &has } else { &has - &to };
        if change == 0 {
            let because = Because::Stated { said: to.clone(), has };
            let why = Why { place: until.span, because };
            self.ledger.need(Need::Zero(difference), &why)?;
            return Ok((Linear::default(), to));
        }
        Ok((self.shapings_to(until, &difference, change.abs())?, to))
    }

    /// `repeat the decrease row every 4th row 5 more times`: plain rows, then the row, and again.
    pub(super) fn repeat_at(
        &mut self,
        state: &mut State<'d>,
        step: &'d Step,
        rows: &WhichRows,
        schedule: &Schedule,
    ) -> Result<Linear, Halt> {
        self.something(state, step)?;
        state.needle.close_turns();
        let list = self.listed(state, step, rows)?;
        let odd = |rows: usize| state.setting == Setting::Flat && rows % 2 == 1;
        let every = match schedule.rates.first() {
            Some(rate) => match self.interval(&rate.every, state.setting, step) {
                Err(Halt::Skip) => list.len(),
                other => other? as usize,
            },
            None => list.len(),
        };
        // Plain rows come first: the listed ones may begin on the other side.
        let turned = odd(every.saturating_sub(list.len()));
        let flips = odd(list.len());
        let mut before = state.needle.clone();
        if turned {
            before.ahead = reversed(before.ahead);
        }
        let mut trial = self.trial((&before, state.setting), step, &list)?.needle;
        if flips {
            trial.ahead = reversed(trial.ahead);
        }
        if turned {
            before.ahead = reversed(before.ahead);
            trial.ahead = reversed(trial.ahead);
        }
        let change = (&trial.in_work() - &before.in_work()).known().ok_or(Halt::Lost)?;
        self.ledger.each_repeat(change);
        let (total, until) = match &schedule.until {
            Some(until) => self
                .times_until(state, step, until, Some(change))
                .map(|(n, to)| (Some(n), Some(to)))?,
            None => (None, None),
        };
        let planned = self.scheduled(state, step, schedule, total.as_ref())?;
        let side = match rows {
            WhichRows::Named(name) => state.by_name.get(name.value.as_str()).and_then(|row| row.1),
            WhichRows::Range(_) => None,
        };
        let rates = match planned.shapings.known() {
            Some(_) => self.rates(schedule, state.setting, &planned.shapings, step)?,
            None => None,
        };
        match rates {
            Some(rates) => self.work_at(state, step, &list, &rates, (side, schedule.span))?,
            None => {
                self.grow(state, (&before, &trial), &planned.shapings, schedule.span)?;
                if let (Some(to), 0) = (until, state.needle.markers()) {
                    // The count that is written says it in fewer words than the sum does.
                    state.needle.set_in_work(to);
                }
                match planned.rows {
                    Some(rows) => {
                        if flips && rows % 2 == 1 {
                            state.needle.ahead = reversed(std::mem::take(&mut state.needle.ahead));
                        }
                        self.advance(state, rows.min(MOST_ROWS));
                    }
                    None => state.at.side = None,
                }
            }
        }
        self.ending(state, step);
        Ok(planned.shapings)
    }

    /// Works plain rows and then the listed ones, at each rate so often.
    fn work_at(
        &mut self,
        state: &mut State<'d>,
        step: &'d Step,
        list: &[Written<'d>],
        rates: &[(u32, u32)],
        (side, place): (Option<Side>, Span),
    ) -> Result<(), Halt> {
        let block = u32::try_from(list.len()).unwrap_or(MOST_ROWS);
        let mut told = false;
        let mut left = MOST_ROWS;
        for &(every, times) in rates {
            for _ in 0..times.min(left / every.max(block).max(1)) {
                left = left.saturating_sub(every.max(block));
                (0..every.saturating_sub(block)).for_each(|_| self.pass_row(state));
                let here = state.at.side.filter(|_| state.setting == Setting::Flat);
                if let (Some(said), Some(here), false) = (side, here, told)
                    && said != here
                {
                    told = true;
                    let said_right = said == Side::Right;
                    let _ = self.ledger.wrong(place, Trouble::WrongSide { said_right });
                }
                self.again(state, step, list)?;
            }
        }
        Ok(())
    }

    /// Works the listed rows once.
    fn again(
        &mut self,
        state: &mut State<'d>,
        step: &'d Step,
        list: &[Written<'d>],
    ) -> Result<(), Halt> {
        list.iter().try_for_each(|row| self.row(state, step, *row))
    }

    /// Lets every stretch grow `times` times by what it grew from `before` to `after`: so far as
    /// nobody has chosen how often, each repeat changes each stretch by the same number. Short
    /// rows leave some of them on the other needle.
    fn grow(
        &mut self,
        state: &mut State<'_>,
        (before, after): (&Needle, &Needle),
        times: &Linear,
        place: Span,
    ) -> Result<(), Halt> {
        let grown = after.ahead.iter().zip(&before.ahead);
        let grown = grown.chain(after.behind.iter().zip(&before.behind));
        let stretches = state.needle.ahead.iter_mut().chain(&mut state.needle.behind);
        for (stretch, (after, before)) in stretches.zip(grown) {
            let change = (&after.stitches - &before.stitches).known().ok_or(Halt::Lost)?;
            stretch.stitches = &stretch.stitches + &times.times(change);
            let because = Because::ShapeTooMuch { left: stretch.stitches.clone() };
            let need = Need::NotNegative(stretch.stitches.clone());
            self.ledger.need(need, &Why { place, because })?;
        }
        Ok(())
    }
}

/// What some rows do that were worked once on a copy.
struct Trial {
    /// The needle after them.
    needle: Needle,
    /// The stitches worked in each.
    worked: Vec<Linear>,
    /// The colors of each.
    colors: Vec<RowColors>,
}

fn has_turn(row: &Written<'_>) -> bool {
    row.items
        .iter()
        .copied()
        .flatten()
        .any(|i| matches!(i.kind, ItemKind::Turn | ItemKind::WrapTurn))
}
