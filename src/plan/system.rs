//! A system of counts: whole unknowns, what ties them together, and what
//! they aim at.
//!
//! This is the whole language between a pattern and the solver. It knows
//! nothing of stitches, rows or text; whoever sets a system up keeps a list
//! of what each [`RequirementId`] stands for.

use std::collections::BTreeMap;
use std::ops::{Add, Sub};

use crate::measure::round::Multiple;
use crate::measure::{Exact, Linear, Unknown};

/// Unknown whole numbers, what must hold of them, and what they aim at.
///
/// A term of an unknown that the system does not have counts as nothing.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct System {
    /// What each unknown may be: `bounds[i]` belongs to `Unknown(i)`.
    pub bounds: Vec<Bounds>,
    /// What must hold: `requirements[i]` is `RequirementId(i)`.
    pub requirements: Vec<Requirement>,
    /// What should come close: in no particular order.
    pub aims: Vec<Aim>,
}

/// The whole numbers from `low` to `high`, both included; none if `low > high`.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Bounds {
    /// The smallest.
    pub low: i64,
    /// The largest.
    pub high: i64,
}

/// Which requirement of a [`System`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct RequirementId(pub usize);

/// Something that must hold exactly.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Requirement {
    /// It is nought: joins, divisions, shaping, pairs.
    Zero(Linear),
    /// It is nought or more: what must fit into what there is.
    NotNegative(Linear),
    /// It is one of these numbers: a stitch pattern's repeat.
    Multiple(Linear, Multiple),
}

/// Something that should come close to its target.
///
/// Its error is `|of - target| / tolerance`, a plain number: 1 is "as far off
/// as can be tolerated". An aim whose tolerance is not above zero asks for
/// nothing and is left out.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Aim {
    /// What is measured, in any unit.
    pub of: Weighted,
    /// Where it should be, in the same unit.
    pub target: Exact,
    /// How far off counts as an error of 1, in the same unit.
    pub tolerance: Exact,
}

/// `constant + sum of factor x unknown`, with exact factors: a width, say,
/// that is a count divided by its gauge.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Weighted {
    constant: Exact,
    /// Never holds a zero factor.
    terms: BTreeMap<Unknown, Exact>,
}

impl System {
    /// A system without unknowns.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds an unknown from `low` to `high`, both included.
    pub fn unknown(&mut self, low: i64, high: i64) -> Unknown {
        self.bounds.push(Bounds { low, high });
        Unknown(self.bounds.len() - 1)
    }

    /// Adds something that must hold.
    pub fn require(&mut self, requirement: Requirement) -> RequirementId {
        self.requirements.push(requirement);
        RequirementId(self.requirements.len() - 1)
    }

    /// Adds something that should come close.
    pub fn aim(&mut self, aim: Aim) {
        self.aims.push(aim);
    }

    /// How many unknowns there are.
    #[must_use]
    pub fn unknowns(&self) -> usize {
        self.bounds.len()
    }

    /// Whether every bound and every requirement holds of `values`, one for
    /// each unknown.
    #[must_use]
    pub fn holds(&self, values: &[i64]) -> bool {
        values.len() == self.bounds.len()
            && self.bounds.iter().zip(values).all(|(b, &x)| b.holds(x))
            && self.requirements.iter().all(|r| r.holds(|u| values.get(u.0).copied().unwrap_or(0)))
    }
}

impl Bounds {
    /// Whether `n` is one of these numbers.
    #[must_use]
    pub const fn holds(self, n: i64) -> bool {
        self.low <= n && n <= self.high
    }
}

impl Requirement {
    /// What the requirement speaks of.
    #[must_use]
    pub const fn linear(&self) -> &Linear {
        match self {
            Self::Zero(linear) | Self::NotNegative(linear) | Self::Multiple(linear, _) => linear,
        }
    }

    /// Whether it holds when `value_of` gives each unknown's value.
    pub fn holds(&self, value_of: impl FnMut(Unknown) -> i64) -> bool {
        let value = self.linear().value(value_of);
        match self {
            Self::Zero(_) => value == 0,
            Self::NotNegative(_) => value >= 0,
            Self::Multiple(_, multiple) => multiple.holds(value),
        }
    }
}

impl Aim {
    /// `|of - target| / tolerance` when `value_of` gives each unknown's value;
    /// nothing if the tolerance is not above zero.
    pub fn error(&self, value_of: impl FnMut(Unknown) -> i64) -> Option<Exact> {
        let zero = Exact::from_integer(0);
        let off = self.of.value(value_of) - self.target;
        (self.tolerance > zero).then(|| if off < zero { -off } else { off } / self.tolerance)
    }
}

impl Weighted {
    /// A plain number.
    #[must_use]
    pub const fn number(constant: Exact) -> Self {
        Self { constant, terms: BTreeMap::new() }
    }

    /// One unknown, once.
    #[must_use]
    pub fn unknown(unknown: Unknown) -> Self {
        Self::from(&Linear::unknown(unknown))
    }

    /// The part without unknowns.
    #[must_use]
    pub const fn constant(&self) -> Exact {
        self.constant
    }

    /// The unknowns and their factors (never zero), in order.
    pub fn terms(&self) -> impl Iterator<Item = (Unknown, Exact)> + '_ {
        self.terms.iter().map(|(&u, &f)| (u, f))
    }

    /// `factor` times as much.
    #[must_use]
    pub fn times(&self, factor: Exact) -> Self {
        if factor == Exact::from_integer(0) {
            return Self::number(factor);
        }
        Self {
            constant: self.constant * factor,
            terms: self.terms.iter().map(|(&u, &f)| (u, f * factor)).collect(),
        }
    }

    /// The value when `value_of` gives each unknown's.
    pub fn value(&self, mut value_of: impl FnMut(Unknown) -> i64) -> Exact {
        self.terms.iter().fold(self.constant, |sum, (&u, &f)| {
            sum + f * Exact::from_integer(i128::from(value_of(u)))
        })
    }
}

impl From<&Linear> for Weighted {
    fn from(linear: &Linear) -> Self {
        let whole = |n: i64| Exact::from_integer(i128::from(n));
        Self {
            constant: whole(linear.constant()),
            terms: linear.terms().map(|(u, f)| (u, whole(f))).collect(),
        }
    }
}

impl Add for &Weighted {
    type Output = Weighted;
    fn add(self, other: Self) -> Weighted {
        let mut terms = self.terms.clone();
        for (unknown, factor) in other.terms() {
            let sum = terms.get(&unknown).map_or(factor, |&f| f + factor);
            if sum == Exact::from_integer(0) {
                terms.remove(&unknown);
            } else {
                terms.insert(unknown, sum);
            }
        }
        Weighted { constant: self.constant + other.constant, terms }
    }
}

impl Sub for &Weighted {
    type Output = Weighted;
    fn sub(self, other: Self) -> Weighted {
        self + &other.times(Exact::from_integer(-1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::exact;

    #[test]
    fn a_width_is_a_count_over_its_gauge() {
        let mut system = System::new();
        let (front, back) = (system.unknown(0, 200), system.unknown(0, 200));
        let around = &Weighted::unknown(front) + &Weighted::unknown(back);
        let width = around.times(exact(10, 22));
        let aim = Aim { of: width.clone(), target: exact(96, 1), tolerance: exact(5, 1) };
        assert_eq!(width.value(|_| 110), exact(100, 1));
        assert_eq!(aim.error(|_| 110), Some(exact(4, 5)));
        assert_eq!(aim.error(|_| 99), Some(exact(6, 5)));
        assert_eq!(&width - &width, Weighted::number(exact(0, 1)));
    }

    #[test]
    fn an_aim_without_tolerance_asks_for_nothing() {
        let of = Weighted::number(exact(1, 1));
        let aim = Aim { of, target: exact(2, 1), tolerance: exact(0, 1) };
        assert_eq!(aim.error(|_| 0), None);
    }

    #[test]
    fn what_must_hold_is_checked() {
        let mut system = System::new();
        let (n, s) = (system.unknown(0, 20), system.unknown(0, 5));
        let (n, s) = (Linear::unknown(n), Linear::unknown(s));
        system.require(Requirement::Multiple(n.clone(), Multiple::new(4, 2)));
        system.require(Requirement::NotNegative(&n - &s.times(2)));
        assert!(system.holds(&[10, 5]));
        assert!(!system.holds(&[12, 5]), "no multiple of 4 plus 2");
        assert!(!system.holds(&[6, 4]), "below nought");
        assert!(!system.holds(&[22, 5]), "out of bounds");
        assert!(!system.holds(&[10]), "one value too few");
    }
}
