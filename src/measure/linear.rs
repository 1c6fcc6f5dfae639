//! A count that may still depend on counts nobody has chosen yet.

use std::iter::Sum;
use std::ops::{Add, AddAssign, Neg, Sub};

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
    /// In order of the unknowns, each once; never with a zero factor.
    terms: Vec<(Unknown, i64)>,
}

impl Linear {
    /// A plain number.
    #[must_use]
    pub const fn number(constant: i64) -> Self {
        Self { constant, terms: Vec::new() }
    }

    /// One unknown, once.
    #[must_use]
    pub fn unknown(unknown: Unknown) -> Self {
        Self { constant: 0, terms: vec![(unknown, 1)] }
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
        self.terms.iter().copied()
    }

    /// `factor` times as much.
    #[must_use]
    pub fn times(&self, factor: i64) -> Self {
        if factor == 0 {
            return Self::default();
        }
        Self {
            constant: self.constant.saturating_mul(factor),
            terms: self.terms().map(|(u, f)| (u, f.saturating_mul(factor))).collect(),
        }
    }

    /// The value when `value_of` gives each unknown's.
    pub fn value(&self, mut value_of: impl FnMut(Unknown) -> i64) -> i64 {
        self.terms().fold(self.constant, |sum, (unknown, factor)| {
            sum.saturating_add(factor.saturating_mul(value_of(unknown)))
        })
    }

    fn combined(&self, other: &Self, sign: i64) -> Self {
        let constant = self.constant.saturating_add(other.constant.saturating_mul(sign));
        if other.terms.is_empty() {
            return Self { constant, terms: self.terms.clone() };
        }
        let mut terms = Vec::with_capacity(self.terms.len() + other.terms.len());
        let mut more = other.terms().map(|(u, f)| (u, f.saturating_mul(sign))).peekable();
        for (unknown, factor) in self.terms() {
            while let Some(before) = more.next_if(|(u, _)| u < &unknown) {
                terms.push(before);
            }
            let same = more.next_if(|(u, _)| *u == unknown).map_or(0, |(_, f)| f);
            let sum = factor.saturating_add(same);
            if sum != 0 {
                terms.push((unknown, sum));
            }
        }
        terms.extend(more);
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

impl AddAssign<&Linear> for Linear {
    fn add_assign(&mut self, other: &Self) {
        match (self.terms.is_empty(), other.terms.is_empty()) {
            (_, true) => self.constant = self.constant.saturating_add(other.constant),
            (true, false) => {
                self.constant = self.constant.saturating_add(other.constant);
                self.terms.clone_from(&other.terms);
            }
            _ => *self = &*self + other,
        }
    }
}

impl<'a> Sum<&'a Self> for Linear {
    fn sum<I: Iterator<Item = &'a Self>>(all: I) -> Self {
        all.fold(Self::default(), |mut sum, one| {
            sum += one;
            sum
        })
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
    use proptest::prelude::*;

    #[test]
    fn terms_that_cancel_are_gone() {
        let x = Linear::unknown(Unknown(0));
        assert_eq!(&(&x + &Linear::number(3)) - &x, Linear::number(3));
        assert_eq!(x.times(2).value(|_| 5), 10);
        assert_eq!(x.known(), None);
    }

    fn linear() -> impl Strategy<Value = Linear> {
        let terms = proptest::collection::vec((0_usize..6, -3_i64..4), 0..6);
        (-9_i64..10, terms).prop_map(|(constant, terms)| {
            let one = |(u, f): (usize, i64)| Linear::unknown(Unknown(u)).times(f);
            terms.into_iter().fold(Linear::number(constant), |sum, term| &sum + &one(term))
        })
    }

    proptest! {
        #[test]
        fn a_sum_has_the_sum_of_the_values(a in linear(), b in linear(), values in proptest::array::uniform6(-9_i64..10)) {
            let of = |linear: &Linear| linear.value(|Unknown(u)| values.get(u).copied().unwrap_or(0));
            prop_assert_eq!(of(&(&a + &b)), of(&a) + of(&b));
            prop_assert_eq!(of(&(&a - &b)), of(&a) - of(&b));
            prop_assert_eq!(of(&-&a), -of(&a));
            prop_assert_eq!((&a - &a).known(), Some(0));
            let mut more = a.clone();
            more += &b;
            prop_assert_eq!(more, &a + &b);
            let sum = &a + &b;
            prop_assert_eq!(&[&a, &b].into_iter().sum::<Linear>(), &sum);
            let unknowns: Vec<Unknown> = sum.terms().map(|(u, _)| u).collect();
            prop_assert!(unknowns.is_sorted_by(|a, b| a < b), "in order, each once: {:?}", sum);
            prop_assert!(sum.terms().all(|(_, f)| f != 0), "{:?}", sum);
        }
    }
}
