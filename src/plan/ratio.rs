//! Small ratios a knitter can work: "6 band stitches for every 5 body stitches".
//!
//! Descends the tree of fractions (Stern and Brocot), which meets the
//! simplest fraction of any interval first. Knows nothing of what is counted.

use crate::measure::{Exact, exact};

/// The largest term worth saying: "pick up 12 stitches for every 11 rows" is
/// already hard to keep count of.
pub const LARGEST_TERM: u32 = 12;

/// `these` for every `those`, in lowest terms.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Ratio {
    /// The one.
    pub these: u32,
    /// The other; never nought.
    pub those: u32,
}

impl Ratio {
    /// As a number.
    #[must_use]
    pub fn value(self) -> Exact {
        exact(i64::from(self.these), i64::from(self.those.max(1)))
    }
}

/// The best ratio of small terms.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct SmallRatio {
    /// The ratio.
    pub ratio: Ratio,
    /// By how much it comes out over (or, negative, under) when it is worked
    /// over the whole width.
    pub off: Exact,
}

impl SmallRatio {
    /// Whether it comes out within half a stitch over the whole width.
    #[must_use]
    pub fn is_close(&self) -> bool {
        let twice = self.off * Exact::from_integer(2);
        twice < Exact::from_integer(1) && twice > Exact::from_integer(-1)
    }
}

/// The ratio of smallest terms that comes within half a stitch of
/// `exact_ratio` when worked over `width` stitches (or rows); or, where it
/// would take a term above `cap`, the closest whose terms are not.
///
/// `None` unless ratio, width and cap are more than nothing.
#[must_use]
pub fn small_ratio(exact_ratio: Exact, width: Exact, cap: u32) -> Option<SmallRatio> {
    let zero = Exact::from_integer(0);
    if exact_ratio <= zero || width <= zero || cap == 0 {
        return None;
    }
    let told = |these: u64, those: u64| -> Option<SmallRatio> {
        let ratio = Ratio { these: u32::try_from(these).ok()?, those: u32::try_from(those).ok()? };
        Some(SmallRatio { ratio, off: (ratio.value() - exact_ratio) * width })
    };
    let ((mut low_n, mut low_d), (mut high_n, mut high_d)) = ((0_u64, 1_u64), (1_u64, 0_u64));
    loop {
        let (n, d) = (low_n + high_n, low_d + high_d);
        if n.max(d) > u64::from(cap) {
            break;
        }
        let middle = told(n, d)?;
        if middle.is_close() {
            return Some(middle);
        }
        if middle.off < zero {
            (low_n, low_d) = (n, d);
        } else {
            (high_n, high_d) = (n, d);
        }
    }
    // No term may be nought: none for every 1, or 1 for none, is no ratio.
    let low = if low_n > 0 { told(low_n, low_d) } else { None };
    let high = if high_d > 0 { told(high_n, high_d) } else { None };
    let distance = |found: &SmallRatio| if found.off < zero { -found.off } else { found.off };
    low.into_iter().chain(high).min_by_key(distance)
}

/// The ratio of two counts that meet: `n` for every `body`, as [`small_ratio`].
#[must_use]
pub fn ratio_of_counts(n: u32, body: u32, cap: u32) -> Option<SmallRatio> {
    if body == 0 {
        return None;
    }
    small_ratio(exact(i64::from(n), i64::from(body)), exact(i64::from(body), 1), cap)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn terms(found: Option<SmallRatio>) -> Option<(u32, u32)> {
        found.map(|f| (f.ratio.these, f.ratio.those))
    }

    #[test]
    fn what_a_knitter_would_say() {
        assert_eq!(terms(small_ratio(exact(24, 20), exact(200, 1), 12)), Some((6, 5)));
        assert_eq!(terms(small_ratio(exact(25, 20), exact(200, 1), 12)), Some((5, 4)));
        assert_eq!(terms(ratio_of_counts(80, 120, 12)), Some((2, 3)));
        assert_eq!(terms(ratio_of_counts(90, 120, 12)), Some((3, 4)));
        assert_eq!(terms(ratio_of_counts(7, 7, 12)), Some((1, 1)));
    }

    #[test]
    fn says_how_far_off_the_closest_is() {
        let found = ratio_of_counts(81, 120, 12);
        assert_eq!(terms(found), Some((2, 3)));
        assert_eq!(found.map(|f| f.off), Some(exact(-1, 1)));
        assert_eq!(found.map(|f| f.is_close()), Some(false));
    }

    #[test]
    fn there_is_no_ratio_of_nothing() {
        assert_eq!(ratio_of_counts(0, 10, 12), None);
        assert_eq!(ratio_of_counts(10, 0, 12), None);
        assert_eq!(ratio_of_counts(10, 10, 0), None);
        assert_eq!(terms(ratio_of_counts(1, 1000, 12)), Some((1, 12)));
    }

    proptest! {
        #[test]
        fn close_or_the_closest_there_is(n in 1_u32..500, body in 1_u32..500, cap in 1_u32..20) {
            let found = ratio_of_counts(n, body, cap);
            let Some(found) = found else { return Err(TestCaseError::fail("no ratio")) };
            prop_assert!(found.ratio.these <= cap && found.ratio.those <= cap);
            let wanted = exact(i64::from(n), 1);
            let whole = exact(i64::from(body), 1);
            prop_assert_eq!(found.ratio.value() * whole - wanted, found.off);
            // Against every ratio there is: none simpler is close, none nearer
            // where none is close.
            for these in 1..=cap {
                for those in 1..=cap {
                    let other = Ratio { these, those };
                    let off = other.value() * whole - wanted;
                    let other = SmallRatio { ratio: other, off };
                    if found.is_close() {
                        let simpler = these.max(those) < found.ratio.these.max(found.ratio.those);
                        prop_assert!(!(simpler && other.is_close()), "{other:?} for {found:?}");
                    } else {
                        prop_assert!(off.abs() >= found.off.abs(), "{other:?}");
                    }
                }
            }
        }
    }
}
