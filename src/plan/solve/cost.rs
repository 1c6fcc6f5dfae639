//! How bad a choice is: the worst of its errors, or their sum, both exact.
//!
//! The tables work with any [`Cost`]. [`Level`] keeps the worst error as a
//! fraction. [`Sum`] counts errors in units of one over their common
//! denominator; where those would not fit in 128 bits [`LongSum`] does the
//! same with longer numbers. Knows nothing of where errors come from.

use std::cmp::Ordering;

use super::Spent;
use super::whole::{div_down, narrow, wide_gcd};
use crate::measure::Exact;

/// A fraction that is not negative.
#[derive(Clone, Copy, Debug)]
pub(super) struct Fraction {
    over: i128,
    under: i128,
}

impl Fraction {
    pub(super) const ZERO: Self = Self { over: 0, under: 1 };

    /// `over / under`, the sign of `over` dropped; `under` is above nought.
    pub(super) const fn new(over: i128, under: i128) -> Self {
        Self { over: over.saturating_abs(), under }
    }

    /// [`Self::new`] in lowest terms.
    pub(super) fn reduced(over: i128, under: i128) -> Self {
        let common = wide_gcd(over, under).max(1);
        Self { over: over.saturating_abs() / common, under: under / common }
    }

    /// Twice as much.
    pub(super) fn doubled(self) -> Result<Self, Spent> {
        Ok(Self::reduced(self.over.checked_mul(2).ok_or(Spent)?, self.under))
    }

    /// About halfway between this and a larger one; nothing if they are very near.
    /// A round number, for products with it must fit.
    pub(super) fn between(self, larger: Self) -> Result<Option<Self>, Spent> {
        const PARTS: i128 = 1 << 16;
        let (low, high) = (self.whole_times(PARTS)?, larger.whole_times(PARTS)?);
        let middle = low + (high - low + 1) / 2;
        Ok((low < middle && middle < high).then(|| Self::reduced(middle, PARTS)))
    }

    /// The largest whole number not above `factor` times this.
    pub(super) fn whole_times(self, factor: i128) -> Result<i128, Spent> {
        Ok(div_down(self.over.checked_mul(factor).ok_or(Spent)?, self.under))
    }

    pub(super) fn exact(self) -> Exact {
        let Self { over, under } = Self::reduced(self.over, self.under);
        Exact::new_raw(over, under)
    }
}

impl Ord for Fraction {
    fn cmp(&self, other: &Self) -> Ordering {
        if self.under == other.under {
            return self.over.cmp(&other.over);
        }
        match (self.over.checked_mul(other.under), other.over.checked_mul(self.under)) {
            (Some(a), Some(b)) => a.cmp(&b),
            _ => self.exact().cmp(&other.exact()),
        }
    }
}

impl PartialOrd for Fraction {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Fraction {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Fraction {}

/// The error `|slope x value + shift| / unit` of one variable.
#[derive(Clone, Copy, Debug)]
pub(super) struct ErrorOf {
    pub(super) variable: usize,
    /// Not nought.
    pub(super) slope: i128,
    pub(super) shift: i128,
    /// Above nought.
    pub(super) unit: i128,
}

impl ErrorOf {
    /// `|slope x value + shift|`.
    pub(super) fn over(&self, value: i64) -> i128 {
        self.slope.saturating_mul(i128::from(value)).saturating_add(self.shift).saturating_abs()
    }

    pub(super) fn at(&self, value: i64) -> Fraction {
        Fraction::new(self.over(value), self.unit)
    }

    /// The same error where the variable is `factor x value + plus`.
    pub(super) fn stretched(&self, factor: i128, plus: i128) -> Result<Self, Spent> {
        let times = |a: i128, b: i128| a.checked_mul(b).ok_or(Spent);
        let shift = times(self.slope, plus)?.checked_add(self.shift).ok_or(Spent)?;
        Ok(Self { slope: times(self.slope, factor)?, shift, ..*self })
    }

    /// The values whose error is not above `level`: from, to (none if from > to).
    pub(super) fn window(&self, level: Fraction) -> Result<(i128, i128), Spent> {
        let most = level.whole_times(self.unit)?;
        let (a, b) = (
            most.checked_add(self.shift).ok_or(Spent)?,
            most.checked_sub(self.shift).ok_or(Spent)?,
        );
        // -a <= slope x value <= b
        Ok(if self.slope > 0 {
            (-div_down(a, self.slope), div_down(b, self.slope))
        } else {
            (-div_down(b, -self.slope), div_down(a, -self.slope))
        })
    }

    /// The largest value at or below the point without error.
    pub(super) fn just_below(&self) -> i128 {
        div_down(-self.shift, self.slope)
    }
}

/// Something that adds up along a choice; less is better.
///
/// Joining must not make smaller, and must keep order: if `a <= b` then
/// `a` joined with `c` is not above `b` joined with `c`.
pub(super) trait Cost: Clone + Ord + std::fmt::Debug {
    /// What an error is multiplied by.
    type Weight: Clone;
    fn nothing() -> Self;
    fn join(&mut self, other: &Self);
    fn of(error: &ErrorOf, value: i64, weight: &Self::Weight) -> Self;
}

/// The worst error.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) struct Level(pub(super) Fraction);

impl Cost for Level {
    type Weight = ();
    fn nothing() -> Self {
        Self(Fraction::ZERO)
    }
    fn join(&mut self, other: &Self) {
        if other > self {
            *self = *other;
        }
    }
    fn of(error: &ErrorOf, value: i64, (): &()) -> Self {
        Self(error.at(value))
    }
}

/// The sum of errors, in units of one over their common denominator.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) struct Sum(pub(super) i128);

impl Cost for Sum {
    type Weight = i128;
    fn nothing() -> Self {
        Self(0)
    }
    fn join(&mut self, other: &Self) {
        self.0 += other.0;
    }
    fn of(error: &ErrorOf, value: i64, weight: &i128) -> Self {
        Self(error.over(value) * weight)
    }
}

/// The worst error, in the same units as [`Sum`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) struct Peak(pub(super) i128);

impl Cost for Peak {
    type Weight = i128;
    fn nothing() -> Self {
        Self(0)
    }
    fn join(&mut self, other: &Self) {
        self.0 = self.0.max(other.0);
    }
    fn of(error: &ErrorOf, value: i64, weight: &i128) -> Self {
        Self(error.over(value) * weight)
    }
}

/// [`Sum`] in a number of so many times 64 bits.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct LongSum<const LIMBS: usize>([u64; LIMBS]);

impl<const LIMBS: usize> LongSum<LIMBS> {
    fn one() -> Self {
        let mut limbs = [0; LIMBS];
        limbs[0] = 1;
        Self(limbs)
    }

    fn times_limb(&self, factor: u64) -> Option<Self> {
        let mut limbs = [0; LIMBS];
        let mut carry = 0_u128;
        for (to, &from) in limbs.iter_mut().zip(&self.0) {
            let product = u128::from(from) * u128::from(factor) + carry;
            *to = (product & u128::from(u64::MAX)) as u64;
            carry = product >> 64;
        }
        (carry == 0).then_some(Self(limbs))
    }

    /// `factor` times as much, if that fits with room to add many.
    fn times(&self, factor: i128) -> Option<Self> {
        let factor = factor.unsigned_abs();
        let mut product = self.times_limb((factor & u128::from(u64::MAX)) as u64)?;
        let mut upper = self.times_limb((factor >> 64) as u64)?;
        if upper.0[LIMBS - 1] != 0 {
            return None;
        }
        upper.0.rotate_right(1);
        product.join(&upper);
        (product.0[LIMBS - 1] >> 32 == 0).then_some(product)
    }
}

impl<const LIMBS: usize> Ord for LongSum<LIMBS> {
    fn cmp(&self, other: &Self) -> Ordering {
        self.0.iter().rev().cmp(other.0.iter().rev())
    }
}

impl<const LIMBS: usize> PartialOrd for LongSum<LIMBS> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl<const LIMBS: usize> Cost for LongSum<LIMBS> {
    type Weight = Self;
    fn nothing() -> Self {
        Self([0; LIMBS])
    }
    fn join(&mut self, other: &Self) {
        let mut carry = false;
        for (to, &from) in self.0.iter_mut().zip(&other.0) {
            let (sum, over) = to.overflowing_add(from);
            let (sum, still_over) = sum.overflowing_add(u64::from(carry));
            (*to, carry) = (sum, over || still_over);
        }
    }
    fn of(error: &ErrorOf, value: i64, weight: &Self) -> Self {
        // [`weights`] has made sure that every value in range fits.
        weight.times(error.over(value)).unwrap_or(Self([u64::MAX; LIMBS]))
    }
}

/// What each error is multiplied by so that all are whole numbers of one unit.
pub(super) enum Weights {
    /// Every error is a whole number of `unit`ths.
    Short {
        weights: Vec<i128>,
        unit: i128,
    },
    Long(Vec<LongSum<4>>),
    Longest(Vec<LongSum<32>>),
}

/// The weights of `errors`, whose variables lie in the given ranges.
pub(super) fn weights(
    errors: &[ErrorOf],
    range: impl Fn(usize) -> (i64, i64),
) -> Result<Weights, Spent> {
    let most = |e: &ErrorOf| {
        let (low, high) = range(e.variable);
        e.over(low).max(e.over(high))
    };
    if let Some((weights, unit)) = short_weights(errors, most) {
        return Ok(Weights::Short { weights, unit });
    }
    long_weights(errors, most)
        .map(Weights::Long)
        .or_else(|| long_weights(errors, most).map(Weights::Longest))
        .ok_or(Spent)
}

fn short_weights(errors: &[ErrorOf], most: impl Fn(&ErrorOf) -> i128) -> Option<(Vec<i128>, i128)> {
    let mut common = 1_i128;
    for e in errors {
        common = (common / wide_gcd(common, e.unit)).checked_mul(e.unit)?;
    }
    let weights: Vec<i128> = errors.iter().map(|e| common / e.unit).collect();
    let mut all = 0_i128;
    for (e, weight) in errors.iter().zip(&weights) {
        all = all.checked_add(most(e).checked_mul(*weight)?)?;
    }
    all.checked_mul(4).map(|_| (weights, common))
}

/// The common denominator as a product of blocks that each fit in 96 bits.
fn long_weights<const LIMBS: usize>(
    errors: &[ErrorOf],
    most: impl Fn(&ErrorOf) -> i128,
) -> Option<Vec<LongSum<LIMBS>>> {
    let mut blocks: Vec<i128> = Vec::new();
    let mut block_of = Vec::new();
    for e in errors {
        let joined = blocks.last().and_then(|&b| (b / wide_gcd(b, e.unit)).checked_mul(e.unit));
        if let Some(divided) = blocks.iter().position(|b| b % e.unit == 0) {
            block_of.push(divided);
            continue;
        }
        match (joined.filter(|j| j >> 96 == 0), blocks.last_mut()) {
            (Some(joined), Some(last)) => *last = joined,
            _ => blocks.push(e.unit),
        }
        block_of.push(blocks.len() - 1);
    }
    let mut weights = Vec::new();
    for (e, &own) in errors.iter().zip(&block_of) {
        let mut weight = LongSum::one().times(blocks[own] / e.unit)?;
        for (_, &block) in blocks.iter().enumerate().filter(|&(i, _)| i != own) {
            weight = weight.times(block)?;
        }
        let greatest = most(e);
        if greatest == i128::MAX {
            return None;
        }
        weight.times(greatest)?;
        weights.push(weight);
    }
    Some(weights)
}

/// `value` as a 64-bit number, or the nearest there is.
pub(super) fn clamped(value: i128) -> i64 {
    narrow(value).unwrap_or(if value < 0 { i64::MIN } else { i64::MAX })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fractions_compare_even_where_their_products_overflow() {
        let huge = i128::MAX / 3;
        assert!(Fraction::new(huge, huge - 1) > Fraction::new(huge - 1, huge));
        assert!(Fraction::new(1, 3) < Fraction::new(34, 100));
        assert_eq!(Fraction::new(2, 6), Fraction::new(-1, 3));
    }

    #[test]
    fn a_window_holds_just_the_values_within_the_level() {
        for (slope, shift, unit) in [(3, -100, 7), (-2, 11, 5), (1, 0, 1)] {
            let e = ErrorOf { variable: 0, slope, shift, unit };
            for level in [Fraction::new(0, 1), Fraction::new(5, 2), Fraction::new(9, 7)] {
                let (from, to) = e.window(level).expect("small numbers");
                for v in -100..100_i64 {
                    let inside = from <= i128::from(v) && i128::from(v) <= to;
                    assert_eq!(inside, e.at(v) <= level, "{slope} {shift} {unit} {v}");
                }
            }
        }
    }

    #[test]
    fn long_sums_agree_with_short_ones() {
        let units = [6, 35, 64, 121, 1_000_003, 97, 35];
        let errors: Vec<ErrorOf> =
            units.iter().map(|&unit| ErrorOf { variable: 0, slope: 3, shift: -50, unit }).collect();
        let most = |e: &ErrorOf| e.over(100);
        let (short, _) = short_weights(&errors, most).expect("fits");
        let long = long_weights::<4>(&errors, most).expect("fits");
        let pick = |n: usize| (n % errors.len(), (n * 37 % 100) as i64);
        let mut sums = Vec::new();
        for start in 0..60 {
            let (mut a, mut b) = (Sum::nothing(), LongSum::<4>::nothing());
            for n in start..start + 5 {
                let (i, v) = pick(n);
                a.join(&Sum::of(&errors[i], v, &short[i]));
                b.join(&LongSum::<4>::of(&errors[i], v, &long[i]));
            }
            sums.push((a, b));
        }
        for x in &sums {
            for y in &sums {
                assert_eq!(x.0.cmp(&y.0), x.1.cmp(&y.1));
            }
        }
    }

    #[test]
    fn denominators_beyond_128_bits_still_add_up() {
        let errors: Vec<ErrorOf> = (0..40)
            .map(|i| ErrorOf { variable: 0, slope: 1, shift: -1, unit: 1_000_003 + 2 * i })
            .collect();
        assert!(short_weights(&errors, |_| 1000).is_none());
        assert!(long_weights::<4>(&errors, |_| 1000).is_none());
        let long = long_weights::<32>(&errors, |_| 1000).expect("fits in a long number");
        // 1/1000003 is more than 1/1000005.
        assert!(
            LongSum::<32>::of(&errors[0], 2, &long[0]) > LongSum::<32>::of(&errors[1], 2, &long[1])
        );
        assert!(
            LongSum::<32>::of(&errors[0], 2, &long[0]) < LongSum::<32>::of(&errors[1], 3, &long[1])
        );
    }
}
