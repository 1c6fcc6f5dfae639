//! Stitches picked up along rows.
//!
//! Along the side of a fabric there are so many rows to a length, and the
//! stitches picked up need so many to that length: the ratio of the two is
//! what a knitter works by.

use super::convert::whole;
use super::ratio::{LARGEST_TERM, SmallRatio, small_ratio};
use crate::measure::round::{Multiple, Toward};
use crate::measure::{Density, Exact, Rows, Stitches};

/// Stitches to pick up along an edge.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct PickUp {
    /// How many lie exactly level along the edge.
    pub exact: Exact,
    /// The nearest the fabric can be worked over.
    pub count: Stitches,
    /// Stitches for every so many rows.
    pub ratio: Option<SmallRatio>,
}

/// Stitches to pick up along `rows` rows of a fabric with `row_gauge`, for a
/// band of `stitch_gauge` that lies level: rows x stitches / rows to a length.
#[must_use]
pub fn along_rows(
    rows: Rows,
    row_gauge: Density,
    stitch_gauge: Density,
    multiple: Multiple,
) -> PickUp {
    let each = stitch_gauge.ratio(row_gauge);
    let exact = rows.exact() * each;
    PickUp {
        exact,
        count: Stitches(whole(exact, multiple, Toward::Nearest)),
        ratio: small_ratio(each, rows.exact(), LARGEST_TERM),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::{Length, exact};

    #[test]
    fn three_for_every_four_rows() {
        let per_10_cm = |n| Density::new(exact(n, 1), Length::cm(10)).expect("more than nothing");
        let found = along_rows(Rows(96), per_10_cm(28), per_10_cm(21), Multiple::new(4, 2));
        assert_eq!(found.exact, exact(72, 1));
        assert_eq!(found.count, Stitches(74));
        assert_eq!(found.ratio.map(|r| (r.ratio.these, r.ratio.those)), Some((3, 4)));
    }
}
