//! From a width to a count, and from one gauge to another.
//!
//! One count at a time, for quick answers and for targets; counts that hang
//! together are chosen together elsewhere.

use crate::measure::round::{Multiple, Toward, to_multiple};
use crate::measure::{Density, Exact, Length, Stitches};

/// The stitches (or rows) at the gauge `to` that make the width of `count` at
/// the gauge `from`, before any rounding: `count x to / from`.
#[must_use]
pub fn recount(count: Exact, from: Density, to: Density) -> Exact {
    count * to.ratio(from)
}

/// The member of `multiple` that lies `toward` of a width at a gauge; never
/// below nothing.
#[must_use]
pub fn count_for(width: Length, gauge: Density, multiple: Multiple, toward: Toward) -> u32 {
    whole(gauge.count(width), multiple, toward)
}

/// The member of `multiple` that lies `toward` of an exact count; never below
/// nothing.
#[must_use]
pub fn whole(count: Exact, multiple: Multiple, toward: Toward) -> u32 {
    let found = to_multiple(count, multiple, toward);
    let least = to_multiple(Exact::from_integer(0), multiple, Toward::Up);
    u32::try_from(found.max(least)).unwrap_or(u32::MAX)
}

/// The nearest count that is odd where `meets` is odd and even where it is
/// even, so that shaping at both edges leads from one to the other.
#[must_use]
pub fn matched(count: Exact, meets: Stitches) -> Stitches {
    Stitches(whole(count, Multiple::new(2, meets.0 % 2), Toward::Nearest))
}

/// The width of a count that was meant for one gauge and is worked at another.
#[must_use]
pub fn comes_out_as(intended: Length, meant: Density, worked: Density) -> Length {
    intended * meant.ratio(worked)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::exact;
    use proptest::prelude::*;

    fn per_10_cm(count: i64) -> Density {
        Density::new(exact(count, 1), Length::cm(10)).expect("more than nothing")
    }

    #[test]
    fn never_below_nothing() {
        assert_eq!(whole(exact(-9, 1), Multiple::new(4, 2), Toward::Nearest), 2);
        assert_eq!(whole(exact(1, 2), Multiple::new(4, 0), Toward::Down), 0);
    }

    #[test]
    fn parity_follows_what_it_meets() {
        assert_eq!(matched(exact(155, 4), Stitches(60)), Stitches(38));
        assert_eq!(matched(exact(155, 4), Stitches(61)), Stitches(39));
    }

    proptest! {
        #[test]
        fn the_width_is_kept(count in 1_i64..1000, a in 4_i64..60, b in 4_i64..60) {
            let (from, to) = (per_10_cm(a), per_10_cm(b));
            let there = recount(exact(count, 1), from, to);
            prop_assert_eq!(to.length(there), from.length(exact(count, 1)));
            prop_assert_eq!(recount(there, to, from), exact(count, 1));
        }
    }
}
