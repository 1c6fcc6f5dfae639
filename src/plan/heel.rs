//! Turned heels and the gussets beside them.
//!
//! A flap is turned by short rows that each take in a stitch across the gap
//! and one more, until none wait at either side. Counts only; slipping,
//! knitting and purling are for whoever writes the rows.

use crate::measure::Stitches;

/// A heel flap to be turned.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Heel {
    /// Stitches of the flap.
    pub flap: Stitches,
    /// Plain stitches of the second row, between the slipped stitch and the
    /// decrease: how narrow the turn begins. Odd where the flap is even, and
    /// even where it is odd, so that as many wait on either side.
    pub centre: Stitches,
    /// Whether one more decrease ends the last row where none waits, as some
    /// do to bring an odd count to an even one.
    pub last_decrease: bool,
}

/// One row of a heel turn.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct TurnRow {
    /// Stitches worked before the decrease, the first of them slipped or not.
    pub before: Stitches,
    /// Stitches worked after the decrease, before turning: 1, or none where
    /// no more wait.
    pub after: Stitches,
    /// Stitches still waiting at the end of the row, on that side.
    pub waiting: Stitches,
}

/// A turned heel.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Turned {
    /// The rows, in order.
    pub rows: Vec<TurnRow>,
    /// Stitches left.
    pub left: Stitches,
}

/// Why a flap cannot be turned so.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum HeelError {
    /// Not as many stitches would wait on either side: flap and centre are
    /// both odd or both even.
    Lopsided,
    /// The centre is wider than the flap.
    TooNarrow,
}

impl Heel {
    /// A centre of the trade's usual width for a flap: "half the stitches and
    /// two more, k2tog, k1, turn", which leaves 5 plain stitches on the second
    /// row, or 4 for an odd flap (common practice).
    #[must_use]
    pub const fn usual(flap: Stitches) -> Self {
        let centre = if flap.0.is_multiple_of(2) { 5 } else { 4 };
        Self { flap, centre: Stitches(centre), last_decrease: false }
    }

    /// The centre that leaves so many stitches of a flap: the first row works all
    /// but one or two of them. `None` where no centre does.
    #[must_use]
    pub fn to(flap: Stitches, left: Stitches) -> Option<Self> {
        // An odd number fewer takes one more decrease at the very end.
        let last_decrease = flap.0.checked_sub(left.0)? % 2 == 1;
        let turned = left.0.checked_add(u32::from(last_decrease))?;
        // Twice what is left is the flap, the centre and one; or one less, where the
        // last stitch on either side is decreased with none to work after it.
        let over = turned.checked_mul(2)?.checked_sub(flap.0)?;
        let usual = Self::usual(flap).centre.0;
        let centres = [over.checked_sub(1), (!last_decrease).then_some(over + 1)];
        let heels = centres.into_iter().flatten().map(|centre| {
            let centre = Stitches(centre);
            Self { flap, centre, last_decrease }
        });
        heels
            .filter(|heel| heel.turned().is_ok_and(|turned| turned.left == left))
            .min_by_key(|heel| heel.centre.0.abs_diff(usual))
    }

    /// The rows of the turn.
    ///
    /// # Errors
    /// [`HeelError`] where the flap and the centre do not go together.
    pub fn turned(&self) -> Result<Turned, HeelError> {
        let (flap, centre) = (self.flap.0, self.centre.0);
        if flap < centre.saturating_add(5) {
            return Err(HeelError::TooNarrow);
        }
        if (flap - centre).is_multiple_of(2) {
            return Err(HeelError::Lopsided);
        }
        // The second row works `centre` and four more, and leaves as many as
        // the first left: flap - first - 3 = (first + 2) - (centre + 4).
        // Flap and centre are an odd number together.
        let first = (flap + centre) / 2;
        let wait = flap - first - 3;
        let mut waiting = [wait, wait];
        let row = |before, after, waiting| TurnRow {
            before: Stitches(before),
            after: Stitches(after),
            waiting: Stitches(waiting),
        };
        let mut rows = vec![row(first, 1, wait), row(centre + 1, 1, wait)];
        let mut middle = centre + 3;
        let mut side = 0;
        while let Some(waits) = waiting.get_mut(side).filter(|waits| **waits > 0) {
            let after = u32::from(*waits > 1);
            *waits -= 1 + after;
            rows.push(row(middle - 1, after, *waits));
            middle += after;
            side = 1 - side;
        }
        if self.last_decrease {
            rows.push(row(middle - 2, 0, 0));
            middle -= 1;
        }
        Ok(Turned { rows, left: Stitches(middle) })
    }
}

/// The stitches beside a turned heel, and the foot they are to become.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Gusset {
    /// Stitches of the turned heel.
    pub heel: Stitches,
    /// Stitches picked up along each side of the flap.
    pub each_side: Stitches,
    /// Stitches of the instep.
    pub instep: Stitches,
    /// Stitches of the foot.
    pub foot: Stitches,
}

impl Gusset {
    /// Stitches once the sides are picked up.
    #[must_use]
    pub fn picked_up(&self) -> Stitches {
        let sides = self.each_side.0.saturating_mul(2);
        Stitches(self.heel.0.saturating_add(sides).saturating_add(self.instep.0))
    }

    /// Decrease rounds of 2 stitches down to the foot, or `None` where the
    /// difference is odd or the foot is wider.
    #[must_use]
    pub fn rounds(&self) -> Option<u32> {
        let over = self.picked_up().0.checked_sub(self.foot.0)?;
        over.is_multiple_of(2).then_some(over / 2)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn flap_and_centre_must_go_together() {
        let heel = Heel { flap: Stitches(32), centre: Stitches(4), last_decrease: false };
        assert_eq!(heel.turned(), Err(HeelError::Lopsided));
        let narrow = Heel { flap: Stitches(8), centre: Stitches(5), last_decrease: false };
        assert_eq!(narrow.turned(), Err(HeelError::TooNarrow));
    }

    #[test]
    fn a_gusset_loses_two_a_round() {
        let gusset = Gusset {
            heel: Stitches(18),
            each_side: Stitches(16),
            instep: Stitches(32),
            foot: Stitches(64),
        };
        assert_eq!(gusset.rounds(), Some(9));
        assert_eq!(Gusset { foot: Stitches(65), ..gusset }.rounds(), None);
        assert_eq!(Gusset { foot: Stitches(99), ..gusset }.rounds(), None);
    }

    proptest! {
        /// Worked row by row on two needles, nothing is worked that is not there.
        #[test]
        fn the_rows_can_be_worked(flap in 9_u32..80, centre in 0_u32..20, last in any::<bool>()) {
            let heel = Heel { flap: Stitches(flap), centre: Stitches(centre), last_decrease: last };
            let Ok(turned) = heel.turned() else { return Ok(()) };
            let (mut left_needle, mut right_needle) = (flap, 0_u32);
            for row in &turned.rows {
                let used = row.before.0 + 2 + row.after.0;
                prop_assert!(used <= left_needle);
                left_needle -= used;
                prop_assert_eq!(left_needle, row.waiting.0);
                right_needle += row.before.0 + 1 + row.after.0;
                std::mem::swap(&mut left_needle, &mut right_needle);
            }
            prop_assert_eq!(left_needle + right_needle, turned.left.0);
            let (last, one_before) = match turned.rows.as_slice() {
                [.., a, b] => (b.waiting.0, a.waiting.0),
                _ => (1, 1),
            };
            prop_assert_eq!((last, one_before), (0, 0));
        }
    }
}
