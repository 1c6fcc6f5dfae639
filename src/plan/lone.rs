//! What never comes out by itself, whatever the counts, and what would make it.
//!
//! A repeat of 4 over a count that is twice another less 1 has a stitch or three over,
//! always. It comes out with other stitches beside it, or with another repeat. Which are
//! nearest is found by trying: what is offered leaves no clash behind.

use super::goal::Goal;
use super::setup::Setup;
use super::solve::solve;
use super::system::{Requirement, RequirementId};
use crate::measure::round::Multiple;
use crate::measure::{Density, Length, Linear, exact, gcd};
use crate::work::Trace;
use crate::work::ledger::{Because, Why};

/// Something that is asked of one count, which that count can never be.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Lone {
    pub(crate) why: Why,
    /// The stitches that are over, at the least; less than nothing where some always lack.
    pub(crate) over: i64,
    /// By how many stitches more (fewer, where it is less than nothing) those beside the
    /// repeat must be, at the least.
    pub(crate) beside: Option<i64>,
    /// The nearest repeat that comes out, of two stitches or more.
    pub(crate) repeat: Option<i64>,
    /// Stitches to a length, where it is worked.
    density: Option<Density>,
}

impl Lone {
    /// What one requirement asks that no count can be; `None` where it could be met, or is no
    /// matter of remainders.
    pub(super) fn of(
        id: RequirementId,
        setup: &Setup,
        goal: &Goal<'_>,
        worked: &Trace,
    ) -> Option<Self> {
        let (why, requirement) = (setup.why.get(id.0)?, setup.system.requirements.get(id.0)?);
        let asked = Asked::of(&why.because)?;
        let over = asked.over(asked.repeat)?;
        let visit = worked.visits.iter().find(|visit| visit.step.contains(why.place));
        let gauge = visit.and_then(|visit| goal.gauges.get(visit.gauge?.0)?.gauge);
        let possible = |changed: Requirement| {
            let mut system = setup.system.clone();
            if let Some(old) = system.requirements.get_mut(id.0) {
                *old = changed;
            }
            solve(&system).is_ok()
        };
        let row = matches!(why.because, Because::Repeat { .. });
        // A row can only give up what it has beside the repeat.
        let has = visit.and_then(|visit| (&visit.before - &asked.rest).known());
        let fewest = if row { -has.unwrap_or(0).max(0) } else { -asked.repeat };
        let beside = (1..=asked.repeat).flat_map(|by| [by, -by]).find(|&by| {
            let rest = &asked.rest - &by.into();
            by >= fewest
                && Asked { rest, ..asked.clone() }.over(asked.repeat).is_none()
                && possible(shifted(requirement, -by))
        });
        let others = (1..=asked.repeat).flat_map(|by| [asked.repeat + by, asked.repeat - by]);
        let repeat = others.filter(|&other| row && other > 1).find(|&other| {
            asked.over(other).is_none() && possible(asked.repeated(requirement, other))
        });
        let density = gauge.map(|gauge| gauge.stitches);
        Some(Self { why: why.clone(), over, beside, repeat, density })
    }

    /// The width of so many stitches.
    pub(crate) fn width(&self, stitches: i64) -> Option<Length> {
        Some(self.density?.length(exact(stitches.abs(), 1)))
    }
}

/// A count that should be a multiple of its repeat.
#[derive(Clone)]
struct Asked {
    rest: Linear,
    /// Nought where nothing may be left.
    repeat: i64,
}

impl Asked {
    fn of(because: &Because) -> Option<Self> {
        Some(match because {
            Because::Repeat { unit, room } => Self { rest: room.clone(), repeat: *unit },
            Because::Fabric { multiple, has, .. } | Because::Asked { multiple, has } => Self {
                rest: has - &i64::from(multiple.plus()).into(),
                repeat: multiple.of().into(),
            },
            Because::Leaves { left } => Self { rest: left.clone(), repeat: 0 },
            _ => return None,
        })
    }

    /// What is always over with a repeat of so many stitches, if anything.
    fn over(&self, repeat: i64) -> Option<i64> {
        // The rest can be its constant and any multiple of this.
        let by = self.rest.terms().fold(repeat, |by, (_, factor)| gcd(factor, by));
        let constant = self.rest.constant();
        let over = if by == 0 { constant } else { constant.rem_euclid(by) };
        (over != 0).then_some(over)
    }

    /// The requirement of a row with another repeat.
    fn repeated(&self, requirement: &Requirement, repeat: i64) -> Requirement {
        match requirement {
            Requirement::Multiple(of, _) => Requirement::Multiple(
                of.clone(),
                Multiple::new(u32::try_from(repeat).unwrap_or(1), 0),
            ),
            other => {
                // What is there less so many repeats is nothing.
                let repeats = other.linear() - &self.rest;
                let repeats =
                    repeats.terms().map(|(times, _)| Linear::unknown(times).times(repeat));
                Requirement::Zero(repeats.fold(self.rest.clone(), |rest, all| &rest - &all))
            }
        }
    }
}

/// A requirement of so many more stitches.
fn shifted(requirement: &Requirement, by: i64) -> Requirement {
    let more = |linear: &Linear| linear + &by.into();
    match requirement {
        Requirement::Zero(linear) => Requirement::Zero(more(linear)),
        Requirement::NotNegative(linear) => Requirement::NotNegative(more(linear)),
        Requirement::Multiple(linear, multiple) => Requirement::Multiple(more(linear), *multiple),
    }
}
