//! A count that may still depend on counts nobody has chosen yet.

use std::collections::BTreeMap;
use std::ops::{Add, Neg, Sub};

/// An unknown whole number of a system of counts.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct Unknown(pub usize);

/// `constant + sum of factor x unknown`, with whole factors.
///
/// Without unknowns it is simply a number: the same walk over a pattern
/// checks it (all numbers) or sets up its system of counts (unknowns).
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Linear {
    constant: i64,
    /// Never holds a zero factor.
    terms: BTreeMap<Unknown, i64>,
}

impl Linear {
    /// A plain number.
    #[must_use]
    pub const fn number(constant: i64) -> Self {
        Self { constant, terms: BTreeMap::new() }
    }

    /// One unknown, once.
    #[must_use]
    pub fn unknown(unknown: Unknown) -> Self {
        Self { constant: 0, terms: BTreeMap::from([(unknown, 1)]) }
    }

    /// The number, where there are no unknowns in it.
    #[must_use]
    pub fn known(&self) -> Option<i64> {
        self.terms.is_empty().then_some(self.constant)
    }

    /// The part without unknowns.
    #[must_use]
    pub const fn constant(&self) -> i64 {
        self.constant
    }

    /// The unknowns and their factors (never zero), in order.
    pub fn terms(&self) -> impl Iterator<Item = (Unknown, i64)> + '_ {
        self.terms.iter().map(|(&u, &f)| (u, f))
    }

    /// `factor` times as much.
    #[must_use]
    pub fn times(&self, factor: i64) -> Self {
        if factor == 0 {
            return Self::default();
        }
        Self {
            constant: self.constant.saturating_mul(factor),
            terms: self.terms.iter().map(|(&u, &f)| (u, f.saturating_mul(factor))).collect(),
        }
    }

    /// The value when `value_of` gives each unknown's.
    pub fn value(&self, mut value_of: impl FnMut(Unknown) -> i64) -> i64 {
        self.terms
            .iter()
            .fold(self.constant, |sum, (&u, &f)| sum.saturating_add(f.saturating_mul(value_of(u))))
    }

    fn combined(&self, other: &Self, sign: i64) -> Self {
        let constant = self.constant.saturating_add(other.constant.saturating_mul(sign));
        let mut terms = self.terms.clone();
        for (&unknown, &factor) in &other.terms {
            let sum = terms.get(&unknown).copied().unwrap_or(0) + factor * sign;
            if sum == 0 {
                terms.remove(&unknown);
            } else {
                terms.insert(unknown, sum);
            }
        }
        Self { constant, terms }
    }
}

impl From<i64> for Linear {
    fn from(constant: i64) -> Self {
        Self::number(constant)
    }
}

impl Add for &Linear {
    type Output = Linear;
    fn add(self, other: Self) -> Linear {
        self.combined(other, 1)
    }
}

impl Sub for &Linear {
    type Output = Linear;
    fn sub(self, other: Self) -> Linear {
        self.combined(other, -1)
    }
}

impl Neg for &Linear {
    type Output = Linear;
    fn neg(self) -> Linear {
        self.times(-1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn terms_that_cancel_are_gone() {
        let x = Linear::unknown(Unknown(0));
        assert_eq!(&(&x + &Linear::number(3)) - &x, Linear::number(3));
        assert_eq!(x.times(2).value(|_| 5), 10);
        assert_eq!(x.known(), None);
    }
}
