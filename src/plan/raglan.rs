//! Raglans: sections that grow or shrink along shared lines, whose stitches
//! and rows are all used up on the same row.
//!
//! Knows nothing of necklines or fit; it takes counts and rows and says
//! whether they meet.

use super::taper::{Ending, Order, Schedule, Step, Taper, TooFewRows, shapings_between};
use crate::measure::{Rows, Stitches};

/// A part of a yoke between raglan lines.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Section {
    /// Its stitches to begin with.
    pub stitches: Stitches,
    /// How many of its edges are raglan lines: 2, or 1 for a front that opens.
    pub lines: u32,
}

impl Section {
    /// Its stitches once every line has been increased `times` times.
    #[must_use]
    pub fn increased(self, times: u32) -> Stitches {
        Stitches(self.stitches.0.saturating_add(self.lines.saturating_mul(times)))
    }

    /// Its stitches once every line has been decreased `times` times, where it
    /// has so many.
    #[must_use]
    pub fn decreased(self, times: u32) -> Option<Stitches> {
        self.stitches.0.checked_sub(self.lines.checked_mul(times)?).map(Stitches)
    }
}

/// One piece with a raglan line on each side.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Piece {
    /// Stitches where the raglan begins.
    pub from: Stitches,
    /// Stitches bound off at once, both sides together.
    pub bound_off: Stitches,
    /// Stitches where it ends.
    pub to: Stitches,
}

/// Pieces whose raglan edges are sewn or worked together.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Raglan<'a> {
    /// The pieces.
    pub pieces: &'a [Piece],
    /// The rows of every edge.
    pub rows: Rows,
    /// Which rows may be shaped.
    pub step: Step,
    /// Which rate comes first, where there are two.
    pub order: Order,
    /// How the edges end.
    pub ending: Ending,
}

/// Why a piece does not come out.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum RaglanError {
    /// It has fewer stitches than are to be bound off and left.
    TooNarrow {
        /// Which piece, by its place in the list.
        piece: usize,
    },
    /// One stitch on each side never makes up the difference: it is odd.
    Odd {
        /// Which piece, by its place in the list.
        piece: usize,
        /// The stitches to be shaped away.
        difference: Stitches,
    },
    /// The shapings do not fit into the rows.
    TooFewRows {
        /// Which piece, by its place in the list.
        piece: usize,
        /// What would fit.
        nearest: TooFewRows,
    },
}

impl Raglan<'_> {
    /// A schedule for each piece, one stitch on each side at a time, all of
    /// them over the same rows.
    ///
    /// # Errors
    /// [`RaglanError`] for the first piece that does not come out.
    pub fn schedules(&self) -> Result<Vec<Schedule>, RaglanError> {
        self.pieces.iter().enumerate().map(|(place, piece)| self.schedule(place, piece)).collect()
    }

    fn schedule(&self, piece: usize, counts: &Piece) -> Result<Schedule, RaglanError> {
        let kept = counts.from.0.checked_sub(counts.bound_off.0);
        let Some(kept) = kept.filter(|kept| *kept >= counts.to.0) else {
            return Err(RaglanError::TooNarrow { piece });
        };
        let difference = Stitches(kept - counts.to.0);
        let shapings = shapings_between(Stitches(kept), counts.to, Stitches(2))
            .ok_or(RaglanError::Odd { piece, difference })?;
        let taper = Taper {
            step: self.step,
            order: self.order,
            ending: self.ending,
            ..Taper::new(self.rows, shapings)
        };
        taper.schedule().map_err(|nearest| RaglanError::TooFewRows { piece, nearest })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn body_and_sleeve_end_on_the_same_row() {
        let pieces = [
            Piece { from: Stitches(90), bound_off: Stitches(8), to: Stitches(30) },
            Piece { from: Stitches(64), bound_off: Stitches(8), to: Stitches(14) },
        ];
        let raglan = Raglan {
            pieces: &pieces,
            rows: Rows(54),
            step: Step::EverySecondRow,
            order: Order::SlowerFirst,
            ending: Ending::OnShaping,
        };
        let schedules = raglan.schedules().expect("they fit");
        assert!(schedules.iter().all(|schedule| schedule.rows() == Rows(54)));
        let shapings: Vec<u32> = schedules.iter().map(Schedule::shapings).collect();
        assert_eq!(shapings, [26, 21]);
        let crowded = Raglan { rows: Rows(40), ..raglan };
        let nearest = TooFewRows { fewer_shapings: 20, more_rows: Rows(52) };
        assert_eq!(crowded.schedules(), Err(RaglanError::TooFewRows { piece: 0, nearest }));
    }

    #[test]
    fn an_odd_difference_never_meets() {
        let pieces = [Piece { from: Stitches(41), bound_off: Stitches(4), to: Stitches(6) }];
        let raglan = Raglan {
            pieces: &pieces,
            rows: Rows(40),
            step: Step::EveryRow,
            order: Order::FasterFirst,
            ending: Ending::OnShaping,
        };
        let odd = RaglanError::Odd { piece: 0, difference: Stitches(31) };
        assert_eq!(raglan.schedules(), Err(odd));
    }

    #[test]
    fn a_section_has_only_so_many() {
        let sleeve = Section { stitches: Stitches(14), lines: 2 };
        assert_eq!(sleeve.increased(19), Stitches(52));
        assert_eq!(sleeve.decreased(7), Some(Stitches(0)));
        assert_eq!(sleeve.decreased(8), None);
    }
}
