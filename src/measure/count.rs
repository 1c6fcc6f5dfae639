//! Whole stitches and whole rows.

use super::Exact;
use std::fmt;

macro_rules! whole {
    ($name:ident, $one:literal, $many:literal, $doc:literal) => {
        #[doc = $doc]
        #[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Debug)]
        pub struct $name(pub u32);

        impl $name {
            /// As an exact number.
            #[must_use]
            pub fn exact(self) -> Exact {
                Exact::from_integer(i128::from(self.0))
            }

            /// As a signed number, for differences.
            #[must_use]
            pub fn signed(self) -> i64 {
                i64::from(self.0)
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{} {}", self.0, if self.0 == 1 { $one } else { $many })
            }
        }
    };
}

whole!(Stitches, "stitch", "stitches", "A number of stitches.");
whole!(Rows, "row", "rows", "A number of rows, or of rounds.");
