//! Changes of count: even ones, shapings, wedges, and several at the same time.

use super::super::ledger::{Because, Halt, Ledger, Need, Planned, Trouble, Use, Why};
use super::super::needle::Edge;
use super::super::trace::Visit;
use super::{MOST_ROWS, State, Walk};
use crate::measure::Linear;
use crate::syntax::tree::{
    Action, Amount, Change, Counts, Every, Schedule, Setting, ShapePlace, Side, Step,
};

impl<'d, L: Ledger> Walk<'_, 'd, L> {
    pub(super) fn even(
        &mut self,
        state: &mut State<'d>,
        step: &Step,
        change: Change,
        amount: &Amount,
        over: Option<&Counts>,
    ) -> Result<(), Halt> {
        self.something(state, step)?;
        let rows = match over {
            Some(counts) => self.known(counts, step)?.max(1),
            None => 1,
        };
        let from = state.needle.in_work();
        let up = change == Change::Increase;
        let to = match amount {
            Amount::To(counts) => self.ledger.number(counts, Use::EvenTo, step)?,
            Amount::By(counts) => {
                let by = self.ledger.number(counts, Use::EvenBy, step)?;
                if up { &from + &by } else { &from - &by }
            }
        };
        let place = match amount {
            Amount::To(counts) | Amount::By(counts) => counts.span,
        };
        if change != Change::Either {
            let risen = if up { &to - &from } else { &from - &to };
            let because = Because::EvenDirection { from: from.clone(), to: to.clone(), up };
            self.ledger.need(Need::NotNegative(risen), &Why { place, because })?;
        }
        let most = 1_i64 << rows.min(16);
        for (few, many) in [(&from, &to), (&to, &from)] {
            let because = Because::EvenTooMuch { from: from.clone(), to: to.clone() };
            let room = &few.times(most) - many;
            self.ledger.need(Need::NotNegative(room), &Why { place, because })?;
        }
        if state.needle.markers() == 0 || from != to {
            state.needle.set_in_work(to.clone());
        }
        state.recounted |= from != to;
        self.count(state, &to.times(i64::from(rows)), rows, &[]);
        self.advance(state, rows);
        state.plain_rows(rows);
        Ok(())
    }

    /// How many stitches a shaping row changes, all told.
    fn places(state: &State<'_>, place: ShapePlace) -> i64 {
        match place {
            ShapePlace::EachEnd => 2,
            ShapePlace::Start
            | ShapePlace::End
            | ShapePlace::NeckEdge
            | ShapePlace::ArmholeEdge
            | ShapePlace::Anywhere => 1,
            ShapePlace::AtMarkers => state.needle.markers(),
            ShapePlace::EachSideOfMarkers => 2 * state.needle.markers(),
        }
    }

    /// What a schedule says of itself: shaping rows and rows, where it says how often.
    pub(super) fn literal(
        &mut self,
        schedule: &Schedule,
        setting: Setting,
        total: Option<&Linear>,
        step: &Step,
    ) -> Result<Option<Planned>, Halt> {
        let Some(rates) = self.rates_said(schedule, setting, total, step)? else { return Ok(None) };
        let mut shapings = Linear::default();
        let mut rows = Some(0_u32);
        for (every, times) in rates {
            rows = match (rows, whole(&times)) {
                (Some(rows), Some(times)) => Some(rows.saturating_add(times.saturating_mul(every))),
                _ => None,
            };
            shapings = &shapings + &times;
        }
        Ok(Some(Planned { shapings, rows }))
    }

    /// Every rate of a schedule as numbers, where all are known.
    pub(super) fn rates(
        &mut self,
        schedule: &Schedule,
        setting: Setting,
        total: &Linear,
        step: &Step,
    ) -> Result<Option<Vec<(u32, u32)>>, Halt> {
        let rates = self.rates_said(schedule, setting, Some(total), step)?;
        Ok(rates.and_then(|rates| {
            rates.into_iter().map(|(every, times)| Some((every, whole(&times)?))).collect()
        }))
    }

    /// The rows from one shaping to the next.
    pub(super) fn interval(
        &mut self,
        every: &Every,
        setting: Setting,
        step: &Step,
    ) -> Result<u32, Halt> {
        Ok(match every {
            Every::Row | Every::Next => 1,
            Every::Side(_) if setting == Setting::Flat => 2,
            Every::Side(_) => 1,
            Every::Nth(counts) => self.known(counts, step)?,
        })
    }

    /// How often each rate comes, and how many times; the last one without a number as often as
    /// is left of `total`.
    fn rates_said(
        &mut self,
        schedule: &Schedule,
        setting: Setting,
        total: Option<&Linear>,
        step: &Step,
    ) -> Result<Option<Vec<(u32, Linear)>>, Halt> {
        let mut rates = Vec::with_capacity(schedule.rates.len());
        let mut so_far = Linear::default();
        let last = schedule.rates.len().saturating_sub(1);
        for (index, rate) in schedule.rates.iter().enumerate() {
            let every = match self.interval(&rate.every, setting, step) {
                Err(Halt::Skip) => continue,
                other => other?,
            };
            let times = match (&rate.times, &rate.every) {
                (Some(counts), _) => match self.ledger.number(counts, Use::Structure, step) {
                    Err(Halt::Skip) => continue,
                    other => other?,
                },
                (None, Every::Next) => Linear::number(1),
                // As often as is left.
                (None, _) if index == last => match total {
                    Some(total) => total - &so_far,
                    None => return Ok(None),
                },
                (None, _) => Linear::number(1),
            };
            so_far = &so_far + &times;
            rates.push((every, times));
        }
        Ok(Some(rates))
    }

    /// What a schedule comes to: as often as `total` says, where the count it leads to is written.
    pub(super) fn scheduled(
        &mut self,
        state: &State<'_>,
        step: &Step,
        schedule: &Schedule,
        total: Option<&Linear>,
    ) -> Result<Planned, Halt> {
        let literal = self.literal(schedule, state.setting, total, step)?;
        let planned = self.ledger.schedule(schedule, literal, state.gauge, step)?;
        if let Some(total) = total {
            let off = &planned.shapings - total;
            let because = Because::Total { said: planned.shapings.clone(), is: total.clone() };
            self.ledger.need(Need::Zero(off), &Why { place: schedule.span, because })?;
        }
        Ok(planned)
    }

    /// How often a change of `each` stitches makes up a difference, which must not be less than nothing.
    pub(super) fn shapings_to(
        &mut self,
        until: &Counts,
        difference: &Linear,
        each: i64,
    ) -> Result<Linear, Halt> {
        let place = until.span;
        let because = Because::ShapeDirection { difference: difference.clone() };
        self.ledger.need(Need::NotNegative(difference.clone()), &Why { place, because })?;
        let because = Because::ShapeUneven { per_row: each, difference: difference.clone() };
        self.ledger.divide(difference, each.max(1), &Why { place, because })
    }

    pub(super) fn shape(
        &mut self,
        state: &mut State<'d>,
        step: &Step,
        change: Change,
        each: &Counts,
        place: ShapePlace,
        schedule: &Schedule,
    ) -> Result<Linear, Halt> {
        let planned = self.shaping(state, step, change, each, place, schedule)?;
        if let Some(rows) = planned.rows {
            let rows = rows.min(MOST_ROWS);
            let average = &planned.before + &planned.after;
            let halves = average.known().unwrap_or(0).saturating_mul(i64::from(rows));
            self.count(state, &Linear::number(halves / 2), rows, &[]);
            state.plain_rows(rows);
            self.advance(state, rows);
        } else {
            state.at.side = None;
        }
        self.ending(state, step);
        Ok(planned.shapings)
    }

    /// The counts of a shaping, without its rows.
    fn shaping(
        &mut self,
        state: &mut State<'d>,
        step: &Step,
        change: Change,
        each: &Counts,
        place: ShapePlace,
        schedule: &Schedule,
    ) -> Result<Shaping, Halt> {
        self.something(state, step)?;
        let each = i64::from(self.known(each, step)?);
        let per_row = each.saturating_mul(Self::places(state, place));
        if per_row == 0 && matches!(place, ShapePlace::AtMarkers | ShapePlace::EachSideOfMarkers) {
            return Err(self.ledger.wrong(step.span, Trouble::NoMarker));
        }
        let before = state.needle.in_work();
        let up = change == Change::Increase;
        let (mut total, mut until_count) = (None, None);
        if let Some(until) = &schedule.until {
            let to = self.ledger.number(until, Use::ShapeTo, step)?;
            until_count = Some(to.clone());
            let difference = if up { &to - &before } else { &before - &to };
            total = Some(self.shapings_to(until, &difference, per_row)?);
        }
        let planned = self.scheduled(state, step, schedule, total.as_ref())?;
        let by = planned.shapings.times(if up { per_row } else { -per_row });
        let after = until_count.unwrap_or_else(|| &before + &by);
        let because = Because::ShapeTooMuch { left: after.clone() };
        self.ledger
            .need(Need::NotNegative(after.clone()), &Why { place: schedule.span, because })?;
        self.spread(state, place, &planned.shapings.times(if up { each } else { -each }), &after);
        Ok(Shaping { shapings: planned.shapings, rows: planned.rows, before, after })
    }

    /// Puts a change of count where it happens, so that markers stay where they are.
    fn spread(&self, state: &mut State<'d>, place: ShapePlace, change: &Linear, after: &Linear) {
        if state.needle.markers() == 0 {
            state.needle.set_in_work(after.clone());
            return;
        }
        let stretches = state.needle.ahead.len();
        let last = stretches.saturating_sub(1);
        for (index, stretch) in state.needle.ahead.iter_mut().enumerate() {
            let sides = match place {
                ShapePlace::EachEnd => i64::from(index == 0) + i64::from(index == last),
                ShapePlace::End => i64::from(index == last),
                // The ends of the needle (and the start of a round) are no markers.
                ShapePlace::EachSideOfMarkers => i64::from(index > 0) + i64::from(index < last),
                ShapePlace::AtMarkers => i64::from(matches!(stretch.then, Edge::Marker(_))),
                _ => i64::from(index == 0),
            };
            stretch.stitches = &stretch.stitches + &change.times(sides);
        }
        let off = after - &state.needle.in_work();
        if let Some(first) = state.needle.ahead.first_mut() {
            first.stitches = &first.stitches + &off;
        }
    }

    pub(super) fn wedges(
        &mut self,
        state: &mut State<'d>,
        step: &Step,
        change: Change,
        wedges: &Counts,
        schedule: &Schedule,
    ) -> Result<Linear, Halt> {
        self.something(state, step)?;
        let wedges = i64::from(self.known(wedges, step)?).max(1);
        let before = state.needle.in_work();
        let up = change == Change::Increase;
        let mut until_count = None;
        let total = match &schedule.until {
            Some(until) => {
                let to = self.ledger.number(until, Use::WedgesTo, step)?;
                until_count = Some(to.clone());
                let difference = if up { &to - &before } else { &before - &to };
                Some(self.shapings_to(until, &difference, wedges)?)
            }
            None => None,
        };
        let planned = self.scheduled(state, step, schedule, total.as_ref())?;
        let by = planned.shapings.times(if up { wedges } else { -wedges });
        // The count that is written says it in fewer words than the sum does.
        let after = until_count.unwrap_or_else(|| &before + &by);
        let because = Because::ShapeTooMuch { left: after.clone() };
        self.ledger
            .need(Need::NotNegative(after.clone()), &Why { place: schedule.span, because })?;
        let rows = planned.rows.unwrap_or(0).min(MOST_ROWS);
        let halves = (&before + &after).known().unwrap_or(0).saturating_mul(i64::from(rows));
        self.count(state, &Linear::number(halves / 2), rows, &[]);
        state.needle.set_in_work(after);
        if planned.rows.is_none() {
            state.at.side = None;
        }
        state.plain_rows(rows);
        self.advance(state, rows);
        self.ending(state, step);
        Ok(planned.shapings)
    }

    /// Turns a heel flap: every short row takes in one stitch across the gap, so
    /// there are as many rows as stitches fewer. It begins so narrow that none
    /// waits at the end; whatever is left, that can be done, so long as it is more
    /// than half of the flap and at least two wait.
    pub(super) fn turn_heel(
        &mut self,
        state: &mut State<'d>,
        step: &Step,
        to: &Counts,
    ) -> Result<(), Halt> {
        self.something(state, step)?;
        let flap = state.needle.in_work();
        let left = self.ledger.number(to, Use::ShapeTo, step)?;
        let least = &(&left.times(2) - &flap) - &Linear::number(1);
        let most = &(&flap - &left) - &Linear::number(2);
        for need in [least, most] {
            let because = Because::Heel { flap: flap.clone(), left: left.clone() };
            self.ledger.need(Need::NotNegative(need), &Why { place: to.span, because })?;
        }
        let rows = self.ledger.guess(&(&flap - &left)).clamp(0, i64::from(MOST_ROWS));
        // From a few stitches in the middle to all that are left.
        let narrow =
            self.ledger.guess(&left).saturating_mul(3).saturating_sub(self.ledger.guess(&flap));
        let worked = narrow.saturating_add(4).saturating_mul(rows) / 2;
        self.count(state, &Linear::number(worked), 1, &[]);
        state.needle.set_in_work(left);
        state.plain_rows(u32::try_from(rows).unwrap_or(0));
        // As with any rows that turn before the end, the piece grows by the last alone.
        self.advance(state, 1);
        if state.setting == Setting::Flat && rows % 2 == 0 {
            state.at.side = state.at.side.map(Side::other);
        }
        Ok(())
    }

    /// Several shapings over the same rows.
    pub(super) fn together(&mut self, state: &mut State<'d>, step: &'d Step) -> Result<(), Halt> {
        self.something(state, step)?;
        let mut rows = 0;
        let mut room = None;
        for inner in &step.steps {
            match &inner.action {
                Action::Shape { change, each, place, schedule } => {
                    let at = state.at;
                    let done = self.shaping(state, inner, *change, each, *place, schedule)?;
                    let own = done.rows.unwrap_or(0).min(MOST_ROWS);
                    rows = rows.max(own);
                    let visit = Visit {
                        piece: state.piece,
                        step: inner.span,
                        before: done.before,
                        after: done.after,
                        rows_before: at.rows,
                        rows_after: at.rows.saturating_add(own),
                        height_before: at.height,
                        height_after: at.height,
                        shapings: Some(done.shapings),
                        gauge: state.gauge,
                        setting: state.setting,
                        next_side: at.side,
                        stitches: Linear::default(),
                        by_color: Vec::new(),
                    };
                    self.visit(visit, inner);
                }
                Action::Work { extent, .. } => {
                    room = self.rows_for(state, inner, extent, 1, 0)?;
                }
                _ => {}
            }
        }
        if let Some(room) = room {
            let because = Because::ShapeRows {
                shapings: Linear::number(i64::from(rows)),
                rows: i64::from(room),
            };
            let spare = Linear::number(i64::from(room) - i64::from(rows));
            self.ledger.need(Need::NotNegative(spare), &Why { place: step.span, because })?;
            rows = rows.max(room);
        }
        let n = state.needle.in_work();
        self.count(state, &n.times(i64::from(rows)), rows, &[]);
        state.plain_rows(rows);
        self.advance(state, rows);
        self.ending(state, step);
        Ok(())
    }
}

/// A shaping, counted.
struct Shaping {
    shapings: Linear,
    rows: Option<u32>,
    before: Linear,
    after: Linear,
}

fn whole(amount: &Linear) -> Option<u32> {
    amount.known().and_then(|n| u32::try_from(n).ok())
}
