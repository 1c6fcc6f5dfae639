//! A system's parts in whole numbers: its linear sums as forms, its aims with
//! their fractions cleared. Numbers that would not fit are [`Spent`].

use super::Spent;
use super::frame::Span;
use super::lattice::Form;
use super::whole::{narrow, wide_gcd};
use crate::measure::Exact;
use crate::plan::system::{Aim, System};

/// An aim in whole numbers: `|slope x form + shift| / unit`.
pub(super) struct WholeAim {
    pub(super) form: Form,
    pub(super) slope: i128,
    pub(super) shift: i128,
    pub(super) unit: i128,
}

/// Collects variables and forms out of a system.
pub(super) struct Builder {
    pub(super) spans: Vec<Span>,
    unknowns: usize,
}

impl Builder {
    pub(super) fn new(system: &System) -> Self {
        let spans = system.bounds.iter().map(|b| Span { low: b.low, high: b.high }).collect();
        Self { spans, unknowns: system.unknowns() }
    }

    pub(super) fn form(&self, linear: &crate::measure::Linear) -> Form {
        let known = |v: usize| v < self.unknowns;
        Form {
            constant: linear.constant(),
            terms: linear.terms().map(|(u, f)| (u.0, f)).filter(|t| known(t.0)).collect(),
        }
    }

    pub(super) fn add(&mut self, low: i128, high: i128) -> Result<usize, Spent> {
        self.spans.push(Span { low: narrow(low)?, high: narrow(high)? });
        Ok(self.spans.len() - 1)
    }

    pub(super) fn aims(&self, system: &System) -> Result<Vec<WholeAim>, Spent> {
        let zero = Exact::from_integer(0);
        let wanted = system.aims.iter().filter(|a| a.tolerance > zero);
        wanted.map(|a| self.whole_aim(a)).collect()
    }

    fn whole_aim(&self, aim: &Aim) -> Result<WholeAim, Spent> {
        let terms: Vec<(usize, Exact)> =
            aim.of.terms().map(|(u, f)| (u.0, f)).filter(|&(v, _)| v < self.unknowns).collect();
        let mut common = 1_i128;
        for (_, f) in &terms {
            common = product(common / wide_gcd(common, *f.denom()), *f.denom())?;
        }
        let mut factors = Vec::new();
        for (v, f) in &terms {
            factors.push((*v, product(*f.numer(), common / f.denom())?));
        }
        let step = factors.iter().fold(0, |step, f| wide_gcd(step, f.1)).max(1);
        let mut form = Form::default();
        for (v, f) in factors {
            form.terms.push((v, narrow(f / step)?));
        }
        let tolerance = aim.tolerance;
        let slope = quotient(lowest(step, common)?, tolerance)?;
        let shift = quotient(difference(aim.of.constant(), aim.target)?, tolerance)?;
        let unit =
            product(*slope.denom() / wide_gcd(*slope.denom(), *shift.denom()), *shift.denom())?;
        Ok(WholeAim {
            form,
            slope: product(*slope.numer(), unit / slope.denom())?,
            shift: product(*shift.numer(), unit / shift.denom())?,
            unit,
        })
    }
}

fn product(a: i128, b: i128) -> Result<i128, Spent> {
    a.checked_mul(b).filter(|p| p.unsigned_abs() >> 120 == 0).ok_or(Spent)
}

/// `a / b` in lowest terms; `b` is above nought.
fn lowest(a: i128, b: i128) -> Result<Exact, Spent> {
    let common = wide_gcd(a, b).max(1);
    (b > 0).then(|| Exact::new_raw(a / common, b / common)).ok_or(Spent)
}

fn difference(a: Exact, b: Exact) -> Result<Exact, Spent> {
    let common = wide_gcd(*a.denom(), *b.denom()).max(1);
    let left = product(*a.numer(), b.denom() / common)?;
    let right = product(*b.numer(), a.denom() / common)?;
    lowest(left - right, product(a.denom() / common, *b.denom())?)
}

/// `a / b`; `b` is above nought.
fn quotient(a: Exact, b: Exact) -> Result<Exact, Spent> {
    let (over, under) =
        (wide_gcd(*a.numer(), *b.numer()).max(1), wide_gcd(*a.denom(), *b.denom()).max(1));
    lowest(
        product(a.numer() / over, b.denom() / under)?,
        product(a.denom() / under, b.numer() / over)?,
    )
}
