//! The three stages of the objective: the lowest level of the worst error,
//! then the least sum, then the larger values.
//!
//! Within given spans the rows that can still be broken split the coordinates
//! into parts that do not touch each other; each part is a net for the tables.
//! Knows nothing of clashes: where nothing holds it says so and no more.

use std::collections::BTreeSet;

use super::cost::{Cost, Fraction, Level, LongSum, Peak, Sum, Weights, weights};
use super::frame::{Frame, Span};
use super::merge::{best, floor};
use super::net::Price;
use super::parts::{LiveRow, Parts, extremes, live_rows};
use super::shadow::Shadow;
use super::whole::narrow;
use super::{Spent, Steps};
use crate::plan::system::System;

/// More values than this and a coordinate without an error is left out of the
/// tables where that is exact.
const SHORT: u64 = 64;
/// More values than this and nothing is listed.
const LISTED: u64 = 1 << 18;

/// The best values of the unknowns; nothing if nothing holds.
pub(super) fn optimum(system: &System, steps: &mut Steps) -> Result<Option<Best>, Spent> {
    let Some(frame) = Frame::new(system)? else { return Ok(None) };
    let Some(hard) = frame.hard() else { return Ok(None) };
    let mut level = frame.least_level(&hard);
    let mut search = Search { frame, hard: Some(hard), steps };
    let mut tries = 0;
    loop {
        // Nothing holds below this level.
        let spans = search.within(level)?;
        let looks_open = spans.is_some();
        if let Some(spans) = spans
            && let Some(best) = search.finish(&spans)?
        {
            return Ok(Some(best));
        }
        tries += 1;
        if tries == 2 && !super::clash::is_possible(system, search.steps)? {
            return Ok(None);
        }
        let next = if tries < 4 {
            search.next_floor(level, looks_open)?
        } else {
            search.lowest_level(level, looks_open)?
        };
        let Some(next) = next else { return Ok(None) };
        level = next;
    }
}

/// The best choice.
pub(super) struct Best {
    /// Of each unknown.
    pub(super) values: Vec<i64>,
    /// Of each aim, in no particular order.
    pub(super) errors: Vec<Fraction>,
}

struct Search<'a> {
    frame: Frame,
    /// What each variable may be at any level; nothing if nothing holds at any.
    hard: Option<Vec<Span>>,
    steps: &'a mut Steps,
}

/// A level at which looking at one variable at a time finds nothing wrong.
struct Open {
    /// A level below it at which nothing holds.
    below: Fraction,
    level: Fraction,
    /// What each variable may be there.
    spans: Vec<Span>,
}

/// What the tables found within some spans.
struct Found<C> {
    cost: C,
    /// By variable; only coordinates are filled in.
    values: Vec<i64>,
    /// Coordinates that were left out, as any value of the others leaves one for them.
    loose: BTreeSet<usize>,
}

impl Search<'_> {
    /// The spans at a level, in coordinates in which errors hold what they hang on.
    fn within(&mut self, level: Fraction) -> Result<Option<Vec<Span>>, Spent> {
        let Some(hard) = &self.hard else { return Ok(None) };
        match self.frame.within(hard, level)? {
            Some(spans) => self.untangled(spans, level),
            None => Ok(None),
        }
    }

    /// The same from the spans at a level in the coordinates there are.
    fn untangled(
        &mut self,
        mut spans: Vec<Span>,
        level: Fraction,
    ) -> Result<Option<Vec<Span>>, Spent> {
        loop {
            self.steps.take(1)?;
            if !self.frame.untangle(&spans)? {
                return Ok(Some(spans));
            }
            // There are more variables now.
            self.hard = self.frame.hard();
            let Some(hard) = &self.hard else { return Ok(None) };
            let Some(within) = self.frame.within(hard, level)? else { return Ok(None) };
            spans = within;
        }
    }

    /// A level above `low`, at which nothing holds, and below which nothing
    /// holds either. Nothing if there is none. `looks_open` says whether looking at one
    /// variable at a time finds nothing wrong at `low`.
    fn next_floor(
        &mut self,
        mut low: Fraction,
        mut looks_open: bool,
    ) -> Result<Option<Fraction>, Spent> {
        loop {
            let Some(Open { below, level: high, spans }) = self.first_open(low, looks_open)? else {
                return Ok(None);
            };
            if let Some(spans) = self.untangled(spans, high)?
                && let Some(floor) = self.floor(&spans)?
            {
                // No error lies between `below` and this one.
                if let Some(next) = self.frame.next_level(&spans, below)? {
                    return Ok(Some(floor.max(next)));
                }
            }
            (low, looks_open) = (high, true);
        }
    }

    /// The lowest level at which everything holds, which is above `low`; nothing
    /// if it holds at none.
    fn lowest_level(
        &mut self,
        mut low: Fraction,
        mut looks_open: bool,
    ) -> Result<Option<Fraction>, Spent> {
        loop {
            let Some(Open { level: high, spans, .. }) = self.first_open(low, looks_open)? else {
                return Ok(None);
            };
            if let Some(spans) = self.untangled(spans, high)?
                && let Some(found) = self.choose::<Level>(&spans, &self.free())?
            {
                return Ok(Some(found.cost.0.max(self.frame.settled_level())));
            }
            (low, looks_open) = (high, true);
        }
    }

    /// A level that nothing can be below within spans; nothing if nothing holds.
    fn floor(&mut self, spans: &[Span]) -> Result<Option<Fraction>, Spent> {
        match weights(&self.frame.errors, |v| (spans[v].low, spans[v].high))? {
            Weights::Short { weights, unit } => {
                let floor = self.floor_by::<Peak>(spans, &weights)?;
                Ok(floor.map(|Peak(over)| Fraction::reduced(over, unit)))
            }
            Weights::Long(_) | Weights::Longest(_) => {
                let floor = self.floor_by::<Level>(spans, &self.free())?;
                Ok(floor.map(|Level(level)| level))
            }
        }
    }

    fn floor_by<C: Cost>(
        &mut self,
        spans: &[Span],
        weights: &[C::Weight],
    ) -> Result<Option<C>, Spent> {
        let Some((mut cost, rows)) = live_rows::<C>(&self.frame, spans, weights)? else {
            return Ok(None);
        };
        let Some((rows, loose)) = self.without_loose(rows, spans)? else { return Ok(None) };
        for (_, net) in Parts::new(&self.frame, rows, spans, &loose).nets {
            let Some(least) = floor(&net, self.steps)? else { return Ok(None) };
            cost.join(&least);
        }
        Ok(Some(cost))
    }

    /// No weights.
    fn free(&self) -> Vec<()> {
        vec![(); self.frame.errors.len()]
    }

    /// A level above `low` at which looking at one variable at a time finds
    /// nothing wrong. Nothing if there is no such level. Where `low` itself does not
    /// look open it comes near to the lowest.
    fn first_open(&mut self, mut low: Fraction, looks_open: bool) -> Result<Option<Open>, Spent> {
        const HALVINGS: usize = 4;
        let mut high = low;
        let mut wrong_at_low = !looks_open;
        let Some(hard) = &self.hard else { return Ok(None) };
        let mut spans = loop {
            self.steps.take(1)?;
            let Some(next) = self.frame.next_level(hard, high)? else { return Ok(None) };
            high = next.max(high.doubled()?);
            if let Some(spans) = self.frame.within(hard, high)? {
                break spans;
            }
            (low, wrong_at_low) = (high, true);
        };
        for _ in 0..if wrong_at_low { HALVINGS } else { 0 } {
            let Some(middle) = low.between(high)? else { break };
            // What cannot be at a level cannot be at a lower one.
            if let Some(fewer) = self.frame.within(&spans, middle)? {
                (high, spans) = (middle, fewer);
            } else {
                low = middle;
            }
        }
        Ok(Some(Open { below: low, level: high, spans }))
    }

    /// The least sum within spans, and of its choices the one with the larger values.
    fn finish(&mut self, spans: &[Span]) -> Result<Option<Best>, Spent> {
        match weights(&self.frame.errors, |v| (spans[v].low, spans[v].high))? {
            Weights::Short { weights, .. } => self.preferred::<Sum>(spans, &weights),
            Weights::Long(weights) => self.preferred::<LongSum<4>>(spans, &weights),
            Weights::Longest(weights) => self.preferred::<LongSum<32>>(spans, &weights),
        }
    }

    fn preferred<C: Cost>(
        &mut self,
        spans: &[Span],
        weights: &[C::Weight],
    ) -> Result<Option<Best>, Spent> {
        let mut spans = spans.to_vec();
        let Some(mut found) = self.choose::<C>(&spans, weights)? else {
            return Ok(None);
        };
        // Coordinates left out make no difference to the cost, but to the ties.
        // The first unknown that hangs on one is made as large as it can be,
        // after those before it.
        while let Some(first) = self.first_hanging(&spans, &found.loose) {
            let mut fixed = Vec::new();
            for v in (0..first).filter(|&v| !spans[v].is_single()) {
                let value = self.frame.forms[v].value(|c| found.values[c])?;
                fixed.push((v, value, value));
            }
            if !self.frame.narrow(&mut spans, &fixed) {
                return Err(Spent);
            }
            (spans, found) = self.largest(&spans, first, &found.cost, weights)?;
        }
        let value = |v: usize| match spans[v] {
            span if span.is_single() => Ok(span.low),
            _ => self.frame.forms[v].value(|c| found.values[c]),
        };
        let mut errors = self.frame.settled.clone();
        for e in &self.frame.errors {
            errors.push(e.at(value(e.variable)?));
        }
        let values = (0..self.frame.unknowns).map(value).collect::<Result<_, _>>()?;
        Ok(Some(Best { values, errors }))
    }

    /// The first unknown not yet known that hangs on one of the coordinates.
    fn first_hanging(&self, spans: &[Span], on: &BTreeSet<usize>) -> Option<usize> {
        (0..self.frame.unknowns).find(|&v| {
            !spans[v].is_single() && self.frame.forms[v].terms.iter().any(|t| on.contains(&t.0))
        })
    }

    /// The spans that hold a variable at the largest value that costs no more,
    /// and what is found in them.
    fn largest<C: Cost>(
        &mut self,
        spans: &[Span],
        variable: usize,
        cost: &C,
        weights: &[C::Weight],
    ) -> Result<(Vec<Span>, Found<C>), Spent> {
        let (mut low, mut high) = (spans[variable].low, spans[variable].high);
        let mut middle = high;
        while low < high {
            if self.reaches(spans, (variable, middle, high), cost, weights)?.is_some() {
                low = middle;
            } else {
                high = middle - 1;
            }
            middle = high - i64::try_from(high.abs_diff(low) / 2).map_err(|_| Spent)?;
        }
        self.reaches(spans, (variable, low, low), cost, weights)?.ok_or(Spent)
    }

    /// What is found at no more cost with a variable between two values.
    fn reaches<C: Cost>(
        &mut self,
        spans: &[Span],
        change: (usize, i64, i64),
        cost: &C,
        weights: &[C::Weight],
    ) -> Result<Option<Reached<C>>, Spent> {
        self.steps.take(1)?;
        let mut spans = spans.to_vec();
        if !self.frame.narrow(&mut spans, &[change]) {
            return Ok(None);
        }
        let found = self.choose::<C>(&spans, weights)?;
        Ok(found.filter(|f| f.cost <= *cost).map(|f| (spans, f)))
    }

    /// The best choice of all coordinates within spans.
    fn choose<C: Cost>(
        &mut self,
        spans: &[Span],
        weights: &[C::Weight],
    ) -> Result<Option<Found<C>>, Spent> {
        let Some((mut cost, rows)) = live_rows::<C>(&self.frame, spans, weights)? else {
            return Ok(None);
        };
        let Some((rows, loose)) = self.without_loose(rows, spans)? else { return Ok(None) };
        let parts = Parts::new(&self.frame, rows, spans, &loose);
        let mut values = parts.untouched(&self.frame, spans);
        for (coordinates, net) in parts.nets {
            if net.choices.iter().any(|c| c.high.abs_diff(c.low) > LISTED) {
                return Err(Spent);
            }
            let Some((least, chosen)) = best(&net, self.steps)? else { return Ok(None) };
            cost.join(&least);
            for (&coordinate, value) in coordinates.iter().zip(chosen) {
                values[coordinate] = value;
            }
        }
        Ok(Some(Found { cost, values, loose }))
    }

    /// The rows without the coordinates that need not be listed, and these.
    /// Nothing if the rows cannot all hold.
    fn without_loose<C: Cost>(
        &mut self,
        rows: Vec<LiveRow<C>>,
        spans: &[Span],
    ) -> Result<Option<Listed<C>>, Spent> {
        let priced: BTreeSet<usize> = rows
            .iter()
            .filter(|row| !row.price.is_nothing())
            .flat_map(|row| row.terms.iter().map(|t| t.0))
            .collect();
        for width in [SHORT, SHORT * SHORT] {
            let loose: BTreeSet<usize> = rows
                .iter()
                .flat_map(|row| row.terms.iter().map(|t| t.0))
                .filter(|&c| spans[c].width() > width && !priced.contains(&c))
                .collect();
            if loose.is_empty() {
                break;
            }
            let touches = |row: &LiveRow<C>| row.terms.iter().any(|t| loose.contains(&t.0));
            let mut shadow = Shadow::default();
            for row in rows.iter().filter(|row| touches(row)) {
                add_between(&mut shadow, &row.terms, row.low, row.high)?;
                for &(c, _) in &row.terms {
                    add_between(&mut shadow, &[(c, 1)], spans[c].low, spans[c].high)?;
                }
            }
            let Some(shadow) = shadow.without(&loose, self.steps)? else { continue };
            if shadow.is_impossible() {
                return Ok(None);
            }
            let mut kept: Vec<LiveRow<C>> = rows.into_iter().filter(|row| !touches(row)).collect();
            for (terms, constant) in shadow.rows() {
                let terms = terms.iter().map(|&(c, f)| Ok((c, narrow(f)?)));
                let terms = terms.collect::<Result<Vec<_>, Spent>>()?;
                let (low, high) = extremes(&terms, spans);
                if -constant > high {
                    return Ok(None);
                }
                if -constant > low {
                    kept.push(LiveRow {
                        terms,
                        low: narrow(-constant)?,
                        high: narrow(high)?,
                        price: Price(Vec::new()),
                    });
                }
            }
            return Ok(Some((kept, loose)));
        }
        Ok(Some((rows, BTreeSet::new())))
    }
}

/// Narrowed spans, and what is found in them.
type Reached<C> = (Vec<Span>, Found<C>);

/// Rows that matter, and the coordinates that need not be listed.
type Listed<C> = (Vec<LiveRow<C>>, BTreeSet<usize>);

fn add_between(
    shadow: &mut Shadow,
    terms: &[(usize, i64)],
    low: i64,
    high: i64,
) -> Result<(), Spent> {
    let up = terms.iter().map(|&(c, f)| (c, i128::from(f)));
    shadow.add(up.clone(), -i128::from(low))?;
    shadow.add(up.map(|(c, f)| (c, -f)), i128::from(high))
}
