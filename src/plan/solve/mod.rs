//! The best values of a system of counts, proved.
//!
//! # What is best
//!
//! In this order:
//! 1. every requirement and every bound holds;
//! 2. the worst error of an aim (`|of - target| / tolerance`) is as small as
//!    it can be, over the whole system;
//! 3. the sum of all errors is as small as it can be with that;
//! 4. of the solutions that are equal in this the one with the larger value of
//!    the first unknown is taken, then of the second, and so on.
//!
//! There is exactly one such solution, so the answer does not hang on the
//! order of requirements or on anything but the system itself.
//!
//! # Why it is best
//!
//! *Nothing is lost on the way.* Equations and multiples are solved outright
//! (`lattice`): their whole solutions are all whole values of a few
//! coordinates, no more and no fewer. Looking at one equation at a time
//! (`frame`) only takes away values that no solution has.
//!
//! *The worst error.* Each aim alone has a least error; the largest of these
//! cannot be beaten by any solution. If everything can hold with no error
//! above it, it is the lowest worst error. If not, the level is raised until
//! everything can hold, and the tables give the lowest level that does: they
//! join costs by the larger of two.
//!
//! *The sum.* Then all errors above that level are forbidden, in every part of
//! the system, and the tables join costs by adding. Ways to choose some
//! coordinates that come to the same partial sums wherever other coordinates
//! have a say can be completed in exactly the same manner, so only the best of
//! them is kept. A way is dropped before it is complete only if its cost with
//! the least cost of everything else is above that of a solution in hand, found
//! in a hurry: no completion of it can be the best one. The least cost of
//! everything else is that of each row and table taken by itself, or, seen from
//! one row (`outlook`), of all tables that meet there.
//! Ties are carried along in the same comparison, as the values of the
//! unknowns are sums of the coordinates too: of two ways with the same
//! partial sums the one with the larger values stays so whatever completes it.
//!
//! All arithmetic is exact. Where numbers would not fit, or too much would
//! have to be looked at, the answer is [`Failure::TooHard`], never a guess.
//!
//! # Cost
//!
//! A table has as many entries as its partial sums have combinations: the time
//! is about linear in the number of unknowns and grows with the number of
//! values each may take at the lowest level, to the power of how many sums tie
//! the two sides of a cut together. Garments are chains and few joins: one or
//! two. A size of a cardigan (31 unknowns, 29 aims) takes about half a
//! millisecond, a made system of eighty unknowns in ten pieces about one
//! (`cargo bench --bench solver`). The general case is as hard as whole-number
//! programming, therefore the count of steps.

mod clash;
mod cost;
mod frame;
mod lattice;
#[cfg(test)]
mod laws;
mod merge;
mod net;
mod outlook;
mod parts;
mod pass;
mod search;
mod shadow;
mod tables;
mod whole;
mod whole_aim;

pub use clash::relaxations;

use super::system::{RequirementId, System};
use crate::measure::{Exact, Unknown};

/// The best values of a system's unknowns.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Solution {
    /// The value of each unknown.
    pub values: Vec<i64>,
    /// The worst error of an aim, `|of - target| / tolerance`; nought without aims.
    pub worst: Exact,
    /// The sum of all errors. Exact where its denominator fits in 64 bits;
    /// otherwise every error is rounded up to a whole multiple of 2^-40 first.
    pub total: Exact,
}

/// Why there is no solution to give.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Failure {
    /// Nothing satisfies all requirements and bounds.
    Clash(Clash),
    /// Not found in a bounded number of steps, or with numbers that fit.
    TooHard,
}

/// Requirements and bounds that cannot hold together, though they can if any
/// one of them is given up.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Clash {
    /// The requirements among them, in order.
    pub requirements: Vec<RequirementId>,
    /// The unknowns whose bounds are among them, in order.
    pub bounds: Vec<Unknown>,
}

/// One thing that must hold.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Member {
    /// A requirement.
    Requirement(RequirementId),
    /// The bounds of an unknown.
    Bounds(Unknown),
}

/// What giving up one member of a clash leads to.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Relaxation {
    /// What is given up.
    pub without: Member,
    /// The best solution then, or why there still is none.
    pub outcome: Result<Solution, Failure>,
}

impl Clash {
    /// Requirements, then bounds.
    pub fn members(&self) -> impl Iterator<Item = Member> + '_ {
        let requirements = self.requirements.iter().map(|&r| Member::Requirement(r));
        requirements.chain(self.bounds.iter().map(|&u| Member::Bounds(u)))
    }
}

/// The best values of the unknowns of `system`.
///
/// # Errors
/// [`Failure::Clash`] if nothing satisfies it, [`Failure::TooHard`] if that
/// many steps were not enough to be sure of the best.
pub fn solve(system: &System) -> Result<Solution, Failure> {
    match search::optimum(system, &mut Steps::new(STEPS)) {
        Ok(Some(best)) => Ok(best.into()),
        Ok(None) => Err(clash::failure(system)),
        Err(Spent) => Err(Failure::TooHard),
    }
}

impl From<search::Best> for Solution {
    fn from(best: search::Best) -> Self {
        let errors: Vec<Exact> = best.errors.iter().map(|e| e.exact()).collect();
        let worst = errors.iter().copied().fold(Exact::from_integer(0), Exact::max);
        let total = exact_sum(&errors).unwrap_or_else(|| rounded_sum(&errors));
        Self { values: best.values, worst, total }
    }
}

fn exact_sum(errors: &[Exact]) -> Option<Exact> {
    let fits = |e: &Exact| *e.denom() >> 62 == 0 && *e.numer() >> 62 == 0;
    errors
        .iter()
        .try_fold(Exact::from_integer(0), |sum, error| {
            (fits(&sum) && fits(error)).then(|| sum + *error)
        })
        .filter(fits)
}

/// The sum of the errors, each rounded up to a multiple of 2^-40.
fn rounded_sum(errors: &[Exact]) -> Exact {
    const PARTS: i128 = 1 << 40;
    let parts = errors.iter().map(|e| {
        let (whole, rest) = (e.trunc().to_integer(), e.fract());
        // Long division, 20 bits at a time, so that nothing overflows.
        let first = (rest.numer() << 20) / rest.denom();
        let left = (rest.numer() << 20) % rest.denom();
        let second = (left << 20) / rest.denom();
        let more = i128::from((left << 20) % rest.denom() != 0);
        whole.saturating_mul(PARTS).saturating_add((first << 20) + second + more)
    });
    Exact::new(parts.fold(0, i128::saturating_add), PARTS)
}

/// How many steps a system may take: a pair of table entries is one.
const STEPS: u64 = 4_000_000;

/// The search has used up its steps, or a number would not fit.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Spent;

/// Steps that are left.
struct Steps(u64);

impl Steps {
    const fn new(steps: u64) -> Self {
        Self(steps)
    }

    fn take(&mut self, steps: u64) -> Result<(), Spent> {
        self.0 = self.0.checked_sub(steps).ok_or(Spent)?;
        Ok(())
    }
}
