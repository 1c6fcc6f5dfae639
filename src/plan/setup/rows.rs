//! The rows that a shaping takes: as its length asks, and as it can be worked.

use super::super::crowded::Crowded;
use super::{FEW_ROWS, Planner, fixed};
use crate::measure::round::{Multiple, Toward, to_multiple};
use crate::measure::{Exact, Linear, exact};
use crate::model::GaugeId;
use crate::syntax::tree::{Action, Extent, Schedule, Setting, Step};
use crate::work::ledger::Ledger as _;
use crate::work::trace::Visit;

impl Planner<'_, '_> {
    /// The rows of a schedule whose counts are still to be worked out: as often
    /// as it turns out to be shaped, at the author's interval.
    pub(super) fn drafted(
        &mut self,
        schedule: &Schedule,
        shapings: &Linear,
        step: &Step,
    ) -> Option<u32> {
        let [rate] = schedule.rates.as_slice() else { return None };
        let flat = self.model.pieces.get(self.piece).is_some_and(|p| p.setting == Setting::Flat);
        let every = i64::from(rate.every.interval(self.from)?);
        let wanted = self.guess(shapings).max(0);
        let least = wanted.saturating_mul(least_interval(schedule, flat));
        let fewer = self.room.fewer.get(&schedule.span).copied().unwrap_or(0);
        let rows = match self.room.slopes.get(&schedule.span) {
            Some(&slope) => i64::from(slope).max(wanted),
            None => (every.saturating_mul(wanted) - i64::from(fewer)).max(least),
        };
        let whole = |n: i64| u32::try_from(n).ok();
        // The author's own interval stands where it is fixed.
        let slack = if fixed(step) { 0 } else { whole((rows - least).max(0))? };
        self.setup.slack.insert(schedule.span, slack);
        whole(rows)
    }

    /// Notes a shaping of so many times that takes more rows than its length comes to.
    pub(super) fn crowd(
        &mut self,
        step: &Step,
        schedule: &Schedule,
        gauge: Option<GaugeId>,
        (shapings, rows, room): (i64, i64, Exact),
    ) {
        let Some((old, gauge)) = self.old_visit(step).zip(gauge) else { return };
        let change = (&old.after - &old.before).known();
        let times = old.shapings.as_ref().and_then(Linear::known).filter(|times| *times > 0);
        if let Some((change, times)) = change.zip(times) {
            self.setup.crowded.push(Crowded {
                place: schedule.span,
                piece: self.piece,
                gauge,
                shapings,
                each: change.abs() / times,
                every: rows / shapings.max(1),
                rows,
                room,
            });
        }
    }

    /// Notes how far the work has come, and where it was last measured.
    pub(super) fn note_rows(&mut self, visit: &Visit, old: Option<&Visit>, step: &Step) {
        // Shapings at the same time do not come one after the other.
        if visit.height_before == visit.height_after {
            return;
        }
        let measured = matches!(step.action, Action::Work { extent: Extent::Until { .. }, .. });
        if visit.piece != self.piece {
            self.measured = None;
        }
        if let Some(old) = old.filter(|_| measured) {
            self.measured = Some((old.rows_after, visit.rows_after));
        }
        self.rows_so_far = visit.rows_after;
    }

    /// By how many rows the work lies behind the heights of the pattern before a step, since it
    /// was last measured; less than nothing where it is ahead.
    pub(super) fn rows_behind(&self, step: &Step, ratio: Exact) -> Exact {
        let (Some((own_from, from)), Some(old)) = (self.measured, self.old_visit(step)) else {
            return exact(0, 1);
        };
        let rows = |to: u32, from: u32| exact(i64::from(to) - i64::from(from), 1);
        rows(old.rows_before, own_from) * ratio - rows(self.rows_so_far, from)
    }

    /// The rows of `wanted` shapings at one even rate, where the author had one
    /// rate: the author's own where it comes within two rows, or else the nearest
    /// whose length stays within a twentieth, or three rows. Either may be off a
    /// curve, that goes over so many rows, by two rows and a stitch.
    pub(super) fn single_rate(
        &self,
        schedule: &Schedule,
        wanted: i64,
        rows: i64,
        flat: bool,
        (curve, wedges): (Option<Exact>, bool),
    ) -> Option<i64> {
        let [rate] = schedule.rates.as_slice() else { return None };
        if wanted == 0 {
            return None;
        }
        let own = i64::from(rate.every.interval(self.from)?);
        let few = i64::from(FEW_ROWS);
        let near_curve = |every: i64, curve: Exact| {
            let off = exact(every * wanted, 1) - curve;
            let may = exact(few + every, 1);
            -may <= off && off <= may
        };
        let near_enough = match curve {
            Some(curve) => near_curve(own, curve),
            None => (own * wanted - rows).abs() <= few,
        };
        if near_enough {
            return Some(own * wanted);
        }
        let step = least_interval(schedule, flat);
        let near = exact(rows, wanted);
        let multiple = Multiple::new(u32::try_from(step).unwrap_or(1), 0);
        let every = to_multiple(near, multiple, Toward::Nearest).max(step);
        let total = every * wanted;
        let off = (total - rows).abs();
        let share = if wedges { 8 } else { 20 };
        let fits = match curve {
            Some(curve) => near_curve(every, curve),
            None => off * share <= rows || off <= 3,
        };
        fits.then_some(total)
    }
}

/// The fewest rows between shapings that the author's words allow.
pub(super) fn least_interval(schedule: &Schedule, flat: bool) -> i64 {
    if flat && !schedule.any_row() { 2 } else { 1 }
}
