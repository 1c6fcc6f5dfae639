//! Fits the caps of sleeves to their armholes, once the counts are chosen.
//!
//! The counts of a cap follow their widths, and the rows of its slope at first
//! their length. What the cap then has over the armhole is held against what
//! the author let it have, and the slope given the rows that come nearest.

use super::choose::{ChosenRate, SizePlan};
use super::goal::Goal;
use super::rates::{Shape, spread};
use super::set_in::{Numbers, SetIn, Walked, tolerance};
use super::setup::Setup;
use crate::measure::{Gauge, Length, Linear, SizeId};
use crate::model::{GaugeId, Model};
use crate::source::Span;
use crate::syntax::tree::{Counts, Schedule, Setting, Step};
use crate::syntax::visit;
use crate::work::{Trace, Visit};

/// A cap of one size, and how it fits.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct FittedCap {
    /// Its edge and that of its armhole.
    pub set_in: SetIn,
    /// By how much the author's cap is longer than the armhole.
    pub wanted: Length,
    /// How near it must come.
    pub tolerance: Length,
    /// The rows of the slope that would come nearer.
    pub(crate) better: Option<(Span, u32)>,
}

impl FittedCap {
    /// By how much the cap is longer than asked; less than nothing where it is shorter.
    #[must_use]
    pub fn off(&self) -> Length {
        self.set_in.fullness() - self.wanted
    }

    /// Whether it comes as near as it must.
    #[must_use]
    pub fn fits(&self) -> bool {
        self.off().abs() <= self.tolerance
    }
}

/// So often in a row may more rows fit no better before no more are tried.
const MISSES: u32 = 3;

/// What caps are read from: a walk with unknowns and the values found for them.
pub(super) struct Caps<'a, 'd> {
    pub(super) model: &'a Model<'d>,
    pub(super) goal: &'a Goal<'a>,
    pub(super) from: SizeId,
    pub(super) old: &'a Trace,
    /// The caps of the pattern as it is.
    pub(super) own: &'a [SetIn],
    pub(super) setup: &'a Setup,
    pub(super) worked: &'a Trace,
}

/// The numbers of a plan, with one slope over other rows.
struct Planned<'a, 'd> {
    caps: &'a Caps<'a, 'd>,
    plan: &'a SizePlan,
    values: &'a [i64],
    other: Option<OtherRows>,
}

/// A slope over other rows than it has.
struct OtherRows {
    step: Span,
    /// How many it has, and how many others.
    rows: (u32, u32),
    schedule: Span,
    rates: Vec<ChosenRate>,
}

impl Numbers for Planned<'_, '_> {
    fn count(&self, counts: &Counts) -> Option<u32> {
        let chosen = self.plan.numbers.get(&counts.span).and_then(|&n| u32::try_from(n).ok());
        chosen.or(counts.given.get(self.caps.from).copied())
    }

    fn rates(&self, schedule: &Schedule, visit: &Visit) -> Option<Vec<ChosenRate>> {
        match &self.other {
            Some(other) if other.schedule == schedule.span => return Some(other.rates.clone()),
            _ => {}
        }
        self.plan.schedules.get(&schedule.span).cloned().or_else(|| {
            let wanted = self.stitches(visit.shapings.as_ref()?)?;
            Some(super::rates::written(schedule, self.caps.from, visit, wanted))
        })
    }

    fn rows(&self, visit: &Visit) -> Option<u32> {
        let rows = visit.rows_after.checked_sub(visit.rows_before)?;
        match &self.other {
            Some(OtherRows { step, rows: (own, others), .. }) if *step == visit.step => {
                (rows + others).checked_sub(*own)
            }
            _ => Some(rows),
        }
    }

    fn stitches(&self, linear: &Linear) -> Option<i64> {
        Some(linear.value(|unknown| self.values.get(unknown.0).copied().unwrap_or(0)))
    }

    fn gauge(&self, gauge: GaugeId) -> Option<Gauge> {
        self.caps.goal.gauges.get(gauge.0)?.gauge
    }
}

impl Caps<'_, '_> {
    /// Every cap of the plan, and for each whether other rows fit it better.
    pub(super) fn fitted(&self, plan: &SizePlan, values: &[i64]) -> Vec<FittedCap> {
        let wanted = |sleeve: usize| {
            let cap = self.own.iter().find(|cap| cap.sleeve == sleeve);
            // Of a draft nothing says how full the cap is to be: as long as the armhole.
            cap.map_or(Length::zero(), SetIn::fullness)
        };
        let numbers = Planned { caps: self, plan, values, other: None };
        let walked = Walked::new(self.model, &self.worked.visits);
        walked
            .caps(&numbers)
            .into_iter()
            .filter_map(|set_in| {
                let wanted = wanted(set_in.sleeve);
                let sleeve = self.worked.visits.iter().rev().find(|v| v.piece == set_in.sleeve)?;
                let gauge = numbers.gauge(sleeve.gauge?)?;
                let tolerance = tolerance(gauge);
                let better = self.better(&walked, &numbers, &set_in, (wanted, tolerance));
                Some(FittedCap { set_in, wanted, tolerance, better })
            })
            .collect()
    }

    /// The rows of a cap's slope that bring it nearest to what is wanted, where
    /// they are not those it has.
    fn better(
        &self,
        walked: &Walked<'_, '_>,
        &Planned { plan, values, .. }: &Planned<'_, '_>,
        now: &SetIn,
        (wanted, tolerance): (Length, Length),
    ) -> Option<(Span, u32)> {
        let (span, rows) = now.slope?;
        let (step, schedule) = self.shape(span)?;
        let mut visits = self.old.visits.iter().chain(&self.worked.visits);
        let old = visits.find(|visit| visit.step == step.span)?;
        let (shapings, _) = self.setup.schedules.get(&span)?;
        let shapings = shapings.value(|u| values.get(u.0).copied().unwrap_or(0));
        let by = if old.setting == Setting::Flat { 2 } else { 1 };
        let off = (now.fullness() - wanted).abs();
        if off == Length::zero() {
            return None;
        }
        // Near enough comes first, then the fewest words, then the nearest.
        let worth = |off: Length, rates: usize| {
            let too_far = if off > tolerance { off } else { Length::zero() };
            (too_far, rates, off)
        };
        let tried = |other: u32| {
            let rates =
                spread(schedule, self.from, old, shapings, Some(other), Shape::Edge).ok()?;
            let words = rates.len();
            let other =
                Some(OtherRows { step: step.span, rows: (rows, other), schedule: span, rates });
            let cap = walked.cap(now.sleeve, &Planned { caps: self, plan, values, other })?;
            Some(worth((cap.length - now.armhole - wanted).abs(), words))
        };
        let words = plan.schedules.get(&span).map_or(0, Vec::len);
        let mut best = (worth(off, words), rows);
        let up: Vec<u32> = (1..=rows).map(|n| rows + n * by).collect();
        let down: Vec<u32> = (1..=rows / by).map(|n| rows - n * by).collect();
        for others in [up, down] {
            // An edge grows with its rows, but for what whole rates make of it.
            let mut misses = 0;
            for other in others {
                match tried(other) {
                    Some(worth) if worth < best.0 => best = (worth, other),
                    _ => misses += 1,
                }
                if misses == MISSES {
                    break;
                }
            }
        }
        (best.1 != rows).then_some((span, best.1))
    }

    /// The step and the schedule of this place.
    fn shape(&self, place: Span) -> Option<(&Step, &Schedule)> {
        let mut found = None;
        for step in self.model.pieces.iter().flat_map(|piece| &piece.steps) {
            visit::schedules(step, &mut |step, schedule, _| {
                if schedule.span == place {
                    found = Some((step, schedule));
                }
            });
        }
        found
    }
}
