//! Crowns and other flat rounds closed in equal wedges, and the close cap
//! they sit on.
//!
//! Every wedge loses the same stitches on the same rounds. How the rounds are
//! spread over a length is for [`super::taper`].

use super::convert::count_for;
use crate::measure::round::{Multiple, Toward, to_multiple};
use crate::measure::{Density, Exact, Length, Stitches};

/// A round of stitches to be closed in wedges.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Wedges {
    /// Stitches to begin with.
    pub from: Stitches,
    /// How many wedges.
    pub wedges: u32,
    /// Stitches each wedge loses on a decrease round.
    pub each: u32,
    /// Stitches left of each wedge.
    pub left: Stitches,
}

/// Why a count cannot be closed in these wedges.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum WedgeError {
    /// No wedges, or wedges that lose nothing.
    Nothing,
    /// A wedge cannot lose so many a round and end with so few: at least as
    /// many must be left as it loses.
    TooFewLeft,
    /// The stitches do not divide among the wedges so that every wedge ends
    /// with what is to be left: the nearest counts that do.
    NotWhole {
        /// The nearest below, where there is one.
        below: Option<Stitches>,
        /// The nearest above.
        above: Stitches,
    },
}

/// A decrease round.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct WedgeRound {
    /// Stitches of each wedge worked plain; the others are worked two
    /// together.
    pub plain: Stitches,
    /// Stitches in all after the round.
    pub after: Stitches,
}

impl Wedges {
    /// The decrease rounds, in order: with 9 wedges of 12, "k10, k2tog", then
    /// "k9, k2tog", and so on.
    ///
    /// # Errors
    /// [`WedgeError`] where the count does not come out.
    pub fn rounds(&self) -> Result<Vec<WedgeRound>, WedgeError> {
        let Self { wedges, each, .. } = *self;
        if wedges == 0 || each == 0 {
            return Err(WedgeError::Nothing);
        }
        // The last round works twice as many together as it takes.
        if self.left.0 < each {
            return Err(WedgeError::TooFewLeft);
        }
        let fits = Multiple::new(wedges.saturating_mul(each), wedges.saturating_mul(self.left.0));
        let least = u64::from(wedges) * u64::from(self.left.0);
        if !fits.holds(self.from.signed()) || u64::from(self.from.0) < least {
            return Err(self.nearest(fits, least));
        }
        let size = self.from.0 / wedges;
        let rounds = (size - self.left.0) / each;
        Ok((1..=rounds)
            .map(|round| {
                let before = size - (round - 1) * each;
                WedgeRound {
                    plain: Stitches(before - 2 * each),
                    after: Stitches((before - each) * wedges),
                }
            })
            .collect())
    }

    fn nearest(&self, fits: Multiple, least: u64) -> WedgeError {
        let at_least = |count: i64| u64::try_from(count).is_ok_and(|count| count >= least);
        let below = to_multiple(self.from.exact(), fits, Toward::Down);
        let above = to_multiple(self.from.exact(), fits, Toward::Up);
        let stitches = |count: i64| Stitches(u32::try_from(count).unwrap_or(u32::MAX));
        WedgeError::NotWhole {
            below: at_least(below).then(|| stitches(below)),
            above: if at_least(above) {
                stitches(above)
            } else {
                Stitches(u32::try_from(least).unwrap_or(u32::MAX))
            },
        }
    }
}

/// Stitches to cast on for a close cap: `keep` of the head's girth (nine
/// tenths, as read at while1knit.blogspot.com), taken down to a multiple.
#[must_use]
pub fn close_cast_on(head: Length, gauge: Density, keep: Exact, multiple: Multiple) -> Stitches {
    Stitches(count_for(head * keep, gauge, multiple, Toward::Down))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_count_that_does_not_divide_says_which_do() {
        let crown = Wedges { from: Stitches(115), wedges: 9, each: 1, left: Stitches(1) };
        assert_eq!(
            crown.rounds(),
            Err(WedgeError::NotWhole { below: Some(Stitches(108)), above: Stitches(117) })
        );
        let too_few = Wedges { from: Stitches(5), ..crown };
        assert_eq!(too_few.rounds(), Err(WedgeError::NotWhole { below: None, above: Stitches(9) }));
        assert_eq!(Wedges { wedges: 0, ..crown }.rounds(), Err(WedgeError::Nothing));
        assert_eq!(Wedges { each: 2, ..crown }.rounds(), Err(WedgeError::TooFewLeft));
    }

    proptest! {
        #[test]
        fn every_round_takes_the_same(
            size in 1_u32..40, wedges in 1_u32..14, each in 1_u32..3, left in 0_u32..6
        ) {
            let from = Stitches(size * wedges);
            let crown = Wedges { from, wedges, each, left: Stitches(left) };
            if let Ok(rounds) = crown.rounds() {
                let mut before = from.0;
                for round in &rounds {
                    // Plain stitches and the pairs make up the wedge before.
                    prop_assert_eq!((round.plain.0 + 2 * each) * wedges, before);
                    prop_assert_eq!(before - round.after.0, each * wedges);
                    before = round.after.0;
                }
                prop_assert_eq!(before, left * wedges);
            }
        }
    }
}
