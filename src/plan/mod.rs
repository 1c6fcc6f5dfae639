//! The system of counts: setting it up, solving it, and saying why.
//!
//! [`plan`] takes a checked pattern and its targets and chooses every number
//! anew. It knows nothing of text beyond the places of numbers, and has no
//! words but those for what cannot be met.

pub mod band;
pub mod cap;
pub mod caps;
pub mod choose;
mod clash;
pub mod convert;
pub mod crowded;
pub mod crown;
mod derive;
pub mod facts;
pub mod goal;
pub mod heel;
mod lone;
pub mod merge;
pub mod outline;
pub mod pickup;
pub mod raglan;
mod rates;
pub mod ratio;
pub mod set_in;
pub(crate) mod setup;
mod slope;
pub mod solve;
pub mod spacing;
pub mod swatch;
pub mod system;
pub mod taper;
pub mod yarn;
pub mod yoke;

pub use choose::{Asked, Band, ChosenRate, Derivation, SizePlan};
pub use derive::{Follower, RowDerivation, TurnDerivation};
pub use goal::{Goal, GoalGauge, GoalSize, goal};
pub(crate) use setup::half_units;
pub use setup::{KeptSlope, Reason};

use crate::diag::{Finding, sort};
use crate::measure::Exact;
use crate::model::Model;
use crate::syntax::front::Targets;
use crate::work::Trace;
use std::num::NonZero;
use std::thread;

/// Every number of the revised pattern.
#[derive(Clone, PartialEq, Debug)]
pub struct Plan<'t> {
    /// What was to be reached.
    pub goal: Goal<'t>,
    /// The numbers, one plan a size of [`Goal::sizes`].
    pub sizes: Vec<SizePlan>,
}

/// Chooses every number of a pattern for its targets.
///
/// `traces` are those of the pattern's own check, one a size.
///
/// # Errors
/// Findings, where the targets do not fit the pattern or no counts meet what
/// the pattern asks. The warnings of a plan that was made come beside it.
pub fn plan<'t>(
    model: &Model<'_>,
    traces: &[Trace],
    targets: &'t Targets,
) -> Result<(Plan<'t>, Vec<Finding>), Vec<Finding>> {
    let (goal, mut findings) = goal(model, targets);
    if findings.iter().any(Finding::is_error) {
        return Err(findings);
    }
    let chosen = each_at_once(goal.sizes.len(), |index| {
        let trace = traces.get(goal.sizes.get(index)?.from.0)?;
        Some(choose::choose(model, &goal, index, trace))
    });
    let mut sizes = Vec::new();
    for (size, chosen) in goal.sizes.iter().zip(chosen) {
        let Some(chosen) = chosen else { continue };
        match chosen {
            Ok(chosen) => {
                findings
                    .extend(chosen.moved.iter().map(|m| clash::moved(&size.name, model.units, m)));
                findings.extend(
                    chosen.crowded.iter().map(|c| clash::crowded(&size.name, model, &goal, c)),
                );
                let kept = chosen.kept_slopes.iter();
                findings
                    .extend(kept.filter_map(|k| clash::slope_kept(&size.name, model, &goal, k)));
                let caps = chosen.caps.iter().filter(|cap| !cap.fits());
                findings.extend(caps.map(|cap| clash::cap_differs(&size.name, model, cap)));
                sizes.push(chosen);
            }
            Err(impossible) => {
                findings.extend(clash::findings(&size.name, model, &goal, &impossible));
            }
        }
    }
    findings = merged(findings);
    if findings.iter().any(Finding::is_error) {
        return Err(findings);
    }
    Ok((Plan { goal, sizes }, findings))
}

/// What `work` comes to for each of so many sizes, in order. No size hangs on
/// another, so they are shared out among the cores there are.
pub fn each_at_once<T: Send>(sizes: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let cores = thread::available_parallelism().map_or(1, NonZero::get);
    let all: Vec<usize> = (0..sizes).collect();
    let work_all = |own: &[usize]| own.iter().map(|&size| work(size)).collect::<Vec<T>>();
    thread::scope(|scope| {
        let mut shares = all.chunks(sizes.div_ceil(cores).max(1));
        let first = shares.next().unwrap_or_default();
        let others: Vec<_> = shares
            .map(|own| (own, thread::Builder::new().spawn_scoped(scope, || work_all(own))))
            .collect();
        let mut done = work_all(first);
        for (own, other) in others {
            done.extend(match other.map(thread::ScopedJoinHandle::join) {
                Ok(Ok(more)) => more,
                Ok(Err(panic)) => std::panic::resume_unwind(panic),
                // No thread is to be had.
                Err(_) => work_all(own),
            });
        }
        done
    })
}

/// The same finding in several sizes is told once, with what differs as notes.
fn merged(findings: Vec<Finding>) -> Vec<Finding> {
    let mut all: Vec<Finding> = Vec::new();
    for finding in findings {
        let same = |f: &&mut Finding| f.code == finding.code && f.labels == finding.labels;
        let Some(first) = all.iter_mut().find(same) else {
            all.push(finding);
            continue;
        };
        if first.message != finding.message
            && let Some(size) = finding.sizes.first()
        {
            first.notes.push(format!("in size {size}: {}", finding.message));
        }
        first.sizes.extend(finding.sizes);
    }
    sort(&mut all);
    all
}

impl Derivation {
    /// The error left: stitches chosen less stitches aimed at.
    #[must_use]
    pub fn error(&self) -> Exact {
        Exact::from_integer(i128::from(self.chosen)) - self.target
    }

    /// How much of its tolerance the error is: 1 is as far off as is tolerated.
    #[must_use]
    pub fn share(&self) -> Exact {
        let error = self.error();
        let size = error.abs();
        size / self.tolerance
    }
}
