//! What a swatch says, and how surely.
//!
//! Counts over measured lengths are averaged exactly, and the doubt of each
//! count is carried through to ratios and finished widths. Knows nothing of
//! what the swatch is of.

use crate::measure::{Density, Exact, Length, exact};

/// A number of stitches (or rows) counted over a measured length.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Counted {
    /// How many; halves are counted too.
    pub count: Exact,
    /// Over what length.
    pub over: Length,
}

/// How surely a count is known: to about half a stitch (common practice).
#[must_use]
pub fn half_a_stitch() -> Exact {
    exact(1, 2)
}

/// A value and the least and the most it may be.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Doubted<T> {
    /// The least it may be.
    pub low: T,
    /// The value itself.
    pub value: T,
    /// The most it may be.
    pub high: T,
}

/// The gauge that several countings give.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Swatch {
    /// All stitches over all lengths, with the doubt of the counts: half a
    /// stitch each, or more where the countings lie further apart.
    pub gauge: Doubted<Density>,
    /// The countings that lie furthest apart, as the lowest and highest gauge
    /// counted. The same where there was one counting.
    pub spread: (Density, Density),
    /// The most, in stitches, by which a count differs from what the gauge
    /// gives over its length.
    pub furthest: Exact,
}

/// Why countings give no gauge.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum SwatchError {
    /// Nothing was counted.
    Nothing,
    /// A count of half a stitch or less, or a length of nothing.
    TooSmall {
        /// Which counting, by its place in the list.
        which: usize,
    },
}

impl Swatch {
    /// The gauge of several countings. Longer lengths weigh more, as all
    /// stitches are divided by all lengths.
    ///
    /// # Errors
    /// [`SwatchError`] where nothing was counted, or too little to tell.
    pub fn of(countings: &[Counted]) -> Result<Self, SwatchError> {
        let mut spread: Option<(Density, Density)> = None;
        let (mut stitches, mut length, mut doubt) = (exact(0, 1), Length::zero(), exact(0, 1));
        for (which, counted) in countings.iter().enumerate() {
            let too_small = SwatchError::TooSmall { which };
            if counted.count <= half_a_stitch() {
                return Err(too_small);
            }
            let own = Density::new(counted.count, counted.over).ok_or(too_small)?;
            spread = Some(spread.map_or((own, own), |(low, high)| (low.min(own), high.max(own))));
            stitches += counted.count;
            length = length + counted.over;
            doubt += half_a_stitch();
        }
        let density = |count| Density::new(count, length);
        match (spread, density(stitches - doubt), density(stitches), density(stitches + doubt)) {
            (Some(spread), Some(low), Some(value), Some(high)) => {
                let off = |counted: &Counted| (counted.count - value.count(counted.over)).abs();
                let furthest = countings.iter().map(off).max().unwrap_or(exact(0, 1));
                let (low, high) = (low.min(spread.0), high.max(spread.1));
                Ok(Self { gauge: Doubted { low, value, high }, spread, furthest })
            }
            _ => Err(SwatchError::Nothing),
        }
    }

    /// Whether the countings differ by more than the doubt of a count
    /// explains: measure again, or swatch larger.
    #[must_use]
    pub fn disagrees(&self) -> bool {
        self.furthest > half_a_stitch()
    }
}

impl Doubted<Density> {
    /// The width of `count` stitches.
    #[must_use]
    pub fn width(&self, count: Exact) -> Doubted<Length> {
        Doubted {
            low: self.high.length(count),
            value: self.value.length(count),
            high: self.low.length(count),
        }
    }

    /// The stitches of a width.
    #[must_use]
    pub fn count(&self, width: Length) -> Doubted<Exact> {
        Doubted {
            low: self.low.count(width),
            value: self.value.count(width),
            high: self.high.count(width),
        }
    }

    /// This gauge as a multiple of another.
    #[must_use]
    pub fn ratio(&self, other: &Self) -> Doubted<Exact> {
        Doubted {
            low: self.low.ratio(other.high),
            value: self.value.ratio(other.value),
            high: self.high.ratio(other.low),
        }
    }
}

impl Doubted<Length> {
    /// From the least to the most.
    #[must_use]
    pub fn range(&self) -> Length {
        self.high - self.low
    }

    /// Whether its doubt is larger than the step from one size to the next, so
    /// that the swatch cannot tell one size from the other.
    #[must_use]
    pub fn blurs(&self, step: Length) -> bool {
        self.range() > step.abs()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Unit;
    use proptest::prelude::*;

    fn counted(count: Exact, cm: i64) -> Counted {
        Counted { count, over: Length::cm(cm) }
    }

    #[test]
    fn a_count_is_known_to_half_a_stitch() {
        let swatch = Swatch::of(&[counted(exact(21, 1), 10)]).expect("a gauge");
        // 201.6 stitches make 96 cm.
        let chest = swatch.gauge.width(exact(2016, 10));
        assert_eq!(chest.value.precise(Unit::Cm), "96 cm");
        assert_eq!(chest.low.precise(Unit::Cm), "93.8 cm");
        assert_eq!(chest.high.precise(Unit::Cm), "98.3 cm");
        assert!(chest.blurs(Length::cm(4)));
        assert!(!chest.blurs(Length::cm(5)));
    }

    #[test]
    fn a_longer_count_is_surer() {
        let range = |count: i64, cm| {
            let swatch = Swatch::of(&[counted(exact(count, 1), cm)]);
            swatch.map(|s| s.gauge.width(exact(200, 1)).range())
        };
        assert!(range(40, 20).ok() < range(20, 10).ok());
    }

    #[test]
    fn several_countings_are_averaged() {
        let countings =
            [counted(exact(20, 1), 10), counted(exact(43, 2), 10), counted(exact(41, 1), 20)];
        let swatch = Swatch::of(&countings).expect("a gauge");
        assert_eq!(swatch.gauge.value.count(Length::cm(40)), exact(165, 2));
        assert_eq!(swatch.spread.0.count(Length::cm(10)), exact(20, 1));
        assert_eq!(swatch.spread.1.count(Length::cm(10)), exact(43, 2));
        assert_eq!(swatch.furthest, exact(7, 8));
        assert!(swatch.disagrees());
        let close = [counted(exact(20, 1), 10), counted(exact(41, 2), 10)];
        assert!(Swatch::of(&close).is_ok_and(|swatch| !swatch.disagrees()));
    }

    #[test]
    fn nothing_says_nothing() {
        assert_eq!(Swatch::of(&[]), Err(SwatchError::Nothing));
        let nothing = [counted(exact(20, 1), 10), counted(exact(20, 1), 0)];
        assert_eq!(Swatch::of(&nothing), Err(SwatchError::TooSmall { which: 1 }));
        let half = [counted(exact(1, 2), 10)];
        assert_eq!(Swatch::of(&half), Err(SwatchError::TooSmall { which: 0 }));
    }

    #[test]
    fn the_ratio_of_band_and_body_is_doubted_too() {
        let body = Swatch::of(&[counted(exact(20, 1), 10)]).expect("a gauge");
        let band = Swatch::of(&[counted(exact(24, 1), 10)]).expect("a gauge");
        let ratio = band.gauge.ratio(&body.gauge);
        assert_eq!(ratio.value, exact(6, 5));
        assert_eq!((ratio.low, ratio.high), (exact(47, 41), exact(49, 39)));
    }

    proptest! {
        #[test]
        fn the_value_lies_within_its_doubt(
            parts in proptest::collection::vec((1_i64..80, 1_i64..40), 1..6), n in 1_i64..400
        ) {
            let countings: Vec<Counted> =
                parts.iter().map(|&(count, cm)| counted(exact(count, 1), cm)).collect();
            let Ok(swatch) = Swatch::of(&countings) else {
                return Err(TestCaseError::fail("no gauge"));
            };
            let gauge = swatch.gauge;
            prop_assert!(gauge.low < gauge.value && gauge.value < gauge.high);
            prop_assert!(swatch.spread.0 <= gauge.value && gauge.value <= swatch.spread.1);
            let width = gauge.width(exact(n, 1));
            prop_assert!(width.low < width.value && width.value < width.high);
            let back = gauge.count(width.value);
            prop_assert_eq!(back.value, exact(n, 1));
        }
    }
}
