//! Gauge: how many stitches and rows there are to a length.

use super::{Exact, Length, Rows, Stitches, Unit, decimal};

/// Stitches (or rows) per length; always more than zero.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct Density(Exact);

impl Density {
    /// `count` over `length`, or `None` unless both are more than zero.
    #[must_use]
    pub fn new(count: Exact, over: Length) -> Option<Self> {
        (count > Exact::from_integer(0) && over.is_positive())
            .then(|| Self(count / over.amount(Unit::Mm)))
    }

    /// The length that `count` stitches (or rows) make: `count / density`.
    #[must_use]
    pub fn length(self, count: Exact) -> Length {
        Length::new(count / self.0, Unit::Mm)
    }

    /// How many stitches (or rows) make `length`, exactly: `length x density`.
    #[must_use]
    pub fn count(self, length: Length) -> Exact {
        length.amount(Unit::Mm) * self.0
    }

    /// This density as a multiple of another.
    #[must_use]
    pub fn ratio(self, other: Self) -> Exact {
        self.0 / other.0
    }

    /// The density `factor` times as great, or `None` unless the factor is more than zero.
    #[must_use]
    pub fn scaled(self, factor: Exact) -> Option<Self> {
        (factor > Exact::from_integer(0)).then_some(Self(self.0 * factor))
    }

    /// This density less another, or `None` unless something is left.
    #[must_use]
    pub fn less(self, other: Self) -> Option<Self> {
        (self.0 > other.0).then(|| Self(self.0 - other.0))
    }

    /// As a number over a length: `20` over 10 cm.
    #[must_use]
    pub fn over(self, length: Length) -> String {
        decimal(self.count(length), 2)
    }
}

/// The gauge of one fabric on one size of needle.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Gauge {
    /// Stitches per length, relaxed.
    pub stitches: Density,
    /// Rows per length, relaxed; `None` where the author gave none.
    pub rows: Option<Density>,
    /// Stitches per length stretched as far as is comfortable; `None` where not swatched.
    pub stretched: Option<Density>,
}

impl Gauge {
    /// The relaxed width of a number of stitches.
    #[must_use]
    pub fn width(&self, stitches: Stitches) -> Length {
        self.stitches.length(stitches.exact())
    }

    /// The height of a number of rows, where the row gauge is known.
    #[must_use]
    pub fn height(&self, rows: Rows) -> Option<Length> {
        self.rows.map(|density| density.length(rows.exact()))
    }
}
