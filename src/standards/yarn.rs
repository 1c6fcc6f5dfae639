//! The trade's yarn weights, and what is plausible of a gauge.
//!
//! **Which weight a gauge belongs to.** The published ranges are whole
//! stitches over 4 in, which labels also print over 10 cm. So a gauge lies in
//! a range when its nearest whole count over either length does. Several
//! ranges may hold one gauge (23 and 24 stitches are both Light and Fine):
//! [`yarn_weight_of`] gives them all, and picks the one whose middle is
//! nearest, on a tie the finer. 23 is thus Light, 24 Fine.
//!
//! What is implausible is told as data; the words for it are others' business.

use super::needles::NeedleSize;
use super::table::{BadTable, Between, Record, records};
use crate::measure::{Density, Exact, Length, Unit, exact, round};
use std::sync::OnceLock;

pub(super) const WEIGHTS: &str = include_str!("data/yarn-weights.csv");

/// One weight of yarn.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct YarnWeight {
    /// Its number, 0 (the finest) to 7.
    pub number: u8,
    /// Its name: `Light`.
    pub name: &'static str,
    /// What it is called from day to day, parted by strokes: `DK/8-ply`.
    everyday: &'static str,
    /// Stockinette stitches over 4 in.
    pub stitches: Between<Exact>,
    /// Usual needles, by thickness.
    pub needle: Between<Length>,
    /// Usual needles, by US number.
    pub needle_us: Between<&'static str>,
    /// Metres in 100 g (common practice).
    pub metres_per_100_g: Between<Exact>,
}

impl YarnWeight {
    fn read(record: &Record) -> Result<Self, BadTable> {
        Ok(Self {
            number: record.word("number", |cell| cell.parse().ok())?,
            name: record.text("name")?,
            everyday: record.text("everyday")?,
            stitches: record.numbers("stitches")?,
            needle: record.numbers("needle mm")?.map(|mm| Length::new(mm, Unit::Mm)),
            needle_us: record.ends("needle us")?,
            metres_per_100_g: record.numbers("m per 100 g")?,
        })
    }

    /// Whether a stockinette gauge lies in its range, to the nearest whole
    /// stitch over 4 in or over 10 cm.
    #[must_use]
    pub fn holds(&self, stitches: Density) -> bool {
        [Length::inches(4), Length::cm(10)].into_iter().any(|length| {
            let whole = round::nearest(stitches.count(length));
            self.stitches.holds(&Exact::from_integer(i128::from(whole)))
        })
    }

    /// How far a gauge is from the middle of the range; an open end counts as
    /// the other.
    fn off_middle(&self, stitches: Density) -> Exact {
        let Between { low, high } = self.stitches;
        let (Some(low), Some(high)) = (low.or(high), high.or(low)) else { return exact(0, 1) };
        (stitches.count(Length::inches(4)) - (low + high) / exact(2, 1)).abs()
    }
}

/// The weights, finest first.
#[must_use]
pub fn yarn_weights() -> &'static [YarnWeight] {
    static TABLE: OnceLock<Vec<YarnWeight>> = OnceLock::new();
    TABLE.get_or_init(|| records(WEIGHTS, YarnWeight::read).unwrap_or_default())
}

/// The weight with this number, or with this name, published or everyday, in any case.
#[must_use]
pub fn yarn_weight(number_or_name: &str) -> Option<&'static YarnWeight> {
    let wanted = number_or_name.trim();
    let called =
        |name: &str| name.replace('-', " ").eq_ignore_ascii_case(&wanted.replace('-', " "));
    yarn_weights().iter().find(|weight| {
        let everyday = weight.everyday.split('/').any(called);
        called(weight.name) || everyday || wanted.parse() == Ok(weight.number)
    })
}

/// The weights a gauge may belong to.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Fits {
    /// Every weight whose range holds it, finest first.
    pub all: Vec<&'static YarnWeight>,
    /// The one to name where only one is wanted.
    pub pick: &'static YarnWeight,
}

/// The weights whose range holds a stockinette gauge, or `None` where it is
/// finer than any.
#[must_use]
pub fn yarn_weight_of(stitches: Density) -> Option<Fits> {
    let all: Vec<_> = yarn_weights().iter().filter(|weight| weight.holds(stitches)).collect();
    // The first of equals is the finer.
    let pick = all.iter().copied().min_by_key(|weight| weight.off_middle(stitches))?;
    Some(Fits { all, pick })
}

/// Something about a gauge that deserves a second look.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Implausible {
    /// The gauge is not in the range of the weight that was named.
    StitchesForWeight {
        /// Stitches over 4 in.
        stitches: Exact,
        /// The weight that was named.
        weight: &'static YarnWeight,
    },
    /// The needle is not among those usual for the weight.
    NeedleForWeight {
        /// The needle.
        needle: NeedleSize,
        /// The weight that was named.
        weight: &'static YarnWeight,
    },
    /// Rows over stitches of a stockinette gauge is not in [`rows_to_stitches`].
    RowsToStitches {
        /// Rows for every stitch of the same length.
        ratio: Exact,
    },
}

/// Rows for every stitch of the same length that a stockinette gauge may
/// have, both ends included: 1.2 to 1.6. Ten gauges in print run from 1.27
/// to 1.60.
#[must_use]
pub fn rows_to_stitches() -> Between<Exact> {
    Between { low: Some(exact(12, 10)), high: Some(exact(16, 10)) }
}

/// What is implausible of a **stockinette** gauge, given what is known
/// besides: its rows, the needle it was worked on, the weight the yarn is
/// said to be. Ribs and other fabrics have no such ranges.
#[must_use]
pub fn implausible(
    stitches: Density,
    rows: Option<Density>,
    needle: Option<NeedleSize>,
    weight: Option<&'static YarnWeight>,
) -> Vec<Implausible> {
    let mut found = Vec::new();
    if let Some(weight) = weight {
        if !weight.holds(stitches) {
            let stitches = stitches.count(Length::inches(4));
            found.push(Implausible::StitchesForWeight { stitches, weight });
        }
        if let Some(needle) = needle.filter(|needle| !weight.needle.holds(&needle.metric())) {
            found.push(Implausible::NeedleForWeight { needle, weight });
        }
    }
    let ratio = rows.map(|rows| rows.ratio(stitches));
    if let Some(ratio) = ratio.filter(|ratio| !rows_to_stitches().holds(ratio)) {
        found.push(Implausible::RowsToStitches { ratio });
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn over_4_in(count: i64) -> Density {
        Density::new(exact(count, 1), Length::inches(4)).unwrap()
    }

    fn over_10_cm(count: i64) -> Density {
        Density::new(exact(count, 1), Length::cm(10)).unwrap()
    }

    fn named(stitches: Density) -> (Vec<u8>, u8) {
        let fits = yarn_weight_of(stitches).unwrap();
        (fits.all.iter().map(|w| w.number).collect(), fits.pick.number)
    }

    #[test]
    fn the_weights_can_be_read() {
        assert_eq!(records(WEIGHTS, YarnWeight::read).unwrap().len(), 8);
    }

    #[test]
    fn a_gauge_between_two_weights_is_both_and_one_is_picked() {
        assert_eq!(named(over_4_in(23)), (vec![2, 3], 3));
        assert_eq!(named(over_4_in(24)), (vec![2, 3], 2));
        assert_eq!(named(over_4_in(22)), (vec![3], 3));
        assert_eq!(named(over_4_in(26)), (vec![2], 2));
        let halfway = Density::new(exact(47, 2), Length::inches(4)).unwrap();
        assert_eq!(named(halfway).1, 2, "a tie goes to the finer");
    }

    #[test]
    fn a_label_over_10_cm_means_the_same_weight() {
        for weight in yarn_weights() {
            for end in [weight.stitches.low, weight.stitches.high].into_iter().flatten() {
                let label = over_10_cm(i64::try_from(end.to_integer()).unwrap());
                assert!(weight.holds(label), "{end} over 10 cm is no. {}", weight.number);
            }
        }
    }

    #[test]
    fn every_gauge_up_to_the_finest_has_a_weight() {
        for tenths in 10..=404 {
            let gauge = Density::new(exact(tenths, 10), Length::inches(4)).unwrap();
            assert!(yarn_weight_of(gauge).is_some(), "{tenths} tenths");
        }
        assert_eq!(yarn_weight_of(over_4_in(42)), None);
    }

    #[test]
    fn what_is_usual_raises_no_doubt() {
        let light = yarn_weight("3");
        assert_eq!(light, yarn_weight(" light "));
        assert_eq!(light, yarn_weight("dk"));
        assert_eq!(light, yarn_weight("8 ply"));
        assert_eq!(yarn_weight("8"), None);
        assert_eq!(yarn_weight("wool"), None);
        let us_6 = "US 6".parse().ok();
        assert_eq!(implausible(over_10_cm(22), Some(over_10_cm(30)), us_6, light), []);
        assert_eq!(implausible(over_10_cm(50), None, None, None), []);
    }

    #[test]
    fn what_is_unusual_is_told_with_its_figures() {
        let light = yarn_weight("light").unwrap();
        let needle: NeedleSize = "US 13".parse().unwrap();
        let found = implausible(over_4_in(12), Some(over_4_in(24)), Some(needle), Some(light));
        assert_eq!(
            found,
            [
                Implausible::StitchesForWeight { stitches: exact(12, 1), weight: light },
                Implausible::NeedleForWeight { needle, weight: light },
                Implausible::RowsToStitches { ratio: exact(2, 1) },
            ]
        );
    }
}
