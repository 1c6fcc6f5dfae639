//! How a band meets the body: how many stitches it has, how it then lies,
//! and whether it goes on.
//!
//! A band is any edge in a fabric of its own (a ribbed hem, cuff, neckband or
//! brim). Nothing here knows how a ribbing behaves: its gauge is swatched, or
//! estimated and said to be.

use super::ratio::{LARGEST_TERM, SmallRatio, ratio_of_counts, small_ratio};
use super::spacing::{EvenChange, IncreaseMethod, Setting};
use crate::measure::round::{Multiple, Toward, to_multiple};
use crate::measure::{Density, Exact, Length, Stitches, exact};

/// How a band's gauge was come by.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Source {
    /// Counted on a swatch of the band in this yarn.
    Swatched,
    /// Scaled from another yarn; a swatch is still wanted.
    Estimated,
}

/// The gauge of a band.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct BandGauge {
    /// Stitches per length, relaxed.
    pub relaxed: Density,
    /// Stitches per length stretched as far as is comfortable, where swatched.
    pub stretched: Option<Density>,
    /// How it was come by.
    pub source: Source,
}

impl BandGauge {
    /// A gauge counted on a swatch.
    #[must_use]
    pub const fn swatched(relaxed: Density, stretched: Option<Density>) -> Self {
        Self { relaxed, stretched, source: Source::Swatched }
    }

    /// A gauge for a band that was not swatched in the new yarn: the new body
    /// gauge scaled by the original's band over body. A guess, because a
    /// ribbing's width over plain fabric's changes with the length of its loops.
    #[must_use]
    pub fn estimated(original: &Self, original_body: Density, body: Density) -> Option<Self> {
        let factor = body.ratio(original_body);
        let stretched = match original.stretched {
            Some(density) => Some(density.scaled(factor)?),
            None => None,
        };
        Some(Self {
            relaxed: original.relaxed.scaled(factor)?,
            stretched,
            source: Source::Estimated,
        })
    }
}

/// What an original pattern has where a band meets its body.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct AsWritten {
    /// Body stitches.
    pub body: Stitches,
    /// Band stitches.
    pub band: Stitches,
    /// Body gauge.
    pub body_gauge: Density,
    /// Band gauge, relaxed.
    pub band_gauge: Density,
}

/// How a band is to lie against the fabric it meets.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Lies {
    /// As wide as the body: the edge hangs straight.
    Level,
    /// Narrower than the body by this fraction of it (12% is 12/100).
    Snug(Exact),
    /// As the original's lies.
    AsWritten(AsWritten),
    /// As many stitches as the body, however wide that is.
    SameCount,
    /// Fitted without ease to a part of the body of this girth: counted as if
    /// it were body fabric, and worked on needles two sizes smaller (common
    /// practice).
    Fitted(Length),
}

/// Which of band and body is worked first.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Direction {
    /// The band first, then the body.
    BottomUp,
    /// The body first, then the band.
    TopDown,
}

/// A band and the body it meets.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Meeting {
    /// Body stitches.
    pub body: Stitches,
    /// Body gauge, relaxed.
    pub body_gauge: Density,
    /// Band gauge.
    pub band_gauge: BandGauge,
    /// How the band is to lie.
    pub lies: Lies,
}

/// What a band of a chosen count does.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Fit {
    /// Band stitches.
    pub band: Stitches,
    /// Its width, relaxed.
    pub relaxed: Length,
    /// The width of the body it meets.
    pub body: Length,
    /// By what fraction of the body's width it draws in; negative where it spreads.
    pub draws_in: Exact,
    /// The width it stretches to, where that was swatched.
    pub stretched: Option<Length>,
    /// Band stitches for every so many body stitches.
    pub ratio: Option<SmallRatio>,
}

impl Meeting {
    /// How many band stitches do exactly what is asked, before any rounding.
    /// `None` where that would be none or fewer (as of "snug 100%").
    ///
    /// With N body stitches at gauge g and the band's gauge b: level,
    /// n / b = N / g; snug by p, n / b = (1 - p) N / g; as written, n g / (N b)
    /// stays what it was; fitted to a part, n = part x g.
    #[must_use]
    pub fn exact_count(&self) -> Option<Exact> {
        let body = self.body.exact();
        let level = body * self.band_gauge.relaxed.ratio(self.body_gauge);
        let count = match self.lies {
            Lies::Level => level,
            Lies::Snug(by) => level * (exact(1, 1) - by),
            Lies::SameCount => body,
            Lies::Fitted(part) => self.body_gauge.count(part),
            Lies::AsWritten(original) if original.body.0 == 0 => return None,
            Lies::AsWritten(original) => {
                let band = original.band.exact() / original.body.exact();
                level * band * original.body_gauge.ratio(original.band_gauge)
            }
        };
        (count > exact(0, 1)).then_some(count)
    }

    /// The nearest count that the band's fabric can be worked over; at least one.
    #[must_use]
    pub fn count(&self, multiple: Multiple) -> Option<Stitches> {
        let wanted = self.exact_count()?;
        let nearest = match to_multiple(wanted, multiple, Toward::Nearest) {
            count if count > 0 => count,
            _ => to_multiple(exact(1, 1), multiple, Toward::Up),
        };
        u32::try_from(nearest).ok().map(Stitches)
    }

    /// Band stitches for every so many body stitches, as a knitter would say
    /// it, within half a stitch over the whole width where small terms allow.
    #[must_use]
    pub fn ratio(&self) -> Option<SmallRatio> {
        let body = self.body.exact();
        if body == exact(0, 1) {
            return None;
        }
        small_ratio(self.exact_count()? / body, body, LARGEST_TERM)
    }

    /// What a band of `band` stitches does.
    #[must_use]
    pub fn fit(&self, band: Stitches) -> Fit {
        let relaxed = self.band_gauge.relaxed.length(band.exact());
        let body = self.body_gauge.length(self.body.exact());
        let draws_in = if body.is_positive() { (body - relaxed) / body } else { exact(0, 1) };
        Fit {
            band,
            relaxed,
            body,
            draws_in,
            stretched: self.band_gauge.stretched.map(|density| density.length(band.exact())),
            ratio: ratio_of_counts(band.0, self.body.0, LARGEST_TERM),
        }
    }

    /// The change between band and body, in the order they are worked.
    #[must_use]
    pub const fn change(
        &self,
        band: Stitches,
        direction: Direction,
        setting: Setting,
        method: IncreaseMethod,
    ) -> EvenChange {
        let (from, to) = match direction {
            Direction::BottomUp => (band, self.body),
            Direction::TopDown => (self.body, band),
        };
        EvenChange { from, to, setting, method }
    }
}

impl Fit {
    /// Whether it stretches over a part of this girth; `None` where its
    /// stretched gauge was not swatched.
    #[must_use]
    pub fn passes(&self, part: Length) -> Option<bool> {
        self.stretched.map(|width| width >= part)
    }
}

/// How often a ribbing of `knit` knit and `purl` purl stitches changes between
/// knit and purl, for each stitch: 1 in k1 p1, 1/2 in k2 p2. Its slack and its
/// elasticity come from these changes (common practice). `None` where it is no
/// ribbing.
#[must_use]
pub fn changes_per_stitch(knit: u32, purl: u32) -> Option<Exact> {
    (knit > 0 && purl > 0).then(|| exact(2, i64::from(knit) + i64::from(purl)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn per_10_cm(count: i64) -> Density {
        Density::new(exact(count, 1), Length::cm(10)).expect("more than nothing")
    }

    fn meeting(body: u32, body_gauge: i64, band_gauge: i64, lies: Lies) -> Meeting {
        Meeting {
            body: Stitches(body),
            body_gauge: per_10_cm(body_gauge),
            band_gauge: BandGauge::swatched(per_10_cm(band_gauge), None),
            lies,
        }
    }

    fn terms(meeting: &Meeting) -> Option<(u32, u32)> {
        meeting.ratio().map(|found| (found.ratio.these, found.ratio.those))
    }

    #[test]
    fn level() {
        let six_for_five = meeting(200, 20, 24, Lies::Level);
        assert_eq!(six_for_five.exact_count(), Some(exact(240, 1)));
        assert_eq!(terms(&six_for_five), Some((6, 5)));
        assert_eq!(six_for_five.fit(Stitches(240)).draws_in, exact(0, 1));
        let five_for_four = meeting(200, 20, 25, Lies::Level);
        assert_eq!(five_for_four.exact_count(), Some(exact(250, 1)));
        assert_eq!(terms(&five_for_four), Some((5, 4)));
    }

    #[test]
    fn snug() {
        let snug = meeting(200, 20, 24, Lies::Snug(exact(12, 100)));
        assert_eq!(snug.exact_count(), Some(exact(2112, 10)));
        assert_eq!(snug.count(Multiple::new(4, 0)), Some(Stitches(212)));
        assert_eq!(snug.count(Multiple::new(4, 2)), Some(Stitches(210)));
        assert_eq!(meeting(200, 20, 24, Lies::Snug(exact(1, 1))).exact_count(), None);
    }

    #[test]
    fn same_count_and_fitted() {
        let same = meeting(100, 20, 24, Lies::SameCount);
        assert_eq!(same.count(Multiple::ANY), Some(Stitches(100)));
        assert_eq!(same.fit(Stitches(100)).draws_in, exact(1, 6));
        let cuff = meeting(60, 20, 24, Lies::Fitted(Length::cm(18)));
        assert_eq!(cuff.exact_count(), Some(exact(36, 1)));
    }

    #[test]
    fn a_band_of_nothing_has_a_stitch() {
        let tiny = meeting(1, 20, 24, Lies::Snug(exact(9, 10)));
        assert_eq!(tiny.count(Multiple::new(4, 0)), Some(Stitches(4)));
        assert_eq!(tiny.count(Multiple::new(4, 2)), Some(Stitches(2)));
    }

    #[test]
    fn it_goes_on_where_it_stretches_far_enough() {
        let mut brim = meeting(96, 20, 24, Lies::SameCount);
        assert_eq!(brim.fit(Stitches(96)).passes(Length::cm(56)), None);
        brim.band_gauge.stretched = Some(per_10_cm(15));
        assert_eq!(brim.fit(Stitches(96)).stretched, Some(Length::cm(64)));
        assert_eq!(brim.fit(Stitches(96)).passes(Length::cm(64)), Some(true));
        assert_eq!(brim.fit(Stitches(96)).passes(Length::cm(65)), Some(false));
    }

    #[test]
    fn the_order_of_work_says_increase_or_decrease() {
        let level = meeting(200, 20, 24, Lies::Level);
        let up =
            level.change(Stitches(240), Direction::BottomUp, Setting::Round, IncreaseMethod::M1);
        assert_eq!((up.from, up.to), (Stitches(240), Stitches(200)));
        let down =
            level.change(Stitches(240), Direction::TopDown, Setting::Round, IncreaseMethod::M1);
        assert_eq!((down.from, down.to), (Stitches(200), Stitches(240)));
    }

    #[test]
    fn changes_of_a_rib() {
        assert_eq!(changes_per_stitch(1, 1), Some(exact(1, 1)));
        assert_eq!(changes_per_stitch(2, 2), Some(exact(1, 2)));
        assert_eq!(changes_per_stitch(5, 5), Some(exact(1, 5)));
        assert_eq!(changes_per_stitch(3, 1), Some(exact(1, 2)));
        assert_eq!(changes_per_stitch(3, 0), None);
    }

    #[test]
    fn an_estimate_says_so() {
        let old = BandGauge::swatched(per_10_cm(24), Some(per_10_cm(15)));
        let new = BandGauge::estimated(&old, per_10_cm(20), per_10_cm(15));
        let expected = BandGauge {
            relaxed: per_10_cm(18),
            stretched: Density::new(exact(1125, 100), Length::cm(10)),
            source: Source::Estimated,
        };
        assert_eq!(new, Some(expected));
    }

    proptest! {
        /// At its own gauges, as written is the count that was written.
        #[test]
        fn as_written_keeps_its_own_count(
            body in 1_u32..400, band in 1_u32..400, g in 8_i64..40, b in 8_i64..40
        ) {
            let original = AsWritten {
                body: Stitches(body),
                band: Stitches(band),
                body_gauge: per_10_cm(g),
                band_gauge: per_10_cm(b),
            };
            let same = meeting(body, g, b, Lies::AsWritten(original));
            prop_assert_eq!(same.exact_count(), Some(Stitches(band).exact()));
        }

        /// At any other gauges it draws in by as much.
        #[test]
        fn as_written_draws_in_as_before(
            body in 1_u32..400, band in 1_u32..400, g in 8_i64..40, b in 8_i64..40, n in 1_u32..400
        ) {
            let original = AsWritten {
                body: Stitches(body),
                band: Stitches(band),
                body_gauge: per_10_cm(20),
                band_gauge: per_10_cm(24),
            };
            let before = meeting(body, 20, 24, Lies::SameCount).fit(Stitches(band)).draws_in;
            let now = meeting(n, g, b, Lies::AsWritten(original));
            let width = now.band_gauge.relaxed.length(now.exact_count().unwrap_or(exact(0, 1)));
            let body_width = now.body_gauge.length(now.body.exact());
            prop_assert_eq!((body_width - width) / body_width, before);
        }
    }
}
