//! Round yokes in proportion to the body: the seamless percentage system.
//!
//! Every count is a percentage of the body's (Elizabeth Zimmermann, *Knitting
//! Without Tears* and *Knitting Around*; figures as read at
//! handmadestitchbystitch.wordpress.com and countrywool.com). All counts here
//! are exact: what the fabrics and joins make of them is decided elsewhere.

use super::spacing::{EvenChange, IncreaseMethod, Setting, Spacing};
use crate::measure::{Exact, Stitches, exact, percent};

/// Parts of a seamless pullover as fractions of the body.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Proportions {
    /// The hem ribbing.
    pub rib: Exact,
    /// The cuff.
    pub cuff: Exact,
    /// The sleeve below the underarm.
    pub upper_sleeve: Exact,
    /// The stitches of an underarm: as many on the body as on the sleeve.
    pub underarm: Exact,
    /// The neck.
    pub neck: Exact,
}

impl Proportions {
    /// The published ones: rib 90%, cuff 20%, upper sleeve 33%, underarm 8%,
    /// neck 40%.
    #[must_use]
    pub fn published() -> Self {
        let of = |n| percent(exact(n, 1));
        Self { rib: of(90), cuff: of(20), upper_sleeve: of(33), underarm: of(8), neck: of(40) }
    }

    /// Every count for a body of `body` stitches.
    #[must_use]
    pub fn of(&self, body: Stitches) -> Yoke {
        let part = |fraction| body.exact() * fraction;
        let (upper_sleeve, underarm) = (part(self.upper_sleeve), part(self.underarm));
        Yoke {
            rib: part(self.rib),
            cuff: part(self.cuff),
            upper_sleeve,
            underarm,
            joined: joined(body.exact(), upper_sleeve, underarm),
            neck: part(self.neck),
        }
    }
}

/// The exact counts of a seamless pullover.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Yoke {
    /// The hem ribbing.
    pub rib: Exact,
    /// The cuff.
    pub cuff: Exact,
    /// The sleeve below the underarm.
    pub upper_sleeve: Exact,
    /// The stitches of one underarm, on either piece.
    pub underarm: Exact,
    /// The yoke where body and sleeves are joined.
    pub joined: Exact,
    /// The neck.
    pub neck: Exact,
}

/// The stitches of a yoke: body + 2 sleeves - 4 underarms.
#[must_use]
pub fn joined(body: Exact, sleeve: Exact, underarm: Exact) -> Exact {
    body + sleeve * exact(2, 1) - underarm * exact(4, 1)
}

/// What is left after each of several decrease rounds that keep these
/// fractions, before any rounding.
#[must_use]
pub fn after_rounds(from: Exact, keep: &[Exact]) -> Vec<Exact> {
    keep.iter()
        .scan(from, |count, fraction| {
            *count = *count * *fraction;
            Some(*count)
        })
        .collect()
}

/// The shortest repeat of a decrease round that takes this fraction of the
/// stitches: a quarter is "k2, k2tog". `None` where no round of k2tog can
/// (above one half, or nothing at all).
#[must_use]
pub fn repeat_that_takes(fraction: Exact) -> Option<Spacing> {
    let takes = u32::try_from(*fraction.numer()).ok().filter(|n| *n > 0)?;
    let of = u32::try_from(*fraction.denom()).ok()?;
    let change = EvenChange {
        from: Stitches(of),
        to: Stitches(of.checked_sub(takes)?),
        setting: Setting::Round,
        method: IncreaseMethod::M1,
    };
    change.spaced().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounds_multiply() {
        let left = after_rounds(exact(90, 1), &[exact(2, 3), exact(1, 2)]);
        assert_eq!(left, [exact(60, 1), exact(30, 1)]);
    }

    #[test]
    fn no_round_takes_more_than_half() {
        assert!(repeat_that_takes(exact(1, 2)).is_some());
        assert!(repeat_that_takes(exact(3, 5)).is_none());
        assert!(repeat_that_takes(exact(0, 1)).is_none());
        assert!(repeat_that_takes(exact(-1, 4)).is_none());
        assert!(repeat_that_takes(exact(5, 4)).is_none());
    }
}
